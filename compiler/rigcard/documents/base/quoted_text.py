"""Checks every quoted word of a rig before it is set: length, glyphs, emptiness."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

from rigcard.diagnostics import Diagnostics
from rigcard.documents import codes
from rigcard.documents.base.model import Typeface
from rigcard.syntax import tree

LONGEST: dict[type, int] = {  # characters, by the statement that holds the words
    tree.Revision: 4,
    tree.Tag: 8,
    tree.Memory: 24,
    tree.Case: 20,
    tree.Asset: 24,
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
                    codes.WORDS_TOO_LONG,
                    words.span,
                    f"these words are {len(words.text)} characters long; their place holds {longest}",
                    "shorten them" if longest >= 300 else "shorten them; more can be said in a `note`",
                )
            elif not words.text.strip():
                diagnostics.report(
                    codes.EMPTY_WORDS, words.span, "there are no words here", "write what people call it"
                )
            missing = face.lacks(words.text)
            if missing:
                char = missing[0]
                name = unicodedata.name(char, "a character without a name").lower()
                more = f" and for {len(missing) - 1} more of its characters" if len(missing) > 1 else ""
                diagnostics.report(
                    codes.GLYPH_MISSING,
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
