"""The fixed words of the papers, in the language of a rig: `say` looks each of them up in one catalogue.

The English text is its own key, as with gettext (whose compiled catalogues need a tool to make them; these are
TOML files that a person edits). Messages, `show` and rig.json are always English.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import NamedTuple

ENGLISH = "en"
MOST_NAMED = 12  # things of one kind that are listed by name


class Spoken(NamedTuple):
    """A language: its ISO 639-1 code, and its fixed words by their English text."""

    code: str
    words: Mapping[str, str]


AS_WRITTEN = Spoken(ENGLISH, MappingProxyType({}))
_SPOKEN: ContextVar[Spoken] = ContextVar("spoken", default=AS_WRITTEN)


@contextmanager
def speaking(language: str, words: Mapping[str, str] | None = None) -> Iterator[None]:
    """Make every `say` in this context answer in a language (ISO 639-1 code), `en` for the words as written.

    `words`: fixed words by their English text, instead of those of the catalogue.
    """
    token = _SPOKEN.set(Spoken(language, catalogue(language) if words is None else words))
    try:
        yield
    finally:
        _SPOKEN.reset(token)


def spoken() -> str:
    """Return the language of the papers (ISO 639-1 code)."""
    return _SPOKEN.get().code


@cache
def catalogue(language: str) -> Mapping[str, str]:
    """Return the fixed words of a language by their English text; none for English itself."""
    if language == ENGLISH:
        return {}
    text = files("rigcard").joinpath("languages", f"{language}.toml").read_text("utf-8")
    return {english: other for part in tomllib.loads(text).values() for english, other in part.items()}


def say(text: str, /, **parts: object) -> str:
    """Return a fixed text in the language of the papers, with its `{parts}` filled in.

    `text` stands in the code as a literal, so that a test finds every one of them. What fills a part is never
    read as a pattern: a brace in a title is a brace.
    """
    return _SPOKEN.get().words.get(text, text).format(**parts)


def say_count(count: int, one: str, many: str, /, **parts: object) -> str:
    """Return the text for one thing or for another number of things; `{count}` is the number."""
    return say(one, count=count, **parts) if count == 1 else say(many, count=count, **parts)


def listed(parts: Sequence[str]) -> str:
    """Join parts as "a, b and c", in the language of the papers."""
    *most, last = parts
    return say("{most} and {last}", most=", ".join(most), last=last) if most else last


def listed_or_counted(parts: Sequence[str]) -> str:
    """Join parts as "a, b and c"; many as "a to z (26)": nobody reads three hundred names."""
    if len(parts) <= MOST_NAMED:
        return listed(parts)
    return say("{first} to {last} ({count})", first=parts[0], last=parts[-1], count=len(parts))


def listed_or(parts: Sequence[str]) -> str:
    """Join parts as "a, b or c", in the language of the papers."""
    *most, last = parts
    return say("{most} or {last}", most=", ".join(most), last=last) if most else last
