"""What comes on together: a lead out of a pack, or a switch, and every device that gets its power by it."""

from typing import NamedTuple

from rigcard.resolve.feeding import Rail
from rigcard.resolve.links import Wire, power_leads
from rigcard.resolve.model import Rig, Unit
from rigcard.solve.solved import Solved

ON_THE_MAINS = "mains"  # what it feeds comes on by its switch
FEEDERS = ("pack", "charger", "regulator", "vehicle", "mast", "other")  # what others are plugged to
ON_THEIR_OWN = ("handset", "receiver", "adapter", "camera", "head")  # they need power, whoever feeds them
RANK = {"handset": 0, "receiver": 1, "adapter": 2}
Key = tuple[str, tuple[str, ...]]
Found = dict[Key, dict[str, None]]  # units in order


class Circuit(NamedTuple):
    """One act of switching on.

    `source` is the pack at the other end of `leads`, the first of several where a unit takes two; or without leads the
    unit that has a battery inside or hangs on the mains; "" where nobody has said what feeds the unit. `units` come on with it, in the order in which power reaches them.
    """

    source: str
    leads: tuple[str, ...]
    units: tuple[str, ...]


def circuits(solved: Solved) -> list[Circuit]:
    """All circuits of a rig in the order of switching on: handsets, receivers, adapters, the rest, heads last.

    Where the models say nothing of power, the leads for power are followed as they are plugged.
    """
    rig = solved.rig
    found = _over_rails(solved)
    into = {unit: wires[0] for unit, wires in power_leads(rig, solved.links).items()}
    power_up_positions = {
        name: key for key, units in reversed(found.items()) for name in units
    }  # the first circuit of each
    for unit in rig.units.values():
        if unit.role != "pack" and unit.name not in power_up_positions and not is_splitter(unit):
            key, names = _by_itself(rig, unit, into, power_up_positions)
            found.setdefault(key, {}).update(dict.fromkeys(names))
            power_up_positions.update(dict.fromkeys(names, key))
    place = {name: at for at, name in enumerate(rig.units)}
    listed = [
        Circuit(source, leads if source else (), tuple(units))
        for (source, leads), units in found.items()
        if units
    ]
    return sorted(listed, key=lambda circuit: (_rank(rig, circuit), place[circuit.units[0]]))


def givers(solved: Solved, circuit: Circuit) -> dict[str, list[str]]:
    """The units that the leads of a circuit come from, each with its leads."""
    found: dict[str, list[str]] = {}
    for leg in circuit.leads:
        use = solved.power.leads.get(leg) if solved.power else None
        found.setdefault(use.lead.giver.unit if use else circuit.source, []).append(leg)
    return found


def is_splitter(unit: Unit) -> bool:
    """Whether a unit does nothing but pass signals on: nobody switches it on, and no light shows that it works."""
    model, side = unit.model, unit.model.power
    return bool(model.passed) and not (
        model.inputs or model.commands or side.windows or side.draws or side.supply
    )


def _rank(rig: Rig, circuit: Circuit) -> int:
    roles = [rig.units[name].role for name in circuit.units]
    return 4 if "head" in roles else min(RANK.get(role, 3) for role in roles)


def _over_rails(solved: Solved) -> Found:
    """Circuits by where power goes: over leads of any kind, and through devices."""
    found: Found = {}
    key_of: dict[Rail, Key] = {}
    rails = solved.power.feeding.rails if solved.power else {}
    beside = _beside(solved)
    for rail, fed in rails.items():  # parents stand before children
        unit = solved.rig.units[rail[0]]
        if fed.parent is None:
            if unit.role in FEEDERS:
                continue
            key: Key = unit.name, ()  # a device with a battery that feeds others too
        elif fed.parent in key_of:
            key = key_of[fed.parent]
        elif fed.leads:
            feeds = [rails[one] for one in beside.get(rail, [rail])]
            first = feeds[0].parent
            assert first
            key = first[0], tuple(lead.wire.leg.id for feed in feeds for lead in feed.leads)
        else:
            continue  # a regulator inside the pack
        key_of[rail] = key
        if not is_splitter(unit):
            found.setdefault(key, {})[unit.name] = None
    return found


def _beside(solved: Solved) -> dict[Rail, list[Rail]]:
    """For each input of a plate all of them that a source feeds: they are plugged in one act."""
    found: dict[Rail, list[Rail]] = {}
    rails = solved.power.feeding.rails if solved.power else {}
    for unit in solved.rig.units.values():
        for plate in unit.model.power.plates:
            inputs = [(unit.name, unit.model.power.rails[port]) for port in plate.either]
            fed = [rail for rail in inputs if rail in rails and rails[rail].leads]
            found.update(dict.fromkeys(fed, fed))
    return found


def _by_itself(
    rig: Rig, unit: Unit, into: dict[str, Wire], power_up_positions: dict[str, Key]
) -> tuple[Key, list[str]]:
    """For a unit that no source is known to reach: the circuit of what it is plugged to, or one of its own.

    With it come the units on the way, the nearest to the power first; none if the unit needs no power of its own.
    """
    path = [unit.name]
    while path[-1] not in power_up_positions and (wire := into.get(path[-1])) and wire.source.unit not in path:
        path.append(wire.source.unit)
        if rig.units[path[-1]].role == "pack":  # whatever charges it
            break
    root = rig.units[path[-1]]
    if root.name in power_up_positions:
        return power_up_positions[root.name], path[-2::-1]
    if len(path) > 1 and root.role in (*FEEDERS, ON_THE_MAINS):
        return (root.name, (into[path[-2]].leg.id,)), path[-2::-1]
    if root.role == "handset" or root.model.power.capacity:
        return (root.name, ()), path[::-1]
    if len(path) > 1 or root.role in ON_THEIR_OWN:
        return ("", (root.name,)), path[::-1]
    return ("", ()), []
