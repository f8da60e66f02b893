"""Draws a placed diagram: cells, channel numbers, lines and frames, each of them black."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import line_height, text_at
from rigcard.documents.base.model import Curve, Line, Mark, Rectangle, Shape, Text, Typeface
from rigcard.documents.diagram.graph import (
    NUMBER,
    STYLES,
    Box,
    Cell,
    Edge,
    Graph,
    Placement,
    Strip,
    Style,
)
from rigcard.documents.diagram.rows import (
    BADGE,
    BEHIND,
    BETWEEN,
    FOOT,
    PAD,
    badge_width,
    badge_words,
    badges_width,
    half_of_line,
    over_and_under,
    small_size,
    title_height,
)

MARGIN = 1.8  # mm from a cell to the frame round it
HEADING = 8.0  # points
FAR = 24.0  # mm up or down that a curve still shows well
FRAME = 0.55  # mm, the stroke round a device

Point = tuple[float, float]


def strip_marks(face: Typeface, graph: Graph, placed: Placement, number: int) -> list[Mark]:
    """Return the marks of a strip, where the placement has it."""
    strip, rows = graph.strips[number], placed.rows[number]
    where = {cell: (row, column) for row, held in enumerate(strip.rows) for column, cell in held.items()}
    marks: list[Mark] = []
    for box in strip.boxes:
        marks += _frame(face, graph, placed, rows, box)
    for edge, via in zip(strip.edges, strip.via, strict=True):
        marks += _line(graph, placed, rows, where, edge, via)
    for cell in strip.cells:
        row, column = where[cell.id]
        marks += cell_marks(
            face, cell, placed.columns[column], rows[row], graph.widths[column], _style(strip, cell)
        )
    return marks


def _style(strip: Strip, cell: Cell) -> str:
    """Return the kind of line that goes through the cell of a lead."""
    if cell.kind != "cable":
        return "inside"
    return next((edge.kind for edge in strip.edges if cell.id in (edge.tail, edge.head)), "inside")


# ---- frames --------------------------------------------------------------------------------------------------


def _frame(face: Typeface, graph: Graph, placed: Placement, rows: Sequence[float], box: Box) -> Iterator[Mark]:
    (first, last), (left, right) = box.rows, box.columns
    x = placed.columns[left] - MARGIN
    width = placed.columns[right] + graph.widths[right] + MARGIN - x
    top = rows[first] - box.reach[0] - title_height(box)
    bottom = rows[last] + box.reach[1] + FOOT
    weight, radius = (0.2, 4.0) if box.frame.startswith("cable:") else (FRAME, 0.0)
    yield Rectangle(x, top, width, bottom - top, weight, radius=radius)
    top += 0.8
    for text, size, bold in box.lines:
        yield text_at(face, x + MARGIN + 1.0, top, text, size, bold=bold)
        top += line_height(size)


# ---- lines ---------------------------------------------------------------------------------------------------


def _line(
    graph: Graph,
    placed: Placement,
    rows: Sequence[float],
    where: dict[str, tuple[int, int]],
    edge: Edge,
    via: int,
) -> Iterator[Mark]:
    """Draw a line between two cells: straight along its row, and only between columns from one row to another."""
    (tail_row, tail), (head_row, head) = where[edge.tail], where[edge.head]
    style = STYLES[edge.kind]
    start = placed.columns[tail] + graph.widths[tail], rows[tail_row]
    end = tip = placed.columns[head], rows[head_row]
    if not edge.head.startswith(("cable:", "link:")):
        point = 1.6 + style.weight
        end = tip[0] - point, tip[1]
        half = 0.6 + style.weight / 2
        yield Shape((tip, (end[0], tip[1] - half), (end[0], tip[1] + half)), 0.1, True)
    if head <= tail:  # a ring leads back
        yield Curve((start, (start[0] + 6.0, start[1]), (end[0] - 6.0, end[1]), end), style.weight, style.dash)
        return
    points = [start]
    if head > tail + 1:
        points += [(placed.columns[tail + 1], rows[via])]
        points += [(placed.columns[head - 1] + graph.widths[head - 1], rows[via])]
    yield from _through([*points, end], style, edge.kind != "mix")


def _through(points: Sequence[Point], style: Style, forks: bool) -> Iterator[Mark]:
    """Draw a line through points: level parts straight, the others as a curve that begins and ends level.

    A fork that reaches far goes by a common upright in the middle between two columns, so that its lines do not
    cover each other. Mixes have no common upright: a reader must tell them apart.
    """
    level = points[0]
    for point, after in pairwise(points):
        if abs(point[1] - after[1]) < 0.01:
            continue
        half = point[0] + (after[0] - point[0]) / 2
        if forks and abs(point[1] - after[1]) > FAR:
            corners = [level, (half, point[1]), (half, after[1])]
            yield from (Line(pair, *style) for pair in pairwise(corners))
            level = corners[-1]
            continue
        if point != level:
            yield Line((level, point), *style)
        yield Curve((point, (half, point[1]), (half, after[1]), after), *style)
        level = after
    if level != points[-1]:
        yield Line((level, points[-1]), *style)


# ---- cells ---------------------------------------------------------------------------------------------------


def cell_marks(
    face: Typeface, cell: Cell, x: float, y: float, width: float, kind: str = "inside"
) -> list[Mark]:
    """Draw a cell of a width whose left edge is at x, and whose middle is at y."""
    if cell.kind == "cable":
        return _lead(face, cell, x, y, width, kind)
    top = y - cell.height / 2
    marks: list[Mark] = []
    if cell.kind == "effect":
        marks.append(Line(((x, top), (x, top + cell.height)), 0.8))
    else:
        radius = min(3.0, cell.height / 2) if cell.kind == "control" else 0.0
        marks.append(Rectangle(x, top, width, cell.height, 0.3, radius=radius))
    at = x + width - badges_width(face, cell) - PAD + BEHIND if cell.kind == "control" else x + PAD
    for text in badge_words(cell):
        marks += _badge(face, at, y, text)
        at += badge_width(face, text) + BEHIND
    top = y - sum(line_height(size) for _, size, _ in cell.lines) / 2
    for (text, size, bold), more in zip(cell.lines, cell.beside, strict=True):
        mark = text_at(face, x + cell.inset, top, text, size, bold=bold)
        marks.append(mark)
        if more:
            small, after = small_size(size), mark.x + mark.width + 2.0
            marks.append(Text(after, mark.y, more, small, False, face.width(more, small, False)))
        top += line_height(size)
    return marks


def _lead(face: Typeface, cell: Cell, x: float, y: float, width: float, kind: str) -> list[Mark]:
    """Draw a lead: its line with the channel number on it, its id above, its facts below."""
    style = STYLES[kind]
    marks: list[Mark] = [Line(((x, y), (x + width, y)), style.weight, style.dash)]
    at = x + (width - badges_width(face, cell) + BEHIND) / 2
    for text in badge_words(cell):
        marks += _badge(face, at, y, text)
        at += badge_width(face, text) + BEHIND
    half = half_of_line(cell)
    over, _ = over_and_under(cell.lines)
    top = y - half - sum(line_height(size) for _, size, _ in over)
    for number, (text, size, bold) in enumerate(cell.lines):
        if number == len(over):
            top = y + half
        marks.append(text_at(face, x, top, text, size, bold=bold, align="centre", width=width))
        top += line_height(size)
    return marks


def _badge(face: Typeface, x: float, y: float, text: str) -> Iterator[Mark]:
    """Draw a channel number: white on black, the same sign in every cell of a way."""
    width = badge_width(face, text)
    yield Rectangle(x, y - BADGE / 2, width, BADGE, 0.1, solid=True)
    top = y - line_height(NUMBER) / 2
    yield text_at(face, x, top, text, NUMBER, bold=True, align="centre", width=width, inverse=True)


# ---- names of the columns ------------------------------------------------------------------------------------


def names_columns(graph: Graph) -> bool:
    """Whether the columns of a diagram have names."""
    return any(cell.kind == "control" for cell in graph.cells)


def column_names(face: Typeface, graph: Graph, placed: Placement, strips: Sequence[int]) -> list[Mark]:
    """Name the columns that some strips of the signal drawing use, above y = 0."""
    kinds: dict[int, str] = {}
    for number in strips:
        for cell in graph.strips[number].cells:
            kinds.setdefault(cell.column, cell.kind)
    if not names_columns(graph):
        return []
    words = {
        "control": say("CONTROL"),
        "channel": say("CHANNEL"),
        "pin": say("PIN"),
        "cable": say("CABLE"),
        "input": say("INPUT"),
        "port": say("PORT"),
        "through": say("DEVICE"),
        "device": say("DEVICE"),
        "effect": say("FUNCTION"),
    }
    return [
        text_at(face, placed.columns[column], -line_height(HEADING) - BETWEEN, words[kind], HEADING, bold=True)
        for column, kind in kinds.items()
    ]
