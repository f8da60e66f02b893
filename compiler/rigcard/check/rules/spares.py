"""Rules on spare units: whether one can take the place of the unit that it is spare for."""

from collections import Counter
from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import Unit
from rigcard.words import decimal, listed

Kind = tuple[str, str, int | None]  # signal, direction, and the channel of a pin


@rule("RC317", Severity.WARNING)
def spare_cannot_take_place(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a spare of another model that lacks what the unit in use needs: a socket for each of its leads, its
        inputs, its channels, or the volts that were computed with.
    Why: it is unpacked in the rain when the other one has failed, and then a plug finds no socket.
    Bad: unit rx-s is receiver-6 "Spare receiver" spare for rx, whose bus feeds the head
    Good: unit rx-s is receiver-8 "Spare receiver" spare for rx
    """
    for spare in facts.rig.spare_units.values():
        unit = facts.rig.units.get(spare.spare_for or "")
        if unit is None or unit.model is spare.model:
            continue
        lacks = [*_sockets(facts, unit, spare), *_inputs(facts, unit, spare), *_values(unit, spare)]
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


def _inputs(facts: Facts, unit: Unit, spare: Unit) -> Iterator[str]:
    """The inputs in use that the model of the spare does not have."""
    used = dict.fromkeys(feed.input.name for feed in facts.links.feeds if feed.unit == unit.name)
    missing = [f"`{name}`" for name in used if name not in spare.model.inputs]
    if missing:
        yield f"has no input {listed(missing)}"


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
