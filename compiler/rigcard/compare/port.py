"""The same from another handset: the values to dial into it, and what it cannot reach.

At a pin the pulses must stay as they were; on a line that carries levels as numbers, the levels.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from rigcard.compare.facts import Facts
from rigcard.resolve.model import SERVO, Channel, Position, Unit
from rigcard.solve.arithmetic import Dial, channel_level
from rigcard.solve.auto import find
from rigcard.solve.dialling import sources_first
from rigcard.solve.levels import Dials, own_value, parts_into
from rigcard.solve.solved import Solved
from rigcard.solve.wants import Constraint


class Missed(NamedTuple):
    """What the handset cannot send: where the control stands, what is wanted there and the nearest to it.

    Both are pulses in us or, `as_level`, levels in per cent. `nearest` is None if it has no such position.
    """

    control: str
    position: str
    wanted: Fraction
    nearest: Fraction | None
    as_level: bool


class PortedChannel(NamedTuple):
    """One channel: its values for the same pulses as before, whether the file has pulses like that, and the rest.

    `dial` is None if the handset has no such channel, or nothing to bring about there.
    """

    channel: str
    dial: Dial | None
    same: bool
    missed: tuple[Missed, ...]


class Port(NamedTuple):
    """A handset whose model is another one now."""

    handset: str
    channels: tuple[PortedChannel, ...]


class _Wish(NamedTuple):
    """A row of the old handset: where controls stood, what it sent, and the same positions on the new one."""

    control: str
    position: str
    wanted: Fraction
    values: dict[str, Position] | None


def ports_of(old: Facts, new: Facts, solved: Solved) -> tuple[Port, ...]:
    """Return the values for each handset that is of another model now; `solved` is the new revision."""
    return tuple(
        _port(old, new, solved, name)
        for name, unit in new.units.items()
        if unit.role == "handset" and name in old.units and old.units[name].model != unit.model
    )


def _port(old: Facts, new: Facts, solved: Solved, name: str) -> Port:
    unit = solved.rig.units[name]
    dials = {key: result.dial for key, result in solved.results.items()}
    found: dict[str, PortedChannel] = {}
    for channel in sources_first(unit):  # what a mix adds depends on the travel of its source
        if (name, channel.name) in old.dials:
            found[channel.name] = _channel(old, new, solved, unit, channel, dials)
    kept = [channel for handset, channel in old.dials if handset == name]
    gone = PortedChannel("", None, False, ())
    return Port(name, tuple(found.get(channel, gone._replace(channel=channel)) for channel in kept))


def _channel(
    old: Facts, new: Facts, solved: Solved, unit: Unit, channel: Channel, dials: Dials
) -> PortedChannel:
    arithmetic = unit.model.arithmetic
    assert arithmetic is not None
    key = unit.name, channel.name
    as_level = _is_coded(solved, key)
    scale = Fraction(1) if as_level else arithmetic.pulse.per_percent
    centre = Fraction(0) if as_level else arithmetic.pulse.centre
    wishes = [
        _wish(old, solved, unit, channel, at, sent.level if as_level else sent.pulse)
        for at, sent in old.sent.items()
        if at[:2] == key
    ]
    lost = tuple(
        Missed(wish.control, wish.position, wish.wanted, None, as_level) for wish in wishes if not wish.values
    )
    wants = []
    for wish in wishes:
        if wish.values:
            level = (wish.wanted - centre) / scale
            own, parts = own_value(channel, wish.values), parts_into(unit, channel, wish.values, dials)
            wants.append((wish, Constraint(own, parts, level, level, Fraction(1), Fraction(0), False)))
    free = channel._replace(travel=None, subtrim=None, reversed=None)
    best = find(arithmetic, free, [want for _, want in wants]) if wants else None
    if best is None:
        return PortedChannel(channel.name, None, False, lost)
    dials[key] = best.dial
    step = max(arithmetic.travel_step, arithmetic.subtrim_step) * scale
    stated = solved.results[key].dial
    missed, same = [], not lost
    for wish, want in wants:
        nearest, now = (
            centre + scale * channel_level(arithmetic, dial, want.own, want.parts).percent
            for dial in (best.dial, stated)
        )
        if abs(nearest - wish.wanted) > step:
            missed.append(Missed(wish.control, wish.position, wish.wanted, nearest, as_level))
        same = same and abs(now - wish.wanted) <= step
    return PortedChannel(channel.name, best.dial, same, (*missed, *lost))


def _is_coded(solved: Solved, key: tuple[str, str]) -> bool:
    """Whether a channel leaves only over lines that carry levels as numbers: there no pulse matters."""
    feeds = solved.links.feeds_of(*key)
    return bool(feeds) and all(solved.rig.signal_at(feed.pin).kind != SERVO for feed in feeds)


def _wish(
    old: Facts, solved: Solved, unit: Unit, channel: Channel, at: tuple[str, ...], wanted: Fraction
) -> _Wish:
    """Return a row of the old handset with its positions on the new one; the channel's own control may be another."""
    control, position, *others = at[2:]
    own = old.dials[unit.name, channel.name].control
    values = {name: solved.power_up_positions[unit.name, name] for name in unit.model.controls}
    for name, place in ((control, position), *(other.rsplit(".", 1) for other in others)):
        here = unit.model.controls.get(channel.control if name == own else name)
        stands = here.position(place) if here else None
        if here is None or stands is None:
            return _Wish(control, position, wanted, None)
        values[here.name] = stands
    return _Wish(control, position, wanted, values)
