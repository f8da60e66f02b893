"""Finds what to dial in: the exact search behind `auto`.

For a fixed reversal and sub-trim every wanted position depends on the travel of one side alone, and the smallest
margin is a concave function of it. So each side is searched only where two of its straight pieces cross, rounded
both ways to the handset's step, and sub-trim and reversal are tried in full: exact, and no sampling.

Best is the largest smallest margin, then the largest next smallest, and so on; the ends of sweeps count only among
what is equal for bands and aims. Among equals what a person would dial: fewest values changed from a blank memory,
round numbers, away from the stops. The sides may be searched one by one all the same: what is best in this order for
each of two sets that do not share a value is best for both together.
"""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import cache
from math import lcm
from typing import NamedTuple

from rigcard.resolve.model import Arithmetic, Channel, Travel
from rigcard.solve.arithmetic import Dial, Part, channel_level, rate_of, side


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


Ranks = list[tuple[bool, int]]  # whether it comes after the firm ones, and the margin: least first


class Found(NamedTuple):
    """The best values, their margins (in the order of the wants) and whether no other values are as good."""

    dial: Dial
    margins: tuple[Fraction, ...]
    unique: bool


class _Line(NamedTuple):
    """A want in whole numbers: heard = slope x travel step + trim x sub-trim step + start, kept in floor..ceiling."""

    slope: int
    trim: int
    start: int
    floor: int
    ceiling: int
    low: int
    high: int
    firm: bool

    def margin(self, step: int, trim: int) -> int:
        level = self.slope * step + self.trim * trim + self.start
        if level < self.floor:
            level = self.floor
        elif level > self.ceiling:
            level = self.ceiling
        below, above = level - self.low, self.high - level
        return below if below < above else above

    def bounds(self, trims: Iterable[int], last: int) -> list[int]:
        """For each sub-trim a margin that no travel step of this want beats."""
        slope, by_trim, start, floor, ceiling, low, high, _ = self
        rise, best = slope * last, (high - low) // 2
        found = []
        for trim in trims:
            lowest = by_trim * trim + start
            highest = lowest + rise
            if rise < 0:
                lowest, highest = highest, lowest
            above = high - (floor if lowest < floor else ceiling if lowest > ceiling else lowest)
            below = (floor if highest < floor else ceiling if highest > ceiling else highest) - low
            found.append(min(above, below, best))
        return found


class _Grid(NamedTuple):
    """The travel steps from 0 to `last`: what a person likes less about each of them, the one of a blank memory."""

    last: int
    blank: int
    costs: list[tuple[int, ...]]  # changed, unround, at a stop, distance from blank
    round: list[int]  # steps at multiples of 5 %


class _Try(NamedTuple):
    ranks: Ranks
    cost: list[int]  # values changed, unround, at a stop, distance from blank
    turned: bool
    trim: int
    steps: tuple[int, int]
    ties: int


class _Best(NamedTuple):
    ranks: Ranks
    cost: tuple[int, ...]
    step: int
    ties: int


def find(
    arithmetic: Arithmetic, channel: Channel, wants: list[Constraint], beat: Fraction | None = None
) -> Found | None:
    """The best dial for a channel, over every travel, sub-trim and reversal that it leaves open (None).

    There must be a want. None if the smallest margin (`ranked`) cannot come up to `beat`.
    """
    grid = _grid(arithmetic)
    stated: list[int | None] = [None, None]
    if channel.travel:
        stated = [_step(arithmetic, travel) for travel in channel.travel]
    every = range(arithmetic.subtrim_low, arithmetic.subtrim_high + 1)
    trims = every if channel.subtrim is None else (channel.subtrim,)
    size, sides = _lines(arithmetic, (False, True) if channel.reversed is None else (channel.reversed,), wants)
    hopes: list[tuple[int, bool, int]] = []
    for turned, lines in sides.items():
        every_line = [line for which in lines.values() for line in which]
        first = [line for line in every_line if line.firm] or every_line
        bounds = [line.bounds(trims, grid.last) for line in first]
        hopes += ((-min(found), turned, trim) for trim, *found in zip(trims, *bounds, strict=True))
    hopes.sort()
    if beat is not None and Fraction(-hopes[0][0], size) < beat:
        return None
    best: _Try | None = None
    ties = 0
    for hope, turned, trim in hopes:
        if best is not None and -hope < best.ranks[0][1]:
            break  # nothing further down can be as good
        here = _try(sides[turned], turned, trim, grid, stated, trim in (every[0], every[-1]))
        if best is None or here.ranks > best.ranks:
            best, ties = here, here.ties
        elif here.ranks == best.ranks:
            best, ties = min(best, here, key=lambda found: found.cost), ties + here.ties
    assert best is not None
    low, high = (_travel(arithmetic, step) for step in best.steps)
    dial = Dial(Travel(low, high), best.trim, best.turned)
    return Found(dial, tuple(margin(arithmetic, dial, want) for want in wants), ties == 1)


def _try(
    sides: dict[int, list[_Line]],
    turned: bool,
    trim: int,
    grid: _Grid,
    stated: list[int | None],
    at_stop: bool,
) -> _Try:
    """The best that one reversal and sub-trim can do."""
    chosen = [_best_step(sides[which], trim, grid, stated[which > 0]) for which in (-1, 1)]
    ranks = _ranks(sides[0], 0, trim) + [rank for side_ in chosen for rank in side_.ranks]
    own = ((trim != 0) + turned, trim % 5 != 0, at_stop, abs(trim))
    cost = [sum(parts) for parts in zip(own, *(side_.cost for side_ in chosen), strict=True)]
    ties = chosen[0].ties * chosen[1].ties
    return _Try(sorted(ranks), cost, turned, trim, (chosen[0].step, chosen[1].step), ties)


def ranked(wants: Iterable[Constraint], margins: Iterable[Fraction]) -> list[tuple[bool, Fraction]]:
    """What makes one result better than another: the margins, those of firm wants first, the least first."""
    return sorted((not want.firm, margin) for want, margin in zip(wants, margins, strict=True))


def margin(arithmetic: Arithmetic, dial: Dial, want: Constraint) -> Fraction:
    """The margin of a want with given values, by the plain arithmetic: the search is checked against it."""
    level = channel_level(arithmetic, dial, want.own, want.parts).percent * want.scale + want.shift
    level = -level if want.turned else level
    return min(level - want.low, want.high - level)


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


def _lines(
    arithmetic: Arithmetic, turns: tuple[bool, ...], wants: list[Constraint]
) -> tuple[int, dict[bool, dict[int, list[_Line]]]]:
    """The wants as whole-number lines, by reversal and by the side (-1, 0, 1) whose travel moves them.

    All are scaled by one size, so that they compare with each other.
    """
    raw = {turned: [_coefficients(arithmetic, turned, want) for want in wants] for turned in turns}
    size = lcm(*(value.denominator for found in raw.values() for _, values in found for value in values))
    lines: dict[bool, dict[int, list[_Line]]] = {turned: {-1: [], 0: [], 1: []} for turned in turns}
    for turned, found in raw.items():
        for want, (which, values) in zip(wants, found, strict=True):
            lines[turned][which].append(_Line._make((*(int(value * size) for value in values), want.firm)))
    return size, lines


def _coefficients(arithmetic: Arithmetic, turned: bool, want: Constraint) -> tuple[int, list[Fraction]]:
    """Which side's travel moves the want, and slope, trim, start, floor, ceiling, low, high of its line."""
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
    values = [
        slope * want.scale,
        turn_trim * trim * want.scale,
        start * want.scale + want.shift,
        arithmetic.output_low * want.scale + want.shift,
        arithmetic.output_high * want.scale + want.shift,
        -want.high if want.turned else want.low,
        -want.low if want.turned else want.high,
    ]
    return (value > 0) - (value < 0), values


def _ranks(lines: list[_Line], step: int, trim: int) -> Ranks:
    return sorted([(not line.firm, line.margin(step, trim)) for line in lines])


def _best_step(lines: list[_Line], trim: int, grid: _Grid, stated: int | None) -> _Best:
    """The best travel step of one side for a given sub-trim."""
    best: Ranks | None = None
    equal: list[int] = []
    for step in (stated,) if stated is not None else _candidates(lines, trim, grid):
        ranks = _ranks(lines, step, trim)
        if best is None or ranks > best:
            best, equal = ranks, [step]
        elif ranks == best:
            equal.append(step)
    assert best is not None
    ties = len(equal)
    if ties > 1:  # the straight pieces that end there may have rounder steps between their ends
        equal += [
            step for step in grid.round if equal[0] < step < equal[-1] and _ranks(lines, step, trim) == best
        ]
    chosen = min(equal, key=lambda step: (grid.costs[step], step))
    return _Best(best, grid.costs[chosen], chosen, ties)


def _candidates(lines: list[_Line], trim: int, grid: _Grid) -> Iterator[int]:
    """Every travel step at which the best can lie: where straight pieces of the margins cross, rounded both ways."""
    last, blank = grid.last, grid.blank
    if not lines:
        yield blank
        return
    crossings = {0, last, blank}
    pieces: list[tuple[int, int]] = []
    for line in lines:
        offset = line.trim * trim + line.start
        pieces += [(line.slope, offset - line.low), (-line.slope, line.high - offset)]
        pieces += [(0, edge - line.low) for edge in (line.floor, line.ceiling)]
    for index, (slope, start) in enumerate(pieces):
        for other_slope, other_start in pieces[index + 1 :]:
            if slope != other_slope:
                at = (other_start - start) // (slope - other_slope)
                crossings |= {at, at + 1}
    yield from sorted(step for step in crossings if 0 <= step <= last)
