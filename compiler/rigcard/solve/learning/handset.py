"""Finds the arithmetic of a handset from readings at its pin.

The family has an option for each order that a model may declare (where reversal acts, what sub-trim shifts, where a
mix stands) and, within an option, five sizes in us: the centre c, what 1 % adds p, a sub-trim step k, and the upper
and lower limit h and l, both from the centre. A level is A + B x (size of a step) with A and B known from what was
dialled, so the pulse of a reading is c + A p + B k, or c + h, or c + l where the handset cuts it off: linear in the
five. An option agrees with readings, each of them an interval, if some sizes meet their bounds. All of it is exact.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import product
from typing import NamedTuple

from rigcard.resolve.model import Arithmetic, Bench, BenchReading, Pulse, Rate, Travel
from rigcard.resolve.readings import full_travel
from rigcard.solve.arithmetic import Dial, Part, channel_level
from rigcard.solve.learning.exact import Bound, Region, Vector, box, simplest
from rigcard.solve.levels import TOLERANCE

ORDERS = {  # the options of what has no size
    "shifts": ("whole", "centre"),
    "reverse": ("before-travel", "before-subtrim", "after-subtrim"),
    "mix": ("before-travel", "after-travel"),
}
SIZES = ("centre", "percent", "step", "upper", "lower")  # in us: c, p, k, h, l
LIMITS = {  # where sizes are looked for, in us; no handset is outside (common practice, no source)
    "centre": (Fraction(500), Fraction(2500)),
    "percent": (Fraction(1, 2), Fraction(20)),
    "step": (Fraction(1, 100), Fraction(20)),
    "upper": (Fraction(50), Fraction(5000)),
    "lower": (Fraction(-5000), Fraction(-50)),
}
ENOUGH = TOLERANCE  # per cent between the least and the greatest value of a size at the end of its range
ONE, ZERO = Fraction(1), Fraction(0)


class Option(NamedTuple):
    """One way of computing: values for what has no size, and the readings of it that the limit cut off.

    `cut` has a letter for each reading: "-" as computed, "h" at the upper limit, "l" at the lower one.
    """

    arithmetic: Arithmetic
    cut: str
    region: Region  # of the unknown sizes

    @property
    def orders(self) -> tuple[str, str, str]:
        """What it says where a handset differs from another without a size."""
        return (self.arithmetic.shifts, self.arithmetic.reverse, self.arithmetic.mix)


class Learnt(NamedTuple):
    """What readings say of a handset: the options that agree, and what of the unknown they settle.

    `arithmetic` has the settled values; where `settled` lacks one, its stand-in.
    """

    options: tuple[Option, ...]
    settled: tuple[str, ...]
    arithmetic: Arithmetic


def learn(bench: Bench) -> Learnt:
    """The options that agree with all readings of a handset; none if the readings contradict each other."""
    found = tuple(agreeing(bench, bench.readings))
    if not found:
        return Learnt((), (), bench.declared)
    settled = [
        name
        for at, name in enumerate(("shifts", "reverse", "mix"))
        if name in bench.unknown and len({option.orders[at] for option in found}) == 1
    ]
    whole = len({option.orders for option in found}) == 1
    arithmetic = found[0].arithmetic if whole else bench.declared
    sized = _sized(bench, found) if whole else None
    if sized:
        arithmetic, sizes = sized
        settled += sizes
    return Learnt(found, tuple(name for name in bench.unknown if name in settled), arithmetic)


def ways(bench: Bench) -> list[Arithmetic]:
    """The declared arithmetic with every option for each order that is unknown."""
    orders = [ORDERS[name] if name in bench.unknown else (getattr(bench.declared, name),) for name in ORDERS]
    return [
        bench.declared._replace(shifts=shifts, reverse=reverse, mix=mix)
        for shifts, reverse, mix in product(*orders)
    ]


def agreeing(bench: Bench, readings: Sequence[BenchReading]) -> Iterator[Option]:
    """Every option that agrees with all of these readings, and with each way in which the limit may cut them."""
    frame = Frame(bench)
    for arithmetic in ways(bench):
        options = [Option(arithmetic, "", frame.everything)]
        for reading in readings:
            options = [
                further
                for option in options
                for further in frame.continued(option, reading, (reading.low, reading.high))
            ]
        yield from options


class Frame:
    """The sizes that are unknown as variables, and everything else as numbers."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        declared = bench.declared
        unknown = {
            "centre": "pulse" in bench.unknown,
            "percent": "pulse" in bench.unknown,
            "step": "step" in bench.unknown,
            "upper": "output" in bench.unknown,
            "lower": "output" in bench.unknown,
        }
        self.names = tuple(name for name in SIZES if unknown[name])
        # what is known in per cent is so many times the size of 1 %
        self._times = {
            "step": declared.subtrim_step,
            "upper": declared.output_high,
            "lower": declared.output_low,
        }
        self._known = {"centre": declared.pulse.centre, "percent": declared.pulse.per_percent}
        sides = box([LIMITS[name] for name in self.names])
        everything = sides.cut_all(self._order())
        assert everything is not None
        self.everything = everything

    def sum_of(self, **weights: Fraction) -> tuple[Vector, Fraction]:
        """A sum of sizes as weights of the variables, and a constant."""
        constant = ZERO
        for name, times in self._times.items():
            if name not in self.names and name in weights:
                weights["percent"] = weights.get("percent", ZERO) + weights.pop(name) * times
        for name, value in self._known.items():
            if name not in self.names and name in weights:
                constant += weights.pop(name) * value
        return tuple(weights.get(name, ZERO) for name in self.names), constant

    def at_most(self, most: Fraction, **weights: Fraction) -> Bound:
        """The bound that a sum of sizes is at most so many us."""
        vector, constant = self.sum_of(**weights)
        return Bound(vector, most - constant)

    def at_least(self, least: Fraction, **weights: Fraction) -> Bound:
        """The bound that a sum of sizes is at least so many us."""
        return self.at_most(-least, **{name: -weight for name, weight in weights.items()})

    def _order(self) -> tuple[Bound, ...]:
        """A step is less than the whole travel, whatever is read."""
        if "step" not in self.names:
            return ()
        most = max(abs(self.bench.declared.subtrim_low), abs(self.bench.declared.subtrim_high), 1)
        return (self.at_most(ZERO, step=Fraction(most), percent=Fraction(-200)),)

    def range_of(self, option: Option, **weights: Fraction) -> tuple[Fraction, Fraction]:
        """How far a sum of sizes can go in an option, in us."""
        vector, constant = self.sum_of(**weights)
        low, high = option.region.span(vector)
        return low + constant, high + constant

    def cases(
        self, option: Option, reading: BenchReading
    ) -> Iterator[tuple[str, dict[str, Fraction], tuple[Bound, ...]]]:
        """What a reading may show: a letter, its pulse as a sum of sizes, and the bounds under which it does."""
        percent, steps = parts_of(option.arithmetic, reading)
        level = {"percent": percent, "step": steps}

        def below(name: str) -> Bound:
            return self.at_most(ZERO, **level, **{name: -ONE})

        def above(name: str) -> Bound:
            return self.at_least(ZERO, **level, **{name: -ONE})

        yield "-", {"centre": ONE, **level}, (below("upper"), above("lower"))
        if percent > 0 or steps > 0:
            yield "h", {"centre": ONE, "upper": ONE}, (above("upper"),)
        if percent < 0 or steps < 0:
            yield "l", {"centre": ONE, "lower": ONE}, (below("lower"),)

    def continued(
        self, option: Option, reading: BenchReading, pulse: tuple[Fraction, Fraction]
    ) -> Iterator[Option]:
        """The option with one more reading, for each way in which the limit may have cut it."""
        for letter, sizes, bounds in self.cases(option, reading):
            shown = (self.at_least(pulse[0], **sizes), self.at_most(pulse[1], **sizes))
            region = option.region.cut_all((*shown, *bounds))
            if region is not None:
                yield Option(option.arithmetic, option.cut + letter, region)

    def pulses(self, option: Option, reading: BenchReading) -> tuple[Fraction, Fraction]:
        """The least and the greatest pulse in us at the corners of an option."""
        percent, steps = parts_of(option.arithmetic, reading)
        sums = [
            self.sum_of(**weights)
            for weights in (
                {"percent": percent, "step": steps},
                {"upper": ONE},
                {"lower": ONE},
                {"centre": ONE},
            )
        ]
        found = []
        for corner in option.region.corners:
            level, upper, lower, centre = (
                sum((a * b for a, b in zip(weights, corner.point, strict=True)), constant)
                for weights, constant in sums
            )
            found.append(centre + min(max(level, lower), upper))
        return min(found), max(found)


def parts_of(arithmetic: Arithmetic, reading: BenchReading) -> tuple[Fraction, Fraction]:
    """A and B of a reading: its level without a limit is A + B x (per cent of a step)."""
    dial = Dial(reading.travel, reading.subtrim, reading.reversed)
    full = full_travel(arithmetic)
    parts = []
    if reading.source_position:
        rate = Rate(reading.mix, reading.mix)
        parts = [Part(reading.source_position.value, Travel(full, full), rate)]
    without, with_one = (
        channel_level(arithmetic._replace(subtrim_step=step), dial, reading.position.value, parts).wanted
        for step in (ZERO, ONE)
    )
    return without, with_one - without


def pulse_of(arithmetic: Arithmetic, reading: BenchReading) -> Fraction:
    """The pulse in us that a handset of this arithmetic gives."""
    percent, steps = parts_of(arithmetic, reading)
    wanted = percent + steps * arithmetic.subtrim_step
    level = min(max(wanted, arithmetic.output_low), arithmetic.output_high)
    return arithmetic.pulse.width(level)


def _sized(bench: Bench, found: tuple[Option, ...]) -> tuple[Arithmetic, list[str]] | None:
    """The sizes of an option, the simplest numbers that agree, and which of them the readings settle."""
    frame = Frame(bench)
    option = found[0]
    settled = sorted(exact_enough(frame, found, bench))
    if "output" in bench.unknown and all(
        _limit_known(frame, found, bench, side) for side in ("upper", "lower")
    ):
        settled.append("output")
    values: dict[str, Fraction] = {}
    for name in ("percent", "centre", "step", "upper", "lower"):
        low, high = frame.range_of(option, **{name: ONE})
        if name in ("percent", "centre"):
            value = simplest(low, high) if low < high else low
        elif name == "step":
            unit = (
                values["percent"] / bench.steps
            )  # so that the steps which the model names are a simple per cent
            value = simplest(low / unit, high / unit) * unit if low < high else low
        else:
            nearest, far = (low, high) if name == "upper" else (high, low)
            wide = abs(far - nearest) > ENOUGH * values["percent"]
            unit = values["percent"]
            value = nearest if wide or low == high else simplest(low / unit, high / unit) * unit
        values[name] = value
        equal = (frame.at_most(value, **{name: ONE}), frame.at_least(value, **{name: ONE}))
        region = option.region.cut_all(equal)
        assert region is not None
        option = option._replace(region=region)
    percent = values["percent"]
    return option.arithmetic._replace(
        pulse=Pulse(values["centre"], percent),
        subtrim_step=values["step"] / percent,
        output_high=values["upper"] / percent,
        output_low=values["lower"] / percent,
    ), settled


def exact_enough(frame: Frame, found: Sequence[Option], bench: Bench) -> set[str]:
    """Which of pulse and step the options give exactly enough, at full travel and at the end of the sub-trim."""
    percent = frame.range_of(found[0], percent=ONE)
    return {
        name
        for name, sizes in reaches(bench).items()
        if name in bench.unknown
        and all(_width(frame, found, {size: far}) <= ENOUGH * percent[0] for size, far in sizes.items())
    }


def reaches(bench: Bench) -> dict[str, dict[str, Fraction]]:
    """How far each size of pulse and step counts, in per cent or steps: a full travel, all of the sub-trim."""
    declared = bench.declared
    most = Fraction(max(abs(declared.subtrim_low), abs(declared.subtrim_high), 1))
    return {
        "pulse": {"centre": ONE, "percent": max(declared.travel_high, Fraction(100))},
        "step": {"step": most},
    }


def _width(frame: Frame, found: Sequence[Option], weights: dict[str, Fraction]) -> Fraction:
    """How far apart a sum of sizes can lie in the options that agree, in us."""
    ranges = [frame.range_of(option, **weights) for option in found]
    return max(high for _, high in ranges) - min(low for low, _ in ranges)


def _limit_known(frame: Frame, found: Sequence[Option], bench: Bench, side: str) -> bool:
    """Whether a limit is read, or nothing that one channel can be asked for goes beyond what was read."""
    percent = frame.range_of(found[0], percent=ONE)
    if _width(frame, found, {side: ONE}) <= ENOUGH * percent[0]:
        return True
    letter, ways_of_side = ("h", 1) if side == "upper" else ("l", -1)
    return all(
        any(
            reading.position.value == ways_of_side and _is_extreme(bench, reading) and cut in ("-", letter)
            for reading, cut in zip(bench.readings, option.cut, strict=True)
        )
        for option in found
    )


def _is_extreme(bench: Bench, reading: BenchReading) -> bool:
    """Whether no reading with this control at its end asks for a higher level."""
    declared = bench.declared
    way = reading.position.value
    subtrim = declared.subtrim_high if way > 0 else declared.subtrim_low
    side = reading.travel.high if way > 0 else reading.travel.low
    mixed = not declared.mix or (
        reading.source_position is not None and reading.source_position.value * reading.mix == way * 100
    )
    return not reading.reversed and side == declared.travel_high and reading.subtrim == subtrim and mixed


def contradicting(bench: Bench) -> list[BenchReading]:
    """The readings without which the rest agrees; empty if it is more than one that contradicts.

    Whichever it is stands among the first ones that cannot all be right.
    """
    readings = bench.readings
    count = next(
        (count for count in range(1, len(readings)) if not _any(bench, readings[:count])), len(readings)
    )
    return [
        reading
        for at, reading in enumerate(readings[:count])
        if _any(bench, (*readings[:at], *readings[at + 1 :]))
    ]


def _any(bench: Bench, readings: Sequence[BenchReading]) -> bool:
    """Whether some option agrees with these readings."""
    return next(agreeing(bench, readings), None) is not None
