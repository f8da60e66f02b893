"""Settles what a model other than a handset leaves unknown: edges of bands, a dead band, a speed, a delay.

Each reading bounds one value, and where several do, the one that promises least counts. What is read of a band is
where its state begins as the level rises (`raised to`), and where it begins as it falls (`lowered to`): between the two
the state is certain whichever way the level came, however wide the device's hysteresis is.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from rigcard.diagnostics import Diagnostics, Related
from rigcard.resolve import codes
from rigcard.resolve.measures import milliseconds, turn
from rigcard.resolve.model import Ask, Pulse, Turn
from rigcard.resolve.scope import Block, duration, place_of, show
from rigcard.source import Span
from rigcard.syntax import tree

LONGEST_LOSS = 60  # s from the loss of the link to the failsafe (common practice, no source)
DELAYS = 3  # readings of a delay: the link may be lost anywhere in a frame (common practice, no source)
MOST_APART = Fraction(4, 5)  # the least reading of one speed or delay, as a share of the greatest (the same)
RAISED, LOWERED = "raised", "lowered"


class Scale(NamedTuple):
    """How a model reads pulses: their relation to levels, and the shortest and the longest; None: not stated."""

    pulse: Pulse | None
    window: tuple[Fraction, Fraction] | None


class Learner:
    """Settles the values of one input of a model, and collects the readings that are still to be taken."""

    def __init__(self, block: Block, title: str, scale: Scale, diagnostics: Diagnostics) -> None:
        self.block = block
        self.title = title
        self.scale = scale
        self.diagnostics = diagnostics
        self.asks: list[Ask] = []

    # ---- bands -----------------------------------------------------------------------------------------------

    def bands(
        self, states: Sequence[tree.Band | tree.BandUnknown]
    ) -> dict[str, tuple[Fraction, Fraction] | None]:
        """The levels of each unknown band; None where readings lack. The bands stand in rising order."""
        found: dict[str, tuple[Fraction, Fraction] | None] = {}
        for at, item in enumerate(states):
            if not isinstance(item, tree.BandUnknown):
                continue
            name = item.name.text
            before = states[at - 1].name.text if at else ""
            after = states[at + 1].name.text if at + 1 < len(states) else ""
            low = self._edge(RAISED, name, before) if before else self._end(item.name, 0)
            high = self._edge(LOWERED, name, after) if after else self._end(item.name, 1)
            found[name] = None
            if low is None or high is None:
                continue
            if low >= high:
                readings = [one for one in self.block.all(tree.EdgeReading) if one.state.text == name]
                place = readings[0].level.span if readings else item.name.span
                self.diagnostics.report(
                    codes.READINGS_APART,
                    place,
                    f"`{name}` begins at {float(low):g}% as the level rises and at {float(high):g}% as it falls, so no "
                    "level surely gives it",
                    "take both readings again, slowly, from the state below and from the state above",
                    *(Related(one.level.span, "the other reading") for one in readings[1:]),
                )
                continue
            found[name] = (low, high)
        return found

    def _edge(self, way: str, state: str, start: str) -> Fraction | None:
        """The level from which a state is sure, come to from another one; None if nobody has read it."""
        readings = [
            one for one in self.block.all(tree.EdgeReading) if (one.way.text, one.state.text) == (way, state)
        ]
        if not readings:
            self.asks.append(Ask(way, self.title, state, start, f"reading {way} to {state} at {self._form()}"))
            return None
        levels = [self._sides(one.level) for one in readings]
        if any(sides is None for sides in levels):
            return None
        known = [sides for sides in levels if sides]
        return max(high for _, high in known) if way == RAISED else min(low for low, _ in known)

    def _form(self) -> str:
        return "...us" if self.scale.pulse else "...%"

    def _end(self, name: tree.Name, side: int) -> Fraction | None:
        """The level of the shortest or the longest pulse that a model reads; reports where that is not stated."""
        if self.scale.pulse and self.scale.window:
            return self.scale.pulse.level(self.scale.window[side])
        self.diagnostics.report(
            codes.MISSING_STATEMENT,
            name.span,
            f"nothing says how far `{name.text}` goes on its outer side",
            "write `pulse 1500us centre, 5us per 1%` and `reads 900us..2100us` in the model, or state this band",
        )
        return None

    def _sides(self, level: tree.Number) -> tuple[Fraction, Fraction] | None:
        """The levels between which a reading lies: one of its last digit to either side."""
        give = resolution(level)
        ends = (level.value - give, level.value + give)
        if level.unit != "us":
            return ends
        if self.scale.pulse is None:
            self.diagnostics.report(
                codes.MISSING_STATEMENT,
                level.span,
                "the model does not say which level a pulse is",
                "write `pulse 1500us centre, 5us per 1%` in the model",
            )
            return None
        return self.scale.pulse.level(ends[0]), self.scale.pulse.level(ends[1])

    # ---- sweeps ----------------------------------------------------------------------------------------------

    def dead_band(self, sweep: tree.Sweep, word: tree.Name, rest: Fraction | None) -> Fraction | None:
        """The per cent about its rest within which an axis surely stands still; None if readings lack."""
        if rest is None:
            self.diagnostics.report(
                codes.MISSING_STATEMENT,
                word.span,
                "a dead band lies about a rest, and this sweep states none",
                "write `rest 0%` before it, with the level of the device",
            )
            return None
        up = self._edge_of_rest(RAISED, sweep.last.text)
        down = self._edge_of_rest(LOWERED, sweep.first.text)
        if up is None or down is None:
            return None
        dead = min(up - rest, rest - down)
        if dead <= 0:
            self.diagnostics.report(
                codes.READINGS_APART,
                self.block.all(tree.EdgeReading)[0].level.span,
                "the axis turns at its rest by these readings, so there is no dead band",
                "take them again from the rest, or write `dead-band 0%`",
            )
            return None
        return dead

    def _edge_of_rest(self, way: str, end: str) -> Fraction | None:
        """The last level at which an axis surely still stands."""
        readings = [
            one for one in self.block.all(tree.EdgeReading) if (one.way.text, one.state.text) == (way, end)
        ]
        if not readings:
            self.asks.append(Ask(way, self.title, end, "", f"reading {way} to {end} at {self._form()}"))
            return None
        levels = [sides for one in readings if (sides := self._sides(one.level))]
        if len(levels) < len(readings):
            return None
        return min(low for low, _ in levels) if way == RAISED else max(high for _, high in levels)

    def full(self, word: tree.Name, low: Fraction, high: Fraction) -> Turn | None:
        """The turn at the ends of a sweep in degrees a second, the fastest that was read; None if readings lack."""
        readings = self.block.all(tree.TurnReading)
        if not readings:
            end = self.scale.pulse.width(high) if self.scale.pulse else high
            form = f"reading turns 180deg in ...s at {float(end):g}{'us' if self.scale.pulse else '%'}"
            self.asks.append(Ask("turn", self.title, "", "", form))
            return None
        speeds = []
        for one in readings:
            sides = self._sides(one.level)
            if sides is None:
                return None
            if low < sides[0] and sides[1] < high:
                self.diagnostics.report(
                    codes.OUT_OF_RANGE,
                    one.level.span,
                    f"{show(one.level)} is no end of the sweep, where the axis turns `full`",
                    f"read it at {float(high):g}% or above, or at {float(low):g}% or below",
                )
                return None
            if turn(one.turn).speed or not one.time.value:
                self.diagnostics.report(
                    codes.OUT_OF_RANGE,
                    one.turn.span,
                    "a reading is an angle in a time",
                    "write `turns 180deg in 3.2s`",
                )
                return None
            speeds.append(one.turn.value * 1000 / milliseconds(one.time))
        _hold_together(speeds, [one.turn.span for one in readings], self.diagnostics)
        return Turn(max(speeds), True)


def in_order(asks: Sequence[Ask]) -> list[Ask]:
    """The readings of one input in the order of taking: once all the way up, once all the way down, then the rest."""
    up = [ask for ask in asks if ask.kind == RAISED]
    down = [ask for ask in asks if ask.kind == LOWERED]
    return [*up, *reversed(down), *(ask for ask in asks if ask.kind not in (RAISED, LOWERED))]


def delay(block: Block, title: str, diagnostics: Diagnostics) -> tuple[Fraction | None, tuple[Ask, ...]]:
    """The longest time in ms from loss of the link to the failsafe level that was read, and what is to be read."""
    stated, unknown = block.one(tree.LossAfter), block.one(tree.LossUnknown)
    readings = block.all(tree.LossReading)
    if stated and unknown:
        diagnostics.report(
            codes.DOUBLED_STATEMENT,
            unknown.word.span,
            "the time to the failsafe level is stated and called unknown",
            "keep one of the two lines",
            Related(place_of(stated), "stated here"),
        )
    times = [milliseconds(one.time) for one in readings]
    if times:
        _hold_together(times, [one.time.span for one in readings], diagnostics)
    if stated or unknown is None:
        longest = duration(stated.time, LONGEST_LOSS, "delay of a failsafe", diagnostics) if stated else None
        return longest, ()
    missing = max(0, DELAYS - len(readings))
    asks = tuple(Ask("loss", title, "", "", "reading failsafe after ...ms") for _ in range(missing))
    return (None if missing else max(times)), asks


def _hold_together(values: Sequence[Fraction], places: Sequence[Span], diagnostics: Diagnostics) -> None:
    """Report readings of one value that lie too far apart."""
    least, most = min(values), max(values)
    if least < MOST_APART * most:
        diagnostics.report(
            codes.READINGS_APART,
            places[values.index(least)],
            f"readings of one value lie apart: the least is {float(100 * least / most):.0f} % of the greatest",
            "take both again, and remove the one that was wrong",
            Related(places[values.index(most)], "the greatest"),
        )


def resolution(number: tree.Number) -> Fraction:
    """How far a value may be off that a meter shows: one of the last digit that is written."""
    digits = number.span.text.rstrip("usµμ%").partition(".")[2]
    return Fraction(1, 10 ** len(digits))
