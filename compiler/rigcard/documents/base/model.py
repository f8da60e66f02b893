"""A document as placed marks on pages. Millimetres from the top left corner, type sizes in points.

Everything is black on paper; `white` marks are cut out of a black one.
"""

from typing import NamedTuple, Protocol

MM_PER_POINT = 25.4 / 72
SMALLEST = 6.0  # points: nothing is ever set smaller


class Typeface(Protocol):
    """Measures text; a renderer provides it."""

    def width(self, text: str, size: float, bold: bool = False) -> float:
        """Width of a line of text in mm."""

    def lacks(self, text: str) -> list[str]:
        """The characters of a text that the typeface has no glyph for."""


class Text(NamedTuple):
    """A line of text; (x, y) is the left end of its baseline. `angle` 90 reads upward."""

    x: float
    y: float
    text: str
    size: float
    bold: bool
    width: float
    angle: int = 0
    inverse: bool = False


class Line(NamedTuple):
    """A straight or broken line. `dash` is the length of strokes and gaps in mm; empty: solid."""

    points: tuple[tuple[float, float], ...]
    weight: float = 0.25
    dash: tuple[float, ...] = ()


class Curve(NamedTuple):
    """A Bezier curve: a start and then three points a piece."""

    points: tuple[tuple[float, float], ...]
    weight: float = 0.25
    dash: tuple[float, ...] = ()


class Rectangle(NamedTuple):
    """A rectangle; `solid` is filled black, otherwise white inside if `blank`, else clear."""

    x: float
    y: float
    width: float
    height: float
    weight: float = 0.25
    dash: tuple[float, ...] = ()
    radius: float = 0.0
    solid: bool = False
    blank: bool = False


class Shape(NamedTuple):
    """A closed outline, filled black if `solid`."""

    points: tuple[tuple[float, float], ...]
    weight: float = 0.25
    solid: bool = False


class Circle(NamedTuple):
    """A circle around (x, y)."""

    x: float
    y: float
    radius: float
    weight: float = 0.25
    solid: bool = False


class Squares(NamedTuple):
    """A QR code of a text; `module` is the side of one square in mm. The quiet zone is left by the document."""

    x: float
    y: float
    text: str
    module: float
    version: int


class Bars(NamedTuple):
    """A linear code: `widths` of bars and spaces by turns, a bar first, in modules. The quiet zone is left around it."""

    x: float
    y: float
    widths: tuple[int, ...]
    module: float
    height: float


Mark = Text | Line | Curve | Rectangle | Shape | Circle | Squares | Bars


class Frame(NamedTuple):
    """A card, label or drawing field on a page: no text may leave it."""

    name: str
    x: float
    y: float
    width: float
    height: float


class Page(NamedTuple):
    """One sheet of paper."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    frames: tuple[Frame, ...]
    bookmarks: tuple[str, ...] = ()


class Document(NamedTuple):
    """A file of pages; `name` is the file's name without its ending."""

    name: str
    title: str
    pages: tuple[Page, ...]


def moved(mark: Mark, dx: float, dy: float) -> Mark:
    """The same mark somewhere else."""
    if isinstance(mark, Line | Curve | Shape):
        return type(mark)(tuple([(x + dx, y + dy) for x, y in mark.points]), *mark[1:])
    return type(mark)(mark.x + dx, mark.y + dy, *mark[2:])


def enlarged(mark: Mark, times: float) -> Mark:
    """The same mark as many times as large and as far from the origin; strokes keep their weight.

    Only for text, lines and boxes: codes and circles have sizes of their own.
    """
    if isinstance(mark, Text):
        return mark._replace(
            x=mark.x * times, y=mark.y * times, size=mark.size * times, width=mark.width * times
        )
    if isinstance(mark, Line | Curve | Shape):
        return type(mark)(tuple((x * times, y * times) for x, y in mark.points), *mark[1:])
    assert isinstance(mark, Rectangle)
    return mark._replace(
        x=mark.x * times,
        y=mark.y * times,
        width=mark.width * times,
        height=mark.height * times,
        radius=mark.radius * times,
    )
