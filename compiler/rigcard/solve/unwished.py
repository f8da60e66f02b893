"""Explains, as far as possible, why the search behind `auto` has no goal or had to give up."""

from __future__ import annotations

from collections.abc import Iterator

from rigcard.diagnostics import Diagnostics, Related
from rigcard.resolve.links import Feed, Links, Wire, left_unsaid, origin, plugged_into
from rigcard.resolve.model import Channel, Expectation, Mix, Position, Rig, Unit
from rigcard.resolve.targets import targets_at
from rigcard.solve import codes
from rigcard.solve.auto import Found
from rigcard.solve.levels import active, contributors
from rigcard.solve.wishes import Wished, at_ease

OR_STATED = "or state the values in place of `auto`"


def is_asked(asked: Wished, unit: Unit, channel: Channel, mix: Mix) -> bool:
    """Whether any expectation over a channel depends on the contribution of a mix to it."""
    control = unit.channels[mix.source].control
    ease = at_ease(asked, unit)
    positions = [
        expectation.position
        for expectation, _ in asked.by_channel.get(channel.name, [])
        if expectation.control == control
    ]
    if control == channel.control:
        positions += [aim.position for aim in channel.aims]
    return any(position.value and active(mix, {**ease, control: position}) for position in positions)


def report_unasked_rate(asked: Wished, unit: Unit, mix: Mix, diagnostics: Diagnostics) -> None:
    """Report a mix `at auto` that no expectation depends on."""
    control = unit.model.controls[unit.channels[mix.source].control]
    example = _example(asked, unit, mix.target, control.name, control.positions[0])
    stated = "state the rate, for example `at 50%`"
    diagnostics.report(
        codes.NOTHING_TO_SOLVE,
        mix.span,
        f"mix `{mix.source}` into `{mix.target}` is `at auto`, and no `expect` says what `{control.name}` should "
        "give over it",
        f"write `{example}`, or {stated}" if example else stated,
    )


def report_nothing(asked: Wished, unit: Unit, channel: Channel, diagnostics: Diagnostics) -> None:
    """Report an `auto` channel without a goal: is the plug, the control or the expectation to blame?"""
    movers = {control.name for control in contributors(unit, channel)}
    lost = [claim for claim in asked.expectations if not _comes_true(asked, claim)]
    for claim in (claim for claim in lost if claim.control in movers):
        for feed in _plugged(asked.rig, asked.links, unit):
            if feed.channel != channel.name and targets_at(asked.rig, asked.links, feed, claim):
                _report_plug(asked, unit, channel, claim, feed, diagnostics)
                return
    for claim in lost:
        for feed in asked.links.feeds_of(unit.name, channel.name):
            if claim.control not in movers and targets_at(asked.rig, asked.links, feed, claim):
                diagnostics.report(
                    codes.NOTHING_TO_SOLVE,
                    channel.span,
                    f"channel `{channel.name}` is moved by `{channel.control}`, and {_shown(claim)}, which could come "
                    f"true at `{feed.input.name}` of `{feed.unit}` over it, names `{claim.control}`",
                    f"write `from {claim.control}` on channel `{channel.name}`, or name `{channel.control}` in the "
                    "expectation",
                    Related(claim.span, "the expectation"),
                )
                return
    for claim in (claim for claim in lost if claim.control in movers):
        cause, remedy = unsaid(asked.rig, asked.links, asked.rig.units[claim.unit]) or (
            f": no input that hears `{unit.name}` gives that",
            f"correct the expectation, {OR_STATED}",
        )
        diagnostics.report(
            codes.NOTHING_TO_SOLVE,
            channel.span,
            f"channel `{channel.name}` has `auto`, and {_shown(claim)} cannot come true over it{cause}",
            remedy,
            Related(claim.span, "the expectation"),
        )
        return
    first = unit.model.controls[channel.control].positions[0]
    example = _example(asked, unit, channel.name, channel.control, first)
    diagnostics.report(
        codes.NOTHING_TO_SOLVE,
        channel.span,
        f"channel `{channel.name}` has `auto`, and no `expect` or `aims` says what its control should give",
        f"write `{example}`, {OR_STATED}" if example else f"write `aims {first.name} -100%`, {OR_STATED}",
    )


def unsaid(rig: Rig, links: Links, unit: Unit) -> tuple[str, str] | None:
    """Cause and remedy where an output on the way to a unit is one whose model does not say what leaves by it."""
    plugged = plugged_into(links)
    for port in unit.model.ports.values():
        begins = origin(rig, plugged, unit.name, port.name)
        taking = left_unsaid(rig, begins.lead.source) if begins.kind == "unsaid" and begins.lead else None
        if taking and rig.signals[port.signal].kind in ("channels", "servo"):
            return (
                f": nobody says what leaves by `{begins.unit}.{begins.port}`",
                f"write `passes {taking} to {begins.port}` in model `{rig.units[begins.unit].model.name}`",
            )
    return None


def report_given_up(
    unit: Unit, channel: Channel, open_mixes: list[Mix], found: Found, diagnostics: Diagnostics
) -> None:
    """Report that the search gave up before it had tried all values that could be better."""
    left = "sub-trims" if channel.subtrim is None else "rates" if open_mixes else "travels"
    if channel.subtrim is None:
        hint = f"write `subtrim {found.dial.subtrim}` on channel `{channel.name}`, so that less is left open"
    else:
        hint = f"state the travel of channel `{channel.name}`, so that less is left open"
    diagnostics.report(
        codes.SEARCH_GIVEN_UP,
        channel.span,
        f"the search for the values of channel `{channel.name}` of `{unit.name}` was given up: not all {left} were "
        "tried, and others may be better than those told",
        hint,
    )


def _comes_true(asked: Wished, claim: Expectation) -> bool:
    return any(claim is known for found in asked.by_channel.values() for known, _ in found)


def _shown(claim: Expectation) -> str:
    wanted = ".".join((claim.unit, *claim.wanted))
    return f"`expect {claim.handset}.{claim.control}.{claim.position.name} gives {wanted}`"


def _plugged(rig: Rig, links: Links, unit: Unit) -> Iterator[Feed]:
    """Every input on a line from a handset; `channel` is "" if no channel of the handset uses the pin."""
    yield from links.feeds_from(unit.name)
    fed = {(feed.unit, feed.input.name) for feed in links.feeds_from(unit.name)}
    for wire in links.wires:
        if rig.units[wire.source.unit].bound_to != unit.name or rig.signal_at(wire.sink).kind != "servo":
            continue
        for known in rig.units[wire.sink.unit].model.inputs.values():
            if known.port == wire.sink.port and (wire.sink.unit, known.name) not in fed:
                yield Feed(
                    handset=unit.name,
                    channel="",
                    route=(wire,),
                    unit=wire.sink.unit,
                    input=known,
                    turned=False,
                    flipped=False,
                    clear=None,
                )


def _report_plug(
    asked: Wished, unit: Unit, channel: Channel, claim: Expectation, feed: Feed, diagnostics: Diagnostics
) -> None:
    """Report that the input named in an expectation hears another channel."""
    rig, wire = asked.rig, feed.route[0]
    hears = f"hears channel `{feed.channel}`" if feed.channel else "hears no channel"
    if rig.signal_at(wire.sink).kind == "servo":
        where = f" on {wire.source.unit}.{wire.source.port}"
        hint = _plug_hint(asked, channel, wire)
    else:
        where = ""
        hint = f"write `input {feed.input.name} from {channel.name}` in the block of `{feed.unit}`"
    diagnostics.report(
        codes.NOTHING_TO_SOLVE,
        channel.span,
        f"{_shown(claim)} comes true at `{feed.input.name}` of `{feed.unit}`, which {hears}{where}, not "
        f"`{channel.name}`",
        hint,
        Related(claim.span, "the expectation"),
        Related(wire.sink.span, "the plug"),
    )


def _plug_hint(asked: Wished, channel: Channel, wire: Wire) -> str:
    """The remedy: which plug belongs on which pin."""
    rig = asked.rig
    ports = rig.units[wire.source.unit].model.ports.values()
    pin = next((port.name for port in ports if port.channel == channel.number), None)
    sink, source = f"{wire.sink.unit}.{wire.sink.port}", wire.source.unit
    if pin is None:
        return f"give channel `{channel.name}` the number of pin {source}.{wire.source.port}"
    there = next(
        (other for other in asked.links.wires if (other.source.unit, other.source.port) == (source, pin)), None
    )
    move = f"put the plug {sink} on {source}.{pin}: write `{source}.{pin} to {sink}`"
    if there is None:
        return move
    other = f"{there.sink.unit}.{there.sink.port}"
    return f"{move}, and for the plug that is there `{source}.{wire.source.port} to {other}`"


def _example(asked: Wished, unit: Unit, channel: str, control: str, position: Position) -> str:
    """An expectation that works when typed as it stands; "" if nothing listens."""
    for feed in asked.links.feeds_of(unit.name, channel):
        states = [band.name for band in feed.input.bands if not band.rest] or feed.input.states
        return f"expect {unit.name}.{control}.{position.name} gives {feed.unit}.{feed.input.name}.{states[0]}"
    return ""
