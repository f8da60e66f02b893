"""Sets placed diagrams on sheets, each with its head, the key to its lines and a bar to check the scale.

A drawing is laid out in sizes of which the least is 8 points, and nothing makes it smaller. It goes on the rig's paper
if that holds each of its strips: on one sheet, or on several with whole strips, so by handset. Else it goes on the
next larger paper (A3 for A4, tabloid for Letter), where a handset that fills more than a sheet is divided by channel.
Room that is left enlarges a drawing, because it is also read from a photo. What is wider or higher than the larger
paper and cannot be divided goes on sheets that overlap.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import NamedTuple

from rigcard.documents.base.full_sheet import HEAD, MARGIN, sheet_code, sheet_head
from rigcard.documents.base.language import say
from rigcard.documents.base.layout import line_height, text_at
from rigcard.documents.base.model import Document, Frame, Line, Mark, Page, Rectangle, Typeface, enlarged, moved
from rigcard.documents.base.paper import LARGE, SIZES, paper_file, scale_bar
from rigcard.documents.diagram.clipping import ROUNDED, bounds_of, inside
from rigcard.documents.diagram.drawing import column_names, names_columns, strip_marks
from rigcard.documents.diagram.graph import NUMBER, SMALL, STYLES, Graph, Placement, word_of
from rigcard.documents.diagram.rows import BADGE, HEADINGS, LEGEND, room_above, sheet_room
from rigcard.resolve.model import Rig

OVERLAP = 60.0  # mm that neighbouring sheets share, more than the widest cell
LARGEST = 1.5  # times: a small drawing is not enlarged to a poster
EDGE = 2.5  # mm by which frames stick out of what graphviz has placed
NARROWEST = 180.0  # mm of a drawing on a screen


class Part(NamedTuple):
    """Whole strips of a diagram that stand together, from (0, 0); `tops` is where each row begins."""

    marks: tuple[Mark, ...]
    width: float
    height: float
    tops: tuple[float, ...]


class Key(NamedTuple):
    """What every sheet of a diagram says: its title and check code, and the signs that the diagram uses."""

    title: str
    code: str
    kinds: tuple[str, ...]
    numbered: bool


def drawing_document(face: Typeface, rig: Rig, placed: Sequence[tuple[Graph, Placement]]) -> Document:
    """Set all diagrams on as few sheets as they need."""
    pages = [page for graph, placement in placed for page in _sheets(face, rig, graph, placement)]
    return paper_file("wiring", say("{rig}: wiring", rig=rig.title), pages)


def figure(face: Typeface, rig: Rig, graph: Graph, placed: Placement) -> Page:
    """Set one diagram on a page of its own size, for the screen."""
    part = _part(face, graph, placed, range(len(graph.strips)))
    width = max(part.width + 2 * MARGIN, NARROWEST)
    height = part.height + 2 * MARGIN + HEAD + LEGEND
    shown = _shown(part.marks, _field(width, height), (0.0, 0.0))
    return _page(face, rig, _key_of(rig, graph), shown, (width, height), "", True)


def _part(face: Typeface, graph: Graph, placed: Placement, strips: Sequence[int]) -> Part:
    top, bottom = placed.strips[strips[0]][0], placed.strips[strips[-1]][1]
    names = _names(graph)
    marks = [
        moved(mark, EDGE, names - top) for number in strips for mark in strip_marks(face, graph, placed, number)
    ]
    marks += [moved(mark, EDGE, names) for mark in column_names(face, graph, placed, strips)]
    tops = [
        names - top + y - graph.strips[number].heights[row] / 2 - room_above(graph.strips[number], row)
        for number in strips
        for row, y in enumerate(placed.rows[number])
    ]
    return Part(tuple(marks), *_size(graph, placed, bottom - top), tuple(tops))


def _size(graph: Graph, placed: Placement, height: float) -> tuple[float, float]:
    """Return width and height in mm of strips that are so high together, with the names of their columns."""
    return placed.width + 2 * EDGE, _names(graph) + height + EDGE


def _names(graph: Graph) -> float:
    """Return the height in mm for the names of the columns."""
    return HEADINGS if names_columns(graph) else 1.0


# ---- sheets --------------------------------------------------------------------------------------------------


def _sheets(face: Typeface, rig: Rig, graph: Graph, placed: Placement) -> list[Page]:
    tallest = max(bottom - top for top, bottom in placed.strips)
    wide, high = _size(graph, placed, tallest)
    room = _room(rig.paper)
    paper = rig.paper if wide <= room[0] and high <= room[1] else LARGE[rig.paper]
    parts = _divided(face, graph, placed, paper)
    room, size = _room(paper), (SIZES[paper][1], SIZES[paper][0])
    times = min(LARGEST, *(min(room[0] / part.width, room[1] / part.height) for part in parts))
    pages: list[list[Mark]] = []
    field = _field(*size)
    for part in parts:
        if times >= 1:
            pages.append(_shown([enlarged(mark, times) for mark in part.marks], field, (0.0, 0.0)))
            continue
        across, down = _starts(placed.columns, part.width, room[0]), _starts(part.tops, part.height, room[1])
        tiles = _by_sheet(part.marks, across, room[0])
        every = [_shown(tile, field, (dx, dy)) for dy in down for tile, dx in zip(tiles, across, strict=True)]
        pages += [marks for marks in every if marks]  # a way may go down as steps do, and leave sheets empty
    shown = []
    key = _key_of(rig, graph)
    for number, marks in enumerate(pages, 1):
        words = ""
        if times < 1:
            words = say("sheet {number} of {count}, overlapping", number=number, count=len(pages))
        elif len(pages) > 1:
            words = say("sheet {number} of {count}", number=number, count=len(pages))
        page = _page(face, rig, key, marks, size, words, False)
        shown.append(page if number == 1 else page._replace(bookmarks=()))
    return shown


def _field(width: float, height: float) -> Frame:
    """Return the part of a sheet that shows the drawing."""
    return Frame("", MARGIN, MARGIN + HEAD, width - 2 * MARGIN, height - 2 * MARGIN - HEAD - LEGEND)


def _shown(marks: Sequence[Mark], field: Frame, offset: tuple[float, float]) -> list[Mark]:
    """Return what a sheet shows of a drawing of which the point `offset` stands in the upper left corner."""
    window = Frame("", *offset, field.width, field.height)
    near = [mark for mark in marks if _touches(mark, window)]  # most marks lie on other sheets
    set_there = [moved(mark, field.x - offset[0], field.y - offset[1]) for mark in near]
    return [part for mark in set_there for part in inside(mark, field, OVERLAP)]


def _room(paper: str) -> tuple[float, float]:
    """Return width and height in mm for a drawing with the names of its columns."""
    width, height = sheet_room(paper)
    return width, height + HEADINGS


def _divided(face: Typeface, graph: Graph, placed: Placement, paper: str) -> list[Part]:
    """Return the strips of each sheet, in their order; a strip that is higher than a sheet stands alone."""
    room = _room(paper)[1] - _names(graph) - EDGE
    sheets: list[list[int]] = []
    for number, (_, bottom) in enumerate(placed.strips):
        if sheets and bottom - placed.strips[sheets[-1][0]][0] <= room:
            sheets[-1].append(number)
        else:
            sheets.append([number])
    return [_part(face, graph, placed, strips) for strips in sheets]


def _starts(edges: Sequence[float], length: float, room: float) -> list[float]:
    """Return where sheets that overlap begin: each at the last column or row that is whole on the sheet before.

    `edges`: where columns or rows begin. One that is larger than a sheet is cut.
    """
    starts = [0.0]
    while starts[-1] + room < length:
        whole = bisect_left(edges, starts[-1] + room) - 2
        edge = edges[whole] if whole >= 0 else 0.0
        starts.append(edge if edge > starts[-1] else starts[-1] + room - OVERLAP)
    return starts


def _by_sheet(marks: Sequence[Mark], starts: Sequence[float], room: float) -> list[list[Mark]]:
    """Return the marks that each of the sheets side by side may show; most marks lie on one or two of them."""
    found: list[list[Mark]] = [[] for _ in starts]
    for mark in marks:
        left, _, right, _ = bounds_of(mark) or (starts[0], 0.0, starts[-1], 0.0)
        first = bisect_left(starts, left - room - ROUNDED)
        for sheet in range(first, bisect_right(starts, right + ROUNDED)):
            found[sheet].append(mark)
    return found


def _page(
    face: Typeface,
    rig: Rig,
    key: Key,
    marks: Sequence[Mark],
    size: tuple[float, float],
    part: str,
    on_screen: bool,
) -> Page:
    width, height = size
    field = _field(width, height)._replace(name=key.title)
    head = sheet_head(face, rig, key.title, part, key.code, width)
    below = _key_marks(face, key, width, height, on_screen)
    return Page(width, height, (*marks, *head, *below), (field,), (key.title,))


def _touches(mark: Mark, window: Frame) -> bool:
    """Whether a part of a mark may lie in a window of the drawing; the points of a curve enclose it."""
    bounds = bounds_of(mark)
    if bounds is None:
        return True
    left, top, right, bottom = bounds
    across = left <= window.x + window.width + ROUNDED and right >= window.x - ROUNDED
    return across and top <= window.y + window.height + ROUNDED and bottom >= window.y - ROUNDED


def graph_code(rig: Rig, graph: Graph) -> str:
    """Return the check code of a drawing: of its words, and of the lines between its cells."""
    return sheet_code(rig, graph.title, [*graph.words(), *(" ".join(edge) for edge in graph.edges)])


def _key_of(rig: Rig, graph: Graph) -> Key:
    kinds = {edge.kind for edge in graph.edges}
    numbered = any(cell.numbers for cell in graph.cells)
    return Key(graph.title, graph_code(rig, graph), tuple(kind for kind in STYLES if kind in kinds), numbered)


def _key_marks(face: Typeface, key: Key, width: float, height: float, on_screen: bool) -> list[Mark]:
    """Draw the kinds of line in use, each with its word; on paper also a bar to check the scale."""
    marks: list[Mark] = []
    x, y = MARGIN, height - MARGIN - 3.0
    if key.numbered:
        marks.append(Rectangle(x, y - BADGE / 2, BADGE, BADGE, 0.1, solid=True))
        number = text_at(
            face,
            x,
            y - line_height(NUMBER) / 2,
            "1",
            NUMBER,
            bold=True,
            align="centre",
            width=BADGE,
            inverse=True,
        )
        marks.append(number)
        word = say("number of the channel")
        marks.append(text_at(face, x + BADGE + 1.5, y - 2.0, word, SMALL))
        x += BADGE + 6.5 + face.width(word, SMALL)
    for word, style in ((word_of(kind), STYLES[kind]) for kind in key.kinds):
        needed = 14.0 + face.width(word, SMALL) + 5.0
        if x + needed > width - MARGIN:
            x, y = MARGIN, y + line_height(SMALL)
        marks.append(Line(((x, y), (x + 12.0, y)), style.weight, style.dash))
        marks.append(text_at(face, x + 13.5, y - 2.0, word, SMALL))
        x += needed
    if not on_screen:
        marks += scale_bar(face, width, height, 2.0, 4.0, say("this bar is 50 mm"))
    return marks
