"""The parts on which an input depends: controls, channels, handset, receiver, cables, sources of power."""

from __future__ import annotations

from rigcard.resolve.links import Links, power_leads
from rigcard.resolve.model import Rig, Unit

Part = tuple[str, str]  # kind, name


def behind(rig: Rig, links: Links, unit: str, input_name: str) -> dict[Part, None]:
    """Everything on which an input depends, from the control to its own unit, then what powers these parts."""
    parts: dict[Part, None] = {}
    powered = [unit]
    for feed in links.feeds:
        if (feed.unit, feed.input.name) != (unit, input_name):
            continue
        handset = rig.units[feed.handset]
        sources = [feed.channel, *(mix.source for mix in handset.mixes if mix.target == feed.channel)]
        for source in sources:
            parts["control", f"{handset.name}.{handset.channels[source].control}"] = None
        parts["channel", f"{handset.name}.{feed.channel}"] = None
        parts["handset", handset.name] = None
        for wire in feed.route:
            parts[part_of(rig.units[wire.source.unit])] = None
            parts["cable", wire.cable.name] = None
            powered.append(wire.source.unit)
        powered.append(handset.name)
    parts[part_of(rig.units[unit])] = None
    bringing = _bringing(rig, links)
    for name in powered:  # the loop extends this list
        for cable, giver in bringing.get(name, ()):
            parts["cable", cable] = None
            parts[part_of(rig.units[giver])] = None
            if giver not in powered:
                powered.append(giver)
    return parts


def part_of(unit: Unit) -> Part:
    """A unit as a part: `receiver`, `adapter`; `unit` for the role `other`, which names no device."""
    return (unit.role if unit.role != "other" else "unit", unit.name)


def _bringing(rig: Rig, links: Links) -> dict[str, list[tuple[str, str]]]:
    """The cables that power each unit and the units that give the power, over power and signal leads."""
    from rigcard.resolve.feeding import follow, has_source  # only a rig that uses `independent` needs it

    found = {
        unit: [(wire.cable.name, wire.source.unit) for wire in wires]
        for unit, wires in power_leads(rig, links).items()
    }
    if has_source(rig):
        for fed in follow(rig, links).rails.values():
            for lead in fed.leads:
                found.setdefault(lead.taker.unit, []).append((lead.wire.cable.name, lead.giver.unit))
    return found


def shared(rig: Rig, links: Links, first: tuple[str, str], second: tuple[str, str]) -> list[Part]:
    """The parts on which two inputs (unit, input) both depend."""
    others = behind(rig, links, *second)
    return [part for part in behind(rig, links, *first) if part in others]
