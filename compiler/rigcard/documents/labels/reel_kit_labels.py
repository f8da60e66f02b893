"""Flat labels of units and cases for the tape or the die-cut roll of a label printer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil

from rigcard.documents.base.layout import wrap
from rigcard.documents.base.model import SMALLEST, Bars, Mark, Squares, Typeface
from rigcard.documents.labels import code128
from rigcard.documents.labels.asset_codes import MODULE, QUIET, code_size
from rigcard.documents.labels.reel_labels import edges, printable_height
from rigcard.documents.labels.setting import Row, height_of, placed, row_height, row_width, width_of
from rigcard.resolve.paper_side import Reel

LONGEST_LINE = 80.0  # mm of words on tape
LOWEST_BARS = 5.0  # mm of bar height (common practice, no source)
TITLE_SIZES = (14.0, 12.0, 10.0, 9.0, 8.0, 7.0, SMALLEST)
CASE_SIZES = (40.0, 32.0, 24.0, 20.0, 16.0, 12.0, 10.0, 8.0, SMALLEST)

Flat = tuple[float, float, tuple[Mark, ...]]  # width, height, marks


def unit_on_reel(face: Typeface, reel: Reel, texts: Sequence[str], code: str, kinds: str) -> Flat:
    """Make the label of a unit: its words, the most important first, and its code with the code's text beside it.

    `kinds`: matrix, linear, or "" for whichever fits; low tape then has the text alone. A label that does not fit
    is higher than the page.
    """
    end, top = edges(reel)
    fixed, height, room = float(reel.page_width or 0), float(reel.page_height), printable_height(reel)
    zone = 0.0
    drawn: list[Squares | Bars] = []
    if code:
        found = _code(reel, code, kinds)
        if found is not None:
            drawn, zone = [found[0]], found[1]
        elif kinds:
            return fixed, max(code_size(code)[1], height + 1.0), ()
    widest = (fixed or LONGEST_LINE + 2 * end + zone) - end - max(end, zone)
    said = [texts[0], *([code] if code else []), *texts[1:]]
    rows = _rows(face, said, widest, room, 1 + len(drawn)) if widest > 0 else None
    if rows is None:
        return fixed, height + 1.0, ()
    width = fixed or float(ceil(end + width_of(face, rows) + max(end, zone)))
    marks: list[Mark] = []
    y = top + (room - height_of(rows)) / 2
    for row in rows:
        marks += placed(face, [row], end, y, row_width(face, row))
        y += row_height(row)
    for mark in drawn:
        marks.append(mark._replace(x=width - zone + mark.x, y=(height - _height(mark)) / 2))
    return width, height, tuple(marks)


def _code(reel: Reel, code: str, kinds: str) -> tuple[Squares | Bars, float] | None:
    """Return the code at its place in a zone as wide as it needs, which ends the page; None if the page is too low.

    The zone holds the quiet zone, and what the printer cannot reach.
    """
    end, _ = edges(reel)
    version, side = code_size(code)
    quiet = QUIET * MODULE
    symbol = side - 2 * quiet
    if kinds != "linear" and symbol <= printable_height(reel) and side <= float(reel.page_height):
        return Squares(quiet, 0.0, code, MODULE, version), quiet + symbol + max(quiet, end)
    bars = min(code128.HEIGHT, printable_height(reel))
    if kinds == "matrix" or bars < LOWEST_BARS:
        return None
    quiet = code128.QUIET * code128.MODULE
    length = code128.linear_length(code) - 2 * quiet
    mark = Bars(quiet, 0.0, code128.bar_widths(code), code128.MODULE, bars)
    return mark, quiet + length + max(quiet, end)


def _height(mark: Squares | Bars) -> float:
    return mark.height if isinstance(mark, Bars) else (17 + 4 * mark.version) * mark.module


def _rows(face: Typeface, texts: Sequence[str], widest: float, room: float, least: int) -> list[Row] | None:
    """Set the first text large and the others below it; the last ones go if the page is low, but for `least`."""
    for count in range(len(texts), least - 1, -1):
        for size in TITLE_SIZES:
            below = max(SMALLEST, size * 0.7)
            rows: list[Row] = []
            for number, text in enumerate(texts[:count]):
                points, bold = (below, True) if number else (size, True)
                if number and number == len(texts) - 1:
                    points, bold = max(SMALLEST, below - 1.0), False
                    if face.width(text, points) > widest:
                        points = SMALLEST
                rows += [((line, points, bold),) for line in wrap(face, text, points, widest, bold=bold)]
            if height_of(rows) <= room + 1e-6 and width_of(face, rows) <= widest + 1e-6:
                return rows
    return None


def case_on_reel(face: Typeface, reel: Reel, texts: Sequence[str]) -> Flat:
    """Make the label of a case in the largest type that fits the page."""
    end, top = edges(reel)
    fixed, height, room = float(reel.page_width or 0), float(reel.page_height), printable_height(reel)
    widest = (fixed or LONGEST_LINE + 2 * end) - 2 * end
    for rows in _whole(face, texts, widest):
        if height_of(rows) <= room and width_of(face, rows) <= widest:
            width = fixed or float(ceil(width_of(face, rows) + 2 * end))
            left = (width - width_of(face, rows)) / 2
            return (
                width,
                height,
                tuple(placed(face, rows, left, top + (room - height_of(rows)) / 2, width - 2 * left)),
            )
    return fixed, height + 1.0, ()


def _whole(face: Typeface, texts: Sequence[str], widest: float) -> Iterator[list[Row]]:
    """Yield the texts in each size, first without a broken word."""
    for size in CASE_SIZES:
        if all(face.width(word, size, True) <= widest for text in texts for word in text.split()):
            yield [
                ((line, size, True),) for text in texts for line in wrap(face, text, size, widest, bold=True)
            ]
    yield [(*((text, SMALLEST, True) for text in texts),)]
    yield [
        ((line, SMALLEST, True),) for text in texts for line in wrap(face, text, SMALLEST, widest, bold=True)
    ]
