"""Claims under a condition: what else stands where, which rate counts, what a mode holds, what a dial scales."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from rigcard.solve.bearing import scaled_turns
from rigcard.solve.levels import read
from rigcard.solve.turning import turn_read
from rigs import HUNG, MIXED, compiled, ids, joint, only, rows, solved_rig

RATES = "channel 1 pan from across rate 80% expo 10% rate 50% expo 30% while a toward rate 60% while b away failsafe 0%"
HEAD = 'input pan on bus "Pan" critical { sweeps left to right rest 0% dead-band 2% full 60deg/s }'
PAN = {
    "has": "rate, expo, slow",
    "channels": RATES,
    "inputs": HEAD,
    "unit": "input pan from pan",
    "cables": HUNG["cables"],
}


def test_the_rate_that_counts_is_the_first_whose_control_stands_there(tmp_path: Path) -> None:
    """At the end of the stick expo takes nothing: 80, 50 and 60 % of 100 %; both switched: the first, 50 %."""
    claims = "\n".join(
        f"expect hs.across.right gives dev.pan.right while a {a}, b {b}"
        for a, b in (("toward", "middle"), ("middle", "away"), ("toward", "away"))
    )
    solved = solved_rig(tmp_path, **PAN, more=claims)
    sheet = solved.results["hs", "pan"]
    found = {
        tuple((control, place.name) for control, place in row.conditions): row.level.percent
        for row in sheet.rows
        if row.position.name == "right"
    }

    assert found[()] == 80
    assert found[("a", "toward"),] == 50
    assert found[("b", "away"),] == 60
    assert found[("a", "toward"), ("b", "away")] == 50


@pytest.mark.parametrize("moved", ["a toward", "b away"])
def test_a_switched_rate_moves_a_level_out_of_its_band(tmp_path: Path, moved: str) -> None:
    """Rows under a condition are judged as all others are: 50 or 60 % lies between the bands, 80 % in one."""
    bands = 'input keys on bus "Keys" { low -100%..-70%; idle -20%..20% rest; high 70%..100% }'
    channels = f"channel 1 keys from c rate 80% rate 55% while {moved} failsafe 0%"
    _, found = compiled(
        tmp_path,
        has="rate",
        channels=channels,
        inputs=bands,
        unit="input keys from keys",
        cables=HUNG["cables"],
    )

    said = [one.message for one in found if one.code.id == "RC412"]
    assert len(said) == 2
    assert all(f"with `{moved.replace(' ', '.')}`" in one for one in said)
    assert "RC443" in ids(found)


def test_a_rate_switch_is_not_asked_for_at_power_up(tmp_path: Path) -> None:
    """In the middle of the stick no rate moves anything, so the switch may stand anywhere."""
    solved = solved_rig(tmp_path, **PAN)

    assert solved.needed == {("hs", "across")}
    assert solved.joint == {}


def test_a_claim_is_judged_where_the_others_are_said_to_stand(tmp_path: Path) -> None:
    """Half of B mixed into A: A+ with B- is 50 %, A+ alone 100 %; each of the two claims holds only as said."""
    right = "expect hs.a.toward gives dev.a-plus\nexpect hs.a.toward gives dev.b-plus while b away"
    wrong = "expect hs.a.toward gives dev.b-plus\nexpect hs.a.toward gives dev.a-plus while b away"

    assert "RC411" not in ids(compiled(tmp_path, **MIXED, more=right)[1])
    said = [one.message for one in compiled(tmp_path, **MIXED, more=wrong)[1] if one.code.id == "RC411"]
    assert len(said) == 2
    assert "with `b.away`" in said[1]


def test_a_combination_is_told_unless_asked_for_or_harmless(tmp_path: Path) -> None:
    """Two switches of three positions, every travel and rate: what is told is found anew by the words of the page."""
    edges = {"a-minus": (-125, -75), "b-minus": (-74.99, -25.01), "none": (-25, 25)}
    edges |= {"b-plus": (25.01, 74.99), "a-plus": (75, 125)}

    def state(level: Fraction) -> str:
        cut = max(-125, min(125, level))
        return next((name for name, (low, high) in edges.items() if low <= cut <= high), "")

    value = {"away": -1, "middle": 0, "toward": 1}
    for travel, rate in ((100, 50), (60, 100), (75, 25), (100, -60), (30, 100)):
        channels = (
            MIXED["channels"]
            .replace("50%", f"{rate}%")
            .replace("keys from a", f"keys from a travel {travel}% / {travel}%")
        )
        table = joint(solved_rig(tmp_path, **{**MIXED, "channels": channels}), "keys")
        for (first, second), row in table.items():
            a, b = Fraction(travel * value[first]), Fraction(rate * value[second])  # the mix after travel
            alone = {state(a), state(b)} - {"none", ""}
            together = state(a + b)
            told = together not in ("", "none", *alone)
            assert row.unasked == told, (travel, rate, first, second)


@pytest.mark.parametrize("rest", ["", "rest"])
def test_a_take_that_another_switch_ends_is_told(tmp_path: Path, rest: str) -> None:
    """T asks for run; B, mixed in, takes the level back to standby, where T does not stand, marked as rest or not."""
    parts = {
        "channels": "channel 1 take from two failsafe hold\nchannel 2 half from b failsafe 0%\n"
        "mix half into take at -150% while two toward",
        "inputs": f'input take on one "Take" {{ standby -150%..0% {rest}; run 0.01%..150% }}',
        "more": "expect hs.two.toward gives dev.run",
    }
    found = compiled(tmp_path, **parts)[1]

    assert "`two.toward` with `b.toward`" in only(found, "RC422").message
    excused = parts["more"] + "\nharmless hs.two.toward with hs.b.toward"
    assert "RC422" not in ids(compiled(tmp_path, **{**parts, "more": excused})[1])


MODE = """input mode on bus "Mode" { off -150%..-60% rest holds pan; follow -40%..40%; live 60%..150% }"""
HELD = {
    **PAN,
    "channels": "channel 1 pan from across failsafe hold\nchannel 2 mode from b failsafe {loss}",
    "inputs": f"{HEAD}\n{MODE}",
    "unit": "input pan from pan; input mode from mode",
}


@pytest.mark.parametrize(("place", "holds"), [("away", True), ("middle", False), ("toward", False)])
def test_an_axis_that_a_mode_holds_needs_a_condition(tmp_path: Path, place: str, holds: bool) -> None:
    """The rig comes up with the mode off: without `while` the claim is false, in another mode true."""
    parts = {**HELD, "channels": HELD["channels"].format(loss="-100%")}
    plain = "expect hs.across.right gives dev.pan.right"
    found = compiled(tmp_path, **parts, more=f"{plain} while b {place}")[1]
    bare = only(compiled(tmp_path, **parts, more=plain)[1], "RC411")

    assert ("RC411" in ids(found)) == holds
    assert "holds `pan` still" in bare.message
    assert "`while b middle`" in bare.hint


@pytest.mark.parametrize(("loss", "rests"), [("-100%", True), ("0%", False), ("hold", False)])
def test_an_axis_that_a_mode_holds_on_loss_is_at_rest(tmp_path: Path, loss: str, rests: bool) -> None:
    """The pan channel holds its last level: at rest only if the mode is surely off, which a mode that holds is not."""
    found = compiled(tmp_path, **{**HELD, "channels": HELD["channels"].format(loss=loss)})[1]

    assert ("RC431" in ids(found)) == (not rests)


def test_a_dial_scales_an_axis(tmp_path: Path) -> None:
    """10 to 100 % of 60 deg/s: 6 at the first end, 33 in the middle, 60 at the last (arithmetic, on a servo lead)."""
    solved = solved_rig(
        tmp_path,
        channels="channel 1 pan from across failsafe 0%\nchannel 2 speed from fader failsafe hold",
        inputs='input pan on one "Pan" critical { sweeps left to right rest 0% dead-band 2% full 60deg/s }\n'
        'input speed on two "Speed" { sweeps slow to fast scales pan 10%..100% }',
        cables='cable W1 "Leads" { rx.p1 to dev.one; rx.p2 to dev.two; length 300mm; jacket 3mm }',
    )
    speed = next(feed for feed in solved.links.feeds if feed.input.name == "speed")
    ((axis, turns),) = scaled_turns(solved, speed)

    assert axis.input.name == "pan"
    assert [(place.name, turn) for place, turn in turns] == [("toward", 6), ("centre", 33), ("away", 60)]
    assert {turn_read(row.readings[0]) for row in rows(solved, "pan").values()} == {
        33
    }  # the dial in its middle


@pytest.mark.parametrize(
    ("rest", "level", "state"),
    [
        (0, 1, "centre"),
        (0, 3, "right"),
        (0, -3, "left"),
        (30, 10, "left"),
        (30, 29, "centre"),
        (30, 33, "right"),
    ],
)
def test_the_way_of_an_axis_is_counted_from_its_rest(tmp_path: Path, rest: int, level: int, state: str) -> None:
    """Dead band 2 %; what lies in it is neither way."""
    solved = solved_rig(
        tmp_path,
        channels=f"channel 1 pan from across subtrim {round(rest * 240 / 35)} failsafe hold",
        inputs=f'input pan on one "Pan" {{ sweeps left to right rest {rest}% dead-band 2% }}',
    )

    assert read(solved.rig, solved.links, solved.links.feeds[0], Fraction(level)).state == state


@pytest.mark.parametrize("rest", ["", "rest 0% dead-band 3%"])
@pytest.mark.parametrize("reached", ["", "reached at 40%"])
@pytest.mark.parametrize("travel", [2, 7, 9, 10, 39, 45, 89, 90, 100])
def test_when_an_end_counts_as_reached(tmp_path: Path, rest: str, reached: str, travel: int) -> None:
    """With a rest: 5 % of the way beside the dead band; without: 10 %, and a warning under 90 % or what is said."""
    _, found = compiled(
        tmp_path,
        channels=f"channel 1 pan from across travel {travel}% / {travel}% failsafe hold",
        inputs=f'input pan on one "Pan" {{ sweeps left to right {rest} {reached} }}',
        more="expect hs.across.right gives dev.pan.right",
    )
    part = 100 if travel == 100 else travel - 3 if rest else travel
    enough = 40 if reached else 0 if rest else 90

    assert ("RC411" in ids(found)) == (part < (5 if rest else 10))
    assert ("RC472" in ids(found)) == ("RC411" not in ids(found) and part < enough)


def test_contradicting_orders_are_found_for_every_pair(tmp_path: Path) -> None:
    """A toggle on two channels, each input the one way or the other: told where the two differ."""
    ways = {
        "same": "standby -150%..-1%; run 1%..150%",
        "other": "run -150%..-1%; standby 1%..150%",
        "keys": "key -150%..-1%; idle 1%..150%",
    }
    for first, second in product(ways, repeat=2):
        found = compiled(
            tmp_path,
            channels="channel 1 x from two failsafe hold\nchannel 2 y from two failsafe hold",
            inputs=f'port cam out keys-out\ninput x on one "X" {{ {ways[first]} }}\ninput y on two "Y" {{ {ways[second]} }}',
            cables='cable W1 "Leads" { rx.p1 to dev.one; rx.p2 to dev.two; length 300mm; jacket 3mm }\n'
            'signal keys-out "Keys" carries commands\n'
            'model cam-m "Camera" { role camera; port in-1 in keys-out; command run, standby, key, idle }\n'
            'unit cam is cam-m "Camera"\n'
            'cable W2 "Keys" { dev.cam to cam.in-1; length 300mm; jacket 3mm }',
        )[1]
        differ = {first, second} == {"same", "other"}
        assert ("RC473" in ids(found)) == differ, (first, second)
