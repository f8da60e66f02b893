"""Claims on what was measured at the pins: only a measured value is proof."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import Measurement
from rigcard.solve.arithmetic import Dial
from rigcard.solve.claims import Proof, claim
from rigcard.solve.levels import TOLERANCE, Dials, level_at
from rigcard.words import decimal, microseconds, percent, steps


@claim("RC451", Severity.WARNING)
def measurement_off(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a measured pulse that differs from the computed one by more than 2 % of travel.
    Why: the handset was dialled otherwise, the model is declared wrongly, or a trim was knocked.
    Bad: measured hs.left-flip.away on record is 1830us, where 1817.5 us is computed
    Good: measured hs.left-flip.away on record is 1821us
    """
    for found in proof.solved.rig.measurements:
        unit = proof.solved.rig.units[found.handset]
        assert unit.model.arithmetic is not None
        per_percent = unit.model.arithmetic.pulse.per_percent
        wanted = computed_pulse(proof, found)
        off = found.pulse - wanted
        if abs(off) > TOLERANCE * per_percent:
            yield Finding(
                found.span,
                f"`{found.control}.{found.position.name}` on `{found.channel}` measures {microseconds(found.pulse)}, "
                f"and {microseconds(wanted)} is computed; ±{microseconds(TOLERANCE * per_percent)} is allowed",
                _correction(proof, found, -off / per_percent),
                (Related(unit.channels[found.channel].span, "the channel"),),
            )


def computed_pulse(proof: Proof, found: Measurement) -> Fraction:
    """The pulse in us that a measurement should have found."""
    arithmetic = proof.solved.rig.units[found.handset].model.arithmetic
    assert arithmetic is not None
    return arithmetic.pulse.width(_level(proof, found, proof.dials))


def _level(proof: Proof, found: Measurement, dials: Dials) -> Fraction:
    unit = proof.solved.rig.units[found.handset]
    values = {name: proof.solved.power_up_positions[unit.name, name] for name in unit.model.controls}
    values[found.control] = found.position
    return level_at(unit, unit.channels[found.channel], values, dials).percent


def _correction(proof: Proof, found: Measurement, change: Fraction) -> str:
    """What to dial to bring a pulse back: sub-trim, or travel where sub-trim does not move this position."""
    unit = proof.solved.rig.units[found.handset]
    arithmetic = unit.model.arithmetic
    assert arithmetic is not None
    dial = proof.dials[found.handset, found.channel]
    look = "first look for a knocked trim or another memory"
    turn = _effect(proof, found, dial._replace(subtrim=dial.subtrim + 1))
    if turn:
        moved = _rounded(change / turn)
        after = dial.subtrim + moved
        text = f"correct by {percent(change)} = {decimal(change / turn, 2)} → {steps(moved)} steps: "
        text += f"sub-trim {steps(after)}"
        if not arithmetic.subtrim_low <= after <= arithmetic.subtrim_high:
            beyond = arithmetic.subtrim_high if after > 0 else arithmetic.subtrim_low
            return f"{text} is beyond the handset's {steps(beyond)}: {look}"
        return f"{text}; {look}"
    step = arithmetic.travel_step
    for side, wider in (
        ("low", dial.travel._replace(low=dial.travel.low + step)),
        ("high", dial.travel._replace(high=dial.travel.high + step)),
    ):
        turn = _effect(proof, found, dial._replace(travel=wider))
        if turn:
            stands = dial.travel.low if side == "low" else dial.travel.high
            after_travel = stands + _rounded(change / turn) * step
            if arithmetic.travel_low <= after_travel <= arithmetic.travel_high:
                return f"correct by {percent(change)}: {side} travel {percent(after_travel)}; {look}"
    return f"no value of the channel moves this position far enough: {look}"


def _effect(proof: Proof, found: Measurement, dial: Dial) -> Fraction:
    """How far another dial would move the level that was measured, in per cent."""
    dials = {**proof.dials, (found.handset, found.channel): dial}
    return _level(proof, found, dials) - _level(proof, found, proof.dials)


def _rounded(exact: Fraction) -> int:
    return int(exact + Fraction(1, 2)) if exact >= 0 else -int(-exact + Fraction(1, 2))
