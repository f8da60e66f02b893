"""Set-up of a handset: what to dial into every channel, the expected values, the measured ones."""

from __future__ import annotations

from fractions import Fraction

from rigcard.documents.base.layout import (
    BLANK,
    BODY,
    SMALL,
    Block,
    Cell,
    heading,
    joined,
    paragraph,
    row,
    space,
    table,
)
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import effect, has_trims, meanwhile, place
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import TECHNICIAN, Group
from rigcard.documents.cards.parts import identity, notes, together
from rigcard.resolve.model import Mix, Shape, Travel, Unit
from rigcard.solve.levels import TOLERANCE
from rigcard.solve.solved import ChannelResult, Row, Solved
from rigcard.words import decimal, microseconds, percent, signed_percent, steps

MEASURED = 24.0  # mm to write a pulse in


def handset_setup(face: Typeface, inner: float, solved: Solved, unit: Unit) -> Group:
    """Make the cards of one handset, channels in the order of their numbers."""
    assert unit.memory is not None
    assert unit.model.arithmetic is not None
    number, name = unit.memory
    pulse = unit.model.arithmetic.pulse
    blocks: list[Block] = [
        Block(
            tuple(
                row(
                    face,
                    [Cell("memory", SMALL), Cell(str(number), 20.0, True), Cell(name, 20.0, True)],
                    (22.0, 12.0, inner - 34.0),
                )
            )
        ),
        identity(face, inner, unit),
        space(0.8),
        paragraph(
            face,
            f"Start from a blank memory. Unless these cards say otherwise: {', '.join(_blank_memory(unit))}. "
            f"0 % is {microseconds(pulse.centre)}, 1 % is {decimal(pulse.per_percent, 3)} µs.",
            inner,
        ),
    ]
    for result in solved.results_of(unit.name):
        blocks.append(_channel(face, inner, solved, unit, result))
        if rows := solved.joint.get((unit.name, result.name)):
            blocks.append(together(face, inner, solved, unit, rows, True))
    trims = " Trims 0." if has_trims(unit) else ""
    last = f"All other mixes OFF.{trims} Range mode, if any, OFF. Set the failsafe last."
    blocks.append(paragraph(face, last, inner, bold=True))
    blocks += notes(face, inner, unit.notes)
    return Group(unit.label, unit.title, tuple(blocks), cautions.of_unit(solved.rig, unit), TECHNICIAN)


def _blank_memory(unit: Unit) -> list[str]:
    """Return the content of a handset's empty memory, as far as its model has such settings."""
    own = {"rate": "rates 100 %", "expo": "no expo", "slow": "no slow"}
    trims = ["trims 0"] if has_trims(unit) else []
    return [
        "mixes off",
        *trims,
        *(text for name, text in own.items() if name in unit.model.has),
        "all else off",
    ]


def _channel(face: Typeface, inner: float, solved: Solved, unit: Unit, result: ChannelResult) -> Block:
    assert unit.model.arithmetic is not None
    subtrim_percent = result.dial.subtrim * unit.model.arithmetic.subtrim_step
    first, last = result.control.positions[0].name, result.control.positions[-1].name
    dial = [
        Cell(_travel(result.dial.travel), BODY, True, label=f"TRAVEL {first} / {last}"),
        Cell(
            steps(result.dial.subtrim),
            BODY,
            True,
            kind="boxed" if result.dial.subtrim < 0 else "text",
            label=f"SUB-TRIM ({percent(subtrim_percent)})" if result.dial.subtrim else "SUB-TRIM",
        ),
        Cell("REVERSED" if result.dial.reversed else "normal", BODY, result.dial.reversed, label="DIRECTION"),
        Cell(_failsafe(result.failsafe), BODY, label="ON LOSS"),
    ]
    widths = [max(least, inner * least / 100) for least in (28.0, 22.0, 23.0)]
    more = [paragraph(face, _mix(unit, mix), inner, gap=0.8, keep=True) for mix in result.mixes]
    for shape in _shapes(unit, unit.channels[result.name].shape):
        more.append(paragraph(face, shape, inner, gap=0.8, keep=True))
    tolerance = TOLERANCE * unit.model.arithmetic.pulse.per_percent
    want = table(
        face,
        ("POSITION", "WANT", "", f"MEASURED ±{microseconds(tolerance)}"),
        [_want(solved, result, found) for found in result.rows],
        (inner - 38.5 - MEASURED, 19.0, 19.5, MEASURED),
        aligns=("left", "right", "right", "left"),
        ruled=False,
    )
    if result.solution:
        more.append(paragraph(face, _headroom(result), inner, size=10.0, gap=0.8, keep=True))
    return joined(
        heading(face, f"{result.number}   {result.name}   from {result.control.title}", inner),
        Block(tuple(row(face, dial, (*widths, inner - sum(widths)), keep=True, pad=0.4))),
        *([space(0.8, keep=True), *more] if more else []),
        want,
    )


def _travel(travel: Travel) -> str:
    return f"{decimal(travel.low)} / {decimal(travel.high)} %"


def _failsafe(failsafe: Fraction | str | None) -> str:
    if isinstance(failsafe, Fraction):
        return percent(failsafe)
    return {"hold": "hold", "none": "no pulses", None: "not stated"}[failsafe]


def _shapes(unit: Unit, shape: Shape) -> list[str]:
    """Return rate, expo and slow, then a line for each position of another control that switches them."""
    lines = [text] if (text := _shape(shape)) else []
    for one in shape.switched:
        parts = [f"RATE {percent(one.rate)}"] if one.rate is not None else []
        parts += [f"EXPO {percent(one.expo)}"] if one.expo is not None else []
        title = unit.model.controls[one.control].title
        lines.append(f"{'   '.join(parts)}, only while {title} is {place(one.position)}")
    return lines


def _shape(shape: Shape) -> str:
    parts = [f"RATE {percent(shape.rate)}"] if shape.rate != 100 or shape.switched else []
    parts += [f"EXPO {percent(shape.expo)}"] if shape.expo else []
    parts += [f"SLOW {decimal(shape.slow / 1000, 2)} s"] if shape.slow else []
    return "   ".join(parts)


def _mix(unit: Unit, mix: Mix) -> str:
    assert mix.rate is not None
    rate = percent(mix.rate.low)
    if mix.rate.high != mix.rate.low:
        rate = f"{percent(mix.rate.low)} / {percent(mix.rate.high)}"
    text = f"MIX IN {rate} of {mix.source}"
    if mix.while_control and mix.while_position:
        control = unit.model.controls[mix.while_control]
        text += f", only while {control.title} is {place(mix.while_position)}"
    return text


def _want(solved: Solved, result: ChannelResult, found: Row) -> list[Cell]:
    effects = list(dict.fromkeys(text for reading in found.readings if (text := effect(solved, reading))))
    title = place(found.position)
    if found.control != result.control.name:
        title = f"{solved.rig.units[result.handset].model.controls[found.control].title} {title}"
    title += meanwhile(solved.rig, result.handset, found)
    level = found.level.percent
    return [
        Cell(f"{title} → {', '.join(effects)}" if effects else title, 11.0),
        Cell(signed_percent(level), BODY, align="right", kind="boxed" if level < 0 else "text"),
        Cell(microseconds(found.pulse), BODY, True, "right"),
        _measured(solved, result, found),
    ]


def _measured(solved: Solved, result: ChannelResult, found: Row) -> Cell:
    """Return the value that was copied from a measured card, or a blank to write in."""
    for known in solved.rig.measurements:
        place_ = (known.handset, known.channel, known.control, known.position)
        if not found.conditions and place_ == (result.handset, result.name, found.control, found.position):
            return Cell(microseconds(known.pulse), BODY, align="centre")
    return BLANK


def _headroom(result: ChannelResult) -> str:
    assert result.solution is not None
    only = "no other values do as well" if result.solution.unique else "other values would do as well"
    if result.solution.headroom is None:
        return f"Calculated: {only}."
    return f"Calculated: margin {percent(result.solution.headroom)}; {only}."
