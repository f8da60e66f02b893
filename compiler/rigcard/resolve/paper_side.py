"""What the papers of a rig are made with and on: typefaces, sheets of labels, tapes and rolls; lengths in mm."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from rigcard.source import Span


class LabelSheet(NamedTuple):
    """A sheet of labels: its paper and its grid of cells, lengths in mm from the page's top left corner."""

    name: str
    title: str
    page: str
    columns: int
    rows: int
    cell: tuple[Fraction, Fraction]
    margin: tuple[Fraction, Fraction]
    gap: tuple[Fraction, Fraction]
    offset: tuple[Fraction, Fraction]  # right and down: compensates for the printer's feed error

    @property
    def cells(self) -> int:
        """The number of cells on a sheet."""
        return self.columns * self.rows


class Reel(NamedTuple):
    """What a tape or roll printer feeds: each label is a page of its own; lengths in mm.

    A page of tape is as high as the tape is wide, and as long as the words need; a page of a roll is a die-cut
    label. `margin`: what the printer cannot reach at the left and right, and at the top and foot of a page.
    """

    page_width: Fraction | None  # None: as the words need
    page_height: Fraction
    margin: tuple[Fraction, Fraction]


class Typefaces(NamedTuple):
    """Font files beside the rig file, one for plain and one for heavy text."""

    regular: str
    bold: str
    span: Span
