"""Leaders from points of a drawing to letters in two columns: no two cross, and they keep off other things.

Straight leaders come first: inside a column two that cross change slots, which always shortens the sum of their
lengths, so it ends. Then a leader that runs over a thing not its own tries other slots and a bend, and takes the one
with the fewest such faults among those that cross nothing.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from math import hypot
from typing import NamedTuple

PITCH = 7.0  # mm, least distance of two letters in a column
RADIUS = 2.9  # of the ring round a letter
CLEAR = 0.4  # mm between a leader and a thing it passes
BEND = 1.0  # mm that a bend lies beyond its own thing
HIGHEST = 0.5  # mm from the top of the drawing

Point = tuple[float, float]


class Area(NamedTuple):
    """An upright rectangle."""

    left: float
    top: float
    right: float
    bottom: float

    def holds(self, point: Point) -> bool:
        """Whether a point lies in it."""
        return self.left <= point[0] <= self.right and self.top <= point[1] <= self.bottom


class Leader(NamedTuple):
    """A line from a thing to the ring of its letter; two points, or three with a bend."""

    name: str
    points: tuple[Point, ...]

    @property
    def start(self) -> Point:
        """The end at the thing."""
        return self.points[0]

    @property
    def end(self) -> Point:
        """The end at the ring."""
        return self.points[-1]


def lead(points: Mapping[str, Point], areas: Mapping[str, Area], width: float, height: float) -> list[Leader]:
    """A leader for each point. `areas` are the things drawn, by name, those without a leader too."""
    order = sorted(points, key=lambda name: (points[name][0], -points[name][1], name))
    half = (len(order) + 1) // 2
    left, right = _slots(half, width, height)
    leaders = []
    for names, slots in ((order[:half], left), (order[half:], right)):
        names = sorted(names, key=lambda name: (points[name][1], name))
        ends = _nearest([points[name] for name in names], slots)
        leaders += _uncrossed(
            [Leader(name, (points[name], end)) for name, end in zip(names, ends, strict=True)]
        )
    return _cleared(leaders, areas, (*left, *right), height)


def _slots(rows: int, width: float, height: float) -> tuple[list[Point], list[Point]]:
    """The ends of leaders at both sides, as many as fit and never fewer than `rows`."""
    room = height - 2 * RADIUS - HIGHEST
    rows = max(rows, int(room / PITCH) + 1)
    pitch = max(PITCH, room / max(1, rows - 1))
    ys = [RADIUS + HIGHEST + pitch * row for row in range(rows)]
    inset = 2 * RADIUS + 0.5
    return [(inset, y) for y in ys], [(width - inset, y) for y in ys]


def _nearest(points: Sequence[Point], slots: Sequence[Point]) -> list[Point]:
    """Slots from the top down, one a point, with the least sum of lengths."""
    spare = len(slots) - len(points)
    best: list[tuple[float, list[Point]]] = [(0.0, [])] * (spare + 1)
    for row, point in enumerate(points):
        taken: list[tuple[float, list[Point]]] = []
        for skipped in range(spare + 1):
            slot = slots[row + skipped]
            length, ends = best[skipped]
            found = (length + _distance(point, slot), [*ends, slot])
            taken.append(min(found, taken[-1]) if taken else found)
        best = taken
    return best[-1][1]


def _uncrossed(leaders: list[Leader]) -> list[Leader]:
    changed = True
    while changed:
        changed = False
        for i, j in combinations(range(len(leaders)), 2):
            a, b = leaders[i], leaders[j]
            now = _distance(a.start, a.end) + _distance(b.start, b.end)
            then = _distance(a.start, b.end) + _distance(b.start, a.end)
            if then < now - 1e-9:
                leaders[i] = a._replace(points=(a.start, b.end))
                leaders[j] = b._replace(points=(b.start, a.end))
                changed = True
    return leaders


# ---- off other things ---------------------------------------------------------------------------------------------


def _cleared(
    leaders: list[Leader], areas: Mapping[str, Area], slots: Sequence[Point], height: float
) -> list[Leader]:
    """Each round takes the change that leaves the fewest things run over, so there are few rounds."""
    while True:
        hits = [_hits(leader, areas) for leader in leaders]
        best: tuple[int, float, list[Leader]] | None = None
        for changes in _changes(leaders, [at for at, hit in enumerate(hits) if hit], areas, slots, height):
            gain = sum(hits[at] - _hits(leader, areas) for at, leader in changes.items())
            if gain <= 0 or (best and gain < -best[0]):
                continue
            found = [changes.get(at, leader) for at, leader in enumerate(leaders)]
            rank = -gain, sum(_length(leader) for leader in found)
            if (best is None or rank < best[:2]) and not _any_cross(found, changes):
                best = (*rank, found)
        if best is None:
            return leaders
        leaders = best[2]


def _changes(
    leaders: Sequence[Leader],
    faulty: Sequence[int],
    areas: Mapping[str, Area],
    slots: Sequence[Point],
    height: float,
) -> Iterator[dict[int, Leader]]:
    """Another way for a faulty leader: to its own slot, a free one, or one that it changes with another leader."""
    free = [slot for slot in slots if slot not in [leader.end for leader in leaders]]
    for at in faulty:
        for slot in (leaders[at].end, *free):
            for way in _ways(leaders[at], slot, areas, height):
                yield {at: way}
        for other in range(len(leaders)):
            if other != at:
                theirs = list(_ways(leaders[other], leaders[at].end, areas, height))
                for way in _ways(leaders[at], leaders[other].end, areas, height):
                    for their in theirs:
                        yield {at: way, other: their}


def _ways(leader: Leader, slot: Point, areas: Mapping[str, Area], height: float) -> Iterator[Leader]:
    """Straight to a slot, or with a bend above or below the thing itself."""
    x, _ = leader.start
    yield leader._replace(points=(leader.start, slot))
    own = areas[leader.name]
    for y in (own.top - BEND, own.bottom + BEND):
        if HIGHEST <= y <= height:
            yield leader._replace(points=(leader.start, (x, y), slot))


def _hits(leader: Leader, areas: Mapping[str, Area]) -> int:
    """How many things of others it runs over; one that lies on its own start cannot be helped."""
    return sum(
        name != leader.name
        and not area.holds(leader.start)
        and any(_meets(area, a, b) for a, b in pairwise(leader.points))
        for name, area in areas.items()
    )


def _meets(area: Area, a: Point, b: Point) -> bool:
    """Whether a straight line comes nearer than `CLEAR` to a rectangle: it is cut to it, side by side."""
    enter, leave = 0.0, 1.0
    for start, end, low, high in (
        (a[0], b[0], area.left - CLEAR, area.right + CLEAR),
        (a[1], b[1], area.top - CLEAR, area.bottom + CLEAR),
    ):
        step = end - start
        if abs(step) < 1e-12:
            if not low <= start <= high:
                return False
            continue
        first, last = sorted(((low - start) / step, (high - start) / step))
        enter, leave = max(enter, first), min(leave, last)
    return enter <= leave


def _any_cross(leaders: Sequence[Leader], changed: Mapping[int, Leader]) -> bool:
    return any(
        cross(a, b, c, d)
        for at, leader in changed.items()
        for other, known in enumerate(leaders)
        if other != at
        for a, b in pairwise(leader.points)
        for c, d in pairwise(known.points)
    )


def cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether the lines a-b and c-d share a point, an end included."""
    if max(a[0], b[0]) < min(c[0], d[0]) or max(c[0], d[0]) < min(a[0], b[0]):
        return False
    if max(a[1], b[1]) < min(c[1], d[1]) or max(c[1], d[1]) < min(a[1], b[1]):
        return False
    return _side(a, b, c) * _side(a, b, d) <= 0 and _side(c, d, a) * _side(c, d, b) <= 0


def _side(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _length(leader: Leader) -> float:
    return sum(_distance(a, b) for a, b in pairwise(leader.points))


def _distance(a: Point, b: Point) -> float:
    return hypot(a[0] - b[0], a[1] - b[1])
