"""The stations of a rig: what works together, from a handset to the last device, and is tested together.

Two handsets are of one station if a lead, a mounting or a binding joins what they work with, however far away. A
picture joins nothing: every station of a production may send one to the same monitor. What belongs to no handset is
one more station, the last one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple, TypeVar

from rigcard.resolve.feeding import Feeding
from rigcard.resolve.links import indexed
from rigcard.resolve.model import Unit
from rigcard.resolve.once import once_a_rig
from rigcard.solve.power.result import Power
from rigcard.solve.solved import Solved

Item = TypeVar("Item")


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


@once_a_rig
def parts_of_rig(solved: Solved) -> tuple[Solved, ...]:
    """Each station as if it were the whole rig: its units, the leads and links between them, and what follows.

    What leads from one station to another, a picture, is in none of them. The rig itself if it is one station.
    """
    rig, links = solved.rig, solved.links
    stations = stations_of(solved)
    if len(stations) == 1:
        return (solved,)
    units = _each(solved, rig.units.values(), lambda unit: (unit.name,))
    cables = _each(
        solved,
        rig.cables.values(),
        lambda cable: [end.unit for leg in cable.legs for end in (leg.first, leg.second) if end],
    )
    radio = _each(solved, rig.radio_links, lambda link: (link.sender, *link.receivers))
    wires = _each(solved, links.wires, lambda wire: (wire.source.unit, wire.sink.unit))
    feeds = _each(solved, links.feeds, lambda feed: (feed.handset, feed.unit))
    orders = _each(solved, links.command_links, lambda order: (order.sender, order.receiver))
    losses = _each(solved, solved.losses, lambda loss: (loss.feed.handset,))
    starts = _each(solved, solved.wrong_starts, lambda start: (start.handset,))
    powers = _powers(solved)
    return tuple(
        solved._replace(
            rig=rig._replace(
                units={unit.name: unit for unit in units[at]},
                cables={cable.name: cable for cable in cables[at]},
                radio_links=tuple(radio[at]),
            ),
            links=indexed(tuple(wires[at]), feeds[at], orders[at]),
            losses=tuple(losses[at]),
            wrong_starts=tuple(starts[at]),
            power=powers[at],
        )
        for at in range(len(stations))
    )


def _powers(solved: Solved) -> Sequence[Power | None]:
    """The power of each station; no source feeds two of them."""
    power = solved.power
    if power is None:
        return [None for _ in stations_of(solved)]
    rails = _each(solved, power.rails.items(), lambda item: (item[0][0],))
    leads = _each(solved, power.leads.items(), lambda item: (item[1].lead.sink[0],))
    outlets = _each(solved, power.outlets, lambda use: (use.unit,))
    sources = _each(solved, power.sources.items(), lambda item: (item[1].unit,))
    packs = _each(solved, power.packs, lambda use: (use.unit,))
    ways: list[list[Feeding]] = [[] for _ in stations_of(solved)]
    for way in power.ways:
        fed = _each(solved, way.rails.items(), lambda item: (item[0][0],))
        clashes = _each(solved, way.clashes, lambda clash: (clash.lead.sink[0],))
        idle = _each(solved, way.idle, lambda rail: (rail[0],))
        above = _each(solved, way.sources.items(), lambda item: (item[0][0],))
        for at, own in enumerate(ways):
            own.append(Feeding(dict(fed[at]), tuple(clashes[at]), frozenset(idle[at]), dict(above[at])))
    return [
        power._replace(
            ways=ways[at],
            rails=dict(rails[at]),
            leads=dict(leads[at]),
            outlets=outlets[at],
            sources=dict(sources[at]),
            packs=packs[at],
        )
        for at in range(len(ways))
    ]


def _each(solved: Solved, items: Iterable[Item], about: Callable[[Item], Iterable[str]]) -> list[list[Item]]:
    """The items of each station; one that is about units of two stations is of neither."""
    numbers = station_numbers(solved)
    found: list[list[Item]] = [[] for _ in stations_of(solved)]
    for item in items:
        of = {numbers[name] for name in about(item)}
        if len(of) == 1:
            found[of.pop()].append(item)
    return found


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
