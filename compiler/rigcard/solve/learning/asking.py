"""Which readings to take of a handset: the fewest that settle what its model leaves unknown, and the best next one.

A reading is a way of dialling one channel and a place of its control. The choice is among a few that a person dials
quickly; together they tell any two orders apart, and each size that is unknown costs one reading of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import combinations, pairwise

from rigcard.resolve.model import Arithmetic, Bench, BenchReading, Control, Position, Travel
from rigcard.resolve.readings import full_travel
from rigcard.solve.learning.exact import Bound, Region, Vector
from rigcard.solve.learning.handset import ENOUGH, Frame, Option, learn, parts_of, reaches, ways
from rigcard.source import Span

METER = Fraction(1)  # us: what a common meter shows, and how far its last digit may be off
SOME_SIZES = (  # us for 1 %, and per cent for the whole sub-trim: handsets that the choice is tried on
    (Fraction(4), Fraction(36)),
    (Fraction(5), Fraction(12)),
    (Fraction(128, 25), Fraction(60)),
)
LEAST_PERCENT = Fraction(4)  # us for 1 %, of the handsets above
UNEVEN = (Fraction(85, 100), Fraction(30, 100))  # of full travel, low and high: no sum of other values
MIXED = Fraction(50)  # per cent of another control


def to_take(bench: Bench, controls: Mapping[str, Control], place: Span) -> tuple[BenchReading, ...]:
    """The readings that are still to be taken, in the order of taking; their pulses are open.

    First those of the fewest that nobody has taken yet. If all are taken and something is still unknown, the one
    that tells most. Empty if the model has no control to read with.
    """
    choice = menu(bench, controls, place)
    taken = [_settings(reading) for reading in bench.readings]
    first = [reading for reading in fewest(bench, choice) if _settings(reading) not in taken]
    if first or not bench.readings:
        return tuple(first)
    best = telling(bench, [reading for reading in choice if _settings(reading) not in taken])
    return (best,) if best else ()


def _settings(reading: BenchReading) -> tuple[object, ...]:
    """What is dialled and where the control stands; the values of controls, not their names."""
    source = reading.source_position.value if reading.source_position else None
    return (reading.travel, reading.subtrim, reading.reversed, reading.position.value, reading.mix, source)


# ---- what can be asked for -----------------------------------------------------------------------------------


def menu(bench: Bench, controls: Mapping[str, Control], place: Span) -> list[BenchReading]:
    """The readings to choose from."""
    own, source = _bench_controls(controls)
    if own is None:
        return []
    declared = bench.declared
    ends = {position.value: position for position in own.positions}
    middle = ends.get(Fraction(0))
    full = full_travel(declared)
    plain = Travel(full, full)
    uneven = Travel(*(_dialled(declared, share * full) for share in UNEVEN))
    steps = declared.subtrim_high or declared.subtrim_low

    def reading(
        position: Position, travel: Travel = plain, subtrim: int = 0, turned: bool = False, mixed: bool = False
    ) -> BenchReading:
        return BenchReading(
            travel=travel,
            subtrim=subtrim,
            reversed=turned,
            control=own.name,
            position=position,
            mix=MIXED if mixed else Fraction(0),
            source=source.name if mixed and source else "",
            source_position=source.positions[-1] if mixed and source else None,
            low=Fraction(0),
            high=Fraction(0),
            span=place,
        )

    first, last = ends[Fraction(-1)], ends[Fraction(1)]
    mixing = source is not None and bool(declared.mix)
    made = [  # the first few settle a handset of which everything is unknown
        reading(first),
        *([reading(middle, subtrim=steps, turned=True)] if middle else []),
        reading(last, uneven, steps, True),
        *([reading(last, uneven, mixed=True)] if mixing else []),
        reading(last),
        *([reading(middle), reading(middle, subtrim=steps)] if middle else []),
        reading(last, subtrim=steps),
        reading(last, uneven, turned=True),
        *([reading(middle, uneven, mixed=True)] if mixing and middle else []),
        *([reading(middle, uneven, steps, True, True)] if mixing and middle else []),
        *([reading(last, uneven, steps, True, True)] if mixing else []),
    ]
    return made + (_limit_readings(bench, made[0], (first, last), source) if "output" in bench.unknown else [])


def _limit_readings(
    bench: Bench, like: BenchReading, ends: tuple[Position, Position], source: Control | None
) -> list[BenchReading]:
    """The two readings that ask for more than anything else on one channel does."""
    declared = bench.declared
    most = Travel(declared.travel_high, declared.travel_high)
    found = []
    for position, subtrim in ((ends[1], declared.subtrim_high), (ends[0], declared.subtrim_low)):
        asked = like._replace(travel=most, subtrim=subtrim, position=position)
        if source and declared.mix:
            place = source.positions[-1 if position.value > 0 else 0]
            asked = asked._replace(mix=Fraction(100), source=source.name, source_position=place)
        found.append(asked)
    return found


def _bench_controls(controls: Mapping[str, Control]) -> tuple[Control | None, Control | None]:
    """The control to read with, one with a middle where there is one, and another to mix in; switches first."""
    able = sorted(controls.values(), key=lambda one: (not one.is_switch, len(one.positions) != 3))
    middle = sorted(able, key=lambda one: len(one.positions) != 3)
    own = middle[0] if middle else None
    return own, next((one for one in able if one is not own), None)


def _dialled(declared: Arithmetic, wanted: Fraction) -> Fraction:
    """The travel that can be dialled nearest to a wanted one, in per cent."""
    steps = round((wanted - declared.travel_low) / declared.travel_step)
    most = int((declared.travel_high - declared.travel_low) / declared.travel_step)
    return declared.travel_low + min(max(steps, 0), most) * declared.travel_step


# ---- the fewest ----------------------------------------------------------------------------------------------


def fewest(bench: Bench, choice: Sequence[BenchReading]) -> list[BenchReading]:
    """The fewest of these readings that settle what is unknown, whatever the handset is.

    A size that is unknown takes a reading, and to tell orders apart takes one more: with fewer readings every order
    agrees with some size. Each limit takes one of its own.
    """
    limits = [reading for reading in choice if _asks_for_limit(bench, reading)]
    plain = [reading for reading in choice if reading not in limits]
    sizes = 2 * ("pulse" in bench.unknown) + ("step" in bench.unknown)
    least = sizes + (len(ways(bench)) > 1)
    if not least:
        return limits
    trial = Trial(bench, plain)
    for count in range(least, len(plain) + 1):
        for chosen in combinations(range(len(plain)), count):
            if trial.settles(chosen):
                return [*sorted((plain[number] for number in chosen), key=_effort), *limits]
    return [*plain, *limits]


def _effort(reading: BenchReading) -> tuple[int, bool]:
    """How many values have to be dialled, and whether the control stands off its middle."""
    uneven = reading.travel.low != reading.travel.high
    return (
        uneven + (reading.subtrim != 0) + reading.reversed + (reading.mix != 0),
        reading.position.value != 0,
    )


def _asks_for_limit(bench: Bench, reading: BenchReading) -> bool:
    extreme = (bench.declared.subtrim_low, bench.declared.subtrim_high)
    mixed = reading.mix == 100 or not (bench.declared.mix and reading.source)
    full = reading.travel.low == reading.travel.high == bench.declared.travel_high
    return "output" in bench.unknown and full and mixed and reading.subtrim in extreme and not reading.reversed


class Trial:
    """Tries sets of readings on handsets of every order and of some sizes, none of which cuts a level off."""

    def __init__(self, bench: Bench, choice: Sequence[BenchReading]) -> None:
        self.bench = bench._replace(
            unknown=tuple(name for name in bench.unknown if name != "output"),
            declared=bench.declared._replace(output_low=Fraction(-1000), output_high=Fraction(1000)),
        )
        frame = Frame(self.bench)
        self._everything = frame.everything
        orders = ways(self.bench)
        hidden = [(order, made) for order in orders for made in handsets(self.bench, order)]
        self._rows = [[_row(frame, order, reading) for reading in choice] for order in orders]
        self._pulses = [[_pulse(made, reading) for reading in choice] for _, made in hidden]
        # each order with the first handset of it; each handset with an order that it could be taken for
        of_order = [orders.index(order) for order, _ in hidden]
        self._own = [(of_order.index(at), at) for at in range(len(orders))]
        self._doubts = [
            (number, other)
            for number, own in enumerate(of_order)
            for other in range(len(orders))
            if other != own
        ]
        self._needed = _needed(frame, self.bench)

    def settles(self, chosen: Sequence[int]) -> bool:
        """Whether the readings with these numbers settle orders and sizes. What failed before is tried first."""
        for tried, fails in ((self._own, self._is_loose), (self._doubts, self._is_taken_for)):
            for at, case in enumerate(tried):
                if fails(*case, chosen):
                    tried.insert(0, tried.pop(at))
                    return False
        return True

    def _sizes(self, hidden: int, order: int, chosen: Sequence[int], give: Fraction) -> Region | None:
        """The sizes with which an order shows what a hidden handset shows; None if it cannot."""
        region: Region | None = self._everything
        for number in chosen:
            pulse, (weights, constant) = self._pulses[hidden][number], self._rows[order][number]
            above = Bound(weights, pulse + give - constant)
            below = Bound(tuple(-weight for weight in weights), constant - pulse + give)
            region = region and region.cut_all((above, below))
        return region

    def _is_taken_for(self, hidden: int, order: int, chosen: Sequence[int]) -> bool:
        """Whether some sizes of another order show the same."""
        return self._sizes(hidden, order, chosen, 2 * METER) is not None

    def _is_loose(self, hidden: int, order: int, chosen: Sequence[int]) -> bool:
        """Whether a size does not come out exactly enough with the meter's last digit in doubt."""
        region = self._sizes(hidden, order, chosen, 3 * METER / 2)
        assert region is not None
        ranges = [region.span(weights) for weights in self._needed]
        return any(high - low > ENOUGH * LEAST_PERCENT for low, high in ranges)


def _needed(frame: Frame, bench: Bench) -> list[Vector]:
    """The sizes that must be known, each times how far it counts."""
    found = []
    for sizes in reaches(bench).values():
        for name, far in sizes.items():
            if name in frame.names:
                found.append(tuple(far if name == one else Fraction(0) for one in frame.names))
    return found


def _row(frame: Frame, order: Arithmetic, reading: BenchReading) -> tuple[Vector, Fraction]:
    percent, steps = parts_of(order, reading)
    return frame.sum_of(centre=Fraction(1), percent=percent, step=steps)


def _pulse(hidden: Arithmetic, reading: BenchReading) -> Fraction:
    """The pulse in us of a handset that cuts no level off."""
    without, steps = parts_of(hidden, reading)
    return hidden.pulse.width(without + steps * hidden.subtrim_step)


def handsets(bench: Bench, order: Arithmetic) -> Iterator[Arithmetic]:
    """Handsets of an order and of some sizes, where those are unknown."""
    declared = bench.declared
    most = max(abs(declared.subtrim_low), abs(declared.subtrim_high), 1)
    sizes = [
        (
            declared.pulse._replace(per_percent=percent) if "pulse" in bench.unknown else declared.pulse,
            whole / most if "step" in bench.unknown else declared.subtrim_step,
        )
        for percent, whole in SOME_SIZES
    ]
    for pulse, step in dict.fromkeys(sizes):
        yield order._replace(pulse=pulse, subtrim_step=step)


# ---- the best next one ---------------------------------------------------------------------------------------


def telling(bench: Bench, choice: Sequence[BenchReading]) -> BenchReading | None:
    """The reading that tells most of what agrees still apart: into most groups, or else the least certain one."""
    frame = Frame(bench)
    options = learn(bench).options
    best: tuple[int, Fraction] = (1, 4 * METER)
    chosen = None
    for reading in choice:
        ranges = _by_order(frame, options, reading)
        groups = 1 + sum(low - high > 2 * METER for (_, high), (low, _) in pairwise(_merged(ranges)))
        widest = max(high - low for low, high in ranges)
        if (groups, widest) > best:
            best, chosen = (groups, widest), reading
    return chosen


def _by_order(
    frame: Frame, options: Sequence[Option], reading: BenchReading
) -> list[tuple[Fraction, Fraction]]:
    return [frame.pulses(option, reading) for option in options]


def _merged(ranges: Sequence[tuple[Fraction, Fraction]]) -> list[tuple[Fraction, Fraction]]:
    """Ranges that overlap made into one, in rising order."""
    merged: list[tuple[Fraction, Fraction]] = []
    for low, high in sorted(ranges):
        if merged and low - merged[-1][1] <= 2 * METER:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return merged
