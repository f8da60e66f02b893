"""The input of the search behind `auto`: constraints and conditions, and both as whole numbers."""

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from math import lcm
from typing import NamedTuple

from rigcard.resolve.model import Arithmetic
from rigcard.solve.arithmetic import Dial, Part, channel_level, rate_of, side

NOTHING, FIRM, CONDITION, SOFT = range(-1, 3)  # the tiers of margins: lower ones count first
FAR = Fraction(10**6)  # per cent: beyond every level
Cut = tuple[Fraction, Fraction]  # the lowest and the highest level, as sent, that a line delivers


class Zero(NamedTuple):
    """The position at power-up, whose level an input that learns its neutral takes as its zero.

    `dial`: the values before the search. It gives the travel of a side that the position itself does not move.
    """

    own: Fraction
    parts: tuple[Part, ...]
    dial: Dial


class Constraint(NamedTuple):
    """A position whose heard level must lie between two levels (if equal: as near to them as possible).

    heard = scale x sent + shift, negated if `turned`; with a `zero`, scale x (sent - what is sent there). A
    constraint that is not `firm` counts only after all firm ones.
    """

    own: Fraction
    parts: tuple[Part, ...]
    low: Fraction
    high: Fraction
    scale: Fraction
    shift: Fraction
    turned: bool
    firm: bool = True
    cut: Cut | None = None
    zero: Zero | None = None


class Condition(NamedTuple):
    """A position whose heard level must lie in one of several intervals; without intervals, anywhere.

    A distance of more than `room` from the ends of an interval counts as `room`.
    """

    own: Fraction
    parts: tuple[Part, ...]
    stretches: tuple[tuple[Fraction, Fraction], ...]
    scale: Fraction
    shift: Fraction
    turned: bool
    room: Fraction
    cut: Cut | None = None
    zero: Zero | None = None


class Variant(NamedTuple):
    """One of several alternative sets of constraints and conditions; all variants list them in the same order.

    `cost` is the tie-break. Variants with the same `kin` differ only in their conditions, so equal values are
    the same answer.
    """

    wants: tuple[Constraint, ...]
    conditions: tuple[Condition, ...] = ()
    cost: tuple[Fraction, ...] = ()
    kin: int = 0


class Line(NamedTuple):
    """A constraint or condition in whole numbers: heard = slope x travel step + trim x sub-trim step + start,
    kept in floor..ceiling.

    A margin beyond `cap` is impossible or does not count; with a margin of `least` or more the line is met.
    """

    slope: int
    trim: int
    start: int
    floor: int
    ceiling: int
    stretches: tuple[tuple[int, int], ...]
    tier: int
    cap: int
    least: int

    def margin(self, step: int, trim: int) -> int:
        """The distance of the level from the ends of its interval, at most `cap`; negative outside."""
        level = self.slope * step + self.trim * trim + self.start
        if level < self.floor:
            level = self.floor
        elif level > self.ceiling:
            level = self.ceiling
        best = self.cap
        if len(self.stretches) == 1:
            ((low, high),) = self.stretches
            below, above = level - low, high - level
            return below if below < above and below < best else above if above < best else best
        return min(best, max(min(level - low, high - level) for low, high in self.stretches))


class Piece(NamedTuple):
    """A line reaches its threshold if: threshold <= slope x travel step + trim x sub-trim step + start.

    A threshold of `void` or less always holds, because the limit of the output or of the line guarantees it.
    """

    line: int
    slope: int
    trim: int
    start: int
    void: int


class Edge(NamedTuple):
    """Two pieces combined so that travel cancels: weights x thresholds <= trim x sub-trim step + start."""

    first: Piece | None
    weight: int
    second: Piece | None
    other_weight: int
    trim: int
    start: int


class Problem(NamedTuple):
    """A variant with a reversal: its lines in order, grouped by the side (-1, 0, 1) whose travel moves them."""

    variant: int
    turned: bool
    lines: list[Line]
    sides: dict[int, list[int]]
    used: frozenset[int]
    pieces: dict[int, list[Piece]]
    edges: list[Edge]


class Grid(NamedTuple):
    """The travel steps from 0 to `last`: the tie-break costs of each one, and the step of a blank memory."""

    last: int
    blank: int
    costs: list[tuple[int, ...]]  # changed, not round, at a stop, distance from blank
    round: list[int]  # steps at multiples of 5 %


def problems_of(
    arithmetic: Arithmetic,
    turns: tuple[bool, ...],
    variants: Sequence[Variant],
    grid: Grid,
    stated: dict[int, int],
) -> tuple[int, list[Problem]]:
    """All variants with all reversals, in one common scale so that their margins are comparable."""
    raw = [
        (
            number,
            turned,
            [_coefficients(arithmetic, turned, want) for want in _all(variant)],
        )
        for number, variant in enumerate(variants)
        for turned in turns
    ]
    size = lcm(*{value.denominator for _, _, found in raw for line in found for value in line.numbers})
    return size, [_problem(number, turned, found, size, grid, stated) for number, turned, found in raw]


def _all(variant: Variant) -> list[Constraint | Condition]:
    return [*variant.wants, *variant.conditions]


class _Raw(NamedTuple):
    """A line before scaling: slope, trim, start, floor, ceiling, room or 0, least, ends of the intervals."""

    which: int
    numbers: list[Fraction]
    tier: int
    capped: bool


class _Sent(NamedTuple):
    """A level as sent = slope x travel step + trim x sub-trim step + start; `value`: the control with what is mixed in."""

    value: Fraction
    slope: Fraction
    trim: Fraction
    start: Fraction


def _sent(arithmetic: Arithmetic, turned: bool, own: Fraction, parts: Sequence[Part]) -> _Sent:
    """The line of a position: the side whose travel moves it is that of `value`."""
    sign = -1 if turned else 1
    value = own * sign if arithmetic.reverse == "before-travel" else own
    added = Fraction(0)
    if arithmetic.mix == "before-travel":
        value += sum((part.value * rate_of(part) / 100 for part in parts), Fraction(0))
    else:
        added = sum(
            (part.value * side(part.travel, part.value) * rate_of(part) / 100 for part in parts),
            Fraction(0),
        )
    trim = arithmetic.subtrim_step
    if arithmetic.shifts == "centre":
        trim *= max(Fraction(0), 1 - abs(value))
    turn_shift = sign if arithmetic.reverse != "before-travel" else 1
    turn_trim = sign if arithmetic.reverse == "after-subtrim" else 1
    return _Sent(
        value=value,
        slope=turn_shift * value * arithmetic.travel_step,
        trim=turn_trim * trim,
        start=turn_shift * (value * arithmetic.travel_low + added),
    )


def _coefficients(arithmetic: Arithmetic, turned: bool, want: Constraint | Condition) -> _Raw:
    """The side whose travel moves a constraint or condition, and the numbers of its line."""
    sent = _sent(arithmetic, turned, want.own, want.parts)
    value, which, shift = sent.value, (sent.value > 0) - (sent.value < 0), want.shift
    lowest, highest = _output(arithmetic, want)
    if want.zero:
        zero = _sent(arithmetic, turned, want.zero.own, want.zero.parts)
        if zero.value * value <= 0:  # its travel, if any, is that of the other side: as it was before
            way = side(want.zero.dial.travel, zero.value) - arithmetic.travel_low
            zero = zero._replace(
                slope=Fraction(0), start=zero.start + zero.slope * way / arithmetic.travel_step
            )
        sent = _Sent(value, sent.slope - zero.slope, sent.trim - zero.trim, sent.start - zero.start)
        lowest, highest, shift = -FAR, FAR, Fraction(0)  # a condition keeps what is sent inside the limits
    stretches = want.stretches if isinstance(want, Condition) else ((want.low, want.high),)
    numbers = [
        sent.slope * want.scale,
        sent.trim * want.scale,
        sent.start * want.scale + shift,
        lowest * want.scale + shift,
        highest * want.scale + shift,
        want.room if isinstance(want, Condition) else Fraction(0),
        -_slack(arithmetic, want),
    ]
    for low, high in stretches:
        numbers += [-high, -low] if want.turned else [low, high]
    tier = CONDITION if isinstance(want, Condition) else FIRM if want.firm else SOFT
    return _Raw(which, numbers, tier, isinstance(want, Condition))


def _output(arithmetic: Arithmetic, want: Constraint | Condition) -> Cut:
    """The lowest and the highest level, as sent, that the line delivers."""
    low, high = arithmetic.output_low, arithmetic.output_high
    return (max(low, want.cut[0]), min(high, want.cut[1])) if want.cut else (low, high)


def _slack(arithmetic: Arithmetic, want: Constraint | Condition) -> Fraction:
    """The tolerance within which a goal still counts as met: one step of the handset for a level aimed at."""
    if isinstance(want, Constraint) and want.low == want.high:
        return max(arithmetic.travel_step, arithmetic.subtrim_step) * want.scale
    return Fraction(0)


def _problem(
    variant: int, turned: bool, found: list[_Raw], size: int, grid: Grid, stated: dict[int, int]
) -> Problem:
    lines: list[Line] = []
    sides: dict[int, list[int]] = {-1: [], 0: [], 1: []}
    for raw in found:
        slope, trim, start, floor, ceiling, room, least, *ends = (int(value * size) for value in raw.numbers)
        if not ends:
            continue
        stretches = tuple(zip(ends[::2], ends[1::2], strict=True))
        caps = [
            max(min((high - low) // 2, ceiling - low, high - floor) for low, high in stretches),
            *([room] if raw.capped else []),
        ]
        sides[raw.which].append(len(lines))
        lines.append(Line(slope, trim, start, floor, ceiling, stretches, raw.tier, min(caps), least))
    pieces = {
        which: [piece for at in numbers for piece in _pieces(at, lines[at])] for which, numbers in sides.items()
    }
    edges = [edge for which in sides for edge in _edges(pieces[which], which, grid, stated)]
    used = frozenset(raw.which for raw in found)
    return Problem(variant, turned, lines, sides, used, pieces, edges)


def _pieces(number: int, line: Line) -> list[Piece]:
    """The linear pieces of a margin; several intervals count as one from the lowest end to the highest."""
    low = min(bottom for bottom, _ in line.stretches)
    high = max(top for _, top in line.stretches)
    return [
        Piece(number, line.slope, line.trim, line.start - low, line.floor - low),
        Piece(number, -line.slope, -line.trim, high - line.start, high - line.ceiling),
    ]


def _edges(pieces: list[Piece], which: int, grid: Grid, stated: dict[int, int]) -> list[Edge]:
    """The bounds on the sub-trim that follow from the pieces of one side."""
    fixed = stated.get(which)
    edges = []
    rising: list[tuple[Piece | None, int, int, int]] = [(None, 1, 0, 0)]
    falling: list[tuple[Piece | None, int, int, int]] = [(None, 1, 0, grid.last)]
    for piece in pieces:
        if piece.slope == 0 or fixed is not None:
            start = piece.start + piece.slope * (fixed or 0)
            edges.append(Edge(piece, 1, None, 0, piece.trim, start))
        elif piece.slope > 0:
            rising.append((piece, piece.slope, piece.trim, piece.start))
        else:
            falling.append((piece, -piece.slope, piece.trim, piece.start))
    for first, up, trim, start in rising:
        for second, down, other_trim, other_start in falling:
            if first or second:
                edges.append(
                    Edge(
                        first, down, second, up, down * trim + up * other_trim, down * start + up * other_start
                    )
                )
    return edges


def is_met(arithmetic: Arithmetic, dial: Dial, variant: Variant) -> bool:
    """Whether values meet all firm constraints and all conditions."""
    return all(
        margin(arithmetic, dial, want) >= -_slack(arithmetic, want)
        for want in _all(variant)
        if isinstance(want, Condition) or want.firm
    )


def margin(arithmetic: Arithmetic, dial: Dial, want: Constraint | Condition) -> Fraction:
    """The margin of a constraint or condition with given values, by the plain arithmetic; checks the search."""
    lowest, highest = _output(arithmetic, want)

    def heard(own: Fraction, parts: Sequence[Part]) -> Fraction:
        sent = channel_level(arithmetic, dial, own, parts).percent
        return min(max(sent, lowest), highest) * want.scale + want.shift

    level = heard(want.own, want.parts)
    if want.zero:
        level -= heard(want.zero.own, want.zero.parts)
    level = -level if want.turned else level
    if isinstance(want, Constraint):
        return min(level - want.low, want.high - level)
    if not want.stretches:
        return want.room
    return min(want.room, max(min(level - low, high - level) for low, high in want.stretches))


def step_of(arithmetic: Arithmetic, travel: Fraction) -> int:
    """The number of a travel, counted in steps from the smallest."""
    return int((travel - arithmetic.travel_low) / arithmetic.travel_step)


def travel_at(arithmetic: Arithmetic, step: int) -> Fraction:
    """The travel in per cent at a number of steps."""
    return arithmetic.travel_low + step * arithmetic.travel_step


@cache
def grid_of(arithmetic: Arithmetic) -> Grid:
    """All travel steps of a handset."""
    last = step_of(arithmetic, arithmetic.travel_high)
    blank = step_of(arithmetic, min(Fraction(100), arithmetic.travel_high))
    size = lcm(arithmetic.travel_low.denominator, arithmetic.travel_step.denominator)
    low, by_step = int(arithmetic.travel_low * size), int(arithmetic.travel_step * size)
    unround = [(low + step * by_step) % (5 * size) != 0 for step in range(last + 1)]
    costs: list[tuple[int, ...]] = [
        (step != blank, bad, step in (0, last), abs(step - blank)) for step, bad in enumerate(unround)
    ]
    return Grid(last, blank, costs, [step for step, bad in enumerate(unround) if not bad])
