"""Cures for controls that share a channel: each that is offered is computed, and holds.

F10 and F11 are the marks of worked examples of the trade: arithmetic, or common practice, no source.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from rigs import KEYS, MIXED, WAYS, checked, compiled, ids, joint, only, rig_text, rows

# ---- two switches on one channel -----------------------------------------------------------------------------------


def test_the_cure_is_computed_and_holds(tmp_path: Path) -> None:
    """F11a: the mix only while A is centred: rows of A read as A, nothing is fired by the other; arithmetic."""
    before = only(compiled(tmp_path, **MIXED)[1], "RC422")
    cure = "while a middle"
    assert f"add `{cure}` to the mix" in before.hint

    solved, found = compiled(tmp_path, **{**MIXED, "channels": f"{MIXED['channels']} {cure}"})
    assert solved is not None
    assert found == []
    states = {key: row.readings[0].state for key, row in joint(solved, "keys").items()}
    assert [states["away", way] for way in WAYS] == ["a-minus"] * 3
    assert [states["middle", way] for way in WAYS] == ["b-minus", "none", "b-plus"]
    assert [states["toward", way] for way in WAYS] == ["a-plus"] * 3


NINE = "channel 2 keys from a travel 75% / 75% failsafe 0%\nchannel 3 half from b failsafe 0%\nmix half into keys at 25%"


def test_nine_levels_into_nine_bands(tmp_path: Path) -> None:
    """F11b: travel 75 %, mix 25 %: nine levels 25 % apart, 12.5 % = 50 us to each edge, no cross-talk; arithmetic."""
    bands = "\n".join(
        f"k{at} {25 * at - 112.499:.3f}%..{25 * at - 87.501:.3f}%{' rest' if at == 4 else ''}"
        for at in range(9)
    )
    parts = {**MIXED, "channels": NINE, "inputs": f'input keys on two "Keys" {{\n{bands}\n}}'}
    corners = (("away", "away", 0), ("away", "toward", 2), ("toward", "away", 6), ("toward", "toward", 8))
    meant = [f"expect hs.a.{a} gives dev.keys.k{at} while b {b}" for a, b, at in corners]
    solved, found = compiled(tmp_path, **parts, more="\n".join(meant))

    assert solved is not None
    assert found == []
    said = only(compiled(tmp_path, **parts)[1], "RC422")  # none of the two gives a corner alone
    assert "`a.away` with `b.away`" in said.message
    assert meant[0] in said.hint
    assert only(compiled(tmp_path, **parts, more="\n".join(meant[1:]))[1], "RC422")
    table = solved.joint["hs", "keys"]
    assert sorted(row.level.percent for row in table) == [25 * at - 100 for at in range(9)]
    assert {row.readings[0].margin for row in table} == {Fraction("12.499")}


def test_nine_levels_into_five_bands(tmp_path: Path) -> None:
    """F11b: with edges +-25 and +-75 % four of the nine fall on an edge, and a guard rejects them; arithmetic."""
    solved, found = compiled(tmp_path, **{**MIXED, "channels": NINE, "guard": "5%"})
    assert solved is not None
    edged = {key for key, row in rows(solved, "keys").items() if row.readings[0].margin == 0}

    assert "`a.away` gives −75 %, just on the edge of" in only(found, "RC415").message
    assert edged == {("a", "away"), ("a", "toward"), ("b", "away"), ("b", "toward")}


# ---- F11: cures ----------------------------------------------------------------------------------------------------------


LAST_CURE = "give one of the controls a channel of its own, or use switches that spring back to the middle"


def nine_bands(shift: float = 0) -> str:
    """A band for each of nine levels 25 % apart, a hundredth of a per cent between them; moved by `shift`."""
    bands = "\n".join(
        f"k{at} {25 * at - 112.49 + shift:.2f}%..{25 * at - 87.51 + shift:.2f}%{' rest' if at == 4 else ''}"
        for at in range(9)
    )
    return f'input keys on two "Keys" {{\n{bands}\n}}'


def test_nine_levels_are_offered_with_their_numbers(tmp_path: Path) -> None:
    """F11b: travel 75 and mix 25 put nine levels 12.5 % from the edges; offered, and true when it is followed."""
    parts = {**MIXED, "inputs": nine_bands(), "mix": "after travel", "output": "-150%..150%"}
    hint = only(compiled(tmp_path, **parts)[1], "RC422").hint
    cure = re.search(r"`(travel \d+% / \d+%)` and the mix `(at \d+%)`", hint)
    assert cure, hint
    assert cure.groups() == ("travel 75% / 75%", "at 25%")
    assert hint == (
        "add `while a middle` to the mix (computed: no such combination is left), or `travel 75% / 75%` and the mix "
        "`at 25%` (computed: 9 levels, each in a band of its own, 12.5 % from its edge) and an `expect ... while` for "
        "each that no control gives alone, or " + LAST_CURE
    )
    spare = parts["inputs"].replace("{", "{ far 300%..310%\n", 1)  # a band more than there are levels
    assert only(compiled(tmp_path, **{**parts, "inputs": spare})[1], "RC422").hint == hint

    channels = parts["channels"].replace("from a", f"from a {cure[1]}").replace("at 50%", cure[2])
    corners = product(("away", "toward"), repeat=2)
    alone = compiled(tmp_path, **{**parts, "channels": channels})[0]
    assert alone
    given = joint(alone, "keys")
    meant = [f"expect hs.a.{a} gives dev.keys.{given[a, b].readings[0].state} while b {b}" for a, b in corners]
    solved, found = compiled(tmp_path, **{**parts, "channels": channels, "more": "\n".join(meant)})
    assert solved
    assert ids(found) == []
    table = joint(solved, "keys")
    assert {row.level.percent for row in table.values()} == set(range(-100, 101, 25))
    assert len({row.readings[0].state for row in table.values()}) == 9


def test_nine_levels_are_not_offered_to_five_bands(tmp_path: Path) -> None:
    """F11b: with edges at +-25 and +-75 four of the nine would fall on an edge: only the other cures are named."""
    hint = only(compiled(tmp_path, **MIXED)[1], "RC422").hint

    assert "levels, each in a band" not in hint
    assert "add `while a middle`" in hint
    assert "a channel of its own" in hint
    assert "spring back" in hint


def test_no_cure_of_switches_is_offered_to_a_lever(tmp_path: Path) -> None:
    """F11 with a slider: it passes its middle on the way, and stays between any two of nine levels."""
    channels = MIXED["channels"].replace("from a ", "from fader ")
    parts = {**MIXED, "channels": channels, "inputs": nine_bands(), "output": "-150%..150%"}

    assert only(compiled(tmp_path, **parts)[1], "RC422").hint == LAST_CURE


def test_a_switch_without_a_middle_is_offered_none(tmp_path: Path) -> None:
    """F11a needs a middle; 100 - 50 % = 50 % lies in no band here, and two positions have none; arithmetic."""
    inputs = re.sub(r"b-plus .*", "", KEYS).replace(" rest", "")
    channels = MIXED["channels"].replace("from a ", "from two ")
    found = compiled(tmp_path, **{**MIXED, "channels": channels, "inputs": inputs})[1]

    assert only(found, "RC423").hint == LAST_CURE


def test_no_cure_is_claimed_that_does_not_hold(tmp_path: Path) -> None:
    """Only the middle is in a band: 50 % is outside whatever the mix waits for, and small levels share it; arithmetic."""
    far = "; ".join(f"k{at} {300 + at}%..{300.5 + at}%" for at in range(9))
    inputs = f'input keys on two "Keys" {{ middle -40%..40% rest; {far} }}'
    found = compiled(tmp_path, **{**MIXED, "inputs": inputs})[1]

    assert only(found, "RC423").hint == LAST_CURE


def test_one_level_without_a_band_is_enough_to_offer_none(tmp_path: Path) -> None:
    """F11b where the lowest of the nine levels has its band elsewhere; arithmetic."""
    inputs = re.sub(r"k0 .*", "k0 300%..310%", nine_bands())
    hint = only(compiled(tmp_path, **{**MIXED, "inputs": inputs, "output": "-150%..150%"})[1], "RC422").hint

    assert "levels, each in a band" not in hint


def test_the_middle_is_no_cure_for_two_mixes(tmp_path: Path) -> None:
    """With A in the middle half of B and half of C are 100 %, the level of A alone: another's key all the same."""
    channels = f"{MIXED['channels']}; channel 4 again from c failsafe 0%; mix again into keys at 50%"

    assert "while" not in only(compiled(tmp_path, **{**MIXED, "channels": channels})[1], "RC422").hint


def test_a_second_listener_that_hears_all_hides_no_gap(tmp_path: Path) -> None:
    """100 - 60 % = 40 % and its opposite are in no band of the keys, always in one of the lamp; arithmetic."""
    lamp = 'input lamp on two "Lamp" { dark -150%..0%; bright 0.1%..150% }'
    keys = KEYS.replace("b-minus -74.99%..-25.01%", "").replace("b-plus  25.01%..74.99%", "")
    channels = MIXED["channels"].replace("50%", "60%")
    found = compiled(tmp_path, **{**MIXED, "inputs": f"{lamp}\n{keys}", "channels": channels})[1]

    assert "`a.away` with `b.toward` gives −40 %, `dark` and no state" in only(found, "RC423").message


def test_levels_of_their_own_are_offered_for_one_mix(tmp_path: Path) -> None:
    """F11b with B mixed in twice: one rate for `the mix` would not say which, so nine levels are not offered."""
    twice = "channel 4 again from b failsafe 0%; mix again into keys at 10%"
    parts = {
        **MIXED,
        "channels": f"{MIXED['channels']}\n{twice}",
        "inputs": nine_bands(),
        "output": "-150%..150%",
    }
    hint = only(compiled(tmp_path, **parts)[1], "RC422").hint

    assert "levels, each in a band" not in hint
    assert hint.endswith(LAST_CURE)


@pytest.mark.parametrize(
    ("own", "mixed", "levels", "half", "travel", "rate"),
    [
        pytest.param("a", "two", (-130, -100, -70, 70, 100, 130), 10, 30, 100, id="the whole of the mix"),
        pytest.param("two", "a", (-150, -140, -130, 130, 140, 150), 4, 140, 10, id="the longest travel"),
    ],
)
def test_levels_at_the_end_of_what_can_be_dialled(
    tmp_path: Path, own: str, mixed: str, levels: tuple[int, ...], half: int, travel: int, rate: int
) -> None:
    """Own +-T, mixed +-R: the one pair that puts all six levels in the middle of their bands; arithmetic."""
    bands = "; ".join(f"k{at} {level - half}%..{level + half}%" for at, level in enumerate(levels))
    found = compiled(
        tmp_path,
        inputs=f'input keys on two "Keys" {{ {bands} }}',
        channels=f"channel 2 keys from {own} failsafe hold; channel 3 half from {mixed} failsafe hold\n"
        "mix half into keys at 50%",
        cables=MIXED["cables"],
        output="-160%..160%",
    )[1]

    (hint,) = [one.hint for one in found if one.code.id in ("RC422", "RC423")]  # one table, one message
    assert f"`travel {travel}% / {travel}%` and the mix `at {rate}%` (computed: 6 levels" in hint
    assert f"{half} % from its edge" in hint


@pytest.mark.parametrize(
    ("travels", "travel", "rate"),
    [
        ("0%..140% step 1%", 75, 25),
        ("0%..140% step 5%", 75, 25),
        ("25%..100% step 15%", 25, 75),  # the other way about gives the same nine levels
        ("0%..140% step 10%", None, None),
        ("76%..140% step 1%", None, None),
        ("0%..74% step 1%", None, None),
    ],
)
def test_only_a_travel_that_the_handset_has_is_offered(
    tmp_path: Path, travels: str, travel: int | None, rate: int | None
) -> None:
    """F11b on handsets that cannot be set to 75 %: what is offered can be dialled; arithmetic."""
    parts = {**MIXED, "inputs": nine_bands(), "output": "-150%..150%"}
    text = rig_text(**parts).replace("travel  0%..140% step 1%", f"travel {travels}")
    hint = only(checked(tmp_path, text)[1], "RC422").hint
    offered = re.search(r"`travel (\d+)% / \d+%` and the mix `at (\d+)%`", hint)

    if travel and rate:
        assert offered, hint
        assert (int(offered[1]), int(offered[2])) == (travel, rate)
    elif offered:
        assert (int(offered[1]), int(offered[2])) != (75, 25)
        low, high, step = (int(number) for number in re.findall(r"\d+", travels))
        assert low <= int(offered[1]) <= high
        assert (int(offered[1]) - low) % step == 0
