"""Follows power from every source over leads and through units. A rig without a source has nothing to follow.

A rail is a group of ports that are joined inside a unit and so have one voltage. Power enters a rail by a lead
or by a regulator of the same unit, or the rail belongs to a source. A lead brings power if one of its ends lets
power out and the other takes it in, whichever way its signal goes: an output of a receiver may power the
receiver.
"""

from collections.abc import Iterator, Mapping
from graphlib import TopologicalSorter
from itertools import islice, product
from typing import NamedTuple

from rigcard.resolve.links import Links, Wire
from rigcard.resolve.model import End, Rig, Unit
from rigcard.resolve.power_side import Outlet, Supply

Rail = tuple[str, str]  # unit, first port of the rail


class PowerLead(NamedTuple):
    """A lead over which power can flow, from the port `giver` to the port `taker`."""

    wire: Wire
    giver: End
    taker: End
    source: Rail
    sink: Rail


class Clash(NamedTuple):
    """Two feeds of one rail: a lead, and the lead that already feeds it (None: the unit's own source)."""

    lead: PowerLead
    other: PowerLead | None


class Fed(NamedTuple):
    """How power reaches a rail: from `parent`, by `leads` or by `regulator`. A source's rail has no parent.

    Without leads and regulator, the power comes through the unit from the active input of a plate. If a unit
    joins its inputs, the leads may come from several rails.
    """

    parent: Rail | None
    leads: tuple[PowerLead, ...]
    regulator: Outlet | None

    @property
    def parents(self) -> list[Rail]:
        """The rails that feed this one; the first feed comes first."""
        known = [self.parent] if self.parent else []
        return list(dict.fromkeys([*known, *(lead.source for lead in self.leads)]))


class Feeding(NamedTuple):
    """The rails that a source reaches, parents before children, and the feeds that conflict.

    `idle`: inputs that do not feed because another input of their unit does. `sources`: for each rail, the rails
    of all sources that feed it.
    """

    rails: dict[Rail, Fed]
    clashes: tuple[Clash, ...]
    idle: frozenset[Rail]
    sources: dict[Rail, list[Rail]]

    def source_of(self, rail: Rail) -> Rail:
        """The rail of the source that feeds a rail; the first one if several sources are joined."""
        while (parent := self.rails[rail].parent) is not None:
            rail = parent
        return rail


MOST_CHOICES = 64  # combinations of active plate inputs that are tried for a rig


def _sources(rails: Mapping[Rail, Fed], rail: Rail) -> list[Rail]:
    waiting, seen = [rail], {rail}
    for found in waiting:  # the loop extends this list
        for parent in rails[found].parents:
            if parent not in seen:
                seen.add(parent)
                waiting.append(parent)
    return [found for found in waiting if rails[found].parent is None]


def _all_sources(rails: Mapping[Rail, Fed]) -> dict[Rail, list[Rail]]:
    """The sources of every rail; those of a rail with one parent are its parent's, which comes first."""
    found: dict[Rail, list[Rail]] = {}
    for rail, fed in rails.items():
        parents = fed.parents
        found[rail] = found[parents[0]] if len(parents) == 1 else _sources(rails, rail)
    return found


def has_source(rig: Rig) -> bool:
    """Whether the rig has a source of power: without one nothing is followed, and the cover says so."""
    return any(unit.model.power.supply for unit in rig.units.values())


def rail_at(rig: Rig, end: End) -> Rail | None:
    """The rail of a port."""
    rail = rig.units[end.unit].model.power.rails.get(end.port)
    return (end.unit, rail) if rail else None


Plate = tuple[str, str]  # unit, first input of the plate (one input at a time feeds)


def follow(rig: Rig, links: Links, choice: Mapping[Plate, str] | None = None) -> Feeding:
    """The flow of power. `choice`: each plate's active input, by default the one that power reaches first."""
    leads, facing = _leads(rig, links)
    rails: dict[Rail, Fed] = {}
    waiting: list[Rail] = []
    for unit in rig.units.values():
        if unit.model.power.supply:
            rail = own_rail(unit, unit.model.power.supply)
            rails[rail] = Fed(None, (), None)
            waiting.append(rail)
    leaving: dict[Rail, list[PowerLead]] = {}
    for lead in leads:
        leaving.setdefault(lead.source, []).append(lead)
    feeds = dict(choice or {})
    for rail in waiting:  # the loop extends this list
        unit = rig.units[rail[0]]
        for child, fed in [*_inside(unit, rail, feeds), *_over_leads(leaving.get(rail, []), rail)]:
            before = rails.get(child)
            if before is None:
                rails[child] = fed
                waiting.append(child)
            elif _may_join(rig, rails, rail, child):
                rails[child] = before._replace(leads=(*before.leads, *fed.leads))
    if any(len(fed.parents) > 1 for fed in rails.values()):
        order = TopologicalSorter({rail: fed.parents for rail, fed in rails.items()}).static_order()
        rails = {rail: rails[rail] for rail in order}
    clashes = tuple(_clashes(rails, leads, facing))
    return Feeding(rails, clashes, frozenset(_idle(rig, feeds)), _all_sources(rails))


def variants(rig: Rig, links: Links) -> list[Feeding]:
    """The flow of power for every choice of the active plate inputs; a single one if no plate has a choice."""
    first = follow(rig, links)
    fed: dict[Plate, list[str]] = {}
    for unit in rig.units.values():
        rails = unit.model.power.rails
        for plate in unit.model.power.plates:
            fed[unit.name, plate.either[0]] = [
                port for port in plate.either if (unit.name, rails[port]) in first.rails
            ]
    open_plates = {plate: ports for plate, ports in fed.items() if len(ports) > 1}
    if not open_plates:
        return [first]
    choices = islice(product(*open_plates.values()), MOST_CHOICES)
    return [follow(rig, links, dict(zip(open_plates, ports, strict=True))) for ports in choices]


def _may_join(rig: Rig, rails: Mapping[Rail, Fed], rail: Rail, child: Rail) -> bool:
    """Whether a fed rail accepts a second feed: its unit joins inputs, and the sources are different."""
    if not rails[child].leads or not rig.units[child[0]].model.power.meets(child[1]):
        return False
    return set(_sources(rails, rail)).isdisjoint(_sources(rails, child))


def _idle(rig: Rig, feeds: Mapping[Plate, str]) -> Iterator[Rail]:
    for (name, first), port in feeds.items():
        side = rig.units[name].model.power
        for plate in side.plates:
            if plate.either[0] == first:
                yield from ((name, side.rails[other]) for other in plate.either if other != port)


def own_rail(unit: Unit, supply: Supply) -> Rail:
    """The rail of a source."""
    return unit.name, unit.model.power.rails[supply.ports[0]]


def is_bare_core(rig: Rig, unit: Unit, port: str) -> bool:
    """Whether a port is that of a splitter that only joins its supply cores: power goes through it either way."""
    side, model = unit.model.power, unit.model
    loaded = {name for window in side.windows for name in window.ports}
    loaded |= {name for draw in side.draws for name in draw.ports}
    passes = port in model.passed or port in model.passed.values()
    return passes and port not in loaded and not rig.signals[model.ports[port].signal].powers


def _ways(rig: Rig, end: End) -> tuple[bool, bool, bool]:
    """Whether power leaves by a port, whether it enters there, and whether both, through the core of a splitter."""
    unit = rig.units[end.unit]
    if unit.model.passed and is_bare_core(rig, unit, end.port):
        return True, True, True
    return end.port in unit.model.power.gives, end.port in unit.model.power.takes, False


def _leads(rig: Rig, links: Links) -> tuple[list[PowerLead], list[PowerLead]]:
    """The leads that bring power, and the leads whose ends both let power out.

    A lead between two splitters stands there twice, once for each way that power may take.
    """
    leads: list[PowerLead] = []
    facing: list[PowerLead] = []
    for wire in links.wires:
        if "plus" in wire.cable.power.cuts:
            continue
        for giver, taker in ((wire.source, wire.sink), (wire.sink, wire.source)):
            source, sink = rail_at(rig, giver), rail_at(rig, taker)
            gives, _, either = _ways(rig, giver)
            lets_out, takes, joins = _ways(rig, taker)
            if source is None or sink is None or not gives:
                continue
            if takes:
                leads.append(PowerLead(wire, giver, taker, source, sink))
                if not (either and joins):
                    break
            elif lets_out and not either:
                facing.append(PowerLead(wire, giver, taker, source, sink))
                break
    return leads, facing


def _inside(unit: Unit, rail: Rail, feeds: dict[Plate, str]) -> list[tuple[Rail, Fed]]:
    """The rails that a rail feeds in its own unit: over regulators, and over plates if its input is active."""
    side = unit.model.power
    found = []
    for outlet in side.outlets:
        if outlet.either:
            here = next((port for port in outlet.either if side.rails[port] == rail[1]), None)
            if here is None or feeds.setdefault((unit.name, outlet.either[0]), here) != here:
                continue
        elif outlet.volts is None or side.rails[outlet.source] != rail[1]:
            continue
        if outlet.ports:
            through = None if outlet.either else outlet
            found.append(((unit.name, side.rails[outlet.ports[0]]), Fed(rail, (), through)))
    return found


def _over_leads(leads: list[PowerLead], rail: Rail) -> list[tuple[Rail, Fed]]:
    sinks: dict[Rail, list[PowerLead]] = {}
    for lead in leads:
        sinks.setdefault(lead.sink, []).append(lead)
    return [(sink, Fed(rail, tuple(found), None)) for sink, found in sinks.items()]


def _clashes(rails: dict[Rail, Fed], leads: list[PowerLead], facing: list[PowerLead]) -> list[Clash]:
    found = []
    first: dict[Rail, PowerLead] = {}
    for lead in leads:
        if lead.source in rails and all(fed.wire is not lead.wire for fed in rails[lead.source].leads):
            before = first.setdefault(lead.sink, lead)
            joined = rails[lead.sink].leads
            if before.source != lead.source and not (lead in joined and before in joined):
                found.append(Clash(lead, before))
    found += [Clash(lead, None) for lead in facing if lead.source in rails and lead.sink in rails]
    return found
