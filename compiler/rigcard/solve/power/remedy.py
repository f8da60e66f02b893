"""What to change where too few volts arrive: the wire that would do, found by settling the net again."""

from __future__ import annotations

from typing import NamedTuple

from rigcard.resolve.feeding import PowerLead, Rail
from rigcard.resolve.links import trace
from rigcard.resolve.model import Model, Rig, Unit
from rigcard.resolve.power_side import Gauge
from rigcard.solve.power.compute import power_of, worst
from rigcard.solve.power.copper import thicker
from rigcard.solve.power.result import CASES, LeadUse, Power


class Loss(NamedTuple):
    """A lead on the way to a rail, and the volts that it loses there."""

    lead: PowerLead
    volts: float


class Remedy(NamedTuple):
    """A larger wire for a cable, and the volts that then arrive."""

    cable: str
    wire: Gauge
    volts: float


def losses(power: Power, rail: Rail, case: int) -> list[Loss]:
    """What each lead between the last source or regulator and a rail loses in a case, the most first."""
    found = []
    while (fed := power.feeding.rails[rail]).parent and not fed.regulator:
        lost = power.rails[fed.parent].volts[case] - power.rails[rail].volts[case]
        if fed.leads:
            found.append(Loss(fed.leads[0], lost))
        rail = fed.parent
    return sorted(found, key=lambda loss: -loss.volts)


def larger_wire(rig: Rig, power: Power, rail: Rail, case: int, wanted: float) -> Remedy | None:
    """The next larger wire, in the lead that loses most, that brings the wanted volts to a rail."""
    for loss in losses(power, rail, case):
        cable = loss.lead.wire.cable
        for gauge in thicker(cable.power.wire) if cable.power.wire else []:
            volts = worst(rig, power.ways, CASES[case], {cable.name: gauge}).volts.get(rail)
            if volts is not None and volts >= wanted:
                return Remedy(cable.name, gauge, volts)
    return None


def wire_that_feeds(rig: Rig, power: Power, use: LeadUse) -> Gauge | None:
    """The next larger wire in a lead with which its source can feed all its loads, as they take it."""
    cable = use.lead.wire.cable
    source = power.feeding.source_of(use.lead.source)
    for gauge in thicker(cable.power.wire) if cable.power.wire else []:
        states = [worst(rig, power.ways, case, {cable.name: gauge}) for case in CASES]
        if all(source in found.total for found in states) and all(
            rail_use.window is None or found.volts.get(rail, 0.0) >= float(rail_use.window.low)
            for found in states
            for rail, rail_use in power.rails.items()
            if rail_use.source == source
        ):
            return gauge
    return None


class OtherPack(NamedTuple):
    """A model of pack that the files declare, for the unit of another, and the least volts that then arrive."""

    unit: str
    model: str
    volts: float


def other_pack(rig: Rig, power: Power, rail: Rail) -> OtherPack | None:
    """The smallest pack of the stock that brings enough volts to a rail, and too many to none, in place of its own."""
    own = rig.units[power.feeding.source_of(rail)[0]]
    window = power.rails[rail].window
    packs = [model for model in rig.models.values() if model.power.supply and model.power.capacity]
    for model in sorted(packs, key=lambda model: model.power.capacity.energy if model.power.capacity else 0):
        if model.name == own.model.name or not _fits(rig, own, model) or window is None:
            continue
        tried = rig._replace(units={**rig.units, own.name: own._replace(model=model)})
        found = power_of(tried, trace(tried))
        use = found.rails.get(rail)
        if use and min(use.volts) >= float(window.low) and _takes_all(found, own.name):
            return OtherPack(own.name, model.name, min(use.volts))
    return None


def _fits(rig: Rig, unit: Unit, model: Model) -> bool:
    """Whether a model has every port of a unit that something is plugged to."""
    used = [end.port for wire in trace(rig).wires for end in (wire.source, wire.sink) if end.unit == unit.name]
    ports = unit.model.ports
    return all(
        name in model.ports
        and (model.ports[name].direction, model.ports[name].signal)
        == (ports[name].direction, ports[name].signal)
        for name in used
    )


def _takes_all(power: Power, source: str) -> bool:
    """Whether a source may give what its loads ask for, and none of these gets too many volts."""
    use = power.sources[source]
    most = float(use.supply.full)
    if use.fails or (use.supply.limit is not None and max(use.amps) > float(use.supply.limit)):
        return False
    behind = [one for one in power.rails.values() if one.source == use.rail and one.window]
    regulated = {rail for rail in power.feeding.rails if power.behind_regulator(rail)}
    return all(one.rail in regulated or (one.window and most <= float(one.window.high)) for one in behind)
