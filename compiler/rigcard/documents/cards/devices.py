"""Set-up of everything that is not a handset: receivers, heads, adapters, cameras, and the rest."""

from __future__ import annotations

from rigcard.documents.base.layout import (
    BODY,
    SMALL,
    Block,
    Box,
    Cell,
    heading,
    joined,
    paragraph,
    table,
    text_at,
)
from rigcard.documents.base.model import Mark, Rectangle, Typeface
from rigcard.documents.base.phrases import control_title, effect, place, port_name, the
from rigcard.documents.cards import cautions
from rigcard.documents.cards.burden import burden
from rigcard.documents.cards.frame import TECHNICIAN, Group
from rigcard.documents.cards.parts import connections, identity, notes, settings, steps
from rigcard.documents.cards.power import power_line
from rigcard.documents.cards.ruler import readings_of, ruler, sweep_table
from rigcard.resolve.links import Feed, Wire, handset_behind
from rigcard.resolve.model import Input, Signal, Unit
from rigcard.solve.solved import Solved
from rigcard.solve.turning import shown_turn
from rigcard.words import baud, kilograms, millimetres, volts

PINS_A_ROW = 8


def device_setup(face: Typeface, inner: float, solved: Solved, unit: Unit) -> Group:
    """Make the cards of one device, with only the parts that apply to it."""
    rig = solved.rig
    blocks: list[Block] = [identity(face, inner, unit)]
    blocks += _mounting(face, inner, solved, unit)
    blocks += burden(face, inner, rig, unit)
    if unit.role == "receiver":
        blocks += _receiver(face, inner, solved, unit)
    else:
        blocks += [block for block in (settings(face, inner, unit),) if block]
        blocks += _inputs(face, inner, solved, unit)
        blocks += _commands(face, inner, solved, unit)
        blocks += [block for block in (connections(face, inner, rig, unit),) if block]
    blocks += notes(face, inner, unit.notes)
    return Group(unit.label, unit.title, tuple(blocks), cautions.of_unit(rig, unit), TECHNICIAN)


def _mounting(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    lines = []
    if unit.underslung is not None:
        lines.append(f"Mount {'UNDERSLUNG' if unit.underslung else 'UPRIGHT'}.")
    if unit.mounted_on:
        lines.append(f"Mounted on {solved.rig.units[unit.mounted_on].title}.")
    if unit.model.mass is not None:
        lines.append(f"Mass {kilograms(unit.model.mass)}.")
    blocks = [paragraph(face, " ".join(lines), inner, bold=True)] if lines else []
    power = power_line(solved, unit)
    return [*blocks, *([paragraph(face, power, inner)] if power else [])]


# ---- receiver ------------------------------------------------------------------------------------------------


def _receiver(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    rig = solved.rig
    handset = handset_behind(rig, unit)
    assert handset is not None
    partner = f"Bound to {handset.title}" + (f", asset {handset.asset}" if handset.asset else "") + "."
    wires = {
        end.port: wire
        for wire in solved.links.wires
        for end in (wire.source, wire.sink)
        if end.unit == unit.name
    }
    rows = []
    for port in unit.model.ports.values():
        wire = wires.get(port.name)
        if wire is None:
            continue
        inward = wire.sink.unit == unit.name
        other = wire.source if inward else wire.sink
        rows.append(
            [
                Cell(port.label, BODY, True),
                Cell(rig.signal_at(wire.sink).title if inward else _carried(solved, handset, wire), 11.0),
                Cell(wire.leg.id, BODY),
                Cell(f"{'from ' if inward else ''}{port_name(rig, other.unit, other.port)}", 11.0),
            ]
        )
    empty = [port.label for port in unit.model.ports.values() if port.name not in wires]
    spoken = dict.fromkeys(rig.signal_at(wire.source) for wire in wires.values())
    head = ("PIN", "CHANNEL", "CABLE", "GOES TO")
    name = min(
        max([12.0, *(face.width(unit.model.ports[port].label, BODY, True) + 2.0 for port in wires)]), 28.0
    )
    binding = [(step.text, "") for step in rig.steps if step.phase == "bind"]
    blocks = [
        paragraph(face, partner, inner, bold=True),
        *([heading(face, "To bind it", inner), steps(face, inner, binding)] if binding else []),
        joined(heading(face, "Pins", inner), _pins(face, inner, unit, wires)),
        table(face, head, rows, (name, 26.0, 18.0, inner - 44.0 - name)),
    ]
    if empty:
        blocks.append(paragraph(face, f"Leave empty: {', '.join(empty)}.", inner))
    return [*blocks, *(paragraph(face, line, inner) for signal in spoken if (line := _line(signal)))]


def _line(signal: Signal) -> str:
    """Return the parameters of a serial line; "" if the rig does not state them."""
    serial = signal.serial
    parts = [
        baud(serial.rate),
        f"polarity {serial.polarity}" if serial.polarity else "",
        f"logic {volts(serial.logic)}" if serial.logic is not None else "",
        f"lead {millimetres(serial.reach)} at most" if serial.reach is not None else "",
    ]
    said = ", ".join(part for part in parts if part)
    return f"{signal.title}: {said}." if said else ""


def _carried(solved: Solved, handset: Unit, wire: Wire) -> str:
    number = solved.rig.port(wire.source).channel
    for channel in handset.channels.values():
        if channel.number == number:
            return f"{number} {channel.name}"
    return solved.rig.signal_at(wire.source).title if number is None else str(number)


def _pins(face: Typeface, inner: float, unit: Unit, wires: dict[str, Wire]) -> Block:
    """Draw the pins in the order of the model; one with a heavy outline takes a plug."""
    ports = list(unit.model.ports.values())
    width = inner / PINS_A_ROW
    pieces = []
    for start in range(0, len(ports), PINS_A_ROW):
        marks: list[Mark] = []
        for index, port in enumerate(ports[start : start + PINS_A_ROW]):
            used = port.name in wires
            x = index * width
            marks.append(
                Rectangle(x + 0.6, 0.4, width - 1.2, 8.2, 0.8 if used else 0.2, () if used else (0.8, 0.8))
            )
            size = BODY
            while size > SMALL and face.width(port.label, size, used) > width - 2:
                size -= 0.5
            if face.width(port.label, size, used) <= width - 1.4:  # a longer name stands in the table only
                marks.append(text_at(face, x, 1.8, port.label, size, bold=used, align="centre", width=width))
        pieces.append(Box(9.4, tuple(marks), True))
    return Block(tuple(pieces))


# ---- inputs and commands -------------------------------------------------------------------------------------


def _inputs(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    blocks = []
    for known in unit.model.inputs.values():
        if known.name in unit.unused:
            blocks.append(
                joined(
                    heading(face, f"{known.title}: not used", inner),
                    paragraph(face, _left_out(solved, unit, known), inner),
                )
            )
            continue
        for feed in solved.links.feeds:
            if feed.unit == unit.name and feed.input.name == known.name:
                blocks.append(_input(face, inner, solved, feed))
    return blocks


def _left_out(solved: Solved, unit: Unit, known: Input) -> str:
    """Return how an unused input is kept still; if its port serves other inputs, the lead stays in."""
    busy = any((wire.sink.unit, wire.sink.port) == (unit.name, known.port) for wire in solved.links.wires)
    return (
        f"Map no channel to it; port {known.port} carries others."
        if busy
        else f"Leave port {known.port} empty."
    )


def _input(face: Typeface, inner: float, solved: Solved, feed: Feed) -> Block:
    result = solved.results[feed.handset, feed.channel]
    handset = solved.rig.units[feed.handset]
    title = heading(face, f"{feed.input.title} (port {feed.input.port})", inner)
    source = f"Channel {result.number} ({result.name}) of {the(handset.title)}"
    many = solved.rig.signal_at(feed.plug).kind == "channels"
    turned = ", REVERSED here" if feed.turned else ", not reversed" if many else ""
    sweep = feed.input.sweep
    full = f" At the ends {shown_turn(sweep, sweep.full.degrees)}." if sweep and sweep.full else ""
    line = paragraph(face, f"{source}{turned}.{full}", inner, gap=0.5, keep=True)
    body = ruler(face, inner, solved, feed) if feed.input.bands else sweep_table(face, inner, solved, feed)
    return joined(title, line, body)


def _commands(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    """List the commands that the unit receives, and the control that sends each."""
    rows = []
    for feed in solved.links.feeds:
        if all(order.receiver != unit.name for order in solved.links.orders_of(feed)):
            continue
        for row, reading in readings_of(solved, feed):
            if any(found.unit == unit.name for found in reading.effects):
                control = control_title(solved.rig, feed.handset, row.control)
                rows.append(
                    [
                        Cell(f"{control} {place(row.position)}", BODY),
                        Cell(effect(solved, reading), BODY, True),
                    ]
                )
    if not rows:
        return []
    head = ("CONTROL", "SEE")
    return [
        joined(heading(face, "Commands it must obey", inner), table(face, head, rows, (46.0, inner - 46.0)))
    ]
