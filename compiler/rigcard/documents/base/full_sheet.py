"""Full sheets that are not cards: their common head, and lists that flow over pages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import (
    BODY,
    LABEL,
    LARGE,
    SMALL,
    Block,
    FilledColumn,
    flow,
    line_height,
    text_at,
    wrap,
)
from rigcard.documents.base.model import Frame, Mark, Page, Sheet, Text, Typeface, moved
from rigcard.documents.base.paper import SIZES, bar_words, scale_bar
from rigcard.documents.cards.frame import check_code
from rigcard.resolve.model import Rig

MARGIN = 10.0  # mm
HEAD = 14.0


def sheet_code(rig: Rig, title: str, words: Iterable[str]) -> str:
    """Return the check code of a sheet: of all that is on it but the revision, its date and the numbers of pages."""
    return check_code([rig.title, rig.job, "DRAFT" if rig.questions else "", title, *words])


def sheets_of(pages: Iterable[Page], file: str) -> list[Sheet]:
    """Return the papers that begin on these pages of a file."""
    return [page.paper._replace(file=file) for page in pages if page.paper]


def sheet_width(rig: Rig) -> float:
    """Return the width of the content of a full sheet of the rig's paper."""
    return SIZES[rig.paper][0] - 2 * MARGIN


def sheet_columns(rig: Rig, blocks: Iterable[Block]) -> list[FilledColumn]:
    """Flow blocks down as many full sheets as they need."""
    room = SIZES[rig.paper][1] - 2 * MARGIN - HEAD
    return flow(blocks, lambda _: room)


def list_pages(face: Typeface, rig: Rig, title: str, blocks: Sequence[Block], name: str = "") -> list[Page]:
    """Set blocks on as many pages of the rig's paper as they need, between its margins.

    `name`: what this paper is called where several have the same title.
    """
    marks = [mark for block in blocks for box in block.boxes for mark in box.marks]
    code = sheet_code(rig, name or title, [mark.text for mark in marks if isinstance(mark, Text)])
    first, *others = sheet_pages(face, rig, title, sheet_columns(rig, blocks), code)
    return [first._replace(paper=Sheet(name or title, code)), *others]


def sheet_pages(face: Typeface, rig: Rig, title: str, columns: Sequence[FilledColumn], code: str) -> list[Page]:
    """Set what was flowed down full sheets on pages, with the head and a bar to check the scale."""
    width, height = SIZES[rig.paper]
    pages = []
    for number, column in enumerate(columns, 1):
        part = say("page {number} of {count}", number=number, count=len(columns))
        marks = [moved(mark, MARGIN, MARGIN + HEAD) for mark in column.marks]
        field = Frame(title, MARGIN, MARGIN + HEAD, width - 2 * MARGIN, height - 2 * MARGIN - HEAD)
        head = sheet_head(face, rig, title, part, code, width)
        bar = scale_bar(face, width, height, MARGIN - 8.0, MARGIN, bar_words())
        pages.append(Page(width, height, (*marks, *head, *bar), (field,), (title,) if number == 1 else ()))
    return pages


def sheet_head(face: Typeface, rig: Rig, title: str, part: str, code: str, width: float) -> list[Mark]:
    """Return title, job, revision and check code for the top of a sheet."""
    revision = say("rev {revision}", revision=rig.revision) if rig.revision else ""
    facts = [fact for fact in (rig.job, revision, rig.date, part) if fact]
    inner = width - 2 * MARGIN
    right = text_at(
        face, MARGIN, MARGIN, say("check {code}", code=code), SMALL, bold=True, align="right", width=inner
    )
    room = inner - right.width - 6.0
    name = f"{title}: {rig.title}"
    if rig.questions:
        name = f"{say('DRAFT')} {name}"
    size = LARGE if face.width(name, LARGE, True) <= room else BODY
    lines = wrap(face, name, size, room, True)
    first = text_at(face, MARGIN, MARGIN - 2.0, lines[0], size, bold=True)
    marks: list[Mark] = [first]
    rest = "  ·  ".join([*(" ".join(lines[1:]),), *facts] if len(lines) > 1 else facts)
    for number, line in enumerate(wrap(face, rest, LABEL, inner)[:2]):
        marks.append(text_at(face, MARGIN, MARGIN + 6.2 + number * line_height(LABEL), line, LABEL))
    return [*marks, right]  # a title that goes on below is read on
