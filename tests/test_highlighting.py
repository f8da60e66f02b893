"""The grammar for editors is not stale, and it colours words, quotes, numbers and comments as what they are."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from rigcard.formatting.pieces import COMMENT, LINE_END, SEMICOLON, read
from rigcard.highlighting import NUMBERS, as_page
from rigcard.syntax import parser

ROOT = Path(__file__).parents[1]
FILE = ROOT / "grammar" / "rig.tmLanguage.json"
SAMPLES = sorted((ROOT / "samples").rglob("*.rig"))
ROOTS = {
    "comment",
    "constant",
    "invalid",
    "keyword",
    "string",
    "variable",
}  # of the names in the TextMate manual, 12.4
WORDS = ("keyword.", "constant.language.")

GRAMMAR: dict[str, Any] = json.loads(as_page())
PATTERNS = [GRAMMAR["repository"][entry["include"].removeprefix("#")] for entry in GRAMMAR["patterns"]]


def coloured(line: str) -> list[tuple[str, str]]:
    """(text, scope) along a line, as an editor does it: the pattern that matches first, of several the first listed.

    Source: TextMate manual, chapter 12, "Language Grammars": patterns are tried in order at each place.
    """
    found = []
    at = 0
    while at < len(line):
        matches = [(match, rule) for rule in PATTERNS if (match := re.compile(rule["match"]).search(line, at))]
        if not matches:
            break
        match, rule = min(matches, key=lambda pair: pair[0].start())
        assert match.end() > match.start(), rule
        group = 0 if "name" in rule or "0" in rule.get("captures", {}) else 1
        scope = rule.get("name") or rule["captures"][str(group)]["name"]
        found.append((match[group], scope))
        at = match.end()
    return found


def classes(text: str) -> list[tuple[str, str]]:
    """(text, scope) of a whole text."""
    return [entry for line in text.split("\n") for entry in coloured(line)]


def expected(kind: str, text: str) -> tuple[str, ...]:
    """How the scope of a piece, as lark reads it, must begin."""
    if kind == COMMENT:
        return ("comment.line.number-sign.",)
    if kind == "STRING":
        return ("string.quoted.double.",)
    if kind in NUMBERS:
        return ("constant.numeric.",)
    if kind == "NAME":  # words of the language are free to be names, and an editor cannot tell
        words = {
            name
            for found in parser.load(None).lark.terminals
            for name in re.findall(r"[a-z]+(?:-[a-z]+)*", str(found.pattern.value))
        }
        return ("variable.other.", *WORDS) if text in words else ("variable.other.",)
    return WORDS


def test_the_file_is_not_stale() -> None:
    """It is made from grammar/rig.lark; whoever changes that makes it again."""
    assert FILE.read_text(encoding="utf-8") == as_page(), "make it again: python -m rigcard.highlighting"


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_every_piece_has_its_colour(path: Path) -> None:
    """What lark reads as a word of the language, a name, a number, words in quotes or a comment is coloured so."""
    text = path.read_text(encoding="utf-8")
    pieces = [piece for piece in read(parser.load(None), text) if piece.kind not in (LINE_END, SEMICOLON)]
    found = [(part, scope) for part, scope in classes(text) if part != ";"]

    assert [part for part, _ in found] == [piece.text for piece in pieces]
    for piece, (part, scope) in zip(pieces, found, strict=True):
        assert scope.startswith(expected(piece.kind, piece.text)), (part, scope)


def test_every_word_of_the_language_is_known() -> None:
    """At the begin of a line or inside one, each word of grammar/rig.lark is coloured as a word."""
    words = {
        word
        for found in parser.load(None).lark.terminals
        if found.name
        not in ("NAME", "STRING", "ANY_NUMBER", "UNCLOSED", "_SEP", "_COMMA", "BLANK", "COMMENT", *NUMBERS)
        for word in re.findall(r"[a-z]+(?:-[a-z]+)*", re.sub(r"\(\?!.*", "", str(found.pattern.value)))
    }
    assert len(words) > 90
    for word in words:
        scopes = {coloured(line)[-1][1] for line in (word, f"1 {word}")}
        assert any(scope.startswith(WORDS) for scope in scopes), word


@pytest.mark.parametrize(
    ("line", "scopes"),
    [
        ('unit head is head-3 "H"  # x', "keyword.control variable.other keyword.operator.word variable.other "
         "string.quoted.double comment.line.number-sign"),
        ("  channel 10 in-1 from pan failsafe hold", "keyword.other constant.numeric variable.other "
         "keyword.operator.word variable.other keyword.operator.word constant.language"),
        ("expect hs.front.rest gives cam.run", "keyword.control variable.other keyword.operator variable.other "
         "keyword.operator variable.other keyword.operator.word variable.other keyword.operator variable.other"),
        ("{ run −150%..90.5%;rest 3us", "keyword.operator variable.other constant.numeric keyword.operator "
         "constant.numeric keyword.operator constant.language constant.numeric"),
        ('note "a # \\" b', "keyword.control invalid.illegal invalid.illegal"),
        ("length 5miles", "keyword.other invalid.illegal"),
        ('job "a \\" # b" # c', "keyword.other string.quoted.double comment.line.number-sign"),
    ],
)  # fmt: skip
def test_hard_places(line: str, scopes: str) -> None:
    """Names that contain words or numbers, a true minus, quotes in quotes, `#` in quotes, what is never valid."""
    assert [scope.removesuffix(".rig") for _, scope in coloured(line)] == scopes.split()


def test_escapes_inside_quotes() -> None:
    """The pattern inside words in quotes finds `\\"` and `\\\\`, and nothing else."""
    inside = GRAMMAR["repository"]["string"]["captures"]["0"]["patterns"][0]["match"]

    assert re.findall(inside, r'"a \" b \\ c"') == [r"\"", r"\\"]


def test_form_of_the_file() -> None:
    """Keys and first parts of scopes are those of the TextMate manual; patterns hold no control character."""
    assert {"name", "scopeName", "fileTypes", "patterns", "repository"} <= set(GRAMMAR)
    assert GRAMMAR["fileTypes"] == ["rig"]
    assert {entry["include"] for entry in GRAMMAR["patterns"]} == {f"#{name}" for name in GRAMMAR["repository"]}
    for rule in PATTERNS:
        assert not re.search(r"[\x00-\x1f\x7f]", rule["match"])
        names = [rule["name"]] if "name" in rule else [found["name"] for found in rule["captures"].values()]
        for name in names:
            assert name.split(".")[0] in ROOTS
            assert name.endswith(".rig")
