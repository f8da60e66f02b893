"""Collects what the search behind `auto` must satisfy: the goals of a channel, and what later rules judge."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import product
from math import prod
from typing import NamedTuple

from rigcard.resolve.links import Feed, Links
from rigcard.resolve.model import CENTRE, Channel, Control, Counts, Expectation, Position, Rig, Sweep, Unit
from rigcard.resolve.targets import Target
from rigcard.solve.arithmetic import count_of, level_of
from rigcard.solve.levels import (
    Dials,
    contributors,
    hearing,
    mixes_into,
    own_value,
    parts_into,
    positions_of,
    trim_heard,
)
from rigcard.solve.power_up import at_rest, demands_rest, neutral_position, places_at_power_up, rests_in_middle
from rigcard.solve.solved import STILL, Values, base_of
from rigcard.solve.targets import targets
from rigcard.solve.wants import FAR, Condition, Constraint, Cut, Zero

Key = tuple[str, str]
Stretch = tuple[Fraction, Fraction]
ROOM = Fraction(
    5
)  # per cent that a level without a goal keeps from the edge of a band (common practice, no source)
ON_EDGE = Fraction(1, 1000)  # per cent: a level nearer than this to a shared edge of two bands counts as on it
TURNS = Fraction(
    5, 100
)  # of the way that an axis with a rest covers beyond its dead band (common practice, no source)
FOLLOWS = Fraction(
    10, 100
)  # of the way that a sweep without a rest covers from its middle (common practice, no source)
MOST_AT_ONCE = 64  # combinations of controls whose pulses must lie in the window of a listener
FINE = 15  # halvings of a handset's range: they find the edges of a line's steps to 0.01 %


class Goal(NamedTuple):
    """A position with the result that it must give. `exact`: a level to come close to, not a band."""

    control: str
    position: str
    values: tuple[tuple[str, str], ...]
    want: Constraint
    exact: bool


class Wished(NamedTuple):
    """The expectations of one handset, by the channel over which they can come true.

    `standing` gives the positions of the other controls while one moves; a missing control is in its neutral
    position.
    """

    rig: Rig
    links: Links
    standing: Mapping[Key, Position]
    expectations: tuple[Expectation, ...]
    by_channel: dict[str, list[tuple[Expectation, Target]]]


def wished(
    rig: Rig, links: Links, standing: Mapping[Key, Position], expectations: Iterable[Expectation]
) -> Wished:
    """The expectations of one handset; each is followed to its targets only once."""
    expected = tuple(expectations)
    by_channel: dict[str, list[tuple[Expectation, Target]]] = {}
    for expectation in expected:
        for target in targets(rig, links, expectation):
            by_channel.setdefault(target.feed.channel, []).append((expectation, target))
    return Wished(rig, links, standing, expected, by_channel)


def at_ease(asked: Wished, unit: Unit) -> Values:
    """The positions of a handset's controls while nobody moves them."""
    return {
        control.name: asked.standing.get((unit.name, control.name), neutral_position(control))
        for control in unit.model.controls.values()
    }


# ---- goals ---------------------------------------------------------------------------------------------------


def goals(asked: Wished, unit: Unit, channel: Channel, dials: Dials) -> list[Goal]:
    """The goals of a channel: its aims, and each expectation that comes true over it."""
    ease = at_ease(asked, unit)
    wishes: list[Goal] = []
    for aim in channel.aims:
        values = {**ease, channel.control: aim.position}
        parts = parts_into(unit, channel, values, dials)
        want = Constraint(
            own_value(channel, values), parts, aim.level, aim.level, Fraction(1), Fraction(0), False
        )
        wishes.append(Goal(channel.control, aim.position.name, _places(values), want, True))
    aimed = {(channel.control, aim.position.name) for aim in channel.aims}
    for expectation, target in asked.by_channel.get(channel.name, []):
        place = (expectation.control, expectation.position.name)
        if place not in aimed:
            values = {**ease, **expectation.places()}
            want = _constraint(asked, unit, channel, values, target, dials)
            wishes.append(Goal(*place, _places(values), want, target.band is None))
    return list(dict.fromkeys(wishes))


def _places(values: Values) -> tuple[tuple[str, str], ...]:
    return tuple((control, position.name) for control, position in values.items())


def _zero(asked: Wished, unit: Unit, channel: Channel, dials: Dials, feed: Feed) -> Zero | None:
    """The position whose level an input takes as its zero; None if it learns none."""
    if not feed.input.learns:
        return None
    ease = at_ease(asked, unit)
    parts = parts_into(unit, channel, ease, dials)
    return Zero(own_value(channel, ease), parts, dials[unit.name, channel.name])


def _constraint(
    asked: Wished, unit: Unit, channel: Channel, values: Values, target: Target, dials: Dials
) -> Constraint:
    rig, feed = asked.rig, target.feed
    if target.band:
        low, high = target.band.low, target.band.high
    else:
        sweep = feed.input.sweep
        assert sweep is not None
        ends = {sweep.first: sweep.low, CENTRE: base_of(sweep)}
        low = high = ends.get(target.end, sweep.high)
    scale, shift = _heard_scale(rig, feed)
    return Constraint(
        own=own_value(channel, values),
        parts=parts_into(unit, channel, values, dials),
        low=low,
        high=high,
        scale=scale,
        shift=shift,
        turned=feed.turned != feed.flipped,
        firm=target.band is not None,
        cut=_cut(rig, feed),
        zero=_zero(asked, unit, channel, dials, feed),
    )


# ---- conditions ----------------------------------------------------------------------------------------------


def conditions(asked: Wished, unit: Unit, channel: Channel, dials: Dials) -> tuple[Condition, ...]:
    """All other conditions on the levels of a channel, from the rules that judge them later."""
    return (
        *_bands_and_ends(asked, unit, channel, dials),
        *_pulses(asked, unit, channel, dials),
        *_used(asked, unit, channel, dials),
        *_rest(asked, unit, channel, dials),
        *_unclipped(asked, unit, channel, dials),
    )


def started_at(asked: Wished, unit: Unit, channel: Channel) -> list[Wished]:
    """A copy for each possible power-up position of the channel's control, neutral first.

    There is only one if no input needs a rest.
    """
    feeds = asked.links.feeds_of(unit.name, channel.name)
    if not any(demands_rest(feed) and not rests_in_middle(unit, feed) for feed in feeds):
        return [asked]
    control = unit.model.controls[channel.control]
    now = at_ease(asked, unit)[control.name]
    places = sorted(places_at_power_up(control), key=lambda place: place != now)
    return [asked._replace(standing={**asked.standing, (unit.name, control.name): place}) for place in places]


def _condition(
    asked: Wished,
    unit: Unit,
    channel: Channel,
    values: Values,
    dials: Dials,
    feed: Feed,
    stretches: Sequence[Stretch],
    room: Fraction,
) -> Condition:
    line = _line(asked.rig, feed)
    scale, shift = line.plain
    zero = _zero(asked, unit, channel, dials, feed)
    return Condition(
        own=own_value(channel, values),
        parts=parts_into(unit, channel, values, dials),
        stretches=tuple(stretches)
        if zero  # where the steps of a line lie then depends on the values themselves
        else tuple(delivered for stretch in stretches for delivered in _delivered(line, stretch))
        or ((FAR, FAR),),
        scale=scale,
        shift=shift,
        turned=line.turned,
        room=room,
        cut=_cut(asked.rig, feed),
        zero=zero,
    )


def _bands_and_ends(asked: Wished, unit: Unit, channel: Channel, dials: Dials) -> Iterator[Condition]:
    """Every position lands in exactly one band, and an end of a sweep lies on its own side."""
    rig, ease = asked.rig, at_ease(asked, unit)
    spoken_of = {(claim.control, claim.position.name) for claim in asked.expectations}
    moved = [channel.control, *(unit.channels[mix.source].control for mix in mixes_into(unit, channel.name))]
    for feed in asked.links.feeds_of(unit.name, channel.name):
        for expectation, target in asked.by_channel.get(channel.name, []):
            if target.feed != feed:
                continue
            if target.band:
                stretch = _clear_of_others(feed, (target.band.low, target.band.high))
                room = Fraction(0)
                if stretch == (target.band.low, target.band.high) and _as_sent(_line(rig, feed)):
                    continue
            elif target.end not in ("", CENTRE) and feed.input.sweep:
                stretch, room = _reached(feed.input.sweep, target.end), Fraction(0)
            else:
                continue
            values = {**ease, **expectation.places()}
            yield _condition(asked, unit, channel, values, dials, feed, [stretch], room)
        if not feed.input.bands:
            continue
        bands = [_clear_of_others(feed, (band.low, band.high)) for band in feed.input.bands]
        room = max(ROOM, rig.guard + trim_heard(rig, feed))
        for name in dict.fromkeys(moved):
            control = unit.model.controls[name]
            for place in positions_of(control, ease[name]):
                if (name, place.name) not in spoken_of:
                    yield _condition(asked, unit, channel, {**ease, name: place}, dials, feed, bands, room)


def _clear_of_others(feed: Feed, stretch: Stretch) -> Stretch:
    """A band without the edges that it shares with another, where the device may choose either."""
    low, high = stretch
    others = [band for band in feed.input.bands if (band.low, band.high) != stretch]
    if any(band.high == low for band in others):
        low += ON_EDGE
    if any(band.low == high for band in others):
        high -= ON_EDGE
    return low, high


def _reached(sweep: Sweep, end: str) -> Stretch:
    """The levels that count as an end of a sweep."""
    middle = (sweep.low + sweep.high) / 2
    base = middle if sweep.rest is None else sweep.rest
    way = sweep.low - base if end == sweep.first else sweep.high - base
    if sweep.rest is None:
        least = abs(way) * FOLLOWS
    else:
        least = (STILL if sweep.dead is None else sweep.dead) + abs(way) * TURNS
    return (-FAR, min(middle, base - least)) if end == sweep.first else (max(middle, base + least), FAR)


def _rest(asked: Wished, unit: Unit, channel: Channel, dials: Dials) -> Iterator[Condition]:
    """Every input of a channel that has a rest finds it at power-up."""
    rig, ease = asked.rig, at_ease(asked, unit)
    for feed in asked.links.feeds_of(unit.name, channel.name):
        if demands_rest(feed) and not (feed.input.learns and at_rest(feed, Fraction(0))):
            yield _condition(asked, unit, channel, ease, dials, feed, *_rest_of(rig, feed))


def _rest_of(rig: Rig, feed: Feed) -> tuple[list[Stretch], Fraction]:
    """The levels at which an input rests, and the distance from their ends that is enough."""
    sweep = feed.input.sweep
    if sweep and sweep.rest is not None:
        still = STILL if sweep.dead is None else sweep.dead
        return [(sweep.rest - still, sweep.rest + still)], still
    bands = [_clear_of_others(feed, (band.low, band.high)) for band in feed.input.bands if band.rest]
    return bands, max(ROOM, rig.guard + trim_heard(rig, feed))


def _pulses(asked: Wished, unit: Unit, channel: Channel, dials: Dials) -> Iterator[Condition]:
    """Every pulse lies within the window that the listener accepts."""
    rig, ease, arithmetic = asked.rig, at_ease(asked, unit), unit.model.arithmetic
    assert arithmetic is not None
    for feed in asked.links.feeds_of(unit.name, channel.name):
        window = rig.units[feed.unit].model.window
        if window is None or rig.signal_at(feed.plug).kind != "servo":
            continue
        low, high = sorted(arithmetic.pulse.level(width) for width in window)
        if low <= arithmetic.output_low and arithmetic.output_high <= high:
            continue
        for values in _combinations(unit, contributors(unit, channel), ease):
            yield Condition(
                own=own_value(channel, values),
                parts=parts_into(unit, channel, values, dials),
                stretches=((low, high),),
                scale=Fraction(1),
                shift=Fraction(0),
                turned=False,
                room=Fraction(0),
            )


def _unclipped(asked: Wished, unit: Unit, channel: Channel, dials: Dials) -> Iterator[Condition]:
    """What an input hears from a learned zero on is cut off neither there nor where a claim moves the control."""
    arithmetic, ease = unit.model.arithmetic, at_ease(asked, unit)
    assert arithmetic is not None
    for feed in asked.links.feeds_of(unit.name, channel.name):
        if not feed.input.learns:
            continue
        low, high = _cut(asked.rig, feed) or (arithmetic.output_low, arithmetic.output_high)
        claims = [
            claim.places() for claim, target in asked.by_channel.get(channel.name, []) if target.feed == feed
        ]
        for places in ({}, *claims):
            values = {**ease, **places}
            yield Condition(
                own=own_value(channel, values),
                parts=parts_into(unit, channel, values, dials),
                stretches=((max(low, arithmetic.output_low), min(high, arithmetic.output_high)),),
                scale=Fraction(1),
                shift=Fraction(0),
                turned=False,
                room=Fraction(0),
            )


def _combinations(unit: Unit, controls: list[Control], ease: Values) -> Iterator[Values]:
    """All combinations of positions of some controls or, if there are too many, of one control at a time."""
    if prod(len(control.positions) for control in controls) <= MOST_AT_ONCE:
        for places in product(*(control.positions for control in controls)):
            names = (control.name for control in controls)
            yield {**ease, **dict(zip(names, places, strict=True))}
        return
    for control in controls:
        for place in control.positions:
            yield {**ease, control.name: place}


def _used(asked: Wished, unit: Unit, channel: Channel, dials: Dials) -> Iterator[Condition]:
    """Marks both sides as used: without a goal every travel is equally good, so no answer is unique."""
    ease = at_ease(asked, unit)
    for place in unit.model.controls[channel.control].positions:
        values = {**ease, channel.control: place}
        yield Condition(
            own=own_value(channel, values),
            parts=parts_into(unit, channel, values, dials),
            stretches=(),
            scale=Fraction(1),
            shift=Fraction(0),
            turned=False,
            room=Fraction(0),
        )


# ---- what a line delivers ------------------------------------------------------------------------------------


def _heard_scale(rig: Rig, feed: Feed) -> tuple[Fraction, Fraction]:
    """heard = scale x sent + shift, if the listener declares a pulse relation of its own."""
    sender, listener = rig.units[feed.handset].model.arithmetic, rig.units[feed.unit].model.pulse
    assert sender is not None
    if listener is None or rig.signal_at(feed.plug).kind != "servo":
        return Fraction(1), Fraction(0)
    return (
        sender.pulse.per_percent / listener.per_percent,
        (sender.pulse.centre - listener.centre) / listener.per_percent,
    )


class _Line(NamedTuple):
    """What lies between a channel and an input, as numbers: equal ones deliver alike, whatever hangs on them.

    `counts`: those of a serial line; `hearing`: heard = scale x carried + shift; `plain`: the same without what the
    input does itself, its turn and its zero; `limits`: of the handset's output.
    """

    counts: Counts | None
    hearing: tuple[Fraction, Fraction]
    plain: tuple[Fraction, Fraction]
    limits: Cut
    turned: bool

    def unturned(self, level: Fraction) -> Fraction:
        """A level as the line delivers it, before the head or its mounting reverses it."""
        scale, shift = self.hearing
        found = scale * (level_of(self.counts, count_of(self.counts, level)) if self.counts else level) + shift
        return -found if self.turned else found


def _line(rig: Rig, feed: Feed) -> _Line:
    arithmetic = rig.units[feed.handset].model.arithmetic
    assert arithmetic is not None
    return _Line(
        counts=rig.signal_at(feed.pin).counts,
        hearing=hearing(rig, feed),
        plain=_heard_scale(rig, feed),
        limits=(arithmetic.output_low, arithmetic.output_high),
        turned=feed.turned != feed.flipped,
    )


def _cut(rig: Rig, feed: Feed) -> Cut | None:
    """The lowest and highest level, as sent, that the line delivers; None if it delivers the whole output."""
    line = _line(rig, feed)
    scale, shift = line.plain
    low, high = ((line.unturned(limit) - shift) / scale for limit in line.limits)
    return None if (low, high) == line.limits else (low, high)


@lru_cache(maxsize=256)
def _as_sent(line: _Line) -> bool:
    """Whether a line delivers every level exactly as sent, not in steps and not clipped."""
    scale, shift = line.plain
    low, high = line.limits
    probes = [low + (high - low) * Fraction(part, 7) for part in range(8)]
    return all(line.unturned(probe) == scale * probe + shift for probe in probes)


@lru_cache(maxsize=1024)  # the handsets of a production have the same lines and bands
def _delivered(line: _Line, stretch: Stretch) -> tuple[Stretch, ...]:
    """The levels that are heard within an interval over a line that delivers in steps; may be empty.

    They are given as they would be heard without the steps, and the interval is never too wide: every level in
    it is heard inside the original one.
    """
    if _as_sent(line):
        return (stretch,)
    low, high = (-stretch[1], -stretch[0]) if line.turned else stretch
    lowest, highest = line.limits
    scale, shift = line.plain
    first, last = line.unturned(lowest), line.unturned(highest)
    if last < low or first > high:
        return ()
    if first < low:
        below, above = lowest, highest
        for _ in range(FINE):
            middle = (below + above) / 2
            below, above = (below, middle) if line.unturned(middle) >= low else (middle, above)
        low = scale * above + shift
    if last > high:
        below, above = lowest, highest
        for _ in range(FINE):
            middle = (below + above) / 2
            below, above = (middle, above) if line.unturned(middle) <= high else (below, middle)
        high = scale * below + shift
    if low > high:
        return ()
    return ((-high, -low) if line.turned else (low, high),)
