"""Rules on what a pack can be."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Severity
from rigcard.words import decimal

DENSEST = 400  # watt-hours in a kilogram; packs on sale stay below 300 (common practice, no source)


@rule("RC359", Severity.WARNING)
def pack_too_light(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a model that holds more than 400 watt-hours in a kilogram of its mass.
    Why: no pack does; a slip such as 98Ah for 98Wh, or g for kg, makes run times, charging and the class by air wrong.
    Bad: capacity 98Ah at 14.8V; mass 0.8kg
    Good: capacity 98Wh; mass 0.8kg
    """
    told: set[str] = set()
    for unit in (*facts.rig.units.values(), *facts.rig.spare_units.values()):
        model, held = unit.model, unit.model.power.capacity
        if held and model.mass and held.energy / model.mass > DENSEST and model.name not in told:
            told.add(model.name)
            yield Finding(
                held.span,
                f"model `{model.name}` holds {decimal(held.energy)} Wh in {decimal(model.mass)} kg, "
                f"{decimal(held.energy / model.mass, 0)} Wh a kilogram, and no pack holds more than {DENSEST}",
                "read the plate again: Ah or Wh, mAh or Ah, and the mass",
            )
