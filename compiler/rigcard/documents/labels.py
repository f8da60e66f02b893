"""Labels for both ends of every cable leg, and for every unit; each as large as its cable and its words ask for.

Geometry of wraps and flags: tests/reference/labelling.csv. A flag is two faces back to back and one turn round the
jacket; a wrap is a printed zone and a clear tail that covers it.
"""

from collections.abc import Sequence
from math import ceil, floor, pi
from typing import NamedTuple

from rigcard.documents.card import check_code
from rigcard.documents.layout import line_height, text_at, wrap
from rigcard.documents.model import Box, Document, Frame, Line, Mark, Page, Typeface, moved
from rigcard.documents.paper import SIZES, scale_bar
from rigcard.documents.wiring import sheet_head
from rigcard.resolve.model import Cable, End, Leg, Rig
from rigcard.words import millimetres

MARGIN = 10.0
HEAD = 14.0
GAP = 3.0
FOOT = 8.0
EDGE = 1.5  # mm between print and the cut
FLAG_FACE = 25.0  # least length of a flag's face
WIDEST_FACE = 50.0
WRAP_FROM = 4.5  # mm jacket from which a wrap holds its words
OVERLAP = 2.0  # mm that the tail of a wrap goes on beyond the print
ZONES = ((5.0, 12.0), (7.0, 15.0), (9.0, 20.0), (float("inf"), 25.0))  # jacket below -> printed zone


class Words(NamedTuple):
    """What one end of a leg says: where this plug goes, the id with its end, where the other end is."""

    here: str
    id: str
    there: str


class Label(NamedTuple):
    """A finished label from its own top left corner."""

    name: str
    width: float
    height: float
    marks: tuple[Mark, ...]


# ---- geometry -----------------------------------------------------------------------------------------------------


def girth(diameter: float) -> float:
    """Circumference in mm of a jacket of `diameter` mm."""
    return pi * diameter


def flag_length(diameter: float, face: float) -> int:
    """Whole mm of film for a flag: two faces and one turn."""
    return ceil(round(2 * face + girth(diameter), 6))


def wrap_length(diameter: float, zone: float) -> int | None:
    """Whole mm of film for a clear-tail wrap, or None where the print would cover itself."""
    if zone > girth(diameter):
        return None
    return ceil(round(zone + girth(diameter) + OVERLAP, 6))


def repeats(diameter: float, pitch: float) -> int:
    """Lines of a pitch in mm that go once round a jacket."""
    return floor(girth(diameter) / pitch)


def printed_zone(diameter: float) -> float:
    """The printed zone of a wrap: as the trade has it, never more than one turn."""
    usual = next(zone for below, zone in ZONES if diameter < below)
    return min(usual, floor(girth(diameter) * 10) / 10)


# ---- words --------------------------------------------------------------------------------------------------------


def end_words(rig: Rig, cable: Cable, leg: Leg) -> tuple[Words, Words]:
    """What the two ends of a leg say; they are never the same."""
    assert leg.second is not None
    tail = millimetres(cable.length) if cable.length else ""
    revision = f"rev {rig.revision}" if rig.revision else ""
    first, second = _place(rig, leg.first), _place(rig, leg.second)
    return (
        Words(first, f"{leg.id}-A", "  ".join(part for part in (f"→ {second}", tail, revision) if part)),
        Words(second, f"{leg.id}-B", "  ".join(part for part in (f"→ {first}", tail, revision) if part)),
    )


def _place(rig: Rig, end: End) -> str:
    return f"{rig.units[end.unit].title} {end.port}"


# ---- labels -------------------------------------------------------------------------------------------------------


def cable_labels(face: Typeface, rig: Rig) -> list[Label]:
    """Both ends of every leg, in the order of the file."""
    labels = []
    for cable in rig.cables.values():
        assert cable.jacket is not None
        diameter = float(cable.jacket)
        for leg in cable.legs:
            for words in end_words(rig, cable, leg):
                thin = diameter < WRAP_FROM and not (cable.moving or cable.airborne)
                labels.append(_flag(face, words, diameter) if thin else _wrap(face, words, diameter))
    return labels


def _flag(face: Typeface, words: Words, diameter: float) -> Label:
    lines = _flag_lines(face, words, FLAG_FACE)
    if sum(line_height(size) for _, size, _ in lines) > 16.0:
        lines = _flag_lines(face, words, WIDEST_FACE)
    widest = max(face.width(text, size, bold) for text, size, bold in lines)
    length = max(FLAG_FACE, ceil(widest + 2 * EDGE))
    height = max(8.0, sum(line_height(size) for _, size, _ in lines) + 2 * EDGE)
    total = flag_length(diameter, length)
    turn = total - 2 * length
    marks: list[Mark] = [Box(0, 0, total, height, 0.15, (1.0, 1.0))]
    for x in (0.0, length + turn):
        top = (height - sum(line_height(size) for _, size, _ in lines)) / 2
        for text, size, bold in lines:
            marks.append(text_at(face, x, top, text, size, bold=bold, align="centre", width=length))
            top += line_height(size)
    for x in (length, length + turn):
        marks.append(Line(((x, 0), (x, 1.2)), 0.15))
        marks.append(Line(((x, height - 1.2), (x, height)), 0.15))
    return Label(words.id, total, height, tuple(marks))


def _flag_lines(face: Typeface, words: Words, length: float) -> list[tuple[str, float, bool]]:
    room = length - 2 * EDGE
    return [
        *((line, 8.0, True) for line in wrap(face, words.here, 8.0, room, bold=True)),
        *((line, 8.0, False) for line in wrap(face, words.id, 8.0, room)),
        *((line, 6.5, False) for line in wrap(face, words.there, 6.5, room)),
    ]


def _wrap(face: Typeface, words: Words, diameter: float) -> Label:
    zone = printed_zone(diameter)
    lines, width = _wrap_lines(face, words, zone)
    total = wrap_length(diameter, zone)
    assert total is not None
    marks: list[Mark] = [
        Box(0, 0, width, total, 0.15, (1.0, 1.0)),
        Line(((0, zone), (1.2, zone)), 0.15),
        Line(((width - 1.2, zone), (width, zone)), 0.15),
    ]
    top = EDGE + (zone - EDGE - sum(line_height(size) for _, size, _ in lines)) / 2
    for text, size, bold in lines:
        marks.append(text_at(face, 0, top, text, size, bold=bold, align="centre", width=width))
        top += line_height(size)
    return Label(words.id, width, total, tuple(marks))


def _wrap_lines(face: Typeface, words: Words, zone: float) -> tuple[list[tuple[str, float, bool]], float]:
    """Words along the cable, in the zone; the id is repeated while there is room. Thin jackets get fewer lines."""
    zone -= EDGE  # the cut is at the top of the zone, the tail at its foot
    large = 10.0 if zone >= 18.0 else 8.0
    lines = [(words.here, large, True), (words.id, large, True), (words.there, 6.5, False)]
    used = sum(line_height(size) for _, size, _ in lines)
    if used > zone:
        lines = [(f"{words.id}  {words.here}", 7.0, True), (words.there, 6.0, False)]
        used = sum(line_height(size) for _, size, _ in lines)
    if used > zone:
        lines = [(f"{words.id}  {words.here}", 6.0, True)]
        used = line_height(6.0)
    while used + line_height(large) <= zone and len(lines) < 8:
        lines.append((words.id, large, True))
        used += line_height(large)
    width = max(face.width(text, size, bold) for text, size, bold in lines) + 2 * EDGE
    return lines, float(ceil(width))


def unit_labels(face: Typeface, rig: Rig) -> list[Label]:
    """A flat job label for every unit; it goes beside the owner's label, never over it."""
    labels = []
    width, height = 60.0, 24.0
    for unit in rig.units.values():
        title = wrap(face, unit.title, 11.0, width - 2 * EDGE - 1.0, bold=True)
        under = [unit.asset or "asset ____________", f"{unit.model.name}   {rig.title} {rig.revision}".strip()]
        small = [line for text in under for line in wrap(face, text, 8.0, width - 2 * EDGE - 1.0)]
        needed = len(title) * line_height(11.0) + len(small) * line_height(8.0) + 2 * EDGE + 1.0
        tall = max(height, needed)
        marks: list[Mark] = [Box(0, 0, width, tall, 0.15, (1.0, 1.0))]
        top = EDGE + 0.5
        for line in title:
            marks.append(text_at(face, EDGE + 0.5, top, line, 11.0, bold=True))
            top += line_height(11.0)
        for line in small:
            marks.append(text_at(face, EDGE + 0.5, top, line, 8.0))
            top += line_height(8.0)
        labels.append(Label(unit.name, width, tall, tuple(marks)))
    return labels


# ---- sheets -------------------------------------------------------------------------------------------------------


def label_document(face: Typeface, rig: Rig) -> Document:
    """Labels in rows on sheets of film, to be cut along the broken lines."""
    groups = [("Cable labels", cable_labels(face, rig)), ("Unit labels", unit_labels(face, rig))]
    pages = [page for title, labels in groups if labels for page in _sheets(face, rig, title, labels)]
    return Document("labels", f"{rig.title}: labels", tuple(pages))


def _sheets(face: Typeface, rig: Rig, title: str, labels: Sequence[Label]) -> list[Page]:
    width, height = SIZES[rig.paper]
    bottom = height - MARGIN - FOOT
    sheets: list[list[tuple[Label, float, float]]] = [[]]
    x, y, tallest = MARGIN, MARGIN + HEAD, 0.0
    for label in labels:
        if x > MARGIN and x + label.width > width - MARGIN:
            x, y, tallest = MARGIN, y + tallest + GAP, 0.0
        if y + label.height > bottom and sheets[-1]:
            sheets.append([])
            x, y, tallest = MARGIN, MARGIN + HEAD, 0.0
        sheets[-1].append((label, x, y))
        x, tallest = x + label.width + GAP, max(tallest, label.height)
    code = check_code([f"{label.name} {label.marks}" for label in labels])
    pages = []
    for number, placed in enumerate(sheets, 1):
        marks = [moved(mark, left, top) for label, left, top in placed for mark in label.marks]
        part = f"sheet {number} of {len(sheets)}"
        marks += sheet_head(
            face, rig, title, f"{part}  ·  print at 100 %, cut on the broken lines", code, width
        )
        marks += scale_bar(face, width, height, 2.0, 4.0, "this bar is 50 mm")
        frames = tuple(Frame(label.name, left, top, label.width, label.height) for label, left, top in placed)
        pages.append(Page(width, height, tuple(marks), frames, (title,) if number == 1 else ()))
    return pages
