"""What the compiler proves of a rig, from the text of the file to the message: worked examples of the trade.

The examples of the trade have no published source. Each test says whether it stands on arithmetic alone or on
common practice; F5, F10 ... are the marks of the worked examples.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import permutations, product
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigcard.diagnostics import Diagnostic, Diagnostics
from rigcard.documents.diagram.wiring import signal_graph
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.model import Travel
from rigcard.solve.auto import search
from rigcard.solve.joint import joint_tables
from rigcard.solve.levels import read
from rigcard.solve.power_up import power_up
from rigcard.solve.solved import Effect, Solution
from rigs import AUTO, KEYS, MIXED, RECORD, checked, compiled, ids, joint, only, rig_text, rows, solved_rig

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


@pytest.mark.parametrize(
    ("aims", "missed"),
    [
        ("away -35.4%, toward 104.6%", None),  # 0.4 % off, where travel goes by 1 %
        ("away -35.4%, toward 151%", None),  # 1 % off, no more
        ("away -35.4%, toward 151.1%", "`two.toward` to 151.1 %; the nearest is 150 %"),
    ],
)
def test_a_level_between_two_steps_is_reached(tmp_path: Path, aims: str, missed: str | None) -> None:
    """Rounding to the coarser step is no miss, more than that is one: an output of 150 % is 1.1 % short; arithmetic."""
    channels = f"channel 1 record from two aims {aims} travel auto subtrim 0 reverse auto failsafe hold"
    text = rig_text(channels=channels)
    _, found = checked(tmp_path, text.replace("travel  0%..140%", "travel  0%..200%"))

    assert ids(found).count("RC402") == (missed is not None)
    assert not missed or missed in only(found, "RC402").message


@pytest.mark.parametrize(("near", "far"), [("away", "toward"), ("toward", "away")])
def test_of_two_levels_out_of_reach_the_farther_is_told(tmp_path: Path, near: str, far: str) -> None:
    """Travel ends at 140 %: -160 % is 20 % short, 175 % is 35 %; arithmetic."""
    channels = f"channel 1 record from two aims {near} -160%, {far} 175% travel auto subtrim 0 reverse auto failsafe hold"
    said = only(compiled(tmp_path, channels=channels)[1], "RC402").message

    assert f"brings `two.{far}` to 175 %; the nearest is 140 %" in said
    assert "35 % off" in said


@pytest.mark.parametrize(("low", "short"), [("200", "60"), ("140.5", "0.5")])
def test_a_band_out_of_reach_is_named_by_its_edges(tmp_path: Path, low: str, short: str) -> None:
    """Travel ends at 140 %, 60 % short of a band from 200 %, half a per cent of one from 140.5 %; arithmetic."""
    _, found = compiled(
        tmp_path,
        inputs=f'input trigger on one "Record" {{ run {low}%..210%; standby -150%..140.4% }}',
        channels="channel 1 record from two travel auto subtrim 0 reverse auto failsafe hold",
        more="expect hs.two.toward gives dev.run",
    )
    said = only(found, "RC402").message

    assert f"brings `two.toward` to {low} % to 210 %; the nearest is 140 %" in said
    assert f"{short} % off" in said


def test_the_expectation_that_is_proposed_is_enough(tmp_path: Path) -> None:
    """With nothing to aim for an `expect` is proposed; typed as it stands it is one that can be met."""
    channels = f"channel 1 record from two {AUTO}"
    proposed = re.fullmatch(
        r"write `(expect .*)`, or state the values in place of `auto`",
        only(compiled(tmp_path, channels=channels)[1], "RC401").hint,
    )
    assert proposed

    assert solved_rig(tmp_path, channels=channels, more=proposed[1])


def test_the_aim_that_is_proposed_where_nothing_listens_is_enough(tmp_path: Path) -> None:
    """No state could be expected of a channel without a lead."""
    channels = "channel 1 record from two failsafe hold; channel 5 spare from a"
    _, found = compiled(tmp_path, channels=f"{channels} {AUTO}")
    proposed = re.match(r"write `(aims .*?)`", only(found, "RC401").hint)
    assert proposed

    assert solved_rig(tmp_path, channels=f"{channels} {proposed[1]} {AUTO}")


def test_a_rate_that_nothing_is_wished_of(tmp_path: Path) -> None:
    """A mix `at auto` whose source no `expect` names; each of the two remedies, typed as it stands, is enough."""
    parts = {**MIXED, "channels": MIXED["channels"].replace("50%", "auto")}
    wish = "expect hs.a.toward gives dev.a-plus\nexpect hs.a.middle gives dev.none"
    said = only(compiled(tmp_path, **parts, more=wish)[1], "RC401")
    assert "mix `half` into `keys` is `at auto`" in said.message
    proposed = re.fullmatch(r"write `(expect .*)`, or state the rate, for example `(at .*)`", said.hint)
    assert proposed

    assert solved_rig(tmp_path, **parts, more=f"{wish}\n{proposed[1]}")
    parts["channels"] = parts["channels"].replace("at auto", proposed[2])
    assert solved_rig(tmp_path, **parts, more=wish)


SWAPPED = """channel 1 record from two travel auto subtrim auto reverse auto failsafe hold
  channel 2 iris from fader failsafe hold"""
TWO_LEADS = 'cable W1 "Leads" {{ rx.{first} to dev.one; rx.{second} to dev.two; length 1m; jacket 3mm }}'
RECORD_AND_IRIS = (
    'input trigger on one "Record" { standby -50%..-20% rest; run -150%..-90% }\n'
    '  input iris on two "Iris" { sweeps closed to open }'
)
RECORD_WISHES = "expect hs.two.away gives dev.standby\nexpect hs.two.toward gives dev.run"


def test_plugs_exchanged_are_told_and_mended(tmp_path: Path) -> None:
    """The cause is the plug, not a wish that is missing; what is to be written is enough."""
    parts = {"channels": SWAPPED, "inputs": RECORD_AND_IRIS, "more": RECORD_WISHES}
    said = only(compiled(tmp_path, **parts, cables=TWO_LEADS.format(first="p2", second="p1"))[1], "RC401")
    assert "`trigger` of `dev`, which hears channel `iris` on rx.p2, not `record`" in said.message
    legs = re.findall(r"`(rx\.p\d to dev\.\w+)`", said.hint)
    assert len(legs) == 2

    cable = f'cable W1 "Leads" {{ {"; ".join(legs)}; length 1m; jacket 3mm }}'
    assert solved_rig(tmp_path, **parts, cables=cable)


def test_an_input_that_follows_another_channel_is_told_and_mended(tmp_path: Path) -> None:
    """The same on a serial line, where the listener says what it follows."""
    inputs = RECORD_AND_IRIS.replace("on one", "on bus").replace("on two", "on bus")
    parts = {"channels": SWAPPED, "inputs": inputs, "more": RECORD_WISHES}
    cables = 'cable W1 "Line" { rx.bus to dev.bus; length 1m; jacket 3mm }'
    _, found = compiled(
        tmp_path, **parts, cables=cables, unit="input trigger from iris; input iris from record"
    )
    proposed = re.fullmatch(
        r"write `(input trigger from record)` in the block of `dev`", only(found, "RC401").hint
    )
    assert proposed

    assert solved_rig(tmp_path, **parts, cables=cables, unit=f"{proposed[1]}; input iris from iris")


@pytest.mark.parametrize("control", ["b", "fader"])
def test_a_channel_from_another_control_is_told_and_mended(tmp_path: Path, control: str) -> None:
    """The `expect`s name a control that moves no channel; the channel has the wrong one."""
    parts = {"inputs": RECORD_AND_IRIS, "more": RECORD_WISHES}
    channel = f"channel 1 record from {control} {AUTO}; channel 2 iris from across failsafe hold"
    cables = TWO_LEADS.format(first="p1", second="p2")
    said = only(compiled(tmp_path, **parts, cables=cables, channels=channel)[1], "RC401")
    assert f"channel `record` is moved by `{control}`" in said.message
    proposed = re.match(r"write `(from two)` on channel `record`", said.hint)
    assert proposed

    mended = channel.replace(f"from {control}", proposed[1])
    assert solved_rig(tmp_path, **parts, cables=cables, channels=mended)


def test_a_control_that_only_switches_a_mix_is_told(tmp_path: Path) -> None:
    """A state wished of a `while` control, which moves nothing by itself; `from` it the channel solves."""
    parts = {**MIXED, "more": "expect hs.c.away gives dev.a-minus\nexpect hs.c.toward gives dev.a-plus"}
    channels = f"""channel 2 keys from two {AUTO}
  channel 3 half from b failsafe 0%
  mix half into keys at 50% while c middle"""
    said = only(compiled(tmp_path, **{**parts, "channels": channels})[1], "RC402")
    assert "`c` only switches a mix into it" in said.message
    proposed = re.match(r"write `(from c)` on channel `keys`", said.hint)
    assert proposed

    mended = channels.replace("from two", proposed[1])
    solved, _ = compiled(tmp_path, **{**parts, "channels": mended})
    assert solved is not None


def test_an_expectation_that_nothing_could_give(tmp_path: Path) -> None:
    """The unit that is named hears nobody: neither a wish that is missing nor a plug is to blame."""
    more = f'unit dev2 is box "Other" {{ unused trigger }}\n{RECORD_WISHES.replace("dev.", "dev2.")}'
    _, found = compiled(tmp_path, channels=f"channel 1 record from two {AUTO}", more=more)

    assert "no input that hears `hs` gives that" in only(found, "RC401").message


def test_a_search_behind_auto_that_was_given_up_is_not_called_exact(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With less work allowed than the search needs a warning says so, and nothing is called the only best; the
    remedy, typed as it stands, leaves little enough."""
    parts = {"more": "expect hs.two.toward gives dev.run\nexpect hs.two.away gives dev.standby"}
    channel = f"channel 1 record from two {AUTO}"
    monkeypatch.setattr("rigcard.solve.auto.MOST_WORK", 150)
    search.cache_clear()
    solved, found = compiled(tmp_path, channels=channel, **parts)
    said = only(found, "RC481")
    proposed = re.match(r"write `(subtrim -?\d+)` on channel `record`", said.hint)
    assert solved is not None and proposed
    solution = solved.results["hs", "record"].solution
    assert solution is not None and not solution.unique

    _, after = compiled(tmp_path, channels=channel.replace("subtrim auto", proposed[1]), **parts)
    search.cache_clear()
    assert after == []


def test_the_nearest_level_that_nothing_hears(tmp_path: Path) -> None:
    """F5 on a channel without a lead."""
    channels = f"channel 1 record from two failsafe hold; channel 5 spare from a aims toward 160% {AUTO}"
    _, found = compiled(tmp_path, channels=channels)

    assert "10 % off, which nothing hears" in only(found, "RC402").message


def test_an_end_of_a_sweep_is_come_near_to(tmp_path: Path) -> None:
    """An `expect` of an end asks for the way to it; that an output of 60 % falls short of it is told, and no error."""
    solved, found = compiled(
        tmp_path,
        inputs='input iris on one "Iris" { sweeps shut to open }',
        channels="channel 1 iris from fader travel auto subtrim 0 reverse auto failsafe hold",
        output="-60%..60%",
        more="expect hs.fader.toward gives dev.iris.open\nexpect hs.fader.away gives dev.iris.shut",
    )

    assert set(ids(found)) == {"RC414", "RC472"}  # the output clips
    assert all("60 % of the way" in said.message for said in found if said.code.id == "RC472")
    assert solved is not None
    sheet = solved.results["hs", "iris"]
    assert sheet.dial.reversed
    assert [row.level.percent for row in sheet.rows] == [60, -60]
    assert sheet.solution == Solution(
        None, False
    )  # no band, so no headroom; travel of 60 % and more does the same


@pytest.mark.parametrize(
    ("aims", "expects", "headroom"),
    [
        ("aims away -35%, toward -105%", (), None),
        ("aims away -35%", ("toward gives dev.run",), 40),
        ("aims away -35%", ("away gives dev.standby", "toward gives dev.run"), 40),
        ("aims toward -105%", ("away gives dev.standby",), 110),
        ("aims away -35%, toward -105%", ("toward gives dev.run", "away gives dev.standby"), None),
        ("", ("toward gives dev.run", "away gives dev.standby"), 40),
    ],
)
def test_headroom_is_that_of_bands(
    tmp_path: Path, aims: str, expects: tuple[str, ...], headroom: int | None
) -> None:
    """Of the bands alone: the middle of -150 to -70 % is 40 % from its edges, of -70 to 150 % 110 %; arithmetic."""
    solved = solved_rig(
        tmp_path,
        channels=f"channel 1 record from two {aims} {AUTO}",
        inputs=RECORD.replace("-69.99", "-70") if not aims else RECORD.replace("-69.99", "-69.999"),
        more="\n".join(f"expect hs.two.{expected}" for expected in expects),
    )
    solution = solved.results["hs", "record"].solution

    assert solution is not None
    assert solution.headroom == (None if headroom is None else pytest.approx(headroom, abs=0.01))


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


def test_a_mix_into_a_sweep_lands_between_no_bands(tmp_path: Path) -> None:
    """An input that sweeps has no bands, so no combination lies outside of them."""
    inputs = 'input iris on two "Iris" { sweeps closed to open }'
    _, found = compiled(tmp_path, **{**MIXED, "inputs": inputs, "output": "-150%..150%"})

    assert found == []


def test_truth_table_of_a_mix_that_a_third_switch_turns_on(tmp_path: Path) -> None:
    """F10 with half of B mixed in only while C is in the middle: 27 rows, B tells in nine of them; arithmetic."""
    parts = {**MIXED, "channels": f"{MIXED['channels']} while c middle"}
    table = joint(solved_rig(tmp_path, **parts), "keys")

    assert list(table) == list(product(WAYS, repeat=3))
    for (first, second, third), row in table.items():
        own, other = (WAYS.index(way) - 1 for way in (first, second))
        assert row.level.wanted == 100 * own + (50 * other if third == "middle" else 0)


def test_two_switches_that_fire_the_others_key(tmp_path: Path) -> None:
    """F10: A- with B+ fires B-, and A+ with B- fires B+, the opposite of what B shows; nothing else is named."""
    solved, found = compiled(tmp_path, **MIXED)
    said = only(found, "RC422").message

    assert solved is not None
    assert "`a.away` with `b.toward` gives −50 %, `b-minus`" in said
    assert "`a.toward` with `b.away` gives +50 %, `b-plus`" in said
    assert said.count(" with ") == 2
    assert {key: row.stray for key, row in joint(solved, "keys").items() if row.stray != ""} == {
        ("away", "toward"): "b",
        ("toward", "away"): "b",
    }


def test_a_key_is_fired_beside_another_listener(tmp_path: Path) -> None:
    """F10 with an iris on the same channel, declared before the keys: the two strays are the same; arithmetic."""
    iris = 'input iris on two "Iris" { sweeps closed to open }'
    table = joint(solved_rig(tmp_path, **{**MIXED, "inputs": f"{iris}\n{KEYS}"}), "keys")

    assert {len(row.readings) for row in table.values()} == {2}
    assert {key for key, row in table.items() if row.stray} == {("away", "toward"), ("toward", "away")}


def test_two_switches_that_cancel_each_other_rest(tmp_path: Path) -> None:
    """All of B mixed into A: A+ with B- is 0 %, which neither gives there, and which does nothing; arithmetic."""
    parts = {**MIXED, "channels": MIXED["channels"].replace("50%", "100%")}
    table = joint(solved_rig(tmp_path, **parts), "keys")

    assert table["toward", "away"].readings[0].state == "none"
    assert table["toward", "away"].stray == ""


def test_a_stray_is_the_first_of_the_controls_that_give_its_state(tmp_path: Path) -> None:
    """Half of B, C and the fader mixed into A: A+ with B- is 50 %, which each of the three gives alone; arithmetic."""
    mixed = "\n".join(
        f"channel {at} half-{name} from {name} failsafe 0%\nmix half-{name} into keys at 50%"
        for at, name in ((5, "fader"), (4, "c"), (3, "b"))
    )
    parts = {**MIXED, "channels": f"channel 2 keys from a failsafe 0%\n{mixed}"}
    table = joint(solved_rig(tmp_path, **parts), "keys")

    assert table["toward", "centre", "middle", "away"].readings[0].state == "b-plus"
    assert table["toward", "centre", "middle", "away"].stray == "b"
    assert table["toward", "centre", "away", "middle"].stray == "b"
    assert table["toward", "toward", "middle", "middle"].stray == "b"


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

    assert "`a.away` gives −75 %, 0 % from the edge" in only(found, "RC415").message
    assert edged == {("a", "away"), ("a", "toward"), ("b", "away"), ("b", "toward")}


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


@pytest.mark.parametrize("travel", ["50% / 50%", "auto"])
def test_a_serial_line_carries_no_pulses(tmp_path: Path, travel: str) -> None:
    """F14 over a serial line: codes stand for per cent, so +50 % is heard as 50 %, whatever the two say of pulses."""
    parts = {
        **OTHER_SET,
        "inputs": KEYS.replace("on two", "on bus"),
        "unit": "input keys from keys",
        "cables": HUNG["cables"],
        "channels": f"channel 2 keys from b travel {travel} failsafe 0%",
        "more": "expect hs.b.away gives dev.b-minus\nexpect hs.b.toward gives dev.b-plus",
    }
    found = rows(solved_rig(tmp_path, **parts), "keys")

    levels = {row.level.percent: row.readings[0] for row in found.values()}
    assert set(levels) == {-50, 0, 50}
    for (
        level,
        reading,
    ) in levels.items():  # 1639 codes over 200 %, the nearest of them, halves upward: arithmetic
        assert reading.code == {-50: 582, 0: 992, 50: 1401}[int(level)]
        assert reading.heard == Fraction(200 * (reading.code - 172), 1639) - 100


KEY_STICK = 'stick lever "Lever" away to toward springs\n'
KEYS_FROM_A_STICK = {**OTHER_SET, "channels": OTHER_SET["channels"].replace("from b", "from lever")}


@pytest.mark.parametrize(
    ("control", "trims", "charged"),
    [
        ("switch", "trims 7.8125%", False),  # the levers beside the sticks move no switch
        ("stick", "trims 7.8125%", True),
        ("stick", "", False),
        ("stick trims", "", True),
        ("stick trims", "trims 0%", True),
    ],
)
def test_a_trim_is_charged_where_it_is(tmp_path: Path, control: str, trims: str, charged: bool) -> None:
    """A throw of 7.8125 % takes 10 % as heard from the keys of a stick, and nothing from those of a switch."""
    stick = KEY_STICK.replace("springs", "springs trims 7.8125%") if control == "stick trims" else KEY_STICK
    parts = OTHER_SET if control == "switch" else KEYS_FROM_A_STICK
    found = compiled(tmp_path, **parts, handset=stick + trims)[1]

    assert ("RC415" in ids(found)) == charged


def test_a_trim_knocked_at_the_far_end_of_a_margin(tmp_path: Path) -> None:
    """F14: a trim throw of 10 % at the listener carries 69 % to 79 %, another key; 7.8125 % at the set; arithmetic."""
    solved, reported = compiled(tmp_path, **KEYS_FROM_A_STICK, handset=KEY_STICK + "trims 7.8125%")
    assert solved is not None
    said = only(reported, "RC415").message

    assert "`lever.toward` gives +69 %" in said
    assert "less 10 % for a trim" in said
    knocked, _ = compiled(
        tmp_path, **{**OTHER_SET, "channels": "channel 2 keys from b travel 50% / 58% failsafe -3.90625%"}
    )
    assert knocked is not None
    assert rows(knocked, "keys")["b", "toward"].readings[0].state == "a-plus"


def test_a_trim_takes_from_a_margin_through_a_reversed_input_too(tmp_path: Path) -> None:
    """F14 reversed: +50 % is heard as -69 %, 5.99 % from the edge, of which a trim takes 10 %; arithmetic."""
    parts = {**KEYS_FROM_A_STICK, "unit": "input keys from keys reversed"}
    reported = compiled(tmp_path, **parts, handset=KEY_STICK + "trims 7.8125%")[1]
    said = only(reported, "RC415").message

    assert "less 10 % for a trim" in said
    assert "69 %" in said


def test_the_guard_holds_for_combinations_too(tmp_path: Path) -> None:
    """F10: both switches away give -125 %, the very edge of its band: a guard of 5 % is not kept; arithmetic."""
    solved, found = compiled(tmp_path, **{**MIXED, "guard": "5%"})

    assert solved is not None
    assert joint(solved, "keys")["away", "away"].readings[0].margin == 0
    assert "RC415" in ids(found)


@pytest.mark.parametrize(
    ("level", "state"), [(19, "dark"), (59, "dark"), (60, "centre"), (61, "bright"), (150, "bright")]
)
def test_a_sweep_is_told_by_its_nearer_end(tmp_path: Path, level: int, state: str) -> None:
    """Of a sweep over 20 to 100 % the middle is 60 %; arithmetic."""
    solved = solved_rig(
        tmp_path,
        inputs='input lamp on two "Lamp" { sweeps dark to bright over 20%..100% }',
        channels="channel 2 lamp from fader failsafe hold",
        cables=MIXED["cables"],
    )

    assert read(solved.rig, solved.links, solved.links.feeds[0], Fraction(level)).state == state


def test_the_commands_that_follow_a_position(tmp_path: Path) -> None:
    """A key does what its setting says, another command has its name alone, a sweep is commanded with its end."""
    solved = solved_rig(
        tmp_path,
        listener="port camera out keys",
        inputs='input keys on one "Keys" { stop -150%..-50%; idle -49%..49% rest; key 50%..150% }\n'
        'input iris on two "Iris" { sweeps closed to open }',
        channels="channel 1 keys from a failsafe 0%; channel 2 iris from b failsafe hold",
        cables=f"{LEAD}\n{MIXED['cables']}",
        more="""signal keys "Keys" carries commands
model cam "Camera" { role camera; port control in keys; setting key "Menu > Key"; command key does key; command stop, iris }
unit camera is cam "Camera" { set key "Peaking" }
cable W3 "Keys" { dev.camera to camera.control; length 1m; jacket 3mm }""",
    )
    follow = {
        key: row.readings[0].effects for name in ("keys", "iris") for key, row in rows(solved, name).items()
    }

    assert follow == {
        ("a", "away"): (Effect("camera", "stop", ""),),
        ("a", "middle"): (),
        ("a", "toward"): (Effect("camera", "key", "Peaking"),),
        ("b", "away"): (Effect("camera", "iris", "closed"),),
        ("b", "middle"): (Effect("camera", "iris", "centre"),),
        ("b", "toward"): (Effect("camera", "iris", "open"),),
    }


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


def test_rest_may_read_as_nothing_after_a_wrong_start(tmp_path: Path) -> None:
    """F15 without a band at 50 %: an adapter that learned -50 % hears rest there; arithmetic."""
    keys = KEYS.replace("b-plus  25.01%..74.99%", "").replace("{", "{ learns neutral", 1)
    solved = solved_rig(
        tmp_path,
        inputs=keys,
        channels="channel 2 keys from b travel 50% / 0% failsafe 0%",
        cables=MIXED["cables"],
    )
    (start,) = solved.wrong_starts

    assert (start.position.name, [name for _, name in start.learned]) == ("away", [""])


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


def test_wrong_starts_are_told_worst_first(tmp_path: Path) -> None:
    """First what a critical input notices, then what sends a command, then the rest; among equals by control.

    Common practice, no source: who reads a few lines only must read the worst. The inputs are declared in another order.
    """
    names = ["f", "e", "d", "c", "b", "a"]
    roles = {"e": "critical", "b": "critical"}
    inputs = {
        name: f'input i-{name} on {{port}} "Input {name}" {roles.get(name, "")} {{{{ wait-{name} -150%..0% rest;'
        f" go-{name} 1%..150% }}}}"
        for name in names
    }
    sending = ("e", "d", "c", "b", "a")  # the unit that hears them sends what it hears to a camera
    solved = solved_rig(
        tmp_path,
        handset="\n".join(f'switch s-{name} "Switch {name}" off, on' for name in names),
        channels="\n".join(
            f"channel {at} c-{name} from s-{name} failsafe -100%" for at, name in enumerate(names, 1)
        ),
        inputs="\n".join(inputs[name].format(port="bus") for name in sending),
        listener="port camera out keys",
        unit="\n".join(f"input i-{name} from c-{name}" for name in sending),
        cables=HUNG["cables"],
        more=f"""signal keys "Keys" carries commands
model cam "Camera" {{ role camera; port control in keys; command go-a, go-b, go-c, go-d, go-e }}
model mute "Other" {{ role other; port one, two in servo
  {inputs["f"].format(port="one")}; {inputs["d"].format(port="two")} }}
unit camera is cam "Camera" {{ }}
unit other is mute "Other" {{ }}
cable W2 "Keys" {{ dev.camera to camera.control; length 1m; jacket 3mm }}
cable W3 "Loom" {{ rx.p1 to other.one; rx.p3 to other.two; length 1m; jacket 3mm }}""",
    )

    assert [(start.harm, start.control) for start in solved.wrong_starts] == [
        (0, "s-b"),
        (0, "s-e"),
        (1, "s-a"),
        (1, "s-c"),
        (1, "s-d"),  # one of the two that hear it sends
        (2, "s-f"),
    ]


@pytest.mark.parametrize(
    ("control", "noticed"),
    [("across", []), ("fader", ["toward", "away"]), ("a", ["away", "toward"]), ("sprung", ["down", "up"])],
)
def test_a_stick_that_springs_back_starts_nothing(tmp_path: Path, control: str, noticed: list[str]) -> None:
    """Nobody holds a stick while power comes on; a switch may be caught on a strap (common practice, no source)."""
    solved = solved_rig(
        tmp_path,
        handset='switch sprung "Sprung" down, middle, up springs',
        inputs=PAN,
        channels=f"channel 1 pan from {control} failsafe 0%",
    )

    assert [start.position.name for start in solved.wrong_starts] == noticed


def test_a_switch_beside_a_stick_that_springs_back_is_told(tmp_path: Path) -> None:
    """Nobody holds the stick, but the switch may be anywhere (common practice, no source)."""
    solved = solved_rig(
        tmp_path,
        inputs=f'{PAN}; input gate on two "Gate" {{ wait -150%..-50% rest; go -49.99%..150% }}',
        channels="channel 1 pan from across failsafe 0%; channel 2 gate from two failsafe -100%",
        cables=f"{LEAD}\n{MIXED['cables']}",
    )

    assert [(start.control, start.position.name) for start in solved.wrong_starts] == [("two", "toward")]


def test_one_switch_that_starts_several_inputs(tmp_path: Path) -> None:
    """Of three inputs on one switch only the two that leave their rest with it are told, and none that needs no rest."""
    inputs = (
        ("wide", "wait -150%..149% rest; far 150%..151%"),
        ("low", "wait -150%..-50% rest; go -49%..150%"),
        ("free", "down -150%..-50%; up -49%..150%"),
        ("high", "go -49%..150%; wait -150%..-50% rest"),
    )
    solved = solved_rig(
        tmp_path,
        channels="channel 1 record from two failsafe -100%",
        inputs="\n".join(
            f'input {name} on bus "Input" {"critical" if name == "high" else ""} {{ {bands} }}'
            for name, bands in inputs
        ),
        unit="\n".join(f"input {name} from record" for name, _ in inputs),
        cables=HUNG["cables"],
    )

    (start,) = solved.wrong_starts
    assert (start.control, start.position.name) == ("two", "toward")
    assert [reading.feed.input.name for reading in start.readings] == ["low", "high"]
    assert start.harm == 0  # one of them is critical


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
        pytest.param(
            {"channels": f"{RECORDING} failsafe 0%", "inputs": RECORD.replace("run", "on")},
            [],
            id="standby of what takes nothing",
        ),
        pytest.param(
            {
                "channels": f"{RECORDING} failsafe -105%",
                "inputs": RECORD.replace("standby", "idle").replace("..150%", "..150% rest"),
            },
            ["RC434"],
            id="run of what takes nothing",
        ),
        pytest.param({**KEYED, "channels": "channel 2 keys from a failsafe 0%"}, [], id="F19 key neutral"),
        pytest.param({**KEYED, "channels": "channel 2 keys from a failsafe 100%"}, ["RC434"]),
        pytest.param({**KEYED, "channels": "channel 2 keys from a failsafe 130%"}, ["RC432"]),
        pytest.param({"inputs": SPEED, "channels": "channel 1 v from a failsafe -100%"}, ["RC436"]),
        pytest.param(
            {"inputs": SPEED, "channels": "channel 1 v from a failsafe 0%"},
            ["RC431", "RC436"],
            id="F19 centre is no stop",
        ),
    ],
)
def test_where_a_failsafe_lands(tmp_path: Path, parts: dict[str, str], codes: list[str]) -> None:
    """F18, F19: motion goes on, a take is cut, a key fires, or nothing (common practice, no source)."""
    _, found = compiled(tmp_path, **parts)

    assert sorted(ids(found)) == codes


@pytest.mark.parametrize(
    ("failsafe", "kind", "level", "state"),
    [
        ("", "not set", None, ""),
        ("failsafe hold", "hold", None, ""),
        ("failsafe none", "none", None, ""),
        ("failsafe -80%", "level", -80, "run"),
    ],
)
def test_what_is_known_of_a_loss(
    tmp_path: Path, failsafe: str, kind: str, level: int | None, state: str
) -> None:
    """The language's own words for what a channel does; a state only where a level says it."""
    (loss,) = solved_rig(tmp_path, channels=f"channel 1 record from two {failsafe}").losses

    assert (loss.kind, loss.level, loss.state) == (kind, level, state)
    assert (loss.reading is None) == (level is None)


@pytest.mark.parametrize(
    ("parts", "code"),
    [
        pytest.param(
            {"inputs": PAN.replace("{", "{ without pulses gives right;"), "failsafe": "none"},
            "RC431",
            id="no pulses, and it turns right",
        ),
        pytest.param(
            {"inputs": RECORD.replace("{", "{ without pulses gives standby;"), "failsafe": "none"},
            "RC433",
            id="no pulses, and the take ends",
        ),
    ],
)
def test_a_failsafe_of_no_pulses_is_judged_by_what_the_model_declares(
    tmp_path: Path, parts: dict[str, str], code: str
) -> None:
    """F18, F19: silence that moves the head or ends the take is as bad as a level that does (common practice)."""
    recipe = "two travel 0% / 70% subtrim -240 reversed" if code == "RC433" else "across"
    _, found = compiled(
        tmp_path, inputs=parts["inputs"], channels=f"channel 1 x from {recipe} failsafe {parts['failsafe']}"
    )

    assert code in ids(found)


TURNING = 'input pan on one "Pan" { sweeps left to right rest 0% dead-band 2% full 60deg/s }'


@pytest.mark.parametrize(
    ("failsafe", "inputs", "after", "code"),
    [
        ("failsafe hold", TURNING, "failsafe after 800ms", "RC482"),
        ("failsafe 20%", TURNING, "failsafe after 800ms", "RC482"),
        ("failsafe none", TURNING, "failsafe after 800ms", "RC482"),
        ("", TURNING, "failsafe after 800ms", "RC482"),
        ("failsafe 0%", TURNING, "", "RC482"),
        ("failsafe 0%", TURNING.replace(" full 60deg/s", ""), "failsafe after 800ms", "RC482"),
        ("failsafe 0%", TURNING, "failsafe after 800ms", ""),
        ("failsafe hold", TURNING.replace("{", "critical {", 1), "failsafe after 800ms", "RC431"),
        ("failsafe none", TURNING.replace("{", "critical {", 1), "failsafe after 800ms", "RC431"),
    ],
)
def test_what_is_kept_clear_is_enough_for_the_whole_loss(
    tmp_path: Path, failsafe: str, inputs: str, after: str, code: str
) -> None:
    """An axis that holds its speed, gets another one, or stops nobody knows when, is not clear after 60 deg; the
    remedy, typed as it stands, proves it (common practice, no source)."""

    def judged(channels: str, inputs: str, receiver: str) -> list[Diagnostic]:
        text = rig_text(inputs=inputs, channels=channels, unit="input pan from pan clear 60deg")
        opening = 'model rec "Receiver" { role receiver;'
        return checked(tmp_path, text.replace(opening, f"{opening} {receiver};" if receiver else opening))[1]

    found = judged(f"channel 1 pan from across {failsafe}", inputs, after)
    errors = [said for said in found if said.code.severity.value == "error"]
    assert [said.code.id for said in errors] == ([code] if code else [])
    if code:
        typed = re.search(r"write `(.*?)`", errors[0].hint)
        assert typed
        if typed[1].startswith("failsafe after"):
            after = typed[1]
        elif typed[1].startswith("full"):
            inputs = inputs.replace(" }", f" {typed[1]} }}")
        else:
            failsafe = typed[1]
        left = judged(f"channel 1 pan from across {failsafe}", inputs, after)
        assert not [said for said in left if said.code.severity.value == "error"]


@pytest.mark.parametrize(
    ("inputs", "failsafe", "code"),
    [
        (TURNING, "failsafe 50%", "RC434"),  # it turns on, slowly
        (TURNING.replace(" dead-band 2%", ""), "failsafe 0.5%", "RC434"),  # next to its rest, and it turns
        (TURNING.replace(" dead-band 2%", ""), "failsafe 0%", ""),
        (TURNING, "failsafe 1.5%", ""),  # within the dead band
        (TURNING, "", "RC480"),
        (RECORD.replace("trigger", "pan"), "", "RC480"),
        ('input pan on one "Pan" { off -150%..-60% rest; on -50%..150% }', "failsafe 0%", "RC434"),
    ],
)
def test_the_remedy_of_a_failsafe_off_rest_brings_it_to_rest(
    tmp_path: Path, inputs: str, failsafe: str, code: str
) -> None:
    """A failsafe beside the rest of an axis or a key, or none at all; with the remedy nothing is left to say of it."""
    channel = "channel 1 pan from across {}" if inputs.startswith(TURNING[:40]) else "channel 1 pan from two {}"
    _, found = compiled(tmp_path, inputs=inputs, channels=channel.format(failsafe))
    told = [said for said in found if said.code.id in ("RC434", "RC480", "RC431")]
    assert [said.code.id for said in told] == ([code] if code else [])
    if code:
        typed = re.search(r"`(failsafe .*?)`", told[0].hint)
        assert typed
        _, left = compiled(tmp_path, inputs=inputs, channels=channel.format(typed[1]))
        assert not {"RC434", "RC480", "RC431", "RC432"} & set(ids(left))


@pytest.mark.parametrize(("control", "told"), [("fader", True), ("along", False)])
def test_what_is_mixed_in_moves_it_when_the_link_returns(tmp_path: Path, control: str, told: bool) -> None:
    """A lever that stays put, mixed into an axis whose own stick springs back (common practice, no source)."""
    _, found = compiled(
        tmp_path,
        inputs=PAN,
        handset='stick along "Along" toward to away springs',
        channels=f"""channel 1 pan from across failsafe 0%
  channel 3 half from {control} failsafe 0%
  mix half into pan at 50%""",
    )
    said = [each.message for each in found if each.code.id == "RC436"]

    assert len(said) == told
    assert all("follows `fader`, which is mixed into `pan`" in each for each in said)


@pytest.mark.parametrize("failsafe", ["hold", "100%"])
def test_a_stop_that_radio_loss_leaves_released_is_refused(tmp_path: Path, failsafe: str) -> None:
    """F19: a declared safety function must come to rest when the link is lost: an error (common practice, no source)."""
    solved, found = compiled(tmp_path, inputs=STOP, channels=f"channel 1 brake from two failsafe {failsafe}")

    assert found
    assert solved is None


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


# ---- what was measured -------------------------------------------------------------------------------------------------


def test_a_measurement_within_tolerance(tmp_path: Path) -> None:
    """F42: 1366 us measured, 1360 us wanted, +-8 us = 2 % allowed (common practice, no source)."""
    parts = {"channels": f"{RECORDING} failsafe hold", "more": "measured hs.two.away on record is 1366us"}
    solved, found = compiled(tmp_path, **parts)

    assert solved is not None
    assert found == []


def test_a_measurement_that_sub_trim_cannot_mend(tmp_path: Path) -> None:
    """F42: 1372 us is -3 % = -20.57 steps from 1360 us, so -21: sub-trim -261, beyond 240; arithmetic."""
    parts = {"channels": f"{RECORDING} failsafe hold", "more": "measured hs.two.away on record is 1372us"}
    _, found = compiled(tmp_path, **parts)
    said = only(found, "RC451")

    assert "measures 1372 µs, and 1360 µs is computed; ±8 µs is allowed" in said.message
    assert "correct by −3 % = −20.57 → −21 steps: sub-trim −261 is beyond the handset's −240" in said.hint


@pytest.mark.parametrize("reverse", ["before travel", "before subtrim", "after subtrim"])
@pytest.mark.parametrize("turn", ["", "reversed"])
@pytest.mark.parametrize("shifts", ["whole", "centre"])
@pytest.mark.parametrize("way", WAYS)
def test_the_correction_that_is_proposed_mends_it(
    tmp_path: Path, reverse: str, turn: str, shifts: str, way: str
) -> None:
    """The sub-trim in the hint of RC451, dialled, moves the level by what was off; a step is 35/240 %; arithmetic."""
    parts = {"reverse": reverse, "shifts": shifts, "inputs": 'input iris on one "Iris" { sweeps shut to open }'}
    channel = f"channel 1 iris from a {turn} failsafe hold"
    solved = solved_rig(tmp_path, **parts, channels=channel)
    before = rows(solved, "iris")["a", way]
    measured = f"measured hs.a.{way} on iris is {float(before.pulse + 12):g}us"
    _, found = compiled(tmp_path, **parts, channels=channel, more=measured)
    hint = only(found, "RC451").hint
    if "sub-trim" not in hint:
        assert shifts == "centre" and way != "middle"  # sub-trim does not move an end there
        return
    dialled = hint.partition("sub-trim ")[2].partition(";")[0].replace("−", "-")
    after = solved_rig(tmp_path, **parts, channels=channel.replace(" failsafe", f" subtrim {dialled} failsafe"))

    moved = rows(after, "iris")["a", way].level.percent - before.level.percent
    assert abs(moved + 3) <= Fraction(35, 240) / 2


# ---- another handset ---------------------------------------------------------------------------------------------------

PORTED = f"channel 1 record from two aims away 1360us, toward 1080us {AUTO}"


def test_a_recipe_ported_to_another_handset(tmp_path: Path) -> None:
    """F43: 5 us/%, 0.2 % a step: 1360 us = -28 %, 1080 us = -84 %: sub-trim -140, travel 0 / 56; arithmetic.

    With 140 steps at most it is the only recipe: see F4 for why.
    """
    parts = {"pulse": "1500us centre, 5us per 1%", "subtrim": "-140..140 steps, 5 steps = 1%"}
    sheet = solved_rig(tmp_path, **parts, channels=PORTED).results["hs", "record"]

    assert sheet.dial.subtrim == -140
    assert sheet.dial.travel == Travel(Fraction(0), Fraction(56))
    assert [row.pulse for row in sheet.rows] == [1360, 1080]
    assert [row.level.percent for row in sheet.rows] == [-28, -84]
    assert sheet.solution is not None and sheet.solution.unique


def test_a_ported_recipe_with_room(tmp_path: Path) -> None:
    """F43 with 240 steps: the same two pulses, off the stops, and other recipes are as good; arithmetic."""
    parts = {"pulse": "1500us centre, 5us per 1%", "subtrim": "-240..240 steps, 5 steps = 1%"}
    sheet = solved_rig(tmp_path, **parts, channels=PORTED).results["hs", "record"]

    assert [row.pulse for row in sheet.rows] == [1360, 1080]
    assert sheet.dial.travel.low > 0 and sheet.dial.travel.high > 0
    assert sheet.solution is not None and not sheet.solution.unique


# ---- signs -------------------------------------------------------------------------------------------------------------

HUNG = {
    "inputs": 'input pan on bus "Pan" critical { sweeps left to right rest 0% }\n  underslung flips pan',
    "cables": 'cable W1 "Bus" { rx.bus to dev.bus; length 1m; jacket 3mm }',
}


@pytest.mark.parametrize("end", ["left", "right"])
@pytest.mark.parametrize(
    ("handset", "head", "mount"), list(product(("", "reversed"), ("", "reversed"), ("upright", "underslung")))
)
def test_the_picture_turns_right_for_an_even_number_of_signs(
    tmp_path: Path, handset: str, head: str, mount: str, end: str
) -> None:
    """Handset, head and mounting each turn the sense once: right is right if none or two of them do; arithmetic."""
    changes = (handset == "reversed") + (head == "reversed") + (mount == "underslung")
    right = (changes % 2 == 0) == (end == "right")
    _, found = compiled(
        tmp_path,
        **HUNG,
        channels=f"channel 1 pan from across {handset} failsafe 0%",
        unit=f"mount {mount}; input pan from pan {head}",
        more=f"expect hs.across.right gives dev.pan.{end}",
    )

    assert ("RC411" not in ids(found)) == right
    assert ("RC441" in ids(found)) == (handset == head == "reversed")


@pytest.mark.parametrize(("head", "mount"), list(product(("", "reversed"), ("upright", "underslung"))))
def test_a_reversal_left_open_is_chosen_by_the_signs(tmp_path: Path, head: str, mount: str) -> None:
    """`reverse auto` reverses the handset exactly where head and mounting leave one sign over; arithmetic."""
    solved = solved_rig(
        tmp_path,
        **HUNG,
        channels="channel 1 pan from across travel 100% / 100% subtrim 0 reverse auto failsafe 0%",
        unit=f"mount {mount}; input pan from pan {head}",
        more="expect hs.across.right gives dev.pan.right",
    )

    assert solved.results["hs", "pan"].dial.reversed == ((head == "reversed") != (mount == "underslung"))


# ---- a safety function ---------------------------------------------------------------------------------------------------

STOP = 'input brake on one "Brake" critical stop { hold -150%..-50% rest; free 50%..150% }'
IRIS = 'input iris on three "Iris" { sweeps shut to open }'
BRAKE = "channel 1 brake from two failsafe -100%"
SECOND = 'cable W3 "Lead" { rx.p3 to dev.three; length 1m; jacket 3mm }'
LEAD = 'cable W1 "Lead" { rx.p1 to dev.one; length 1m; jacket 3mm }'


@pytest.mark.parametrize(
    ("parts", "reason"),
    [
        pytest.param({"inputs": STOP, "channels": BRAKE}, None, id="alone"),
        pytest.param(
            {"inputs": STOP, "channels": f"{BRAKE}; channel 3 x from a failsafe 0%; mix x into brake at 10%"},
            "several controls feed it",
            id="mixed into",
        ),
        pytest.param(
            {
                "inputs": f"{STOP}; {IRIS}",
                "channels": f"{BRAKE}; channel 3 iris from fader failsafe hold; mix brake into iris at 10%",
                "cables": f"{LEAD}\n{SECOND}",
            },
            "its control drives other channels too",
            id="mixed from",
        ),
        pytest.param(
            {"inputs": STOP + '; input lamp on one "Lamp" { sweeps dark to bright }', "channels": BRAKE},
            "other inputs listen to it",
            id="shared",
        ),
        pytest.param(
            {
                "inputs": f"{STOP}; {IRIS}",
                "channels": f"{BRAKE}; channel 3 iris from two failsafe hold",
                "cables": f"{LEAD}\n{SECOND}",
            },
            "its control drives other channels too",
            id="shared control",
        ),
        pytest.param(
            {
                "inputs": f"{STOP}; {IRIS}",
                "channels": f"{BRAKE}; channel 3 iris from fader failsafe hold; channel 4 x from a failsafe hold;"
                " mix x into iris at 10% while two away",
                "cables": f"{LEAD}\n{SECOND}",
            },
            "its control drives other channels too",
            id="control switches a mix",
        ),
        pytest.param(
            {
                "inputs": STOP.replace("free", "slip -30%..30%; free"),
                "channels": "channel 1 brake from a failsafe -100%",
            },
            "it is one of 3 levels",
            id="three levels",
        ),
    ],
)
def test_a_stop_is_alone_or_refused(tmp_path: Path, parts: dict[str, str], reason: str | None) -> None:
    """A stop depends on no other control, listener or level (common practice, no source)."""
    _, found = compiled(tmp_path, **parts)

    if reason is None:
        assert found == []
    else:
        assert reason in only(found, "RC444").message


def test_no_control_that_springs_back_is_held_at_power_up(tmp_path: Path) -> None:
    """Nobody holds a stick while power comes on: a rest at its end is no rest position (common practice, no source)."""
    _, found = compiled(tmp_path, inputs=SPEED, channels="channel 1 speed from across failsafe -100%")

    assert ids(found) == ["RC413"]


# ---- searches against trying everything ----------------------------------------------------------------------------------


def crowd(count: int, bands: str) -> str:
    """A rig with `count` dials on one channel."""
    dials = "\n".join(f'dial d{at} "Dial {at}" left to right' for at in range(count))
    channels = "\n".join(f"channel {at + 1} c{at} from d{at} failsafe 0%" for at in range(count))
    mixes = "\n".join(f"mix c{at} into c0 at 5%" for at in range(1, count))
    return rig_text(
        handset=dials, inputs=f'input keys on one "Keys" {{ {bands} }}', channels=f"{channels}\n{mixes}"
    )


@pytest.mark.parametrize(
    "bands", ["low -150%..0% rest; high 0.1%..150%", "low -150%..0%; high 150%..151% rest"]
)
def test_a_crowded_channel_ends_in_one_message(tmp_path: Path, bands: str) -> None:
    """Sixteen dials are 3^16 = 43 million combinations: one RC421 on the channel, and the compiler comes back."""
    _, found = checked(tmp_path, crowd(16, bands))

    assert ids(found).count("RC421") == 1
    assert ("RC413" in ids(found)) == ("rest; high" not in bands)  # sought, and not found in good time
    assert "channel `c0`" in only(found, "RC421").message


@pytest.mark.parametrize(("count", "codes"), [(7, 0), (8, 1)])
def test_where_a_table_ends(tmp_path: Path, count: int, codes: int) -> None:
    """3^7 = 2187 combinations are tabulated, 3^8 = 6561 are above 4096; arithmetic."""
    _, found = checked(tmp_path, crowd(count, "low -150%..-0.1%; mid 0%..150% rest"))

    assert ids(found).count("RC421") == codes


def test_which_channels_are_tabulated(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each channel of several controls that somebody listens to, up to and with the bound: 3 x 3 and 3 x 2; arithmetic.

    A channel of one control, one without a listener and one with too many combinations keep no other from its table.
    """
    parts = {
        **MIXED,
        "channels": """channel 1 alone from c failsafe hold
  channel 5 unheard from fader failsafe hold
  channel 2 keys from a failsafe 0%
  channel 4 other from a failsafe 0%
  channel 6 half from b failsafe 0%
  channel 7 third from two failsafe 0%
  mix half into unheard at 10%; mix half into keys at 50%; mix third into other at 10%""",
        "inputs": f'{KEYS}\ninput lamp on four "Lamp" {{ sweeps dark to bright }}'
        '\ninput iris on one "Iris" { sweeps closed to open }',
        "cables": 'cable W2 "Lead" { rx.p1 to dev.one; rx.p2 to dev.two; rx.p4 to dev.four; length 1m; jacket 3mm }',
    }
    monkeypatch.setattr("rigcard.solve.joint.MOST_COMBINATIONS", 9)
    solved = solved_rig(tmp_path, **parts)
    assert {channel: len(table) for (_, channel), table in solved.joint.items()} == {"keys": 9, "other": 6}

    monkeypatch.setattr("rigcard.solve.joint.MOST_COMBINATIONS", 8)
    dials = {key: sheet.dial for key, sheet in solved.results.items()}
    tables, crowded = joint_tables(solved.rig, solved.links, dials, solved.power_up_positions)
    assert [channel for _, channel in tables] == ["other"]
    assert crowded == [("hs", "keys")]


@pytest.mark.parametrize(
    ("away", "toward", "rate"),
    [
        ((20, 29), (20, 29), 25),  # 24 and 25 % lie 4 % from an edge: the rounder
        ((21, 30), (21, 30), 25),  # 25 and 26 %
        ((20, 27), (20, 27), 23),  # 23 and 24 %: the smaller
        ((16, 26), (15, 25), 20),  # 20 and 21 % lie 4 and 5 % from the edges, one way or the other
        ((15, 25), (16, 26), 20),
        ((11, 21), (12, 22), 16),  # 16 and 17 %
        ((96, 106), (96, 106), 100),  # 101 % would be in the middle
    ],
)
@pytest.mark.parametrize("way", [1, -1])
def test_among_equal_rates_the_round_then_the_small(
    tmp_path: Path, away: tuple[int, int], toward: tuple[int, int], rate: int, way: int
) -> None:
    """As the language has it. B at +-1 gives the rate, to either side; another mix that is open has no part in it."""
    low, high = (away, toward) if way > 0 else (toward, away)
    far = max(100, low[1] + 1, high[1] + 1)  # A alone is heard there
    inputs = (
        f'input keys on two "Keys" {{ minus -{low[1]}%..-{low[0]}%; plus {high[0]}%..{high[1]}%; idle -1%..1% rest;'
        f" far-minus -150%..-{far}%; far-plus {far}%..150% }}"
        '\ninput lamp on one "Lamp" { sweeps dark to bright }'
    )
    ways = ("minus", "plus") if way > 0 else ("plus", "minus")
    solved, found = compiled(
        tmp_path,
        inputs=inputs,
        channels="""channel 2 keys from a failsafe hold
  channel 1 lamp from c failsafe hold
  channel 3 half from b failsafe hold
  mix half into keys at auto; mix half into lamp at auto""",
        cables=f"{LEAD}\n{MIXED['cables']}",
        more=f"expect hs.b.away gives dev.{ways[0]}\nexpect hs.b.toward gives dev.{ways[1]}"
        "\nexpect hs.b.toward gives dev.lamp.bright",
    )

    assert solved is not None, found
    rates = {mix.target: mix.rate and mix.rate.high for mix in solved.rig.units["hs"].mixes}
    assert rates["keys"] == way * rate


def test_a_rate_is_found_for_bands_before_ends(tmp_path: Path) -> None:
    """25 % is the middle of a band; what else hears the channel has its end at 100 %, which would be out of it."""
    solved, found = compiled(
        tmp_path,
        inputs='input keys on two "Keys" { plus 20%..30%; far 30.01%..150%; idle -150%..19.99% rest }'
        '\ninput lamp on two "Lamp" { sweeps dark to bright }',
        channels="""channel 2 keys from a failsafe hold
  channel 3 half from b failsafe hold
  mix half into keys at auto""",
        cables=MIXED["cables"],
        more="expect hs.b.toward gives dev.plus\nexpect hs.b.toward gives dev.lamp.bright",
    )

    assert solved is not None, found
    (mix,) = solved.results["hs", "keys"].mixes
    assert mix.rate is not None and mix.rate.high == 25


def test_a_rate_is_positive_where_both_ways_are_equal(tmp_path: Path) -> None:
    """-25 % reversed gives what 25 % gives, and a blank memory is not reversed."""
    solved = solved_rig(
        tmp_path,
        inputs='input keys on two "Keys" { plus 20%..30%; far 30.01%..150%; idle -150%..19.99% rest }',
        channels="""channel 2 keys from a reverse auto failsafe hold
  channel 3 half from b failsafe hold; channel 4 third from c failsafe hold
  mix third into keys at 10%; mix half into keys at auto""",
        cables=MIXED["cables"],
        more="expect hs.b.toward gives dev.plus",
    )
    sheet = solved.results["hs", "keys"]
    assert [mix.rate and mix.rate.high for mix in sheet.mixes] == [10, 25]  # what is stated stays
    assert not sheet.dial.reversed


def test_an_expectation_is_of_its_own_handset(tmp_path: Path) -> None:
    """Two handsets with channels and controls of one name: each is solved for what is expected of it."""
    second = """
unit other is set "Other" { memory 2 "OTHER"; channel 1 record from two %s }
unit rx2 is rec "Other receiver" { bound to other }
unit dev2 is box "Other listener" { }
cable W9 "Lead" { rx2.p1 to dev2.one; length 1m; jacket 3mm }
expect hs.two.toward gives dev.run
expect hs.two.away gives dev.standby
expect other.two.toward gives dev2.standby
expect other.two.away gives dev2.run"""
    solved = solved_rig(tmp_path, channels=f"channel 1 record from two {AUTO}", more=second % AUTO)

    states = {
        (key[0], row.position.name): row.readings[0].state
        for key, sheet in solved.results.items()
        for row in sheet.rows
    }
    assert states == {
        ("hs", "toward"): "run",
        ("hs", "away"): "standby",
        ("other", "toward"): "standby",
        ("other", "away"): "run",
    }


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_a_channel_is_solved_after_what_is_mixed_into_it(tmp_path: Path, order: tuple[int, ...]) -> None:
    """Half of B, whose travel is solved as 80 %, is 40 % of the keys: 14.99 % to the edge at 25.01 %; arithmetic.

    C is mixed into B: three channels in a chain, in any order of the file.
    """
    channels = (
        "channel 2 keys from a travel auto failsafe 0%",
        "channel 3 half from b travel auto aims away -80%, toward 80% failsafe 0%",
        "channel 4 third from c travel auto aims away -60%, toward 60% failsafe 0%",
    )
    mixes = "mix half into keys at 50%; mix third into half at 10%"
    solved = solved_rig(
        tmp_path,
        **{**MIXED, "channels": "\n".join([*(channels[at] for at in order), mixes])},
        more="expect hs.a.away gives dev.a-minus\nexpect hs.a.toward gives dev.a-plus"
        "\nexpect hs.b.away gives dev.b-minus\nexpect hs.b.toward gives dev.b-plus",
    )
    solution = solved.results["hs", "keys"].solution
    assert solution is not None

    assert [solved.results["hs", name].dial.travel for name in ("half", "third")] == [
        Travel(Fraction(percent), Fraction(percent)) for percent in (80, 60)
    ]
    assert solution.headroom == Fraction("14.99")
    assert solution.headroom == min(row.readings[0].margin or 0 for row in solved.results["hs", "keys"].rows)


@pytest.mark.parametrize("first", ["keys", "half"])
def test_a_rate_is_found_for_the_travel_that_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, first: str
) -> None:
    """B's travel is solved as 80 %, of which 31 % are 24.8 %, the nearest to the middle of its band, in one round;
    arithmetic."""
    monkeypatch.setattr("rigcard.solve.dialling.MOST_ROUNDS", 1)
    channels = {
        "keys": "channel 2 keys from a failsafe 0%",
        "half": "channel 3 half from b travel auto aims away -80%, toward 80% failsafe 0%",
    }
    order = [channels.pop(first), *channels.values()]
    solved, found = compiled(
        tmp_path,
        channels="\n".join([*order, "mix half into keys at auto"]),
        cables=MIXED["cables"],
        inputs='input keys on two "Keys" { plus 20%..30%; far 30.01%..150%; idle -150%..19.99% rest }',
        more="expect hs.b.toward gives dev.plus",
    )

    assert solved is not None, found
    (mix,) = solved.results["hs", "keys"].mixes
    assert mix.rate is not None and mix.rate.high == 31


@pytest.mark.parametrize(
    ("bands", "into_y"),
    [
        (((16, 150), (20, 60)), 30),
        (((26, 83), (36, 81)), 89),
        (((29, 72), (28, 97)), 58),
        (((25, 52), (18, 101)), 62),
    ],
)
def test_a_rate_left_open_between_channels_mixed_into_each_other(
    tmp_path: Path, bands: tuple[tuple[int, int], tuple[int, int]], into_y: int
) -> None:
    """With the travels and sub-trim told, no whole rate has larger margins than the one told: all 201; arithmetic."""
    text = EACH_INTO_THE_OTHER.replace("X_INTO_Y", f"{into_y}%").replace("Y_INTO_X", "auto")
    for name, (near, far) in zip("XY", bands, strict=True):
        text = text.replace(f"{name}_LOW", f"-{far}%..-{near}%").replace(f"{name}_HIGH", f"{near}%..{far}%")
    solved, found = checked(tmp_path, text)
    assert solved is not None, found
    (near, far), (own, other) = bands[0], (solved.results["hs", name].dial for name in "xy")
    (told,) = (mix.rate for mix in solved.results["hs", "x"].mixes)
    assert told is not None

    def margins(rate: Fraction) -> list[Fraction]:
        levels = [
            (end, own.subtrim * Fraction(36, 240) + (-end if own.reversed else end) * travel[end > 0] * part)
            for end in (-1, 1)
            for travel, part in ((own.travel, Fraction(1)), (other.travel, rate / 100))
        ]
        return sorted(min(end * level - near, far - end * level) for end, level in levels)

    assert margins(told.high) == max(margins(Fraction(rate)) for rate in range(-100, 101))


@pytest.mark.parametrize("first", ["keys", "half"])
def test_two_channels_that_are_mixed_into_each_other(tmp_path: Path, first: str) -> None:
    """Travel 70 % stated on one, 80 % asked of the other by its aims, each with half of the other; arithmetic."""
    channels = {
        "keys": "channel 2 keys from a travel 70% / 70% failsafe 0%",
        "half": "channel 3 half from b travel auto aims away -80%, toward 80% failsafe 0%",
    }
    order = [channels.pop(first), *channels.values()]
    solved = solved_rig(
        tmp_path,
        **{**MIXED, "channels": "\n".join([*order, "mix half into keys at 50%; mix keys into half at 50%"])},
    )
    levels = {
        name: {key: row.level.percent for key, row in rows(solved, name).items()} for name in ("keys", "half")
    }

    assert levels["half"]["b", "toward"] == 80
    assert levels["half"]["a", "toward"] == 35
    assert levels["keys"]["a", "toward"] == 70
    assert levels["keys"]["b", "toward"] == 40


@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(low=st.integers(5, 40), width=st.integers(2, 50), shift=st.integers(-20, 20))
def test_a_rate_left_open_against_every_rate(tmp_path: Path, low: int, width: int, shift: int) -> None:
    """`at auto` finds the smallest margin that the best whole rate of -100 to 100 % has: all 201 tried; arithmetic.

    Level of a position of B: rate x 100 % x (-1 or 1), for A in the middle; the bands of B lie unevenly about 0 %.
    """
    minus = (-low - width, -low)
    plus = (low + abs(shift), low + width + abs(shift) + 3)
    inputs = (
        f'input keys on two "Keys" {{ minus {minus[0]}%..{minus[1]}%; plus {plus[0]}%..{plus[1]}%;'
        " none -1%..1% rest; far-minus -150%..-120%; far-plus 120%..150% }"
    )
    solved, found = compiled(
        tmp_path,
        **{
            **MIXED,
            "inputs": inputs,
            "channels": MIXED["channels"].replace("50%", "auto"),
            "output": "-150%..150%",
        },
        more="expect hs.b.away gives dev.minus\nexpect hs.b.toward gives dev.plus",
    )

    def margins(rate: int) -> list[int]:
        return sorted(min(level - band[0], band[1] - level) for level, band in ((-rate, minus), (rate, plus)))

    best = max(margins(rate) for rate in range(-100, 101))
    if best[0] < 0:
        assert "RC402" in ids(found)
    elif solved is not None:
        mix = solved.results["hs", "keys"].mixes[0]
        assert mix.rate is not None
        assert margins(int(mix.rate.high)) == best
        assert mix.rate.low == mix.rate.high
        equal = [rate for rate in range(-100, 101) if margins(rate) == best]
        assert (mix.rate.high % 5 == 0) == any(rate % 5 == 0 for rate in equal)
    else:
        assert {"RC402", "RC411"}.isdisjoint(ids(found))


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rates=st.tuples(*[st.sampled_from([-60, -20, 0, 20, 60])] * 2),
    trims=st.tuples(*[st.sampled_from([-240, 0, 120, 240])] * 2),
    rests=st.tuples(*[st.tuples(st.integers(-140, 120), st.integers(1, 60))] * 2),
)
def test_power_up_against_every_combination(
    tmp_path: Path,
    rates: tuple[int, int],
    trims: tuple[int, int],
    rests: tuple[tuple[int, int], tuple[int, int]],
) -> None:
    """Where the controls stand at power-up every input rests; RC413 only where no combination of 27 does that.

    Level of a channel: own x 100 % + rate x the third switch x 100 % + sub-trim x 35/240 %; arithmetic.
    """
    bands = [(low, low + width) for low, width in rests]
    inputs = "\n".join(
        f'input {name} on {port} "{name}" {{ wait {low}%..{high}% rest; go {high + 1}%..900%; back -900%..{low - 1}% }}'
        for name, port, (low, high) in zip(("one", "two"), ("one", "two"), bands, strict=True)
    )
    channels = (
        f"channel 1 x from a subtrim {trims[0]} failsafe hold; channel 2 y from b subtrim {trims[1]} failsafe hold\n"
        f"channel 3 z from c failsafe hold\nmix z into x at {rates[0]}%; mix z into y at {rates[1]}%"
    )
    solved, found = compiled(
        tmp_path,
        output="-900%..900%",
        inputs=inputs,
        channels=channels,
        cables=f"{LEAD}\n{MIXED['cables']}",
    )

    def resting(values: tuple[int, int, int], at: int) -> bool:
        level = values[at] * 100 + Fraction(rates[at] * values[2]) + Fraction(35 * trims[at], 240)
        return bands[at][0] <= level <= bands[at][1]

    every = list(product((-1, 0, 1), repeat=3))
    both = [values for values in every if resting(values, 0) and resting(values, 1)]
    assert ("RC413" in ids(found)) == (not both), ids(found)
    if solved is not None:
        home = tuple(int(solved.power_up_positions["hs", control].value) for control in ("a", "b", "c"))
        assert home in both
        noticed = {
            (control, way): {name for at, name in enumerate(("one", "two")) if not resting(wrong, at)}
            for place, control in enumerate("abc")
            for value, way in zip((-1, 0, 1), WAYS, strict=True)
            for wrong in [(*home[:place], value, *home[place + 1 :])]
        }
        assert {
            (start.control, start.position.name): {reading.feed.input.name for reading in start.readings}
            for start in solved.wrong_starts
        } == {place: names for place, names in noticed.items() if names}


def test_two_inputs_that_share_a_switch_rest_at_once(tmp_path: Path) -> None:
    """x = A + 60 % of C rests at 60 %, so with C toward; y = B + C would rest with both in the middle, but then asks
    for B away; arithmetic."""
    solved = solved_rig(
        tmp_path,
        inputs='input one on one "One" { wait 50%..70% rest; go 70.01%..200%; back -200%..49.99% }'
        '\ninput two on two "Two" { wait -10%..10% rest; go 10.01%..200%; back -200%..-10.01% }',
        channels="""channel 1 x from a failsafe 60%; channel 2 y from b failsafe 0%; channel 3 z from c failsafe hold
  mix z into x at 60%; mix z into y at 100%""",
        cables=f"{LEAD}\n{MIXED['cables']}",
        output="-200%..200%",
    )

    assert [solved.power_up_positions["hs", name].name for name in "abc"] == ["middle", "away", "toward"]


@pytest.mark.parametrize(
    ("second", "named"),
    [
        pytest.param("wait 200%..220% rest; go -150%..150%", {"`two` of `dev`"}, id="one never rests"),
        pytest.param("wait -120%..-80% rest; go -79%..150%", set(), id="each rests, not both at once"),
    ],
)
def test_no_rest_position_is_claimed_only_where_it_is_so(tmp_path: Path, second: str, named: set[str]) -> None:
    """`no position of a gives that` is said of no input that a position of the switch brings to rest; arithmetic."""
    _, found = compiled(
        tmp_path,
        inputs=f'input one on one "One" {{ wait 80%..120% rest; go -150%..79% }}; input two on two "Two" {{ {second} }}',
        channels="channel 1 x from a failsafe hold; channel 2 y from a failsafe hold",
        cables=f"{LEAD}\n{MIXED['cables']}",
    )
    said = [diagnostic.message for diagnostic in found if diagnostic.code.id == "RC413"]
    claimed = [message for message in said if "no position of `a` gives that" in message]

    assert {message.partition(" must see")[0] for message in said} == (
        named or {"`one` of `dev`", "`two` of `dev`"}
    )
    assert {message.partition(" must see")[0] for message in claimed} == named
    assert len(claimed) == len(named)


def test_an_input_without_a_rest_keeps_no_other_from_its_own(tmp_path: Path) -> None:
    """An input that switch A brings to no rest fails alone, once; two on B and C rest with both away; arithmetic."""
    wait = "wait -120%..-80% rest; go -79%..150%"
    solved = solved_rig(
        tmp_path,
        inputs="\n".join(f'input {name} on {name} "Input" {{ {wait} }}' for name in ("one", "two", "three")),
        channels="\n".join(
            f"channel {at} {name} from {control} failsafe -100%"
            for at, name, control in ((1, "x", "a"), (2, "y", "b"), (3, "z", "c"))
        ),
        cables=f"{LEAD}\n{MIXED['cables']}\n{SECOND}",
    )
    one, *others = solved.links.feeds
    never = tuple(band._replace(low=Fraction(200), high=Fraction(220)) for band in one.input.bands)
    feeds = (others[0], one._replace(input=one.input._replace(bands=never)), one, others[1])
    dials = {key: sheet.dial for key, sheet in solved.results.items()}
    links = solved.links._replace(by_handset={one.handset: list(feeds)})
    home, needed, failed = power_up(solved.rig, links, dials)

    assert failed == [feeds[1]]
    assert needed == {("hs", "a"), ("hs", "b"), ("hs", "c")}
    assert (home["hs", "b"].name, home["hs", "c"].name) == ("away", "away")


def test_power_up_of_many_controls_that_hang_together(tmp_path: Path) -> None:
    """Thirteen switches whose rest is their second position, and one that is mixed into all: a start exists.

    2^13 combinations are more than are tried; each channel alone has six (arithmetic).
    """
    names = [f"s{at}" for at in range(13)]
    switches = "\n".join(f'switch {name} "Switch {name}" off, on' for name in names)
    channels = "\n".join(f"channel {at + 1} c{at} from {name} failsafe 100%" for at, name in enumerate(names))
    mixes = "\n".join(f"mix z into c{at} at 5%" for at in range(13))
    inputs = "\n".join(
        f'input i{at} on bus "Input {at}" {{ wait 80%..120% rest; go -120%..-80% }}' for at in range(13)
    )
    solved, found = compiled(
        tmp_path,
        handset=switches,
        channels=f"{channels}\nchannel 14 z from c failsafe hold\n{mixes}",
        inputs=inputs,
        unit="\n".join(f"input i{at} from c{at}" for at in range(13)),
        cables=HUNG["cables"],
    )

    assert "RC413" not in ids(found)
    assert solved is not None
    assert {solved.power_up_positions["hs", name].name for name in names} == {"on"}


@pytest.mark.parametrize(("most", "codes"), [(2, ["RC413"]), (3, [])])
def test_a_start_is_looked_for_up_to_a_bound(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, most: int, codes: list[str]
) -> None:
    """Rest is at the last of three positions, of which the middle is tried first: the third try finds it.

    Where not all was tried, the message does not say that there is none.
    """
    monkeypatch.setattr("rigcard.solve.power_up.MOST_COMBINATIONS", most)
    _, found = compiled(
        tmp_path,
        inputs='input gate on one "Gate" { wait 80%..120% rest; go -150%..79.99% }',
        channels="channel 1 gate from a failsafe 100%",
    )

    assert [code for code in ids(found) if code == "RC413"] == codes
    said = [one.message for one in found if one.code.id == "RC413"]
    assert all("no position of `a` was found that gives that" in message for message in said)


@pytest.mark.parametrize(("most", "said"), [(11, "was found that gives that"), (12, "gives that")])
def test_a_search_that_gave_up_is_not_called_complete(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, most: int, said: str
) -> None:
    """Three positions of a switch, and three sticks that spring back: 3 x (1 + 1 + 1 + 1) = 12 tries; arithmetic."""
    monkeypatch.setattr("rigcard.solve.power_up.MOST_COMBINATIONS", most)
    _, found = compiled(
        tmp_path,
        handset="\n".join(f'stick s{at} "S {at}" left to right springs' for at in range(3)),
        inputs='input gate on one "Gate" { wait 180%..200% rest; go -170%..179% }',
        channels="channel 1 gate from a failsafe 100%\n"
        + "\n".join(
            f"channel {at + 2} m{at} from s{at} failsafe hold; mix m{at} into gate at 1%" for at in range(3)
        ),
    )
    messages = [one.message for one in found if one.code.id == "RC413"]

    assert len(messages) == 1 and f"no position of `a` {said}" in messages[0]


def test_power_up_looks_first_at_what_many_inputs_share(tmp_path: Path) -> None:
    """Eight pairs of switches, and an input that rests only with the second of every pair on: a start exists.

    2^16 combinations are more than are tried, 2^8 of the shared switches are not (arithmetic).
    """
    pairs = range(8)
    switches = "\n".join(f'switch p{at} "P {at}" off, on; switch q{at} "Q {at}" off, on' for at in pairs)
    channels = "\n".join(
        f"channel {at + 1} p{at} from p{at} failsafe 0%; channel {at + 9} q{at} from q{at} failsafe 0%"
        f"\nmix q{at} into p{at} at 2%"
        for at in pairs
    )
    channels = channels.replace("q0 from q0", "q0 from q0 travel 80% / 80%")
    mixes = "\n".join(
        f"mix q{at} into q0 at 2%" for at in pairs[1:]
    )  # 80 % + 7 x 2 % of 80 % = 91.2 %: arithmetic
    loose = "\n".join(
        f'input i{at} on bus "I {at}" {{ wait -150%..149% rest; go 149.5%..150% }}' for at in pairs
    )
    solved, found = compiled(
        tmp_path,
        handset=switches,
        channels=f"{channels}\n{mixes}",
        inputs=f'{loose}\ninput last on bus "Last" {{ wait 91%..200% rest; go -200%..90% }}',
        unit="\n".join(f"input i{at} from p{at}" for at in pairs) + "\ninput last from q0",
        cables=HUNG["cables"],
        output="-200%..200%",
    )

    assert solved is not None, found
    assert {solved.power_up_positions["hs", f"q{at}"].name for at in pairs} == {"on"}


# ---- channels mixed into each other --------------------------------------------------------------------------------------

EACH_INTO_THE_OTHER = """use "radio.rig"
model hs-mix "Handset" {
  role     handset
  stick    a "A" left to right springs
  stick    b "B" toward to away springs
  channels 4
  pulse    1500us centre, 4us per 1%
  travel   0%..140% step 1%
  subtrim  -240..240 steps, 240 steps = 36%, shifts whole
  reverse  before subtrim
  mix      after travel
  output   -300%..300%
}
model two-in "Two inputs" {
  role other
  port one, two in servo
  input x on one "X" { low X_LOW; still -15%..15%; high X_HIGH }
  input lamp on one "Lamp" { sweeps dark to bright over -300%..300% }
  input y on two "Y" { down Y_LOW; idle -15%..15%; up Y_HIGH }
}
rig "Case" { revision "A" }
unit hs is hs-mix "Handset" {
  memory 1 "CASE A"
  channel 1 x from a travel auto subtrim auto reverse auto failsafe hold
  channel 2 y from b travel auto subtrim auto reverse auto failsafe hold
  mix x into y at X_INTO_Y
  mix y into x at Y_INTO_X
}
unit rx is receiver-8 "Receiver" { bound to hs }
unit box is two-in "Box"
cable W1 "One" { rx.p1 to box.one; length 300mm; jacket 3mm }
cable W2 "Two" { rx.p2 to box.two; length 300mm; jacket 3mm }
expect hs.a.left gives box.low
expect hs.a.right gives box.high
expect hs.a.right gives box.lamp.bright
expect hs.a.left gives box.down
expect hs.a.right gives box.up
expect hs.b.toward gives box.low
expect hs.b.away gives box.high
expect hs.b.toward gives box.down
expect hs.b.away gives box.up
"""


@pytest.mark.parametrize(
    ("x", "y", "x_into_y", "y_into_x", "rests"),
    [
        ((16, 150), (20, 60), (30, 30), (60, 60), True),
        ((45, 92), (36, 69), (87, 50), (92, 92), False),  # what is best for one moves the other, without end
    ],
)
def test_headroom_of_channels_mixed_into_each_other(
    tmp_path: Path,
    x: tuple[int, int],
    y: tuple[int, int],
    x_into_y: tuple[int, int],
    y_into_x: tuple[int, int],
    rests: bool,
) -> None:
    """The headroom told is that of the values told: level = own travel + sub-trim, or rate x the other's travel
    + sub-trim after travel, as the language has it; arithmetic."""
    text = EACH_INTO_THE_OTHER
    for name, (near, far) in {"X": x, "Y": y}.items():
        text = text.replace(f"{name}_LOW", f"-{far}%..-{near}%").replace(f"{name}_HIGH", f"{near}%..{far}%")
    for name, (low, high) in {"X_INTO_Y": x_into_y, "Y_INTO_X": y_into_x}.items():
        text = text.replace(name, f"{low}% / {high}%")
    solved, _ = checked(tmp_path, text)
    assert solved is not None
    dials = {name: solved.results["hs", name].dial for name in "xy"}
    for own, other, (near, far), rates in (("x", "y", x, y_into_x), ("y", "x", y, x_into_y)):
        trim = dials[own].subtrim * Fraction(36, 240)
        way = -1 if dials[own].reversed else 1
        margins = []
        for end in (-1, 1):
            travels = [Travel(*dials[name].travel)[end > 0] for name in (own, other)]
            for shift in (travels[0], travels[1] * Fraction(rates[end > 0], 100)):
                level = way * end * shift + trim
                margins.append(min(end * level - near, far - end * level))
        solution = solved.results["hs", own].solution
        assert solution is not None and solution.headroom == min(margins)
        assert solution.unique == rests  # nothing is claimed of values that are not at rest


# ---- a pin that dies -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_what_dies_with_a_pin(sample: Path) -> None:
    """Everything drawn after a pin (descendants by networkx) is every input that is fed through that pin."""
    solved = check_rig(sample, Diagnostics()).solved
    assert solved is not None
    drawn = signal_graph(EmbeddedTypeface(), solved)
    graph = nx.DiGraph([(edge.tail, edge.head) for edge in drawn.edges])
    fed: dict[str, set[str]] = {}
    for feed in solved.links.feeds:
        source = feed.pin
        fed.setdefault(f"pin:{source.unit}.{source.port}", set()).add(f"input:{feed.unit}.{feed.input.name}")
    orders = {f"pin:{order.port.unit}.{order.port.port}" for order in solved.links.command_links}
    pins = {node.id for node in drawn.nodes if node.kind == "pin"} - orders  # ports that commands leave by

    assert pins == fed.keys()
    for pin in pins:
        assert {name for name in nx.descendants(graph, pin) if name.startswith("input:")} == fed[pin]
