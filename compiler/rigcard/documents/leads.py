"""The wiring as a list, one lead a line: readable from a phone photo."""

from __future__ import annotations

from rigcard.documents.card import check_code
from rigcard.documents.layout import Cell, table
from rigcard.documents.model import Page, Typeface
from rigcard.documents.paper import SIZES
from rigcard.documents.sheet import MARGIN, list_pages
from rigcard.resolve.links import Wire, handset_behind
from rigcard.solve.solved import Solved
from rigcard.words import millimetres

SHARES = (0.11, 0.21, 0.21, 0.15, 0.1, 0.22)  # of the width
HEADINGS = ("CABLE", "FROM", "TO", "SIGNAL", "LENGTH", "CARRIES")
ALIGNS = ("left", "left", "left", "left", "right", "left")
SIZE = 10.0


def lead_pages(face: Typeface, solved: Solved) -> list[Page]:
    """The pages of the list, none for a rig without leads."""
    rig = solved.rig
    inner = SIZES[rig.paper][0] - 2 * MARGIN
    rows = []
    for wire in solved.links.wires:
        rows.append(
            [
                Cell(wire.leg.id, SIZE, True),
                Cell(f"{rig.units[wire.source.unit].title}, {wire.source.port}", SIZE),
                Cell(f"{rig.units[wire.sink.unit].title}, {wire.sink.port}", SIZE),
                Cell(rig.signal_at(wire.source).title, SIZE),
                Cell(millimetres(wire.cable.length) if wire.cable.length else "", SIZE, align="right"),
                Cell(_channels(solved, wire), SIZE),
            ]
        )
    if not rows:
        return []
    block = table(face, HEADINGS, rows, [inner * share for share in SHARES], aligns=ALIGNS)
    return list_pages(face, rig, "Leads", [block], check_code([cell.text for row in rows for cell in row]))


def _channels(solved: Solved, wire: Wire) -> str:
    """The channels that a lead carries."""
    handset = handset_behind(solved.rig, solved.rig.units[wire.source.unit])
    fed = [feed for feed in solved.links.feeds if feed.wire == wire]
    if handset is None or not fed:
        return ""
    return ", ".join(f"{handset.channels[feed.channel].number} {feed.channel}" for feed in fed)
