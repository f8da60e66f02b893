"""Rules on spare units: whether one can take the place of the unit that it is spare for."""

from collections import Counter
from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import Command, Input, Port, Rig, Unit
from rigcard.resolve.payload import load_of
from rigcard.words import decimal, listed

Kind = tuple[str, str, int | None]  # signal, direction, and the channel of a pin


@rule("RC317", Severity.WARNING)
def spare_cannot_take_place(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a spare of another model that lacks what the unit in use has or needs: a socket for each of its leads, its
        inputs, the commands that reach it, what it offers, its channels; or that has other volts, or is too heavy for
        what carries it.
    Why: it is unpacked in the rain when the other one has failed, and then a plug finds no socket.
    Bad: unit rx-s is receiver-6 "Spare receiver" spare for rx, whose bus feeds the head
    Good: unit rx-s is receiver-8 "Spare receiver" spare for rx
    """
    for spare in facts.rig.spare_units.values():
        unit = facts.rig.units.get(spare.spare_for or "")
        if unit is None or unit.model is spare.model:
            continue
        lacks = [
            *_sockets(facts, unit, spare),
            *_functions(facts, unit, spare),
            *_values(unit, spare),
            *_mass(facts.rig, unit, spare),
        ]
        if lacks:
            yield Finding(
                spare.span,
                f"`{spare.name}` cannot take the place of `{unit.name}`: its model `{spare.model.name}` {listed(lacks)}",
                f"pack a `{unit.model.name}`, or take `spare for {unit.name}` off and say what it is for",
                (Related(unit.span, "the unit in use"),),
            )


def _sockets(facts: Facts, unit: Unit, spare: Unit) -> Iterator[str]:
    """The sockets that are plugged at the unit in use and that the spare has not, or too few of."""
    used = {
        end.port
        for cable in facts.rig.cables.values()
        for leg in cable.legs
        for end in (leg.first, leg.second)
        if end and end.unit == unit.name
    }
    asked: Counter[Kind] = Counter()
    for name, port in unit.model.ports.items():
        if name in used:
            asked[port.signal, port.direction, port.channel] += 1
    there: Counter[Kind] = Counter(
        (port.signal, port.direction, port.channel) for port in spare.model.ports.values()
    )
    for signal, direction, channel in asked - there:
        of = f" of channel {channel}" if channel else ""
        yield f"has no free port {direction} {signal}{of}"


def _functions(facts: Facts, unit: Unit, spare: Unit) -> Iterator[str]:
    """The inputs and commands in use, and the features that others need, which the model of the spare does not have."""
    links = facts.links
    inputs = dict.fromkeys(feed.input.name for feed in links.feeds if feed.unit == unit.name)
    orders = dict.fromkeys(
        name
        for feed in links.feeds
        if any(order.receiver == unit.name for order in links.orders_of(feed))
        for name in feed.input.commands
        if name in unit.commands
    )
    parts: list[Command | Input | Port] = []
    for other in facts.rig.units.values():
        parts += (*other.commands.values(), *other.model.inputs.values(), *other.model.ports.values())
    needs = {need.name for part in parts for need in part.needs if need.value is None}
    offers = [name for name in unit.model.offers if name in needs]
    for what, names, known in (
        ("has no input", inputs, spare.model.inputs),
        ("knows no command", orders, spare.model.commands),
        ("offers no", offers, spare.model.offers),
    ):
        missing = [f"`{name}`" for name in names if name not in known]
        if missing:
            yield f"{what} {listed(missing)}"


def _values(unit: Unit, spare: Unit) -> Iterator[str]:
    """Channels of a handset beyond those of its spare, and volts of a pack that nobody computed with."""
    last = max((channel.number for channel in unit.channels.values()), default=0)
    if last > spare.model.channels and unit.role == "handset":
        yield f"has no channel {last}, which is in use"
    now, then = unit.model.power.supply, spare.model.power.supply
    if now and then and not (now.empty <= then.empty and then.full <= now.full):
        yield (
            f"supplies {decimal(then.empty)} to {decimal(then.full)} V, and the rig is computed with "
            f"{decimal(now.empty)} to {decimal(now.full)} V"
        )
    here, there = unit.model.power.windows, spare.model.power.windows
    if here and there:
        low, high = (min(window.low for window in here), max(window.high for window in here))
        least, most = (max(window.low for window in there), min(window.high for window in there))
        if least > low or most < high:
            yield (
                f"takes {decimal(least)} to {decimal(most)} V, and the rig is computed with {decimal(low)} to "
                f"{decimal(high)} V"
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
