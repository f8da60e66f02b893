"""The frame of every card: a head with title, number and revision; a foot that identifies outdated cards."""

from collections.abc import Sequence
from hashlib import sha256
from typing import NamedTuple

from rigcard.documents.base.draft_mark import draft_marks
from rigcard.documents.base.ink import MOST, ink
from rigcard.documents.base.layout import Block, FilledColumn, flow, line_height, text_at, wrap
from rigcard.documents.base.model import Line, Mark, Rectangle, Shape, Text, Typeface, moved
from rigcard.documents.base.paper import POCKET, Card, Size, slot_marks
from rigcard.documents.cards.cautions import word_over
from rigcard.resolve.model import Rig

MARGIN = 6.0
SLOT_ZONE = 14.0  # mm at the top of a pocket card that a lanyard slot may take
BENCH_TOP = 8.0  # mm at the top of a card that is not carried
POCKET_WIDTH = 105.0  # mm: the widest card that is carried
NUMBER_WIDTH = 15.0  # of the field with the card number
FOOT_SIZE = 8.0
CLOSED_UP = (  # tried in turn to save the last card of a group, if it is filled to less than the first share:
    (0.3, 0.6, 1.0),  # the share of space between blocks that is kept, and of the usual ink limit
    (0.3, 0.35, 1.0),
    (0.15, 0.6, 1.1),
)
CARRIED = ("POWER-UP", "POWER-DOWN", "OPERATOR", "RADIO LOSS")  # kickers of cards that go in pouches
TECHNICIAN = "technician"  # the role of set-up cards
CODE_LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"  # no letter or digit that can be mistaken for another


class Group(NamedTuple):
    """The cards of one subject before they are numbered. `cautions` are pinned to the first of them.

    `role` is the crew role that the cards are for; "" for everybody, "technician" for set-up. `size` is the
    size of each card, and the blocks are laid out for it.
    """

    kicker: str
    title: str
    blocks: tuple[Block, ...]
    cautions: tuple[str, ...] = ()
    role: str = ""
    size: Size = POCKET


class GroupLayout(NamedTuple):
    """A group and the content of each of its cards."""

    group: Group
    columns: tuple[FilledColumn, ...]

    @property
    def length(self) -> int:
        """Return the number of cards in the group."""
        return len(self.columns)


class NumberedGroup(NamedTuple):
    """A group with the number of its first card, the content of each card, and its check code."""

    group: Group
    first: int
    columns: tuple[FilledColumn, ...]
    code: str

    @property
    def length(self) -> int:
        """Return the number of cards in the group."""
        return len(self.columns)


def inner_width(size: Size) -> float:
    """Return the width of the content of a card of this size."""
    return size[0] - 2 * MARGIN


def top_of(size: Size) -> float:
    """Return where the head of a card begins: below the slot on a carried card."""
    return SLOT_ZONE if size[0] <= POCKET_WIDTH else BENCH_TOP


def check_code(texts: Sequence[str]) -> str:
    """Return four letters that change when a text changes, to tell an old card from a new one."""
    number = int.from_bytes(sha256("\x1f".join(texts).encode()).digest()[:8], "big")
    letters = []
    for _ in range(4):
        number, rest = divmod(number, len(CODE_LETTERS))
        letters.append(CODE_LETTERS[rest])
    return "".join(letters)


def group_code(group: Group) -> str:
    """Return the check code of everything on a group's cards except card numbers and foot."""
    words = [
        mark.text
        for block in group.blocks
        for box in block.boxes
        for mark in box.marks
        if isinstance(mark, Text)
    ]
    return check_code([group.kicker, group.title, *group.cautions, *words])


def lay(face: Typeface, rig: Rig, group: Group) -> GroupLayout:
    """Set a group on as many cards as it needs."""
    return GroupLayout(group, tuple(_columns(face, rig, group)))


def number(groups: Sequence[GroupLayout]) -> list[NumberedGroup]:
    """Number the groups in order, and add their check codes."""
    numbered = []
    first = 1
    for found in groups:
        numbered.append(NumberedGroup(found.group, first, found.columns, group_code(found.group)))
        first += found.length
    return numbered


def cards(
    face: Typeface, rig: Rig, numbered: Sequence[NumberedGroup], printed: Sequence[NumberedGroup]
) -> list[Card]:
    """Return the finished cards of the groups to print, with their numbers among all cards."""
    total = sum(found.length for found in numbered)
    made = []
    for found in printed:
        for index, column in enumerate(found.columns):
            made.append(_card(face, rig, found, index, total, column))
    return made


def room(face: Typeface, rig: Rig, group: Group) -> float:
    """Return the height between head and foot of each card of a group."""
    head, foot = _head_height(face, rig, group), _foot_height(face, rig, group.size)
    return group.size[1] - top_of(group.size) - head - foot - MARGIN


def _pinned(face: Typeface, group: Group) -> float:
    """Return the height of the cautions on the first card of a group."""
    return caution_height(face, group.cautions, inner_width(group.size))


def _columns(face: Typeface, rig: Rig, group: Group) -> list[FilledColumn]:
    height, pinned = room(face, rig, group), _pinned(face, group)

    def height_of(number: int) -> float:
        return height - pinned if number == 0 else height

    most = MOST * group.size[0] * group.size[1] - _framing_ink(face, rig, group)
    cautions = ink(caution_marks(face, group.cautions, inner_width(group.size))) if group.cautions else 0.0

    def set_with(looseness: float, more: float) -> list[FilledColumn]:
        return flow(
            group.blocks, height_of, looseness, lambda number: most * more - (cautions if number == 0 else 0.0)
        )

    columns = set_with(1.0, 1.0)
    for nearly, looseness, more in CLOSED_UP:
        if len(columns) > 1 and columns[-1].used < nearly * height:
            closed = set_with(looseness, more)
            columns = closed if len(closed) < len(columns) else columns
    return columns


def _framing_ink(face: Typeface, rig: Rig, group: Group) -> float:
    """Return the ink of a card's head and foot, whatever its number."""
    any_card = NumberedGroup(group, 88, (FilledColumn((), 0.0),), "XXXX")
    foot = _foot(face, rig, any_card, 0, 88, _foot_height(face, rig, group.size))
    return ink([*_head(face, rig, any_card, 0), *foot])


def crowded(face: Typeface, rig: Rig, group: Group) -> bool:
    """Whether the pinned cautions of a group are taller than the space on its first card."""
    return _pinned(face, group) > room(face, rig, group)


def headed(face: Typeface, rig: Rig, found: NumberedGroup) -> bool:
    """Whether head and foot leave at least half of a card to its contents, and the title is within its place."""
    group = found.group
    size, lines = _title_lines(face, rig, group)
    width = _title_width(face, rig, group)
    return room(face, rig, group) >= group.size[1] / 2 and all(
        face.width(line, size, True) <= width for line in lines
    )


def _card(face: Typeface, rig: Rig, found: NumberedGroup, index: int, total: int, column: FilledColumn) -> Card:
    group = found.group
    head = _head_height(face, rig, group)
    foot = _foot_height(face, rig, group.size)
    width, height = group.size
    marks: list[Mark] = [*(draft_marks(width, height) if rig.questions else ())]
    marks += slot_marks(width) if top_of(group.size) == SLOT_ZONE else []
    marks += _head(face, rig, found, index)
    marks += [moved(mark, MARGIN, top_of(group.size) + head) for mark in column.marks]
    if index == 0 and group.cautions:
        top = height - MARGIN - foot - _pinned(face, group)
        box = caution_marks(face, group.cautions, inner_width(group.size))
        marks += [moved(mark, MARGIN, top) for mark in box]
    marks += _foot(face, rig, found, index, total, foot)
    return Card(group.size, tuple(marks), f"{found.first} {group.title}" if index == 0 else "")


# ---- head ----------------------------------------------------------------------------------------------------


def _revision_width(face: Typeface, rig: Rig) -> float:
    return max(13.0, face.width(rig.revision, 28.0, True) + 2) if rig.revision else 0.0


def _title_width(face: Typeface, rig: Rig, group: Group) -> float:
    return inner_width(group.size) - NUMBER_WIDTH - _revision_width(face, rig) - 2.0


def _title_lines(face: Typeface, rig: Rig, group: Group) -> tuple[float, list[str]]:
    """Set the title on one line if a size allows it, otherwise on two.

    A long title takes as many lines as it needs at 14 pt.
    """
    width = _title_width(face, rig, group)
    for most in (1, 2):
        for size in (20.0, 17.0):
            lines = wrap(face, group.title, size, width, bold=True)
            whole = all(face.width(word, size, True) <= width for word in group.title.split())
            if len(lines) <= most and whole:
                return size, lines
    return 14.0, wrap(face, group.title, 14.0, width, bold=True)


def _head_height(face: Typeface, rig: Rig, group: Group) -> float:
    size, lines = _title_lines(face, rig, group)
    return max(4.2 + len(lines) * line_height(size), 16.5) + 3.0


def _head(face: Typeface, rig: Rig, found: NumberedGroup, index: int) -> list[Mark]:
    group = found.group
    part = f"  ({index + 1} of {found.length})" if found.length > 1 else ""
    size, lines = _title_lines(face, rig, group)
    top = top_of(group.size)
    marks: list[Mark] = [text_at(face, MARGIN, top, group.kicker + part, 9.0)]
    for number, line in enumerate(lines):
        y = top + 4.2 + number * line_height(size)
        marks.append(text_at(face, MARGIN, y, line, size, bold=True))
    right = group.size[0] - MARGIN
    if rig.revision:
        width = _revision_width(face, rig)
        x = right - width
        marks += [
            text_at(face, x, top, "REV", 8.0, align="centre", width=width),
            text_at(face, x, top + 5.2, rig.revision, 28.0, bold=True, align="centre", width=width),
            Rectangle(x, top + 3.6, width, 12.2, 0.25),
        ]
        right = x - 1.0
    number_text = str(found.first + index)
    marks += [
        text_at(face, right - NUMBER_WIDTH, top, "CARD", 8.0, align="centre", width=NUMBER_WIDTH),
        text_at(
            face,
            right - NUMBER_WIDTH,
            top + 5.2,
            number_text,
            28.0,
            bold=True,
            align="centre",
            width=NUMBER_WIDTH,
        ),
    ]
    bottom = top + _head_height(face, rig, group) - 2.0
    marks.append(Line(((MARGIN, bottom), (group.size[0] - MARGIN, bottom)), 0.3))
    return marks


# ---- foot ----------------------------------------------------------------------------------------------------


def _foot_lines(face: Typeface, rig: Rig, size: Size) -> list[str]:
    name = f"{rig.title} · {rig.job}" if rig.job else rig.title
    return wrap(face, name, FOOT_SIZE, inner_width(size))


def _foot_height(face: Typeface, rig: Rig, size: Size) -> float:
    return (len(_foot_lines(face, rig, size)) + 1) * line_height(FOOT_SIZE) + 1.8


def _foot(face: Typeface, rig: Rig, found: NumberedGroup, index: int, total: int, height: float) -> list[Mark]:
    size = found.group.size
    top = size[1] - MARGIN - height + 0.8
    marks: list[Mark] = [Line(((MARGIN, top), (size[0] - MARGIN, top)), 0.25)]
    top += 0.6
    for line in _foot_lines(face, rig, size):
        marks.append(text_at(face, MARGIN, top, line, FOOT_SIZE))
        top += line_height(FOOT_SIZE)
    parts = [f"card {found.first + index} of {total}"]
    if rig.revision:
        parts.append(f"rev {rig.revision}")
    if rig.date:
        parts.append(rig.date)
    marks.append(text_at(face, MARGIN, top, "  ·  ".join(parts), FOOT_SIZE))
    code = f"check {found.code}"
    inner = inner_width(size)
    marks.append(text_at(face, MARGIN, top, code, FOOT_SIZE, bold=True, align="right", width=inner))
    return marks


# ---- cautions ------------------------------------------------------------------------------------------------

CAUTION_SIZE = 12.0


def _caution_lines(face: Typeface, cautions: Sequence[str], inner: float) -> list[tuple[bool, str, str]]:
    """Return lines as (starts a caution, bold words, plain words): the hazard is bold, the remedy plain."""
    lines = []
    for caution in cautions:
        heavy = len(caution.partition(". ")[0]) + 1
        for number, line in enumerate(wrap(face, caution, CAUTION_SIZE, inner - 13.0, bold=True)):
            lines.append((number == 0, line[: max(heavy, 0)], line[max(heavy, 0) :].lstrip()))
            heavy -= len(line) + 1
    return lines


def caution_height(face: Typeface, cautions: Sequence[str], inner: float) -> float:
    """Return the height of the pinned box, 0 without cautions."""
    lines = _caution_lines(face, cautions, inner)
    return len(lines) * line_height(CAUTION_SIZE) + line_height(10.0) + 6.0 if lines else 0.0


def caution_marks(face: Typeface, cautions: Sequence[str], inner: float) -> list[Mark]:
    """Draw the box: the signal word, and the alert triangle before each line."""
    height = caution_height(face, cautions, inner)
    marks: list[Mark] = [Rectangle(0, 2.0, inner, height - 3.0, 0.28)]
    marks.append(text_at(face, 2.0, 2.8, word_over(cautions), 10.0, bold=True))
    top = 2.8 + line_height(10.0)
    for first, heavy, plain in _caution_lines(face, cautions, inner):
        if first:
            marks += alert(2.2, top + 0.4)
        x = 9.0
        if heavy:
            marks.append(text_at(face, x, top, heavy, CAUTION_SIZE, bold=True))
            x += face.width(f"{heavy} ", CAUTION_SIZE, True)
        if plain:
            marks.append(text_at(face, x, top, plain, CAUTION_SIZE))
        top += line_height(CAUTION_SIZE)
    return marks


def alert(x: float, y: float) -> list[Mark]:
    """Draw a small triangle with an exclamation mark in lines."""
    return [
        Shape(((x, y + 4.2), (x + 2.4, y), (x + 4.8, y + 4.2)), 0.25),
        Line(((x + 2.4, y + 1.4), (x + 2.4, y + 2.8)), 0.5),
        Line(((x + 2.4, y + 3.3), (x + 2.4, y + 3.7)), 0.5),
    ]
