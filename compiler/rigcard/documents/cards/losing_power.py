"""What the loss of power means for a head and its load, and for a take: for power-down and for swaps."""

from __future__ import annotations

from rigcard.documents.base.language import say
from rigcard.documents.cards import cautions
from rigcard.resolve.model import Rig, Unit
from rigcard.resolve.once import once_a_rig
from rigcard.resolve.payload import load_of
from rigcard.solve.loss import is_toggle
from rigcard.solve.solved import Solved


@once_a_rig
def pressed_units(solved: Solved) -> frozenset[str]:
    """Return the units whose takes one key starts and stops.

    After a restart, only the tally shows their state.
    """
    return frozenset(
        done.unit
        for result in solved.results.values()
        for row in result.rows
        for reading in row.readings
        if is_toggle(reading)
        for done in reading.effects
    )


def camera_on(rig: Rig, head: Unit) -> bool:
    """Whether a head carries a camera; one that is mounted nowhere may be on it."""
    load = {burden.name for burden in load_of(rig, head).burdens}
    cameras = [unit for unit in rig.units.values() if unit.role == "camera"]
    return any(unit.name in load or unit.mounted_on is None for unit in cameras)


def around(rig: Rig, head: Unit) -> tuple[str, str]:
    """Return what to do before a head loses its power, and after; "" for either if there is nothing.

    A hand is asked for only once the motors have stopped, and only if nothing in the file puts the head out of
    reach.
    """
    camera = camera_on(rig, head)
    if not camera and not load_of(rig, head).burdens:
        return "", ""
    if head.mounted_on is not None or set(cautions.ALOFT) & set(cautions.hazards_of(rig)):
        return say("Bring the head within reach: it may fall limp. Hands off: it is still live."), ""
    return "", say("Then hold the camera by hand: the head is limp.") if camera else say(
        "Then hold its load by hand: the head is limp."
    )


def films(rig: Rig) -> bool:
    """Whether a rig has a camera, so that a take may be running."""
    return any(unit.role == "camera" for unit in rig.units.values())
