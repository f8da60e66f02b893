"""Converts the level of a sweep into the turn of an axis: degrees, or degrees a second."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import product

from rigcard.resolve.links import Feed
from rigcard.resolve.model import Mix, Position, Rig, Sweep
from rigcard.solve.levels import Dials, heard, level_at, mixes_into, trim_heard
from rigcard.solve.solved import Loss, Reading, Values, base_of
from rigcard.words import decimal

ZERO = Fraction(0)


def turn_at(sweep: Sweep, level: Fraction) -> Fraction:
    """Degrees, or degrees a second, at a level as heard; 0 if the model does not say.

    The value is `full` at the ends of the sweep and beyond. Between them it is linear from the edge of the dead
    band, without rescaling (common practice, no source).
    """
    base = base_of(sweep)
    way = sweep.high - base if level > base else base - sweep.low
    if sweep.full is None or not way:
        return ZERO
    if abs(level - base) >= way:
        return sweep.full.degrees
    return sweep.full.degrees * max(ZERO, abs(level - base) - (sweep.dead or ZERO)) / way


def turn_while_slow(sweep: Sweep, level: Fraction, pace: Fraction) -> Fraction:
    """Degrees that an axis turns while its level goes from `level`, as heard, back to its rest.

    `pace` is in per cent a second. Beyond the end of the sweep it turns `full`; from there the speed falls evenly to
    the edge of the dead band.
    """
    base, speed = base_of(sweep), turn_at(sweep, level)
    end = sweep.high if level > base else sweep.low
    beyond = max(ZERO, abs(level - base) - abs(end - base))
    before = min(abs(level - base), abs(end - base)) - (sweep.dead or ZERO)
    return speed * (beyond + max(ZERO, before) / 2) / pace


def turn_read(reading: Reading) -> Fraction:
    """Degrees, or degrees a second, for a reading with the controls at their current positions."""
    sweep = reading.feed.input.sweep
    return turn_at(sweep, reading.heard) * reading.share if sweep else ZERO


def rest_error(rig: Rig, feed: Feed, dials: Dials, values: Values) -> tuple[Fraction, dict[str, Position]]:
    """How far from its rest, in per cent as heard, a sweep may be with the controls at `values`.

    This includes the play (`springs within`) of the control and of those mixed in, to either side, and one
    throw of a trim. A mix with a `while` counts at its worst: the positions that bring this about, apart from
    `values`, are the second result.
    """
    sweep = feed.input.sweep
    assert sweep is not None
    unit = rig.units[feed.handset]
    channel = unit.channels[feed.channel]
    mixes = mixes_into(unit, channel.name)
    sources = [unit.channels[mix.source].control for mix in mixes]
    controls = [unit.model.controls[name] for name in dict.fromkeys([channel.control, *sources])]
    moved = [control for control in controls if control.play] or controls[:1]

    def level(places: Values) -> Fraction:
        return heard(rig, feed, level_at(unit, channel, places, dials).percent)

    off_rest = level(values) - base_of(sweep)
    worst, meanwhile = Fraction(-1), {}
    for condition in _conditions(mixes, values, [control.name for control in controls]):
        standing = {**values, **condition}
        shift = level(standing)  # what a mix adds on purpose is no drift
        for sides in product((-1, 1), repeat=len(moved)):
            off = {
                control.name: values[control.name]._replace(
                    value=values[control.name].value + side * control.play / 100
                )
                for control, side in zip(moved, sides, strict=True)
            }
            error = abs(level({**standing, **off}) - shift + off_rest)
            if error > worst:
                worst, meanwhile = error, condition
    return worst + trim_heard(rig, feed), meanwhile


def _conditions(mixes: Sequence[Mix], values: Values, moved: Sequence[str]) -> Iterator[dict[str, Position]]:
    """Every choice of conditions of mixes that hold although they do not with the controls at `values`."""
    places: dict[str, list[Position]] = {}
    for mix in mixes:
        name, place = mix.while_control, mix.while_position
        if name and place and name not in moved and place != values[name]:
            known = places.setdefault(name, [values[name]])
            if place not in known:
                known.append(place)
    for chosen in product(*places.values()):
        yield {name: place for name, place in zip(places, chosen, strict=True) if place != values[name]}


def unasked_turn(rig: Rig, loss: Loss) -> Fraction | None:
    """Degrees that an axis may turn between the loss of the link and its failsafe; None if unknown.

    A `hold` lasts until somebody acts, so it has no angle.
    """
    sweep = loss.feed.input.sweep
    after = rig.units[loss.feed.pin.unit].model.loss_after
    if loss.kind not in ("level", "none") or sweep is None or sweep.full is None or after is None:
        return None
    return sweep.full.degrees * after / 1000 if sweep.full.speed else None


def shown_turn(sweep: Sweep, turn: Fraction) -> str:
    """`60 deg/s` or `10 deg`; "" if the model does not say."""
    if sweep.full is None:
        return ""
    return f"{decimal(turn, 2)} {'deg/s' if sweep.full.speed else 'deg'}"
