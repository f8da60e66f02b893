"""Explains characters without a meaning, and those that words in quotes or comments cannot hold."""

import re
import unicodedata
from collections.abc import Sequence

from rigcard.diagnostics import Diagnostic, Diagnostics, Edit
from rigcard.source import Source, Span
from rigcard.syntax import codes, facts
from rigcard.syntax.forgotten import MOST_FAULTS
from rigcard.syntax.place import Place
from rigcard.syntax.vocabulary import LOOKALIKES

_READABLE = re.compile(
    r'"(?:[^"\\\n\x00-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]|\\["\\])*'
)  # quoted words, up to a character that ends them or cannot stand in them
_DRIVE = re.compile(r'"[A-Za-z]:[\\/].*?([\w .-]+[\\/])?([\w .-]+)"')  # a path from a drive on


def open_words(place: Place) -> Diagnostic | None:
    """Quoted words that do not end, or that hold what no words can hold."""
    words = _READABLE.match(place.text, place.at)
    end = words.end() if words else place.at
    char = place.text[end : end + 1]
    if words and char in ("", "\n"):
        span = place.span(place.at, end - place.at)
        cause = "these words have no closing quote"
        return Diagnostic(codes.UNCLOSED_WORDS, span, cause, 'write " where the words end')
    if not words or char == '"' or "STRING" not in place.expected:
        return None
    hint = "remove it" if char != "\t" else "write a space instead"
    if char == "\\":
        hint = "write / in a path, and two backslashes where one is meant"
        if drive := _DRIVE.match(place.source.text, place.base + place.at):
            path = f"{drive[1] or ''}{drive[2]}".replace("\\", "/")
            hint = f'write the path from the folder of this file, with /, such as "{path}"'
    cause = f"{_described(char)} cannot stand in words as it is"
    return Diagnostic(codes.UNREADABLE_CHARACTER, place.span(end, 1), cause, hint)


def no_character(place: Place) -> Diagnostic | None:
    """A character without a meaning."""
    found, at = place.found, place.at
    span = place.here
    edits: tuple[Edit, ...] = ()
    if place.text[at : at + 2] in ("//", "/*"):
        span = place.span(at, 2)
        cause, hint = f"`{place.text[at : at + 2]}` begins no comment here", "begin a comment with #"
    elif found in LOOKALIKES:
        meant = LOOKALIKES[found]
        if meant == "-" and ".." in facts.signs(place.expected):
            meant = ".."
        cause, hint = f"{_described(found)} has no meaning here", f"write {meant} instead"
        if meant == '"':  # one quote is never alone
            cause = f"{_described(found)} is no quote of the language; words stand in straight double quotes"
        elif len(new := {"a plain space": " ", "`to`": "to"}.get(meant, meant)) <= 2:
            edits = (Edit(span, new),)
    elif found[:1].isalpha() and not found.isascii():
        bad = next(n for n, char in enumerate(found) if not char.isascii())
        span, cause = place.span(at + bad, 1), f"{_described(found[bad])} cannot stand in a name"
        hint = "write names with a to z, 0 to 9, - and _; words in quotes may have any letter"
    elif len(found) == 1 and (not found.isascii() or not found.isprintable()):
        cause, hint = f"{_described(found)} has no meaning here", "remove it"
    else:
        return None
    return Diagnostic(codes.UNREADABLE_CHARACTER, span, cause, hint, edits=edits)


def report_in_comments(source: Source, places: Sequence[int], diagnostics: Diagnostics) -> None:
    """Report characters that move a terminal's cursor, or make a comment look like statements."""
    for at in places[:MOST_FAULTS]:
        span = Span(source, at, at + 1)
        cause = f"{_described(source.text[at])} cannot stand in a comment"
        diagnostics.report(codes.UNREADABLE_CHARACTER, span, cause, "remove it", edits=(Edit(span, ""),))


def _described(char: str) -> str:
    """Name a character, also one that nobody sees."""
    code = f"U+{ord(char):04X}"
    if char.isprintable() and not char.isspace():
        return f"the character {char} ({code})"
    return f"an unseen character ({code}, {unicodedata.name(char, 'control character').lower()})"
