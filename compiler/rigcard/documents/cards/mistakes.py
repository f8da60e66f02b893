"""Words for single mistakes: what is wrong, what to do, and the extra look for what no line of the test sees."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigcard.documents.base.language import listed, listed_or_counted, say, say_count
from rigcard.documents.base.phrases import control_title, place, place_named
from rigcard.faults.judged import judged
from rigcard.faults.single import Fault
from rigcard.resolve.model import Travel
from rigcard.solve.solved import Solved
from rigcard.words import microseconds, percent, signed_percent, steps


def mistake(solved: Solved, fault: Fault) -> str:
    """Return what is wrong: `S01.R missing, loose or broken`."""
    rig = solved.rig
    first, *more = fault.names
    title = rig.units[first].title if first in rig.units else first
    match fault.kind:
        case "start":
            control = control_title(rig, first, more[0])
            return say("{control} {position} at power-up", control=control, position=place_named(more[1]))
        case "trim":
            control = control_title(rig, first, more[0])
            if more[1] == "up":
                return say("{control}: the trim knocked up", control=control)
            return say("{control}: the trim knocked down", control=control)
        case "lead":
            return say("{lead} missing, loose or broken", lead=first)
        case "power":
            return say("{unit} flat", unit=title) if more[0] == "flat" else say("{unit} off", unit=title)
        case "memory":
            return say("{unit}: another memory", unit=title)
        case "plug":
            return _plug(solved, fault)
        case "bind":
            if more[0]:
                return say("{one} and {other} bound crosswise", one=title, other=rig.units[more[0]].title)
            return say("{unit} not bound", unit=title)
        case "menu":
            return _menu(solved, fault)
        case "mount":
            return say("{unit} mounted the other way up", unit=title)
    return _dial(solved, fault)


def _plug(solved: Solved, fault: Fault) -> str:
    unit, port, other, leg, second = fault.names
    ports = solved.rig.units[unit].model.ports
    title, one, two = solved.rig.units[unit].title, ports[port].label, ports[other].label
    if second:
        return say(
            "{unit}: {lead} and {other} exchanged ({port}, {socket})",
            unit=title,
            lead=leg,
            other=second,
            port=one,
            socket=two,
        )
    return say("{unit}: {lead} in {socket}, not in {port}", unit=title, lead=leg, socket=two, port=one)


def _menu(solved: Solved, fault: Fault) -> str:
    name, item, choice, *how = fault.names
    unit = solved.rig.units[name]
    if not how:
        menu = unit.model.settings[item].menu
        if choice:
            return say("{unit}: {menu} at {choice}", unit=unit.title, menu=menu, choice=choice)
        return say("{unit}: {menu} not set", unit=unit.title, menu=menu)
    title = unit.model.inputs[item].title
    if how == ["turned"]:
        if unit.sources[item].reversed:
            return say("{unit}: {function} not reversed in its menu", unit=unit.title, function=title)
        return say("{unit}: {function} reversed in its menu", unit=unit.title, function=title)
    other = unit.model.inputs[choice].title
    return say("{unit}: {one} and {other} exchanged in its menu", unit=unit.title, one=title, other=other)


def _dial(solved: Solved, fault: Fault) -> str:
    handset, name, *more = fault.names
    unit = solved.rig.units[handset]
    channel, kind = unit.channels[name], fault.kind
    whose = say("{handset}, channel {number} {name}", handset=unit.title, number=channel.number, name=name)
    if kind == "reverse":
        if solved.results[handset, name].dial.reversed:
            return say("{channel}: not reversed", channel=whose)
        return say("{channel}: reversed by mistake", channel=whose)
    if kind == "mix":
        source = unit.channels[more[0]].name
        if more[1] == "off":
            return say("{channel}: the mix from {source} off", channel=whose, source=source)
        return say("{channel}: the mix from {source} always on", channel=whose, source=source)
    return say("{channel}: {item} forgotten", channel=whose, item=item_of(fault))


def item_of(fault: Fault) -> str:
    """Return the name of a dialled item, as in the menus of a handset."""
    match fault.names[2:] or (fault.kind,):
        case ("travel",):
            return say("travel")
        case ("subtrim",):
            return say("sub-trim")
        case ("failsafe",):
            return say("failsafe")
        case ("expo",):
            return say("expo")
        case ("slow",):
            return say("slow")
        case ("switched",):
            return say("switched rate")
        case ("reverse",):
            return say("reversal")
    return say("mix") if fault.kind == "mix" else say("rate")


def remedy(solved: Solved, fault: Fault) -> str:
    """Return what to do about a mistake: one action, the same for all that it puts right."""
    rig = solved.rig
    first, *more = fault.names
    title = rig.units[first].title if first in rig.units else first
    match fault.kind:
        case "start" | "trim":
            if fault.kind == "trim":
                return say("Set the trims of {unit} to zero.", unit=title)
            return say("Set the controls of {unit} as on the power-up card, then power up again.", unit=title)
        case "lead":
            fused = any(
                leg.id == first for cable in rig.cables.values() if cable.power.fuse for leg in cable.legs
            )
            if fused:
                return say("{lead}: push in both ends, look at its fuse.", lead=first)
            return say("{lead}: push in both ends.", lead=first)
        case "power":
            if more[0] == "flat":
                return say("{unit}: change it.", unit=title)
            return say("{unit}: is it on?", unit=title)
        case "memory":
            return say("{unit}: choose the memory on its card.", unit=title)
        case "plug":
            return say("{unit}: compare every plug with its tag.", unit=title)
        case "bind":
            if more[0]:
                return bound_again([title, rig.units[more[0]].title])
            return say("Bind {unit} again, as on its card.", unit=title)
        case "menu":
            return say("{unit}: go through its menu, as on its card.", unit=title)
        case "mount":
            return say("{unit}: which way up? As on its card.", unit=title)
    return say("{unit}: compare every value with its card.", unit=title)


def bound_again(receivers: Sequence[str]) -> str:
    """Return what to do about receivers that obey each other's handsets: one alone would then obey two."""
    return say("Bind {units} again, each as on its card.", units=listed(receivers))


def extra_look(solved: Solved, fault: Fault) -> str:
    """Return the look or the measurement that finds a mistake which no line of the test sees."""
    rig = solved.rig
    first, *more = fault.names
    title = rig.units[first].title if first in rig.units else first
    match fault.kind:
        case "menu" if len(more) == 2:
            unit = rig.units[first]
            return say(
                "{unit}: read {menu}: {value}",
                unit=title,
                menu=unit.model.settings[more[0]].menu,
                value=unit.settings[more[0]].text,
            )
        case "lead" | "plug":
            return _follow(_leads_of(fault))
        case "power":
            if more[0] == "flat":
                return say("{unit}: read its charge", unit=title)
            return say("{unit}: look whether it is on", unit=title)
        case "travel" | "subtrim" | "shape" | "mix" | "reverse":
            return _measure(solved, fault)
        case "failsafe":
            channel = rig.units[first].channels[more[0]]
            level = channel.failsafe if isinstance(channel.failsafe, str) else None
            value = level or (signed_percent(channel.failsafe) if channel.failsafe is not None else "")  # type: ignore[arg-type]
            return say(
                "{unit}: read the failsafe of channel {number}: {value}",
                unit=title,
                number=channel.number,
                value=value,
            )
    return remedy(solved, fault).rstrip(".")


def _leads_of(fault: Fault) -> list[str]:
    """Return the leads of a mistake with a lead or a plug; none of any other mistake."""
    if fault.kind == "lead":
        return [fault.names[0]]
    return [name for name in fault.names[3:] if name] if fault.kind == "plug" else []


def _follow(leads: Sequence[str]) -> str:
    return say("follow {leads} from plug to plug", leads=listed_or_counted(leads))


def _measure(solved: Solved, fault: Fault) -> str:
    """Return where a forgotten value shows most in the pulse at the pin, or which value to read."""
    handset, name = fault.names[:2]
    result = solved.results[handset, name]
    unit = solved.rig.units[handset]
    if fault.kind in ("travel", "subtrim") and result.rows:
        row = max(result.rows, key=lambda row: abs(row.level.percent))
        control = control_title(solved.rig, handset, row.control)
        value = _travel(result.dial.travel) if fault.kind == "travel" else steps(result.dial.subtrim)
        return say(
            "{unit}: read {item} of channel {number}: {value}, or measure {pulse} with {control} {position}",
            unit=unit.title,
            item=item_of(fault),
            number=result.number,
            value=value,
            pulse=microseconds(row.pulse),
            control=control,
            position=place(row.position),
        )
    return say(
        "{unit}: read {item} of channel {number}", unit=unit.title, item=item_of(fault), number=result.number
    )


def _travel(travel: Travel) -> str:
    return f"{percent(travel.low)} / {percent(travel.high)}"


def figures_text(solved: Solved, most: int = 8) -> tuple[str, list[str]]:
    """Return what the full test shows, and the looks for what no line of it shows, at most so many.

    The first belongs under what was checked, the others under what was not.
    """
    figures = judged(solved).figures
    told = say(
        "of {all} single mistakes of the crew the full function test finds {found}",
        all=figures.share.all,
        found=figures.share.found,
    )
    looks = _looks(solved, [row.fault for row in figures.unseen])
    if not looks:
        return told, []
    shown = [say("what no line of the function test shows:"), *(f"– {look}" for look in looks[:most])]
    left = len(looks[most:])
    if left:
        shown.append(
            say_count(
                left,
                "{count} more look that no line replaces: `rigcard faults` lists it",
                "{count} more looks that no line replaces: `rigcard faults` lists them",
            )
        )
    return told, shown


def _looks(solved: Solved, faults: Sequence[Fault]) -> list[str]:
    """Return the looks for mistakes: one for all leads, one for all units that may be flat or off, the others after them."""
    leads = dict.fromkeys(lead for fault in faults for lead in _leads_of(fault))
    looks = [_follow(list(leads))] if leads else []
    powered = [fault for fault in once(solved, faults) if fault.kind == "power"]
    title = {fault.names: solved.rig.units[fault.names[0]].title for fault in powered}
    if flat := [title[fault.names] for fault in powered if fault.names[1] == "flat"]:
        looks.append(
            say_count(
                len(flat),
                "{unit}: read its charge",
                "{unit}: read their charges",
                unit=listed_or_counted(flat),
            )
        )
    if off := [title[fault.names] for fault in powered if fault.names[1] != "flat"]:
        looks.append(
            say_count(
                len(off),
                "{unit}: look whether it is on",
                "{unit}: look whether they are on",
                unit=listed_or_counted(off),
            )
        )
    others = [fault for fault in faults if fault.kind != "power" and not _leads_of(fault)]
    return [*looks, *(extra_look(solved, fault) for fault in once(solved, others))]


def once(solved: Solved, faults: Iterable[Fault]) -> list[Fault]:
    """Return mistakes of which no two are found by the same look, in their order."""
    looks: dict[str, Fault] = {}
    for fault in faults:
        looks.setdefault(extra_look(solved, fault), fault)
    return list(looks.values())
