"""Caution lines by hazard: hazard, result and remedy in at most twelve words.

They remind; they do not authorise. Signal words follow ANSI Z535.4 (2007, clause 4.14): the harm to people
decides, never the cost of kit.
"""

from collections.abc import Callable, Iterable
from typing import NamedTuple

from rigcard.documents.base.language import say
from rigcard.resolve.model import Rig, Unit

HARMS = ("severe", "moderate", "none")  # death or serious injury; minor or moderate injury; kit or a take


class Caution(NamedTuple):
    """One caution line, said in the language of the papers. `harm` is the worst result of ignoring it (HARMS)."""

    words: Callable[[], str]
    harm: str

    @property
    def text(self) -> str:
        """Return the line."""
        return self.words()

    @property
    def word(self) -> str:
        """Return its signal word: the harm could happen, but need not."""
        return signal_word(self.harm, certain=False)


def signal_word(harm: str, *, certain: bool) -> str:
    """Return the signal word for harm that could or, with `certain`, will happen if it is not avoided."""
    if harm == "severe":
        return say("DANGER") if certain else say("WARNING")
    return say("CAUTION") if harm == "moderate" else say("NOTICE")


LINES = {
    "moving-parts": Caution(lambda: say("Moving parts may whip. Stand clear, hands off."), "severe"),
    "overhead": Caution(
        lambda: say("Load overhead can fall. Nobody under it. Check the secondary retention."), "severe"
    ),
    "airborne": Caution(lambda: say("Propellers cut. Stay clear until the pilot says so."), "severe"),
    "lithium": Caution(lambda: say("Damaged or wet packs burn. Do not use or charge them."), "severe"),
    "vehicle": Caution(
        lambda: say("A moving vehicle crushes. Stay outside the area its driver names."), "severe"
    ),
    "water": Caution(
        lambda: say("Wet electrics can kill. Covers on, drip loops, qualified person only."), "severe"
    ),
    "mains": Caution(
        lambda: say("Mains voltage kills. Mains plugs and boxes: qualified person only."), "severe"
    ),
    "public": Caution(lambda: say("Public may walk in. Barriers and a spotter before you move."), "severe"),
}
HEAVY = Caution(lambda: say("Heavy case. Lifting alone hurts the back. Two people lift."), "moderate")
NEW_LOAD = Caution(
    lambda: say("A swap shifts the balance; the head may drift. Re-balance, re-tune, re-test."), "none"
)
LOOK_ALIKE = Caution(lambda: say("The wrong lead fits but fails. Compare id and mark."), "none")
SPECIAL = Caution(
    lambda: say("Wrong wiring harms the device. Measure every pin before the first plug-in."), "none"
)
ON = {  # the lines that each card must have if the rig or one of its units has the hazard
    "brief": ("moving-parts", "overhead", "airborne", "vehicle", "water", "public"),
    "power-up": ("moving-parts", "overhead", "airborne", "vehicle", "water", "mains", "public"),
    "power-down": ("moving-parts", "overhead", "airborne", "mains"),
    "swaps": ("lithium",),
    "operator": ("moving-parts", "airborne", "vehicle", "public"),
    "function-test": ("moving-parts", "overhead", "airborne", "vehicle", "public"),
    "radio-loss": ("moving-parts", "airborne", "vehicle"),
    "fault-finding": ("moving-parts", "mains"),
    "power": ("lithium", "mains"),
}
IN_USE = (
    "brief",
    "power-up",
    "power-down",
    "swaps",
    "operator",
    "function-test",
    "radio-loss",
    "fault-finding",
)
ALOFT = ("overhead", "airborne", "vehicle")  # rig hazards for the card of a unit that carries or is carried


def defer() -> str:
    """Return what every set says of its limits: who decides about all that it does not cover."""
    return say(
        "These cards describe control settings only. They do not approve rigging, lifting, electrical, driving, flying "
        "or radio use. Follow local law, the production's risk assessment and the licensed or competent person in charge."
    )


def rigger_rates() -> str:
    """Return who decides what a stated mass may hang on."""
    return say(
        "Sum of the masses in the file. It approves no rope, clamp, mast or vehicle: local codes and the competent "
        "person decide."
    )


def hazards_of(rig: Rig, idle: Iterable[str] = ()) -> list[str]:
    """Return the hazards of a rig: its own first, then those of its units, except units with an idle role."""
    units = [unit for unit in rig.units.values() if unit.role not in tuple(idle)]
    return list(dict.fromkeys([*rig.hazards, *(hazard for unit in units for hazard in unit.model.hazards)]))


def on(card: str, rig: Rig) -> tuple[str, ...]:
    """Return the lines for a kind of card (a key of ON).

    A charger stays in its case while the rig is in use, so its mains do not endanger the person who switches
    the rig on and off.
    """
    return tuple(LINES[hazard].text for hazard in present(card, rig))


def present(card: str, rig: Rig) -> list[str]:
    """Return the hazards whose lines a kind of card (a key of ON) must have, as `on` does."""
    found = hazards_of(rig, ("charger",) if card in IN_USE else ())
    return [hazard for hazard in ON[card] if hazard in found]


def of_unit(rig: Rig, unit: Unit) -> tuple[str, ...]:
    """Return the lines for the card of one unit.

    They are those of its model, and those of the rig if the unit carries others or is carried.
    """
    carriers = [other.mounted_on for other in rig.units.values()]
    aloft = unit.role == "head" or unit.mounted_on is not None or unit.name in carriers
    of_rig = [hazard for hazard in ALOFT if aloft and hazard in rig.hazards]
    return tuple(LINES[hazard].text for hazard in dict.fromkeys((*unit.model.hazards, *of_rig)))


def word_over(texts: Iterable[str]) -> str:
    """Return the signal word over several lines, that of the worst.

    ANSI Z535.4: one label, several hazards.
    """
    harms = {caution.harm for caution in LINES.values() if caution.text in set(texts)}
    return signal_word(min(harms, key=HARMS.index, default="none"), certain=False)
