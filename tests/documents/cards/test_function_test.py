"""The lines of the function test: what is freed first, what is seen, what the column says, whose control."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby
from pathlib import Path

import pytest

from cardlines import kind
from rigcard.documents.base.model import Text
from rigcard.documents.cards.card_set import card_pack
from rigcard.documents.cards.function_test import Test as Line
from rigcard.documents.cards.function_test import lines_of_test
from rigcard.faults.judged import judged
from rigcard.faults.lines import Line as Step
from rigcard.faults.lines import lines_of
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Reading, Solved
from rigs import compiled, solved_or_none
from samples import ROOT, SAMPLES

FACE = EmbeddedTypeface()
SWEEPS = """input pan on one "Pan" critical { sweeps left to right rest 0% }
  input zoom on two "Zoom" { sweeps out to in }"""


def sample(name: str) -> Solved:
    """A sample, which must compile."""
    solved = solved_or_none(ROOT / "samples" / f"{name}.rig")
    assert solved
    return solved


def told(tests: list[Line]) -> list[str]:
    """Lines in short: what is done, what is seen, `!` where a control stays or is set back."""
    return [f"{'!' * bool(line.stays)}{line.do} = {line.see}" for line in tests]


def of_device(folder: Path, inputs: str, controls: tuple[str, ...]) -> list[str]:
    """The lines of a device with these inputs on its ports one, two, three, each from a channel of its own."""
    ports = ("one", "two", "three")[: len(controls)]
    solved, found = compiled(
        folder,
        inputs=inputs,
        channels="\n  ".join(
            f"channel {number} n{number} from {control} failsafe {'-100%' if control == 'two' else '0%'}"
            for number, control in enumerate(controls, 1)
        ),
        cables="\n".join(
            f'cable W{number} "Lead" {{ rx.p{number} to dev.{port}; length 1m; jacket 3mm }}'
            for number, port in enumerate(ports, 1)
        ),
    )
    assert solved, [(one.message, one.hint) for one in found]
    return told(lines_of_test(solved))[2:-2]  # without the screen, the start, the radio loss and the last line


def test_the_mast_is_read_off_its_wiring() -> None:
    """The lock is freed before pan and tilt and set back after them; each control is named with its handset."""
    tests = lines_of_test(sample("mast"))

    assert told(tests) == [
        "Read the memory = 2 “MAST B”",
        "Read the memory = 1 “MASTCAM B”",
        "Look at the head receiver = link light steady",
        "Look at the camera receiver = link light steady",
        "Look at the picture = there, and steady",
        "All is on. Touch nothing = no motion, no take",
        "Camera handset: Right stick, along TOWARD = Iris ring closed",
        "Camera handset: Right stick, along AWAY = Iris ring open",
        "Camera handset: Left toggle TOWARD = the take starts, tally lit",
        "Camera handset: Left toggle AWAY = the take stops",
        "Head handset: Front toggle TOWARD with Left flip switch TOWARD = Lock gentle",
        "!Head handset: Front toggle TOWARD = Lock live",
        "Head handset: Right stick, across LEFT = Pan: picture turns LEFT, then stops",
        "Head handset: Right stick, across RIGHT = Pan: picture turns RIGHT, then stops",
        "Head handset: Right stick, along TOWARD = Tilt: picture turns DOWN, then stops",
        "Head handset: Right stick, along AWAY = Tilt: picture turns UP, then stops",
        "!Head handset: Front toggle AWAY = Lock locked",
        "Head handset: Radio-loss test of the brief = all steps ticked",
        "Camera handset: Radio-loss test of the brief = all steps ticked",
        "Play the test take = plays back to the end",
        "Controls as on POWER UP = checked by both",
    ]
    assert [test.at for test in tests[2:5]] == ["Head receiver", "Camera receiver", "Assistant's monitor"]


def test_the_gorge_frees_its_mode_first() -> None:
    """All of the head's sweeps stand between STEER and PARKED; the three-position rocker goes the short way there."""
    lines = told(lines_of_test(sample("gorge")))

    first, last = (
        lines.index("!Top rocker TOWARD = Mode steer"),
        lines.index("!Top rocker AWAY = Mode parked"),
    )
    assert lines[first - 1] == "Top rocker MIDDLE = Mode steady"
    assert [line.split(" = ")[1].split()[0].strip(":") for line in lines[first + 1 : last]] == [
        *["Horizon"] * 2, *["Pan"] * 2, *["Pan"] * 2, *["Tilt"] * 2  # both speeds at once, before the critical axes
    ]  # fmt: skip
    assert lines[first + 3] == "Left dial LEFT = Pan speed slow and Tilt speed slow"
    (text,) = (words for words in cards_of(sample("gorge"), "TEST"))
    assert f"From line {first + 2} on, move each control a little first." in text
    assert f"From line {first + 1} to {last + 1}, leave the top rocker where it is." in text


def test_a_rig_without_a_take_has_nothing_to_play() -> None:
    """The first rig: no camera."""
    assert told(lines_of_test(sample("first")))[-2:] == [
        "Radio-loss test of the brief = all steps ticked",
        "Controls as on POWER UP = checked by both",
    ]


def test_a_stop_that_runs_at_rest_comes_after_the_sweeps(tmp_path: Path) -> None:
    """Away from rest it would hold the axis still: it falls there without pulses, so it does not free anything."""
    stop = (
        """input brake on three "Brake" { hold -150%..-50%; free 50%..150% rest; without pulses gives hold }"""
    )

    assert of_device(tmp_path, f"{SWEEPS}\n{stop}", ("across", "fader", "two")) == [
        "Fader TOWARD = Zoom out",
        "Fader AWAY = Zoom in",
        "Across LEFT = Pan left",
        "Across RIGHT = Pan right",
        "Two AWAY = Brake hold",
        "Two TOWARD = Brake free",
    ]


def test_a_brake_that_holds_at_rest_is_let_go_first(tmp_path: Path) -> None:
    """Rest and silence are the same state."""
    brake = """input brake on three "Brake" critical { hold -150%..-50% rest; free 50%..150%; without pulses gives hold }"""
    lines = of_device(tmp_path, f"{SWEEPS}\n{brake}", ("across", "fader", "two"))

    assert lines[0] == "!Two TOWARD = Brake free"
    assert lines[-1] == "!Two AWAY = Brake hold"
    assert len(lines) == 6


def test_where_no_rest_is_stated_power_up_counts(tmp_path: Path) -> None:
    """A lock without `rest` stands AWAY at power-up: that is what it is moved from, and set back to."""
    lock = 'input lock on three "Lock" { locked -150%..-30%; live 30%..150% }'
    lines = of_device(tmp_path, f"{SWEEPS}\n{lock}", ("across", "fader", "two"))

    assert lines[0] == "!Two TOWARD = Lock live"
    assert lines[-1] == "!Two AWAY = Lock locked"


def test_a_device_that_does_not_move_has_its_rest_last(tmp_path: Path) -> None:
    """A lamp: what leaves rest first, and in the short test; nothing stays."""
    lamp = 'input lamp on one "Lamp" { dim -150%..-30%; off -29.9%..29.9% rest; bright 30%..150% }'

    assert of_device(tmp_path, lamp, ("a",)) == [
        "Switch A AWAY = Lamp dim",
        "Switch A TOWARD = Lamp bright",
        "Switch A MIDDLE = Lamp off",
    ]


def test_a_control_mixed_into_a_lock_is_set_back_before_the_other_moves(tmp_path: Path) -> None:
    """Half of switch B alone frees the axis too: B back to its middle, then A away and left there."""
    lock = 'input lock on two "Lock" { locked -20%..20% rest; live 21%..150%; loose -150%..-21% }'
    solved, found = compiled(
        tmp_path,
        inputs=f'input pan on one "Pan" {{ sweeps left to right rest 0% }}\n  {lock}',
        channels="""channel 1 pan from across failsafe 0%
  channel 2 lock from a failsafe 0%
  channel 3 half from b failsafe 0%
  mix half into lock at 50%""",
        cables="""cable W1 "Lead" { rx.p1 to dev.one; length 1m; jacket 3mm }
cable W2 "Lead" { rx.p2 to dev.two; length 1m; jacket 3mm }""",
    )
    assert solved, [(one.message, one.hint) for one in found]

    assert told(lines_of_test(solved))[2:-2] == [
        "Switch B AWAY = Lock loose",
        "Switch B TOWARD = Lock live",
        "Switch B MIDDLE = Lock locked",
        "Switch A AWAY = Lock loose",
        "!Switch A TOWARD = Lock live",
        "Across LEFT = Pan left",
        "Across RIGHT = Pan right",
        "!Switch A MIDDLE = Lock locked",
    ]


def every_rig() -> Iterator[Solved]:
    """Samples and case files that compile and say something to test."""
    for path in [*SAMPLES, *sorted((ROOT / "tests" / "cases").rglob("*.ok.rig"))]:
        solved = solved_or_none(path)
        if solved and solved.losses:
            yield solved


def test_every_test_ends_its_takes_and_sets_back_what_it_freed() -> None:
    """In all tests: standby right after RUN, and a control that stays is the next to move of its device's bands."""
    takes = held = 0
    for solved in every_rig():
        ordered, short = lines_of(solved), judged(solved).short
        for chosen in (frozenset(range(len(ordered))), short.swap.chosen, short.morning.chosen):
            lines = [line for at, line in enumerate(ordered) if at in chosen and line.reading]
            states = [reading(line).state for line in lines]
            for at, state in enumerate(states):
                if state == "run" and "standby" in reading(lines[at]).feed.input.states:
                    takes += 1
                    assert states[at + 1] == "standby"
            staying: dict[tuple[str, str], int] = {}
            for line in lines:
                if line.stays:
                    feed = reading(line).feed
                    staying[feed.unit, feed.input.name] = staying.get((feed.unit, feed.input.name), 0) + 1
                    held += 1
            assert set(staying.values()) <= {2}
            free: set[str] = set()
            for line in lines:
                feed = reading(line).feed
                if line.stays:
                    free ^= {f"{feed.unit}.{feed.input.name}"}
                elif feed.input.sweep:  # every freed input of its device is free now
                    assert {name for name in free if name.startswith(f"{feed.unit}.")} == {
                        f"{unit}.{name}" for unit, name in staying if unit == feed.unit
                    }

    assert takes > 10
    assert held > 10


def test_the_tests_begin_with_looks_and_grow_in_harm() -> None:
    """At each station nothing moves before every look; what can harm comes last, then the loss of the link."""
    for solved in every_rig():
        for _, group in groupby(lines_of(solved), lambda line: line.station):
            lines = list(group)
            kinds = [line.kind for line in lines]
            if "control" not in kinds:
                continue
            first = kinds.index("control")
            assert {"control", "loss", "take", "close"}.isdisjoint(kinds[:first])
            stages = [line.stage for line in lines if line.kind == "control"]
            assert stages == sorted(stages)
            last = len(kinds) - kinds[::-1].index("control")
            assert set(kinds[last:]) <= {"loss", "take", "close"}
            assert kinds[-1] == "close"


def reading(line: Step) -> Reading:
    """What the input of a control's line makes of it."""
    assert line.reading
    return line.reading


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_line_has_what_the_input_hears(path: Path) -> None:
    """Per cent from the pulse by the relation of whoever reads it, turned where the head turns it."""
    solved = solved_or_none(path)
    assert solved
    compared = 0
    for step in (step for step in lines_of(solved) if step.kind == "control"):
        assert step.row
        level, pulse = reading(step).heard, step.row.pulse
        feed, rig = reading(step).feed, solved.rig
        arithmetic = rig.units[feed.handset].model.arithmetic
        own = rig.units[feed.unit].model.pulse if rig.signal_at(feed.plug).kind == "servo" else None
        relation = own or (arithmetic and arithmetic.pulse)
        assert relation
        sign = -1 if feed.turned != feed.flipped else 1
        assert abs(level - sign * (pulse - relation.centre) / relation.per_percent) <= Fraction(1, 10)
        compared += 1

    assert compared > 4


def cards_of(solved: Solved, what: str, title: str = "") -> list[str]:
    """The words of the cards of a kind."""
    return [
        " ".join(mark.text for column in found.columns for mark in column.marks if isinstance(mark, Text))
        for found in card_pack(FACE, solved)
        if kind(found.group) == what and title in found.group.title
    ]


def test_controls_bear_their_handset_where_there_are_two() -> None:
    """Wrong starts, what the camera obeys and what is dead: the same words in front of each control."""
    mast = sample("mast")
    (power_up,), (faults,) = cards_of(mast, "POWER UP"), cards_of(mast, "FAULTS")
    (camera,) = cards_of(mast, "SET-UP", "Camera, lens")

    assert "Head handset: Front toggle TOWARD" in power_up
    assert "Camera handset: Left toggle TOWARD camera records" in camera
    assert "Camera handset: Left toggle, channel 3" in faults
    (gorge,) = cards_of(sample("gorge"), "SET-UP", "Camera, lens")
    assert "Left flip switch TOWARD camera records" in gorge
    assert "Head handset: Left" not in gorge
