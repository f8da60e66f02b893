"""The looks that the models state: a light, a screen, a tally; no look counts unless the file says that it is there."""

from __future__ import annotations

from collections.abc import Iterable

from rigcard.resolve.model import Look, Unit
from rigcard.solve.solved import Effect

ON, LINKED = "on", "linked"  # with power; with the link of its handset


def looks_of(unit: Unit) -> tuple[Look, ...]:
    """The stated looks of a unit."""
    return unit.model.looks


def looks_when(units: Iterable[Unit], effects: Iterable[Effect], state: str) -> list[str]:
    """The stated looks of units that show an effect, or a state of their own.

    A toggling order shows the first of its states: it is asked for the press that starts.
    """
    wanted = {(done.unit, name) for done in effects for name in (done.command, *done.toggles[:1])}
    return [
        look.text
        for unit in units
        for look in unit.model.looks
        if (unit.name, look.when) in wanted or (not wanted and look.when == state)
    ]
