"""Clips a large drawing to one of its sheets."""

from itertools import pairwise

from rigcard.documents.base.layout import ASCENT, LEADING
from rigcard.documents.base.model import MM_PER_POINT, Curve, Frame, Line, Mark, Rectangle, Shape, Text

ROUNDED = 0.25  # mm: graphviz rounds sizes to whole points, so a part at the edge sticks out by half a point


def bounds_of(mark: Mark) -> tuple[float, float, float, float] | None:
    """Return left, top, right and bottom of a mark; None for marks that a diagram does not have."""
    if isinstance(mark, Text):
        size = mark.size * MM_PER_POINT
        return mark.x, mark.y - ASCENT * size, mark.x + mark.width, mark.y + (LEADING - ASCENT) * size
    if isinstance(mark, Rectangle):
        return mark.x, mark.y, mark.x + mark.width, mark.y + mark.height
    if isinstance(mark, Line | Curve | Shape):
        xs, ys = [x for x, _ in mark.points], [y for _, y in mark.points]
        return min(xs), min(ys), max(xs), max(ys)
    return None


def inside(mark: Mark, field: Frame, least: float) -> list[Mark]:
    """Return what this sheet shows of a mark: text and boxes only if whole, lines as far as they are inside.

    Of a frame that is longer than `least` mm, and so may be whole on no sheet, the sides are shown as lines.
    """
    bounds = bounds_of(mark)
    if bounds is None:
        return [mark]
    slack = 0.01 if isinstance(mark, Text) else ROUNDED
    left, top, right, bottom = bounds
    across = field.x - slack <= left and right <= field.x + field.width + slack
    if across and field.y - slack <= top and bottom <= field.y + field.height + slack:
        return [mark]
    parts: list[Mark] = [mark]
    if isinstance(mark, Rectangle):
        corners = ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
        long = max(mark.width, mark.height) > least and not mark.solid
        parts = [Line(side, mark.weight) for side in pairwise(corners)] if long else []
    cut = [_cut(part, field) for part in parts if isinstance(part, Line | Curve)]
    return [part for part in cut if part is not None]


def _cut(mark: Line | Curve, field: Frame) -> Mark | None:
    """Return the part of a line inside a sheet; that of a curve as straight pieces."""
    if isinstance(mark, Line):
        return _cut_straight(mark, field)
    kept = [
        (x, y)
        for x, y in _sampled(mark)
        if field.x <= x <= field.x + field.width and field.y <= y <= field.y + field.height
    ]
    return Line(tuple(kept), mark.weight, mark.dash) if len(kept) > 1 else None


def _cut_straight(mark: Line, field: Frame) -> Mark | None:
    """Return the part of a straight line inside a sheet (the way of Liang and Barsky)."""
    (x, y), (right, bottom) = mark.points
    begin, end = 0.0, 1.0
    for start, way, low, size in (
        (x, right - x, field.x, field.width),
        (y, bottom - y, field.y, field.height),
    ):
        if way == 0:
            if not low <= start <= low + size:
                return None
            continue
        enters, leaves = sorted(((low - start) / way, (low + size - start) / way))
        begin, end = max(begin, enters), min(end, leaves)
    if begin >= end:
        return None
    cut = tuple((x + (right - x) * part, y + (bottom - y) * part) for part in (begin, end))
    return Line(cut, mark.weight, mark.dash)


def _sampled(mark: Curve) -> list[tuple[float, float]]:
    points = []
    for at in range(0, len(mark.points) - 3, 3):
        a, b, c, d = mark.points[at : at + 4]
        for step in range(21):
            t = step / 20
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            points.append(
                (
                    sum(w * p[0] for w, p in zip(weights, (a, b, c, d), strict=True)),
                    sum(w * p[1] for w, p in zip(weights, (a, b, c, d), strict=True)),
                )
            )
    return points
