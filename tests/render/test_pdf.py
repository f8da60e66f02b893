"""What is written into a PDF, as readers that have nothing to do with the pen find it."""

from __future__ import annotations

import csv
import re
import subprocess
from io import BytesIO
from itertools import groupby, pairwise, product
from pathlib import Path
from typing import Any

import numpy as np
import pdfplumber
import pikepdf
import pypdf
import pypdfium2
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from cardlines import squeezed
from papers import SamplePapers, _inside
from prints import MM, SHEETS, Sample, built, grey, operations, plain_cases
from rigcard import __version__
from rigcard.documents.base.model import (
    MM_PER_POINT,
    Bars,
    Circle,
    Curve,
    Document,
    Line,
    Mark,
    Page,
    Rectangle,
    Shape,
    Squares,
    Text,
)
from rigcard.render.pdf import pdf
from rigcard.render.typeface import EmbeddedTypeface
from samples import REFERENCE

pytest_plugins = (
    "papers",
    "prints",
)

FACE = EmbeddedTypeface()
WEIGHTS = {False: "Regular", True: "Semibold"}


WIDE, TALL = 90.0, 130.0  # mm of a page


EVERY = "".join(char for char in map(chr, range(0x21, 0x250)) if char.isprintable() and not FACE.lacks(char))


def document(*pages: list[Mark]) -> Document:
    """Pages of marks, each 10 mm taller than the one before."""
    return Document(
        "pages",
        "Pages of marks",
        tuple(
            Page(WIDE, TALL + 10 * number, tuple(marks), (), (f"Page {number}", f"Again {number}"))
            for number, marks in enumerate(pages)
        ),
        "de",
        "Marks",
    )


def text(
    x: float, y: float, words: str, size: float, bold: bool, angle: int = 0, inverse: bool = False
) -> Text:
    """A text as wide as it is."""
    return Text(x, y, words, size, bold, FACE.width(words, size, bold), angle, inverse)


def path_of(found: dict[str, Any]) -> list[tuple[float, float]]:
    """The points of a path that pdfplumber found, in mm from the top left corner."""
    return [(x / MM, y / MM) for _, *points in found["path"] for x, y in points]


def near(points: Any, other: Any) -> bool:
    """Whether points lie less than 0.001 mm from others; a PDF tells thousandths of a point."""
    return np.shape(points) == np.shape(other) and bool(np.allclose(points, other, atol=1e-3))


def bounds(points: list[tuple[float, float]]) -> tuple[float, float, float, float]:
    """Left, top, right and bottom."""
    return (*np.min(points, axis=0), *np.max(points, axis=0))


def is_drawn(mark: Mark, found: dict[str, Any]) -> None:
    """A path is that of a mark: where it is, its line, whether it is filled and how."""
    points = path_of(found)
    if isinstance(mark, Line | Curve | Shape):
        assert near(points, mark.points)
        assert (found["path"][-1][0] == "h") == isinstance(mark, Shape), "a shape is closed, a line is not"
    elif isinstance(mark, Rectangle):
        assert near(bounds(points), (mark.x, mark.y, mark.x + mark.width, mark.y + mark.height))
        corner = min(np.hypot(x - mark.x, y - mark.y) for x, y in points)
        assert corner <= 1e-3 if not mark.radius else corner >= 0.4 * mark.radius
    else:
        assert isinstance(mark, Circle)
        whole = (mark.x - mark.radius, mark.y - mark.radius, mark.x + mark.radius, mark.y + mark.radius)
        assert near(bounds(points), whole)
    assert found["stroke"]
    assert found["stroking_color"] in (0, (0,))
    assert found["linewidth"] / MM == pytest.approx(mark.weight, abs=5e-4)
    strokes, begin = found["dash"]
    assert begin == 0
    assert near([stroke / MM for stroke in strokes], getattr(mark, "dash", ()))
    solid = getattr(mark, "solid", False)
    assert found["fill"] == (solid or (isinstance(mark, Rectangle) and mark.blank))
    assert not found["fill"] or float(np.ravel(found["non_stroking_color"])[0]) == (0 if solid else 1)


def kind_of(mark: Mark) -> str:
    """Where pdfplumber lists a mark."""
    if isinstance(mark, Text):
        return "char"
    if isinstance(mark, Line) and len(mark.points) == 2:
        return "line"
    return "rect" if isinstance(mark, Rectangle) and not mark.radius else "curve"


def are_set(marks: list[Text], chars: list[dict[str, Any]], height: float) -> None:
    """Each character stands where the width of those before it puts it, in its face, size, turn and colour."""
    assert "".join(char["text"] for char in chars) == "".join(mark.text for mark in marks)
    at = 0
    for mark in marks:
        for number, char in enumerate(chars[at : at + len(mark.text)]):
            along = FACE.width(mark.text[:number], mark.size, mark.bold)
            x, y = (mark.x, mark.y - along) if mark.angle else (mark.x + along, mark.y)
            *turn, found_x, found_y = char["matrix"]
            assert turn == ([0, 1, -1, 0] if mark.angle else [1, 0, 0, 1])
            assert near((found_x / MM, height - found_y / MM), (x, y)), mark
            assert char["fontname"].endswith(f"-{WEIGHTS[mark.bold]}")
            size = char["width"] if mark.angle else char["height"]
            assert size == pytest.approx(mark.size)
            assert char["non_stroking_color"] == ((1,) if mark.inverse else (0,))
        at += len(mark.text)


MILLIMETRES = st.integers(0, 8000).map(lambda hundredths: hundredths / 100)
SIDE = st.integers(10, 900).map(lambda hundredths: hundredths / 100)
POINT = st.tuples(MILLIMETRES, MILLIMETRES)
WEIGHT = st.sampled_from((0.1, 0.15, 0.25, 1.0))
DASH = st.sampled_from(((), (1.0, 1.0), (2.0, 0.5)))


MARKS: st.SearchStrategy[Mark] = st.one_of(
    st.builds(
        text,
        MILLIMETRES,
        MILLIMETRES,
        st.text("Wi 1(\\)é→Ω", min_size=1, max_size=5),
        st.sampled_from((6.0, 6.5, 12.0)),
        st.booleans(),
        st.sampled_from((0, 0, 90)),
        st.booleans(),
    ),
    st.builds(Line, st.lists(POINT, min_size=2, max_size=2, unique=True).map(tuple), WEIGHT, DASH),
    st.builds(Line, st.just(((1.0, 2.0), (3.0, 9.0), (8.0, 4.0))), WEIGHT, DASH),
    st.builds(Curve, st.lists(POINT, min_size=7, max_size=7, unique=True).map(tuple), WEIGHT, DASH),
    st.builds(
        Rectangle,
        MILLIMETRES,
        MILLIMETRES,
        SIDE,
        SIDE,
        WEIGHT,
        DASH,
        st.sampled_from((0.0, 0.0, 0.04)),
        st.booleans(),
        st.booleans(),
    ),
    st.builds(Shape, st.just(((1.0, 2.0), (3.0, 9.0), (8.0, 4.0))), WEIGHT, st.booleans()),
    st.builds(Circle, MILLIMETRES, MILLIMETRES, SIDE, WEIGHT, st.booleans()),
)


def are_found(pages: list[list[Mark]]) -> None:
    """Each mark in its place by pdfplumber, texts and paths in their order by pdfium."""
    data = pdf(document(*pages), FACE, compress=False)
    with pdfplumber.open(BytesIO(data)) as read:
        assert len(read.pages) == len(pages)
        for number, (marks, page) in enumerate(zip(pages, read.pages, strict=True)):
            height = TALL + 10 * number
            assert near((page.width / MM, page.height / MM), (WIDE, height))
            are_set([mark for mark in marks if isinstance(mark, Text)], page.chars, height)
            for kind in ("line", "rect", "curve"):
                wanted = [mark for mark in marks if kind_of(mark) == kind]
                found = page.objects.get(kind, [])
                assert len(found) == len(wanted)
                for mark, drawn in zip(wanted, found, strict=True):
                    is_drawn(mark, drawn)
    for marks, page in zip(pages, pypdfium2.PdfDocument(data), strict=True):
        text_or_path = {pypdfium2.raw.FPDF_PAGEOBJ_TEXT: True, pypdfium2.raw.FPDF_PAGEOBJ_PATH: False}
        order = [kind for kind, _ in groupby(text_or_path[drawn.type] for drawn in page.get_objects())]
        assert order == [kind for kind, _ in groupby(isinstance(mark, Text) for mark in marks)]


@settings(max_examples=60)
@given(st.lists(st.lists(MARKS, min_size=1, max_size=12), min_size=1, max_size=2))
def test_every_mark_is_found_where_it_was_set(pages: list[list[Mark]]) -> None:
    """Whatever stands before it: place, size, weight, dash, colour, turn and order."""
    are_found(pages)


def test_marks_after_any_others() -> None:
    """Words black and white, two kinds of lines, and boxes that are filled, each after any three."""
    kinds: list[Mark] = [
        text(5, 9, "Wi", 8.0, False),
        text(5, 9, "Wi", 8.0, False, inverse=True),
        Line(((1, 2), (30, 7)), 0.2),
        Line(((1, 2), (30, 7)), 0.2, (1.0, 1.0)),
    ]
    are_found([[mark for marks in product(kinds, repeat=4) for mark in marks]])
    kinds += [
        Rectangle(9, 9, 9, 9, 0.2, solid=True),
        Rectangle(9, 9, 9, 9, 0.2),
        text(5, 90, "W", 6.5, True, 90),
    ]
    are_found([[mark for marks in product(kinds, repeat=2) for mark in marks]] * 2)


def test_every_operator_is_one_of_the_standard() -> None:
    """And stands where it may (ISO 32000-1, 8.2, annex A): no text within text, no path within it."""
    marks = [text(5, 9, "Wi", 8.0, False), Line(((1, 2), (30, 7))), text(5, 9, "W", 8.0, True, 90)]
    with pikepdf.open(BytesIO(pdf(document([*marks, Rectangle(9, 9, 9, 9), *marks]), FACE))) as read:
        done = [operator for operator, _ in operations(read.pages[0])]
    within = {"Tm", "Tf", "Tj", "TL", "Td", "T*"}
    outside = {"BT", "cm", "q", "Q", "g", "G", "w", "d", "J", "j", "M", "n", "m", "l", "re", "S"}
    opened = False
    for operator in done:
        assert operator in (within | {"ET"} if opened else outside), operator
        opened = operator == "BT" or (opened and operator != "ET")
    assert not opened and done.count("BT") >= 4


@pytest.mark.parametrize("compress", [False, True])
def test_a_text_of_more_characters_than_a_part_of_a_font_holds(compress: bool) -> None:
    """Of 256: each still stands where the width of those before it puts it; and so on the next page, in both weights."""
    assert len(EVERY) > 300
    marks = [text(1, 5, EVERY[::way], 6.0, bold) for bold in (False, True, False) for way in (1, -1)]
    data = pdf(document(marks, marks), FACE, compress=compress)
    with pdfplumber.open(BytesIO(data)) as read:
        for number, page in enumerate(read.pages):
            are_set(marks, page.chars, TALL + 10 * number)


def test_what_is_drawn_later_lies_on_top() -> None:
    """By pdfium: white words on a black box; a blank box over words and lines hides them, one that is clear does not."""
    below: list[Mark] = [Rectangle(10, 10, 30, 10, solid=True), text(12, 18, "W", 24.0, True, inverse=True)]
    hidden: list[Mark] = [
        Line(((10, 45), (60, 45)), 1.0),
        Rectangle(12, 41, 20, 8),
        text(15, 47, "W", 24.0, True),
    ]
    data = pdf(
        document([*below, *hidden, Rectangle(11, 40, 25, 10, 0.2, blank=True), Rectangle(40, 40, 10, 10)]), FACE
    )
    dots = grey(pypdfium2.PdfDocument(data)[0], 254) / 255  # ten dots a mm
    assert 0.1 < dots[120:180, 120:200].mean() < 0.9, "the letter"
    assert dots[120:180, 300:380].max() == 0, "the box"
    assert dots[405:495, 115:355].min() == 1, "what lies under the blank box"
    assert dots[445:455, 370:590].max() < 0.6, "the line goes on, through the clear box too"


def test_bars_and_squares_are_black_after_white_words() -> None:
    """Their sides as the document has them, whatever was set before; and a reader reads the squares."""
    widths = (2, 1, 1, 2, 3, 1)
    white = text(5, 60, "W", 12.0, True, inverse=True)
    for before in ([], [white], [Line(((1, 1), (9, 1))), white]):
        marks: list[Mark] = [
            *before,
            Bars(20, 10, widths, 0.5, 8),
            *before,
            Squares(20, 30, "HS-014-G", 0.6, 1),
        ]
        data = pdf(document(marks), FACE, compress=False)
        with pdfplumber.open(BytesIO(data)) as read:
            rects = read.pages[0].rects
        assert all(rect["fill"] and not rect["stroke"] for rect in rects)
        assert {float(np.ravel(rect["non_stroking_color"])[0]) for rect in rects} == {0}
        bars = [bounds(path_of(rect)) for rect in rects[:3]]
        assert near(bars, [(20, 10, 21, 18), (21.5, 10, 22, 18), (23, 10, 24.5, 18)])
        squares = [bounds(path_of(rect)) for rect in rects[3:]]
        corners = [(x, y) for left, top, right, foot in squares for x, y in ((left, top), (right, foot))]
        assert near(bounds(corners), (20, 30, 20 + 21 * 0.6, 30 + 21 * 0.6))
        assert all(near(foot - top, 0.6) for _, top, _, foot in squares)
        runs = sorted((round(top, 2), left, right) for left, top, right, _ in squares)
        for (row, _, right), (other, left, _) in pairwise(runs):
            assert row != other or left - right > 0.5, "no hairline parts two squares, none is drawn twice"
        picture = pypdfium2.PdfDocument(data)[0].render(scale=300 / 72).to_pil()
        assert "HS-014-G" in [code.text for code in zxingcpp.read_barcodes(picture)]


def test_squares_bear_medium_correction() -> None:
    """A reader tells the level that it found (ISO/IEC 18004: L, M, Q, H)."""
    data = pdf(document([Squares(20, 30, "HS-014-G", 0.6, 1)]), FACE)
    (code,) = zxingcpp.read_barcodes(pypdfium2.PdfDocument(data)[0].render(scale=300 / 72).to_pil())
    assert code.ec_level == "M"


def test_what_a_file_tells_of_itself() -> None:
    """Title, subject, program, language, and a bookmark for each that a page has; by pypdf."""
    read = pypdf.PdfReader(BytesIO(pdf(document([text(1, 9, "W", 8.0, False)], [], []), FACE)))
    assert read.metadata is not None
    assert (read.metadata.title, read.metadata.author) == ("Pages of marks", "")
    assert read.metadata.subject == "Marks"
    assert read.metadata.creator == f"rigcard {__version__}"
    assert read.root_object["/Lang"] == "de"
    marks = [(mark.title, read.get_destination_page_number(mark)) for mark in read.outline]
    assert marks == [(f"{word} {number}", number) for number in range(3) for word in ("Page", "Again")]


def test_a_file_is_the_same_each_time_and_compressed_unless_told() -> None:
    """The same bytes, pages without marks too; no line of a plain one is packed, all of a compressed one are."""
    made = document([text(1, 9, "Wi", 8.0, False)], [])
    assert pdf(made, FACE) == pdf(made, FACE) != pdf(made, FACE, compress=False)
    for compress, packed in ((True, True), (False, False)):
        for page in pypdf.PdfReader(BytesIO(pdf(made, FACE, compress=compress))).pages:
            content = page["/Contents"].get_object()
            assert ("/Filter" in content) == packed
            assert not packed or content["/Filter"] in ("/FlateDecode", ["/FlateDecode"])


KINDS = ("cards", "labels", "kit", "wiring", "wiring-list")


# ---- PDF ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_text_is_read_back_where_it_was_set(papers: SamplePapers, kind: str) -> None:
    """pypdf finds the words of every text mark on its own page."""
    reader = pypdf.PdfReader(BytesIO(papers.files[kind]))
    document = papers.documents[kind]

    assert len(reader.pages) == len(document.pages)
    for page, read in zip(document.pages, reader.pages, strict=True):
        text = squeezed(read.extract_text())
        for mark in page.marks:
            if isinstance(mark, Text):
                assert squeezed(mark.text) in text, mark


def test_characters_stand_where_they_were_set(papers: SamplePapers) -> None:
    """pdfplumber finds the first and last character of each upright line at its place, to a tenth of a mm."""
    document = papers.documents["labels"]
    with pdfplumber.open(BytesIO(papers.files["labels"])) as read:
        for page, found in zip(document.pages, read.pages, strict=True):
            starts = {(round(char["x0"], 0), char["text"]) for char in found.chars}
            ends = [(char["x1"], char["text"]) for char in found.chars]
            for mark in page.marks:
                if isinstance(mark, Text) and not mark.angle and mark.text.strip() == mark.text != "":
                    x = mark.x / MM_PER_POINT
                    assert {(round(x, 0), mark.text[0]), (round(x + 0.3, 0), mark.text[0])} & starts, mark
                    right = (mark.x + mark.width) / MM_PER_POINT
                    assert any(abs(x1 - right) < 0.3 and char == mark.text[-1] for x1, char in ends), mark


@pytest.mark.parametrize("kind", KINDS)
def test_fonts_are_embedded_subsets(papers: SamplePapers, kind: str) -> None:
    """Read by pikepdf: every font has its file inside and a subset's tag of six letters (ISO 32000-1, 9.6.4)."""
    names = set()
    with pikepdf.open(BytesIO(papers.files[kind])) as read:
        for page in read.pages:
            for font in page.Resources.get("/Font", {}).values():
                names.add(str(font.BaseFont))
                assert re.fullmatch(r"/[A-Z]{6}\+.+", str(font.BaseFont)), f"{font.BaseFont} is not embedded"
                assert "/FontFile2" in font.FontDescriptor
                assert "/ToUnicode" in font
    assert names


@pytest.mark.parametrize("kind", KINDS)
def test_no_text_is_set_in_a_font_that_is_not_embedded(papers: SamplePapers, kind: str) -> None:
    """pdfplumber names the font of every character: always a subset."""
    with pdfplumber.open(BytesIO(papers.files[kind])) as read:
        names = {char["fontname"] for page in read.pages[:4] for char in page.chars}

    assert names
    assert all(re.match(r"[A-Z]{6}\+", name) for name in names), names


@pytest.mark.parametrize("kind", KINDS)
def test_title_language_and_bookmarks(papers: SamplePapers, kind: str) -> None:
    """The document tells its title and language (ISO 32000-1, 14.3.3 and 14.9.2); each bookmark leads to its page."""
    reader = pypdf.PdfReader(BytesIO(papers.files[kind]))
    document = papers.documents[kind]
    assert reader.metadata is not None

    assert reader.metadata.title == document.title
    assert papers.solved.rig.title in document.title
    assert reader.trailer["/Root"]["/Lang"] == "en"
    expected = [(title, at) for at, page in enumerate(document.pages) for title in page.bookmarks]
    found = [(mark.title, reader.get_destination_page_number(mark)) for mark in reader.outline]
    assert found == expected
    assert found


@pytest.mark.parametrize("kind", KINDS)
def test_qpdf_finds_no_fault(papers: SamplePapers, kind: str, tmp_path: Path) -> None:
    """`qpdf --check` ends with 0 and warns of nothing, compressed or not."""
    for compress in (False, True):
        path = tmp_path / "papers.pdf"
        path.write_bytes(pdf(papers.documents[kind], FACE, compress=compress))
        run = subprocess.run(["qpdf", "--check", str(path)], capture_output=True, text=True, check=False)
        assert run.returncode == 0, run.stdout + run.stderr
        assert "WARNING" not in run.stdout + run.stderr


@pytest.mark.parametrize("kind", KINDS)
def test_every_page_tells_what_it_belongs_to(papers: SamplePapers, kind: str) -> None:
    """Title, job, revision, date and a check code stand on every page, and on every side of a card."""
    rig = papers.solved.rig
    for page in papers.documents[kind].pages:
        parts = [
            [
                mark.text
                for mark in page.marks
                if isinstance(mark, Text)
                and (
                    not frame.name.startswith("card ")
                    or _inside(mark, frame.x, frame.y, frame.width, frame.height)
                )
            ]
            for frame in (page.frames if kind == "cards" else page.frames[:1])
        ]
        for texts in parts:
            whole = squeezed("".join(texts))
            for fact in (rig.title, rig.job, f"rev {rig.revision}", rig.date):
                assert squeezed(fact) in whole, fact
            assert any(re.search(r"check [2-9A-Z]{4}$", text) for text in texts)


# ---- structure ---------------------------------------------------------------------------------------------------


def published_sizes() -> list[tuple[float, float]]:
    """Sizes of paper in points, upright."""
    with open(REFERENCE / "paper.csv", encoding="utf-8", newline="") as file:
        return [(float(row["width_pt"]), float(row["height_pt"])) for row in csv.DictReader(file)]


def check_structure(data: bytes, on_sheets: bool = True) -> None:
    """What every PDF of ours keeps to, as pikepdf reads it; a label on a roll is a page of its own size."""
    forbidden = {
        "/JavaScript",
        "/JS",
        "/URI",
        "/Launch",
        "/GoToR",
        "/SubmitForm",
        "/EmbeddedFile",
        "/OpenAction",
    }
    with pikepdf.open(BytesIO(data)) as read:
        assert str(read.Root.Lang) == "en"
        assert str(read.docinfo["/Title"]).strip()
        with read.open_outline() as outline:
            assert outline.root
        for thing in read.objects:
            if isinstance(thing, pikepdf.Dictionary | pikepdf.Stream):
                assert not forbidden & {str(key) for key in thing.keys()}  # noqa: SIM118 - a stream is no mapping
                assert str(thing.get("/S", "")) not in forbidden
        for page in read.pages:
            box = [float(value) for value in page.mediabox]
            assert box[:2] == [0, 0]
            for name in ("cropbox", "trimbox"):
                assert [float(value) for value in getattr(page, name)] == box
            assert not on_sheets or any(
                sorted(box[2:]) == pytest.approx(size, abs=0.5) for size in map(sorted, published_sizes())
            )
            for font in page.Resources.get("/Font", {}).values():
                descriptor = font.FontDescriptor
                assert "/FontFile2" in descriptor or "/FontFile3" in descriptor, font.BaseFont


def check_black(data: bytes) -> None:
    """Colour is said only as grey, and only black and white are used: meaning never hangs on a tint."""
    with pikepdf.open(BytesIO(data)) as read:
        for page in read.pages:
            for operator, operands in operations(page):
                assert operator not in ("K", "k", "CS", "cs", "SC", "sc", "SCN", "scn", "sh", "gs", "Do"), (
                    operator
                )
                if operator in ("g", "G"):
                    assert float(operands[0]) in (0.0, 1.0)
                elif operator in ("rg", "RG"):
                    assert [float(value) for value in operands] in ([0.0] * 3, [1.0] * 3)


@pytest.mark.parametrize("kind", SHEETS)
def test_structure_of_every_pdf(sample: Sample, kind: str) -> None:
    """Embedded fonts, title, language, outline, boxes of published size; no script, no link out of the file."""
    check_structure(sample.files[f"{kind}.pdf"])


@pytest.mark.parametrize("kind", SHEETS)
def test_only_black_and_white(sample: Sample, kind: str) -> None:
    """No tint at all, so that contrast is the greatest there is (legibility.csv: 21 to 1)."""
    check_black(sample.files[f"{kind}.pdf"])


def test_papers_of_other_rigs(tmp_path_factory: pytest.TempPathFactory) -> None:
    """The same for the papers of some of the case files."""
    paths = plain_cases(60)
    assert paths
    for path in paths:
        for name, data in built(path, tmp_path_factory.mktemp("case")).items():
            if name.endswith(".pdf"):
                check_structure(data, on_sheets=name != "labels.pdf")
                check_black(data)
