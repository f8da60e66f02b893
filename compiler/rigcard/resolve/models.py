"""Resolves models, which are kinds of devices."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from rigcard.diagnostics import Diagnostics, Related
from rigcard.resolve import codes, words
from rigcard.resolve.asked import Scale, delay
from rigcard.resolve.handsets import HANDSET_ONLY, arithmetic_of, controls_of, pulse_of
from rigcard.resolve.inputs import commands_of, inputs_of, settings_of
from rigcard.resolve.measures import length_mm, mass_kg
from rigcard.resolve.model import (
    UNKNOWN,
    Command,
    Input,
    Look,
    Model,
    Port,
    Signal,
)
from rigcard.resolve.passing import passed
from rigcard.resolve.ports import ports_of
from rigcard.resolve.power import power_side
from rigcard.resolve.scope import Block, duration, lookup, once, ordered, place_of, show, whole, word
from rigcard.resolve.signals import MOST_CHANNELS
from rigcard.source import Span
from rigcard.syntax import tree

LONGEST_START = 1800  # s from power to work (common practice, no source)
LEAST_SIDE, MOST_SIDE = 20, 2000  # mm, sides of a face
PULSE_HINT = "write sizes above zero, as in `pulse 1500us centre, 5us per 1%`"


def model(
    statement: tree.Model,
    signals: dict[str, Signal],
    connectors: Mapping[str, object],
    diagnostics: Diagnostics,
) -> Model:
    """A model from its statement."""
    block = Block(statement.items, statement.name, diagnostics)
    role = block.one(tree.Role)
    if role is None:
        diagnostics.report(
            codes.MISSING_STATEMENT,
            statement.name.span,
            f"model `{statement.name.text}` has no role",
            "write `role handset`, `role camera` or another role in its block",
        )
    role_name = (word(role.name, words.ROLES, "role", diagnostics) if role else None) or UNKNOWN
    if role_name not in (UNKNOWN, "handset"):
        for item in block.items:
            if isinstance(item, HANDSET_ONLY):
                place = place_of(item)
                word_there = place.source.text[place.start : place.end]
                diagnostics.report(
                    codes.MISPLACED_STATEMENT,
                    place,
                    f"`{statement.name.text}` is {words.a_role(role_name)}, and `{word_there}` is for a handset",
                    "remove it, or write `role handset`",
                )
    face = block.one(tree.Face)
    channels = block.one(tree.Channels)
    carries = block.one(tree.Carries)
    mass = block.one(tree.Mass)
    settings = settings_of(block, diagnostics)
    ports = ports_of(block, signals, connectors, settings, diagnostics)
    through = passed(block, ports, signals, diagnostics)
    if channels:
        _pins_within(ports.values(), channels.number, diagnostics)
    pulse = block.one(tree.Pulse)
    if pulse and role_name != "handset" and not (pulse.per.value and pulse.percent.value):
        diagnostics.report(
            codes.OUT_OF_RANGE, pulse.per.span, "a pulse of no size a per cent says nothing", PULSE_HINT
        )
    window = _window(block, diagnostics)
    scale = Scale(pulse_of(pulse) if pulse else None, window)
    inputs, asked = inputs_of(block, ports, through, signals, settings, scale, diagnostics)
    loss_after, delays = delay(block, statement.title.text, diagnostics)
    flips = [name for item in block.all(tree.Flips) for name in item.names.names]
    controls = controls_of(block, diagnostics)
    arithmetic, bench = arithmetic_of(block, controls, diagnostics) if role_name == "handset" else (None, None)
    commands = commands_of(block, settings, diagnostics)
    return Model(
        name=statement.name.text,
        title=statement.title.text,
        role=role_name,
        front=(_side(face.width, diagnostics), _side(face.height, diagnostics)) if face else None,
        controls=controls,
        channels=whole(channels.number, 1, MOST_CHANNELS, "count of channels", diagnostics) if channels else 0,
        arithmetic=arithmetic,
        bench=bench,
        pulse=pulse_of(pulse) if pulse else None,
        window=window,
        ports=ports,
        passed=through,
        inputs=inputs,
        settings=settings,
        commands=commands,
        hazards=tuple(
            item.name.text
            for item in block.all(tree.Hazard)
            if word(item.name, words.HAZARDS, "hazard", diagnostics)
        ),
        carries=mass_kg(carries.mass) if carries else None,
        mass=mass_kg(mass.mass) if mass else None,
        offers=tuple(name.text for item in block.all(tree.Offers) for name in item.names.names),
        flips=tuple(name.text for name in flips if lookup(name, inputs, "input of this model", diagnostics)),
        has=tuple(
            name.text
            for item in block.all(tree.Has)
            for name in item.names.names
            if word(name, words.SHAPES, "thing that a handset has", diagnostics)
        ),
        menus=_menus(block.one(tree.Menus), diagnostics),
        asks=(*asked, *delays),
        loss_after=loss_after,
        ready_after=duration(ready.time, LONGEST_START, "start", diagnostics)
        if (ready := block.one(tree.ReadyAfter))
        else None,
        looks=_looks(block, role_name, commands, inputs, diagnostics),
        power=power_side(block, ports, signals, diagnostics),
        span=statement.name.span,
    )


def _pins_within(ports: Iterable[Port], channels: tree.Number, diagnostics: Diagnostics) -> None:
    """Report the first pin that carries a channel beyond those that the receiver puts out."""
    for port in ports:
        if port.channel is not None and port.channel > channels.value:
            diagnostics.report(
                codes.OUT_OF_RANGE,
                port.span,
                f"pin `{port.name}` carries channel {port.channel}, and the receiver puts out {show(channels)} channels",
                f"write `channels {port.channel}`, or the channel that leaves by this pin",
                Related(channels.span, "its channels"),
            )
            return


def _menus(item: tree.Menus | None, diagnostics: Diagnostics) -> tuple[str, ...]:
    """The order of a handset's menus, each once; those that the model leaves out come last."""
    if item is None:
        return ()
    seen: dict[str, Span] = {}
    stated = [
        name.text
        for name in item.names.names
        if word(name, words.MENUS, "menu of a handset", diagnostics)
        and once(name, seen, "menu", diagnostics, "leave one of the two out")
    ]
    return (*stated, *(name for name in words.MENUS if name not in stated))


def _looks(
    block: Block,
    role: str,
    commands: Mapping[str, Command],
    inputs: Mapping[str, Input],
    diagnostics: Diagnostics,
) -> tuple[Look, ...]:
    """What people can look at on a device; only a receiver has a link."""
    always = words.SHOWN_WHEN if role == "receiver" else words.SHOWN_WHEN[:1]
    states = [band.name for known in inputs.values() for band in known.bands]
    toggled = [state for known in commands.values() for state in known.toggles or ()]
    allowed = tuple(dict.fromkeys([*always, *commands, *toggled, *states]))
    return tuple(
        Look(item.text.text, item.when.text, item.when.span)
        for item in block.all(tree.Shows)
        if word(item.when, allowed, "state of this model, or command that it obeys", diagnostics)
    )


def _window(block: Block, diagnostics: Diagnostics) -> tuple[Fraction, Fraction] | None:
    window = block.one(tree.Window)
    if window is None or not ordered(window.low, window.high, diagnostics):
        return None
    return window.low.value, window.high.value


def _side(number: tree.Number, diagnostics: Diagnostics) -> Fraction:
    """A side of a face in mm; reports a size that no handset has."""
    if not LEAST_SIDE <= length_mm(number) <= MOST_SIDE:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            number.span,
            f"{show(number)} is no possible side of a face",
            f"write a length from {LEAST_SIDE}mm to {MOST_SIDE}mm",
        )
    return length_mm(number)
