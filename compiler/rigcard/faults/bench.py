"""The rig on the bench, with or without a mistake in it: what every function shows at given control positions.

A mistake is a `Change` to the bench. Only the functions that it touches are computed again; a test holds them
against a rig whose text has the mistake. (IEEE Std 1522 calls a mistake a fault.)
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Any, NamedTuple

from rigcard.resolve.links import CommandLink, Feed, Links
from rigcard.resolve.model import CENTRE, Need, Position, Rig, Unit
from rigcard.resolve.once import once_a_rig
from rigcard.solve.arithmetic import Dial
from rigcard.solve.bearing import Bearers, bearers_of, holds, share_at
from rigcard.solve.levels import Dials, carried, contributors, effects_of, hearing, level_at, way_to
from rigcard.solve.sharing import Function, Part, parts_of, power_parts
from rigcard.solve.solved import Effect, Solved, Values, part_of_way, stands_still

NOTICED = Fraction(
    1, 4
)  # of the whole way or speed: a smaller difference is not seen (common practice, no source)
NOTICED_SLOW = Fraction(500)  # ms from end to end that are seen as slow (common practice, no source)
ZERO = Fraction(0)
Key = tuple[str, str]  # handset and control, or handset and channel
Stands = Mapping[Key, Position]  # where controls stand, by handset and control


class Sight(NamedTuple):
    """What a person sees of one function. `moved` is the share of the whole way or speed, negative toward
    the first end.

    `kind`: "nothing" (no signal, no power, no state), "state" of a device, "orders" that a device obeys, "way" of
    something that moves, "hold" and "other" on the loss of the link. `still`: what has a rest stands still.
    """

    kind: str
    words: tuple[str, ...] = ()
    moved: Fraction = ZERO
    still: bool = False
    slow: bool = False
    devices: tuple[str, ...] = ()
    effects: tuple[Effect, ...] = ()
    state: str = ""
    heard: Fraction | None = None


NOTHING = Sight("nothing")
_NONE: Mapping[Any, Any] = MappingProxyType({})


class Bench(NamedTuple):
    """The rig as it stands. `standing`: every control, unless a line moves it. `off`: parts that are dead.

    `wired`: the feed of each function as planned; `near`: of its parts those without which it shows nothing, pulses or
    not; `sending`: the functions that show by what other units do.
    `knocked`: the change of a level by the trim of a control, in per cent. `strange`: handsets with another memory,
    whose functions may do anything.
    """

    rig: Rig
    links: Links
    feeds: Mapping[Function, tuple[Feed, ...]]
    dials: Dials
    standing: Stands
    off: frozenset[Part]
    knocked: Mapping[Key, Fraction]
    strange: frozenset[str]
    bearers: Bearers
    parts: Mapping[Function, frozenset[Part]]
    wired: Mapping[Function, Feed]
    near: Mapping[Function, frozenset[Part]]
    sending: frozenset[Function]


class Change(NamedTuple):
    """What one mistake alters; everything else is as planned. `moved`: leads that are plugged elsewhere."""

    units: Mapping[str, Unit] = _NONE
    feeds: Mapping[Function, tuple[Feed, ...]] = _NONE
    orders: Mapping[tuple[str, str], list[CommandLink]] = _NONE
    dials: Mapping[Key, Dial] = _NONE
    standing: Stands = _NONE
    off: frozenset[Part] = frozenset()
    knocked: Mapping[Key, Fraction] = _NONE
    strange: frozenset[str] = frozenset()
    moved: frozenset[str] = frozenset()


def planned(solved: Solved) -> Bench:
    """The bench of a rig without a mistake."""
    feeds: dict[Function, tuple[Feed, ...]] = {}
    parts: dict[Function, frozenset[Part]] = {}
    for feed in solved.links.feeds:
        key = feed.unit, feed.input.name
        feeds[key] = (*feeds.get(key, ()), feed)
        parts[key] = parts.get(key, frozenset()) | frozenset(parts_of(solved, feed))
    return Bench(
        rig=solved.rig,
        links=solved.links,
        feeds=feeds,
        dials={key: result.dial for key, result in solved.results.items()},
        standing=solved.power_up_positions,
        off=frozenset(),
        knocked={},
        strange=frozenset(),
        bearers=solved.bearers,
        parts=parts,
        wired={key: own[0] for key, own in feeds.items()},
        sending=frozenset(key for key, own in feeds.items() if solved.links.orders_of(own[0])),
        near={key: _near(solved, own[0]) for key, own in feeds.items() if own[0].input.silence},
    )


def _near(solved: Solved, feed: Feed) -> frozenset[Part]:
    """The unit that listens, the units that obey it, their power, and the leads between them."""
    routes = [order.route for order in solved.links.orders_of(feed)]
    units = {feed.unit, *(end.unit for route in routes for wire in route for end in (wire.source, wire.sink))}
    found = {Part("lead", (wire.leg.id,)) for route in routes for wire in route}
    for name in units:
        found |= {Part("unit", (name,)), *power_parts(solved, solved.rig.units[name])}
    return frozenset(found)


def changed(bench: Bench, change: Change) -> Bench:
    """The bench after a mistake; an input that learns its neutral learns it again."""
    rig = bench.rig._replace(units={**bench.rig.units, **change.units}) if change.units else bench.rig
    links = bench.links
    if change.orders:
        links = links._replace(by_port={**links.by_port, **change.orders})
    feeds = {**bench.feeds, **change.feeds} if change.feeds else bench.feeds
    made = bench._replace(
        rig=rig,
        links=links,
        feeds=feeds,
        dials={**bench.dials, **change.dials} if change.dials else bench.dials,
        standing={**bench.standing, **change.standing} if change.standing else bench.standing,
        off=change.off,
        knocked=change.knocked,
        strange=change.strange,
        bearers=_bearers(bench, change.feeds) if change.feeds else bench.bearers,
    )
    learning = [key for key in touched(bench, change) if any(feed.input.learns for feed in feeds.get(key, ()))]
    if learning:
        again = {key: tuple(_learned(made, feed) for feed in feeds[key]) for key in learning}
        made = made._replace(feeds={**made.feeds, **again})
    return made


def _bearers(bench: Bench, feeds: Mapping[Function, tuple[Feed, ...]]) -> Bearers:
    """What bears on what where some functions have other feeds: only inputs of one unit bear on each other."""
    own = _index(bench).own
    made = dict(bench.bearers)
    for unit in dict.fromkeys(unit for unit, _ in feeds):
        for name in bench.rig.units[unit].model.inputs:
            made.pop((unit, name), None)
        keys = dict.fromkeys([*own.get(unit, ()), *(key for key in feeds if key[0] == unit)])
        flat = tuple(feed for key in keys for feed in feeds.get(key, bench.feeds.get(key, ())))
        made.update(bearers_of(flat))
    return made


def _learned(bench: Bench, feed: Feed) -> Feed:
    """A feed that takes what it hears at power-up as its zero."""
    if not feed.input.learns:
        return feed
    fresh = feed._replace(zero=ZERO)
    return feed._replace(zero=_heard(bench, fresh, bench.standing)[0])


# ---- what a mistake can reach ----------------------------------------------------------------------------------


class _Index(NamedTuple):
    """The functions of a bench by what they hang on; `own`: by their device, in order, `at`: by their device and by
    each that obeys them, `borne`: by a function that bears on them."""

    own: dict[str, list[Function]]
    at: dict[str, set[Function]]
    parts: dict[Part, set[Function]]
    channels: dict[Key, set[Function]]
    controls: dict[Key, set[Function]]
    handsets: dict[str, set[Function]]
    ports: dict[tuple[str, str], set[Function]]
    borne: dict[Function, set[Function]]


@once_a_rig
def _index(bench: Bench) -> _Index:
    """Every mistake asks the same bench, and each touches few of its functions."""
    index = _Index({}, {}, {}, {}, {}, {}, {}, {})

    def note(by: dict[Any, set[Function]], name: object, key: Function) -> None:
        by.setdefault(name, set()).add(key)

    for key, own in bench.feeds.items():
        index.own.setdefault(key[0], []).append(key)
        note(index.at, key[0], key)
        for feed in own:
            unit = bench.rig.units[feed.handset]
            channel = unit.channels[feed.channel]
            sources = [mix.source for mix in unit.mixes if mix.target == channel.name]
            note(index.handsets, feed.handset, key)
            for name in (channel.name, *sources):
                note(index.channels, (feed.handset, name), key)
            for control in contributors(unit, channel):
                note(index.controls, (feed.handset, control.name), key)
            for port in feed.input.sends:
                note(index.ports, (feed.unit, port), key)
            for order in bench.links.orders_of(feed):
                note(index.at, order.receiver, key)
    for key, needed in bench.parts.items():
        for part in needed:
            note(index.parts, part, key)
    for key, bearing in bench.bearers.items():
        for feed in bearing:
            note(index.borne, (feed.unit, feed.input.name), key)
    return index


def touched(bench: Bench, change: Change) -> set[Function]:
    """The functions that may be different after a change; all others are as planned."""
    index = _index(bench)
    channels: set[Key] = {*change.dials}
    devices = []
    for name, unit in change.units.items():
        if unit.role == "handset":
            channels |= _channels_changed(bench.rig.units[name], unit)
        else:
            devices.append(name)
    asked: list[tuple[Mapping[Any, set[Function]], Iterable[object]]] = [
        (index.at, devices),
        (index.ports, change.orders),
        (index.parts, change.off),
        (index.channels, channels),
        (index.controls, (*change.standing, *change.knocked)),
        (index.handsets, change.strange),
    ]
    found: set[Function] = set(change.feeds)
    for by, names in asked:
        found.update(*(by.get(name, ()) for name in names))
    fresh = found
    while fresh:
        fresh = {key for one in fresh for key in index.borne.get(one, ())} - found
        found |= fresh
    return found


def _channels_changed(old: Unit, new: Unit) -> set[Key]:
    found = {(old.name, name) for name, channel in new.channels.items() if channel != old.channels.get(name)}
    if old.mixes != new.mixes:
        found |= {
            (old.name, mix.target)
            for mix in {*old.mixes, *new.mixes}
            if mix not in old.mixes or mix not in new.mixes
        }
    return found


# ---- what is seen ----------------------------------------------------------------------------------------------


def sight(bench: Bench, key: Function, stands: Stands, heard_from: str = "") -> Sight | None:
    """What a function shows with its controls at `stands`, or None if it may show anything.

    `heard_from`: only a feed of this handset counts.
    """
    own = bench.feeds.get(key, ())
    if any(feed.handset in bench.strange for feed in own):
        return None
    if not own or _dead(bench, key):
        return _silent(bench, key)
    seen = [_read(bench, feed, stands) for feed in own if heard_from in ("", feed.handset)]
    return seen[0] if seen else NOTHING


def _dead(bench: Bench, key: Function) -> bool:
    return bool(bench.off) and not bench.off.isdisjoint(bench.parts.get(key, frozenset()))


def _silent(bench: Bench, key: Function) -> Sight:
    """What an input shows without pulses: its stated state, if it and those that obey it still have power."""
    feed = bench.wired.get(key)
    if feed is None or feed.input.silence is None or feed.input.sweep:
        return NOTHING
    if not bench.off.isdisjoint(bench.near.get(key, frozenset())):
        return NOTHING
    return _of_state(bench, feed, feed.input.silence, None)


def _read(bench: Bench, feed: Feed, stands: Stands) -> Sight:
    known = feed.input
    listener = bench.rig.units[feed.unit]
    ports = (*known.needs, *bench.rig.port(feed.plug).needs, *bench.rig.port(feed.pin).needs)
    if not _meets(listener, (*known.needs, *bench.rig.port(feed.plug).needs)):
        return NOTHING
    if ports and not _meets(bench.rig.units[feed.pin.unit], bench.rig.port(feed.pin).needs):
        return NOTHING
    value, exact = _heard(bench, feed, stands)
    if known.sweep is None:
        band = next((band for band in known.bands if band.holds(value)), None)
        return _of_state(bench, feed, band.name if band else "", value)
    share, held = _borne(bench, feed, stands)
    way = _way(feed, value, exact, ZERO if held else share)
    orders = bench.links.orders_of(feed)
    effects = _obeyed(bench, feed, way.state) if orders else ()
    sends = bool(orders) or (feed.unit, known.name) in bench.sending
    if sends and not effects and way.state != CENTRE:
        return NOTHING._replace(state=way.state, heard=value)
    slow = bench.rig.units[feed.handset].channels[feed.channel].shape.slow >= NOTICED_SLOW
    devices = tuple(dict.fromkeys(order.receiver for order in orders)) or (feed.unit,)
    return way._replace(slow=slow and bool(way.moved), devices=devices, effects=effects)


def _way(feed: Feed, value: Fraction, exact: Fraction, share: Fraction) -> Sight:
    """What something that moves shows at a level: what has a rest is seen to stand still or to creep."""
    sweep = feed.input.sweep
    assert sweep is not None
    end = way_to(sweep, value, exact)
    moved = part_of_way(sweep, value) * share * (-1 if end == sweep.first else 1)
    words: tuple[str, ...] = feed.unit, feed.input.name
    if sweep.reached is not None and abs(moved) * 100 >= sweep.reached:
        words = (*words, "end")
    if sweep.rest is None:
        return Sight("way", words, moved, devices=(feed.unit,), state=end, heard=value)
    still = not share or stands_still(sweep, value) or end == CENTRE
    if still:
        return Sight("way", (*words[:2], CENTRE), still=True, devices=(feed.unit,), state=CENTRE, heard=value)
    return Sight("way", (*words, end), moved, devices=(feed.unit,), state=end, heard=value)


def _of_state(bench: Bench, feed: Feed, state: str, value: Fraction | None) -> Sight:
    if not state:
        return NOTHING._replace(heard=value)
    if not bench.links.orders_of(feed):
        if (feed.unit, feed.input.name) in bench.sending:
            return NOTHING._replace(state=state, heard=value)
        return Sight(
            "state", (feed.unit, feed.input.name, state), devices=(feed.unit,), state=state, heard=value
        )
    effects = _obeyed(bench, feed, state)
    if not effects:
        return NOTHING._replace(state=state, heard=value)
    return Sight(
        kind="orders",
        words=tuple(part for done in effects for part in (done.unit, done.does or done.command)),
        devices=tuple(dict.fromkeys(done.unit for done in effects)),
        effects=effects,
        state=state,
        heard=value,
    )


def _obeyed(bench: Bench, feed: Feed, state: str) -> tuple[Effect, ...]:
    """The commands that follow from a state, without those whose unit lacks a setting for them."""
    found = []
    for done in effects_of(bench.rig, bench.links, feed, state):
        unit = bench.rig.units[done.unit]
        command = unit.commands.get(done.command)
        if command is None or not _meets(unit, command.needs):
            continue
        if command.does and not done.does:
            continue  # a key to which the menu gives nothing
        found.append(done)
    return tuple(found)


def _meets(unit: Unit, needs: Iterable[Need]) -> bool:
    """Whether the settings of a unit are those that something needs."""
    return all(
        need.value is None or (need.name in unit.settings and unit.settings[need.name].text == need.value)
        for need in needs
    )


def _heard(bench: Bench, feed: Feed, stands: Stands) -> tuple[Fraction, Fraction]:
    """The level that an input hears, and the one that it would hear if its line could carry every level."""
    unit = bench.rig.units[feed.handset]
    values: Values = {
        name: stands.get((unit.name, name), bench.standing[unit.name, name]) for name in unit.model.controls
    }
    channel = unit.channels[feed.channel]
    level = level_at(unit, channel, values, bench.dials).percent
    level += bench.knocked.get((unit.name, channel.control), ZERO)
    scale, shift = hearing(bench.rig, feed)
    return scale * carried(bench.rig, feed, level) + shift, scale * level + shift


def _borne(bench: Bench, feed: Feed, stands: Stands) -> tuple[Fraction, bool]:
    """How far other inputs of the unit limit an axis, and whether one holds it still."""
    share, held = Fraction(1), False
    for other in bench.bearers.get((feed.unit, feed.input.name), ()):
        key = other.unit, other.input.name
        if _dead(bench, key):
            continue
        level = _heard(bench, other, stands)[0]
        if other.input.sweep:
            share *= share_at(other.input.sweep, level)
        else:
            held = held or holds(other, level, feed.input.name)
    return share, held


def sight_on_loss(bench: Bench, key: Function, handset: str) -> Sight | None:
    """What a function does when the link of its handset is lost; None if nobody can tell.

    A failsafe that nobody set is a hold (common practice, no source). A function that is dead already shows nothing
    of a loss.
    """
    own = [feed for feed in bench.feeds.get(key, ()) if feed.handset == handset]
    if not own:
        return NOTHING._replace(kind="other") if bench.feeds.get(key) else None
    if handset in bench.strange or _dead(bench, key):
        return None
    (feed, *_) = own
    known = feed.input
    if held_on_loss(bench, feed):
        return Sight("way", (feed.unit, known.name, CENTRE), still=True)
    failsafe = bench.rig.units[handset].channels[feed.channel].failsafe
    if isinstance(failsafe, Fraction):
        return _at_level(bench, feed, failsafe)
    if failsafe == "none":
        if known.silence is None:
            return None
        return (
            Sight("way", (feed.unit, known.name, known.silence))
            if known.sweep
            else _of_state(bench, feed, known.silence, None)
        )
    return Sight("hold", (feed.unit, known.name))


def _at_level(bench: Bench, feed: Feed, level: Fraction) -> Sight:
    scale, shift = hearing(bench.rig, feed)
    value, exact = scale * carried(bench.rig, feed, level) + shift, scale * level + shift
    if feed.input.sweep is None:
        band = next((band for band in feed.input.bands if band.holds(value)), None)
        return _of_state(bench, feed, band.name if band else "", value)
    return _way(feed, value, exact, Fraction(1))


def held_on_loss(bench: Bench, feed: Feed) -> bool:
    """Whether a mode of the same unit, in its state on loss, holds an input still."""
    for mode in bench.bearers.get((feed.unit, feed.input.name), ()):
        failsafe = bench.rig.units[mode.handset].channels[mode.channel].failsafe
        same = (mode.handset, mode.pin.unit) == (
            feed.handset,
            feed.pin.unit,
        )  # else it may still hear its handset
        if mode.input.sweep or not isinstance(failsafe, Fraction) or not same:
            continue
        scale, shift = hearing(bench.rig, mode)
        if holds(mode, scale * carried(bench.rig, mode, failsafe) + shift, feed.input.name):
            return True
    return False


def alike(seen: Sight, other: Sight, home: Sight) -> bool:
    """Whether two sights look the same. What shows nothing looks as it does at rest (`home`)."""
    first, second = (home if one.kind == "nothing" else one for one in (seen, other))
    if first.kind == "nothing" or second.kind == "nothing":
        return first.kind == second.kind
    if first.kind != second.kind or first.slow != second.slow:
        return False
    if first.kind != "way":
        return first.words == second.words
    return first.words == second.words and abs(first.moved - second.moved) < NOTICED
