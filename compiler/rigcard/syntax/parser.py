"""Turns text into statements: lark parses, and this file builds the classes of `tree` from the result."""

import os
import re
import sys
from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from hashlib import sha256
from pkgutil import get_data
from typing import Any, NamedTuple

import lark
from lark import Lark, Token, Transformer, UnexpectedInput

from rigcard import __version__
from rigcard.diagnostics import Diagnostics
from rigcard.source import Source, Span
from rigcard.syntax import grammar_cache, tree
from rigcard.syntax.leaves import Name
from rigcard.syntax.vocabulary import QUANTITIES

# what moves the cursor of a terminal, or shows a comment as what it is not
_HIDDEN = re.compile("[\\x00-\\x08\\x0b\\x0e-\\x1f\\x7f-\\x9f\\u202a-\\u202e\\u2066-\\u2069]")
# a change in any of these files makes a different language
_READ_BY = ("parser", "tree", "leaves", "vocabulary", "grammar_cache", "statement_cache")


class Language(NamedTuple):
    """The loaded grammar, the builder with its callbacks, and the digest that identifies this language."""

    lark: Lark
    builder: "_Builder"
    digest: str

    def parse(self, source: Source, text: str | None = None, base: int = 0) -> tree.File:
        """The statements of `text`, a part of the source that begins at `base`. Raises UnexpectedInput."""
        self.builder.source = source
        self.builder.base = base
        parsed: object = self.lark.parse((source.text if text is None else text) + "\n", start="file")
        assert isinstance(parsed, tree.File)
        return parsed

    def tokens(self, source: Source) -> list[Token]:
        """The tokens of a source with separators, without blanks and most comments. Raises UnexpectedInput."""
        self.builder.source = source
        self.builder.base = 0
        run = self.lark.parse_interactive(source.text + "\n", start="file")
        found = list(run.iter_parse())
        run.resume_parse()  # type: ignore[no-untyped-call]  # raises if the text ends too early
        return found

    def follows(self, text: str) -> set[str]:
        """The terminals that may follow a text. Raises UnexpectedInput if the text itself is faulty."""
        self.builder.source = Source("", text)
        self.builder.base = 0
        reading = self.lark.parse_interactive(text, start="file")
        reading.exhaust_lexer()
        return set(reading.accepts())  # type: ignore[no-untyped-call]

    def after(self, text: str) -> set[str]:
        """The same, but nothing follows a faulty text."""
        try:
            return self.follows(text)
        except UnexpectedInput:
            return set()


@lru_cache(maxsize=1)
def load(cache: str | None = None) -> Language:
    """The grammar, compiled once per process; `cache` names a folder that keeps its tables between runs."""
    grammar = get_data("rigcard.grammar", "rig.lark") or b""
    code = [get_data(__package__, f"{name}{os.path.splitext(__file__)[1]}") or b"" for name in _READ_BY]
    versions = f"{__version__} {lark.__version__} {sys.version}"
    digest = sha256(b" ".join((versions.encode(), grammar, *code))).hexdigest()
    builder = _Builder()
    language = Language(grammar_cache.load(cache, digest, grammar.decode(), builder), builder, digest)
    _loaded[:] = [language]
    return language


_loaded: list[Language] = []


def loaded() -> Language:
    """The grammar that this process has already loaded, wherever it is cached."""
    return _loaded[0] if _loaded else load()


def parse(source: Source, diagnostics: Diagnostics, cache: str | None = None) -> tree.File | None:
    """The statements of a file; None if its syntax is faulty, with one diagnostic for each faulty statement."""
    language = load(cache)
    try:
        statements = language.parse(source)
    except UnexpectedInput as refused:
        from rigcard.syntax.recover import report_faults  # imported late: only a faulty file needs it

        report_faults(language, source, refused, diagnostics)
        return None
    if _HIDDEN.search(source.text):  # in a comment: elsewhere the grammar refuses it
        from rigcard.syntax.characters import report_in_comments

        report_in_comments(source, [found.start() for found in _HIDDEN.finditer(source.text)], diagnostics)
        return None
    return statements


def readable(source: Source, cache: str | None = None) -> tree.File:
    """The statements of a file without syntax faults; the faulty ones are left out."""
    language = load(cache)
    try:
        return language.parse(source)
    except UnexpectedInput as refused:
        from rigcard.syntax.recover import report_faults

        return report_faults(language, source, refused, Diagnostics(), all_names=True)


class _Builder(Transformer[Token, Any]):
    """One callback for each rule, from the class of the same name; its fields take the parts in order."""

    source: Source
    base: int

    def __init__(self) -> None:
        super().__init__()
        for cls in classes():
            setattr(self, rule_name(cls.__name__), self._callback(cls))

    def _callback(self, cls: Any) -> Callable[[list[Any]], Any]:
        fields = cls._fields
        fixed = len(fields)
        if str(cls.__annotations__[fields[-1]]).startswith("tuple"):
            fixed -= 1

        def build(parts: list[Any]) -> Any:
            values = [self._value(part) if isinstance(part, Token) else part for part in parts]
            if fixed < len(fields):
                values[fixed:] = (tuple(values[fixed:]),)
            return cls._make(values)

        return build

    def _value(self, token: Token) -> tree.Name | tree.Words | tree.Number:
        start = self.base + (token.start_pos or 0)
        span = Span(self.source, start, start + len(token))
        if token.type == "STRING":
            return tree.Words(unescaped(token[1:-1]) if "\\" in token else token[1:-1], span)
        if token.type in QUANTITIES:
            return tree.Number(*number(token), span)
        return tree.Name(str(token), span)


@lru_cache(maxsize=4096)  # a rig has few distinct numbers, each many times
def number(text: str) -> tuple[Fraction, str]:
    """The value and unit of a number as written: `−42%` is (-42, "%"), both letters mu mean us, `AWG14` is (14,
    "AWG")."""
    if text.startswith("AWG"):
        return Fraction(text[3:]), "AWG"
    if text.endswith(("mm2", "mm²")):
        return Fraction(text[:-3]), "mm2"
    digits = text.rstrip("abcdefghijklmnopqrstuvwxyzACVW%µμ/")
    unit = text[len(digits) :]
    return Fraction(digits.replace("−", "-")), "us" if unit in ("µs", "μs") else unit


def classes() -> list[Any]:
    """The classes of `tree`, one for each rule, and its leaves."""
    own = (tree.__name__, Name.__module__)
    return [cls for cls in vars(tree).values() if isinstance(cls, type) and cls.__module__ in own]


def rule_name(class_name: str) -> str:
    """The grammar rule from which a class of `tree` is made."""
    return "".join(f"_{char.lower()}" if char.isupper() else char for char in class_name).lstrip("_")


def unescaped(text: str) -> str:
    """Quoted words as meant: `\\"` is a quote and `\\\\` a backslash."""
    return "\\".join(part.replace('\\"', '"') for part in text.split("\\\\"))
