"""Statements whose parts stand in another order or form, where what is meant is beyond doubt."""

import re
from collections.abc import Callable, Iterator
from typing import NamedTuple

from rigcard.syntax import facts
from rigcard.syntax.vocabulary import UNITS

_NAME = r"[A-Za-z][\w-]*"
_PLACE = rf"{_NAME}(?:\.{_NAME})+"
_WORDS = r'"[^"\n]*"'
_AMOUNT = r"\d+(?:\.\d+)?"
_DASH = r"-|–|—|−|~|…|\.{3,}|to"


class Rewrite(NamedTuple):
    """Where in a line something stands, what the language writes for it, and what is said of it."""

    start: int
    end: int
    text: str
    cause: str


class _Form(NamedTuple):
    pattern: re.Pattern[str]
    text: str | Callable[[re.Match[str]], str]  # a template of the pattern's groups, or what makes the text
    cause: str


def _dotted(match: re.Match[str]) -> str:
    """A claim whose parts are joined by dots."""
    given, result, more = match.groups()
    return f"expect {_PARTED.sub('.', given)} gives {_PARTED.sub('.', result)}{more}"


_PARTED = re.compile(r"[ \t]*\.[ \t]*|[ \t]+")
_PARTS = rf"{_NAME}(?:[. \t]+{_NAME})"

_FORMS = (
    _Form(
        re.compile(rf"(unit[ \t]+{_NAME})[ \t]+({_WORDS})[ \t]+(is[ \t]+{_NAME})"),
        r"\1 \3 \2",
        "the title of a unit stands after its model",
    ),
    _Form(
        re.compile(rf"channel[ \t]+({_NAME})[ \t]+(\d+)(?![\w.%])"),
        r"channel \2 \1",
        "the number of a channel stands before its name",
    ),
    _Form(
        re.compile(rf"memory[ \t]+({_WORDS})[ \t]+(\d+)(?![\w.%])"),
        r"memory \2 \1",
        "the number of a memory stands before its name",
    ),
    _Form(
        re.compile(rf"pulse[ \t]+(centre|center)[ \t]+({_AMOUNT}us)"),
        r"pulse \2 \1",
        "the pulse stands before `centre`",
    ),
    _Form(
        re.compile(rf"from[ \t]+({_NAME}\.{_NAME})"),
        r"\1",
        "a leg of a cable begins with its plug, not with `from`",
    ),
    _Form(
        re.compile(
            rf"expect[ \t]+({_PARTS}{{2}})[ \t]+gives[ \t]+({_PARTS}{{1,2}}?)([ \t]+while[ \t].*|[ \t]*)$"
        ),
        _dotted,
        "a position and what it gives have dots between their names",
    ),
    _Form(
        re.compile(
            rf"(?:if|when)[ \t]+({_PLACE})[ \t]*(?:,|:|then|gives|[-=]>|=)[ \t]*(?:then[ \t]+)?({_PLACE})"
        ),
        r"expect \1 gives \2",
        "a claim is written with `expect` and `gives`",
    ),
    _Form(
        re.compile(rf"({_PLACE})[ \t]+(?:when|if|while)[ \t]+({_PLACE})"),
        r"expect \2 gives \1",
        "a claim is written with `expect` and `gives`",
    ),
    _Form(
        re.compile(rf"unit[ \t]+({_WORDS})[ \t]+({_NAME})[ \t]+(is[ \t]+{_NAME})"),
        r"unit \2 \3 \1",
        "the title of a unit stands after its model",
    ),
    _Form(
        re.compile(r"mounted[ \t]+(upright|underslung)(?![\w-])"),
        r"mount \1",
        "which way up a head is mounted is said with `mount`",
    ),
    _Form(
        re.compile(
            rf"(?:mount[ \t]+on|mount(?:ed)?[ \t]+(?:in|to|at|onto|into|inside|under|below|above))[ \t]+({_NAME})"
        ),
        r"mounted on \1",
        "a unit is `mounted on` another",
    ),
    _Form(
        re.compile(rf"rides[ \t]+(?:on[ \t]+)?({_NAME})"),
        r"mounted on \1",
        "a cable `rides` a unit, and a unit is `mounted on` another",
    ),
    _Form(
        re.compile(rf"(?:minus|negative)[ \t]+({_AMOUNT}[a-zA-Z%]*)"),
        r"-\1",
        "a number below zero begins with -",
    ),
    _Form(
        re.compile(rf"[Øø⌀∅][ \t]*({_AMOUNT}[a-zA-Z]+)"),
        r"\1",
        "a diameter is written as a length alone",
    ),
    _Form(
        re.compile(rf"mounted[ \t]+on[ \t]+({_NAME})"),
        r"rides \1",
        "a unit is `mounted on` another, and a cable `rides` it",
    ),
    _Form(
        re.compile(rf"(set[ \t]+{_NAME})[ \t]+({_NAME})(?=[ \t]+\")"),
        r"\1-\2",
        "a name is one word",
    ),
    _Form(
        re.compile(r"(subtrim[ \t]+[-+−]?\d+)[ \t]+(?:steps?)(?![\w-])"),
        r"\1",
        "sub-trim is a number of steps, and `steps` is not written",
    ),
    _Form(
        re.compile(
            rf"(?:(?:from|between)[ \t]+)?([-+−]?{_AMOUNT}%)[ \t]+(?:{_DASH}|and)[ \t]+([-+−]?{_AMOUNT}%)"
        ),
        r"\1..\2",
        "a range is written with two dots",
    ),
    _Form(
        re.compile(rf"(?<![-+−\w.])({_AMOUNT}%)(?:{_DASH})({_AMOUNT}%)"),  # not `-66%-38%`: 38 or -38?
        r"\1..\2",
        "a range is written with two dots",
    ),
    _Form(
        re.compile(rf"([-+−]?{_AMOUNT}%)(?:{_DASH})([-+−]{_AMOUNT}%)"),
        r"\1..\2",
        "a range is written with two dots",
    ),
)
_GLUED = re.compile(r"(?<![\w.-])([a-z][a-z-]*?)(\d+(?:\.\d+)?([a-zA-Z%]+2?))(?![\w%-])")

_HYPHENED = re.compile(rf"({_NAME})(?:[ \t]+[-–‑][ \t]*|[-–‑][ \t]+)(\d{{1,3}}|[A-Za-z]+)(?![\w%.])")


def rewrites(line: str, at: int) -> Iterator[Rewrite]:
    """What can be meant by a line in which the parser stopped at `at`; whether it fits is for the caller to see."""
    for form in _FORMS:
        for match in form.pattern.finditer(line):
            if match.start() <= at <= match.end():
                text = match.expand(form.text) if isinstance(form.text, str) else form.text(match)
                yield Rewrite(match.start(), match.end(), text, form.cause)
    for match in _GLUED.finditer(line):
        known = match[1] in facts.homes() and match[3] in UNITS
        if known and match.start() <= at <= match.end():
            cause = f"`{match[1]}` and {match[2]} are written as one word"
            yield Rewrite(match.start(), match.end(), f"{match[1]} {match[2]}", cause)
    for match in _HYPHENED.finditer(line):
        if match[1] not in facts.homes() and match.start() <= at <= match.end():
            yield Rewrite(match.start(), match.end(), f"{match[1]}-{match[2]}", "a name is one word")
