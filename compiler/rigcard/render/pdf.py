"""Draws a document as PDF. Text goes exactly where the document says; nothing is measured or decided here."""

from __future__ import annotations

from functools import lru_cache
from importlib.util import module_from_spec, spec_from_file_location
from io import BytesIO
from pathlib import Path
from typing import Any

import reportlab
from reportlab import rl_config
from reportlab.lib.rl_accel import escapePDF
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream, PDFZCompress
from reportlab.pdfgen.canvas import Canvas

from rigcard import __version__
from rigcard.documents.base.model import (
    Bars,
    Circle,
    Curve,
    Document,
    Line,
    Mark,
    Rectangle,
    Shape,
    Squares,
    Text,
)
from rigcard.render.typeface import EmbeddedTypeface

POINTS = 72 / 25.4
KEPT = 5000  # texts whose codes are kept: most come again on the next pages


def pdf(document: Document, face: EmbeddedTypeface, *, compress: bool = True) -> bytes:
    """Return the bytes of a PDF file: the same for the same document, whatever the clock says."""
    rl_config.useA85 = 0  # binary streams are smaller and quicker, and every reader accepts them
    pdfmetrics.registerFont(face.regular)
    pdfmetrics.registerFont(face.bold)
    out = BytesIO()
    canvas = Canvas(
        out,
        invariant=1,
        pageCompression=int(compress),
        lang=document.language,
        initialFontName=face.regular.fontName,
    )
    canvas.setTitle(document.title)
    canvas.setAuthor("")
    canvas.setSubject(document.subject)
    canvas.setCreator(f"rigcard {__version__}")
    shown: Shown = {}
    for number, page in enumerate(document.pages):
        canvas.setPageSize((page.width * POINTS, page.height * POINTS))
        for index, title in enumerate(page.bookmarks):
            key = f"page-{number}-{index}"
            canvas.bookmarkPage(key)
            canvas.addOutlineEntry(title, key, 0)
        if len(shown) > KEPT:
            shown.clear()
        pen = _Pen(canvas, page.height, face, shown)
        for mark in page.marks:
            pen.draw(mark)
        pen.end()
        canvas.showPage()
        if compress:
            _pack_last_page(canvas)
    canvas.save()
    return out.getvalue()


def _pack_last_page(canvas: Any) -> None:
    """Compress what was drawn at once: reportlab would keep the text of every page until the file is saved."""
    page = canvas._doc.Pages[-1]
    packed = PDFDictionary({"Filter": PDFArray([PDFName(PDFZCompress.pdfname)])})
    page.Contents = PDFStream(packed, PDFZCompress.encode(page.stream))
    page.Contents.__Comment__ = "page stream"
    page.stream = None


# Words as the document shows them, by weight and text: the name of a font subset, and their codes in it.
Shown = dict[tuple[bool, str], list[tuple[str, str]]]


class _Pen:
    """Draws the marks of one page; sets colour, line and font only where they change.

    Most of a page is level text and straight strokes. The pen writes these itself as PDF operators (ISO
    32000-1, 8.5.2 and 9.4): consecutive strings as one text object, consecutive strokes of one kind as one
    path. This takes a tenth of the time.
    """

    def __init__(self, canvas: Any, height: float, face: EmbeddedTypeface, shown: Shown) -> None:
        self.canvas = canvas
        # reportlab keeps the font that was registered first under a name
        self.fonts = [pdfmetrics.getFont(font.fontName) for font in (face.regular, face.bold)]
        self.height = height
        self.shown = shown
        self.gray: int | None = None
        self.line: tuple[float, tuple[float, ...]] | None = None
        self.words: list[str] = []  # the open text object
        self.font: tuple[str, float] | None = None  # the font set in that object
        self.strokes: list[str] = []  # start and end of each stroke that is not drawn yet

    def end(self) -> None:
        """Write the pending text and strokes."""
        if self.words:
            self.canvas.addLiteral(f"BT {' '.join(self.words)} ET")
            self.words = []
        if self.strokes:
            self.canvas.addLiteral(f"n {' '.join(self.strokes)} S")
            self.strokes = []

    def draw(self, mark: Mark) -> None:
        """Draw a mark of any kind."""
        if isinstance(mark, Text) and not mark.angle:
            self._text(mark)
            return
        if isinstance(mark, Line) and len(mark.points) == 2:
            (x, y), (end_x, end_y) = self._point(*mark.points[0]), self._point(*mark.points[1])
            self._stroke(mark.weight, mark.dash, f"{x:.3f} {y:.3f} m {end_x:.3f} {end_y:.3f} l")
            return
        if isinstance(mark, Rectangle) and not (mark.radius or mark.solid or mark.blank):
            x, y = self._point(mark.x, mark.y + mark.height)
            width, height = mark.width * POINTS, mark.height * POINTS
            self._stroke(mark.weight, mark.dash, f"{x:.3f} {y:.3f} {width:.3f} {height:.3f} re")
            return
        self.end()
        if isinstance(mark, Text):
            self._turned(mark)
        elif isinstance(mark, Squares):
            self._squares(mark)
        elif isinstance(mark, Bars):
            self._bars(mark)
        elif isinstance(mark, Rectangle):
            self._ready(mark.weight, mark.dash, mark.solid)
            x, y = self._point(mark.x, mark.y + mark.height)
            size = mark.width * POINTS, mark.height * POINTS
            fill = int(mark.solid or mark.blank)
            if mark.radius:
                self.canvas.roundRect(x, y, *size, mark.radius * POINTS, stroke=1, fill=fill)
            else:
                self.canvas.rect(x, y, *size, stroke=1, fill=fill)
        elif isinstance(mark, Circle):
            self._ready(mark.weight, (), mark.solid)
            self.canvas.circle(
                *self._point(mark.x, mark.y), mark.radius * POINTS, stroke=1, fill=int(mark.solid)
            )
        else:
            self._path(mark)

    def _point(self, x: float, y: float) -> tuple[float, float]:
        return x * POINTS, (self.height - y) * POINTS

    def _ready(self, weight: float, dash: tuple[float, ...], solid: bool) -> None:
        if self.line != (weight, dash):
            self.line = weight, dash
            strokes = " ".join([f"{stroke * POINTS:.3f}" for stroke in dash])
            self.canvas.addLiteral(f"{weight * POINTS:.3f} w [{strokes}] 0 d")
        self._fill(0 if solid else 1)

    def _fill(self, gray: int) -> None:
        if self.gray != gray:
            self.gray = gray
            self.canvas.setFillGray(gray)

    def _path(self, mark: Line | Curve | Shape) -> None:
        solid = isinstance(mark, Shape) and mark.solid
        self._ready(mark.weight, () if isinstance(mark, Shape) else mark.dash, solid)
        points = [self._point(x, y) for x, y in mark.points]
        path = self.canvas.beginPath()
        path.moveTo(*points[0])
        if isinstance(mark, Curve):
            for at in range(1, len(points) - 2, 3):
                path.curveTo(*points[at], *points[at + 1], *points[at + 2])
        else:
            for point in points[1:]:
                path.lineTo(*point)
        if isinstance(mark, Shape):
            path.close()
        self.canvas.drawPath(path, stroke=1, fill=int(solid))

    def _squares(self, mark: Squares) -> None:
        """Draw a QR code with medium correction; runs of dark squares are joined to avoid hairline gaps."""
        encoder = _encoder()
        code = encoder.QRCode(mark.version, encoder.QRErrorCorrectLevel.M)
        code.addData(mark.text)
        code.make()
        self._fill(0)
        size = mark.module * POINTS
        left, top = self._point(mark.x, mark.y)
        for row, squares in enumerate(code.modules):
            start = None
            for column, dark in enumerate([*squares, False]):
                if dark and start is None:
                    start = column
                elif not dark and start is not None:
                    x, y = left + start * size, top - (row + 1) * size
                    self.canvas.rect(x, y, (column - start) * size, size, stroke=0, fill=1)
                    start = None

    def _bars(self, mark: Bars) -> None:
        self._fill(0)
        at = mark.x
        for number, width in enumerate(mark.widths):
            if number % 2 == 0:
                x, y = self._point(at, mark.y + mark.height)
                size = width * mark.module * POINTS, mark.height * POINTS
                self.canvas.rect(x, y, *size, stroke=0, fill=1)
            at += width * mark.module

    def _stroke(self, weight: float, dash: tuple[float, ...], path: str) -> None:
        if self.words or self.line != (weight, dash):
            self.end()
            self._ready(weight, dash, False)
        self.strokes.append(path)

    def _text(self, mark: Text) -> None:
        gray = 1 if mark.inverse else 0
        if not self.words or self.gray != gray:
            self.end()
            self._fill(gray)
            self.font = None
        x, y = self._point(mark.x, mark.y)
        self.words.append(f"1 0 0 1 {x:.3f} {y:.3f} Tm")
        for name, codes in self.shown.get((mark.bold, mark.text)) or self._encoded(mark.bold, mark.text):
            if self.font != (name, mark.size):
                self.font = name, mark.size
                self.words.append(f"{name} {mark.size:g} Tf")
            self.words.append(codes)

    def _encoded(self, bold: bool, text: str) -> list[tuple[str, str]]:
        """Encode a text for the font subsets that hold its characters."""
        font, file = self.fonts[bold], self.canvas._doc
        parts = font.splitString(text, file)
        self.shown[bold, text] = [
            (font.getSubsetInternalName(part, file), f"({escapePDF(codes)}) Tj") for part, codes in parts
        ]
        return self.shown[bold, text]

    def _turned(self, mark: Text) -> None:
        self._fill(1 if mark.inverse else 0)
        self.canvas.setFont(self.fonts[mark.bold].fontName, mark.size)
        self.canvas.saveState()
        self.canvas.translate(*self._point(mark.x, mark.y))
        self.canvas.rotate(mark.angle)
        self.canvas.drawString(0, 0, mark.text)
        self.canvas.restoreState()


@lru_cache(maxsize=1)
def _encoder() -> Any:
    """Import reportlab's QR module alone: its package would import everything that reportlab can draw."""
    place = Path(reportlab.__file__).with_name("graphics") / "barcode" / "qrencoder.py"
    spec = spec_from_file_location("rigcard.render.qrencoder", place)
    assert spec and spec.loader
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
