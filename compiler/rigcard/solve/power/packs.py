"""Run time of packs, how many a day takes, and whether a night charges them. Exact but for the watts of the net."""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from fractions import Fraction
from math import ceil
from typing import NamedTuple

from rigcard.resolve.model import Rig, Unit
from rigcard.resolve.power_side import Day

MOST_PACKS = 48  # for one device and one day: more is a slip of the pen, and nobody carries them


class PackUse(NamedTuple):
    """One pack, or the pack inside a unit, and what it must feed.

    `hours` of run time at rest, `cold_hours` where the day may freeze; `packs` for the day with `spares` beside
    them, None where the rig states no day or the unit draws nothing.
    """

    unit: str
    energy: Fraction  # Wh
    watts: Fraction
    hours: Fraction | None
    cold_hours: Fraction | None
    needed: Fraction | None  # packs, before rounding up
    packs: int | None
    spares: int
    change_after: Fraction | None  # h: the day in equal parts
    alone: Fraction | None  # h at rest if it takes turns with others, and these do not
    worn: bool  # on all day, whatever the duty

    @property
    def beyond_reason(self) -> bool:
        """Whether nobody can mean so many: they are refused, and listed nowhere."""
        return self.packs is not None and self.packs > MOST_PACKS

    @property
    def all(self) -> int:
        """Packs to bring."""
        return (self.packs or 1) + self.spares


class Charging(NamedTuple):
    """All packs of the day on all bays in one night. `fits`: packs that the night has time for."""

    packs: int
    bays: int
    hours_each: Fraction  # of the slowest charger
    rounds: int  # that all packs take
    hours: Fraction  # that they take together
    night: Fraction | None
    fits: int | None
    bays_needed: int | None  # None: the night is too short for one round


def run_time(energy: Fraction, usable: Fraction, watts: Fraction) -> Fraction:
    """Hours that a pack of `energy` Wh lasts."""
    return energy * usable / watts


def packs_for(hours: Fraction, duty: Fraction, one: Fraction) -> Fraction:
    """Packs, not rounded, for a day of which the load is on for the part `duty`, if one pack lasts `one` hours."""
    return hours * duty / one


def pack_uses(rig: Rig, watts: Mapping[str, tuple[Fraction, Fraction]]) -> list[PackUse]:
    """Every unit with a capacity; `watts` of those that feed a net, on average and while they feed it alone."""
    found = []
    for unit in rig.units.values():
        if unit.model.power.capacity:
            inside = _inside(unit) if unit.name not in watts else None
            load, alone = watts.get(unit.name, (Fraction(0), Fraction(0)))
            found.append(_use(unit, rig.day, load + (inside or 0), inside is not None, alone))
    return found


def _inside(unit: Unit) -> Fraction | None:
    """Watts that a unit draws from the pack inside it; None where its volts are not stated."""
    capacity = unit.model.power.capacity
    total = Fraction(0)
    for draw in unit.model.power.draws:
        if draw.ports:
            return None
        if draw.watts:
            total += draw.steady
        elif capacity and capacity.volts:
            total += draw.steady * capacity.volts
        else:
            return None
    return total


def _use(unit: Unit, day: Day, watts: Fraction, worn: bool, alone: Fraction) -> PackUse:
    capacity = unit.model.power.capacity
    assert capacity
    use = PackUse(
        unit=unit.name,
        energy=capacity.energy,
        watts=watts,
        hours=None,
        cold_hours=None,
        needed=None,
        packs=None,
        spares=day.spares,
        change_after=None,
        alone=None,
        worn=worn,
    )
    if not watts:
        return use
    warm = run_time(capacity.energy, day.usable, watts)
    cold = warm * day.cold if day.freezing else None
    use = use._replace(
        hours=warm,
        cold_hours=cold,
        alone=run_time(capacity.energy, day.usable, alone) if alone > watts else None,
    )
    if day.hours is None:
        return use
    needed = packs_for(day.hours, Fraction(1) if worn else day.duty, cold or warm)
    count = max(1, ceil(needed))
    return use._replace(needed=needed, packs=count, change_after=day.hours / count)


def charging(rig: Rig, uses: list[PackUse]) -> Charging | None:
    """The night's plan, or None without a charger or a day to charge for."""
    chargers = [
        (unit.model.power.bays, unit.model.power.charges_in)
        for unit in rig.units.values()
        if unit.model.power.bays and unit.model.power.charges_in
    ]
    packs = sum(use.all for use in uses if use.packs is not None and not use.beyond_reason)
    if not chargers or not packs:
        return None
    return plan(packs, [(bays, time) for bays, time in chargers if time], rig.day.night)


def plan(packs: int, chargers: list[tuple[int, Fraction]], night: Fraction | None) -> Charging:
    """Packs on chargers (bays, hours a pack); each bay takes the next pack when it is free."""
    bays = sum(count for count, _ in chargers)
    slowest = max(time for _, time in chargers)
    done = min(_done_at(packs, time, chargers) for _, time in chargers)
    fits = needed = None
    if night is not None:
        fits = _charged(night, chargers)
        rounds = int(night / slowest)
        needed = bays if fits >= packs else ceil(Fraction(packs, rounds)) if rounds else None
    return Charging(packs, bays, slowest, ceil(Fraction(packs, bays)), done, night, fits, needed)


def _charged(hours: Fraction, chargers: Sequence[tuple[int, Fraction]]) -> int:
    """Packs that are full after some hours."""
    return sum(int(hours / time) * count for count, time in chargers)


def _done_at(packs: int, time: Fraction, chargers: Sequence[tuple[int, Fraction]]) -> Fraction:
    """The first multiple of a charging time at which all packs are full."""
    rounds = bisect_left(range(packs), packs, key=lambda number: _charged(number * time, chargers))
    return rounds * time
