"""A document as marks placed on pages: millimetres from the top left corner, type sizes in points.

Everything is black on paper; `white` marks are cut out of a black one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextvars import Context, copy_context
from functools import partial
from typing import NamedTuple, Protocol, TypeVar, overload

MM_PER_POINT = 25.4 / 72
SMALLEST = 6.0  # points: no type is smaller


class Typeface(Protocol):
    """Measures text; a renderer provides it."""

    def width(self, text: str, size: float, bold: bool = False) -> float:
        """Return the width of a line of text in mm."""

    def lacks(self, text: str) -> list[str]:
        """Return the characters of a text for which the typeface has no glyph."""


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
    """A polyline. `dash` is the length of strokes and gaps in mm; empty means solid."""

    points: tuple[tuple[float, float], ...]
    weight: float = 0.25
    dash: tuple[float, ...] = ()


class Curve(NamedTuple):
    """A Bezier curve: a start point, then three points for each segment."""

    points: tuple[tuple[float, float], ...]
    weight: float = 0.25
    dash: tuple[float, ...] = ()


class Rectangle(NamedTuple):
    """A rectangle: black if `solid`, white inside if `blank`, otherwise transparent."""

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
    """A QR code of a text; `module` is the side of one square in mm. The document leaves the quiet zone."""

    x: float
    y: float
    text: str
    module: float
    version: int


class Bars(NamedTuple):
    """A linear code: `widths` of alternating bars and spaces in modules, a bar first.

    The document leaves the quiet zone.
    """

    x: float
    y: float
    widths: tuple[int, ...]
    module: float
    height: float


Mark = Text | Line | Curve | Rectangle | Shape | Circle | Squares | Bars


class Frame(NamedTuple):
    """A card, label or drawing field on a page, whose edge no text may cross."""

    name: str
    x: float
    y: float
    width: float
    height: float


class Sheet(NamedTuple):
    """A paper that is neither card nor label: the kit list, a lid sheet, a drawing, the list of leads.

    `file` is the name of the file that it is in.
    """

    name: str
    code: str
    file: str = ""


class Page(NamedTuple):
    """One sheet of paper. `paper` is set on the first page of each paper."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    frames: tuple[Frame, ...]
    bookmarks: tuple[str, ...] = ()
    paper: Sheet | None = None


class Document(NamedTuple):
    """A file of pages; `name` is the file's name without its extension, `language` an ISO 639-1 code."""

    name: str
    title: str
    pages: Sequence[Page]
    language: str = "en"
    subject: str = ""


Item = TypeVar("Item")


class Later(Sequence[Item]):
    """Items that are made whenever they are asked for, and not kept: a large set of cards is never whole in memory.

    They are made in the language in which they were promised.
    """

    def __init__(self, makers: Sequence[Callable[[], Item]], context: Context | None = None) -> None:
        self._makers = makers
        self._context = context or copy_context()

    def __len__(self) -> int:
        return len(self._makers)

    @overload
    def __getitem__(self, at: int) -> Item: ...

    @overload
    def __getitem__(self, at: slice) -> Later[Item]: ...

    def __getitem__(self, at: int | slice) -> Item | Later[Item]:
        if isinstance(at, slice):
            return Later(self._makers[at], self._context)
        return self._context.run(self._makers[at])

    def after(self, items: Sequence[Item]) -> Later[Item]:
        """The same behind items that are made already."""
        made = [partial(items.__getitem__, at) for at in range(len(items))]
        return Later([*made, *self._makers], self._context)


def moved(mark: Mark, dx: float, dy: float) -> Mark:
    """Return the same mark in another place."""
    if isinstance(mark, Line | Curve | Shape):
        return type(mark)(tuple([(x + dx, y + dy) for x, y in mark.points]), *mark[1:])
    return type(mark)(mark.x + dx, mark.y + dy, *mark[2:])


def enlarged(mark: Mark, times: float) -> Mark:
    """Scale a mark about the origin; strokes keep their weight.

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
