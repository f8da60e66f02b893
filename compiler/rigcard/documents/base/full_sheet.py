"""Full sheets that are not cards: their common head, and lists that flow over pages."""

from __future__ import annotations

from collections.abc import Iterable

from rigcard.documents.base.layout import Block, flow, line_height, text_at, wrap
from rigcard.documents.base.model import Frame, Mark, Page, Typeface, moved
from rigcard.documents.base.paper import SIZES, scale_bar
from rigcard.resolve.model import Rig

MARGIN = 10.0  # mm
HEAD = 14.0


def list_pages(face: Typeface, rig: Rig, title: str, blocks: Iterable[Block], code: str) -> list[Page]:
    """Set blocks on as many pages of the rig's paper as they need, between its margins."""
    width, height = SIZES[rig.paper]
    room = height - 2 * MARGIN - HEAD
    pages = []
    columns = flow(blocks, lambda _: room)
    for number, column in enumerate(columns, 1):
        part = f"page {number} of {len(columns)}"
        marks = [moved(mark, MARGIN, MARGIN + HEAD) for mark in column.marks]
        field = Frame(title, MARGIN, MARGIN + HEAD, width - 2 * MARGIN, room)
        head = sheet_head(face, rig, title, part, code, width)
        bar = scale_bar(face, width, height, MARGIN - 8.0, MARGIN, "this bar is 50 mm")
        pages.append(Page(width, height, (*marks, *head, *bar), (field,), (title,) if number == 1 else ()))
    return pages


def sheet_head(face: Typeface, rig: Rig, title: str, part: str, code: str, width: float) -> list[Mark]:
    """Return title, job, revision and check code for the top of a sheet."""
    facts = [fact for fact in (rig.job, f"rev {rig.revision}" if rig.revision else "", rig.date, part) if fact]
    right = f"check {code}"
    marks: list[Mark] = []
    room = width - 2 * MARGIN - face.width(right, 9.0, True) - 6.0
    name = f"{'DRAFT ' if rig.questions else ''}{title}: {rig.title}"
    size = 14.0
    while size > 9.0 and face.width(name, size, True) > room:
        size -= 1.0
    lines = wrap(face, name, size, room, True)
    marks.append(text_at(face, MARGIN, MARGIN - 2.0, lines[0], size, bold=True))
    rest = "  ·  ".join([*(" ".join(lines[1:]),), *facts] if len(lines) > 1 else facts)
    for number, line in enumerate(wrap(face, rest, 8.0, width - 2 * MARGIN)[:2]):
        marks.append(text_at(face, MARGIN, MARGIN + 4.0 + number * line_height(8.0), line, 8.0))
    marks.append(
        text_at(face, MARGIN, MARGIN - 1.0, right, 9.0, bold=True, align="right", width=width - 2 * MARGIN)
    )
    return marks
