"""Follows channels from the handset over leads to the inputs that listen, and commands to the units that obey.

A channel goes through the receiver, over leads, and through the units that pass it on. A command goes from the
port by which it leaves to the units at the ends of its leads.
"""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from rigcard.resolve.model import SERVO, Cable, End, Input, InputSource, Leg, Rig, Unit
from rigcard.resolve.once import once_a_rig


class Wire(NamedTuple):
    """A cable leg in the direction of its signal: from an output to an input."""

    cable: Cable
    leg: Leg
    source: End
    sink: End


Route = tuple[Wire, ...]  # consecutive leads, each from the unit that passes on the signal of the lead before


class Feed(NamedTuple):
    """One input, with the settings of its unit, that listens to one channel. `turned`: the head reverses it;
    `flipped`: its mounting does. `route`: the leads from the receiver to it."""

    handset: str
    channel: str
    route: Route
    unit: str
    input: Input
    turned: bool
    flipped: bool
    clear: Fraction | None  # degrees that the axis may turn without being asked
    zero: Fraction = Fraction(0)  # the level that an input which learns its neutral treats as 0 %

    @property
    def pin(self) -> End:
        """The port by which the channel leaves the receiver."""
        return self.route[0].source

    @property
    def plug(self) -> End:
        """The port by which the channel enters the listening unit."""
        return self.route[-1].sink

    @property
    def last(self) -> Wire:
        """The lead that is plugged into the listening unit."""
        return self.route[-1]


class CommandLink(NamedTuple):
    """The leads over which one unit sends commands to another, from the port by which they leave."""

    route: Route
    sender: str
    receiver: str

    @property
    def port(self) -> End:
        """The port by which the commands leave."""
        return self.route[0].source

    @property
    def plug(self) -> End:
        """The port by which the commands enter the unit that obeys."""
        return self.route[-1].sink


class Links(NamedTuple):
    """All wires, feeds and command links of a rig."""

    wires: tuple[Wire, ...]
    feeds: tuple[Feed, ...]
    command_links: tuple[CommandLink, ...]
    by_handset: dict[str, list[Feed]]
    by_channel: dict[tuple[str, str], list[Feed]]  # by handset and channel
    by_port: dict[tuple[str, str], list[CommandLink]]  # by unit and port

    def feeds_from(self, handset: str) -> list[Feed]:
        """The inputs that listen to any channel of a handset."""
        return self.by_handset.get(handset, [])

    def feeds_of(self, handset: str, channel: str) -> list[Feed]:
        """The inputs that listen to one channel."""
        return self.by_channel.get((handset, channel), [])

    def orders_of(self, feed: Feed) -> list[CommandLink]:
        """The command links of an input, at the ports by which its commands leave."""
        return [link for port in feed.input.sends for link in self.by_port.get((feed.unit, port), [])]


def trace(rig: Rig) -> Links:
    """The links of a rig. Legs that lack an end or join two outputs carry nothing here; rules report them."""
    wires = tuple(_wires(rig))
    leaving: dict[tuple[str, str], list[Wire]] = {}
    for wire in wires:
        leaving.setdefault((wire.source.unit, wire.source.port), []).append(wire)
    feeds, command_links = [], []
    for wire in wires:
        if handset_behind(rig, rig.units[wire.source.unit]):
            feeds += [feed for route in routes_from(rig, leaving, wire) for feed in feeds_at(rig, route)]
        if begins_orders(rig, wire.source):
            command_links += [
                CommandLink(route, wire.source.unit, route[-1].sink.unit)
                for route in routes_from(rig, leaving, wire)
            ]
    return indexed(wires, feeds, command_links)


def with_feeds(links: Links, feeds: list[Feed]) -> Links:
    """The same links with other feeds."""
    return indexed(links.wires, feeds, links.command_links)


def indexed(wires: tuple[Wire, ...], feeds: Sequence[Feed], command_links: Sequence[CommandLink]) -> Links:
    """Wires, feeds and command links with all that finds them."""
    by_handset: dict[str, list[Feed]] = {}
    by_channel: dict[tuple[str, str], list[Feed]] = {}
    for feed in feeds:
        by_handset.setdefault(feed.handset, []).append(feed)
        by_channel.setdefault((feed.handset, feed.channel), []).append(feed)
    by_port: dict[tuple[str, str], list[CommandLink]] = {}
    for order in command_links:
        by_port.setdefault((order.sender, order.port.port), []).append(order)
    return Links(
        wires=wires,
        feeds=tuple(feeds),
        command_links=tuple(command_links),
        by_handset=by_handset,
        by_channel=by_channel,
        by_port=by_port,
    )


class Origin(NamedTuple):
    """The point where the signal of a port begins.

    `kind`: "receiver", a port of a receiver that is bound to a handset; "open", a port with no plug in it;
    "unsaid", an output whose model does not say what it gives; "ring", no beginning at all. `lead`: the first
    lead from that point; None if the port itself has no plug in it.
    """

    kind: str
    unit: str
    port: str
    lead: Wire | None


def plugged_into(links: Links) -> dict[tuple[str, str], Wire]:
    """The lead into each port, by unit and port; the first one if there are two."""
    found: dict[tuple[str, str], Wire] = {}
    for wire in links.wires:
        found.setdefault((wire.sink.unit, wire.sink.port), wire)
    return found


def origin(rig: Rig, plugged: dict[tuple[str, str], Wire], unit: str, port: str) -> Origin:
    """Follow the signal of a port back to its origin."""
    lead = None
    been: set[tuple[str, str]] = set()
    while (unit, port) not in been:
        been.add((unit, port))
        wire = plugged.get((unit, port))
        if wire is None:
            return Origin("open", unit, port, lead)
        lead, sender = wire, rig.units[wire.source.unit]
        source = sender.model.passed.get(wire.source.port)
        if handset_behind(rig, sender) and source is None:
            return Origin("receiver", sender.name, wire.source.port, lead)
        if source is None:
            return Origin("unsaid", sender.name, wire.source.port, lead)
        unit, port = sender.name, source
    return Origin("ring", unit, port, lead)


def line_to(rig: Rig, plugged: dict[tuple[str, str], Wire], wire: Wire) -> Route:
    """The leads of a signal up to and with one, from where it begins, through the units that pass it on."""
    way = [wire]
    while source := rig.units[way[0].source.unit].model.passed.get(way[0].source.port):
        before = plugged.get((way[0].source.unit, source))
        if before is None or before in way:
            break
        way.insert(0, before)
    return tuple(way)


def left_unsaid(rig: Rig, end: End) -> str | None:
    """The input whose signal an output most likely passes on, where its model does not say so; None if it does, if
    the output speaks for itself, or if no input takes its signal."""
    model = rig.units[end.unit].model
    signal = rig.port(end).signal
    if end.port in model.passed or any(end.port in known.sends for known in model.inputs.values()):
        return None
    return next(
        (port.name for port in model.ports.values() if (port.direction, port.signal) == ("in", signal)), None
    )


def obeying(rig: Rig, links: Links, feed: Feed) -> list[CommandLink]:
    """The command links of an input whose last unit obeys at least one of its commands."""
    return [
        order
        for order in links.orders_of(feed)
        if not rig.units[order.receiver].commands.keys().isdisjoint(feed.input.commands)
    ]


def power_leads(rig: Rig, links: Links) -> dict[str, list[Wire]]:
    """The power leads into each unit, according to the directions of their ports. A lead whose signal does not
    include power is left out, even if it powers a unit."""
    found: dict[str, list[Wire]] = {}
    for wire in links.wires:
        if rig.signal_at(wire.sink).powers:
            found.setdefault(wire.sink.unit, []).append(wire)
    return found


def handset_behind(rig: Rig, unit: Unit) -> Unit | None:
    """The handset to which a receiver is bound."""
    handset = rig.units.get(unit.bound_to or "")
    return handset if handset and handset.role == "handset" else None


def bound_receivers(rig: Rig, handset: Unit) -> list[Unit]:
    """The receivers that are bound to a handset."""
    return _receivers(rig).get(handset.name, [])


@once_a_rig
def _receivers(rig: Rig) -> dict[str, list[Unit]]:
    found: dict[str, list[Unit]] = {}
    for unit in rig.units.values():
        if unit.role == "receiver" and unit.bound_to:
            found.setdefault(unit.bound_to, []).append(unit)
    return found


@once_a_rig
def _leg_at(links: Links) -> dict[tuple[str, str], Leg]:
    return {(wire.source.unit, wire.source.port): wire.leg for wire in links.wires}


def leaving_by(rig: Rig, links: Links, handset: Unit, channel: int) -> list[tuple[End, Leg | None]]:
    """The servo pins by which a channel leaves the receivers of a handset, each with the leg that is plugged in."""
    plugged = _leg_at(links)
    return [
        (End(unit.name, port.name, port.span), plugged.get((unit.name, port.name)))
        for unit in bound_receivers(rig, handset)
        for port in unit.model.ports.values()
        if port.channel == channel and rig.signals[port.signal].kind == SERVO
    ]


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


def begins_orders(rig: Rig, end: End) -> bool:
    """Whether commands begin at a port instead of passing through the unit; an input may declare both."""
    if rig.signal_at(end).kind != "commands":
        return False
    model = rig.units[end.unit].model
    return end.port not in model.passed or any(end.port in known.sends for known in model.inputs.values())


def routes_from(rig: Rig, leaving: Mapping[tuple[str, str], list[Wire]], first: Wire) -> Iterator[Route]:
    """The routes of a signal from a lead on, through every unit that passes it: one for each port it reaches.

    A route ends at a lead between two different signals, and at a port that another route has reached (a ring,
    or two leads into one port).
    """
    waiting: list[Route] = [(first,)]
    come_to: set[tuple[str, str]] = set()
    for route in waiting:  # the loop extends this list
        plug = route[-1].sink
        if (plug.unit, plug.port) in come_to or rig.port(route[-1].source).signal != rig.port(plug).signal:
            continue
        come_to.add((plug.unit, plug.port))
        yield route
        for port, source in rig.units[plug.unit].model.passed.items():
            if source == plug.port:
                waiting += [(*route, wire) for wire in leaving.get((plug.unit, port), [])]


class Plug(NamedTuple):
    """One plugged end of a lead: the number of its cable in the order of the file, and the other end if it has one."""

    at: int
    cable: Cable
    leg: Leg
    end: End
    other: End | None


@once_a_rig
def plugs(rig: Rig) -> dict[str, list[Plug]]:
    """The plugs at each unit."""
    found: dict[str, list[Plug]] = {}
    for at, cable in enumerate(rig.cables.values()):
        for leg in cable.legs:
            for end, other in ((leg.first, leg.second), (leg.second, leg.first)):
                if end:
                    found.setdefault(end.unit, []).append(Plug(at, cable, leg, end, other))
    return found


@once_a_rig
def commanding(links: Links) -> dict[str, list[Feed]]:
    """The feeds whose commands reach each unit."""
    found: dict[str, list[Feed]] = {}
    for feed in links.feeds:
        for receiver in dict.fromkeys(order.receiver for order in links.orders_of(feed)):
            found.setdefault(receiver, []).append(feed)
    return found


def feeds_at(rig: Rig, route: Route) -> list[Feed]:
    """The inputs that listen at the end of a route."""
    pin, plug = route[0].source, route[-1].sink
    handset = handset_behind(rig, rig.units[pin.unit])
    assert handset is not None
    listener = rig.units[plug.unit]
    servo, pin_channel = rig.signal_at(pin).kind == "servo", rig.port(pin).channel
    feeds = []
    for known in listener.model.inputs.values():
        if known.port != plug.port:
            continue
        source = listener.sources.get(known.name)
        for channel in handset.channels.values():
            carried = (
                channel.number == pin_channel
                if servo
                else source is not None and source.channel == channel.name
            )
            if carried:
                feeds.append(
                    Feed(
                        handset=handset.name,
                        channel=channel.name,
                        route=route,
                        unit=listener.name,
                        input=_as_set(known, source),
                        turned=source is not None and source.reversed,
                        flipped=bool(listener.underslung) and known.name in listener.model.flips,
                        clear=source.clear if source else None,
                    )
                )
    return feeds


def _as_set(known: Input, source: InputSource | None) -> Input:
    """The input of a model after the settings in its unit's menu."""
    if source is None or known.sweep is None or not (source.full or source.dead is not None):
        return known
    dead = known.sweep.dead if source.dead is None else source.dead
    return known._replace(sweep=known.sweep._replace(dead=dead, full=source.full or known.sweep.full))
