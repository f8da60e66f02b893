"""Rules on what the pins of a lead join."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Severity
from rigcard.resolve.model import Cable, Leg
from rigcard.resolve.pins import Joint, joints, meanings_at


@rule("RC388", Severity.ERROR, tier=0)
def pins_crossed(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a conductor that joins two pins which are for different things, such as ground and supply.
    Why: supply on a ground pin burns the device at the first plug, and the lead looks like every other.
    Bad: pin 1 to 2, into a socket whose pin 2 is the supply
    Good: pin 1 to 1, both ground
    """
    for cable in facts.rig.cables.values():
        for leg in cable.legs:
            crossed = [joint for joint in joints(facts.rig, cable, leg) if joint.first != joint.second]
            if crossed:
                yield _finding(facts, cable, leg, crossed)
                break  # one lead, one message


def _finding(facts: Facts, cable: Cable, leg: Leg, crossed: list[Joint]) -> Finding:
    assert leg.second is not None
    joint = next((one for one in crossed if "ground" in (one.first, one.second)), crossed[0])
    pin = joint.pin
    there = meanings_at(facts.rig, cable, leg, leg.second)
    right = next((name for name, meaning in there.items() if meaning == joint.first), None)
    return Finding(
        pin.span,
        f"{leg.id} joins pin {pin.first} of `{leg.first.unit}.{leg.first.port}`, {joint.first}, to pin {pin.second} of "
        f"`{leg.second.unit}.{leg.second.port}`, {joint.second}",
        f"write `pin {pin.first} to {right}`, if the lead is so; if not, do not plug it there"
        if right
        else f"take another lead: `{leg.second.unit}.{leg.second.port}` has no pin for {joint.first}",
        units=(leg.first.unit, leg.second.unit),
    )
