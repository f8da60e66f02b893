"""Caution lines by hazard: hazard, result, what to do, in at most twelve words. They remind; they do not authorise.

Wording and use of the signal word: ANSI Z535.4 keeps WARNING for what could kill or seriously injure.
"""

from __future__ import annotations

from rigcard.resolve.model import Rig, Unit

LINES = {
    "moving-parts": "Head may whip on power-up. Stand clear. Hands off.",
    "overhead": "Load overhead can fall. Nobody under it. Check the secondary retention.",
    "airborne": "Propellers cut. Stay clear until the pilot says so.",
    "lithium": "Damaged or wet packs burn. Do not use or charge them.",
    "vehicle": "A moving vehicle crushes. Stay outside the area its driver names.",
    "water": "Water and mains kill. Covers on, drip loops, qualified person only.",
    "mains": "Mains voltage kills. Leave plugs and boxes to a qualified person.",
    "public": "Public may walk in. Barriers and a spotter before you move.",
}
MOVING = ("moving-parts",)
DEFER = (
    "This card describes control settings only. It does not approve rigging, lifting, electrical, driving, flying "
    "or radio use. Follow local law, the production's risk assessment and the licensed or competent person in charge."
)


def of_unit(unit: Unit) -> tuple[str, ...]:
    """The lines for the card of one unit."""
    return tuple(LINES[hazard] for hazard in dict.fromkeys(unit.model.hazards))


def among(rig: Rig, hazards: tuple[str, ...]) -> tuple[str, ...]:
    """The lines for those of some hazards that the rig or a unit of it has."""
    present = {*rig.hazards, *(hazard for unit in rig.units.values() for hazard in unit.model.hazards)}
    return tuple(LINES[hazard] for hazard in hazards if hazard in present)


def of_rig(rig: Rig) -> tuple[str, ...]:
    """The lines for the whole rig: its own hazards first, then those of its units."""
    hazards = [*rig.hazards, *(hazard for unit in rig.units.values() for hazard in unit.model.hazards)]
    return tuple(LINES[hazard] for hazard in dict.fromkeys(hazards))
