"""What to change where too few volts arrive: the wire that would do, found by settling the net again."""

from __future__ import annotations

from typing import NamedTuple

from rigcard.resolve.feeding import PowerLead, Rail
from rigcard.resolve.model import Rig
from rigcard.resolve.power_side import Gauge
from rigcard.solve.power.compute import worst
from rigcard.solve.power.copper import thicker
from rigcard.solve.power.result import CASES, Power


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
