"""Channels that several controls feed: every combination of their positions, and the effect of each one."""

from __future__ import annotations

from itertools import product
from math import prod

from rigcard.resolve.links import Links
from rigcard.resolve.model import Channel, Position, Rig, Unit
from rigcard.solve.levels import Dials, contributors, level_at, mixes_into, read
from rigcard.solve.loss import RUN, is_record
from rigcard.solve.solved import JointRow, Reading, Values
from rigcard.solve.targets import targets

MOST_COMBINATIONS = 4096  # in all tables of a rig together
READABLE = 100  # combinations: some five sides of a card (a choice of ours)
Key = tuple[str, str]


def joint_tables(
    rig: Rig, links: Links, dials: Dials, power_up_positions: dict[Key, Position]
) -> tuple[dict[Key, tuple[JointRow, ...]], list[Key]]:
    """The truth tables of a rig, and the channels for whose combinations there is no room."""
    tables: dict[Key, tuple[JointRow, ...]] = {}
    crowded: list[Key] = []
    room = MOST_COMBINATIONS
    for unit in rig.units.values():
        for channel in unit.channels.values():
            controls = contributors(unit, channel)
            if (
                not mixes_into(unit, channel.name)
                or len(controls) < 2
                or not links.feeds_of(unit.name, channel.name)
            ):
                continue
            number = combinations(unit, channel)
            if number > room:
                crowded.append((unit.name, channel.name))
                continue
            room -= number
            tables[unit.name, channel.name] = joint_table(rig, links, unit, channel, dials, power_up_positions)
    return tables, crowded


def combinations(unit: Unit, channel: Channel) -> int:
    """The number of combinations of the positions of a channel's controls."""
    return prod(len(control.positions) for control in contributors(unit, channel))


def joint_table(
    rig: Rig, links: Links, unit: Unit, channel: Channel, dials: Dials, power_up_positions: dict[Key, Position]
) -> tuple[JointRow, ...]:
    """Every combination of the positions of a channel's controls; for sticks and dials, ends and centre."""
    controls = contributors(unit, channel)
    right = {name: power_up_positions[unit.name, name] for name in unit.model.controls}
    asking = _Asking(rig, links, unit, channel, dials, right)
    rows = []
    for combination in product(*(control.positions for control in controls)):
        places = tuple((control.name, place) for control, place in zip(controls, combination, strict=True))
        values = {**right, **dict(places)}
        level = level_at(unit, channel, values, dials)
        readings = tuple(
            read(rig, links, feed, level.percent) for feed in links.feeds_of(unit.name, channel.name)
        )
        unasked = asking.unasked(values, places, readings)
        rows.append(
            JointRow(
                places=places,
                level=level,
                readings=readings,
                unasked=unasked is not None,
                stray=asking.owner(unasked, places) if unasked else "",
                harmless=_harmless(rig, unit, right, values, places),
                cut_short=unasked is not None and unasked[2],
            )
        )
    return tuple(rows)


def _harmless(
    rig: Rig, unit: Unit, right: Values, values: Values, places: tuple[tuple[str, Position], ...]
) -> bool:
    """Whether the file declares a combination harmless; its other controls are at their power-up positions."""
    return any(
        found.handset == unit.name
        and all(values[name] == place for name, place in found.places)
        and all(place == right[name] for name, place in places if name not in dict(found.places))
        for found in rig.harmless
    )


class _Asking:
    """The state that each control of a channel asks for: the one that it gives with all others at power-up."""

    def __init__(
        self, rig: Rig, links: Links, unit: Unit, channel: Channel, dials: Dials, right: Values
    ) -> None:
        feeds = links.feeds_of(unit.name, channel.name)

        def states(values: Values) -> list[str]:
            level = level_at(unit, channel, values, dials).percent
            return [read(rig, links, feed, level).state for feed in feeds]

        self.right = right
        self.own = channel.control
        self.calm = states(right)
        self.alone = {
            (control.name, place.name): states({**right, control.name: place})
            for control in contributors(unit, channel)
            for place in control.positions
        }
        self.wished = [
            (claim.places(), target)
            for claim in rig.expectations
            if claim.handset == unit.name and claim.conditions
            for target in targets(rig, links, claim)
            if target.feed in feeds
        ]

    def unasked(
        self, values: Values, places: tuple[tuple[str, Position], ...], readings: tuple[Reading, ...]
    ) -> tuple[int, str, bool] | None:
        """The listener, its state and whether that cuts another short (not a take, not a stop), if no control in its position asks for that state; otherwise None.

        A control that changes nothing by itself asks for nothing. A combination that brings an input back to
        rest is reported only if it cuts short a state that a control asks for, or cancels a stop.
        """
        short = None
        for at, reading in enumerate(readings):
            if reading.band is None or self._wished(values, reading):
                continue
            asked = {self.alone[name, place.name][at] for name, place in places} - {self.calm[at], ""}
            if reading.state in asked:
                continue
            resting = reading.state == self.calm[at] or reading.band.rest
            known = reading.feed.input
            rests = {band.name for band in known.bands if band.rest and not known.stops}
            if not resting or asked - rests:
                grave = known.stops or (is_record(known.states) and RUN in asked)
                if grave or not resting:
                    return at, reading.state, False
                short = short or (at, reading.state, True)
        return short

    def _wished(self, values: Values, reading: Reading) -> bool:
        return any(
            target.feed == reading.feed and target.band in (reading.band, *reading.either)
            for stands, target in self.wished
            if all(values[name] == place for name, place in stands.items())
        )

    def owner(self, unasked: tuple[int, str, bool], places: tuple[tuple[str, Position], ...]) -> str:
        """The control that owns a state although it is not in a position for this state; "" if none does."""
        at, state, _ = unasked
        standing = {(name, place.name) for name, place in places}
        owners = [
            place for place, states in self.alone.items() if states[at] == state and place not in standing
        ]
        if state == self.calm[at]:  # all controls give it at rest: it belongs to the channel's own control
            owners = [place for place in owners if place[0] == self.own] or owners
        return min(owners)[0] if owners else ""
