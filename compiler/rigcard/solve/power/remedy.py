"""What to change where too few volts arrive: the wire that would do, found by settling the net again."""

from __future__ import annotations

from typing import NamedTuple

from rigcard.resolve.feeding import Feeding, PowerLead, Rail
from rigcard.resolve.model import Rig
from rigcard.resolve.power_side import Gauge
from rigcard.solve.power.compute import state
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
    while leads := power.feeding.rails[rail].leads:
        parent = leads[0].source
        lost = power.rails[parent].volts[case] - power.rails[rail].volts[case]
        found.append(Loss(leads[0], lost))
        rail = parent
    return sorted(found, key=lambda loss: -loss.volts)


def larger_wire(rig: Rig, power: Power, rail: Rail, case: int, wanted: float) -> Remedy | None:
    """The next larger wire, in the lead that loses most, that brings the wanted volts to a rail."""
    feeding: Feeding = power.feeding
    for loss in losses(power, rail, case):
        cable = loss.lead.wire.cable
        for gauge in thicker(cable.power.wire) if cable.power.wire else []:
            volts = state(rig, feeding, CASES[case], {cable.name: gauge}).volts.get(rail)
            if volts is not None and volts >= wanted:
                return Remedy(cable.name, gauge, volts)
    return None
