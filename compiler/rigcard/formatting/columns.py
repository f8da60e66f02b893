"""Decides which words of a statement stand in columns, and aligns the columns of adjacent lines."""

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.formatting.pieces import VALUES, Statement, Word
from rigcard.syntax import facts

# Where columns begin after the first word and its value. A lower-case word stands for itself, a word in
# capitals for a kind of value. `+` puts two spaces before the column, `~` none, and `?` marks a column that a
# line may lack. A statement that is not listed has no further columns.
_COLUMNS = {
    "band": "PERCENT ~..",
    "leg": "to? +tag?",
    "signal": "STRING",
    "model": "STRING",
    "unit": "is STRING",
    "cable": "STRING",
    "connector": "STRING",
    "sheet": "STRING",
    "step": "STRING",
    "expect": "gives",
    "measured": "on is of",
    "control": "STRING NAME +springs? +at?",
    "port": "DIRECTION NAME +channel?",
    "input": "on? STRING? critical? from?",
    "setting": "STRING +choices?",
    "command": "+needs? +does?",
    "set": "STRING",
    "channel": "NAME from",
    "mix": "into? at? while?",
    "pin": "to",
}
_SOLID = (".", "..")  # no space on either side
_FIRST_OPTION = 20  # column numbers: 0 is the first word, 1 its value, 2 and up those listed above
_BLOCK = 100  # the first statement of a block on the same line; its own columns follow
_STATEMENT = 50  # distance between the columns of one statement of such a block and those of the next


class Column(NamedTuple):
    """A column's place in the order of columns; cells with one number but another `after` do not share it."""

    number: int
    after: str = ""


class Cell(NamedTuple):
    """Words that stand together; `gap` is the smallest number of spaces before them."""

    column: Column
    gap: int
    text: str
    to_the_right: bool = False


class _Expected(NamedTuple):
    kind: str
    gap: int
    may_lack: bool


def family(statement: Statement) -> str:
    """Return the first word of a statement, whose family shares columns; all controls are one family."""
    first = statement.words[0].kind
    if first == "switch" or first in facts.words_of("LEVER"):
        return "control"
    if first == "NAME":
        return "leg" if statement.words[1].kind == "." else "band"
    return first


def has_value(statement: Statement) -> bool:
    """Whether a value follows the first word, as in `asset "HS-014"`; otherwise that word begins a phrase."""
    words = statement.words
    return words[0].kind != "NAME" and len(words) > 1 and words[1].kind in VALUES


def aligned(rows: list[list[Cell]]) -> list[str]:
    """Return the rows as text.

    A column begins after the longest of the rows that have it; other rows do not push it.
    """
    texts = [""] * len(rows)
    columns: dict[Column, list[tuple[int, Cell]]] = {}
    for number, row in enumerate(rows):
        for cell in row:
            columns.setdefault(cell.column, []).append((number, cell))
    for column in sorted(columns):
        cells = columns[column]
        start = max(len(texts[number]) + cell.gap for number, cell in cells)
        width = max(len(cell.text) for _, cell in cells)
        for number, cell in cells:
            text = cell.text.rjust(width) if cell.to_the_right else cell.text
            texts[number] = texts[number].ljust(start) + text
    return texts


def spaced(words: Sequence[Word]) -> str:
    """Join words with the spaces that belong between them."""
    text = ""
    for number, word in enumerate(words):
        close = number == 0 or word.kind in (",", *_SOLID) or words[number - 1].kind in _SOLID
        text += word.text if close else f" {word.text}"
    return text


def cells(statement: Statement, first_width: int = 0, most: int | None = None) -> list[Cell]:
    """Return the cells of a statement without its block, or of its first `most` words.

    The first cell takes `first_width` characters.
    """
    row = []
    for group in _groups(statement):
        words = statement.words[group.start : min(group.end, most or group.end)]
        if not words:
            break
        text = spaced(words)
        if group.start == 0 and has_value(statement):
            text = text.ljust(first_width)
        low = family(statement) == "band" and group.column.number == 2
        row.append(Cell(group.column, group.gap, text, low))
    return row


def list_start(statement: Statement, inside: int) -> int:
    """Return the index of the first word of the list that contains the word at index `inside`."""
    group = next(group for group in _groups(statement) if group.start <= inside < group.end)
    return next(number for number in range(group.start, group.end) if statement.words[number].kind in VALUES)


class _Group(NamedTuple):
    """The words of a cell: from index `start` up to, but not including, `end`."""

    column: Column
    gap: int
    start: int
    end: int


def _groups(statement: Statement) -> list[_Group]:
    kind = family(statement)
    expected = _expected(kind)
    found = [_Group(Column(0), 0, 0, len(statement.words))]
    position, seen = 0, ""
    for number, word in enumerate(statement.words[1:], 1):
        at = _next(expected, position, word.kind)
        if number == 1 and has_value(statement):
            column, gap = Column(1), 1
        elif at is not None:
            column, gap = Column(2 + at), expected[at].gap
            position = at + 1
        elif word.kind in _options(kind):
            column = Column(_FIRST_OPTION + len(seen.split()), seen)
            gap = 1 if kind == "signal" and not seen else 2
            seen = f"{seen} {word.kind}".strip()
        else:
            continue
        found[-1] = found[-1]._replace(end=number)
        found.append(_Group(column, gap, number, len(statement.words)))
    return found


def _options(kind: str) -> Sequence[str]:
    """Return the options of a statement.

    They follow its columns in any order. The first options of adjacent lines share a column, and so do the next
    ones as long as the same options stand before them.
    """
    return ("rest",) if kind == "band" else facts.options_after(kind)


def _expected(kind: str) -> list[_Expected]:
    return [
        _Expected(word.strip("+~?"), {"+": 2, "~": 0}.get(word[0], 1), word.endswith("?"))
        for word in _COLUMNS.get(kind, "").split()
    ]


def _next(expected: list[_Expected], position: int, kind: str) -> int | None:
    """Return the column that a word of this kind begins, from `position` on; required ones are not skipped."""
    for number in range(position, len(expected)):
        if expected[number].kind == kind:
            return number
        if not expected[number].may_lack:
            return None
    return None


def block_cells(statement: Statement) -> list[Cell]:
    """Return the cells of a block that stands on the line of its statement."""
    if statement.block is None:
        return []
    items = [item for item in statement.block.items if isinstance(item, Statement)]
    row: list[Cell] = []
    before = ""
    for number, item in enumerate(items):
        base = _BLOCK + number * _STATEMENT
        first, *others = _within(item)
        row.append(Cell(Column(base, before), 1, first.text if number else f"{{ {first.text}"))
        before = f"{before} {family(item)}".strip()
        for cell in others:
            column = Column(base + cell.column.number, f"{before}: {cell.column.after}")
            row.append(cell._replace(column=column))
        row[-1] = row[-1]._replace(text=row[-1].text + (";" if number < len(items) - 1 else " }"))
    return row or [Cell(Column(_BLOCK), 1, "{ }")]


def _within(item: Statement) -> list[Cell]:
    """Return the cells of a statement in such a block: one cell; only a sweep's options have their own."""
    if family(item) == "sweeps":
        word, ends, *others = cells(item)
        return [Cell(Column(0), 1, f"{word.text} {ends.text}"), *others]
    return [Cell(Column(0), 1, spaced(item.words) + aligned([block_cells(item)])[0])]
