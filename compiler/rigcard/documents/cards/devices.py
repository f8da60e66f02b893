"""Set-up of everything that is not a handset: heads, receivers, adapters, cameras, and the small devices."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import (
    BODY,
    LABEL,
    LARGE,
    SMALL,
    Block,
    Box,
    Cell,
    below,
    columns_for,
    heading,
    joined,
    paragraph,
    row,
    space,
    table,
    text_around,
)
from rigcard.documents.base.model import Mark, Rectangle, Typeface
from rigcard.documents.base.phrases import (
    control_title,
    effect,
    handset_title,
    in_degrees,
    meanwhile,
    place,
    port_name,
    seen,
    the,
)
from rigcard.documents.cards import cautions
from rigcard.documents.cards.burden import UNRATED, burden
from rigcard.documents.cards.frame import TECHNICIAN, Group
from rigcard.documents.cards.handset import channel_title
from rigcard.documents.cards.parts import connections, identity, leads_of, notes, settings, steps
from rigcard.documents.cards.power import power_line
from rigcard.documents.cards.ruler import input_map, readings_of
from rigcard.documents.cards.special_leads import special_leads
from rigcard.resolve.links import Feed, Wire, commanding, handset_behind
from rigcard.resolve.model import Input, Signal, Unit
from rigcard.resolve.words import ROLES
from rigcard.solve.loss import is_record
from rigcard.solve.solved import Reading, Solved
from rigcard.words import decimal, kilograms, millimetres, volts

PINS_A_ROW = 10
SIGNAL_ROLES = ("receiver", "adapter")
CAMERA_ROLES = ("camera", "lens", "motor", "lens-mount")
RULED_ROLES = ("adapter",)  # their bands are drawn: a level that is set wrong lands in the wrong one


def device_groups(face: Typeface, inner: float, solved: Solved) -> list[Group]:
    """Make the cards of the devices: each head has its own, others share cards by what they do in the rig.

    Which devices share a card depends on their roles alone, so that no change of one moves another.
    """
    units = [unit for unit in solved.rig.units.values() if unit.role != "handset"]
    groups = [device_setup(face, inner, solved, unit) for unit in units if unit.role == "head"]
    cameras = any(unit.role in CAMERA_ROLES and unit.role != "motor" for unit in units)
    shared = (
        (say("SIGNAL"), say("Receivers and adapters"), SIGNAL_ROLES),
        (say("CAMERA"), say("Camera, lens, motors"), CAMERA_ROLES)
        if cameras
        else (say("MOTORS"), say("Motors"), CAMERA_ROLES),
    )
    for mark, title, roles in shared:
        mine = sorted((unit for unit in units if unit.role in roles), key=lambda unit: ROLES.index(unit.role))
        groups += [_group(face, inner, solved, mark, title, mine)] if mine else []
    return groups


def small_devices(face: Typeface, inner: float, solved: Solved) -> Group | None:
    """Make the card of all other devices, mostly packs: a line for each lead, then what is special about a device."""
    known = ("handset", "head", *SIGNAL_ROLES, *CAMERA_ROLES)
    units = [unit for unit in solved.rig.units.values() if unit.role not in known]
    leads = special_leads(face, inner, solved)
    if not units and not leads:
        return None
    units.sort(key=lambda unit: ROLES.index(unit.role))
    blocks: list[Block] = [_in_short(face, inner, solved, units)] if units else []
    for unit in units:
        more = _workings(face, inner, solved, unit, titled=False)
        blocks += _continued(face, inner, unit, [_named(face, inner, unit), *more]) if more else []
        blocks += [
            paragraph(face, say("{unit}: {text}", unit=unit.title, text=note), inner, gap=0.8)
            for note in unit.notes
        ]
    pinned = dict.fromkeys(line for unit in units for line in cautions.of_unit(solved.rig, unit))
    title = say("Packs, chargers and more") if units else say("Special leads")
    return Group(say("SMALL DEVICES"), title, (*blocks, *leads), tuple(pinned), TECHNICIAN)


def _in_short(face: Typeface, inner: float, solved: Solved, units: Sequence[Unit]) -> Block:
    """Set each device with its plate, its mass and its leads; what it sits on lists it, and the power card has its volts."""
    rows = []
    for unit in units:
        facts = [_plate(unit)]
        if unit.model.mass is not None:
            facts.append(kilograms(unit.model.mass))
        first: Sequence[Cell] = (Cell(unit.title, BODY, True, label=" · ".join(filter(None, facts))),)
        for leads in leads_of(solved.rig, unit) or [[Cell(), Cell(), Cell()]]:
            rows.append([*first, *leads])
            first = (Cell(),)
    head = (say("DEVICE"), say("PORT"), say("CABLE"), say("OTHER END"))
    widths = (inner * 0.46, inner * 0.11, inner * 0.1, inner * 0.33)
    return joined(
        heading(face, say("Small devices"), inner), table(face, head, rows, widths, ruled=False, pad=0.7)
    )


def _group(
    face: Typeface,
    inner: float,
    solved: Solved,
    mark: str,
    title: str,
    units: Sequence[Unit],
) -> Group:
    alone = len(units) == 1
    blocks = [block for unit in units for block in _blocks(face, inner, solved, unit, not alone)]
    pinned = dict.fromkeys(line for unit in units for line in cautions.of_unit(solved.rig, unit))
    name = units[0].title if alone else title
    return Group(mark, name, tuple(blocks), tuple(pinned), TECHNICIAN)


def device_setup(face: Typeface, inner: float, solved: Solved, unit: Unit) -> Group:
    """Make the cards of one device alone."""
    return _group(face, inner, solved, unit.label, unit.title, [unit])


def _blocks(face: Typeface, inner: float, solved: Solved, unit: Unit, named: bool) -> list[Block]:
    """Set one device, with only the parts that apply to it; `named` puts its title above them."""
    blocks: list[Block] = [_named(face, inner, unit) if named else identity(face, inner, unit)]
    blocks += _mounting(face, inner, solved, unit)
    workings = _workings(face, inner, solved, unit, titled=not named)
    leads = [block for block in (connections(face, inner, solved.rig, unit, not named),) if block]
    blocks += [*workings, *leads] if named else [*leads, *workings]
    blocks += notes(face, inner, unit.notes)
    return _continued(face, inner, unit, blocks) if named else blocks


def _workings(face: Typeface, inner: float, solved: Solved, unit: Unit, *, titled: bool) -> list[Block]:
    """Set what a device carries, what is set on it, what it hears and what it obeys."""
    blocks: list[Block] = []
    if unit.role not in UNRATED or unit.model.carries is not None:
        blocks += burden(face, inner, solved.rig, unit)
    if unit.role == "receiver":
        return [*blocks, *_receiver(face, inner, solved, unit)]
    blocks += [block for block in (settings(face, inner, unit),) if block]
    blocks += _inputs(face, inner, solved, unit, titled)
    return [*blocks, *_commands(face, inner, solved, unit)]


def _continued(face: Typeface, inner: float, unit: Unit, blocks: Sequence[Block]) -> list[Block]:
    """Name a device again where it goes on overleaf: pins without their receiver would be set on the wrong one."""
    title, *rest = blocks
    return [title, *(below(face, unit.title, inner, block) for block in rest)]


def _named(face: Typeface, inner: float, unit: Unit) -> Block:
    """Set the title of one of several devices on a card, with what to compare with its plate."""
    cells = [Cell(unit.title, LARGE, True), Cell(_plate(unit), BODY, align="right")]
    title = min(inner * 0.6, face.width(unit.title, LARGE, True) + 2.0)
    boxes = [box._replace(keep_with_next=True) for box in row(face, cells, (title, inner - title), pad=0.6)]
    return joined(space(3.0, keep=True), Block(tuple(boxes)), space(0.8, keep=True))


def _plate(unit: Unit) -> str:
    """Return what to compare with the plate on a device."""
    facts = [
        unit.model.title if unit.model.title != unit.title else "",
        say("asset {asset}", asset=unit.asset or "________"),
        say("serial {serial}", serial=unit.serial) if unit.serial else "",
        say("software {software}", software=unit.software) if unit.software else "",
    ]
    return " · ".join(filter(None, facts))


def _mounting(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    lines = []
    if unit.underslung is not None:
        lines.append(say("Mount UNDERSLUNG.") if unit.underslung else say("Mount UPRIGHT."))
    if unit.mounted_on:
        lines.append(say("Sits on {unit}.", unit=the(solved.rig.units[unit.mounted_on].title)))
    if unit.model.mass is not None:
        lines.append(say("Mass {mass}.", mass=kilograms(unit.model.mass)))
    power = power_line(solved, unit)
    return [paragraph(face, text, inner, gap=0.8) for text in (" ".join(lines), power) if text]


# ---- receiver ------------------------------------------------------------------------------------------------


def _receiver(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    rig = solved.rig
    handset = handset_behind(rig, unit)
    assert handset is not None
    title = the(handset.title)
    partner = (
        say("Bound to {handset}, asset {asset}.", handset=title, asset=handset.asset)
        if handset.asset
        else say("Bound to {handset}.", handset=title)
    )
    wires = {
        end.port: wire
        for wire in solved.links.wires
        for end in (wire.source, wire.sink)
        if end.unit == unit.name
    }
    rows = []
    for port in unit.model.ports.values():
        wire = wires.get(port.name)
        if wire is None:
            continue
        inward = wire.sink.unit == unit.name
        other = wire.source if inward else wire.sink
        name = port_name(rig, other.unit, other.port)
        rows.append(
            [
                Cell(port.label, BODY),
                Cell(rig.signal_at(wire.sink).title if inward else _carried(solved, handset, wire), BODY),
                Cell(wire.leg.id, BODY),
                Cell(say("from {port}", port=name) if inward else name, BODY),
            ]
        )
    empty = [port.label for port in unit.model.ports.values() if port.name not in wires]
    spoken = dict.fromkeys(rig.signal_at(wire.source) for wire in wires.values())
    head = (say("PIN"), say("CHANNEL"), say("CABLE"), say("GOES TO"))
    binding = [(step.text, "") for step in rig.steps if step.phase == "bind"]
    blocks = [
        paragraph(face, partner, inner, gap=0.8),
        *([heading(face, say("To bind it"), inner), steps(face, inner, binding)] if binding else []),
        joined(heading(face, say("Pins"), inner), _pins(face, inner, unit, wires)),
        table(face, head, rows, columns_for(face, head, rows, inner), pad=0.5),
    ]
    if empty:
        blocks.append(paragraph(face, say("Leave empty: {ports}.", ports=", ".join(empty)), inner, gap=0.8))
    return [*blocks, *(paragraph(face, line, inner, gap=0.8) for signal in spoken if (line := _line(signal)))]


def _line(signal: Signal) -> str:
    """Return the parameters of a serial line; "" if the rig does not state them."""
    serial = signal.serial
    parts = [
        say("{rate} baud", rate=decimal(serial.rate)) if serial.rate is not None else "",
        {"normal": say("polarity normal"), "inverted": say("polarity inverted")}.get(serial.polarity, ""),
        say("logic {volts}", volts=volts(serial.logic)) if serial.logic is not None else "",
        say("lead {length} at most", length=millimetres(serial.reach)) if serial.reach is not None else "",
    ]
    said = ", ".join(part for part in parts if part)
    return f"{signal.title}: {said}." if said else ""


def _carried(solved: Solved, handset: Unit, wire: Wire) -> str:
    """Return the channel that leaves by a pin and what it does, or the signal of a port that carries many."""
    number = solved.rig.port(wire.source).channel
    for result in solved.results_of(handset.name):
        if result.number == number:
            return f"{number}  {channel_title(solved, result) or result.control.title}"
    return solved.rig.signal_at(wire.source).title if number is None else str(number)


def _pins(face: Typeface, inner: float, unit: Unit, wires: dict[str, Wire]) -> Block:
    """Draw the pins in the order of the model; one with a heavy outline takes a plug."""
    ports = list(unit.model.ports.values())
    width = inner / PINS_A_ROW
    pieces = []
    for start in range(0, len(ports), PINS_A_ROW):
        marks: list[Mark] = []
        for index, port in enumerate(ports[start : start + PINS_A_ROW]):
            used = port.name in wires
            x = index * width
            marks.append(
                Rectangle(x + 0.6, 0.4, width - 1.2, 8.2, 0.6 if used else 0.2, () if used else (0.8, 0.8))
            )
            size = next(
                (size for size in (BODY, SMALL, LABEL) if face.width(port.label, size, used) <= width - 1.6),
                None,
            )
            if size:  # a longer name stands in the table only
                marks.append(text_around(face, x + width / 2, 4.5, port.label, size, bold=used))
        pieces.append(Box(9.6, tuple(marks), True))
    return Block(tuple(pieces))


# ---- inputs and commands -------------------------------------------------------------------------------------


def _inputs(face: Typeface, inner: float, solved: Solved, unit: Unit, titled: bool) -> list[Block]:
    """Set the map of all inputs, then those that nothing may reach."""
    heard = [
        feed
        for known in unit.model.inputs.values()
        if known.name not in unit.unused
        for feed in solved.links.feeds
        if feed.unit == unit.name and feed.input.name == known.name
    ]
    idle = [known for known in unit.model.inputs.values() if known.name in unit.unused]
    whose = dict.fromkeys(handset_title(solved.rig, feed.handset) for feed in heard)
    title = say("Inputs") if titled else ""
    one = titled and len(whose) == 1 and next(iter(whose))
    if one:
        title = say("Inputs: channels of {handset}", handset=the(one))
    feeds = [(_about(solved, feed, named=not one), feed) for feed in heard]
    blocks = [input_map(face, inner, solved, feeds, unit.role in RULED_ROLES, title)] if feeds else []
    return [*blocks, *(paragraph(face, _left_out(solved, unit, known), inner, gap=0.8) for known in idle)]


def _about(solved: Solved, feed: Feed, named: bool) -> str:
    """Return what is set about an input: its port, its channel, its direction, how far its axis goes.

    The handset of the channel is `named` where the rig has several and no heading says it.
    """
    result = solved.results[feed.handset, feed.channel]
    port = solved.rig.units[feed.unit].model.ports.get(feed.input.port)
    parts = [
        feed.input.title,
        say("port {port}", port=port.label if port else feed.input.port),
        say("channel {number}", number=result.number),
    ]
    if named and handset_title(solved.rig, feed.handset):
        parts[-1] = say(
            "channel {number} of {handset}",
            number=result.number,
            handset=the(solved.rig.units[feed.handset].title),
        )
    if feed.turned:
        parts.append(say("REVERSED here"))
    elif solved.rig.signal_at(feed.plug).kind == "channels":
        parts.append(say("not reversed"))
    sweep = feed.input.sweep
    if sweep and sweep.full:
        parts.append(say("at full stick {turn}", turn=in_degrees(sweep, sweep.full.degrees)))
    return " · ".join(parts)


def _obeyed(solved: Solved, reading: Reading) -> str:
    """Return what is seen of a command; of a take, the words of the operator's card."""
    return seen(solved, reading) if is_record(reading.feed.input.states) else effect(solved, reading)


def _left_out(solved: Solved, unit: Unit, known: Input) -> str:
    """Return how an unused input is kept still; if its port serves other inputs, the lead stays in."""
    busy = any((wire.sink.unit, wire.sink.port) == (unit.name, known.port) for wire in solved.links.wires)
    port = unit.model.ports.get(known.port)
    label = port.label if port else known.port
    return (
        say(
            "{input}: not used. Map no channel to it; port {port} carries others.",
            input=known.title,
            port=label,
        )
        if busy
        else say("{input}: not used. Leave port {port} empty.", input=known.title, port=label)
    )


def _commands(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    """List the commands that the unit receives, and the control that sends each."""
    rows = []
    for feed in commanding(solved.links).get(unit.name, []):
        for found, reading in readings_of(solved, feed):
            if any(one.unit == unit.name for one in reading.effects):
                control = control_title(solved.rig, feed.handset, found.control)
                more = meanwhile(solved.rig, feed.handset, found)
                rows.append(
                    [
                        Cell(f"{control} {place(found.position)}{more}", BODY),
                        Cell(_obeyed(solved, reading), BODY),
                    ]
                )
    if not rows:
        return []
    head = (say("CONTROL"), say("SEE"))
    return [
        joined(
            heading(face, say("Commands it must obey"), inner),
            table(face, head, rows, columns_for(face, head, rows, inner), pad=0.5),
        )
    ]
