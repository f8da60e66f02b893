"""Resolves the inputs of a model, its settings and the commands that it obeys."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from fractions import Fraction

from rigcard.diagnostics import Diagnostics, Related
from rigcard.reporting.suggest import did_you_mean, one_of
from rigcard.resolve import asked, codes
from rigcard.resolve.measures import turn
from rigcard.resolve.model import (
    CENTRE,
    UNKNOWN,
    Ask,
    Band,
    Command,
    Input,
    Port,
    Scale,
    Setting,
    Signal,
    Sweep,
)
from rigcard.resolve.ports import needs_of
from rigcard.resolve.scope import Block, duration, lookup, once, ordered, show
from rigcard.source import Span
from rigcard.syntax import tree

LONGEST_DWELL = 10  # s that a level must last to be read (common practice, no source)


def inputs_of(
    block: Block,
    ports: dict[str, Port],
    passed: Mapping[str, str],
    signals: dict[str, Signal],
    settings: Mapping[str, Setting],
    scale: asked.Scale,
    diagnostics: Diagnostics,
) -> tuple[dict[str, Input], list[Ask]]:
    """The inputs of a model by name, and the readings that they still need."""
    asks: list[Ask] = []
    speaking = {
        name: port
        for name, port in ports.items()
        if port.direction == "out"
        and port.signal in signals
        and signals[port.signal].kind in ("commands", UNKNOWN)
    }
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
        learner = asked.Learner(inner, item.title.text, scale, diagnostics)
        bands = _bands(inner, learner, diagnostics)
        if (sweep is None) == (not bands):
            diagnostics.report(
                codes.MISSING_STATEMENT if not bands else codes.DOUBLED_STATEMENT,
                item.name.span,
                f"input `{item.name.text}` has {'both bands and' if bands else 'neither bands nor'} a sweep",
                "write either its bands or one `sweeps` line",
            )
        if port or item.port:  # also for an unknown port, so that only the unknown port is reported
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
                sweep=_sweep(sweep, learner, diagnostics) if sweep else None,
                learns=inner.one(tree.Learns) is not None,
                dwell=duration(dwell.time, LONGEST_DWELL, "time to read a level", diagnostics)
                if dwell
                else None,
                silence=silence.state.text if silence else None,
                sends=_sends(item, ports, speaking, passed, diagnostics),
                needs=needs_of(item.needs, settings, diagnostics),
                span=item.name.span,
            )
            _check_states(inner, inputs[item.name.text], diagnostics)
            asks += asked.in_order(learner.asks)
    _bind_inputs(block, inputs, diagnostics)
    return inputs, asks


def _check_states(block: Block, known: Input, diagnostics: Diagnostics) -> None:
    """Report readings of a state that the input does not have."""
    states = dict.fromkeys(known.states, True)
    for item in block.all(tree.EdgeReading):
        lookup(item.state, states, f"state of `{known.name}`", diagnostics)


def _bind_inputs(block: Block, inputs: dict[str, Input], diagnostics: Diagnostics) -> None:
    """Report names after `holds` and `scales` that are not another suitable input of the model."""
    for item in block.all(tree.Input):
        others = {name: known for name, known in inputs.items() if name != item.name.text}
        for part in item.items:
            if isinstance(part, tree.Band | tree.BandUnknown):
                for name in part.stills.inputs.names if part.stills else ():
                    lookup(name, others, f"other input of `{block.owner.text}`", diagnostics)
            elif isinstance(part, tree.Sweep):
                for option in part.options:
                    if isinstance(option, tree.Scales):
                        _check_scales(option, others, block, diagnostics)


def _check_scales(
    option: tree.Scales, others: dict[str, Input], block: Block, diagnostics: Diagnostics
) -> None:
    scaled = lookup(option.input, others, f"other input of `{block.owner.text}`", diagnostics)
    if scaled and (scaled.sweep is None or scaled.sweep.full is None):
        diagnostics.report(
            codes.MISPLACED_STATEMENT,
            option.input.span,
            f"`{scaled.name}` does not say how far or how fast it turns, so there is nothing to scale",
            "write `full 60deg/s` in its `sweeps` line, with the value of the device",
        )
    for part in (option.low, option.high):
        if not 0 <= part.value <= 100:
            diagnostics.report(
                codes.OUT_OF_RANGE, part.span, f"{show(part)} is no part of a turn", "write 0% to 100%"
            )


def _listening_port(
    name: tree.Name, ports: dict[str, Port], listening: dict[str, Port], diagnostics: Diagnostics
) -> Port | None:
    """The port of an input; it must be a port that receives channels."""
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


def _sends(
    item: tree.Input,
    ports: dict[str, Port],
    speaking: dict[str, Port],
    passed: Mapping[str, str],
    diagnostics: Diagnostics,
) -> tuple[str, ...]:
    """The ports by which an input's commands leave: the named ones, or the only port where commands begin."""
    if item.sends is None:
        own = tuple(name for name in speaking if name not in passed)
        if len(own) > 1:
            diagnostics.report(
                codes.MISSING_STATEMENT,
                item.name.span,
                f"input `{item.name.text}` does not say by which of {len(own)} ports its commands leave",
                f"write `to {own[0]}` after its title, with the port that the lead of its listener is plugged to",
            )
        return own
    found = []
    for name in item.sends.ports.names:
        port = lookup(name, ports, "port on this model", diagnostics)
        if port and port.name not in speaking:
            does = (
                "is an input" if port.direction == "in" else f"gives `{port.signal}`, which carries no commands"
            )
            diagnostics.report(
                codes.UNKNOWN_NAME,
                name.span,
                f"port `{name.text}` {does}",
                f"name one of {one_of(list(speaking))}"
                if speaking
                else f"declare a port such as `port {name.text}-out out keys`, whose signal carries commands",
            )
        elif port:
            found.append(port.name)
    return tuple(dict.fromkeys(found))


def _bands(block: Block, learner: asked.Learner, diagnostics: Diagnostics) -> tuple[Band, ...]:
    bands: list[Band] = []
    apart: list[Band] = []  # disjoint bands, by level: compare a new one only with its neighbours
    taken: dict[str, Span] = {}
    states: list[tree.Band | tree.BandUnknown] = [
        item for item in block.items if isinstance(item, tree.Band | tree.BandUnknown)
    ]
    learnt = learner.bands(states)
    for item in states:
        if not once(item.name, taken, "state", diagnostics):
            continue
        if isinstance(item, tree.Band):
            if not ordered(item.low, item.high, diagnostics):
                continue
            edges: tuple[Fraction, Fraction] | None = (item.low.value, item.high.value)
        else:
            edges = learnt[item.name.text]
        low, high = edges or (Fraction(0), Fraction(0))  # a stand-in: no unit may have this model yet
        band = Band(
            name=item.name.text,
            low=low,
            high=high,
            rest=item.rest is not None,
            span=item.name.span,
            stills=tuple(name.text for name in item.stills.inputs.names) if item.stills else (),
        )
        bands.append(band)
        if edges is None:
            continue
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


def _sweep(item: tree.Sweep, learner: asked.Learner, diagnostics: Diagnostics) -> Sweep:
    options = Block(item.options, item.first, diagnostics)
    over, rest = options.one(tree.SweepOver), options.one(tree.SweepRest)
    dead, full = options.one(tree.DeadBand), options.one(tree.Full)
    scales, reached = options.one(tree.Scales), options.one(tree.Reached)
    if reached and not 0 < reached.percent.value <= 100:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            reached.percent.span,
            f"{show(reached.percent)} is no part of the way to an end",
            "write `reached at 80%`",
        )
    low, high = Fraction(-100), Fraction(100)
    if over and ordered(over.low, over.high, diagnostics):
        low, high = over.low.value, over.high.value
    base = rest.percent.value if rest else None
    dead_at = dead.percent.value if dead else None
    full_at = turn(full.turn) if full else None
    if no_dead := options.one(tree.DeadUnknown):
        dead_at = learner.dead_band(item, no_dead.word, base)
    if no_full := options.one(tree.FullUnknown):
        full_at = learner.full(no_full.word, low, high)
    return Sweep(
        first=item.first.text,
        last=item.last.text,
        low=low,
        high=high,
        rest=base,
        dead=dead_at,
        full=full_at,
        scales=Scale(scales.input.text, scales.low.value, scales.high.value) if scales else None,
        reached=reached.percent.value if reached else None,
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
        needs = needs_of(item.needs, settings, diagnostics)
        toggles = (item.toggles.first.text, item.toggles.second.text) if item.toggles else None
        if item.toggles and item.toggles.first.text == item.toggles.second.text:
            once(item.toggles.second, {item.toggles.first.text: item.toggles.first.span}, "state", diagnostics)
        if item.does:
            lookup(item.does, settings, "setting of this model", diagnostics)
        for name in item.names.names:
            if once(name, taken, "command", diagnostics):
                does = item.does.text if item.does else None
                commands[name.text] = Command(name.text, toggles, needs, does, name.span)
    return commands
