"""What a handset makes of a control: per cent in, per cent out, exact fractions throughout.

With m the control's value from -1 to +1 and its side's travel T (low below centre, high above), for the model
`reverse before subtrim, mix before travel, shifts whole`:

    m = own + sum(rate x source);  s = +-m x T;  o = s + sub-trim;  clip(o)

The other orders that a model can declare are in `channel_level`. Worked numbers for each of them: tests/reference.
"""

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from rigcard.resolve.model import Arithmetic, Counts, Rate, Shape, Travel

ZERO = Fraction(0)


class Dial(NamedTuple):
    """The values of one channel as dialled: travel in per cent a side, sub-trim in steps, reversal."""

    travel: Travel
    subtrim: int
    reversed: bool


class Part(NamedTuple):
    """What one mix adds: the source control's value (-1..1), its channel's travel, the rate in per cent."""

    value: Fraction
    travel: Travel
    rate: Rate


class Level(NamedTuple):
    """A channel's level in per cent; `wanted` is what it would be without the handset's output limit."""

    percent: Fraction
    wanted: Fraction

    @property
    def clipped(self) -> bool:
        """Whether the output limit was reached."""
        return self.percent != self.wanted


def channel_level(arithmetic: Arithmetic, dial: Dial, own: Fraction, parts: Iterable[Part] = ()) -> Level:
    """The level of a channel whose control stands at `own` (-1..1), with what mixes add."""
    sign = -1 if dial.reversed else 1
    value = own * sign if arithmetic.reverse == "before-travel" else own
    if arithmetic.mix == "before-travel":
        value += sum((part.value * rate_of(part) / 100 for part in parts), ZERO)
        shift = value * side(dial.travel, value)
    else:
        shift = value * side(dial.travel, value)
        shift += sum((part.value * side(part.travel, part.value) * rate_of(part) / 100 for part in parts), ZERO)
    subtrim = dial.subtrim * arithmetic.subtrim_step
    if arithmetic.shifts == "centre":  # the ends stay where travel puts them
        subtrim *= max(ZERO, 1 - abs(value))
    if arithmetic.reverse == "before-subtrim":
        wanted = sign * shift + subtrim
    elif arithmetic.reverse == "after-subtrim":
        wanted = sign * (shift + subtrim)
    else:
        wanted = shift + subtrim
    return Level(min(max(wanted, arithmetic.output_low), arithmetic.output_high), wanted)


def shaped(value: Fraction, shape: Shape) -> Fraction:
    """A control after rate and expo: rate x ((1 - e) v + e v^3), the usual cubic (common practice, no source)."""
    if shape.expo:
        expo = shape.expo / 100
        value = (1 - expo) * value + expo * value**3
    return value if shape.rate == 100 else shape.rate / 100 * value


def side(travel: Travel, value: Fraction) -> Fraction:
    """The travel that applies on the side of centre where a value lies."""
    return travel.low if value < 0 else travel.high


def rate_of(part: Part) -> Fraction:
    """The rate that applies on the side of centre where the source lies."""
    return part.rate.low if part.value < 0 else part.rate.high


def count_of(counts: Counts, level: Fraction) -> int:
    """The integer that stands for a level on a serial line: nearest, halves upward, kept within the field."""
    scale = Fraction(counts.high - counts.low) / (counts.high_percent - counts.low_percent)
    exact = counts.low + (level - counts.low_percent) * scale
    code = (2 * exact + 1) // 2
    return int(min(max(code, counts.field_low), counts.field_high))


def level_of(counts: Counts, code: int) -> Fraction:
    """The level in per cent that an integer on a serial line stands for."""
    scale = (counts.high_percent - counts.low_percent) / Fraction(counts.high - counts.low)
    return counts.low_percent + (code - counts.low) * scale
