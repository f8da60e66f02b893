"""How a handset turns a control into a level: per cent in, per cent out, exact fractions throughout.

Let m be the control's value from -1 to +1, and T the travel of its side (low below centre, high above). A model
with `reverse before subtrim, mix before travel, shifts whole` computes:

    m = own + sum(rate x source);  s = +-m x T;  o = s + sub-trim;  clip(o)

`channel_level` has the other orders that a model can declare. Worked numbers for each of them: tests/reference.
"""

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from rigcard.resolve.model import Arithmetic, Counts, Rate, Shape, Travel

ZERO = Fraction(0)


class Dial(NamedTuple):
    """The dialled values of one channel: travel in per cent for each side, sub-trim in steps, reversal."""

    travel: Travel
    subtrim: int
    reversed: bool


class Part(NamedTuple):
    """The contribution of one mix: its source control's value (-1..1) and travel, its rate in per cent."""

    value: Fraction
    travel: Travel
    rate: Rate


class Level(NamedTuple):
    """A channel's level in per cent; `wanted` is the level without the handset's output limit."""

    percent: Fraction
    wanted: Fraction

    @property
    def clipped(self) -> bool:
        """Whether the level reached the output limit."""
        return self.percent != self.wanted


def channel_level(arithmetic: Arithmetic, dial: Dial, own: Fraction, parts: Iterable[Part] = ()) -> Level:
    """The level of a channel with its control at `own` (-1..1), including the contributions of mixes."""
    sign = -1 if dial.reversed else 1
    value = own * sign if arithmetic.reverse == "before-travel" else own
    if arithmetic.mix == "before-travel":
        value += sum((part.value * rate_of(part) / 100 for part in parts), ZERO)
        shift = value * side(dial.travel, value)
    else:
        shift = value * side(dial.travel, value)
        shift += sum((part.value * side(part.travel, part.value) * rate_of(part) / 100 for part in parts), ZERO)
    subtrim = dial.subtrim * arithmetic.subtrim_step
    if arithmetic.shifts == "centre":  # the sub-trim must not move the ends
        subtrim *= max(ZERO, 1 - abs(value))
    if arithmetic.reverse == "before-subtrim":
        wanted = sign * shift + subtrim
    elif arithmetic.reverse == "after-subtrim":
        wanted = sign * (shift + subtrim)
    else:
        wanted = shift + subtrim
    return Level(min(max(wanted, arithmetic.output_low), arithmetic.output_high), wanted)


def shaped(value: Fraction, shape: Shape) -> Fraction:
    """A control after rate and expo: rate x ((1 - e) v + e v^3), a cubic (common practice, no source)."""
    if shape.expo:
        expo = shape.expo / 100
        value = (1 - expo) * value + expo * value**3
    return value if shape.rate == 100 else shape.rate / 100 * value


def side(travel: Travel, value: Fraction) -> Fraction:
    """The travel on the side of centre where a value lies."""
    return travel.low if value < 0 else travel.high


def rate_of(part: Part) -> Fraction:
    """The rate on the side of centre where the source lies."""
    return part.rate.low if part.value < 0 else part.rate.high


def count_of(counts: Counts, level: Fraction) -> int:
    """The integer for a level on a serial line: the nearest, halves rounded upward, clipped to the field."""
    scale = Fraction(counts.high - counts.low) / (counts.high_percent - counts.low_percent)
    exact = counts.low + (level - counts.low_percent) * scale
    code = (2 * exact + 1) // 2
    return int(min(max(code, counts.field_low), counts.field_high))


def level_of(counts: Counts, code: int) -> Fraction:
    """The level in per cent that an integer on a serial line represents."""
    scale = (counts.high_percent - counts.low_percent) / Fraction(counts.high - counts.low)
    return counts.low_percent + (code - counts.low) * scale
