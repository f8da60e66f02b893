"""Finds the values to dial in: the exact search behind `auto`.

With the reversal and the sub-trim fixed, each constraint depends on the travel of one side only, and its margin
is a piecewise linear function of that travel. So on each side the search tries only the travels where two of
these linear pieces cross, rounded both ways to the handset's step. This is exact and needs no sampling. The
best result so far limits the sub-trims that are worth trying: with travel treated as continuous, all sub-trims
that could be as good lie in one interval, and divisions of whole numbers give its ends. The search never tries
the others.

The best values have the largest smallest margin, then the largest second smallest, and so on. The margins of
bands and aims count first, then those of conditions, up to their caps, then those of the ends of sweeps. Values
that satisfy all bands, aims and conditions come before all others. Ties are broken as a person would dial: the
fewest changes from a blank memory, round numbers, away from the stops. The two sides may still be searched
separately: in this order, the best result for each of two sets that share no value is also the best result for
both together.
"""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from rigcard.resolve.model import Arithmetic, Channel, Travel
from rigcard.solve.arithmetic import Dial
from rigcard.solve.wants import (
    CONDITION,
    FIRM,
    NOTHING,
    SOFT,
    Condition,
    Constraint,
    Grid,
    Line,
    Piece,
    Problem,
    Variant,
    grid_of,
    margin,
    problems_of,
    step_of,
    travel_at,
)

MOST_WORK = 100_000  # travels tried for one channel before the search gives up and the answer is not exact
GLANCE = 4  # sub-trims tried for each problem before any problem is searched in full
FEW = 24  # travels in an interval that are tried one by one


class Found(NamedTuple):
    """The best values, their margins (in the order of the constraints) and whether no other values are as good.

    If not `exact`, the search gave up before it had tried everything that could be better.
    """

    dial: Dial
    margins: tuple[Fraction, ...]
    unique: bool
    variant: int = 0
    exact: bool = True


class _Best(NamedTuple):
    ranks: list[tuple[int, int]]
    values: dict[int, int]  # margins by line number
    cost: tuple[int, ...]
    step: int
    ties: int


class _Try(NamedTuple):
    ranks: list[tuple[int, int]]  # tier (lower tiers count first) and margin, smallest first
    values: dict[int, int]
    cost: tuple[
        tuple[Fraction, ...], list[int]
    ]  # the variant's cost; values changed, not round, at a stop; distance from blank
    problem: Problem
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

    There must be at least one constraint. Returns None if the smallest margin that counts first cannot reach
    `beat`.
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
    """The same as `find`, but over several variants; equal searches run only once."""
    grid = grid_of(arithmetic)
    stated = {-1: step_of(arithmetic, travel.low), 1: step_of(arithmetic, travel.high)} if travel else {}
    trims = (arithmetic.subtrim_low, arithmetic.subtrim_high) if subtrim is None else (subtrim, subtrim)
    turns = (False, True) if reversal is None else (reversal,)
    exact = True
    for met in (CONDITION, FIRM, NOTHING):
        if met == NOTHING:  # unreachable: conditions would only keep the search from the nearest values
            variants = tuple(
                variant._replace(conditions=tuple(one for one in variant.conditions if not one.stretches))
                for variant in variants
            )
        size, problems = problems_of(arithmetic, turns, variants, grid, stated)
        looking = _Search(arithmetic, grid, stated, trims, variants, met)
        looking.run(problems, None if beat is None else -(-beat.numerator * size // beat.denominator))
        exact = exact and looking.exact
        if looking.best:
            break
    best = looking.best
    if best is None:
        return None
    low, high = (travel_at(arithmetic, step) for step in best.steps)
    dial = Dial(Travel(low, high), best.trim, best.problem.turned)
    margins = tuple(margin(arithmetic, dial, want) for want in variants[best.problem.variant].wants)
    return Found(dial, margins, looking.unique and exact, best.problem.variant, exact)


class _Search:
    """The state of a search over several problems. Only values that meet every line up to tier `met` count."""

    def __init__(
        self,
        arithmetic: Arithmetic,
        grid: Grid,
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
        self.caps: list[int] = []  # for each line, the largest of its caps in all problems

    def run(self, problems: list[Problem], beat: int | None) -> None:
        """Search all problems. `beat` is the least margin required of the lines that count first."""
        if not problems:
            return
        lines = problems[0].lines
        self.caps = [
            max(alike) for alike in zip(*([line.cap for line in one.lines] for one in problems), strict=True)
        ]
        first = min((line.tier for line in lines), default=FIRM)
        thresholds = self._met([beat if line.tier == first else None for line in lines], lines)
        seen: list[set[int]] = [set() for _ in problems]
        for most in (GLANCE, MOST_WORK):  # an early good answer saves most of the work
            for problem, tried in zip(problems, seen, strict=True):
                thresholds = self._one(problem, thresholds, tried, len(tried) + most)

    def _one(self, problem: Problem, thresholds: Thresholds, seen: set[int], most: int) -> Thresholds:
        """Try the sub-trims of a problem that could be as good; `most` limits them, with those in `seen`."""
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
        """Keep a result if it is the best so far; returns whether the thresholds rise."""
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

    def _met(self, thresholds: Thresholds, lines: list[Line]) -> Thresholds:
        """The thresholds, raised so that every line up to tier `met` is met."""
        return [
            line.least if line.tier <= self.met and (asked is None or asked < line.least) else asked
            for line, asked in zip(lines, thresholds, strict=True)
        ]

    def _fails(self, lines: list[Line], values: dict[int, int]) -> bool:
        return any(
            value < lines[number].least for number, value in values.items() if lines[number].tier <= self.met
        )

    def _asked(self) -> Thresholds:
        """The thresholds that any values must reach to be as good as the best.

        A line at its cap, if that is its cap in every problem, must be at its cap in those values too; no other line
        may be below the smallest margin left.
        """
        assert self.best
        lines, values = self.best.problem.lines, self.best.values
        thresholds: Thresholds = [None] * len(lines)
        for tier in (FIRM, CONDITION, SOFT):
            left = {number for number, line in enumerate(lines) if line.tier == tier}
            while left:
                least = min(values[number] for number in left)
                done = {number for number in left if self.caps[number] == least}
                if not done:
                    for number in left:
                        thresholds[number] = least
                    return self._met(thresholds, lines)
                for number in done:
                    thresholds[number] = least
                left -= done
        return self._met(thresholds, lines)

    def _try(self, problem: Problem, trim: int, thresholds: Thresholds) -> _Try | None:
        """The best result with one sub-trim; None if it cannot reach the thresholds."""
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

    def _best_step(self, problem: Problem, which: int, trim: int, thresholds: Thresholds) -> _Best | None:
        """The best travel step of one side with a given sub-trim."""
        grid, numbers, stated = self.grid, problem.sides[which], self.stated.get(which)
        if not numbers:  # every step is equally good
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
        if ties > 1:  # the linear pieces that end there may have rounder steps between their ends
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
    """The numbers of an interval, from its middle outward."""
    middle = (low + high) // 2
    for away in range(max(high - middle, middle - low) + 1):
        if low <= middle + away <= high:
            yield middle + away
        if away and low <= middle - away <= high:
            yield middle - away


def _stretch(problem: Problem, thresholds: Thresholds, trims: tuple[int, int]) -> tuple[int, int]:
    """The interval of sub-trims with which every line could reach its threshold if travel were continuous."""
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


def _reach(pieces: list[Piece], trim: int, thresholds: Thresholds, last: int) -> tuple[int, int]:
    """The interval of travel steps with which every line of a side reaches its threshold."""
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


def _ranks(lines: list[Line], values: dict[int, int]) -> list[tuple[int, int]]:
    return sorted([(lines[number].tier, value) for number, value in values.items()])


def _candidates(lines: list[Line], trim: int, low: int, high: int, grid: Grid) -> Iterable[int]:
    """Every travel step of an interval that can be the best: the rounded crossings of linear pieces."""
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
