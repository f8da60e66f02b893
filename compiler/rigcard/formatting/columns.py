"""Which words of a statement stand in columns, and how the columns of adjacent lines are set."""

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.formatting.pieces import VALUES, Statement, Word
from rigcard.syntax import facts

# Where columns begin behind the first word and its value. A lower-case word is itself, a capital one a kind of value;
# `+` sets it off with two blanks, `~` with none, `?` says that
# a line may lack it. A statement that is not listed has no more columns.
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
    "measured": "on is",
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
_SOLID = (".", "..")  # no blank on either side
_FIRST_OPTION = 20  # numbers of columns: 0 the first word, 1 its value, 2 ... those listed above
_BLOCK = 100  # the first statement of a block on the same line; its own columns follow
_STATEMENT = 50  # columns from one statement of such a block to the next


class Column(NamedTuple):
    """Where a cell stands: columns are set in this order. Cells of one number and different `after` are apart."""

    number: int
    after: str = ""


class Cell(NamedTuple):
    """Words that stand together; `gap` is the least number of blanks before them."""

    column: Column
    gap: int
    text: str
    to_the_right: bool = False


class _Expected(NamedTuple):
    kind: str
    gap: int
    may_lack: bool


def family(statement: Statement) -> str:
    """Statements of one family share columns: what they begin with, but all controls are one family."""
    first = statement.words[0].kind
    if first == "switch" or first in facts.words_of("LEVER"):
        return "control"
    if first == "NAME":
        return "leg" if statement.words[1].kind == "." else "band"
    return first


def has_value(statement: Statement) -> bool:
    """Whether the first word is directly followed by a value, as in `asset "HS-014"`; else it begins a phrase."""
    words = statement.words
    return words[0].kind != "NAME" and len(words) > 1 and words[1].kind in VALUES


def aligned(rows: list[list[Cell]]) -> list[str]:
    """The rows as text. A column begins behind the longest of the rows that have it; others do not push it."""
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
    """Words with the blanks that belong between them."""
    text = ""
    for number, word in enumerate(words):
        close = number == 0 or word.kind in (",", *_SOLID) or words[number - 1].kind in _SOLID
        text += word.text if close else f" {word.text}"
    return text


def cells(statement: Statement, first_width: int = 0, most: int | None = None) -> list[Cell]:
    """The cells of a statement without its block, or of its first `most` words; the first takes `first_width`."""
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
    """The number of the first word of a list, of which the word with the number `inside` is a part."""
    group = next(group for group in _groups(statement) if group.start <= inside < group.end)
    return next(number for number in range(group.start, group.end) if statement.words[number].kind in VALUES)


class _Group(NamedTuple):
    """The words of a cell, from the number `start` up to, not including, `end`."""

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
    """The options of a statement. They stand behind its columns in any order: the first ones of adjacent lines are a
    column, and so are the next ones as long as the same options stand before them."""
    return ("rest",) if kind == "band" else facts.options_after(kind)


def _expected(kind: str) -> list[_Expected]:
    return [
        _Expected(word.strip("+~?"), {"+": 2, "~": 0}.get(word[0], 1), word.endswith("?"))
        for word in _COLUMNS.get(kind, "").split()
    ]


def _next(expected: list[_Expected], position: int, kind: str) -> int | None:
    """The column that a word of this kind begins, from `position` on; what a line must have is not passed over."""
    for number in range(position, len(expected)):
        if expected[number].kind == kind:
            return number
        if not expected[number].may_lack:
            return None
    return None


def block_cells(statement: Statement) -> list[Cell]:
    """The cells of a block that stands on the line of its statement."""
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
    """The cells of a statement inside such a block: one, but for a sweep, whose options are set off."""
    if family(item) == "sweeps":
        word, ends, *others = cells(item)
        return [Cell(Column(0), 1, f"{word.text} {ends.text}"), *others]
    return [Cell(Column(0), 1, spaced(item.words) + aligned([block_cells(item)])[0])]
