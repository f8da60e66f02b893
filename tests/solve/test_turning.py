"""How far and how fast an axis turns, asked and unasked.

Each value is arithmetic that can be done by hand; F18 and F20 are the marks of worked examples of the trade.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

from rigcard.documents.cards.radio_loss import on_loss
from rigcard.exports.paths import all_paths, as_records, as_table
from rigcard.resolve.model import Sweep, Turn
from rigcard.solve.solved import base_of
from rigcard.solve.turning import shown_turn, turn_at, unasked_turn
from rigs import STICK, TURNING, checked, ids, rig_text, solved_rig

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


# ---- F18: what turns before the failsafe comes -----------------------------------------------------------------------


def lost(tmp_path: Path, unit: str) -> tuple[object, list[str], str]:
    """A rig whose receiver gives its failsafe after 0.8 s: the angle, the codes, the words of the card."""
    text = rig_text(
        inputs=TURNING.format(dead=2),
        channels=STICK.format(failsafe="0%"),
        unit=unit,
    ).replace(
        'model rec "Receiver" { role receiver;', 'model rec "Receiver" { role receiver; failsafe after 800ms;'
    )
    solved, found = checked(tmp_path, text)
    assert solved
    return unasked_turn(solved.rig, solved.losses[0]), ids(found), on_loss(solved, solved.losses[0])


def test_unasked_turn_during_hold(tmp_path: Path) -> None:
    """F18: 60 deg/s for 0.8 s are 48 deg, printed on the card; arithmetic."""
    angle, codes, card = lost(tmp_path, "input pan from pan clear 48deg")

    assert (angle, codes) == (48, [])
    assert card == "keeps turning, up to 48°, then stops"


@pytest.mark.parametrize(
    ("inputs", "failsafe", "after", "angle"),
    [
        (TURNING.format(dead=2), "0%", "failsafe after 500ms;", 30),
        (
            TURNING.format(dead=2),
            "none",
            "failsafe after 500ms;",
            30,
        ),  # 500 ms of the last level, then no pulses
        (TURNING.format(dead=2), "hold", "failsafe after 500ms;", None),  # it has no end
        (TURNING.format(dead=2), "0%", "", None),
        (
            TURNING.format(dead=2).replace("60deg/s", "60deg"),
            "0%",
            "failsafe after 500ms;",
            None,
        ),  # a place, no speed
        (TURNING.format(dead=2).replace(" full 60deg/s", ""), "0%", "failsafe after 500ms;", None),
        ('input pan on one "Pan" { low -150%..0%; high 0.1%..150% }', "0%", "failsafe after 500ms;", None),
    ],
)
def test_what_is_known_of_an_unasked_turn(
    tmp_path: Path, inputs: str, failsafe: str, after: str, angle: int | None
) -> None:
    """F18: 60 deg/s for half a second are 30 deg; of all else no angle is claimed."""
    text = rig_text(inputs=inputs.replace("critical ", ""), channels=STICK.format(failsafe=failsafe))
    receiver = 'model rec "Receiver" { role receiver;'
    solved, found = checked(tmp_path, text.replace(receiver, f"{receiver} {after}"))
    assert solved is not None, found

    assert unasked_turn(solved.rig, solved.losses[0]) == angle


def test_unasked_turn_into_a_stop(tmp_path: Path) -> None:
    """F18: with a soft stop 30 deg away it is hit; half the speed in the head's menu clears it."""
    assert lost(tmp_path, "input pan from pan clear 30deg")[1] == ["RC438"]
    assert lost(tmp_path, "input pan from pan clear 30deg full 30deg/s")[:2] == (24, [])


# ---- F20: roll trim ----------------------------------------------------------------------------------------------------


def test_a_roll_trim_in_degrees(tmp_path: Path) -> None:
    """F20: +-10 deg for +-100 %: 3 % off are 0.3 deg, one step of sub-trim 0.0146 deg; arithmetic."""
    solved = solved_rig(
        tmp_path,
        inputs='input roll on one "Roll" { sweeps left to right full 10deg }',
        channels="channel 1 roll from fader failsafe hold",
    )
    sweep = solved.links.feeds[0].input.sweep
    assert sweep

    assert turn_at(sweep, Fraction(3)) == Fraction("0.3")
    assert "one step of sub-trim turns `roll` 0.0146 deg" in as_table(solved, all_paths(solved))
    turns = {
        record["position"]: record["turn_degrees"]
        for record in json.loads(as_records(solved, all_paths(solved)))
    }
    assert turns == {"toward": 10.0, "away": 10.0}


def test_a_turn_is_shown_to_a_hundredth(tmp_path: Path) -> None:
    """Travel of 33 % of an axis that turns 10.1 deg at 100 % is 3.333 deg; arithmetic."""
    solved = solved_rig(
        tmp_path,
        inputs='input roll on one "Roll" { sweeps left to right full 10.1deg }',
        channels="channel 1 roll from fader travel 33% / 33% failsafe hold",
    )

    assert as_table(solved, all_paths(solved)).count(" 3.33 deg") == 2
