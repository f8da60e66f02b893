"""Rules on cables: ends, directions, signals, sizes."""

from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.reporting.suggest import one_of
from rigcard.resolve.links import Wire, handset_behind
from rigcard.resolve.model import Cable, End, Leg, Signal
from rigcard.words import baud, listed, millimetres, volts

THICKEST = 150  # mm of jacket
MOST_PORTS = 3  # of which a remedy names one


def joined_by(cable: Cable) -> tuple[str, ...]:
    """The units that a cable reaches."""
    return tuple(end.unit for leg in cable.legs for end in (leg.first, leg.second) if end)


def _all_units(facts: Facts) -> tuple[str, ...]:
    """A lead that goes nowhere may be the one that any unit lacks."""
    return tuple(facts.rig.units)


@rule("RC321", Severity.ERROR, tier=0)
def two_sources_into_port(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two leads in one port. Legs of one cable may leave by one output: they share its plug.
    Why: a socket takes one plug, and two outputs joined fight each other.
    Bad: rx.p5 to bridge.j3 and rx.p6 to bridge.j3
    Good: rx.p5 to bridge.j3 and rx.p6 to bridge.j1
    """
    taken: dict[tuple[str, str], tuple[End, Cable]] = {}
    twice: set[str] = set()  # cables of which both ends are in use by one other
    for cable in facts.rig.cables.values():
        for leg in cable.legs:
            for end in (leg.first, leg.second):
                if end is None or ((out := facts.rig.port(end).direction == "out") and _both_give(facts, leg)):
                    continue
                first, other = taken.setdefault((end.unit, end.port), (end, cable))
                if first is not end and not (out and other is cable) and cable.name not in twice:
                    same = other is not cable and _ends(cable) == _ends(other)
                    twice |= {cable.name} if same else set()
                    yield Finding(
                        end.span,
                        f"`{cable.name}` joins the same ports as `{other.name}`"
                        if same
                        else f"two leads {'leave by' if out else 'go into'} `{end.unit}.{end.port}`",
                        "remove one of the two" if same else _moved_plug(facts, end) or _other_port(facts, end),
                        (Related(first.span, "the first one"),),
                        joined_by(cable),
                    )


def _ends(cable: Cable) -> set[tuple[str, str]]:
    """The ports into which the plugs of a cable go."""
    return {(end.unit, end.port) for leg in cable.legs for end in (leg.first, leg.second) if end}


def _both_give(facts: Facts, leg: Leg) -> bool:
    """Whether a leg joins two outputs: told as that."""
    return (
        leg.second is not None and facts.rig.port(leg.first).direction == facts.rig.port(leg.second).direction
    )


def _moved_plug(facts: Facts, end: End) -> str:
    """Which of two leads out of one pin was meant for the free pin of a channel; "" if none was."""
    leaving = [
        wire for wire in facts.links.wires if (wire.source.unit, wire.source.port) == (end.unit, end.port)
    ]
    powers = facts.rig.signal_at(end).kind == "power"
    return "" if len(leaving) != 2 or powers else _free_pin(facts, leaving[0], leaving[1])


def _other_port(facts: Facts, end: End) -> str:
    """A free port of the same kind, if the unit has one."""
    port = facts.rig.port(end)
    used = {
        (found.unit, found.port)
        for cable in facts.rig.cables.values()
        for leg in cable.legs
        for found in (leg.first, leg.second)
        if found
    }
    free = [
        other.name
        for other in facts.rig.units[end.unit].model.ports.values()
        if (other.direction, other.signal) == (port.direction, port.signal)
        and (end.unit, other.name) not in used
    ]
    if free and port.channel is None:
        return f"move one of them to the free port `{end.unit}.{free[0]}`"
    return "move one of them to another port"


@rule("RC322", Severity.ERROR, tier=0)
def output_into_output(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a leg that joins two outputs.
    Why: two outputs on one wire fight each other and nothing listens.
    Bad: rx.p5 to bridge.camera
    Good: rx.p5 to bridge.j3
    """
    yield from _same_direction(
        facts, "out", "both ends are outputs, so nothing listens", "put one end into an input"
    )


@rule("RC323", Severity.ERROR, tier=0)
def input_into_input(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a leg that joins two inputs.
    Why: two inputs on one wire listen to silence.
    Bad: head.remote to bridge.j3
    Good: rx.bus to head.remote
    """
    yield from _same_direction(
        facts, "in", "both ends are inputs, so nothing sends", "put one end into an output"
    )


POWER_ENDS = {
    "out": (
        "both ends give power, so one source charges the other",
        "put one end into a unit that takes power",
    ),
    "in": ("both ends take power, so nothing feeds them", "put one end into a source, such as a pack"),
}


def _same_direction(facts: Facts, direction: str, cause: str, hint: str) -> Iterator[Finding]:
    for cable in facts.rig.cables.values():
        for leg in cable.legs:
            if leg.second is None:
                continue
            if facts.rig.port(leg.first).direction == facts.rig.port(leg.second).direction == direction:
                if {facts.rig.signal_at(end).kind for end in (leg.first, leg.second)} == {"power"}:
                    cause, hint = POWER_ENDS[direction]
                yield Finding(
                    leg.second.span,
                    f"leg {leg.id} joins `{leg.first.unit}.{leg.first.port}` and "
                    f"`{leg.second.unit}.{leg.second.port}`: {cause}",
                    hint,
                    (Related(leg.first.span, "the other end"),),
                    joined_by(cable),
                )


@rule("RC324", Severity.ERROR, tier=0)
def signal_mismatch(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a leg between two ports that do not speak the same signal.
    Why: the plugs may fit, but the device hears nothing or is damaged.
    Bad: rx.bus to bridge.j3, a serial line into a servo input
    Good: rx.p5 to bridge.j3
    """
    for wire in facts.links.wires:
        sent, heard = facts.rig.signal_at(wire.source), facts.rig.signal_at(wire.sink)
        if sent.name != heard.name:
            yield Finding(
                wire.sink.span,
                f"`{wire.source.unit}.{wire.source.port}` sends `{sent.name}`, and "
                f"`{wire.sink.unit}.{wire.sink.port}` takes `{heard.name}`{_differing(sent, heard)}",
                _same_signal(facts, wire, sent, heard),
                (Related(wire.source.span, "the sending end"),),
                joined_by(wire.cable),
            )


def _same_signal(facts: Facts, wire: Wire, sent: Signal, heard: Signal) -> str:
    """What to plug instead: a port of the same unit that takes what is sent, or a source of what is wanted."""
    taking, sending = _ports(facts, wire.sink, sent), _ports(facts, wire.source, heard)
    if taking:
        return f"write {one_of(taking)} in its place, which takes `{sent.name}`"
    if sending:
        other = f"{wire.source.unit}.{wire.source.port}"
        return f"write {one_of(sending)} in place of `{other}`, which sends `{heard.name}`"
    if sent.kind == heard.kind == "power":
        used = {(end.unit, end.port) for other in facts.links.wires for end in (other.source, other.sink)}
        free = [
            f"`{unit.name}.{port.name}`"
            for unit in facts.rig.units.values()
            for port in unit.model.ports.values()
            if port.direction == "out" and port.signal == heard.name and (unit.name, port.name) not in used
        ]
        source = facts.rig.units[wire.source.unit]
        for model in facts.rig.models.values():
            port = model.ports.get(wire.source.port)
            if not free and model.power.supply and port and port.signal == heard.name:
                return f"write `unit {source.name} is {model.name}` and take such a pack, which gives `{heard.name}`"
        return f"feed it from {f'{free[0]}, which' if free else 'a source that'} gives `{heard.name}`"
    return f"use a port that {'takes' if heard.kind == 'power' else 'speaks'} `{sent.name}`"


def _ports(facts: Facts, end: End, signal: Signal) -> list[str]:
    """A few ports of the same unit and direction as a plug that speak a signal."""
    direction = facts.rig.port(end).direction
    ports = facts.rig.units[end.unit].model.ports.values()
    found = [port.name for port in ports if port.direction == direction and port.signal == signal.name]
    return [f"{end.unit}.{name}" for name in found[:MOST_PORTS]]


def _differing(sent: Signal, heard: Signal) -> str:
    """What tells apart two serial lines that carry as many channels: why a plug that fits is not understood."""
    if sent.kind != "channels" or heard.kind != "channels":
        return ""
    pairs = {
        "channels": (str(sent.channels), str(heard.channels)),
        "rate": (baud(sent.serial.rate), baud(heard.serial.rate)),
        "polarity": (sent.serial.polarity, heard.serial.polarity),
        "logic": (volts(sent.serial.logic), volts(heard.serial.logic)),
    }
    told = [
        f"{what} ({ours or 'not stated'}, {theirs or 'not stated'})"
        for what, (ours, theirs) in pairs.items()
        if ours != theirs
    ]
    told += ["the code of a level"] if sent.counts != heard.counts else []
    return f"; they differ in {listed(told)}" if told else "; they differ in name only"


@rule("RC325", Severity.ERROR, tier=0)
def open_leg(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a cable leg that names one end only, or a cable without a leg.
    Why: a label says where the plug goes; this one would say nothing.
    Bad: cable S02 "Receiver to head" { rx.bus; length 600mm; jacket 3mm }
    Good: cable S02 "Receiver to head" { rx.bus to head.remote; length 600mm; jacket 3mm }
    """
    for cable in facts.rig.cables.values():
        if not cable.legs:
            yield Finding(
                cable.span,
                f"cable `{cable.name}` joins nothing",
                "add a leg such as `rx.bus to head.remote`",
                units=_all_units(facts),
            )
        for leg in cable.legs:
            if leg.second is None:
                yield Finding(
                    leg.first.span,
                    f"leg {leg.id} has one end, `{leg.first.unit}.{leg.first.port}`",
                    f"write where it goes: `{leg.first.unit}.{leg.first.port} to UNIT.PORT`",
                    units=_all_units(facts),
                )


@rule("RC326", Severity.ERROR)
def cable_without_size(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a cable without its length or the outside diameter of its jacket.
    Why: the length is printed on the label and picked from the shelf; the jacket decides the label's size.
    Bad: cable S02 "Receiver to head" { rx.bus to head.remote }
    Good: cable S02 "Receiver to head" { rx.bus to head.remote; length 600mm; jacket 3.2mm }
    """
    for cable in facts.rig.cables.values():
        missing = [
            example
            for value, example in ((cable.length, "length 600mm"), (cable.jacket, "jacket 3.2mm"))
            if not value
        ]
        if missing:
            what = " and ".join(example.split()[0] for example in missing)
            yield Finding(
                cable.span,
                f"cable `{cable.name}` has no {what}, so its labels cannot be made",
                f"measure it and add {' and '.join(f'`{example}`' for example in missing)}",
            )


@rule("RC327", Severity.ERROR)
def jacket_too_thin(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a jacket so thin that no label can be read on it: under 1.5 mm where a flag is not allowed.
    Why: a wrap holds one line of the smallest print from 1.5 mm on; flags flutter and snag on moving leads.
    Bad: jacket 0.8mm; moving
    Good: jacket 3mm; moving, with the lead in a sleeve of 3 mm
    """
    for cable in facts.rig.cables.values():
        if cable.jacket and cable.jacket < Fraction(3, 2) and (cable.moving or cable.airborne):
            yield Finding(
                cable.span,
                f"cable `{cable.name}` is {millimetres(cable.jacket)} thick and moves, so no label holds on it",
                "put it in a sleeve and state the diameter of the sleeve as its jacket",
            )


@rule("RC328", Severity.ERROR)
def jacket_too_thick(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a jacket of more than 150 mm.
    Why: no lead is that thick, and the film for its label would be longer than any sheet.
    Bad: jacket 320cm, where 3.2 mm was measured
    Good: jacket 3.2mm
    """
    for cable in facts.rig.cables.values():
        if cable.jacket and cable.jacket > THICKEST:
            yield Finding(
                cable.span,
                f"cable `{cable.name}` is {millimetres(cable.jacket)} thick, and no lead is thicker than {THICKEST} mm",
                "measure the outside diameter, and write it in `mm`, such as `jacket 3.2mm`",
            )


@rule("RC382", Severity.WARNING, tier=0)
def two_plugs_in_output(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two plugs of one cable in one output.
    Why: a socket takes one plug; the second lead was meant for the pin beside it, or a splitter is missing in the file.
    Bad: rx.p8 to bridge.two and rx.p8 to bridge.three
    Good: rx.p4 to bridge.two and rx.p8 to bridge.three; or a unit whose model `passes in to a, b`
    """
    first: dict[tuple[str, str], Wire] = {}
    for wire in facts.links.wires:
        end = wire.source
        before = first.setdefault((end.unit, end.port), wire)
        told = before.cable is not wire.cable  # as two leads
        if before is not wire and not told and facts.rig.signal_at(end).kind != "power":
            yield Finding(
                end.span,
                f"two plugs are in `{end.unit}.{end.port}`: those of {before.leg.id} and {wire.leg.id}",
                _free_pin(facts, before, wire)
                or "move one of them to another port, or put a unit between whose model `passes` the signal",
                (Related(before.source.span, "the first one"),),
            )


def _free_pin(facts: Facts, first: Wire, second: Wire) -> str:
    """Where one of two plugs was meant to go: the free pin of a channel that its input asks for, or that none hears."""
    rig, end = facts.rig, first.source
    handset = handset_behind(rig, rig.units[end.unit])
    busy = {wire.source.port for wire in facts.links.wires if wire.source.unit == end.unit}
    numbers = {
        port.channel: port.name
        for port in rig.units[end.unit].model.ports.values()
        if port.channel and port.name not in busy and port.signal == rig.port(end).signal
    }
    free = {
        channel.name: f"{end.unit}.{numbers[channel.number]}, the pin of channel `{channel.name}`"
        for channel in (handset.channels.values() if handset else ())
        if channel.number in numbers
    }
    for wire in (first, second):
        listener = rig.units[wire.sink.unit]
        for name, source in listener.sources.items():
            if listener.model.inputs[name].port == wire.sink.port and source.channel in free:
                return f"move the plug of {wire.leg.id} to {free[source.channel]}"
    heard = {feed.channel for feed in facts.links.feeds}
    unheard = [where for channel, where in free.items() if channel not in heard]
    return f"move one of the two to {unheard[0]}" if unheard else ""
