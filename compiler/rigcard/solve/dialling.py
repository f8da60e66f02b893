"""The values to dial into every channel: stated values unchanged, `auto` values from the search in `auto`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from rigcard.diagnostics import Diagnostics
from rigcard.resolve.links import Links
from rigcard.resolve.model import Channel, Expectation, Position, Rate, Rig, Travel, Unit
from rigcard.solve import codes
from rigcard.solve.arithmetic import Dial
from rigcard.solve.auto import Found, search
from rigcard.solve.levels import Dials, level_at, mixes_into, read
from rigcard.solve.solved import Solution
from rigcard.solve.unwished import is_asked, report_given_up, report_nothing, report_unasked_rate
from rigcard.solve.wants import Variant, is_met, margin
from rigcard.solve.wishes import Goal, Wished, conditions, goals, started_at, wished
from rigcard.words import listed, percent, steps

Key = tuple[str, str]
MOST_ROUNDS = 6  # for channels that are mixed into each other
RATES = tuple(Rate(Fraction(rate), Fraction(rate)) for rate in range(-100, 101))  # to try for a mix `at auto`


def dial_all(
    rig: Rig, links: Links, standing: Mapping[Key, Position], diagnostics: Diagnostics
) -> tuple[Rig, Dials, dict[Key, Solution]]:
    """All dials of a rig, and the rig with computed rates for its mixes.

    `standing` gives the positions of the other controls while one moves; a missing control is in its neutral
    position.
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
        asked = wished(rig, links, standing, expected.get(name, ()))
        order = sources_first(unit)
        for _ in range(MOST_ROUNDS):
            said = Diagnostics()
            units[name] = unit  # find the open rates again with the current dials
            before = [dials[name, channel.name] for channel in order]
            for channel in order:
                units[name] = _dial(asked, units[name], channel, dials, solutions, said)
            if before == [dials[name, channel.name] for channel in order] or not _go_round(asked, unit, order):
                break
        else:  # the channels keep moving each other: report on the last values
            for channel in order:
                if (name, channel.name) in solutions:
                    wishes = goals(asked, units[name], channel, dials)
                    margins = _margins(unit, wishes, dials[name, channel.name])
                    solutions[name, channel.name] = _solution(wishes, margins, unique=False)
        for found in said:
            diagnostics.add(found)
    return rig._replace(units=units), dials, solutions


def _go_round(asked: Wished, unit: Unit, order: list[Channel]) -> bool:
    """Whether a dial depends on one found later: of channels mixed into each other after travel, or of its own zero."""
    assert unit.model.arithmetic is not None
    if any(feed.input.learns for feed in asked.links.feeds_from(unit.name)):
        return True
    place = {channel.name: number for number, channel in enumerate(order)}
    return unit.model.arithmetic.mix == "after-travel" and any(
        place[mix.source] >= place[mix.target] for mix in unit.mixes
    )


def _margins(unit: Unit, wishes: list[Goal], dial: Dial) -> list[Fraction]:
    """The margins of a dial that was chosen while the mixed-in channels had slightly different values."""
    assert unit.model.arithmetic is not None
    return [margin(unit.model.arithmetic, dial, wish.want) for wish in wishes]


def _solution(wishes: list[Goal], margins: Sequence[Fraction], unique: bool) -> Solution:
    """The report on a dial: only bands have headroom."""
    bands = [found for wish, found in zip(wishes, margins, strict=True) if not wish.exact]
    return Solution(min(bands) if bands else None, unique)


def _stated(unit: Unit, channel: Channel) -> Dial:
    """The values that the file states for a channel; the rest are those of a blank memory."""
    assert unit.model.arithmetic is not None
    full = min(Fraction(100), unit.model.arithmetic.travel_high)
    return Dial(channel.travel or Travel(full, full), channel.subtrim or 0, bool(channel.reversed))


def sources_first(unit: Unit) -> list[Channel]:
    """The channels sorted so that a mix's source comes before its target, unless the mixes form a cycle."""
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
    asked: Wished,
    unit: Unit,
    channel: Channel,
    dials: Dials,
    solutions: dict[Key, Solution],
    diagnostics: Diagnostics,
) -> Unit:
    """Dial one channel; returns its handset with the computed rate of a mix into the channel."""
    arithmetic = unit.model.arithmetic
    assert arithmetic is not None
    key = (unit.name, channel.name)
    open_mixes = [mix for mix in mixes_into(unit, channel.name) if mix.rate is None]
    if None not in (channel.travel, channel.subtrim, channel.reversed) and not open_mixes:
        return unit
    tried = _with_rates(unit, channel) if open_mixes else [unit]
    wishes = goals(asked, tried[0], channel, dials)
    if not wishes:
        report_nothing(asked, unit, channel, diagnostics)
        return tried[0]
    unasked = [mix for mix in open_mixes if not is_asked(asked, unit, channel, mix)]
    if unasked:
        for mix in unasked:
            report_unasked_rate(asked, unit, mix, diagnostics)
        return tried[0]
    chosen, asked, found = _search(asked, tried, channel, dials)
    wishes = goals(asked, chosen, channel, dials)
    dials[key] = found.dial
    solutions[key] = _solution(wishes, found.margins, found.unique)
    if not found.exact:
        report_given_up(unit, channel, open_mixes, found, diagnostics)
    _report_misses(asked, chosen, channel, dials, wishes, found, diagnostics)
    return chosen


def _search(asked: Wished, tried: list[Unit], channel: Channel, dials: Dials) -> tuple[Unit, Wished, Found]:
    """The best values over several rates of a handset's mixes and several power-up positions of its control."""
    starts = started_at(asked, tried[0], channel)
    if len(tried) > 1 and len(starts) > 1:  # with many rates, one usually works without moving the control
        best, met = _best_of(starts[:1], tried, channel, dials)
        if met:
            return best
    return _best_of(starts, tried, channel, dials)[0]


def _best_of(
    starts: list[Wished], tried: list[Unit], channel: Channel, dials: Dials
) -> tuple[tuple[Unit, Wished, Found], bool]:
    """The best values over rates and power-up positions, and whether they meet everything."""
    arithmetic = tried[0].model.arithmetic
    assert arithmetic is not None
    chances = [(number, start) for number in range(len(tried)) for start in starts]
    variants = tuple(
        Variant(
            wants=tuple(goal.want for goal in goals(start, tried[number], channel, dials)),
            conditions=conditions(start, tried[number], channel, dials),
            cost=_rate_cost(tried[number]),
            kin=number,
        )
        for number, start in chances
    )
    found = search(arithmetic, channel.travel, channel.subtrim, channel.reversed, variants)
    assert found is not None
    number, start = chances[found.variant]
    return (tried[number], start, found), is_met(arithmetic, found.dial, variants[found.variant])


def _with_rates(unit: Unit, channel: Channel) -> list[Unit]:
    """The handset with each rate to try for its open mixes into a channel; several get the same rate."""
    return [
        unit._replace(
            mixes=tuple(
                mix._replace(rate=rate) if mix.target == channel.name and mix.rate is None else mix
                for mix in unit.mixes
            )
        )
        for rate in RATES
    ]


def _rate_cost(unit: Unit) -> tuple[Fraction, ...]:
    """The tie-break between rates: the rounder, then the smaller, then the positive one."""
    rates = [mix.rate.high for mix in unit.mixes if mix.rate]
    sizes = [abs(rate) for rate in rates]
    unround, negative = sum(size % 5 != 0 for size in sizes), sum(rate < 0 for rate in rates)
    return Fraction(unround), sum(sizes, Fraction(0)), Fraction(negative)


# ---- goals that cannot be met --------------------------------------------------------------------------------


def _report_misses(
    asked: Wished,
    unit: Unit,
    channel: Channel,
    dials: Dials,
    wishes: list[Goal],
    found: Found,
    diagnostics: Diagnostics,
) -> None:
    """Report a goal that cannot be met, the nearest level to it, and how the listener reads that level."""
    arithmetic = unit.model.arithmetic
    assert arithmetic is not None
    rounding = max(arithmetic.travel_step, arithmetic.subtrim_step)
    aimed = {(channel.control, aim.position.name) for aim in channel.aims}
    missed = [
        (-margin, wish)
        for wish, margin in zip(wishes, found.margins, strict=True)
        if (not wish.exact and margin < 0) or ((wish.control, wish.position) in aimed and -margin > rounding)
    ]
    if not missed:  # a sweep need not reach an end that is only expected
        return
    miss, wish = max(missed, key=lambda one: one[0])
    positions = {name: unit.model.controls[name].position(place) for name, place in wish.values}
    values = {name: position for name, position in positions.items() if position}
    level = level_at(unit, channel, values, dials).percent
    readings = [
        read(asked.rig, asked.links, feed, level) for feed in asked.links.feeds_of(unit.name, channel.name)
    ]
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
    sources = {unit.channels[mix.source].control for mix in mixes_into(unit, channel.name)}
    if wish.control not in {channel.control, *sources}:
        diagnostics.report(
            codes.OUT_OF_REACH,
            channel.span,
            f"`{wish.control}.{wish.position}` cannot be brought to {goal}: channel `{channel.name}` is moved by "
            f"`{channel.control}`, and `{wish.control}` only switches a mix into it",
            f"write `from {wish.control}` on channel `{channel.name}`, or name the control that moves it in the "
            "expectation",
        )
        return
    dial = found.dial
    nothing = "no value of the handset" if found.exact else "no value was found that"
    diagnostics.report(
        codes.OUT_OF_REACH,
        channel.span,
        f"{nothing} brings `{wish.control}.{wish.position}` to {goal}; the nearest is {percent(level)} "
        f"with travel {percent(dial.travel.low)} / {percent(dial.travel.high)} and sub-trim {steps(dial.subtrim)}, "
        f"{percent(miss)} off, which {lands}",
        "wish for a level that can be reached, widen the band at the listener, or use another control",
    )
