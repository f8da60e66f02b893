"""Resolves a handset: its controls, and the arithmetic that turns them into levels."""

from __future__ import annotations

from fractions import Fraction

from rigcard.diagnostics import Diagnostics, Related
from rigcard.resolve import codes, words
from rigcard.resolve.measures import length_mm
from rigcard.resolve.model import (
    CENTRE,
    Arithmetic,
    Bench,
    Control,
    Position,
    Pulse,
)
from rigcard.resolve.readings import bench_readings
from rigcard.resolve.scope import Block, keyword, once, ordered, place_of, show, word
from rigcard.source import Span
from rigcard.syntax import tree
from rigcard.words import microseconds, percent

SHIFTS = ("whole", "centre", "unknown")
SHORTEST, LONGEST = 300, 2700  # us at 100 % to either side (common practice, no source)
MOST_STEPS = 2000  # of travel or of sub-trim, on one side
FORMS = {  # the statements that a handset must have
    "pulse": "pulse 1500us centre, 5us per 1%",
    "travel": "travel 0%..125% step 5%",
    "subtrim": "subtrim -80..80 steps, 80 steps = 12%, shifts whole",
    "reverse": "reverse before subtrim",
    "output": "output -140%..140%",
    "channels": "channels 12",
}
HANDSET_ONLY = (
    tree.Lever,
    tree.Switch,
    tree.TravelRange,
    tree.SubtrimRange,
    tree.ReverseOrder,
    tree.MixOrder,
    tree.OutputRange,
    tree.PulseUnknown,
    tree.ReverseUnknown,
    tree.MixUnknown,
    tree.OutputUnknown,
    tree.Reading,
    tree.Trims,
    tree.Has,
    tree.Menus,
)


def pulse_of(statement: tree.Pulse) -> Pulse:
    """The relation of level and pulse that a model declares; a size of zero is reported elsewhere, and 1 here."""
    return Pulse(statement.centre.value, (statement.per.value or Fraction(1)) / (statement.percent.value or 1))


def controls_of(block: Block, diagnostics: Diagnostics) -> dict[str, Control]:
    """The controls of a handset by name. The `trims` of the model apply to its sticks."""
    trims = block.one(tree.Trims)
    throw = trims.throw.value if trims else Fraction(0)
    controls: dict[str, Control] = {}
    taken: dict[str, Span] = {}
    for item in block.items:
        if isinstance(item, tree.Lever | tree.Switch) and once(item.name, taken, "control", diagnostics):
            controls[item.name.text] = (
                _lever(item, throw, diagnostics) if isinstance(item, tree.Lever) else _switch(item, diagnostics)
            )
    return controls


def _lever(item: tree.Lever, throw: Fraction, diagnostics: Diagnostics) -> Control:
    positions = (
        Position(item.first.text, Fraction(-1)),
        Position(CENTRE, Fraction(0)),
        Position(item.last.text, Fraction(1)),
    )
    stick = item.kind.text == "stick"
    return _control(item.kind.text, item, positions, item.options, throw if stick else Fraction(0), diagnostics)


def _switch(item: tree.Switch, diagnostics: Diagnostics) -> Control:
    names = [part for part in item.parts if isinstance(part, tree.Name)]
    taken: dict[str, Span] = {}
    names = [name for name in names if once(name, taken, "position", diagnostics)]
    steps = max(1, len(names) - 1)
    positions = tuple(Position(name.text, Fraction(2 * at, steps) - 1) for at, name in enumerate(names))
    return _control("switch", item, positions, item.parts, Fraction(0), diagnostics)


def _control(
    kind: str,
    item: tree.Control,
    positions: tuple[Position, ...],
    options: tuple[object, ...],
    throw: Fraction,
    diagnostics: Diagnostics,
) -> Control:
    trims = next((option for option in options if isinstance(option, tree.Trims)), None)
    if trims and kind != "stick":
        diagnostics.report(
            codes.MISPLACED_STATEMENT,
            trims.throw.span,
            f"`{item.name.text}` is a {kind}, and a trim lever belongs to a stick",
            f"take `trims` off the {kind}",
        )
    at = next((option for option in options if isinstance(option, tree.At)), None)
    springs = next((option for option in options if isinstance(option, tree.Springs)), None)
    play = springs.within.value if springs and springs.within else Fraction(0)
    place = (length_mm(at.x), length_mm(at.y)) if at else None
    return Control(
        name=item.name.text,
        title=item.title.text,
        kind=kind,
        positions=positions,
        springs=springs is not None,
        play=play,
        at=place,
        trim=trims.throw.value if trims else throw,
        span=item.name.span,
    )


def arithmetic_of(
    block: Block, controls: dict[str, Control], diagnostics: Diagnostics
) -> tuple[Arithmetic | None, Bench | None]:
    """The arithmetic of a handset, and what of it readings have to find.

    Both are None, with a report, if the model does not declare it; the arithmetic is None while something in it
    is unknown.
    """
    pulse, no_pulse = block.one(tree.Pulse), block.one(tree.PulseUnknown)
    travel = block.one(tree.TravelRange)
    subtrim = block.one(tree.SubtrimRange)
    reverse, no_reverse = block.one(tree.ReverseOrder), block.one(tree.ReverseUnknown)
    mix, no_mix = block.one(tree.MixOrder), block.one(tree.MixUnknown)
    output, no_output = block.one(tree.OutputRange), block.one(tree.OutputUnknown)
    for known, open_ in ((pulse, no_pulse), (reverse, no_reverse), (mix, no_mix), (output, no_output)):
        if known and open_:
            diagnostics.report(
                codes.DOUBLED_STATEMENT,
                place_of(open_),
                f"`{keyword(type(known))}` is stated and called unknown",
                "keep one of the two lines",
                Related(place_of(known), "stated here"),
            )
    parts = {
        "pulse": pulse or no_pulse,
        "travel": travel,
        "subtrim": subtrim,
        "reverse": reverse or no_reverse,
        "output": output or no_output,
        "channels": block.one(tree.Channels),
    }
    missing = [name for name, part in parts.items() if part is None]
    if missing:
        diagnostics.report(
            codes.MISSING_STATEMENT,
            block.owner.span,
            f"handset `{block.owner.text}` does not state its {', '.join(f'`{name}`' for name in missing)}",
            f"find out what it does and add it, as in {', '.join(f'`{FORMS[name]}`' for name in missing)}",
        )
        return None, None
    assert travel and subtrim
    ranges = [(travel.low, travel.high), (subtrim.low, subtrim.high)]
    if not all([ordered(low, high, diagnostics) for low, high in (*ranges, *([output] if output else []))]):
        return None, None
    size = subtrim.percent if isinstance(subtrim.percent, tree.Number) else None
    for number in (*((pulse.per, pulse.percent) if pulse else ()), travel.step, subtrim.steps, size):
        if number and number.value <= 0:
            diagnostics.report(
                codes.OUT_OF_RANGE, number.span, f"{show(number)} is not above zero", "write a size above zero"
            )
            return None, None
    if not _few_steps(travel, subtrim, diagnostics):
        return None, None
    shifts = word(_spelling(subtrim.shifts), SHIFTS, "way that sub-trim shifts", diagnostics)
    before = not mix or word(mix.step, ("travel",), "step that a mix stands before or after", diagnostics)
    step = (
        word(reverse.step, ("travel", "subtrim"), "step that reversal stands before or after", diagnostics)
        if reverse
        else "subtrim"
    )
    if not (shifts and before and step):
        return None, None
    order = f"{reverse.order.text}-{step}" if reverse else ""
    declared = Arithmetic(
        pulse=pulse_of(pulse) if pulse else Pulse(Fraction(1500), Fraction(5)),
        travel_low=travel.low.value,
        travel_high=travel.high.value,
        travel_step=travel.step.value,
        subtrim_low=int(subtrim.low.value),
        subtrim_high=int(subtrim.high.value),
        subtrim_step=(size.value if size else 1) / subtrim.steps.value,
        shifts="whole" if shifts == "unknown" else shifts,
        reverse="before-subtrim" if order == "after-travel" else order or "before-subtrim",
        mix=f"{mix.order.text}-travel" if mix else "before-travel" if no_mix else "",
        output_low=output.low.value if output else Fraction(-1000),
        output_high=output.high.value if output else Fraction(1000),
    )
    if pulse and output and not _servo_pulses(declared, pulse, diagnostics):
        return None, None
    stated = (pulse, size, shifts != "unknown", reverse, not no_mix, output)
    unknown = tuple(name for name, known in zip(words.LEARNABLE, stated, strict=True) if not known)
    readings = bench_readings(block.all(tree.Reading), controls, declared, diagnostics)
    if not unknown and not readings:
        return declared, None
    return None if unknown else declared, Bench(unknown, declared, int(subtrim.steps.value), readings)


def _servo_pulses(declared: Arithmetic, pulse: tree.Pulse, diagnostics: Diagnostics) -> bool:
    """Whether the pulses at the ends of a blank memory are such as a servo may get; reports those that are not."""
    for level in (max(declared.output_low, Fraction(-100)), min(declared.output_high, Fraction(100))):
        width = declared.pulse.width(level)
        if not SHORTEST <= width <= LONGEST:
            diagnostics.report(
                codes.OUT_OF_RANGE,
                pulse.per.span,
                f"at {percent(level)} the pulse would be {microseconds(width)}, and servo pulses last {SHORTEST} to "
                f"{LONGEST} µs",
                "measure two pulses and write `pulse 1500us centre, 5us per 1%` with what they give",
            )
            return False
    return True


def _few_steps(travel: tree.TravelRange, subtrim: tree.SubtrimRange, diagnostics: Diagnostics) -> bool:
    """Whether travel and sub-trim have as many steps as a handset may have; reports more."""
    counts = (
        (subtrim.low, abs(subtrim.low.value)),
        (subtrim.high, abs(subtrim.high.value)),
        (travel.step, (travel.high.value - travel.low.value) / travel.step.value),
    )
    for number, count in counts:
        if count > MOST_STEPS:
            diagnostics.report(
                codes.OUT_OF_RANGE,
                number.span,
                f"{show(number)} makes more than {MOST_STEPS} steps, which no handset has",
                "read the range and the step on the handset again",
            )
            return False
    return True


def _spelling(name: tree.Name) -> tree.Name:
    return tree.Name("centre", name.span) if name.text == "center" else name
