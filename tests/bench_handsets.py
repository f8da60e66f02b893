"""Handsets whose arithmetic is hidden, and the readings that they give: what the tests of learning share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import product

from rigcard.resolve.model import Arithmetic, Bench, BenchReading, Control, Position, Pulse
from rigcard.resolve.words import LEARNABLE
from rigcard.solve.learning.handset import ORDERS
from rigcard.source import Source, Span

HERE = Span(Source("bench.rig", "model"), 0, 5)
DECLARED = Arithmetic(
    pulse=Pulse(Fraction(1500), Fraction(5)),
    travel_low=Fraction(0),
    travel_high=Fraction(125),
    travel_step=Fraction(5),
    subtrim_low=-80,
    subtrim_high=80,
    subtrim_step=Fraction(12, 80),
    shifts="whole",
    reverse="before-subtrim",
    mix="before-travel",
    output_low=Fraction(-140),
    output_high=Fraction(140),
)
ALL_ORDERS = [
    DECLARED._replace(shifts=shifts, reverse=reverse, mix=mix)
    for shifts, reverse, mix in product(*ORDERS.values())
]
FINE = {  # sizes of a handset that no declared line has
    "pulse": {"pulse": Pulse(Fraction(1520), Fraction(128, 25))},
    "step": {"subtrim_step": Fraction(35, 80)},
    "output": {"output_low": Fraction(-110), "output_high": Fraction(120)},
}


def switch(name: str, *places: str) -> Control:
    """A switch with evenly spread positions."""
    steps = len(places) - 1
    positions = tuple(Position(place, Fraction(2 * at, steps) - 1) for at, place in enumerate(places))
    return Control(name, name, "switch", positions, False, Fraction(0), None, Fraction(0), HERE)


CONTROLS = {
    one.name: one for one in (switch("top", "away", "middle", "toward"), switch("front", "away", "toward"))
}


def bench(hidden: Arithmetic, unknown: Iterable[str], readings: Sequence[BenchReading] = ()) -> Bench:
    """What a model says of a hidden handset that leaves some of it unknown."""
    names = tuple(name for name in LEARNABLE if name in unknown)
    known = {name: getattr(hidden, name) for name in ORDERS if name not in names}
    if "pulse" not in names:
        known["pulse"] = hidden.pulse
    if "step" not in names:
        known["subtrim_step"] = hidden.subtrim_step
    if "output" not in names:
        known |= {"output_low": hidden.output_low, "output_high": hidden.output_high}
    return Bench(names, DECLARED._replace(**known), 80, tuple(readings))


def level(hidden: Arithmetic, reading: BenchReading) -> Fraction:
    """The level by the page of the language, step by step: written anew, so not from the code that is tested."""
    v = reading.position.value
    sign = -1 if reading.reversed else 1
    source = reading.source_position.value if reading.source_position else Fraction(0)
    rate = reading.mix / 100
    if hidden.reverse == "before-travel":
        v = v * sign
    m = v + rate * source if hidden.mix == "before-travel" else v
    s = m * (reading.travel.low if m < 0 else reading.travel.high)
    if hidden.mix == "after-travel":
        s += rate * source * 100
    t = reading.subtrim * hidden.subtrim_step
    if hidden.shifts == "centre":
        t *= max(0, 1 - abs(m))
    if hidden.reverse == "before-subtrim":
        made = sign * s + t
    elif hidden.reverse == "after-subtrim":
        made = sign * (s + t)
    else:
        made = s + t
    return min(max(made, hidden.output_low), hidden.output_high)


def shown(hidden: Arithmetic, reading: BenchReading, meter: Fraction = Fraction(1)) -> BenchReading:
    """The reading as a meter shows it that rounds to its last digit."""
    pulse = hidden.pulse.centre + level(hidden, reading) * hidden.pulse.per_percent
    read = round(pulse / meter) * meter
    return reading._replace(low=read - meter, high=read + meter)
