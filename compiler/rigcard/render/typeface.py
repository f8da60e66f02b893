"""The typeface of all papers, measured with the same tables that the PDF embeds."""

from __future__ import annotations

from functools import lru_cache
from hashlib import sha256
from io import BytesIO
from pathlib import Path

import font_source_sans_pro
from reportlab.pdfbase.ttfonts import TTFont

from rigcard.documents.base.model import MM_PER_POINT
from rigcard.render.font_file import UnusableFontError, drawn, font_bytes, require_sound_outlines
from rigcard.render.slashed_zero import slash_zero

REGULAR = "Rigcard-Regular"
BOLD = "Rigcard-Bold"
FILES = {REGULAR: "SourceSansPro-Regular.ttf", BOLD: "SourceSansPro-Semibold.ttf"}
UNSEEN = "\u00ad\ufeff"  # soft hyphen and byte order mark, which programs show in different ways
FAMILY = "Source Sans Pro"
OWN_SIGNS = [*map(chr, range(33, 127)), *"−–→·“”’±µ×²"]  # the characters of the papers' own words


class _Advances(dict[str, float]):
    """Advance widths by character. A character without a glyph takes no room; it is reported elsewhere."""

    def __missing__(self, key: str) -> float:
        return 0.0


def _font(name: str, path: str | None) -> TTFont:
    """Load a font with a slashed zero under a unique name: reportlab's font names are global to the process."""
    font = (
        _own(name, path) if path else TTFont(name, str(Path(font_source_sans_pro.font_directory) / FILES[name]))
    )
    slash_zero(font.face)
    return font


def _own(name: str, path: str) -> TTFont:
    try:
        data = font_bytes(path)
        font = TTFont(f"{name}-{sha256(data).hexdigest()[:12]}", BytesIO(data))
        require_sound_outlines(font.face)
        return font
    except UnusableFontError:
        raise
    except Exception as fault:  # a broken file can raise anything in the reader
        raise UnusableFontError(f"is no TrueType font that can be embedded ({str(fault)[:80]})") from None


class EmbeddedTypeface:
    """Implements `documents.model.Typeface` with two weights of one family."""

    def __init__(self, regular: str | None = None, bold: str | None = None) -> None:
        """Load two font files, or the ones that come with the compiler. Raises UnusableFontError."""
        self.regular = _font(REGULAR, regular)
        self.bold = _font(BOLD, bold)
        name = self.regular.face.familyName
        self.family = (
            FAMILY if regular is None else name.decode("utf-8", "replace") if isinstance(name, bytes) else name
        )
        self._foreign = regular is not None  # of a stranger: its outlines are looked at
        self._known = self.regular.face.charWidths
        self._advance = {
            bold: _Advances(
                (chr(code), float(width)) for code, width in font.face.charWidths.items()
            ).__getitem__
            for bold, font in ((False, self.regular), (True, self.bold))
        }

    @lru_cache(maxsize=65536)  # noqa: B019 - one typeface lives as long as the process
    def width(self, text: str, size: float, bold: bool = False) -> float:
        """Return the width of a line of text in mm."""
        return sum(map(self._advance[bold], text)) * size / 1000 * MM_PER_POINT

    def lacks(self, text: str) -> list[str]:
        """The characters that the typeface has no glyph for, or none that is seen, each once."""
        return [
            char
            for char in dict.fromkeys(text)
            if ord(char) not in self._known or char in UNSEEN or not self._drawn(char)
        ]

    @lru_cache(maxsize=4096)  # noqa: B019 - one typeface lives as long as the process
    def _drawn(self, char: str) -> bool:
        """Whether both weights have an outline of a character; those that come with the compiler have."""
        return not self._foreign or all(drawn(font.face, char) for font in (self.regular, self.bold))

    def unfit(self) -> list[str]:
        """Return the characters of the papers' own words that either weight lacks."""
        both = self._known.keys() & self.bold.face.charWidths.keys()
        return [char for char in OWN_SIGNS if ord(char) not in both or not self._drawn(char)]
