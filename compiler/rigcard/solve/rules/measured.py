"""Claims on what was measured at the pins: only a measured value is proof."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from rigcard.check.registry import Finding
from rigcard.diagnostics import Related, Severity
from rigcard.resolve.model import Measurement
from rigcard.solve.claims import Proof, claim
from rigcard.solve.levels import TOLERANCE, level_at
from rigcard.words import decimal, microseconds, percent, steps


@claim("RC451", Severity.WARNING)
def measurement_off(proof: Proof) -> Iterator[Finding]:
    """
    Reports: a measured pulse that differs from the computed one by more than 2 % of travel.
    Why: the handset was dialled otherwise, the model is declared wrongly, or a trim was knocked.
    Bad: measured hs.front-toggle.away on record is 1372us, where 1360 us is computed
    Good: measured hs.front-toggle.away on record is 1366us
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
    unit = proof.solved.rig.units[found.handset]
    values = {name: proof.solved.home[unit.name, name] for name in unit.model.controls}
    values[found.control] = found.position
    assert unit.model.arithmetic is not None
    level = level_at(unit, unit.channels[found.channel], values, proof.dials).percent
    return unit.model.arithmetic.pulse.width(level)


def _correction(proof: Proof, found: Measurement, change: Fraction) -> str:
    """How many steps of sub-trim would bring a pulse back, and whether the handset has them."""
    unit = proof.solved.rig.units[found.handset]
    arithmetic = unit.model.arithmetic
    assert arithmetic is not None
    dial = proof.dials[found.handset, found.channel]
    sign = -1 if dial.reversed and arithmetic.reverse == "after-subtrim" else 1
    exact = sign * change / arithmetic.subtrim_step
    moved = int(exact + Fraction(1, 2)) if exact >= 0 else -int(-exact + Fraction(1, 2))
    after = dial.subtrim + moved
    text = f"correct by {percent(change)} = {decimal(exact, 2)} → {steps(moved)} steps: sub-trim {steps(after)}"
    if not arithmetic.subtrim_low <= after <= arithmetic.subtrim_high:
        beyond = arithmetic.subtrim_high if after > 0 else arithmetic.subtrim_low
        return (
            f"{text} is beyond the handset's {steps(beyond)}: first look for a knocked trim or another memory"
        )
    return f"{text}; first look for a knocked trim or another memory"
