"""Follows power from every source over leads and through units. Only a rig with a source is followed.

A rail is what is joined inside a unit: its ports of one voltage. Power enters a rail by a lead, by a regulator of the
same unit, or it is a source's own. A lead brings power where one of its ends lets power out and the other takes it in,
whichever way its signal goes: a receiver may be fed over its own output.
"""

from typing import NamedTuple

from rigcard.resolve.links import Links, Wire
from rigcard.resolve.model import End, Rig, Unit
from rigcard.resolve.power_side import Outlet, Supply

Rail = tuple[str, str]  # unit, first port of the rail


class PowerLead(NamedTuple):
    """A lead over which power can go, from the port `giver` to the port `taker`."""

    wire: Wire
    giver: End
    taker: End
    source: Rail
    sink: Rail


class Clash(NamedTuple):
    """Two feeds that meet: a lead, and the lead (or None: the unit's own source) that feeds the rail already."""

    lead: PowerLead
    other: PowerLead | None


class Fed(NamedTuple):
    """How power comes to a rail: from `parent` by `leads`, or by `regulator`; a source's own rail has no parent."""

    parent: Rail | None
    leads: tuple[PowerLead, ...]
    regulator: Outlet | None


class Feeding(NamedTuple):
    """The rails that a source reaches, parents before children, and the feeds that fight each other."""

    rails: dict[Rail, Fed]
    children: dict[Rail, list[Rail]]  # the rails that a rail feeds
    clashes: tuple[Clash, ...]

    def source_of(self, rail: Rail) -> Rail:
        """The rail of the source behind a rail."""
        while (parent := self.rails[rail].parent) is not None:
            rail = parent
        return rail


def has_source(rig: Rig) -> bool:
    """Whether the rig speaks of power at all: without a source nothing is followed, and the cover says so."""
    return any(unit.model.power.supply for unit in rig.units.values())


def rail_at(rig: Rig, end: End) -> Rail | None:
    """The rail of a port."""
    rail = rig.units[end.unit].model.power.rails.get(end.port)
    return (end.unit, rail) if rail else None


def follow(rig: Rig, links: Links) -> Feeding:
    """Where power goes."""
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
    children: dict[Rail, list[Rail]] = {}
    for rail in waiting:  # grows while it is walked
        for child, fed in [*_inside(rig.units[rail[0]], rail), *_over_leads(leaving.get(rail, []), rail)]:
            if child not in rails:
                rails[child] = fed
                children.setdefault(rail, []).append(child)
                waiting.append(child)
    return Feeding(rails, children, tuple(_clashes(rails, leads, facing)))


def own_rail(unit: Unit, supply: Supply) -> Rail:
    """The rail of a source."""
    return unit.name, unit.model.power.rails[supply.ports[0]]


def _leads(rig: Rig, links: Links) -> tuple[list[PowerLead], list[PowerLead]]:
    """Leads that bring power, and leads both of whose ends let power out."""
    leads: list[PowerLead] = []
    facing: list[PowerLead] = []
    for wire in links.wires:
        if "plus" in wire.cable.power.cuts:
            continue
        ends = [(wire.source, wire.sink), (wire.sink, wire.source)]
        for giver, taker in ends:
            source, sink = rail_at(rig, giver), rail_at(rig, taker)
            if source is None or sink is None or giver.port not in rig.units[giver.unit].model.power.gives:
                continue
            side = rig.units[taker.unit].model.power
            if taker.port in side.takes:
                leads.append(PowerLead(wire, giver, taker, source, sink))
                break
            if taker.port in side.gives:
                facing.append(PowerLead(wire, giver, taker, source, sink))
                break
    return leads, facing


def _inside(unit: Unit, rail: Rail) -> list[tuple[Rail, Fed]]:
    side = unit.model.power
    return [
        ((unit.name, side.rails[outlet.ports[0]]), Fed(rail, (), outlet))
        for outlet in side.outlets
        if outlet.volts is not None and side.rails[outlet.source] == rail[1]
    ]


def _over_leads(leads: list[PowerLead], rail: Rail) -> list[tuple[Rail, Fed]]:
    sinks: dict[Rail, list[PowerLead]] = {}
    for lead in leads:
        sinks.setdefault(lead.sink, []).append(lead)
    return [(sink, Fed(rail, tuple(found), None)) for sink, found in sinks.items()]


def _clashes(rails: dict[Rail, Fed], leads: list[PowerLead], facing: list[PowerLead]) -> list[Clash]:
    found = []
    first: dict[Rail, PowerLead] = {}
    for lead in leads:
        if lead.source in rails:
            before = first.setdefault(lead.sink, lead)
            if before.source != lead.source:
                found.append(Clash(lead, before))
    found += [Clash(lead, None) for lead in facing if lead.source in rails and lead.sink in rails]
    return found
