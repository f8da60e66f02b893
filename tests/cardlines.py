"""Cards and pages as the lines of text that a person reads on them."""

from __future__ import annotations

from functools import cache

from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Page, Text
from rigcard.documents.cards.frame import TECHNICIAN, Group, LaidGroup
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Solved
from samples import ROOT, STOCK

FACE = EmbeddedTypeface()
WIDE = 1000.0  # mm: wide enough for every step to stand on one line
SAME_LINE = 1.5  # mm between baselines of types of different size that stand beside each other
NAMES_OF_SAMPLES = ("first", "gorge", "mast")


@cache
def sample(name: str) -> Solved:
    """A sample of the project."""
    solved = check_rig(ROOT / "samples" / f"{name}.rig", Diagnostics(), stock=STOCK).solved
    assert solved is not None
    return solved


FIXED = (
    "ISSUE SHEET",
    "BRIEF",
    "POWER UP",
    "POWER DOWN",
    "TEST",
    "FAULTS",
    "POWER",
    "LEADS",
    "WRAP",
)


def kind(group: Group) -> str:
    """What a group of cards is: its mark where that is a fixed word, else for an operator or for a device."""
    for mark in FIXED:
        if group.mark == mark or (group.mark.startswith(f"{mark} ") and group.role != TECHNICIAN):
            return mark  # of a station, whose handset stands behind it
    return "SET-UP" if group.role == TECHNICIAN else "OPERATOR"


def lines(group: Group) -> list[str]:
    """The lines of a card from the top down, what stands beside each other parted by a bar."""
    found = []
    for block in group.blocks:
        for piece in block.boxes:
            texts = sorted((mark for mark in piece.marks if isinstance(mark, Text)), key=lambda mark: mark.y)
            rows: list[list[Text]] = []
            for text in texts:
                if not rows or text.y - rows[-1][0].y > SAME_LINE:
                    rows.append([])
                rows[-1].append(text)
            found += [" | ".join(mark.text for mark in sorted(row, key=lambda mark: mark.x)) for row in rows]
    return found


def at(found: list[str], words: str) -> int:
    """Which line holds some words; there must be one."""
    (place,) = [number for number, line in enumerate(found) if words in line]
    return place


def group_words(found: LaidGroup) -> str:
    """Everything that stands on the cards of a group, a blank between lines."""
    return " ".join(mark.text for column in found.columns for mark in column.marks if isinstance(mark, Text))


def page_words(pages: tuple[Page, ...] | list[Page]) -> str:
    """All text of pages, in the order of its marks."""
    return " ".join(mark.text for page in pages for mark in page.marks if isinstance(mark, Text))


def squeezed(text: str) -> str:
    """Text without spaces."""
    return "".join(text.split())
