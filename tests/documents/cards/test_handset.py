"""The cards of a handset: DIAL and MEASURE."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cardlines import FACE, NAMES_OF_SAMPLES, WIDE, at, lines, sample
from rigcard.documents.base.layout import BLANK_HEIGHT
from rigcard.documents.base.model import Rectangle, Text
from rigcard.documents.cards.handset import handset_setup
from rigcard.resolve.links import leaving_by
from rigs import solved_or_none
from samples import GORGE, ROOT, solved_rig


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_one_row_a_channel(name: str) -> None:
    """DIAL has one line for each channel, with control, travel, direction and what happens on radio loss."""
    solved = sample(name)
    for unit in (unit for unit in solved.rig.units.values() if unit.role == "handset"):
        found = lines(handset_setup(FACE, WIDE, solved, unit))
        dial = found[at(found, "CH | CONTROL | TRAVEL, %") :]
        for result in solved.results_of(unit.name):
            (row,) = [line for line in dial if line.startswith(f"{result.number} | {result.control.title} | ")]
            assert ("REVERSED" in row) == result.dial.reversed
            assert f"{result.dial.travel.low} / {result.dial.travel.high}".replace("-", "−") in row


def test_columns_stand_in_the_order_of_the_handset_s_menus(tmp_path: Path) -> None:
    """`menus` moves them; what it leaves out comes last."""
    stock = tmp_path / "stock"
    stock.mkdir()
    for path in (GORGE.parent / "stock").iterdir():
        text = path.read_text("utf-8").replace(
            "channels 12\n  pulse", "channels 12\n  menus reverse, subtrim\n  pulse"
        )
        (stock / path.name).write_text(text, "utf-8")
    (tmp_path / "gorge.rig").write_text(GORGE.read_text("utf-8"), "utf-8")
    solved = solved_rig(tmp_path / "gorge.rig")
    found = lines(handset_setup(FACE, WIDE, solved, solved.rig.units["hs"]))
    plain = lines(handset_setup(FACE, WIDE, sample("gorge"), sample("gorge").rig.units["hs"]))

    assert "CH | DIRECTION | SUB-TRIM, steps (%) | CONTROL | TRAVEL, % | ON LOSS" in found
    assert "CH | CONTROL | TRAVEL, % | SUB-TRIM, steps (%) | DIRECTION | ON LOSS" in plain


def test_what_a_blank_memory_has_is_not_bold() -> None:
    """Bold is what has to be dialled: another travel, a sub-trim, a reversal, and each failsafe."""
    solved = sample("gorge")
    unit = solved.rig.units["hs"]
    group = handset_setup(FACE, WIDE, solved, unit)
    words = [
        mark for block in group.blocks for box in block.boxes for mark in box.marks if isinstance(mark, Text)
    ]
    bold, plain = ({mark.text for mark in words if mark.bold == heavy} for heavy in (True, False))

    assert {"normal", "100 / 100", "0"} <= plain - bold
    assert {"REVERSED", "90 / 90", "hold", "0 %", "−10 (−1.5)"} <= bold


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_a_blank_for_each_pulse_that_can_be_measured(name: str) -> None:
    """As many blanks, 10 mm high, as positions of channels that leave by a pin; none for the others, which are named."""
    solved = sample(name)
    for unit in (unit for unit in solved.rig.units.values() if unit.role == "handset"):
        group = handset_setup(FACE, WIDE, solved, unit)
        blanks = sum(
            isinstance(mark, Rectangle) and mark.height == BLANK_HEIGHT
            for block in group.blocks
            for box in block.boxes
            for mark in box.marks
        )
        wanted = 0
        for result in solved.results_of(unit.name):
            if not leaving_by(solved.rig, solved.links, unit, result.number):
                continue
            joint = solved.joint.get((unit.name, result.name), ())
            wanted += len(joint) if joint and len(joint[0].places) == 2 else len(result.rows)
        measured = sum(known.handset == unit.name for known in solved.rig.measurements)
        assert BLANK_HEIGHT == 10
        assert blanks == wanted - measured


def test_a_shared_channel_is_a_grid() -> None:
    """Gorge, channel 3: a line for each position of the toggle, a slot for each of the rocker, with what both give."""
    solved = sample("gorge")
    found = " ".join(lines(handset_setup(FACE, WIDE, solved, solved.rig.units["hs"])))

    assert re.search(r"Front toggle AWAY, Right rocker.*1000.*1200.*1400", found)
    assert re.search(r"Front toggle TOWARD, Right rocker.*1600.*1800.*2000", found)
    assert {"Frame", "marker", "Spirit", "level", "Wiper,", "slow", "fast"} <= {*found.split()}


def test_more_than_two_controls_make_a_grid_each() -> None:
    """Every combination of four controls stands in one of the grids, with its level."""
    solved = solved_or_none(ROOT / "tests" / "cases" / "solve" / "RC421_too_many_combinations.ok.rig")
    assert solved is not None
    ((handset, _), rows) = next(iter(solved.joint.items()))
    assert len(rows[0].places) == 4
    group = handset_setup(FACE, WIDE, solved, solved.rig.units[handset])
    text = " ".join(lines(group))
    for row in rows:
        level = row.level.percent
        assert f"{'+' if level > 0 else ''}{float(level):g} %".replace("-", "−") in text
