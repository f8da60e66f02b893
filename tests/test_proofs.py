"""What the compiler proves of a rig, from the text of the file to the message: worked examples of the trade.

The examples of the trade have no published source. Each test says whether it stands on arithmetic alone or on
common practice; F5, F10 ... are the marks of the worked examples.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from rigs import AUTO, KEYS, MIXED, compiled, ids, joint, only, rows, solved_rig

SAMPLES = sorted((Path(__file__).parents[1] / "samples").glob("*.rig"))
WAYS = ("away", "middle", "toward")
LEVELS = {  # F10: switch A down, switch B across
    "away": (-125, -100, -50),
    "middle": (-50, 0, 50),
    "toward": (50, 100, 125),
}
STATES = {
    "away": ("a-minus", "a-minus", "b-minus"),
    "middle": ("b-minus", "none", "b-plus"),
    "toward": ("b-plus", "a-plus", "a-plus"),
}


# ---- what cannot be had ------------------------------------------------------------------------------------------


def test_a_level_out_of_reach_names_the_nearest(tmp_path: Path) -> None:
    """F5: standby at -40 % is 274.3 steps of 240; nearest -35 %, 5 % off, run then needs travel 65; arithmetic."""
    solved, found = compiled(
        tmp_path, channels=f"channel 1 record from two aims away -40%, toward -100% {AUTO}"
    )
    said = only(found, "RC402").message

    assert solved is None
    assert "`two.away` to −40 %" in said
    assert "the nearest is −35 % with travel 0 % / 65 % and sub-trim −240" in said
    assert "5 % off" in said
    assert "`dev` reads as `standby`" in said


# ---- two switches on one channel -----------------------------------------------------------------------------------


def test_truth_table_of_two_switches(tmp_path: Path) -> None:
    """F10: nine levels and states of A with half of B, output +-125 %; arithmetic on edges of common practice."""
    table = joint(solved_rig(tmp_path, **MIXED), "keys")

    assert len(table) == 9
    for first, (at, second) in product(WAYS, enumerate(WAYS)):
        row = table[first, second]
        assert row.level.percent == LEVELS[first][at]
        assert [reading.state for reading in row.readings] == [STATES[first][at]]
        assert row.level.clipped == (first == second != "middle")
        assert row.level.wanted == {"away": -100, "middle": 0, "toward": 100}[first] + (at - 1) * 50


def test_corners_with_a_lower_output_limit(tmp_path: Path) -> None:
    """F10: with output +-100 % the corners read as A; arithmetic."""
    table = joint(solved_rig(tmp_path, **{**MIXED, "output": "-100%..100%"}), "keys")

    for way, level, state in (("away", -100, "a-minus"), ("toward", 100, "a-plus")):
        assert table[way, way].level.percent == level
        assert table[way, way].readings[0].state == state


def test_two_switches_that_fire_the_others_key(tmp_path: Path) -> None:
    """F10: A- with B+ fires B-, and A+ with B- fires B+, the opposite of what B shows; nothing else is named."""
    solved, found = compiled(tmp_path, **MIXED)
    said = only(found, "RC422").message

    assert solved is not None
    assert "`a.away` with `b.toward` gives −50 %, `b-minus`" in said
    assert "`a.toward` with `b.away` gives +50 %, `b-plus`" in said
    assert said.count(" with ") == 2
    assert {key for key, row in joint(solved, "keys").items() if row.stray} == {
        ("away", "toward"),
        ("toward", "away"),
    }


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
        f"k{at} {25 * at - 112.499:.3f}%..{25 * at - 87.501:.3f}%{' rest' if at == 4 else ''}" for at in range(9)
    )
    solved, found = compiled(
        tmp_path, **{**MIXED, "channels": NINE, "inputs": f'input keys on two "Keys" {{\n{bands}\n}}'}
    )

    assert solved is not None
    assert found == []
    table = solved.joint["hs", "keys"]
    assert sorted(row.level.percent for row in table) == [25 * at - 100 for at in range(9)]
    assert {row.readings[0].margin for row in table} == {Fraction("12.499")}


def test_nine_levels_into_five_bands(tmp_path: Path) -> None:
    """F11b: with edges +-25 and +-75 % four of the nine fall on an edge, and a guard rejects them; arithmetic."""
    _, found = compiled(tmp_path, **{**MIXED, "channels": NINE, "guard": "5%"})
    said = [diagnostic.message for diagnostic in found if diagnostic.code.id == "RC415"]

    assert len(said) == 4
    for place in ("a.away", "a.toward", "b.away", "b.toward"):
        assert sum(f"`{place}`" in message for message in said) == 1


# ---- margins ------------------------------------------------------------------------------------------------------


def test_margins_of_five_keys(tmp_path: Path) -> None:
    """F13: levels -100, -50, 0, 50, 100 lie 25 % = 100 us from the edges; a hundredth parts the bands; arithmetic."""
    found = rows(solved_rig(tmp_path, **MIXED), "keys")
    margins = {key: row.readings[0].margin for key, row in found.items()}

    assert margins == {
        ("a", "away"): 25,
        ("a", "middle"): 25,
        ("a", "toward"): 25,
        ("b", "away"): Fraction("24.99"),
        ("b", "middle"): 25,
        ("b", "toward"): Fraction("24.99"),
    }
    assert found["a", "toward"].pulse - 1800 == 100


def test_margins_of_the_record_switch(tmp_path: Path) -> None:
    """F13: record at -35 and -105 % with the edge at -70 %: 35 % = 140 us to that edge; arithmetic."""
    channels = "channel 1 record from two travel 0% / 70% subtrim -240 reversed failsafe hold"
    inputs = 'input trigger on one "Record" { run -140%..-70%; standby -69%..0% }'
    found = rows(solved_rig(tmp_path, channels=channels, inputs=inputs), "record")
    run = found["two", "toward"]

    assert (run.level.percent, run.readings[0].margin) == (-105, 35)
    assert 1500 - 4 * 70 - run.pulse == 140
    assert found["two", "away"].readings[0].margin == 34  # the edge of its own band is at -69 %


OTHER_SET = {
    "pulse": "1520us centre, 5.12us per 1%",
    "listener": "pulse 1500us centre, 4us per 1%",
    "inputs": KEYS,
    "channels": "channel 2 keys from b travel 50% / 50% failsafe -3.90625%",
    "cables": MIXED["cables"],
    "guard": "5%",
}


def test_margins_where_sender_and_listener_differ(tmp_path: Path) -> None:
    """F14: +50 % of a 5.12 us, 1520 us set is 1776 us, heard as 69 % by 4 us, 1500 us: 6 % left; arithmetic."""
    solved, reported = compiled(tmp_path, **OTHER_SET)
    assert solved is not None
    assert reported == []
    found = rows(solved, "keys")
    high, low = found["b", "toward"], found["b", "away"]

    assert (high.pulse, high.readings[0].heard) == (1776, 69)
    assert high.readings[0].margin == Fraction("5.99")
    assert (low.pulse, low.readings[0].heard) == (1264, -59)
    assert low.readings[0].margin == Fraction("15.99")


def test_a_trim_knocked_at_the_far_end_of_a_margin(tmp_path: Path) -> None:
    """F14: a trim throw of 10 % at the listener carries 69 % to 79 %, another key; 7.8125 % at the set; arithmetic."""
    solved, reported = compiled(tmp_path, **OTHER_SET, handset="trims 7.8125%")
    assert solved is not None
    said = only(reported, "RC415").message

    assert "`b.toward` gives +69 %" in said
    assert "less 10 % for a trim" in said
    knocked, _ = compiled(
        tmp_path, **{**OTHER_SET, "channels": "channel 2 keys from b travel 50% / 58% failsafe -3.90625%"}
    )
    assert knocked is not None
    assert rows(knocked, "keys")["b", "toward"].readings[0].state == "a-plus"


# ---- power-up ------------------------------------------------------------------------------------------------------


def test_what_rest_reads_as_after_a_wrong_start(tmp_path: Path) -> None:
    """F15: an adapter that learned A+ hears rest as 0 - 100 = A-; one that learned B+ hears -50 = B-; arithmetic."""
    solved = solved_rig(tmp_path, **{**MIXED, "inputs": KEYS.replace("{", "{ learns neutral", 1)})
    starts = {
        (start.control, start.position.name): [name for _, name in start.learned]
        for start in solved.wrong_starts
    }

    assert starts == {
        ("a", "away"): ["a-plus"],
        ("a", "toward"): ["a-minus"],
        ("b", "away"): ["b-plus"],
        ("b", "toward"): ["b-minus"],
    }
    assert solved.needed == {("hs", "a"), ("hs", "b")}


def test_an_input_that_learns_nothing_is_wrong_only_at_the_start(tmp_path: Path) -> None:
    """The same wrong starts without `learns neutral`: named, and rest is rest again (arithmetic)."""
    solved = solved_rig(tmp_path, **MIXED)

    assert len(solved.wrong_starts) == 4
    assert all(start.learned == () for start in solved.wrong_starts)
    assert {start.readings[0].state for start in solved.wrong_starts} == {
        "a-minus",
        "a-plus",
        "b-minus",
        "b-plus",
    }


# ---- slow -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("slow", "stay"), [("1s", "249.9 ms"), ("241ms", "60.2 ms"), ("239ms", None), ("100ms", None)]
)
def test_slow_presses_the_keys_between(tmp_path: Path, slow: str, stay: str | None) -> None:
    """F16: -100 to 100 % in 1 s is 0.25 s in a band of 50 %; read after 60 ms, so 0.24 s is the most; arithmetic."""
    parts = {
        "inputs": KEYS.replace("{", "{ reads after 60ms", 1),
        "channels": f"channel 2 keys from a slow {slow} failsafe 0%",
        "cables": MIXED["cables"],
    }
    solved, found = compiled(tmp_path, **parts)

    assert solved is not None
    assert ids(found) == (["RC442"] if stay else [])
    if stay:
        assert f"stays {stay} in `b-minus` of `dev`" in found[0].message
        assert "read after 60 ms" in found[0].message


# ---- radio loss ------------------------------------------------------------------------------------------------------

PAN = 'input pan on one "Pan" critical { sweeps left to right rest 0% }'
SPEED = 'input speed on one "Speed" critical { sweeps slow to fast rest -100% }'
RECORDING = "channel 1 record from two travel 0% / 70% subtrim -240 reversed"
KEYED = {"inputs": KEYS, "cables": MIXED["cables"]}


@pytest.mark.parametrize(
    ("parts", "codes"),
    [
        pytest.param(
            {"inputs": PAN, "channels": "channel 1 pan from across failsafe hold"}, ["RC431"], id="F18"
        ),
        pytest.param({"inputs": PAN, "channels": "channel 1 pan from across failsafe 10%"}, ["RC431"]),
        pytest.param({"inputs": PAN, "channels": "channel 1 pan from across failsafe 0%"}, []),
        pytest.param({"channels": f"{RECORDING} failsafe 0%"}, ["RC433"], id="F19 take is cut"),
        pytest.param({"channels": f"{RECORDING} failsafe -105%"}, [], id="F19 run is held"),
        pytest.param({"channels": f"{RECORDING} failsafe hold"}, []),
        pytest.param({**KEYED, "channels": "channel 2 keys from a failsafe 0%"}, [], id="F19 key neutral"),
        pytest.param({**KEYED, "channels": "channel 2 keys from a failsafe 100%"}, ["RC434"]),
        pytest.param({**KEYED, "channels": "channel 2 keys from a failsafe 130%"}, ["RC432"]),
        pytest.param(
            {"inputs": SPEED, "channels": "channel 1 v from across failsafe 0%"},
            ["RC413", "RC431"],
            id="F19 centre is no stop",
        ),
        pytest.param({"inputs": SPEED, "channels": "channel 1 v from a failsafe -100%"}, ["RC436"]),
        pytest.param({"inputs": SPEED, "channels": "channel 1 v from a failsafe 0%"}, ["RC431", "RC436"]),
    ],
)
def test_where_a_failsafe_lands(tmp_path: Path, parts: dict[str, str], codes: list[str]) -> None:
    """F18, F19: motion goes on, a take is cut, a key fires, or nothing (common practice, no source)."""
    _, found = compiled(tmp_path, **parts)

    assert sorted(ids(found)) == codes


def test_margin_of_a_key_at_failsafe(tmp_path: Path) -> None:
    """F19: a key channel whose failsafe is 0 % lands in rest with 25 % to spare; arithmetic."""
    solved = solved_rig(tmp_path, **KEYED, channels="channel 2 keys from a failsafe 0%")
    reading = solved.losses[0].reading

    assert reading is not None
    assert (reading.state, reading.margin) == ("none", 25)


@pytest.mark.parametrize("turn", ["", "reversed"])
@pytest.mark.parametrize("listener", ["", "pulse 1500us centre, 4us per 1%"])
@pytest.mark.parametrize("rest", ["0%", "-100%"])
def test_the_failsafe_that_is_proposed_stops_it(tmp_path: Path, turn: str, listener: str, rest: str) -> None:
    """The value in the hint of RC431, written into the file, leaves no RC431 (a hint must be true; no source)."""
    parts = {
        "pulse": "1520us centre, 5us per 1%" if listener else "1500us centre, 4us per 1%",
        "listener": listener,
        "inputs": f'input pan on one "Pan" critical {{ sweeps left to right rest {rest} }}',
        "unit": f"input pan from pan {turn}" if turn else "",
    }
    _, found = compiled(tmp_path, **parts, channels="channel 1 pan from across failsafe hold")
    hint = only(found, "RC431").hint
    proposed = hint.removeprefix("write `").partition("`")[0]

    _, after = compiled(tmp_path, **parts, channels=f"channel 1 pan from across {proposed}")
    assert "RC431" not in ids(after), proposed
