"""Rules on inputs: what feeds them, and where their commands go."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Severity
from rigcard.resolve.links import Wire, handset_behind
from rigcard.words import listed, listed_or


@rule("RC311", Severity.ERROR)
def input_without_source(facts: Facts) -> Iterator[Finding]:
    """
    Reports: an input that no channel reaches and that is not declared unused.
    Why: a forgotten lead and a lead left off on purpose look the same on the bench; the file must tell them apart.
    Bad: unit bridge is bridge-3 "Bridge", with a lead to one of its three sockets
    Good: unit bridge is bridge-3 "Bridge" { unused iris, tools }
    """
    fed = {(feed.unit, feed.input.name) for feed in facts.links.feeds}
    claimed = {  # an input that names an unknown channel is reported by unknown_source_channel
        (wire.sink.unit, name)
        for wire in facts.links.wires
        for name in facts.rig.units[wire.sink.unit].sources
        if facts.rig.units[wire.sink.unit].model.inputs[name].port == wire.sink.port
    }
    plugged = {(wire.sink.unit, wire.sink.port): wire for wire in facts.links.wires}
    handsets = [unit.name for unit in facts.rig.units.values() if unit.role == "handset"]
    for unit in facts.rig.units.values():
        dry: dict[str, list[str]] = {}  # by port: one lead left off is one fault
        for known in unit.model.inputs.values():
            key = (unit.name, known.name)
            if key not in fed and key not in claimed and known.name not in unit.unused:
                dry.setdefault(known.port, []).append(known.name)
        for port, names in dry.items():
            many = facts.rig.signals[unit.model.ports[port].signal].kind == "channels"
            if (unit.name, port) in plugged and many:
                for name in names:
                    yield Finding(
                        unit.span,
                        f"no channel reaches input `{name}` of `{unit.name}`",
                        f"write `input {name} from CHANNEL` or `unused {name}` in its block",
                        units=(unit.name,),
                    )
            elif wire := plugged.get((unit.name, port)):
                yield _unused_pin(facts, wire, names, (unit.name, *handsets))
            else:
                inputs = listed([f"`{name}`" for name in names])
                yield Finding(
                    unit.span,
                    f"nothing is plugged into `{unit.name}.{port}`, so no channel reaches {inputs}",
                    f"add a cable leg `RECEIVER.PIN to {unit.name}.{port}`, or write `unused {', '.join(names)}`",
                    units=(unit.name, *handsets),
                )


def _unused_pin(facts: Facts, wire: Wire, names: list[str], units: tuple[str, ...]) -> Finding:
    """A plug on a pin whose channel the handset does not use: most often the next pin was meant."""
    rig = facts.rig
    pin, port = rig.port(wire.source), f"{wire.sink.unit}.{wire.sink.port}"
    handset = handset_behind(rig, rig.units[wire.source.unit])
    busy = {feed.channel for feed in facts.links.feeds}
    free = {
        channel.number: channel
        for channel in (handset.channels.values() if handset else ())
        if channel.name not in busy
    }
    meant = [
        f"{wire.source.unit}.{other.name} (channel `{free[other.channel].name}`)"
        for other in rig.units[wire.source.unit].model.ports.values()
        if other.channel in free
    ]
    return Finding(
        wire.source.span,
        f"`{port}` is on {wire.source.unit}.{pin.name}, channel {pin.channel or '?'}, which no channel of the "
        f"handset uses, so `{names[0]}` has no source",
        f"move the plug to {listed_or(meant)}"
        if meant
        else f"give the handset a channel {pin.channel or ''}".strip(),
        units=units,
    )


def _listeners(facts: Facts) -> tuple[str, ...]:
    """The units that could obey commands."""
    return tuple(
        unit.name
        for unit in facts.rig.units.values()
        for port in unit.model.ports.values()
        if port.direction == "in" and facts.rig.signals[port.signal].kind == "commands"
    )


@rule("RC312", Severity.ERROR)
def unused_input_is_fed(facts: Facts) -> Iterator[Finding]:
    """
    Reports: an input declared unused that a channel reaches.
    Why: the card would say that the socket stays empty while the label says what goes into it.
    Bad: unused iris, and a lead from a receiver pin to the iris socket
    Good: the lead, and no `unused iris`
    """
    for feed in facts.links.feeds:
        unit = facts.rig.units[feed.unit]
        if feed.input.name in unit.unused:
            yield Finding(
                unit.span,
                f"input `{feed.input.name}` of `{unit.name}` is declared unused, and channel "
                f"`{feed.channel}` reaches it over {feed.wire.leg.id}",
                f"remove `unused {feed.input.name}` or the lead",
                units=(unit.name,),
            )


@rule("RC313", Severity.ERROR)
def commands_lead_nowhere(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a unit that turns levels into commands and has no lead to send them over.
    Why: the switch moves, the adapter decides, and the camera never hears of it.
    Bad: a bridge with wired inputs and an empty camera socket
    Good: cable S04 "Bridge to camera" { bridge.camera to cam.control ... }
    """
    fed = {feed.unit for feed in facts.links.feeds}
    for unit in facts.rig.units.values():
        senders = [
            port.name
            for port in unit.model.ports.values()
            if port.direction == "out" and facts.rig.signals[port.signal].kind == "commands"
        ]
        if unit.name in fed and senders and not facts.links.command_links_from(unit.name):
            yield Finding(
                unit.span,
                f"`{unit.name}` makes commands, and no cable leaves its port `{senders[0]}`",
                f"add a cable with `{unit.name}.{senders[0]} to CAMERA.PORT`",
                units=(unit.name, *_listeners(facts)),
            )
