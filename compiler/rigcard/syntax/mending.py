"""Mends a copy of a text: what takes the place of something is as long as that, so that all offsets stay valid."""

import re
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

from rigcard.diagnostics import Code, Diagnostics, Edit
from rigcard.source import Source, Span

_OTHER_THAN_LINES = re.compile(r"[^\n]")
Part = tuple[int, int, str]  # from where to where of a text, and what belongs there


def put(text: str, at: int, char: str) -> str:
    """The text with a character in place of one."""
    return text[:at] + char + text[at + 1 :]


def blank(text: str, start: int, end: int) -> str:
    """The text with blanks from `start` to `end`, also in place of line ends."""
    return text[:start] + " " * (end - start) + text[end:]


def empty(text: str, start: int, end: int) -> str:
    """The same as `blank`, but line ends stay."""
    return with_parts(text, [(start, end, "")])


def with_parts(text: str, parts: Iterable[Part]) -> str:
    """A text with others in place of some of its parts, which stand in order; blanks fill up, and line ends stay."""
    pieces, done = [], 0
    for start, end, new in parts:
        pieces += [text[done:start], new, _OTHER_THAN_LINES.sub(" ", text[start + len(new) : end])]
        done = end
    return "".join([*pieces, text[done:]])


class Leftover(NamedTuple):
    """Something that other programs leave in a text, wherever it stands there: what is said of all of it at once.

    `first` is where it stands first, `parts` what mends it. The edits are the same unless others are given.
    """

    code: Code
    first: tuple[int, int]
    cause: str
    hint: str
    parts: Sequence[Part]
    edits: Sequence[Part] | None = None


def without(
    source: Source, text: str, kinds: Iterable[Callable[[str], Leftover | None]], diagnostics: Diagnostics
) -> str:
    """A text of a source with each kind of leftover mended, one after the other, and reported."""
    for kind in kinds:
        if found := kind(text):
            edits = found.parts if found.edits is None else found.edits
            there = tuple(Edit(Span(source, start, end), new) for start, end, new in edits)
            diagnostics.report(found.code, Span(source, *found.first), found.cause, found.hint, edits=there)
            text = with_parts(text, found.parts)
    return text


def more_like_it(count: int, where: str = "in this file") -> str:
    """The words of a message that say how many more of a kind there are; none if there are no more."""
    return f", and {count} more {where}" if count else ""
