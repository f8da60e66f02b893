"""Explains the number of packs to bring on the kit list."""

from collections.abc import Sequence

from rigcard.documents.base.language import MOST_NAMED, listed, say
from rigcard.resolve.model import Unit
from rigcard.solve.power.provision import planned
from rigcard.solve.solved import Solved


def plan_lines(solved: Solved) -> list[str]:
    """Return the assumptions of the counts, and the packs without a count; empty for a rig without packs."""
    day, lines = solved.rig.day, []
    uses = planned(solved.power)
    if uses:
        counts = [
            say(
                "{unit} {packs} + {spares} spare",
                unit=_title(solved, use.unit),
                packs=use.packs,
                spares=use.spares,
            )
            for use in uses
        ]
        line = (
            say("Packs to bring, as on the power card: {packs}.", packs=listed(counts))
            if len(counts) <= MOST_NAMED
            else say("Packs to bring: as on the power card.")
        )
        lines.append(f"{line} {say('How many are spare is assumed.')}" if "spares" in day.assumed else line)
    known = {use.unit for use in uses}
    rest = [unit for unit in solved.rig.units.values() if is_pack(unit) and unit.name not in known]
    for reason, units in _reasons(solved, rest).items():
        lines.append(f"{reason}: {listed([unit.title for unit in units])}.")
    if lines and not any(unit.role == "charger" for unit in solved.rig.units.values()):
        lines.append(say("No charger is listed."))
    return lines


def is_pack(unit: Unit) -> bool:
    """Whether a unit is a pack, or has one inside."""
    return unit.role == "pack" or unit.model.power.capacity is not None


def _title(solved: Solved, name: str) -> str:
    return solved.rig.units[name].title


def _reasons(solved: Solved, units: Sequence[Unit]) -> dict[str, list[Unit]]:
    """Return the reasons why the plan cannot say how many of a pack are needed."""
    found: dict[str, list[Unit]] = {}
    for unit in units:
        if unit.model.power.capacity is None:
            reason = say("Counted once, as nothing says what it holds")
        elif solved.rig.day.hours is None:
            reason = say("Counted once, as the rig states no day")
        else:
            reason = say("Counted once, as nothing says what it feeds")
        found.setdefault(reason, []).append(unit)
    return found
