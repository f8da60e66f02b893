"""The geometry of labels round a cable: its girth, and the film that a flag, a wrap or a sleeve takes.

Checked against tests/reference/labelling.csv.
"""

from math import ceil, floor, pi

from rigcard.documents.base.layout import line_height
from rigcard.documents.base.model import SMALLEST
from rigcard.documents.labels.frame import EDGE
from rigcard.documents.labels.setting import Sizes

OVERLAP = 2.0  # mm by which a label laps over itself
NARROWEST_ZONE = 9.0  # mm: a jacket with a smaller printed zone has a sleeve
ALL_ROUND = (
    32.0  # mm of girth up to which print goes all round; two thirds of a larger one face up from any side
)
LARGE = ((9.0, Sizes(14.0, 10.0, 8.0)), (7.0, Sizes(12.0, 9.0, 7.0)))  # from this jacket on
USUAL = (Sizes(10.0, 8.0, 6.5), Sizes(9.0, 7.0, 6.0), Sizes(8.0, 7.0, 6.0), Sizes(7.0, 6.0, 6.0))


def girth(diameter: float) -> float:
    """Return the circumference in mm of a jacket of `diameter` mm."""
    return pi * diameter


def flag_length(diameter: float, face: float) -> int:
    """Return the length of film for a flag in whole mm: two faces and one turn."""
    return ceil(round(2 * face + girth(diameter), 6))


def wrap_length(diameter: float, zone: float) -> int | None:
    """Return the length of film for a clear-tail wrap in whole mm; None if the print would cover itself."""
    if zone > girth(diameter):
        return None
    return ceil(round(zone + girth(diameter) + OVERLAP, 6))


def printed_zone(diameter: float) -> float | None:
    """Return the printed zone of a wrap in mm: one turn, or two thirds of it round a thick cable.

    None if the cable needs a sleeve.
    """
    turn = girth(diameter)
    zone = floor(min(turn, max(ALL_ROUND, turn * 2 / 3)) * 10) / 10
    return zone if zone >= NARROWEST_ZONE else None


def sleeve_height(diameter: float) -> float:
    """Return the height in mm of a sleeve's strip: one turn, and at least a line with its edges, which lap."""
    return max(floor(girth(diameter) * 10) / 10, line_height(SMALLEST) + 2 * EDGE)


def sizes_for(diameter: float) -> tuple[Sizes, ...]:
    """Return the type sizes for a label round a jacket, the largest first (common practice, no source)."""
    return (*(sizes for least, sizes in LARGE if diameter >= least), *USUAL)
