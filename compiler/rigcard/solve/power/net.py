"""Volts and amperes in a tree of leads behind one source.

Loads of constant current are exact at once. A load of constant power draws more as its volts fall, so the tree is
swept again: from the source's volts, where currents are least, every sweep makes them larger and the volts lower.
As each sweep keeps this order, the volts come down to the highest solution if there is one, and else below any
limit; the number of sweeps is bounded too, so the search ends in either case.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

SETTLED = 1e-9  # V between two sweeps
MOST_SWEEPS = (
    20_000  # a tree that has not settled by then is on the brink, and counted as one that cannot be fed
)


class Branch(NamedTuple):
    """A node and the lead that feeds it from the node `parent`, which stands before it. The first has no lead."""

    parent: int
    ohms: float  # there and back
    amps: float  # constant currents drawn at the node
    watts: float  # constant powers drawn at the node


class Settled(NamedTuple):
    """Volts of every node, and the current into it through its lead; of the first: all that the source gives."""

    volts: tuple[float, ...]
    amps: tuple[float, ...]


def settle(source: float, branches: Sequence[Branch]) -> Settled | None:
    """The state of a tree at the volts of its source, above zero, or None if its loads cannot be fed."""
    volts = [source] * len(branches)
    for _ in range(MOST_SWEEPS):
        amps = _currents(volts, branches)
        lower = list(volts)
        for node, branch in enumerate(branches[1:], 1):
            lower[node] = lower[branch.parent] - amps[node] * branch.ohms
        if min(lower) <= 0:
            return None
        moved = max(before - after for before, after in zip(volts, lower, strict=True))
        volts = lower
        if moved < SETTLED:
            return Settled(tuple(volts), tuple(_currents(volts, branches)))
    return None


def _currents(volts: Sequence[float], branches: Sequence[Branch]) -> list[float]:
    amps = [branch.amps + branch.watts / volt for branch, volt in zip(branches, volts, strict=True)]
    for node in range(len(branches) - 1, 0, -1):
        amps[branches[node].parent] += amps[node]
    return amps


# ---- leads that meet ---------------------------------------------------------------------------------------------


class Lead(NamedTuple):
    """A lead between two nodes, with its resistance there and back, above zero."""

    giver: int
    taker: int
    ohms: float


class Mesh(NamedTuple):
    """Volts of every node, and the current in every lead."""

    volts: tuple[float, ...]
    amps: tuple[float, ...]


def settle_mesh(source: float, loads: Sequence[tuple[float, float]], leads: Sequence[Lead]) -> Mesh | None:
    """The state of a net whose leads meet, or None if its loads cannot be fed.

    `loads`: constant amperes and constant watts at each node; node 0 is held at the volts of the source. As in a
    tree, volts come down from the source's to the highest solution: less volts anywhere only raise the currents, and
    more current anywhere lowers all volts (the conductances make an M-matrix).
    """
    net = _Eliminated(len(loads), leads)
    volts = [source] * len(loads)
    for _ in range(MOST_SWEEPS):
        amps = [
            0.0,
            *(steady + watts / volt for (steady, watts), volt in zip(loads[1:], volts[1:], strict=True)),
        ]
        lower = [source - drop for drop in net.drops(amps)]
        if min(lower) <= 0:
            return None
        moved = max(before - after for before, after in zip(volts, lower, strict=True))
        volts = lower
        if moved < SETTLED:
            found = tuple((volts[lead.giver] - volts[lead.taker]) / lead.ohms for lead in leads)
            return Mesh(tuple(volts), found)
    return None


class _Eliminated:
    """The conductances of a net, its nodes eliminated one by one, those with fewest neighbours first."""

    def __init__(self, nodes: int, leads: Sequence[Lead]) -> None:
        beside: list[dict[int, float]] = [{} for _ in range(nodes)]
        for giver, taker, ohms in leads:
            for here, there in ((giver, taker), (taker, giver)):
                beside[here][there] = beside[here].get(there, 0.0) + 1 / ohms
        self.steps: list[tuple[int, float, dict[int, float]]] = []
        left = set(range(1, nodes))
        while left:
            node = min(left, key=lambda known: (len(beside[known]), known))
            left.remove(node)
            found = beside[node]
            total = sum(found.values())
            self.steps.append((node, total, found))
            for here, first in found.items():
                del beside[here][node]
                for there, second in found.items():
                    if here != there:
                        beside[here][there] = beside[here].get(there, 0.0) + first * second / total

    def drops(self, amps: Sequence[float]) -> list[float]:
        """The volts that each node lies below node 0, for a current drawn at each."""
        drawn = list(amps)
        for node, total, beside in self.steps:
            for other, conductance in beside.items():
                drawn[other] += drawn[node] * conductance / total
        drop = [0.0] * len(drawn)
        for node, total, beside in reversed(self.steps):
            behind = sum(conductance * drop[other] for other, conductance in beside.items())
            drop[node] = (drawn[node] + behind) / total
        return drop
