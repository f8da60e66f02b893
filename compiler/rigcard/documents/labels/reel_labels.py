"""Labels for the tape or the die-cut roll of a label printer: each is a page of its own.

A cable that lies still has a flag, folded across the page. Round one that moves the label is wrapped: with the
page along the cable if it is high enough to close, otherwise with the page round it and the words turned. The
end that is covered stays blank. Print needs no clear tail, because such labels are laminated (common practice,
no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from rigcard.documents.base.model import Line, Mark, Typeface, moved
from rigcard.documents.labels.frame import EDGE, turned
from rigcard.documents.labels.geometry import OVERLAP, flag_length, girth, sizes_for
from rigcard.documents.labels.setting import (
    ALL,
    ID_ALONE,
    Content,
    Made,
    Row,
    Sizes,
    all_texts,
    around,
    height_of,
    placed,
    rows_of,
    to_write,
    unbroken,
    width_of,
)
from rigcard.documents.labels.words import Words
from rigcard.resolve.paper_side import Reel

FACES = (25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0)  # lengths of a flag's face on tape
SHORTEST_FACE = 15.0  # mm, on a die-cut label
LONGEST = 150.0  # mm of tape along a cable
FLAG_SIZES = tuple(
    Sizes(*sizes)
    for sizes in ((14, 10, 8), (12, 9, 7), (10, 8, 6.5), (9, 7, 6), (8, 7, 6), (8, 6, 6), (7, 6, 6), (6, 6, 6))
)
LARGE_FROM, LONG_FACE = 9.0, 40.0  # points of large type, and the mm of face that it is worth
TICK = 1.2  # mm
BLANK = 50.0  # mm of tape for a strip to write on


def edges(reel: Reel) -> tuple[float, float]:
    """Return what the printer cannot reach at either end of a page, and at its top and foot, in mm."""
    left, top = reel.margin
    return float(left), float(top)


def printable_height(reel: Reel) -> float:
    """Return the mm between the margins at the top and the foot of a page."""
    return float(reel.page_height) - 2 * edges(reel)[1]


def cable_on_reel(face: Typeface, reel: Reel, words: Words, diameter: float, moves: bool) -> Made:
    """Make the label of one end of a lead, in the form that says most; a label that closes nowhere says nothing."""
    ways = [made for made in _ways(face, reel, words, diameter, moves) if made]
    if not ways:
        return "wrap", *_closing(reel, diameter), (), ID_ALONE
    return max(ways, key=lambda made: made[-1])


def _ways(face: Typeface, reel: Reel, words: Words, diameter: float, moves: bool) -> Iterator[Made | None]:
    if not moves:
        yield _flag(face, reel, words, diameter)
    yield _along(face, reel, words, diameter)
    yield _round(face, reel, words, diameter)


def _closing(reel: Reel, diameter: float) -> tuple[float, float]:
    """Return the size of a page that would close round a cable, higher than that of the reel."""
    return float(reel.page_width or 0), max(girth(diameter) + OVERLAP, float(reel.page_height) + 1.0)


# ---- flags ---------------------------------------------------------------------------------------------------


def _flag(face: Typeface, reel: Reel, words: Words, diameter: float) -> Made | None:
    """Make a flag with the shortest faces, then the largest type, that hold the words; None if none does.

    Longer faces with large type come before short ones with small type. The first face alone bears the mark of
    the ground side.
    """
    end, top = edges(reel)
    faces = _faces(reel, diameter)
    small = [(length, sizes) for length in faces for sizes in FLAG_SIZES]
    large = [(length, sizes) for length, sizes in small if sizes.here >= LARGE_FROM and length <= LONG_FACE]
    for length, sizes in (*large, *small):
        room = (length - end - EDGE, printable_height(reel))  # the end of the page, and the fold
        if not unbroken(face, all_texts(words, sizes), room[0]):
            continue
        sides = [rows_of(face, words, sizes, room[0], here) for here in (words.marked, words.here)]
        if all(_fits(face, rows, room) for rows in sides):
            width = float(reel.page_width or flag_length(diameter, length))
            marks = _folds(reel, length, width)
            for rows, left in zip(sides, (end, width - length + EDGE), strict=True):
                marks += placed(face, rows, left, top + (room[1] - height_of(rows)) / 2, room[0])
            return "flag", width, float(reel.page_height), tuple(marks), ALL
    return None


def _faces(reel: Reel, diameter: float) -> tuple[float, ...]:
    """Return the lengths that a face may have: several on tape, what is left of a die-cut label."""
    if reel.page_width is None:
        return FACES
    length = (float(reel.page_width) - girth(diameter)) / 2
    return (length,) if length >= SHORTEST_FACE else ()


def _fits(face: Typeface, rows: list[Row], room: tuple[float, float]) -> bool:
    return height_of(rows) <= room[1] + 1e-6 and width_of(face, rows) <= room[0] + 1e-6


def _folds(reel: Reel, length: float, width: float) -> list[Mark]:
    """Return ticks where the faces of a flag end."""
    top, foot = edges(reel)[1], float(reel.page_height) - edges(reel)[1]
    ends = ((top, top + TICK), (foot - TICK, foot))
    return [Line(((x, y), (x, to)), 0.15) for x in (length, width - length) for y, to in ends]


# ---- wraps ---------------------------------------------------------------------------------------------------


def _along(face: Typeface, reel: Reel, words: Words, diameter: float) -> Made | None:
    """Make a wrap whose page lies along the cable; None if it is too low to close round it."""
    end, top = edges(reel)
    height = float(reel.page_height)
    if height < girth(diameter) + OVERLAP:
        return None
    longest = float(reel.page_width or LONGEST)
    beside = TICK + 0.5  # so that no tick underlines a word
    room = (longest - 2 * (end + beside), min(girth(diameter), height - top) - top)
    content = around(face, words, room, girth(diameter), sizes_for(diameter))
    if not _holds(content, room):
        return None
    width = float(reel.page_width or ceil(content.width + 2 * (end + beside)))
    left = (width - content.width) / 2
    marks = [moved(mark, left, top) for mark in content.marks]
    return "wrap", width, height, (*marks, *_covered(reel, width, girth(diameter))), content.says


def _round(face: Typeface, reel: Reel, words: Words, diameter: float) -> Made | None:
    """Make a wrap whose page lies round the cable, with words that run along it; None if it is too short."""
    end, top = edges(reel)
    turn = girth(diameter)
    width = float(reel.page_width or ceil(turn + max(OVERLAP, end)))
    if width < turn + OVERLAP:
        return None
    room = (printable_height(reel), min(turn, width - end) - end)
    content = around(face, words, room, turn, sizes_for(diameter))
    if not _holds(content, room):
        return None
    height = float(reel.page_height)
    left = top + (room[0] - content.width) / 2
    marks = [turned(moved(mark, left, end), height) for mark in content.marks]
    return "wrap", width, height, tuple(marks), content.says


def _holds(content: Content, room: tuple[float, float]) -> bool:
    return content.width <= room[0] + 1e-6 and content.height <= room[1] + 1e-6


def _covered(reel: Reel, width: float, y: float) -> list[Mark]:
    """Return ticks where the part of a label begins that it covers itself."""
    end, top = edges(reel)
    if y > float(reel.page_height) - top:
        return []
    return [Line(((x, y), (x + TICK, y)), 0.15) for x in (end, width - end - TICK)]


# ---- blanks --------------------------------------------------------------------------------------------------


def blank_on_reel(
    face: Typeface, reel: Reel, text: str, diameter: float, form: str
) -> tuple[float, float, tuple[Mark, ...]]:
    """Make a label to write on: a flag, or a strip."""
    end, top = edges(reel)
    height = float(reel.page_height)
    if form == "flag":
        length = _faces(reel, diameter)[0]
        width = float(reel.page_width or flag_length(diameter, length))
        marks = _folds(reel, length, width)
        fields = [(end, length - end - EDGE), (width - length + EDGE, length - end - EDGE)]
    else:
        width = float(reel.page_width or BLANK)
        marks = []
        fields = [(end, width - 2 * end)]
    for left, room in fields:
        marks += to_write(face, text, (left, top), (room, printable_height(reel)))
    return width, height, tuple(marks)
