"""Labels as an output: cells that are free, what need not be printed again."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest

from labelled import build, on_sheet
from rigcard.compare.reading import earlier
from rigcard.outputs.registry import Request
from samples import GORGE


def test_next_free_cell_is_told(tmp_path: Path) -> None:
    """35 labels from cell 5 without 7 and 8 on sheets of 8: two, eight on each of four, one on the last."""
    wanted = Request(only=("labels",), start=5, skip=frozenset((7, 8)))
    papers, codes = build(tmp_path, on_sheet("a4-2x4-99x68\n  spare-labels 0%"), wanted)

    assert codes == []
    assert papers is not None
    assert papers.remark.splitlines()[0] == (
        "labels: cells used: sheet 1: 5-6; sheet 2: 1-8; sheet 3: 1-8; sheet 4: 1-8; sheet 5: 1-8; sheet 6: 1; "
        "next free cell 2 (row 1, column 2), 7 left on the last sheet"
    )


@pytest.mark.parametrize("wanted", [Request(start=9), Request(skip=frozenset((99,))), Request(start=0)])
def test_a_cell_that_the_sheet_lacks_is_refused(tmp_path: Path, wanted: Request) -> None:
    """A part-used sheet is not printed over by a slip of the key."""
    papers, codes = build(tmp_path, on_sheet("a4-2x4-99x68"), wanted)

    assert papers is None
    assert codes == ["RC505"]


def test_a_role_that_the_crew_lacks_is_refused(tmp_path: Path) -> None:
    """RC506: no empty pack of cards is printed for a slip of the key."""
    papers, codes = build(tmp_path, GORGE.read_text(encoding="utf-8"), Request(role="operater"))

    assert papers is None
    assert codes == ["RC506"]


def test_a_new_revision_alone_relabels_nothing(tmp_path: Path) -> None:
    """Only the cable whose length changed is printed again (common practice, no source)."""
    text = GORGE.read_text(encoding="utf-8")
    before, _ = build(tmp_path, text, Request())
    assert before is not None
    since = before.files["rig.json"].decode()
    changed = text.replace('revision "C"', 'revision "D"').replace("length 400mm", "length 450mm")
    after, _ = build(tmp_path, changed, Request(since=since))
    assert after is not None
    old, new = earlier(since), earlier(after.files["rig.json"].decode())

    assert {name for name, code in new.labels.items() if old.labels[name] != code} == {"S04-A", "S04-B"}
    document = pypdfium2.PdfDocument(after.files["labels.pdf"])
    words = "".join(page.get_textpage().get_text_range() for page in document)
    assert "S04-A" in words
    assert "S02-A" not in words


def test_only_changed_cards_are_printed(tmp_path: Path) -> None:
    """Another key assignment changes the camera's card; the receiver's stays valid."""
    text = GORGE.read_text(encoding="utf-8")
    before, _ = build(tmp_path, text, Request())
    assert before is not None
    since = before.files["rig.json"].decode()
    after, _ = build(tmp_path, text.replace("Frame marker", "Peaking"), Request(since=since))
    assert after is not None
    changed = {
        card["card"]
        for card, old in zip(
            json.loads(after.files["rig.json"])["cards"], json.loads(since)["cards"], strict=True
        )
        if card["check"] != old["check"]
    }

    assert "CAMERA" in changed
    assert "STABILISED HEAD" not in changed
