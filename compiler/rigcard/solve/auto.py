"""Finds what to dial in: the exact search behind `auto`.

For a fixed reversal and sub-trim every wanted position depends on the travel of one side alone, and its margin is
made of straight pieces. So each side is searched only where two of the pieces cross, rounded both ways to the
handset's step: exact, and no sampling. Which sub-trims are worth a look follows from the best that is known so far:
with travel taken as continuous, those that could be as good lie in one stretch, whose ends are divisions of whole
numbers. The rest are never looked at.

Best is the largest smallest margin, then the largest next smallest, and so on: those of bands and aims first, then
those of conditions, as far as they have room to gain, then those of the ends of sweeps. Values with which all bands,
aims and conditions are met come before all others. Among equals what a person would dial: fewest values changed
from a blank memory, round numbers, away from the stops. The sides may be searched one by one all the same: what is
best in this order for each of two sets that do not share a value is best for both together.
"""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cache, lru_cache
from math import lcm
from typing import NamedTuple

from rigcard.resolve.model import Arithmetic, Channel, Travel
from rigcard.solve.arithmetic import Dial, Part, channel_level, rate_of, side

NOTHING, FIRM, CONDITION, SOFT = range(-1, 3)  # in which order margins count
MOST_WORK = 100_000  # travels tried for one channel, before the answer is called not exact
GLANCE = 4  # sub-trims of each problem that are tried before all of any
FEW = 24  # travels in a stretch that are tried one by one
Cut = tuple[Fraction, Fraction]  # the levels as sent below and above which a line delivers no more


class Constraint(NamedTuple):
    """A position that must land between two heard levels (equal: as near as can be).

    heard = scale x sent + shift, negated if `turned`. What is not `firm` counts only after all that is.
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


class Condition(NamedTuple):
    """A position that must land within one of several stretches of heard levels; with none it may land anywhere.

    A distance of more than `room` from the ends of its stretch is no better than `room`.
    """

    own: Fraction
    parts: tuple[Part, ...]
    stretches: tuple[tuple[Fraction, Fraction], ...]
    scale: Fraction
    shift: Fraction
    turned: bool
    room: Fraction
    cut: Cut | None = None


class Variant(NamedTuple):
    """One of several sets of wants to choose from, the wants of each in the same order.

    `cost` decides among equals. Those of one `kin` differ in their conditions alone: the same values are the same.
    """

    wants: tuple[Constraint, ...]
    conditions: tuple[Condition, ...] = ()
    cost: tuple[Fraction, ...] = ()
    kin: int = 0


class Found(NamedTuple):
    """The best values, their margins (in the order of the wants) and whether no other values are as good.

    Not `exact`: the search was given up before all was looked at that could be better.
    """

    dial: Dial
    margins: tuple[Fraction, ...]
    unique: bool
    variant: int = 0
    exact: bool = True


class _Line(NamedTuple):
    """A want in whole numbers: heard = slope x travel step + trim x sub-trim step + start, kept in floor..ceiling.

    A margin beyond `cap` cannot be or does not count; one of `least` or more means that the want is met.
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


class _Piece(NamedTuple):
    """What a threshold of a line asks: threshold <= slope x travel step + trim x sub-trim step + start.

    A threshold of `void` or less asks nothing: what the output or the line cuts off is enough for it.
    """

    line: int
    slope: int
    trim: int
    start: int
    void: int


class _Edge(NamedTuple):
    """Two pieces put together so that travel drops out: weights x thresholds <= trim x sub-trim step + start."""

    first: _Piece | None
    weight: int
    second: _Piece | None
    other_weight: int
    trim: int
    start: int


class _Problem(NamedTuple):
    """A variant with a reversal: its lines in order, and by the side (-1, 0, 1) whose travel moves them."""

    variant: int
    turned: bool
    lines: list[_Line]
    sides: dict[int, list[int]]
    used: frozenset[int]
    pieces: dict[int, list[_Piece]]
    edges: list[_Edge]


class _Grid(NamedTuple):
    """The travel steps from 0 to `last`: what a person likes less about each of them, the one of a blank memory."""

    last: int
    blank: int
    costs: list[tuple[int, ...]]  # changed, unround, at a stop, distance from blank
    round: list[int]  # steps at multiples of 5 %


class _Best(NamedTuple):
    ranks: list[tuple[int, int]]
    values: dict[int, int]  # margins by line
    cost: tuple[int, ...]
    step: int
    ties: int


class _Try(NamedTuple):
    ranks: list[tuple[int, int]]  # in which order a margin counts, and the margin: least first
    values: dict[int, int]
    cost: tuple[
        tuple[Fraction, ...], list[int]
    ]  # of the variant; values changed, unround, at a stop, from blank
    problem: _Problem
    trim: int
    steps: tuple[int, int]
    ties: int


Thresholds = list[int | None]


def find(
    arithmetic: Arithmetic,
    channel: Channel,
    wants: Sequence[Constraint],
    beat: Fraction | None = None,
    conditions: Sequence[Condition] = (),
) -> Found | None:
    """The best dial for a channel, over every travel, sub-trim and reversal that it leaves open (None).

    There must be a want. None if the smallest margin of those that count first cannot come up to `beat`.
    """
    return search(
        arithmetic,
        channel.travel,
        channel.subtrim,
        channel.reversed,
        (Variant(tuple(wants), tuple(conditions)),),
        beat,
    )


@lru_cache(maxsize=256)
def search(
    arithmetic: Arithmetic,
    travel: Travel | None,
    subtrim: int | None,
    reversal: bool | None,
    variants: tuple[Variant, ...],
    beat: Fraction | None = None,
) -> Found | None:
    """As `find`, over several variants too; equal searches are made once."""
    grid = _grid(arithmetic)
    stated = {-1: _step(arithmetic, travel.low), 1: _step(arithmetic, travel.high)} if travel else {}
    trims = (arithmetic.subtrim_low, arithmetic.subtrim_high) if subtrim is None else (subtrim, subtrim)
    turns = (False, True) if reversal is None else (reversal,)
    exact = True
    for met in (CONDITION, FIRM, NOTHING):
        if met == NOTHING:  # what is wished cannot be: conditions would only blur how near it comes
            variants = tuple(variant._replace(conditions=()) for variant in variants)
        size, problems = _problems(arithmetic, turns, variants, grid, stated)
        looking = _Search(arithmetic, grid, stated, trims, variants, met)
        looking.run(problems, None if beat is None else -(-beat.numerator * size // beat.denominator))
        exact = exact and looking.exact
        if looking.best:
            break
    best = looking.best
    if best is None:
        return None
    low, high = (_travel(arithmetic, step) for step in best.steps)
    dial = Dial(Travel(low, high), best.trim, best.problem.turned)
    margins = tuple(margin(arithmetic, dial, want) for want in variants[best.problem.variant].wants)
    return Found(dial, margins, looking.unique and exact, best.problem.variant, exact)


class _Search:
    """What is known so far while problem after problem is searched. Only values count that meet all wants up to `met`."""

    def __init__(
        self,
        arithmetic: Arithmetic,
        grid: _Grid,
        stated: dict[int, int],
        trims: tuple[int, int],
        variants: Sequence[Variant],
        met: int,
    ) -> None:
        self.grid, self.stated, self.trims = grid, stated, trims
        self.stops = (arithmetic.subtrim_low, arithmetic.subtrim_high)
        self.variants = variants
        self.met = met
        self.best: _Try | None = None
        self.unique = False
        self.work = 0
        self.exact = True

    def run(self, problems: list[_Problem], beat: int | None) -> None:
        """Look through all problems; `beat`: the least margin asked of the lines that count first."""
        if not problems:
            return
        lines = problems[0].lines
        first = min((line.tier for line in lines), default=FIRM)
        thresholds = self._met([beat if line.tier == first else None for line in lines], lines)
        seen: list[set[int]] = [set() for _ in problems]
        for most in (GLANCE, MOST_WORK):  # a good answer early spares most of the work
            for problem, tried in zip(problems, seen, strict=True):
                thresholds = self._one(problem, thresholds, tried, len(tried) + most)

    def _one(self, problem: _Problem, thresholds: Thresholds, seen: set[int], most: int) -> Thresholds:
        """Try the sub-trims of a problem that could be as good, up to `most` with those seen before."""
        again = True
        while again:
            again = False
            low, high = _stretch(problem, thresholds, self.trims)
            for trim in _outward(low, high):
                if trim in seen:
                    continue
                if len(seen) >= most:
                    return thresholds
                if self.work > MOST_WORK:
                    self.exact = False
                    return thresholds
                seen.add(trim)
                if self._better(self._try(problem, trim, thresholds)):
                    thresholds = self._asked()
                    again = True
                    break
        return thresholds

    def _better(self, here: _Try | None) -> bool:
        """Take it if it is the best so far; whether what is asked of others is more by that."""
        best = self.best
        if here is None:
            return False
        if best is None or here.ranks > best.ranks:
            self.best, self.unique = here, here.ties == 1
            return True
        if here.ranks == best.ranks:
            self.unique = self.unique and here.ties == 1 and self._dialled(here) == self._dialled(best)
            self.best = min(best, here, key=lambda found: found.cost)
        return False

    def _dialled(self, found: _Try) -> tuple[int, bool, int, tuple[int, int]]:
        problem = found.problem
        return self.variants[problem.variant].kin, problem.turned, found.trim, found.steps

    def _met(self, thresholds: Thresholds, lines: list[_Line]) -> Thresholds:
        """Thresholds with what makes every want met that has to be."""
        return [
            line.least if line.tier <= self.met and (asked is None or asked < line.least) else asked
            for line, asked in zip(lines, thresholds, strict=True)
        ]

    def _fails(self, lines: list[_Line], values: dict[int, int]) -> bool:
        return any(
            value < lines[number].least for number, value in values.items() if lines[number].tier <= self.met
        )

    def _asked(self) -> Thresholds:
        """What each line must come to in any values as good as the best.

        A line that can do no better than it does is at its cap in them too; of the others none is below the least.
        """
        assert self.best
        lines, values = self.best.problem.lines, self.best.values
        thresholds: Thresholds = [None] * len(lines)
        for tier in (FIRM, CONDITION, SOFT):
            left = {number for number, line in enumerate(lines) if line.tier == tier}
            while left:
                least = min(values[number] for number in left)
                done = {number for number in left if lines[number].cap == least}
                if not done:
                    for number in left:
                        thresholds[number] = least
                    return self._met(thresholds, lines)
                for number in done:
                    thresholds[number] = least
                left -= done
        return self._met(thresholds, lines)

    def _try(self, problem: _Problem, trim: int, thresholds: Thresholds) -> _Try | None:
        """The best that one sub-trim can do; None if it cannot come up to what is asked."""
        self.work += 1
        lines, sides = problem.lines, problem.sides
        values = {number: lines[number].margin(0, trim) for number in sides[0]}
        if self._fails(lines, values):
            return None
        found = []
        for which in (-1, 1):
            best = self._best_step(problem, which, trim, thresholds)
            if best is None:
                return None
            found.append(best)
        ranks = _ranks(lines, values)
        for best in found:
            ranks += best.ranks
            values.update(best.values)
        turned = problem.turned
        own = ((trim != 0) + turned, trim % 5 != 0, trim in self.stops, abs(trim))
        cost = [sum(parts) for parts in zip(own, *(best.cost for best in found), strict=True)]
        return _Try(
            ranks=sorted(ranks),
            values=values,
            cost=(self.variants[problem.variant].cost, cost),
            problem=problem,
            trim=trim,
            steps=(found[0].step, found[1].step),
            ties=found[0].ties * found[1].ties,
        )

    def _best_step(self, problem: _Problem, which: int, trim: int, thresholds: Thresholds) -> _Best | None:
        """The best travel step of one side for a given sub-trim."""
        grid, numbers, stated = self.grid, problem.sides[which], self.stated.get(which)
        if not numbers:  # every step is as good
            step = grid.blank if stated is None else stated
            free = which in problem.used and stated is None
            return _Best([], {}, grid.costs[step], step, grid.last + 1 if free else 1)
        low, high = _reach(problem.pieces[which], trim, thresholds, grid.last)
        if stated is not None:
            low, high = max(low, stated), min(high, stated)
        best: list[tuple[int, int]] | None = None
        equal: list[int] = []
        lines = problem.lines
        for step in _candidates([lines[number] for number in numbers], trim, low, high, grid):
            self.work += 1
            values = {number: lines[number].margin(step, trim) for number in numbers}
            if self._fails(lines, values):
                continue
            ranks = _ranks(lines, values)
            if best is None or ranks > best:
                best, equal = ranks, [step]
            elif ranks == best:
                equal.append(step)
        if best is None:
            return None
        ties = len(equal)
        if ties > 1:  # the straight pieces that end there may have rounder steps between their ends
            equal += [
                step
                for step in grid.round
                if equal[0] < step < equal[-1]
                and _ranks(lines, {number: lines[number].margin(step, trim) for number in numbers}) == best
            ]
        chosen = min(equal, key=lambda step: (grid.costs[step], step))
        values = {number: lines[number].margin(chosen, trim) for number in numbers}
        return _Best(best, values, grid.costs[chosen], chosen, ties)


def _outward(low: int, high: int) -> Iterator[int]:
    """The numbers of a stretch, from its middle outward."""
    middle = (low + high) // 2
    for away in range(max(high - middle, middle - low) + 1):
        if low <= middle + away <= high:
            yield middle + away
        if away and low <= middle - away <= high:
            yield middle - away


def _stretch(problem: _Problem, thresholds: Thresholds, trims: tuple[int, int]) -> tuple[int, int]:
    """The sub-trims with which, were travel continuous, every line could come up to its threshold."""
    low, high = trims
    nothing = (0, -1)
    for line, asked in zip(problem.lines, thresholds, strict=True):
        if asked is not None and asked > line.cap:
            return nothing
    for first, weight, second, other_weight, trim, start in problem.edges:
        need = -start
        for piece, part in ((first, weight), (second, other_weight)):
            if piece is not None:
                asked = thresholds[piece.line]
                if asked is None or asked <= piece.void:
                    break
                need += part * asked
        else:
            if trim > 0:
                low = max(low, -(-need // trim))
            elif trim < 0:
                high = min(high, (-need) // -trim)
            elif need > 0:
                return nothing
            if low > high:
                return nothing
    return low, high


def _reach(pieces: list[_Piece], trim: int, thresholds: Thresholds, last: int) -> tuple[int, int]:
    """The travel steps with which every line of a side comes up to its threshold."""
    low, high = 0, last
    for piece in pieces:
        asked = thresholds[piece.line]
        if asked is None or asked <= piece.void:
            continue
        need = asked - piece.trim * trim - piece.start
        if piece.slope > 0:
            low = max(low, -(-need // piece.slope))
        elif piece.slope < 0:
            high = min(high, (-need) // -piece.slope)
        elif need > 0:
            return 0, -1
    return low, high


def _ranks(lines: list[_Line], values: dict[int, int]) -> list[tuple[int, int]]:
    return sorted([(lines[number].tier, value) for number, value in values.items()])


def _candidates(lines: list[_Line], trim: int, low: int, high: int, grid: _Grid) -> Iterable[int]:
    """Every travel step of a stretch at which the best can lie: where straight pieces of the margins cross, rounded
    both ways."""
    if high - low < FEW:
        return range(low, high + 1)
    crossings = {low, high}
    if low <= grid.blank <= high:
        crossings.add(grid.blank)
    pieces: set[tuple[int, int]] = set()
    for line in lines:
        offset = line.trim * trim + line.start
        pieces.add((0, line.cap))
        pieces.add((0, line.least))
        for bottom, top in line.stretches:
            pieces |= {(line.slope, offset - bottom), (-line.slope, top - offset)}
            for edge in (line.floor, line.ceiling):
                pieces |= {(0, edge - bottom), (0, top - edge)}
    listed = sorted(pieces)
    for index, (slope, start) in enumerate(listed):
        for other_slope, other_start in listed[index + 1 :]:
            if slope != other_slope:
                at = (other_start - start) // (slope - other_slope)
                if low <= at <= high:
                    crossings.add(at)
                if low <= at + 1 <= high:
                    crossings.add(at + 1)
    return sorted(crossings)


# ---- a want in whole numbers --------------------------------------------------------------------------------------


def _problems(
    arithmetic: Arithmetic,
    turns: tuple[bool, ...],
    variants: Sequence[Variant],
    grid: _Grid,
    stated: dict[int, int],
) -> tuple[int, list[_Problem]]:
    """All variants with all reversals. All are scaled by one size, so that they compare with each other."""
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
    """A line before it is scaled: slope, trim, start, floor, ceiling, room or 0, least, ends of the stretches."""

    which: int
    numbers: list[Fraction]
    tier: int
    capped: bool


def _coefficients(arithmetic: Arithmetic, turned: bool, want: Constraint | Condition) -> _Raw:
    """Which side's travel moves a want, and the numbers of its line."""
    sign = -1 if turned else 1
    value = want.own * sign if arithmetic.reverse == "before-travel" else want.own
    added = Fraction(0)
    if arithmetic.mix == "before-travel":
        value += sum((part.value * rate_of(part) / 100 for part in want.parts), Fraction(0))
    else:
        added = sum(
            (part.value * side(part.travel, part.value) * rate_of(part) / 100 for part in want.parts),
            Fraction(0),
        )
    trim = arithmetic.subtrim_step
    if arithmetic.shifts == "centre":
        trim *= max(Fraction(0), 1 - abs(value))
    turn_shift = sign if arithmetic.reverse != "before-travel" else 1
    turn_trim = sign if arithmetic.reverse == "after-subtrim" else 1
    slope = turn_shift * value * arithmetic.travel_step
    start = turn_shift * (value * arithmetic.travel_low + added)
    stretches = want.stretches if isinstance(want, Condition) else ((want.low, want.high),)
    lowest, highest = _output(arithmetic, want)
    numbers = [
        slope * want.scale,
        turn_trim * trim * want.scale,
        start * want.scale + want.shift,
        lowest * want.scale + want.shift,
        highest * want.scale + want.shift,
        want.room if isinstance(want, Condition) else Fraction(0),
        -_slack(arithmetic, want),
    ]
    for low, high in stretches:
        numbers += [-high, -low] if want.turned else [low, high]
    tier = CONDITION if isinstance(want, Condition) else FIRM if want.firm else SOFT
    return _Raw((value > 0) - (value < 0), numbers, tier, isinstance(want, Condition))


def _output(arithmetic: Arithmetic, want: Constraint | Condition) -> Cut:
    """The lowest and the highest level as sent that is delivered."""
    low, high = arithmetic.output_low, arithmetic.output_high
    return (max(low, want.cut[0]), min(high, want.cut[1])) if want.cut else (low, high)


def _slack(arithmetic: Arithmetic, want: Constraint | Condition) -> Fraction:
    """How far from its goal a want still counts as met: a level aimed at by one step of the handset."""
    if isinstance(want, Constraint) and want.low == want.high:
        return max(arithmetic.travel_step, arithmetic.subtrim_step) * want.scale
    return Fraction(0)


def _problem(
    variant: int, turned: bool, found: list[_Raw], size: int, grid: _Grid, stated: dict[int, int]
) -> _Problem:
    lines: list[_Line] = []
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
        lines.append(_Line(slope, trim, start, floor, ceiling, stretches, raw.tier, min(caps), least))
    pieces = {
        which: [piece for at in numbers for piece in _pieces(at, lines[at])] for which, numbers in sides.items()
    }
    edges = [edge for which in sides for edge in _edges(pieces[which], which, grid, stated)]
    used = frozenset(raw.which for raw in found)
    return _Problem(variant, turned, lines, sides, used, pieces, edges)


def _pieces(number: int, line: _Line) -> list[_Piece]:
    """The straight pieces of a margin; of several stretches the ends of all together."""
    low = min(bottom for bottom, _ in line.stretches)
    high = max(top for _, top in line.stretches)
    return [
        _Piece(number, line.slope, line.trim, line.start - low, line.floor - low),
        _Piece(number, -line.slope, -line.trim, high - line.start, high - line.ceiling),
    ]


def _edges(pieces: list[_Piece], which: int, grid: _Grid, stated: dict[int, int]) -> list[_Edge]:
    """What the pieces of one side leave to the sub-trim."""
    fixed = stated.get(which)
    edges = []
    rising: list[tuple[_Piece | None, int, int, int]] = [(None, 1, 0, 0)]
    falling: list[tuple[_Piece | None, int, int, int]] = [(None, 1, 0, grid.last)]
    for piece in pieces:
        if piece.slope == 0 or fixed is not None:
            start = piece.start + piece.slope * (fixed or 0)
            edges.append(_Edge(piece, 1, None, 0, piece.trim, start))
        elif piece.slope > 0:
            rising.append((piece, piece.slope, piece.trim, piece.start))
        else:
            falling.append((piece, -piece.slope, piece.trim, piece.start))
    for first, up, trim, start in rising:
        for second, down, other_trim, other_start in falling:
            if first or second:
                edges.append(
                    _Edge(
                        first, down, second, up, down * trim + up * other_trim, down * start + up * other_start
                    )
                )
    return edges


def is_met(arithmetic: Arithmetic, dial: Dial, variant: Variant) -> bool:
    """Whether values bring about all that is wished and meet all conditions."""
    return all(
        margin(arithmetic, dial, want) >= -_slack(arithmetic, want)
        for want in _all(variant)
        if isinstance(want, Condition) or want.firm
    )


def margin(arithmetic: Arithmetic, dial: Dial, want: Constraint | Condition) -> Fraction:
    """The margin of a want with given values, by the plain arithmetic: the search is checked against it."""
    level = channel_level(arithmetic, dial, want.own, want.parts).percent
    lowest, highest = _output(arithmetic, want)
    level = min(max(level, lowest), highest) * want.scale + want.shift
    level = -level if want.turned else level
    if isinstance(want, Constraint):
        return min(level - want.low, want.high - level)
    if not want.stretches:
        return want.room
    return min(want.room, max(min(level - low, high - level) for low, high in want.stretches))


def _step(arithmetic: Arithmetic, travel: Fraction) -> int:
    return int((travel - arithmetic.travel_low) / arithmetic.travel_step)


def _travel(arithmetic: Arithmetic, step: int) -> Fraction:
    return arithmetic.travel_low + step * arithmetic.travel_step


@cache
def _grid(arithmetic: Arithmetic) -> _Grid:
    last = _step(arithmetic, arithmetic.travel_high)
    blank = _step(arithmetic, min(Fraction(100), arithmetic.travel_high))
    size = lcm(arithmetic.travel_low.denominator, arithmetic.travel_step.denominator)
    low, by_step = int(arithmetic.travel_low * size), int(arithmetic.travel_step * size)
    unround = [(low + step * by_step) % (5 * size) != 0 for step in range(last + 1)]
    costs: list[tuple[int, ...]] = [
        (step != blank, bad, step in (0, last), abs(step - blank)) for step, bad in enumerate(unround)
    ]
    return _Grid(last, blank, costs, [step for step, bad in enumerate(unround) if not bad])
