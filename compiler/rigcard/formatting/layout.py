"""The one layout that every rig file gets."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from lark import UnexpectedInput

from rigcard.formatting.columns import (
    Cell,
    Column,
    aligned,
    block_cells,
    cells,
    family,
    has_value,
    list_start,
    spaced,
)
from rigcard.formatting.pieces import Comment, Statement, Word, read, significant_tokens, statements
from rigcard.syntax.parser import load

INDENT = 2
WIDTH = 110  # a block that stays on its line ends here at the latest
COMMENTS = 40  # characters to the left of trailing comments; more where the statements are longer
Item = Statement | Comment


class PartLostError(Exception):
    """The formatted text says something other than the file: a fault of this package, never of the file."""


class _Line(NamedTuple):
    text: str
    comment: str = ""


def formatted(text: str, cache: str | None = None) -> str:
    """Format a text: the words and comments stay, the spaces, line ends and columns change.

    `cache` is the folder of `rigcard.syntax.parser.load`. Raises UnexpectedInput if the text does not parse,
    and PartLostError, which no text should be able to cause.
    """
    language = load(cache)
    pieces = read(language, text.removeprefix("\ufeff").replace("\r\n", "\n"))
    result = "".join(f"{line}\n" for line in _with_comments(_laid_out(statements(pieces), 0)))
    try:
        kept = significant_tokens(read(language, result)) == significant_tokens(pieces)
    except UnexpectedInput:
        kept = False
    if not kept:
        raise PartLostError
    return result


def _with_comments(lines: Sequence[_Line]) -> Iterator[str]:
    """Append the trailing comments to the lines; those of adjacent lines share a column."""
    for commented, group in groupby(lines, lambda line: bool(line.comment)):
        run = list(group)
        column = max(COMMENTS, *(len(line.text) + 2 for line in run)) if commented else 0
        for line in run:
            yield line.text.ljust(column) + line.comment


def _laid_out(items: Sequence[Item], depth: int) -> list[_Line]:
    lines: list[_Line] = []
    for paragraph in _paragraphs(items):
        if lines:
            lines.append(_Line(""))
        lines += _paragraph(paragraph, depth)
    return lines


def _paragraphs(items: Sequence[Item]) -> list[list[Item]]:
    """Split the items at blank lines."""
    found: list[list[Item]] = []
    for item in items:
        if item.apart or not found:
            found.append([])
        found[-1].append(item)
    return found


class _Place(NamedTuple):
    """Where a paragraph stands: its depth in blocks, and how many characters its first words take."""

    depth: int
    first_width: int

    @property
    def margin(self) -> str:
        """Return the indentation of its lines."""
        return " " * (INDENT * self.depth)

    def holds(self, item: Item, text: str) -> bool:
        """Whether the line of an item is short enough; only a line with a block can be made shorter."""
        return not _on_its_line(item) or len(self.margin + text) <= WIDTH


def _paragraph(items: Sequence[Item], depth: int) -> list[_Line]:
    """Return lines without a blank one between them. Inside a block, their first words share a column."""
    firsts = [len(item.words[0].text) for item in items if isinstance(item, Statement) and has_value(item)]
    place = _Place(depth, max(firsts, default=0) if depth else 0)
    items = [item if place.holds(item, aligned([_cells(item, place)])[0]) else _opened(item) for item in items]
    while True:
        rows = [row for run in _runs(items) for row in zip(run, _in_columns(run, place), strict=True)]
        if all(place.holds(*row) for row in rows):
            return [line for row in rows for line in _lines(*row, place)]
        items = [item if place.holds(item, text) else _opened(item) for item, text in rows]


def _on_its_line(item: Item) -> bool:
    """Whether the item is a statement whose block is on the same line."""
    if isinstance(item, Comment) or item.block is None:
        return False
    return item.block.on_one_line and not _first_break(item)


def _opened(item: Item) -> Item:
    """Return the item with its block on separate lines."""
    if isinstance(item, Comment) or item.block is None:
        return item
    return item._replace(block=item.block._replace(on_one_line=False))


def _runs(items: Sequence[Item]) -> Iterator[list[Item]]:
    """Group adjacent statements of one family with their comments; an item of several lines ends a run."""
    run: list[Item] = []
    last = ""
    for item in items:
        kind = family(item) if isinstance(item, Statement) else last
        if run and kind != last:
            yield run
            run = []
        run.append(item)
        last = kind
        if isinstance(item, Statement) and (_first_break(item) or item.block) and not _on_its_line(item):
            yield run
            run = []
    if run:
        yield run


def _in_columns(run: Sequence[Item], place: _Place) -> list[str]:
    """Return the lines of a run, or their first lines.

    Blocks that would end too far right are taken out of the columns first.
    """
    apart = [False] * len(run)
    while True:
        texts = aligned([_cells(item, place, was) for item, was in zip(run, apart, strict=True)])
        wide = [not place.holds(item, text) or was for item, text, was in zip(run, texts, apart, strict=True)]
        if wide == apart:
            return texts
        apart = wide


def _cells(item: Item, place: _Place, block_apart: bool = False) -> list[Cell]:
    """Return the cells on the line of an item; its block may be part of the last cell before it."""
    if isinstance(item, Comment):
        return []
    head = cells(item, place.first_width)
    if not _on_its_line(item):
        return head
    block = block_cells(item)
    if block_apart:
        return [*head[:-1], head[-1]._replace(text=head[-1].text + aligned([block])[0])]
    return [*head, *block]


def _lines(item: Item, text: str, place: _Place) -> list[_Line]:
    """Return the lines of an item; `text` is its first line, or everything except the content of its block."""
    if isinstance(item, Comment):
        return [_Line(place.margin + item.text)]
    lines = _broken(item, place) if _first_break(item) else [_Line(place.margin + text)]
    if item.block is None or _on_its_line(item):
        return [*lines[:-1], _Line(lines[-1].text, item.comment)]
    return [
        *lines[:-1],
        _Line(f"{lines[-1].text} {{", item.block.opened),
        *_laid_out(item.block.items, place.depth + 1),
        _Line(f"{place.margin}}}", item.comment),
    ]


def _first_break(statement: Statement) -> int:
    """Return the index of the first word that begins a new line after a comma; 0 if none does."""
    return next((number for number, word in enumerate(statement.words) if word.broke), 0)


def _broken(statement: Statement, place: _Place) -> list[_Line]:
    """Return a statement that continues after commas: the broken list is indented to its first word."""
    begin = list_start(statement, _first_break(statement))
    head = place.margin + aligned([cells(statement, place.first_width, begin)])[0] + " "
    words = statement.words
    parts: list[list[Word]] = [[]]
    for word in words[begin:]:
        if word.broke:
            parts.append([])
        parts[-1].append(word)
    texts = aligned([_list_row(part) for part in parts])
    lines = [_Line(head + texts[0])]
    for part, text in zip(parts[1:], texts[1:], strict=True):
        for comment in part[0].comments:
            if comment.own:
                lines.append(_Line(" " * len(head) + comment.text))
            else:
                lines[-1] = _Line(lines[-1].text, comment.text)
        lines.append(_Line(" " * len(head) + text))
    return lines


def _list_row(words: Sequence[Word]) -> list[Cell]:
    """Return a line of a list; quoted words after a name, as in `crew`, form a column."""
    if [word.kind for word in words[:2]] != ["NAME", "STRING"]:
        return [Cell(Column(0), 0, spaced(words))]
    return [Cell(Column(0), 0, words[0].text), Cell(Column(1), 1, spaced(words[1:]))]
