"""Finds the parts that each function needs, along the signal and the power, and so what dies together.

A function is an input together with the units that obey it. A part counts only if the function is dead without
it: if several leads bring power in parallel, no single lead counts, but all of them together do.
"""

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.resolve.feeding import Rail
from rigcard.resolve.links import CommandLink, Feed, Route, obeying, power_leads
from rigcard.resolve.model import Unit
from rigcard.solve.levels import mixers
from rigcard.solve.power.result import Power
from rigcard.solve.solved import Solved

Function = tuple[str, str]  # unit, input


class Part(NamedTuple):
    """A part that functions need. `name` identifies it in the words of the file, by kind:

    control, channel: handset and name; unit: its name; pin: unit and port; lead: leg; plus: leg that brings
    power; feed: the unit that parallel leads power, then their legs; setting: unit and setting.
    """

    kind: str
    name: tuple[str, ...]


class Suspects(NamedTuple):
    """Functions that die together, in file order, and the parts that exactly these functions need."""

    functions: tuple[Function, ...]
    parts: tuple[Part, ...]


def dead_together(solved: Solved, feeds: Sequence[Feed]) -> list[Suspects]:
    """Each part is in one entry only, with exactly those of the functions that need it. The largest come first."""
    needed: dict[Part, dict[Function, None]] = {}
    for feed in feeds:
        for part in parts_of(solved, feed):
            needed.setdefault(part, {})[feed.unit, feed.input.name] = None
    rows: dict[frozenset[Function], list[Part]] = {}
    for part, functions in needed.items():
        rows.setdefault(frozenset(functions), []).append(part)
    order = list(dict.fromkeys((feed.unit, feed.input.name) for feed in feeds))
    found = [
        Suspects(tuple(function for function in order if function in functions), tuple(parts))
        for functions, parts in rows.items()
    ]
    return sorted(found, key=lambda row: (-len(row.functions), order.index(row.functions[0])))


def parts_of(solved: Solved, feed: Feed) -> list[Part]:
    """The parts that an input needs, from the control to the units that obey it, then their power."""
    rig = solved.rig
    handset = rig.units[feed.handset]
    channel = handset.channels[feed.channel]
    sources = [mix.source for mix in handset.mixes if mix.target == channel.name]
    orders = obeying(rig, solved.links, feed)
    passing = [wire.source.unit for way in (feed.route, *(order.route for order in orders)) for wire in way[1:]]
    units = [feed.pin.unit, feed.unit, *(order.receiver for order in orders), *passing]
    found = [Part("control", (handset.name, one.name)) for one in mixers(handset, channel)]
    found += [Part("channel", (handset.name, name)) for name in (channel.name, *sources)]
    found += [Part("unit", (handset.name,)), Part("unit", (feed.pin.unit,)), Part("pin", feed.pin[:2])]
    found += _along(feed.route)
    found += [
        *(Part("setting", (feed.unit, name)) for name in rig.units[feed.unit].settings),
    ]
    for order in orders:
        found += _along(order.route)
        found += [Part("setting", (order.receiver, name)) for name in _obeying(solved, feed, order)]
    for name in units:
        found += power_parts(solved, rig.units[name])
    return list(dict.fromkeys(found))


def _along(route: Route) -> list[Part]:
    """Every lead of a route, and the unit at its end: one that passes the signal on, or the last one."""
    return [part for wire in route for part in (Part("lead", (wire.leg.id,)), Part("unit", (wire.sink.unit,)))]


def _obeying(solved: Solved, feed: Feed, order: CommandLink) -> list[str]:
    """The settings that make a unit obey the commands of an input."""
    unit = solved.rig.units[order.receiver]
    found = []
    for command in (unit.commands[name] for name in feed.input.commands if name in unit.commands):
        found += [need.name for need in command.needs if need.value is not None]
        found += [command.does] if command.does else []
    return [name for name in dict.fromkeys(found) if name in unit.settings]


def power_parts(solved: Solved, unit: Unit) -> list[Part]:
    """The parts from the pack to the unit; only plain power leads if the models do not describe power."""
    power = solved.power
    side = unit.model.power
    rails = dict.fromkeys((unit.name, rail) for port, rail in side.rails.items() if port in side.takes)
    known = [rail for rail in rails if power and rail in power.feeding.rails]
    if power and known:
        return [part for rail in known for part in _above(power, rail)]
    found: list[Part] = []
    name, seen = unit.name, {unit.name}
    leads = power_leads(solved.rig, solved.links)
    while len(wires := leads.get(name, [])) == 1:
        wire = wires[0]
        name = wire.source.unit
        if name in seen:
            break
        seen.add(name)
        found += [Part("plus", (wire.leg.id,)), Part("unit", (name,))]
    return found[::-1]


def _above(power: Power, rail: Rail) -> list[Part]:
    """The parts above a rail, without its own unit: from the source, or from where several sources join."""
    found: list[Part] = []
    while (fed := power.feeding.rails[rail]).parent is not None:
        others = [way.rails[rail].parent for way in power.ways]
        inputs = list(dict.fromkeys(parent for parent in others if parent))
        if len(inputs) > 1:  # a plate: one of its inputs is enough
            legs = [lead.wire.leg.id for one in inputs for lead in power.feeding.rails[one].leads]
            found.append(Part("feed", (rail[0], *legs)))
            break
        ids = tuple(lead.wire.leg.id for lead in fed.leads)
        if len(ids) == 1:
            found.append(Part("plus", ids))
        elif ids:
            found.append(Part("feed", (rail[0], *ids)))
        if len(fed.parents) > 1:
            break
        if fed.parent[0] != rail[0]:
            found.append(Part("unit", (fed.parent[0],)))
        rail = fed.parent
    return found[::-1]
