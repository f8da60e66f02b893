"""Estimates the ink of marks, so that no card is so full that it smears, dries slowly or copies badly.

The estimate uses sizes only: width and type size for text, length and weight for strokes. The shares of type
were fitted to cards rendered at 150 dpi; the tests compare the estimate with renderings.
"""

from collections.abc import Iterable
from itertools import pairwise
from math import dist, pi

from rigcard.documents.base.model import MM_PER_POINT, Bars, Circle, Line, Mark, Rectangle, Shape, Text

MOST = 0.06  # largest share of a card that is black; common practice, no source
SHARES = {False: 0.19, True: 0.25}  # share of width x size that plain and bold type cover


def ink(marks: Iterable[Mark]) -> float:
    """Return the black area in mm2; codes and curves, which no card has, are not counted."""
    return sum(map(_one, marks))


def _one(mark: Mark) -> float:
    if isinstance(mark, Text):
        return mark.width * mark.size * MM_PER_POINT * SHARES[mark.bold]
    if isinstance(mark, Circle):
        return pi * mark.radius**2 if mark.solid else 2 * pi * mark.radius * mark.weight
    if isinstance(mark, Rectangle):
        inside = mark.width * mark.height if mark.solid else 0.0
        return inside or 2 * (mark.width + mark.height) * mark.weight * _drawn(mark.dash)
    if isinstance(mark, Line):
        return sum(dist(a, b) for a, b in pairwise(mark.points)) * mark.weight * _drawn(mark.dash)
    if isinstance(mark, Shape):
        edges = [*pairwise(mark.points), (mark.points[-1], mark.points[0])]
        if mark.solid:
            return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in edges)) / 2
        return sum(dist(a, b) for a, b in edges) * mark.weight
    assert not isinstance(mark, Bars)
    return 0.0


def _drawn(dash: tuple[float, ...]) -> float:
    """Return the share of a line that is drawn and not a gap."""
    return sum(dash[::2]) / sum(dash) if dash else 1.0
