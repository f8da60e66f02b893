"""Computes levels from the positions of a handset's controls, and states and commands from levels."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

from rigcard.resolve.links import Feed, Links
from rigcard.resolve.model import CENTRE, Channel, Control, Mix, Position, Rig, Shape, Sweep, Unit
from rigcard.solve.arithmetic import (
    Dial,
    Level,
    Part,
    channel_level,
    count_of,
    level_of,
    rate_of,
    shaped,
)
from rigcard.solve.solved import Effect, Reading, Solved, Values, base_of

TOLERANCE = Fraction(2)  # per cent between a computed and a measured pulse (common practice, no source)
Dials = dict[tuple[str, str], Dial]


def mixes_into(handset: Unit, channel: str) -> tuple[Mix, ...]:
    """The mixes that add to a channel."""
    return tuple(mix for mix in handset.mixes if mix.target == channel)


def contributors(handset: Unit, channel: Channel) -> list[Control]:
    """Every control that can change a channel: its own, those mixed in, switches of a mix, rate or expo."""
    names = [control.name for control in mixers(handset, channel)]
    names += [one.control for one in channel.shape.switched]
    return [handset.model.controls[name] for name in dict.fromkeys(names)]


def mixers(handset: Unit, channel: Channel) -> list[Control]:
    """The controls that define a channel: its own, those mixed in, and those that switch a mix."""
    names = [channel.control]
    for mix in mixes_into(handset, channel.name):
        names.append(handset.channels[mix.source].control)
        if mix.while_control:
            names.append(mix.while_control)
    return [handset.model.controls[name] for name in dict.fromkeys(names)]


def active(mix: Mix, values: Values) -> bool:
    """Whether a mix is active with the controls at `values`."""
    return mix.while_control is None or values[mix.while_control] == mix.while_position


def own_value(channel: Channel, values: Values) -> Fraction:
    """The channel's own control after rate and expo, -1 to 1. A mix takes its source before them."""
    return shaped(values[channel.control].value, shape_at(channel, values))


def shape_at(channel: Channel, values: Values) -> Shape:
    """The rate and expo that apply with the controls at `values`."""
    shape = channel.shape
    for one in reversed(shape.switched):  # the first one that applies overrides the others
        if values[one.control] == one.position:
            shape = shape._replace(
                rate=shape.rate if one.rate is None else one.rate,
                expo=shape.expo if one.expo is None else one.expo,
            )
    return shape


def level_at(handset: Unit, channel: Channel, values: Values, dials: Dials) -> Level:
    """The level of a channel with the controls of its handset at `values`."""
    return _level(handset, channel, own_value(channel, values), values, dials)


def _level(handset: Unit, channel: Channel, own: Fraction, values: Values, dials: Dials) -> Level:
    arithmetic = handset.model.arithmetic
    assert arithmetic is not None
    parts = parts_into(handset, channel, values, dials)
    return channel_level(arithmetic, dials[handset.name, channel.name], own, parts)


def parts_into(handset: Unit, channel: Channel, values: Values, dials: Dials) -> tuple[Part, ...]:
    """The contributions of all active mixes to a channel; a rate that is still open contributes nothing."""
    return tuple(
        Part(
            values[handset.channels[mix.source].control].value, dials[handset.name, mix.source].travel, mix.rate
        )
        for mix in mixes_into(handset, channel.name)
        if mix.rate and active(mix, values)
    )


def reach(handset: Unit, channel: Channel, dials: Dials, power_up_positions: Values) -> tuple[Level, Level]:
    """The lowest and the highest level that a channel can reach, whatever its controls do.

    A level is linear in the channel's own control (after rate and expo) between these points: its ends, its
    centre, and the points where mixes bring the sum to zero or to full, beyond which a sub-trim of the centre
    shifts nothing. So these points are enough for each combination of the other controls. There are two
    exceptions, which we sample in hundredths of the way: a control that is also mixed into its own channel, and
    one whose expo (below -50 %) takes it beyond its ends.
    """
    own = handset.model.controls[channel.control]
    others = [control for control in contributors(handset, channel) if control != own]
    twice = any(handset.channels[mix.source].control == own.name for mix in mixes_into(handset, channel.name))
    found = []
    for combination in product(*(control.positions for control in others)):
        values = {
            **power_up_positions,
            **{control.name: place for control, place in zip(others, combination, strict=True)},
        }
        shape = shape_at(channel, values)
        ends = [shaped(place.value, shape) for place in own.positions]
        bent = not own.is_switch and (twice or shape.expo < -50)
        along = [Position("", Fraction(at, 100)) for at in range(-100, 101)] if bent else []
        parts = parts_into(handset, channel, values, dials)
        added = sum((part.value * rate_of(part) / 100 for part in parts), Fraction(0))
        bends = [way * added + full for way in (-1, 1) for full in (-1, 0, 1)]
        kinks = [] if own.is_switch or bent else [bend for bend in bends if abs(bend) <= max(ends)]
        for place in (*own.positions, *along):
            found.append(level_at(handset, channel, {**values, own.name: place}, dials))
        found += [_level(handset, channel, kink, values, dials) for kink in kinks]
    return min(found, key=lambda level: level.wanted), max(found, key=lambda level: level.wanted)


def hearing(rig: Rig, feed: Feed) -> tuple[Fraction, Fraction]:
    """heard = scale x carried + shift: the listener's pulse relation, its turn and mounting, its zero."""
    sender, listener = rig.units[feed.handset].model.arithmetic, rig.units[feed.unit].model.pulse
    assert sender is not None
    scale, shift = Fraction(1), Fraction(0)
    if listener and rig.signal_at(feed.plug).kind == "servo":
        scale = sender.pulse.per_percent / listener.per_percent
        shift = (sender.pulse.centre - listener.centre) / listener.per_percent
    if feed.turned != feed.flipped:
        scale, shift = -scale, -shift
    return scale, shift - feed.zero


def code_at(rig: Rig, feed: Feed, level: Fraction) -> int | None:
    """The integer for a level on the serial line to an input; None on a servo lead."""
    counts = rig.signal_at(feed.pin).counts
    return count_of(counts, level) if counts else None


def carried(rig: Rig, feed: Feed, level: Fraction) -> Fraction:
    """The level that arrives at an input; over a serial line, the level of the clipped integer."""
    counts = rig.signal_at(feed.pin).counts
    return level_of(counts, count_of(counts, level)) if counts else level


def heard(rig: Rig, feed: Feed, level: Fraction) -> Fraction:
    """The level that the input hears while the channel is at `level`."""
    scale, shift = hearing(rig, feed)
    return scale * carried(rig, feed, level) + shift


def sent(rig: Rig, feed: Feed, level: Fraction) -> Fraction:
    """The level to send so that the input hears `level`, apart from the rounding of a serial line."""
    scale, shift = hearing(rig, feed)
    return (level - shift) / scale


def read(rig: Rig, links: Links, feed: Feed, level: Fraction) -> Reading:
    """How an input reads a level, with the commands that follow."""
    scale, shift = hearing(rig, feed)
    value, exact = scale * carried(rig, feed, level) + shift, scale * level + shift
    band = None
    if feed.input.sweep:
        state = way_to(feed.input.sweep, value, exact)
    else:
        band = next((band for band in feed.input.bands if band.holds(value)), None)
        state = band.name if band else ""
    return Reading(
        feed=feed,
        heard=value,
        exact=exact,
        code=code_at(rig, feed, level),
        state=state,
        band=band,
        effects=effects_of(rig, links, feed, state),
    )


def way_to(sweep: Sweep, value: Fraction, exact: Fraction) -> str:
    """The end to which a level leads, seen from the rest or, without one, from the middle.

    If a line has no integer for the middle, the nearest level to the middle still does not count as an end.
    """
    base = base_of(sweep)
    dead = sweep.dead if sweep.rest is not None and sweep.dead is not None else Fraction(0)
    if exact == base or abs(value - base) <= dead:
        return CENTRE
    return sweep.first if value < base else sweep.last


def effects_of(rig: Rig, links: Links, feed: Feed, state: str) -> tuple[Effect, ...]:
    """The commands that follow from a state of an input; none for "", which is not a state."""
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
    """The positions that deserve a row: all of a switch, the ends of a stick, slider or dial."""
    if control.is_switch:
        return control.positions
    return (control.positions[0], control.positions[-1])


def trim_throw(solved: Solved, reading: Reading) -> Fraction:
    """The change of a reading by one throw of a trim, in per cent as heard; 0 if the handset has no trims."""
    return trim_heard(solved.rig, reading.feed)


def trim_heard(rig: Rig, feed: Feed) -> Fraction:
    """The change at an input by one throw of the trim of its channel's own control, in per cent as heard."""
    unit = rig.units[feed.handset]
    control = unit.model.controls[unit.channels[feed.channel].control]
    return abs(hearing(rig, feed)[0]) * control.trim
