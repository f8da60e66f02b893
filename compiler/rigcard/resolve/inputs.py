"""Inputs of a model, its settings and the commands that it obeys."""

from __future__ import annotations

from bisect import bisect_left
from fractions import Fraction

from rigcard.diagnostics import Diagnostics, Related
from rigcard.reporting.suggest import did_you_mean, one_of
from rigcard.resolve import codes
from rigcard.resolve.measures import milliseconds, turn
from rigcard.resolve.model import (
    CENTRE,
    UNKNOWN,
    Band,
    Command,
    Input,
    Need,
    Port,
    Setting,
    Signal,
    Sweep,
)
from rigcard.resolve.scope import Block, lookup, once, ordered
from rigcard.source import Span
from rigcard.syntax import tree


def inputs_of(
    block: Block, ports: dict[str, Port], signals: dict[str, Signal], diagnostics: Diagnostics
) -> dict[str, Input]:
    """The inputs of a model by name."""
    listening = {
        name: port
        for name, port in ports.items()
        if port.direction == "in"
        and (port.signal not in signals or signals[port.signal].kind in ("servo", "channels", UNKNOWN))
    }
    inputs: dict[str, Input] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Input):
        if not once(item.name, taken, "input", diagnostics):
            continue
        port = _listening_port(item.port, ports, listening, diagnostics) if item.port else None
        if item.port is None:
            if len(listening) == 1:
                port = next(iter(listening.values()))
            else:
                diagnostics.report(
                    codes.MISSING_STATEMENT,
                    item.name.span,
                    f"input `{item.name.text}` does not say on which of {len(listening)} ports it listens",
                    f"write `input {item.name.text} on PORT` with the port's name",
                )
        inner = Block(item.items, item.name, diagnostics)
        sweep = inner.one(tree.Sweep)
        bands = _bands(inner, diagnostics)
        if (sweep is None) == (not bands):
            diagnostics.report(
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
            if silence and not lookup(silence.state, states, f"state of `{item.name.text}`", diagnostics):
                silence = None
            inputs[item.name.text] = Input(
                name=item.name.text,
                title=item.title.text,
                port=port.name if port else "",
                critical=item.critical is not None,
                stops=item.critical is not None and item.critical.stop is not None,
                bands=bands,
                sweep=_sweep(sweep, diagnostics) if sweep else None,
                learns=inner.one(tree.Learns) is not None,
                dwell=milliseconds(dwell.time) if dwell else None,
                silence=silence.state.text if silence else None,
                span=item.name.span,
            )
    return inputs


def _listening_port(
    name: tree.Name, ports: dict[str, Port], listening: dict[str, Port], diagnostics: Diagnostics
) -> Port | None:
    """The port of an input, which must be one that channels come in by."""
    port = lookup(name, ports, "port on this model", diagnostics)
    if port and port.name not in listening:
        does = (
            "is an output" if port.direction == "out" else f"takes `{port.signal}`, which carries no channels"
        )
        hint = (
            f"name one of {one_of(list(listening))}"
            if listening
            else f"declare it as `port {name.text} in servo`"
        )
        diagnostics.report(codes.UNKNOWN_NAME, name.span, f"port `{name.text}` {does}", hint)
    return port


def _bands(block: Block, diagnostics: Diagnostics) -> tuple[Band, ...]:
    bands: list[Band] = []
    apart: list[Band] = []  # those that share no levels, by level: a new one is compared with its neighbours
    taken: dict[str, Span] = {}
    for item in block.all(tree.Band):
        if not once(item.name, taken, "state", diagnostics) or not ordered(item.low, item.high, diagnostics):
            continue
        band = Band(item.name.text, item.low.value, item.high.value, item.rest is not None, item.name.span)
        bands.append(band)
        at = bisect_left(apart, band.low, key=lambda other: other.low)
        for other in apart[max(0, at - 1) : at + 1]:
            if band.low < other.high and other.low < band.high:
                diagnostics.report(
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


def _sweep(item: tree.Sweep, diagnostics: Diagnostics) -> Sweep:
    options = Block(item.options, item.first, diagnostics)
    over, rest = options.one(tree.SweepOver), options.one(tree.SweepRest)
    dead, full = options.one(tree.DeadBand), options.one(tree.Full)
    low, high = Fraction(-100), Fraction(100)
    if over and ordered(over.low, over.high, diagnostics):
        low, high = over.low.value, over.high.value
    return Sweep(
        first=item.first.text,
        last=item.last.text,
        low=low,
        high=high,
        rest=rest.percent.value if rest else None,
        dead=dead.percent.value if dead else None,
        full=turn(full.turn) if full else None,
    )


def settings_of(block: Block, diagnostics: Diagnostics) -> dict[str, Setting]:
    """The menu settings of a model by name."""
    settings: dict[str, Setting] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Setting):
        if once(item.name, taken, "setting", diagnostics):
            choices = tuple(text.text for text in item.choices.texts) if item.choices else ()
            default = item.default.value if item.default else None
            if default and choices and default.text not in choices:
                diagnostics.report(
                    codes.OUT_OF_RANGE,
                    default.span,
                    f'setting `{item.name.text}` has no choice "{default.text}"',
                    did_you_mean(default.text, choices, f"write one of {one_of(list(choices))}"),
                )
            settings[item.name.text] = Setting(
                item.name.text, item.title.text, choices, default.text if default else ""
            )
    return settings


def commands_of(block: Block, settings: dict[str, Setting], diagnostics: Diagnostics) -> dict[str, Command]:
    """The commands that a model obeys, by name."""
    commands: dict[str, Command] = {}
    taken: dict[str, Span] = {}
    for item in block.all(tree.Command):
        needs = []
        for need in item.needs.needs if item.needs else ():
            if need.value is None:
                needs.append(Need(need.name.text, None, need.name.span))
            elif lookup(need.name, settings, "setting of this model", diagnostics):
                needs.append(Need(need.name.text, need.value.text, need.name.span))
        if item.does:
            lookup(item.does, settings, "setting of this model", diagnostics)
        for name in item.names.names:
            if once(name, taken, "command", diagnostics):
                does = item.does.text if item.does else None
                commands[name.text] = Command(name.text, tuple(needs), does, name.span)
    return commands
