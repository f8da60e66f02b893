"""Sizes of paper and cards in mm (ISO 216; ANSI/ASME Y14.1), and the imposition of cards on sheets."""

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.documents.base.model import (
    Document,
    Frame,
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
POCKET = (100.0, 134.0)  # four on A4 and on Letter; fits an A6 pouch with 5 mm on every side


class Stock(NamedTuple):
    """The sizes of the two kinds of card: pocket cards are carried, bench cards are up to twice as large."""

    pocket: Size
    bench: Size


STOCKS = {
    "": Stock(POCKET, (POCKET[1], 2 * POCKET[0])),
    "a6": Stock(SIZES["a6"], SIZES["a5"]),
    "a5": Stock(SIZES["a5"], SIZES["a5"]),
    "a4": Stock(SIZES["a4"], SIZES["a4"]),
}
CHECK_BAR = 50.0
TICK = 4.0  # length of a cut tick, which stays 1 mm off the card
UNPRINTABLE = 4.2  # mm at the edge of the paper that an office printer cannot reach


class Card(NamedTuple):
    """One card with its marks, from its own top left corner; `bookmark` is set where a card group begins."""

    size: Size
    marks: tuple[Mark, ...]
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


def sheets_for(cards: Sequence[Size], paper: str, most: int | None) -> list[tuple[Grid, int, int]]:
    """Return (grid, first card from 0, number of cards) for each sheet.

    The cards keep their order, and all cards of a sheet have one size.
    """
    sheets = []
    at = 0
    while at < len(cards):
        grid = grid_of(cards[at], paper, most)
        alike = next((n for n in range(at, len(cards)) if cards[n] != cards[at]), len(cards))
        count = min(grid.cells, alike - at)
        sheets.append((grid, at, count))
        at += count
    return sheets


def impose(
    face: Typeface, cards: Sequence[Card], paper: str, most: int | None, title: str, footer: str
) -> Document:
    """Set cards on sheets, with cut ticks outside the cards and a bar to check the printer's scale."""
    pages = []
    sheets = sheets_for([card.size for card in cards], paper, most)
    for number, (grid, first, count) in enumerate(sheets, 1):
        marks: list[Mark] = _sheet_marks(face, grid, f"sheet {number} of {len(sheets)}   {footer}")
        frames = []
        here = cards[first : first + count]
        for index, card in enumerate(here):
            x = grid.left + index % grid.columns * card.size[0]
            y = grid.top + index // grid.columns * card.size[1]
            marks += [moved(mark, x, y) for mark in card.marks]
            frames.append(Frame(f"card {first + index + 1}", x, y, *card.size))
        bookmarks = tuple(card.bookmark for card in here if card.bookmark)
        pages.append(Page(*grid.paper, tuple(marks), tuple(frames), bookmarks))
    return Document("cards", title, tuple(pages))


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
    return marks + scale_bar(face, width, height, left, top, f"{words}   this bar is 50 mm")


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
