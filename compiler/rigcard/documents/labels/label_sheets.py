"""Labels on paper: in the cells of a sheet that may be part-used, in rows on film, or a page each on a reel.

Labels of cables and spare leads come first, then those of units and cases, then blank spares and other blanks.
"""

from collections.abc import Mapping, Sequence
from itertools import chain
from typing import NamedTuple

from rigcard.documents.base.full_sheet import HEAD, MARGIN, sheet_head
from rigcard.documents.base.language import say
from rigcard.documents.base.layout import line_height, text_at, wrap
from rigcard.documents.base.model import (
    SMALLEST,
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
from rigcard.documents.base.paper import SIZES, UNPRINTABLE, scale_bar
from rigcard.documents.cards.frame import check_code
from rigcard.documents.labels.cable_labels import blank_labels, cable_labels, spare_labels, spare_lead_labels
from rigcard.documents.labels.frame import EDGE, Label, cell_room, fits, fitted, insets, label_code, sides
from rigcard.documents.labels.kit_labels import case_labels, unit_labels
from rigcard.documents.labels.ratings import ratings
from rigcard.documents.labels.words import GROUND
from rigcard.resolve.label_sheets import COMMON, LONGEST, TAPES, usual_tape
from rigcard.resolve.model import Rig
from rigcard.resolve.paper_side import LabelSheet, Reel

GAP = 3.0
FOOT = 12.0  # a line of instructions, and the bar
BETWEEN = "  ·  "


def feed() -> str:
    """Return which edge of a sheet goes first into the printer."""
    return say("↑ this edge first into the printer")


def shedding() -> str:
    """Return the caution for a part-used sheet."""
    return say("part-used: a sheet passed more than twice through a laser printer may shed labels")


def sticking(labels: Sequence[Label]) -> list[str]:
    """Return where the labels of cables go, and how each form of them is stuck on (common practice, no source)."""
    forms = {label.form for label in labels}
    told = {
        "flag": say("Flag: fold at the ticks."),
        "wrap": say("Wrap: the print first, its other end over it."),
        "sleeve": say("Low strip: once round, under clear sleeve shrunk on before the plug."),
    }
    texts = [words for form, words in told.items() if form in forms]
    if not texts:
        return []
    words = (mark.text for label in labels for mark in label.marks if isinstance(mark, Text))
    ground = (
        [say("G| lies on the ground side of the plug.")]
        if any(text.startswith(GROUND) for text in words)
        else []
    )
    return [say("Stick it 30 to 50 mm behind the plug."), *texts, *ground]


def all_labels(face: Typeface, rig: Rig) -> list[Label]:
    """Return every label of a rig, in printing order."""
    rated = ratings(rig)
    of_cables = cable_labels(face, rig, rated)
    return [
        *of_cables,
        *spare_lead_labels(face, rig, rated),
        *unit_labels(face, rig),
        *case_labels(face, rig),
        *spare_labels(face, rig, rated),
        *blank_labels(face, rig, of_cables),
    ]


# ---- sheets --------------------------------------------------------------------------------------------------


class Used(NamedTuple):
    """The used cells of the first sheet: those before `start` (from 1) and those in `skip`.

    `valid` holds labels that are already on the cables, with their check codes; they are not printed again.
    `only` names the labels to print, if not all.
    """

    start: int = 1
    skip: frozenset[int] = frozenset()
    valid: Mapping[str, str] = {}
    only: frozenset[str] = frozenset()

    @property
    def part_used(self) -> bool:
        """Whether the first sheet was printed on before."""
        return self.start > 1 or bool(self.skip)


class Outcome(NamedTuple):
    """The label sheets, the cells used on each, the next free cell, and the number left on its sheet.

    Film that is cut by hand has no cells: (), None, 0.
    """

    document: Document
    cells: tuple[tuple[int, ...], ...]
    next_cell: int | None
    cells_left: int


def label_document(face: Typeface, rig: Rig, used: Used = Used()) -> Document:  # noqa: B008 - a constant
    """Set labels in the cells of the rig's sheet, or in rows on film to be cut along the dashed lines."""
    return label_sheets(face, rig, used).document


def label_sheets(face: Typeface, rig: Rig, used: Used, made: Sequence[Label] | None = None) -> Outcome:
    """Do the same as `label_document`, and say where the next labels may begin.

    `made`: all labels, if already laid out.
    """
    title = say("{rig}: labels", rig=rig.title)
    known = all_labels(face, rig) if made is None else made
    labels = wanted_labels(known, used)
    if rig.sheet is None:
        pages = _on_reel(rig.reel, labels) if rig.reel else _film(face, rig, labels) if labels else []
        return Outcome(Document("labels", title, tuple(pages)), (), None, 0)
    *cells, following = free_cells(rig.sheet, used, len(labels) + 1)
    pages = _in_cells(face, rig.sheet, labels, cells, used)
    on_sheets = tuple(
        tuple(cell for on, cell in cells if on == page) for page in dict.fromkeys(on for on, _ in cells)
    )
    last = cells[-1][0] if cells else 1
    taken = used.skip if following[0] == 1 else frozenset[int]()
    left = [cell for cell in range(following[1], rig.sheet.cells + 1) if cell not in taken]
    if not used.only:  # whoever makes a label again has aligned the printer
        pages.append(_alignment(face, rig.sheet, used, sticking(labels)))
    return Outcome(
        Document("labels", title, tuple(pages)),
        on_sheets,
        following[1],
        len(left) if following[0] == last else 0,
    )


def wanted_labels(known: Sequence[Label], used: Used) -> list[Label]:
    """Return the labels to print: those that were named, or those that are not on the cables already."""
    if used.only:
        return [label for label in known if label.name in used.only]
    return [label for label in known if not used.valid or used.valid.get(label.name) != label_code(label)]


def largest(rig: Rig) -> tuple[float, float]:
    """Return the largest width and height of a label in mm.

    It must fit any cell of the rig's sheet, a page of its reel, or the film less its margins.
    """
    if rig.reel:
        return float(rig.reel.page_width or LONGEST), float(rig.reel.page_height)
    if rig.sheet:
        return cell_room(rig.sheet)
    width, height = SIZES[rig.paper]
    return width - 2 * MARGIN, height - 2 * MARGIN - HEAD - FOOT


def too_large(face: Typeface, rig: Rig, made: Sequence[Label] | None = None) -> list[Label]:
    """Return the labels that do not fit, even when turned by 90 degrees."""
    room = largest(rig)
    known = all_labels(face, rig) if made is None else made
    return [label for label in known if not fits(fitted(label, room) if rig.sheet else label, room)]


def sheet_that_holds(face: Typeface, rig: Rig) -> str:
    """Return the name of a declared or common sheet, of the same page size, whose cells hold every label; or ""."""
    assert rig.sheet
    page = rig.sheet.page
    known = [sheet for sheet in (*rig.sheets, *COMMON.values()) if sheet.page == page]
    return next((sheet.name for sheet in known if not too_large(face, rig._replace(sheet=sheet))), "")


def tape_that_holds(face: Typeface, rig: Rig, whole: bool = False) -> int | None:
    """Return the narrowest common tape, in mm, that holds every label; None if there is none.

    With `whole`, it also has room for all words on them.
    """
    for width in TAPES:
        other = rig._replace(reel=usual_tape(width))
        made = all_labels(face, other)
        if not too_large(face, other, made) and (not whole or all(label.whole for label in made)):
            return width
    return None


def cell_place(sheet: LabelSheet, number: int) -> tuple[float, float]:
    """Return the top left corner in mm of a cell, numbered from 1 in reading order."""
    row, column = divmod(number - 1, sheet.columns)
    x = sheet.margin[0] + column * (sheet.cell[0] + sheet.gap[0])
    y = sheet.margin[1] + row * (sheet.cell[1] + sheet.gap[1])
    return float(x), float(y)


def free_cells(sheet: LabelSheet, used: Used, count: int) -> list[tuple[int, int]]:
    """Return (sheet, cell), both from 1, for a number of labels; only the first sheet is part-used."""
    found: list[tuple[int, int]] = []
    number = used.start - 1
    while len(found) < count:
        page, cell = divmod(number, sheet.cells)
        if page or cell + 1 not in used.skip:
            found.append((page + 1, cell + 1))
        number += 1
    return found


def _in_cells(
    face: Typeface, sheet: LabelSheet, labels: Sequence[Label], cells: Sequence[tuple[int, int]], used: Used
) -> list[Page]:
    """Set each label in the middle of its cell, off the edge of the paper, moved by the feed error."""
    width, height = SIZES[sheet.page]
    right, down = (float(shift) for shift in sheet.offset)
    cell_width, cell_height = (float(side) for side in sheet.cell)
    room = cell_room(sheet)
    pages = []
    for page in dict.fromkeys(number for number, _ in cells):
        marks = _legend(face, sheet, page, labels, used.part_used and page == 1)
        frames = []
        for (on, cell), found in zip(cells, labels, strict=True):
            if on == page:
                label = fitted(found, room)
                x, y = cell_place(sheet, cell)
                x, y = x + right, y + down
                low_x, low_y, high_x, high_y = insets(sheet, x, y)
                left = _between((cell_width - label.width) / 2, low_x, cell_width - high_x - label.width)
                top = _between((cell_height - label.height) / 2, low_y, cell_height - high_y - label.height)
                marks += [
                    moved(mark, x + left, y + top)
                    for mark in _off_the_cut(label, left, top, cell_width, cell_height)
                ]
                frames.append(Frame(label.name, x + left, y + top, label.width, label.height))
        pages.append(
            Page(width, height, tuple(marks), tuple(frames), (say("Labels, sheet {number}", number=page),))
        )
    return pages


def _between(wanted: float, low: float, high: float) -> float:
    """Return the wanted position, or the nearest allowed one."""
    return max(low, min(wanted, high))


def _off_the_cut(label: Label, left: float, top: float, width: float, height: float) -> list[Mark]:
    """Remove the lines of a label that are too near to the die cut, which begins `left` and `top` of it.

    Its lines are upright or level. A line along the cut is left out; one that runs up to it is shortened.
    """
    low_x, low_y = EDGE - left, EDGE - top
    high_x, high_y = low_x + width - 2 * EDGE, low_y + height - 2 * EDGE
    kept: list[Mark] = []
    lines = [sides(mark) if isinstance(mark, Rectangle) else [mark] for mark in label.marks]
    for mark in chain.from_iterable(lines):
        if not isinstance(mark, Line):
            kept.append(mark)
            continue
        points = tuple((min(max(x, low_x), high_x), min(max(y, low_y), high_y)) for x, y in mark.points)
        (x, y), (end_x, _) = mark.points[0], mark.points[-1]
        across = points[0][0] != x if x == end_x else points[0][1] != y  # too near all along
        if not across and points[0] != points[-1]:
            kept.append(mark._replace(points=points))
    return kept


def _legend(
    face: Typeface, sheet: LabelSheet, page: int, labels: Sequence[Label], part_used: bool
) -> list[Mark]:
    """Set the sheet's feed edge and name above its cells, notes below; nothing if there is no room."""
    width, height = SIZES[sheet.page]
    line = line_height(SMALLEST)
    bottom = height - cell_place(sheet, sheet.cells)[1] - float(sheet.cell[1])
    above = max(0, int((float(sheet.margin[1]) - UNPRINTABLE) / line))
    below = int((bottom - UNPRINTABLE) / line) if above else 0
    part = say("sheet {number}", number=page)
    texts = [
        BETWEEN.join((feed(), sheet.name, part)),
        *([shedding()] if part_used else []),
        " ".join(sticking(labels)),
    ]
    lines = [found for text in texts if text for found in wrap(face, text, SMALLEST, width - 2 * MARGIN)]
    rows = [UNPRINTABLE + number * line for number in range(above)]
    rows += [height - bottom + number * line for number in range(below)]
    return [text_at(face, MARGIN, y, text, SMALLEST) for y, text in zip(rows, lines, strict=False)]


def _alignment(face: Typeface, sheet: LabelSheet, used: Used, told: Sequence[str] = ()) -> Page:
    """Set outlines and numbers of all cells, and instructions to find the printer's feed error."""
    width, height = SIZES[sheet.page]
    right, down = (float(shift) for shift in sheet.offset)
    cell_width, cell_height = float(sheet.cell[0]), float(sheet.cell[1])
    inset = insets(
        sheet, *(float(edge + shift) for edge, shift in zip(sheet.margin, sheet.offset, strict=True))
    )
    room_x = cell_room(sheet)[0] - 2 * EDGE - 1.0
    texts = [wrap(face, text, 7.0, room_x) for text in (*_instructions(sheet, used), *told)]
    room = max(0, int((cell_height / 2 - 3.0 - EDGE - inset[1]) / line_height(7.0)))  # lines above the number
    if max(map(len, texts)) > room or len(texts) > sheet.cells:  # they continue from cell to cell
        lines = [line for text in texts for line in text]
        texts = [lines[at : at + room] for at in range(0, len(lines), room)] if room else []
    marks: list[Mark] = []
    frames = []
    for number in range(1, sheet.cells + 1):
        x, y = cell_place(sheet, number)
        x, y = x + right, y + down
        marks.append(Rectangle(x, y, cell_width, cell_height, 0.2))
        marks.append(
            text_at(face, x, y + cell_height / 2 - 3, str(number), 12.0, align="centre", width=cell_width)
        )
        for row, line in enumerate(texts[number - 1] if number <= len(texts) else ()):
            top = y + inset[1] + EDGE + row * line_height(7.0)
            marks.append(text_at(face, x + insets(sheet, x, y)[0] + EDGE + 0.5, top, line, 7.0))
        frames.append(Frame(f"cell {number}", x, y, cell_width, cell_height))
    return Page(width, height, tuple(marks), tuple(frames), (say("Alignment, on plain paper"),))


def _instructions(sheet: LabelSheet, used: Used) -> list[str]:
    """Return what to do with the alignment page."""
    name = sheet.name if sheet.title == sheet.name else f"{sheet.name}: {sheet.title}"
    own = (
        [say("A common sheet has no block: copy its sizes into one of your own.")]
        if sheet.name in COMMON
        else []
    )
    return [
        f"{say('Plain paper only, at 100 %')}{BETWEEN}{name}\n{feed()}",
        say("Hold it behind a sheet of labels, against the light: do the lines lie on the cuts?"),
        say("If not, measure how far the cuts lie right of the lines and below them."),
        say("Write it in the sheet's block, such as “offset 0.5mm, -0.3mm”."),
        *own,
        *([shedding()] if used.part_used else []),
    ]


def _on_reel(reel: Reel, labels: Sequence[Label]) -> list[Page]:
    """Make a page of each label: as high as the tape is wide, or as large as a label of the roll."""
    pages = []
    for number, label in enumerate(labels):
        width = float(reel.page_width or label.width)
        height = float(reel.page_height)
        frame = Frame(label.name, 0.0, 0.0, width, height)
        pages.append(Page(width, height, label.marks, (frame,), () if number else (say("Labels"),)))
    return pages


def _film(face: Typeface, rig: Rig, labels: Sequence[Label]) -> list[Page]:
    """Set labels in rows; each of them fits a sheet (`too_large`)."""
    width, height = SIZES[rig.paper]
    bottom = height - MARGIN - FOOT
    sheets: list[list[tuple[Label, float, float]]] = [[]]
    x, y, tallest = MARGIN, MARGIN + HEAD, 0.0
    for label in labels:
        if x + label.width > width - MARGIN:
            x, y, tallest = MARGIN, y + tallest + GAP, 0.0
        if y + label.height > bottom:
            sheets.append([])
            x, y, tallest = MARGIN, MARGIN + HEAD, 0.0
        sheets[-1].append((label, x, y))
        x, tallest = x + label.width + GAP, max(tallest, label.height)
    code = check_code([label_code(label) for label in labels])
    pages = []
    for number, placed in enumerate(sheets, 1):
        marks = [moved(mark, left, top) for label, left, top in placed for mark in label.marks]
        part = say("sheet {number} of {count}", number=number, count=len(sheets))
        cut = say("print at 100 %, cut on the broken lines")
        marks += sheet_head(face, rig, say("Labels"), f"{part}{BETWEEN}{cut}", code, width)
        told = " ".join(sticking([label for label, _, _ in placed]))
        for row, line in enumerate(wrap(face, told, 8.0, width - 2 * MARGIN)[:2] if told else ()):
            marks.append(
                text_at(face, MARGIN, height - MARGIN - FOOT + 2.0 + row * line_height(8.0), line, 8.0)
            )
        marks += scale_bar(face, width, height, 2.0, 4.0, say("this bar is 50 mm"))
        frames = tuple(Frame(label.name, left, top, label.width, label.height) for label, left, top in placed)
        pages.append(Page(width, height, tuple(marks), frames, (say("Labels"),) if number == 1 else ()))
    return pages
