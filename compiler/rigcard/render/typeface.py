"""The typeface of all papers, measured with the same tables that the PDF embeds."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import font_source_sans_pro
from reportlab.pdfbase.ttfonts import TTFont

from rigcard.documents.model import MM_PER_POINT

REGULAR = "Rigcard-Regular"
BOLD = "Rigcard-Bold"
FAMILY = "Source Sans Pro"


class _Advances(dict[str, float]):
    """Advance widths by character; one without a glyph, which is reported elsewhere, takes no room."""

    def __missing__(self, key: str) -> float:
        return 0.0


class EmbeddedTypeface:
    """Implements `documents.model.Typeface` with two weights of one family."""

    def __init__(self) -> None:
        folder = Path(font_source_sans_pro.font_directory)
        self.regular = TTFont(REGULAR, str(folder / "SourceSansPro-Regular.ttf"))
        self.bold = TTFont(BOLD, str(folder / "SourceSansPro-Semibold.ttf"))
        self._known = self.regular.face.charWidths
        self._advance = {
            bold: _Advances(
                (chr(code), float(width)) for code, width in font.face.charWidths.items()
            ).__getitem__
            for bold, font in ((False, self.regular), (True, self.bold))
        }

    @lru_cache(maxsize=65536)  # noqa: B019 - one typeface lives as long as the process
    def width(self, text: str, size: float, bold: bool = False) -> float:
        """Width of a line of text in mm."""
        return sum(map(self._advance[bold], text)) * size / 1000 * MM_PER_POINT

    def lacks(self, text: str) -> list[str]:
        """The characters that the typeface has no glyph for, each once."""
        return [char for char in dict.fromkeys(text) if ord(char) not in self._known]
