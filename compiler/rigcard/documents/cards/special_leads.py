"""The card of leads that are wired pin by pin, and of leads that look alike."""

from __future__ import annotations

from rigcard.documents.base.layout import BODY, Block, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import TECHNICIAN, Group
from rigcard.documents.cards.parts import notice
from rigcard.documents.diagram.leads import pin_table, special, wired_alike
from rigcard.resolve.model import Rig
from rigcard.resolve.packing import look_alikes
from rigcard.solve.solved import Solved


def has_special_leads(rig: Rig) -> bool:
    """Whether the rig gets this card."""
    return bool(special(rig) or look_alikes(rig))


def special_leads(face: Typeface, inner: float, solved: Solved) -> Group:
    """Set pin tables, and pairs with the mark that distinguishes them."""
    rig = solved.rig
    blocks: list[Block] = []
    if special(rig):
        blocks.append(paragraph(face, "Never replace these leads with another lead.", inner, bold=True))
        blocks += [pin_table(face, rig, cable, inner, 11.0) for cable in special(rig)]
        blocks.append(notice(face, inner, cautions.SPECIAL))
    for number, group in enumerate(look_alikes(rig)):
        rows = [[Cell(wired_alike(wiring), BODY, True)] for wiring in group.wirings]
        block = table(face, ("ONE LINE MAY NOT STAND IN FOR ANOTHER",), rows, (inner,))
        blocks.append(
            block if number else joined(heading(face, "Look the same, wired differently", inner), block)
        )
    if look_alikes(rig):
        blocks.append(notice(face, inner, cautions.LOOK_ALIKE))
    return Group("LEADS", "Special leads", tuple(blocks), (), TECHNICIAN)
