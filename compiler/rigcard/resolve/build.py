"""Resolves connectors, cables as built and laid, cases, and the inputs that must be independent."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from rigcard.diagnostics import Diagnostics
from rigcard.resolve import codes, colours
from rigcard.resolve.measures import length_mm, mass_kg
from rigcard.resolve.mechanics import Build, Case, Connector, Independent, Inventory, Pin, Route
from rigcard.resolve.model import Signal, Unit
from rigcard.resolve.ports import pin_meanings, pin_name
from rigcard.resolve.power import amperes
from rigcard.resolve.scope import Block, lookup, once, show, whole
from rigcard.source import Span
from rigcard.syntax import tree

MOST_LOOPS = 20
MOST_SPARES = 20
MOST_SLACK = 100  # per cent


def inventory(block: Block, signals: Mapping[str, Signal], diagnostics: Diagnostics) -> Inventory:
    """The connectors, the lengths on the shelf and the cases that the files declare."""
    stock: dict[str, tuple[Fraction, ...]] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.StockLengths):
        known = lookup(item.signal, signals, "signal", diagnostics)
        if known and once(item.signal, taken, "signal", diagnostics, "write all its lengths in one statement"):
            stock[item.signal.text] = tuple(sorted({length_mm(length) for length in item.lengths}))
    return Inventory(_connectors(block, diagnostics), stock, _cases(block, diagnostics))


def _connectors(block: Block, diagnostics: Diagnostics) -> dict[str, Connector]:
    taken: dict[str, Span] = {}
    statements = [
        item for item in block.all(tree.Connector) if once(item.name, taken, "connector", diagnostics)
    ]
    names = {item.name.text: item for item in statements}
    found = {}
    for item in statements:
        options = Block(item.options, item.name, diagnostics)
        seal = options.one(tree.Seal)
        found[item.name.text] = Connector(
            name=item.name.text,
            title=item.title.text,
            mates=tuple(
                option.connector.text
                for option in options.all(tree.Mates)
                if lookup(option.connector, names, "connector", diagnostics)
            ),
            sealed=None if seal is None else seal.word.text == "sealed",
            rated=amperes(rated.current, diagnostics) if (rated := options.one(tree.Rated)) else None,
            pins=pin_meanings(options.one(tree.Pins), diagnostics),
            span=item.name.span,
        )
    return found


def _cases(block: Block, diagnostics: Diagnostics) -> dict[str, Case]:
    cases: dict[str, Case] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Box):
        name = tree.Name(item.name.text, item.name.span)
        if once(name, taken, "case", diagnostics, "keep one of the two"):
            limit = mass_kg(item.limit) if item.limit else None
            cases[name.text] = Case(name.text, mass_kg(item.empty), limit, name.span)
    return cases


def build(
    block: Block,
    connectors: Mapping[str, Connector],
    units: Mapping[str, Unit | None],
    diagnostics: Diagnostics,
) -> Build:
    """The build of a cable and the way it is laid, from the cable's block."""
    mass, rides, spares = block.one(tree.Mass), block.one(tree.Rides), block.one(tree.SpareLeads)
    pins = _pins(block, diagnostics)
    swap = block.one(tree.Swap)
    return Build(
        plugs=_plugs(block, connectors, diagnostics),
        pins=pins,
        route=_route(block, diagnostics),
        wet=any(place.word.text == "wet" for place in block.all(tree.CablePlace)),
        mass=mass_kg(mass.mass) if mass else None,
        rides=rides.carrier.text if rides and lookup(rides.carrier, units, "unit", diagnostics) else None,
        swap=swap.word.text if swap else "exact" if pins else "same-type",
        mark=block.text(tree.Mark),
        spares=whole(spares.number, 0, MOST_SPARES, "count of spares", diagnostics) if spares else 0,
        case=block.text(tree.Case),
    )


def _plugs(
    block: Block, connectors: Mapping[str, Connector], diagnostics: Diagnostics
) -> tuple[str, str] | None:
    ends = block.one(tree.Ends)
    if ends is None:
        return None
    found = [lookup(name, connectors, "connector", diagnostics) for name in (ends.first, ends.second)]
    return (ends.first.text, ends.second.text) if all(found) else None


def _pins(block: Block, diagnostics: Diagnostics) -> tuple[Pin, ...]:
    pins: list[Pin] = []
    for item in block.all(tree.Pin):
        first, second = pin_name(item.first), pin_name(item.second)
        colour = item.colour.text.upper() if item.colour else ""
        fault = colours.fault_of(colour) if colour else None
        if item.colour and fault:
            diagnostics.report(codes.UNKNOWN_COLOUR, item.colour.span, *fault)
        if any((pin.first, pin.second) == (first, second) for pin in pins):
            diagnostics.report(
                codes.DOUBLED_PIN,
                item.first.span,
                f"pin {first} is joined to pin {second} twice",
                "remove one of the two lines, or correct its pins",
            )
        pins.append(Pin(first, second, colour, item.title.text if item.title else "", item.first.span))
    return tuple(pins)


def _route(block: Block, diagnostics: Diagnostics) -> Route | None:
    route = block.one(tree.Route)
    if route is None:
        return None
    slack = route.slack.value if route.slack else Fraction(0)
    if route.slack and not 0 <= slack <= MOST_SLACK:
        diagnostics.report(
            codes.OUT_OF_RANGE, route.slack.span, f"{show(route.slack)} is no slack", "write `slack 10%`"
        )
    loops = whole(route.loops.number, 1, MOST_LOOPS, "count of loops", diagnostics) if route.loops else 0
    loop = length_mm(route.loops.length) if route.loops else Fraction(0)
    return Route(length_mm(route.length), slack, loops, loop)


def independents(
    items: Iterable[tree.Independent], units: Mapping[str, Unit | None], diagnostics: Diagnostics
) -> tuple[Independent, ...]:
    """The statements `independent UNIT.INPUT, UNIT.INPUT`."""
    found = []
    for item in items:
        places = [_input(place, units, diagnostics) for place in item.inputs]
        known = [place for place in places if place]
        if len(known) == len(places):
            found.append(Independent(tuple(place for place, _ in known), tuple(span for _, span in known)))
    return tuple(found)


def _input(
    place: tree.Place, units: Mapping[str, Unit | None], diagnostics: Diagnostics
) -> tuple[tuple[str, str], Span] | None:
    parts = place.parts
    span = Span(parts[0].span.source, parts[0].span.start, parts[-1].span.end)
    if len(parts) != 2:
        diagnostics.report(
            codes.MISSING_STATEMENT, span, "an input is named as unit.input", "write it as `head.pan`"
        )
        return None
    unit = lookup(parts[0], units, "unit", diagnostics)
    if unit is None or lookup(parts[1], unit.model.inputs, f"input of `{parts[0].text}`", diagnostics) is None:
        return None
    return (parts[0].text, parts[1].text), span
