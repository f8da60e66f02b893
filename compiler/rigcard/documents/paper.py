"""Sizes of paper and cards in mm (ISO 216; ANSI/ASME Y14.1), and cards set on sheets."""

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.documents.model import (
    Box,
    Document,
    Frame,
    Line,
    Mark,
    Page,
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
CARD = (100.0, 134.0)
COLUMNS, ROWS = 2, 2
CHECK_BAR = 50.0
TICK = 4.0  # length of a cut tick; it keeps 1 mm off the card
UNPRINTABLE = 4.2  # mm at the edge of the paper that an office printer cannot reach


class Card(NamedTuple):
    """One card, marks from its own top left corner; `bookmark` where a group of cards begins."""

    marks: tuple[Mark, ...]
    bookmark: str


def impose(face: Typeface, cards: Sequence[Card], paper: str, title: str, footer: str) -> Document:
    """Cards four up on sheets, with cut ticks outside the cards and a bar to check the printer's scale."""
    width, height = SIZES[paper]
    left, top = (width - COLUMNS * CARD[0]) / 2, (height - ROWS * CARD[1]) / 2
    per_sheet = COLUMNS * ROWS
    sheets = -(-len(cards) // per_sheet)
    pages = []
    for sheet in range(sheets):
        marks: list[Mark] = _sheet_marks(face, width, height, left, top, sheet + 1, sheets, footer)
        frames = []
        here = cards[sheet * per_sheet : (sheet + 1) * per_sheet]
        for index, card in enumerate(here):
            x, y = left + index % COLUMNS * CARD[0], top + index // COLUMNS * CARD[1]
            marks += [moved(mark, x, y) for mark in card.marks]
            frames.append(Frame(f"card {sheet * per_sheet + index + 1}", x, y, *CARD))
        bookmarks = tuple(card.bookmark for card in here if card.bookmark)
        pages.append(Page(width, height, tuple(marks), tuple(frames), bookmarks))
    return Document("cards", title, tuple(pages))


def _sheet_marks(
    face: Typeface, width: float, height: float, left: float, top: float, number: int, of: int, footer: str
) -> list[Mark]:
    marks: list[Mark] = []
    for column in range(COLUMNS + 1):
        x = left + column * CARD[0]
        for start, end in ((top - 1 - TICK, top - 1), (height - top + 1, height - top + 1 + TICK)):
            marks.append(Line(((x, max(start, 1.0)), (x, min(end, height - 1.0))), 0.2))
    for row in range(ROWS + 1):
        y = top + row * CARD[1]
        for start, end in ((left - 1 - TICK, left - 1), (width - left + 1, width - left + 1 + TICK)):
            marks.append(Line(((max(start, 1.0), y), (min(end, width - 1.0), y)), 0.2))
    text = f"sheet {number} of {of}   {footer}   this bar is 50 mm"
    return marks + scale_bar(face, width, height, left, top, text)


def scale_bar(face: Typeface, width: float, height: float, left: float, top: float, text: str) -> list[Mark]:
    """A 50 mm bar with words beside it, in whichever margin has more room."""
    size = 7.0
    measured = face.width(text, size)
    if top >= left:  # along the bottom
        y = height - UNPRINTABLE - 2.0
        x = left + 8.0
        return [*_bar(x, y, False), Text(x + CHECK_BAR + 3, y + 0.9, text, size, False, measured)]
    x = width - UNPRINTABLE
    y = height - top - 8.0
    return [
        *_bar(x - 1.0, y - CHECK_BAR, True),
        Text(x, y - CHECK_BAR - 3, text, size, False, measured, 90),
    ]


def _bar(x: float, y: float, upright: bool) -> list[Mark]:
    if upright:
        ends: list[Mark] = [Line(((x - 1, y + at), (x + 1, y + at)), 0.3) for at in (0.0, CHECK_BAR)]
        return [Line(((x, y), (x, y + CHECK_BAR)), 0.3), *ends]
    ends = [Line(((x + at, y - 1), (x + at, y + 1)), 0.3) for at in (0.0, CHECK_BAR)]
    return [Line(((x, y), (x + CHECK_BAR, y)), 0.3), *ends]


def slot_marks() -> list[Mark]:
    """Where a lanyard slot may be punched: 14 x 3 mm, the top 14 mm of a card are kept clear for it."""
    return [Box((CARD[0] - 14) / 2, 5.0, 14.0, 3.0, 0.15, (0.8, 0.8), 1.5)]
