"""Rules on spare units: whether one can take the place of the unit that it is spare for."""

from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import RULES, Facts, Finding, rule
from rigcard.check.rules.build import mate
from rigcard.diagnostics import Diagnostic, Related, Severity
from rigcard.resolve.links import commanding, plugs
from rigcard.resolve.model import Arithmetic, Command, Input, Port, Rig, Unit
from rigcard.resolve.once import once_a_rig
from rigcard.resolve.payload import load_of
from rigcard.words import decimal, listed

Kind = tuple[str, str, int | None]  # signal, direction, and the channel of a pin


@rule("RC317", Severity.WARNING)
def spare_cannot_take_place(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a spare of another model that lacks what the unit in use has or needs: a socket for each of its leads, its
        inputs, the commands that reach it, what it offers, its channels and controls; or that gives other pulses, or is
        too heavy for what carries it; or with which the rig, its volts computed again, has an error that it has not now.
    Why: it is unpacked in the rain when the other one has failed, and then a plug finds no socket.
    Bad: unit rx-s is receiver-6 "Spare receiver" spare for rx, whose bus feeds the head
    Good: unit rx-s is receiver-8 "Spare receiver" spare for rx
    """
    for spare, unit in stand_ins(facts.rig):
        lacks = lacking(facts, unit, spare)
        if lacks:
            cause = f"its model `{spare.model.name}` {listed(lacks)}"
            yield Finding(spare.span, _cause(unit, spare, cause), _hint(unit), _related(unit))


def cannot_take_place(unit: Unit, spare: Unit, cause: str) -> Diagnostic:
    """What is said of a spare with which the rig fails."""
    return Diagnostic(RULES["RC317"].code, spare.span, _cause(unit, spare, cause), _hint(unit), _related(unit))


def _cause(unit: Unit, spare: Unit, cause: str) -> str:
    return f"`{spare.name}` cannot take the place of `{unit.name}`: {cause}"


def _hint(unit: Unit) -> str:
    return f"pack a `{unit.model.name}`, or take `spare for {unit.name}` off and say what it is for"


def _related(unit: Unit) -> tuple[Related, ...]:
    return (Related(unit.span, "the unit in use"),)


def stand_ins(rig: Rig) -> Iterator[tuple[Unit, Unit]]:
    """The spares of another model than the unit in use, each with that unit."""
    for spare in rig.spare_units.values():
        unit = rig.units.get(spare.spare_for or "")
        if unit is not None and unit.model is not spare.model:
            yield spare, unit


def lacking(facts: Facts, unit: Unit, spare: Unit) -> list[str]:
    """What a spare has not that the unit in use has or needs, as ends of a sentence about its model."""
    return [
        *_sockets(facts.rig, unit, spare),
        *_functions(facts, unit, spare),
        *_values(facts, unit, spare),
        *_handset(unit, spare),
        *_mass(facts.rig, unit, spare),
    ]


def _kind(port: Port) -> Kind:
    return port.signal, port.direction, port.channel


@once_a_rig
def _needed(rig: Rig) -> set[str]:
    """The features that something on the rig needs of what it is mounted with."""
    parts: list[Command | Input | Port] = []
    for unit in rig.units.values():
        parts += (*unit.commands.values(), *unit.model.inputs.values(), *unit.model.ports.values())
    return {need.name for part in parts for need in part.needs if need.value is None}


def _plugged(rig: Rig, unit: Unit) -> set[str]:
    """The ports of a unit that a lead is plugged in."""
    return {plug.end.port for plug in plugs(rig).get(unit.name, ())}


def sockets_for(rig: Rig, unit: Unit, spare: Unit) -> dict[str, str]:
    """For each plugged port of the unit in use the socket of its spare: that of the same name, else a free one alike."""
    used = _plugged(rig, unit)
    plugged = [port for port in unit.model.ports.values() if port.name in used]
    free = dict(spare.model.ports)
    found = {
        port.name: port.name for port in plugged if port.name in free and _kind(port) == _kind(free[port.name])
    }
    for name in found:
        del free[name]
    for port in plugged:
        alike = next((other.name for other in free.values() if _kind(other) == _kind(port)), None)
        if port.name not in found and alike:
            del free[alike]
            found[port.name] = alike
    return found


def _sockets(rig: Rig, unit: Unit, spare: Unit) -> Iterator[str]:
    """The sockets that are plugged at the unit in use and that the spare has not, too few of, or for other plugs."""
    sockets, connectors = sockets_for(rig, unit, spare), rig.inventory.connectors
    missing = _plugged(rig, unit) - sockets.keys()
    kinds = [_kind(port) for port in unit.model.ports.values() if port.name in missing]
    for signal, direction, channel in dict.fromkeys(kinds):
        of = f" of channel {channel}" if channel else ""
        yield f"has no free port {direction} {signal}{of}"
    for name, socket in sockets.items():
        plug, takes = unit.model.ports[name].connector, spare.model.ports[socket].connector
        if plug and takes and not mate(connectors[plug], connectors[takes]):
            yield f"has `{takes}` at `{socket}`, and the lead there fits `{plug}`"


def _functions(facts: Facts, unit: Unit, spare: Unit) -> Iterator[str]:
    """The inputs and commands in use, and the features that others need, which the model of the spare does not have."""
    inputs = dict.fromkeys(feed.input.name for feed in facts.links.feeds if feed.unit == unit.name)
    orders = dict.fromkeys(
        name
        for feed in commanding(facts.links).get(unit.name, ())
        for name in feed.input.commands
        if name in unit.commands
    )
    offers = [name for name in unit.model.offers if name in _needed(facts.rig)]
    for what, names, known in (
        ("has no input", inputs, spare.model.inputs),
        ("knows no command", orders, spare.model.commands),
        ("offers no", offers, spare.model.offers),
    ):
        missing = [f"`{name}`" for name in names if name not in known]
        if missing:
            yield f"{what} {listed(missing)}"


def _values(facts: Facts, unit: Unit, spare: Unit) -> Iterator[str]:
    """Channels of a handset beyond those of its spare; and volts, where no source lets them be computed."""
    last = max((channel.number for channel in unit.channels.values()), default=0)
    if last > spare.model.channels and unit.role == "handset":
        yield f"has no channel {last}, which is in use"
    if any(other.model.power.supply for other in facts.rig.units.values()):
        return  # then the rig is computed with the spare in place
    here, there = unit.model.power.windows, spare.model.power.windows
    if here and there:
        low, high = (min(window.low for window in here), max(window.high for window in here))
        least, most = (max(window.low for window in there), min(window.high for window in there))
        if least > low or most < high:
            yield (
                f"takes {decimal(least)} to {decimal(most)} V, and `{unit.model.name}` takes {decimal(low)} to "
                f"{decimal(high)} V"
            )


def _handset(unit: Unit, spare: Unit) -> Iterator[str]:
    """Controls of a handset that its spare has not, and pulses that come of other arithmetic with the same values."""
    if unit.role != "handset" or spare.role != "handset":
        return
    missing = [f"`{name}`" for name in unit.controls_in_use if name not in spare.model.controls]
    if missing:
        yield f"has no control {listed(missing)}"
    lacks = [f"`{word}`" for word in sorted(_shapes(unit) - set(spare.model.has))]
    if lacks:
        yield f"has no {listed(lacks)}"
    here, there = unit.model.arithmetic, spare.model.arithmetic
    if unit.channels and here and there and _without_ranges(here) != _without_ranges(there):
        yield "makes other pulses of the values in the memory"


def _shapes(unit: Unit) -> set[str]:
    """Which of rate, expo and slow the channels of a handset use."""
    shapes = [channel.shape for channel in unit.channels.values()]
    used = {
        "rate": any(
            shape.rate != 100 or any(one.rate is not None for one in shape.switched) for shape in shapes
        ),
        "expo": any(shape.expo != 0 or any(one.expo is not None for one in shape.switched) for shape in shapes),
        "slow": any(shape.slow for shape in shapes),
    }
    return {word for word, is_used in used.items() if is_used}


def _without_ranges(arithmetic: Arithmetic) -> Arithmetic:
    """What makes a pulse of dialled values, apart from what they can be set to."""
    none = Fraction(0)
    return arithmetic._replace(
        travel_low=none, travel_high=none, travel_step=none, subtrim_low=0, subtrim_high=0
    )


def _mass(rig: Rig, unit: Unit, spare: Unit) -> Iterator[str]:
    """The first carrier that the heavier spare would overload."""
    if unit.model.mass is None or spare.model.mass is None:
        return
    carrier = rig.units.get(unit.mounted_on or "")
    seen = {unit.name}
    while carrier and carrier.name not in seen:
        seen.add(carrier.name)
        load = load_of(rig, carrier).mass + spare.model.mass - unit.model.mass
        if carrier.model.carries is not None and load > carrier.model.carries >= load_of(rig, carrier).mass:
            yield (
                f"weighs {decimal(spare.model.mass, 2)} kg, so `{carrier.name}` would carry {decimal(load, 2)} kg, and "
                f"{decimal(carrier.model.carries, 2)} kg is the most"
            )
            return
        carrier = rig.units.get(carrier.mounted_on or "")
