"""What a unit carries, and the masses for the person who answers for what holds the rig."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from rigcard.documents.base.language import listed, say
from rigcard.documents.base.layout import SMALL, Block, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import the
from rigcard.documents.cards import cautions
from rigcard.documents.cards.parts import notice
from rigcard.resolve.model import Rig, Unit
from rigcard.resolve.payload import Load, StatedMass, handed, load_of
from rigcard.words import kilograms, percent

UNRATED = ("camera", "lens")  # nobody looks for a load rating on these (common practice, no source)


def burden(face: Typeface, inner: float, rig: Rig, unit: Unit) -> list[Block]:
    """Set what a unit carries against its rating, and its mass with that load if it hangs or flies."""
    load = load_of(rig, unit)
    mine = [told for told in handed(rig) if told.load.carrier.name == unit.name]
    if not load.burdens:
        return [paragraph(face, handed_line(told), inner, bold=True) for told in mine]
    blocks = [joined(heading(face, say("Carries"), inner), _list(face, inner, rig, load))]
    if load.margin is not None or unit.role not in UNRATED:
        blocks.append(paragraph(face, _against_rating(load), inner, bold=True))
    blocks += [paragraph(face, handed_line(told), inner, bold=True) for told in mine]
    if mine:
        blocks.append(paragraph(face, cautions.rigger_rates(), inner, size=SMALL, whole=True))
    if unit.role == "head":
        blocks.append(notice(face, inner, cautions.NEW_LOAD))
    return blocks


def _list(face: Typeface, inner: float, rig: Rig, load: Load) -> Block:
    """List what is carried; leads have the ids of their labels."""
    rows = []
    for part in load.burdens:
        mass = kilograms(part.mass) if part.mass is not None else say("not weighed")
        lead = rig.cables.get(part.name)
        title = f"{part.name} {part.title}" if lead and lead.title == part.title else part.title
        rows.append([Cell(title, SMALL), Cell(mass, SMALL, align="right")])
    beside = -(-len(rows) // 2)  # two lists beside each other
    pairs = [
        [*row, *(rows[at + beside] if at + beside < len(rows) else (Cell(), Cell()))]
        for at, row in enumerate(rows[:beside])
    ]
    widths, aligns = (inner / 2 - 19.0, 19.0) * 2, ("left", "right") * 2
    return table(face, (say("WHAT"), say("MASS")) * 2, pairs, widths, aligns=aligns, ruled=False, pad=0.35)


def _against_rating(load: Load) -> str:
    """Return the sum, the rating and the margin between them."""
    mass = _mass(load.mass, load.unknown)
    rating, margin = load.carrier.model.carries, load.margin
    if rating is None or margin is None:
        text = say("Payload {mass}; what it may carry is not stated.", mass=mass)
    elif rating:
        part = percent(margin / rating * 100)
        text = say(
            "Payload {mass} of {rating}: margin {margin}, {part}.",
            mass=mass,
            rating=kilograms(rating),
            margin=kilograms(margin),
            part=part,
        )
    else:
        text = say(
            "Payload {mass} of {rating}: margin {margin}.",
            mass=mass,
            rating=kilograms(rating),
            margin=kilograms(margin),
        )
    return f"{text}{_missing(load.unknown)}"


def _mass(mass: Fraction, unknown: Sequence[str]) -> str:
    return say("at least {mass}", mass=kilograms(mass)) if unknown else kilograms(mass)


def _missing(unknown: Sequence[str]) -> str:
    return f" {say('Not weighed: {parts}.', parts=listed(unknown))}" if unknown else ""


def whom(told: StatedMass) -> str:
    """Return who must hear of a mass: the person who answers for what holds or flies the rig."""
    return say("the rigger") if told.kind == "hung" else say("the pilot")


def handed_line(told: StatedMass) -> str:
    """Return one mass for the rigger or the pilot, as a sentence."""
    unit, mass = the(told.load.carrier.title), _mass(told.load.with_carrier, told.unknown)
    if told.kind == "hung":
        text = say(
            "Tell {whom}: {unit} with everything on it weighs {mass} and hangs.",
            whom=whom(told),
            unit=unit,
            mass=mass,
        )
    else:
        text = say(
            "Tell {whom}: {unit} with everything on it weighs {mass} and flies.",
            whom=whom(told),
            unit=unit,
            mass=mass,
        )
    return f"{text}{_missing(told.unknown)}"


def masses(face: Typeface, inner: float, rig: Rig) -> list[Block]:
    """Set every mass that a rigger or pilot needs, for the issue sheet, which says who decides."""
    lines = [handed_line(told) for told in handed(rig)]
    if not lines:
        return []
    title = heading(face, say("Masses to tell"), inner)
    return [joined(title, *(paragraph(face, line, inner, size=SMALL, bold=True, gap=0.6) for line in lines))]
