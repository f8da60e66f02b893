"""What a unit carries, and the masses for the person who answers for what holds the rig."""

from __future__ import annotations

from rigcard.documents.base.layout import SMALL, Block, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.cards import cautions
from rigcard.documents.cards.parts import notice
from rigcard.resolve.model import Rig, Unit
from rigcard.resolve.payload import Load, StatedMass, handed, load_of
from rigcard.words import kilograms, listed, percent

UNRATED = ("camera", "lens")  # nobody looks for a load rating on these (common practice, no source)


def burden(face: Typeface, inner: float, rig: Rig, unit: Unit) -> list[Block]:
    """Set what a unit carries against its rating, and its mass with that load if it hangs or flies."""
    load = load_of(rig, unit)
    mine = [told for told in handed(rig) if told.load.carrier.name == unit.name]
    if not load.burdens:
        return [paragraph(face, handed_line(told), inner, bold=True) for told in mine]
    blocks = [joined(heading(face, "Carries", inner), _list(face, inner, rig, load))]
    if load.margin is not None or unit.role not in UNRATED:
        blocks.append(paragraph(face, _against_rating(load), inner, bold=True))
    blocks += [paragraph(face, handed_line(told), inner, bold=True) for told in mine]
    if mine:
        blocks.append(paragraph(face, cautions.RIGGER_RATES, inner, size=SMALL, whole=True))
    if unit.role == "head":
        blocks.append(notice(face, inner, cautions.NEW_LOAD))
    return blocks


def _list(face: Typeface, inner: float, rig: Rig, load: Load) -> Block:
    """List what is carried; leads have the ids of their labels."""
    rows = []
    for part in load.burdens:
        mass = kilograms(part.mass) if part.mass is not None else "not weighed"
        lead = rig.cables.get(part.name)
        title = f"{part.name} {part.title}" if lead and lead.title == part.title else part.title
        rows.append([Cell(title, SMALL), Cell(mass, SMALL, align="right")])
    beside = -(-len(rows) // 2)  # two lists beside each other
    pairs = [
        [*row, *(rows[at + beside] if at + beside < len(rows) else (Cell(), Cell()))]
        for at, row in enumerate(rows[:beside])
    ]
    widths, aligns = (inner / 2 - 19.0, 19.0) * 2, ("left", "right") * 2
    return table(face, ("WHAT", "MASS") * 2, pairs, widths, aligns=aligns, ruled=False, pad=0.35)


def _against_rating(load: Load) -> str:
    """Return the sum, the rating and the margin between them."""
    mass = f"{'at least ' if load.unknown else ''}{kilograms(load.mass)}"
    missing = f" Not weighed: {listed(load.unknown)}." if load.unknown else ""
    rating, margin = load.carrier.model.carries, load.margin
    if rating is None or margin is None:
        return f"Payload {mass}; what it may carry is not stated.{missing}"
    part = f", {percent(margin / rating * 100)}" if rating else ""
    return f"Payload {mass} of {kilograms(rating)}: margin {kilograms(margin)}{part}.{missing}"


def handed_line(told: StatedMass) -> str:
    """Return one mass for the rigger or the pilot, as a sentence."""
    unit = told.load.carrier
    least = "at least " if told.unknown else ""
    missing = f" Not weighed: {listed(told.unknown)}." if told.unknown else ""
    mass = kilograms(told.load.with_carrier)
    return f"{told.kind.capitalize()} mass, {unit.title} with all it carries: {least}{mass}, handed to {told.whom}.{missing}"


def masses(face: Typeface, inner: float, rig: Rig) -> list[Block]:
    """Set every mass that a rigger or pilot needs, for the cover, which says who decides."""
    lines = [handed_line(told) for told in handed(rig)]
    if not lines:
        return []
    title = heading(face, "Masses to hand over", inner)
    return [title, *(paragraph(face, line, inner, bold=True) for line in lines)]
