"""The frame of every card: a head with its mark and who holds it, a foot that identifies outdated cards."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from hashlib import sha256
from typing import NamedTuple

from rigcard.documents.base.draft_mark import draft_marks
from rigcard.documents.base.language import say
from rigcard.documents.base.layout import (
    BODY,
    CAP_HEIGHT,
    HUGE,
    LABEL,
    LARGE,
    SMALL,
    Block,
    Box,
    FilledColumn,
    flow,
    line_height,
    text_at,
    wrap,
)
from rigcard.documents.base.model import (
    MM_PER_POINT,
    Later,
    Line,
    Mark,
    Rectangle,
    Shape,
    Text,
    Typeface,
    moved,
)
from rigcard.documents.base.paper import CARD_SIZES, Leaf, Size, slot_marks
from rigcard.documents.cards.cautions import word_over
from rigcard.resolve.model import Rig

MARGIN = 6.0  # left and right, in mm
EDGE = 5.0  # above the head and below the foot
SLOT_ZONE = 14.0  # mm at the top of a small card that a lanyard slot may take
LANYARD_WIDTH = 105.0  # mm: a wider card is no load for a lanyard
HEAD = 10.0  # mm: the least height of a head
BELOW_HEAD = 1.2
FOOT_GAP = 1.3
CLOSED_UP = (0.6, 0.3)  # shares of white between blocks, tried in turn to spare a group its last side
TECHNICIAN = "technician"  # the role of set-up cards
CODE_LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"  # no letter or digit that can be mistaken for another
REVISION_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # common practice, no source: I and O are skipped


class Group(NamedTuple):
    """The cards of one subject. `cautions` are pinned to the first side.

    `mark` is what the group is called: a word or two, unique in the pack, which a revision does not change.
    `role` is the crew role that holds the cards; "" for everybody, "technician" for set-up. A `full_sheet` is no
    card: its blocks fill pages of the rig's paper. `station`: the index of the station of several that it is for, or
    None; `kind`: what the cards of its kind are called at every station.
    """

    mark: str
    title: str
    blocks: tuple[Block, ...]
    cautions: tuple[str, ...] = ()
    role: str = ""
    full_sheet: bool = False
    station: int | None = None
    kind: str = ""


class LaidGroup(NamedTuple):
    """A group with the content of each of its sides, its check code, and the number of sides that are printed.

    A group that is drawn has no content any more.
    """

    group: Group
    columns: tuple[FilledColumn, ...]
    code: str
    sides: int

    @property
    def leaves(self) -> int:
        """Return the number of cards: each has two sides."""
        return (self.sides + 1) // 2


def card_size(rig: Rig) -> Size:
    """Return the size of every card of a pack, in mm."""
    return CARD_SIZES[rig.card]


def inner_width(rig: Rig) -> float:
    """Return the width of the content of a card."""
    return card_size(rig)[0] - 2 * MARGIN


def top_of(rig: Rig, group: Group) -> float:
    """Return where the head of a card begins.

    Room for a lanyard slot is left on small cards for the crew only. A larger card would take 9 mm of its 200 for
    the slot, swings into moving parts and is too wide to read on a chest: it goes in a pocket, or on the rig by
    the edge of its pouch. A technician's card lies on the bench.
    """
    hangs = card_size(rig)[0] <= LANYARD_WIDTH and group.role != TECHNICIAN
    return SLOT_ZONE if hangs else EDGE


def check_code(texts: Sequence[str]) -> str:
    """Return four letters that change when a text changes, to tell an old card from a new one."""
    number = int.from_bytes(sha256("\x1f".join(texts).encode()).digest()[:8], "big")
    letters = []
    for _ in range(4):
        number, rest = divmod(number, len(CODE_LETTERS))
        letters.append(CODE_LETTERS[rest])
    return "".join(letters)


def group_code(rig: Rig, group: Group) -> str:
    """Return the check code of everything on a group's cards except revision and date, which tell their issue."""
    words = [
        mark.text
        for block in group.blocks
        for box in block.boxes
        for mark in box.marks
        if isinstance(mark, Text)
    ]
    issue = [rig.title, rig.job, "DRAFT" if rig.questions else "", holder(rig, group)]
    return check_code([*issue, group.mark, group.role, group.title, *group.cautions, *words])


def lay(face: Typeface, rig: Rig, group: Group) -> LaidGroup:
    """Set a group on as many sides as it needs. Its blocks are let go: the sides hold what is drawn."""
    columns = tuple(_columns(face, rig, group))
    return LaidGroup(group._replace(blocks=()), columns, group_code(rig, group), len(columns))


def leaves_of(face: Typeface, rig: Rig, printed: Sequence[LaidGroup]) -> list[Leaf]:
    """Return the finished cards; every group begins on a front."""
    made = []
    for found in printed:
        sides = Later([partial(_side, face, rig, found, index) for index in range(found.sides)])
        for front in range(0, len(sides), 2):
            made.append(Leaf(sides[front : front + 2], found.group.mark if front == 0 else ""))
    return made


def side_mark(found: LaidGroup, index: int) -> str:
    """Return the mark of one side: `HEAD 2`. A group of one side needs no number, unless its mark ends in one."""
    if found.group.mark[-1:].isdigit():
        return f"{found.group.mark}-{index + 1}"
    return f"{found.group.mark} {index + 1}" if found.sides > 1 else found.group.mark


def holder(rig: Rig, group: Group) -> str:
    """Return who holds the cards of a group, in capitals."""
    if not group.role:
        return say("EVERYBODY")
    return say("TECHNICIAN") if group.role == TECHNICIAN else rig.crew[group.role].upper()


def replaced(revision: str) -> str:
    """Return the revision before a lettered one; "" for the first, and for one of any other kind.

    >>> [replaced(revision) for revision in ("C", "J", "P", "A", "AA", "2")]
    ['B', 'H', 'N', '', 'Z', '']
    """
    number = 0
    for letter in revision:
        if letter not in REVISION_LETTERS:
            return ""
        number = number * len(REVISION_LETTERS) + REVISION_LETTERS.index(letter) + 1
    number -= 1
    letters = ""
    while number > 0:
        number, rest = divmod(number - 1, len(REVISION_LETTERS))
        letters = REVISION_LETTERS[rest] + letters
    return letters


def room(face: Typeface, rig: Rig, group: Group) -> float:
    """Return the height between head and foot of each side of a group."""
    head, foot = _head_height(face, rig, group), _foot_height(face, rig, group)
    return card_size(rig)[1] - top_of(rig, group) - head - foot - EDGE


def _pinned(face: Typeface, rig: Rig, group: Group) -> float:
    """Return the height of the cautions on the first side of a group."""
    return caution_height(face, group.cautions, inner_width(rig))


def _columns(face: Typeface, rig: Rig, group: Group) -> list[FilledColumn]:
    height, pinned = room(face, rig, group), _pinned(face, rig, group)

    def height_of(number: int) -> float:
        return height - pinned if number == 0 else height

    def empty(columns: Sequence[FilledColumn]) -> int:
        return sum(column.used < height_of(at) / 2 for at, column in enumerate(columns[:-1]))

    blocks: Sequence[Block] = group.blocks
    columns = flow(blocks, height_of)
    if empty(columns):  # rather a table that goes on overleaf than a side that is mostly white
        parted = _parted(blocks)
        other = flow(parted, height_of)
        if empty(other) < empty(columns):
            blocks, columns = parted, other
    for looseness in CLOSED_UP:
        if len(columns) > 1 and columns[-1].used < height / 2:
            closed = flow(blocks, height_of, looseness)
            columns = closed if len(closed) < len(columns) else columns
    return columns


def _parted(blocks: Sequence[Block]) -> list[Block]:
    """Let everything be divided that need not stay together."""
    return [
        block._replace(boxes=tuple(box._replace(prefer_with_next=False) for box in block.boxes))
        for block in blocks
    ]


def crowded(face: Typeface, rig: Rig, group: Group) -> bool:
    """Whether the pinned cautions of a group are taller than the space on its first side."""
    return _pinned(face, rig, group) > room(face, rig, group)


def headed(face: Typeface, rig: Rig, group: Group) -> bool:
    """Whether head and foot leave at least half of a card to its contents, and their words are within their places."""
    title = _title(face, rig, group)
    fits = all(face.width(line, title.size, True) <= title.room for line in title.mark)
    return (
        fits
        and title.room > 0
        and room(face, rig, group) >= card_size(rig)[1] / 2
        and _revision_fits(face, rig)
    )


def _revision_fits(face: Typeface, rig: Rig) -> bool:
    return _right_width(face, rig) < inner_width(rig) * 0.7


def _side(face: Typeface, rig: Rig, found: LaidGroup, index: int) -> tuple[Mark, ...]:
    group = found.group
    width, height = card_size(rig)
    top = top_of(rig, group)
    marks: list[Mark] = [*(draft_marks(width, height) if rig.questions else ())]
    marks += slot_marks(width) if top == SLOT_ZONE else []
    marks += [moved(mark, MARGIN, top) for mark in _head(face, rig, found, index)]
    under = top + _head_height(face, rig, group)
    marks += [moved(mark, MARGIN, under) for mark in found.columns[index].marks]
    foot = height - EDGE - _foot_height(face, rig, group)
    if index == 0 and group.cautions:
        box = caution_marks(face, group.cautions, inner_width(rig))
        marks += [moved(mark, MARGIN, foot - _pinned(face, rig, group)) for mark in box]
    marks += [moved(mark, MARGIN, foot) for mark in _foot(face, rig, found)]
    return tuple(marks)


# ---- head ----------------------------------------------------------------------------------------------------


class Title(NamedTuple):
    """How the left part of a head is set: the mark in one size, lines of the title beside or below it."""

    size: float
    mark: list[str]
    title: list[str]
    beside: bool
    room: float  # mm that the mark may take


def _right_width(face: Typeface, rig: Rig) -> float:
    """Return the width of the field that says who holds the card, with the revision."""
    return _holder_width(face, rig) + 2.0 + _revision_width(face, rig)


def _holder_width(face: Typeface, rig: Rig) -> float:
    holders = [say("EVERYBODY"), say("TECHNICIAN"), *(title.upper() for title in rig.crew.values())]
    longest = max(face.width(text, SMALL, True) for text in holders)
    sides = face.width(say("side {side} of {sides}", side=88, sides=88), SMALL)
    return min(max(longest, sides), inner_width(rig) * 0.32)


def _revision_width(face: Typeface, rig: Rig) -> float:
    if not rig.revision:
        return 0.0
    return face.width(say("REV"), LABEL) + face.width(rig.revision, HUGE, True) + 4.5


def _title(face: Typeface, rig: Rig, group: Group) -> Title:
    """Set mark and title as large as they go: beside each other if that keeps the head low."""
    space = inner_width(rig) - _right_width(face, rig) - 3.0
    number = face.width(" 88", HUGE, True)
    named = "" if _bare(group.title) == _bare(group.mark) else group.title
    below = wrap(face, named, BODY, inner_width(rig)) if named else []
    for size in (LARGE, BODY):
        taken = face.width(group.mark, size, True) + number
        if taken > space:
            continue
        rest = space - taken - 3.0
        lines = wrap(face, named, BODY, rest) if named and rest > 0 else []
        whole = all(face.width(word, BODY) <= rest for word in named.split())
        if len(lines) <= 2 and whole:
            return Title(size, [group.mark], lines, True, space)
        return Title(size, [group.mark], below, False, space)
    return Title(BODY, wrap(face, f"{group.mark} 88", BODY, space, True), below, False, space)


def _bare(text: str) -> str:
    """Return the letters and digits of a text, to see whether a title says no more than its mark."""
    return "".join(filter(str.isalnum, text.casefold()))


def _holder_lines(face: Typeface, rig: Rig, group: Group) -> list[str]:
    return wrap(face, holder(rig, group), SMALL, _holder_width(face, rig), True)


def _field_height(face: Typeface, rig: Rig, group: Group) -> float:
    """Return the height of the row with mark and revision."""
    title = _title(face, rig, group)
    right = (len(_holder_lines(face, rig, group)) + 1) * line_height(SMALL)
    left = len(title.mark) * line_height(title.size) if len(title.mark) > 1 else 0.0
    return max(HEAD, right, left)


def _head_height(face: Typeface, rig: Rig, group: Group) -> float:
    title = _title(face, rig, group)
    below = 0 if title.beside else len(title.title)
    return _field_height(face, rig, group) + below * line_height(BODY) + BELOW_HEAD


def _head(face: Typeface, rig: Rig, found: LaidGroup, index: int) -> list[Mark]:
    """Draw the head from its own top left corner."""
    group = found.group
    title = _title(face, rig, group)
    field = _field_height(face, rig, group)
    marks: list[Text] = []
    if len(title.mark) == 1:
        marks = _on_one_line(face, found, index, title.size, field)
    else:
        lines = wrap(face, side_mark(found, index), title.size, title.room, True)
        marks = _centred(face, lines, 0.0, field, title.size, True)
    if title.beside:
        x = max(mark.x + mark.width for mark in marks) + 3.0
        marks += [mark._replace(x=mark.x + x) for mark in _centred(face, title.title, 0.0, field, BODY, False)]
    else:
        marks += [
            text_at(face, 0, field + at * line_height(BODY), line, BODY) for at, line in enumerate(title.title)
        ]
    bottom = _head_height(face, rig, group) - BELOW_HEAD + 0.4
    rule = Line(((0, bottom), (inner_width(rig), bottom)), 0.1)
    return [*marks, *_held_by(face, rig, found, index, field), rule]


def _on_one_line(face: Typeface, found: LaidGroup, index: int, size: float, field: float) -> list[Text]:
    """Set the mark, and on its base line the number of the side, which is larger."""
    mark = found.group.mark
    number = side_mark(found, index).removeprefix(mark).strip()
    baseline = field / 2 + (HUGE if number else size) * MM_PER_POINT * CAP_HEIGHT / 2
    width = face.width(mark, size, True)
    marks = [Text(0, baseline, mark, size, True, width)]
    if number:
        x = width + face.width(" ", HUGE, True)
        marks.append(Text(x, baseline, number, HUGE, True, face.width(number, HUGE, True)))
    return marks


def _centred(
    face: Typeface, lines: Sequence[str], top: float, height: float, size: float, bold: bool
) -> list[Text]:
    top += (height - len(lines) * line_height(size)) / 2
    return [
        text_at(face, 0, top + at * line_height(size), line, size, bold=bold) for at, line in enumerate(lines)
    ]


def _held_by(face: Typeface, rig: Rig, found: LaidGroup, index: int, field: float) -> list[Mark]:
    """Draw who holds the card, which side it is, and the revision in its box."""
    right = inner_width(rig)
    marks: list[Mark] = []
    if rig.revision:
        width = _revision_width(face, rig)
        right -= width
        letter = face.width(rig.revision, HUGE, True)
        baseline = field / 2 + HUGE * MM_PER_POINT * CAP_HEIGHT / 2  # both words stand on it
        label = say("REV")
        marks += [
            Rectangle(right, 0.3, width, field - 0.9, 0.15),
            Text(right + 1.5, baseline, label, LABEL, False, face.width(label, LABEL)),
            Text(right + width - letter - 1.5, baseline, rig.revision, HUGE, True, letter),
        ]
        right -= 2.0
    width = _holder_width(face, rig)
    side = say("side {side} of {sides}", side=index + 1, sides=found.sides)
    lines = [*_holder_lines(face, rig, found.group), side]
    top = (field - len(lines) * line_height(SMALL)) / 2
    for at, line in enumerate(lines):
        y, bold = top + at * line_height(SMALL), at < len(lines) - 1
        marks.append(text_at(face, right - width, y, line, SMALL, bold=bold, align="right", width=width))
    return marks


# ---- foot ----------------------------------------------------------------------------------------------------


def _foot_right(rig: Rig, code: str) -> tuple[str, str]:
    """Return revision and date, and the check code, which is bold."""
    parts = []
    if rig.revision:
        before = replaced(rig.revision)
        parts.append(
            say("rev {revision} replaces rev {before}", revision=rig.revision, before=before)
            if before
            else say("rev {revision}", revision=rig.revision)
        )
    if rig.date:
        parts.append(rig.date)
    return "".join(f"{part} · " for part in parts), say("check {code}", code=code)


def _foot_lines(face: Typeface, rig: Rig) -> tuple[list[str], bool]:
    """Return the lines with the names of rig and job, and whether the last one leaves room for the rest."""
    inner = inner_width(rig)
    name = f"{rig.title} · {rig.job}" if rig.job else rig.title
    facts, code = _foot_right(rig, "WWWW")
    taken = face.width(facts, LABEL) + face.width(code, LABEL, True) + 3.0
    lines = wrap(face, name, LABEL, inner)
    return lines, face.width(lines[-1], LABEL) + taken <= inner


def _foot_height(face: Typeface, rig: Rig, group: Group) -> float:
    lines, one_line = _foot_lines(face, rig)
    return (len(lines) + (not one_line)) * line_height(LABEL) + FOOT_GAP


def _foot(face: Typeface, rig: Rig, found: LaidGroup) -> list[Mark]:
    """Draw the foot from its own top left corner."""
    inner = inner_width(rig)
    marks: list[Mark] = []
    lines, one_line = _foot_lines(face, rig)
    for at, line in enumerate(lines):
        marks.append(text_at(face, 0, FOOT_GAP + at * line_height(LABEL), line, LABEL))
    facts, code = _foot_right(rig, found.code)
    y = FOOT_GAP + (len(lines) - one_line) * line_height(LABEL)
    heavy = text_at(face, 0, y, code, LABEL, bold=True, align="right", width=inner)
    marks.append(text_at(face, 0, y, facts, LABEL, align="right", width=inner - heavy.width))
    return [*marks, heavy]


# ---- cautions ------------------------------------------------------------------------------------------------


def _caution_lines(face: Typeface, cautions: Sequence[str], inner: float) -> list[tuple[bool, str, str]]:
    """Return lines as (starts a caution, bold words, plain words): the hazard is bold, the remedy plain."""
    lines = []
    for caution in cautions:
        heavy = len(caution.partition(". ")[0]) + 1
        for number, line in enumerate(wrap(face, caution, BODY, inner - 13.0, bold=True)):
            lines.append((number == 0, line[: max(heavy, 0)], line[max(heavy, 0) :].lstrip()))
            heavy -= len(line) + 1
    return lines


def caution_height(face: Typeface, cautions: Sequence[str], inner: float) -> float:
    """Return the height of the pinned box, 0 without cautions."""
    lines = _caution_lines(face, cautions, inner)
    return len(lines) * line_height(BODY) + line_height(SMALL) + 4.6 if lines else 0.0


def caution_marks(face: Typeface, cautions: Sequence[str], inner: float) -> list[Mark]:
    """Draw the box: the signal word, and the alert triangle before each line."""
    height = caution_height(face, cautions, inner)
    marks: list[Mark] = [Rectangle(0, 1.4, inner, height - 2.4, 0.15)]
    marks.append(text_at(face, 2.0, 2.0, word_over(cautions), SMALL, bold=True))
    top = 2.0 + line_height(SMALL)
    for first, heavy, plain in _caution_lines(face, cautions, inner):
        if first:
            marks += alert(2.2, top + 0.4)
        x = 9.0
        if heavy:
            marks.append(text_at(face, x, top, heavy, BODY, bold=True))
            x += face.width(f"{heavy} ", BODY, True)
        if plain:
            marks.append(text_at(face, x, top, plain, BODY))
        top += line_height(BODY)
    return marks


def caution_block(face: Typeface, cautions: Sequence[str], inner: float) -> Block:
    """Return the box as a block that stays with what follows: a caution stands above its step."""
    if not cautions:
        return Block(())
    height = caution_height(face, cautions, inner)
    return Block((Box(height, tuple(caution_marks(face, cautions, inner)), True),))


def alert(x: float, y: float) -> list[Mark]:
    """Draw a small triangle with an exclamation mark in lines."""
    return [
        Shape(((x, y + 4.2), (x + 2.4, y), (x + 4.8, y + 4.2)), 0.25),
        Line(((x + 2.4, y + 1.4), (x + 2.4, y + 2.8)), 0.5),
        Line(((x + 2.4, y + 3.3), (x + 2.4, y + 3.7)), 0.5),
    ]
