"""Explains a word that begins no statement of its block."""

import re
from collections.abc import Sequence

from rigcard.diagnostics import Diagnostic, Edit
from rigcard.reporting.suggest import one_of
from rigcard.source import Span
from rigcard.syntax import codes, facts, repairs
from rigcard.syntax.cutting import bare
from rigcard.syntax.hints import close_words, did_you_mean
from rigcard.syntax.place import Place
from rigcard.syntax.vocabulary import FIRST_NAMES, NAMED

_FIRST = re.compile(r"[ \t]*([A-Za-z][\w-]*)[ \t]*$")
_PROSE = re.compile(
    r"[A-Za-z][\w'’-]*(?:,?[ \t]+[A-Za-z][\w'’-]*)+[.!?:]?[ \t]*(?:#|$)", re.MULTILINE
)  # words alone


def misspelt_statement(place: Place) -> Diagnostic | None:
    """A misspelt statement that the parser took for the name of a leg or a band."""
    start = max(place.text.rfind(mark, 0, place.at) for mark in "{\n;") + 1
    first = _FIRST.match(place.text[start : place.at])
    after = place.expected - {"UNKNOWN"}  # a band may have it in place of its edges
    if first is None or after not in ({"DOT"}, {"PERCENT"}) or place.found in (".", ":"):
        return None
    container, other = FIRST_NAMES[next(iter(after))]
    more = f", or {other}"
    if "{" not in bare(place.text[:start], start):  # the parser took the first letters for a word of the file
        container, more = "file", ""
    known = facts.words_in(container)
    close = close_words(first[1], known)
    alone = not place.found and "DOT" in place.expected
    if first[1] in known:
        return None
    span = place.span(start + first.start(1), len(first[1]))
    if word := repairs.before_block(place):
        cause = f"`{word}` belongs to the line that opens this block"
        return Diagnostic(codes.UNKNOWN_STATEMENT, span, cause, f"write `{word}` before its {{")
    moved = "DOT" in place.expected and facts.homes().get(first[1])
    if close or moved or alone or (place.found and repairs.first_word(place, known)):
        return _begins_nothing(place, span, known, more)
    return None


def no_statement(place: Place) -> Diagnostic | None:
    """A first word, or a number in its place, that does not begin any statement of this block."""
    words = place.words
    if not (place.begins and words and place.found[:1].isalnum()):
        return None
    if place.found[0].isdigit():
        repair = repairs.first_word(place, words)
        cause = f"{place.found} begins no statement here"
        return repair and Diagnostic(
            codes.UNKNOWN_STATEMENT, place.here, cause, repair.hint, edits=repair.edits(place)
        )
    after = place.text[place.at + len(place.found) :]
    form = next((hint for form, hint in NAMED.items() if form.match(after)), "")
    named = after.lstrip(" \t").startswith(".") and place.found not in words
    if named and (repair := repairs.first_word(place, words)):
        form = repair.hint
    if form and not facts.homes().get(place.found) and (named or not close_words(place.found, words)):
        cause = f"`{place.found}` begins no statement here"
        return Diagnostic(codes.UNKNOWN_STATEMENT, place.here, cause, form)
    return _begins_nothing(place, place.here, words, "")


def _begins_nothing(place: Place, span: Span, words: Sequence[str], more: str) -> Diagnostic:
    """A word that does not begin any statement of its block."""
    found = span.text
    close, homes = close_words(found, words), facts.homes().get(found, ())
    hint = f"begin it with {one_of(list(words))}{more}"
    if _PROSE.match(span.source.text, span.start):
        hint = f"write # before it if it is a comment; a statement begins with {one_of(list(words))}{more}"
    edits: tuple[Edit, ...] = ()
    line = span.source.text[: span.start].rpartition("\n")[2]
    fed = re.search(r"\binput[ \t]+[\w-]+[ \t]+from[ \t]+([\w-]+)[^;{}]*$", line)
    if homes[:1] == ("channel",):
        hint = f"write it at the end of the line of {f'channel `{fed[1]}`' if fed else 'its channel'}"
    elif homes:
        hint = f"move it to {' or '.join(facts.CONTAINERS[home] for home in homes)}"
    elif (repair := repairs.first_word(place, words, close)) and (
        not close or repair.text.endswith(f" {found}")
    ):
        hint, edits = repair.hint, repair.edits(place)
    elif close:
        hint, edits = did_you_mean(close, span)
    return Diagnostic(codes.UNKNOWN_STATEMENT, span, f"`{found}` begins no statement here", hint, edits=edits)
