"""Values that depend on the side of centre on which a control lies, and the curve of a control.

Each value is arithmetic that can be done by hand. The curve is common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from rigcard.resolve.model import Rate, Shape, Sweep, Travel, Turn
from rigcard.solve.arithmetic import Dial, Part, channel_level, rate_of, shaped, side
from rigcard.solve.solved import base_of
from rigcard.solve.turning import shown_turn, turn_at
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


# ---- turns -----------------------------------------------------------------------------------------------------------


def sweep(rest: int | None, low: int = -100, high: int = 100, dead: int | None = None, full: int = 60) -> Sweep:
    """A sweep that turns at `full` degrees a second at its ends."""
    levels = (Fraction(low), Fraction(high), None if rest is None else Fraction(rest))
    return Sweep("left", "right", *levels, None if dead is None else Fraction(dead), Turn(Fraction(full), True))


@pytest.mark.parametrize(
    ("axis", "base"), [(sweep(None), 0), (sweep(None, 20, 100), 60), (sweep(0), 0), (sweep(10), 10)]
)
def test_where_an_axis_does_not_turn(axis: Sweep, base: int) -> None:
    """At its rest, or else in the middle of its sweep; there the turn is nothing."""
    assert base_of(axis) == base
    assert turn_at(axis, Fraction(base)) == 0


@pytest.mark.parametrize(
    ("level", "degrees"),
    [
        (-100, 60),  # the end below: 120 from rest
        (-40, 30),  # half the way of 120
        (50, 22.5),  # 30 of the way of 80
        (60, 30),
        (100, 60),
        (150, 60),  # no more beyond an end
        (-150, 60),
    ],
)
def test_a_turn_is_measured_from_rest_to_its_own_end(level: int, degrees: float) -> None:
    """A sweep from -100 to +100 % that rests at +20 %: 120 below and 80 above; arithmetic."""
    assert turn_at(sweep(20), Fraction(level)) == Fraction(degrees)


def test_nothing_turns_within_the_dead_band() -> None:
    """5 % to either side; beyond it the turn begins at nothing; 5 % of 60 deg/s at 10 %: arithmetic."""
    axis = sweep(0, dead=5)

    assert [turn_at(axis, Fraction(level)) for level in (-10, -5, -3, 3, 5, 10)] == [3, 0, 0, 0, 0, 3]


def test_a_sweep_with_no_way_does_not_turn() -> None:
    """A rest at an end leaves no way on that side; a model that does not say how far has no turn."""
    assert turn_at(sweep(100), Fraction(120)) == 0
    assert turn_at(sweep(0)._replace(full=None), Fraction(50)) == 0
    assert shown_turn(sweep(0)._replace(full=None), Fraction(0)) == ""
