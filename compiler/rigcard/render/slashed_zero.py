"""Finds a typeface's slashed or dotted zero, which cannot be mistaken for the letter O.

It replaces the plain zero under the feature `zero` of the GSUB table (OpenType, ISO/IEC 14496-22). Only single
substitutions are read, because fonts use these for it.
"""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.pdfbase.ttfonts import TTFontFace

ZERO = 0x30
MOST_READ = 200_000  # numbers of the table: a font that was made to be read for ever is not
SINGLE, EXTENSION = 1, 7  # lookup types


def slash_zero(face: TTFontFace) -> bool:
    """Replace the glyph of `0` with the slashed one.

    Returns False, with nothing changed, if the typeface has none of the same width.
    """
    plain = face.charToGlyph.get(ZERO)
    try:
        found = None if plain is None else _substitute(_Table(face.get_table("GSUB")), plain)
        if found is None or face.hmetrics[found][0] != face.hmetrics[plain][0]:
            return False
    except (KeyError, IndexError):  # no such table, or an offset beyond its end
        return False
    face.charToGlyph[ZERO] = found
    return True


class _Table:
    """The numbers of a table, big end first. Raises IndexError beyond its end, and when very many were read."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.left = MOST_READ

    def number(self, at: int, size: int = 2) -> int:
        self.left -= 1
        if at + size > len(self.data) or self.left < 0:
            raise IndexError(at)
        return int.from_bytes(self.data[at : at + size], "big")


def _substitute(table: _Table, glyph: int) -> int | None:
    """Return the glyph that the feature substitutes for another one."""
    for kind, at in _lookups(table):
        if kind != SINGLE:
            continue
        index = _index(table, at + table.number(at + 2), glyph)
        if index is not None and table.number(at) == 1:
            return (glyph + table.number(at + 4)) & 0xFFFF
        if index is not None:
            return table.number(at + 6 + 2 * index)
    return None


def _lookups(table: _Table) -> Iterator[tuple[int, int]]:
    """Return the type and offset of every subtable of the feature's lookups."""
    features, lookups = table.number(6), table.number(8)
    for entry in range(features + 2, features + 2 + 6 * table.number(features), 6):
        if table.data[entry : entry + 4] != b"zero":
            continue
        feature = features + table.number(entry + 4)
        for named in range(feature + 4, feature + 4 + 2 * table.number(feature + 2), 2):
            lookup = lookups + table.number(lookups + 2 + 2 * table.number(named))
            for offset in range(lookup + 6, lookup + 6 + 2 * table.number(lookup + 4), 2):
                kind, at = table.number(lookup), lookup + table.number(offset)
                if kind == EXTENSION:
                    kind, at = table.number(at + 2), at + table.number(at + 4, 4)
                yield kind, at


def _index(table: _Table, coverage: int, glyph: int) -> int | None:
    """Return the index of a glyph in a coverage table; None if it is not there."""
    count = table.number(coverage + 2)
    if table.number(coverage) == 1:
        glyphs = [table.number(coverage + 4 + 2 * at) for at in range(count)]
        return glyphs.index(glyph) if glyph in glyphs else None
    for at in range(coverage + 4, coverage + 4 + 6 * count, 6):
        if table.number(at) <= glyph <= table.number(at + 2):
            return table.number(at + 4) + glyph - table.number(at)
    return None
