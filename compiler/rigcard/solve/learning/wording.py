"""Words for causes that explain readings, and what to dial or write about them."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from rigcard.resolve.model import Measurement, Rate
from rigcard.solve.learning.explaining import Cause, Desk, Explanation
from rigcard.words import decimal, microseconds, percent, steps

PLACES = {
    "before-travel": "before travel",
    "before-subtrim": "before subtrim",
    "after-subtrim": "after subtrim",
}


def as_if(found: Explanation) -> str:
    """What the readings look like: "the sub-trim of `record` acts as −219 steps, not −240"."""
    said = [_as_if(cause) for cause in found.causes]
    return f"both {said[0]} and {said[1]}" if len(said) > 1 else said[0]


def _as_if(cause: Cause) -> str:
    of = f"`{cause.of}`"
    match cause.kind:
        case "reversal":
            return f"{of} is {'not reversed' if cause.stated else 'reversed'} in the handset"
        case "pins":
            return f"{of} and `{cause.into}` are exchanged"
        case "mix-off":
            return f"the mix of {of} into `{cause.into}` is off"
        case "mix-always":
            return f"the mix of {of} into `{cause.into}` counts wherever `{cause.stated}` stands"
        case "mix rate":
            return f"the mix of {of} into `{cause.into}` acts at {_rate(cause.acts)}, not {_rate(cause.stated)}"
        case "reverse":
            return f"reversal acts {PLACES[cause.acts]}, not {PLACES[cause.stated]}"
        case "shifts":
            return f"sub-trim shifts the {cause.acts}, not the {cause.stated}"
        case "mix-place":
            return f"a mix acts {cause.acts.replace('-', ' ')}, not {cause.stated.replace('-', ' ')}"
        case "centre":
            return f"0 % is {microseconds(cause.acts)}, not {microseconds(cause.stated)}"
        case "scale":
            return f"1 % is {decimal(cause.acts, 3)} µs, not {decimal(cause.stated, 3)} µs"
        case "sub-trim":
            return f"the sub-trim of {of} acts as {steps(cause.acts)}, not {steps(cause.stated)} steps"
        case _:
            return f"the {cause.kind} of {of} acts as {percent(cause.acts)}, not {percent(cause.stated)}"


def _rate(rate: Rate) -> str:
    if rate.low == rate.high:
        return percent(rate.low)
    return f"{percent(rate.low)} / {percent(rate.high)}"


def advice(desk: Desk, found: Explanation, off: Sequence[Measurement]) -> str:
    """What to dial, to plug or to write about an explanation."""
    return "; and ".join(_advice(desk, cause, off, len(found.causes) == 1) for cause in found.causes)


def _advice(desk: Desk, cause: Cause, off: Sequence[Measurement], alone: bool) -> str:
    arithmetic, model = desk.state.arithmetic, desk.state.unit.model.name
    pulse, of = arithmetic.pulse, f"`{cause.of}`"
    match cause.kind:
        case "reversal":
            return f"set {of} to {'reversed' if cause.stated else 'normal'} in the handset"
        case "pins":
            channels = desk.state.unit.channels
            return (
                f"see that {of} is channel {channels[cause.of].number} and `{cause.into}` channel "
                f"{channels[cause.into].number} in the handset, and measure each at its own pin"
            )
        case "mix-off":
            return f"switch the mix of {of} into `{cause.into}` on, at {_rate(cause.stated)}"
        case "mix-always":
            return f"let the mix of {of} into `{cause.into}` count only while `{cause.stated}` stands where it should"
        case "mix rate":
            return f"dial the mix of {of} into `{cause.into}` at {_rate(cause.stated)}"
        case "reverse":
            return f"write `reverse {PLACES[cause.acts]}` in model `{model}`"
        case "shifts":
            return f"write `shifts {cause.acts}` in model `{model}`"
        case "mix-place":
            return f"write `mix {cause.acts.replace('-', ' ')}` in model `{model}`"
        case "centre":
            return f"write `pulse {_plain(cause.acts)}us centre, {_plain(pulse.per_percent)}us per 1%` in model `{model}`"
        case "scale":
            return f"write `pulse {_plain(pulse.centre)}us centre, {_plain(cause.acts)}us per 1%` in model `{model}`"
        case "sub-trim":
            return _trimmed(desk, cause, off) if alone else f"dial sub-trim {steps(cause.stated)} on {of}"
        case _:
            return _sided(desk, cause, off) if alone else f"dial {cause.kind} {percent(cause.stated)} on {of}"


def _trimmed(desk: Desk, cause: Cause, off: Sequence[Measurement]) -> str:
    arithmetic = desk.state.arithmetic
    change = -_middle(desk, off) / arithmetic.pulse.per_percent
    turn = Fraction(cause.stated - cause.acts)
    size = arithmetic.subtrim_step if turn * change > 0 else -arithmetic.subtrim_step
    exact = change / size if len(off) == 1 and desk.state.arithmetic.shifts == "whole" else turn
    moved = _rounded(exact)
    after = cause.stated + moved
    text = f"correct by {percent(change)} = {decimal(exact, 2)} → {steps(moved)} steps: sub-trim {steps(after)}"
    look = f"first see that {steps(cause.stated)} is dialled on `{cause.of}` and no trim is knocked"
    if not arithmetic.subtrim_low <= after <= arithmetic.subtrim_high:
        beyond = arithmetic.subtrim_high if after > 0 else arithmetic.subtrim_low
        return f"{text} is beyond the handset's {steps(beyond)}; {look}"
    return f"{text}; {look}"


def _sided(desk: Desk, cause: Cause, off: Sequence[Measurement]) -> str:
    arithmetic = desk.state.arithmetic
    change = -_middle(desk, off) / arithmetic.pulse.per_percent
    after = 2 * cause.stated - cause.acts
    text = f"correct by {percent(change)}: {cause.kind} {percent(after)}"
    look = f"first see that {percent(cause.stated)} is dialled on `{cause.of}`"
    if not arithmetic.travel_low <= after <= arithmetic.travel_high:
        beyond = arithmetic.travel_high if after > 0 else arithmetic.travel_low
        return f"{text} is beyond the handset's {percent(beyond)}; {look}"
    return f"{text}; {look}"


def _middle(desk: Desk, off: Sequence[Measurement]) -> Fraction:
    """The middle of what the readings are off by, in us."""
    found = [desk.residual(desk.state, one) for one in off]
    return (min(found) + max(found)) / 2


def _rounded(exact: Fraction) -> int:
    return int(exact + Fraction(1, 2)) if exact >= 0 else -int(-exact + Fraction(1, 2))


def _plain(value: Fraction) -> str:
    """A number as the language writes it."""
    return decimal(value, 3).replace("−", "-")
