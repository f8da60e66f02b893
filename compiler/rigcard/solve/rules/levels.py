"""Claims on levels: bands, rest, limits."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.links import Feed
from rigcard.resolve.model import Band, Position, Rig
from rigcard.solve.claims import Proof, claim
from rigcard.solve.levels import contributors, heard, level_at, reach, trim_throw
from rigcard.solve.power_up import all_tried, rests_alone
from rigcard.solve.rules.expectations import band_range, heard_as, miss
from rigcard.solve.solved import ChannelResult, Reading, Row
from rigcard.solve.targets import targets
from rigcard.words import MINUS, listed, microseconds, percent, signed_percent


def _position(row: Row) -> str:
    """A position as messages name it, with where other controls stand meanwhile."""
    places = ((row.control, row.position), *row.conditions)
    return " with ".join(f"`{control}.{position.name}`" for control, position in places)


@claim("RC412", Severity.ERROR)
def level_outside_bands(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a position of a switch whose level lies in no band of an input.
    Why: nobody knows what a device does between its bands; it may hold, guess or stop.
    Bad: a switch at +-90 % into bands that end at -60 % and begin at 60 %, with 0 % in the middle unclaimed
    Good: a band for every position, or travel and sub-trim that put each level inside one
    """
    expected = _expected(proof)
    for result, row, reading in _readings(proof):
        known = (reading.feed, _place(row)) in expected or reading.feed in proof.restless
        if reading.band or not reading.feed.input.bands or known or row.level.clipped:
            continue
        bands = listed([band_range(band) for band in reading.feed.input.bands])
        yield Finding(
            proof.solved.rig.units[result.handset].channels[result.name].span,
            f"{_position(row)} gives {heard_as(reading)} at `{reading.feed.input.name}` of "
            f"`{reading.feed.unit}`, outside every band",
            f"change travel, sub-trim or mix so that it lands in one of them: {bands}",
            (Related(reading.feed.input.span, "the bands"),),
        )


Place = tuple[str, Position, frozenset[tuple[str, Position]]]  # control, position, conditions


def _place(row: Row) -> Place:
    return row.control, row.position, frozenset(row.conditions)


def _expected(proof: Proof) -> set[tuple[Feed, Place]]:
    """Inputs and positions that an expectation speaks of: if they miss, that is reported there."""
    rig, links, found = proof.solved.rig, proof.solved.links, set()
    for wish in rig.expectations:
        handset = rig.units[wish.handset]
        for target in targets(rig, links, wish):
            bearing = {one.name for one in contributors(handset, handset.channels[target.feed.channel])}
            moved = (
                (name, place)
                for name, place in wish.conditions
                if name in bearing and proof.solved.power_up_positions[wish.handset, name] != place
            )
            found.add((target.feed, (wish.control, wish.position, frozenset(moved))))
    return found


def _readings(proof: Proof) -> Iterator[tuple[ChannelResult, Row, Reading]]:
    for result in proof.solved.results.values():
        for row in result.rows:
            for reading in row.readings:
                yield result, row, reading


@claim("RC413", Severity.ERROR)
def no_rest_position(proof: Proof) -> Iterator[Finding]:
    """
    Reports: an input that must see rest at power-up, although no position of its controls gives rest.
    Why: the adapter locks up, or a key is held down from the first second.
    Bad: ready -30%..30% rest, fed by a two-position switch at +-90 %
    Good: the same input fed by a three-position switch, whose middle gives 0 %
    """
    rig = proof.solved.rig
    for feed in proof.restless:
        handset = rig.units[feed.handset]
        channel = handset.channels[feed.channel]
        sweep = feed.input.sweep
        rests = [band_range(band) for band in feed.input.bands if band.rest]
        wanted = f"{percent(sweep.rest)}" if sweep and sweep.rest is not None else " or ".join(rests)
        others = restless_together(proof, feed)
        together = [f"`{other.input.name}` of `{other.unit}`" for other in others]
        found = "gives that" if all_tried(handset, [feed, *others]) else "was found that gives that"
        why = f"no position of `{channel.control}` {found}"
        if handset.model.controls[channel.control].springs:
            why = f"`{channel.control}`, which springs back, does not rest there"
        if together:
            why = f"no position {found} and the rest of {listed(together)} as well"
        yield Finding(
            channel.span,
            f"`{feed.input.name}` of `{feed.unit}` must see {wanted} at power-up, and {why}",
            "change travel or sub-trim, or use a control that has such a position",
            (Related(feed.input.span, "the input"),),
        )


def restless_together(proof: Proof, feed: Feed) -> list[Feed]:
    """The other inputs that fail with this one and share its controls, if each of them alone could rest."""
    rig = proof.solved.rig
    handset = rig.units[feed.handset]
    own = contributors(handset, handset.channels[feed.channel])
    if rests_alone(rig, handset, feed, proof.solved.power_up_positions, proof.dials):
        return [
            other
            for other in proof.restless
            if other != feed
            and other.handset == feed.handset
            and any(control in own for control in contributors(handset, handset.channels[other.channel]))
        ]
    return []


@claim("RC414", Severity.WARNING)
def level_clipped(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a position whose level the handset cuts off at its output limit.
    Why: two positions may give the same level, and the level on the card is not the sum of the dialled values.
    Bad: travel 65% / 120% subtrim 60, on a handset where 80 steps are 12 %, with output -125%..125%
    Good: travel 65% / 115% subtrim 60
    """
    for result in proof.solved.results.values():
        for row in result.rows:
            if row.level.clipped:
                yield Finding(
                    proof.solved.rig.units[result.handset].channels[result.name].span,
                    f"{_position(row)} asks for {percent(row.level.wanted)}, and the handset "
                    f"stops at {percent(row.level.percent)}",
                    "take travel or sub-trim back by the difference",
                )


@claim("RC415", Severity.WARNING)
def margin_below_guard(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a level nearer to the edge of its band than the rig's `guard`; without one, a level on the edge itself,
        unless the handset cannot go beyond it.
    Why: a knocked trim, a cold handset or another receiver moves the level and changes the state. Where the handset has trim levers, the margin is counted after one throw of a trim.
    Bad: guard 5%, and a level of 52 % in a band that begins at 50 %
    Good: guard 5%, and the level at 64 %
    """
    rig = proof.solved.rig
    told: set[tuple[str, str]] = set()  # one message a channel, for its smallest margin
    for left, key, places, reading in sorted(_margins(proof), key=lambda item: item[0]):
        if (left >= rig.guard and not _on_edge(rig, left, reading)) or key in told or reading.either:
            continue
        told.add(key)
        assert reading.band is not None
        throw = reading.margin - left if reading.margin is not None else Fraction(0)
        yield Finding(
            rig.units[key[0]].channels[key[1]].span,
            f"{places} gives {heard_as(reading)}, {_inside(left + throw)} "
            f"`{reading.band.name}` ({percent(reading.band.low)} to {percent(reading.band.high)})"
            f"{f', and one throw of a trim is {percent(throw)}' if throw else ''}; "
            f"{f'the guard is {percent(rig.guard)}' if rig.guard else 'a pulse that is a little off leaves it'}",
            "move the level with travel or sub-trim, or use `auto`",
            (Related(reading.band.span, "the band"),),
        )


def _inside(margin: Fraction) -> str:
    return f"{percent(margin)} inside" if margin else "just on the edge of"


def _on_edge(rig: Rig, left: Fraction, reading: Reading) -> bool:
    """Whether nothing is left to an edge that the handset can go beyond.

    The last band to either side counts as open if it ends at 100 % or beyond (common practice, no source).
    """
    bands = reading.feed.input.bands
    ends = (min(band.low for band in bands), max(band.high for band in bands))
    if abs(reading.heard) >= 100 and reading.heard in ends:
        return False
    arithmetic = rig.units[reading.feed.handset].model.arithmetic
    assert arithmetic is not None
    limits = (
        heard(rig, reading.feed, arithmetic.output_low),
        heard(rig, reading.feed, arithmetic.output_high),
    )
    return left <= 0 and min(limits) < reading.heard < max(limits)


def _margins(proof: Proof) -> Iterator[tuple[Fraction, tuple[str, str], str, Reading]]:
    """(margin less a trim's throw, channel, positions, reading) of every level in a band; no trim moves a failsafe."""
    for loss in proof.solved.losses:
        if loss.reading and loss.reading.margin is not None:
            yield loss.reading.margin, (loss.feed.handset, loss.feed.channel), "failsafe", loss.reading
    for result, row, reading in _readings(proof):
        if reading.margin is not None:
            left = reading.margin - trim_throw(proof.solved, reading)
            yield left, (result.handset, result.name), _position(row), reading
    for key, rows in proof.solved.joint.items():
        for joint in rows:
            places = " with ".join(f"`{control}.{place.name}`" for control, place in joint.places)
            for reading in joint.readings:
                if reading.margin is not None:
                    yield reading.margin - trim_throw(proof.solved, reading), key, places, reading


@claim("RC470", Severity.ERROR)
def states_share_code(proof: Proof) -> Iterator[Finding]:
    """
    Reports: two levels that belong to two states of an input and leave as one code on the serial line.
    Why: the line is cut at its field, or counts too coarsely: the device cannot tell the two apart.
    Bad: levels of -150 % and -125 % over counts whose least code stands for -121 %
    Good: levels that lie within what the line carries
    """
    solved = proof.solved
    for feed in solved.links.feeds:
        result = solved.results[feed.handset, feed.channel]
        told = [
            (_position(row), reading) for row in result.rows for reading in row.readings if reading.feed == feed
        ]
        told += [("failsafe", loss.reading) for loss in solved.losses if loss.feed == feed and loss.reading]
        meant: dict[int | None, tuple[str, Reading, Band]] = {}
        for place, reading in told:
            band = next((band for band in feed.input.bands if band.holds(reading.exact)), None)
            if reading.code is None or band is None:
                continue
            first, other, wanted = meant.setdefault(reading.code, (place, reading, band))
            if wanted is not band and not _failing(proof) & {(result.handset, first), (result.handset, place)}:
                yield Finding(
                    solved.rig.units[result.handset].channels[result.name].span,
                    f"{first}, meant for `{wanted.name}`, and {place}, meant for `{band.name}`, are one code on the line "
                    f"to `{feed.unit}`: {reading.code}, {signed_percent(reading.heard)}",
                    f"bring the levels, {signed_percent(other.exact)} and {signed_percent(reading.exact)} as heard, within "
                    "what the line carries, with travel or sub-trim",
                    (Related(feed.input.span, "the input"),),
                )
                break


def _failing(proof: Proof) -> set[tuple[str, str]]:
    """The handset and position of each expectation that a level breaks, which is told there."""
    return {
        (claim_.handset, f"`{claim_.control}.{claim_.position.name}`")
        for claim_ in proof.solved.rig.expectations
        for target in targets(proof.solved.rig, proof.solved.links, claim_)
        if miss(proof, claim_, target)
    }


@claim("RC471", Severity.WARNING)
def level_on_shared_edge(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a level that lies exactly on the edge that two bands share.
    Why: both ends of a band belong to it, so the device may take either state, a different one each day.
    Bad: a level of -25 % into bands that end and begin at -25 %
    Good: a level of -40 %, inside one of them
    """
    told: set[tuple[str, str]] = set()
    for _, key, places, reading in _margins(proof):
        if reading.either and key not in told:
            told.add(key)
            both = [f"`{band.name}`" for band in reading.either]
            yield Finding(
                proof.solved.rig.units[key[0]].channels[key[1]].span,
                f"{places} gives {heard_as(reading)} at `{reading.feed.input.name}` of `{reading.feed.unit}`, the edge "
                f"that {listed(both)} share: either may come",
                "move the level off the edge with travel or sub-trim, or use `auto`",
                (Related(reading.either[-1].span, "one of the two bands"),),
            )


@claim("RC416", Severity.ERROR)
def command_not_understood(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a position that makes an adapter send a command that the unit at the other end does not have.
    Why: the switch does nothing, and the fault is looked for in the wiring.
    Bad: a bridge that sends soft-2 to a camera whose model has no `command soft-2`
    Good: command soft-2 ... in the camera's model, or a level that gives another key
    """
    rig = proof.solved.rig
    told: set[tuple[str, str]] = set()
    for result, row, reading in _readings(proof):
        orders = proof.solved.links.orders_of(reading.feed)
        name = reading.feed.input.name if reading.feed.input.sweep else reading.state
        silent = reading.band is not None and reading.band.rest
        if not orders or not name or silent or reading.effects or (reading.feed.unit, name) in told:
            continue
        told.add((reading.feed.unit, name))
        receivers = list(dict.fromkeys(order.receiver for order in orders))
        known = sorted({command for receiver in receivers for command in rig.units[receiver].commands})
        yield Finding(
            rig.units[result.handset].channels[result.name].span,
            f"`{row.control}.{row.position.name}` makes `{reading.feed.unit}` send `{name}`, and "
            f"{_not_obeying(rig, receivers, name)}",
            _obey_hint(rig, receivers, name)
            or f"add `command {name}` to its model; it knows {', '.join(known) or 'none'}".replace(MINUS, "-"),
            (Related(reading.feed.input.span, "the input that sends it"),),
        )


def _not_obeying(rig: Rig, receivers: list[str], name: str) -> str:
    """Why a command is for nobody at the ends of the leads."""
    titles = listed([f"`{receiver}`" for receiver in receivers])
    if any(name in rig.units[receiver].model.commands for receiver in receivers):
        return f"{titles} {'do' if len(receivers) > 1 else 'does'} not obey it"
    return f"{titles} {'do' if len(receivers) > 1 else 'does'} not know that command"


def _obey_hint(rig: Rig, receivers: list[str], name: str) -> str:
    """Where a model knows the command, and its unit obeys others."""
    for receiver in receivers:
        unit = rig.units[receiver]
        if name in unit.model.commands:
            return f"write `obeys {', '.join((*(unit.obeys or ()), name))}` in the block of `{receiver}`"
    return ""


@claim("RC418", Severity.ERROR)
def pulse_outside_window(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a level whose pulse is shorter or longer than what the listener takes for a pulse (`reads` in its model).
    Why: it may be read as no signal at all, and the device falls into its failsafe in the middle of a move.
    Bad: a level of -115 % at 5 us per 1 %, which is 925 us, into a model that `reads 1000us..2000us`
    Good: travel that ends at -100 %
    """
    solved = proof.solved
    for feed in solved.links.feeds:
        handset, listener = solved.rig.units[feed.handset], solved.rig.units[feed.unit]
        window, arithmetic = listener.model.window, handset.model.arithmetic
        if window is None or arithmetic is None or solved.rig.signal_at(feed.plug).kind != "servo":
            continue
        channel = handset.channels[feed.channel]
        values = {name: solved.power_up_positions[handset.name, name] for name in handset.model.controls}
        levels = [level.percent for level in reach(handset, channel, proof.dials, values)]
        if isinstance(channel.failsafe, Fraction):
            levels.append(channel.failsafe)
        pulses = sorted((arithmetic.pulse.width(level), level) for level in levels)
        for pulse, level in (pulses[0], pulses[-1]):
            if not window[0] <= pulse <= window[1]:
                edge = window[0] if pulse < window[0] else window[1]
                yield Finding(
                    channel.span,
                    f"channel `{channel.name}` comes to {signed_percent(level)}, a pulse of {microseconds(pulse)}, and "
                    f"`{feed.unit}` reads {microseconds(window[0])} to {microseconds(window[1])}: it may be taken for no signal",
                    f"keep the level at {signed_percent(arithmetic.pulse.level(edge))} or nearer to centre, with travel or sub-trim",
                    (Related(feed.input.span, "the input"),),
                )
                break


@claim("RC417", Severity.ERROR)
def aim_missed(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a level named by `aims` that the stated values do not give.
    Why: the card would print a wish and a value that contradict each other.
    Bad: aims away 63%, toward -52% travel 100% / 100%
    Good: aims away 63%, toward -52% travel auto subtrim auto reverse auto
    """
    solved = proof.solved
    for unit in solved.rig.units.values():
        arithmetic = unit.model.arithmetic
        for channel in unit.channels.values():
            for aim in channel.aims:
                assert arithmetic is not None
                values = {name: solved.power_up_positions[unit.name, name] for name in unit.model.controls}
                values[channel.control] = aim.position
                level = level_at(unit, channel, values, proof.dials).percent
                if abs(level - aim.level) > max(arithmetic.travel_step, arithmetic.subtrim_step):
                    yield Finding(
                        aim.span,
                        f"`{channel.control}.{aim.position.name}` gives {signed_percent(level)}, "
                        f"and {signed_percent(aim.level)} is aimed at",
                        "write `travel auto subtrim auto reverse auto` instead of the stated values",
                        (Related(channel.span, "the channel"),),
                    )
