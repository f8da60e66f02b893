"""The region of a few unknown numbers that meet linear bounds, by its corners, exact in fractions.

Each bound cuts the region: corners beyond it go, and new ones lie where it crosses an edge. Two corners have an edge
between them if no third corner meets all the bounds that both of them meet with equality (the double description
method: T. S. Motzkin, H. Raiffa, G. L. Thompson, R. M. Thrall, 1953). So whether numbers are left, and how far a sum
of them can go, is read off the corners.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import product
from typing import NamedTuple

ZERO = Fraction(0)
Vector = tuple[Fraction, ...]


class Bound(NamedTuple):
    """The sum of `weights` times the numbers is at most `most`."""

    weights: Vector
    most: Fraction


class Corner(NamedTuple):
    """A corner of a region; `on` has a bit for each bound that it meets with equality."""

    point: Vector
    on: int


class Region(NamedTuple):
    """All numbers that meet some bounds, never empty; `bounds` counts them, the sides of the first box included."""

    corners: tuple[Corner, ...]
    bounds: int

    def cut(self, bound: Bound) -> Region | None:
        """The part of the region that meets one more bound; None if nothing does."""
        weights, most = bound
        used = [at for at, weight in enumerate(weights) if weight]
        over = [sum((weights[at] * point[at] for at in used), -most) for point, _ in self.corners]
        bit = 1 << self.bounds
        kept = [
            Corner(point, on | bit) if not by else Corner(point, on)
            for (point, on), by in zip(self.corners, over, strict=True)
            if by <= 0
        ]
        if not kept:
            return None
        if len(kept) < len(self.corners):
            inside = [(corner, by) for corner, by in zip(self.corners, over, strict=True) if by < 0]
            outside = [(corner, by) for corner, by in zip(self.corners, over, strict=True) if by > 0]
            for (one, below), (other, above) in product(inside, outside):
                if self._is_edge(one, other):
                    way = below / (below - above)
                    between = zip(one.point, other.point, strict=True)
                    point = tuple(a if a == b else a + way * (b - a) for a, b in between)
                    kept.append(Corner(point, one.on & other.on | bit))
        return Region(tuple(kept), self.bounds + 1)

    def cut_all(self, bounds: Sequence[Bound]) -> Region | None:
        """The part of the region that meets several more bounds; None if nothing does."""
        region: Region | None = self
        for bound in bounds:
            if region is None:
                return None
            region = region.cut(bound)
        return region

    def _is_edge(self, one: Corner, other: Corner) -> bool:
        both = one.on & other.on
        if both.bit_count() < len(one.point) - 1:
            return False
        return not any(
            corner.on & both == both and corner is not one and corner is not other for corner in self.corners
        )

    def span(self, weights: Vector) -> tuple[Fraction, Fraction]:
        """The least and the greatest sum of weights times the numbers."""
        sums = [
            sum((weight * value for weight, value in zip(weights, point, strict=True) if weight), ZERO)
            for point, _ in self.corners
        ]
        return min(sums), max(sums)


def box(sides: Sequence[tuple[Fraction, Fraction]]) -> Region:
    """The region in which each number has a least and a greatest value."""
    corners = []
    for ends in product((0, 1), repeat=len(sides)):
        point = tuple(side[end] for side, end in zip(sides, ends, strict=True))
        corners.append(Corner(point, sum(1 << (2 * at + end) for at, end in enumerate(ends))))
    return Region(tuple(corners), 2 * len(sides))


def simplest(low: Fraction, high: Fraction) -> Fraction:
    """The number with the fewest decimals from low to high, near their middle; up to six decimals."""
    middle = (low + high) / 2
    for size in [Fraction(size) for size in (100, 10, 5, 1)] + [
        Fraction(1, 10**places) for places in range(1, 7)
    ]:
        near = round(middle / size) * size
        if low <= near <= high:
            return near
    return middle
