"""Checks every quoted text of a rig before it is laid out: length, glyphs, emptiness."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

from rigcard.diagnostics import Diagnostics, Severity, define
from rigcard.documents.base.model import Typeface
from rigcard.syntax import tree

WORDS_TOO_LONG = define(
    "RC501",
    Severity.ERROR,
    "words_too_long",
    """
    Reports: words longer than their place on the papers can hold at a legible size.
    Why: the compiler never cuts off or shrinks words in silence, so they have to be shorter.
    Bad: a title of 200 characters
    Good: a short title, and the rest in a `note`
    """,
)
GLYPH_MISSING = define(
    "RC502",
    Severity.ERROR,
    "glyph_missing",
    """
    Reports: a character that the typeface of the papers does not have.
    Why: it would print as an empty box, and a name with a gap is another name.
    Bad: a title in a script other than Latin, Greek or Cyrillic
    Good: the same title in one of those scripts
    """,
)
EMPTY_WORDS = define(
    "RC503",
    Severity.ERROR,
    "empty_words",
    """
    Reports: quotes with nothing between them.
    Why: a heading or a label with no words tells nobody anything.
    Bad: unit hs is handset-12 ""
    Good: unit hs is handset-12 "Head handset"
    """,
)

LONGEST: dict[type, int] = {  # characters, by the statement that holds the text
    tree.Revision: 4,
    tree.Tag: 8,
    tree.Memory: 24,
    tree.Case: 20,
    tree.Asset: 24,
    tree.Packs: 24,
    tree.Short: 20,
    tree.Serial: 30,
    tree.Software: 30,
    tree.Lever: 40,
    tree.Switch: 40,
    tree.Step: 300,
    tree.Note: 300,
    tree.Question: 300,
}
OTHERWISE = 60


def check_words(statements: tuple[object, ...], face: Typeface, diagnostics: Diagnostics) -> None:
    """Report words that the papers cannot show."""
    for statement in statements:
        for words, owner in _words(statement, None):
            if owner in (tree.Use, tree.Typeface):
                continue
            longest = LONGEST.get(owner or type(None), OTHERWISE)
            if len(words.text) > longest:
                diagnostics.report(
                    WORDS_TOO_LONG,
                    words.span,
                    f"these words are {len(words.text)} characters long; their place holds {longest}",
                    "shorten them" if longest >= 300 else "shorten them; more can be said in a `note`",
                )
            elif not words.text.strip():
                diagnostics.report(
                    EMPTY_WORDS, words.span, "there are no words here", "write what people call it"
                )
            missing = face.lacks(words.text)
            if missing:
                char = missing[0]
                name = unicodedata.name(char, "a character without a name").lower()
                more = f" and for {len(missing) - 1} more of its characters" if len(missing) > 1 else ""
                diagnostics.report(
                    GLYPH_MISSING,
                    words.span,
                    f"the typeface has no glyph for {char!r} (U+{ord(char):04X}, {name}){more}",
                    "write it in Latin, Greek or Cyrillic letters, or name a font file that has it: "
                    '`typeface "FILE.ttf"` in the rig block',
                )


def _words(node: object, owner: type | None) -> Iterator[tuple[tree.Words, type | None]]:
    if isinstance(node, tree.Words):
        yield node, owner
    elif isinstance(node, tree.Name | tree.Number):
        return
    elif isinstance(node, tuple):
        named = type(node) if hasattr(node, "_fields") else owner
        for part in node:
            yield from _words(part, named)
