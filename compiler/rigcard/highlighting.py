"""A grammar for editors that colour text, made from `rig.lark`: grammar/rig.tmLanguage.json.

Its form is that of TextMate grammars, which many editors read; the names of scopes are those of its manual
(macromates.com, chapter 12.4). Every word and pattern comes from the terminals of the language.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator

from lark import Lark
from lark.grammar import Terminal

from rigcard.syntax import parser
from rigcard.syntax.vocabulary import QUANTITIES

NUMBERS = ("DATE", *sorted(QUANTITIES))  # a date before the whole number that it begins with
_CHOICE = re.compile(
    r"\(\?:([a-z-]+(?:\|[a-z-]+)*)\)\(\?!\[-\\w\]\)"
)  # how the grammar writes a choice of words
_BEGIN = r"(?:^|(?<=[{;]))[ \t]*"  # a statement begins at a line's begin, behind a brace or behind a `;`


def as_page() -> str:
    """The file, as text."""
    return json.dumps(highlighting(parser.load(None).lark), indent=2, ensure_ascii=False) + "\n"


def highlighting(language: Lark) -> dict[str, object]:
    """The patterns in the order in which an editor tries them where two begin at one place."""
    words, patterns = _words(language), _patterns(language)
    top = words_at_begin(language, ["_statement"])
    inner = words_at_begin(language, _block_items(language))
    values = {word for name in _kept(language) for word in words.get(name, ())}
    clauses = words_at_begin(language, _clauses(language))
    rules = {
        "comment": _rule("comment.line.number-sign", patterns["COMMENT"]),
        "string": {
            "match": patterns["STRING"],
            "captures": {
                "0": {
                    "name": "string.quoted.double.rig",
                    "patterns": [_rule("constant.character.escape", r"\\.")],
                }
            },
        },
        "statement": _rule_inside("keyword.control", f"{_BEGIN}({_any_of(top)})"),
        "line": _rule_inside("keyword.other", f"{_BEGIN}({_any_of(inner)})"),
        "constant": _rule("constant.language", _any_of(values - top - inner)),
        "word": _rule("keyword.operator.word", _any_of(clauses - values)),
        "number": _rule("constant.numeric", "|".join(f"(?:{patterns[name]})" for name in NUMBERS)),
        "name": _rule("variable.other", patterns["NAME"]),
        "sign": _rule("keyword.operator", "|".join(map(re.escape, _signs(language)))),
        "wrong": _rule("invalid.illegal", f"{patterns['ANY_NUMBER']}|{patterns['UNCLOSED']}"),
    }
    return {
        "comment": "Generated from grammar/rig.lark by `python -m rigcard.highlighting`; do not edit.",
        "name": "Rig",
        "scopeName": "source.rig",
        "fileTypes": ["rig"],
        "patterns": [{"include": f"#{name}"} for name in rules],
        "repository": rules,
    }


def words_at_begin(language: Lark, symbols: Iterable[str]) -> set[str]:
    """The words with which these rules or terminals can begin."""
    words = _words(language)
    found: set[str] = set()
    waiting, seen = list(symbols), set()
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.add(name)
        found |= set(words.get(name, ()))
        waiting += [rule.expansion[0].name for rule in language.rules if rule.origin.name == name]
    return found


def _block_items(language: Lark) -> set[str]:
    """What may stand first in braces."""
    return {after for before, after in _pairs(language) if before == "LBRACE"}


def _clauses(language: Lark) -> set[str]:
    """What may stand inside a statement."""
    return {after for before, after in _pairs(language) if before not in ("LBRACE", "_SEP")}


def _pairs(language: Lark) -> Iterator[tuple[str, str]]:
    """What follows what in the rules of the language."""
    for rule in language.rules:
        for before, after in zip(rule.expansion, rule.expansion[1:], strict=False):
            yield before.name, after.name


def _kept(language: Lark) -> set[str]:
    """The terminals that the tree keeps: a word among them is a value, as `hold`, and no mark between values."""
    symbols = {symbol for rule in language.rules for symbol in rule.expansion if isinstance(symbol, Terminal)}
    return {symbol.name for symbol in symbols if not symbol.filter_out}


def _words(language: Lark) -> dict[str, list[str]]:
    """The words of each terminal that is one word, or a choice of words."""
    found = {}
    for terminal in language.terminals:
        value = str(terminal.pattern.value)
        choice = _CHOICE.fullmatch(value)
        if choice:
            found[terminal.name] = choice[1].split("|")
        elif terminal.pattern.type == "str" and _is_word(value):
            found[terminal.name] = [value]
    return found


def _signs(language: Lark) -> list[str]:
    """What is neither word nor blank: `..`, `=`; the longest first."""
    plain = {str(found.pattern.value) for found in language.terminals if found.pattern.type == "str"}
    signs = {sign for sign in {*plain, ",", ";"} if not _is_word(sign)}
    return sorted(signs, key=lambda sign: (-len(sign), sign))


def _is_word(text: str) -> bool:
    return re.fullmatch(r"[a-z]+(?:-[a-z]+)*", text) is not None


def _patterns(language: Lark) -> dict[str, str]:
    """The patterns of the terminals; control characters are written out, which every engine reads."""
    return {
        terminal.name: re.sub(
            r"[\x00-\x1f\x7f-\x9f]|(?![µμ²−])[\u0300-\uffff]",
            lambda char: f"\\u{ord(char[0]):04x}" if char[0] > "~" else f"\\x{ord(char[0]):02x}",
            str(terminal.pattern.value),
        )
        for terminal in language.terminals
    }


def _any_of(words: Iterable[str]) -> str:
    """One of these words, whole: `in` is not the begin of `input`, nor `head.in` the word `in`."""
    return rf"(?<![\w.-])(?:{'|'.join(sorted(words))})(?![-\w]|\.[A-Za-z])"


def _rule(scope: str, pattern: str) -> dict[str, object]:
    return {"name": f"{scope}.rig", "match": pattern}


def _rule_inside(scope: str, pattern: str) -> dict[str, object]:
    """A rule for the first group of a pattern alone."""
    return {"match": pattern, "captures": {"1": {"name": f"{scope}.rig"}}}


if __name__ == "__main__":
    from pathlib import Path

    path = Path(__file__).parents[2] / "grammar" / "rig.tmLanguage.json"
    path.write_text(as_page(), encoding="utf-8")
