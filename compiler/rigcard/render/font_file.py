"""Whether a font file of a stranger may be read and embedded, before and after a library reads it.

Its tables and their limits: OpenType, ISO/IEC 14496-22 (`cmap`, `name`, `loca`, `glyf`; `OS/2` for `fsType`).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from struct import Struct, error

from reportlab.pdfbase.ttfonts import TTFontFace

LARGEST = 32_000_000  # bytes
MOST_TABLES = 64
MOST_NAMES = 4096
MOST_CHARACTERS = 0x110000  # as many as Unicode has, counted over all that a table of characters maps
RESTRICTED, USAGE, WHOLE_ONLY, BITMAPS_ONLY = 0x0002, 0x000F, 0x0100, 0x0200  # bits of fsType
_U16, _U32 = Struct(">H"), Struct(">L")


class UnusableFontError(Exception):
    """Why a font file cannot be used, in a few words."""


def font_bytes(path: str) -> bytes:
    """A font file that can be read in a reasonable time. Raises UnusableFontError."""
    try:
        with open(path, "rb") as file:
            data = file.read(LARGEST + 1)
    except (OSError, ValueError) as fault:
        raise UnusableFontError(f"cannot be read: {getattr(fault, 'strerror', None) or fault}") from None
    if len(data) > LARGEST:
        raise UnusableFontError(f"is larger than {LARGEST // 1_000_000} MB")
    try:
        _judge(data)
    except error:
        raise UnusableFontError("is no TrueType font that can be embedded (a table ends too early)") from None
    return data


def _judge(data: bytes) -> None:
    tables = _tables(data)
    if b"name" in tables and _u16(data, tables[b"name"][0] + 2) > MOST_NAMES:
        raise UnusableFontError(f"has more than {MOST_NAMES} names")
    if b"cmap" in tables:
        for count in _characters(data, *tables[b"cmap"]):
            if count > MOST_CHARACTERS:
                raise UnusableFontError("maps more characters than there are")
    if b"OS/2" in tables:
        kind = _u16(data, tables[b"OS/2"][0] + 8)
        if kind & USAGE == RESTRICTED:
            raise UnusableFontError(f"does not allow to be embedded in a document (fsType {kind:#06x})")
        if kind & (WHOLE_ONLY | BITMAPS_ONLY):
            raise UnusableFontError(f"does not allow a part of it to be embedded (fsType {kind:#06x})")


def _tables(data: bytes) -> dict[bytes, tuple[int, int]]:
    """Place and length of each table."""
    start = _u32(data, 12) if data[:4] == b"ttcf" else 0
    count = _u16(data, start + 4)
    if data[start : start + 4] in (b"\0\1\0\0", b"true") and count > MOST_TABLES:
        raise UnusableFontError(f"has more than {MOST_TABLES} tables")
    found = {}
    for at in range(start + 12, start + 12 + 16 * min(count, MOST_TABLES), 16):
        found[data[at : at + 4]] = (_u32(data, at + 8), _u32(data, at + 12))
    return found


def _characters(data: bytes, table: int, length: int) -> Iterator[int]:
    """How many characters each table of characters maps, as often as it maps them."""
    count = _u16(data, table + 2)
    if count > MOST_TABLES:
        raise UnusableFontError(f"has more than {MOST_TABLES} tables of characters")
    for record in range(table + 4, table + 4 + 8 * count, 8):
        at = table + _u32(data, record + 4)
        form = _u16(data, at)
        if form == 4:
            segments = _u16(data, at + 6) // 2
            ends, starts = at + 14, at + 16 + 2 * segments
            yield sum(
                max(0, _u16(data, ends + 2 * number) - _u16(data, starts + 2 * number) + 1)
                for number in range(segments)
            )
        elif form in (8, 12, 13):
            groups = at + (8208 if form == 8 else 12)
            number = _u32(data, groups)
            if number > MOST_CHARACTERS:
                yield number
            yield sum(
                max(0, _u32(data, group + 4) - _u32(data, group) + 1)
                for group in range(groups + 4, groups + 4 + 12 * number, 12)
            )
        elif form == 10:
            yield _u32(data, at + 16)


def require_sound_outlines(face: TTFontFace) -> None:
    """Raises UnusableFontError where the outlines of glyphs overlap or lie outside their table."""
    _, length = face.get_table_pos("glyf")
    places = face.glyphPos
    if any(after < before for before, after in pairwise(places)) or places[-1] > length:
        raise UnusableFontError("has outlines that overlap or lie outside their table")


def drawn(face: TTFontFace, char: str) -> bool:
    """Whether a character can be embedded, and something is seen of it where something should be."""
    glyph = face.charToGlyph.get(ord(char))
    if glyph is None or glyph + 1 >= len(face.glyphPos):
        return False
    if char.isspace():
        return True
    start, end = face.glyphPos[glyph], face.glyphPos[glyph + 1]
    at = face.get_table_pos("glyf")[0] + start
    outline = face._ttf_data[at : at + end - start]
    if len(outline) < 10 or outline[:2] == b"\0\0":  # no contour: nothing is seen
        return False
    try:
        face.makeSubset([ord(char)])
    except Exception:  # parts that are not there, or that never end
        return False
    return True


def _u16(data: bytes, at: int) -> int:
    return int(_U16.unpack_from(data, at)[0])


def _u32(data: bytes, at: int) -> int:
    return int(_U32.unpack_from(data, at)[0])
