"""Makes the grammar that editors colour text with, grammar/rig.tmLanguage.json, from `rig.lark`.

It has the form of TextMate grammars, which many editors read, and the scope names of the manual
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

NUMBERS = ("DATE", *sorted(QUANTITIES))  # a date comes before the whole number that it begins with
_CHOICE = re.compile(
    r"\(\?:([a-z-]+(?:\|[a-z-]+)*)\)\(\?!\[-\\w\]\)"
)  # the form of a choice of words in the grammar
_BEGIN = r"(?:^|(?<=[{;]))[ \t]*"  # a statement begins at the start of a line, or after a brace or a `;`


def as_page() -> str:
    """Return the file as text."""
    return json.dumps(highlighting(parser.load(None).lark), indent=2, ensure_ascii=False) + "\n"


def highlighting(language: Lark) -> dict[str, object]:
    """Return the patterns in the order in which an editor tries those that begin at the same place."""
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
    """Return the words with which these rules or terminals can begin."""
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
    """Return what may stand first inside braces."""
    return {after for before, after in _pairs(language) if before == "LBRACE"}


def _clauses(language: Lark) -> set[str]:
    """Return what may stand inside a statement."""
    return {after for before, after in _pairs(language) if before not in ("LBRACE", "_SEP")}


def _pairs(language: Lark) -> Iterator[tuple[str, str]]:
    """Return pairs of symbols that follow each other in the rules of the language."""
    for rule in language.rules:
        for before, after in zip(rule.expansion, rule.expansion[1:], strict=False):
            yield before.name, after.name


def _kept(language: Lark) -> set[str]:
    """Return the terminals that the tree keeps: a word among them, such as `hold`, is a value."""
    symbols = {symbol for rule in language.rules for symbol in rule.expansion if isinstance(symbol, Terminal)}
    return {symbol.name for symbol in symbols if not symbol.filter_out}


def _words(language: Lark) -> dict[str, list[str]]:
    """Return the words of each terminal that is one word or a choice of words."""
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
    """Return the terminals that are neither words nor spaces, such as `..` and `=`, the longest first."""
    plain = {str(found.pattern.value) for found in language.terminals if found.pattern.type == "str"}
    signs = {sign for sign in {*plain, ",", ";"} if not _is_word(sign)}
    return sorted(signs, key=lambda sign: (-len(sign), sign))


def _is_word(text: str) -> bool:
    return re.fullmatch(r"[a-z]+(?:-[a-z]+)*", text) is not None


def _patterns(language: Lark) -> dict[str, str]:
    """Return the patterns of the terminals, with control characters escaped so that every engine reads them."""
    return {
        terminal.name: re.sub(
            r"[\x00-\x1f\x7f-\x9f]|(?![µμ²−])[\u0300-\uffff]",
            lambda char: f"\\u{ord(char[0]):04x}" if char[0] > "~" else f"\\x{ord(char[0]):02x}",
            str(terminal.pattern.value),
        )
        for terminal in language.terminals
    }


def _any_of(words: Iterable[str]) -> str:
    """Match one of these words whole: `in` matches neither the start of `input` nor the `in` of `head.in`."""
    return rf"(?<![\w.-])(?:{'|'.join(sorted(words))})(?![-\w]|\.[A-Za-z])"


def _rule(scope: str, pattern: str) -> dict[str, object]:
    return {"name": f"{scope}.rig", "match": pattern}


def _rule_inside(scope: str, pattern: str) -> dict[str, object]:
    """Return a rule that colours only the first group of a pattern."""
    return {"match": pattern, "captures": {"1": {"name": f"{scope}.rig"}}}


if __name__ == "__main__":
    from pathlib import Path

    path = Path(__file__).parents[2] / "grammar" / "rig.tmLanguage.json"
    path.write_text(as_page(), encoding="utf-8")
