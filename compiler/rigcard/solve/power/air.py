"""Watt-hours of a pack and its class in passenger baggage.

The limits are data: rules are issued anew every year, and the operator decides. They are those of the passenger
provisions of the ICAO Technical Instructions, part 8, and IATA DGR 2.3, as public summaries give them; both limits
include the equal case. Watt-hours are nominal volts times rated ampere-hours (49 CFR 171.8).
"""

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from rigcard.resolve.model import Rig

ASK = "ask the airline"


class AirClass(NamedTuple):
    """Packs up to `most` Wh, or above all limits (None)."""

    most: Fraction | None
    words: str


CLASSES = (
    AirClass(Fraction(100), "up to 100 Wh: cabin baggage, terminals covered"),
    AirClass(
        Fraction(160), "over 100 to 160 Wh: only if the airline approves, at most two spares a person, cabin"
    ),
    AirClass(None, "over 160 Wh: not in passenger baggage, declared cargo"),
)


class AirPack(NamedTuple):
    """A kind of pack: its model, watt-hours, how many travel, and its class."""

    model: str
    title: str
    energy: Fraction
    pieces: int
    air: AirClass


def air_class(energy: Fraction) -> AirClass:
    """The class of a pack of so many watt-hours."""
    return next(known for known in CLASSES if known.most is None or energy <= known.most)


def watt_hours(rig: Rig, counts: Iterable[tuple[str, int]] = ()) -> list[AirPack]:
    """Every model of pack in the kit; `counts`: packs to bring for a unit, one where it is not named."""
    known = dict(counts)
    found: dict[str, AirPack] = {}
    for unit in rig.units.values():
        capacity = unit.model.power.capacity
        if capacity is None:
            continue
        before = found.get(unit.model.name)
        pieces = known.get(unit.name, 1) + (before.pieces if before else 0)
        found[unit.model.name] = AirPack(
            unit.model.name, unit.model.title, capacity.energy, pieces, air_class(capacity.energy)
        )
    return list(found.values())
