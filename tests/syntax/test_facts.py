"""[('test_facts', 'all')]"""

from __future__ import annotations

import ast
import re

import pytest

from rigcard.resolve.scope import keyword
from rigcard.syntax import facts, tree
from samples import ROOT

PACKAGE = ROOT / "compiler" / "rigcard"
REFERENCE = (ROOT / "grammar" / "reference.md").read_text(encoding="utf-8")
WORDS = {word for container in facts.CONTAINERS for word in facts.words_in(container)}


@pytest.mark.parametrize(
    ("cls", "words"),
    [
        (tree.SpareLabels, "spare-labels"),
        (tree.Bound, "bound to"),
        (tree.PerSheet, "cards per-sheet"),
        (tree.TravelAuto, "travel"),
        (tree.Question, "open"),
        (tree.CablePlace, "moving"),
        (tree.Box, "case"),
        (tree.Leg, ""),
    ],
)
def test_a_statement_is_called_by_the_words_it_begins_with(cls: type, words: str) -> None:
    """As the grammar writes them; a leg begins with a name."""
    assert keyword(cls) == words


@pytest.mark.parametrize(
    ("container", "heading"),
    [
        ("rig", "### `rig`"),
        ("unit", "## Lines of a unit"),
        ("cable", "## Lines of a cable"),
        ("sheet", "### `sheet`"),
    ],
)
def test_homes_are_those_of_the_reference_page(container: str, heading: str) -> None:
    """The page's tables, written for people, put each statement where the grammar has it."""
    level = heading.split()[0]
    section = REFERENCE[REFERENCE.index(f"\n{heading}\n") + len(heading) :]
    section = re.split(rf"^#{{2,{len(level)}}} ", section, flags=re.MULTILINE)[0]
    named = {word for row in re.findall(r"^\| `([a-z][a-z-]*)", section, re.MULTILINE) for word in [row]}

    assert named & set(facts.words_in(container)), "the page has a table of them"
    assert set(facts.words_in(container)) <= {*named, *re.findall(r"`([a-z][a-z-]*)", section)}


def lists_of_words(source: str) -> list[str]:
    """Where a source spells out a list of four or more words that begin statements."""
    found = []
    for node in ast.walk(ast.parse(source)):
        words: list[object] = []
        if isinstance(node, ast.Tuple | ast.List | ast.Set):
            words = [item.value for item in node.elts if isinstance(item, ast.Constant)]
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and "\n" not in node.value:
            words = [*node.value.split()]
        if len(words) >= 4 and all(word in WORDS for word in words):
            found.append(f"{node.lineno}: {words}")
    return found


def test_no_list_of_the_words_of_the_language_is_kept_by_hand() -> None:
    """What stands in which block is asked of `facts`; the check itself finds a list where there is one."""
    copies = {
        str(path.relative_to(PACKAGE)): lists_of_words(path.read_text("utf-8"))
        for path in PACKAGE.rglob("*.py")
    }

    assert {name: lines for name, lines in copies.items() if lines} == {}
    for copy in ('X = "asset serial software case"', 'X = ("page", "grid", "cell", "margin")'):
        assert lists_of_words(copy), copy


def test_units_are_those_of_the_grammar() -> None:
    """Every unit is one of some kind of number, and what it is called is found from it."""
    assert facts.units_of("LENGTH") == ("mm", "cm", "m")
    assert facts.quantity_of("us") == "a pulse length"
    for quantity in facts.QUANTITIES:
        assert facts.units_of(quantity) or quantity == "INT", quantity
