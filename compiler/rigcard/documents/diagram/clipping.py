"""Clips a large drawing to one of its sheets."""

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


def inside(mark: Mark, field: Frame) -> Mark | None:
    """Return what this sheet shows of a mark: text and boxes only if whole, lines as far as they are inside."""
    bounds = bounds_of(mark)
    if bounds is None:
        return mark
    slack = 0.01 if isinstance(mark, Text) else ROUNDED
    left, top, right, bottom = bounds
    across = field.x - slack <= left and right <= field.x + field.width + slack
    if across and field.y - slack <= top and bottom <= field.y + field.height + slack:
        return mark
    return _cut(mark, field) if isinstance(mark, Line | Curve) else None


def _cut(mark: Line | Curve, field: Frame) -> Mark | None:
    """Return the part of a line inside a sheet, as straight pieces."""
    points = _sampled(mark)
    kept = [
        (x, y)
        for x, y in points
        if field.x <= x <= field.x + field.width and field.y <= y <= field.y + field.height
    ]
    return Line(tuple(kept), mark.weight, mark.dash) if len(kept) > 1 else None


def _sampled(mark: Line | Curve) -> list[tuple[float, float]]:
    if isinstance(mark, Line):
        (x0, y0), (x1, y1) = mark.points[0], mark.points[-1]
        return [(x0 + (x1 - x0) * t / 20, y0 + (y1 - y0) * t / 20) for t in range(21)]
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
