"""What all labels share: their frame, the room at their edges, and the code that identifies a changed label."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from rigcard.documents.base.layout import line_height
from rigcard.documents.base.model import Bars, Circle, Line, Mark, Rectangle, Squares, Text, Typeface
from rigcard.documents.base.paper import SIZES, UNPRINTABLE
from rigcard.documents.cards.frame import check_code
from rigcard.resolve.paper_side import LabelSheet

EDGE = 1.5  # mm between print and cut
SET = tuple[str, float, bool]  # a line of text, its size in points, whether it is bold


class Label(NamedTuple):
    """A finished label, from its own top left corner.

    `says` is its content without the revision of the job. `form` is flag, wrap or sleeve for a cable, flat for
    anything else.
    """

    name: str
    form: str
    width: float
    height: float
    marks: tuple[Mark, ...]
    says: tuple[str, ...]
    whole: bool = True  # False: it has room for the id only


def label_code(label: Label) -> str:
    """Return a check code of a label's content without the revision: a new revision alone relabels no cable."""
    return check_code([label.name, *label.says])


def outline(width: float, height: float) -> list[Mark]:
    """Return the cut line."""
    return [Rectangle(0.0, 0.0, width, height, 0.15, (1.0, 1.0))]


def sides(box: Rectangle) -> list[Mark]:
    """Return an outline as four lines: near a die cut, each one can be left out separately."""
    right, bottom = box.x + box.width, box.y + box.height
    corners = ((box.x, box.y), (right, box.y), (right, bottom), (box.x, bottom), (box.x, box.y))
    return [Line(pair, box.weight, box.dash) for pair in pairwise(corners)]


def text_height(lines: list[SET]) -> float:
    """Return the height of lines in mm."""
    return sum([line_height(size) for _, size, _ in lines])


def gathered(
    face: Typeface, texts: Sequence[str], size: float, room: float, bold: bool, between: str
) -> list[str]:
    """Set texts on as few lines as `room` mm allow, without breaking any; each line has at least one text."""
    found: list[str] = []
    for text in texts:
        longer = f"{found[-1]}{between}{text}" if found else text
        if found and face.width(longer, size, bold) <= room:
            found[-1] = longer
        else:
            found.append(text)
    return found


# ---- in a cell -----------------------------------------------------------------------------------------------


def insets(sheet: LabelSheet, x: float, y: float) -> tuple[float, float, float, float]:
    """Return the mm at the left, top, right and bottom of a printed cell that no label may use.

    A label keeps its print off its own edge. These insets also keep it off the edge of the paper, which no
    printer reaches.
    """
    width, height = SIZES[sheet.page]
    right, bottom = x + float(sheet.cell[0]), y + float(sheet.cell[1])
    gaps = (x, y, width - right, height - bottom)
    left, top, after, below = (max(0.0, UNPRINTABLE - EDGE - gap) for gap in gaps)
    return left, top, after, below


def cell_room(sheet: LabelSheet) -> tuple[float, float]:
    """Return the width and height in mm of the largest label that fits every cell of a sheet."""
    first = tuple(float(edge + shift) for edge, shift in zip(sheet.margin, sheet.offset, strict=True))
    counts = (sheet.columns, sheet.rows)
    last = tuple(
        begin + (count - 1) * float(cell + gap)
        for begin, count, cell, gap in zip(first, counts, sheet.cell, sheet.gap, strict=True)
    )
    corners = [insets(sheet, x, y) for x in (first[0], last[0]) for y in (first[1], last[1])]
    across = max(left + right for left, _, right, _ in corners)
    down = max(top + bottom for _, top, _, bottom in corners)
    return float(sheet.cell[0]) - across, float(sheet.cell[1]) - down


def fits(label: Label, room: tuple[float, float]) -> bool:
    """Whether a label fits into a room of this width and height without turning."""
    return label.width <= room[0] + 1e-6 and label.height <= room[1] + 1e-6


def fitted(label: Label, room: tuple[float, float]) -> Label:
    """Return the label turned by 90 degrees if it fits only then; otherwise unchanged."""
    if fits(label, room) or any(isinstance(mark, Bars) for mark in label.marks):
        return label
    other = label._replace(width=label.height, height=label.width)
    if not fits(other, room):
        return label
    return other._replace(marks=tuple(turned(mark, label.width) for mark in label.marks))


def turned(mark: Mark, width: float) -> Mark:
    """Turn a mark of a label of this width to the left: level text then reads upward."""
    if isinstance(mark, Text):
        return mark._replace(x=mark.y, y=width - mark.x, angle=90)
    if isinstance(mark, Rectangle):
        return mark._replace(x=mark.y, y=width - mark.x - mark.width, width=mark.height, height=mark.width)
    if isinstance(mark, Squares):  # a scanner reads it from any side
        return mark._replace(x=mark.y, y=width - mark.x - (17 + 4 * mark.version) * mark.module)
    assert not isinstance(mark, Bars | Circle)
    return type(mark)(tuple((y, width - x) for x, y in mark.points), *mark[1:])
