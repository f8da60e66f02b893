"""Channels that several controls feed: every combination of their positions, and what each one does."""

from __future__ import annotations

from itertools import product
from math import prod

from rigcard.resolve.links import Links
from rigcard.resolve.model import Channel, Position, Rig, Unit
from rigcard.solve.levels import Dials, contributors, level_at, read
from rigcard.solve.solved import JointRow, Reading, Values

MOST_COMBINATIONS = 4096
Key = tuple[str, str]


def joint_tables(
    rig: Rig, links: Links, dials: Dials, power_up_positions: dict[Key, Position]
) -> tuple[dict[Key, tuple[JointRow, ...]], list[Key]]:
    """The truth tables of a rig, and the channels that have too many combinations for one."""
    tables: dict[Key, tuple[JointRow, ...]] = {}
    crowded: list[Key] = []
    for unit in rig.units.values():
        for channel in unit.channels.values():
            controls = contributors(unit, channel)
            if len(controls) < 2 or not links.feeds_of(unit.name, channel.name):
                continue
            if prod(len(control.positions) for control in controls) > MOST_COMBINATIONS:
                crowded.append((unit.name, channel.name))
                continue
            tables[unit.name, channel.name] = joint_table(rig, links, unit, channel, dials, power_up_positions)
    return tables, crowded


def joint_table(
    rig: Rig, links: Links, unit: Unit, channel: Channel, dials: Dials, power_up_positions: dict[Key, Position]
) -> tuple[JointRow, ...]:
    """Every combination of the positions of a channel's controls; sticks and dials by their ends and centre."""
    controls = contributors(unit, channel)
    right = {name: power_up_positions[unit.name, name] for name in unit.model.controls}
    owners = _owners(rig, links, unit, channel, dials, right)
    rows = []
    for combination in product(*(control.positions for control in controls)):
        places = tuple((control.name, place) for control, place in zip(controls, combination, strict=True))
        values = {**right, **dict(places)}
        level = level_at(unit, channel, values, dials)
        readings = tuple(
            read(rig, links, feed, level.percent) for feed in links.feeds_of(unit.name, channel.name)
        )
        rows.append(JointRow(places, level, readings, _stray(places, readings, owners)))
    return tuple(rows)


def _owners(
    rig: Rig, links: Links, unit: Unit, channel: Channel, dials: Dials, right: Values
) -> dict[tuple[str, str, str], set[tuple[str, str]]]:
    """(unit, input, state) -> the (control, position) pairs that give it alone, all others at rest."""
    owners: dict[tuple[str, str, str], set[tuple[str, str]]] = {}
    for control in contributors(unit, channel):
        for place in control.positions:
            level = level_at(unit, channel, {**right, control.name: place}, dials).percent
            for feed in links.feeds_of(unit.name, channel.name):
                state = read(rig, links, feed, level).state
                owners.setdefault((feed.unit, feed.input.name, state), set()).add((control.name, place.name))
    return owners


def _stray(
    places: tuple[tuple[str, Position], ...],
    readings: tuple[Reading, ...],
    owners: dict[tuple[str, str, str], set[tuple[str, str]]],
) -> str:
    """A control whose state comes about though it does not stand where that state belongs."""
    standing = {(control, place.name) for control, place in places}
    for reading in readings:
        if reading.band is None or reading.band.rest:
            continue
        own = owners.get((reading.feed.unit, reading.feed.input.name, reading.state), set())
        if own and not own & standing:
            return sorted(own)[0][0]
    return ""
