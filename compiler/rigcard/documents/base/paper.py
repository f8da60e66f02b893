"""Sizes of paper and cards in mm (ISO 216; ANSI/ASME Y14.1), and the imposition of cards on sheets."""

from collections.abc import Sequence
from functools import partial
from typing import NamedTuple

from rigcard.documents.base.language import say, spoken
from rigcard.documents.base.model import (
    Document,
    Frame,
    Later,
    Line,
    Mark,
    Page,
    Rectangle,
    Text,
    Typeface,
    moved,
)

SIZES = {  # portrait
    "a3": (297.0, 420.0),
    "a4": (210.0, 297.0),
    "a5": (148.0, 210.0),
    "a6": (105.0, 148.0),
    "letter": (215.9, 279.4),
    "tabloid": (279.4, 431.8),
}
LARGE = {"a4": "a3", "letter": "tabloid"}
Size = tuple[float, float]  # width and height
CARD_SIZES = {  # one for a whole pack; the first is two on A4 and on Letter, and fits an A5 pouch with 5 mm to seal
    "": (134.0, 200.0),
    "a6": SIZES["a6"],
    "a5": SIZES["a5"],
    "a4": SIZES["a4"],
}
LONG_EDGE = "long"  # a flip: the edge of the paper that a printer turns it over at; the other one is "short"
ONE_SIDED = ""  # instead of a flip
CHECK_BAR = 50.0
TICK = 4.0  # length of a cut tick, which stays 1 mm off the card
UNPRINTABLE = 4.2  # mm at the edge of the paper that an office printer cannot reach


def paper_file(name: str, title: str, pages: Sequence[Page]) -> Document:
    """Return a file of pages in the language of the papers."""
    return Document(name, title, pages, spoken(), say("Remotely controlled camera rig"))


class Leaf(NamedTuple):
    """One card as it is held: the marks of its front, and of its back if that has any.

    They are placed from the card's own top left corner. `bookmark` is set where a card group begins.
    """

    sides: Sequence[tuple[Mark, ...]]
    bookmark: str


class Grid(NamedTuple):
    """The arrangement of cards of one size on a sheet of paper, portrait or landscape."""

    paper: Size
    card: Size
    columns: int
    rows: int

    @property
    def cells(self) -> int:
        """Return the number of cards on a sheet."""
        return self.columns * self.rows

    @property
    def left(self) -> float:
        """Return the margin to the left of the cards, in mm."""
        return (self.paper[0] - self.columns * self.card[0]) / 2

    @property
    def top(self) -> float:
        """Return the margin above the cards, in mm."""
        return (self.paper[1] - self.rows * self.card[1]) / 2


def grid_of(card: Size, paper: str, most: int | None) -> Grid:
    """Return the grid with the most cards, at most `most` if given; portrait unless landscape holds more."""
    width, height = SIZES[paper]
    found = []
    for sheet in ((width, height), (height, width)):
        across, down = (int((sheet[at] + 1e-6) // card[at]) for at in (0, 1))
        for columns in range(1, across + 1):
            for rows in range(1, down + 1):
                if columns * rows <= (most or columns * rows):
                    found.append(Grid(sheet, card, columns, rows))
    return max(found, key=lambda grid: grid.cells)


class Imposed(NamedTuple):
    """One side of a sheet: which leaf, and whether its front, stands in which cell of the grid."""

    places: tuple[tuple[int, int, bool], ...]  # cell, leaf, whether it is the front
    back: bool = False


def backs_in(grid: Grid, cell: int, flip: str) -> int:
    """Return the cell on the back of a sheet that lies behind a cell of its front.

    A sheet that turns at an upright edge has its columns in reverse order behind, one that turns at a level
    edge its rows. So a card turns over as its sheet does: at its side, or at its top.
    """
    row, column = divmod(cell, grid.columns)
    if turns_at_side(grid, flip):
        return row * grid.columns + grid.columns - 1 - column
    return (grid.rows - 1 - row) * grid.columns + column


def turns_at_side(grid: Grid, flip: str) -> bool:
    """Whether a sheet, and so each card of it, turns over at an upright edge, as the leaf of a book does."""
    upright = grid.paper[1] > grid.paper[0]
    return upright == (flip == LONG_EDGE)


def imposition(sides: Sequence[int], grid: Grid, flip: str) -> list[Imposed]:
    """Return each printed page for leaves with one or two sides.

    Two-sided: fronts, then their backs, also where all of these are white, so that the printer's pairs of pages
    stay pairs. One-sided: front and back stand next to each other, on one sheet if it holds two cards.
    """
    if flip == ONE_SIDED:
        return _one_sided(sides, grid)
    pages = []
    for first in range(0, len(sides), grid.cells):
        leaves = range(first, min(first + grid.cells, len(sides)))
        fronts = tuple((leaf - first, leaf, True) for leaf in leaves)
        backs = tuple((backs_in(grid, leaf - first, flip), leaf, False) for leaf in leaves if sides[leaf] == 2)
        pages += [Imposed(fronts), Imposed(backs, True)]
    return pages


def _one_sided(sides: Sequence[int], grid: Grid) -> list[Imposed]:
    pages: list[list[tuple[int, int, bool]]] = []
    used = grid.cells
    for leaf, count in enumerate(sides):
        for side in range(count):
            if used == grid.cells or (side == 0 and used + count > grid.cells >= count):
                pages.append([])
                used = 0
            pages[-1].append((used, leaf, side == 0))
            used += 1
    return [Imposed(tuple(page)) for page in pages]


def impose(
    face: Typeface, leaves: Sequence[Leaf], size: Size, paper: str, most: int | None, flip: str, footer: str
) -> Later[Page]:
    """Set cards of one size on sheets, with cut ticks outside the cards and a bar to check the printer's scale."""
    grid = grid_of(size, paper, most)
    printed = imposition([len(leaf.sides) for leaf in leaves], grid, flip)
    sheets = sum(not page.back for page in printed)
    pages = []
    number = 0
    for page in printed:
        number += not page.back
        words = f"{_sheet_words(number, sheets, page, flip)}   {footer}"
        pages.append(partial(_sheet, face, leaves, grid, page.places, words))
    return Later(pages)


def _sheet(
    face: Typeface, leaves: Sequence[Leaf], grid: Grid, places: Sequence[tuple[int, int, bool]], words: str
) -> Page:
    marks: list[Mark] = _sheet_marks(face, grid, words)
    frames = []
    for cell, index, front in places:
        x = grid.left + cell % grid.columns * grid.card[0]
        y = grid.top + cell // grid.columns * grid.card[1]
        marks += [moved(mark, x, y) for mark in leaves[index].sides[not front]]
        frames.append(Frame(f"card {index + 1} {'front' if front else 'back'}", x, y, *grid.card))
    bookmarks = tuple(leaves[at].bookmark for _, at, front in places if front and leaves[at].bookmark)
    return Page(*grid.paper, tuple(marks), tuple(frames), bookmarks)


def _sheet_words(number: int, sheets: int, page: Imposed, flip: str) -> str:
    if flip == ONE_SIDED:
        return say("sheet {number} of {sheets}", number=number, sheets=sheets)
    if page.back:
        return say("sheet {number} of {sheets}, back", number=number, sheets=sheets)
    return say("sheet {number} of {sheets}, front", number=number, sheets=sheets)


def bar_words() -> str:
    """Return what stands beside the bar."""
    return say("this bar is 50 mm")


def has_bar(grid: Grid) -> bool:
    """Whether the cards leave room for a bar to check the scale with."""
    return max(grid.top, grid.left) > TICK


def pouch_for(card: Size) -> str:
    """Return the trade size of the pouch for a card; a pouch is a few mm larger than its paper size."""
    return next(
        name for name in ("a6", "a5", "a4", "a3") if card[0] <= SIZES[name][0] and card[1] <= SIZES[name][1]
    )


def _sheet_marks(face: Typeface, grid: Grid, words: str) -> list[Mark]:
    marks: list[Mark] = []
    width, height = grid.paper
    left, top = grid.left, grid.top
    for column in range(grid.columns + 1):
        x = left + column * grid.card[0]
        for start, end in _tick(top):
            marks += [Line(((x, start), (x, end)), 0.2), Line(((x, height - start), (x, height - end)), 0.2)]
    for row in range(grid.rows + 1):
        y = top + row * grid.card[1]
        for start, end in _tick(left):
            marks += [Line(((start, y), (end, y)), 0.2), Line(((width - start, y), (width - end, y)), 0.2)]
    if not has_bar(grid):  # no room beside the cards: ticks between two cards, no bar
        edge = UNPRINTABLE
        for x in (left + column * grid.card[0] for column in range(1, grid.columns)):
            marks += [Line(((x, at), (x, at + TICK)), 0.2) for at in (edge, height - edge - TICK)]
        for y in (top + row * grid.card[1] for row in range(1, grid.rows)):
            marks += [Line(((at, y), (at + TICK, y)), 0.2) for at in (edge, width - edge - TICK)]
        return marks
    return marks + scale_bar(face, width, height, left, top, f"{words}   {bar_words()}")


def _tick(margin: float) -> list[tuple[float, float]]:
    """Return both ends of a cut tick from the edge of the paper; empty if a printer cannot reach them."""
    free = margin - UNPRINTABLE
    end = margin - min(1.0, free / 4)
    return [(max(end - TICK, UNPRINTABLE), end)] if free > 0.3 else []


def scale_bar(face: Typeface, width: float, height: float, left: float, top: float, text: str) -> list[Mark]:
    """Draw a 50 mm bar with its text, in the wider margin."""
    size = 8.0
    measured = face.width(text, size)
    if top >= left:  # along the bottom
        y = height - UNPRINTABLE - 2.0
        x = left + 8.0
        return [*_bar(x, y, False), Text(x + CHECK_BAR + 3, y + 0.9, text, size, False, measured)]
    x = width - UNPRINTABLE
    y = height - top - 8.0
    return [
        *_bar(x - 1.0, y - CHECK_BAR, True),
        Text(x - 0.8, y - CHECK_BAR - 3, text, size, False, measured, 90),  # its descenders reach to the right
    ]


def _bar(x: float, y: float, upright: bool) -> list[Mark]:
    if upright:
        ends: list[Mark] = [Line(((x - 1, y + at), (x + 1, y + at)), 0.3) for at in (0.0, CHECK_BAR)]
        return [Line(((x, y), (x, y + CHECK_BAR)), 0.3), *ends]
    ends = [Line(((x + at, y - 1), (x + at, y + 1)), 0.3) for at in (0.0, CHECK_BAR)]
    return [Line(((x, y), (x + CHECK_BAR, y)), 0.3), *ends]


def slot_marks(width: float) -> list[Mark]:
    """Mark where a lanyard slot may be punched: 14 x 3 mm, in the top 14 mm of a card, which stay clear."""
    return [Rectangle((width - 14) / 2, 5.0, 14.0, 3.0, 0.15, (0.8, 0.8), 1.5)]
