"""The operator's card: controls that nobody may touch, axes that follow their control."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cardlines import WIDE, group_words, kind, lines, sample, squeezed
from rigcard.documents.base.layout import FilledColumn
from rigcard.documents.base.model import Circle, Line, Text
from rigcard.documents.cards.card_set import card_pack
from rigcard.documents.cards.frame import LaidGroup, inner_width
from rigcard.documents.cards.handset_drawing import KNOB
from rigcard.documents.cards.leaders import RADIUS
from rigcard.documents.cards.moves import used_controls
from rigcard.documents.cards.operator import operator_card
from rigcard.documents.cards.own_test import lines_of
from rigcard.documents.cards.sticks import handles
from rigcard.faults.lines import in_order
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.model import Unit
from rigcard.solve.loss import is_record
from rigs import MIXED, solved_or_none
from rigs import solved_rig as solved_of_text
from samples import GORGE, ROOT, STOCK, solved_rig

FACE = EmbeddedTypeface()


def test_a_control_to_leave_is_crossed_and_named(tmp_path: Path) -> None:
    """Two strokes of one middle over the control, and the rule that names it; without the line there is neither."""
    text = GORGE.read_text(encoding="utf-8").replace('use "stock/', f'use "{STOCK[0]}/')
    found = {}
    for name, more in (("left", ""), ("crossed", "leave right-dial, left-slider\n")):
        path = tmp_path / f"{name}.rig"
        path.write_text(re.sub(r"(?m)^(unit hs is .*\{\n)", rf"\1{more}", text), encoding="utf-8")
        pack = card_pack(FACE, solved_rig(path))
        (found[name],) = (group for group in pack if kind(group.group) == "OPERATOR")

    def crosses(group: LaidGroup) -> int:
        middles = [
            tuple(round(sum(axis) / 2, 3) for axis in zip(*mark.points, strict=True))
            for column in group.columns
            for mark in column.marks
            if isinstance(mark, Line)
            and len(mark.points) == 2
            and mark.weight == pytest.approx(0.5)
            and mark.points[0][0] != mark.points[1][0]
            and mark.points[0][1] != mark.points[1][1]
        ]
        return sum(middles.count(middle) == 2 for middle in set(middles))

    assert (crosses(found["left"]), crosses(found["crossed"])) == (0, 2)
    assert "LEAVE" not in group_words(found["left"])
    assert "LEAVE, whatever happens: Left slider and Right dial." in group_words(found["crossed"])


def test_one_axis_that_follows_its_control_takes_one_line() -> None:
    """The card names both ends in one line; a rest that sends no command is not named."""
    text = group_words(operator("gorge"))

    assert "picture turns LEFT / RIGHT, 50°/s at most" in text
    assert "AWAY / TOWARD: picture turns up / down, 50°/s at most" in text
    assert "ready" not in text.split("Rules")[0]


def operator(name: str, at: int = 0) -> LaidGroup:
    """The card of an operator of a sample."""
    return [found for found in card_pack(FACE, sample(name)) if kind(found.group) == "OPERATOR"][at]


def handset_of(name: str, at: int = 0) -> Unit:
    """The handset of that operator."""
    return [unit for unit in sample(name).rig.units.values() if unit.role == "handset"][at]


HANDSETS = [("gorge", 0), ("mast", 0), ("mast", 1), ("arm", 0), ("arm", 1), ("first", 0)]


def rings(column: FilledColumn) -> list[tuple[str, float, float]]:
    """The letters of a drawing with the middles of their rings."""
    circles = [mark for mark in column.marks if isinstance(mark, Circle) and mark.radius == RADIUS]
    texts = [mark for mark in column.marks if isinstance(mark, Text)]
    found = []
    for ring in circles:
        inside = [
            text for text in texts if abs(text.x + text.width / 2 - ring.x) < 0.01 and 0 < text.y - ring.y < 3
        ]
        (letter,) = (text.text for text in inside)
        found.append((letter, ring.x, ring.y))
    return found


def table_letters(column: FilledColumn) -> list[str]:
    """The letters at the left edge of the table, from the top down."""
    left = [
        mark
        for mark in column.marks
        if isinstance(mark, Text) and mark.x < 1.5 and re.fullmatch(r"[A-Z]", mark.text)
    ]
    return [mark.text for mark in sorted(left, key=lambda mark: mark.y)]


@pytest.mark.parametrize(("name", "at"), HANDSETS)
def test_letters_run_clockwise_as_in_the_table(name: str, at: int) -> None:
    """Down the right of the drawing, then up its left, in the order of the rows: by the angle about the middle."""
    front = operator(name, at).columns[0]
    found = rings(front)
    assert found
    middle = 61.0  # of a card of 134 mm

    def angle(ring: tuple[str, float, float]) -> tuple[bool, float]:
        _, x, y = ring
        return x < middle, y if x > middle else -y

    assert [letter for letter, _, _ in sorted(found, key=angle)] == table_letters(front)


@pytest.mark.parametrize(("name", "at"), HANDSETS)
def test_drawing_and_every_row_stand_on_one_side(name: str, at: int) -> None:
    """Each control that is in use has its row, and its ring, on the front."""
    found, unit, solved = operator(name, at), handset_of(name, at), sample(name)
    front = found.columns[0]
    used = handles(unit.model, [control.name for control in used_controls(solved, unit)])
    assert len(table_letters(front)) == len(rings(front)) == len(used)
    words = squeezed(" ".join(mark.text for mark in front.marks if isinstance(mark, Text)))
    for one in used:
        assert squeezed(one.title) in words
    assert found.sides == 2


def test_both_axes_of_a_stick_are_one() -> None:
    """One letter, one row, one knob: the sticks of the gorge handset are drawn as two crosses with a knob each."""
    front = operator("gorge").columns[0]
    unit = handset_of("gorge")
    knobs = [mark for mark in front.marks if isinstance(mark, Circle) and mark.radius == pytest.approx(KNOB)]
    switches = sum(control.is_switch for control in unit.model.controls.values())

    assert len(knobs) == 2 + switches
    assert [one.title for one in handles(unit.model) if len(one.controls) == 2] == ["Right stick", "Left stick"]


def test_controls_that_stay_put_say_where_to_set_them() -> None:
    """A dial by the clock, a slider by its way, a switch by its position; what springs back is where it springs."""
    solved = sample("gorge")
    lines_of_card = lines(operator_card(FACE, inner_width(solved.rig), solved, handset_of("gorge")))
    for title, start in (
        ("Left dial", "12 o’clock"),
        ("Left slider", "half way"),
        ("Top rocker", "AWAY"),
        ("Right stick", "CENTRE"),
    ):
        (row,) = [line for line in lines_of_card if f"| {title} |" in line]
        assert row.endswith(f"| {start}")


def test_a_ring_never_has_the_letter_of_a_title(tmp_path: Path) -> None:
    """Beside `Switch A` and `Switch B` no ring has an A or a B: they would be read as those switches."""
    found = solved_of_text(tmp_path, **MIXED)
    unit = found.rig.units["hs"]
    titles = {word for control in used_controls(found, unit) for word in control.title.split()}
    card = operator_card(FACE, 122.0, found, unit)
    letters = {
        mark.text
        for block in card.blocks
        for box in block.boxes
        for mark in box.marks
        if isinstance(mark, Text) and mark.bold and mark.x < 1.5 and re.fullmatch(r"[A-Z]", mark.text)
    }

    assert {"A", "B"} <= titles
    assert letters
    assert not letters & titles


def test_two_speeds_of_one_axis_are_one_line() -> None:
    """A switch that halves the rate of pan: the same move, the other speed and where the switch then stands."""
    text = group_words(operator("arm"))

    assert re.search(
        r"picture turns LEFT / RIGHT, 40°/s at most; 18\.8°/s with the Left flip switch TOWARD", text
    )


@pytest.mark.parametrize(("name", "at"), HANDSETS)
def test_the_own_test_tries_every_function_of_this_handset(name: str, at: int) -> None:
    """Each function by a move of the full test, a take by both of its lines; no line of another handset, and short."""
    solved, unit = sample(name), handset_of(name, at)
    letters = {control.name: control.name for control in unit.model.controls.values()}
    moves = [do for do, _ in lines_of(solved, unit, letters)]
    full: dict[tuple[str, str], list[str]] = {}
    for line in in_order(solved):
        assert line.row and line.reading
        feed = line.reading.feed
        move = f"{line.row.control} {line.row.position.name.upper()}"
        if line.handset == unit.name:
            full.setdefault((feed.unit, feed.input.name), []).append(move)

    for function, lines_ in full.items():
        mine = [move for move in lines_ if any(do.startswith(move) for do in moves)]
        assert mine, function
        if is_record(solved.rig.units[function[0]].model.inputs[function[1]].states):
            assert len(mine) == 2
    assert all(do.split(" ")[0] in letters for do in moves[1:-1])
    assert len(moves) <= sum(map(len, full.values())) + 2


TWO_ARMS = """\
rig "Shelf" { revision "A"; crew operator "Operator" }
use "STOCK/radio.rig"
model servo-9 "Small servo" {
  role motor; port signal in servo by servo-3
  input turn on signal "Arm" { sweeps left to right }
}
unit hs is handset-6 "Handset" {
  held by operator; memory 3 "SHELF A"
  channel 1 slide from right-across failsafe 0%
  channel 2 flap from left-toggle failsafe hold
}
unit rx is receiver-6 "Receiver" { bound to hs }
unit slide is servo-9 "Slide servo" { input turn from slide }
unit flap is servo-9 "Flap servo" { input turn from flap }
cable S1 "Slide lead" { rx.p1 to slide.signal; length 300mm; jacket 3mm }
cable S2 "Flap lead" { rx.p2 to flap.signal; length 300mm; jacket 3mm }
"""


def test_two_inputs_of_one_title_are_named_with_their_devices(tmp_path: Path) -> None:
    """On the card of a handset that works both arms, an arm alone could be either."""
    path = tmp_path / "shelf.rig"
    path.write_text(TWO_ARMS.replace("STOCK", str(STOCK[0])), encoding="utf-8")
    solved = solved_rig(path)
    found = lines(operator_card(FACE, WIDE, solved, solved.rig.units["hs"]))

    arms = [line for line in found if "Arm" in line]
    assert len(arms) >= 4  # two in the table, the radio loss, two of the test
    assert all(line.count("Arm") == line.count("servo: Arm") for line in arms)


def test_a_mode_of_another_handset_is_named_with_its_handset() -> None:
    """What holds an axis still at another handset is asked for before the own test; by what the file states."""
    solved = solved_or_none(ROOT / "tests" / "cases" / "solve" / "mode_of_another_handset.ok.rig")
    assert solved
    pan, mode = (
        " ".join(lines(operator_card(FACE, 122.0, solved, solved.rig.units[name]))) for name in ("hp", "hm")
    )

    for part in ("with the left rocker of the mode", "handset MIDDLE or TOWARD"):  # lines of one cell
        assert squeezed(part) in squeezed(pan)
    assert squeezed("First ask for the left rocker of the mode handset MIDDLE.") in squeezed(pan)
    assert "ask for" not in mode


def test_a_set_up_card_is_told_from_the_card_of_an_operator_without_a_name() -> None:
    """Where no crew is stated both cards are called after the handset; no two marks are the same."""
    solved = solved_or_none(ROOT / "tests" / "cases" / "solve" / "mode_of_another_handset.ok.rig")
    assert solved
    marks = [found.group.mark for found in card_pack(FACE, solved)]

    assert {"PAN HANDSET", "PAN HANDSET SET-UP"} <= set(marks)
    assert len(set(marks)) == len(marks)
