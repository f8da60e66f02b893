"""The change card: what is other since the earlier revision, what to do, which papers stay, who must be told."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.compare.comparison import Comparison
from rigcard.documents.base.language import say
from rigcard.documents.base.layout import BODY, SMALL, TICK, Block, Cell, heading, joined, paragraph, row, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.cards.action_words import action_lines
from rigcard.documents.cards.change_titles import Line
from rigcard.documents.cards.change_words import issue_lines, paper_lines, person_lines, port_lines
from rigcard.documents.cards.effect_words import effect_lines_in_short
from rigcard.documents.cards.frame import TECHNICIAN, Group

TICK_WIDTH = 11.0


def change_card(face: Typeface, inner: float, found: Comparison, taken: Sequence[str] = ()) -> Group:
    """Make the card; `taken`: the marks of the other cards of the pack."""
    mark = say("CHANGES")
    while mark in taken:
        mark = f"{mark} B"
    blocks = [paragraph(face, _summary(found), inner, bold=True)]
    blocks += _part(face, inner, say("Who must be told"), person_lines(found), True, BODY)
    blocks += _part(face, inner, say("What to do"), action_lines(found), True, BODY)
    blocks += _part(face, inner, say("What is different"), effect_lines_in_short(found))
    blocks += _part(face, inner, say("The same from the other handset"), port_lines(found))
    blocks += _part(face, inner, say("Issue"), issue_lines(found))
    blocks += _part(face, inner, say("Papers"), paper_lines(found))
    return Group(mark, _title(found), tuple(blocks), role=TECHNICIAN)


def _title(found: Comparison) -> str:
    old, new = found.old.revision, found.new.revision
    if old and new and old != new:
        return say("Rev {old} to rev {new}", old=old, new=new)
    return say("Since the earlier issue")


def _summary(found: Comparison) -> str:
    if found.nothing:
        return say("Nothing changed.")
    if found.words_only:
        return say("Only words changed: the rig is and does what it was and did.")
    return say(
        "Read this before the cards. A card named under VALID stays in use; collect all others that changed."
    )


def _part(
    face: Typeface, inner: float, title: str, lines: Sequence[Line], ticked: bool = False, size: float = SMALL
) -> list[Block]:
    if not lines:
        return []
    word = max(face.width(line.word, SMALL, True) for line in lines) + 4.0
    rest = inner - word - (TICK_WIDTH if ticked else 0.0)
    rows = [
        [Cell(line.word, SMALL, True), Cell(line.text, size), *([TICK] if ticked else [])] for line in lines
    ]
    widths = (word, rest, *((TICK_WIDTH,) if ticked else ()))
    if ticked:
        body = table(face, ("", "", say("DONE")), rows, widths)
    else:
        body = Block(tuple(piece for cells in rows for piece in row(face, cells, widths)))
    return [joined(heading(face, title, inner), body)]
