"""Rules on leads as built and laid: plugs, lengths, water, looks."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import accumulate

from rigcard.check.registry import Facts, Finding, rule
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.links import line_to, plugged_into
from rigcard.resolve.mechanics import Connector
from rigcard.resolve.model import Cable, End
from rigcard.resolve.packing import look_alikes
from rigcard.words import decimal, listed, millimetres


def _ends(cable: Cable) -> Iterator[tuple[End, str | None]]:
    """The ends of all legs with the plug at each, None where the cable does not state its plugs."""
    first, second = cable.build.plugs or (None, None)
    for leg in cable.legs:
        yield leg.first, first
        if leg.second:
            yield leg.second, second


def mate(plug: Connector, socket: Connector) -> bool:
    """Whether a plug goes into a socket: of the same kind, or one names the other."""
    return plug.name == socket.name or plug.name in socket.mates or socket.name in plug.mates


@rule("RC361", Severity.ERROR)
def plug_does_not_fit(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a plug that does not fit the port that the cable names.
    Why: people find out on the morning of the job, when the shop is far away.
    Bad: plugs xl-4 to xl-3, into a port `by` xl-4 at both ends
    Good: plugs xl-4 to xl-4
    """
    connectors = facts.rig.inventory.connectors
    for cable in facts.rig.cables.values():
        wrong = []
        for end, plug in _ends(cable):
            socket = facts.rig.port(end).connector
            if plug and socket and not mate(connectors[plug], connectors[socket]):
                wrong.append((end, plug, socket))
        turned = _turned(facts, cable) if wrong else ""
        for end, plug, socket in wrong[:1] if turned else wrong:  # one fault, one message
            yield Finding(
                end.span,
                f"the plug `{plug}` of {cable.name} does not go into `{end.unit}.{end.port}`, which takes `{socket}`",
                turned
                or f"use a lead with a plug `{socket}` there, or write `mates {plug}` in connector `{socket}` if it fits",
                (Related(connectors[socket].span, "what the port takes"),),
            )


def _turned(facts: Facts, cable: Cable) -> str:
    """The remedy where the lead is only written from its other end."""
    connectors = facts.rig.inventory.connectors
    first, second = cable.build.plugs or ("", "")
    for end, plug in _ends(cable._replace(build=cable.build._replace(plugs=(second, first)))):
        socket = facts.rig.port(end).connector
        if plug and socket and not mate(connectors[plug], connectors[socket]):
            return ""
    return f"write `plugs {second} to {first}`: the plug of the end that is written first stands first"


@rule("RC362", Severity.ERROR)
def lead_shorter_than_route(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a cable that is shorter than its route with slack and loops.
    Why: it pulls tight when the head turns, and tears a plug out or loses the picture.
    Bad: route 4.2m slack 10% loops 2 x 300mm; length 5m
    Good: route 4.2m slack 10% loops 2 x 300mm; length 7.5m
    """
    for cable in facts.rig.cables.values():
        route = cable.build.route
        if route is None or not cable.length or cable.length >= route.needed:
            continue
        here, needed = millimetres(cable.length), millimetres(route.needed)
        if here == needed:  # a difference that metres do not show
            here, needed = (f"{decimal(length, 3)} mm" for length in (cable.length, route.needed))
        shelf = (
            facts.rig.inventory.stock.get(facts.rig.port(cable.legs[0].first).signal, ()) if cable.legs else ()
        )
        longer = next((length for length in shelf if length >= route.needed), None)
        if longer:
            coil = longer - route.needed
            hint = f"take the stock length {millimetres(longer)}, which leaves a coil of {millimetres(coil)}"
        else:
            hint = f"take a lead of {needed} or more"
        yield Finding(
            cable.span,
            f"cable `{cable.name}` is {here} and its route needs {needed}: "
            f"short by {millimetres(route.needed - cable.length)}",
            hint,
        )


@rule("RC363", Severity.ERROR)
def lead_longer_than_signal_reaches(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead that is too long for its signal, alone or together with the leads before it whose signal is passed on.
    Why: a serial line that is too long works on the bench and jerks the head on the day.
    Bad: signal serial-16 ... up to 600mm, on a lead of 2 m
    Good: signal serial-16 ... up to 600mm, on a lead of 600 mm
    """
    plugged = plugged_into(facts.links)
    for wire in facts.links.wires:
        reach = facts.rig.signal_at(wire.source).serial.reach
        if not reach or not wire.cable.length:
            continue
        way = line_to(facts.rig, plugged, wire)
        *before, whole = accumulate(lead.cable.length or Fraction(0) for lead in way)
        if wire.cable.length <= reach < whole and not any(length > reach for length in before):
            yield Finding(
                wire.cable.span,
                f"{listed([lead.leg.id for lead in way])} are one line of {millimetres(whole)}, as the units between "
                f"them only pass it on, and `{facts.rig.port(wire.source).signal}` works over {millimetres(reach)}",
                f"take shorter leads, of {millimetres(reach)} together",
            )
        if wire.cable.length > reach:
            yield Finding(
                wire.cable.span,
                f"cable `{wire.cable.name}` is {millimetres(wire.cable.length)}, and "
                f"`{facts.rig.port(wire.source).signal}` works over {millimetres(reach)}",
                "move the two units closer together and take a shorter lead",
            )


@rule("RC364", Severity.WARNING)
def wet_connector_unknown(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead in the wet with a connector that states neither `sealed` nor `unsealed`.
    Why: water in a plug is found when the head stops.
    Bad: connector xl-4 "Four-pin power", on a cable that is `wet`
    Good: connector xl-4 "Four-pin power" sealed
    """
    for cable in facts.rig.cables.values():
        if not cable.build.wet:
            continue
        unknown = []
        for end, plug in _ends(cable):
            kinds = [
                facts.rig.inventory.connectors.get(name or "") for name in (plug, facts.rig.port(end).connector)
            ]
            if any(kind is None or kind.sealed is None for kind in kinds):
                unknown.append(f"`{end.unit}.{end.port}`")
        if unknown:
            yield Finding(
                cable.span,
                f"cable `{cable.name}` is wet, and whether it is sealed at {listed(unknown)} is not stated",
                "state its plugs, the port's connector (`by`), and `sealed` or `unsealed` for each connector",
            )


@rule("RC365", Severity.ERROR)
def wet_connector_not_sealed(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a lead in the wet with a connector that lets water in.
    Why: the pins corrode or short, and a supply lead burns.
    Bad: connector xl-4 "Four-pin power" unsealed, on a cable that is `wet`
    Good: connector xl-4w "Four-pin power, sealed" sealed
    """
    for cable in facts.rig.cables.values():
        for end, plug in _ends(cable) if cable.build.wet else ():
            for name in dict.fromkeys((plug, facts.rig.port(end).connector)):
                kind = facts.rig.inventory.connectors.get(name or "")
                if kind and kind.sealed is False:
                    yield Finding(
                        end.span,
                        f"cable `{cable.name}` is wet, and its connector `{kind.name}` at `{end.unit}.{end.port}` "
                        "is not sealed",
                        "use a sealed connector there, or lay the lead in the dry and remove `wet`",
                        (Related(kind.span, "the connector"),),
                    )


@rule("RC366", Severity.WARNING)
def mains_in_the_wet(facts: Facts) -> Iterator[Finding]:
    """
    Reports: a wet lead at a unit that brings mains voltage.
    Why: mains and water kill; protection and connection are for a qualified person.
    Bad: a cable that is `wet` from a unit with `hazard mains`
    Good: the wet side fed from a pack
    """
    for cable in facts.rig.cables.values():
        for name in dict.fromkeys(end.unit for end, _ in _ends(cable)) if cable.build.wet else ():
            if "mains" in facts.rig.units[name].model.hazards:
                yield Finding(
                    cable.span,
                    f"cable `{cable.name}` is wet and goes to `{name}`, which is on the mains",
                    "feed it from a pack, or have a qualified person protect and connect it",
                )


@rule("RC367", Severity.WARNING)
def route_without_loop(facts: Facts) -> Iterator[Finding]:
    """
    Reports: the route of a lead that moves or gets wet, without a loop.
    Why: across a moving axis the service loop takes the movement; in the wet the drip loop keeps water off the plug.
    Bad: route 1.2m slack 10%; moving
    Good: route 1.2m slack 10% loops 1 x 200mm; moving
    """
    for cable in facts.rig.cables.values():
        route, build = cable.build.route, cable.build
        if route and not route.loops and (build.wet or cable.moving):
            why, what = ("gets wet", "drip") if build.wet else ("moves", "service")
            yield Finding(
                cable.span,
                f"cable `{cable.name}` {why}, and its route has no {what} loop",
                "add `loops 1 x 200mm` to its route, as long as the loop really is",
            )


@rule("RC368", Severity.WARNING)
def look_alikes_without_mark(facts: Facts) -> Iterator[Finding]:
    """
    Reports: two leads with the same plugs and different wiring that no mark tells apart.
    Why: the wrong one fits and does not work, and both look right.
    Bad: P07 with pins 1 to 2, and P08 with pins 1 to 1, both `plugs xl-4 to xl-4`
    Good: mark "three rings" on one of them, and three rings on the lead
    """
    for group in look_alikes(facts.rig):
        marks: dict[str, Cable] = {}  # the first lead with a mark, or without one
        for wiring in group.wirings:
            for cable in wiring:
                other = marks.get(cable.build.mark)
                if other and other not in wiring:
                    yield Finding(
                        cable.span,
                        f"`{other.name}` and `{cable.name}` have the same plugs and other wiring, and no mark tells them apart",
                        'mark one of them and write it, such as `mark "three rings"`',
                        (Related(other.span, "the other one"),),
                    )
            for cable in wiring:
                marks.setdefault(cable.build.mark, cable)
