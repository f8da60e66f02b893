"""Where controls must stand when power comes on, and what each wrong start does; against every combination."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigcard.solve.power_up import power_up
from rigs import HUNG, KEYS, LEAD, MIXED, PAN, SECOND, SPEED, WAYS, compiled, ids, solved_rig

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


# ---- a safety function ---------------------------------------------------------------------------------------------------


def test_no_control_that_springs_back_is_held_at_power_up(tmp_path: Path) -> None:
    """Nobody holds a stick while power comes on: a rest at its end is no rest position (common practice, no source)."""
    _, found = compiled(tmp_path, inputs=SPEED, channels="channel 1 speed from across failsafe -100%")

    assert ids(found) == ["RC413"]


# ---- searches against trying everything ----------------------------------------------------------------------------------


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
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
