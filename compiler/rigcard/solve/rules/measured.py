"""Claims on what was measured at the pins: only a measured value is proof."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.links import leaving_by
from rigcard.resolve.model import Control, Measurement, Rig, Unit
from rigcard.solve.claims import Proof, claim
from rigcard.solve.learning.explaining import Desk, Explanation, State, explanations, pulse_at, telling
from rigcard.solve.learning.wording import advice, as_if
from rigcard.solve.levels import positions_of
from rigcard.words import microseconds

MOST_TOLD = 3  # explanations that a message names where several fit equally well


@claim("RC451", Severity.WARNING)
def measurement_off(proof: Proof) -> Iterator[Finding]:
    """
    Reports: measured pulses that differ from the computed ones by more than 2 % of travel, with the fewest causes
        that explain all readings of the handset.
    Why: the handset was dialled otherwise, the model is declared wrongly, or a trim was knocked.
    Bad: measured hs.left-flip.away on record is 1830us, where 1817.5 us is computed
    Good: measured hs.left-flip.away on record is 1821us
    """
    rig = proof.solved.rig
    for unit in rig.units.values():
        desk = _desk(proof, unit)
        off = [one for one in desk.readings if not desk.fits(desk.state, [one])] if desk else []
        if desk and off:
            yield _finding(proof, desk, off)


@claim("RC483", Severity.ERROR)
def reading_without_pin(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a measured pulse of a channel that no receiver of the handset puts out at a servo pin.
    Why: there is no pulse to measure there, so the number belongs to another channel or another rig.
    Bad: measured hs.wheel.left on focus is 1450us, where focus leaves only by a serial line
    Good: measured hs.left-flip.away on record is 1821us
    """
    rig = proof.solved.rig
    for found in rig.measurements:
        if not _has_pin(proof, found.handset, found.channel):
            feeds = proof.solved.links.feeds_of(found.handset, found.channel)
            heard = f", and read the level at `{feeds[0].input.name}` of `{feeds[0].unit}`" if feeds else ""
            yield Finding(
                found.span,
                f"channel `{found.channel}` of `{found.handset}` leaves by no servo pin, so no pulse can be measured",
                f"take this line out{heard}",
                (Related(rig.units[found.handset].channels[found.channel].span, "the channel"),),
            )


@claim("RC484", Severity.WARNING)
def reading_of_another_unit(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a measured pulse of a handset with another asset or serial number than the one in the rig now.
    Why: two handsets of one type differ, and what was read at the old one proves nothing about the new one.
    Bad: unit hs is handset-12 "Handset" { asset "HS-021" } and measured ... is 1821us of "HS-014"
    Good: unit hs is handset-12 "Handset" { asset "HS-014" } and measured ... is 1821us of "HS-014"
    """
    rig = proof.solved.rig
    for found in rig.measurements:
        if is_stale(rig, found):
            unit = rig.units[found.handset]
            own = unit.asset or unit.serial
            now = f"`{unit.name}` is now {own}" if own else f"`{unit.name}` states no asset"
            yield Finding(
                found.span,
                f"this reading is of {found.asset}, and {now}: it is not used",
                f'measure again, and write `of "{own}"`'
                if own
                else f'write `asset "{found.asset}"` in `{unit.name}`',
                (Related(unit.span, "the handset"),),
            )


def is_stale(rig: Rig, found: Measurement) -> bool:
    """Whether a reading is of another device than the one that the rig has now."""
    unit = rig.units[found.handset]
    return bool(found.asset) and found.asset not in (unit.asset, unit.serial)


def in_force(rig: Rig) -> tuple[Measurement, ...]:
    """The readings of the handsets that the rig has now."""
    return tuple(found for found in rig.measurements if not is_stale(rig, found))


def _has_pin(proof: Proof, handset: str, channel: str) -> bool:
    """Whether a channel leaves a receiver by a servo pin, where its pulse can be measured."""
    unit = proof.solved.rig.units[handset]
    return bool(leaving_by(proof.solved.rig, proof.solved.links, unit, unit.channels[channel].number))


def computed_pulse(proof: Proof, found: Measurement) -> Fraction:
    """The pulse in us that a measurement should have found."""
    unit = proof.solved.rig.units[found.handset]
    return pulse_at(State(unit, proof.dials), found, proof.solved.power_up_positions)


def _desk(proof: Proof, unit: Unit) -> Desk | None:
    rig = proof.solved.rig
    readings = tuple(
        one for one in in_force(rig) if one.handset == unit.name and _has_pin(proof, unit.name, one.channel)
    )
    if not readings:
        return None
    return Desk(State(unit, proof.dials), readings, proof.solved.power_up_positions)


def _finding(proof: Proof, desk: Desk, off: list[Measurement]) -> Finding:
    unit, (first, *others) = desk.state.unit, off
    wanted = pulse_at(desk.state, first, desk.standing)
    cause = (
        f"`{first.control}.{first.position.name}` on `{first.channel}` measures {microseconds(first.pulse)}, "
        f"and {microseconds(wanted)} is computed; ±{microseconds(desk.tolerance)} is allowed"
    )
    if others:
        cause += f"; {len(off)} of {len(desk.readings)} readings of `{unit.name}` are off"
    found = explanations(desk)
    related = [Related(unit.channels[first.channel].span, "the channel")]
    related += [Related(one.span, f"off by {microseconds(desk.residual(desk.state, one))}") for one in others]
    if found:
        cause += f": {as_if(found[0])}"
        told = found[1:MOST_TOLD]
        if told:
            cause += ", or " + ", or ".join(as_if(one) for one in told)
        hint = advice(desk, found[0], off)
        hint += _to_tell(proof, desk, found)
    else:
        cause += ", and no two causes explain that"
        assert unit.memory is not None
        hint = (
            f"see that the handset is in memory {unit.memory[0]} `{unit.memory[1]}`, dial all of its values anew, "
            "and measure again"
        )
    return Finding(first.span, cause, hint, tuple(related))


def _to_tell(proof: Proof, desk: Desk, found: list[Explanation]) -> str:
    """The reading to take first where several explanations fit."""
    if len(found) < 2:
        return ""
    unit = desk.state.unit
    known = {(one.channel, one.control, one.position) for one in desk.readings}
    places = [
        Measurement(unit.name, channel.name, control.name, position, Fraction(0), channel.span)
        for channel in unit.channels.values()
        if _has_pin(proof, unit.name, channel.name)
        for control in [unit.model.controls[channel.control], *_sources(unit, channel.name)]
        for position in positions_of(control, desk.standing[unit.name, control.name])
        if (channel.name, control.name, position) not in known
    ]
    best = telling(desk, found, places)
    if best is None:
        return ""
    place = f"{unit.name}.{best.control}.{best.position.name}"
    return f"; before that measure `{place}` on `{best.channel}`, which tells the causes apart"


def _sources(unit: Unit, channel: str) -> list[Control]:
    """The controls that are mixed into a channel."""
    return [
        unit.model.controls[unit.channels[mix.source].control] for mix in unit.mixes if mix.target == channel
    ]
