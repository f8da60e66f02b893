"""Positions as editors count them: lines and UTF-16 code units from 0; and files by their URI."""

import os
import re
from bisect import bisect_right
from functools import lru_cache

from lsprotocol.types import Position, Range
from pygls.uris import from_fs_path, to_fs_path

from rigcard.source import Source, Span

_LINE_END = re.compile(r"\r\n|\n|\r")  # the three line ends of the protocol; a form feed ends no line


class Lines:
    """A text with the offsets of its lines."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.starts = [0, *(end.end() for end in _LINE_END.finditer(text))]

    def position(self, offset: int) -> Position:
        """Return the position of an offset."""
        offset = max(0, min(offset, len(self.text)))
        line = bisect_right(self.starts, offset) - 1
        return Position(line, _units(self.text[self.starts[line] : offset]))

    def offset(self, position: Position) -> int:
        """Return the offset of a position, or the nearest one if the text has no such position."""
        if position.line >= len(self.starts):
            return len(self.text)
        start = self.starts[position.line]
        end = self.starts[position.line + 1] if position.line + 1 < len(self.starts) else len(self.text)
        left = position.character
        for at in range(start, end):
            if left <= 0 or self.text[at] in "\r\n":
                return at
            left -= _units(self.text[at])
        return end

    def range(self, start: int, end: int) -> Range:
        """Return the range of the characters from `start` up to `end`."""
        return Range(self.position(start), self.position(end))


def _units(text: str) -> int:
    return len(text) + sum(char > "\uffff" for char in text)


@lru_cache(maxsize=64)
def lines_of(source: Source) -> Lines:
    """Return the lines of a source."""
    return Lines(source.text)


def range_of(span: Span) -> Range:
    """Convert a span of a source to an editor's range."""
    return lines_of(span.source).range(span.start, span.end)


def path_of(uri: str) -> str:
    """Return the real path of a file or a folder."""
    return os.path.realpath(named_path(uri))


def named_path(uri: str) -> str:
    """Return the path that a URI names; an unsaved text gets a name that no file has."""
    path = to_fs_path(uri) if uri.startswith("file:") else None
    return path or os.path.join(os.sep, uri.replace("/", "_").replace(os.sep, "_"), "-")


def uri_of(path: str) -> str:
    """Return the URI of a file."""
    return from_fs_path(path) or ""


def holds(span: Span, offset: int) -> bool:
    """Whether a cursor at an offset touches a span."""
    return span.start <= offset <= span.end
