"""What to dial into every channel: stated values as they are, `auto` values by the search in `auto`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from rigcard.diagnostics import Diagnostics
from rigcard.resolve.links import Feed, Links
from rigcard.resolve.model import Channel, Expectation, Position, Rate, Rig, Travel, Unit
from rigcard.solve import codes
from rigcard.solve.arithmetic import Dial
from rigcard.solve.auto import Constraint, Found, find, margin, ranked
from rigcard.solve.levels import Dials, level_at, mixes_into, own_value, parts_into, read
from rigcard.solve.power_up import neutral_position
from rigcard.solve.solved import Solution, Values
from rigcard.solve.targets import Target, targets
from rigcard.words import listed, percent, steps

Key = tuple[str, str]
MOST_ROUNDS = 6  # for channels that are mixed into each other
RATES = tuple(Rate(Fraction(rate), Fraction(rate)) for rate in range(-100, 101))  # tried for a mix `at auto`


class Goal(NamedTuple):
    """A position with what it must give. `exact`: a level to come as near to as can be, not a band."""

    control: str
    position: str
    values: tuple[tuple[str, str], ...]
    want: Constraint
    exact: bool


def dial_all(
    rig: Rig, links: Links, standing: Mapping[Key, Position], diagnostics: Diagnostics
) -> tuple[Rig, Dials, dict[Key, Solution]]:
    """All dials of a rig, and the rig with the rates of its mixes found.

    `standing` is where other controls stand while one is moved; those it lacks stand at ease.
    """
    dials = {
        (unit.name, channel.name): _stated(unit, channel)
        for unit in rig.units.values()
        for channel in unit.channels.values()
    }
    solutions: dict[Key, Solution] = {}
    units = dict(rig.units)
    expected: dict[str, list[Expectation]] = {}
    for expectation in rig.expectations:
        expected.setdefault(expectation.handset, []).append(expectation)
    for name, unit in rig.units.items():
        if not unit.channels:
            continue
        own = rig._replace(expectations=tuple(expected.get(name, ())))
        order = _sources_first(unit)
        for _ in range(MOST_ROUNDS):
            said = Diagnostics()
            units[name] = unit  # rates that are open are sought anew with what is dialled by now
            before = [dials[name, channel.name] for channel in order]
            for channel in order:
                units[name] = _dial(own, links, units[name], channel, dials, solutions, standing, said)
            if before == [dials[name, channel.name] for channel in order] or not _go_round(unit, order):
                break
        else:  # what is best for one moves the other, without end: all that is told is of the last values
            for channel in order:
                if (name, channel.name) in solutions:
                    wishes = _goals(own, links, units[name], channel, dials, standing)
                    margins = _margins(unit, wishes, dials[name, channel.name])
                    solutions[name, channel.name] = _solution(wishes, margins, unique=False)
        for found in said:
            diagnostics.add(found)
    return rig._replace(units=units), dials, solutions


def _go_round(unit: Unit, order: list[Channel]) -> bool:
    """Whether channels are mixed into each other after travel, so that the dial of each bears on the other."""
    assert unit.model.arithmetic is not None
    place = {channel.name: number for number, channel in enumerate(order)}
    return unit.model.arithmetic.mix == "after-travel" and any(
        place[mix.source] >= place[mix.target] for mix in unit.mixes
    )


def _margins(unit: Unit, wishes: list[Goal], dial: Dial) -> list[Fraction]:
    """How a dial does that was chosen for somewhat other values of the channels mixed in."""
    assert unit.model.arithmetic is not None
    return [margin(unit.model.arithmetic, dial, wish.want) for wish in wishes]


def _solution(wishes: list[Goal], margins: Sequence[Fraction], unique: bool) -> Solution:
    """What is told of a dial: only bands have a margin to spare."""
    bands = [found for wish, found in zip(wishes, margins, strict=True) if not wish.exact]
    return Solution(min(bands) if bands else None, unique)


def _stated(unit: Unit, channel: Channel) -> Dial:
    """What the file says of a channel; for what it leaves open, what a blank memory has."""
    assert unit.model.arithmetic is not None
    full = min(Fraction(100), unit.model.arithmetic.travel_high)
    return Dial(channel.travel or Travel(full, full), channel.subtrim or 0, bool(channel.reversed))


def _sources_first(unit: Unit) -> list[Channel]:
    """Channels in an order in which a mix's source is known before its target, as far as mixes do not go round."""
    order: list[Channel] = []
    seen: set[str] = set()

    def add(channel: Channel) -> None:
        if channel.name in seen:
            return
        seen.add(channel.name)
        for mix in mixes_into(unit, channel.name):
            add(unit.channels[mix.source])
        order.append(channel)

    for channel in unit.channels.values():
        add(channel)
    return order


def _dial(
    rig: Rig,
    links: Links,
    unit: Unit,
    channel: Channel,
    dials: Dials,
    solutions: dict[Key, Solution],
    standing: Mapping[Key, Position],
    diagnostics: Diagnostics,
) -> Unit:
    """Dial one channel; returns its handset, with the rate of a mix into the channel found.

    The rig has the expectations of this handset alone.
    """
    arithmetic = unit.model.arithmetic
    assert arithmetic is not None
    key = (unit.name, channel.name)
    open_rate = any(mix.rate is None for mix in mixes_into(unit, channel.name))
    if None not in (channel.travel, channel.subtrim, channel.reversed) and not open_rate:
        return unit
    best: _Choice | None = None
    for tried in _with_rates(unit, channel) if open_rate else [unit]:
        wishes = _goals(rig, links, tried, channel, dials, standing)
        if not wishes:
            _report_nothing(unit, channel, diagnostics)
            return tried
        wants = [wish.want for wish in wishes]
        found = find(arithmetic, channel, wants, best.ranks[0][1] if best else None)
        choice = found and _Choice(tried, wishes, found, ranked(wants, found.margins))
        if choice and (best is None or _better(choice, best)):
            best = choice
    assert best is not None
    chosen, wishes, found, _ = best
    dials[key] = found.dial
    solutions[key] = _solution(wishes, found.margins, found.unique)
    _report_misses(rig, links, chosen, channel, dials, wishes, found, diagnostics)
    return chosen


def _with_rates(unit: Unit, channel: Channel) -> list[Unit]:
    """The handset with each rate for its open mixes into a channel; several open mixes get the same rate."""
    return [
        unit._replace(
            mixes=tuple(
                mix._replace(rate=rate) if mix.target == channel.name and mix.rate is None else mix
                for mix in unit.mixes
            )
        )
        for rate in RATES
    ]


class _Choice(NamedTuple):
    """What one rate of the mixes that are open makes possible."""

    unit: Unit
    wishes: list[Goal]
    found: Found
    ranks: list[tuple[bool, Fraction]]


def _better(one: _Choice, other: _Choice) -> bool:
    """Larger margins; among equals the rounder, then the smaller, then the positive rate."""
    if one.ranks != other.ranks:
        return one.ranks > other.ranks
    return _rate_cost(one.unit) < _rate_cost(other.unit)


def _rate_cost(unit: Unit) -> tuple[int, Fraction, int]:
    rates = [mix.rate.high for mix in unit.mixes if mix.rate]
    sizes = [abs(rate) for rate in rates]
    return sum(size % 5 != 0 for size in sizes), sum(sizes, Fraction(0)), sum(rate < 0 for rate in rates)


# ---- wishes ----------------------------------------------------------------------------------------------------


def _goals(
    rig: Rig, links: Links, unit: Unit, channel: Channel, dials: Dials, standing: Mapping[Key, Position]
) -> list[Goal]:
    """What this channel must fulfil: its aims, and each expectation that comes true over it."""
    ease: Values = {
        control.name: standing.get((unit.name, control.name), neutral_position(control))
        for control in unit.model.controls.values()
    }
    wishes: list[Goal] = []
    for aim in channel.aims:
        values = {**ease, channel.control: aim.position}
        parts = parts_into(unit, channel, values, dials)
        want = Constraint(
            own_value(channel, values), parts, aim.level, aim.level, Fraction(1), Fraction(0), False
        )
        wishes.append(Goal(channel.control, aim.position.name, _places(values), want, True))
    aimed = {(channel.control, aim.position.name) for aim in channel.aims}
    for expectation in rig.expectations:
        place = (expectation.control, expectation.position.name)
        if place in aimed:
            continue
        values = {**ease, expectation.control: expectation.position}
        for target in targets(rig, links, expectation):
            if target.feed.channel == channel.name:
                want = _constraint(rig, unit, channel, values, target, dials)
                wishes.append(Goal(*place, _places(values), want, target.band is None))
    return list(dict.fromkeys(wishes))


def _places(values: Values) -> tuple[tuple[str, str], ...]:
    return tuple((control, position.name) for control, position in values.items())


def _constraint(
    rig: Rig, unit: Unit, channel: Channel, values: Values, target: Target, dials: Dials
) -> Constraint:
    feed = target.feed
    if target.band:
        low, high = target.band.low, target.band.high
    else:
        sweep = feed.input.sweep
        assert sweep is not None
        low = high = sweep.low if target.end == sweep.first else sweep.high
    scale, shift = _heard_scale(rig, unit, feed)
    parts = parts_into(unit, channel, values, dials)
    turned = feed.turned != feed.flipped
    return Constraint(
        own_value(channel, values), parts, low, high, scale, shift, turned, target.band is not None
    )


def _heard_scale(rig: Rig, unit: Unit, feed: Feed) -> tuple[Fraction, Fraction]:
    """heard = scale x sent + shift, where the listener declares a pulse relation of its own."""
    sender, listener = unit.model.arithmetic, rig.units[feed.unit].model.pulse
    assert sender is not None
    if listener is None or rig.signal_at(feed.plug).kind != "servo":
        return Fraction(1), Fraction(0)
    return (
        sender.pulse.per_percent / listener.per_percent,
        (sender.pulse.centre - listener.centre) / listener.per_percent,
    )


# ---- what cannot be ----------------------------------------------------------------------------------------------


def _report_nothing(unit: Unit, channel: Channel, diagnostics: Diagnostics) -> None:
    first = unit.model.controls[channel.control].positions[0].name
    diagnostics.report(
        codes.NOTHING_TO_SOLVE,
        channel.span,
        f"channel `{channel.name}` has `auto`, and no `expect` or `aims` says what its control should give",
        f"write `expect {unit.name}.{channel.control}.{first} gives UNIT.STATE`, or state the values",
    )


def _report_misses(
    rig: Rig,
    links: Links,
    unit: Unit,
    channel: Channel,
    dials: Dials,
    wishes: list[Goal],
    found: Found,
    diagnostics: Diagnostics,
) -> None:
    """Say which wish cannot be had, what the nearest is, and how the listener reads it."""
    arithmetic = unit.model.arithmetic
    assert arithmetic is not None
    rounding = max(arithmetic.travel_step, arithmetic.subtrim_step)
    aimed = {(channel.control, aim.position.name) for aim in channel.aims}
    missed = [
        (-margin, wish)
        for wish, margin in zip(wishes, found.margins, strict=True)
        if (not wish.exact and margin < 0) or ((wish.control, wish.position) in aimed and -margin > rounding)
    ]
    if not missed:  # the end of a sweep that is only expected need not be reached
        return
    miss, wish = max(missed, key=lambda one: one[0])
    positions = {name: unit.model.controls[name].position(place) for name, place in wish.values}
    values = {name: position for name, position in positions.items() if position}
    level = level_at(unit, channel, values, dials).percent
    readings = [read(rig, links, feed, level) for feed in links.feeds_of(unit.name, channel.name)]
    lands = listed(
        [
            f"`{reading.feed.unit}` reads as `{reading.state}`"
            if reading.state
            else f"lies outside every band of `{reading.feed.unit}`"
            for reading in readings
        ]
        or ["nothing hears"]
    )
    want = wish.want
    goal = percent(want.low) if want.low == want.high else f"{percent(want.low)} to {percent(want.high)}"
    dial = found.dial
    diagnostics.report(
        codes.OUT_OF_REACH,
        channel.span,
        f"no value of the handset brings `{wish.control}.{wish.position}` to {goal}; the nearest is {percent(level)} "
        f"with travel {percent(dial.travel.low)} / {percent(dial.travel.high)} and sub-trim {steps(dial.subtrim)}, "
        f"{percent(miss)} off, which {lands}",
        "wish for a level that can be reached, widen the band at the listener, or use another control",
    )
