"""Turns of an axis, pulses that a listener takes for pulses, cures that are computed, the reach of a channel.

F2, F11, F17, F18 and F20 are the marks of worked examples of the trade: arithmetic, or common practice, no source.
"""

from __future__ import annotations

import json
import re
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigcard.documents.cards.radio_loss import on_loss
from rigcard.exports.paths import all_paths, as_records, as_table
from rigcard.resolve.model import Position
from rigcard.solve.levels import level_at, reach
from rigcard.solve.solved import Solved
from rigcard.solve.turning import turn_at, unasked_turn
from rigs import KEYS, MIXED, checked, compiled, ids, joint, only, rig_text, solved_rig

PAN = 'input pan on one "Pan" critical {{ sweeps left to right rest 0% dead-band {dead}% full 60deg/s }}'
ACROSS = 'stick  across "Across" left to right springs'
STICK = "channel 1 pan from across failsafe {failsafe}"


def drifting(play: int, dead: int) -> str:
    """A rig with a stick that comes to rest within `play` per cent."""
    text = rig_text(inputs=PAN.format(dead=dead), channels=STICK.format(failsafe="0%"))
    assert ACROSS in text
    return text.replace(ACROSS, f"{ACROSS} within {play}%")


# ---- F2: pulses ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("size", "pulse"), [("5us", "975"), ("4us", None), ("5.12us", "962.4")])
def test_a_pulse_beyond_what_the_listener_reads(tmp_path: Path, size: str, pulse: str | None) -> None:
    """F2: run at -105 % is 975 us at 5 us per 1 %, an error; 1080 us at 4 us is well within 1000 to 2000."""
    parts = {
        "pulse": f"1500us centre, {size} per 1%",
        "listener": "reads 1000us..2000us",
        "channels": "channel 1 record from two travel 0% / 70% subtrim -240 reversed failsafe hold",
        "inputs": 'input trigger on one "Record" { run -150%..-70%; standby -69.99%..150% }',
    }
    _, found = compiled(tmp_path, **parts)

    assert ids(found) == (["RC418"] if pulse else [])
    if pulse:
        assert f"−105 %, a pulse of {pulse} µs" in found[0].message


def test_a_failsafe_pulse_beyond_what_the_listener_reads(tmp_path: Path) -> None:
    """F2 for the level that is sent on radio loss."""
    channels = "channel 1 record from two travel 80% / 80% failsafe -130%"
    _, found = compiled(tmp_path, listener="reads 1000us..2000us", channels=channels)

    assert "RC418" in ids(found)


# ---- F17: drift ------------------------------------------------------------------------------------------------------


def test_a_stick_off_its_rest_drifts(tmp_path: Path) -> None:
    """F17: 3 % off, dead band 2 %, 60 deg/s: 0.6 deg/s, which is 36 deg a minute; arithmetic."""
    _, found = checked(tmp_path, drifting(play=3, dead=2))
    said = only(found, "RC437").message

    assert "it turns 0.6 deg/s, 36 deg a minute" in said
    assert "hear 3 % beside its rest" in said


@pytest.mark.parametrize("travel", ["100% / 50%", "50% / 100%"])
def test_the_side_of_more_travel_drifts_more(tmp_path: Path, travel: str) -> None:
    """F17 with half the travel on one side: 3 % off on the other side are 0.6 deg/s still; arithmetic."""
    text = drifting(play=3, dead=2).replace("pan from across", f"pan from across travel {travel}")

    assert "it turns 0.6 deg/s, 36 deg a minute" in only(checked(tmp_path, text)[1], "RC437").message


@pytest.mark.parametrize(("play", "dead"), [(3, 3), (0, 0), (2, 5)])
def test_a_stick_within_the_dead_band_stands_still(tmp_path: Path, play: int, dead: int) -> None:
    """F17: no drift where play is not beyond the dead band."""
    assert ids(checked(tmp_path, drifting(play, dead))[1]) == []


def test_play_of_what_is_mixed_in_drifts_too(tmp_path: Path) -> None:
    """2 % of play of each of two sticks, the second mixed in by half, are 3 %: a dead band of 2 % leaves 1 % of 60
    deg/s; arithmetic."""
    mixed = "channel 2 half from along failsafe 0%\n  mix half into pan at 50%"
    solved, found = checked(
        tmp_path,
        rig_text(
            handset='stick along "Along" toward to away springs within 2%',
            inputs=PAN.format(dead=2),
            channels=f"{STICK.format(failsafe='0%')}\n  {mixed}",
        ).replace("left to right springs\n", "left to right springs within 2%\n"),
    )
    assert solved is not None, found
    said = [each.message for each in found if each.code.id == "RC437"]

    assert len(said) == 1
    assert "hear 3 % beside its rest" in said[0]


@pytest.mark.parametrize("turn", ["", "reversed"])
def test_a_trim_knocked_drifts_too(tmp_path: Path, turn: str) -> None:
    """F17 with a trim's throw of 10 % instead of the stick's play: 8 % of 60 deg/s, to either side; arithmetic."""
    parts = {"inputs": PAN.format(dead=2), "channels": STICK.format(failsafe="0%"), "handset": "trims 10%"}
    parts["unit"] = f"input pan from pan {turn}"
    _, found = compiled(tmp_path, **parts)

    assert "it turns 4.8 deg/s, 288 deg a minute" in only(found, "RC437").message


def test_play_and_a_trim_knocked_add_up(tmp_path: Path) -> None:
    """F17 with both: 3 and 10 % are 13 % off, less the dead band 11 % of 60 deg/s; arithmetic."""
    text = drifting(play=3, dead=2).replace("has     rate", "trims 10%\n  has rate")
    said = only(checked(tmp_path, text)[1], "RC437").message

    assert "hear 13 % beside its rest" in said
    assert "it turns 6.6 deg/s, 396 deg a minute" in said


@pytest.mark.parametrize("steps", [240, -240])
def test_drift_about_a_rest_beside_the_middle(tmp_path: Path, steps: int) -> None:
    """Rest at 35 %, where 240 steps put it: 3 % off, less 2, of the 65 % to the nearer end are 0.92 deg/s; arithmetic.

    The axis may drift either way, and the nearer end is the faster: the same for a rest at -35 %.
    """
    text = drifting(play=3, dead=2).replace("rest 0%", f"rest {35 if steps > 0 else -35}%")
    text = text.replace("pan from across failsafe 0%", f"pan from across subtrim {steps} failsafe hold")
    said = [found.message for found in checked(tmp_path, text)[1] if found.code.id == "RC437"]

    assert len(said) == 1
    assert "hear 3 % beside its rest" in said[0]
    assert "it turns 0.92 deg/s, 55.4 deg a minute" in said[0]


# ---- F18: what turns before the failsafe comes -----------------------------------------------------------------------


def lost(tmp_path: Path, unit: str) -> tuple[object, list[str], str]:
    """A rig whose receiver gives its failsafe after 0.8 s: the angle, the codes, the words of the card."""
    text = rig_text(
        inputs=PAN.format(dead=2),
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
    assert card == "keeps turning, up to 48 deg, then stops"


@pytest.mark.parametrize(
    ("inputs", "failsafe", "after", "angle"),
    [
        (PAN.format(dead=2), "0%", "failsafe after 500ms;", 30),
        (PAN.format(dead=2), "none", "failsafe after 500ms;", 30),  # 500 ms of the last level, then no pulses
        (PAN.format(dead=2), "hold", "failsafe after 500ms;", None),  # it has no end
        (PAN.format(dead=2), "0%", "", None),
        (
            PAN.format(dead=2).replace("60deg/s", "60deg"),
            "0%",
            "failsafe after 500ms;",
            None,
        ),  # a place, no speed
        (PAN.format(dead=2).replace(" full 60deg/s", ""), "0%", "failsafe after 500ms;", None),
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


# ---- the reach of a channel, against dense sampling --------------------------------------------------------------------


def reach_of(solved: Solved) -> tuple[Fraction, Fraction]:
    """How far the channel `roll` goes, without the limit of the output."""
    unit = solved.rig.units["hs"]
    dials = {key: sheet.dial for key, sheet in solved.results.items()}
    home = {name: solved.power_up_positions["hs", name] for name in unit.model.controls}
    low, high = reach(unit, unit.channels["roll"], dials, home)
    return low.wanted, high.wanted


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_nothing_sampled_lies_beyond_the_reach(tmp_path: Path, data: st.DataObject) -> None:
    """Every level of 41 x 41 sampled places of two levers lies within the computed reach, and comes near its ends."""
    travels = [data.draw(st.integers(0, 140)) for _ in range(4)]
    rates = [data.draw(st.integers(-100, 100)) for _ in range(2)]
    steps, turned = data.draw(st.integers(-240, 240)), data.draw(st.sampled_from(["", "reversed"]))
    rate, expo = data.draw(st.integers(10, 100)), data.draw(st.integers(0, 100))
    solved = solved_rig(
        tmp_path,
        shifts=data.draw(st.sampled_from(["whole", "centre"])),
        reverse=data.draw(st.sampled_from(["before travel", "before subtrim", "after subtrim"])),
        mix=data.draw(st.sampled_from(["before travel", "after travel"])),
        output="-1000%..1000%",
        handset="has rate, expo",
        inputs='input roll on one "Roll" { sweeps left to right }',
        channels=f"""channel 1 roll from fader travel {travels[0]}% / {travels[1]}% subtrim {steps} {turned} failsafe hold
  channel 2 other from across travel {travels[2]}% / {travels[3]}% failsafe hold
  mix other into roll at {rates[0]}% / {rates[1]}%""".replace(
            "failsafe hold", f"rate {rate}% expo {expo}% failsafe hold", 1
        ),
    )
    unit = solved.rig.units["hs"]
    channel = unit.channels["roll"]
    dials = {key: sheet.dial for key, sheet in solved.results.items()}
    home = {name: solved.power_up_positions["hs", name] for name in unit.model.controls}
    low, high = reach(unit, channel, dials, home)

    places = [Position("", Fraction(at, 20)) for at in range(-20, 21)]
    sampled = [
        level_at(unit, channel, {**home, "fader": own, "across": other}, dials).wanted
        for own in places
        for other in places
    ]
    assert low.wanted <= min(sampled)
    assert high.wanted >= max(sampled)
    near = 20  # a kink may lie between two samples: less than a tenth of travel and of sub-trim together
    assert min(sampled) - low.wanted < near
    assert high.wanted - max(sampled) < near


@pytest.mark.parametrize("way", [1, -1])
def test_a_level_bends_where_a_mix_brings_it_to_its_full(tmp_path: Path, way: int) -> None:
    """At m = 1 a sub-trim of the centre shifts nothing: travel 11 % gives 11 %, m = 1.05 gives 11.55, m = 0 gives 35."""
    travel, rate = ("120% / 11%", "-95% / 0%") if way > 0 else ("11% / 120%", "95% / 0%")
    solved = solved_rig(
        tmp_path,
        shifts="centre",
        reverse="before travel",
        mix="before travel",
        output="-1000%..1000%",
        handset="has rate, expo",
        inputs='input roll on one "Roll" { sweeps left to right }',
        channels=f"""channel 1 roll from fader travel {travel} subtrim {240 * way} rate 10% failsafe hold
  channel 2 other from across travel 100% / 100% failsafe hold
  mix other into roll at {rate}""",
    )
    assert reach_of(solved) == ((11, 35) if way > 0 else (-35, -11))


@pytest.mark.parametrize(
    ("expo", "mixed", "end"),
    [
        (0, -50, 50),  # 100 v - 50 v
        (0, 50, 150),
        (100, -80, 27.54),  # 100 v^3 - 80 v: 20 % at the ends, but 27.54 % where 3 v^2 = 0.8
    ],
)
@pytest.mark.parametrize("mix", ["before travel", "after travel"])
def test_the_reach_of_a_lever_that_is_mixed_into_its_own_channel(
    tmp_path: Path, mix: str, expo: int, mixed: int, end: float
) -> None:
    """Both parts move at once: no level is claimed that one of them would give alone; arithmetic."""
    parts = {
        "mix": mix,
        "output": "-1000%..1000%",
        "handset": "has expo",
        "listener": "reads 1200us..1800us",  # 75 % to either side
        "inputs": 'input roll on one "Roll" { sweeps left to right }',
        "channels": f"""channel 1 roll from fader expo {expo}% failsafe hold
  channel 2 other from fader failsafe hold
  channel 3 third from c failsafe hold
  mix other into roll at {mixed}%; mix third into roll at 0%""",
    }
    solved, found = compiled(tmp_path, **parts)
    if end > 75:
        assert "comes to −150 %" in only(found, "RC418").message
        return
    assert solved is not None, found
    low, high = reach_of(solved)

    assert (float(low), float(high)) == (pytest.approx(-end, abs=0.01), pytest.approx(end, abs=0.01))


def test_the_reach_of_an_expo_that_goes_beyond_its_end(tmp_path: Path) -> None:
    """Expo -100 %: 2 v - v^3 is 1.0887 where 3 v^2 = 2, which 1 at the end is not; arithmetic."""
    solved = solved_rig(
        tmp_path,
        handset="has expo",
        inputs='input roll on one "Roll" { sweeps left to right }',
        channels="channel 1 roll from fader expo -100% failsafe hold",
    )

    assert [float(level) for level in reach_of(solved)] == [
        pytest.approx(way * 108.87, abs=0.01) for way in (-1, 1)
    ]


@pytest.mark.parametrize("turn", ["", "reversed"])
@pytest.mark.parametrize(
    ("rate", "mixed", "low", "high"),
    [
        (100, 50, -15, 35),  # m = own +- 0.5 passes 0, where all of the sub-trim counts
        (100, 30, -13, 35),
        (30, 50, -1, 30),  # m lies 0.2 to 0.8 from 0: -8 + 7 % to 2 + 28 %
    ],
)
def test_the_reach_where_a_mix_brings_a_channel_through_zero(
    tmp_path: Path, turn: str, rate: int, mixed: int, low: int, high: int
) -> None:
    """Travel 10 %, sub-trim 35 % at the centre alone, part of a switch without a middle mixed in; arithmetic."""
    solved = solved_rig(
        tmp_path,
        shifts="centre",
        reverse="before travel",
        mix="before travel",
        handset="has rate",
        inputs='input roll on one "Roll" { sweeps left to right }',
        channels=f"""channel 1 roll from fader travel 10% / 10% subtrim 240 {turn} rate {rate}% failsafe hold
  channel 2 other from two failsafe hold
  mix other into roll at {mixed}%""",
    )
    unit = solved.rig.units["hs"]
    dials = {key: sheet.dial for key, sheet in solved.results.items()}
    home = {name: solved.power_up_positions["hs", name] for name in unit.model.controls}
    found = reach(unit, unit.channels["roll"], dials, home)

    plain = [
        10 * abs(value) * (1 if value > 0 else -1) + 35 * max(0, 1 - abs(value))
        for own in range(-rate, rate + 1)
        for value in ((own - mixed) / 100, (own + mixed) / 100)
    ]
    assert (found[0].wanted, found[1].wanted) == (low, high)
    assert (min(plain), max(plain)) == (pytest.approx(low), pytest.approx(high))
