"""Volts and amperes on labels of power leads: what the source gives, the rating of the lead, its fuse.

The volts are those of the source, or of the regulator before the lead, not those that arrive. The latter change
with every load, and a lead that has not changed is not labelled again.
"""

from collections.abc import Mapping
from fractions import Fraction

from rigcard.documents.base.language import say
from rigcard.resolve.feeding import Feeding, Rail, follow, has_source
from rigcard.resolve.links import trace
from rigcard.resolve.model import Cable, Rig
from rigcard.solve.power.wording import amps, volts

Ratings = Mapping[str, tuple[str, ...]]  # volts and amperes of power leads, by the id of the leg
VOLTS, AMPERES = "______ V", "______ A"  # to write in, if the file does not state them


def ratings(rig: Rig) -> dict[str, tuple[str, ...]]:
    """Return the volts and amperes of every power lead, by the id of the leg, as words that stay together."""
    given = _given(rig)
    return {
        leg.id: (given.get(leg.id, VOLTS), *_amperes(cable))
        for cable in rig.cables.values()
        for leg in cable.legs
        if rig.signal_at(leg.first).powers
    }


def _given(rig: Rig) -> dict[str, str]:
    """Return the supply of every lead that a source feeds."""
    if not has_source(rig):
        return {}
    feeding = follow(rig, trace(rig))
    return {
        lead.wire.leg.id: _range(*_volts(rig, feeding, lead.source))
        for fed in feeding.rails.values()
        for lead in fed.leads
    }


def _volts(rig: Rig, feeding: Feeding, rail: Rail) -> tuple[Fraction, Fraction]:
    """Return the least and most volts of a rail.

    They are those of its regulator, or else of its source when nearly empty and when full.
    """
    while (fed := feeding.rails[rail]).parent is not None:
        if fed.regulator and fed.regulator.volts is not None:
            return fed.regulator.volts, fed.regulator.volts
        rail = fed.parent
    supply = rig.units[rail[0]].model.power.supply
    assert supply
    return supply.empty, supply.full


def _range(low: Fraction, high: Fraction) -> str:
    """Return the volts from low to high; one value where both read alike."""
    first, last = volts(low), volts(high)
    return last if first == last else say("{low} to {high}", low=first.removesuffix(" V"), high=last)


def _amperes(cable: Cable) -> tuple[str, ...]:
    rated = (amps(cable.power.rated),) if cable.power.rated is not None else ()
    fuse = (say("fuse {amperes}", amperes=amps(cable.power.fuse)),) if cable.power.fuse is not None else ()
    return (*rated, *fuse) or (AMPERES,)
