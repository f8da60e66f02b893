"""Sets the words of a cable's label in rows: on the face of a flag, or all round a cable.

All lengths are in mm from the top left corner of the room that the words have.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from rigcard.documents.base.layout import ASCENT, line_height, text_at, wrap
from rigcard.documents.base.model import MM_PER_POINT, SMALLEST, Line, Mark, Typeface
from rigcard.documents.labels.frame import EDGE, SET
from rigcard.documents.labels.words import GROUND, Words

Row = tuple[SET, ...]  # texts beside each other, on one baseline
BETWEEN = 1.2  # mm between two texts of a row
COLUMN = 2.0  # mm between the ids and the words beside them
TIGHT = 0.12  # mm of leading that each row may lose where the room is low
ID_ALONE, PLACE, ALL = range(3)  # what a label has room for: its id, also where its plug goes, or everything


class Sizes(NamedTuple):
    """Type sizes in points: where this plug goes is largest, then the id, then the rest."""

    here: float
    id: float
    small: float


Made = tuple[str, float, float, tuple[Mark, ...], int]  # form, width, height, marks, how much it says


class Content(NamedTuple):
    """Words that are set: how wide and high they are, their marks, and how much they say."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    says: int


# ---- rows ----------------------------------------------------------------------------------------------------


def row_height(row: Row) -> float:
    """Return the height of a row."""
    return max([line_height(size) for _, size, _ in row])


def height_of(rows: Sequence[Row]) -> float:
    """Return the height of rows."""
    return sum([row_height(row) for row in rows])


def row_width(face: Typeface, row: Row) -> float:
    """Return the width of a row."""
    return sum([face.width(*text) for text in row]) + BETWEEN * (len(row) - 1)


def width_of(face: Typeface, rows: Sequence[Row]) -> float:
    """Return the width of the widest row."""
    return max([row_width(face, row) for row in rows])


def rows_of(face: Typeface, words: Words, sizes: Sizes, room: float, here: str) -> list[Row]:
    """Set all words: `here` on rows of its own, then the rest on as few rows as `room` allows.

    A text stays whole if it fits a row. Length and revision stand there if they need no further row.
    """
    rows: list[Row] = [((line, sizes.here, True),) for line in wrap(face, here, sizes.here, room, bold=True)]
    rest: list[SET] = [(words.id, sizes.id, True), *((text, sizes.small, False) for text in _rest(words))]
    rows += flowed(face, rest, room)
    for text in words.extras:
        last = _beside(rows[-1], (text, sizes.small, False))
        if row_width(face, last) <= room:
            rows[-1] = last
    return rows


def all_texts(words: Words, sizes: Sizes) -> list[SET]:
    """Return every text that a label must bear."""
    return [
        (words.marked, sizes.here, True),
        (words.id, sizes.id, True),
        *((text, sizes.small, False) for text in _rest(words)),
    ]


def _rest(words: Words) -> tuple[str, ...]:
    return (words.there, *words.facts)


def flowed(face: Typeface, texts: Sequence[SET], room: float) -> list[Row]:
    """Set texts on as few rows as possible, none wider than `room`."""
    rows: list[Row] = []
    for text, size, bold in texts:
        longer = _beside(rows[-1] if rows else (), (text, size, bold))
        if rows and row_width(face, longer) <= room:
            rows[-1] = longer
        else:
            rows += [((line, size, bold),) for line in wrap(face, text, size, room, bold=bold)]
    return rows


def _beside(row: Row, more: SET) -> Row:
    """Return a row with one more text, joined to the last one if both are alike."""
    text, size, bold = more
    if row and row[-1][1:] == (size, bold):
        return (*row[:-1], (f"{row[-1][0]} · {text}", size, bold))
    return (*row, more)


def placed(
    face: Typeface, rows: Sequence[Row], x: float, top: float, width: float, between: float = 0.0
) -> list[Mark]:
    """Place rows in the middle of a field that begins at (x, top)."""
    marks: list[Mark] = []
    for row in rows:
        left = x + (width - row_width(face, row)) / 2
        largest = max([size for _, size, _ in row])
        for text, size, bold in row:
            drop = (largest - size) * MM_PER_POINT * ASCENT  # texts of a row share a baseline
            mark = text_at(face, left, top + drop, text, size, bold=bold)
            marks.append(mark)
            left += mark.width + BETWEEN
        top += row_height(row) + between
    return marks


def unbroken(face: Typeface, texts: Sequence[SET], room: float) -> bool:
    """Whether no word of some texts is wider than a row, so that none is broken."""
    return all(face.width(word, size, bold) <= room for text, size, bold in texts for word in text.split())


# ---- round a cable -------------------------------------------------------------------------------------------


def around(
    face: Typeface, words: Words, room: tuple[float, float], girth: float, usual: Sequence[Sizes]
) -> Content:
    """Set words along a cable in a room (width, height) whose height goes round it.

    The id stands in a column of its own as often as its lines go round, so that one copy faces up; the words
    stand beside it as often as they fit. Where there is no room for a column, the rows stand below each other,
    and then what is least important goes. `girth`: one turn; `usual`: the type sizes to try, largest first.
    """
    for made in _ways(face, words, room, girth, usual):
        if made.width <= room[0] + 1e-6 and made.height <= room[1] + 1e-6:
            return made
    marked = f"{GROUND} {words.id}" if words.ground else words.id
    rows = [((line, SMALLEST, True),) for line in wrap(face, marked, SMALLEST, room[0], bold=True)]
    return _spread(face, rows, (), room, ID_ALONE)


def _ways(
    face: Typeface, words: Words, room: tuple[float, float], girth: float, usual: Sequence[Sizes]
) -> Iterator[Content]:
    """Yield ways to set the words, the best first."""
    for sizes in usual:
        yield from _in_columns(face, words, room, girth, sizes)
    for sizes in usual:
        if unbroken(face, all_texts(words, sizes), room[0]):
            rows = rows_of(face, words, sizes, room[0], words.marked)
            yield _spread(face, rows, (words.id, sizes.id, True), room, ALL)
    every = (words.marked, words.id, *_rest(words))
    for size in (8.0, 7.0, SMALLEST):
        bold = (True, True, *([False] * (len(every) - 2)))
        row = tuple((text, size if heavy else SMALLEST, heavy) for text, heavy in zip(every, bold, strict=True))
        yield _spread(face, [row], (), room, ALL)
    both = [words.marked, words.id]
    for size in (8.0, 7.0, SMALLEST):
        if unbroken(face, [(text, size, True) for text in both], room[0]):
            rows = [
                ((line, size, True),) for text in both for line in wrap(face, text, size, room[0], bold=True)
            ]
            yield _spread(face, rows, (), room, PLACE)
        yield _spread(face, [tuple((text, size, True) for text in both)], (), room, PLACE)
    marked = f"{GROUND} {words.id}" if words.ground else words.id
    for size in (8.0, 7.0, SMALLEST):
        yield _spread(face, [((marked, size, True),)], (words.id, size, True), room, ID_ALONE)


def copies(girth: float, size: float) -> int:
    """Return how many lines of a size go once round a cable."""
    return int(girth / line_height(size) + 1e-9)


def _in_columns(
    face: Typeface, words: Words, room: tuple[float, float], girth: float, sizes: Sizes
) -> Iterator[Content]:
    """Set the id as often as its lines go round, and all words beside it as often as they fit; or nothing.

    Facts and the place of the other end have rows of their own if the room is high enough.
    """
    width, height = room
    count = copies(min(girth, height + EDGE), sizes.id)
    column = face.width(words.id, sizes.id, True)
    beside = width - column - COLUMN
    if count < 2 or not unbroken(face, all_texts(words, sizes), beside):
        return
    there = [words.there, *words.extras]
    for parts in ([words.facts, there], [[*words.facts, *there]]):
        first, again = (_block(face, here, parts, sizes, beside) for here in (words.marked, words.here))
        if height_of(first) - TIGHT * len(first) <= height:
            break
    else:
        return
    times = max(1, int((height + 1e-9) / max(height_of(first), height_of(again))))
    inner = max(width_of(face, first), width_of(face, again))
    marks: list[Mark] = []
    for number in range(count):
        pitch = height / count
        top = number * pitch + (pitch - line_height(sizes.id)) / 2
        marks += placed(face, [((words.id, sizes.id, True),)], 0.0, top, column)
    for number in range(times):
        pitch = height / times
        rows = again if number else first
        tight = min(0.0, (pitch - height_of(rows)) / len(rows))
        top = number * pitch + max(0.0, (pitch - height_of(rows)) / 2)
        marks += placed(face, rows, column + COLUMN, top, inner, tight)
    yield Content(column + COLUMN + inner, height, tuple(marks), ALL)


def _block(face: Typeface, here: str, parts: Sequence[Sequence[str]], sizes: Sizes, room: float) -> list[Row]:
    """Set where a plug goes, and below it each part from a row of its own."""
    rows: list[Row] = [((line, sizes.here, True),) for line in wrap(face, here, sizes.here, room, bold=True)]
    return rows + [
        row for part in parts for row in flowed(face, [(text, sizes.small, False) for text in part], room)
    ]


def _spread(
    face: Typeface, rows: Sequence[Row], copy: SET | tuple[()], room: tuple[float, float], says: int
) -> Content:
    """Spread rows over the height of the room, with as many copies of a text below them as fit."""
    height = room[1]
    every = list(rows)
    while copy and height_of([*every, (copy,)]) - TIGHT * (len(every) + 1) <= height:
        every.append((copy,))
    between = (height - height_of(every)) / len(every)
    width = width_of(face, every)
    marks = placed(face, every, 0.0, between / 2, width, between)
    used = height if between >= -TIGHT - 1e-9 else height_of(every)
    return Content(width, used, tuple(marks), says)


# ---- blanks --------------------------------------------------------------------------------------------------


def to_write(face: Typeface, text: str, corner: tuple[float, float], room: tuple[float, float]) -> list[Mark]:
    """Set an id to complete, with ruled lines below it, or beside it if the room is low.

    `corner` is the top left of the room, `room` its width and height.
    """
    (x, y), (width, height) = corner, room
    size = 10.0 if height >= line_height(10.0) else SMALLEST
    marks: list[Mark] = [text_at(face, x, y, text, size, bold=True)]
    below = line_height(size) + 3.5
    if below > height:
        left = x + face.width(text, size, True) + 2.0
        foot = y + min(line_height(size), height) - 0.3
        return [*marks, Line(((left, foot), (x + width, foot)), 0.15)]
    while below <= height:
        marks.append(Line(((x, y + below), (x + width, y + below)), 0.15))
        below += 4.5
    return marks
