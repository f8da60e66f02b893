"""The load of each unit and its mass: the units mounted on it directly or indirectly, and their cables.

The masses are summed. Only a competent person can say whether a rope, a mast or a clamp may bear them.
"""

from fractions import Fraction
from typing import NamedTuple

from rigcard.resolve.model import Cable, Rig, Unit
from rigcard.resolve.once import once_a_rig


class Burden(NamedTuple):
    """One carried unit or cable, with its own mass in kg; None if nobody has stated it."""

    name: str
    title: str
    mass: Fraction | None


class Load(NamedTuple):
    """Everything that a unit carries, units before cables, each one once."""

    carrier: Unit
    burdens: tuple[Burden, ...]

    @property
    def mass(self) -> Fraction:
        """The sum of the known masses."""
        return sum((burden.mass for burden in self.burdens if burden.mass is not None), Fraction(0))

    @property
    def unknown(self) -> list[str]:
        """The names of the things whose mass is unknown."""
        return [burden.name for burden in self.burdens if burden.mass is None]

    @property
    def heaviest(self) -> Burden:
        """The heaviest thing of known mass; there must be at least one."""
        return max(
            (burden for burden in self.burdens if burden.mass is not None), key=lambda found: found.mass or 0
        )

    @property
    def margin(self) -> Fraction | None:
        """The rating minus the load in kg, negative if the load is too heavy; None without a rating."""
        return None if self.carrier.model.carries is None else self.carrier.model.carries - self.mass

    @property
    def with_carrier(self) -> Fraction:
        """The mass of the load and the carrier together."""
        return self.mass + (self.carrier.model.mass or 0)


class StatedMass(NamedTuple):
    """A mass for the person responsible for what holds the rig: `whom` gets it; `kind` says which it is."""

    load: Load
    kind: str  # hung, all-up
    whom: str

    @property
    def unknown(self) -> list[str]:
        """The names of the things whose mass is unknown, the carrier first."""
        own = [self.load.carrier.name] if self.load.carrier.model.mass is None else []
        return own + self.load.unknown


def load_of(rig: Rig, unit: Unit) -> Load:
    """The load of a unit."""
    return _loads(rig)[unit.name]


Mounted = tuple[dict[str, list[Unit]], dict[str, list[Cable]]]  # units, and cables, by their carrier


def _mounted(rig: Rig) -> Mounted:
    units: dict[str, list[Unit]] = {}
    for unit in rig.units.values():
        if unit.mounted_on:
            units.setdefault(unit.mounted_on, []).append(unit)
    cables: dict[str, list[Cable]] = {}
    for cable in rig.cables.values():
        if cable.build.rides:
            cables.setdefault(cable.build.rides, []).append(cable)
    return units, cables


def _load(unit: Unit, mounted: dict[str, list[Unit]], riding: dict[str, list[Cable]]) -> Load:
    borne, waiting = {unit.name: unit}, [unit.name]
    for name in waiting:  # the loop extends this list; a cycle of mountings ends
        for other in mounted.get(name, ()):
            if other.name not in borne:
                borne[other.name] = other
                waiting.append(other.name)
    units = list(borne.values())[1:]
    cables = [cable for name in borne for cable in riding.get(name, ())]
    return Load(
        unit,
        (
            *(Burden(found.name, found.title, found.model.mass) for found in units),
            *(Burden(cable.name, cable.title, cable.build.mass) for cable in cables),
        ),
    )


@once_a_rig
def _loads(rig: Rig) -> dict[str, Load]:
    mounted, riding = _mounted(rig)
    return {unit.name: _load(unit, mounted, riding) for unit in rig.units.values()}


def loads(rig: Rig) -> list[Load]:
    """The loads of all units that carry anything, in the order of the file."""
    return [load for load in _loads(rig).values() if load.burdens]


@once_a_rig
def handed(rig: Rig) -> list[StatedMass]:
    """The masses that a rigger or a pilot needs: of everything that flies, and of everything that hangs.

    A unit that carries others and that nothing carries represents everything on it.
    """
    found = []
    for unit in rig.units.values():
        load = load_of(rig, unit)
        if unit.mounted_on or not (load.burdens or unit.role == "head"):
            continue
        borne = [unit, *(rig.units[burden.name] for burden in load.burdens if burden.name in rig.units)]
        hazards = {*rig.hazards, *(hazard for part in borne for hazard in part.model.hazards)}
        if "airborne" in hazards:
            found.append(StatedMass(load, "all-up", "the pilot"))
        elif "overhead" in hazards or any(part.underslung for part in borne):
            found.append(StatedMass(load, "hung", "the responsible rigger"))
    return found
