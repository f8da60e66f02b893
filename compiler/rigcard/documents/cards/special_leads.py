"""Leads that are wired pin by pin, and leads that look alike."""

from __future__ import annotations

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import BODY, Block, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.cards import cautions
from rigcard.documents.cards.parts import notice
from rigcard.documents.diagram.leads import pin_table, special, wired_alike
from rigcard.resolve.packing import look_alikes
from rigcard.solve.solved import Solved


def special_leads(face: Typeface, inner: float, solved: Solved) -> list[Block]:
    """Set pin tables, and pairs with the mark that distinguishes them; nothing for a rig that has neither."""
    rig = solved.rig
    blocks: list[Block] = []
    if special(rig):
        words = say("Never replace these leads with another lead.")
        blocks += [
            heading(face, say("Special leads"), inner),
            paragraph(face, words, inner, bold=True, keep=True),
        ]
        blocks += [pin_table(face, rig, cable, inner, BODY) for cable in special(rig)]
        blocks.append(notice(face, inner, cautions.SPECIAL))
    for number, group in enumerate(look_alikes(rig)):
        rows = [[Cell(wired_alike(wiring), BODY, True)] for wiring in group.wirings]
        block = table(face, (say("ONE LINE MAY NOT STAND IN FOR ANOTHER"),), rows, (inner,), pad=0.5)
        title = heading(face, say("Look the same, wired differently"), inner)
        blocks.append(block if number else joined(title, block))
    if look_alikes(rig):
        blocks.append(notice(face, inner, cautions.LOOK_ALIKE))
    return blocks
