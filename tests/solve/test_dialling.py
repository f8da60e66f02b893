"""What is dialled for the levels that a rig expects: values left open, levels that cannot be had, rates of mixes.

Worked examples have no published source: each test says whether it stands on arithmetic alone or on common practice.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import permutations, product
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dials import compiled_set, rows_of_set
from rigcard.resolve.model import Travel
from rigcard.solve.arithmetic import Dial
from rigcard.solve.auto import search
from rigcard.solve.solved import Solution
from rigs import (
    AUTO,
    EACH_INTO_THE_OTHER,
    HUNG,
    LEAD,
    MIXED,
    checked,
    compiled,
    ids,
    only,
    rig_text,
    rows,
    solved_rig,
)

# ---- the whole compiler ----------------------------------------------------------------------------------------------


ALL_AUTO = "travel auto subtrim auto reverse auto failsafe hold"


def test_aims_through_the_compiler(tmp_path: Path) -> None:
    """Aims -35 % and -105 % come out as the one recipe, reversed where away is to be the higher: common practice."""
    aimed = f"channel 1 record from two aims away -35%, toward -105% {ALL_AUTO}"
    solved, diagnostics = compiled_set(tmp_path, channels=aimed)
    found = rows_of_set(solved, diagnostics)

    assert [found[name].pulse for name in ("away", "toward")] == [1360, 1080]
    assert solved is not None
    sheet = solved.results["hs", "record"]
    assert sheet.dial == Dial(Travel(Fraction(0), Fraction(70)), -240, True)
    assert sheet.solution is not None
    assert sheet.solution.unique


def test_three_aims_through_the_compiler(tmp_path: Path) -> None:
    """-60, +10 and +70 % come out within 0.0625 %, 0.25 us: arithmetic."""
    aimed = f"channel 1 record from three aims away -60%, middle 10%, toward 70% {ALL_AUTO}"
    found = rows_of_set(*compiled_set(tmp_path, channels=aimed))

    assert [float(found[name].level.percent) for name in ("away", "middle", "toward")] == [
        -59.9375,
        10.0625,
        70.0625,
    ]


def test_aims_out_of_reach_are_reported(tmp_path: Path) -> None:
    """-40 % is 5 % beyond 240 steps: an error that tells the nearest, -35 %: arithmetic."""
    aimed = f"channel 1 record from two aims away -40%, toward -100% {ALL_AUTO}"
    solved, diagnostics = compiled_set(tmp_path, channels=aimed)
    said = [found.message for found in diagnostics if found.code.id == "RC402"]

    assert solved is None
    assert len(said) == 1
    assert "5 %" in said[0]


def test_aims_that_the_stated_values_miss_are_reported(tmp_path: Path) -> None:
    """-35 % asked for and 100 % dialled: an aim that nothing looks at would be worth nothing; arithmetic."""
    stated = "channel 1 record from two aims away -35%, toward -105% travel 100% / 100% failsafe hold"
    solved, diagnostics = compiled_set(tmp_path, channels=stated)

    assert solved is None
    assert any("-35" in found.message or "−35" in found.message for found in diagnostics)


@settings(
    max_examples=20,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    edges=st.lists(st.integers(-150, 150), min_size=6, max_size=6, unique=True).map(sorted),
    order=st.permutations(["x", "y", "z"]),
)
def test_solving_then_computing_gives_what_was_expected(
    tmp_path: Path, edges: list[int], order: list[str]
) -> None:
    """A rig that compiles gives every expected state, and its smallest margin is the headroom that it reports."""
    bands = "; ".join(
        f"{name} {low}%..{high}%" for name, low, high in zip("xyz", edges[::2], edges[1::2], strict=True)
    )
    positions = ("away", "middle", "toward")
    expects = "\n".join(
        f"expect hs.three.{position} gives dev.{state}"
        for position, state in zip(positions, order, strict=True)
    )
    solved, diagnostics = compiled_set(
        tmp_path,
        inputs=f'input rec on a "Record" {{ {bands} }}',
        channels=f"channel 1 record from three {ALL_AUTO}",
        expects=expects,
    )
    if solved is None:
        assert "RC402" in {found.code.id for found in diagnostics}
        return
    found = rows_of_set(solved, diagnostics)
    margins = []
    for position, state in zip(positions, order, strict=True):
        (reading,) = found[position].readings
        assert reading.state == state
        low, high = edges["xyz".index(state) * 2 :][:2]
        margins.append(min(reading.heard - low, high - reading.heard))
    solution = solved.results["hs", "record"].solution
    assert solution is not None
    assert solution.headroom == min(margins)
    assert min(margins) >= 0


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


# ---- searches against trying everything ----------------------------------------------------------------------------------


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


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
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
