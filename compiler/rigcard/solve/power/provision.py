"""Packs to bring: how many of each the plan of the day asks for, and cases with them in.

A unit stands for the first of its packs; the others lie beside it. Packs of which nothing says how many are needed
are one each.
"""

from fractions import Fraction

from rigcard.resolve.model import Rig
from rigcard.resolve.packing import Packed, Piece, packed
from rigcard.solve.power.packs import PackUse
from rigcard.solve.power.result import Power


def provided(rig: Rig, power: Power | None) -> list[Packed]:
    """The cases in packing order, with all packs of the day in them."""
    counts = pack_counts(rig, power)
    return [
        case._replace(
            pieces=tuple(
                piece
                for found in case.pieces
                for piece in (found, *([] if found.of_cable else _more(rig, found, counts)))
            )
        )
        for case in packed(rig)
    ]


def pack_counts(rig: Rig, power: Power | None) -> dict[str, int]:
    """Packs to bring for every unit of which the plan, or a list of their numbers, says so; the larger of the two."""
    counts = {use.unit: use.all for use in planned(power)}
    for unit in rig.units.values():
        if unit.packs:
            counts[unit.name] = max(counts.get(unit.name, 1), len(unit.numbers))
    return counts


def planned(power: Power | None) -> list[PackUse]:
    """The packs of which the plan of the day says how many are needed."""
    return [use for use in (power.packs if power else ()) if use.packs is not None and not use.beyond_reason]


def _more(rig: Rig, piece: Piece, counts: dict[str, int]) -> list[Piece]:
    """The packs beside the first. One for a pack inside a unit is not weighed: its model states its own mass only."""
    unit = rig.unit_or_spare(piece.name)
    count = counts.get(unit.name, 1)
    inside = unit.role != "pack"
    title = f"Pack for {unit.title}" if inside else unit.title
    mass: Fraction | None = None if inside else unit.model.mass
    return [
        Piece(
            f"{unit.name}.{number}",
            f"{title}, {number} of {count}",
            mass,
            more_of=unit.name,
            asset=unit.numbers[number - 1] if unit.packs and number <= len(unit.numbers) else "",
        )
        for number in range(2, count + 1)
    ]
