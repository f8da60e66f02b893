"""Full sheets that are not cards: their common head, and lists that flow over pages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigcard.documents.base.layout import Block, flow, line_height, text_at, wrap
from rigcard.documents.base.model import Frame, Mark, Page, Sheet, Text, Typeface, moved
from rigcard.documents.base.paper import SIZES, scale_bar
from rigcard.documents.cards.frame import check_code
from rigcard.resolve.model import Rig

MARGIN = 10.0  # mm
HEAD = 14.0


def sheet_code(rig: Rig, title: str, words: Iterable[str]) -> str:
    """Return the check code of a sheet: of all that is on it but the revision, its date and the numbers of pages."""
    return check_code([rig.title, rig.job, "DRAFT" if rig.questions else "", title, *words])


def sheets_of(pages: Iterable[Page]) -> list[Sheet]:
    """Return the papers that begin on these pages."""
    return [page.paper for page in pages if page.paper]


def list_pages(face: Typeface, rig: Rig, title: str, blocks: Sequence[Block], name: str = "") -> list[Page]:
    """Set blocks on as many pages of the rig's paper as they need, between its margins.

    `name`: what this paper is called where several have the same title.
    """
    marks = [mark for block in blocks for box in block.boxes for mark in box.marks]
    code = sheet_code(rig, name or title, [mark.text for mark in marks if isinstance(mark, Text)])
    width, height = SIZES[rig.paper]
    room = height - 2 * MARGIN - HEAD
    pages = []
    columns = flow(blocks, lambda _: room)
    for number, column in enumerate(columns, 1):
        part = f"page {number} of {len(columns)}"
        placed = [moved(mark, MARGIN, MARGIN + HEAD) for mark in column.marks]
        field = Frame(title, MARGIN, MARGIN + HEAD, width - 2 * MARGIN, room)
        head = sheet_head(face, rig, title, part, code, width)
        bar = scale_bar(face, width, height, MARGIN - 8.0, MARGIN, "this bar is 50 mm")
        page = Page(width, height, (*placed, *head, *bar), (field,))
        pages.append(
            page._replace(bookmarks=(title,), paper=Sheet(name or title, code)) if number == 1 else page
        )
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
