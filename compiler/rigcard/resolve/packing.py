"""Which case holds what, in packing order, and what a full case weighs; leads that look alike."""

from fractions import Fraction
from itertools import combinations
from typing import NamedTuple

from rigcard.resolve.mechanics import Build
from rigcard.resolve.model import Cable, Rig

TWO_PERSONS = Fraction(25)  # kg: above it a case is lifted by two (common practice, no source)


class Piece(NamedTuple):
    """One thing to pack. `spare_for`: the cable that it stands in for; `more_of`: the unit whose further pack it is."""

    name: str
    title: str
    mass: Fraction | None
    of_cable: bool = False
    spare_for: str = ""
    more_of: str = ""


class Packed(NamedTuple):
    """A case with what is in it; without a statement of its own its empty mass and limit are None."""

    name: str  # "" for what is in no case
    empty: Fraction | None
    limit: Fraction | None
    pieces: tuple[Piece, ...]

    @property
    def mass(self) -> Fraction:
        """Case and contents, as far as they are weighed."""
        weighed = sum((piece.mass for piece in self.pieces if piece.mass is not None), Fraction(0))
        return weighed + (self.empty or 0)

    @property
    def unknown(self) -> list[str]:
        """What is not weighed, the case itself as "the case"."""
        own = ["the case"] if self.name and self.empty is None else []
        return own + [piece.name for piece in self.pieces if piece.mass is None]


def packed(rig: Rig) -> list[Packed]:
    """The cases in packing order: as declared, then as units and cables name them; last what is in none."""
    held: dict[str, list[Piece]] = {name: [] for name in rig.inventory.cases}
    for unit in (*rig.units.values(), *rig.spare_units.values()):
        held.setdefault(unit.case, []).append(Piece(unit.name, unit.title, unit.model.mass))
    for cable in rig.cables.values():
        build = cable.build
        held.setdefault(build.case, []).append(Piece(cable.name, cable.title, build.mass, True))
        for number in range(1, build.spares + 1):
            spare = Piece(f"{cable.name}-S{number}", f"SPARE FOR {cable.name}", build.mass, True, cable.name)
            held[build.case].append(spare)
    loose = held.pop("", [])
    order = [*held.items(), *([("", loose)] if loose else [])]
    found = []
    for name, pieces in order:
        case = rig.inventory.cases.get(name)
        found.append(Packed(name, case.empty if case else None, case.limit if case else None, tuple(pieces)))
    return found


def look_alikes(rig: Rig) -> list[tuple[Cable, Cable]]:
    """Pairs of leads with the same plugs at both ends and other wiring inside."""
    return [
        (first, second)
        for first, second in combinations(rig.cables.values(), 2)
        if first.build.plugs and second.build.plugs
        if sorted(first.build.plugs) == sorted(second.build.plugs)
        and not _wired_alike(first.build, second.build)
    ]


def _wired_alike(first: Build, second: Build) -> bool:
    """Whether one may stand in for the other: the same pins joined, seen from the same plug."""
    assert first.plugs and second.plugs
    wiring, other = ({(pin.first, pin.second) for pin in build.pins} for build in (first, second))
    turned = {(b, a) for a, b in other}
    if first.plugs[0] == first.plugs[1]:
        return wiring in (other, turned)
    return wiring == (other if first.plugs == second.plugs else turned)
