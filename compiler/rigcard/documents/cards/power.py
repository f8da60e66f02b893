"""Power: each source's loads and reserve, run times, charging, and watt-hours for the journey."""

from __future__ import annotations

from fractions import Fraction

from rigcard.documents.base.language import listed, say
from rigcard.documents.base.layout import Block, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import the
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import TECHNICIAN, Group
from rigcard.resolve.feeding import PowerLead, Rail
from rigcard.resolve.model import Unit
from rigcard.resolve.power_side import Day
from rigcard.solve.power.air import ASK, watt_hours
from rigcard.solve.power.circuits import FEEDERS
from rigcard.solve.power.packs import PackUse
from rigcard.solve.power.provision import pack_counts
from rigcard.solve.power.result import EMPTY, FULL, LeadUse, Power, RailUse, SourceUse
from rigcard.solve.power.wording import amps, clock, range_of, volts, watts
from rigcard.solve.power.wording import watt_hours as energy
from rigcard.solve.solved import Solved
from rigcard.words import decimal, percent

SIZE = 10.0
ASSUMED = "~"  # marks a value that the rig does not state


def power_card(face: Typeface, inner: float, solved: Solved) -> Group:
    """Make the card; only for a rig with power statements."""
    power = solved.power
    assert power
    blocks: list[Block] = []
    for source in power.sources.values():
        blocks += _source(face, inner, solved, power, source)
    blocks += _basis(face, inner, solved, power)
    blocks += _packs(face, inner, solved, power)
    blocks += _charging(face, inner, power)
    blocks += _journey(face, inner, solved, power)
    pinned = cautions.on("power", solved.rig)
    return Group("POWER", "Power", tuple(blocks), pinned, TECHNICIAN)


# ---- sources and what they feed ------------------------------------------------------------------------------


def _source(face: Typeface, inner: float, solved: Solved, power: Power, source: SourceUse) -> list[Block]:
    unit = solved.rig.units[source.unit]
    fed = [
        use
        for use in power.rails.values()
        if source.rail in power.sources_of(use.rail) and use.rail != source.rail
    ]
    reached = [use for use in fed if power.feeding.rails[use.rail].leads]
    if not reached:
        return []
    parts = [range_of(source.supply.empty, source.supply.full)]
    parts.append(_share(max(source.amps), source.supply.limit))
    if unit.model.power.fuse is not None:
        parts.append(f"fuse {amps(unit.model.power.fuse)}")
    level = source.supply.empty == source.supply.full
    rows = [_row(solved, power, use, level) for use in sorted(reached, key=_reserve)]
    tenth = inner / 10
    widths = [2.4 * tenth, 2.2 * tenth, 1.6 * tenth, 1.2 * tenth, 1.2 * tenth, 1.4 * tenth]
    head = ["LOAD", "LEAD, WIRE, FUSE", "AMPERES OF LIMIT", "VOLTS FULL", "NEAR EMPTY", "TAKES"]
    aligns = ["left", "left", "right", "right", "right", "right"]
    if level:  # a mains supply is neither full nor empty
        head[3:5] = ["VOLTS"]
        widths[3:] = [1.8 * tenth, 2.0 * tenth]
        aligns.pop()
    return [
        joined(
            heading(face, f"{unit.title}: {', '.join(parts)}", inner),
            table(face, head, rows, widths, aligns=aligns),
            *_with_others(face, inner, solved, power, source),
        )
    ]


def _with_others(face: Typeface, inner: float, solved: Solved, power: Power, source: SourceUse) -> list[Block]:
    """Explain the figures of a source that feeds a unit together with others, or in turn."""
    units = solved.rig.units
    lines = []
    for unit in units.values():
        side = unit.model.power
        for plate in side.plates:
            found = _sources(power, [(unit.name, side.rails[port]) for port in plate.either])
            if source.rail in found and len(found) > 1:
                names = listed([units[name].title for name, _ in found])
                lines.append(
                    f"{unit.title}: one of {names} feeds at a time. Figures are for each alone, the worst of them."
                )
        for inputs in side.joined:
            found = _sources(power, [(unit.name, side.rails[inputs[0]])])
            if source.rail in found and len(found) > 1:
                names = listed([units[name].title for name, _ in found])
                lines.append(
                    f"{unit.title} joins {names}. Figures are for packs of equal charge: swap them together."
                )
    return [paragraph(face, line, inner, size=SIZE, bold=True) for line in lines]


def _sources(power: Power, rails: list[Rail]) -> list[Rail]:
    known = [source for rail in rails if rail in power.rails for source in power.sources_of(rail)]
    return list(dict.fromkeys(known))


def _reserve(use: RailUse) -> float:
    """Return a sort key: the reserve relative to the voltage, smallest first; loads without a limit last."""
    return use.reserve / float(use.window.high) if use.reserve is not None and use.window else float("inf")


def _row(solved: Solved, power: Power, use: RailUse, level: bool) -> list[Cell]:
    leads = power.feeding.rails[use.rail].leads
    uses = [power.leads[lead.wire.leg.id] for lead in leads]
    takes = range_of(use.window.low, use.window.high) if use.window else "not stated"
    return [
        Cell(solved.rig.units[use.rail[0]].title + _regulated(solved, power, use), SIZE, True),
        Cell(_lead(leads), SIZE),
        Cell(_amperes(uses), SIZE, align="right"),
        *([] if level else [Cell(volts(use.volts[FULL]), SIZE, align="right")]),
        Cell(volts(use.volts[EMPTY]), SIZE, True, align="right"),
        Cell(takes, SIZE, align="right"),
    ]


def _regulated(solved: Solved, power: Power, use: RailUse) -> str:
    """Return the regulator that feeds a load."""
    rail = use.rail
    while (fed := power.feeding.rails[rail]).parent:
        if fed.regulator and fed.regulator.volts:
            return f", by {volts(fed.regulator.volts)} of {solved.rig.units[rail[0]].title}"
        rail = fed.parent
    return ""


def _lead(leads: tuple[PowerLead, ...]) -> str:
    cable = leads[0].wire.cable
    parts = [" + ".join(lead.wire.leg.id for lead in leads)]
    parts.append(cable.power.wire.shown if cable.power.wire else f"wire {ASSUMED}")
    if cable.power.fuse is not None:
        parts.append(f"fuse {amps(cable.power.fuse)}")
    return ", ".join(parts)


def lead_limit(use: LeadUse) -> Fraction | None:
    """Return the most amperes of a lead: its rating or its fuse, the smaller."""
    cable = use.lead.wire.cable.power
    return min((limit for limit in (cable.rated, cable.fuse) if limit is not None), default=None)


def _amperes(uses: list[LeadUse]) -> str:
    """Return the largest current in a lead and its limit; of parallel leads, the one with the most."""
    most = max(uses, key=lambda use: max(use.amps))
    return f"{'each ' if len(uses) > 1 else ''}{_share(max(most.amps), lead_limit(most))}"


def _share(most: float, limit: Fraction | None) -> str:
    return f"{amps(most)} of {amps(limit)}" if limit is not None else amps(most)


def _basis(face: Typeface, inner: float, solved: Solved, power: Power) -> list[Block]:
    """Set the assumptions behind the figures."""
    if not power.leads:
        return []
    day = solved.rig.day
    bare = any(use.ohms is None for use in power.leads.values())
    parts = [
        "Volts and amperes at peak, all loads at their peak together.",
        f"Wire at {_assumed(day, 'temperature', f'{decimal(day.hottest)} °C')}, there and back: flexible copper of the "
        "standard's greatest resistance, AWG by its rule.",
        f"“wire {ASSUMED}”: not stated, counted as no loss." if bare else "",
        "Check the polarity with a meter before you plug in for the first time.",
    ]
    return [paragraph(face, " ".join(part for part in parts if part), inner, size=SIZE)]


def _assumed(day: Day, name: str, text: str) -> str:
    return f"{ASSUMED} {text}" if name in day.assumed else text


# ---- packs ---------------------------------------------------------------------------------------------------


def _packs(face: Typeface, inner: float, solved: Solved, power: Power) -> list[Block]:
    if not power.packs:
        return []
    day = solved.rig.day
    columns = [("PACK", 2.2), ("HOLDS", 1.5), ("FEEDS", 1.2), (_assumed(day, "usable", "LASTS, IN USE"), 1.3)]
    if day.freezing:
        columns.append((_assumed(day, "cold", f"IN USE AT {decimal(day.coldest)} °C"), 1.3))
    if day.hours is not None:
        columns += [(_assumed(day, "spares", "BRING"), 1.1), ("CHANGE, BY THE CLOCK", 1.4)]
    head, shares = zip(*columns, strict=True)
    rows = [_pack_row(solved.rig.units[use.unit], day, use) for use in power.packs]
    widths = [inner * share / sum(shares) for share in shares]
    aligns = ("left", *("right" for _ in head[1:]))
    return [
        joined(heading(face, _day_title(day), inner), table(face, head, rows, widths, aligns=aligns)),
        *(
            [paragraph(face, _turns(solved, power), inner, size=SIZE, bold=True)]
            if _turns(solved, power)
            else []
        ),
        paragraph(face, _terms(day), inner, size=SIZE),
    ]


def _turns(solved: Solved, power: Power) -> str:
    """Return how long a pack lasts alone that takes turns with others; "" if none does."""
    return " ".join(
        f"{solved.rig.units[use.unit].title} takes turns with others; alone it lasts {clock(use.alone)}."
        for use in power.packs
        if use.alone is not None
    )


def _day_title(day: Day) -> str:
    if day.hours is None:
        return "Run time"
    return f"Run time, day of {decimal(day.hours)} h, {_assumed(day, 'duty', percent(day.duty * 100))} on"


def _pack_row(unit: Unit, day: Day, use: PackUse) -> list[Cell]:
    bring = f"{use.packs} + {use.spares}" if use.packs is not None else ""
    cold = clock(use.cold_hours) if use.cold_hours else ""
    change = clock(use.change_after) if use.change_after else ""
    return [
        Cell(unit.title, SIZE, True),
        Cell(energy(use.energy), SIZE, align="right"),
        Cell(watts(use.watts) if use.watts else "", SIZE, align="right"),
        Cell(clock(use.hours) if use.hours else "not known", SIZE, align="right"),
        *([Cell(cold, SIZE, align="right")] if day.freezing else []),
        *(
            [Cell(bring, SIZE, True, align="right"), Cell(change, SIZE, align="right")]
            if day.hours is not None
            else []
        ),
    ]


def _terms(day: Day) -> str:
    parts = [f"Counted on: {_assumed(day, 'usable', percent(day.usable * 100))} of what a pack holds"]
    if day.freezing:
        parts.append(f"{_assumed(day, 'cold', percent(day.cold * 100))} of that at and below 0 °C")
    if day.hours is not None:
        parts.append(
            f"{_assumed(day, 'spares', str(day.spares))} spare of each; loads at rest, a handset on all day"
        )
    else:
        parts.append("loads at rest")
    text = f"{', '.join(parts)}. {ASSUMED} marks what is assumed: measure it."
    if day.hours is None:
        return text
    shared = f"; that is with {percent(day.duty * 100)} of the day on. On without a break, change within its time in use"
    return f"{text} Change a pack at its time by the clock whatever it shows{shared if day.duty < 1 else ''}."


def _charging(face: Typeface, inner: float, power: Power) -> list[Block]:
    plan = power.charging
    if plan is None:
        return []
    night = ""
    if plan.night is not None and plan.fits is not None:
        enough = "enough" if plan.fits >= plan.packs else "NOT enough"
        night = f" The night of {clock(plan.night)} has time for {plan.fits}: {enough}."
    text = (
        f"{plan.packs} packs on {plan.bays} bays: {plan.rounds} rounds of up to {clock(plan.hours_each)}, "
        f"{clock(plan.hours)} in all.{night} Any pack on any charger is assumed {ASSUMED}. Charge attended, not below "
        "freezing."
    )
    return [joined(heading(face, "Charging", inner), paragraph(face, text, inner, size=SIZE))]


def _journey(face: Typeface, inner: float, solved: Solved, power: Power) -> list[Block]:
    found = watt_hours(solved.rig, pack_counts(solved.rig, power).items())
    if not found:
        return []
    rows = [
        [
            Cell(pack.title, SIZE, True),
            Cell(energy(pack.energy), SIZE, align="right"),
            Cell(str(pack.pieces), SIZE, align="right"),
            Cell(f"{pack.air.words}; {ASK}", SIZE),
        ]
        for pack in found
    ]
    tenth = inner / 10
    widths = (2.6 * tenth, 1.6 * tenth, 1.0 * tenth, 4.8 * tenth)
    aligns = ("left", "right", "right", "left")
    note = "Rules change every year, and the airline decides. Limits as in the passenger provisions for lithium packs."
    return [
        joined(
            heading(face, "Packs by air", inner),
            table(face, ("PACK", "HOLDS", "PIECES", "CLASS"), rows, widths, aligns=aligns),
        ),
        paragraph(face, note, inner, size=SIZE),
    ]


# ---- other papers --------------------------------------------------------------------------------------------


def power_line(solved: Solved, unit: Unit) -> str:
    """Return a unit's supply for its set-up card: source, lead, volts, consumption; "" if nothing is known."""
    power = solved.power
    if power is None:
        return ""
    for use in power.rails.values():
        leads = power.feeding.rails[use.rail].leads
        if use.rail[0] == unit.name and leads:
            source = the(solved.rig.units[use.source[0]].title)
            near = the(solved.rig.units[leads[0].giver.unit].title)
            parts = {
                "leads": listed([lead.wire.leg.id for lead in leads]),
                "source": source,
                "near": near,
                "volts": _at_peak(use),
            }
            line = (
                say("Power: {leads} from {source}. {volts}.", **parts)
                if near == source
                else say("Power: {leads} from {near}, fed by {source}. {volts}.", **parts)
            )
            window = use.window
            return (
                f"{line} {say('It needs {range}.', range=range_of(window.low, window.high))}"
                if window
                else line
            )
    if unit.model.power.supply:
        supply = unit.model.power.supply
        return say("Power: gives {range}.", range=range_of(supply.empty, supply.full))
    return ""


def _at_peak(use: RailUse) -> str:
    """Return the volts at a load with everything at its peak."""
    full, empty = volts(use.volts[FULL]), volts(use.volts[EMPTY])
    if full == empty:
        return say("{volts} at peak load", volts=full)
    return say("{full} with a full pack, {empty} near empty, at peak load", full=full, empty=empty)


def checked_words(solved: Solved) -> str:
    """Return what was checked about power, for the cover; "" if nothing was."""
    power = solved.power
    if power is None or not power.leads:
        return ""
    windows = sum(use.window is not None for use in power.rails.values())
    judged = [use for use in power.leads.values() if _judged(solved, use)]
    parts = [f"volts at {windows} load{'s' * (windows != 1)}"] if windows else []
    parts += [f"amperes in {len(judged)} lead{'s' * (len(judged) != 1)}"] if judged else []
    return f"{', '.join(parts)}, at peak, packs full and near empty" if parts else ""


def _judged(solved: Solved, use: LeadUse) -> bool:
    """Whether the current in a lead was compared with its rating, fuse or wire, or with its plugs' rating."""
    cable = use.lead.wire.cable
    kinds = [solved.rig.port(end).connector for end in (use.lead.giver, use.lead.taker)]
    known = [solved.rig.inventory.connectors.get(kind or "") for kind in [*kinds, *(cable.build.plugs or ())]]
    return (
        lead_limit(use) is not None
        or cable.power.wire is not None
        or any(kind is not None and kind.rated is not None for kind in known)
    )


def unchecked_words(solved: Solved) -> str:
    """Return what was not checked about power, and why."""
    power = solved.power
    if power is None or not power.leads:
        return "power: no model says what it supplies"
    parts = ["the age of packs", "start-up surges", "heat of leads in a bundle"]
    bare = sorted({use.lead.wire.cable.name for use in power.leads.values() if use.ohms is None})
    parts += [f"loss of volts in {listed(bare)}, wire not stated"] if bare else []
    idle = sorted({use.lead.wire.cable.name for use in power.leads.values() if not _judged(solved, use)})
    parts += [f"amperes in {listed(idle)}, neither rating nor wire nor fuse stated"] if idle else []
    units = solved.rig.units
    fed = dict.fromkeys(use.rail[0] for use in power.rails.values() if use.rail != use.source)
    open_units = [
        units[name].title
        for name in fed
        if not units[name].model.power.windows
        and (units[name].model.power.draws or units[name].role not in FEEDERS)
    ]
    parts += [f"volts at {listed(open_units)}, what it takes is not stated"] if open_units else []
    return ", ".join(parts)
