"""From the position of a control to a level and what an input hears; margins, headroom, the reach of a channel."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dials import compiled_set, rows_of_set
from rigcard.resolve.model import Position, Travel
from rigcard.solve.levels import level_at, reach, read
from rigcard.solve.solved import Effect, Solved
from rigs import (
    AUTO,
    EACH_INTO_THE_OTHER,
    HUNG,
    KEYS,
    LEAD,
    MIXED,
    OTHER_SET,
    RECORD,
    checked,
    compiled,
    ids,
    only,
    rows,
    solved_rig,
)

# ---- the whole compiler ----------------------------------------------------------------------------------------------


def test_positions_of_a_switch_are_spread_evenly(tmp_path: Path) -> None:
    """Two positions are -1 and 1, three -1, 0 and 1: arithmetic."""
    stated = "channel 1 record from three failsafe hold"
    found = rows_of_set(*compiled_set(tmp_path, channels=stated))

    assert [row.position for row in found.values()] == [
        Position("away", Fraction(-1)),
        Position("middle", Fraction(0)),
        Position("toward", Fraction(1)),
    ]
    assert [row.level.percent for row in found.values()] == [-100, 0, 100]


# ---- what cannot be had ------------------------------------------------------------------------------------------


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


# ---- channels mixed into each other --------------------------------------------------------------------------------------


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


# ---- the reach of a channel, against dense sampling --------------------------------------------------------------------


def reach_of(solved: Solved) -> tuple[Fraction, Fraction]:
    """How far the channel `roll` goes, without the limit of the output."""
    unit = solved.rig.units["hs"]
    dials = {key: sheet.dial for key, sheet in solved.results.items()}
    home = {name: solved.power_up_positions["hs", name] for name in unit.model.controls}
    low, high = reach(unit, unit.channels["roll"], dials, home)
    return low.wanted, high.wanted


@pytest.mark.slow
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
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
