"""The contents of each case in packing order, the mass of a full case, and leads that look alike."""

from fractions import Fraction
from typing import NamedTuple

from rigcard.resolve.mechanics import Build
from rigcard.resolve.model import Cable, Rig
from rigcard.resolve.once import once_a_rig

TWO_PERSONS = Fraction(25)  # kg: two people lift a case above this (common practice, no source)


class Piece(NamedTuple):
    """One thing to pack. `spare_for`: the cable that it can replace; `more_of`: the unit that this further pack
    belongs to, with the pack's `asset` number if the file lists it."""

    name: str
    title: str
    mass: Fraction | None
    of_cable: bool = False
    spare_for: str = ""
    more_of: str = ""
    asset: str = ""


class Packed(NamedTuple):
    """A case with its contents; without a statement of its own, its empty mass and its limit are None."""

    name: str  # "" for things that are in no case
    empty: Fraction | None
    limit: Fraction | None
    pieces: tuple[Piece, ...]

    @property
    def mass(self) -> Fraction:
        """The mass of the case and its contents, as far as it is known."""
        weighed = sum((piece.mass for piece in self.pieces if piece.mass is not None), Fraction(0))
        return weighed + (self.empty or 0)

    @property
    def unknown(self) -> list[str]:
        """The names of the things whose mass is unknown; the case itself is "the case"."""
        own = ["the case"] if self.name and self.empty is None else []
        return own + [piece.name for piece in self.pieces if piece.mass is None]


def packed(rig: Rig) -> list[Packed]:
    """The cases in packing order: first those that are declared, then those that units and cables name, and
    finally the things that are in no case."""
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


class LookAlikes(NamedTuple):
    """Leads with the same plugs at both ends, grouped by their inner wiring; there are at least two wirings."""

    wirings: tuple[tuple[Cable, ...], ...]


@once_a_rig
def look_alikes(rig: Rig) -> list[LookAlikes]:
    """Every group of leads that fit the same sockets but are wired differently, in the order of the file."""
    groups: dict[tuple[str, ...], dict[object, list[Cable]]] = {}
    for cable in rig.cables.values():
        if cable.build.plugs:
            wirings = groups.setdefault(tuple(sorted(cable.build.plugs)), {})
            wirings.setdefault(_wiring(cable.build), []).append(cable)
    return [
        LookAlikes(tuple(tuple(cables) for cables in wirings.values()))
        for wirings in groups.values()
        if len(wirings) > 1
    ]


def _wiring(build: Build) -> object:
    """The joined pins, seen from the plug that is first in the alphabet; if both are equal, from both."""
    assert build.plugs
    pins = frozenset((str(pin.first), str(pin.second)) for pin in build.pins)
    turned = frozenset((second, first) for first, second in pins)
    first, second = build.plugs
    if first == second:
        return frozenset((pins, turned))
    return pins if first < second else turned
