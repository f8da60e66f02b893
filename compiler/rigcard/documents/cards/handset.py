"""Set-up of a handset: DIAL, what goes into every channel, and MEASURE, what every pin must give."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from rigcard.documents.base.language import listed, say
from rigcard.documents.base.layout import (
    BLANK,
    BODY,
    LARGE,
    SMALL,
    Block,
    Cell,
    columns_for,
    heading,
    joined,
    paragraph,
    space,
    table,
)
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import effect, has_trims, place
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import TECHNICIAN, Group
from rigcard.documents.cards.parts import identity, notes, together
from rigcard.resolve.links import bound_receivers, leaving_by
from rigcard.resolve.model import End, Leg, Mix, Position, Shape, Travel, Unit
from rigcard.resolve.words import MENUS
from rigcard.solve.levels import TOLERANCE
from rigcard.solve.rules.measured import in_force
from rigcard.solve.solved import ChannelResult, JointRow, Row, Solved
from rigcard.words import decimal, microseconds, percent, signed_percent, steps

FULL_TRAVEL = Fraction(100)  # of a blank memory: common practice, no source
SLOTS = 3  # positions that a row of MEASURE has at most
WANT, WRITE, PIN, TITLE = 14.5, 14.0, 11.0, 24.0  # mm; of the title of a channel at least


def handset_setup(face: Typeface, inner: float, solved: Solved, unit: Unit) -> Group:
    """Make the cards of one handset: what to dial, then what to measure."""
    assert unit.memory is not None
    number, name = unit.memory
    results = solved.results_of(unit.name)
    memory = Cell(f"{number}  {name}", LARGE, True, label=say("MEMORY"))
    blocks: list[Block] = [
        identity(face, inner, unit, [memory]),
        space(0.8),
        joined(
            heading(face, say("DIAL"), inner),
            _blank_memory(face, inner, unit),
            _dial(face, inner, solved, unit),
        ),
    ]
    blocks += _mixes(face, inner, solved, unit)
    blocks += _switched(face, inner, solved, unit)
    blocks += [paragraph(face, text, inner, size=SMALL, gap=0.8) for one in results if (text := _headroom(one))]
    last = (
        say("All other mixes off, trims zero, range mode off. Set the failsafe last.")
        if has_trims(unit)
        else say("All other mixes off, range mode off. Set the failsafe last.")
    )
    blocks.append(paragraph(face, last, inner, bold=True))
    blocks += _learnt(face, inner, unit)
    blocks += notes(face, inner, unit.notes)
    blocks += _measure(face, inner, solved, unit)
    for result in results:
        rows = solved.joint.get((unit.name, result.name), ())
        if rows and len(rows[0].places) > 2:
            blocks.append(together(face, inner, solved, unit, rows, True))
    return Group(unit.label, unit.title, tuple(blocks), cautions.of_unit(solved.rig, unit), TECHNICIAN)


def channel_title(solved: Solved, result: ChannelResult) -> str:
    """Return what a channel does, by the inputs that listen to it; "" if none does."""
    titles = [feed.input.title for feed in solved.links.feeds_of(result.handset, result.name)]
    return listed(list(dict.fromkeys(titles))) if titles else ""


# ---- DIAL ----------------------------------------------------------------------------------------------------


def _learnt(face: Typeface, inner: float, unit: Unit) -> list[Block]:
    """Name what of the handset's arithmetic is known from readings and from nothing else."""
    bench = unit.model.bench
    if bench is None or not bench.unknown:
        return []
    said = {
        "pulse": say("pulse"),
        "step": say("size of a sub-trim step"),
        "shifts": say("what sub-trim moves"),
        "reverse": say("where reversal acts"),
        "mix": say("what a mix takes"),
        "output": say("where levels are cut off"),
    }
    what = listed([said[name] for name in bench.unknown])
    return [paragraph(face, say("Known from readings on the bench: {what}.", what=what), inner, size=SMALL)]


def _blank_memory(face: Typeface, inner: float, unit: Unit) -> Block:
    """Say what an empty memory holds, as far as its model has such settings."""
    own = {"rate": say("rates 100 %"), "expo": say("no expo"), "slow": say("no slow")}
    held = [
        say("travel 100 %"),
        say("sub-trim 0"),
        say("normal"),
        *(text for name, text in own.items() if name in unit.model.has),
    ]
    text = say("Start from a blank memory ({held}). Dial what is bold.", held=", ".join(held))
    return paragraph(face, text, inner, size=SMALL, gap=0.6, keep=True)


def _dial(face: Typeface, inner: float, solved: Solved, unit: Unit) -> Block:
    """Set one row a channel, its columns in the order of the handset's menus."""
    results = solved.results_of(unit.name)
    used = [name for name in unit.model.menus or MENUS if _is_used(unit, results, name)]
    head = (say("CH"), *(_HEADS[name]() for name in used))
    rows = [
        [Cell(str(result.number), BODY, True), *(_setting(solved, unit, result, name) for name in used)]
        for result in results
    ]
    aligns = ("left", *("left" if name in _WORDS else "right" for name in used))
    loose = 1 + used.index("control") if "control" in used else -1
    return table(face, head, rows, columns_for(face, head, rows, inner, loose), aligns=aligns, pad=0.5)


_HEADS = {
    "control": lambda: say("CONTROL"),
    "travel": lambda: say("TRAVEL, %"),
    "subtrim": lambda: say("SUB-TRIM, steps (%)"),
    "reverse": lambda: say("DIRECTION"),
    "rate": lambda: say("RATE, %"),
    "expo": lambda: say("EXPO, %"),
    "slow": lambda: say("SLOW, s"),
    "failsafe": lambda: say("ON LOSS"),
}
_WORDS = ("control", "reverse", "failsafe")  # columns that are no numbers
_SHAPES = {"rate": Fraction(100), "expo": Fraction(0), "slow": Fraction(0)}  # of a blank memory


def _is_used(unit: Unit, results: Sequence[ChannelResult], name: str) -> bool:
    """Whether a column is needed: rate, expo and slow only where a channel differs from a blank memory."""
    if name not in _SHAPES:
        return True
    return any(_shape_value(unit.channels[one.name].shape, name) != _SHAPES[name] for one in results)


def _shape_value(shape: Shape, name: str) -> Fraction:
    return {"rate": shape.rate, "expo": shape.expo, "slow": shape.slow}[name]


def _setting(solved: Solved, unit: Unit, result: ChannelResult, name: str) -> Cell:
    if name == "control":
        return Cell(result.control.title, BODY, label=channel_title(solved, result))
    if name == "travel":
        return _travel(result)
    if name == "subtrim":
        return _subtrim(unit, result.dial.subtrim)
    if name == "reverse":
        return Cell(say("REVERSED") if result.dial.reversed else say("normal"), BODY, result.dial.reversed)
    if name == "failsafe":
        return Cell(_failsafe(result.failsafe), BODY, True)
    value = _shape_value(unit.channels[result.name].shape, name)
    shown = decimal(value / 1000, 2) if name == "slow" else decimal(value)
    return Cell(shown, BODY, value != _SHAPES[name], "right")


def _travel(result: ChannelResult) -> Cell:
    """Return the travel of both sides, which are named where they differ."""
    travel: Travel = result.dial.travel
    first, last = result.control.positions[0], result.control.positions[-1]
    label = f"{place(first)} / {place(last)}" if travel.low != travel.high else ""
    blank = travel.low == travel.high == FULL_TRAVEL
    return Cell(f"{decimal(travel.low)} / {decimal(travel.high)}", BODY, not blank, "right", label=label)


def _subtrim(unit: Unit, count: int) -> Cell:
    assert unit.model.arithmetic is not None
    part = decimal(count * unit.model.arithmetic.subtrim_step)
    kind = "boxed" if count < 0 else "text"
    return Cell(f"{steps(count)} ({part})" if count else "0", BODY, bool(count), "right", kind)


def _failsafe(failsafe: Fraction | str | None) -> str:
    if isinstance(failsafe, Fraction):
        return percent(failsafe)
    return {
        "hold": say("hold"),
        "none": say("no pulses"),
        None: say("not stated: look"),
    }[failsafe]


def _mixes(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    """Set a line for each mix: what goes into what, how much, and when."""
    results = {result.name: result for result in solved.results_of(unit.name)}
    lines = []
    for result in results.values():
        for mix in result.mixes:
            parts = {"source": _mixed(solved, results[mix.source]), "target": _mixed(solved, result)}
            while_ = _during(unit, mix.while_control, mix.while_position)
            lines.append(
                say(
                    "MIX {rate} of {source} into {target}, only while {control}.",
                    rate=_rate(mix),
                    control=while_,
                    **parts,
                )
                if while_
                else say("MIX {rate} of {source} into {target}.", rate=_rate(mix), **parts)
            )
    return [paragraph(face, line, inner, bold=True, gap=0.8) for line in lines]


def _mixed(solved: Solved, result: ChannelResult) -> str:
    """Return a channel of a mix: its number, and what it does or else its control."""
    return f"{result.number} ({channel_title(solved, result) or result.control.title})"


def _rate(mix: Mix) -> str:
    assert mix.rate is not None
    if mix.rate.low == mix.rate.high:
        return percent(mix.rate.low)
    return f"{decimal(mix.rate.low)} / {percent(mix.rate.high)}"


def _during(unit: Unit, control: str | None, position: Position | None) -> str:
    if control is None or position is None:
        return ""
    return f"{unit.model.controls[control].title} {place(position)}"


def _switched(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    """Set the rates and expos that another control switches."""
    rows = [
        [
            Cell(_mixed(solved, result), BODY),
            Cell(decimal(one.rate) if one.rate is not None else "–", BODY, one.rate is not None, "right"),
            Cell(decimal(one.expo) if one.expo is not None else "–", BODY, one.expo is not None, "right"),
            Cell(_during(unit, one.control, one.position), BODY),
        ]
        for result in solved.results_of(unit.name)
        for one in unit.channels[result.name].shape.switched
    ]
    if not rows:
        return []
    head = (say("CH"), say("RATE, %"), say("EXPO, %"), say("ONLY WHILE"))
    widths = columns_for(face, head, rows, inner)
    aligns = ("left", "right", "right", "left")
    return [
        joined(
            heading(face, say("Switched rates"), inner),
            table(face, head, rows, widths, aligns=aligns, ruled=False),
        )
    ]


def _headroom(result: ChannelResult) -> str:
    """Say how good the values of an `auto` channel are; "" for others."""
    if result.solution is None:
        return ""
    margin, only = result.solution.headroom, result.solution.unique
    if margin is None:
        return (
            say("Channel {number}: calculated; no other values do as well.", number=result.number)
            if only
            else say("Channel {number}: calculated; other values would do as well.", number=result.number)
        )
    parts = {"number": result.number, "margin": percent(margin)}
    return (
        say("Channel {number}: calculated, margin {margin}; no other values do as well.", **parts)
        if only
        else say("Channel {number}: calculated, margin {margin}; other values would do as well.", **parts)
    )


# ---- MEASURE -------------------------------------------------------------------------------------------------


class _Reading(NamedTuple):
    """What one position, or two together, must give; `read` is what a measured card says, if that is known."""

    position: str
    effect: str
    level: Fraction
    pulse: Fraction
    read: Fraction | None


class _Line(NamedTuple):
    """A row of the table: what is moved, and its readings by slot."""

    moved: str
    readings: list[_Reading | None]


def _measure(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    """Set where each channel leaves, what it must give in each position, and room to write what it gives."""
    assert unit.model.arithmetic is not None
    pulse = unit.model.arithmetic.pulse
    slots = _most_slots(solved, unit, inner)
    rows = []
    bare = []
    for result in solved.results_of(unit.name):
        points = leaving_by(solved.rig, solved.links, unit, result.number)
        lines = _lines(solved, unit, result, slots)
        if points:
            rows += _rows(solved, unit, result, points, lines)
        else:
            bare.append(_bare_row(solved, result, lines))
    found = []
    if rows:
        title = inner - slots * (WANT + WRITE) - PIN
        words = say(
            "Each value may be {tolerance} off. 0 % is {centre}, 1 % is {step} µs.",
            tolerance=microseconds(TOLERANCE * pulse.per_percent),
            centre=microseconds(pulse.centre),
            step=decimal(pulse.per_percent, 3),
        )
        head = (say("CH"), say("PIN"), *(slots * (say("WANT, µs"), say("READ, µs"))))
        made = joined(
            heading(face, say("MEASURE"), inner),
            paragraph(face, words, inner, size=SMALL, gap=0.6, keep=True),
            table(face, head, rows, (title, PIN, *(slots * (WANT, WRITE))), pad=0.6),
        )
        found.append(_undivided(made))
    if bare:
        head = (say("CH WITHOUT A PIN"), say("GIVES"), say("READ IT AT"))
        found.append(table(face, head, bare, columns_for(face, head, bare, inner, 1), ruled=False))
    return found


def _most_slots(solved: Solved, unit: Unit, inner: float) -> int:
    """Return how many positions stand beside each other: no more than some channel has, and than there is room for."""
    held = max(1, min(SLOTS, int((inner - PIN - TITLE) // (WANT + WRITE))))
    lines = [line for result in solved.results_of(unit.name) for line in _lines(solved, unit, result, held)]
    return max((sum(found is not None for found in line.readings) for line in lines), default=held)


def _undivided(block: Block) -> Block:
    """Keep a block on one side, if it fits on one."""
    *most, last = block.boxes
    return Block((*(box._replace(prefer_with_next=True) for box in most), last), block.again)


def _rows(
    solved: Solved,
    unit: Unit,
    result: ChannelResult,
    points: Sequence[tuple[End, Leg | None]],
    lines: Sequence[_Line],
) -> list[list[Cell]]:
    """Return the rows of a channel that leaves by a pin."""
    rig = solved.rig
    many = len(bound_receivers(rig, unit)) > 1
    pins = [
        f"{rig.units[end.unit].label} {rig.port(end).label}" if many else rig.port(end).label
        for end, _ in points
    ]
    cables = ", ".join(leg.id for _, leg in points if leg)
    title = channel_title(solved, result) or result.control.title
    rows = []
    for number, line in enumerate(lines):
        first = (
            Cell(f"{result.number}  {title}", BODY, label=line.moved) if number == 0 else Cell(label=line.moved)
        )
        pin = Cell("\n".join(pins), BODY, label=cables) if number == 0 else Cell()
        rows.append([first, pin, *(cell for found in line.readings for cell in _slot(found))])
    return rows


def _slot(found: _Reading | None) -> tuple[Cell, Cell]:
    if found is None:
        return Cell(), Cell()
    label = "\n".join(part for part in (found.position, signed_percent(found.level), found.effect) if part)
    read = BLANK if found.read is None else Cell(decimal(found.read), BODY, align="centre")
    return Cell(decimal(found.pulse), BODY, True, label=label), read


def _bare_row(solved: Solved, result: ChannelResult, lines: Sequence[_Line]) -> list[Cell]:
    """Return the row of a channel that leaves by no pin: what it gives, and the unit that its line ends at."""
    title = channel_title(solved, result) or result.control.title
    given = [
        f"{' '.join(part for part in (line.moved, found.position) if part)} {signed_percent(found.level)}"
        for line in lines
        for found in line.readings
        if found
    ]
    feeds = solved.links.feeds_of(result.handset, result.name)
    ends = [solved.rig.units[feed.unit].title for feed in feeds]
    where = listed(list(dict.fromkeys(ends))) if ends else say("nothing listens")
    return [
        Cell(f"{result.number}  {title}", SMALL),
        Cell(", ".join(given), SMALL),
        Cell(where, SMALL),
    ]


def _lines(solved: Solved, unit: Unit, result: ChannelResult, slots: int) -> list[_Line]:
    """Return a line for each control that moves a channel; two that share it make a grid of their positions."""
    joint = solved.joint.get((unit.name, result.name), ())
    if joint and len(joint[0].places) == 2:
        return _grid(solved, unit, result, joint, slots)
    runs: dict[tuple[str, str], list[_Reading]] = {}
    for found in sorted(result.rows, key=lambda row: row.position.value):
        controls = unit.model.controls
        stands = [f"{controls[name].title} {place(position)}" for name, position in found.conditions]
        own = controls[found.control].title if found.control != result.control.name else ""
        moved = say("{control} with {others}", control=own, others=listed(stands)) if stands else own
        reading = _Reading(
            place(found.position), "", found.level.percent, found.pulse, _known(solved, result, found)
        )
        runs.setdefault((found.control, moved.strip()), []).append(reading)
    return [
        _Line(moved if at == 0 else "", _slots(run[at : at + slots], slots))
        for (_, moved), run in runs.items()
        for at in range(0, len(run), slots)
    ]


def _grid(
    solved: Solved, unit: Unit, result: ChannelResult, joint: Sequence[JointRow], slots: int
) -> list[_Line]:
    """Return a line for each position of one control, with a slot for each position of the other."""
    assert unit.model.arithmetic is not None
    controls = unit.model.controls
    lines: dict[str, list[_Reading]] = {}
    for found in joint:
        (down, stands), (across, other) = found.places
        effects = ", ".join(text for reading in found.readings if (text := effect(solved, reading)))
        reading = _Reading(
            place(other),
            f"{effects}{' !' if found.unasked and not found.harmless else ''}",
            found.level.percent,
            unit.model.arithmetic.pulse.width(found.level.percent),
            _known_together(solved, result, found),
        )
        lines.setdefault(f"{controls[down].title} {place(stands)}, {controls[across].title}", []).append(
            reading
        )
    return [
        _Line(moved, _slots(run[at : at + slots], slots))
        for moved, run in lines.items()
        for at in range(0, len(run), slots)
    ]


def _known_together(solved: Solved, result: ChannelResult, found: JointRow) -> Fraction | None:
    """Return what was measured with one of two controls moved and the other one at its power-up position."""
    home = solved.power_up_positions
    moved = [
        (name, position)
        for name, position in found.places
        if (result.handset, name) in home and home[result.handset, name] != position
    ]
    for row in result.rows:
        if not row.conditions and (moved == [(row.control, row.position)] or not moved):
            at_home = home.get((result.handset, row.control)) == row.position
            if (moved or at_home) and (known := _known(solved, result, row)) is not None:
                return known
    return None


def _known(solved: Solved, result: ChannelResult, found: Row) -> Fraction | None:
    """Return the value that was copied from a measured card, if there is one."""
    for known in in_force(solved.rig):
        place_ = (known.handset, known.channel, known.control, known.position)
        if not found.conditions and place_ == (result.handset, result.name, found.control, found.position):
            return known.pulse
    return None


def _slots(run: Sequence[_Reading], slots: int) -> list[_Reading | None]:
    """Put two readings into the first and the last slot, so that ends stand below ends."""
    if len(run) == 2 < slots:
        return [run[0], None, run[1]]
    return [*run, *[None] * (slots - len(run))]
