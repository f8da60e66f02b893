"""The cover: what the pack is, what is in it, what was checked and what was not."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.documents import cautions
from rigcard.documents.card import INNER, Group, Numbered
from rigcard.documents.layout import (
    BODY,
    Block,
    Cell,
    heading,
    joined,
    paragraph,
    row,
    table,
)
from rigcard.documents.model import Typeface
from rigcard.solve.solved import Solved
from rigcard.words import listed


def cover(face: Typeface, solved: Solved, contents: Sequence[Numbered]) -> Group:
    """The cover of a pack whose other cards are numbered."""
    rig = solved.rig
    facts = [(label, text) for label, text in (("job", rig.job), ("date", rig.date)) if text]
    rows = [[Cell(text, BODY, True, label=label)] for label, text in facts]
    rows += [[Cell("", label=f"{title} (name)", kind="blank")] for title in rig.crew.values()]
    pieces = [piece for cells in rows for piece in row(face, cells, (INNER,), ruled=False)]
    blocks = [Block(tuple(pieces))]
    if rig.questions:
        questions = [paragraph(face, f"? {question}", INNER, indent=0, bold=True) for question in rig.questions]
        blocks += [heading(face, "Open questions: do not use before they are answered", INNER), *questions]
    blocks.append(_contents(face, contents))
    blocks.append(paragraph(face, cautions.DEFER, INNER, size=10.0, bold=True, whole=True))
    blocks += [
        heading(face, "Checked by computation", INNER),
        paragraph(face, _checked(solved), INNER, size=10.0),
    ]
    blocks += [heading(face, "Not checked", INNER), paragraph(face, NOT_CHECKED, INNER, size=10.0)]
    if rig.notes:
        blocks += [heading(face, "Notes", INNER), *(paragraph(face, note, INNER) for note in rig.notes)]
    return Group("COVER", rig.title, tuple(blocks), cautions.of_rig(rig))


def _contents(face: Typeface, contents: Sequence[Numbered]) -> Block:
    rows = []
    for found in contents:
        last = found.first + found.length - 1
        number = str(found.first) if found.length == 1 else f"{found.first}–{last}"
        title = found.group.title
        rows.append([Cell(number, BODY, True), Cell(title, BODY), Cell(found.code, BODY)])
    head = ("CARD", "", "CHECK")
    return joined(
        heading(face, "Cards in this pack", INNER), table(face, head, rows, (15.0, INNER - 32.0, 17.0))
    )


NOT_CHECKED = (
    "Radio range, power, masses, rigging, what the devices do between and beyond the declared values, and "
    "whether the models describe the devices in your hands. Measure, then test."
)


def _checked(solved: Solved) -> str:
    rig = solved.rig
    legs = sum(len(cable.legs) for cable in rig.cables.values())
    parts = [
        f"{len(solved.sheets)} channels from control to effect",
        f"{len(rig.expectations)} expectations of the operators",
        f"{legs} leads and their signals",
        "settings that commands need",
        "control positions at power-up",
    ]
    return f"{listed(parts).capitalize()}."
