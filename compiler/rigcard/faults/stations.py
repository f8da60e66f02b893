"""The stations of a rig: what works together, from a handset to the last device, and is tested together.

Two handsets are of one station if a lead, a mounting or a binding joins what they work with, however far away. A
picture joins nothing: every station of a production may send one to the same monitor. What belongs to no handset is
one more station, the last one.
"""

from __future__ import annotations

from typing import NamedTuple

from rigcard.resolve.model import Unit
from rigcard.resolve.once import once_a_rig
from rigcard.solve.solved import Solved


class Station(NamedTuple):
    """The handsets of a station, and the names of all its units. `others`: the units of no other station."""

    handsets: tuple[Unit, ...]
    units: frozenset[str]
    others: bool = False


@once_a_rig
def stations_of(solved: Solved) -> tuple[Station, ...]:
    """The stations in the order of their first handset; one with everything in it if there are no two."""
    rig = solved.rig
    handsets = [unit for unit in rig.units.values() if unit.role == "handset"]
    joined = _joined(solved)
    found: list[Station] = []
    taken: set[str] = set()
    for handset in handsets:
        if handset.name not in taken and solved.links.feeds_from(handset.name):
            units = _reached(handset.name, joined)
            taken |= units
            found.append(Station(tuple(unit for unit in handsets if unit.name in units), frozenset(units)))
    if len(found) < 2:
        return (Station(tuple(handsets), frozenset(rig.units)),)
    others = frozenset(rig.units.keys() - taken)
    idle = tuple(unit for unit in handsets if unit.name in others)
    return (*found, *([Station(idle, others, True)] if others else []))


@once_a_rig
def station_numbers(solved: Solved) -> dict[str, int]:
    """The station of each unit, by its index."""
    return {name: at for at, station in enumerate(stations_of(solved)) for name in station.units}


def _joined(solved: Solved) -> dict[str, list[str]]:
    """By unit, those that a lead, a mounting or a binding joins to it."""
    rig = solved.rig
    pairs: list[tuple[str, str]] = []
    for cable in rig.cables.values():
        for leg in cable.legs:
            signal = rig.signal_at(leg.first)
            if leg.second and (signal.kind != "picture" or signal.powers):
                pairs.append((leg.first.unit, leg.second.unit))
    for unit in rig.units.values():
        pairs += [(unit.name, other) for other in (unit.bound_to, unit.mounted_on) if other]
    found: dict[str, list[str]] = {}
    for one, other in pairs:
        found.setdefault(one, []).append(other)
        found.setdefault(other, []).append(one)
    return found


def _reached(name: str, joined: dict[str, list[str]]) -> set[str]:
    waiting, found = [name], {name}
    for one in waiting:  # grows
        for other in joined.get(one, ()):
            if other not in found:
                found.add(other)
                waiting.append(other)
    return found
