"""Source text and positions in it. Offsets count characters from 0, lines and columns from 1 (GNU, SARIF)."""

import os
from bisect import bisect_right
from typing import NamedTuple

StrPath = str | os.PathLike[str]


class Source:
    """The text of one file, under the name that messages show."""

    __slots__ = ("_starts", "name", "text")

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.text = text
        self._starts: list[int] | None = None

    def _line_starts(self) -> list[int]:
        if self._starts is None:
            self._starts = [0]
            self._starts += [at + 1 for at, char in enumerate(self.text) if char == "\n"]
        return self._starts

    def position(self, offset: int) -> tuple[int, int]:
        """Return the (line, column) of an offset, both from 1."""
        starts = self._line_starts()
        line = bisect_right(starts, offset) - 1
        return line + 1, offset - starts[line] + 1

    def line(self, number: int) -> str:
        """Return the text of a line (from 1) without its end."""
        starts = self._line_starts()
        end = starts[number] - 1 if number < len(starts) else len(self.text)
        return self.text[starts[number - 1] : end].rstrip("\r")


class Span(NamedTuple):
    """The characters of a source from `start` up to, but not including, `end`."""

    source: Source
    start: int
    end: int

    @property
    def text(self) -> str:
        """Return the characters of the span."""
        return self.source.text[self.start : self.end]

    def sort_key(self) -> tuple[str, int, int]:
        """Return a key that sorts spans by file name, then by position."""
        return self.source.name, self.start, self.end
