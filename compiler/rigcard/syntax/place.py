"""The place at which the parser stopped, and the text around it."""

import re
from typing import NamedTuple

from rigcard.diagnostics import Diagnostics
from rigcard.source import Source, Span
from rigcard.syntax import facts
from rigcard.syntax.parser import Language

_NUMBER = r"[-+−]?\d[\w%²µμ]*(?:\.[\w%²µμ]+)*"
_WORD = re.compile(rf"[A-Za-z][\w-]*|{_NUMBER}|\"[^\"\n]*\"?|\.\.+|[-=]>|\S")


class Place(NamedTuple):
    """Where the parser stopped: at offset `at` of `text`, before the word `found` ("" at a statement's end).

    `expected`: the terminals that may stand there. `text` begins at offset `base` of the source.
    """

    language: Language
    source: Source
    base: int
    text: str
    at: int
    found: str
    expected: set[str]

    def span(self, start: int, length: int) -> Span:
        """The span of a part of the text, clipped to the source."""
        whole = len(self.source.text)
        first = min(self.base + start, max(0, whole - 1))
        return Span(self.source, first, min(first + max(1, length), whole))

    @property
    def here(self) -> Span:
        """The span of the unexpected word."""
        return self.span(self.at, len(self.found))

    @property
    def words(self) -> list[str]:
        """The fixed words that may stand there."""
        return facts.keywords(self.expected)

    @property
    def before(self) -> str:
        """The last word before this place on the same line."""
        words = _WORD.findall(self.text[self.text.rfind("\n", 0, self.at) + 1 : self.at])
        return words[-1] if words else ""

    def told_before(self, diagnostics: Diagnostics) -> bool:
        """Whether a fault has already been reported earlier on the same line."""
        ahead = self.source.text.rfind("\n", 0, self.base + self.at) + 1
        places = [found.span for found in diagnostics if found.span and found.span.source is self.source]
        return any(ahead <= span.start < self.base + self.at for span in places)

    @property
    def rest(self) -> str:
        """The line from this place on."""
        return self.text[self.at :].split("\n", 1)[0]

    @property
    def statement(self) -> str:
        """The statement up to there."""
        start = max(self.text.rfind(mark, 0, self.at) for mark in "{\n;") + 1
        return self.text[start : self.at]

    @property
    def begins(self) -> bool:
        """Whether the unexpected word is the first word of a statement."""
        ahead = self.text[: self.at].rstrip(" \t")
        return not ahead.strip() or ahead[-1] in "{\n;"


def words_in(text: str) -> list[tuple[int, str]]:
    """The words and signs of a line, each with its offset."""
    return [(match.start(), match.group()) for match in _WORD.finditer(text)]


def word_at(text: str, at: int) -> str:
    """The word at an offset of a text, or the sign that begins no word."""
    match = _WORD.match(text, at)
    return match.group() if match else text[at]
