"""Label sheets: cells, part-used sheets, film, what stands about the cells."""

from __future__ import annotations

import re
from fractions import Fraction
from math import floor
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from shapely.geometry import box

from labelled import (
    GORGE_TEXT,
    POINT,
    ROOM,
    apart,
    build,
    inked,
    lines,
    on_sheet,
    pitch,
    sheet_of,
    stands,
    texts,
    with_jackets,
)
from papers import UNPRINTABLE, SamplePapers
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.language import speaking
from rigcard.documents.base.layout import text_at, wrap
from rigcard.documents.base.model import MM_PER_POINT, Line, Rectangle, Text, moved
from rigcard.documents.labels.asset_codes import asset_code
from rigcard.documents.labels.frame import Label, label_code
from rigcard.documents.labels.label_sheets import (
    Used,
    _alignment,
    all_labels,
    cell_place,
    free_cells,
    label_sheets,
    largest,
    sheet_that_holds,
    too_large,
)
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig, check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.label_sheets import COMMON, PAGES
from rigcard.resolve.model import Rig
from rigcard.resolve.words import LANGUAGES
from samples import GORGE, ROOT, SAMPLES, STOCK, solved_rig

pytest_plugins = ("papers",)

FACE = EmbeddedTypeface()
FEED = "↑ this edge first into the printer"
SHEDDING = "part-used: a sheet passed more than twice through a laser printer may shed labels"
SLEEVES = "Low strip: once round, under clear sleeve shrunk on before the plug."


# ---- worked examples ---------------------------------------------------------------------------------------------


def test_f38_part_used_sheet(gorge: Rig) -> None:
    """7 cells of 24 used: begin at row 3, column 2; 31 labels: 17 here, 14 on the next; then 15 is free, 10 are left."""
    sheet = COMMON["a4-3x8-70x37"]
    cells = free_cells(sheet, Used(start=8), 32)

    assert cell_place(sheet, 8) == (70.0, 74.5)
    assert [sum(on == page for on, _ in cells[:31]) for page in (1, 2)] == [17, 14]
    assert cells[31] == (2, 15)
    outcome = label_sheets(FACE, gorge._replace(sheet=sheet), Used(start=8))
    count = len(all_labels(FACE, gorge._replace(sheet=sheet)))
    assert sum(map(len, outcome.cells)) == count
    assert outcome.next_cell == (7 + count) % 24 + 1


# ---- sheets ------------------------------------------------------------------------------------------------------


def test_offset_moves_the_print(gorge: Rig) -> None:
    """A feed error of 0.5 mm to the left and 0.3 mm down is made up for; the cells stay where they are."""
    sheet = COMMON["a4-2x4-99x68"]
    moved = sheet._replace(offset=(Fraction("0.5"), Fraction("-0.3")))
    plain = label_sheets(FACE, gorge._replace(sheet=sheet), Used()).document
    shifted = label_sheets(FACE, gorge._replace(sheet=moved), Used()).document

    for before, after in zip(plain.pages, shifted.pages, strict=True):
        for one, other in zip(before.frames, after.frames, strict=True):
            assert (other.x - one.x, other.y - one.y) == (pytest.approx(0.5), pytest.approx(-0.3))


def test_part_used_sheets_are_warned_of(gorge: Rig) -> None:
    """On the first sheet and the alignment page; feed and name of the sheet stand there too."""
    sheet = COMMON["a4-2x4-99x68"]
    for used, told in ((Used(start=3), True), (Used(skip=frozenset((3,))), True), (Used(), False)):
        pages = label_sheets(FACE, gorge._replace(sheet=sheet), used).document.pages
        for page in (pages[0], pages[-1]):
            texts = " ".join(mark.text for mark in page.marks if isinstance(mark, Text))
            assert (SHEDDING in texts) == told
            assert "↑" in texts and sheet.name in texts


def test_next_cell_is_never_a_used_one(gorge: Rig) -> None:
    """A cell in `--skip` is not told as the next free one."""
    sheet = COMMON["a4-2x4-99x68"]
    count = len(all_labels(FACE, gorge._replace(sheet=sheet)))
    valid = {label.name: label_code(label) for label in all_labels(FACE, gorge._replace(sheet=sheet))}
    one = dict(list(valid.items())[1:])
    outcome = label_sheets(FACE, gorge._replace(sheet=sheet), Used(2, frozenset((3, 4, 6)), one))

    assert count > 1
    assert outcome.cells == ((2,),)
    assert (outcome.next_cell, outcome.cells_left) == (5, 3)


def test_cells_used_are_told(tmp_path: Path) -> None:
    """The remark of a build names each cell that was printed on, and the labels in it."""
    path = tmp_path / "rig.rig"
    text = GORGE_TEXT.replace('use "stock/', f'use "{ROOT}/samples/stock/')
    path.write_text(
        text.replace("paper       a4", "paper       a4\n  labels on a4-2x4-99x68\n  spare-labels 0%"),
        encoding="utf-8",
    )
    papers = build_rig(
        path, Diagnostics(), None, Request(only=("labels",), start=4, skip=frozenset((6,))), STOCK
    )

    assert papers is not None
    assert (
        "sheet 1: 4-5 (S01.R-A and S01.R-B), 7-8 (S01.I-A and S01.I-B); sheet 2: 1-8 (S01.T-A to S04-B);"
        in papers.remark
    )
    assert "shed labels" in papers.remark


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_rows_of_labels_on_film(gorge: Rig, paper: str) -> None:
    """In reading order from 10 mm within the paper and 14 mm below its head, 3 mm between labels, 12 mm for the foot.

    A row, or a sheet, is begun only where the label would not go into the one before.
    """
    thick = with_jackets(gorge, Fraction(10)).cables
    cables = {
        **thick,
        "S02": thick["S02"]._replace(jacket=Fraction(2), moving=True),
        "P01": gorge.cables["P01"],
    }
    rig = gorge._replace(paper=paper, cables=cables, spares=Fraction(100))
    width, height = map(float, PAGES[paper])
    made = all_labels(FACE, rig)
    pages = label_sheets(FACE, rig, Used()).document.pages
    assert len(pages) >= 3
    assert [frame.name for page in pages for frame in page.frames] == [label.name for label in made]

    sizes = {label.name: (label.width, label.height) for label in made}
    x, y, tallest, sheet, begins = 10.0, 24.0, 0.0, 0, 0
    for number, page in enumerate(pages):
        assert (page.width, page.height) == (width, height)
        for frame in page.frames:
            assert (frame.width, frame.height) == sizes[frame.name]
            if x + frame.width > width - 10:
                x, y, tallest = 10.0, y + tallest + 3, 0.0
            if y + frame.height > height - 22:
                x, y, tallest, sheet = 10.0, 24.0, 0.0, sheet + 1
                begins += 1
            assert (frame.x, frame.y, sheet) == (pytest.approx(x), pytest.approx(y), number)
            x, tallest = x + frame.width + 3, max(tallest, frame.height)
    assert begins == len(pages) - 1


def test_film_is_used_to_its_foot(gorge: Rig) -> None:
    """A4 less 10 mm on all sides, 14 mm of head and 12 mm of foot leaves 190 x 251 mm: no less, and no more."""
    first = Label("one", "flat", 190.0, 100.0, (), ())
    assert largest(gorge) == (190, 251)
    for height, sheets in ((148.0, 1), (148.5, 2)):
        made = [first, Label("two", "flat", 60.0, height, (), ())]
        assert len(label_sheets(FACE, gorge, Used(), made).document.pages) == sheets
    for width, height, fits in ((190.0, 251.0, True), (190.5, 251.0, False), (190.0, 251.5, False)):
        assert (too_large(FACE, gorge, [Label("one", "flat", width, height, (), ())]) == []) == fits
    for width, row in ((57.0, 24.0), (57.5, 54.0)):  # 3 mm between them
        made = [Label("one", "flat", 130.0, 27.0, (), ()), Label("two", "flat", width, 20.0, (), ())]
        assert label_sheets(FACE, gorge, Used(), made).document.pages[0].frames[1].y == row
    none = label_sheets(FACE, gorge, Used(), [])
    assert (list(none.document.pages), none.cells, none.next_cell, none.cells_left) == ([], (), None, 0)
    assert (none.document.name, none.document.title) == ("labels", "Gorge cable camera: labels")


HEIGHT_OF_FOOT = 297 - 22  # mm: below it are a line or two of instructions, then the bar


def told_of(forms: set[str], ground: bool) -> str:
    """How the labels of some forms are stuck on (common practice, no source)."""
    told = {
        "flag": "Flag: fold at the ticks.",
        "wrap": "Wrap: the print first, its other end over it.",
        "sleeve": SLEEVES,
    }
    texts = [text for form, text in told.items() if form in forms]
    side = ["G| lies on the ground side of the plug."] if ground else []
    return " ".join(["Stick it 30 to 50 mm behind the plug.", *texts, *side]) if texts else ""


def test_what_a_sheet_of_film_says(gorge: Rig) -> None:
    """Which of how many, the scale to print at, how each form goes on where it is there; marks stand as on the label."""
    thick = with_jackets(gorge, Fraction(10)).cables
    rig = gorge._replace(cables={**thick, "S02": thick["S02"]._replace(jacket=Fraction(2), moving=True)})
    made = {label.name: label for label in all_labels(FACE, rig)}
    pages = label_sheets(FACE, rig, Used()).document.pages
    sleeves = []
    for number, page in enumerate(pages, 1):
        words = [mark.text for mark in page.marks if isinstance(mark, Text)]
        assert any(text.startswith("Labels: Gorge cable camera") for text in words)
        assert f"sheet {number} of {len(pages)} · print at 100 %, cut on the broken lines" in " ".join(words)
        assert words.count("this bar is 50 mm") == 1
        foot = [mark for mark in page.marks if isinstance(mark, Text) and 0 <= mark.y - HEIGHT_OF_FOOT <= 10]
        forms = {made[frame.name].form for frame in page.frames} - {"flat"}
        ground = any(text.startswith("G|") for frame in page.frames for text in lines(made[frame.name]))
        assert " ".join(mark.text for mark in foot) == told_of(forms, ground=ground)
        assert all(mark.x + mark.width <= page.width - 10 for mark in foot)
        low = "sleeve" in forms
        sleeves.append(low)
        marks = set(page.marks)
        for frame in page.frames:
            for mark in made[frame.name].marks:
                assert moved(mark, frame.x, frame.y) in marks
        bars = [
            mark.points
            for mark in page.marks
            if isinstance(mark, Line)
            and mark.points[1][0] - mark.points[0][0] == pytest.approx(50)
            and not mark.dash
        ]
        assert [points[0][0] for points in bars if points[0][1] > 280] == [10]
    assert set(sleeves) == {True, False}
    assert [page.bookmarks for page in pages] == [("Labels",), *[()] * (len(pages) - 1)]


def test_labels_stand_in_the_middle_of_their_cells(gorge: Rig) -> None:
    """And all marks of a label move with it; the cells of the second row lie one cell and one gap below the first."""
    sheet = sheet_of((98, 120), (5, 20), ("0.5", "-0.25"))
    rig = gorge._replace(sheet=sheet)
    made = all_labels(FACE, rig)
    pages = label_sheets(FACE, rig, Used()).document.pages[:-1]
    corners = [(5.5, 19.75), (107.5, 19.75), (5.5, 141.75), (107.5, 141.75)]
    at = 0
    for number, page in enumerate(pages, 1):
        assert page.bookmarks == (f"Labels, sheet {number}",)
        marks = set(page.marks)
        for frame, (x, y) in zip(page.frames, corners, strict=False):
            label = made[at]
            assert (frame.name, frame.width, frame.height) == (label.name, label.width, label.height)
            assert frame.x == pytest.approx(x + (98 - label.width) / 2)
            assert frame.y == pytest.approx(y + (120 - label.height) / 2)
            assert all(moved(mark, frame.x, frame.y) in marks for mark in label.marks if isinstance(mark, Text))
            at += 1
    assert at == len(made)


@pytest.mark.parametrize(
    ("cell", "margin", "gap", "offset", "room"),
    [
        (
            "208.5 295",
            "1 1",
            "0 0",
            "0 0",
            (208.5 - 1.7 - 2.2, 295 - 1.7 - 1.7),
        ),  # one cell, 0.5 mm to its right
        ("100 140", "0 4", "5 3", "0 0", (100 - 2.7, 140)),  # 5 mm on the right, 10 mm at the foot
        ("100 140", "5 10", "5 7", "0 0", (100 - 2.7, 140 - 2.7)),  # none on the right, none at the foot
        (
            "100 140",
            "3 4",
            "2 2",
            "1 0",
            (100, 140),
        ),  # 3 mm on the left, 5 mm on the right: moved by 1 mm 4 and 4
        ("100 140", "3 4", "2 2", "-1 2", (100 - 0.7, 140)),
        ("100 140", "5 3", "2 2", "0 -1", (100, 140 - 0.7)),
        ("100 140", "4 3", "2 14", "2 1", (100 - 0.7, 140 - 3.7)),  # the last row hangs 1 mm over the foot
    ],
)
def test_no_label_goes_to_the_edge_of_the_paper(
    gorge: Rig, cell: str, margin: str, gap: str, offset: str, room: tuple[float, float]
) -> None:
    """Its print keeps 1.5 mm from its edge, and 4.2 mm from the edge of the paper: the label itself keeps 2.7 mm."""

    def pair(text: str) -> tuple[Fraction, Fraction]:
        first, second = map(Fraction, text.split())
        return first, second

    count = 1 if cell.startswith("2") else 2
    sheet = COMMON["a4-3x8-70x37"]._replace(
        columns=count, rows=count, cell=pair(cell), margin=pair(margin), gap=pair(gap), offset=pair(offset)
    )
    rig = gorge._replace(sheet=sheet)
    assert largest(rig) == pytest.approx(room)
    label = Label("one", "flat", *room, (), ())
    page = label_sheets(FACE, rig, Used(), [label] * sheet.cells).document.pages[0]
    (wide, tall), (right, down) = map(float, sheet.cell), map(float, sheet.offset)
    reached = box(0, 0, 210, 297).buffer(-2.7, join_style="mitre")
    for number, frame in enumerate(page.frames, 1):
        x, y = cell_place(sheet, number)
        whole = box(x + right, y + down, x + right + wide, y + down + tall)
        found = box(frame.x, frame.y, frame.x + frame.width, frame.y + frame.height)
        assert whole.intersection(reached).buffer(1e-6).covers(found), number
    for more in ((0.1, 0.0), (0.0, 0.1)):
        assert too_large(FACE, rig, [label._replace(width=room[0] + more[0], height=room[1] + more[1])])


@pytest.mark.parametrize("turned", [False, True])
def test_lines_end_where_the_cut_is_near(gorge: Rig, turned: bool) -> None:
    """A label of 40 x 20 mm, 1 mm from the cut to the left and right and 3 mm above and below: 1.5 mm are kept free.

    The same for one that stands the other way.
    """
    drawn: dict[tuple[tuple[float, float], ...], tuple[tuple[float, float], ...] | None] = {
        ((0, 0), (40, 0)): ((0.5, 0), (39.5, 0)),  # along its upper edge, 3 mm from the cut
        ((40, 20), (0, 20)): ((39.5, 20), (0.5, 20)),
        ((0, 0), (0, 20)): None,  # along its left edge, 1 mm from the cut
        ((40, 0), (40, 20)): None,
        ((10, 0), (10, 1.2)): ((10, 0), (10, 1.2)),
        ((10, 18.8), (10, 20)): ((10, 18.8), (10, 20)),
        ((0, 5), (0.5, 5)): None,  # all of it too near
        ((0, 6), (1.2, 6)): ((0.5, 6), (1.2, 6)),
        ((38.8, 6), (40, 6)): ((38.8, 6), (39.5, 6)),
    }
    way = -1 if turned else 1
    width, height = (40.0, 20.0)[::way]
    words = text_at(FACE, 2, 2, "S01-A", 8.0)
    marks = [Line(tuple(point[::way] for point in points)) for points in drawn]
    label = Label("S01-A", "wrap", width, height, (words, *marks), ("S01-A",))
    right, down = (1, 3)[::way]
    sheet = sheet_of((round(width) + 2 * right, round(height) + 2 * down), (5, 20))
    page = label_sheets(FACE, gorge._replace(sheet=sheet), Used(), [label]).document.pages[0]
    found = [mark.points for mark in page.marks if isinstance(mark, Line)]

    kept = [[point[::way] for point in points] for points in drawn.values() if points]
    assert len(found) == len(kept)
    for line, points in zip(found, kept, strict=True):
        assert line == tuple(pytest.approx((x + 5 + right, y + 20 + down)) for x, y in points)
    assert moved(words, 5 + right, 20 + down) in page.marks


def test_what_stands_about_the_cells(gorge: Rig) -> None:
    """Lines of 6 pt above the cells from 4.2 mm, what a printer cannot reach, then below them; none on a cell."""
    sheet = sheet_of((98, 120), (5, 8))
    for used, wanted in ((Used(), 1), (Used(start=2), 2)):
        for number, page in enumerate(
            label_sheets(FACE, gorge._replace(sheet=sheet), used).document.pages[:-1], 1
        ):
            told = [
                mark
                for mark in page.marks
                if isinstance(mark, Text)
                and not any(
                    frame.x <= mark.x <= frame.x + frame.width and frame.y <= mark.y <= frame.y + frame.height
                    for frame in page.frames
                )
            ]
            first = f"{FEED}  ·  {sheet.name}  ·  sheet {number}".replace("  ", " ")
            how = told_of({"flag", "wrap"}, ground=True)
            assert [mark.text for mark in told] == [
                first,
                *[SHEDDING][: (wanted if number == 1 else 1) - 1],
                how,
            ]
            assert {(mark.x, mark.size) for mark in told} == {(10, 6)}
            assert told[0].y == pytest.approx(4.2 + 0.94 * 6 * POINT)
            if len(told) > 1:  # above the cells is room for one line only
                assert told[1].y == pytest.approx(8 + 2 * 120 + 2 + 0.94 * 6 * POINT)
    for margin in (6, 4, 1):  # no line goes between 4.2 mm and the cells: nothing is printed on them or beside
        page = label_sheets(
            FACE, gorge._replace(sheet=sheet_of((98, 120), (5, margin))), Used(2)
        ).document.pages[0]
        assert FEED not in " ".join(mark.text for mark in page.marks if isinstance(mark, Text))


@pytest.mark.parametrize(
    ("height", "margin", "rows"),
    [
        (120, 20, (4.2, 4.2 + 2.582, 4.2 + 2 * 2.582)),  # all above
        (120, 8, (4.2, 8 + 242, 8 + 242 + 2.582)),  # one line above, two below the cells
        (140, 9, (4.2,)),  # 297 - 9 - 282 = 6 mm below: too little for a line
        (143, 8, (4.2,)),
    ],
)
def test_lines_about_the_cells_stand_one_below_the_other(
    gorge: Rig, height: int, margin: int, rows: tuple[float, ...]
) -> None:
    """A name that takes two lines of 190 mm, and the warning; 6 pt are 2.582 mm a line, 1.990 to its foot."""
    sheet = sheet_of((98, height), (5, margin))._replace(name="W" * 100)
    label = Label("one", "flat", 60.0, 30.0, (), ())
    page = label_sheets(FACE, gorge._replace(sheet=sheet), Used(start=2), [label]).document.pages[0]
    told = [mark for mark in page.marks if isinstance(mark, Text)]

    assert [mark.y for mark in told] == [pytest.approx(row + 1.990, abs=0.01) for row in rows]
    assert all(mark.width <= 190 for mark in told)


def test_no_sheet_is_left_when_all_its_cells_are_used(gorge: Rig) -> None:
    """Four labels on four cells: the next begins a new sheet, of which none is used; without labels all stays."""
    rig = gorge._replace(sheet=sheet_of((98, 120), (5, 8)))
    label = Label("one", "flat", 60.0, 30.0, (), ())
    full = label_sheets(FACE, rig, Used(), [label] * 4)
    assert (full.cells, full.next_cell, full.cells_left) == (((1, 2, 3, 4),), 1, 0)

    none = label_sheets(FACE, rig, Used(start=3), [])
    assert (none.cells, none.next_cell, none.cells_left) == ((), 3, 2)
    assert none.document.name == "labels"


def test_the_page_to_align_by(gorge: Rig) -> None:
    """Each cell as a box with its number in the middle; what to do, from the first cell on, above the numbers."""
    cells = [((98, 60), ("1", "-2"), 8), ((60, 16), ("0", "0"), 1), ((60, 14), ("0", "0"), 0)]
    cells += [((width, 60), ("0", "0"), 8) for width in range(61, 98)]
    for cell, offset, room in cells:
        sheet = sheet_of(cell, (5, 20), offset)
        page = label_sheets(FACE, gorge._replace(sheet=sheet), Used(start=2), []).document.pages[-1]
        right, down = (float(shift) for shift in sheet.offset)
        corners = [
            (5 + right + column * (cell[0] + 4), 20 + down + row * (cell[1] + 2))
            for row in range(2)
            for column in range(2)
        ]
        boxes = [mark for mark in page.marks if isinstance(mark, Rectangle)]
        assert [(box.x, box.y, box.width, box.height) for box in boxes] == [(x, y, *cell) for x, y in corners]
        assert all(0.1 <= box.weight <= 0.3 for box in boxes)
        assert [(frame.x, frame.y, frame.width, frame.height) for frame in page.frames] == [
            (x, y, *cell) for x, y in corners
        ]
        assert [frame.name for frame in page.frames] == ["cell 1", "cell 2", "cell 3", "cell 4"]
        assert page.bookmarks == ("Alignment, on plain paper",)
        large = [mark for mark in page.marks if isinstance(mark, Text) and mark.size == 12]
        assert [mark.text for mark in large] == ["1", "2", "3", "4"]
        for mark, (x, y) in zip(large, corners, strict=True):
            stands([mark], x, cell[0], y + cell[1] / 2 - 3)
        said = [
            f"Plain paper only, at 100 %  ·  {sheet.name}",
            FEED,
            "Hold it behind a sheet of labels, against the light: do the lines lie on the cuts?",
            "If not, measure how far the cuts lie right of the lines and below them.",
            "Write it in the sheet's block, such as “offset 0.5mm, -0.3mm”.",
            "A common sheet has no block: copy its sizes into one of your own.",
            SHEDDING,
        ]
        wrapped = [line for text in said for line in wrap(FACE, text, 7, cell[0] - 4)]
        small = [mark for mark in page.marks if isinstance(mark, Text) and mark.size == 7]
        assert [mark.text for mark in small] == wrapped[: 4 * room]
        for at, mark in enumerate(small):
            x, y = corners[at // room]
            assert mark.x == pytest.approx(x + 2)
            assert mark.y == pytest.approx(y + ROOM + at % room * pitch(7) + 0.94 * 7 * POINT)
            assert mark.y < y + cell[1] / 2 - 3 + pitch(7)


def test_each_instruction_has_a_cell_of_its_own_where_all_fit(gorge: Rig) -> None:
    """One a cell, from the first on, if none is too tall for the room above the number; else they run on."""
    told = [
        "Plain paper only, at 100 %  ·  sheet-1: Clear film\n" + FEED,
        "Hold it behind a sheet of labels, against the light: do the lines lie on the cuts?",
        "If not, measure how far the cuts lie right of the lines and below them.",
        "Write it in the sheet's block, such as “offset 0.5mm, -0.3mm”.",
        SHEDDING,
    ]
    found = set()
    grids = [((3, 8), width, height) for width in range(30, 61) for height in (20, 24, 30, 34)]
    for (columns, rows), width, height in [*grids, ((1, 5), 190, 50), ((1, 4), 190, 60)]:
        sheet = COMMON["a4-3x8-70x37"]._replace(
            name="sheet-1",
            title="Clear film",
            columns=columns,
            rows=rows,
            cell=(Fraction(width), Fraction(height)),
            margin=(Fraction(5), Fraction(6)),
        )
        page = label_sheets(FACE, gorge._replace(sheet=sheet), Used(start=2), []).document.pages[-1]
        room = floor((height / 2 - 3 - ROOM) / pitch(7))
        wrapped = [wrap(FACE, text, 7, width - 4) for text in told]
        tallest = max(map(len, wrapped))
        found.add((tallest < room, tallest == room))
        if tallest <= room and columns * rows >= 5:
            cells = wrapped
        else:
            whole = [line for lines in wrapped for line in lines]
            cells = [whole[at : at + room] for at in range(0, len(whole), room)]
        said: list[list[str]] = [[] for _ in range(columns * rows)]
        for mark in page.marks:
            if isinstance(mark, Text) and mark.size == 7:
                across, down = (mark.x - 5) // width, (mark.y - 6) // height
                said[round(down * columns + across)].append(mark.text)
                assert mark.y <= 6 + down * height + height / 2 - 3, "above the number"
        assert said == [*cells, *[[]] * len(said)][: len(said)], (width, height)
    assert len(found) == 3, "shorter than the room, as tall, taller"


@pytest.mark.parametrize(
    ("top", "down"), [("0", "0"), ("0.5", "0.4"), ("2", "1"), ("2", "-1"), ("4", "-3"), ("3", "0")]
)
@pytest.mark.parametrize("left", ["0", "1.5", "5"])
def test_instructions_keep_off_the_edge_of_the_paper(gorge: Rig, left: str, top: str, down: str) -> None:
    """4.2 mm, the room above each number is used to its last line of 7 pt, and no line reaches the number."""
    gap = float(top) + float(down)
    for height in range(24, 50):
        sheet = sheet_of((80, height), (0, 0), ("0", down))
        sheet = sheet._replace(margin=(Fraction(left), Fraction(top)))
        page = label_sheets(FACE, gorge._replace(sheet=sheet), Used(), []).document.pages[-1]
        small = [mark for mark in page.marks if isinstance(mark, Text) and mark.size == 7]
        edge = max(ROOM, 4.2 - gap)  # mm from the cut to the first line
        rows = floor((height / 2 - 3 - edge) / pitch(7) + 1e-9)
        first = [mark for mark in small if mark.x < 80 and mark.y < gap + height]
        assert [mark.y for mark in first] == pytest.approx(
            [gap + edge + row * pitch(7) + 0.94 * 7 * POINT for row in range(rows)]
        )
        assert all(mark.x >= max(4.2, float(left) + ROOM) for mark in small)
        assert all(mark.x + mark.width <= float(left) + 164 - ROOM for mark in small)


def test_a_sheet_of_another_paper_is_not_named(gorge: Rig) -> None:
    """What goes on no cell of the only Letter sheet goes on A4 ones, which no Letter tray takes."""
    gorge = with_jackets(gorge, Fraction(12))  # a wrap of 32 + 37.7 + 2 = 72 mm is longer than a cell of 67 mm
    rig = gorge._replace(sheet=COMMON["letter-3x10-67x25"])
    assert too_large(FACE, rig)
    assert any(
        not too_large(FACE, gorge._replace(sheet=sheet)) for sheet in COMMON.values() if sheet.page == "a4"
    )
    assert sheet_that_holds(FACE, rig) == ""
    narrow = COMMON["a4-3x8-70x37"]._replace(cell=(Fraction(20), Fraction(20)))
    found = sheet_that_holds(FACE, gorge._replace(sheet=narrow))
    assert not too_large(FACE, gorge._replace(sheet=COMMON[found]))


@pytest.mark.parametrize("name", [None, *COMMON])
def test_where_labels_go_is_told_on_paper(gorge: Rig, name: str | None) -> None:
    """On the film, in the margins of a sheet, or, where its cells leave none, on the page to align it by."""
    rig = gorge._replace(sheet=COMMON[name] if name else None)
    pages = label_sheets(FACE, rig, Used()).document.pages
    told = [" ".join(mark.text for mark in page.marks if isinstance(mark, Text)) for page in pages]
    where = ("30 to 50 mm behind the plug", "fold at the ticks", "ground side of the plug")
    if name:
        assert all(words in told[-1] for words in where), told[-1]
    else:
        assert all(any(words in text for text in told) for words in where)


def test_a_sheet_that_the_file_declares_is_named_first(gorge: Rig) -> None:
    """If its cells hold all labels; the house has it in stock."""
    narrow = COMMON["a4-3x8-70x37"]._replace(cell=(Fraction(20), Fraction(20)))
    own = COMMON["a4-2x4-99x68"]._replace(name="own")
    assert sheet_that_holds(FACE, gorge._replace(sheet=narrow, sheets=(narrow, own))) == "own"
    assert sheet_that_holds(FACE, gorge._replace(sheet=narrow, sheets=(narrow,))) in COMMON


def test_start_at_8_on_3_by_8_is_row_3_column_2() -> None:
    """F38, arithmetic: 31 labels from cell 8 fill 17 here and 14 on the next; next start 15, 10 left."""
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


def test_labels_that_do_not_fit_are_refused(tmp_path: Path) -> None:
    """A wrap of 32 + 47.1 + 2 = 82 mm, round 15 mm, goes on no cell of 70 mm: nothing is cut off or set smaller."""
    path = tmp_path / "rig.rig"
    text = on_sheet("a4-3x8-70x37").replace("jacket      8mm", "jacket      15mm")
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    diagnostics = Diagnostics()
    papers = build_rig(path, diagnostics, None, Request(), STOCK)

    assert papers is None
    (found,) = diagnostics
    assert found.code.id == "RC504"
    assert "x 82.0 mm" in found.message
    assert found.hint == "write `labels on a4-2x7-99x38`: its cells hold all labels"
    better, codes = build(tmp_path, text.replace("a4-3x8-70x37", "a4-2x7-99x38"), Request(only=("labels",)))
    assert better is not None and codes == []


def test_no_sheet_is_named_where_none_holds_them(tmp_path: Path) -> None:
    """Round 40 mm a wrap is 83.7 + 125.7 + 2 = 212 mm: longer than any common cell, so film is left."""
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
    """A wrap of 53 mm lies across a cell of 37 or 38 mm and stands on one of 68 mm; its words go along the cable."""
    papers, codes = build(tmp_path, on_sheet(name), Request(only=("labels",)))
    solved = check_rig(tmp_path / "rig.rig", Diagnostics(), stock=STOCK).solved
    assert papers is not None and codes == [] and solved is not None
    pages = label_sheets(FACE, solved.rig, Used()).document.pages
    frames = {frame.name: (page, frame) for page in pages[:-1] for frame in page.frames}
    turned = name != "a4-2x4-99x68"
    for end in ("P01-A", "P01-B", "P01-S1-A"):
        page, frame = frames[end]
        assert (frame.width if turned else frame.height) == 53  # 25.1 + 25.1 + 2
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
    assert too_large(FACE, rig) == []
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


# ---- labels ------------------------------------------------------------------------------------------------------


def test_labels_lie_apart_inside_the_paper(papers: SamplePapers) -> None:
    """No label leaves the printable paper or lies on another."""
    for page in papers.documents["labels"].pages:
        for at, frame in enumerate(page.frames):
            assert frame.x >= UNPRINTABLE and frame.x + frame.width <= page.width - UNPRINTABLE
            assert frame.y >= UNPRINTABLE and frame.y + frame.height <= page.height - UNPRINTABLE
            for other in page.frames[at + 1 :]:
                across = min(frame.x + frame.width, other.x + other.width) - max(frame.x, other.x)
                down = min(frame.y + frame.height, other.y + other.height) - max(frame.y, other.y)
                assert across <= 0 or down <= 0, (frame, other)


@pytest.mark.parametrize("sheet", [None, *COMMON])
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("language", LANGUAGES)
def test_nothing_is_cut_or_overlaps(sample: Path, sheet: str | None, language: str) -> None:
    """Every sample on film of both papers and on every common sheet, in every language: no text leaves its label or lies
    on another one; none is on a cut."""
    rig = solved_rig(sample).rig
    with speaking(language):
        for paper in ("a4", "letter"):
            rig = rig._replace(paper=paper, sheet=COMMON[sheet] if sheet else None)
            large = too_large(FACE, rig)
            for label in all_labels(FACE, rig):
                marks = texts(label)
                assert apart(marks), label.name
                for mark in marks if label not in large else ():
                    left, high, right, low = inked(mark)
                    assert left >= ROOM - 0.02 and right <= label.width - ROOM + 0.02, (label.name, mark)
                    assert high >= ROOM - 0.02 and low <= label.height - ROOM + 0.02, (label.name, mark)
            for page in label_sheets(FACE, rig, Used()).document.pages if not large else ():
                assert apart([mark for mark in page.marks if isinstance(mark, Text)])
            if sheet:
                break
