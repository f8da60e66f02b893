"""Leads that are wired pin by pin, and leads that look alike."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import BODY, Block, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.cards import cautions
from rigcard.documents.cards.parts import notice
from rigcard.documents.diagram.leads import pin_rows, pin_table, special, wired_alike
from rigcard.resolve.model import Cable, Rig
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
        blocks += [_pins(face, inner, rig, alike) for alike in _alike(special(rig))]
        blocks.append(notice(face, inner, cautions.SPECIAL))
    for number, group in enumerate(look_alikes(rig)):
        rows = [[Cell(wired_alike(wiring), BODY, True)] for wiring in group.wirings]
        block = table(face, (say("ONE LINE MAY NOT STAND IN FOR ANOTHER"),), rows, (inner,), pad=0.5)
        title = heading(face, say("Look the same, wired differently"), inner)
        blocks.append(block if number else joined(title, block))
    if look_alikes(rig):
        blocks.append(notice(face, inner, cautions.LOOK_ALIKE))
    return blocks


def _alike(cables: Sequence[Cable]) -> list[list[Cable]]:
    """Return the leads that have the same plugs, pins and mark beside each other."""
    found: dict[object, list[Cable]] = {}
    for cable in cables:
        pins = tuple((pin.first, pin.second, pin.colour, pin.title) for pin in cable.build.pins)
        found.setdefault((cable.build.plugs, pins, cable.build.mark), []).append(cable)
    return list(found.values())


def _pins(face: Typeface, inner: float, rig: Rig, cables: Sequence[Cable]) -> Block:
    """Set one table for all leads that are wired alike: for several, of their ends and not of where they go."""
    first, *others = cables
    if not others:
        return pin_table(face, rig, first, inner, BODY)
    known = rig.inventory.connectors
    plugs = [say("{plug}, pin", plug=known[plug].title) for plug in first.build.plugs or ()] or [say("pin")] * 2
    ends = [f"{say('end {letter}', letter=letter)}\n{plug}" for letter, plug in zip("AB", plugs, strict=True)]
    widths = [inner * share for share in (0.29, 0.29, 0.21, 0.21)]
    head = (*ends, say("COLOUR"), say("CARRIES"))
    made = table(face, head, pin_rows(first, BODY), widths)
    return joined(heading(face, wired_alike(cables), inner), made)
