"""From the positions of a handset's controls to levels, and from levels to states and commands."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

from rigcard.resolve.links import Feed, Links
from rigcard.resolve.model import CENTRE, Channel, Control, Mix, Position, Rig, Unit
from rigcard.solve.arithmetic import Dial, Level, Part, channel_level, rate_of, shaped
from rigcard.solve.solved import Effect, Reading, Solved, Values

TOLERANCE = Fraction(2)  # per cent between a computed and a measured pulse (common practice, no source)
Dials = dict[tuple[str, str], Dial]


def mixes_into(handset: Unit, channel: str) -> tuple[Mix, ...]:
    """The mixes that add to a channel."""
    return tuple(mix for mix in handset.mixes if mix.target == channel)


def contributors(handset: Unit, channel: Channel) -> list[Control]:
    """Every control that can change a channel: its own, those mixed in, those that switch a mix."""
    names = [channel.control]
    for mix in mixes_into(handset, channel.name):
        names.append(handset.channels[mix.source].control)
        if mix.while_control:
            names.append(mix.while_control)
    return [handset.model.controls[name] for name in dict.fromkeys(names)]


def active(mix: Mix, values: Values) -> bool:
    """Whether a mix counts with the controls as they stand."""
    return mix.while_control is None or values[mix.while_control] == mix.while_position


def own_value(channel: Channel, values: Values) -> Fraction:
    """The channel's own control after rate and expo, -1 to 1. A mix takes its source before them."""
    return shaped(values[channel.control].value, channel.shape)


def level_at(handset: Unit, channel: Channel, values: Values, dials: Dials) -> Level:
    """The level of a channel with the controls of its handset as they stand."""
    return _level(handset, channel, own_value(channel, values), values, dials)


def _level(handset: Unit, channel: Channel, own: Fraction, values: Values, dials: Dials) -> Level:
    arithmetic = handset.model.arithmetic
    assert arithmetic is not None
    parts = parts_into(handset, channel, values, dials)
    return channel_level(arithmetic, dials[handset.name, channel.name], own, parts)


def parts_into(handset: Unit, channel: Channel, values: Values, dials: Dials) -> tuple[Part, ...]:
    """What the mixes that are active add to a channel; a rate that is still open adds nothing."""
    return tuple(
        Part(
            values[handset.channels[mix.source].control].value, dials[handset.name, mix.source].travel, mix.rate
        )
        for mix in mixes_into(handset, channel.name)
        if mix.rate and active(mix, values)
    )


def reach(handset: Unit, channel: Channel, dials: Dials, power_up_positions: Values) -> tuple[Level, Level]:
    """The lowest and the highest level that a channel comes to, whatever its controls do.

    A level is linear in the channel's own control (after rate and expo) between its ends, its centre and the points
    where mixes bring it through zero or to its full, from which on a sub-trim of the centre shifts nothing: these are
    enough for each combination of the others. A control that is mixed into its own channel too, or whose expo takes
    it beyond its ends (below -50 %), is followed in hundredths of its way instead.
    """
    own = handset.model.controls[channel.control]
    others = [control for control in contributors(handset, channel) if control != own]
    ends = [shaped(place.value, channel.shape) for place in own.positions]
    twice = any(handset.channels[mix.source].control == own.name for mix in mixes_into(handset, channel.name))
    bent = not own.is_switch and (twice or channel.shape.expo < -50)
    along = [Position("", Fraction(at, 100)) for at in range(-100, 101)] if bent else []
    found = []
    for combination in product(*(control.positions for control in others)):
        values = {
            **power_up_positions,
            **{control.name: place for control, place in zip(others, combination, strict=True)},
        }
        parts = parts_into(handset, channel, values, dials)
        added = sum((part.value * rate_of(part) / 100 for part in parts), Fraction(0))
        bends = [way * added + full for way in (-1, 1) for full in (-1, 0, 1)]
        kinks = [] if own.is_switch or bent else [bend for bend in bends if abs(bend) <= max(ends)]
        for place in (*own.positions, *along):
            found.append(level_at(handset, channel, {**values, own.name: place}, dials))
        found += [_level(handset, channel, kink, values, dials) for kink in kinks]
    return min(found, key=lambda level: level.wanted), max(found, key=lambda level: level.wanted)


def heard(rig: Rig, feed: Feed, level: Fraction) -> Fraction:
    """The level as the input hears it: through its own pulse relation if it declares one, its turn and mounting."""
    sender, listener = rig.units[feed.handset].model.arithmetic, rig.units[feed.unit].model.pulse
    assert sender is not None
    if listener and rig.signal_at(feed.plug).kind == "servo":
        level = listener.level(sender.pulse.width(level))
    return -level if feed.turned != feed.flipped else level


def sent(rig: Rig, feed: Feed, level: Fraction) -> Fraction:
    """The level to send so that the input hears `level`: the way back through `heard`."""
    zero, one = heard(rig, feed, Fraction(0)), heard(rig, feed, Fraction(1))
    return (level - zero) / (one - zero)


def read(rig: Rig, links: Links, feed: Feed, level: Fraction) -> Reading:
    """What an input makes of a level, with the commands that follow."""
    value = heard(rig, feed, level)
    if feed.input.sweep:
        sweep = feed.input.sweep
        middle = (sweep.low + sweep.high) / 2
        state = CENTRE if value == middle else sweep.first if value < middle else sweep.last
        return Reading(feed, value, state, None, effects_of(rig, links, feed, state))
    band = next((band for band in feed.input.bands if band.holds(value)), None)
    state = band.name if band else ""
    return Reading(feed, value, state, band, effects_of(rig, links, feed, state))


def effects_of(rig: Rig, links: Links, feed: Feed, state: str) -> tuple[Effect, ...]:
    """The commands that follow from a state of an input; none from "", which is no state."""
    command, end = (feed.input.name, state) if feed.input.sweep else (state, "")
    found = []
    for order in links.orders_of(feed):
        receiver = rig.units[order.receiver]
        known = receiver.commands.get(command)
        if known:
            assigned = receiver.settings.get(known.does or "")
            does = assigned.text if assigned else end
            found.append(Effect(receiver.name, command, does, known.toggles or ()))
    return tuple(found)


def positions_of(control: Control, power_up_positions: Position) -> tuple[Position, ...]:
    """The positions worth a line: all of a switch, the ends of a stick, slider or dial."""
    if control.is_switch:
        return control.positions
    return (control.positions[0], control.positions[-1])


def trim_throw(solved: Solved, reading: Reading) -> Fraction:
    """What one throw of a trim moves a reading by, in per cent as heard; 0 where the handset has no trims."""
    return trim_heard(solved.rig, reading.feed)


def trim_heard(rig: Rig, feed: Feed) -> Fraction:
    """What one throw of a trim moves an input by, in per cent as heard."""
    arithmetic = rig.units[feed.handset].model.arithmetic
    assert arithmetic is not None
    return abs(heard(rig, feed, arithmetic.trim_throw) - heard(rig, feed, Fraction(0)))
