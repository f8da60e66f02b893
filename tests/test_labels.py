"""Label sheets: cells, part-used sheets, codes that a reader reads, what need not be printed again."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp

from conftest import ROOT, STOCK
from rigcard.diagnostics import Sink
from rigcard.documents.data import still_valid
from rigcard.documents.kit_labels import ALPHABET, MODULE, asset_code, check_character, code_size
from rigcard.documents.labels import Used, cell_place, free_cells
from rigcard.pipeline import Papers, Wanted, build_rig
from rigcard.resolve.sheets import COMMON, PAGES

GORGE = ROOT / "samples" / "gorge.rig"


def build(folder: Path, text: str, wanted: Wanted) -> tuple[Papers | None, list[str]]:
    """The papers of a rig text that uses the samples' stock, and the codes reported."""
    path = folder / "rig.rig"
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    sink = Sink()
    papers = build_rig(path, sink, None, wanted, STOCK)
    return papers, [found.code.id for found in sink]


def on_sheet(name: str) -> str:
    """The gorge sample with its labels on a named sheet."""
    return GORGE.read_text(encoding="utf-8").replace("paper       a4", f"paper       a4\n  labels on {name}")


def test_start_at_8_on_3_by_8_is_row_3_column_2() -> None:
    """TRADE F38, arithmetic: 31 labels from cell 8 fill 17 here and 14 on the next; next start 15, 10 left."""
    sheet = COMMON["a4-3x8-70x37"]
    cells = free_cells(sheet, Used(start=8), 31)

    assert cell_place(sheet, 8) == (70.0, 0.5 + 2 * 37)
    assert sum(page == 1 for page, _ in cells) == 17
    assert cells[-1] == (2, 14)
    assert sheet.cells - 14 == 10


def test_skipped_cells_stay_empty() -> None:
    """`--skip 4,9-11` holds on the first sheet only."""
    sheet = COMMON["a4-3x8-70x37"]
    cells = free_cells(sheet, Used(start=1, skip=frozenset((4, 9, 10, 11))), 30)

    assert [cell for page, cell in cells if page == 1] == [*range(1, 4), *range(5, 9), *range(12, 25)]
    assert [cell for page, cell in cells if page == 2] == list(range(1, 11))


@pytest.mark.parametrize("name", COMMON)
def test_common_sheets_lie_inside_their_page(name: str) -> None:
    """Cells never leave the paper, whose size is that of ISO 216 or ANSI/ASME Y14.1."""
    sheet = COMMON[name]
    x, y = cell_place(sheet, sheet.cells)
    width, height = PAGES[sheet.page]

    assert x + float(sheet.cell[0]) <= float(width) + 1e-9
    assert y + float(sheet.cell[1]) <= float(height) + 1e-9


def test_every_code_on_the_sheets_reads_back(tmp_path: Path) -> None:
    """A general-purpose reader finds, at 300 dpi, exactly the assets of the rig with their check characters."""
    papers, _ = build(tmp_path, GORGE.read_text(encoding="utf-8"), Wanted(only=("labels",)))
    assert papers is not None
    read = [
        code.text
        for page in pypdfium2.PdfDocument(papers.files["labels.pdf"])
        for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())
    ]
    assets = re.findall(r'asset +"([^"]+)"', GORGE.read_text(encoding="utf-8"))

    assert sorted(read) == sorted(asset_code(asset) for asset in assets)


def test_smallest_code_is_12_28_mm() -> None:
    """TRADE F36, arithmetic: 29 modules of 5 dots at 300 dpi; the next size is 33 modules."""
    assert code_size("HS-014-G") == (1, pytest.approx(12.277, abs=0.001))
    assert code_size("X" * 21) == (2, pytest.approx(33 * MODULE))
    assert MODULE >= 0.4


def test_check_character_is_that_of_the_standard() -> None:
    """ISO/IEC 7064 MOD 37,36; the worked number is from memory of the standard's usual example."""
    assert check_character("A12425GABC1234002") == "M"


def test_check_character_catches_a_mistyped_one() -> None:
    """Every single wrong character is found, as ISO/IEC 7064 promises of this system."""
    good = check_character("HS014")
    for at in range(5):
        for char in ALPHABET:
            wrong = "HS014"[:at] + char + "HS014"[at + 1 :]
            assert wrong == "HS014" or check_character(wrong) != good


def test_labels_that_do_not_fit_are_refused(tmp_path: Path) -> None:
    """A wrap of 48 mm does not go on a cell of 37 mm: nothing is cut off or set smaller."""
    papers, codes = build(tmp_path, on_sheet("a4-3x8-70x37"), Wanted())

    assert papers is None
    assert codes == ["RC504"]


def test_next_free_cell_is_told(tmp_path: Path) -> None:
    """26 labels from cell 4 without 7 and 8 on sheets of 8: three, then eight twice, the last in cell 7 of the fourth."""
    wanted = Wanted(only=("labels",), start=4, skip=frozenset((7, 8)))
    papers, codes = build(tmp_path, on_sheet("a4-2x4-99x68\n  spare-labels 0%"), wanted)

    assert codes == []
    assert papers is not None
    assert papers.remark.splitlines()[0] == (
        "labels: cells used: sheet 1: 4-6; sheet 2: 1-8; sheet 3: 1-8; sheet 4: 1-8; sheet 5: 1; "
        "next free cell 2 (row 1, column 2), 7 left on the last sheet"
    )


@pytest.mark.parametrize("wanted", [Wanted(start=9), Wanted(skip=frozenset((99,))), Wanted(start=0)])
def test_a_cell_that_the_sheet_lacks_is_refused(tmp_path: Path, wanted: Wanted) -> None:
    """A part-used sheet is not printed over by a slip of the key."""
    papers, codes = build(tmp_path, on_sheet("a4-2x4-99x68"), wanted)

    assert papers is None
    assert codes == ["RC505"]


def test_a_role_that_the_crew_lacks_is_refused(tmp_path: Path) -> None:
    """RC506: no empty pack of cards is printed for a slip of the key."""
    papers, codes = build(tmp_path, GORGE.read_text(encoding="utf-8"), Wanted(role="operater"))

    assert papers is None
    assert codes == ["RC506"]


def test_a_new_revision_alone_relabels_nothing(tmp_path: Path) -> None:
    """Only the cable whose length changed is printed again (common practice, no source)."""
    text = GORGE.read_text(encoding="utf-8")
    before, _ = build(tmp_path, text, Wanted())
    assert before is not None
    since = before.files["rig.json"].decode()
    changed = text.replace('revision "C"', 'revision "D"').replace("length 400mm", "length 450mm")
    after, _ = build(tmp_path, changed, Wanted(since=since))
    assert after is not None
    old, new = still_valid(since), still_valid(after.files["rig.json"].decode())

    assert {name for name, code in new.labels.items() if old.labels[name] != code} == {"W03-A", "W03-B"}
    document = pypdfium2.PdfDocument(after.files["labels.pdf"])
    words = "".join(page.get_textpage().get_text_range() for page in document)
    assert "W03-A" in words
    assert "W02-A" not in words


def test_only_changed_cards_are_printed(tmp_path: Path) -> None:
    """Another key assignment changes the camera's card; the receiver's stays valid."""
    text = GORGE.read_text(encoding="utf-8")
    before, _ = build(tmp_path, text, Wanted())
    assert before is not None
    since = before.files["rig.json"].decode()
    after, _ = build(tmp_path, text.replace("ISO up", "Peaking"), Wanted(since=since))
    assert after is not None
    changed = {
        card["card"]
        for card, old in zip(
            json.loads(after.files["rig.json"])["cards"], json.loads(since)["cards"], strict=True
        )
        if card["check"] != old["check"]
    }

    assert "SET-UP: Cinema camera" in changed
    assert "SET-UP: Head receiver" not in changed
