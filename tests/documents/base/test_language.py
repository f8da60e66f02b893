"""The catalogues of fixed words: each has every text that the code says, with the same parts."""

import ast
import re
from pathlib import Path

import pytest

import rigcard
from rigcard.documents.base.language import ENGLISH, catalogue, listed, say, say_count, speaking
from rigcard.resolve.words import LANGUAGES

OTHERS = [language for language in LANGUAGES if language != ENGLISH]


def _names_of_language(tree: ast.Module) -> dict[str, str]:
    """Return what a file calls the functions of the language; the `say` of the command line is another."""
    return {
        alias.asname or alias.name: alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module == "rigcard.documents.base.language"
        for alias in node.names
    }


def said() -> dict[str, str]:
    """Return every literal that `say` or `say_count` is given, with the place where it stands."""
    found = {}
    for path in Path(rigcard.__file__).parent.rglob("*.py"):
        tree = ast.parse(path.read_text("utf-8"))
        meant = (
            _names_of_language(tree) if path.name != "language.py" else {"say": "say", "say_count": "say_count"}
        )
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                texts = {"say": node.args[:1], "say_count": node.args[1:3]}.get(meant.get(node.func.id, ""), [])
                for text in texts:
                    if path.name == "language.py" and isinstance(text, ast.Name):
                        continue
                    assert isinstance(text, ast.Constant), f"{path}:{node.lineno}: not a literal"
                    found[str(text.value)] = f"{path.name}:{node.lineno}"
    return found


def parts(text: str) -> list[str]:
    """Return the names of the parts of a text."""
    return sorted(set(re.findall(r"{(\w+)}", text)))


@pytest.mark.parametrize("language", OTHERS)
def test_a_catalogue_has_every_text_and_no_other(language: str) -> None:
    """A text that is missing would be printed in English; one too many has lost its use."""
    here, there = said(), catalogue(language)
    assert not [f"{place}: {text}" for text, place in here.items() if text not in there]
    assert not [text for text in there if text not in here]


@pytest.mark.parametrize("language", OTHERS)
def test_a_text_keeps_its_parts(language: str) -> None:
    """A part that a translation drops would lose a number or a title."""
    assert not [text for text, other in catalogue(language).items() if parts(text) != parts(other)]


def test_words_are_said_in_the_language_of_the_context() -> None:
    """`listed` joins with the word of the language; after the context it is English again."""
    with speaking("de"):
        assert listed(["a", "b", "c"]) == "a, b und c"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed(["a"]) == "a"


def test_a_brace_of_the_user_is_a_brace() -> None:
    """What fills a part is not read as a pattern."""
    assert say("{most} and {last}", most="{x}", last="}") == "{x} and }"
    assert say_count(1, "{count} card", "{count} cards") == "1 card"
