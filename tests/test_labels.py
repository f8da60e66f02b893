"""Label sheets: cells, part-used sheets, codes that a reader reads, what need not be printed again."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from conftest import ROOT, STOCK
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.layout import wrap
from rigcard.documents.base.model import MM_PER_POINT, Bars, Mark, Rectangle, Squares, Text
from rigcard.documents.base.quoted_text import LONGEST
from rigcard.documents.labels.frame import Label, label_code
from rigcard.documents.labels.kit_labels import (
    ALPHABET,
    CAPACITY,
    MODULE,
    asset_code,
    case_labels,
    check_character,
    code_size,
    unit_labels,
)
from rigcard.documents.labels.label_sheets import (
    Used,
    _alignment,
    cell_place,
    free_cells,
    label_sheets,
    too_large,
)
from rigcard.exports.rig_json import still_valid
from rigcard.outputs.registry import Request
from rigcard.pipeline import Papers, build_rig, check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.label_sheets import COMMON, PAGES
from rigcard.resolve.model import LabelSheet, Rig, Unit
from rigcard.syntax import tree

GORGE = ROOT / "samples" / "gorge.rig"
FACE = EmbeddedTypeface()


def build(folder: Path, text: str, wanted: Request) -> tuple[Papers | None, list[str]]:
    """The papers of a rig text that uses the samples' stock, and the codes reported."""
    path = folder / "rig.rig"
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    diagnostics = Diagnostics()
    papers = build_rig(path, diagnostics, None, wanted, STOCK)
    return papers, [found.code.id for found in diagnostics]


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
    papers, _ = build(tmp_path, GORGE.read_text(encoding="utf-8"), Request(only=("labels",)))
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


def test_check_character_after_a_sum_of_36() -> None:
    """By hand from ISO/IEC 7064: 36 + 0 leaves 0, which counts as 36; 72 less 37 is 35, and 35 + 2 leaves 1.

    After a second 0: 35 and 35 less 37 is 33, and 33 + 4 leaves 1. J is 19: 38 less 37 is 1, which 0 leaves; 1: 2 + 35.
    """
    found = [check_character(text) for text in ("0", "00", "J", "1")]
    assert found == ["2", "4", "0", "Z"]


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
    diagnostics = Diagnostics()
    papers = build_rig(path, diagnostics, None, Request(), STOCK)

    assert papers is None
    (found,) = diagnostics
    assert found.code.id == "RC504"
    assert "x 75.0 mm" in found.message
    assert found.hint == "write `labels on a4-2x7-99x38`: its cells hold all labels"
    better, codes = build(tmp_path, text.replace("a4-3x8-70x37", "a4-2x7-99x38"), Request(only=("labels",)))
    assert better is not None and codes == []


def test_no_sheet_is_named_where_none_holds_them(tmp_path: Path) -> None:
    """Round 40 mm a wrap is 25 + 125.7 + 2 = 153 mm: longer than any common cell, so film is left."""
    path = tmp_path / "rig.rig"
    text = on_sheet("a4-3x8-70x37").replace("jacket      8mm", "jacket      40mm")
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    diagnostics = Diagnostics()

    assert build_rig(path, diagnostics, None, Request(), STOCK) is None
    assert [found.hint for found in diagnostics] == [
        "leave `labels on` out: film that is cut by hand; no common a4 sheet holds them"
    ]


@pytest.mark.parametrize("name", ["a4-3x8-70x37", "a4-2x7-99x38", "a4-2x4-99x68"])
def test_a_label_taller_than_its_cell_is_turned(tmp_path: Path, name: str) -> None:
    """A wrap of 48 mm lies across a cell of 37 or 38 mm and stands on one of 68 mm; its words go along the cable."""
    papers, codes = build(tmp_path, on_sheet(name), Request(only=("labels",)))
    solved = check_rig(tmp_path / "rig.rig", Diagnostics(), stock=STOCK).solved
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
    solved = check_rig(path, Diagnostics(), stock=STOCK).solved
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
    old, new = still_valid(since), still_valid(after.files["rig.json"].decode())

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

    assert "SET-UP: Cinema camera" in changed
    assert "SET-UP: Head receiver" not in changed


# ---- labels of units and cases -----------------------------------------------------------------------------------

PITCH = 1.22 * MM_PER_POINT  # mm from line to line, for each point of size
ASSETS = ("", "HS-014", "hs 014", "HS_014", "A.1/B" * 4 + "-123", "ABC-DEF GHI-JKL MNO-PQR")


@pytest.fixture(scope="module")
def rig() -> Rig:
    """The sample's rig."""
    solved = check_rig(GORGE, Diagnostics(), stock=STOCK).solved
    assert solved is not None
    return solved.rig


def low_sheet(width: int, height: int) -> LabelSheet:
    """A column of cells of a size."""
    return COMMON["a4-2x7-99x38"]._replace(columns=1, cell=(Fraction(width), Fraction(height)))


def label_of(rig: Rig, **changes: str) -> Label:
    """The label of the rig's first unit with other words."""
    unit: Unit = next(iter(rig.units.values()))
    return unit_labels(FACE, rig._replace(units={unit.name: unit._replace(**changes)}))[0]


def texts_of(label: Label) -> list[Text]:
    """The texts of a label in their order."""
    return [mark for mark in label.marks if isinstance(mark, Text)]


def inked(mark: Text) -> BaseGeometry:
    """What a text takes: from the top of its capitals to the foot of its descenders."""
    size = mark.size * MM_PER_POINT
    return box(mark.x, mark.y - 0.66 * size, mark.x + mark.width, mark.y + 0.2 * size)


def top(mark: Text) -> float:
    """The top of its line."""
    return mark.y - 0.8 * mark.size * MM_PER_POINT


def code_in(label: Label) -> Mark | None:
    """The matrix or linear code of a label."""
    return next((mark for mark in label.marks if isinstance(mark, Squares | Bars)), None)


def zone_of(code: Mark) -> BaseGeometry:
    """A code and its quiet zone: 4 modules round squares (ISO/IEC 18004), 10 beside bars (ISO/IEC 15417)."""
    if isinstance(code, Squares):
        quiet = 4 * code.module
        side = (17 + 4 * code.version) * code.module + 2 * quiet
        return box(code.x - quiet, code.y - quiet, code.x - quiet + side, code.y - quiet + side)
    assert isinstance(code, Bars)
    length, quiet = sum(code.widths) * code.module, 10 * code.module
    return box(code.x - quiet, code.y, code.x + length + quiet, code.y + code.height)


@pytest.mark.parametrize(
    ("asset", "code"),
    [
        ("HS-014", "HS-014-G"),
        ("hs-014", "HS-014-G"),
        ("", ""),
        ("- /.", ""),
        ("HS_014", ""),
        ("Stra\N{LATIN SMALL LETTER SHARP S}e-1", ""),
        ("\N{LATIN SMALL LIGATURE FFI}" * 24, ""),
    ],
)
def test_what_the_code_of_an_asset_says(asset: str, code: str) -> None:
    """Only what stands on the label: a letter that has no capital of its own is not put in other letters' place."""
    assert asset_code(asset) == code


def test_an_asset_of_ligatures_has_a_label(tmp_path: Path) -> None:
    """The capitals of a ligature are three letters: 24 of them would go into no code of the label's size."""
    words = "\N{LATIN SMALL LIGATURE FFI}" * 24
    papers, codes = build(tmp_path, GORGE.read_text(encoding="utf-8").replace("HS-014", words), Request())
    assert papers is not None and codes == []


def test_codes_hold_the_longest_asset() -> None:
    """As many characters as another program puts into each version at medium correction, and enough for any asset."""
    for version, most in CAPACITY:
        for count, fits in ((most, True), (most + 1, False)):
            code = QRCode(version, QRErrorCorrectLevel.M)
            code.addData("X" * count)
            if fits:
                code.make()
            else:
                with pytest.raises(Exception, match="overflow"):
                    code.make()
        assert code_size("X" * most) == (version, pytest.approx((17 + 4 * version + 8) * MODULE))
    assert CAPACITY[-1][1] >= LONGEST[tree.Asset] + len("-G")


@pytest.mark.parametrize("asset", ASSETS)
@pytest.mark.parametrize("title", ["Handset", "Wide handset " * 6])
@pytest.mark.parametrize("case", ["", "Case 12"])
@pytest.mark.parametrize(
    ("codes", "sheet", "kind"),
    [
        ("", None, Squares),
        ("matrix", None, Squares),
        ("linear", None, Bars),
        ("", low_sheet(180, 17), Bars),
        ("linear", low_sheet(180, 17), Bars),
        ("matrix", low_sheet(180, 17), Squares),
        ("", low_sheet(50, 10), Squares),  # fits nowhere: told as too large, in its usual form
        ("linear", low_sheet(50, 10), Bars),
    ],
)
def test_marks_of_a_unit_s_label(
    rig: Rig, asset: str, title: str, case: str, codes: str, sheet: LabelSheet | None, kind: type[Mark]
) -> None:
    """Words keep 1.5 mm from the cut, a code has its quiet zone to itself, what it says stands in its middle below."""
    label = label_of(rig._replace(codes=codes, sheet=sheet), asset=asset, title=title, case=case)
    whole = box(0, 0, label.width, label.height)
    code = code_in(label)
    said = asset_code(asset)
    marks = texts_of(label)
    words = [mark for mark in marks if mark.size in (12, 9, 7)]
    under = marks[len(words) :]

    assert marks[: len(words)] == words
    assert [
        (mark.x, mark.y, mark.width, mark.height) for mark in label.marks if isinstance(mark, Rectangle)
    ] == [(0, 0, label.width, label.height)]
    assert all(whole.buffer(-1.48, join_style="mitre").covers(inked(mark)) for mark in marks)
    for one, two in pairwise(words):
        assert top(two) - top(one) == pytest.approx(one.size * PITCH)
        assert one.x == two.x
    assert (code is not None) == bool(said)
    if code is None:
        beside = sheet is not None and sheet.cell[0] == 180 and codes != "matrix" and len(title) < 20
        assert label.width == 60
        assert beside or label.height >= 24
        assert under == []
        assert top(words[0]) == pytest.approx(label.height - top(words[-1]) - words[-1].size * PITCH)
        return
    no_room = sheet is not None and sheet.cell[0] == 180 and len(title) > 20
    assert isinstance(code, Squares if no_room and not codes else kind)
    zone = zone_of(code)
    assert whole.buffer(1e-6).covers(zone)
    for mark in marks:
        assert inked(mark).intersection(zone).area < 0.05, mark
    assert "".join(mark.text for mark in under).replace(" ", "") == said.replace(" ", "")
    left, _, right, foot = zone.bounds
    for mark in under:
        assert mark.x + mark.width / 2 == pytest.approx((left + right) / 2)
    assert 0 <= inked(under[0]).bounds[1] - foot + 0.02 < (0.4 if isinstance(code, Squares) else 1.2)
    for one, two in pairwise(under):
        assert top(two) - top(one) == pytest.approx(one.size * PITCH)


@pytest.mark.parametrize("asset", ["", "HS-014", "W" * 24])
@pytest.mark.parametrize("codes", ["matrix", "linear"])
@pytest.mark.parametrize("height", [17, 60])
def test_words_of_a_unit_s_label_end_at_its_edge(rig: Rig, asset: str, codes: str, height: int) -> None:
    """Titles of any length, letter by letter: 1.5 mm from the cut, and clear of the code."""
    for length in range(8, 60, 2):
        title = ("W" * length, ("Wim " * length)[:length].strip())
        for words in title:
            sheet = low_sheet(180, height)
            label = label_of(
                rig._replace(codes=codes, sheet=sheet, title=words), title=words, case=words[:20], asset=asset
            )
            whole = box(1.48, 1.48, label.width - 1.48, label.height - 1.48)
            code = code_in(label)
            assert (code is not None) == bool(asset)
            for mark in texts_of(label):
                assert whole.covers(inked(mark)), mark
                assert code is None or inked(mark).intersection(zone_of(code)).area < 0.05, mark


def test_a_linear_code_stands_under_or_beside_the_words(rig: Rig) -> None:
    """Beside them on a sheet that has only low cells; the words, or words and code, in the middle of the height."""
    for sheet in (None, low_sheet(180, 17), low_sheet(70, 60)):
        label = label_of(rig._replace(codes="linear", sheet=sheet))
        code = code_in(label)
        assert isinstance(code, Bars)
        *words, under = texts_of(label)
        first, last = top(words[0]), top(words[-1]) + words[-1].size * PITCH
        foot = top(under) + under.size * PITCH
        if sheet is not None and sheet.cell[1] == 17:
            assert code.x >= max(mark.x + mark.width for mark in words)
            assert label.width == pytest.approx(60 + zone_of(code).bounds[2] - zone_of(code).bounds[0])
            assert label.height <= 17
            assert first == pytest.approx(label.height - last)
            assert code.y == pytest.approx(label.height - foot)
        else:
            assert code.y > last
            assert (label.width, label.height) == (60, pytest.approx(max(24, foot + first)))
            assert first == pytest.approx(label.height - foot, abs=0.01)
            assert code.x + sum(code.widths) * code.module / 2 == pytest.approx(label.width / 2)


def test_a_matrix_code_stands_at_the_right(rig: Rig) -> None:
    """Its quiet zone ends with the label; words and code are each in the middle of the height, or below a quiet zone."""
    for title in ("Handset", "Wide handset " * 8):
        label = label_of(rig._replace(codes="matrix"), title=title)
        code = code_in(label)
        assert isinstance(code, Squares)
        *words, under = texts_of(label)
        assert label.width == 60
        assert zone_of(code).bounds[2] == pytest.approx(60)
        first, last = top(words[0]), top(words[-1]) + words[-1].size * PITCH
        assert first == pytest.approx(label.height - last)
        foot = top(under) + under.size * PITCH
        assert code.y == pytest.approx(max(4 * MODULE, label.height - foot), abs=0.01)
        assert all(mark.x + mark.width <= zone_of(code).bounds[0] for mark in words)
        assert label.height == pytest.approx(max(24, last - first + 4))


def test_words_of_a_unit_s_label(rig: Rig) -> None:
    """Name, asset and case in bold, then small the model, the job and its revision; a line to write an asset on."""
    unit = next(iter(rig.units.values()))
    for asset, case, second in (
        ("HS-014", "Case 1", "HS-014 · Case 1"),
        ("HS-014", "", "HS-014"),
        ("", "Case 1", "asset ________ · Case 1"),
    ):
        for revision, last in (("C", " · rev C"), ("", "")):
            label = label_of(rig._replace(codes="linear", revision=revision), asset=asset, case=case)
            said = [(mark.text, mark.size, mark.bold) for mark in texts_of(label)]
            assert said[:2] == [(unit.title, 12, True), (second, 9, True)]
            small = [text for text, size, bold in said if size == 7 and not bold]
            assert " ".join(small) == f"{unit.model.name} · {rig.title}{last}"


def test_a_unit_s_label_is_printed_again_when_its_words_change(rig: Rig) -> None:
    """Each of its words, and the kind of its code; not the revision."""
    same = label_code(label_of(rig))
    changes = [{"title": "Other"}, {"asset": "HS-999"}, {"case": "Case 9"}]
    codes = {same, *(label_code(label_of(rig, **change)) for change in changes)}
    codes.add(label_code(label_of(rig._replace(codes="linear"))))
    assert len(codes) == 5
    assert label_code(label_of(rig._replace(revision="Z"))) == same


def in_cases(rig: Rig, *names: str) -> Rig:
    """The rig with its units in these cases, the rest in none."""
    units = dict(zip(rig.units, rig.units.values(), strict=True))
    filled = [*names, *[""] * len(units)]
    return rig._replace(
        units={
            name: unit._replace(case=case) for (name, unit), case in zip(units.items(), filled, strict=False)
        }
    )


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("Case 10", "Case 2", "Case 1"), [["Case 1 of 3"], ["Case 2 of 3"], ["Case 10", "3 of 3"]]),
        (("Lenses", "Body", "Lenses"), [["Body", "1 of 2"], ["Lenses", "2 of 2"]]),
        (("Case 3", "Case 12"), [["Case 3", "1 of 2"], ["Case 12", "2 of 2"]]),  # 12 ends in 2 and is not 2
        (("1", "2"), [["1 of 2"], ["2 of 2"]]),
        ((), []),
    ],
)
def test_words_of_a_case_s_label(rig: Rig, names: tuple[str, ...], said: list[list[str]]) -> None:
    """Its name and which of how many, in the order that people count; the number once."""
    labels = case_labels(FACE, in_cases(rig, *names))
    assert [[mark.text for mark in texts_of(label)] for label in labels] == said
    assert [label.name for label in labels] == [
        f"case {name}" for name in sorted(set(names), key=lambda name: (len(name), name))
    ] or names[0] == "Lenses"


@pytest.mark.parametrize(
    "name", ["A", "Case 1", "Sliders and dollies", "Wide camera case", "W" * 20, "A B C D E F"]
)
@pytest.mark.parametrize("height", [None, 8, 12, 15, 24, 37])
def test_type_of_a_case_s_label(rig: Rig, name: str, height: int | None) -> None:
    """The largest of seven sizes in which no word is broken, 1.5 mm from the cut; in the middle of 60 x 24 mm or less."""
    sheet = None if height is None else low_sheet(90, height)
    (label,) = case_labels(FACE, in_cases(rig._replace(sheet=sheet), name))
    marks = texts_of(label)
    said = f"{name} of 1" if name.endswith("1") else name
    (size,) = {mark.size for mark in marks}
    room = min(24, height or 24)
    more = [] if said != name else ["1 of 1"]

    def high(size: float) -> float | None:
        """The height of the words in a size, or None where a word would be broken."""
        if any(FACE.width(word, size, True) > 56 for text in (said, *more) for word in text.split()):
            return None
        return sum(len(wrap(FACE, text, size, 56, bold=True)) for text in (said, *more)) * size * PITCH

    sizes = (24, 20, 16, 12, 10, 8, 6)
    fitting = [each for each in sizes if (found := high(each)) is not None and found <= room - 3]
    assert size == (fitting[0] if fitting else 6)
    assert all(mark.bold for mark in marks)
    assert " ".join(mark.text for mark in marks).replace(" ", "") == " ".join([said, *more]).replace(" ", "")
    assert label.width == 60
    assert label.height == pytest.approx(max(room, len(marks) * size * PITCH + 3))
    for number, mark in enumerate(marks):
        assert mark.x + mark.width / 2 == pytest.approx(30)
        assert mark.x >= 1.5
        assert top(mark) == pytest.approx(
            (label.height - len(marks) * size * PITCH) / 2 + number * size * PITCH
        )


def test_words_of_a_case_s_label_end_at_its_edge(rig: Rig) -> None:
    """Names of any length, letter by letter: 1.5 mm from the cut."""
    for letters in ("Wim ", "mmm mmmm ", "Bdg bdg ", "Ww "):
        for length in range(1, 21):
            name = (letters * 9)[:length].strip()
            (label,) = case_labels(FACE, in_cases(rig, name))
            whole = box(1.5, 1.5, label.width - 1.5, label.height - 1.5).buffer(0.01)
            assert all(whole.covers(inked(mark)) for mark in texts_of(label)), name
