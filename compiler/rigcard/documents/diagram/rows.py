"""Sets the cells of a diagram in rows and columns: strips that may stand on different sheets, frames, ways of lines.

Rows keep the order of the file, so that a revision does not reshuffle them. A strip is made of rows that share a line
or a device. One that is higher than a large sheet is divided between two rows that no line joins; the frames of the
devices on both sides are then drawn twice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import accumulate, groupby, pairwise
from typing import NamedTuple

from rigcard.documents.base.full_sheet import HEAD, MARGIN
from rigcard.documents.base.language import say
from rigcard.documents.base.layout import line_height, wrap
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.paper import LARGE, SIZES
from rigcard.documents.diagram.graph import (
    NUMBER,
    PIN,
    ROOMY,
    TIGHT,
    Box,
    Builder,
    Cell,
    Edge,
    Graph,
    Measure,
    Strip,
    Words,
)

BETWEEN = 2.3  # mm between two rows
APART = 4.0  # mm between two strips
LEGEND = 9.0  # mm at the foot of a sheet
HEADINGS = 8.0  # mm for the names of the columns
FOOT = 1.5  # mm of a frame below its lowest cell
CLEAR = FOOT + 1.3  # mm from a frame to the row above, whose frame reaches below it
PAD = 2.0  # mm between the edge of a cell and its words
BADGE = 4.6  # mm, the height of a channel number
BEHIND = 1.5  # mm of space behind a badge
WIDEST = 38.0  # mm of the title of a control before it wraps
BESIDE = 16.0  # mm by which small words may be wider than large ones
LOWEST = 4.0  # mm of a row without words


def depths(edges: Sequence[tuple[str, str]]) -> dict[str, int]:
    """Return how many edges lead to each node from a beginning, by the longest way; a ring begins where it is met."""
    before: dict[str, list[str]] = {}
    for tail, head in edges:
        before.setdefault(tail, [])
        before.setdefault(head, []).append(tail)
    found: dict[str, int] = {}
    waiting = list(reversed(before))  # no recursion: a chain may be long
    met: set[str] = set()
    while waiting:
        node = waiting[-1]
        open_ends = [tail for tail in before[node] if tail not in met]
        if node not in met and open_ends:
            met.add(node)
            waiting += reversed(open_ends)
            continue
        met.add(node)
        waiting.pop()
        if node not in found:
            found[node] = max((found.get(tail, 0) + 1 for tail in before[node]), default=0)
    return found


def sheet_room(paper: str) -> tuple[float, float]:
    """Return width and height in mm that a sheet across has for a drawing, below the names of its columns."""
    height, width = SIZES[paper]
    return width - 2 * MARGIN, height - 2 * MARGIN - HEAD - LEGEND - HEADINGS


def laid_out(face: Typeface, build: Builder, name: str, title: str, paper: str) -> Graph:
    """Set what a builder has collected; words wrap earlier in a diagram that would be wider than a large sheet."""
    _, room = sheet_room(LARGE[paper])
    graph = _set(face, build, name, title, room, ROOMY)
    wide = columns_that_fit(graph, paper) < len(graph.widths)
    return _set(face, build, name, title, room, TIGHT) if wide else graph


def columns_that_fit(graph: Graph, paper: str) -> int:
    """Return how many columns of a diagram, from the left, a large sheet holds."""
    room, _ = sheet_room(LARGE[paper])
    edges = accumulate(width + graph.gutter for width in graph.widths)
    return sum(edge <= room for edge in edges)


def _set(face: Typeface, build: Builder, name: str, title: str, room: float, measure: Measure) -> Graph:
    strands: dict[str, int] = {}
    for cell in build.cells.values():
        strands[cell.frame] = strands.get(cell.frame, 0) + 1
    shown = [_alone(build, strands, cell) for cell in build.cells.values()]
    number = {column: at for at, column in enumerate(sorted({cell.column for cell in shown}))}
    insets = [0.0] * len(number)
    for cell in shown:
        insets[number[cell.column]] = max(insets[number[cell.column]], _inset(face, cell))
    cells = {}
    for cell in shown:
        column = number[cell.column]
        inset = insets[column] if cell.numbers else _inset(face, cell)
        cells[cell.id] = _measured(face, cell._replace(column=column), inset, measure)
    every = _rows(build, cells)
    widths = _widths(face, cells.values(), build.titles, len(number), measure)
    sizes = Sizes(widths, measure)
    strips = []
    for group, group_edges in _together(every, cells, list(build.edges)):
        whole = _strip(face, group, cells, group_edges, build.titles, sizes)
        parts = _divided(whole, group, room)
        if len(parts) == 1:
            strips.append(whole)
        else:
            strips += [_strip(face, rows, cells, edges, build.titles, sizes) for rows, edges in parts]
    return Graph(name, title, tuple(strips), tuple(widths), measure.gutter, build.titles)


class Sizes(NamedTuple):
    """The widths of the columns in mm, and how words are set."""

    widths: Sequence[float]
    measure: Measure


# ---- sizes ---------------------------------------------------------------------------------------------------


def badge_words(cell: Cell) -> list[str]:
    """Return the channel numbers of a cell as its badges show them."""
    if cell.kind != "channel":
        return list(cell.numbers)
    return [say("CH {number}", number=number) for number in cell.numbers]


def badge_width(face: Typeface, text: str) -> float:
    """Return the width of a badge in mm."""
    return max(face.width(text, NUMBER, True) + 2.0, BADGE)


def badges_width(face: Typeface, cell: Cell) -> float:
    """Return the width in mm of the badges of a cell, each with the space behind it."""
    return sum(badge_width(face, text) + BEHIND for text in badge_words(cell))


def _alone(build: Builder, strands: Mapping[str, int], cell: Cell) -> Cell:
    """Give a lead with a single strand the words that would stand over a frame of strands."""
    if cell.kind != "cable" or strands[cell.frame] > 1:
        return cell
    lines = build.titles[cell.frame]
    return cell._replace(frame="", lines=lines, beside=("",) * len(lines))


def _inset(face: Typeface, cell: Cell) -> float:
    """Return where the words of a cell begin; a control has its numbers behind them, where its line leaves."""
    return {"control": PAD, "cable": 0.0}.get(cell.kind, PAD + badges_width(face, cell))


def _measured(face: Typeface, cell: Cell, inset: float, measure: Measure) -> Cell:
    """Wrap the words of a cell, and find its size."""
    kinds = {"effect": measure.effect, "channel": measure.channel, "cable": measure.cable, "control": WIDEST}
    widest = kinds.get(cell.kind, measure.other)
    lines: list[Words] = []
    beside: list[str] = []
    for (text, size, bold), more in zip(cell.lines, cell.beside, strict=True):
        parts = wrap(face, text, size, widest, bold)
        if cell.kind == "cable" and not bold:
            parts = _facts(parts)
        wrapped = [(part, size, bold) for part in parts if part]
        lines += wrapped
        beside += ["" for _ in wrapped]
        if more and line_width(face, wrapped[-1], more) <= widest + BESIDE:
            beside[-1] = more
        elif more:
            below = wrap(face, more, small_size(size), widest + BESIDE)
            lines += [(part, small_size(size), False) for part in below]
            beside += ["" for _ in below]
    width = max((line_width(face, *pair) for pair in zip(lines, beside, strict=True)), default=0.0)
    height = sum(line_height(size) for _, size, _ in lines) + PAD
    badges = badges_width(face, cell)
    if cell.kind == "cable":
        half = max(sum(line_height(size) for _, size, _ in part) for part in over_and_under(lines))
        width = max(width, badges + 6.0)
        height = 2 * (half + half_of_line(cell))
    elif cell.kind == "control":
        width += badges + 2 * PAD + BEHIND
    else:
        width += inset + PAD
    return cell._replace(
        lines=tuple(lines),
        beside=tuple(beside),
        inset=inset,
        width=width,
        height=max(height, LOWEST, BADGE + 1.0 if badges else 0.0),
    )


def _facts(parts: Sequence[str]) -> list[str]:
    """Return the lines of a list of facts without the commas at their ends."""
    return [part.removesuffix(",") for part in parts]


def half_of_line(cell: Cell) -> float:
    """Return how far the words of a lead stay off the middle of its line, in mm."""
    return BADGE / 2 if cell.numbers else 1.3


def over_and_under(lines: Sequence[Words]) -> tuple[Sequence[Words], Sequence[Words]]:
    """Return the words of a lead that stand above its line, its id among them, and those below."""
    ids = sum(bold for _, _, bold in lines)
    over = max(ids, (len(lines) + 1) // 2 if ids < 2 else ids)
    return lines[:over], lines[over:]


def small_size(size: float) -> float:
    """Return the size in points of what stands beside words of a size."""
    return min(size, PIN)


def line_width(face: Typeface, line: Words, beside: str) -> float:
    """Return the width in mm of a line with what stands beside it."""
    more = face.width(beside, small_size(line[1]), False) + 2.0 if beside else 0.0
    return face.width(*line) + more


def _title(face: Typeface, lines: Sequence[Words], width: float) -> tuple[Words, ...]:
    """Wrap the words over a frame."""
    found: list[Words] = []
    for text, size, bold in lines:
        parts = wrap(face, text, size, width, bold)
        found += [(part, size, bold) for part in (parts if bold else _facts(parts))]
    return tuple(found)


def _widths(
    face: Typeface,
    cells: Iterable[Cell],
    titles: Mapping[str, Sequence[Words]],
    count: int,
    measure: Measure,
) -> list[float]:
    """Return the width of each column: that of its widest cell, or of a word over a frame."""
    widths = [0.0] * count
    needed = {key: _title(face, lines, measure.title) for key, lines in titles.items()}
    for cell in cells:
        over = [face.width(*line) + 2.0 for line in needed.get(cell.frame, ())]
        widths[cell.column] = max(widths[cell.column], cell.width, *over, 0.0)
    return widths


# ---- rows ----------------------------------------------------------------------------------------------------

Row = dict[int, str]  # ids of cells by column


def _rows(build: Builder, cells: Mapping[str, Cell]) -> list[Row]:
    rows: dict[int, Row] = {}
    for cell in cells.values():
        rows.setdefault(build.rows[cell.id], {})[cell.column] = cell.id
    return [rows[number] for number in sorted(rows)]


def _together(
    rows: Sequence[Row], cells: Mapping[str, Cell], edges: Sequence[Edge]
) -> list[tuple[list[Row], list[Edge]]]:
    """Return groups of rows that lines or frames join, each with its lines, in the order of their first rows."""
    leader = list(range(len(rows)))

    def find(row: int) -> int:
        while leader[row] != row:
            leader[row] = leader[leader[row]]
            row = leader[row]
        return row

    def join(one: int, other: int) -> None:
        first, second = sorted((find(one), find(other)))
        leader[second] = first

    at = {cell: number for number, row in enumerate(rows) for cell in row.values()}
    seen: dict[str, int] = {}
    for cell in cells.values():
        if cell.frame:
            join(seen.setdefault(cell.frame, at[cell.id]), at[cell.id])
    for edge in edges:
        join(at[edge.tail], at[edge.head])
    groups: dict[int, tuple[list[Row], list[Edge]]] = {}
    for number, row in enumerate(rows):
        groups.setdefault(find(number), ([], []))[0].append(row)
    for edge in edges:
        groups[find(at[edge.tail])][1].append(edge)
    return [groups[first] for first in sorted(groups)]


def room_above(strip: Strip, row: int) -> float:
    """Return the room in mm for titles over a row."""
    titles = [height + BETWEEN for (number, _), height in strip.above.items() if number == row]
    return max(titles, default=0.0)


def strip_height(strip: Strip) -> float:
    """Return the height of a strip in mm: its rows, and the room for titles above each of them."""
    titles = sum(room_above(strip, row) for row in range(len(strip.rows)))
    return sum(strip.heights) + BETWEEN * (len(strip.rows) - 1) + titles


def _divided(whole: Strip, rows: list[Row], room: float) -> list[tuple[list[Row], list[Edge]]]:
    """Divide rows that are higher together than a sheet, where no line goes from one part to the next."""
    edges = list(whole.edges)
    if strip_height(whole) <= room:
        return [(rows, edges)]
    at = {cell: number for number, row in enumerate(rows) for cell in row.values()}
    joined = {
        row
        for edge in edges
        for row in range(min(at[edge.tail], at[edge.head]), max(at[edge.tail], at[edge.head]))
    }
    again = max(whole.above.values(), default=0.0) + BETWEEN  # titles are set again over what goes on
    parts: list[list[int]] = []
    used = 0.0
    for _, block in groupby(range(len(rows)), key=_blocks(len(rows), joined).__getitem__):
        numbers = list(block)
        height = 0.0
        for number in numbers:
            height += whole.heights[number] + BETWEEN + room_above(whole, number)
        if not parts or used + height > room:
            parts.append([])
            used = again
        parts[-1] += numbers
        used += height
    found = []
    for part in parts:
        inside = set(part)
        found.append(([rows[number] for number in part], [edge for edge in edges if at[edge.tail] in inside]))
    return found


def _blocks(count: int, joined: set[int]) -> list[int]:
    """Return the number of the block of each row; `joined` are the rows that a line joins to the next one."""
    blocks = [0] * count
    for row in range(1, count):
        blocks[row] = blocks[row - 1] + (row - 1 not in joined)
    return blocks


def _row_height(row: Row, cells: Mapping[str, Cell]) -> float:
    return max([cells[cell].height for cell in row.values()], default=LOWEST)


# ---- one strip -----------------------------------------------------------------------------------------------


def _strip(
    face: Typeface,
    rows: list[Row],
    cells: Mapping[str, Cell],
    edges: list[Edge],
    titles: Mapping[str, Sequence[Words]],
    sizes: Sizes,
) -> Strip:
    at = {cell: number for number, row in enumerate(rows) for cell in row.values()}
    rows = [dict(row) for row in rows]
    crossed: set[tuple[int, int]] = set()  # rows and columns that a line crosses where no cell stands
    via = []
    for edge in edges:
        ends = cells[edge.tail].column, cells[edge.head].column
        between = range(ends[0] + 1, ends[1])
        choices = dict.fromkeys((at[edge.head], at[edge.tail]))
        row = next((row for row in choices if _free(rows[row], row, between, crossed)), None)
        if row is None:  # a row of its own, below all others
            rows.append({})
            row = len(rows) - 1
        crossed.update((row, column) for column in between)
        via.append(row)
    boxes = _boxes(face, rows, cells, crossed, titles, sizes)
    heights = [_row_height(row, cells) for row in rows]
    over: dict[tuple[int, int], float] = {}
    for box in boxes:
        first = box.rows[0]
        needed = title_height(box) - (heights[first] / 2 - box.reach[0])
        needed -= 0.0 if first == 0 else BETWEEN - CLEAR
        for column in range(box.columns[0], box.columns[1] + 1):
            if needed > 0:
                over[first, column] = max(needed - BETWEEN, 0.1)
    return Strip(
        cells=tuple(cells[cell] for row in rows for cell in row.values()),
        edges=tuple(edges),
        rows=tuple(rows),
        via=tuple(via),
        heights=tuple(heights),
        boxes=tuple(boxes),
        above=over,
    )


def title_height(box: Box) -> float:
    """Return the height in mm from the uppermost cell of a frame to its upper edge."""
    return sum(line_height(size) for _, size, _ in box.lines) + 2.8


def _free(cells: Row, row: int, between: range, crossed: set[tuple[int, int]]) -> bool:
    return not any(column in cells or (row, column) in crossed for column in between)


def _boxes(
    face: Typeface,
    rows: Sequence[Row],
    cells: Mapping[str, Cell],
    crossed: set[tuple[int, int]],
    titles: Mapping[str, Sequence[Words]],
    sizes: Sizes,
) -> list[Box]:
    """Return the frames: each as large as it may be without holding what belongs to another device."""
    placed: dict[str, list[tuple[int, int]]] = {}  # rows and columns of each frame's cells
    for number, row in enumerate(rows):
        for column, cell in row.items():
            if cells[cell].frame:
                placed.setdefault(cells[cell].frame, []).append((number, column))
    found = []
    for frame, spots in placed.items():
        own = set(spots)
        for columns in _runs(sorted({column for _, column in spots}), spots, own, rows):
            numbers = sorted({row for row, column in spots if column in columns})
            foreign = {
                row
                for row in range(numbers[0], numbers[-1] + 1)
                for column in columns
                if (row, column) not in own and (column in rows[row] or (row, column) in crossed)
            }
            starts = [numbers[0]]
            ends = []
            for before, after in pairwise(numbers):
                if any(other in foreign for other in range(before + 1, after)):
                    ends.append(before)
                    starts.append(after)
            for first, last in zip(starts, [*ends, numbers[-1]], strict=True):
                room = sum(sizes.widths[column] for column in columns)
                room += sizes.measure.gutter * (len(columns) - 1)
                lines = _title(face, titles[frame], max(room - 2.0, min(sizes.measure.title, room)))
                tall = [
                    max(cells[rows[row][column]].height for column in columns if (row, column) in own) / 2
                    for row in (first, last)
                ]
                ends_at = columns[0], columns[-1]
                found.append(Box(frame, lines, (first, last), ends_at, (tall[0], tall[1])))
    return found


def _runs(
    columns: Sequence[int], spots: Iterable[tuple[int, int]], own: set[tuple[int, int]], rows: Sequence[Row]
) -> list[list[int]]:
    """Return columns that stand side by side together, or each alone if a row has another device's cell in them."""
    runs = [
        [column for _, column in group]
        for _, group in groupby(enumerate(columns), key=lambda pair: pair[1] - pair[0])
    ]
    mixed = any(
        (row, other) not in own and other in rows[row]
        for row, column in spots
        for run in runs
        if column in run
        for other in run
    )
    return [[column] for column in columns] if mixed else runs
