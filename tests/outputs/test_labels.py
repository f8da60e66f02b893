"""Labels as an output: cells that are free, what need not be printed again."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest

from labelled import build, on_sheet
from rigcard.compare.reading import earlier
from rigcard.diagnostics import Diagnostics
from rigcard.documents.labels.asset_codes import asset_code
from rigcard.outputs.labels import _spelt
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig
from samples import GORGE, ROOT, STOCK


def test_next_free_cell_is_told(tmp_path: Path) -> None:
    """35 labels from cell 5 without 7 and 8 on sheets of 8: two, eight on each of four, one on the last."""
    wanted = Request(only=("labels",), start=5, skip=frozenset((7, 8)))
    papers, codes = build(tmp_path, on_sheet("a4-2x4-99x68\n  spare-labels 0%"), wanted)

    assert codes == []
    assert papers is not None
    assert papers.remark.splitlines()[0] == (
        "labels: cells used: sheet 1: 5-6 (S01.R-A and S01.R-B); sheet 2: 1-8 (S01.I-A to S03-B); "
        "sheet 3: 1-8 (S04-A to S02-S1-B); sheet 4: 1-8 (P01-S1-A to lens); sheet 5: 1-8 (motor to case Case 4); "
        "sheet 6: 1 (case Case 5); next free cell 2 (row 1, column 2), 7 left on the last sheet"
    )


def test_labels_are_made_again_by_name(tmp_path: Path) -> None:
    """Only these, from the cell where the sheet goes on; a lead stands for both its ends; which cells is told."""
    for names, said in (
        (("S02-A", "hs"), "sheet 1: 3-4 (S02-A and hs); next free cell 5 (row 3, column 1), 4 left"),
        (("S02",), "sheet 1: 3-4 (S02-A and S02-B); next free cell 5 (row 3, column 1), 4 left"),
        (("S01",), "sheet 1: 3-8 (S01.R-A to S01.T-B); next free cell 1 (row 1, column 1), 0 left"),
        (("S01.I",), "sheet 1: 3-4 (S01.I-A and S01.I-B); next free cell 5 (row 3, column 1), 4 left"),
    ):
        wanted = Request(only=("labels",), start=3, labels=names)
        papers, codes = build(tmp_path, on_sheet("a4-2x4-99x68"), wanted)
        assert papers is not None and codes == []
        assert papers.remark.splitlines()[0] == f"labels: cells used: {said} on the last sheet"
        assert set(papers.files) == {"labels.pdf"}
        assert len(pypdfium2.PdfDocument(papers.files["labels.pdf"])) == 1, "no page to align by"


@pytest.mark.parametrize(
    ("name", "near"), [("S02-C", "`S02-A`"), ("S20-A", "`S02-A`"), ("xyz", "without `--label`")]
)
def test_a_label_that_is_not_there_is_refused(tmp_path: Path, name: str, near: str) -> None:
    """RC545, with a near name: a label would be missing from a lead, and nobody would know."""
    path = tmp_path / "rig.rig"
    text = GORGE.read_text(encoding="utf-8")
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    diagnostics = Diagnostics()
    wanted = Request(only=("labels",), labels=(name,))
    assert build_rig(path, diagnostics, None, wanted, STOCK) is None
    (found,) = diagnostics
    assert found.code.id == "RC545" and f"`{name}`" in found.message and near in found.hint


def test_labels_to_take_off_are_named(tmp_path: Path) -> None:
    """A lead that is left out: its labels would stay on it, and one that changed is printed again."""
    text = GORGE.read_text(encoding="utf-8")
    before, _ = build(tmp_path, text, Request())
    assert before is not None
    since = before.files["rig.json"].decode()
    less = text.replace("  spare-leads 1\n}\ncable S03", "}\ncable S03").replace("length 400mm", "length 450mm")
    after, _ = build(tmp_path, less, Request(since=since, only=("labels",)))
    assert after is not None
    assert "labels: take off, with nothing in their place: S02-S1-A and S02-S1-B" in after.remark
    assert "labels: printed: S04-A and S04-B" in after.remark


@pytest.mark.parametrize(
    ("asset", "told", "spelt"),
    [
        ("HS_014", True, "HS-014"),
        ("A#1", True, "A-1"),
        ("Äü-1", True, "AU-1"),
        ("___", True, "A-1"),
        ("hs 014/2.A", False, "HS 014/2.A"),
    ],
)
def test_an_asset_without_code_is_warned_of(tmp_path: Path, asset: str, told: bool, spelt: str) -> None:
    """RC546, with a spelling that has a code: the check character covers A to Z and 0 to 9 (ISO/IEC 7064)."""
    papers, codes = build(tmp_path, GORGE.read_text(encoding="utf-8").replace("HS-014", asset), Request())
    assert papers is not None and codes == ["RC546"] * told
    assert _spelt(asset) == spelt and asset_code(spelt)


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
