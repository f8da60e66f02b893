"""Resolves the ports of a model: sockets, and rows of numbered pins."""

from __future__ import annotations

import re
from collections.abc import Mapping

from rigcard.diagnostics import Diagnostics
from rigcard.resolve import codes
from rigcard.resolve.model import (
    Need,
    Port,
    Setting,
    Signal,
)
from rigcard.resolve.scope import Block, lookup, once, show, whole
from rigcard.resolve.signals import MOST_CHANNELS
from rigcard.source import Span
from rigcard.syntax import tree

MOST_DIGITS = 4  # of the number of a port


def ports_of(
    block: Block,
    signals: dict[str, Signal],
    connectors: Mapping[str, object],
    settings: Mapping[str, Setting],
    diagnostics: Diagnostics,
) -> dict[str, Port]:
    """The ports of a model by name."""
    ports: dict[str, Port] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Port):
        row = port_names(item.names, diagnostics)
        names = row or _likely_row(item)
        lookup(item.signal, signals, "signal", diagnostics)
        connector = item.connector and lookup(item.connector, connectors, "connector", diagnostics)
        by = item.connector.text if item.connector and connector else None
        pins = pin_meanings(item.pins, diagnostics)
        channels = _port_channels(item, len(names), diagnostics) if row else [None] * len(names)
        needs = needs_of(item.needs, settings, diagnostics)
        for name, number in zip(names, channels, strict=True):
            if once(
                name, taken, "port", diagnostics
            ):  # also with an unknown signal, so that only the signal is reported
                ports[name.text] = Port(
                    name=name.text,
                    direction=item.direction.text,
                    signal=item.signal.text,
                    channel=number,
                    connector=by,
                    pins=pins,
                    short=_short(item, name.text),
                    needs=needs,
                    span=name.span,
                )
    return ports


def _short(item: tree.Port, name: str) -> str:
    """The name of a port on labels and drawings; in a row, the number of each port follows it."""
    if item.short is None:
        return ""
    if isinstance(item.names, tree.PortList) and len(item.names.names) == 1:
        return item.short.text.text
    return item.short.text.text + name[len(name.rstrip("0123456789")) :]


def pin_name(pin: tree.Name | tree.Number) -> str:
    """A pin by its number or name on the connector."""
    return pin.text if isinstance(pin, tree.Name) else show(pin)


def pin_meanings(stated: tree.Pins | None, diagnostics: Diagnostics) -> dict[str, str]:
    """The purpose of each pin of a connector or a port; reports a pin with two purposes."""
    found: dict[str, str] = {}
    for item in stated.pins if stated else ():
        name = pin_name(item.pin)
        if found.setdefault(name, item.word.text) != item.word.text:
            diagnostics.report(
                codes.DOUBLED_STATEMENT,
                item.pin.span,
                f"pin {name} is {found[name]} and {item.word.text}",
                "keep one of the two",
            )
    return found


def needs_of(
    stated: tree.Needs | None, settings: Mapping[str, Setting], diagnostics: Diagnostics
) -> tuple[Need, ...]:
    """The needs of a port, an input or a command: settings at a value, or features of a mounted unit."""
    needs = []
    for need in stated.needs if stated else ():
        if need.value is None:
            needs.append(Need(need.name.text, None, need.name.span))
        elif lookup(need.name, settings, "setting of this model", diagnostics):
            needs.append(Need(need.name.text, need.value.text, need.name.span))
    return tuple(needs)


def _likely_row(item: tree.Port) -> list[tree.Name]:
    """The ports that a faulty row probably means, so that only the fault itself is reported."""
    assert isinstance(item.names, tree.PortRange)
    first = item.names.first
    found = {name.text: name for name in (first, item.names.last)}
    if item.channel and item.channel.last:
        stem = first.text.rstrip("0123456789")
        begin, end = (int(number.value) for number in (item.channel.first, item.channel.last))
        for number in range(begin, min(end, begin + MOST_CHANNELS) + 1):
            found.setdefault(f"{stem}{number}", tree.Name(f"{stem}{number}", first.span))
    return list(found.values())


def port_names(names: tree.PortRange | tree.PortList, diagnostics: Diagnostics) -> list[tree.Name]:
    """Every port of a list or of a numbered row."""
    if isinstance(names, tree.PortList):
        return list(names.names)
    first, last = names.first.text, names.last.text
    stem = first.rstrip("0123456789")
    digits = first[len(stem) :], last[len(stem) :]
    if stem != last.rstrip("0123456789") or not all(1 <= len(part) <= MOST_DIGITS for part in digits):
        diagnostics.report(
            codes.OUT_OF_RANGE,
            names.last.span,
            f"`{first}..{last}` is no row of ports",
            "number both ends of one name, such as `p1..p8`, or list the ports with commas",
        )
        return []
    low, high = (int(part) for part in digits)
    if not low < high <= low + MOST_CHANNELS:
        diagnostics.report(
            codes.BACKWARD_RANGE,
            names.first.span,
            f"the row of ports runs from {low} to {high}",
            f"write the smaller number first, and at most {MOST_CHANNELS} ports",
        )
        low, high = high, min(low, high + MOST_CHANNELS)
    span = Span(names.first.span.source, names.first.span.start, names.last.span.end)
    return [tree.Name(f"{stem}{number}", span) for number in range(low, high + 1)]


def _port_channels(item: tree.Port, count: int, diagnostics: Diagnostics) -> list[int | None]:
    stated = item.channel
    if stated is None:
        return [None] * count
    first = whole(stated.first, 1, MOST_CHANNELS, "channel number", diagnostics)
    last = whole(stated.last, 1, MOST_CHANNELS, "channel number", diagnostics) if stated.last else first
    if last - first + 1 != count:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            stated.first.span,
            f"the row has {count} port{'s' * (count != 1)} and {max(0, last - first + 1)} channel number"
            f"{'s' * (last != first)}",
            _row_hint(item, first, count),
        )
        return [None] * count
    return list(range(first, last + 1))


def _row_hint(item: tree.Port, first: int, count: int) -> str:
    """How to make the number of ports equal to the number of channel numbers."""
    name = item.names.names[0].text if isinstance(item.names, tree.PortList) else ""
    row = re.fullmatch(r"([A-Za-z_-]*\d+)-([A-Za-z_-]*\d+)", name)
    if row:
        return f"write a row of ports with two dots, `{row[1]}..{row[2]}`"
    return f"write `channel {first}..{first + count - 1}`" if count > 1 else f"write `channel {first}`"
