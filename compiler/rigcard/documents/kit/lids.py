"""Sheets for cases: the outside, which says nothing of what is in a case, and the list for the inside of its lid."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import partial
from math import ceil, floor, inf
from typing import NamedTuple

from rigcard.documents.base.full_sheet import HEAD, MARGIN, sheet_code, sheet_head
from rigcard.documents.base.language import say
from rigcard.documents.base.layout import Block, Cell, line_height, paragraph, table, text_at, wrap
from rigcard.documents.base.model import Frame, Later, Line, Mark, Page, Rectangle, Sheet, Typeface, moved
from rigcard.documents.base.paper import SIZES, scale_bar
from rigcard.documents.cards.cautions import HEAVY
from rigcard.resolve.model import Rig
from rigcard.resolve.packing import TWO_PERSONS, Packed
from rigcard.resolve.packing import Piece as Thing
from rigcard.words import decimal

MOST_LINES = 12  # lines of content inside the lid (common practice, no source)
OUTSIDES = (2, 4)  # panels across and down a page
INSIDES = 2  # panels down a page at least; short lists take less than their share
NAME_SIZES = (64.0, 56.0, 48.0, 40.0, 32.0, 24.0, 18.0, 12.0)
MASS_SIZE = 32.0
LIFT_SIZE = 18.0
TITLE_SIZE = 28.0
FOOT_SIZE = 8.0
PAD = 4.0  # mm from the cut to the words
DASH = (2.0, 1.5)

Panel = Callable[[Typeface, Rig, Packed, float, float], list[Mark]]  # of a width and a height in mm


class Place(NamedTuple):
    """Where a panel of a case stands on a page, in mm."""

    case: Packed
    x: float
    y: float
    width: float
    height: float


def lid_pages(face: Typeface, rig: Rig, cases: list[Packed]) -> Later[Page]:
    """Make the pages for the outside of the cases, then those for the inside; all are cut apart on the broken lines."""
    named = [case for case in cases if case.name]
    outsides = _pages(face, rig, _in_a_grid(rig, named), say("Outside of the cases"), _outside)
    insides = _pages(face, rig, _stacked(face, rig, named), say("Inside the lids"), _inside)
    return Later([*outsides, *insides])


def _field(rig: Rig) -> tuple[float, float]:
    """Return width and height of the part of a page that panels may take."""
    width, height = SIZES[rig.paper]
    return width - 2 * MARGIN, height - 2 * MARGIN - HEAD


def _in_a_grid(rig: Rig, cases: Sequence[Packed]) -> list[list[Place]]:
    """Return the pages of panels that are all alike."""
    across, down = OUTSIDES
    width, height = _field(rig)
    wide, tall = width / across, height / down
    places = [
        Place(case, MARGIN + at % across * wide, MARGIN + HEAD + at // across % down * tall, wide, tall)
        for at, case in enumerate(cases)
    ]
    return [places[start : start + across * down] for start in range(0, len(places), across * down)]


def _stacked(face: Typeface, rig: Rig, cases: Sequence[Packed]) -> list[list[Place]]:
    """Return the pages of panels below each other, each as high as its list needs."""
    width, height = _field(rig)
    pages: list[list[Place]] = []
    used = height
    for case in cases:
        tall = min(_inside_height(face, rig, case, width), height / INSIDES)
        if used + tall > height + 1e-6:
            pages.append([])
            used = 0.0
        pages[-1].append(Place(case, MARGIN, MARGIN + HEAD + used, width, tall))
        used += tall
    return pages


def _pages(
    face: Typeface, rig: Rig, places: Sequence[Sequence[Place]], title: str, draw: Panel
) -> list[Callable[[], Page]]:
    code = sheet_code(rig, title, [text for here in places for place in here for text in _words(place.case)])
    pages: list[Callable[[], Page]] = []
    for number, here in enumerate(places):
        part = say("page {number} of {count}", number=number + 1, count=len(places))
        head = sheet_head(face, rig, title, part, code, SIZES[rig.paper][0])
        pages.append(partial(_page, face, rig, here, draw, head, title, number == 0))
    return pages


def _page(
    face: Typeface,
    rig: Rig,
    places: Sequence[Place],
    draw: Panel,
    head: Sequence[Mark],
    title: str,
    first: bool,
) -> Page:
    width, height = SIZES[rig.paper]
    marks = [*head, *scale_bar(face, width, height, MARGIN - 8.0, MARGIN, say("this bar is 50 mm"))]
    frames = []
    cuts: set[Line] = set()
    for case, x, y, wide, tall in places:
        cuts |= {Line(ends, 0.2, DASH) for ends in _sides(x, y, wide, tall)}
        marks += [moved(mark, x, y) for mark in draw(face, rig, case, wide, tall)]
        frames.append(Frame(f"{title}: {case.name}", x, y, wide, tall))
    marks += sorted(cuts)
    return Page(width, height, tuple(marks), tuple(frames), (title,) if first else ())


def _sides(x: float, y: float, width: float, height: float) -> list[tuple[tuple[float, float], ...]]:
    """Return the cuts round a panel; two panels share one, which is drawn once."""
    left, right = round(x, 3), round(x + width, 3)
    top, foot = round(y, 3), round(y + height, 3)
    corners = ((left, top), (right, top), (right, foot), (left, foot))
    return [
        (corners[0], corners[1]),
        (corners[1], corners[2]),
        (corners[3], corners[2]),
        (corners[0], corners[3]),
    ]


def _words(case: Packed) -> list[str]:
    return [case.name, case_mass(case), *(piece.name + piece.title for piece in case.pieces)]


def lid_code(rig: Rig, case: Packed) -> str:
    """Return the check code of what goes outside and inside of a case."""
    return sheet_code(rig, case.name, _words(case))


def lid_sheets(rig: Rig, cases: Sequence[Packed]) -> list[Sheet]:
    """Return the paper of each case: its panels outside and inside the lid."""
    return [Sheet(say("Lid sheet: {case}", case=case.name), lid_code(rig, case)) for case in cases if case.name]


def case_mass(case: Packed) -> str:
    """Return the mass of a full case for people who lift it, to a tenth of a kg.

    It is rounded up, so that nobody lifts more than it says; with "at least" it is rounded down, because the mass
    of an item is unknown.
    """
    if case.unknown:
        return say("at least {mass} kg", mass=decimal(Fraction(floor(case.mass * 10), 10)))
    return f"{decimal(Fraction(ceil(case.mass * 10), 10))} kg"


def _lift(case: Packed) -> str:
    return say("TWO PEOPLE LIFT") if case.mass > TWO_PERSONS else ""


def _outside(face: Typeface, rig: Rig, case: Packed, width: float, height: float) -> list[Mark]:
    """Draw which case it is, its mass and who lifts it, and nothing else: thieves read."""
    room = width - 2 * PAD
    lift = _lift(case)
    below = [(case_mass(case), MASS_SIZE), *([(lift, LIFT_SIZE)] if lift else [])]
    free = height - 2 * PAD - sum(line_height(size) + 2.0 for _, size in below)
    name, size = next(
        (
            (lines, size)
            for size in NAME_SIZES
            if (lines := wrap(face, case.name, size, room, bold=True))
            and len(lines) * line_height(size) <= free
            and all(face.width(word, size, True) <= room for word in case.name.split())
        ),
        (wrap(face, case.name, NAME_SIZES[-1], room, bold=True), NAME_SIZES[-1]),
    )
    rows = [*((line, size) for line in name), *below]
    top = (height - sum(line_height(size) for _, size in rows) - 2.0 * len(below)) / 2
    marks: list[Mark] = []
    for text, points in rows:
        if text is lift:
            top += 2.0
            marks.append(_box(face, text, points, width, top))
        marks.append(text_at(face, 0.0, top, text, points, bold=True, align="centre", width=width))
        top += line_height(points)
    return marks


def _box(face: Typeface, text: str, size: float, width: float, top: float) -> Rectangle:
    """Return the box round the mark for two people."""
    wide = face.width(text, size, True) + 4.0
    return Rectangle((width - wide) / 2, top - 0.6, wide, line_height(size) + 0.6, 0.6)


def _inside_head(face: Typeface, case: Packed, inner: float) -> tuple[list[Mark], float]:
    """Draw the name and the mass of a case; also return where its list begins."""
    mass = face.width(case_mass(case), TITLE_SIZE, True)
    size = next(
        (
            size
            for size in (TITLE_SIZE, 20.0, 14.0, 10.0)
            if face.width(case.name, size, True) < inner - mass - 6
        ),
        8.0,
    )
    name = wrap(face, case.name, size, inner - mass - 6, bold=True)
    marks: list[Mark] = [
        text_at(face, PAD, PAD + number * line_height(size), line, size, bold=True)
        for number, line in enumerate(name)
    ]
    marks.append(text_at(face, PAD, PAD, case_mass(case), TITLE_SIZE, bold=True, align="right", width=inner))
    return marks, PAD + max(line_height(TITLE_SIZE), len(name) * line_height(size)) + 2.0


def _inside_height(face: Typeface, rig: Rig, case: Packed, width: float) -> float:
    """Return the height that the panel of a case needs for all that it may say."""
    inner = width - 2 * PAD
    blocks = _list(face, rig, case, inner, inf)
    listed = sum(box.height for block in blocks for box in block.boxes)
    return _inside_head(face, case, inner)[1] + listed + 1.0 + line_height(FOOT_SIZE) + PAD


def _inside(face: Typeface, rig: Rig, case: Packed, width: float, height: float) -> list[Mark]:
    """Draw the name and mass of a case, and its contents; the foot says of which job and revision it is."""
    inner = width - 2 * PAD
    marks, top = _inside_head(face, case, inner)
    foot = height - PAD - line_height(FOOT_SIZE)
    facts = [rig.title, *([say("rev {revision}", revision=rig.revision)] if rig.revision else [])]
    said = "  ·  ".join([*facts, say("check {code}", code=lid_code(rig, case))])
    marks.append(text_at(face, PAD, foot, wrap(face, said, FOOT_SIZE, inner)[-1], FOOT_SIZE))
    for block in _list(face, rig, case, inner, foot - top - 1.0 + 1e-6):
        for box in block.boxes:
            marks += [moved(mark, PAD, top) for mark in box.marks]
            top += box.height
    return marks


def _list(face: Typeface, rig: Rig, case: Packed, inner: float, room: float) -> list[Block]:
    """Return as many lines of the contents as there is room for, at most twelve with the one that counts the rest."""
    lines = contents(rig, case.pieces)
    heavy = [paragraph(face, f"{HEAVY.word}: {HEAVY.text}", inner, bold=True)] if _lift(case) else []
    most = len(lines) if len(lines) <= MOST_LINES else MOST_LINES - 1
    for shown in range(most, -1, -1):
        rows = [[Cell(name, 12.0, True), Cell(title, 12.0)] for name, title, _ in lines[:shown]]
        blocks = [*heavy, table(face, (say("NUMBER"), say("ITEM")), rows, (45.0, inner - 45.0))]
        if shown < len(lines):
            more = sum(pieces for _, _, pieces in lines[shown:])
            text = say("and {count} more: see the kit list", count=more)
            blocks.append(paragraph(face, text, inner))
        if sum(box.height for block in blocks for box in block.boxes) <= room:
            break
    return blocks


def title_of(piece: Thing) -> str:
    """Return what a thing is, in the language of the papers."""
    return say("SPARE FOR {lead}", lead=piece.spare_for) if piece.spare_for else piece.title


def contents(rig: Rig, pieces: Sequence[Thing]) -> list[tuple[str, str, int]]:
    """Return label, words and count of the content of a case; all packs of a unit share a line.

    The label is what is written on the thing: the id of a lead, the number of a device; "" if nobody states it.
    """
    further = Counter(piece.more_of for piece in pieces if piece.more_of)
    return [
        (
            piece.name if piece.of_cable else next(iter(rig.unit_or_spare(piece.name).numbers), ""),
            say("{title}, {count} packs", title=piece.title, count=1 + further[piece.name])
            if further[piece.name] and not piece.of_cable
            else title_of(piece),
            1 + (0 if piece.of_cable else further[piece.name]),
        )
        for piece in pieces
        if not piece.more_of
    ]
