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


class EmbeddedTypeface:
    """Implements `documents.model.Typeface` with two weights of one family."""

    def __init__(self) -> None:
        folder = Path(font_source_sans_pro.font_directory) / "files"
        if not folder.is_dir():
            folder = Path(font_source_sans_pro.__file__).parent / "files"
        self.regular = TTFont(REGULAR, str(folder / "SourceSansPro-Regular.ttf"))
        self.bold = TTFont(BOLD, str(folder / "SourceSansPro-Semibold.ttf"))
        self._widths = {False: self.regular.face.charWidths, True: self.bold.face.charWidths}

    @lru_cache(maxsize=65536)  # noqa: B019 - one typeface lives as long as the process
    def width(self, text: str, size: float, bold: bool = False) -> float:
        """Width of a line of text in mm."""
        widths = self._widths[bold]
        return sum(float(widths.get(ord(char), 0)) for char in text) * size / 1000 * MM_PER_POINT

    def lacks(self, text: str) -> list[str]:
        """The characters that the typeface has no glyph for, each once."""
        known = self._widths[False]
        return [char for char in dict.fromkeys(text) if ord(char) not in known]
