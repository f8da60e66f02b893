"""Computes every value of a rig, then proves its claims."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rigcard.check.registry import load_rules, run
from rigcard.diagnostics import Sink
from rigcard.resolve.links import Links
from rigcard.resolve.model import Channel, Position, Rig, Unit
from rigcard.solve.arithmetic import code_of
from rigcard.solve.claims import CLAIMS, Proof
from rigcard.solve.dialling import dial_all
from rigcard.solve.joint import joint_tables
from rigcard.solve.levels import (
    Dials,
    level_at,
    mixes_into,
    positions_of,
    read,
)
from rigcard.solve.loss import losses
from rigcard.solve.power_up import at_ease, power_up, wrong_starts
from rigcard.solve.solved import ChannelSheet, Row, Solution, Solved, Values

if TYPE_CHECKING:
    from rigcard.solve.power.result import Power


def solve(rig: Rig, links: Links, sink: Sink) -> Solved | None:
    """The solved rig, or None if a value could not be found; every claim that fails is reported."""
    first = Sink()
    open_rig = rig
    rig, dials, solutions = dial_all(open_rig, links, {}, first)
    home, needed, failed = power_up(rig, links, dials)
    mixed = [
        key for key in needed if rig.units[key[0]].mixes
    ]  # elsewhere no control bears on another's channel
    if any(home[key] != at_ease(rig.units[key[0]].model.controls[key[1]]) for key in mixed):
        rig, dials, solutions = dial_all(open_rig, links, home, sink)  # now with all controls as at power-up
        home, needed, failed = power_up(rig, links, dials)
    else:
        for found in first:
            sink.add(found)
    if sink.failed():
        return None
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
        _power(rig, links),
    )
    load_rules("rigcard.solve.rules")
    run(CLAIMS, Proof(solved, dials, tuple(failed), tuple(too_many)), sink)
    return solved


def _power(rig: Rig, links: Links) -> Power | None:
    """The power of a rig; what computes it is imported only where there is something to compute."""
    if any(unit.model.power.supply or unit.model.power.capacity for unit in rig.units.values()):
        from rigcard.solve.power.compute import power_of

        return power_of(rig, links)
    return None


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
