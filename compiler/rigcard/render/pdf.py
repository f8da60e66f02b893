"""Draws a document as PDF. Text is placed exactly where the document says; nothing is measured or decided here."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from rigcard import __version__
from rigcard.documents.model import Box, Circle, Curve, Document, Line, Mark, Page, Shape, Squares, Text
from rigcard.render.typeface import BOLD, REGULAR, EmbeddedTypeface

POINTS = 72 / 25.4


def pdf(document: Document, face: EmbeddedTypeface, *, compress: bool = True) -> bytes:
    """The bytes of a PDF file: the same for the same document, whatever the clock says."""
    pdfmetrics.registerFont(face.regular)
    pdfmetrics.registerFont(face.bold)
    out = BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=int(compress), lang="en")
    canvas.setTitle(document.title)
    canvas.setAuthor("")
    canvas.setSubject("Remotely controlled camera rig")
    canvas.setCreator(f"rigcard {__version__}")
    for number, page in enumerate(document.pages):
        _page(canvas, page, number)
    canvas.save()
    return out.getvalue()


def _page(canvas: Canvas, page: Page, number: int) -> None:
    canvas.setPageSize((page.width * POINTS, page.height * POINTS))
    for index, title in enumerate(page.bookmarks):
        key = f"page-{number}-{index}"
        canvas.bookmarkPage(key)
        canvas.addOutlineEntry(title, key, 0)
    for mark in page.marks:
        _mark(canvas, mark, page.height)
    canvas.showPage()


def _mark(canvas: Any, mark: Mark, height: float) -> None:
    if isinstance(mark, Text):
        _text(canvas, mark, height)
        return
    if isinstance(mark, Squares):
        _squares(canvas, mark, height)
        return
    canvas.setLineWidth(mark.weight * POINTS)
    canvas.setDash([dash * POINTS for dash in getattr(mark, "dash", ())])
    if isinstance(mark, Box):
        canvas.setFillGray(0 if mark.solid else 1)
        place = (mark.x * POINTS, (height - mark.y - mark.height) * POINTS)
        size = (mark.width * POINTS, mark.height * POINTS)
        canvas.roundRect(*place, *size, mark.radius * POINTS, stroke=1, fill=int(mark.solid or mark.blank))
    elif isinstance(mark, Circle):
        canvas.setFillGray(0 if mark.solid else 1)
        canvas.circle(
            mark.x * POINTS, (height - mark.y) * POINTS, mark.radius * POINTS, stroke=1, fill=int(mark.solid)
        )
    else:
        _path(canvas, mark, height)


def _path(canvas: Any, mark: Line | Curve | Shape, height: float) -> None:
    points = [(x * POINTS, (height - y) * POINTS) for x, y in mark.points]
    path = canvas.beginPath()
    path.moveTo(*points[0])
    if isinstance(mark, Curve):
        for at in range(1, len(points) - 2, 3):
            path.curveTo(*points[at], *points[at + 1], *points[at + 2])
    else:
        for point in points[1:]:
            path.lineTo(*point)
    solid = isinstance(mark, Shape) and mark.solid
    if isinstance(mark, Shape):
        path.close()
    canvas.setFillGray(0 if solid else 1)
    canvas.drawPath(path, stroke=1, fill=int(solid))


def _squares(canvas: Any, mark: Squares, height: float) -> None:
    """A QR code, medium correction; runs of dark squares are drawn as one so that no hairline parts them."""
    code = QRCode(mark.version, QRErrorCorrectLevel.M)
    code.addData(mark.text)
    code.make()
    canvas.setFillGray(0)
    size = mark.module * POINTS
    for row, squares in enumerate(code.modules):
        start = None
        for column, dark in enumerate([*squares, False]):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                x, y = mark.x * POINTS + start * size, (height - mark.y) * POINTS - (row + 1) * size
                canvas.rect(x, y, (column - start) * size, size, stroke=0, fill=1)
                start = None


def _text(canvas: Any, mark: Text, height: float) -> None:
    canvas.setFillGray(1 if mark.white else 0)
    canvas.setFont(BOLD if mark.bold else REGULAR, mark.size)
    if mark.angle:
        canvas.saveState()
        canvas.translate(mark.x * POINTS, (height - mark.y) * POINTS)
        canvas.rotate(mark.angle)
        canvas.drawString(0, 0, mark.text)
        canvas.restoreState()
    else:
        canvas.drawString(mark.x * POINTS, (height - mark.y) * POINTS, mark.text)
