"""Computes every value of a rig, then proves its claims."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from rigcard.check.registry import load_rules, run
from rigcard.diagnostics import Diagnostics
from rigcard.resolve.links import Links
from rigcard.resolve.model import Channel, Expectation, Position, Rig, Unit
from rigcard.solve.bearing import Bearers, bearers_of, borne_on
from rigcard.solve.claims import CLAIMS, Proof
from rigcard.solve.dialling import dial_all
from rigcard.solve.joint import joint_tables
from rigcard.solve.levels import (
    Dials,
    contributors,
    level_at,
    mixes_into,
    positions_of,
    read,
)
from rigcard.solve.loss import losses
from rigcard.solve.power_up import learned, neutral_position, power_up, wrong_starts
from rigcard.solve.solved import ChannelResult, Row, Solution, Solved, Values

if TYPE_CHECKING:
    from rigcard.solve.power.result import Power


def solve(rig: Rig, links: Links, diagnostics: Diagnostics) -> Solved | None:
    """The solved rig, or None if a value cannot be found; reports every claim that fails."""
    first = Diagnostics()
    open_rig = rig
    rig, dials, solutions = dial_all(open_rig, links, {}, first)
    power_up_positions, needed, failed = power_up(rig, links, dials)
    mixed = [
        key for key in needed if rig.units[key[0]].mixes
    ]  # without mixes no control affects another's channel
    if any(
        power_up_positions[key] != neutral_position(rig.units[key[0]].model.controls[key[1]]) for key in mixed
    ):
        rig, dials, solutions = dial_all(
            open_rig, links, power_up_positions, diagnostics
        )  # solve again, with all other controls as at power-up
        power_up_positions, needed, failed = power_up(rig, links, dials)
    else:
        for found in first:
            diagnostics.add(found)
    if diagnostics.failed():
        return None
    starts = wrong_starts(rig, links, dials, power_up_positions, needed)  # before any input learns its zero
    links = learned(rig, links, dials, power_up_positions, failed)
    claims: dict[str, list[Expectation]] = {}
    for claim in rig.expectations:
        if claim.conditions:
            claims.setdefault(claim.handset, []).append(claim)
    desk = _Desk(rig, links, dials, power_up_positions, bearers_of(links.feeds), claims)
    results = {
        (unit.name, channel.name): _channel_result(desk, unit, channel, solutions)
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
        wrong_starts=starts,
        bearers=desk.bearers,
        power=_power(rig, links),
    )
    load_rules("rigcard.solve.rules")
    run(CLAIMS, Proof(solved, dials, tuple(failed), tuple(too_many)), diagnostics)
    return solved


def _power(rig: Rig, links: Links) -> Power | None:
    """The power of a rig; the module that computes it is imported only if it is needed."""
    if any(unit.model.power.supply or unit.model.power.capacity for unit in rig.units.values()):
        from rigcard.solve.power.compute import power_of

        return power_of(rig, links)
    return None


class _Desk(NamedTuple):
    """The common input for computing every sheet."""

    rig: Rig
    links: Links
    dials: Dials
    standing: dict[tuple[str, str], Position]
    bearers: Bearers
    claims: dict[str, list[Expectation]]  # by handset: the claims with conditions


Conditions = tuple[tuple[str, Position], ...]


def _channel_result(
    desk: _Desk, unit: Unit, channel: Channel, solutions: dict[tuple[str, str], Solution]
) -> ChannelResult:
    values = {name: desk.standing[unit.name, name] for name in unit.model.controls}
    control = unit.model.controls[channel.control]
    mixes = mixes_into(unit, channel.name)
    moved = [control] + [
        other
        for other in (unit.model.controls[unit.channels[mix.source].control] for mix in mixes)
        if other is not control
    ]
    rows = [
        _row(desk, unit, channel, (other.name, position), values)
        for other in moved
        for position in positions_of(other, values[other.name])
    ]
    rows += [
        _row(desk, unit, channel, place, values, conditions)
        for place, conditions in _conditional(desk.claims.get(unit.name, []), unit, channel, values)
    ]
    rest = _row(desk, unit, channel, (control.name, values[control.name]), values)
    return ChannelResult(
        handset=unit.name,
        name=channel.name,
        number=channel.number,
        control=control,
        dial=desk.dials[unit.name, channel.name],
        mixes=mixes,
        failsafe=channel.failsafe,
        solution=solutions.get((unit.name, channel.name)),
        rows=tuple(rows),
        rest=rest,
    )


def _conditional(
    claims: list[Expectation], unit: Unit, channel: Channel, values: Values
) -> list[tuple[tuple[str, Position], Conditions]]:
    """Positions that need a row of their own while other controls are not as at power-up: those of the
    channel's control with each switched rate and expo, and those that an `expect` names."""
    control = unit.model.controls[channel.control]
    found: dict[tuple[tuple[str, Position], Conditions], None] = {}
    switches = dict.fromkeys(one.control for one in channel.shape.switched)
    for name in switches:
        told = [one.position for one in channel.shape.switched if one.control == name]
        shown = [*told, values[name]]
        for other in unit.model.controls[name].positions:  # one more stands for all with the plain rate
            if other not in shown and values[name] in told:
                shown.append(other)
                break
        for position in dict.fromkeys(shown):
            if position != values[name]:
                for place in positions_of(control, values[control.name]):
                    found[(control.name, place), ((name, position),)] = None
    bearing = {one.name for one in contributors(unit, channel)}
    for claim in claims:
        if claim.control in bearing:
            moved = tuple(
                (name, place) for name, place in claim.conditions if name in bearing and values[name] != place
            )
            if moved:
                found[(claim.control, claim.position), moved] = None
    return list(found)


def _row(
    desk: _Desk,
    unit: Unit,
    channel: Channel,
    place: tuple[str, Position],
    values: Values,
    conditions: Conditions = (),
) -> Row:
    """The row of a control at a position, with `conditions` at their positions and all others at `values`."""
    assert unit.model.arithmetic is not None
    values = {**values, **dict(conditions), place[0]: place[1]}
    level = level_at(unit, channel, values, desk.dials)
    heard_by = desk.links.feeds_of(unit.name, channel.name)
    readings = [read(desk.rig, desk.links, feed, level.percent) for feed in heard_by]
    return Row(
        control=place[0],
        position=place[1],
        level=level,
        pulse=unit.model.arithmetic.pulse.width(level.percent),
        readings=tuple(
            borne_on(desk.rig, desk.bearers, reading, values, desk.standing, desk.dials) for reading in readings
        ),
        conditions=conditions,
    )
