"""Values that depend on the side of centre on which a control lies, and the curve of a control.

Each value is arithmetic that can be done by hand. The curve is common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from rigcard.resolve.model import Rate, Shape, Travel
from rigcard.solve.arithmetic import Dial, Part, channel_level, rate_of, shaped, side
from test_arithmetic import handset

FULL = Travel(Fraction(100), Fraction(100))


@pytest.mark.parametrize(
    ("rate", "expo", "value", "out"),
    [
        (100, 0, "0.5", "0.5"),
        (100, 100, "0.5", "0.125"),  # the cube alone
        (100, 30, "0.5", "0.3875"),  # 0.7 x 0.5 + 0.3 x 0.125
        (60, 50, "0.5", "0.1875"),  # 0.6 x (0.25 + 0.0625)
        (70, 30, "1", "0.7"),  # the end of a stick is its rate, whatever the expo
        (70, 30, "0", "0"),
    ],
)
def test_the_curve_of_a_control(rate: int, expo: int, value: str, out: str) -> None:
    """The same on both sides of centre."""
    shape = Shape(Fraction(rate), Fraction(expo), Fraction(0))

    assert shaped(Fraction(value), shape) == Fraction(out)
    assert shaped(-Fraction(value), shape) == -Fraction(out)


@pytest.mark.parametrize(("value", "travel"), [("-1", 80), ("-0.01", 80), ("0.01", 110), ("1", 110)])
def test_the_travel_of_each_side(value: str, travel: int) -> None:
    """80 % below centre, 110 % above, however near to centre."""
    assert side(Travel(Fraction(80), Fraction(110)), Fraction(value)) == travel


@pytest.mark.parametrize(("value", "rate"), [("-1", 30), ("-0.01", 30), ("0.01", 60), ("1", 60)])
def test_the_rate_of_each_side(value: str, rate: int) -> None:
    """30 % below centre, 60 % above, however near to centre."""
    assert rate_of(Part(Fraction(value), FULL, Rate(Fraction(30), Fraction(60)))) == rate


@pytest.mark.parametrize("mix", ["before-travel", "after-travel"])
def test_a_mix_with_two_rates(mix: str) -> None:
    """30 % of the source below centre and 60 % above; the travel of the channel, 100 %, leaves them as they are."""
    for value, percent in ((-1, -30), (1, 60)):
        part = Part(Fraction(value), FULL, Rate(Fraction(30), Fraction(60)))
        found = channel_level(handset(mix=mix), Dial(FULL, 0, False), Fraction(0), (part,))
        assert found.percent == percent
