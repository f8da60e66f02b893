"""Rules on where power comes from. They say nothing of a rig without a source: such a rig does not speak of power."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import Rig, Unit
from rigcard.resolve.power_side import PowerSide
from rigcard.words import decimal, listed

if TYPE_CHECKING:
    from rigcard.resolve.feeding import Feeding, PowerLead, Rail

# Volts of one cell, lowest and highest. Lithium-polymer: high-voltage types up to 4.45 V; lead-acid: falls from 2.20 V
# after charge. Sources: tests/reference/battery.csv.
CELL = {
    "lithium-ion": (Fraction("2.5"), Fraction("4.2")),
    "lithium-polymer": (Fraction("3.0"), Fraction("4.45")),
    "lithium-iron-phosphate": (Fraction("2.0"), Fraction("3.65")),
    "nickel-metal-hydride": (Fraction("1.0"), Fraction("1.45")),
    "lead-acid": (Fraction("1.75"), Fraction("2.2")),
}


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
    Why: it stays dark, and everything behind it; a forgotten lead is found on set.
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
            yield Finding(
                unit.span,
                f"`{unit.name}` takes power, and no source reaches it",
                f"add a lead from a source to `{unit.name}.{next(iter(wanted.values()))}`",
                units=(unit.name,),
            )


def _only_passes(rig: Rig, unit: Unit, port: str) -> bool:
    """Whether a port is that of a splitter, which works without the power that its supply core may pass on."""
    side, model = unit.model.power, unit.model
    loaded = {name for window in side.windows for name in window.ports} | {
        name for draw in side.draws for name in draw.ports
    }
    return (
        port in model.passed.values()
        and port not in loaded
        and not rig.signals[model.ports[port].signal].powers
    )


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
        yield Finding(
            clash.lead.taker.span,
            f"`{clash.lead.taker.unit}` gets power from `{clash.other.giver.unit}` over {clash.other.wire.leg.id} and "
            f"from `{clash.lead.giver.unit}` over {clash.lead.wire.leg.id}",
            f"remove one of the two, or cut the supply core of {_signal_lead(facts, clash.lead, clash.other)} and "
            "write `cut plus` in its block",
            (Related(clash.other.taker.span, "the first one"),),
            (clash.lead.taker.unit,),
        )


def _signal_lead(facts: Facts, *leads: PowerLead) -> str:
    """The lead that is there for its signal, or else the first."""
    signals = [lead for lead in leads if facts.rig.signal_at(lead.wire.source).kind != "power"]
    return [*signals, *leads][0].wire.leg.id


@rule("RC353", Severity.ERROR, tier=0)
def back_feed(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead whose two ends both let power out, each from a source of its own.
    Why: power enters by an output; a pack charges another without limit, or a regulator takes harm.
    Bad: rx.p5 to bridge.j3, where the receiver feeds its pins and the bridge feeds its socket
    Good: cut plus, in the block of that lead
    """
    feeding = _feeding(facts)
    for clash in feeding.clashes if feeding else ():
        if clash.other is None:
            lead = clash.lead
            yield Finding(
                lead.taker.span,
                f"{lead.wire.leg.id} joins the supply of `{lead.giver.unit}` and that of `{lead.taker.unit}`",
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
    feeding = _feeding(facts)
    for rail, fed in feeding.rails.items() if feeding else ():
        for lead in fed.leads:
            rated = lead.wire.cable.power.rated
            fuse, where = _fuse_before(facts, feeding, rail, lead) if feeding else (None, "")
            if rated is not None and fuse is not None and fuse > rated:
                yield Finding(
                    lead.giver.span,
                    f"{lead.wire.leg.id} is marked {decimal(rated, 2)} A, and the fuse before it{where} is "
                    f"{decimal(fuse, 2)} A",
                    f"fit a fuse of {decimal(rated, 2)} A or less in {lead.wire.cable.name}, at the end of the source",
                )


def _fuse_before(facts: Facts, feeding: Feeding, rail: Rail, lead: PowerLead) -> tuple[Fraction | None, str]:
    """The smallest fuse on the way to a lead, up to a source or regulator; "" for its own."""
    found: list[tuple[Fraction, str]] = []
    own = lead.wire.cable.power.fuse
    if own is not None:
        found.append((own, ""))
    while True:
        unit = facts.rig.units[lead.giver.unit]
        if unit.model.power.fuse is not None:
            found.append((unit.model.power.fuse, f" in `{unit.name}`"))
        before = feeding.rails[lead.source]
        if not before.leads:
            break
        lead = before.leads[0]
        if lead.wire.cable.power.fuse is not None:
            found.append((lead.wire.cable.power.fuse, f" in {lead.wire.leg.id}"))
    return min(found, default=(None, ""), key=lambda known: known[0])


@rule("RC355", Severity.ERROR)
def no_common_ground(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a signal between two units whose grounds nothing joins.
    Why: without a return path the signal floats: jitter, restarts, works until the camera is powered.
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
        if "ground" not in wire.cable.power.cuts:
            group[root(wire.source.unit)] = root(wire.sink.unit)
    for wire in facts.links.wires:
        signal = facts.rig.signal_at(wire.source)
        if signal.kind in ("servo", "channels", "commands") and root(wire.source.unit) != root(wire.sink.unit):
            yield Finding(
                wire.sink.span,
                f"{wire.leg.id} brings `{wire.source.unit}` to `{wire.sink.unit}`, and nothing joins their grounds",
                "use a lead with its ground core, or join the two grounds by another lead",
                (Related(wire.source.span, "the sending end"),),
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
    Why: their loss of volts is counted as none, and a long thin lead is the usual reason why a camera cuts out.
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
