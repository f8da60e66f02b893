"""Resolves the readings that were taken of a handset on the bench: what was dialled, where it stood, what was read."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from rigcard.diagnostics import Diagnostics
from rigcard.resolve import codes
from rigcard.resolve.asked import resolution
from rigcard.resolve.model import Arithmetic, BenchReading, Control, Position, Travel
from rigcard.resolve.scope import lookup, plain, show
from rigcard.source import Span
from rigcard.syntax import tree

MOST_READINGS = 64  # of one handset; some six settle everything
MOST_MIXED = 100  # per cent of a source that a mix may take


def bench_readings(
    statements: list[tree.Reading],
    controls: Mapping[str, Control],
    arithmetic: Arithmetic,
    diagnostics: Diagnostics,
) -> tuple[BenchReading, ...]:
    """The readings of a model; one that cannot have been dialled is reported and left out."""
    for item in statements[MOST_READINGS : MOST_READINGS + 1]:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            _whole(item),
            f"{len(statements)} readings are more than any handset needs",
            f"keep {MOST_READINGS} of them",
        )
    kept = statements[:MOST_READINGS]
    made = [_reading(item, controls, arithmetic, diagnostics) for item in kept]
    return tuple(one for one in made if one)


def form(reading: BenchReading, pulse: str = "...us") -> str:
    """A reading as it is typed, with its pulse open."""
    parts = ["reading"]
    travel = reading.travel
    if travel.low != travel.high or travel.low != 100:
        parts.append(f"travel {plain(travel.low)}% / {plain(travel.high)}%")
    if reading.subtrim:
        parts.append(f"subtrim {reading.subtrim}")
    if reading.reversed:
        parts.append("reversed")
    parts.append(f"at {reading.control}.{reading.position.name}")
    if reading.source_position:
        parts.append(f"mix {plain(reading.mix)}% of {reading.source}.{reading.source_position.name}")
    return " ".join([*parts, "is", pulse])


def full_travel(arithmetic: Arithmetic) -> Fraction:
    """The travel of a blank memory in per cent: 100 %, or the highest that the handset has."""
    return min(Fraction(100), arithmetic.travel_high)


def _reading(
    item: tree.Reading, controls: Mapping[str, Control], arithmetic: Arithmetic, diagnostics: Diagnostics
) -> BenchReading | None:
    given = _place(item.given, controls, diagnostics)
    source = _place(item.source, controls, diagnostics) if item.source else None
    dialled = _dialled(item, arithmetic, diagnostics)
    if given is None or dialled is None or (item.source and source is None):
        return None
    if item.source and source and source[0] is given[0]:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            item.source.parts[0].span,
            f"`{source[0].name}` cannot be mixed into its own channel",
            "mix another control in",
        )
        return None
    full = full_travel(arithmetic)
    give = item.give.value if item.give else resolution(item.pulse)
    return BenchReading(
        travel=Travel(item.travel.low.value, item.travel.high.value) if item.travel else Travel(full, full),
        subtrim=int(item.subtrim.steps.value) if item.subtrim else 0,
        reversed=item.reversed is not None,
        control=given[0].name,
        position=given[1],
        mix=item.mix.value if item.mix else Fraction(0),
        source=source[0].name if source else "",
        source_position=source[1] if source else None,
        low=item.pulse.value - give,
        high=item.pulse.value + give,
        span=_whole(item),
    )


def _place(
    place: tree.Place, controls: Mapping[str, Control], diagnostics: Diagnostics
) -> tuple[Control, Position] | None:
    parts = place.parts
    if len(parts) != 2:
        span = Span(parts[0].span.source, parts[0].span.start, parts[-1].span.end)
        diagnostics.report(
            codes.PARTLY_NAMED,
            span,
            f"`{span.text}` is no position of a control of this model, which is control.position",
            "write it as `front-toggle.away`",
        )
        return None
    control = lookup(parts[0], controls, "control of this model", diagnostics)
    if control is None:
        return None
    known = {position.name: position for position in control.positions}
    position = lookup(parts[1], known, f"position of `{control.name}`", diagnostics)
    return (control, position) if position else None


def _dialled(item: tree.Reading, arithmetic: Arithmetic, diagnostics: Diagnostics) -> bool | None:
    """Whether the handset can be set to what a reading says; None, with a report, if it cannot."""
    for side in (item.travel.low, item.travel.high) if item.travel else ():
        steps = (side.value - arithmetic.travel_low) / arithmetic.travel_step
        if not arithmetic.travel_low <= side.value <= arithmetic.travel_high or steps.denominator != 1:
            low, high, step = (
                f"{float(value):g}%"
                for value in (arithmetic.travel_low, arithmetic.travel_high, arithmetic.travel_step)
            )
            diagnostics.report(
                codes.OUT_OF_RANGE,
                side.span,
                f"travel cannot be dialled at {show(side)}: it goes from {low} to {high} in steps of {step}",
                "write the travel that was dialled, or correct the `travel` line of the model",
            )
            return None
    if item.subtrim and not arithmetic.subtrim_low <= item.subtrim.steps.value <= arithmetic.subtrim_high:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            item.subtrim.steps.span,
            f"sub-trim cannot be dialled at {show(item.subtrim.steps)}: it goes from {arithmetic.subtrim_low} to "
            f"{arithmetic.subtrim_high}",
            "write the steps that were dialled, or correct the `subtrim` line of the model",
        )
        return None
    if item.mix and not abs(item.mix.value) <= MOST_MIXED:
        diagnostics.report(
            codes.OUT_OF_RANGE,
            item.mix.span,
            f"a mix takes no more than {MOST_MIXED}% of a control",
            f"write -{MOST_MIXED}% to {MOST_MIXED}%",
        )
        return None
    return True


def _whole(item: tree.Reading) -> Span:
    """The span of a reading from its position to its pulse."""
    first = item.given.parts[0].span
    return Span(first.source, first.start, item.pulse.span.end)
