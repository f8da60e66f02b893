"""The position that every control needs when the power comes on, so that each input sees its rest state."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate
from operator import mul

from rigcard.resolve.links import Feed, Links, with_feeds
from rigcard.resolve.model import Control, Position, Rig, Unit
from rigcard.solve.levels import Dials, contributors, heard, hearing, level_at, mixers, read, way_to
from rigcard.solve.solved import Values, WrongStart, stands_still

MOST_COMBINATIONS = 4096
Key = tuple[str, str]


def neutral_position(control: Control) -> Position:
    """The neutral position of a control: its middle, or the first end of a switch that has no middle."""
    return next((position for position in control.positions if position.value == 0), control.positions[0])


def power_up(rig: Rig, links: Links, dials: Dials) -> tuple[dict[Key, Position], set[Key], list[Feed]]:
    """Every control's position at power-up, the controls that an input demands, the feeds without a rest."""
    power_up_positions = {
        (unit.name, control.name): neutral_position(control)
        for unit in rig.units.values()
        for control in unit.model.controls.values()
    }
    needed: set[Key] = set()
    failed: list[Feed] = []
    for unit in rig.units.values():
        demanding = [
            feed
            for feed in links.feeds_from(unit.name)
            if demands_rest(feed) and not rests_in_middle(unit, feed)
        ]
        for group, controls in _groups(unit, demanding):
            needed.update((unit.name, control.name) for control in controls)
            found = _search(rig, unit, group, controls, power_up_positions, dials)
            if found is None:  # an input that learns its zero rests there, wherever its control stands
                group = [feed for feed in group if not (feed.input.learns and at_rest(feed, Fraction(0)))]
                found = _search(rig, unit, group, controls, power_up_positions, dials)
            if found is not None:
                power_up_positions.update(found)
                continue
            alone = [feed for feed in group if not rests_alone(rig, unit, feed, power_up_positions, dials)]
            failed.extend(alone or group)
        for feed in links.feeds_from(unit.name):
            if feed.input.learns:  # with a rest or without, its zero is where its controls stand
                needed.update((unit.name, control.name) for control in _movers(unit, feed))
    return power_up_positions, needed, failed


def learned(
    rig: Rig, links: Links, dials: Dials, power_up_positions: dict[Key, Position], failed: list[Feed]
) -> Links:
    """The links with the zero of each input that learns its neutral: the level that it hears at power-up.

    An input that finds no rest learns nothing: it has already caused an error.
    """
    if not any(feed.input.learns for feed in links.feeds):
        return links
    feeds = []
    for feed in links.feeds:
        if feed.input.learns and feed not in failed:
            unit = rig.units[feed.handset]
            values = {name: power_up_positions[unit.name, name] for name in unit.model.controls}
            level = level_at(unit, unit.channels[feed.channel], values, dials).percent
            feed = feed._replace(zero=heard(rig, feed, level))
        feeds.append(feed)
    return with_feeds(links, feeds)


def at_rest(feed: Feed, level_heard: Fraction) -> bool:
    """Whether an input sees the state that it needs at power-up."""
    if feed.input.sweep:
        return stands_still(feed.input.sweep, level_heard)
    return any(band.rest and band.holds(level_heard) for band in feed.input.bands)


def rests_in_middle(unit: Unit, feed: Feed) -> bool:
    """Whether an input learns its zero from controls that all have a middle: there it rests, whatever it hears."""
    return (
        feed.input.learns
        and at_rest(feed, Fraction(0))
        and not any(neutral_position(control).value for control in _movers(unit, feed))
    )


def demands_rest(feed: Feed) -> bool:
    """Whether an input must see a rest state at power-up."""
    if feed.input.sweep:
        return feed.input.sweep.rest is not None
    return any(band.rest for band in feed.input.bands)


def _groups(unit: Unit, feeds: list[Feed]) -> list[tuple[list[Feed], list[Control]]]:
    """Groups of feeds that share controls, since those must be solved together."""
    groups: list[tuple[list[Feed], list[Control]]] = []
    for feed in feeds:
        controls = _movers(unit, feed)
        joined = [group for group in groups if any(control in group[1] for control in controls)]
        merged_feeds = [other for group in joined for other in group[0]] + [feed]
        merged = dict.fromkeys(control.name for group in joined for control in group[1])
        merged.update(dict.fromkeys(control.name for control in controls))
        groups = [group for group in groups if group not in joined]
        groups.append((merged_feeds, [unit.model.controls[name] for name in merged]))
    return groups


def rests_alone(
    rig: Rig, unit: Unit, feed: Feed, power_up_positions: dict[Key, Position], dials: Dials
) -> bool:
    """Whether an input would find its rest if no other input needed one."""
    return _search(rig, unit, [feed], _movers(unit, feed), power_up_positions, dials) is not None


def places_at_power_up(control: Control) -> list[Position]:
    """The possible positions of a control at power-up, neutral first; only that one if it springs back."""
    easy = neutral_position(control)
    if control.springs:
        return [easy]
    return [easy, *(position for position in control.positions if position != easy)]


def _search(
    rig: Rig,
    unit: Unit,
    feeds: list[Feed],
    controls: list[Control],
    power_up_positions: dict[Key, Position],
    dials: Dials,
) -> dict[Key, Position] | None:
    """The first combination, neutral positions first, that puts every feed of a group at rest.

    The search sets the controls one by one and tests a feed as soon as all its controls are set.
    """
    values = {
        control.name: power_up_positions[unit.name, control.name] for control in unit.model.controls.values()
    }
    order = sorted(controls, key=lambda control: -sum(control in _movers(unit, feed) for feed in feeds))
    due: dict[str, list[Feed]] = {}
    for feed in feeds:
        last = max(_movers(unit, feed), key=order.index)
        due.setdefault(last.name, []).append(feed)
    tried = 0

    def settle(at: int) -> bool:
        nonlocal tried
        if at == len(order):
            return True
        for place in places_at_power_up(order[at]):
            tried += 1
            if tried > MOST_COMBINATIONS:
                return False
            values[order[at].name] = place
            if all(_rests(rig, unit, feed, values, dials) for feed in due.get(order[at].name, [])) and settle(
                at + 1
            ):
                return True
        return False

    return {(unit.name, control.name): values[control.name] for control in controls} if settle(0) else None


def all_tried(unit: Unit, feeds: list[Feed]) -> bool:
    """Whether the search for a common rest of these inputs is complete, because it stays within its limit."""
    controls = {control.name: control for feed in feeds for control in _movers(unit, feed)}
    places = sorted((len(places_at_power_up(control)) for control in controls.values()), reverse=True)
    tries: int = sum(accumulate(places, mul))  # upper bound for any order of the controls
    return tries <= MOST_COMBINATIONS


def _movers(unit: Unit, feed: Feed) -> list[Control]:
    channel = unit.channels[feed.channel]
    if neutral_position(unit.model.controls[channel.control]).value:
        return contributors(unit, channel)
    return mixers(unit, channel)  # in the middle, rate and expo have no effect


def _rests(rig: Rig, unit: Unit, feed: Feed, values: Values, dials: Dials) -> bool:
    level = level_at(unit, unit.channels[feed.channel], values, dials).percent
    scale, shift = hearing(rig, feed)  # a line without an integer for the rest is reported elsewhere
    return at_rest(feed, heard(rig, feed, level)) or (
        feed.input.sweep is not None and stands_still(feed.input.sweep, scale * level + shift)
    )


def wrong_starts(
    rig: Rig, links: Links, dials: Dials, power_up_positions: dict[Key, Position], needed: set[Key]
) -> tuple[WrongStart, ...]:
    """Each wrong power-up position of a single control that affects some input, worst first."""
    found = []
    for unit_name, control_name in sorted(needed):
        unit = rig.units[unit_name]
        control = unit.model.controls[control_name]
        if control.springs and not control.is_switch:
            continue  # nobody holds a control that springs back
        right = {name: power_up_positions[unit_name, name] for name in unit.model.controls}
        for position in control.positions:
            start = _wrong_start(rig, links, dials, unit, right, control, position)
            if start:
                found.append(start)
    return tuple(sorted(found, key=lambda start: start.harm))


def _wrong_start(
    rig: Rig,
    links: Links,
    dials: Dials,
    unit: Unit,
    right: Values,
    control: Control,
    position: Position,
) -> WrongStart | None:
    wrong = {**right, control.name: position}
    readings = []
    learned = []
    for feed in links.feeds_from(unit.name):
        channel = unit.channels[feed.channel]
        reading = read(rig, links, feed, level_at(unit, channel, wrong, dials).percent)
        if not demands_rest(feed) or rests_in_middle(unit, feed):
            level = heard(rig, feed, level_at(unit, channel, right, dials).percent)
            if feed.input.learns and reading.heard != level:
                readings.append(reading)
                learned.append((feed, _learned_state(feed, level - reading.heard)))
            continue
        if at_rest(feed, reading.heard) or (feed.input.sweep and stands_still(feed.input.sweep, reading.exact)):
            continue
        readings.append(reading)
        if feed.input.learns:
            rest = heard(rig, feed, level_at(unit, channel, right, dials).percent) - reading.heard
            learned.append((feed, _learned_state(feed, rest)))
    if not readings:
        return None
    critical = any(reading.feed.input.critical for reading in readings)
    harm = 0 if critical else 1 if any(reading.effects for reading in readings) else 2
    return WrongStart(
        handset=unit.name,
        control=control.name,
        position=position,
        harm=harm,
        readings=tuple(readings),
        learned=tuple(learned),
    )


def _learned_state(feed: Feed, level: Fraction) -> str:
    """The state that an input then gives at a level as it hears it; "" if none."""
    if feed.input.sweep:
        return way_to(feed.input.sweep, level, level)
    return next((band.name for band in feed.input.bands if band.holds(level)), "")
