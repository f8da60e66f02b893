"""What stands in columns, against the grammar."""

from __future__ import annotations

import re
from functools import cache

from lark import Lark

from rigcard.formatting.columns import family
from rigcard.formatting.pieces import VALUES, Comment, Statement, read, statements
from rigcard.syntax import parser
from samples import ROOT


@cache
def grammar() -> Lark:
    """The grammar, each rule as written."""
    text = (ROOT / "grammar" / "rig.lark").read_text(encoding="utf-8")
    return Lark(text, parser="lalr", start=["file", "unreadable"], maybe_placeholders=False)


def test_words_in_columns_are_words_of_the_grammar() -> None:
    """Nothing in the tables of columns is misspelt; kinds of values are terminals."""
    from rigcard.formatting.columns import _COLUMNS

    words = {terminal.pattern.value for terminal in grammar().terminals}
    names = {terminal.name for terminal in grammar().terminals}
    assert names >= VALUES
    for kind, columns in _COLUMNS.items():
        assert kind in words | {"band", "leg", "control"} or re.fullmatch(words_of("_CHANNELS"), kind), kind
        for column in columns.split():
            assert column.strip("+~?") in words | VALUES, column


def words_of(terminal: str) -> str:
    """The pattern of a terminal."""
    return next(str(found.pattern.value) for found in grammar().terminals if found.name == terminal)


def test_families() -> None:
    """Controls share columns, bands and legs begin with a name; the rest goes by its first word."""
    text = 'model m "M" { stick a "A" b to c; switch d "D" e, f; input i "I" { g 1%..2% } }\ncable c "C" { d.e to f.g }'

    def families(items: tuple[Statement | Comment, ...]) -> list[str]:
        found = []
        for item in items:
            assert isinstance(item, Statement)
            found += [family(item), *(families(item.block.items) if item.block else [])]
        return found

    assert families(statements(read(parser.load(None), text))) == [
        *("model", "control", "control", "input", "band", "cable", "leg"),
    ]
