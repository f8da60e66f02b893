"""What each input of a device makes of what reaches it: the map, and the decision bands of an input as a ruler."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import (
    BODY,
    LABEL,
    SMALL,
    Block,
    Box,
    Cell,
    columns_for,
    heading,
    joined,
    line_height,
    row,
    text_around,
    text_at,
    wrap,
)
from rigcard.documents.base.model import Line, Mark, Rectangle, Shape, Typeface
from rigcard.documents.base.phrases import effect, meanwhile, place, way
from rigcard.resolve.links import Feed
from rigcard.resolve.model import Band
from rigcard.solve.solved import Reading, Row, Solved
from rigcard.words import decimal

SLASHED = ("low", "high")
BETWEEN = 1.4  # mm between two inputs
ALIGNS = ("left", "right", "left", "right")


def input_map(
    face: Typeface, inner: float, solved: Solved, feeds: Sequence[tuple[str, Feed]], rulers: bool, title: str
) -> Block:
    """Set one table of all inputs: below a line about each input its states, and what leads to them.

    `feeds` has that line for each input; with `rulers` the bands of an input are drawn, too; `title`: the heading, "" for none.
    """
    head = (say("STATE"), say("HEARS, %"), say("FROM"), say("MARGIN, %"))
    found = [_rows(solved, feed) for _, feed in feeds]
    widths = columns_for(face, head, [cells for rows in found for cells in rows], inner, 2)
    top = row(
        face,
        [Cell(text, LABEL, align=align) for text, align in zip(head, ALIGNS, strict=True)],
        widths,
        keep=True,
        pad=0.4,
    )
    again = (top[0].height, top[0].marks) if len(top) == 1 else None
    boxes: list[Box] = [*top]
    for (words, feed), rows in zip(feeds, found, strict=True):
        mine = [_about(face, inner, words)]
        if rulers and feed.input.bands:
            mine.append(_drawing(face, inner, solved, feed)._replace(keep_with_next=True))
        lines = [box for cells in rows for box in row(face, cells, widths, ruled=False, pad=0.35)]
        lines[:-1] = [box._replace(prefer_with_next=True) for box in lines[:-1]]
        lines[-1] = lines[-1]._replace(height=lines[-1].height + BETWEEN, trailing_space=BETWEEN)
        boxes += [box._replace(repeat_header=again) for box in (*mine, *lines)]
    made = Block(tuple(boxes))
    return joined(heading(face, title, inner), made) if title else made


def _about(face: Typeface, inner: float, words: str) -> Box:
    lines = wrap(face, words, BODY, inner, bold=True)
    marks = [text_at(face, 0, at * line_height(BODY), line, BODY, bold=True) for at, line in enumerate(lines)]
    return Box(len(lines) * line_height(BODY), tuple(marks), True)


def _rows(solved: Solved, feed: Feed) -> list[list[Cell]]:
    return _band_rows(solved, feed) if feed.input.bands else _sweep_rows(solved, feed)


def _band_rows(solved: Solved, feed: Feed) -> list[list[Cell]]:
    """Return a row for each band: which positions fall in it, and how far they are from its edges."""
    rows = readings_of(solved, feed)
    cells = []
    for band in sorted(feed.input.bands, key=lambda band: band.low):
        landing = [(found, reading) for found, reading in rows if reading.band is band]
        positions = ", ".join(_control_place(solved, feed, found) for found, _ in landing)
        title = _band_title(solved, rows, band)
        margin = min((reading.margin or Fraction(0) for _, reading in landing), default=None)
        cells.append(
            [
                Cell(say("{state} (rest)", state=title) if band.rest else title, BODY),
                Cell(
                    say("{low} to {high}", low=decimal(band.low), high=decimal(band.high)), BODY, align="right"
                ),
                Cell(positions or say("no control alone"), SMALL),
                Cell(decimal(margin) if margin is not None else "", BODY, align="right"),
            ]
        )
    return cells


def _band_title(solved: Solved, rows: Sequence[tuple[Row, Reading]], band: Band) -> str:
    """Return what a band does, as people see it; the name of its state where it does nothing to be seen."""
    found = next((reading for _, reading in rows if reading.band is band and reading.effects), None)
    return effect(solved, found) if found else band.name


def _sweep_rows(solved: Solved, feed: Feed) -> list[list[Cell]]:
    """Return one row for both ends of a sweep, which has no bands; a row an end where more than a control counts."""
    rows = readings_of(solved, feed)
    controls = {found.control for found, _ in rows}
    if len(rows) == len(SLASHED) and len(controls) == 1 and not any(found.conditions for found, _ in rows):
        (first, low), (second, high) = rows
        control = solved.rig.units[feed.handset].model.controls[first.control].title
        return [
            [
                Cell(f"{way(low.state)} / {way(high.state)}", BODY),
                Cell(f"{_signed(low.heard)} / {_signed(high.heard)}", BODY, align="right"),
                Cell(f"{control} {place(first.position)} / {place(second.position)}", SMALL),
                Cell(),
            ]
        ]
    return [
        [
            Cell(way(reading.state), BODY),
            Cell(_signed(reading.heard), BODY, align="right", kind="boxed" if reading.heard < 0 else "text"),
            Cell(_control_place(solved, feed, found), SMALL),
            Cell(),
        ]
        for found, reading in readings_of(solved, feed)
    ]


def _signed(level: Fraction) -> str:
    shown = decimal(level)
    return f"+{shown}" if level > 0 and shown != "0" else shown


def readings_of(solved: Solved, feed: Feed) -> list[tuple[Row, Reading]]:
    """Return every position of the channel's controls with what this input makes of it."""
    result = solved.results[feed.handset, feed.channel]
    return [(found, reading) for found in result.rows for reading in found.readings if reading.feed == feed]


def _control_place(solved: Solved, feed: Feed, found: Row) -> str:
    control = solved.rig.units[feed.handset].model.controls[found.control]
    return f"{control.title} {place(found.position)}{meanwhile(solved.rig, feed.handset, found)}"


def _drawing(face: Typeface, inner: float, solved: Solved, feed: Feed) -> Box:
    """Draw the bands as boxes with what they do, and a mark at each planned level."""
    known, rows = feed.input, readings_of(solved, feed)
    low = min([-100, *(float(band.low) for band in known.bands)])
    high = max([100, *(float(band.high) for band in known.bands)])
    left, width = 3.0, inner - 6.0

    def at(level: float) -> float:
        return left + (min(max(level, low), high) - low) / (high - low) * width

    marks: list[Mark] = []
    top, height = 3.6, 7.2
    for band in known.bands:
        x, right = at(float(band.low)), at(float(band.high))
        marks.append(Rectangle(x, top, right - x, height, 0.3))
        title = _band_title(solved, rows, band)
        room = right - x - 1.0
        size = SMALL if face.width(title, SMALL) < room else LABEL
        lines = wrap(face, title, size, room) if room > 0 else []
        if len(lines) <= 2 and all(face.width(word, size) <= room for word in title.split()):
            first = top + height / 2 - (len(lines) - 1) * line_height(size) / 2
            marks += [
                text_around(face, (x + right) / 2, first + at * line_height(size), line, size)
                for at, line in enumerate(lines)
            ]  # a longer one stands in the table only
    axis = top + height
    marks.append(Line(((left, axis), (left + width, axis)), 0.4))
    for level in range(-200, 201, 50):
        if low <= level <= high:
            x = at(level)
            words = decimal(Fraction(level))
            marks.append(Line(((x, axis), (x, axis + 1.0)), 0.25))
            marks.append(
                text_at(face, min(x - 6, inner - 11.0), axis + 0.8, words, LABEL, align="centre", width=12)
            )
    for _, reading in rows:
        x = at(float(reading.heard))
        marks.append(Shape(((x, top - 0.2), (x - 1.3, top - 3.2), (x + 1.3, top - 3.2)), 0.1, True))
    return Box(axis + 0.8 + line_height(LABEL) + 0.4, tuple(marks))
