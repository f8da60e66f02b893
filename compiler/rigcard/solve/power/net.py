"""Volts and amperes in a tree of leads behind one source.

Loads of constant current are exact at once. A load of constant power draws more as its volts fall, so the tree is
swept again: from the source's volts, where currents are least, every sweep makes them larger and the volts lower.
As each sweep keeps this order, the volts come down to the highest solution if there is one, and else below any
limit; the number of sweeps is bounded too, so the search ends in either case.
"""

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
