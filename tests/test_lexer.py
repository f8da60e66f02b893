"""Our lexer reads what lark's own contextual lexer reads; lark (general-purpose, its own release) is the oracle."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark import Lark, UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from fuzz import TOKENS, faulty_sample, programs
from rigcard.syntax.lexer import StateLexer

ROOT = Path(__file__).parents[1]
RIGS = [*sorted((ROOT / "samples").rglob("*.rig")), *sorted((ROOT / "tests" / "cases").rglob("*.rig"))]


@cache
def read_by(ours: bool) -> Lark:
    """The grammar with our lexer, or with the one of lark."""
    grammar = (ROOT / "grammar" / "rig.lark").read_text(encoding="utf-8")
    return Lark(
        grammar,
        parser="lalr",
        lexer="contextual",
        start=["file", "unreadable"],
        maybe_placeholders=True,
        _plugins={"ContextualLexer": StateLexer} if ours else {},
    )


def reading(ours: bool, text: str) -> tuple[list[tuple[str, str, int | None]], object]:
    """The tokens of a text up to its first fault: kind, text, offset; and that fault: where, what, what may stand."""
    run = read_by(ours).parse_interactive(text, start="file")
    tokens = []
    try:
        for token in run.iter_parse():
            tokens.append((token.type, str(token), token.start_pos))
        run.resume_parse()
    except UnexpectedToken as fault:
        return tokens, (fault.token.type, str(fault.token), fault.token.start_pos, fault.expected)
    except UnexpectedCharacters as fault:
        return tokens, (fault.pos_in_stream, fault.allowed)
    except UnexpectedInput as fault:
        return tokens, type(fault)
    return tokens, None


def same(text: str) -> None:
    """Both lexers give the same tokens, or the same ones up to the same fault."""
    ours, theirs = reading(True, text), reading(False, text)
    assert ours[0] == theirs[0]
    assert ours[1] == theirs[1]


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_files(path: Path) -> None:
    """Every sample and every case file, the faulty ones too."""
    try:
        same(path.read_text(encoding="utf-8-sig") + "\n")
    except UnicodeDecodeError:
        pytest.skip("not text")


@settings(max_examples=150, deadline=None, database=None)
@given(
    st.one_of(
        programs(),
        st.integers(0, 10**9).map(lambda seed: faulty_sample(Random(seed)).decode()),
        st.lists(st.sampled_from(TOKENS), max_size=40).map(" ".join),
        st.lists(st.sampled_from(TOKENS), max_size=20).map("".join),
        st.text(max_size=80),
    )
)
def test_programs_faulty_rigs_and_soup(text: str) -> None:
    """What the grammar allows, samples with one fault, the language's words in any order, any characters."""
    same(text)


def test_a_word_of_another_place_is_told_apart() -> None:
    """What no rule allows here but another place does is a word out of place, not an unknown character."""
    tokens, fault = reading(True, 'rig "A" { 35% }\n')
    assert [kind for kind, _, _ in tokens] == ["RIG", "STRING", "LBRACE"]
    assert isinstance(fault, tuple)
    assert fault[:3] == ("PERCENT", "35%", 10)
