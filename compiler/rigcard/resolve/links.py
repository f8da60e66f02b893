"""Follows every channel from its handset through receiver, cable and port to the inputs that listen to it."""

from fractions import Fraction
from typing import NamedTuple

from rigcard.resolve.model import Cable, End, Input, InputSource, Leg, Rig, Unit


class Wire(NamedTuple):
    """A cable leg seen along its signal: from an output to an input."""

    cable: Cable
    leg: Leg
    source: End
    sink: End


class Feed(NamedTuple):
    """One input, as set on its unit, listening to one channel. `turned`: the head reverses it; `flipped`: its
    mounting does."""

    handset: str
    channel: str
    wire: Wire
    unit: str
    input: Input
    turned: bool
    flipped: bool
    clear: Fraction | None  # degrees that the axis may turn unasked


class CommandLink(NamedTuple):
    """A lead over which one unit sends commands to another."""

    wire: Wire
    sender: str
    receiver: str


class Links(NamedTuple):
    """All wires, feeds and orders of a rig."""

    wires: tuple[Wire, ...]
    feeds: tuple[Feed, ...]
    command_links: tuple[CommandLink, ...]
    by_handset: dict[str, list[Feed]]
    by_channel: dict[tuple[str, str], list[Feed]]  # by handset and channel
    by_sender: dict[str, list[CommandLink]]

    def feeds_from(self, handset: str) -> list[Feed]:
        """The inputs that listen to a handset."""
        return self.by_handset.get(handset, [])

    def feeds_of(self, handset: str, channel: str) -> list[Feed]:
        """The inputs that listen to a channel."""
        return self.by_channel.get((handset, channel), [])

    def command_links_from(self, unit: str) -> list[CommandLink]:
        """The leads over which a unit sends commands."""
        return self.by_sender.get(unit, [])


def trace(rig: Rig) -> Links:
    """The links of a rig. Legs that lack an end or join two outputs carry nothing here; rules report them."""
    wires = tuple(_wires(rig))
    feeds = [feed for wire in wires for feed in _feeds(rig, wire)]
    command_links = tuple(
        CommandLink(wire, wire.source.unit, wire.sink.unit)
        for wire in wires
        if rig.signal_at(wire.source).kind == "commands"
    )
    by_handset: dict[str, list[Feed]] = {}
    by_channel: dict[tuple[str, str], list[Feed]] = {}
    for feed in feeds:
        by_handset.setdefault(feed.handset, []).append(feed)
        by_channel.setdefault((feed.handset, feed.channel), []).append(feed)
    by_sender: dict[str, list[CommandLink]] = {}
    for order in command_links:
        by_sender.setdefault(order.sender, []).append(order)
    return Links(
        wires=wires,
        feeds=tuple(feeds),
        command_links=command_links,
        by_handset=by_handset,
        by_channel=by_channel,
        by_sender=by_sender,
    )


def power_leads(rig: Rig, links: Links) -> dict[str, list[Wire]]:
    """The leads for power into each unit, as they are plugged; signal leads that feed something are not among them."""
    found: dict[str, list[Wire]] = {}
    for wire in links.wires:
        if rig.signal_at(wire.sink).kind == "power":
            found.setdefault(wire.sink.unit, []).append(wire)
    return found


def handset_behind(rig: Rig, unit: Unit) -> Unit | None:
    """The handset that a receiver is bound to."""
    handset = rig.units.get(unit.bound_to or "")
    return handset if handset and handset.role == "handset" else None


def _wires(rig: Rig) -> list[Wire]:
    wires = []
    for cable in rig.cables.values():
        for leg in cable.legs:
            if leg.second is None:
                continue
            directions = rig.port(leg.first).direction, rig.port(leg.second).direction
            if directions == ("out", "in"):
                wires.append(Wire(cable, leg, leg.first, leg.second))
            elif directions == ("in", "out"):
                wires.append(Wire(cable, leg, leg.second, leg.first))
    return wires


def _feeds(rig: Rig, wire: Wire) -> list[Feed]:
    receiver, listener = rig.units[wire.source.unit], rig.units[wire.sink.unit]
    handset = handset_behind(rig, receiver)
    if handset is None or rig.port(wire.source).signal != rig.port(wire.sink).signal:
        return []
    pin_channel = rig.port(wire.source).channel
    feeds = []
    for known in listener.model.inputs.values():
        if known.port != wire.sink.port:
            continue
        source = listener.sources.get(known.name)
        flipped = bool(listener.underslung) and known.name in listener.model.flips
        for channel in handset.channels.values():
            carried = (
                channel.number == pin_channel
                if rig.signal_at(wire.source).kind == "servo"
                else source is not None and source.channel == channel.name
            )
            if carried:
                turned = source is not None and source.reversed
                clear = source.clear if source else None
                heard_by = _as_set(known, source)
                feeds.append(
                    Feed(
                        handset=handset.name,
                        channel=channel.name,
                        wire=wire,
                        unit=listener.name,
                        input=heard_by,
                        turned=turned,
                        flipped=flipped,
                        clear=clear,
                    )
                )
    return feeds


def _as_set(known: Input, source: InputSource | None) -> Input:
    """The input of a model with what the menu of its unit changes."""
    if source is None or known.sweep is None or not (source.full or source.dead is not None):
        return known
    dead = known.sweep.dead if source.dead is None else source.dead
    return known._replace(sweep=known.sweep._replace(dead=dead, full=source.full or known.sweep.full))
