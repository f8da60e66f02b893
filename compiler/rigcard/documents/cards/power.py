"""Power: each source's loads and reserve, run times, charging, and watt-hours for the journey."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from rigcard.documents.base.language import MOST_NAMED, listed, listed_or_counted, say, say_count
from rigcard.documents.base.layout import SMALL, Block, Cell, columns_for, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import the, volts_between
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import TECHNICIAN, Group
from rigcard.resolve.feeding import PowerLead, Rail
from rigcard.resolve.model import Unit
from rigcard.resolve.once import once_a_rig
from rigcard.resolve.power_side import Day
from rigcard.solve.power.air import AirClass, watt_hours
from rigcard.solve.power.circuits import FEEDERS
from rigcard.solve.power.packs import PackUse
from rigcard.solve.power.provision import pack_counts
from rigcard.solve.power.result import EMPTY, FULL, LeadUse, Power, RailUse, SourceUse
from rigcard.solve.power.wording import amps, clock, volts, watts
from rigcard.solve.power.wording import watt_hours as energy
from rigcard.solve.solved import Solved
from rigcard.words import decimal, percent

SIZE = SMALL
AIR_LIMIT = 100  # Wh, below which a pack travels in the cabin
ASSUMED = "~"  # marks a value that the rig does not state


def power_card(
    face: Typeface, inner: float, solved: Solved, more: Sequence[Block] = (), pinned: Sequence[str] = ()
) -> Group:
    """Make the card; only for a rig with power statements.

    `more` is what else stands on it, the small devices that give and take this power; `pinned` are their cautions.
    """
    power = solved.power
    assert power
    blocks: list[Block] = []
    for source in power.sources.values():
        blocks += _source(face, inner, solved, power, source)
    blocks += _basis(face, inner, solved, power)
    blocks += _packs(face, inner, solved, power)
    blocks += _charging(face, inner, power)
    lines = dict.fromkeys([*cautions.on("power", solved.rig), *pinned])
    title = say("and small devices") if more else say("Power")
    return Group(say("POWER"), title, (*blocks, *more), tuple(lines), TECHNICIAN)


# ---- sources and what they feed ------------------------------------------------------------------------------


@once_a_rig
def _fed_by(power: Power) -> dict[Rail, list[RailUse]]:
    """The rails that each source feeds."""
    found: dict[Rail, list[RailUse]] = {}
    for use in power.rails.values():
        for source in dict.fromkeys(power.sources_of(use.rail)):
            found.setdefault(source, []).append(use)
    return found


@once_a_rig
def _rails_of(power: Power) -> dict[str, list[RailUse]]:
    """The rails of each unit."""
    found: dict[str, list[RailUse]] = {}
    for use in power.rails.values():
        found.setdefault(use.rail[0], []).append(use)
    return found


def _source(face: Typeface, inner: float, solved: Solved, power: Power, source: SourceUse) -> list[Block]:
    unit = solved.rig.units[source.unit]
    fed = [use for use in _fed_by(power).get(source.rail, []) if use.rail != source.rail]
    reached = [use for use in fed if power.feeding.rails[use.rail].leads]
    if not reached:
        return []
    parts = [volts_between(source.supply.empty, source.supply.full)]
    parts.append(_share(max(source.amps), source.supply.limit))
    if unit.model.power.fuse is not None:
        parts.append(say("fuse {amperes}", amperes=amps(unit.model.power.fuse)))
    level = source.supply.empty == source.supply.full
    rows = [_row(solved, power, use, level) for use in sorted(reached, key=_reserve)]
    head = [
        say("LOAD"),
        say("LEAD, WIRE, FUSE"),
        say("PEAK, A"),
        say("LIMIT, A"),
        *([say("VOLTS, V")] if level else [say("FULL, V"), say("EMPTY, V")]),
        say("NEEDS, V"),
    ]
    aligns = ["left", "left", *("right" for _ in head[2:])]
    return [
        joined(
            heading(face, f"{unit.title}: {', '.join(parts)}", inner),
            table(face, head, rows, columns_for(face, head, rows, inner, 1), aligns=aligns, pad=0.6),
            *_with_others(face, inner, solved, power, source),
        )
    ]


@once_a_rig
def _with_several_inputs(solved: Solved) -> list[Unit]:
    """Units that several sources feed, in turn or together."""
    units = solved.rig.units.values()
    return [unit for unit in units if unit.model.power.plates or unit.model.power.joined]


def _with_others(face: Typeface, inner: float, solved: Solved, power: Power, source: SourceUse) -> list[Block]:
    """Explain the figures of a source that feeds a unit together with others, or in turn."""
    units = solved.rig.units
    lines = []
    for unit in _with_several_inputs(solved):
        side = unit.model.power
        for plate in side.plates:
            found = _sources(power, [(unit.name, side.rails[port]) for port in plate.either])
            if source.rail in found and len(found) > 1:
                names = listed([units[name].title for name, _ in found])
                lines.append(
                    say(
                        "{unit}: one of {packs} feeds at a time. The figures are for each alone, at its worst.",
                        unit=unit.title,
                        packs=names,
                    )
                )
        for inputs in side.joined:
            found = _sources(power, [(unit.name, side.rails[inputs[0]])])
            if source.rail in found and len(found) > 1:
                names = listed([units[name].title for name, _ in found])
                lines.append(
                    say(
                        "{unit} joins {packs}. The figures are for packs of equal charge: swap them together.",
                        unit=unit.title,
                        packs=names,
                    )
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
    needs = _bare(volts_between(use.window.low, use.window.high)) if use.window else say("not stated")
    most = max(uses, key=lambda use: max(use.amps))  # of parallel leads, the one with the largest current
    limit = lead_limit(most)
    peak = _hundredths(max(most.amps))
    return [
        Cell(solved.rig.units[use.rail[0]].title, SIZE, label=_regulated(solved, power, use)),
        Cell(_lead(leads), SIZE),
        Cell(say("{amperes} each", amperes=peak) if len(uses) > 1 else peak, SIZE, align="right"),
        Cell(_hundredths(limit) if limit is not None else "–", SIZE, align="right"),
        *([] if level else [Cell(_bare(volts(use.volts[FULL])), SIZE, align="right")]),
        Cell(_bare(volts(use.volts[EMPTY])), SIZE, True, align="right"),
        Cell(needs, SIZE, align="right"),
    ]


def _hundredths(value: float | Fraction) -> str:
    exact = value if isinstance(value, Fraction) else Fraction(round(value, 6)).limit_denominator(10**6)
    return decimal(exact, 2)


def _bare(text: str) -> str:
    """Return volts without their unit, which stands at the head of the column."""
    return text.removesuffix(" V")


def _regulated(solved: Solved, power: Power, use: RailUse) -> str:
    """Return the regulator that feeds a load."""
    rail = use.rail
    while (fed := power.feeding.rails[rail]).parent:
        if fed.regulator and fed.regulator.volts:
            return say(
                "{volts} from {unit}",
                volts=volts(fed.regulator.volts),
                unit=the(solved.rig.units[rail[0]].title),
            )
        rail = fed.parent
    return ""


def _lead(leads: tuple[PowerLead, ...]) -> str:
    cable = leads[0].wire.cable
    parts = [" + ".join(lead.wire.leg.id for lead in leads)]
    parts.append(cable.power.wire.shown if cable.power.wire else say("wire {assumed}", assumed=ASSUMED))
    if cable.power.fuse is not None:
        parts.append(say("fuse {amperes}", amperes=amps(cable.power.fuse)))
    return ", ".join(parts)


def lead_limit(use: LeadUse) -> Fraction | None:
    """Return the most amperes of a lead: its rating or its fuse, the smaller."""
    cable = use.lead.wire.cable.power
    return min((limit for limit in (cable.rated, cable.fuse) if limit is not None), default=None)


def _share(most: float, limit: Fraction | None) -> str:
    return say("{most} of {limit}", most=amps(most), limit=amps(limit)) if limit is not None else amps(most)


def _basis(face: Typeface, inner: float, solved: Solved, power: Power) -> list[Block]:
    """Set the assumptions behind the figures."""
    if not power.leads:
        return []
    day = solved.rig.day
    bare = any(use.ohms is None for use in power.leads.values())
    parts = [
        say("Volts and amperes at peak, all loads together."),
        say(
            "Wire: both cores, the highest resistance the standard allows, at {temperature}.",
            temperature=_assumed(day, "temperature", f"{decimal(day.hottest)} °C"),
        ),
        say("“wire {assumed}”: not stated, no loss counted.", assumed=ASSUMED) if bare else "",
        say("Check the polarity with a meter before you plug in for the first time."),
    ]
    return [paragraph(face, " ".join(part for part in parts if part), inner, size=SIZE)]


def _assumed(day: Day, name: str, text: str) -> str:
    return f"{ASSUMED} {text}" if name in day.assumed else text


# ---- packs ---------------------------------------------------------------------------------------------------


def _packs(face: Typeface, inner: float, solved: Solved, power: Power) -> list[Block]:
    if not power.packs:
        return []
    day = solved.rig.day
    head = [say("PACK"), say("HOLDS, Wh"), say("FEEDS, W"), _assumed(day, "usable", say("IN USE"))]
    if day.freezing:
        cold = say("IN USE AT {cold} °C", cold=decimal(day.coldest))
        head.append(_assumed(day, "cold", cold))
    if day.hours is not None:
        head += [_assumed(day, "spares", say("BRING (spare)")), say("CHANGE EVERY")]
    rows = _alike([_pack_row(solved.rig.units[use.unit], day, use) for use in power.packs])
    widths = columns_for(face, head, rows, inner, 0)
    aligns = ("left", *("right" for _ in head[1:]))
    return [
        joined(heading(face, _day_title(day), inner), table(face, head, rows, widths, aligns=aligns, pad=0.6)),
        *(
            [paragraph(face, _turns(solved, power), inner, size=SIZE, bold=True)]
            if _turns(solved, power)
            else []
        ),
        paragraph(face, _terms(day), inner, size=SIZE),
    ]


def _alike(rows: list[list[Cell]]) -> list[list[Cell]]:
    """Return the rows; where they are many, one for all packs of which the same is said."""
    if len(rows) <= MOST_NAMED:
        return rows
    found: dict[tuple[Cell, ...], list[str]] = {}
    for title, *figures in rows:
        found.setdefault(tuple(figures), []).append(title.text)
    return [
        [
            Cell(say("each of {units}", units=listed_or_counted(units)) if len(units) > 1 else units[0], SIZE),
            *figures,
        ]
        for figures, units in found.items()
    ]


def _turns(solved: Solved, power: Power) -> str:
    """Return how long a pack lasts alone that takes turns with others; "" if none does."""
    return " ".join(
        say(
            "{pack} takes turns with others; alone it lasts {time}.",
            pack=solved.rig.units[use.unit].title,
            time=clock(use.alone),
        )
        for use in power.packs
        if use.alone is not None
    )


def _day_title(day: Day) -> str:
    if day.hours is None:
        return say("Run time")
    return say(
        "Run time, day of {hours} h, {share} on",
        hours=decimal(day.hours),
        share=_assumed(day, "duty", percent(day.duty * 100)),
    )


def _pack_row(unit: Unit, day: Day, use: PackUse) -> list[Cell]:
    bring = (
        say("{packs} ({spares})", packs=use.packs + (use.spares or 0), spares=use.spares)
        if use.packs is not None
        else ""
    )
    cold = clock(use.cold_hours) if use.cold_hours else ""
    change = clock(use.change_after) if use.change_after else ""
    return [
        Cell(unit.title, SIZE),
        Cell(energy(use.energy).removesuffix(" Wh"), SIZE, align="right"),
        Cell(watts(use.watts).removesuffix(" W") if use.watts else "", SIZE, align="right"),
        Cell(clock(use.hours) if use.hours else say("not known"), SIZE, align="right"),
        *([Cell(cold, SIZE, align="right")] if day.freezing else []),
        *(
            [Cell(bring, SIZE, True, align="right"), Cell(change, SIZE, align="right")]
            if day.hours is not None
            else []
        ),
    ]


def _terms(day: Day) -> str:
    """Return what the run times are counted on."""
    parts = [
        say("{share} of what a pack holds", share=_assumed(day, "usable", percent(day.usable * 100))),
        say("{share} of that at and below 0 °C", share=_assumed(day, "cold", percent(day.cold * 100)))
        if day.freezing
        else "",
        say("{count} spare of each", count=_assumed(day, "spares", str(day.spares)))
        if day.hours is not None
        else "",
        say("loads at rest"),
        say("a handset on all day") if day.hours is not None else "",
    ]
    counted = ", ".join(part for part in parts if part)
    lines = [say("Counted on: {terms}. {assumed} is assumed: measure it.", terms=counted, assumed=ASSUMED)]
    if day.hours is not None:
        lines.append(
            say(
                "Change each pack at the time in the last column, whatever its gauge shows (rig on for {share} of the "
                "day). Rig always on: use IN USE.",
                share=percent(day.duty * 100),
            )
            if day.duty < 1
            else say("Change each pack at the time in the last column, whatever its gauge shows.")
        )
    return " ".join(lines)


def _charging(face: Typeface, inner: float, power: Power) -> list[Block]:
    plan = power.charging
    if plan is None:
        return []
    lines = [
        say(
            "{packs} packs on {bays} bays: {rounds} rounds of up to {each}, {hours} in all.",
            packs=plan.packs,
            bays=plan.bays,
            rounds=plan.rounds,
            each=clock(plan.hours_each),
            hours=clock(plan.hours),
        )
    ]
    if plan.night is not None and plan.fits is not None:
        parts = {"night": clock(plan.night), "packs": plan.fits}
        lines.append(
            say("A {night} night is enough for {packs}.", **parts)
            if plan.fits >= plan.packs
            else say("A {night} night is enough for {packs} only: NOT ENOUGH.", **parts)
        )
    lines += [
        say("Any pack on any charger: assumed {assumed}.", assumed=ASSUMED),
        say("Somebody watches the charging. Never below freezing."),
    ]
    return [joined(heading(face, say("Charging"), inner), paragraph(face, " ".join(lines), inner, size=SIZE))]


def journey(face: Typeface, inner: float, solved: Solved, power: Power) -> list[Block]:
    """Set the class of each pack in air travel, for the kit list: nobody at the rig acts on it."""
    found = watt_hours(solved.rig, pack_counts(solved.rig, power).items())
    if not found:
        return []
    rows = [
        [
            Cell(pack.title, SIZE),
            Cell(energy(pack.energy).removesuffix(" Wh"), SIZE, align="right"),
            Cell(str(pack.pieces), SIZE, align="right"),
            Cell(air_words(pack.air), SIZE),
        ]
        for pack in found
    ]
    head = (say("PACK"), say("HOLDS, Wh"), say("PIECES"), say("CLASS"))
    widths = columns_for(face, head, rows, inner)
    aligns = ("left", "right", "right", "left")
    note = say(
        "Ask the airline, which decides: rules change every year. Limits: passenger rules for lithium packs."
    )
    return [
        joined(
            heading(face, say("Packs by air"), inner),
            table(face, head, rows, widths, aligns=aligns, pad=0.6),
        ),
        paragraph(face, note, inner, size=SIZE),
    ]


def air_words(air: AirClass) -> str:
    """Return what becomes of a class of packs in passenger baggage."""
    if air.most is None:
        return say("over 160 Wh: not in passenger baggage, declared cargo")
    if air.most > AIR_LIMIT:
        return say("over 100 to 160 Wh: only if the airline approves, at most two spares a person, cabin")
    return say("up to 100 Wh: cabin baggage, terminals covered")


# ---- other papers --------------------------------------------------------------------------------------------


def power_line(solved: Solved, unit: Unit) -> str:
    """Return a unit's supply for its set-up card: source, lead, volts, consumption; "" if nothing is known."""
    power = solved.power
    if power is None:
        return ""
    for use in _rails_of(power).get(unit.name, []):
        leads = power.feeding.rails[use.rail].leads
        if leads:
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
                f"{line} {say('It needs {range}.', range=volts_between(window.low, window.high))}"
                if window
                else line
            )
    if unit.model.power.supply:
        supply = unit.model.power.supply
        return say("Power: gives {range}.", range=volts_between(supply.empty, supply.full))
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
    parts = [say_count(windows, "voltage at {count} load", "voltage at {count} loads")] if windows else []
    if judged:
        parts.append(say_count(len(judged), "current in {count} lead", "current in {count} leads"))
    return say("{parts} (peak; pack full and nearly empty)", parts=", ".join(parts)) if parts else ""


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
        return say("power: no model says what it supplies")
    parts = [say("the age of packs"), say("start-up surges"), say("heat of leads in a bundle")]
    bare = sorted({use.lead.wire.cable.name for use in power.leads.values() if use.ohms is None})
    if bare:
        parts.append(say("loss of volts in {leads}: wire not stated", leads=listed(bare)))
    idle = sorted({use.lead.wire.cable.name for use in power.leads.values() if not _judged(solved, use)})
    if idle:
        parts.append(say("current in {leads}: no rating, wire or fuse stated", leads=listed(idle)))
    units = solved.rig.units
    fed = dict.fromkeys(use.rail[0] for use in power.rails.values() if use.rail != use.source)
    open_units = [
        units[name].title
        for name in fed
        if not units[name].model.power.windows
        and (units[name].model.power.draws or units[name].role not in FEEDERS)
    ]
    if open_units:
        parts.append(say("voltage at {units}: what it takes is not stated", units=listed(open_units)))
    return ", ".join(parts)
