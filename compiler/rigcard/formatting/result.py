"""The result of formatting one file: its bytes before and after, and the diff to read or to apply."""

from collections.abc import Iterator
from difflib import unified_diff
from typing import NamedTuple

from lark import UnexpectedInput

from rigcard.diagnostics import Diagnostics
from rigcard.formatting.layout import formatted
from rigcard.syntax.load import Raw
from rigcard.syntax.parser import parse

_NO_END = "\\ No newline at end of file"


class Result(NamedTuple):
    """The bytes of a file before and after formatting."""

    before: bytes
    after: bytes

    @property
    def changed(self) -> bool:
        """Whether formatting changes the file."""
        return self.before != self.after

    def difference(self, name: str) -> bytes:
        """Return a unified diff that `patch` accepts; empty if nothing changed."""
        before, after = (_lines(data.decode("utf-8")) for data in (self.before, self.after))
        return "".join(_with_ends(unified_diff(before, after, name, name))).encode("utf-8")


def laid_out(raw: Raw, diagnostics: Diagnostics, cache: str | None = None) -> Result | None:
    """Format a file.

    Returns None, with its faults reported, if it does not parse. Raises `layout.PartLostError`, which no file
    should be able to cause.
    """
    try:
        return Result(raw.data, formatted(raw.source.text, cache).encode("utf-8"))
    except UnexpectedInput:
        parse(raw.source, diagnostics, cache)
        return None


def _lines(text: str) -> list[str]:
    """Split into lines with their ends; only `\\n` ends a line, as for `patch`."""
    *whole, last = text.split("\n")
    return [f"{line}\n" for line in whole] + ([last] if last else [])


def _with_ends(lines: Iterator[str]) -> Iterator[str]:
    for line in lines:
        yield line if line.endswith("\n") else f"{line}\n{_NO_END}\n"
