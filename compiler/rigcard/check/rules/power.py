"""Rules on where power comes from. They say nothing of a rig without a source: such a rig does not speak of power."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.links import Wire
from rigcard.resolve.model import End, Rig, Unit
from rigcard.resolve.pins import grounded
from rigcard.resolve.power_side import PowerSide, Supply
from rigcard.resolve.words import SIGNAL_KINDS as NAMED_KINDS
from rigcard.words import decimal, listed

if TYPE_CHECKING:
    from rigcard.resolve.feeding import Fed, Feeding, PowerLead, Rail

# Volts of one cell, lowest and highest. Lithium-polymer: high-voltage types up to 4.45 V; lead-acid: falls from 2.20 V
# after charge. Sources: tests/reference/battery.csv.
CELL = {
    "lithium-ion": (Fraction("2.5"), Fraction("4.2")),
    "lithium-polymer": (Fraction("3.0"), Fraction("4.45")),
    "lithium-iron-phosphate": (Fraction("2.0"), Fraction("3.65")),
    "nickel-metal-hydride": (Fraction("1.0"), Fraction("1.45")),
    "lead-acid": (Fraction("1.75"), Fraction("2.2")),
}


SIGNAL_KINDS = ("servo", "channels", *NAMED_KINDS)


def _feeding(facts: Facts) -> Feeding | None:
    """Where power goes, for a rig that has a source."""
    if not any(unit.model.power.supply for unit in facts.rig.units.values()):
        return None
    from rigcard.resolve.feeding import follow

    return follow(facts.rig, facts.links)


@rule("RC351", Severity.ERROR, tier=2)
def unit_without_source(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a unit that takes power which no source of the rig brings to it.
    Why: the unit and everything behind it stay dark, and the forgotten lead is found on set.
    Bad: unit cam is camera-c "Camera", and no lead to cam.power
    Good: cable P02 "Camera power" { pack.out-1 to cam.power; length 300mm; jacket 6mm; wire AWG18 }
    """
    feeding = _feeding(facts)
    leads = _units_with_leads(facts)
    for unit in facts.rig.units.values() if feeding else ():
        side = unit.model.power
        if unit.role == "receiver" and unit.name not in leads:
            continue  # it goes nowhere yet: told by the channels that it should carry
        wanted = {
            side.rails[port]: port
            for port in sorted(side.takes, key=list(side.rails).index, reverse=True)
            if not _only_passes(facts.rig, unit, port)
        }
        if (
            feeding
            and side.supply is None
            and wanted
            and not any((unit.name, rail) in feeding.rails for rail in wanted)
        ):
            cut = _cut_lead(facts, unit, side)
            yield Finding(
                unit.span,
                f"`{unit.name}` takes power, and no source reaches it"
                + (f": the supply core of {cut} is cut" if cut else ""),
                f"remove `cut plus` from {cut}, and use a lead that has its supply core"
                if cut
                else f"add a lead from a source to `{unit.name}.{next(iter(wanted.values()))}`",
                units=(unit.name,),
            )


def _cut_lead(facts: Facts, unit: Unit, side: PowerSide) -> str:
    """The cable that would bring power to a unit if its supply core were not cut, or ""."""
    for wire in facts.links.wires:
        here, there = (wire.source, wire.sink) if wire.source.unit == unit.name else (wire.sink, wire.source)
        if here.unit == unit.name and here.port in side.takes and "plus" in wire.cable.power.cuts:
            giver = facts.rig.units[there.unit].model.power
            if there.port in giver.gives:
                return wire.cable.name
    return ""


def _only_passes(rig: Rig, unit: Unit, port: str) -> bool:
    """Whether a port is that of a splitter, which works without the power that its supply core may pass on."""
    from rigcard.resolve.feeding import is_bare_core

    return port in unit.model.passed.values() and is_bare_core(rig, unit, port)


def _units_with_leads(facts: Facts) -> set[str]:
    return {end.unit for wire in facts.links.wires for end in (wire.source, wire.sink)}


@rule("RC352", Severity.ERROR, tier=0)
def two_sources_on_rail(facts: Facts) -> Iterator[Finding]:
    """
    Reports: power that comes to one rail of a unit from two places.
    Why: the stronger source feeds the weaker one; it works until one of them is switched on last.
    Bad: a receiver on its own pack, and a lead to the head that supplies it as well
    Good: cut plus, in the lead to the head
    """
    feeding = _feeding(facts)
    for clash in feeding.clashes if feeding else ():
        if clash.other is None:
            continue
        if _end(clash.lead) == _end(clash.other):
            continue  # two plugs in one socket: told as that
        yield Finding(
            clash.lead.taker.span,
            f"`{clash.lead.taker.unit}` gets power from `{clash.other.giver.unit}` over {clash.other.wire.leg.id} and "
            f"from `{clash.lead.giver.unit}` over {clash.lead.wire.leg.id}",
            _one_feed(facts, clash.lead, clash.other),
            (Related(clash.other.taker.span, "the first one"),),
            (clash.lead.taker.unit,),
        )


def _end(lead: PowerLead) -> tuple[str, str]:
    return lead.taker.unit, lead.taker.port


def _one_feed(facts: Facts, lead: PowerLead, other: PowerLead) -> str:
    """What to do where two leads feed one rail: a device with two sockets for power may be made for two packs."""
    if all(facts.rig.signal_at(found.wire.source).kind == "power" for found in (lead, other)):
        inputs = ", ".join(sorted({lead.taker.port, other.taker.port}, key=_place_of_port(facts, lead)))
        model = facts.rig.units[lead.taker.unit].model.name
        return (
            f"remove one of the two; if `{model}` is made for two packs, write `either {inputs}` in its block, or "
            f"`joins {inputs}` if both feed together"
        )
    return (
        f"remove one of the two, or cut the supply core of {_signal_lead(facts, lead, other)} and "
        "write `cut plus` in its block"
    )


def _place_of_port(facts: Facts, lead: PowerLead) -> Callable[[str], int]:
    return list(facts.rig.units[lead.taker.unit].model.ports).index


def _signal_lead(facts: Facts, *leads: PowerLead) -> str:
    """The lead that is there for its signal, or else the first."""
    signals = [lead for lead in leads if facts.rig.signal_at(lead.wire.source).kind != "power"]
    return [*signals, *leads][0].wire.leg.id


@rule("RC353", Severity.ERROR, tier=0)
def back_feed(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead whose two ends both let power out, each from a source of its own.
    Why: power flows into an output; one pack charges the other without limit, or a regulator is damaged.
    Bad: rx.p5 to bridge.j3, where the receiver feeds its pins and the bridge feeds its socket
    Good: cut plus, in the block of that lead
    """
    feeding = _feeding(facts)
    for clash in feeding.clashes if feeding else ():
        if clash.other is None:
            lead = clash.lead
            yield Finding(
                lead.taker.span,
                f"{lead.wire.leg.id} joins two supplies: `{lead.giver.unit}` and `{lead.taker.unit}` both put power on it",
                f"cut the supply core of {lead.wire.leg.id} and write `cut plus` in its block",
                (Related(lead.giver.span, "the other end"),),
                (lead.giver.unit, lead.taker.unit),
            )


@rule("RC354", Severity.ERROR)
def fuse_over_lead(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a fuse larger than what is marked on the lead behind it.
    Why: the lead burns before its fuse blows.
    Bad: fuse 10A; rated 5A
    Good: fuse 5A; rated 5A
    """
    for lead, (fuse, where) in _fuses(facts).values():
        rated = lead.wire.cable.power.rated
        if rated is not None and fuse is not None and fuse > rated:
            yield Finding(
                lead.giver.span,
                f"{lead.wire.leg.id} is marked {decimal(rated, 2)} A, and the fuse before it{where} is "
                f"{decimal(fuse, 2)} A",
                f"fit a fuse of {decimal(rated, 2)} A or less in {lead.wire.cable.name}, at the end of the source",
            )


@rule("RC386", Severity.WARNING)
def fuse_over_bare_wire(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a fuse larger than what a published table gives the wire of the lead behind it, where the lead states no
        rating of its own.
    Why: the wire burns before its fuse blows. The table is for copper at 30 C, two or three loaded cores, no bundle.
    Bad: wire AWG24; fuse 30A
    Good: wire AWG24; fuse 3A
    """
    from rigcard.resolve.wire import carries

    for lead, (fuse, where) in _fuses(facts).values():
        power = lead.wire.cable.power
        if power.rated is not None or power.wire is None or fuse is None or fuse <= carries(power.wire):
            continue
        most = decimal(carries(power.wire), 2)
        yield Finding(
            lead.giver.span,
            f"{lead.wire.leg.id} is of {power.wire.shown}, which carries {most} A by the table, and the fuse before "
            f"it{where} is {decimal(fuse, 2)} A",
            f"fit a fuse of {most} A or less in {lead.wire.cable.name}, at the end of the source, or write what the lead "
            f"is marked with, such as `rated {decimal(fuse, 2)}A`",
        )


@rule("RC358", Severity.WARNING)
def rating_beyond_wire(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead marked with more than twice the amperes that a published table gives its wire.
    Why: what is marked on a lead is believed before the table; twice as much (common practice, no source) is no
        better insulation or shorter run, it is a slip in one of the two, and the lead gets hot.
    Bad: wire 0.25mm2; rated 20A
    Good: wire 2.5mm2; rated 20A
    """
    from rigcard.resolve.wire import carries

    for cable in facts.rig.cables.values():
        power = cable.power
        if power.rated is None or power.wire is None or power.rated <= 2 * carries(power.wire):
            continue
        yield Finding(
            cable.span,
            f"{cable.name} is marked {decimal(power.rated, 2)} A, and its wire, {power.wire.shown}, carries "
            f"{decimal(carries(power.wire), 2)} A by the table",
            f"read the marking and the wire again; by the table, `rated {decimal(carries(power.wire), 2)}A` fits this wire",
        )


Fuse = tuple[Fraction | None, str]  # amperes, None: nothing limits them; where it is, "" for the lead itself


def _fuses(facts: Facts) -> dict[str, tuple[PowerLead, Fuse]]:
    """By leg, what fuses let into every lead, up to a source or a regulator; by the worst choice of plates."""
    if not any(unit.model.power.supply for unit in facts.rig.units.values()):
        return {}
    from rigcard.resolve.feeding import variants

    found: dict[str, tuple[PowerLead, Fuse]] = {}
    for way in variants(facts.rig, facts.links):
        onto: dict[Rail, Fuse] = {}
        for rail, fed in way.rails.items():  # parents stand before children
            into = {lead.wire.leg.id: (lead, _into(facts, lead, onto[lead.source])) for lead in fed.leads}
            for leg, (lead, fuse) in into.items():
                before = found.get(leg)
                found[leg] = (lead, fuse if before is None else max(fuse, before[1], key=_weakest))
            if fed.leads:
                onto[rail] = _sum_of(facts, fed, onto, [fuse for _, fuse in into.values()])
            else:
                onto[rail] = onto[fed.parent] if fed.parent and not fed.regulator else (None, "")
    return found


def _weakest(fuse: Fuse) -> tuple[bool, Fraction]:
    return fuse[0] is None, fuse[0] or Fraction(0)


def _into(facts: Facts, lead: PowerLead, before: Fuse) -> Fuse:
    """The smallest fuse on the way into a lead."""
    own = lead.wire.cable.power.fuse
    known: list[Fuse] = [(own, "")] if own is not None else []
    return min([*known, _out_of(facts, lead.giver.unit, before)], key=_weakest)


def _out_of(facts: Facts, name: str, before: Fuse) -> Fuse:
    """The smallest fuse up to the outputs of a unit."""
    fuse = facts.rig.units[name].model.power.fuse
    return min([(fuse, f" in `{name}`"), before], key=_weakest) if fuse is not None else before


def _sum_of(facts: Facts, fed: Fed, onto: Mapping[Rail, Fuse], each: Sequence[Fuse]) -> Fuse:
    """What several leads let onto a rail together: their own fuses, but of one unit no more than it lets out."""
    if len(fed.leads) == 1:
        fuse, where = each[0]
        return fuse, where or f" in {fed.leads[0].wire.leg.id}"
    total = Fraction(0)
    for parent in fed.parents:
        own = [lead.wire.cable.power.fuse for lead in fed.leads if lead.source == parent]
        known = [fuse for fuse in own if fuse is not None]
        shared = _out_of(facts, parent[0], onto[parent])[0]
        limits = [shared] if shared is not None else []
        limits += [sum(known, Fraction(0))] if len(known) == len(own) else []
        if not limits:
            return None, ""
        total += min(limits)
    return total, f" in {listed([lead.wire.leg.id for lead in fed.leads])} together"


@rule("RC387", Severity.ERROR)
def joined_sources_differ(facts: Facts) -> Iterator[Finding]:
    """
    Reports: inputs that a unit joins, fed from sources of different volts.
    Why: the source with more volts charges the other one without limit as soon as both are plugged in.
    Bad: joins in-1, in-2 to out, with a pack of 12 to 16.8 V and one of 18 to 25.2 V
    Good: joins in-1, in-2 to out, with two packs of one model
    """
    feeding = _feeding(facts)
    for rail, fed in feeding.rails.items() if feeding else ():
        if feeding is None or len(fed.parents) < 2:
            continue
        volts = {parent: _held_at(facts.rig, feeding, parent) for parent in fed.parents}
        first, *others = fed.parents
        other = next((parent for parent in others if volts[parent] != volts[first]), None)
        if other is None:
            continue
        lead = next(lead for lead in fed.leads if lead.source == other)
        told = [
            f"`{parent[0]}` of {decimal(low, 2)}{f' to {decimal(high, 2)}' if high != low else ''} V"
            for parent, (low, high) in ((first, volts[first]), (other, volts[other]))
        ]
        yield Finding(
            lead.taker.span,
            f"`{rail[0]}` joins {listed(told)}: the one of more volts charges the other",
            f"feed `{rail[0]}` from two packs of one model, or write `either` in place of `joins` in model "
            f"`{facts.rig.units[rail[0]].model.name}` if only one of its inputs feeds at a time",
            units=(rail[0],),
        )


def _held_at(rig: Rig, feeding: Feeding, rail: Rail) -> tuple[Fraction, Fraction]:
    """The lowest and highest volts of the source or regulator behind a rail, nothing drawn."""
    while not (regulator := feeding.rails[rail].regulator) and (parent := feeding.rails[rail].parent):
        rail = parent
    if regulator and regulator.volts:
        return regulator.volts, regulator.volts
    supply = rig.units[rail[0]].model.power.supply
    assert supply
    return supply.empty, supply.full


@rule("RC389", Severity.ERROR, tier=0)
def no_return_for_power(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead that brings power without a ground core, where no other power lead takes the current back.
    Why: with no way back nothing works; over the thin ground of a signal lead the whole current of a device comes
        back, which burns it and shifts the level of every signal.
    Bad: cut ground, in the one lead from a pack to a camera
    Good: cable P02 "Camera power" { pack.out-1 to cam.power; length 300mm; jacket 6mm; wire 1mm2 }
    """
    feeding = _feeding(facts)
    leads = [lead for fed in (feeding.rails.values() if feeding else ()) for lead in fed.leads]
    bare = [lead for lead in leads if not grounded(facts.rig, lead.wire)]
    if not bare:
        return
    beside: dict[str, list[tuple[str, Wire]]] = {}
    for wire in facts.links.wires:
        if grounded(facts.rig, wire):
            beside.setdefault(wire.source.unit, []).append((wire.sink.unit, wire))
            beside.setdefault(wire.sink.unit, []).append((wire.source.unit, wire))
    for lead in bare:
        way = _way_back(facts.rig, beside, lead.taker.unit, lead.giver.unit)
        thin = next((wire for wire in way or () if facts.rig.signal_at(wire.source).kind != "power"), None)
        if way is not None and thin is None:
            continue
        name = lead.wire.cable.name
        cause = "nothing else takes the current back"
        if thin:
            size = f" of {thin.cable.power.wire.shown}" if thin.cable.power.wire else ""
            cause = f"the current comes back over the signal lead {thin.leg.id}{size}"
        yield Finding(
            lead.wire.cable.span,
            f"{lead.wire.leg.id} brings power to `{lead.taker.unit}` without a ground core, and {cause}",
            f"use a lead with its ground core, and remove `cut ground` from {name}"
            if "ground" in lead.wire.cable.power.cuts
            else f"join its ground pins in a `pin` line of {name}",
            units=(lead.giver.unit, lead.taker.unit),
        )


def _way_back(
    rig: Rig, beside: Mapping[str, list[tuple[str, Wire]]], start: str, goal: str
) -> list[Wire] | None:
    """Grounded leads from one unit to another, over power leads alone if there is such a way; None: there is none."""
    for kinds in (("power",), SIGNAL_KINDS):
        came: dict[str, tuple[str, Wire] | None] = {start: None}
        waiting = [start]
        for name in waiting:  # grows while it is walked
            for other, wire in beside.get(name, ()):
                if other not in came and rig.signal_at(wire.source).kind in kinds:
                    came[other] = (name, wire)
                    waiting.append(other)
        if goal in came:
            way = []
            at = goal
            while step := came[at]:
                at, wire = step
                way.append(wire)
            return way
    return None


@rule("RC355", Severity.ERROR)
def no_common_ground(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a signal between two units whose grounds nothing joins.
    Why: without a return path the signal floats: it jitters, it restarts devices, or it works only until the camera is powered.
    Bad: cut ground, in the one lead between a receiver and a bridge on packs of their own
    Good: cut plus, which leaves the ground core
    """
    if not any(unit.model.power.supply for unit in facts.rig.units.values()):
        return
    group = {name: name for name in facts.rig.units}

    def root(name: str) -> str:
        while group[name] != name:
            name = group[name]
        return name

    for wire in facts.links.wires:
        if grounded(facts.rig, wire):
            group[root(wire.source.unit)] = root(wire.sink.unit)
    for wire in facts.links.wires:
        signal = facts.rig.signal_at(wire.source)
        if signal.kind in ("servo", "channels", "commands") and root(wire.source.unit) != root(wire.sink.unit):
            yield Finding(
                wire.sink.span,
                f"{wire.leg.id} brings `{wire.source.unit}` to `{wire.sink.unit}`, and nothing joins their grounds",
                "use a lead with its ground core, or join the two grounds by another lead",
                (Related(wire.source.span, "the sending end"),),
                (wire.source.unit, wire.sink.unit),
            )


@rule("RC356", Severity.WARNING)
def volts_not_of_cells(facts: Facts) -> Iterator[Finding]:
    """
    Reports: volts of a pack that its cells cannot have.
    Why: a wrong count of cells or a copied plate makes every figure behind it wrong.
    Bad: chemistry lithium-ion; cells 4; supplies 12V..25.2V
    Good: chemistry lithium-ion; cells 4; supplies 12V..16.8V
    """
    told: set[str] = set()
    for unit in facts.rig.units.values():
        if unit.model.name not in told and (finding := _cells(unit)):
            told.add(unit.model.name)
            yield finding


def _cells(unit: Unit) -> Finding | None:
    side: PowerSide = unit.model.power
    if not side.cells or side.chemistry not in CELL:
        return None
    low, high = (volts * side.cells for volts in CELL[side.chemistry])
    stated = (
        [(volts, side.supply.span) for volts in (side.supply.empty, side.supply.full)] if side.supply else []
    )
    if side.capacity and side.capacity.volts is not None:
        stated.append((side.capacity.volts, side.capacity.span))
    for volts, span in stated:
        if not low <= volts <= high:
            cells = f"{side.cells} cell{'s' * (side.cells > 1)} of {side.chemistry}"
            return Finding(
                span,
                f"{cells} have {decimal(low, 2)} to {decimal(high, 2)} V, and model `{unit.model.name}` says {decimal(volts, 2)} V",
                "read the plate and the count of cells again",
            )
    return None


@rule("RC357", Severity.WARNING, tier=2)
def lead_without_wire(facts: Facts) -> Iterator[Finding]:
    """
    Reports: power leads to units with a voltage window whose wire is not stated; one message for all of them.
    Why: the compiler then counts no loss of volts on them, and a long thin lead is the usual reason why a camera cuts out.
    Bad: cable P02 "Camera power" { pack.out-1 to cam.power; length 3m; jacket 6mm }
    Good: cable P02 "Camera power" { pack.out-1 to cam.power; length 3m; jacket 6mm; wire AWG16 }
    """
    feeding = _feeding(facts)
    bare = [
        lead
        for fed in (feeding.rails.values() if feeding else ())
        for lead in fed.leads
        if lead.wire.cable.power.wire is None
        and facts.rig.signal_at(lead.wire.source).powers
        and _matters(facts.rig, lead)
    ]
    if bare:
        names = list(dict.fromkeys(f"`{lead.wire.cable.name}`" for lead in bare))
        yield Finding(
            bare[0].wire.cable.span,
            f"the wire of {listed(names)} is not stated, so {'its' if len(names) == 1 else 'their'} loss of volts is not counted",
            "add the size printed on the jacket, such as `wire AWG16` or `wire 1.5mm2`",
        )


def _matters(rig: Rig, lead: PowerLead) -> bool:
    """Whether a loss in a lead can be judged: what it feeds has a window, and draws."""
    side = rig.units[lead.taker.unit].model.power
    return bool(side.windows) and bool(side.draws or side.outlets)


@rule("RC397", Severity.WARNING, tier=2)
def night_without_charger(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a `night` for charging in a rig that has packs and no charger.
    Why: the charger that nobody wrote down is the one that nobody packs.
    Bad: night 10h, and no unit of role charger
    Good: unit charger is charger-8 "Charger"
    """
    rig = facts.rig
    packs = [unit.name for unit in rig.units.values() if unit.model.power.capacity]
    charging = any(unit.model.power.bays or unit.role == "charger" for unit in rig.units.values())
    if rig.day.night is not None and packs and not charging:
        known = next((model.name for model in rig.models.values() if model.power.bays), None)
        yield Finding(
            rig.span,
            f"the night is for charging, and no charger is in the kit for {listed([f'`{name}`' for name in packs])}",
            f'add `unit charger is {known or "MODEL"} "Charger"`, or take `night` off',
        )


@rule("RC383", Severity.WARNING, tier=2)
def source_feeds_nothing(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead that brings power to a socket whose unit neither takes power there nor passes it on.
    Why: the second pack looks plugged in, but everything stops when the first one is empty.
    Bad: port in-1, in-2 in pack-power; passes in-1 to out, with a pack in `in-2`
    Good: port in-1, in-2 in pack-power; either in-1, in-2 to out
    """
    rig, feeding = facts.rig, _feeding(facts)
    for wire in facts.links.wires if feeding else ():
        giver, taker = rig.units[wire.source.unit], rig.units[wire.sink.unit]
        side, port = taker.model.power, wire.sink.port
        rail = giver.model.power.rails.get(wire.source.port)
        if (
            feeding
            and rig.signal_at(wire.source).kind == rig.signal_at(wire.sink).kind == "power"
            and wire.source.port in giver.model.power.gives
            and (giver.name, rail) in feeding.rails
            and side.rails  # a model that says nothing of power is not judged
            and port not in side.takes | side.gives
        ):
            yield Finding(
                wire.sink.span,
                f"`{giver.name}` feeds nothing over {wire.leg.id}: `{taker.name}` neither takes power by `{port}` nor "
                "passes it on",
                _to_feed(taker, port, _supply_of(rig, feeding, wire.source)),
                (Related(taker.model.span, "its model"),),
            )


def _supply_of(rig: Rig, feeding: Feeding, end: End) -> Supply | None:
    """What the source gives that feeds a port."""
    rail = rig.units[end.unit].model.power.rails.get(end.port)
    return rig.units[feeding.source_of((end.unit, rail))[0]].model.power.supply if rail else None


def _to_feed(unit: Unit, port: str, supply: Supply | None) -> str:
    """The line that a model lacks if power by a port is of use; without it the lead is of none."""
    side, where = unit.model.power, f"in model `{unit.model.name}`"
    for outlet in side.outlets:
        if outlet.volts is None and outlet.ports and outlet.source in side.takes:
            inputs, ports = ", ".join((*(outlet.either or (outlet.source,)), port)), ", ".join(outlet.ports)
            here = "either" if outlet.either else "passes"
            return (
                f"write `either {inputs} to {ports}` {where} in place of its `{here}` line, or `joins` for `either` if "
                "they feed together"
            )
    if side.windows:
        window = side.windows[0]
        volts = f"{float(window.low):g}V..{float(window.high):g}V"
        return f"write `takes {volts} on {', '.join((*window.ports, port))}` {where} if it runs on that socket, too"
    volts = f"{float(supply.empty):g}V..{float(supply.full):g}V" if supply else "12V..17V"
    return f"take the lead out, or write `takes {volts} on {port}` {where} if that is what its plate says"
