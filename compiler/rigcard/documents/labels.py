"""Labels for both ends of every cable leg, and for every unit; each as large as its cable and its words ask for.

Geometry of wraps and flags: tests/reference/labelling.csv. A flag is two faces back to back and one turn round the
jacket; a wrap is a printed zone and a clear tail that covers it.
"""

from collections.abc import Mapping, Sequence
from math import ceil, floor, pi
from typing import NamedTuple

from rigcard.documents.card import check_code
from rigcard.documents.layout import line_height, text_at, wrap
from rigcard.documents.model import (
    SMALLEST,
    Box,
    Document,
    Frame,
    Line,
    Mark,
    Page,
    Squares,
    Typeface,
    moved,
)
from rigcard.documents.paper import SIZES, scale_bar
from rigcard.documents.sheet import HEAD, MARGIN, sheet_head
from rigcard.resolve.model import Cable, End, Leg, Rig, Sheet, Unit
from rigcard.words import millimetres

GAP = 3.0
FOOT = 8.0
EDGE = 1.5  # mm between print and the cut
FLAG_FACE = 25.0  # least length of a flag's face
WIDEST_FACE = 50.0
WIDEST_WRAP = 150.0  # mm along the cable; longer words go on a flag
WRAP_FROM = 4.5  # mm jacket from which a wrap holds its words
OVERLAP = 2.0  # mm that the tail of a wrap goes on beyond the print
UNIT_WIDTH, UNIT_HEIGHT = 60.0, 24.0
ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
MODULE = 5 * 25.4 / 300  # mm: five dots of a 300-dpi printer, not less than 0.4 mm
QUIET = 4  # modules (ISO/IEC 18004)
CAPACITY = ((1, 20), (2, 38), (3, 61))  # version, capitals and digits at medium correction (ISO/IEC 18004)
ZONES = ((5.0, 12.0), (7.0, 15.0), (9.0, 20.0), (float("inf"), 25.0))  # jacket below -> printed zone


class Words(NamedTuple):
    """What one end of a leg says: where this plug goes, the id with its end, where the other end is."""

    here: str
    id: str
    there: str
    lasting: str  # `there` without the revision


class Label(NamedTuple):
    """A finished label from its own top left corner. `says` is what it tells but for the revision of the job."""

    name: str
    width: float
    height: float
    marks: tuple[Mark, ...]
    says: tuple[str, ...]


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
    first, second = _place(rig, leg.first), _place(rig, leg.second)
    return _words(rig, cable, first, f"{leg.id}-A", second), _words(rig, cable, second, f"{leg.id}-B", first)


def _words(rig: Rig, cable: Cable, here: str, name: str, other: str) -> Words:
    lasting = f"→ {other}" + (f"  {millimetres(cable.length)}" if cable.length else "")
    there = f"{lasting}  rev {rig.revision}" if rig.revision else lasting
    return Words(here, name, there, lasting)


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
                wrapped = None if thin else _wrap(face, words, diameter)
                labels.append(wrapped or _flag(face, words, diameter))
    return labels


def _flag(face: Typeface, words: Words, diameter: float) -> Label:
    lines = _flag_lines(face, words, FLAG_FACE)
    if sum(line_height(size) for _, size, _ in lines) > 16.0:
        lines = _flag_lines(face, words, WIDEST_FACE)
    widest = max(face.width(text, size, bold) for text, size, bold in lines)
    length = max(FLAG_FACE, float(ceil(widest + 2 * EDGE)))
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
    return Label(words.id, total, height, tuple(marks), (words.here, words.id, words.lasting))


def _flag_lines(face: Typeface, words: Words, length: float) -> list[tuple[str, float, bool]]:
    room = length - 2 * EDGE
    return [
        *((line, 8.0, True) for line in wrap(face, words.here, 8.0, room, bold=True)),
        *((line, 8.0, False) for line in wrap(face, words.id, 8.0, room)),
        *((line, 6.5, False) for line in wrap(face, words.there, 6.5, room)),
    ]


def _wrap(face: Typeface, words: Words, diameter: float) -> Label | None:
    """None where the words would make it wider than a sheet takes."""
    zone = printed_zone(diameter)
    lines, width = _wrap_lines(face, words, zone)
    if width > WIDEST_WRAP:
        return None
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
    return Label(words.id, width, total, tuple(marks), (words.here, words.id, words.lasting))


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
    return [_unit_label(face, rig, unit) for unit in rig.units.values()]


def _unit_label(face: Typeface, rig: Rig, unit: Unit) -> Label:
    code = asset_code(unit.asset)
    version, side = code_size(code) if code else (0, 0.0)
    room = UNIT_WIDTH - 2 * EDGE - 1.0 - (side and side + 0.5)
    title = wrap(face, unit.title, 11.0, room, bold=True)
    under = [unit.asset or "asset ________", f"{unit.model.name}   {rig.title} {rig.revision}".strip()]
    small = [line for text in under for line in wrap(face, text, 8.0, room)]
    text_height = len(title) * line_height(11.0) + len(small) * line_height(8.0)
    under_code = wrap(face, code, SMALLEST, side) if code else []
    code_height = side + len(under_code) * line_height(SMALLEST) - QUIET * MODULE if code else 0.0
    tall = max(UNIT_HEIGHT, text_height + 2 * EDGE + 1.0, code_height + EDGE)
    marks: list[Mark] = [Box(0, 0, UNIT_WIDTH, tall, 0.15, (1.0, 1.0))]
    top = EDGE + 0.5
    for number, line in enumerate([*title, *small]):
        size = 11.0 if number < len(title) else 8.0
        marks.append(text_at(face, EDGE + 0.5, top, line, size, bold=size == 11.0))
        top += line_height(size)
    if code:
        left = UNIT_WIDTH - side
        marks.append(Squares(left + QUIET * MODULE, QUIET * MODULE, code, MODULE, version))
        for number, line in enumerate(under_code):
            y = side - (QUIET - 1) * MODULE + number * line_height(SMALLEST)
            marks.append(text_at(face, left, y, line, SMALLEST, align="centre", width=side))
    return Label(unit.name, UNIT_WIDTH, tall, tuple(marks), (unit.title, unit.asset, unit.model.name))


def asset_code(asset: str) -> str:
    """What the code of an asset says: upper case with a check character, or "" where it has other characters."""
    text = asset.upper()
    plain = "".join(char for char in text if char in ALPHABET)
    return f"{text}-{check_character(plain)}" if plain and set(text) <= set(f"{ALPHABET} -./") else ""


def check_character(text: str) -> str:
    """ISO/IEC 7064 MOD 37,36 over digits and capitals: catches one wrong and two swapped characters."""
    product = 36
    for char in text:
        total = (product + ALPHABET.index(char)) % 36 or 36
        product = total * 2 % 37
    return ALPHABET[(37 - product) % 36]


def code_size(text: str) -> tuple[int, float]:
    """Version and side in mm, quiet zone included, of the smallest code for a text at medium correction."""
    version = next(version for version, most in CAPACITY if len(text) <= most)
    return version, (17 + 4 * version + 2 * QUIET) * MODULE


# ---- sheets -------------------------------------------------------------------------------------------------------


class Used(NamedTuple):
    """Which cells of the first sheet are gone: those before `start` (from 1) and those in `skip`.

    `valid` names labels that are on the cables already, with their check codes: they are not printed again.
    """

    start: int = 1
    skip: frozenset[int] = frozenset()
    valid: Mapping[str, str] = {}


class Outcome(NamedTuple):
    """The label sheets, and the next free cell of the last one (None: film without cells)."""

    document: Document
    next_cell: int | None
    cells_left: int


def label_document(face: Typeface, rig: Rig, used: Used = Used()) -> Document:  # noqa: B008 - a constant
    """Labels in the cells of the rig's sheet, or else in rows on film to be cut along the broken lines."""
    return label_sheets(face, rig, used).document


def label_sheets(face: Typeface, rig: Rig, used: Used) -> Outcome:
    """As `label_document`, with where the next labels may begin."""
    title = f"{rig.title}: labels"
    groups = [
        (name, [label for label in labels if used.valid.get(label.name) != label_code(label)])
        for name, labels in (("Cable labels", cable_labels(face, rig)), ("Unit labels", unit_labels(face, rig)))
    ]
    if rig.sheet is None:
        pages = [page for name, labels in groups if labels for page in _film(face, rig, name, labels)]
        return Outcome(Document("labels", title, tuple(pages)), None, 0)
    labels = [label for _, found in groups for label in found]
    pages, last = _in_cells(rig.sheet, labels, used)
    following = last % rig.sheet.cells + 1
    left = (rig.sheet.cells - last) % rig.sheet.cells
    return Outcome(Document("labels", title, (*pages, _alignment(face, rig.sheet))), following, left)


def label_code(label: Label) -> str:
    """A check code of what a label says, revision aside: a new revision alone relabels no cable."""
    return check_code([label.name, *label.says])


def largest(rig: Rig) -> tuple[float, float]:
    """Width and height in mm that a label may have: a cell of the rig's sheet, or the film less its margins."""
    if rig.sheet:
        return float(rig.sheet.cell[0]), float(rig.sheet.cell[1])
    width, height = SIZES[rig.paper]
    return width - 2 * MARGIN, height - 2 * MARGIN - HEAD - FOOT


def too_large(face: Typeface, rig: Rig) -> list[Label]:
    """The labels that do not fit."""
    width, height = largest(rig)
    labels = [*cable_labels(face, rig), *unit_labels(face, rig)]
    return [label for label in labels if label.width > width or label.height > height]


def cell_place(sheet: Sheet, number: int) -> tuple[float, float]:
    """Top left corner in mm of a cell, numbered from 1 in reading order."""
    row, column = divmod(number - 1, sheet.columns)
    x = sheet.margin[0] + column * (sheet.cell[0] + sheet.gap[0])
    y = sheet.margin[1] + row * (sheet.cell[1] + sheet.gap[1])
    return float(x), float(y)


def free_cells(sheet: Sheet, used: Used, count: int) -> list[tuple[int, int]]:
    """(sheet, cell) for a count of labels, both from 1; only the first sheet is part-used."""
    found: list[tuple[int, int]] = []
    number = used.start - 1
    while len(found) < count:
        page, cell = divmod(number, sheet.cells)
        if page or cell + 1 not in used.skip:
            found.append((page + 1, cell + 1))
        number += 1
    return found


def _in_cells(sheet: Sheet, labels: Sequence[Label], used: Used) -> tuple[list[Page], int]:
    """The printed sheets, and the last cell used of the last one."""
    width, height = SIZES[sheet.page]
    cells = free_cells(sheet, used, len(labels))
    pages = []
    for page in dict.fromkeys(number for number, _ in cells):
        marks: list[Mark] = []
        frames = []
        for (on, cell), label in zip(cells, labels, strict=True):
            if on == page:
                x, y = cell_place(sheet, cell)
                x += (float(sheet.cell[0]) - label.width) / 2
                y += (float(sheet.cell[1]) - label.height) / 2
                marks += [moved(mark, x, y) for mark in label.marks]
                frames.append(Frame(label.name, x, y, label.width, label.height))
        pages.append(Page(width, height, tuple(marks), tuple(frames), (f"Labels, sheet {page}",)))
    return pages, cells[-1][1] if cells else used.start - 1


def _alignment(face: Typeface, sheet: Sheet) -> Page:
    """Outlines and numbers of all cells: print on plain paper, hold it over a sheet of labels against the light."""
    width, height = SIZES[sheet.page]
    marks: list[Mark] = []
    frames = []
    for number in range(1, sheet.cells + 1):
        x, y = cell_place(sheet, number)
        cell_width, cell_height = float(sheet.cell[0]), float(sheet.cell[1])
        marks.append(Box(x, y, cell_width, cell_height, 0.2))
        marks.append(
            text_at(face, x, y + cell_height / 2 - 3, str(number), 12.0, align="centre", width=cell_width)
        )
        frames.append(Frame(f"cell {number}", x, y, cell_width, cell_height))
    name = wrap(face, f"plain paper only: {sheet.title}", 7.0, float(sheet.cell[0]) - 2 * EDGE - 1.0)[0]
    x, y = cell_place(sheet, 1)
    marks.append(text_at(face, x + EDGE + 0.5, y + EDGE, name, 7.0))
    return Page(width, height, tuple(marks), tuple(frames), ("Alignment, on plain paper",))


def _film(face: Typeface, rig: Rig, title: str, labels: Sequence[Label]) -> list[Page]:
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
    code = check_code([label_code(label) for label in labels])
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
