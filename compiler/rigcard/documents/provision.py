"""Packs to bring: how many of each the plan of the day asks for, and cases with them in.

A unit stands for the first of its packs; the others lie beside it. Packs of which nothing says how many are needed
are one each, and that is told.
"""

from collections.abc import Sequence
from fractions import Fraction

from rigcard.resolve.model import Unit
from rigcard.resolve.packing import Packed, Piece, packed
from rigcard.solve.power.packs import PackUse
from rigcard.solve.solved import Solved
from rigcard.words import listed


def provided(solved: Solved) -> list[Packed]:
    """The cases in packing order, with all packs of the day in them."""
    counts = pack_counts(solved)
    return [
        case._replace(
            pieces=tuple(
                piece
                for found in case.pieces
                for piece in (found, *([] if found.of_cable else _more(solved, found, counts)))
            )
        )
        for case in packed(solved.rig)
    ]


def pack_counts(solved: Solved) -> dict[str, int]:
    """Packs to bring for every unit of which the plan says so."""
    return {use.unit: use.all for use in _planned(solved)}


def _planned(solved: Solved) -> list[PackUse]:
    return [use for use in (solved.power.packs if solved.power else ()) if use.packs is not None]


def _more(solved: Solved, piece: Piece, counts: dict[str, int]) -> list[Piece]:
    """The packs beside the first. One for a pack inside a unit is not weighed: its model states its own mass only."""
    unit = solved.rig.units[piece.name]
    count = counts.get(unit.name, 1)
    inside = unit.role != "pack"
    title = f"Pack for {unit.title}" if inside else unit.title
    mass: Fraction | None = None if inside else unit.model.mass
    return [
        Piece(f"{unit.name}.{number}", f"{title}, {number} of {count}", mass, more_of=unit.name)
        for number in range(2, count + 1)
    ]


def plan_lines(solved: Solved) -> list[str]:
    """What the counts stand on, and the packs of which nothing says how many; nothing for a rig without packs."""
    day, lines = solved.rig.day, []
    planned = _planned(solved)
    if planned:
        guess = "~ " if "spares" in day.assumed else ""
        counts = [f"{_title(solved, use.unit)} {use.packs} + {guess}{use.spares}" for use in planned]
        lines.append(
            f"Packs to bring, as on the power card: {listed(counts)}.{' ~ is assumed.' if guess else ''}"
        )
    known = {use.unit for use in planned}
    rest = [unit for unit in solved.rig.units.values() if is_pack(unit) and unit.name not in known]
    for reason, units in _reasons(solved, rest).items():
        lines.append(f"Counted once, {reason}: {listed([unit.title for unit in units])}.")
    return lines


def is_pack(unit: Unit) -> bool:
    """Whether it is a pack, or has one inside."""
    return unit.role == "pack" or unit.model.power.capacity is not None


def _title(solved: Solved, name: str) -> str:
    return solved.rig.units[name].title


def _reasons(solved: Solved, units: Sequence[Unit]) -> dict[str, list[Unit]]:
    """Why the plan cannot say how many of a pack are needed."""
    found: dict[str, list[Unit]] = {}
    for unit in units:
        if unit.model.power.capacity is None:
            reason = "as nothing says what it holds"
        elif solved.rig.day.hours is None:
            reason = "as the rig states no day"
        else:
            reason = "as nothing says what it feeds"
        found.setdefault(reason, []).append(unit)
    return found
