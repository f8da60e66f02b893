"""What the drawings share: the frame of a device, and the lead between two of them."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.documents.diagram.graph import SMALL, TITLE, Builder, word_of
from rigcard.resolve.links import Wire
from rigcard.resolve.model import Rig
from rigcard.words import millimetres


def device(build: Builder, rig: Rig, name: str, *more: str, again: str = "") -> str:
    """Return the key of the frame of a unit; `more` stands below its title. `again` tells a second frame from the first."""
    small = [(text, SMALL, False) for text in more]
    return build.frame(f"device:{name}{again and ' '}{again}", (rig.units[name].label, TITLE, True), *small)


def cable(
    build: Builder,
    rig: Rig,
    wire: Wire,
    column: int,
    strand: str = "",
    numbers: Sequence[str] = (),
    facts: Sequence[str] = (),
) -> str:
    """Add a lead, or one strand of it, with its kind, its length and more facts; return its cell."""
    word = word_of(rig.signal_at(wire.source).kind).split(",")[0]
    first = f"{word}, {millimetres(wire.cable.length)}" if wire.cable.length else word
    key = f"cable:{wire.leg.id}"
    small = [(text, SMALL, False) for text in (first, *facts)]
    build.frame(key, (wire.leg.id, TITLE, True), *small)
    cell_id = f"{key}/{strand}" if strand else key
    return build.cell(cell_id, "cable", column, part=key, frame=key, numbers=numbers)
