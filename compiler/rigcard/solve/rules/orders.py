"""Claims on what one control moves: orders that contradict each other, functions that move together unasked."""

from __future__ import annotations

from collections.abc import Iterator

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.links import Feed
from rigcard.resolve.model import Position, Unit
from rigcard.solve.claims import Proof, claim
from rigcard.solve.levels import level_at, mixes_into, positions_of, read
from rigcard.solve.loss import RUN, STANDBY, is_record
from rigcard.solve.solved import Reading, part_of_way
from rigcard.solve.targets import targets
from rigcard.solve.turning import shown_turn, turn_at
from rigcard.words import listed, percent

Input = tuple[str, str]  # unit and name
Order = tuple[str, str]  # unit and command


@claim("RC473", Severity.ERROR)
def orders_contradict(proof: Proof) -> Iterator[Finding]:
    """
    Reports: one position of a control that sends two orders of one group to one unit at the same time.
    Why: nobody can say which of the two comes last: the take starts on one day and ends on the next.
    Bad: a toggle on two channels whose far position gives `run` on one input of a bridge and `standby` on another
    Good: both inputs with `run` at the same end, or one channel for the camera
    """
    solved, groups = proof.solved, _groups(proof)
    for handset in solved.rig.units.values():
        for control in handset.model.controls.values():
            feeds = [
                feed
                for channel in handset.channels.values()
                if channel.control == control.name
                for feed in solved.links.feeds_of(handset.name, channel.name)
            ]
            if len(feeds) < 2:
                continue
            for position in control.positions:
                found = _contradiction(groups, [_read_at(proof, feed, position) for feed in feeds])
                if found:
                    first, second, unit, orders = found
                    yield Finding(
                        handset.channels[second.feed.channel].span,
                        f"`{control.name}.{position.name}` sends `{unit}` both `{orders[0]}`, over channel "
                        f"`{first.feed.channel}`, and `{orders[1]}`, over channel `{second.feed.channel}`",
                        f"turn one of the two round with `reversed` on channel `{second.feed.channel}`, or take that "
                        "channel out",
                        (Related(handset.channels[first.feed.channel].span, "the other channel"),),
                    )
                    break


def _read_at(proof: Proof, feed: Feed, position: Position) -> Reading:
    solved = proof.solved
    unit = solved.rig.units[feed.handset]
    channel = unit.channels[feed.channel]
    values = {name: solved.power_up_positions[unit.name, name] for name in unit.model.controls}
    level = level_at(unit, channel, {**values, channel.control: position}, proof.dials).percent
    return read(solved.rig, solved.links, feed, level)


def _contradiction(
    groups: dict[Order, Order], readings: list[Reading]
) -> tuple[Reading, Reading, str, tuple[str, str]] | None:
    """Two readings that order two things of one group from one unit, with that unit and the two orders."""
    sent: list[tuple[Order, str, Reading]] = []  # group, order, reading
    for reading in readings:
        for effect in reading.effects:
            if reading.feed.input.sweep:
                group, order = (effect.unit, effect.command), f"{effect.command} {effect.does}"
            else:
                group, order = _first(groups, (effect.unit, effect.command)), effect.command
            for other, before, first in sent:
                if other == group and before != order and first.feed != reading.feed:
                    return first, reading, effect.unit, (before, order)
            sent.append((group, order, reading))
    return None


def _groups(proof: Proof) -> dict[Order, Order]:
    """Commands of a unit that hang together: states of one input, and of inputs that share a command. Each leads on to
    another one of its group, the last to itself."""
    groups: dict[Order, Order] = {}
    links, units = proof.solved.links, proof.solved.rig.units
    for feed in links.feeds:
        for order in links.orders_of(feed) if feed.input.bands else ():
            known = units[order.receiver].commands
            found = [(order.receiver, band.name) for band in feed.input.bands if band.name in known]
            for other in found[1:]:
                groups[_first(groups, other)] = _first(groups, found[0])
    return groups


def _first(groups: dict[Order, Order], order: Order) -> Order:
    """The one that stands for the group of an order."""
    while groups.get(order, order) != order:
        order = groups[order]
    return order


@claim("RC315", Severity.WARNING)
def take_ends_on_release(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a take that runs only while a control is held that springs back, for its rest is the order to stop.
    Why: the operator presses once, as on any camera, and the take lasts as long as the finger stays.
    Bad: channel 5 record from push-button, whose `off` gives `standby` and whose `on` gives `run`
    Good: channel 5 record from left-flip, a switch that stays; or an input whose command `toggles run, standby`
    """
    solved = proof.solved
    for feed in solved.links.feeds:
        result = solved.results[feed.handset, feed.channel]
        if not is_record(feed.input.states) or not result.control.springs:
            continue
        states = {
            reading.state
            for row in (*result.rows, result.rest)
            for reading in row.readings
            if reading.feed == feed and row.control == result.control.name and not row.conditions
        }
        at_rest = {reading.state for reading in result.rest.readings if reading.feed == feed}
        if RUN in states and at_rest == {STANDBY}:
            handset = solved.rig.units[feed.handset]
            used = {*handset.controls_in_use, *handset.leave}
            stays = [
                control
                for control in handset.model.controls.values()
                if control.is_switch and not control.springs and control.name not in used
            ]
            yield Finding(
                handset.channels[feed.channel].span,
                f"`{result.control.name}` springs back, and its rest gives `{STANDBY}` of `{feed.unit}`: a take runs only "
                "while it is held",
                f"write `from {stays[0].name}`, a switch that stays where it is put, and its positions in each `expect`: "
                f"{listed([f'`{stays[0].name}.{place.name}`' for place in stays[0].positions])}"
                if stays
                else "drive it from a switch that stays where it is put",
                (Related(result.control.span, "the control"),),
            )


@claim("RC475", Severity.WARNING)
def mix_moves_axis(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a control that turns an axis with a rest through a mix, without an `expect` that says so.
    Why: a mix left over from another job tilts the head while the operator pans.
    Bad: mix pan into tilt at 20%, and no `expect` for tilt from the control of `pan`
    Good: the line taken out, or `expect hs.right-across.right gives head.tilt.up` if it is meant
    """
    solved = proof.solved
    claimed: set[tuple[str, str, Input]] = set()
    for feed in solved.links.feeds:
        sweep, handset = feed.input.sweep, solved.rig.units[feed.handset]
        if sweep is None or sweep.rest is None:
            continue
        own = handset.channels[feed.channel].control
        for mix in mixes_into(handset, feed.channel):
            source = handset.channels[mix.source].control
            if source == own:
                continue
            claimed = claimed or _claimed(proof)
            if (handset.name, source, (feed.unit, feed.input.name)) in claimed:
                continue
            moved = _moved(proof, feed, handset, source, (mix.while_control, mix.while_position))
            if moved:
                place, reading = moved
                stands = mix.while_position if mix.while_control != source else None
                during = f" while {mix.while_control} {stands.name}" if stands else ""
                turn = shown_turn(sweep, turn_at(sweep, reading.heard))
                how = turn or f"{percent(part_of_way(sweep, reading.heard) * 100)} of its way"
                yield Finding(
                    mix.span,
                    f"`{source}.{place.name}` moves `{feed.input.name}` of `{feed.unit}` to `{reading.state}`, {how}, by "
                    "this mix, and no `expect` says so",
                    f"take the mix out, or write `expect {handset.name}.{source}.{place.name} gives "
                    f"{feed.unit}.{feed.input.name}.{reading.state}{during}` if it is meant",
                    (Related(handset.channels[feed.channel].span, "mixed into this channel"),),
                )


def _moved(
    proof: Proof, feed: Feed, handset: Unit, control: str, during: tuple[str | None, Position | None]
) -> tuple[Position, Reading] | None:
    """The last position of a control that moves a sweep off where it stands as at power-up, and what it then hears."""
    solved = proof.solved
    assert feed.input.sweep is not None
    values = {name: solved.power_up_positions[handset.name, name] for name in handset.model.controls}
    if during[0] and during[1]:
        values[during[0]] = during[1]
    channel = handset.channels[feed.channel]
    still = read(solved.rig, solved.links, feed, level_at(handset, channel, values, proof.dials).percent)
    for place in reversed(positions_of(handset.model.controls[control], values[control])):
        level = level_at(handset, channel, {**values, control: place}, proof.dials).percent
        reading = read(solved.rig, solved.links, feed, level)
        if part_of_way(feed.input.sweep, reading.heard) and reading.heard != still.heard:
            return place, reading
    return None


def _claimed(proof: Proof) -> set[tuple[str, str, Input]]:
    """(handset, control, input) for each expectation: what the file says that a control moves."""
    solved = proof.solved
    return {
        (wish.handset, wish.control, (target.feed.unit, target.feed.input.name))
        for wish in solved.rig.expectations
        for target in targets(solved.rig, solved.links, wish)
    }


@claim("RC476", Severity.WARNING)
def control_moves_two(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a stick, slider or dial with two channels of its own that move two sweeps, and no `expect` for one of them.
    Why: a channel left on another's control turns the horizon with every change of the iris.
    Bad: channel 3 roll from left-dial, and channel 4 iris from left-dial
    Good: channel 4 iris from left-slider, or an `expect` of left-dial for each of the two if it is meant
    """
    solved = proof.solved
    claimed: set[tuple[str, str, Input]] = set()
    for handset in solved.rig.units.values():
        for control in handset.model.controls.values():
            if control.is_switch:
                continue
            moved = [
                feed
                for channel in handset.channels.values()
                if channel.control == control.name
                for feed in solved.links.feeds_of(handset.name, channel.name)
                if feed.input.sweep
            ]
            if len({feed.channel for feed in moved}) < 2:
                continue
            claimed = claimed or _claimed(proof)
            unsaid = [
                feed
                for feed in moved
                if (handset.name, control.name, (feed.unit, feed.input.name)) not in claimed
            ]
            if not unsaid:
                continue
            names = [f"`{feed.input.name}` of `{feed.unit}`" for feed in moved]
            channel, last = handset.channels[unsaid[-1].channel], control.positions[-1].name
            sweep = unsaid[-1].input.sweep
            assert sweep is not None
            yield Finding(
                channel.span,
                f"`{control.name}` moves {listed(names)} at once, over channels of their own, and not every one has an "
                "`expect`",
                f"give channel `{channel.name}` a control of its own, or write `expect "
                f"{handset.name}.{control.name}.{last} gives {unsaid[-1].unit}.{unsaid[-1].input.name}.{sweep.last}` if it "
                "is meant",
                (Related(control.span, "the control"),),
            )
