"""Nothing on paper is cut off, overprinted or too small, whatever the words: random rigs, and the samples.

A line of text takes the room from its capitals' height to its descenders: 0.66 of the type size above the base
line and 0.2 below it (the typeface's own figures, rounded to its favour).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import pytest
from fontTools.ttLib import TTFont
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from prints import typeface_file
from rigcard.diagnostics import Diagnostics, Severity
from rigcard.documents.base.language import speaking
from rigcard.documents.base.layout import (
    BODY,
    CAP_HEIGHT,
    HUGE,
    LABEL,
    LARGE,
    SMALL,
    TICK,
    Cell,
    flow,
    heading,
    joined,
    row,
    table,
    text_around,
    wrap,
)
from rigcard.documents.base.model import MM_PER_POINT, SMALLEST, Document, Frame, Line, Page, Rectangle, Text
from rigcard.documents.base.paper import CARD_SIZES, LONG_EDGE, ONE_SIDED, SIZES
from rigcard.documents.cards.card_set import card_document, card_pack
from rigcard.documents.cards.frame import leaves_of
from rigcard.documents.diagram.drawing import cell_marks, strip_marks
from rigcard.documents.diagram.graph import Cell as GraphCell
from rigcard.documents.diagram.leads import list_document
from rigcard.documents.diagram.power import power_graph
from rigcard.documents.diagram.sheets import drawing_document
from rigcard.documents.diagram.signals import signal_graph
from rigcard.documents.kit.kit_list import kit_document
from rigcard.documents.labels.label_sheets import label_document
from rigcard.pipeline import build_rig, check_rig
from rigcard.render.dot import place
from rigcard.render.pdf import pdf
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.words import LANGUAGES
from rigcard.solve.solved import Solved
from samples import SAMPLES, STOCK
from strategies import made_words, quoted, reworded_samples, whole_rigs, words

FACE = EmbeddedTypeface()


CAPITALS, DESCENDERS = 0.66, 0.2


TOUCH = 0.02  # mm: rounding


class Room(NamedTuple):
    """The rectangle that a line of text takes."""

    left: float
    top: float
    right: float
    bottom: float

    def inside(self, other: Room) -> bool:
        """Whether it lies in another rectangle."""
        return (
            self.left >= other.left - TOUCH
            and self.top >= other.top - TOUCH
            and self.right <= other.right + TOUCH
            and self.bottom <= other.bottom + TOUCH
        )

    def meets(self, other: Room) -> bool:
        """Whether it covers any of another rectangle."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across > TOUCH and down > TOUCH


def room_of(mark: Text) -> Room:
    """The room of a line of text, read along the page or upward."""
    size = mark.size * MM_PER_POINT
    width = FACE.width(mark.text, mark.size, mark.bold)
    if mark.angle == 90:
        return Room(mark.x - CAPITALS * size, mark.y - width, mark.x + DESCENDERS * size, mark.y)
    assert mark.angle == 0, mark
    return Room(mark.x, mark.y - CAPITALS * size, mark.x + width, mark.y + DESCENDERS * size)


def frame_room(frame: Frame) -> Room:
    """The rectangle of a card, label or field."""
    return Room(frame.x, frame.y, frame.x + frame.width, frame.y + frame.height)


def faults(page: Page) -> Iterator[str]:
    """What is wrong with the text of a page."""
    paper = Room(0, 0, page.width, page.height)
    frames = [(frame, frame_room(frame)) for frame in page.frames]
    for frame, room in frames:
        if not room.inside(paper):
            yield f"{frame.name} leaves the paper: {frame}"
    texts = [(mark, room_of(mark)) for mark in page.marks if isinstance(mark, Text) and mark.text.strip()]
    for mark, room in texts:
        if mark.size < SMALLEST:
            yield f"too small: {mark}"
        if abs(FACE.width(mark.text, mark.size, mark.bold) - mark.width) > TOUCH:
            yield f"measured wrong: {mark}"
        if not room.inside(paper):
            yield f"leaves the paper: {mark}"
        held = [frame for frame, field in frames if room.inside(field)]
        cut = [frame.name for frame, field in frames if not room.inside(field) and room.meets(field)]
        if not held and cut:
            yield f"crosses the edge of {cut[0]}: {mark}"
    texts.sort(key=lambda pair: pair[1].top)
    for at, (mark, room) in enumerate(texts):
        for other, there in texts[at + 1 :]:
            if there.top > room.bottom:
                break
            if room.meets(there):
                yield f"overprinted: {mark} and {other}"


def said(marks: Sequence[object]) -> str:
    """The text of a page without spaces, in the order of its marks."""
    return "".join("".join(mark.text.split()) for mark in marks if isinstance(mark, Text))


FIRST = next(path for path in SAMPLES if path.stem == "first")


def solved_rig(path: Path) -> Solved:
    """A rig that must compile."""
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics, stock=STOCK).solved
    assert solved is not None, [found.message for found in diagnostics if found.code.severity is Severity.ERROR]
    return solved


def documents(solved: Solved) -> list[Document]:
    """All papers of a rig that have pages."""
    graphs = [graph for graph in (signal_graph(FACE, solved), power_graph(FACE, solved)) if graph.cells]
    return [
        card_document(FACE, solved),
        label_document(FACE, solved.rig),
        kit_document(FACE, solved),
        drawing_document(FACE, solved.rig, [(graph, place(graph)) for graph in graphs]),
        list_document(FACE, solved),
    ]


def check_documents(solved: Solved) -> None:
    """The claims of this file on all papers of a rig."""
    rig = solved.rig
    found = []
    for document in documents(solved):
        assert document.pages, document.name
        printed = 0
        for number, page in enumerate(document.pages, 1):
            found += [f"{document.name} {number}: {fault}" for fault in faults(page)]
            text = said(page.marks)
            if document.name == "cards" and not page.frames:  # the back of a leaf that has none
                continue
            printed += 1
            for fact in (rig.title, rig.job, rig.revision, rig.date):
                if "".join(fact.split()) not in text:
                    found.append(f"{document.name} {number}: {fact!r} is cut off or missing")
        assert printed
        assert pdf(document, FACE).startswith(b"%PDF-")
    assert not found, "\n".join(found[:12])


SLOW = settings(
    max_examples=25,
    phases=(Phase.generate,),  # a failing rig is printed as found: to shrink it takes minutes
    suppress_health_check=[
        HealthCheck.too_slow,
        HealthCheck.data_too_large,
        HealthCheck.large_base_example,
        HealthCheck.function_scoped_fixture,
    ],
)


@pytest.mark.slow
@SLOW
@given(text=whole_rigs())
def test_nothing_is_cut_off_or_overprinted(tmp_path: Path, text: str) -> None:
    """All text of all papers of a random rig lies whole in its place, none over another, none too small."""
    path = tmp_path / "random.rig"
    path.write_text(text, encoding="utf-8")
    check_documents(solved_rig(path))


@pytest.mark.slow
@settings(SLOW, max_examples=15)
@given(text=reworded_samples())
def test_samples_in_other_words(tmp_path: Path, text: str) -> None:
    """The same for samples with other words and names; and each part of a diagram is whole on one of its sheets."""
    path = tmp_path / "reworded.rig"
    path.write_text(text, encoding="utf-8")
    solved = solved_rig(path)
    check_documents(solved)
    for graph in (signal_graph(FACE, solved), power_graph(FACE, solved)):
        if graph.cells:
            placed = place(graph)
            pages = drawing_document(FACE, solved.rig, [(graph, placed)]).pages
            marks = [mark for page in pages for mark in page.marks]
            text, small, _ = next(cell.lines[0] for cell in graph.cells if cell.lines)
            shown = [mark for mark in marks if isinstance(mark, Text)]
            drawn = [
                mark
                for number in range(len(graph.strips))
                for mark in strip_marks(FACE, graph, placed, number)
                if isinstance(mark, Rectangle) and not mark.solid
            ]
            boxes = {
                (round(mark.width, 4), round(mark.height, 4)) for mark in marks if isinstance(mark, Rectangle)
            }
            frames = sum(len(strip.boxes) for strip in graph.strips)
            parts = [box for box in drawn if box.weight == 0.3]  # a frame may be larger than a sheet
            assert len(parts) == len(drawn) - frames
            assert any(
                all((round(box.width * times, 4), round(box.height * times, 4)) in boxes for box in parts)
                for times in {mark.size / small for mark in shown if mark.text == text}
                if times >= 1  # a drawing that leaves room is larger
            )
            lines = {mark.text for mark in shown}
            assert {line for cell in graph.cells for line, _, _ in cell.lines} <= lines


EXTREMES = {
    "revision as wide as four letters can be": ("first", ('revision "A"', 'revision "WWWW"')),
    "one step of 300 wide letters between deep head and foot": (
        "first",
        ("First rig", "W" * 60),
        ('job      "Workshop"', f"job {quoted('W' * 60)}"),
        ("expect", f"step rigging {quoted('W' * 300)}\nexpect"),
    ),
    "a cable id of three lines in the diagram": ("gorge", ("cable S04", f"cable {'long-name-' * 6}S04")),
    "a title of sixty wide letters": ("gorge", ("Gorge cable camera", "W" * 60), ("Cinema camera", "W" * 60)),
    "a jacket as thin as a wire, moving": (
        "gorge",
        ("jacket      3.2mm\n  wire        AWG26\n  moving", "jacket 0.8mm\n  wire AWG26\n  moving"),
    ),
    "a jacket as thick as an arm": ("first", ("jacket 3mm", "jacket 100mm")),
}


@pytest.mark.parametrize("case", EXTREMES)
def test_extremes(tmp_path: Path, case: str) -> None:
    """A sample with one thing carried to its limit still has papers without a fault, or is told what to change."""
    sample, *changes = EXTREMES[case]
    path = tmp_path / "extreme.rig"
    text = (SAMPLES[0].parent / f"{sample}.rig").read_text(encoding="utf-8")
    text = text.replace('use "stock', f'use "{SAMPLES[0].parent / "stock"}')
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path.write_text(text, encoding="utf-8")
    diagnostics = Diagnostics()
    if build_rig(path, diagnostics, stock=STOCK) is None:
        assert diagnostics.failed()
        return
    check_documents(solved_rig(path))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_samples_on_both_papers(path: Path, paper: str, language: str) -> None:
    """The same for every sample on either paper, in every language."""
    solved = solved_rig(path)
    with speaking(language):
        check_documents(solved._replace(rig=solved.rig._replace(paper=paper)))


@pytest.mark.parametrize(
    ("card", "per_sheet", "paper", "size", "count"),
    [
        ("", None, "a4", CARD_SIZES[""], 2),
        ("", 1, "letter", CARD_SIZES[""], 1),
        ("", None, "letter", CARD_SIZES[""], 2),
        ("a6", None, "a4", SIZES["a6"], 4),  # four A6 are an A4: ISO 216
        ("a6", 1, "letter", SIZES["a6"], 1),
        ("a5", None, "a4", SIZES["a5"], 2),  # two A5 are an A4: ISO 216
        ("a5", None, "letter", SIZES["a5"], 1),
        ("a4", None, "a4", SIZES["a4"], 1),
    ],
)
@pytest.mark.parametrize("flip", [LONG_EDGE, "short", ONE_SIDED])
@pytest.mark.parametrize("language", LANGUAGES)
def test_cards_of_other_sizes(
    card: str,
    per_sheet: int | None,
    paper: str,
    size: tuple[float, float],
    count: int,
    flip: str,
    language: str,
) -> None:
    """A sample on cards of each size: nothing is cut off or overprinted, and a full sheet has as many as fit."""
    solved = solved_rig(SAMPLES[0].parent / "gorge.rig")
    solved = solved._replace(rig=solved.rig._replace(card=card, per_sheet=per_sheet, paper=paper))
    with speaking(language):
        document = card_document(FACE, solved, flip=flip)
    found = [fault for page in document.pages for fault in faults(page)]
    frames = [[(frame.width, frame.height) for frame in page.frames] for page in document.pages]

    assert found == []
    assert max(sizes.count(size) for sizes in frames) == count
    assert all(len(set(sizes)) <= 1 for sizes in frames)
    if per_sheet:
        assert max(map(len, frames)) == per_sheet


def test_parts_of_the_diagram_hold_their_words(tmp_path: Path) -> None:
    """Each part, drawn alone, has all its words inside the size that Graphviz was told; ids of several lines too."""
    text = (SAMPLES[0].parent / "gorge.rig").read_text(encoding="utf-8")
    text = text.replace('use "stock', f'use "{SAMPLES[0].parent / "stock"}')
    path = tmp_path / "ids.rig"
    path.write_text(re.sub(r"cable (\w+)", rf"cable {'long-name-' * 6}\1", text), encoding="utf-8")
    solved = solved_rig(path)
    for graph in (signal_graph(FACE, solved), power_graph(FACE, solved)):
        for cell in graph.cells:
            width = graph.widths[cell.column]
            marks = cell_marks(FACE, cell, 0.0, cell.height / 2, width)
            texts = [mark for mark in marks if isinstance(mark, Text)]
            said = [mark.text for mark in texts if not mark.inverse]
            assert said == [part for pair in words_of(cell) for part in pair if part]
            for mark in texts:
                assert room_of(mark).inside(Room(0, 0, width, cell.height)), mark


def words_of(cell: GraphCell) -> list[tuple[str, str]]:
    """Each line of a cell, with what stands beside it."""
    return [(text, more) for (text, _, _), more in zip(cell.lines, cell.beside, strict=True)]


# ---- wrapping ----------------------------------------------------------------------------------------------------


@settings(max_examples=200)
@given(words(300), st.sampled_from([6.0, 8.0, 12.0, 20.0]), st.floats(2.0, 200.0), st.booleans())
def test_wrapping_loses_nothing(text: str, size: float, width: float, bold: bool) -> None:
    """The lines hold every character of the words in order, and no line of more than one is wider than asked."""
    lines = wrap(FACE, text, size, width, bold)

    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(FACE.width(line, size, bold) <= width or len(line) == 1 for line in lines)
    if all(FACE.width(word, size, bold) <= width / 2.2 for word in text.split()):
        assert " ".join(lines).split() == text.split()


@settings(max_examples=100)
@given(st.lists(st.text("abcdefghij", min_size=1, max_size=9), min_size=1, max_size=40), st.floats(20.0, 100.0))
def test_wrapping_fills_its_lines(words_: list[str], width: float) -> None:
    """A line ends only where its next word does not fit: no paragraph is longer than it must be."""
    lines = wrap(FACE, " ".join(words_), 10.0, width)

    for line, after in pairwise(lines):
        assert FACE.width(f"{line} {after.split()[0]}", 10.0) > width


@pytest.mark.parametrize("text", ["Level 70 %", "at 1520 µs", "a lead of 12 mm"])
def test_a_number_keeps_its_unit(text: str) -> None:
    """No line begins with a unit (common practice, no source; ISO 80000-1 asks for a space between the two)."""
    for tenth in range(30, 400):
        for line in wrap(FACE, text, 10.0, tenth / 10):
            assert line not in ("%", "µs", "mm") or tenth / 10 < FACE.width(" ".join(text.split()[-2:]), 10.0)


# ---- beyond the limits -------------------------------------------------------------------------------------------


TOO_LONG = """
rig {title} {{ job {job}; revision {revision} on 2026-01-02; crew op {crew} }}
signal line "Line" carries power
model m {model} {{ role pack; port a out line }}
model n "N" {{ role other; port b in line; setting s {menu} }}
unit one is m {unit} {{ note {note}; case {case} }}
unit two is n "Two" {{ asset {asset}; serial {serial}; software {software}; set s {value} }}
cable W1 {cable} {{ one.a to two.b tag {tag}; length 1m; jacket 3mm }}
step rigging {step}
open {question}
"""
PLACES = sorted(set(re.findall(r"{(\w+)}", TOO_LONG)))


def test_words_in_their_places(tmp_path: Path) -> None:
    """The rig of the next test, a pack and what it feeds, has papers: only the length of words is at fault there."""
    path = tmp_path / "short.rig"
    path.write_text(TOO_LONG.format(**dict.fromkeys(PLACES, '"x"')), encoding="utf-8")
    diagnostics = Diagnostics()

    assert build_rig(path, diagnostics, stock=STOCK), [found.message for found in diagnostics]


@pytest.mark.parametrize("place_", PLACES)
def test_words_beyond_their_place_are_reported(tmp_path: Path, place_: str) -> None:
    """Words longer than anything could hold are an error that speaks of their length, and no paper is made."""
    path = tmp_path / "long.rig"
    long = {**dict.fromkeys(PLACES, '"x"'), place_: quoted("W" * 5000)}
    path.write_text(TOO_LONG.format(**long), encoding="utf-8")
    diagnostics = Diagnostics()

    assert build_rig(path, diagnostics, stock=STOCK) is None
    assert any(found.code.id == "RC501" and "5000" in found.message for found in diagnostics), list(diagnostics)


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(61, 2000), st.sampled_from(["plain", "wide", "any", "odd"]))
def test_long_titles_are_reported(tmp_path: Path, length: int, kind: str) -> None:
    """A title of the sample that is too long is reported where it stands, of whatever characters."""
    title = made_words(kind, length, length).ljust(61, "x")
    path = tmp_path / "title.rig"
    sample = FIRST.read_text(encoding="utf-8").replace('rig "First rig"', f"rig {quoted(title)}")
    stock = FIRST.parent / "stock"
    path.write_text(sample.replace('use "stock', f'use "{stock}'), encoding="utf-8")
    diagnostics = Diagnostics()

    assert build_rig(path, diagnostics, stock=STOCK) is None
    (found,) = diagnostics
    assert found.code.id == "RC501"
    assert found.span is not None
    assert found.span.source.name == str(path)


def test_numbers_and_codes_are_not_broken() -> None:
    """A number leaves its unit before it is broken; a column that is too narrow for a code takes room from others."""
    width = FACE.width("90 min", 12.0)
    assert wrap(FACE, "~ 90 min", 12.0, width) == ["~ 90", "min"]
    narrow = FACE.width("WWFRM", 12.0) - 1.0
    block = table(FACE, ("CODE", "WORDS"), [[Cell("WWFRM"), Cell("a few words")]], (narrow, 60.0))
    said = [mark.text for piece in block.boxes for mark in piece.marks if isinstance(mark, Text)]
    assert said == ["CODE", "WORDS", "WWFRM", "a few words"]


def test_a_table_that_goes_on_is_named_again() -> None:
    """Above the head that is set again stands the heading that the table is joined to."""
    rows = [[Cell(f"row {number}")] for number in range(40)]
    block = joined(heading(FACE, "8 keys", 80.0), table(FACE, ("ROW",), rows, (80.0,)))
    columns = flow([block], lambda _: 100.0)
    assert len(columns) > 2
    for column in columns[1:]:
        said = [mark.text for mark in column.marks if isinstance(mark, Text)]
        assert said[:2] == ["8 keys, continued", "ROW"]
        assert column.used <= 100.0 + 2.0


# ---- type --------------------------------------------------------------------------------------------------------


TYPE_SIZES = {HUGE, LARGE, BODY, SMALL, LABEL}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_five_sizes_of_type(path: Path) -> None:
    """No card has type of another size, and none is smaller than 8 points (common practice, no source)."""
    solved = solved_rig(path)
    used = {
        mark.size
        for found in card_pack(FACE, solved)[1:]
        for leaf in leaves_of(FACE, solved.rig, [found])
        for mark in (mark for side in leaf.sides for mark in side)
        if isinstance(mark, Text)
    }
    assert used <= TYPE_SIZES
    assert len(TYPE_SIZES) == 5 and min(TYPE_SIZES) == 8


def test_capitals_stand_in_the_middle() -> None:
    """In a box, a row and a circle; by the height of capitals that the typeface states (OpenType OS/2, sCapHeight)."""
    font = TTFont(typeface_file(bold=False))
    assert font["OS/2"].sCapHeight / font["head"].unitsPerEm == pytest.approx(CAP_HEIGHT)
    (piece,) = row(FACE, [Cell("AWAY", kind="boxed"), Cell("12", SMALL), TICK], (40.0, 20.0, 9.0))
    box, tick = [mark for mark in piece.marks if isinstance(mark, Rectangle)]
    middle = box.y + box.height / 2
    assert middle == pytest.approx(tick.y + tick.height / 2) == pytest.approx(piece.height / 2)
    for mark in piece.marks:
        if isinstance(mark, Text):
            assert mark.y - CAP_HEIGHT * mark.size * MM_PER_POINT / 2 == pytest.approx(middle, abs=0.01)
    round_ = text_around(FACE, 5.0, 5.0, "A", BODY)
    assert round_.y - CAP_HEIGHT * BODY * MM_PER_POINT / 2 == pytest.approx(5.0)
    assert round_.x + round_.width / 2 == pytest.approx(5.0)


def test_one_left_edge_and_few_rules() -> None:
    """Words of a table begin where its heading does and end at its right edge; a rule stands below every third row,
    and a box keeps 1 mm to it."""
    rows = [[Cell(f"row {at}"), Cell("−5", align="right", kind="boxed")] for at in range(8)]
    block = joined(heading(FACE, "Rows", 80.0), table(FACE, ("ROW", "VALUE"), rows, (50.0, 30.0)))
    ruled = []
    for piece in block.boxes:
        texts = [mark for mark in piece.marks if isinstance(mark, Text)]
        boxes = [mark for mark in piece.marks if isinstance(mark, Rectangle)]
        assert not texts or min(mark.x for mark in texts) == 0.0
        for box in boxes:
            assert box.x + box.width == pytest.approx(80.0)
            assert box.y >= 1.0 - 1e-9
        if texts and texts[0].text.startswith("row"):
            ruled.append(any(isinstance(mark, Line) for mark in piece.marks))
    assert ruled == [False, False, True, False, False, True, False, False]
