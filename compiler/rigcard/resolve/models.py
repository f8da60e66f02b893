"""Signals and models."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping
from fractions import Fraction

from rigcard.diagnostics import Related, Sink
from rigcard.reporting.suggest import one_of
from rigcard.resolve import codes, words
from rigcard.resolve.mechanics import Serial
from rigcard.resolve.model import (
    CENTRE,
    SERVO,
    UNKNOWN,
    Arithmetic,
    Band,
    Command,
    Control,
    Counts,
    Input,
    Model,
    Need,
    Port,
    Position,
    Pulse,
    Setting,
    Signal,
    Sweep,
    Turn,
)
from rigcard.resolve.power import power_side
from rigcard.resolve.scope import Block, lookup, once, ordered, place_of, show, whole, word
from rigcard.source import Span
from rigcard.syntax import tree

BUILT_IN = Signal(SERVO, "Servo pulse", SERVO, 1, None, Serial(None, "", None, None), None)
MOST_CHANNELS = 64
MOST_STEPS = 2000  # of travel or of sub-trim to one side
MOST_DIGITS = 4  # of a port's number
LEAST_SIDE, MOST_SIDE = 20, 2000  # mm of a face
PULSE_HINT = "write sizes above zero, as in `pulse 1500us centre, 5us per 1%`"
FORMS = {  # what a handset must state
    "pulse": "pulse 1500us centre, 5us per 1%",
    "travel": "travel 0%..125% step 5%",
    "subtrim": "subtrim -80..80 steps, 80 steps = 12%, shifts whole",
    "reverse": "reverse before subtrim",
    "mix": "mix after travel",
    "output": "output -140%..140%",
    "channels": "channels 12",
}


HANDSET_ONLY = (
    tree.Lever,
    tree.Switch,
    tree.TravelRange,
    tree.SubtrimRange,
    tree.ReverseOrder,
    tree.MixOrder,
    tree.OutputRange,
    tree.Trims,
    tree.Has,
)


def signal(statement: tree.Signal, sink: Sink) -> Signal:
    """A signal from its statement."""
    block = Block(statement.options, statement.name, sink)
    many = block.one(tree.CarriesChannels)
    single = block.one(tree.CarriesKind)
    kind, channels = UNKNOWN, 0
    if many and single:
        sink.report(
            codes.DOUBLED_STATEMENT,
            single.kind.span,
            f"signal `{statement.name.text}` says twice what it carries",
            "keep one `carries`",
            Related(many.number.span, "first said here"),
        )
    if many:
        kind, channels = "channels", whole(many.number, 1, MOST_CHANNELS, "count of channels", sink)
    elif single and single.kind.text in ("channels", "channel"):
        sink.report(
            codes.MISSING_STATEMENT,
            single.kind.span,
            f"signal `{statement.name.text}` does not say how many channels it carries",
            "write the number before the word, such as `carries 16 channels`",
        )
    elif single:
        kind = word(single.kind, words.SIGNAL_KINDS, "kind of signal", sink) or UNKNOWN
    else:
        sink.report(
            codes.MISSING_STATEMENT,
            statement.name.span,
            f"signal `{statement.name.text}` does not say what it carries",
            "write `carries 16 channels`, `carries commands`, `carries power` or `carries picture`",
        )
    return Signal(
        statement.name.text,
        statement.title.text,
        kind,
        channels,
        _counts(block, sink),
        _serial(block, sink),
        statement.name.span,
    )


def _serial(block: Block, sink: Sink) -> Serial:
    """How a serial line talks."""
    rate, logic, reach = block.one(tree.Baud), block.one(tree.Logic), block.one(tree.Reach)
    polarity = block.one(tree.Polarity)
    return Serial(
        rate.number.value if rate else None,
        (word(polarity.name, words.POLARITIES, "polarity", sink) if polarity else None) or "",
        logic.voltage.value if logic else None,
        length_mm(reach.length) if reach else None,
    )


def _counts(block: Block, sink: Sink) -> Counts | None:
    counts = block.one(tree.Counts)
    field = block.one(tree.Field)
    if counts is None or not ordered(counts.low, counts.high, sink):
        return None
    if not ordered(counts.low_percent, counts.high_percent, sink):
        return None
    low, high = int(counts.low.value), int(counts.high.value)
    return Counts(
        low,
        high,
        counts.low_percent.value,
        counts.high_percent.value,
        int(field.low.value) if field else low,
        int(field.high.value) if field else high,
    )


def model(
    statement: tree.Model, signals: dict[str, Signal], connectors: Mapping[str, object], sink: Sink
) -> Model:
    """A model from its statement."""
    block = Block(statement.items, statement.name, sink)
    role = block.one(tree.Role)
    if role is None:
        sink.report(
            codes.MISSING_STATEMENT,
            statement.name.span,
            f"model `{statement.name.text}` has no role",
            "write `role handset`, `role camera` or another role in its block",
        )
    role_name = (word(role.name, words.ROLES, "role", sink) if role else None) or UNKNOWN
    if role_name not in (UNKNOWN, "handset"):
        for item in block.items:
            if isinstance(item, HANDSET_ONLY):
                place = place_of(item)
                word_there = place.source.text[place.start : place.end]
                sink.report(
                    codes.MISPLACED_STATEMENT,
                    place,
                    f"`{statement.name.text}` is {words.a_role(role_name)}, and `{word_there}` is for a handset",
                    "remove it, or write `role handset`",
                )
    face = block.one(tree.Face)
    channels = block.one(tree.Channels)
    carries = block.one(tree.Carries)
    mass = block.one(tree.Mass)
    ports = _ports(block, signals, connectors, sink)
    inputs = _inputs(block, ports, signals, sink)
    settings = _settings(block, sink)
    pulse = block.one(tree.Pulse)
    if pulse and role_name != "handset" and not (pulse.per.value and pulse.percent.value):
        sink.report(
            codes.OUT_OF_RANGE, pulse.per.span, "a pulse of no size a per cent says nothing", PULSE_HINT
        )
    flips = [name for item in block.all(tree.Flips) for name in item.names.names]
    return Model(
        statement.name.text,
        statement.title.text,
        role_name,
        (_side(face.width, sink), _side(face.height, sink)) if face else None,
        _controls(block, sink),
        whole(channels.number, 1, MOST_CHANNELS, "count of channels", sink) if channels else 0,
        _arithmetic(block, sink) if role_name == "handset" else None,
        _pulse(pulse) if pulse else None,
        _window(block, sink),
        ports,
        inputs,
        settings,
        _commands(block, settings, sink),
        tuple(
            item.name.text for item in block.all(tree.Hazard) if word(item.name, words.HAZARDS, "hazard", sink)
        ),
        mass_kg(carries.mass) if carries else None,
        mass_kg(mass.mass) if mass else None,
        tuple(name.text for item in block.all(tree.Offers) for name in item.names.names),
        tuple(name.text for name in flips if lookup(name, inputs, "input of this model", sink)),
        tuple(
            name.text
            for item in block.all(tree.Has)
            for name in item.names.names
            if word(name, words.SHAPES, "thing that a handset has", sink)
        ),
        milliseconds(after.time) if (after := block.one(tree.LossAfter)) else None,
        power_side(block, ports, signals, sink),
        statement.name.span,
    )


def mass_kg(number: tree.Number) -> Fraction:
    """A mass in kg."""
    return number.value / 1000 if number.unit == "g" else number.value


def milliseconds(number: tree.Number) -> Fraction:
    """A time in ms."""
    return number.value * 1000 if number.unit == "s" else number.value


def length_mm(number: tree.Number) -> Fraction:
    """A length in mm."""
    return number.value * {"mm": 1, "cm": 10, "m": 1000}[number.unit]


def _window(block: Block, sink: Sink) -> tuple[Fraction, Fraction] | None:
    window = block.one(tree.Window)
    if window is None or not ordered(window.low, window.high, sink):
        return None
    return window.low.value, window.high.value


def _side(number: tree.Number, sink: Sink) -> Fraction:
    """A side of a face in mm; one that no handset has is reported."""
    if not LEAST_SIDE <= length_mm(number) <= MOST_SIDE:
        sink.report(
            codes.OUT_OF_RANGE,
            number.span,
            f"{show(number)} is no possible side of a face",
            f"write a length from {LEAST_SIDE}mm to {MOST_SIDE}mm",
        )
    return length_mm(number)


def _pulse(statement: tree.Pulse) -> Pulse:
    return Pulse(statement.centre.value, statement.per.value / (statement.percent.value or 1))


def _controls(block: Block, sink: Sink) -> dict[str, Control]:
    controls: dict[str, Control] = {}
    taken: dict[str, Span] = {}
    for item in block.items:
        if isinstance(item, tree.Lever | tree.Switch) and once(item.name, taken, "control", sink):
            controls[item.name.text] = _lever(item) if isinstance(item, tree.Lever) else _switch(item, sink)
    return controls


def _lever(item: tree.Lever) -> Control:
    positions = (
        Position(item.first.text, Fraction(-1)),
        Position(CENTRE, Fraction(0)),
        Position(item.last.text, Fraction(1)),
    )
    return _control(item.kind.text, item, positions, item.options)


def _switch(item: tree.Switch, sink: Sink) -> Control:
    names = [part for part in item.parts if isinstance(part, tree.Name)]
    taken: dict[str, Span] = {}
    names = [name for name in names if once(name, taken, "position", sink)]
    steps = max(1, len(names) - 1)
    positions = tuple(Position(name.text, Fraction(2 * at, steps) - 1) for at, name in enumerate(names))
    return _control("switch", item, positions, item.parts)


def _control(
    kind: str, item: tree.Control, positions: tuple[Position, ...], options: tuple[object, ...]
) -> Control:
    at = next((option for option in options if isinstance(option, tree.At)), None)
    springs = next((option for option in options if isinstance(option, tree.Springs)), None)
    play = springs.within.value if springs and springs.within else Fraction(0)
    place = (length_mm(at.x), length_mm(at.y)) if at else None
    return Control(
        item.name.text, item.title.text, kind, positions, springs is not None, play, place, item.name.span
    )


def _arithmetic(block: Block, sink: Sink) -> Arithmetic | None:
    pulse = block.one(tree.Pulse)
    travel = block.one(tree.TravelRange)
    subtrim = block.one(tree.SubtrimRange)
    reverse = block.one(tree.ReverseOrder)
    mix = block.one(tree.MixOrder)
    output = block.one(tree.OutputRange)
    parts = {
        "pulse": pulse,
        "travel": travel,
        "subtrim": subtrim,
        "reverse": reverse,
        "mix": mix,
        "output": output,
        "channels": block.one(tree.Channels),
    }
    missing = [name for name, part in parts.items() if part is None]
    if missing:
        sink.report(
            codes.MISSING_STATEMENT,
            block.owner.span,
            f"handset `{block.owner.text}` does not state its {', '.join(f'`{name}`' for name in missing)}",
            f"find out what it does and add it, as in {', '.join(f'`{FORMS[name]}`' for name in missing)}",
        )
        return None
    assert pulse and travel and subtrim and reverse and mix and output
    ranges = [(travel.low, travel.high), (subtrim.low, subtrim.high), (output.low, output.high)]
    if not all([ordered(low, high, sink) for low, high in ranges]):
        return None
    for number in (pulse.per, pulse.percent, travel.step, subtrim.steps, subtrim.percent):
        if number.value <= 0:
            sink.report(
                codes.OUT_OF_RANGE, number.span, f"{show(number)} is not above zero", "write a size above zero"
            )
            return None
    counts = (
        (subtrim.low, abs(subtrim.low.value)),
        (subtrim.high, abs(subtrim.high.value)),
        (travel.step, (travel.high.value - travel.low.value) / travel.step.value),
    )
    for number, count in counts:
        if count > MOST_STEPS:
            sink.report(
                codes.OUT_OF_RANGE,
                number.span,
                f"{show(number)} makes more than {MOST_STEPS} steps, which no handset has",
                "read the range and the step on the handset again",
            )
            return None
    shifts = word(_spelling(subtrim.shifts), ("whole", "centre"), "way that sub-trim shifts", sink)
    before = word(mix.step, ("travel",), "step that a mix stands before or after", sink)
    step = word(reverse.step, ("travel", "subtrim"), "step that reversal stands before or after", sink)
    if not (shifts and before and step):
        return None
    order = f"{reverse.order.text}-{step}"
    return Arithmetic(
        _pulse(pulse),
        travel.low.value,
        travel.high.value,
        travel.step.value,
        int(subtrim.low.value),
        int(subtrim.high.value),
        subtrim.percent.value / subtrim.steps.value,
        shifts,
        "before-subtrim" if order == "after-travel" else order,
        f"{mix.order.text}-travel",
        output.low.value,
        output.high.value,
        trims.throw.value if (trims := block.one(tree.Trims)) else Fraction(0),
    )


def _spelling(name: tree.Name) -> tree.Name:
    return tree.Name("centre", name.span) if name.text == "center" else name


def _ports(
    block: Block, signals: dict[str, Signal], connectors: Mapping[str, object], sink: Sink
) -> dict[str, Port]:
    ports: dict[str, Port] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Port):
        row = port_names(item.names, sink)
        names = row or _likely_row(item)
        lookup(item.signal, signals, "signal", sink)
        connector = item.connector and lookup(item.connector, connectors, "connector", sink)
        by = item.connector.text if item.connector and connector else None
        channels = _port_channels(item, len(names), sink) if row else [None] * len(names)
        for name, number in zip(names, channels, strict=True):
            if once(name, taken, "port", sink):  # with an unknown signal too, so that only that is reported
                ports[name.text] = Port(name.text, item.direction.text, item.signal.text, number, by, name.span)
    return ports


def _likely_row(item: tree.Port) -> list[tree.Name]:
    """The ports that a row with a fault in it means, as far as one can tell, so that only the fault is reported."""
    assert isinstance(item.names, tree.PortRange)
    first = item.names.first
    found = {name.text: name for name in (first, item.names.last)}
    if item.channel and item.channel.last:
        stem = first.text.rstrip("0123456789")
        begin, end = (int(number.value) for number in (item.channel.first, item.channel.last))
        for number in range(begin, min(end, begin + MOST_CHANNELS) + 1):
            found.setdefault(f"{stem}{number}", tree.Name(f"{stem}{number}", first.span))
    return list(found.values())


def port_names(names: tree.PortRange | tree.PortList, sink: Sink) -> list[tree.Name]:
    """Every port of a list or of a numbered row."""
    if isinstance(names, tree.PortList):
        return list(names.names)
    first, last = names.first.text, names.last.text
    stem = first.rstrip("0123456789")
    digits = first[len(stem) :], last[len(stem) :]
    if stem != last.rstrip("0123456789") or not all(1 <= len(part) <= MOST_DIGITS for part in digits):
        sink.report(
            codes.OUT_OF_RANGE,
            names.last.span,
            f"`{first}..{last}` is no row of ports",
            "number both ends of one name, such as `p1..p8`, or list the ports with commas",
        )
        return []
    low, high = (int(part) for part in digits)
    if not low < high <= low + MOST_CHANNELS:
        sink.report(
            codes.BACKWARD_RANGE,
            names.first.span,
            f"the row of ports runs from {low} to {high}",
            f"write the smaller number first, and at most {MOST_CHANNELS} ports",
        )
        low, high = high, min(low, high + MOST_CHANNELS)
    span = Span(names.first.span.source, names.first.span.start, names.last.span.end)
    return [tree.Name(f"{stem}{number}", span) for number in range(low, high + 1)]


def _port_channels(item: tree.Port, count: int, sink: Sink) -> list[int | None]:
    stated = item.channel
    if stated is None:
        return [None] * count
    first = whole(stated.first, 1, MOST_CHANNELS, "channel number", sink)
    last = whole(stated.last, 1, MOST_CHANNELS, "channel number", sink) if stated.last else first
    if last - first + 1 != count:
        sink.report(
            codes.OUT_OF_RANGE,
            stated.first.span,
            f"the row has {count} port{'s' * (count != 1)} and {max(0, last - first + 1)} channel number"
            f"{'s' * (last != first)}",
            _row_hint(item, first, count),
        )
        return [None] * count
    return list(range(first, last + 1))


def _row_hint(item: tree.Port, first: int, count: int) -> str:
    """How to make as many channel numbers as ports, or ports as channel numbers."""
    name = item.names.names[0].text if isinstance(item.names, tree.PortList) else ""
    row = re.fullmatch(r"([A-Za-z_-]*\d+)-([A-Za-z_-]*\d+)", name)
    if row:
        return f"write a row of ports with two dots, `{row[1]}..{row[2]}`"
    return f"write `channel {first}..{first + count - 1}`" if count > 1 else f"write `channel {first}`"


def _inputs(block: Block, ports: dict[str, Port], signals: dict[str, Signal], sink: Sink) -> dict[str, Input]:
    listening = {
        name: port
        for name, port in ports.items()
        if port.direction == "in"
        and (port.signal not in signals or signals[port.signal].kind in ("servo", "channels", UNKNOWN))
    }
    inputs: dict[str, Input] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Input):
        if not once(item.name, taken, "input", sink):
            continue
        port = _listening_port(item.port, ports, listening, sink) if item.port else None
        if item.port is None:
            if len(listening) == 1:
                port = next(iter(listening.values()))
            else:
                sink.report(
                    codes.MISSING_STATEMENT,
                    item.name.span,
                    f"input `{item.name.text}` does not say on which of {len(listening)} ports it listens",
                    f"write `input {item.name.text} on PORT` with the port's name",
                )
        inner = Block(item.items, item.name, sink)
        sweep = inner.one(tree.Sweep)
        bands = _bands(inner, sink)
        if (sweep is None) == (not bands):
            sink.report(
                codes.MISSING_STATEMENT if not bands else codes.DOUBLED_STATEMENT,
                item.name.span,
                f"input `{item.name.text}` has {'both bands and' if bands else 'neither bands nor'} a sweep",
                "write either its bands or one `sweeps` line",
            )
        if port or item.port:  # on an unknown port too, so that only that is reported
            dwell, silence = inner.one(tree.Dwell), inner.one(tree.Silence)
            states = {band.name: True for band in bands} if bands else {CENTRE: True}
            if sweep:
                states.update({sweep.first.text: True, sweep.last.text: True})
            if silence and not lookup(silence.state, states, f"state of `{item.name.text}`", sink):
                silence = None
            inputs[item.name.text] = Input(
                item.name.text,
                item.title.text,
                port.name if port else "",
                item.critical is not None,
                item.critical is not None and item.critical.stop is not None,
                bands,
                _sweep(sweep, sink) if sweep else None,
                inner.one(tree.Learns) is not None,
                milliseconds(dwell.time) if dwell else None,
                silence.state.text if silence else None,
                item.name.span,
            )
    return inputs


def _listening_port(
    name: tree.Name, ports: dict[str, Port], listening: dict[str, Port], sink: Sink
) -> Port | None:
    """The port of an input, which must be one that channels come in by."""
    port = lookup(name, ports, "port on this model", sink)
    if port and port.name not in listening:
        does = (
            "is an output" if port.direction == "out" else f"takes `{port.signal}`, which carries no channels"
        )
        hint = (
            f"name one of {one_of(list(listening))}"
            if listening
            else f"declare it as `port {name.text} in servo`"
        )
        sink.report(codes.UNKNOWN_NAME, name.span, f"port `{name.text}` {does}", hint)
    return port


def _bands(block: Block, sink: Sink) -> tuple[Band, ...]:
    bands: list[Band] = []
    apart: list[Band] = []  # those that share no levels, by level: a new one is compared with its neighbours
    taken: dict[str, Span] = {}
    for item in block.all(tree.Band):
        if not once(item.name, taken, "state", sink) or not ordered(item.low, item.high, sink):
            continue
        band = Band(item.name.text, item.low.value, item.high.value, item.rest is not None, item.name.span)
        bands.append(band)
        at = bisect_left(apart, band.low, key=lambda other: other.low)
        for other in apart[max(0, at - 1) : at + 1]:
            if band.low < other.high and other.low < band.high:
                sink.report(
                    codes.OVERLAPPING_BANDS,
                    band.span,
                    f"the bands `{other.name}` and `{band.name}` share levels",
                    "let one end before the other begins",
                    Related(other.span, "the other band"),
                )
                break
        else:
            apart.insert(at, band)
    return tuple(bands)


def _sweep(item: tree.Sweep, sink: Sink) -> Sweep:
    options = Block(item.options, item.first, sink)
    over, rest = options.one(tree.SweepOver), options.one(tree.SweepRest)
    dead, full = options.one(tree.DeadBand), options.one(tree.Full)
    low, high = Fraction(-100), Fraction(100)
    if over and ordered(over.low, over.high, sink):
        low, high = over.low.value, over.high.value
    return Sweep(
        item.first.text,
        item.last.text,
        low,
        high,
        rest.percent.value if rest else None,
        dead.percent.value if dead else None,
        turn(full.turn) if full else None,
    )


def turn(number: tree.Number) -> Turn:
    """An angle, or an angle a second."""
    return Turn(number.value, number.unit == "deg/s")


def _settings(block: Block, sink: Sink) -> dict[str, Setting]:
    settings: dict[str, Setting] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Setting):
        if once(item.name, taken, "setting", sink):
            choices = tuple(text.text for text in item.choices.texts) if item.choices else ()
            settings[item.name.text] = Setting(item.name.text, item.title.text, choices)
    return settings


def _commands(block: Block, settings: dict[str, Setting], sink: Sink) -> dict[str, Command]:
    commands: dict[str, Command] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Command):
        needs = []
        for need in item.needs.needs if item.needs else ():
            if need.value is None:
                needs.append(Need(need.name.text, None, need.name.span))
            elif lookup(need.name, settings, "setting of this model", sink):
                needs.append(Need(need.name.text, need.value.text, need.name.span))
        if item.does:
            lookup(item.does, settings, "setting of this model", sink)
        for name in item.names.names:
            if once(name, taken, "command", sink):
                does = item.does.text if item.does else None
                commands[name.text] = Command(name.text, tuple(needs), does, name.span)
    return commands
