"""Draws one page as SVG. Each line of text states its width, so it fits whatever typeface the screen has."""

from __future__ import annotations

from html import escape  # xml.sax.saxutils would import the modules that open URLs

from rigcard.documents.base.model import Bars, Circle, Curve, Line, Mark, Page, Rectangle, Shape, Squares, Text
from rigcard.render.typeface import FAMILY

MM_PER_POINT = 25.4 / 72


def svg(page: Page, title: str, family: str = FAMILY) -> str:
    """Return a page as SVG text, in mm."""
    size = f'width="{page.width:.2f}mm" height="{page.height:.2f}mm"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 {page.width:.2f} {page.height:.2f}" '
        f'role="img" font-family="{escape(family)}, sans-serif" font-variant-numeric="slashed-zero">',
        f"<title>{escape(title, quote=False)}</title>",
        f'<rect width="{page.width:.2f}" height="{page.height:.2f}" fill="#ffffff"/>',
        *(_mark(mark) for mark in page.marks),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _mark(mark: Mark) -> str:
    if isinstance(mark, Text):
        return _text(mark)
    assert not isinstance(mark, Squares | Bars), "codes stand on labels, which are PDF only"
    stroke = f'stroke="#000000" stroke-width="{mark.weight:.2f}"'
    if getattr(mark, "dash", ()):
        stroke += f' stroke-dasharray="{" ".join(f"{dash:.2f}" for dash in mark.dash)}"'  # type: ignore[union-attr]
    if isinstance(mark, Rectangle):
        fill = "#000000" if mark.solid else "#ffffff" if mark.blank else "none"
        return (
            f'<rect x="{mark.x:.2f}" y="{mark.y:.2f}" width="{mark.width:.2f}" height="{mark.height:.2f}" '
            f'rx="{mark.radius:.2f}" fill="{fill}" {stroke}/>'
        )
    if isinstance(mark, Circle):
        fill = "#000000" if mark.solid else "none"
        return f'<circle cx="{mark.x:.2f}" cy="{mark.y:.2f}" r="{mark.radius:.2f}" fill="{fill}" {stroke}/>'
    return f'<path d="{_path(mark)}" fill="{_fill(mark)}" {stroke}/>'


def _fill(mark: Line | Curve | Shape) -> str:
    return "#000000" if isinstance(mark, Shape) and mark.solid else "none"


def _path(mark: Line | Curve | Shape) -> str:
    points = [f"{x:.2f} {y:.2f}" for x, y in mark.points]
    if isinstance(mark, Curve):
        return f"M{points[0]} C{' '.join(points[1:])}"
    return f"M{points[0]} L{' '.join(points[1:])}{' Z' if isinstance(mark, Shape) else ''}"


def _text(mark: Text) -> str:
    weight = ' font-weight="600"' if mark.bold else ""
    turn = f' transform="rotate(-{mark.angle} {mark.x:.2f} {mark.y:.2f})"' if mark.angle else ""
    colour = "#ffffff" if mark.inverse else "#000000"
    return (
        f'<text x="{mark.x:.2f}" y="{mark.y:.2f}" font-size="{mark.size * MM_PER_POINT:.3f}" fill="{colour}" '
        f'textLength="{mark.width:.2f}" lengthAdjust="spacingAndGlyphs" xml:space="preserve"{weight}{turn}>'
        f"{escape(mark.text, quote=False)}</text>"
    )
