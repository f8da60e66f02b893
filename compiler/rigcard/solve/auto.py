"""Finds what to dial in: the exact search behind `auto`.

For a fixed reversal and sub-trim every wanted position depends on the travel of one side alone, and the smallest
margin is a concave function of it. So each side is searched only where two of its straight pieces cross, rounded
both ways to the handset's step, and sub-trim and reversal are tried in full: exact, and no sampling.

Best is the largest smallest margin, then the largest next smallest, and so on; among equals what a person would
dial: fewest values changed from a blank memory, round numbers, away from the stops.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from rigcard.resolve.model import Arithmetic, Channel, Travel
from rigcard.solve.arithmetic import Dial, Part, channel_level, rate_of, side


class Want(NamedTuple):
    """A position that must land between two heard levels (equal: as near as can be).

    heard = scale x sent + shift, negated if `turned`.
    """

    own: Fraction
    parts: tuple[Part, ...]
    low: Fraction
    high: Fraction
    scale: Fraction
    shift: Fraction
    turned: bool


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

    def margin(self, step: int, trim: int) -> int:
        level = self.slope * step + self.trim * trim + self.start
        level = min(max(level, self.floor), self.ceiling)
        return min(level - self.low, self.high - level)


class _Best(NamedTuple):
    ranks: list[int]  # margins, smallest first
    cost: tuple[int, ...]
    step: int
    ties: int


def find(arithmetic: Arithmetic, channel: Channel, wants: list[Want]) -> Found:
    """The best dial for a channel whose travel, sub-trim or reversal is None. There must be a want."""
    last = int((arithmetic.travel_high - arithmetic.travel_low) / arithmetic.travel_step)
    blank = _step(arithmetic, min(Fraction(100), arithmetic.travel_high))
    trims = range(arithmetic.subtrim_low, arithmetic.subtrim_high + 1)
    best: tuple[list[int], tuple[int, ...]] | None = None
    dial = Dial(Travel(Fraction(0), Fraction(0)), 0, False)
    ties = 0
    for turned in (False, True) if channel.reversed is None else (channel.reversed,):
        sides = _lines(arithmetic, turned, wants)
        for trim in trims if channel.subtrim is None else (channel.subtrim,):
            chosen = [
                _best_step(lines, trim, last, blank, None if stated is None else _step(arithmetic, stated))
                for lines, stated in zip(
                    (sides[-1], sides[1]),
                    channel.travel if channel.travel else (None, None),
                    strict=True,
                )
            ]
            ranks = sorted(
                [line.margin(0, trim) for line in sides[0]] + [rank for side_ in chosen for rank in side_.ranks]
            )
            cost = (
                (trim != 0) + turned + sum(side_.cost[0] for side_ in chosen),
                (trim % 5 != 0) + sum(side_.cost[1] for side_ in chosen),
                (trim in (trims[0], trims[-1])) + sum(side_.cost[2] for side_ in chosen),
                abs(trim) + sum(side_.cost[3] for side_ in chosen),
            )
            here = chosen[0].ties * chosen[1].ties
            if best is None or ranks > best[0]:
                ties = here
            elif ranks == best[0]:
                ties += here
            if best is None or ranks > best[0] or (ranks == best[0] and cost < best[1]):
                best = (ranks, cost)
                low, high = (_travel(arithmetic, side_.step) for side_ in chosen)
                dial = Dial(Travel(low, high), trim, turned)
    margins = tuple(margin(arithmetic, dial, want) for want in wants)
    return Found(dial, margins, ties == 1)


def margin(arithmetic: Arithmetic, dial: Dial, want: Want) -> Fraction:
    """The margin of a want with given values, by the plain arithmetic: the search is checked against it."""
    level = channel_level(arithmetic, dial, want.own, want.parts).percent * want.scale + want.shift
    level = -level if want.turned else level
    return min(level - want.low, want.high - level)


def _step(arithmetic: Arithmetic, travel: Fraction) -> int:
    return int((travel - arithmetic.travel_low) / arithmetic.travel_step)


def _travel(arithmetic: Arithmetic, step: int) -> Fraction:
    return arithmetic.travel_low + step * arithmetic.travel_step


def _lines(arithmetic: Arithmetic, turned: bool, wants: list[Want]) -> dict[int, list[_Line]]:
    """The wants as whole-number lines by the side (-1, 0, 1) whose travel moves them; all scaled by one size."""
    raw = [_coefficients(arithmetic, turned, want) for want in wants]
    size = lcm(*(value.denominator for _, values in raw for value in values))
    sides: dict[int, list[_Line]] = {-1: [], 0: [], 1: []}
    for which, values in raw:
        sides[which].append(_Line(*(int(value * size) for value in values)))
    return sides


def _coefficients(arithmetic: Arithmetic, turned: bool, want: Want) -> tuple[int, list[Fraction]]:
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


def _best_step(lines: list[_Line], trim: int, last: int, blank: int, stated: int | None) -> _Best:
    """The best travel step of one side for a given sub-trim."""
    best: _Best | None = None
    steps: Iterable[int] = (stated,) if stated is not None else _candidates(lines, trim, last, blank)
    for step in steps:
        ranks = sorted(line.margin(step, trim) for line in lines)
        cost = (step != blank, step % 5 != 0, step in (0, last), abs(step - blank))
        if best is None or ranks > best.ranks:
            best = _Best(ranks, cost, step, 1)
        elif ranks == best.ranks:
            best = _Best(ranks, min(cost, best.cost), step if cost < best.cost else best.step, best.ties + 1)
    assert best is not None
    return best


def _candidates(lines: list[_Line], trim: int, last: int, blank: int) -> Iterator[int]:
    """Every travel step at which the best can lie: where straight pieces of the margins cross, rounded both ways."""
    if not lines:
        yield blank
        return
    crossings = {0, last, blank}
    pieces: list[tuple[int, int]] = []
    for line in lines:
        offset = line.trim * trim + line.start
        pieces += [(line.slope, offset - line.low), (-line.slope, line.high - offset)]
        pieces += [(0, edge - line.low) for edge in (line.floor, line.ceiling)]
        pieces += [(0, line.high - edge) for edge in (line.floor, line.ceiling)]
        if line.slope:
            for edge in (line.floor, line.ceiling):
                at = (edge - offset) // line.slope
                crossings |= {at, at + 1}
    for index, (slope, start) in enumerate(pieces):
        for other_slope, other_start in pieces[index + 1 :]:
            if slope != other_slope:
                at = (other_start - start) // (slope - other_slope)
                crossings |= {at, at + 1}
    yield from sorted(step for step in crossings if 0 <= step <= last)
