"""Resolves a handset: its controls, and the arithmetic that turns them into levels."""

from __future__ import annotations

from fractions import Fraction

from rigcard.diagnostics import Diagnostics
from rigcard.resolve import codes
from rigcard.resolve.measures import length_mm
from rigcard.resolve.model import (
    CENTRE,
    Arithmetic,
    Control,
    Position,
    Pulse,
)
from rigcard.resolve.scope import Block, once, ordered, show, word
from rigcard.source import Span
from rigcard.syntax import tree

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
    tree.Trims,
    tree.Has,
    tree.Menus,
)


def pulse_of(statement: tree.Pulse) -> Pulse:
    """The relation of level and pulse that a model declares."""
    return Pulse(statement.centre.value, statement.per.value / (statement.percent.value or 1))


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


def arithmetic_of(block: Block, diagnostics: Diagnostics) -> Arithmetic | None:
    """The arithmetic of a handset; None, with a report, if the model does not declare it."""
    pulse = block.one(tree.Pulse)
    travel = block.one(tree.TravelRange)
    subtrim = block.one(tree.SubtrimRange)
    reverse = block.one(tree.ReverseOrder)
    mix = block.one(tree.MixOrder)
    output = block.one(tree.OutputRange)
    parts = {
        "pulse": pulse,
        "travel": travel,
        "subtrim": subtrim,
        "reverse": reverse,
        "output": output,
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
        return None
    assert pulse and travel and subtrim and reverse and output
    ranges = [(travel.low, travel.high), (subtrim.low, subtrim.high), (output.low, output.high)]
    if not all([ordered(low, high, diagnostics) for low, high in ranges]):
        return None
    for number in (pulse.per, pulse.percent, travel.step, subtrim.steps, subtrim.percent):
        if number.value <= 0:
            diagnostics.report(
                codes.OUT_OF_RANGE, number.span, f"{show(number)} is not above zero", "write a size above zero"
            )
            return None
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
            return None
    shifts = word(_spelling(subtrim.shifts), ("whole", "centre"), "way that sub-trim shifts", diagnostics)
    before = not mix or word(mix.step, ("travel",), "step that a mix stands before or after", diagnostics)
    step = word(reverse.step, ("travel", "subtrim"), "step that reversal stands before or after", diagnostics)
    if not (shifts and before and step):
        return None
    order = f"{reverse.order.text}-{step}"
    return Arithmetic(
        pulse=pulse_of(pulse),
        travel_low=travel.low.value,
        travel_high=travel.high.value,
        travel_step=travel.step.value,
        subtrim_low=int(subtrim.low.value),
        subtrim_high=int(subtrim.high.value),
        subtrim_step=subtrim.percent.value / subtrim.steps.value,
        shifts=shifts,
        reverse="before-subtrim" if order == "after-travel" else order,
        mix=f"{mix.order.text}-travel" if mix else "",
        output_low=output.low.value,
        output_high=output.high.value,
    )


def _spelling(name: tree.Name) -> tree.Name:
    return tree.Name("centre", name.span) if name.text == "center" else name
