"""How one input of a unit affects another: a mode that holds an axis still, a dial that scales its turn."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from rigcard.resolve.links import Feed
from rigcard.resolve.model import Position, Rig, Sweep
from rigcard.solve.levels import Dials, heard, level_at
from rigcard.solve.solved import Reading, Solved, Values

Bearers = dict[tuple[str, str], list[Feed]]  # by unit and input: the feeds that hold or scale that input
Standing = Mapping[tuple[str, str], Position]  # by handset and control


def bearers_of(feeds: Iterable[Feed]) -> Bearers:
    """The inputs that affect other inputs of their unit, by the input that they affect."""
    found: Bearers = {}
    for feed in feeds:
        names = [name for band in feed.input.bands for name in band.stills]
        if feed.input.sweep and feed.input.sweep.scales:
            names.append(feed.input.sweep.scales.input)
        for name in dict.fromkeys(names):
            found.setdefault((feed.unit, name), []).append(feed)
    return found


def borne_on(
    rig: Rig, bearers: Bearers, reading: Reading, values: Values, standing: Standing, dials: Dials
) -> Reading:
    """A reading after other inputs of its unit have affected it, with the controls of its handset at `values`.

    The controls of other handsets stand as in `standing`.
    """
    share, held = Fraction(1), ""
    for feed in bearers.get((reading.feed.unit, reading.feed.input.name), ()):
        level = _heard_by(rig, feed, reading.feed.handset, values, standing, dials)
        if feed.input.sweep:
            share *= share_at(feed.input.sweep, level)
        elif holds(feed, level, reading.feed.input.name):
            held = feed.input.name
    return reading._replace(share=share, held=held) if held or share != 1 else reading


def _heard_by(rig: Rig, feed: Feed, handset: str, values: Values, standing: Standing, dials: Dials) -> Fraction:
    unit = rig.units[feed.handset]
    if feed.handset != handset:
        values = {name: standing[unit.name, name] for name in unit.model.controls}
    return heard(rig, feed, level_at(unit, unit.channels[feed.channel], values, dials).percent)


def holds(feed: Feed, level: Fraction, input_name: str) -> bool:
    """Whether a mode holds another input of its unit still at a level; on an edge, if either state does."""
    return any(band.holds(level) and input_name in band.stills for band in feed.input.bands)


def share_at(sweep: Sweep, level: Fraction) -> Fraction:
    """The fraction of `full`, 0 to 1, with which an axis turns while its scaling input hears a level: linear
    from end to end (common practice, no source)."""
    assert sweep.scales is not None
    way = min(Fraction(1), max(Fraction(0), (level - sweep.low) / (sweep.high - sweep.low)))
    return (sweep.scales.low + way * (sweep.scales.high - sweep.scales.low)) / 100


def freed_by(solved: Solved, feed: Feed) -> list[tuple[Feed, list[Position]]]:
    """The modes that can hold an input still, each with the positions of its control that release the input."""
    found = []
    for mode in solved.bearers.get((feed.unit, feed.input.name), ()):
        if mode.input.sweep:
            continue
        rows = solved.results[mode.handset, mode.channel]
        free = [
            row.position
            for row in rows.rows
            if row.control == rows.control.name and not row.conditions
            for reading in row.readings
            if reading.feed == mode and not holds(mode, reading.heard, feed.input.name)
        ]
        found.append((mode, free))
    return found


def scaled_turns(solved: Solved, feed: Feed) -> list[tuple[Feed, list[tuple[Position, Fraction]]]]:
    """The axes that an input scales, each with its turn at full stick for every position of the dial."""
    sweep = feed.input.sweep
    if sweep is None or sweep.scales is None:
        return []
    unit = solved.rig.units[feed.handset]
    channel = unit.channels[feed.channel]
    dials = {key: result.dial for key, result in solved.results.items()}
    values = {name: solved.power_up_positions[unit.name, name] for name in unit.model.controls}
    found = []
    for axis in solved.links.feeds:
        if axis.unit != feed.unit or axis.input.name != sweep.scales.input:
            continue
        assert axis.input.sweep and axis.input.sweep.full
        full = axis.input.sweep.full.degrees
        turns = []
        for place in unit.model.controls[channel.control].positions:
            level = level_at(unit, channel, {**values, channel.control: place}, dials).percent
            turns.append((place, full * share_at(sweep, heard(solved.rig, feed, level))))
        found.append((axis, turns))
    return found
