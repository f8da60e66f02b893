"""Explains the readings of one handset that are off by the fewest causes, each a value that stands otherwise.

Single causes are tried first, then pairs. A cause explains if with it *all* readings are within the tolerance: those
that are off, and those that were right. The search is exact: every value that the handset can be set to is tried;
where a pulse rises or falls steadily with a value, bisection leaves out those that cannot fit.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import combinations, pairwise
from typing import Any, NamedTuple

from rigcard.resolve.model import Arithmetic, Measurement, Mix, Position, Rate, Travel, Unit
from rigcard.solve.levels import TOLERANCE, Dials, level_at

REVERSE_PLACES = ("before-travel", "before-subtrim", "after-subtrim")
MOST_RATE = 100  # per cent of a source that a mix may take
KINDS = (  # the likelier first; the first four have no value that is free to fit
    "reversal",
    "pins",
    "mix-off",
    "mix-always",
    "reverse",
    "shifts",
    "mix-place",
    "sub-trim",
    "low travel",
    "high travel",
    "mix rate",
    "centre",
    "scale",
)
MOST_TOLD = 3  # explanations that are told where several fit


class State(NamedTuple):
    """A handset as it may be: its unit with model and mixes, its dials, and two channels that changed pins."""

    unit: Unit
    dials: Dials
    exchanged: tuple[str, ...] = ()

    @property
    def arithmetic(self) -> Arithmetic:
        """The arithmetic of its model."""
        assert self.unit.model.arithmetic is not None
        return self.unit.model.arithmetic


class Cause(NamedTuple):
    """One value that stands otherwise: its kind, what has it (a channel, a mix, the model), the two values.

    `kind` is one of `KINDS`. `of` is the name of a channel, the source of a mix, or ""; for a mix `into` is its
    target, for exchanged pins the second channel.
    """

    kind: str
    of: str
    into: str
    stated: Any
    acts: Any


class Explanation(NamedTuple):
    """Causes that together explain every reading; `worst` is the largest difference that is left, in us."""

    causes: tuple[Cause, ...]
    state: State
    worst: Fraction

    @property
    def rank(self) -> tuple[object, ...]:
        """Sorts the likeliest first: fewest causes, then by kind, then by what is left."""
        return (len(self.causes), sorted(KINDS.index(cause.kind) for cause in self.causes), self.worst)


Readings = Sequence[Measurement]
Standing = Mapping[tuple[str, str], Position]


class Desk(NamedTuple):
    """What the search works on: the handset as stated, its readings, and where its other controls stand."""

    state: State
    readings: tuple[Measurement, ...]
    standing: Standing

    @property
    def tolerance(self) -> Fraction:
        """How far a reading may be off, in us."""
        return TOLERANCE * self.state.arithmetic.pulse.per_percent

    def residual(self, state: State, reading: Measurement) -> Fraction:
        """Measured less computed, in us."""
        return reading.pulse - pulse_at(state, reading, self.standing)

    def fits(self, state: State, readings: Readings) -> bool:
        """Whether all of these readings are within the tolerance."""
        return all(abs(self.residual(state, one)) <= self.tolerance for one in readings)

    def worst(self, state: State) -> Fraction:
        """The largest difference of a reading, in us."""
        return max(abs(self.residual(state, one)) for one in self.readings)


def pulse_at(state: State, reading: Measurement, standing: Standing) -> Fraction:
    """The pulse in us that a reading should have found; other controls stand as at power-up."""
    unit = state.unit
    values = {control: standing[unit.name, control] for control in unit.model.controls}
    values[reading.control] = reading.position
    name = reading.channel
    if name in state.exchanged:
        name = state.exchanged[1 - state.exchanged.index(name)]
    level = level_at(unit, unit.channels[name], values, state.dials).percent
    return state.arithmetic.pulse.width(level)


def explanations(desk: Desk) -> list[Explanation]:
    """All explanations with the fewest causes, the likeliest first; empty if one or two causes explain nothing."""
    off = [one for one in desk.readings if not desk.fits(desk.state, [one])]
    slots = _slots(desk.state)
    singles = [
        Explanation(((cause),), state, desk.worst(state))
        for slot in slots
        if all(slot.touches(one) for one in off)
        for cause, state in slot.fit(desk, desk.state, _first(off, desk.readings))
    ]
    found = singles or list(_pairs(desk, slots, off))
    return sorted(found, key=lambda one: one.rank)


def telling(desk: Desk, found: Sequence[Explanation], places: Sequence[Measurement]) -> Measurement | None:
    """The reading, of those that can still be taken, that tells the explanations apart best; None if none does.

    The best one parts them into the most groups, then with the widest gap; groups lie a tolerance apart.
    """
    best: tuple[int, Fraction] = (1, Fraction(0))
    chosen = None
    for place in places:
        pulses = sorted(pulse_at(one.state, place, desk.standing) for one in found)
        gaps = [after - before for before, after in pairwise(pulses)]
        wide = [gap for gap in gaps if gap > desk.tolerance]
        if wide and (len(wide) + 1, min(wide)) > best:
            best, chosen = (len(wide) + 1, min(wide)), place
    return chosen


# ---- the values that may stand otherwise ---------------------------------------------------------------------


class Slot(NamedTuple):
    """One value that may stand otherwise, with the channels whose readings it moves (None: of all channels).

    `settings`: what it can stand at, in rising order where `steady`, which says that a pulse rises or falls
    steadily with it. The settings of centre and scale are none: they are fitted.
    """

    kind: str
    of: str
    into: str
    stated: Any
    settings: tuple[Any, ...]
    channels: frozenset[str] | None
    steady: bool = False

    def touches(self, reading: Measurement) -> bool:
        """Whether a reading can be moved by it."""
        return self.channels is None or reading.channel in self.channels

    def put(self, state: State, value: Any) -> State:
        """The handset with this value instead."""
        changed: State = _PUT[self.kind](state, self, value)
        return changed

    def cause(self, value: Any) -> Cause:
        """This value as a cause."""
        return Cause(self.kind, self.of, self.into, self.stated, value)

    def fit(self, desk: Desk, state: State, readings: Readings) -> Iterator[tuple[Cause, State]]:
        """The best setting with which all of these readings are right, if there is one."""
        if self.kind in ("centre", "scale"):
            value = _fitted(desk, state, readings, self.kind)
            admitted: Sequence[Any] = () if value is None else (value,)
        else:
            admitted = self._near(desk, state, readings)
        best: tuple[Fraction, Any, State] | None = None
        for value in admitted:
            one = self.put(state, value)
            if value == self.stated or not desk.fits(one, readings):
                continue
            left = max((abs(desk.residual(one, reading)) for reading in readings), default=Fraction(0))
            if best and left > best[0] and self.steady:
                break  # of values that rise steadily, what is left falls to the best one and rises again
            if best is None or left < best[0]:
                best = left, value, one
        if best:
            yield self.cause(best[1]), best[2]

    def _near(self, desk: Desk, state: State, readings: Readings) -> Sequence[Any]:
        """The settings that can fit: for a steady pulse, those between which each reading in turn is right."""
        settings = self.settings
        if not self.steady:
            return settings
        for reading in readings:
            if len(settings) < 3:
                break

            def off(value: Any, reading: Measurement = reading) -> Fraction:
                return desk.residual(self.put(state, value), reading)

            first, last = off(settings[0]), off(settings[-1])
            if min(first, last) > desk.tolerance or max(first, last) < -desk.tolerance:
                return ()
            if max(abs(first), abs(last)) <= desk.tolerance:
                continue
            way = 1 if first > last else -1  # what is left falls, or rises
            low = bisect_left(settings, -desk.tolerance, key=lambda value: -way * off(value))
            high = bisect_left(settings, desk.tolerance, lo=low, key=lambda value: -way * off(value))
            settings = settings[low : high + 1]
        return settings


def _first(chosen: Readings, readings: Readings) -> list[Measurement]:
    """The readings with some of them first, so that what does not fit is left early."""
    return [*chosen, *(one for one in readings if one not in chosen)]


def _slots(state: State) -> list[Slot]:
    """Everything in a handset that may stand otherwise than stated."""
    unit, arithmetic = state.unit, state.arithmetic
    found = [
        Slot("centre", "", "", arithmetic.pulse.centre, (), None),
        Slot("scale", "", "", arithmetic.pulse.per_percent, (), None),
        Slot("reverse", "", "", arithmetic.reverse, REVERSE_PLACES, None),
        Slot("shifts", "", "", arithmetic.shifts, ("whole", "centre"), None),
    ]
    if unit.mixes:
        found.append(Slot("mix-place", "", "", arithmetic.mix, ("before-travel", "after-travel"), None))
    count = int((arithmetic.travel_high - arithmetic.travel_low) / arithmetic.travel_step)
    travels = tuple(arithmetic.travel_low + at * arithmetic.travel_step for at in range(count + 1))
    trims = tuple(range(arithmetic.subtrim_low, arithmetic.subtrim_high + 1))
    for name in unit.channels:
        dial = state.dials[unit.name, name]
        own = frozenset((name,))
        onward = {mix.target for mix in unit.mixes if mix.source == name}
        far = own | onward if arithmetic.mix == "after-travel" else own
        found += [
            Slot("reversal", name, "", dial.reversed, (not dial.reversed,), own),
            Slot("low travel", name, "", dial.travel.low, travels, far, True),
            Slot("high travel", name, "", dial.travel.high, travels, far, True),
            Slot("sub-trim", name, "", dial.subtrim, trims, own, True),
        ]
    for one, other in combinations(unit.channels, 2):
        found.append(Slot("pins", one, other, False, (True,), frozenset((one, other))))
    rates = tuple(Rate(Fraction(at), Fraction(at)) for at in range(-MOST_RATE, MOST_RATE + 1))
    steady = arithmetic.shifts == "whole" or arithmetic.mix == "after-travel"
    for mix in unit.mixes:
        into = frozenset((mix.target,))
        found.append(Slot("mix-off", mix.source, mix.target, mix.rate, (None,), into))
        found.append(Slot("mix rate", mix.source, mix.target, mix.rate, rates, into, steady))
        if mix.while_control:
            found.append(Slot("mix-always", mix.source, mix.target, mix.while_control, (None,), into))
    return found


def _with_arithmetic(state: State, **changed: Any) -> State:
    arithmetic = state.arithmetic._replace(**changed)
    return state._replace(unit=state.unit._replace(model=state.unit.model._replace(arithmetic=arithmetic)))


def _with_dial(state: State, channel: str, **changed: Any) -> State:
    key = (state.unit.name, channel)
    return state._replace(dials={**state.dials, key: state.dials[key]._replace(**changed)})


def _with_side(state: State, slot: Slot, value: Fraction) -> State:
    travel: Travel = state.dials[state.unit.name, slot.of].travel
    side = "low" if slot.kind == "low travel" else "high"
    return _with_dial(state, slot.of, travel=travel._replace(**{side: value}))


def _with_mix(state: State, slot: Slot, **changed: Any) -> State:
    def new(mix: Mix) -> Mix:
        return mix._replace(**changed) if (mix.source, mix.target) == (slot.of, slot.into) else mix

    return state._replace(unit=state.unit._replace(mixes=tuple(new(mix) for mix in state.unit.mixes)))


_PUT: dict[str, Any] = {
    "reversal": lambda state, slot, value: _with_dial(state, slot.of, reversed=value),
    "pins": lambda state, slot, value: state._replace(exchanged=(slot.of, slot.into)),
    "mix-off": lambda state, slot, value: _with_mix(state, slot, rate=None),
    "mix-always": lambda state, slot, value: _with_mix(state, slot, while_control=None, while_position=None),
    "reverse": lambda state, slot, value: _with_arithmetic(state, reverse=value),
    "shifts": lambda state, slot, value: _with_arithmetic(state, shifts=value),
    "mix-place": lambda state, slot, value: _with_arithmetic(state, mix=value),
    "sub-trim": lambda state, slot, value: _with_dial(state, slot.of, subtrim=value),
    "low travel": _with_side,
    "high travel": _with_side,
    "mix rate": lambda state, slot, value: _with_mix(state, slot, rate=value),
    "centre": lambda state, slot, value: _with_arithmetic(
        state, pulse=state.arithmetic.pulse._replace(centre=value)
    ),
    "scale": lambda state, slot, value: _with_arithmetic(
        state, pulse=state.arithmetic.pulse._replace(per_percent=value)
    ),
}


def _fitted(desk: Desk, state: State, readings: Readings, kind: str) -> Fraction | None:
    """The centre, or what 1 % adds, in us, with which all readings are right; the middle of what fits."""
    low, high = (Fraction(0), Fraction(10_000))
    pulse = state.arithmetic.pulse
    for one in readings:
        level = pulse.level(pulse_at(state, one, desk.standing))
        if kind == "centre":
            ends = [one.pulse - level * pulse.per_percent + way * desk.tolerance for way in (-1, 1)]
        elif level:
            ends = [(one.pulse - pulse.centre + way * desk.tolerance) / level for way in (-1, 1)]
        elif abs(one.pulse - pulse.centre) <= desk.tolerance:
            continue
        else:
            return None
        low, high = max(low, min(ends)), min(high, max(ends))
        if low > high:
            return None
    return simplest_near((low + high) / 2, low, high)


def simplest_near(wanted: Fraction, low: Fraction, high: Fraction) -> Fraction:
    """A number of few decimals near a wanted one, between two bounds: to 10, to 1, to a tenth and so on."""
    for size in (10, 1, Fraction(1, 10), Fraction(1, 100), Fraction(1, 1000)):
        near = round(wanted / size) * size
        if low <= near <= high and abs(near - wanted) <= (high - low) / 8:
            return Fraction(near)
    return wanted


# ---- two causes ----------------------------------------------------------------------------------------------


def _pairs(desk: Desk, slots: list[Slot], off: list[Measurement]) -> Iterator[Explanation]:
    """Two causes that explain together; each of them moves a reading that the other does not mend."""
    useful = [slot for slot in slots if any(slot.touches(one) for one in off)]
    for one, other in combinations(useful, 2):
        if not all(one.touches(reading) or other.touches(reading) for reading in off):
            continue
        for causes, state in _both(desk, one, other, off):
            yield Explanation(causes, state, desk.worst(state))


def _both(
    desk: Desk, one: Slot, other: Slot, off: list[Measurement]
) -> Iterator[tuple[tuple[Cause, ...], State]]:
    readings = _first(off, desk.readings)
    shared = [reading for reading in readings if one.touches(reading) and other.touches(reading)]
    if not shared:  # each mends its own readings
        first = [reading for reading in readings if one.touches(reading)]
        for cause, state in one.fit(desk, desk.state, first):
            second = [reading for reading in readings if not one.touches(reading)]
            for further, end in other.fit(desk, state, second):
                yield (cause, further), end
        return
    outer, inner = sorted((one, other), key=lambda slot: (slot.kind == "centre", len(slot.settings) or 999))
    best: tuple[Fraction, tuple[Cause, ...], State] | None = None
    settings = outer.settings or _scales(desk)
    apart = [reading for reading in readings if not inner.touches(reading)]
    inside = [reading for reading in readings if inner.touches(reading)]
    for value in settings:
        if value == outer.stated:
            continue
        state = outer.put(desk.state, value)
        if not desk.fits(state, apart):
            continue
        for further, end in inner.fit(desk, state, inside):
            left = desk.worst(end)
            if best is None or left < best[0]:
                best = left, (outer.cause(value), further), end
    if best:
        yield best[1:]


def _scales(desk: Desk) -> tuple[Fraction, ...]:
    """What 1 % may add, in us, so that some centre fits: a round number and the middle of what is possible."""
    low, high = Fraction(0), Fraction(100)
    pulse = desk.state.arithmetic.pulse
    levels = [(pulse.level(pulse_at(desk.state, one, desk.standing)), one.pulse) for one in desk.readings]
    for (level, width), (other, wide) in combinations(levels, 2):
        if level == other:
            continue
        ends = [(wide - width + way * desk.tolerance) / (other - level) for way in (-2, 2)]
        low, high = max(low, min(ends)), min(high, max(ends))
    if low > high:
        return ()
    middle = (low + high) / 2
    return tuple({simplest_near(middle, low, high): None, middle: None})
