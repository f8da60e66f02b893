"""Rules on what the pins of a lead join."""

from collections.abc import Iterator

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Severity
from rigcard.resolve.model import Cable, Leg
from rigcard.resolve.pins import GROUND, SUPPLY, Joint, joints, meanings_at
from rigcard.words import listed


@rule("RC388", Severity.ERROR, tier=0)
def pins_crossed(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a conductor that joins two pins with different purposes, such as ground and supply.
    Why: supply on a ground pin burns the device at once, and the lead looks like every other.
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


@rule("RC399", Severity.WARNING, tier=0)
def pins_left_out(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead without `pin` lines that would join ground to supply if it were wired straight through.
    Why: most leads are wired straight through; such a lead between these two sockets burns the device at once.
    Bad: a lead without `pin` lines, from a socket with ground on pin 1 to one with the supply on pin 1
    Good: pin 1 to 2; pin 2 to 1
    """
    for cable in facts.rig.cables.values():
        for leg in () if cable.build.pins else cable.legs:
            if finding := _straight(facts, cable, leg):
                yield finding
                break  # one lead, one message


def _straight(facts: Facts, cable: Cable, leg: Leg) -> Finding | None:
    """What is wrong with a leg if its plugs are wired pin 1 to pin 1, and so on."""
    if leg.second is None:
        return None
    here, there = (meanings_at(facts.rig, cable, leg, end) for end in (leg.first, leg.second))
    crossed = [pin for pin in here if {here[pin], there.get(pin)} == {GROUND, SUPPLY}]
    if not crossed:
        return None
    pin = crossed[0]
    where = f"`{leg.second.unit}.{leg.second.port}`"
    partner = {meaning: name for name, meaning in reversed(there.items())}
    lines = [f"`pin {name} to {partner[meaning]}`" for name, meaning in here.items() if meaning in partner]
    return Finding(
        cable.span,
        f"{leg.id} has no `pin` lines; straight through, it joins pin {pin} of `{leg.first.unit}.{leg.first.port}`, "
        f"{here[pin]}, to pin {pin} of {where}, {there[pin]}",
        f"write {listed(lines)} in its block if the lead is turned like that; if not, do not plug it there"
        if lines
        else f"take another lead: {where} has no pin for {here[pin]}",
    )
