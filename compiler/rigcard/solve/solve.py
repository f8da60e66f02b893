"""Computes every value of a rig, then proves its claims."""

from __future__ import annotations

from fractions import Fraction

from rigcard.check.registry import load_rules, run
from rigcard.diagnostics import Sink
from rigcard.resolve.links import Feed, Links
from rigcard.resolve.model import Channel, Position, Rig, Travel, Unit
from rigcard.solve import codes
from rigcard.solve.arithmetic import Dial, Part, code_of
from rigcard.solve.auto import Found, Want, find
from rigcard.solve.claims import CLAIMS, Proof
from rigcard.solve.joint import joint_tables
from rigcard.solve.levels import (
    Dials,
    active,
    level_at,
    mixes_into,
    own_value,
    positions_of,
    read,
)
from rigcard.solve.loss import losses
from rigcard.solve.power_up import at_ease, power_up, wrong_starts
from rigcard.solve.solved import ChannelSheet, Row, Solution, Solved, Values
from rigcard.solve.wishes import Target, targets
from rigcard.words import percent


def solve(rig: Rig, links: Links, sink: Sink) -> Solved | None:
    """The solved rig, or None if a value could not be found; every claim that fails is reported."""
    dials: Dials = {}
    solutions: dict[tuple[str, str], Solution] = {}
    for unit in rig.units.values():
        for channel in _sources_first(unit):
            _dial(rig, links, unit, channel, dials, solutions, sink)
    if sink.failed():
        return None
    home, needed, failed = power_up(rig, links.feeds, dials)
    sheets = {
        (unit.name, channel.name): _sheet(rig, links, unit, channel, dials, solutions, home)
        for unit in rig.units.values()
        for channel in unit.channels.values()
    }
    tables, too_many = joint_tables(rig, links, dials, home)
    solved = Solved(
        rig,
        links,
        sheets,
        home,
        frozenset(needed),
        tables,
        losses(rig, links, sheets),
        wrong_starts(rig, links, dials, home, needed),
    )
    load_rules("rigcard.solve.rules")
    run(CLAIMS, Proof(solved, dials, tuple(failed), tuple(too_many)), sink)
    return solved


def _sources_first(unit: Unit) -> list[Channel]:
    """Channels in an order in which a mix's source is known before its target."""
    targets_ = {mix.target for mix in unit.mixes}
    return sorted(unit.channels.values(), key=lambda channel: channel.name in targets_)


def _dial(
    rig: Rig,
    links: Links,
    unit: Unit,
    channel: Channel,
    dials: Dials,
    solutions: dict[tuple[str, str], Solution],
    sink: Sink,
) -> None:
    key = (unit.name, channel.name)
    if channel.travel is not None and channel.subtrim is not None and channel.reversed is not None:
        dials[key] = Dial(channel.travel, channel.subtrim, channel.reversed)
        return
    arithmetic = unit.model.arithmetic
    assert arithmetic is not None
    full = min(Fraction(100), arithmetic.travel_high)
    dials[key] = Dial(
        channel.travel or Travel(full, full), channel.subtrim or 0, bool(channel.reversed)
    )  # what a blank memory has, should nothing better be found
    wants = _wants(rig, links, unit, channel, dials)
    if not wants:
        sink.report(
            codes.NOTHING_TO_SOLVE,
            channel.span,
            f"channel `{channel.name}` has `auto`, and no `expect` or `aims` says what its control should give",
            f"write `expect {unit.name}.{channel.control}.{_first_position(unit, channel)} gives UNIT.STATE`, "
            "or state the values",
        )
        return
    found = find(arithmetic, channel, [want for _, want in wants])
    dials[key] = found.dial
    worst = min(found.margins)
    solutions[key] = Solution(None if channel.aims else worst, found.unique)
    if worst < 0 and not channel.aims:
        _report_out_of_reach(channel, wants, found, sink)


def _first_position(unit: Unit, channel: Channel) -> str:
    return unit.model.controls[channel.control].positions[0].name


def _report_out_of_reach(channel: Channel, wants: list[tuple[str, Want]], found: Found, sink: Sink) -> None:
    at = min(range(len(wants)), key=lambda index: found.margins[index])
    name, want = wants[at]
    miss = -found.margins[at]
    dial = found.dial
    sink.report(
        codes.OUT_OF_REACH,
        channel.span,
        f"no value of the handset brings {name} into {percent(want.low)} to {percent(want.high)}; "
        f"the nearest misses by {percent(miss)}, with travel {percent(dial.travel.low)} / "
        f"{percent(dial.travel.high)} and sub-trim {dial.subtrim}",
        "widen the band at the listener, use another control, or wish for a level that can be reached",
    )


def _wants(rig: Rig, links: Links, unit: Unit, channel: Channel, dials: Dials) -> list[tuple[str, Want]]:
    """The wishes that this channel must fulfil, each with the name of its position."""
    ease: Values = {control.name: at_ease(control) for control in unit.model.controls.values()}
    wants: list[tuple[str, Want]] = []
    for aim in channel.aims:
        values = {**ease, channel.control: aim.position}
        wants.append(
            (
                f"`{channel.control}.{aim.position.name}`",
                Want(
                    own_value(channel, values),
                    _parts(unit, channel, values, dials),
                    aim.level,
                    aim.level,
                    Fraction(1),
                    Fraction(0),
                    False,
                ),
            )
        )
    aimed = {aim.position.name for aim in channel.aims}
    for expectation in rig.expectations:
        if expectation.handset != unit.name:
            continue
        if expectation.control == channel.control and expectation.position.name in aimed:
            continue
        values = {**ease, expectation.control: expectation.position}
        for target in targets(rig, links, expectation):
            if target.feed.channel == channel.name:
                want = _want(rig, unit, channel, values, target, dials)
                wants.append((f"`{expectation.control}.{expectation.position.name}`", want))
    return list(dict.fromkeys(wants))


def _want(rig: Rig, unit: Unit, channel: Channel, values: Values, target: Target, dials: Dials) -> Want:
    feed = target.feed
    if target.band:
        low, high = target.band.low, target.band.high
    else:
        sweep = feed.input.sweep
        assert sweep is not None
        low = high = sweep.low if target.end == sweep.first else sweep.high
    scale, shift = _heard_scale(rig, unit, feed)
    return Want(
        own_value(channel, values),
        _parts(unit, channel, values, dials),
        low,
        high,
        scale,
        shift,
        feed.turned != feed.flipped,
    )


def _heard_scale(rig: Rig, unit: Unit, feed: Feed) -> tuple[Fraction, Fraction]:
    """heard = scale x sent + shift, where the listener declares a pulse relation of its own."""
    sender, listener = unit.model.arithmetic, rig.units[feed.unit].model.pulse
    if listener is None or sender is None or rig.signal_at(feed.wire.sink).kind != "servo":
        return Fraction(1), Fraction(0)
    return (
        sender.pulse.per_percent / listener.per_percent,
        (sender.pulse.centre - listener.centre) / listener.per_percent,
    )


def _parts(unit: Unit, channel: Channel, values: Values, dials: Dials) -> tuple[Part, ...]:
    return tuple(
        Part(values[unit.channels[mix.source].control].value, dials[unit.name, mix.source].travel, mix.rate)
        for mix in mixes_into(unit, channel.name)
        if mix.rate and active(mix, values)
    )


def _sheet(
    rig: Rig,
    links: Links,
    unit: Unit,
    channel: Channel,
    dials: Dials,
    solutions: dict[tuple[str, str], Solution],
    home: dict[tuple[str, str], Position],
) -> ChannelSheet:
    values = {name: home[unit.name, name] for name in unit.model.controls}
    control = unit.model.controls[channel.control]
    mixes = mixes_into(unit, channel.name)
    moved = [control] + [
        other
        for other in (unit.model.controls[unit.channels[mix.source].control] for mix in mixes)
        if other is not control
    ]
    rows = [
        _row(rig, links, unit, channel, other.name, position, {**values, other.name: position}, dials)
        for other in moved
        for position in positions_of(other, values[other.name])
    ]
    rest = _row(rig, links, unit, channel, control.name, values[control.name], values, dials)
    return ChannelSheet(
        unit.name,
        channel.name,
        channel.number,
        control,
        dials[unit.name, channel.name],
        mixes,
        channel.failsafe,
        solutions.get((unit.name, channel.name)),
        tuple(rows),
        rest,
    )


def _row(
    rig: Rig,
    links: Links,
    unit: Unit,
    channel: Channel,
    control: str,
    position: Position,
    values: Values,
    dials: Dials,
) -> Row:
    assert unit.model.arithmetic is not None
    level = level_at(unit, channel, values, dials)
    readings = tuple(read(rig, links, feed, level.percent) for feed in links.feeds_of(unit.name, channel.name))
    pulse = unit.model.arithmetic.pulse.width(level.percent)
    counts = [rig.signal_at(reading.feed.wire.source).counts for reading in readings]
    code = next((code_of(found, level.percent) for found in counts if found), None)
    return Row(control, position, level, pulse, code, readings)
