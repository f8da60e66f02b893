"""What an input hangs on: controls, channels, handset, receiver, cables, and what brings power to them."""

from __future__ import annotations

from rigcard.resolve.links import Links
from rigcard.resolve.model import Rig

Part = tuple[str, str]  # what kind of thing, its name


def behind(rig: Rig, links: Links, unit: str, input_name: str) -> dict[Part, None]:
    """Everything that an input hangs on, in order from the control to the power, without its own unit."""
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
        receiver = rig.units[feed.wire.source.unit]
        parts[receiver.role, receiver.name] = None
        parts["cable", feed.wire.cable.name] = None
        powered += [receiver.name, handset.name]
    for name in powered:  # grows while it is walked
        for wire in links.wires:
            if wire.sink.unit == name and rig.signal_at(wire.source).kind == "power":
                source_unit = rig.units[wire.source.unit]
                parts["cable", wire.cable.name] = None
                parts[source_unit.role, source_unit.name] = None
                if source_unit.name not in powered:
                    powered.append(source_unit.name)
    return parts


def shared(rig: Rig, links: Links, first: tuple[str, str], second: tuple[str, str]) -> list[Part]:
    """The parts that two inputs (unit, input) both hang on."""
    others = behind(rig, links, *second)
    return [part for part in behind(rig, links, *first) if part in others]
