"""Leaders from points of a drawing to letters in two columns; they never cross, and avoid other shapes.

Straight leaders come first. If two in a column cross, they swap slots; each swap shortens the total length, so
this ends. Then, while a leader crosses another control's shape, other slots and bends are tried. A change is
accepted if fewer shapes are crossed and still no leaders cross.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from math import hypot
from typing import NamedTuple

PITCH = 7.0  # mm, least distance of two letters in a column
RADIUS = 2.9  # of the ring round a letter
CLEAR = 0.4  # mm between a leader and a shape that it passes
BEND = 1.0  # mm from a bend to the shape that it goes round
LEAST = 0.1  # mm by which a change must shorten leaders if that is its only gain
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
    """A line from a shape to the ring of its letter: two points, or three with a bend."""

    name: str
    points: tuple[Point, ...]

    @property
    def start(self) -> Point:
        """Return the end at the shape."""
        return self.points[0]

    @property
    def end(self) -> Point:
        """Return the end at the ring."""
        return self.points[-1]


def lead(points: Mapping[str, Point], areas: Mapping[str, Area], width: float, height: float) -> list[Leader]:
    """Return a leader for each point. `areas` holds all drawn shapes by name, also those without a leader."""
    order = sorted(points, key=lambda name: (points[name][0], -points[name][1], name))
    half = (len(order) + 1) // 2
    sides = []
    for names, slots in zip((order[:half], order[half:]), _slots(half, width, height), strict=True):
        sides.append((sorted(names, key=lambda name: _downward(points[name], slots[0], height)), slots))
    drawing = _Drawing(areas, tuple(slot for _, slots in sides for slot in slots), height)
    straight = [leader for names, slots in sides for leader in _straight(points, names, slots)]
    avoiding = [leader for names, slots in sides for leader in drawing.avoiding(points, names, slots)]
    fewer = sum(map(drawing.over, avoiding)) < sum(map(drawing.over, straight))
    crossed = _any_cross(avoiding, dict(enumerate(avoiding)))
    return drawing.cleared(avoiding if fewer and not crossed else straight)


def _downward(point: Point, slot: Point, height: float) -> tuple[float, float, float]:
    """Return a key that sorts from the top down.

    Of two points side by side, the one further from the letters goes to the nearer edge.
    """
    away = abs(point[0] - slot[0])
    return round(point[1], 3), -away if point[1] < height / 2 else away, point[0]


def _straight(points: Mapping[str, Point], names: Sequence[str], slots: Sequence[Point]) -> list[Leader]:
    costs = [[(0, _distance(points[name], slot)) for slot in slots] for name in names]
    ends = [slots[at] for at in _cheapest(costs)]
    return _uncrossed([Leader(name, (points[name], end)) for name, end in zip(names, ends, strict=True)])


def _slots(rows: int, width: float, height: float) -> tuple[list[Point], list[Point]]:
    """Return the ends of leaders at both sides, as many as fit and at least `rows`."""
    room = height - 2 * RADIUS - HIGHEST
    rows = max(rows, int(room / PITCH) + 1)
    pitch = max(PITCH, room / max(1, rows - 1))
    ys = [RADIUS + HIGHEST + pitch * row for row in range(rows)]
    inset = 2 * RADIUS + 0.5
    return [(inset, y) for y in ys], [(width - inset, y) for y in ys]


Cost = tuple[int, float]  # number of shapes crossed, then length


def _cheapest(costs: Sequence[Sequence[Cost]]) -> list[int]:
    """Assign a slot to each row, from the top down, with the least total cost."""
    spare = len(costs[0]) - len(costs) if costs else 0
    best: list[tuple[int, float, list[int]]] = [(0, 0.0, [])] * (spare + 1)
    for row, at in enumerate(costs):
        taken: list[tuple[int, float, list[int]]] = []
        for skipped in range(spare + 1):
            over, length, slots = best[skipped]
            more, further = at[row + skipped]
            found = (over + more, length + further, [*slots, row + skipped])
            taken.append(min(found, taken[-1]) if taken else found)
        best = taken
    return best[-1][2]


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


# ---- avoiding other shapes -----------------------------------------------------------------------------------


class _Drawing:
    """The shapes to avoid and the possible leaders; the shapes that a leader crosses are computed once."""

    def __init__(self, areas: Mapping[str, Area], slots: Sequence[Point], height: float) -> None:
        self.areas = areas
        self.slots = slots
        self.height = height
        self.known: dict[Leader, list[Area]] = {}

    def over(self, leader: Leader) -> int:
        """Return how many shapes of other controls a leader crosses."""
        return len(self._over(leader))

    def avoiding(
        self, points: Mapping[str, Point], names: Sequence[str], slots: Sequence[Point]
    ) -> list[Leader]:
        """Return the best leaders to slots from the top down; they may cross each other."""
        ways = [
            [min(self.ways(Leader(name, (points[name],)), slot), key=self._cost) for slot in slots]
            for name in names
        ]
        chosen = _cheapest([[self._cost(way) for way in row] for row in ways])
        return [row[at] for row, at in zip(ways, chosen, strict=True)]

    def _cost(self, leader: Leader) -> Cost:
        return self.over(leader), _length(leader)

    def cleared(self, leaders: list[Leader]) -> list[Leader]:
        """Improve leaders in rounds.

        Each round takes the best change, with fewest shapes crossed and then the least length, so that few
        rounds are needed.
        """
        while True:
            hits = [self.over(leader) for leader in leaders]
            now = sum(map(_length, leaders))
            best: tuple[int, float, list[Leader]] = (0, now - LEAST, leaders)
            for changes in self._changes(leaders, hits):
                more = sum(self.over(leader) - hits[at] for at, leader in changes.items())
                if more > best[0]:
                    continue
                length = now + sum(_length(leader) - _length(leaders[at]) for at, leader in changes.items())
                if (more, length) < best[:2]:
                    found = [changes.get(at, leader) for at, leader in enumerate(leaders)]
                    if not _any_cross(found, changes):
                        best = (more, length, found)
            if best[2] is leaders:
                return leaders
            leaders = best[2]

    def _changes(self, leaders: Sequence[Leader], hits: Sequence[int]) -> Iterator[dict[int, Leader]]:
        """Yield other leaders to a leader's own slot or a free one.

        A leader that crosses shapes may also swap slots with another.
        """
        free = [slot for slot in self.slots if slot not in [leader.end for leader in leaders]]
        for at, leader in enumerate(leaders):
            for slot in (leader.end, *free):
                for way in self.ways(leader, slot):
                    yield {at: way}
            for other in range(len(leaders) if hits[at] else 0):
                if other != at:
                    theirs = list(self.ways(leaders[other], leader.end))
                    for way in self.ways(leader, leaders[other].end):
                        for their in theirs:
                            yield {at: way, other: their}

    def ways(self, leader: Leader, slot: Point) -> Iterator[Leader]:
        """Yield the straight leader to a slot, and leaders with a bend.

        They bend above or below their own shape, or a shape in the way that is no further off.
        """
        x, y = leader.start
        straight = Leader(leader.name, (leader.start, slot))
        yield straight
        own = self.areas[leader.name]
        top, bottom = max(own.top - BEND, HIGHEST), min(own.bottom + BEND, self.height)
        for area in (own, *self._over(straight)):
            for bend in (area.top - BEND, area.bottom + BEND):
                if top <= bend <= bottom and bend != y:
                    yield Leader(leader.name, (leader.start, (x, bend), slot))

    def _over(self, leader: Leader) -> list[Area]:
        """Return the shapes of other controls that it crosses.

        A shape over the leader's own start is left out, because it cannot be avoided.
        """
        if leader not in self.known:
            self.known[leader] = [
                area
                for name, area in self.areas.items()
                if name != leader.name
                and not area.holds(leader.start)
                and any(_meets(area, a, b) for a, b in pairwise(leader.points))
            ]
        return self.known[leader]


def _meets(area: Area, a: Point, b: Point) -> bool:
    """Whether a straight line comes closer than `CLEAR` to a rectangle.

    The line is clipped to the rectangle, one side after another.
    """
    left, right, top, bottom = area.left - CLEAR, area.right + CLEAR, area.top - CLEAR, area.bottom + CLEAR
    if max(a[0], b[0]) < left or min(a[0], b[0]) > right or max(a[1], b[1]) < top or min(a[1], b[1]) > bottom:
        return False  # true for most lines, which saves the clipping
    enter, leave = 0.0, 1.0
    for start, end, low, high in ((a[0], b[0], left, right), (a[1], b[1], top, bottom)):
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
    """Whether the lines a-b and c-d share a point, ends included."""
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
