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
from rigcard.documents.labels import Used, _alignment, cell_place, free_cells, label_sheets, too_large
from rigcard.documents.model import MM_PER_POINT, Text
from rigcard.pipeline import Papers, Wanted, build_rig, check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.sheets import COMMON, PAGES

GORGE = ROOT / "samples" / "gorge.rig"
FACE = EmbeddedTypeface()


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
    """A wrap of 25 + 47.1 + 2 = 75 mm, round 15 mm, goes on no cell of 70 mm: nothing is cut off or set smaller."""
    path = tmp_path / "rig.rig"
    text = on_sheet("a4-3x8-70x37").replace("jacket      8mm", "jacket      15mm")
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    sink = Sink()
    papers = build_rig(path, sink, None, Wanted(), STOCK)

    assert papers is None
    (found,) = sink
    assert found.code.id == "RC504"
    assert "x 75.0 mm" in found.message
    assert found.hint == "write `labels on a4-2x7-99x38`: its cells hold all labels"
    better, codes = build(tmp_path, text.replace("a4-3x8-70x37", "a4-2x7-99x38"), Wanted(only=("labels",)))
    assert better is not None and codes == []


def test_no_sheet_is_named_where_none_holds_them(tmp_path: Path) -> None:
    """Round 40 mm a wrap is 25 + 125.7 + 2 = 153 mm: longer than any common cell, so film is left."""
    path = tmp_path / "rig.rig"
    text = on_sheet("a4-3x8-70x37").replace("jacket      8mm", "jacket      40mm")
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    sink = Sink()

    assert build_rig(path, sink, None, Wanted(), STOCK) is None
    assert [found.hint for found in sink] == [
        "leave `labels on` out: film that is cut by hand; no common a4 sheet holds them"
    ]


@pytest.mark.parametrize("name", ["a4-3x8-70x37", "a4-2x7-99x38", "a4-2x4-99x68"])
def test_a_label_taller_than_its_cell_is_turned(tmp_path: Path, name: str) -> None:
    """A wrap of 48 mm lies across a cell of 37 or 38 mm and stands on one of 68 mm; its words go along the cable."""
    papers, codes = build(tmp_path, on_sheet(name), Wanted(only=("labels",)))
    solved = check_rig(tmp_path / "rig.rig", Sink(), stock=STOCK).solved
    assert papers is not None and codes == [] and solved is not None
    pages = label_sheets(FACE, solved.rig, Used()).document.pages
    frames = {frame.name: (page, frame) for page in pages[:-1] for frame in page.frames}
    turned = name != "a4-2x4-99x68"
    for end in ("P01-A", "P01-B", "P01-S1-A"):
        page, frame = frames[end]
        assert (frame.width if turned else frame.height) == 48
        own = [mark for mark in page.marks if isinstance(mark, Text) and end in mark.text]
        assert {mark.angle for mark in own} == {90 if turned else 0}


@pytest.mark.parametrize("name", COMMON)
@pytest.mark.parametrize("sample", ["gorge", "first"])
def test_print_stays_off_the_edge_of_the_paper(tmp_path: Path, name: str, sample: str) -> None:
    """4.2 mm, which office printers do not reach; cells that begin at the edge of the paper are no exception."""
    text = (ROOT / "samples" / f"{sample}.rig").read_text(encoding="utf-8")
    path = tmp_path / "rig.rig"
    path.write_text(
        text.replace('use "stock/', f'use "{ROOT}/samples/stock/').replace(
            "  job ", f"  labels on {name}\n  job ", 1
        ),
        encoding="utf-8",
    )
    solved = check_rig(path, Sink(), stock=STOCK).solved
    assert solved is not None
    rig = solved.rig
    if too_large(FACE, rig):  # what fits is judged elsewhere
        assert (sample, name) == ("gorge", "letter-3x10-67x25")
        return
    for page in label_sheets(FACE, rig, Used(start=2)).document.pages:
        for mark in page.marks:
            if isinstance(mark, Text):
                size = mark.size * MM_PER_POINT
                along = (mark.x, mark.x + mark.width), (mark.y - 0.66 * size, mark.y + 0.2 * size)
                up = (mark.x - 0.66 * size, mark.x + 0.2 * size), (mark.y - mark.width, mark.y)
                (left, right), (top, bottom) = up if mark.angle else along
                assert left >= 4.2 - 0.02 and right <= page.width - 4.2 + 0.02, mark
                assert top >= 4.2 - 0.02 and bottom <= page.height - 4.2 + 0.02, mark


@pytest.mark.parametrize("name", COMMON)
def test_the_alignment_page_says_what_to_do_with_it(name: str) -> None:
    """Plain paper, the light, what to measure and where to write it; a common sheet's name once."""
    page = _alignment(FACE, COMMON[name], Used())
    words = " ".join(mark.text for mark in page.marks if isinstance(mark, Text))

    for told in ("Plain paper only", "against the light", "“offset 0.5mm, -0.3mm”", "copy its sizes", "↑"):
        assert told in words, told
    assert words.count(name) == 1


def test_next_free_cell_is_told(tmp_path: Path) -> None:
    """32 labels from cell 4 without 7 and 8 on sheets of 8: three, eight on each of three, five on the last."""
    wanted = Wanted(only=("labels",), start=4, skip=frozenset((7, 8)))
    papers, codes = build(tmp_path, on_sheet("a4-2x4-99x68\n  spare-labels 0%"), wanted)

    assert codes == []
    assert papers is not None
    assert papers.remark.splitlines()[0] == (
        "labels: cells used: sheet 1: 4-6; sheet 2: 1-8; sheet 3: 1-8; sheet 4: 1-8; sheet 5: 1-5; "
        "next free cell 6 (row 3, column 2), 3 left on the last sheet"
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
