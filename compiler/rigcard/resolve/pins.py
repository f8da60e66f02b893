"""The purposes of the pins of plugs and ports, as far as connectors and ports state them."""

from collections.abc import Iterator
from typing import NamedTuple

from rigcard.resolve.links import Wire
from rigcard.resolve.mechanics import Pin
from rigcard.resolve.model import Cable, End, Leg, Rig

GROUND = "ground"


class Joint(NamedTuple):
    """A conductor between two pins whose purposes are both known."""

    pin: Pin
    first: str
    second: str


def meanings_at(rig: Rig, cable: Cable, leg: Leg, end: End) -> dict[str, str]:
    """The purpose of each pin at one end of a leg: from the port, else its connector, else the plug."""
    port = rig.port(end)
    plug = cable.build.plugs[0 if end == leg.first else 1] if cable.build.plugs else None
    found: dict[str, str] = {}
    for name in (plug, port.connector):
        kind = rig.inventory.connectors.get(name or "")
        found.update(kind.pins if kind else {})
    return {**found, **port.pins}


def joints(rig: Rig, cable: Cable, leg: Leg) -> Iterator[Joint]:
    """The conductors of a leg between pins with known purposes."""
    if leg.second is None:
        return
    here, there = (meanings_at(rig, cable, leg, end) for end in (leg.first, leg.second))
    for pin in cable.build.pins:
        first, second = here.get(pin.first), there.get(pin.second)
        if first and second:
            yield Joint(pin, first, second)


def grounded(rig: Rig, wire: Wire) -> bool:
    """Whether a lead joins the grounds of its ends: it does unless a cut or its pins say otherwise."""
    cable = wire.cable
    if GROUND in cable.power.cuts:
        return False
    if not cable.build.pins:
        return True
    assert wire.leg.second is not None
    ends = [meanings_at(rig, cable, wire.leg, end) for end in (wire.leg.first, wire.leg.second)]
    known = [{pin for pin, meaning in end.items() if meaning == GROUND} for end in ends]
    used = [{pin.first for pin in cable.build.pins}, {pin.second for pin in cable.build.pins}]
    return all(not ground or ground & pins for ground, pins in zip(known, used, strict=True))
