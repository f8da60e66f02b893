"""Rules on inputs: what feeds them, and where their commands go."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.links import Origin, Wire, handset_behind, left_unsaid, origin, plugged_into
from rigcard.resolve.model import Unit
from rigcard.words import listed, listed_or


@rule("RC311", Severity.ERROR)
def input_without_source(facts: Facts) -> Iterator[Finding]:
    """
    Reports: an input that no channel reaches and that is not declared unused.
    Why: a forgotten lead and a lead left off on purpose look the same on the bench; the file must tell them apart.
    Bad: unit bridge is bridge-3 "Bridge", with a lead to one of its three sockets
    Good: unit bridge is bridge-3 "Bridge" { unused iris, tools }
    """
    rig = facts.rig
    handsets = [unit.name for unit in rig.units.values() if unit.role == "handset"]
    plugged = plugged_into(facts.links)
    behind: dict[
        tuple[str, str], list[tuple[str, str]]
    ] = {}  # inputs by the empty socket of what passes on to them
    for (name, port), names in dry_inputs(facts).items():
        unit, begins = rig.units[name], origin(rig, plugged, name, port)
        if begins.kind == "open" and begins.lead:
            behind.setdefault((begins.unit, begins.port), []).extend((name, known) for known in names)
        elif begins.kind != "receiver":
            yield _no_beginning(facts, unit, port, names, begins, (name, *handsets))
        elif rig.signals[unit.model.ports[port].signal].kind != "channels":
            assert begins.lead is not None
            yield _unused_pin(facts, begins.lead, f"{name}.{port}", names, (name, *handsets))
        else:
            for known in names:
                asked = unit.sources.get(known)
                handset = handset_behind(rig, rig.units[begins.unit])
                if asked and handset and asked.channel not in handset.channels:
                    continue  # told by unknown_source_channel
                yield Finding(
                    unit.span,
                    f"no channel reaches input `{known}` of `{name}`",
                    f"write `input {known} from CHANNEL` or `unused {known}` in its block",
                    units=(name,),
                )
    for (name, port), dry in behind.items():
        inputs = listed([f"`{known}` of `{unit}`" for unit, known in dry])
        yield Finding(
            rig.units[name].span,
            f"nothing is plugged into `{name}.{port}`, which passes on what others listen to, so no channel reaches "
            f"{inputs}",
            f"add a cable leg `RECEIVER.PIN to {name}.{port}`",
            units=(*dict.fromkeys(unit for unit, _ in dry), *handsets),
        )


def dry_inputs(facts: Facts) -> dict[tuple[str, str], list[str]]:
    """The inputs that no channel reaches and that are not declared unused, by unit and port: one lead left off is one
    fault."""
    fed = {(feed.unit, feed.input.name) for feed in facts.links.feeds}
    dry: dict[tuple[str, str], list[str]] = {}
    for unit in facts.rig.units.values():
        for known in unit.model.inputs.values():
            if (unit.name, known.name) not in fed and known.name not in unit.unused:
                dry.setdefault((unit.name, known.port), []).append(known.name)
    return dry


def _no_beginning(
    facts: Facts, unit: Unit, port: str, names: list[str], begins: Origin, units: tuple[str, ...]
) -> Finding:
    """What comes into a port does not come from a receiver: which lead or which line of a model is missing."""
    here, there = f"{unit.name}.{port}", f"{begins.unit}.{begins.port}"
    inputs = f"so no channel reaches {listed([f'`{name}`' for name in names])}"
    behind = f"{inputs} of `{unit.name}`"
    if begins.kind == "open":
        return Finding(
            unit.span,
            f"nothing is plugged into `{here}`, {inputs}",
            f"add a cable leg `RECEIVER.PIN to {here}`, or write `unused {', '.join(names)}`",
            units=units,
        )
    assert begins.lead is not None
    if begins.kind == "ring":
        return Finding(
            begins.lead.source.span,
            f"what comes into `{here}` goes round in a ring, {behind}",
            f"move the plug in `{there}` to the lead that comes from the receiver",
            units=units,
        )
    sender = facts.rig.units[begins.unit]
    signal = sender.model.ports[begins.port].signal
    taking = [
        known.name
        for known in sender.model.ports.values()
        if known.direction == "in" and known.signal == signal
    ]
    return Finding(
        begins.lead.source.span,
        f"nobody says what leaves by `{there}`, {behind}",
        f"write `passes {taking[0]} to {begins.port}` in model `{sender.model.name}`"
        if taking
        else f"plug the lead {begins.lead.leg.id} into a receiver in place of `{there}`, which takes no `{signal}`",
        (Related(sender.model.span, "its model"),),
        units,
    )


def _unused_pin(facts: Facts, wire: Wire, port: str, names: list[str], units: tuple[str, ...]) -> Finding:
    """A plug on a pin whose channel the handset does not use: most often the next pin was meant."""
    rig = facts.rig
    pin = rig.port(wire.source)
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
        f"handset uses, so {listed([f'`{name}`' for name in names])} {'have' if len(names) > 1 else 'has'} no source",
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
                f"`{feed.channel}` reaches it over {feed.last.leg.id}",
                f"remove `unused {feed.input.name}` or the lead",
                units=(unit.name,),
            )


@rule("RC313", Severity.ERROR)
def commands_lead_nowhere(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a unit that turns levels into commands and has no lead at the port that these leave by.
    Why: the switch moves, the adapter decides, and the camera never hears of it.
    Bad: a bridge with wired inputs and an empty camera socket
    Good: cable S04 "Bridge to camera" { bridge.camera to cam.control ... }
    """
    told: set[tuple[str, str]] = set()
    for feed in facts.links.feeds:
        unit = facts.rig.units[feed.unit]
        for port in feed.input.sends:
            if (unit.name, port) in told or (unit.name, port) in facts.links.by_port:
                continue
            told.add((unit.name, port))
            yield Finding(
                unit.span,
                f"`{unit.name}` sends commands, and no cable leaves its port `{port}`",
                f"add a cable with `{unit.name}.{port} to CAMERA.PORT`",
                units=(unit.name, *_listeners(facts)),
            )


@rule("RC376", Severity.ERROR, tier=0)
def leads_in_ring(facts: Facts) -> Iterator[Finding]:
    """
    Reports: leads that form a ring through units that pass a signal on.
    Why: each of them waits for the others; nothing ever comes in, and all of them look plugged.
    Bad: m1.thru to m2.bus and m2.thru to m1.bus
    Good: box.out to m1.bus and m1.thru to m2.bus
    """
    rig, plugged = facts.rig, plugged_into(facts.links)
    told: set[str] = set()
    told_rings: set[str] = set()
    for wire in facts.links.wires:
        begins = origin(rig, plugged, wire.sink.unit, wire.sink.port)
        if begins.kind != "ring" or begins.lead is None or wire.leg.id in told:
            continue
        around: list[Wire] = []
        unit, port = begins.unit, begins.port
        while not around or (unit, port) != (begins.unit, begins.port):
            lead = plugged[unit, port]
            around.append(lead)
            unit, port = lead.source.unit, rig.units[lead.source.unit].model.passed[lead.source.port]
        ids = [lead.leg.id for lead in around]
        told.update((*ids, wire.leg.id))
        if told_rings.isdisjoint(ids):
            told_rings.update(ids)
            first = around[-1]
            yield Finding(
                first.source.span,
                f"{listed(ids[::-1])} go round in a ring, so nothing comes into it"
                if len(ids) > 1
                else f"{ids[0]} brings `{first.source.unit}` its own signal, so nothing comes into it",
                f"plug {first.leg.id} into the unit that the signal comes from, in place of `{first.source.unit}."
                f"{first.source.port}`",
                units=tuple(dict.fromkeys(lead.source.unit for lead in around)),
            )


@rule("RC384", Severity.WARNING, tier=0)
def output_says_nothing(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead of commands or picture from an output whose model takes such a signal and does not pass it on.
    Why: nothing behind a splitter hears anything until its model says what leaves by its sockets.
    Bad: port in in key-line; port a, b out key-line, without a `passes` line
    Good: port in in key-line; port a, b out key-line; passes in to a, b
    """
    for wire in facts.links.wires:
        sender = facts.rig.units[wire.source.unit]
        kind = facts.rig.signal_at(wire.source).kind
        if kind not in ("commands", "picture") or (kind == "picture" and sender.role == "camera"):
            continue  # the picture of a camera is its own; channels are told by the inputs that lack them
        if taking := left_unsaid(facts.rig, wire.source):
            yield Finding(
                wire.source.span,
                f"nobody says what leaves by `{sender.name}.{wire.source.port}`, so `{wire.sink.unit}` gets no {kind} "
                f"over {wire.leg.id}",
                f"write `passes {taking} to {wire.source.port}` in model `{sender.model.name}`",
                (Related(sender.model.span, "its model"),),
            )
