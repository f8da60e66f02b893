"""The decision bands of an input as a ruler, with the planned levels as marks."""

from __future__ import annotations

from fractions import Fraction

from rigcard.documents.base.layout import BODY, SMALL, Block, Box, Cell, joined, table, text_at
from rigcard.documents.base.model import Line, Mark, Rectangle, Shape, Typeface
from rigcard.documents.base.phrases import meanwhile, place
from rigcard.resolve.links import Feed
from rigcard.resolve.model import Input
from rigcard.solve.solved import Reading, Row, Solved
from rigcard.words import decimal, percent, signed_percent

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


def ruler(face: Typeface, inner: float, solved: Solved, feed: Feed) -> Block:
    """Set drawing and table: which position falls in which band, and how far from its edge."""
    rows = readings_of(solved, feed)
    drawing = _drawing(face, inner, feed.input, [reading for _, reading in rows])
    cells = []
    for letter, band in zip(LETTERS, sorted(feed.input.bands, key=lambda band: band.low), strict=False):
        landing = [(row, reading) for row, reading in rows if reading.band is band]
        positions = ", ".join(_control_place(solved, feed, row) for row, _ in landing)
        cells.append(
            [
                Cell(letter, BODY, True),
                Cell(band.name + (" (rest)" if band.rest else ""), BODY, True),
                Cell(f"{decimal(band.low)} to {percent(band.high)}", 11.0),
                Cell(positions or "no single control", 11.0),
                Cell(
                    percent(min(reading.margin or Fraction(0) for _, reading in landing)) if landing else "",
                    BODY,
                ),
            ]
        )
    head = ("", "STATE", "BAND", "FROM", "MARGIN")
    return joined(
        Block((drawing._replace(keep_with_next=True),)),
        table(face, head, cells, (6.0, 20.0, 24.0, inner - 64.0, 14.0)),
    )


def sweep_table(face: Typeface, inner: float, solved: Solved, feed: Feed) -> Block:
    """Set a table for a sweep, which has no bands: the result of each end of the control."""
    cells = [
        [
            Cell(_control_place(solved, feed, row), 11.0),
            Cell(
                signed_percent(reading.heard),
                BODY,
                align="right",
                kind="boxed" if reading.heard < 0 else "text",
            ),
            Cell(reading.state, BODY, True),
        ]
        for row, reading in readings_of(solved, feed)
    ]
    head = ("FROM", "LEVEL", "GIVES")
    return table(face, head, cells, (inner * 0.5, 20.0, inner * 0.5 - 20.0), aligns=("left", "right", "left"))


def readings_of(solved: Solved, feed: Feed) -> list[tuple[Row, Reading]]:
    """Return every position of the channel's controls with what this input makes of it."""
    result = solved.results[feed.handset, feed.channel]
    return [(row, reading) for row in result.rows for reading in row.readings if reading.feed == feed]


def _control_place(solved: Solved, feed: Feed, row: Row) -> str:
    control = solved.rig.units[feed.handset].model.controls[row.control]
    return f"{control.title} {place(row.position)}{meanwhile(solved.rig, feed.handset, row)}"


def _drawing(face: Typeface, inner: float, known: Input, readings: list[Reading]) -> Box:
    low = min([-100, *(float(band.low) for band in known.bands)])
    high = max([100, *(float(band.high) for band in known.bands)])
    left, width = 3.0, inner - 6.0

    def at(level: float) -> float:
        return left + (min(max(level, low), high) - low) / (high - low) * width

    marks: list[Mark] = []
    top, height = 5.0, 7.0
    for letter, band in zip(LETTERS, sorted(known.bands, key=lambda band: band.low), strict=False):
        x, right = at(float(band.low)), at(float(band.high))
        marks.append(Rectangle(x, top, right - x, height, 0.4))
        marks.append(text_at(face, x, top + 0.9, letter, BODY, bold=True, align="centre", width=right - x))
    axis = top + height
    marks.append(Line(((left, axis), (left + width, axis)), 0.4))
    for level in range(-200, 201, 50):
        if low <= level <= high:
            x = at(level)
            marks.append(Line(((x, axis), (x, axis + 1.2)), 0.25))
            marks.append(
                text_at(
                    face,
                    min(x - 6, inner - 11.0),
                    axis + 1.2,
                    decimal(Fraction(level)),
                    SMALL,
                    align="centre",
                    width=12,
                )
            )
    for reading in readings:
        x = at(float(reading.heard))
        marks.append(Shape(((x, top - 0.3), (x - 1.4, top - 3.6), (x + 1.4, top - 3.6)), 0.1, True))
    return Box(axis + 1.2 + 4.6, tuple(marks))
