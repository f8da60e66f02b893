"""Computes every value of a rig, then proves its claims."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rigcard.check.registry import load_rules, run
from rigcard.diagnostics import Diagnostics
from rigcard.resolve.links import Links
from rigcard.resolve.model import Channel, Position, Rig, Unit
from rigcard.solve.arithmetic import count_of
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
from rigcard.solve.power_up import neutral_position, power_up, wrong_starts
from rigcard.solve.solved import ChannelResult, Row, Solution, Solved, Values

if TYPE_CHECKING:
    from rigcard.solve.power.result import Power


def solve(rig: Rig, links: Links, diagnostics: Diagnostics) -> Solved | None:
    """The solved rig, or None if a value could not be found; every claim that fails is reported."""
    first = Diagnostics()
    open_rig = rig
    rig, dials, solutions = dial_all(open_rig, links, {}, first)
    power_up_positions, needed, failed = power_up(rig, links, dials)
    mixed = [
        key for key in needed if rig.units[key[0]].mixes
    ]  # elsewhere no control bears on another's channel
    if any(
        power_up_positions[key] != neutral_position(rig.units[key[0]].model.controls[key[1]]) for key in mixed
    ):
        rig, dials, solutions = dial_all(
            open_rig, links, power_up_positions, diagnostics
        )  # now with all controls as at power-up
        power_up_positions, needed, failed = power_up(rig, links, dials)
    else:
        for found in first:
            diagnostics.add(found)
    if diagnostics.failed():
        return None
    results = {
        (unit.name, channel.name): _sheet(rig, links, unit, channel, dials, solutions, power_up_positions)
        for unit in rig.units.values()
        for channel in unit.channels.values()
    }
    tables, too_many = joint_tables(rig, links, dials, power_up_positions)
    solved = Solved(
        rig=rig,
        links=links,
        results=results,
        power_up_positions=power_up_positions,
        needed=frozenset(needed),
        joint=tables,
        losses=losses(rig, links, results),
        wrong_starts=wrong_starts(rig, links, dials, power_up_positions, needed),
        power=_power(rig, links),
    )
    load_rules("rigcard.solve.rules")
    run(CLAIMS, Proof(solved, dials, tuple(failed), tuple(too_many)), diagnostics)
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
    power_up_positions: dict[tuple[str, str], Position],
) -> ChannelResult:
    values = {name: power_up_positions[unit.name, name] for name in unit.model.controls}
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
    return ChannelResult(
        handset=unit.name,
        name=channel.name,
        number=channel.number,
        control=control,
        dial=dials[unit.name, channel.name],
        mixes=mixes,
        failsafe=channel.failsafe,
        solution=solutions.get((unit.name, channel.name)),
        rows=tuple(rows),
        rest=rest,
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
    counts = [rig.signal_at(reading.feed.pin).counts for reading in readings]
    serial_count = next((count_of(found, level.percent) for found in counts if found), None)
    return Row(
        control=control,
        position=position,
        level=level,
        pulse=pulse,
        serial_count=serial_count,
        readings=readings,
    )
