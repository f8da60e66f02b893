"""The signal drawing: every channel from its control to its effect, a strand for each one in a shared cable."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from rigcard.documents.base.language import say
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import effect, place
from rigcard.documents.cards.ruler import readings_of
from rigcard.documents.diagram.graph import (
    CHANNEL,
    CONTROL,
    EFFECT_COLUMN,
    FUNCTION,
    INPUT,
    PIN,
    SMALL,
    Builder,
    Graph,
)
from rigcard.documents.diagram.parts import cable, device
from rigcard.documents.diagram.pictures import add_pictures
from rigcard.documents.diagram.rows import laid_out
from rigcard.documents.labels.cable_labels import end_id
from rigcard.resolve.links import Feed, Route, obeying
from rigcard.resolve.model import Rig
from rigcard.solve.solved import ChannelResult, Solved
from rigcard.words import signed_percent

CONTROL_COLUMN, CHANNEL_COLUMN, PIN_COLUMN = range(3)


def signal_graph(face: Typeface, solved: Solved) -> Graph:
    """Build the graph from every control in use to its effects, then the pictures and the other radio links."""
    rig = solved.rig
    build = Builder()
    longest = max((len(feed.route) for feed in solved.links.feeds), default=1)
    input_column = PIN_COLUMN + 2 * longest
    for result in by_pin(solved):
        build.start()
        _channel(build, solved, result)
        for feed in solved.links.feeds_of(result.handset, result.name):
            _feed(build, solved, result, feed, input_column)
    for result in solved.results.values():  # every channel has its control by now
        for mix in result.mixes:
            source = rig.units[result.handset].channels[mix.source]
            control = _control(build, rig, result.handset, source.control, (str(source.number),))
            _control(build, rig, result.handset, source.control, (str(result.number),))
            build.edge(control, f"channel:{result.handset}.{result.name}", "mix")
    add_pictures(build, solved, PIN_COLUMN, input_column)
    return laid_out(face, build, "wiring", say("Signals"), rig.paper)


def by_pin(solved: Solved) -> list[ChannelResult]:
    """Group the channels by pin, in the order of the file.

    A channel with several pins stands with the pin that most channels use, and one that is only mixed into
    another stands below that one. So a new cable in the file does not move what it does not touch.
    """
    pins = {
        key: [f"{feed.pin.unit}.{feed.pin.port}" for feed in solved.links.feeds_of(*key)]
        for key in solved.results
    }
    users = Counter(pin for found in pins.values() for pin in set(found))
    main = {key: max(found, key=lambda pin: users[pin]) for key, found in pins.items() if found}
    for key, result in solved.results.items():
        for mix in result.mixes:
            source = key[0], mix.source
            if key in main and source in solved.results:
                main.setdefault(source, main[key])
    groups: dict[str, list[ChannelResult]] = {}
    for key, result in solved.results.items():
        groups.setdefault(main.get(key, ""), []).append(result)
    ordered: dict[tuple[str, str], ChannelResult] = {}
    for result in (result for group in groups.values() for result in group):
        own = [(result.handset, mix.source) for mix in result.mixes]
        mixed = [key for key in own if key in solved.results and not pins[key]]
        for key in ((result.handset, result.name), *mixed):
            ordered.setdefault(key, solved.results[key])
    return list(ordered.values())


def _control(build: Builder, rig: Rig, handset: str, control: str, numbers: Sequence[str]) -> str:
    title = rig.units[handset].model.controls[control].title
    return build.cell(
        f"control:{handset}.{control}",
        "control",
        CONTROL_COLUMN,
        (title, CONTROL, True),
        frame=device(build, rig, handset),
        numbers=numbers,
    )


def _channel(build: Builder, solved: Solved, result: ChannelResult) -> None:
    rig, handset = solved.rig, solved.rig.units[result.handset]
    lines = [(result.name, CHANNEL, True)]
    for mix in result.mixes:
        rate = signed_percent(mix.rate.high) if mix.rate else ""
        if mix.while_control and mix.while_position:
            title = handset.model.controls[mix.while_control].title
            where = f"{title} {place(mix.while_position)}"
            text = say("{rate} of {source} while {where}", rate=rate, source=mix.source, where=where)
        else:
            text = say("{rate} of {source}", rate=rate, source=mix.source)
        lines.append((text, SMALL, False))
    control = _control(build, rig, result.handset, result.control.name, (str(result.number),))
    channel = build.cell(
        f"channel:{result.handset}.{result.name}",
        "channel",
        CHANNEL_COLUMN,
        *lines,
        frame=device(build, rig, result.handset),
        numbers=(str(result.number),),
    )
    build.edge(control, channel, "inside")


def _feed(build: Builder, solved: Solved, result: ChannelResult, feed: Feed, input_column: int) -> None:
    """Add the way of a channel from its pin to an input, and on to what obeys it."""
    rig, numbers = solved.rig, (str(result.number),)
    first, kind = feed.route[0], rig.signal_at(feed.pin).kind
    strand = f"{feed.handset}.{feed.channel}"
    pin = build.cell(
        f"pin:{feed.pin.unit}.{feed.pin.port}/{strand}",
        "pin",
        PIN_COLUMN,
        (rig.port(feed.pin).label, PIN, True),
        (end_id(first.leg, feed.pin), SMALL, False),
        part=f"pin:{feed.pin.unit}.{feed.pin.port}",
        frame=device(build, rig, feed.pin.unit),
        numbers=numbers,
    )
    build.edge(f"channel:{strand}", pin, "radio")
    lead = _along(build, rig, pin, feed.route, PIN_COLUMN + 1, strand, numbers)
    at = f"{rig.port(feed.plug).label}  {end_id(feed.last.leg, feed.plug)}"
    known = build.cell(
        f"input:{feed.unit}.{feed.input.name}",
        "input",
        input_column,
        (feed.input.title, INPUT, True),
        (at, SMALL, False),
        frame=device(build, rig, feed.unit),
        numbers=numbers,
    )
    build.edge(lead, known, kind)
    _effects(build, solved, known, feed, numbers, input_column + 1)


def _along(
    build: Builder, rig: Rig, start: str, route: Route, column: int, strand: str, numbers: Sequence[str]
) -> str:
    """Add the leads of a route from a cell on, with every unit that passes the signal on; return the last lead."""
    kind = rig.signal_at(route[0].source).kind
    for number, wire in enumerate(route):
        lead = cable(build, rig, wire, column + 2 * number, strand, numbers)
        build.edge(start, lead, kind)
        if number < len(route) - 1:
            after = route[number + 1]
            start = build.cell(
                f"through:{wire.sink.unit}.{wire.sink.port}>{after.source.port}/{strand}",
                "through",
                column + 2 * number + 1,
                (f"{rig.port(wire.sink).label}  {end_id(wire.leg, wire.sink)}", SMALL, False),
                (f"{rig.port(after.source).label}  {end_id(after.leg, after.source)}", SMALL, False),
                part=f"through:{wire.sink.unit}.{wire.sink.port}",
                frame=device(build, rig, wire.sink.unit),
                numbers=numbers,
            )
            build.edge(lead, start, kind)
    return lead


def _effects(
    build: Builder, solved: Solved, known: str, feed: Feed, numbers: Sequence[str], column: int
) -> None:
    """Add the effects of an input on its row, or behind the leads that carry its commands."""
    rig, unit, name = solved.rig, feed.unit, feed.input.name
    feeds = [other for other in solved.links.feeds if other.unit == unit and other.input.name == name]
    lines, beside = what_it_does(solved, feeds[0])
    orders = obeying(rig, solved.links, feed) or solved.links.orders_of(feed)
    if not orders:
        shown = build.cell(
            f"effect:{unit}.{name}", "effect", EFFECT_COLUMN, *lines, beside=beside, numbers=numbers
        )
        build.edge(known, shown, "inside")
    strand = f"{unit}.{name}"
    for order in orders:
        source, plug = order.port, order.plug
        port = build.cell(
            f"port:{source.unit}.{source.port}/{strand}",
            "port",
            column,
            (rig.port(source).label, PIN, True),
            (end_id(order.route[0].leg, source), SMALL, False),
            part=f"port:{source.unit}.{source.port}",
            frame=device(build, rig, source.unit),
            numbers=numbers,
        )
        build.edge(known, port, "inside")
        lead = _along(build, rig, port, order.route, column + 1, strand, numbers)
        obeys = build.cell(
            f"device:{order.receiver}.{plug.port}/{strand}",
            "device",
            column + 2 * len(order.route),
            (rig.port(plug).label, PIN, True),
            (end_id(order.route[-1].leg, plug), SMALL, False),
            part=f"obeys:{order.receiver}.{plug.port}",
            frame=device(build, rig, order.receiver),
            numbers=numbers,
        )
        build.edge(lead, obeys, "commands")
        shown = build.cell(
            f"effect:{order.receiver}.{unit}.{name}",
            "effect",
            EFFECT_COLUMN,
            *lines,
            beside=beside,
            numbers=numbers,
        )
        build.edge(obeys, shown, "inside")


def what_it_does(solved: Solved, feed: Feed) -> tuple[list[tuple[str, float, bool]], list[str]]:
    """Return the effects of an input, and beside each one the positions that give it."""
    rows = readings_of(solved, feed)
    several = len({row.control for row, _ in rows}) > 1
    found: dict[str, dict[str, None]] = {}
    controls = solved.rig.units[feed.handset].model.controls
    for row, reading in rows:
        if not (text := effect(solved, reading)):
            continue
        where = f"{controls[row.control].title} {place(row.position)}" if several else place(row.position)
        if row.conditions and where in found.get(text, {}):
            continue  # at another rate a stick does the same
        for control, position in row.conditions:
            where += f" + {controls[control].title} {place(position)}"
        found.setdefault(text, {})[where] = None
    if not found:
        found[feed.input.title] = {"": None}
    return [(text, FUNCTION, True) for text in found], [", ".join(places) for places in found.values()]
