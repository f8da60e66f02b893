"""What all labels have in common: their frame, the room at their edges, the code that tells a changed one."""

from itertools import pairwise
from typing import NamedTuple

from rigcard.documents.card import check_code
from rigcard.documents.layout import line_height
from rigcard.documents.model import Line, Mark

EDGE = 1.5  # mm between print and the cut
SET = tuple[str, float, bool]  # a line of text, its size in points, whether it is bold


class Label(NamedTuple):
    """A finished label from its own top left corner. `says` is what it tells but for the revision of the job.

    `form` is flag, wrap or sleeve for a cable, flat for anything else.
    """

    name: str
    form: str
    width: float
    height: float
    marks: tuple[Mark, ...]
    says: tuple[str, ...]
    whole: bool = True  # False: it has room for the id alone


def label_code(label: Label) -> str:
    """A check code of what a label says, revision aside: a new revision alone relabels no cable."""
    return check_code([label.name, *label.says])


def outline(width: float, height: float) -> list[Mark]:
    """Where to cut, as four lines: near a die cut each is left out by itself."""
    corners = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0))
    return [Line(pair, 0.15, (1.0, 1.0)) for pair in pairwise(corners)]


def text_height(lines: list[SET]) -> float:
    """Height of lines in mm."""
    return sum(line_height(size) for _, size, _ in lines)
