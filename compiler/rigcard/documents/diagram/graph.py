"""The parts of a wiring diagram before it is placed: cells in rows and columns, lines between them, frames round them.

A row is the way of one channel: everything on it stands at one height, so that a reader follows a control to its
function along a straight line. A column is a stage of that way: control, channel, pin, cable, input, function. A
frame holds the cells of one device, or the strands of one cable, under a title that stands once.
"""

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.documents.base.language import say

# points, by importance
FUNCTION, CONTROL, INPUT = 12.0, 10.5, 10.0
CHANNEL = TITLE = 9.5
PIN, SMALL = 8.5, 8.0
NUMBER = 9.0  # points of a channel number in its badge


class Measure(NamedTuple):
    """How wide words may be before they wrap, and how far apart the columns stand, in mm."""

    effect: float
    channel: float
    cable: float
    other: float
    title: float  # over a frame of one column
    gutter: float  # room for a line that changes its row


ROOMY = Measure(effect=46.0, channel=30.0, cable=32.0, other=38.0, title=30.0, gutter=8.0)
TIGHT = Measure(effect=36.0, channel=22.0, cable=17.0, other=28.0, title=20.0, gutter=6.5)

EFFECT_COLUMN = 10_000  # beyond every other one; columns without cells are left out at the end


class Style(NamedTuple):
    """How a kind of line is drawn."""

    weight: float
    dash: tuple[float, ...]


STYLES = {
    "inside": Style(0.2, ()),
    "mix": Style(0.2, (0.6, 0.8)),
    "radio": Style(0.3, (2.0, 0.8, 0.5, 0.8)),
    "servo": Style(0.5, ()),
    "channels": Style(0.5, (2.4, 1.0)),
    "commands": Style(0.5, (1.2, 0.6, 0.4, 0.6)),
    "picture": Style(0.5, (0.4, 1.0)),
    "power": Style(1.0, ()),
    "power-too": Style(1.0, (2.6, 0.9)),
}


def word_of(kind: str) -> str:
    """Return what the key calls a kind of line."""
    return {
        "inside": say("inside a device"),
        "mix": say("mix"),
        "radio": say("radio link"),
        "servo": say("servo pulse"),
        "channels": say("serial, many channels"),
        "commands": say("commands"),
        "picture": say("picture"),
        "power": say("power"),
        "power-too": say("power in a signal lead"),
    }[kind]


Words = tuple[str, float, bool]  # a line of text, its size in points, whether it is bold


class Cell(NamedTuple):
    """One thing on the way of a channel.

    `part` is what it belongs to: the strands of a cable are cells of one part. `numbers` are the channels that go
    through it. `beside` has, for each line, small words that follow on the same line. `frame` is the key of the
    frame that holds it, "" without one. `inset` is where its words begin, `width` and `height` are its size, in mm.
    """

    id: str
    part: str
    kind: str  # control, channel, pin, cable, through, input, port, device, effect
    column: int
    frame: str
    numbers: tuple[str, ...]
    lines: tuple[Words, ...]
    beside: tuple[str, ...]
    inset: float = 0.0
    width: float = 0.0
    height: float = 0.0


class Edge(NamedTuple):
    """A line from one cell to another, in the style of its kind."""

    tail: str
    head: str
    kind: str


class Box(NamedTuple):
    """A frame as it stands in a strip: its title, and the rows and columns that it takes, both ends included.

    `reach` is how far its cells go up from the middle of its first row, and down from that of its last one, in mm.
    """

    frame: str
    lines: tuple[Words, ...]
    rows: tuple[int, int]
    columns: tuple[int, int]
    reach: tuple[float, float]


class Strip(NamedTuple):
    """Rows that belong together; a sheet has whole strips.

    `rows` maps columns to ids of cells. `via` is the row along which each edge crosses the columns between its
    ends. `heights` are those of the rows in mm. `above` is the room for titles that a row needs besides the room
    over its own low cells, by row and column.
    """

    cells: tuple[Cell, ...]
    edges: tuple[Edge, ...]
    rows: tuple[dict[int, str], ...]
    via: tuple[int, ...]
    heights: tuple[float, ...]
    boxes: tuple[Box, ...]
    above: dict[tuple[int, int], float]


class Graph(NamedTuple):
    """A diagram: its strips from the top down, and the width of each column in mm, which all strips share."""

    name: str
    title: str
    strips: tuple[Strip, ...]
    widths: tuple[float, ...]
    gutter: float
    titles: dict[str, tuple[Words, ...]]  # of every frame, whether it is drawn or not

    @property
    def cells(self) -> tuple[Cell, ...]:
        """Return every cell, from the top down."""
        return tuple(cell for strip in self.strips for cell in strip.cells)

    @property
    def edges(self) -> tuple[Edge, ...]:
        """Return every line."""
        return tuple(edge for strip in self.strips for edge in strip.edges)

    def words(self) -> list[str]:
        """Return every line of text, titles of frames included."""
        found = [text for cell in self.cells for text, _, _ in cell.lines]
        found += [text for cell in self.cells for text in (*cell.beside, *cell.numbers) if text]
        return found + [text for strip in self.strips for box in strip.boxes for text, _, _ in box.lines]


class Placement(NamedTuple):
    """The layout from graphviz, in mm from the top left: left edges of columns, centres of rows of each strip."""

    width: float
    height: float
    columns: tuple[float, ...]
    rows: tuple[tuple[float, ...], ...]
    strips: tuple[tuple[float, float], ...]  # top and bottom of each


class Builder:
    """Collects cells in the order of the file. `start` begins a row; a cell stays where it came first."""

    def __init__(self) -> None:
        self.cells: dict[str, Cell] = {}
        self.edges: dict[Edge, None] = {}
        self.titles: dict[str, tuple[Words, ...]] = {}
        self.rows: dict[str, int] = {}
        self._taken: set[tuple[int, int]] = set()
        self._row = 0

    def start(self) -> None:
        """Begin a row below all others."""
        self._row += 1

    def frame(self, key: str, *lines: Words) -> str:
        """Name a frame by its title, and return its key."""
        self.titles.setdefault(key, lines)
        return key

    def cell(
        self,
        cell_id: str,
        kind: str,
        column: int,
        *lines: Words,
        part: str = "",
        frame: str = "",
        numbers: Sequence[str] = (),
        beside: Sequence[str] = (),
    ) -> str:
        """Add a cell to the row, or more channels to a cell that is there; return its id."""
        if known := self.cells.get(cell_id):
            every = dict.fromkeys((*known.numbers, *numbers))
            self.cells[cell_id] = known._replace(numbers=tuple(every))
            return cell_id
        if (self._row, column) in self._taken:
            self.start()
        self._taken.add((self._row, column))
        self.rows[cell_id] = self._row
        self.cells[cell_id] = Cell(
            cell_id,
            part or cell_id,
            kind,
            column,
            frame,
            tuple(numbers),
            lines,
            tuple(beside) or ("",) * len(lines),
        )
        return cell_id

    def edge(self, tail: str, head: str, kind: str) -> None:
        """Draw a line between two cells."""
        self.edges[Edge(tail, head, kind)] = None
