"""Measures text before placing it: lines, table rows, and their flow over cards or pages.

A column is a list of blocks; a block is a list of boxes that may not be cut. Boxes go down a column and
continue in the next one, so nothing is ever cut off or overprinted.
"""

from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

from rigcard.documents.base.language import say
from rigcard.documents.base.model import MM_PER_POINT, Line, Mark, Rectangle, Text, Typeface, moved

HUGE = 28.0  # points; no card has type of a sixth size
LARGE = 20.0  # the line that is acted on
BODY = 12.0  # legible at arm's length
SMALL = 10.0  # tables of a technician
LABEL = 8.0  # heads of columns, and the foot
LEADING = 1.22
CAP_HEIGHT = 0.66  # as a share of the type size; measured in the embedded typeface (OS/2 sCapHeight)
ASCENT = (LEADING + CAP_HEIGHT) / 2  # from the top of a line to its baseline: capitals stand in the middle
UNITS = frozenset(
    (
        "%",
        "µs",
        "mm",
        "m",
        "kg",
        "g",
        "ms",
        "s",
        "steps",
        "deg",
        "deg/s",
        "V",
        "A",
        "W",
        "Wh",
        "Ah",
        "mm²",
        "°C",
        "h",
        "min",
    )
)


def line_height(size: float) -> float:
    """Return the distance between two baselines in mm."""
    return size * MM_PER_POINT * LEADING


def wrap(face: Typeface, text: str, size: float, width: float, bold: bool = False) -> list[str]:
    """Break a text into lines, none wider than `width` mm.

    A number stays with its unit and its `~`, the head of a column with the unit after its comma; a word that is too long is broken, and line breaks in the text are
    kept.
    """
    if "\n" in text:
        return [line for part in text.split("\n") for line in wrap(face, part, size, width, bold)]
    if face.width(text, size, bold) <= width and " ".join(text.split()) == text:
        return [text]
    lines: list[str] = []
    line = ""
    for word in _words(text):
        longer = f"{line} {word}" if line else word
        if face.width(longer, size, bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        *before, line = _pieces(face, word, size, width, bold)
        lines += before
    return [*lines, line] if line or not lines else lines


def _pieces(face: Typeface, word: str, size: float, width: float, bold: bool) -> list[str]:
    """Break a word that may be too wide into lines; a number is first separated from its unit."""
    if face.width(word, size, bold) <= width:
        return [word]
    lines: list[str] = []
    for part in word.split() if " " in word else ():
        longer = f"{lines[-1]} {part}" if lines else part
        if lines and face.width(longer, size, bold) <= width:
            lines[-1] = longer
        else:
            lines += _pieces(face, part, size, width, bold)
    if lines:
        return lines
    while face.width(word, size, bold) > width and len(word) > 1:
        cut = _fitting(face, word, size, width, bold)
        lines.append(word[:cut])
        word = word[cut:]
    return [*lines, word]


def _words(text: str) -> list[str]:
    words: list[str] = []
    for word in text.split():
        unit = word.rstrip(").,;") in UNITS and words and (words[-1][-1:].isdigit() or words[-1][-1:] == ",")
        if unit or (words and words[-1] == "~"):
            words[-1] += f" {word}"
        else:
            words.append(word)
    return words


def _fitting(face: Typeface, word: str, size: float, width: float, bold: bool) -> int:
    low, high = 1, len(word)
    while low < high:
        middle = (low + high + 1) // 2
        if face.width(word[:middle], size, bold) <= width:
            low = middle
        else:
            high = middle - 1
    return low


# ---- boxes ---------------------------------------------------------------------------------------------------


class Box(NamedTuple):
    """Marks that stay together, placed from (0, 0).

    `keep_with_next` forbids a break below the box, `prefer_with_next` only advises against one. `repeat_header`
    is repeated above a box that begins a card in the middle of a table. `trailing_space` is the empty part of
    the height at the foot: it may be reduced, and it does not count at the foot of a card.
    """

    height: float
    marks: tuple[Mark, ...]
    keep_with_next: bool = False
    repeat_header: tuple[float, tuple[Mark, ...]] | None = None
    prefer_with_next: bool = False
    trailing_space: float = 0.0


class Block(NamedTuple):
    """Boxes in order; `again` is repeated above the rest if the block continues on the next card."""

    boxes: tuple[Box, ...]
    again: tuple[float, tuple[Mark, ...]] | None = None


def text_at(
    face: Typeface,
    x: float,
    top: float,
    text: str,
    size: float,
    *,
    bold: bool = False,
    align: str = "left",
    width: float = 0.0,
    inverse: bool = False,
) -> Text:
    """Return a line of text below `top`: left, centred or right in a field of `width` mm that begins at x."""
    measured = face.width(text, size, bold)
    offset = {"left": 0.0, "centre": (width - measured) / 2, "right": width - measured}[align]
    return Text(x + offset, top + size * MM_PER_POINT * ASCENT, text, size, bold, measured, 0, inverse)


def text_around(face: Typeface, x: float, y: float, text: str, size: float, *, bold: bool = False) -> Text:
    """Return a line of text whose capitals have their middle at a point, as in a circle."""
    width = face.width(text, size, bold)
    return Text(x - width / 2, y + size * MM_PER_POINT * CAP_HEIGHT / 2, text, size, bold, width)


def paragraph(
    face: Typeface,
    text: str,
    width: float,
    *,
    size: float = BODY,
    bold: bool = False,
    indent: float = 0.0,
    gap: float = 1.5,
    keep: bool = False,
    whole: bool = False,
) -> Block:
    """Set running text. With `keep` it stays with what follows, with `whole` it is not divided."""
    lines = wrap(face, text, size, width - indent, bold)
    boxes = [Box(line_height(size), (text_at(face, indent, 0, line, size, bold=bold),), keep) for line in lines]
    if whole:
        boxes[:-1] = [box._replace(keep_with_next=True) for box in boxes[:-1]]
    if len(boxes) > 1:  # avoid widows and orphans
        boxes[0] = boxes[0]._replace(keep_with_next=True)
        boxes[-2] = boxes[-2]._replace(keep_with_next=True)
    boxes[-1] = boxes[-1]._replace(height=boxes[-1].height + gap, trailing_space=gap)
    return Block(tuple(boxes))


def heading(face: Typeface, text: str, width: float) -> Block:
    """Set a heading over a thin rule; it stays with what follows."""
    lines = wrap(face, text, BODY, width, bold=True)
    height = line_height(BODY)
    marks: list[Mark] = [
        text_at(face, 0, row * height, line, BODY, bold=True) for row, line in enumerate(lines)
    ]
    bottom = len(lines) * height + 0.4
    marks.append(Line(((0, bottom), (width, bottom)), RULE))
    below = Box(bottom + 0.8, tuple(marks), True)
    named = say("{heading}, continued", heading=" ".join(text.split()))
    continued = text_at(face, 0, 0, _cut(face, named, SMALL, width), SMALL, bold=True)
    return Block((*space(1.5, keep=True).boxes, below), (line_height(SMALL) + 0.4, (continued,)))


def _cut(face: Typeface, text: str, size: float, width: float) -> str:
    """Return as much of a text as one line holds."""
    return wrap(face, text, size, width, bold=True)[0]


def space(height: float, *, keep: bool = False) -> Block:
    """Return white space; with `keep` it stays with what follows."""
    return Block((Box(height, (), keep, trailing_space=height),))


# ---- rows ----------------------------------------------------------------------------------------------------


class Cell(NamedTuple):
    """A cell of a table row.

    `kind`: text, boxed (text in a thin box), blank (to write in) or tick (a square). The label is set small
    above the text.
    """

    text: str = ""
    size: float = BODY
    bold: bool = False
    align: str = "left"
    kind: str = "text"
    label: str = ""


BLANK = Cell(kind="blank")
TICK = Cell(kind="tick")
BLANK_HEIGHT = 10.0  # mm, to write in with a glove on; common practice, no source
TICK_SIZE = 7.0
TICK_LINE = 0.22  # a little more than one dot of a 100 dpi copy
MOST_LINES = 8  # of one cell in one box: a longer cell continues in a box below
PAD = 1.0  # mm between a box and the rule above or below it
GAP = 1.5  # mm to the right of every column but the last
GUTTER = 1.0  # mm more to the right of a column whose words end there
ROUNDING = 0.02  # mm
BOX_SIDE = 1.0  # mm from the line of a box to the words in it
RULED = 3  # rows of a table to a rule: fewer rules, and the eye still keeps its row
RULE = 0.1  # mm, the stroke below a row
AFTER = 1.6  # mm of space below a table
SHORT_TABLE = 45.0  # mm: a table up to this height is not divided


def row(
    face: Typeface,
    cells: Sequence[Cell],
    widths: Sequence[float],
    *,
    ruled: bool = True,
    keep: bool = False,
    pad: float = PAD,
) -> list[Box]:
    """Set a table row: cells wrap inside their columns, and the tallest cell gives the height of the row."""
    wrapped = [
        wrap(face, cell.text, cell.size, width - _taken(cell, at == len(cells) - 1), cell.bold)
        if cell.text
        else []
        for at, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ]
    parts = max(1, -(-max(len(lines) for lines in wrapped) // MOST_LINES))
    boxes = []
    for part in range(parts):
        chunk = [lines[part * MOST_LINES : (part + 1) * MOST_LINES] for lines in wrapped]
        shown = cells if part == 0 else [cell._replace(kind="text", label="") for cell in cells]
        boxes.append(_row_piece(face, shown, widths, chunk, ruled and part == parts - 1, keep, pad))
    return boxes


def _taken(cell: Cell, last: bool) -> float:
    """Return the part of a column's width that its words may not take."""
    return (2 * BOX_SIDE if cell.kind == "boxed" else 0.0) + _gap(cell, last)


def _gap(cell: Cell, last: bool) -> float:
    """Return the white to the right of a cell: words begin and end at the edges of the table."""
    return 0.0 if last else GAP + GUTTER if cell.align == "right" else GAP


def _row_piece(
    face: Typeface,
    cells: Sequence[Cell],
    widths: Sequence[float],
    chunk: list[list[str]],
    ruled: bool,
    keep: bool,
    pad: float,
) -> Box:
    labels = [_label_lines(face, cell, width) for cell, width in zip(cells, widths, strict=True)]
    above = max(map(len, labels)) * line_height(LABEL)  # words beside a labelled cell stand on its line
    heights = [_cell_height(*parts) for parts in zip(cells, chunk, labels, strict=True)]
    lower = [
        above - len(label) * line_height(LABEL) if cell.kind in ("text", "boxed") and lines else 0.0
        for cell, lines, label in zip(cells, chunk, labels, strict=True)
    ]
    tallest = max(own + down for own, down in zip(heights, lower, strict=True))
    height = max(tallest, line_height(LABEL)) + 2 * pad
    marks: list[Mark] = []
    x = 0.0
    for at, (cell, width, lines, label, own, down) in enumerate(
        zip(cells, widths, chunk, labels, heights, lower, strict=True)
    ):
        top = pad + down if above and cell.kind in ("text", "boxed") else (height - own) / 2
        gap = _gap(cell, at == len(cells) - 1)
        marks += _cell_marks(face, cell, x, top, width - gap, own, lines, label)
        x += width
    if ruled:
        marks.append(Line(((0, height), (x, height)), RULE))
    return Box(height, tuple(marks), keep)


def _label_lines(face: Typeface, cell: Cell, width: float) -> list[str]:
    return wrap(face, cell.label, LABEL, width - GAP) if cell.label else []


def _cell_height(cell: Cell, lines: list[str], labels: list[str]) -> float:
    label = len(labels) * line_height(LABEL)
    if cell.kind == "blank":
        return BLANK_HEIGHT + label
    if cell.kind == "tick":
        return TICK_SIZE
    return label + len(lines) * line_height(cell.size) + (1.0 if cell.kind == "boxed" and lines else 0.0)


def _cell_marks(
    face: Typeface,
    cell: Cell,
    x: float,
    top: float,
    width: float,
    height: float,
    lines: list[str],
    labels: list[str],
) -> list[Mark]:
    if cell.kind == "tick":
        return [Rectangle(x + (width - TICK_SIZE) / 2, top, TICK_SIZE, TICK_SIZE, TICK_LINE)]
    marks: list[Mark] = []
    for label in labels:
        marks.append(text_at(face, x, top, label, LABEL, align=cell.align, width=width))
        top += line_height(LABEL)
        height -= line_height(LABEL)
    if cell.kind == "blank":
        return [*marks, Rectangle(x, top, width, BLANK_HEIGHT, 0.2)]
    pad = BOX_SIDE if cell.kind == "boxed" else 0.0
    inner = width - 2 * pad
    first = top + (0.5 if cell.kind == "boxed" else 0.0)
    for number, line in enumerate(lines):
        y = first + number * line_height(cell.size)
        marks.append(text_at(face, x + pad, y, line, cell.size, bold=cell.bold, align=cell.align, width=inner))
    if cell.kind == "boxed" and lines:
        widest = max(face.width(line, cell.size, cell.bold) for line in lines)
        left = {"left": x + pad, "centre": x + (width - widest) / 2, "right": x + pad + inner - widest}
        marks.append(Rectangle(left[cell.align] - pad, top, widest + 2 * pad, height, 0.2))
    return marks


def _roomy(face: Typeface, rows: Sequence[Sequence[Cell]], widths: Sequence[float]) -> Sequence[float]:
    """Widen columns if others can spare the room, so that no number, code or other word is broken."""
    last = len(widths) - 1
    least = [
        max((_widest(face, row[column], column == last) for row in rows), default=0.0)
        for column in range(len(widths))
    ]
    short = sum(max(0.0, need - width) for need, width in zip(least, widths, strict=True))
    spare = sum(max(0.0, width - need) for need, width in zip(least, widths, strict=True))
    if not short or short > spare:
        return widths
    return [
        max(width, need) - max(0.0, width - need) * short / spare
        for need, width in zip(least, widths, strict=True)
    ]


def _widest(face: Typeface, cell: Cell, last: bool) -> float:
    """Return the width that the longest word of a cell needs."""
    label = max(cell.label.split(), key=len, default="")
    return _needed(face, cell._replace(label=label), _words(cell.text), last)


def _needed(face: Typeface, cell: Cell, texts: Sequence[str], last: bool) -> float:
    """Return the width of a column that sets each of these texts on one line."""
    if cell.kind == "tick":
        return TICK_SIZE + _gap(cell, last)
    label = face.width(cell.label, LABEL) if "\n" not in cell.label else 0.0
    words = max((face.width(text, cell.size, cell.bold) for text in texts), default=0.0)
    if not words and not label:
        return 0.0
    return max(words + _taken(cell, last), label + _gap(cell, last)) + ROUNDING


def columns_for(
    face: Typeface,
    head: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    inner: float,
    loose: int = -1,
) -> list[float]:
    """Return widths of columns that add up to `inner`, so that few cells need a second line.

    Each column gets what its longest cell needs; `loose` is the column that takes the rest. Where there is too
    little, the widest columns give way first, down to their longest words.
    """
    aligns = [cell.align for cell in rows[0]] if rows else ["left"] * len(head)
    cells = [
        [Cell(text, LABEL, align=aligns[at]), *(line[at] for line in rows)] for at, text in enumerate(head)
    ]
    ends = [at == len(head) - 1 for at in range(len(head))]
    widths = [
        max(_needed(face, cell, cell.text.split("\n"), end) for cell in column)
        for column, end in zip(cells, ends, strict=True)
    ]
    least = [max(_widest(face, cell, end) for cell in column) for column, end in zip(cells, ends, strict=True)]
    over = sum(widths) - inner
    for at, column in enumerate(cells):  # the head of a column rather breaks than words below it
        body = max((_needed(face, cell, cell.text.split("\n"), ends[at]) for cell in column[1:]), default=0.0)
        cut = min(max(0.0, over), widths[at] - max(body, least[at]))
        widths[at] -= cut
        over -= cut
    while over > 0.01:
        spare = [max(0.0, width - need) for width, need in zip(widths, least, strict=True)]
        widest = max(range(len(widths)), key=lambda at: (spare[at] > 0, widths[at]))
        cut = min(over, spare[widest] or 1.0, 1.0)  # if no column can spare any, the longest words are broken
        widths[widest] -= cut
        over -= cut
    widths[loose] -= min(0.0, over)
    return widths


def table(
    face: Typeface,
    head: Sequence[str],
    rows: Iterable[Sequence[Cell]],
    widths: Sequence[float],
    *,
    aligns: Sequence[str] = (),
    ruled: bool = True,
    pad: float | None = None,
) -> Block:
    """Set rows under a head, which is repeated on every card that the table reaches; empty without rows."""
    columns = aligns or ["left"] * len(widths)
    cells = [Cell(text, LABEL, False, align) for text, align in zip(head, columns, strict=True)]
    rows = list(rows)
    widths = _roomy(face, [cells, *rows], widths)
    top = row(face, cells, widths, keep=True, pad=0.4)
    pad = pad if pad is not None else PAD if ruled else 0.6
    boxes = [
        box
        for number, found in enumerate(rows, 1)
        for box in row(face, found, widths, ruled=ruled and _rule_below(number, len(rows)), pad=pad)
    ]
    if not boxes:
        return Block(())
    boxes[-1] = boxes[-1]._replace(height=boxes[-1].height + AFTER, trailing_space=AFTER)
    if sum(box.height for box in boxes) <= SHORT_TABLE:
        boxes[:-1] = [box._replace(prefer_with_next=True) for box in boxes[:-1]]
    if len(top) == 1:
        head_again = top[0].height, top[0].marks
        boxes[1:] = [box._replace(repeat_header=head_again) for box in boxes[1:]]
    return Block((*top, *boxes))


def _rule_below(number: int, rows: int) -> bool:
    """Whether a rule stands below a row, counted from 1: below every third, but not near the end, which is white."""
    return number % RULED == 0 and number < rows


# ---- flow ----------------------------------------------------------------------------------------------------


class FilledColumn(NamedTuple):
    """A column: the marks of its boxes, each with how far down the box begins, and how far down all of them reach."""

    boxes: tuple[tuple[float, tuple[Mark, ...]], ...]
    used: float

    @property
    def marks(self) -> list[Mark]:
        """Return its marks; they are not kept, since a large set of cards has a million of them."""
        return [moved(mark, 0, top) for top, marks in self.boxes for mark in marks]


def flow(
    blocks: Iterable[Block],
    height_of: Callable[[int], float],
    looseness: float = 1.0,
) -> list[FilledColumn]:
    """Flow blocks down as many columns as they need.

    `height_of(n)` is the height of column n in mm, from 0. `looseness` is the share of the space between blocks
    that is kept, from 0 to 1.
    """
    boxes = [
        box._replace(
            height=box.height - (1 - looseness) * box.trailing_space,
            trailing_space=looseness * box.trailing_space,
        )
        for block in blocks
        for box in block.boxes
    ]
    columns: list[FilledColumn] = []
    placed: list[tuple[float, tuple[Mark, ...]]] = []
    used = 0.0
    parted = 0  # boxes before this one may be separated if they must
    for index, box in enumerate(boxes):
        if used == 0 and box.trailing_space == box.height:
            continue  # no space is needed at the top of a column
        room, next_room = height_of(len(columns)), height_of(len(columns) + 1)
        needed = _kept_height(boxes, index)
        if used == 0 and needed > room:  # a divided short table is better than an empty column
            parted = index + _kept(boxes, index)
        if index < parted:
            needed = _kept_height(boxes, index, soft=False)
        if needed > height_of(1):  # higher than a whole column, so it has to break somewhere
            needed = box.height - box.trailing_space
        if used + needed > room + 1e-6 and (used > 0 or next_room > room):
            columns.append(FilledColumn(tuple(placed), used))
            placed, used = [], 0.0
            if box.repeat_header:
                used, again = box.repeat_header
                placed.append((0.0, again))
            elif box.trailing_space == box.height:
                continue
        placed.append((used, box.marks))
        used += box.height
    return [*columns, FilledColumn(tuple(placed), used)]


def _kept_height(boxes: Sequence[Box], index: int, soft: bool = True) -> float:
    """Return the height of a box with everything that must, or (`soft`) should, stay with it.

    The space at the foot is left out.
    """
    kept = boxes[index : index + _kept(boxes, index, soft)]
    return sum(box.height for box in kept) - kept[-1].trailing_space


def _kept(boxes: Sequence[Box], index: int, soft: bool = True) -> int:
    """Return the number of those boxes, including the first one."""
    last = index
    while (boxes[last].keep_with_next or (soft and boxes[last].prefer_with_next)) and last + 1 < len(boxes):
        last += 1
    return last + 1 - index


def joined(*blocks: Block) -> Block:
    """Join blocks into one; a table below a heading repeats that heading on the next card.

    A heading gives up its rule to a table or a box that begins with one.
    """
    again = blocks[0].again if blocks else None
    boxes = [box for block in blocks for box in block.boxes]
    under = blocks[1].boxes[:1] if again and len(blocks) > 1 else ()
    if any(isinstance(mark, Line) for box in under for mark in box.marks):
        at = len(blocks[0].boxes) - 1
        words = tuple(mark for mark in boxes[at].marks if isinstance(mark, Text))
        boxes[at] = boxes[at]._replace(height=boxes[at].height - 1.0, marks=words)
    return Block(tuple(_named_again(box, again) for box in boxes) if again else tuple(boxes), again)


def below(face: Typeface, name: str, width: float, block: Block) -> Block:
    """Return a block that belongs to a name above it, which is repeated where a card begins within the block."""
    named = _cut(face, say("{heading}, continued", heading=name), SMALL, width)
    height = line_height(SMALL) + 0.4
    mark = text_at(face, 0, 0, named, SMALL, bold=True)
    boxes = [box._replace(repeat_header=box.repeat_header or (0.0, ())) for box in block.boxes]
    return Block(tuple(_named_again(box, (height, (mark,))) for box in boxes), block.again)


def _named_again(box: Box, again: tuple[float, tuple[Mark, ...]]) -> Box:
    if box.repeat_header is None:
        return box
    height, marks = box.repeat_header
    name_height, name = again
    return box._replace(
        repeat_header=(name_height + height, (*name, *(moved(mark, 0, name_height) for mark in marks)))
    )
