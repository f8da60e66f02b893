"""What other programs leave in a rig file: the time that it takes to find it."""

from __future__ import annotations

from time import process_time

import pytest

from rigcard.diagnostics import Diagnostics
from rigcard.source import Source
from rigcard.syntax import foreign, layouts

MANY = 300_000
MOST_SECONDS = 20  # CPU: linear takes a tenth of one; the square, measured at 20,000 blanks, takes 150
TEXTS = {
    "blanks": " " * MANY + "x",
    "blanks in a cell": "a," + " " * MANY + "!",
    "tabs in a table": "a\t" + "\t" * MANY + "!",
    "blanks after a fence": "```" + " " * MANY + "!",
    "rows": "1,2,3\n" * (MANY // 6),
    "curly quotes": "“a” " * (MANY // 4),
    "wide digits": "１ " * (MANY // 2),
    "comments": "// a\n" * (MANY // 5),
    "prose after a semicolon": "; a b c" * (MANY // 7) + "!",
    "rules": "-" * MANY + '"',
    "headings": "a " * (MANY // 2) + "!",
    "points of a list": "- a b\n" * (MANY // 6),
    "pairs": '"job": a\n' * (MANY // 9),
    "pairs of one line": "job = " + " " * MANY + "a",
    "versions that never end": "<<<<<<< a\n" * (MANY // 10),
    "versions that never part": "<<<<<<< a\n=======\n" * (MANY // 18),
    "sections": "[a]\n" * (MANY // 4),
    "keys": "a:\n\n" * (MANY // 5) + "!",
    "blanks after a key": "a" + " " * MANY + "!",
    "lines that go on": " \\\n" * (MANY // 3),
}


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
def test_long_lines_take_no_square_of_their_length(text: str) -> None:
    """Whatever is found there, the copy has the same length and lines, in a time that only a square would exceed."""
    start = process_time()
    source = Source("long", text)
    copy = foreign.mended(source, layouts.mended(source, Diagnostics()), Diagnostics())
    assert process_time() - start < MOST_SECONDS
    assert len(copy) == len(text)
    assert copy.count("\n") in (text.count("\n"), text.count("\n") - text.count("\\\n"))
