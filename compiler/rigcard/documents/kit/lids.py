"""Lid sheets: the outside of a case, which never shows its content, and the list for the inside of its lid."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from rigcard.documents.base.full_sheet import MARGIN, list_pages
from rigcard.documents.base.layout import Block, Box, Cell, heading, joined, paragraph, row, table
from rigcard.documents.base.model import Line, Page, Typeface
from rigcard.documents.base.paper import SIZES
from rigcard.documents.cards.cautions import HEAVY
from rigcard.resolve.model import Rig
from rigcard.resolve.packing import TWO_PERSONS, Packed
from rigcard.resolve.packing import Piece as Thing
from rigcard.words import kilograms

MOST_LINES = 12  # lines of content inside the lid (common practice, no source)
NAME_SIZE = 64.0
MASS_SIZE = 40.0
LIFT_SIZE = 28.0
DASH = (2.0, 1.5)


def lid_pages(face: Typeface, rig: Rig, cases: list[Packed]) -> list[Page]:
    """Make one sheet for each case, to cut in two; `cases` with everything that goes into them."""
    inner = SIZES[rig.paper][0] - 2 * MARGIN
    pages = []
    for case in cases:
        if case.name:
            blocks = [_outside(face, case, inner), _cut(inner), _inside(face, case, inner)]
            pages += list_pages(face, rig, "Lid sheet", blocks, f"Lid sheet: {case.name}")
    return pages


def case_mass(case: Packed) -> str:
    """Return the mass of a full case; "at least" if the mass of an item is unknown."""
    return f"{'at least ' if case.unknown else ''}{kilograms(case.mass)}"


def _outside(face: Typeface, case: Packed, inner: float) -> Block:
    lift = "LIFT BY TWO PERSONS" if case.mass > TWO_PERSONS else ""
    lines = ((case.name, NAME_SIZE), (case_mass(case), MASS_SIZE), (lift, LIFT_SIZE))
    cells = [
        [Cell(text, size, True, "centre", "boxed" if text is lift else "text")] for text, size in lines if text
    ]
    pieces = [piece for cell in cells for piece in row(face, cell, (inner,), ruled=False, keep=True, pad=3.0)]
    words = (
        [paragraph(face, f"{HEAVY.word}: {HEAVY.text}", inner, size=14.0, bold=True, keep=True)] if lift else []
    )
    return joined(heading(face, "Outside of the case", inner), Block(tuple(pieces)), *words)


def _cut(inner: float) -> Block:
    """Return a line to cut along."""
    return Block((Box(10.0, (Line(((0.0, 5.0), (inner, 5.0)), 0.2, DASH),)),))


def _inside(face: Typeface, case: Packed, inner: float) -> Block:
    lines = contents(case.pieces)
    most = MOST_LINES if len(lines) <= MOST_LINES else MOST_LINES - 1
    rows = [[Cell(name, 12.0, True), Cell(title, 12.0)] for name, title, _ in lines[:most]]
    blocks = [heading(face, f"Inside the lid: {case.name}", inner)]
    if rows:
        blocks.append(table(face, ("ID", "ITEM"), rows, (45.0, inner - 45.0)))
    if len(lines) > most:
        more = sum(pieces for _, _, pieces in lines[most:])
        blocks.append(paragraph(face, f"and {more} more: see the kit list", inner))
    return joined(*blocks)


def contents(pieces: Sequence[Thing]) -> list[tuple[str, str, int]]:
    """Return id, words and count of the content of a case; all packs of a unit share a line."""
    further = Counter(piece.more_of for piece in pieces if piece.more_of)
    return [
        (
            piece.name,
            f"{piece.title}, {1 + further[piece.name]} packs"
            if further[piece.name] and not piece.of_cable
            else piece.title,
            1 + (0 if piece.of_cable else further[piece.name]),
        )
        for piece in pieces
        if not piece.more_of
    ]
