"""Parts that several cards share: identity and connections of a unit, steps to call out, words for effects."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from rigcard.documents.base.layout import (
    AFTER,
    BODY,
    MOST_LINES,
    RULE,
    SMALL,
    TICK,
    TICK_LINE,
    TICK_SIZE,
    Block,
    Box,
    Cell,
    heading,
    joined,
    line_height,
    paragraph,
    row,
    space,
    table,
    text_at,
    wrap,
)
from rigcard.documents.base.model import Line, Mark, Rectangle, Typeface
from rigcard.documents.cards.cautions import Caution
from rigcard.resolve.links import obeying
from rigcard.resolve.model import CENTRE, End, Leg, Position, Rig, Unit
from rigcard.resolve.once import once_a_rig
from rigcard.resolve.words import ROLES
from rigcard.solve.bearing import scaled_turns
from rigcard.solve.loss import is_record
from rigcard.solve.solved import JointRow, Reading, Row, Solved
from rigcard.solve.turning import shown_turn, turn_read
from rigcard.words import listed, signed_percent

STEP_INDENT = 8.0


def place(position: Position) -> str:
    """Return a position as cards write it: AWAY, MIDDLE, CENTRE."""
    return position.name.upper()


def control_title(rig: Rig, handset: str, control: str) -> str:
    """Return a control's name on cards: after its handset if the rig has more than one."""
    title, whose = rig.units[handset].model.controls[control].title, handset_title(rig, handset)
    return f"{whose}: {title}" if whose else title


def meanwhile(rig: Rig, handset: str, row: Row) -> str:
    """Return where other controls stand at the same time: ` with the Speed toggle TOWARD`, or nothing."""
    controls = rig.units[handset].model.controls
    stands = [f"the {controls[control].title} {place(position)}" for control, position in row.conditions]
    return f" with {listed(stands)}" if stands else ""


def the(title: str) -> str:
    """Return a title for mid-sentence: `the head handset`; one that looks like a name keeps its capital."""
    first, *more = title.split(" ")
    plain = first.isascii() and first.isalpha() and first[1:].islower() and all(map(str.islower, more))
    known = plain and (more or first.lower() in ROLES)
    return f"the {title[0].lower()}{title[1:]}" if known else f"the {title}"


def sentence(text: str) -> str:
    """Capitalise the first letter of a text."""
    return f"{text[:1].upper()}{text[1:]}"


def handset_title(rig: Rig, handset: str) -> str:
    """Return the title of a handset, or nothing if the rig has only one."""
    handsets = [unit for unit in rig.units.values() if unit.role == "handset"]
    return rig.units[handset].title if len(handsets) > 1 else ""


class SlowAxis(NamedTuple):
    """An axis that a control can slow or stop: what is seen, and which way to turn the control."""

    handset: str
    control: str
    axis: str
    fast: str
    least: str


def slow_axes(solved: Solved) -> list[SlowAxis]:
    """Return every axis that a dial scales: at the dial's slow end it looks dead."""
    found = []
    for feed in solved.links.feeds:
        for axis, turns in scaled_turns(solved, feed):
            (slow, least), (fast, _) = (choose(turns, key=lambda turn: turn[1]) for choose in (min, max))
            assert axis.input.sweep
            found.append(
                SlowAxis(
                    handset=feed.handset,
                    control=solved.results[feed.handset, feed.channel].control.name,
                    axis=f"{axis.input.title} slow or dead",
                    fast=place(fast),
                    least=f"at {place(slow)} it turns {shown_turn(axis.input.sweep, least)}",
                )
            )
    return found


def effect_and_turn(solved: Solved, reading: Reading) -> str:
    """Return the effect of a reading, and how far or how fast an axis turns there, if known."""
    sweep, shown = reading.feed.input.sweep, effect(solved, reading)
    if not shown or sweep is None or sweep.full is None:
        return shown
    return f"{shown} {shown_turn(sweep, turn_read(reading))}"


def effect(solved: Solved, reading: Reading) -> str:
    """Return the effect of a reading for people: `run`, `Frame marker`, `Iris open`, `Pan left`."""
    if not reading.state:
        return "outside every band"
    if not reading.effects:
        if reading.feed.input.sweep:
            return "" if reading.state == CENTRE else f"{reading.feed.input.title} {reading.state}"
        return f"{reading.feed.input.title} {reading.state}"
    if reading.feed.input.sweep:
        shown = [f"{reading.feed.input.title} {found.does}" for found in reading.effects]
    else:
        shown = [
            (found.does or found.command)
            + (f" (each press changes {' and '.join(found.toggles)})" if found.toggles else "")
            for found in reading.effects
        ]
    return ", ".join(dict.fromkeys(shown))


def has_trims(unit: Unit) -> bool:
    """Whether a handset has trims, according to its model."""
    return any(control.trim for control in unit.model.controls.values())


def recording(solved: Solved, units: Iterable[str], state: str) -> list[str]:
    """Return the control positions that bring a recording of these units to a state: `Front toggle AWAY`."""
    found = []
    for feed in solved.links.feeds:
        obeys = {feed.unit, *(order.receiver for order in obeying(solved.rig, solved.links, feed))}
        if not is_record(feed.input.states) or obeys.isdisjoint(units):
            continue
        for line in solved.results[feed.handset, feed.channel].rows:
            if any(reading.feed == feed and reading.state == state for reading in line.readings):
                found.append(f"{control_title(solved.rig, feed.handset, line.control)} {place(line.position)}")
    return found


def port_name(rig: Rig, unit: str, port: str) -> str:
    """Return a port for people: the unit's title and the marking at the port."""
    known = rig.units[unit]
    return f"{known.title}, {known.model.ports[port].label}"


def identity(face: Typeface, inner: float, unit: Unit) -> Block:
    """Set what to compare with the plate on the device, with blanks for what the file does not state."""
    rows = [
        [Cell(label, SMALL), Cell(text, BODY, True) if text else Cell("________________")]
        for label, text in (
            ("model", unit.model.title),
            ("asset", unit.asset),
            ("serial", unit.serial),
            ("software", unit.software),
        )
        if text or label == "asset"
    ]
    return Block(
        tuple(piece for cells in rows for piece in row(face, cells, (22.0, inner - 22.0), ruled=False))
    )


@once_a_rig
def _ends_at(rig: Rig) -> dict[str, list[tuple[Leg, End, End]]]:
    """Return for each unit the legs that end there: the leg, that end, and the other end."""
    found: dict[str, list[tuple[Leg, End, End]]] = {}
    for cable in rig.cables.values():
        for leg in cable.legs:
            ends = [end for end in (leg.first, leg.second) if end]
            for end, other in zip(ends, reversed(ends), strict=True):
                found.setdefault(end.unit, []).append((leg, end, other))
    return found


def connections(face: Typeface, inner: float, rig: Rig, unit: Unit) -> Block | None:
    """Set every lead at a unit: port, cable, where the other end goes."""
    rows = [
        [
            Cell(rig.port(end).label, BODY, True),
            Cell(leg.id, BODY),
            Cell(port_name(rig, other.unit, other.port), BODY),
        ]
        for leg, end, other in _ends_at(rig).get(unit.name, ())
    ]
    if not rows:
        return None
    head = ("PORT", "CABLE", "OTHER END")
    return joined(heading(face, "Leads", inner), table(face, head, rows, (24.0, 20.0, inner - 44.0)))


def settings(face: Typeface, inner: float, unit: Unit) -> Block | None:
    """Set the menu settings, each with its value and a box to tick."""
    rows = [
        [Cell(unit.model.settings[name].menu, BODY), Cell(value.text, BODY, True), TICK]
        for name, value in unit.settings.items()
    ]
    if not rows:
        return None
    head = ("MENU", "SET TO", "SEEN")
    return joined(
        heading(face, "Settings", inner),
        table(face, head, rows, ((inner - 11.0) * 0.65, (inner - 11.0) * 0.35, 11.0)),
    )


def notes(face: Typeface, inner: float, texts: Sequence[str]) -> list[Block]:
    """Set the notes of the rig's author unchanged."""
    if not texts:
        return []
    return [heading(face, "Notes", inner), *(paragraph(face, text, inner) for text in texts)]


def notice(face: Typeface, inner: float, caution: Caution) -> Block:
    """Set a caution that is not pinned, under its signal word; a NOTICE has no triangle (ANSI Z535.4)."""
    lines = wrap(face, f"{caution.word}: {caution.text}", 11.0, inner - 4.0, bold=True)
    height = len(lines) * line_height(11.0) + 1.6
    marks: list[Mark] = [Rectangle(0, 0.6, inner, height, 0.3)]
    marks += [
        text_at(face, 2.0, 1.4 + at * line_height(11.0), line, 11.0, bold=True) for at, line in enumerate(lines)
    ]
    return Block((Box(height + 2.1, tuple(marks), trailing_space=1.5),))


def steps(
    face: Typeface, inner: float, actions: Iterable[tuple[str, str]], bold: frozenset[int] | None = None
) -> Block:
    """Set numbered lines, each with an action, its visible result and a tick box.

    `bold`: numbers set in bold.
    """
    pieces = []
    width = inner - STEP_INDENT - 10.0
    for number, (do, see) in enumerate(actions, 1):
        lines = [(line, False) for line in wrap(face, do, BODY, width)]
        lines += [(line, True) for line in (wrap(face, f"→ {see}", BODY, width, bold=True) if see else [])]
        heavy = bold is None or number in bold
        for start in range(0, len(lines), MOST_LINES):  # a very long step continues below
            chunk = lines[start : start + MOST_LINES]
            last = start + MOST_LINES >= len(lines)
            pieces.append(_step_piece(face, inner, chunk, str(number) if start == 0 else "", heavy, last))
    return joined(Block(tuple(pieces)), space(AFTER))


def _step_piece(
    face: Typeface, inner: float, lines: list[tuple[str, bool]], number: str, heavy: bool, last: bool
) -> Box:
    """Set lines of a step (text, bold); its number and tick box stand beside the first ones."""
    height = max(len(lines) * line_height(BODY), TICK_SIZE if number else 0.0) + 1.2
    top = (height - len(lines) * line_height(BODY)) / 2
    marks: list[Mark] = [
        text_at(face, STEP_INDENT, top + at * line_height(BODY), line, BODY, bold=bold)
        for at, (line, bold) in enumerate(lines)
    ]
    if number:
        marks.append(text_at(face, 0.5, top, number, BODY, bold=heavy))
        marks.append(
            Rectangle(inner - TICK_SIZE - 1, (height - TICK_SIZE) / 2, TICK_SIZE, TICK_SIZE, TICK_LINE)
        )
    if last:
        marks.append(Line(((0, height), (inner, height)), RULE))
    return Box(height, tuple(marks))


def together(
    face: Typeface, inner: float, solved: Solved, unit: Unit, rows: tuple[JointRow, ...], with_levels: bool
) -> Block:
    """Set the truth table of controls that share a channel; `!` marks what another position should give."""
    names = [unit.model.controls[control].title for control, _ in rows[0].places]
    gives = inner * (0.39 if with_levels else 0.48)
    width = (inner - 16.0 * with_levels - gives) / len(names)
    cells = []
    for line in rows:
        effects = [text for reading in line.readings if (text := effect(solved, reading))]
        level = [Cell(signed_percent(line.level.percent), 11.0, align="right")] if with_levels else []
        cells.append(
            [
                *(Cell(place(position), 11.0) for _, position in line.places),
                *level,
                Cell(", ".join(effects) + (" !" if line.unasked and not line.harmless else ""), 11.0, True),
            ]
        )
    head = (*names, *(("LEVEL",) if with_levels else ()), "GIVES")
    widths = (*(width for _ in names), *((16.0,) if with_levels else ()), gives)
    aligns = (*("left" for _ in names), *(("right",) if with_levels else ()), "left")
    return joined(heading(face, "Together", inner), table(face, head, cells, widths, aligns=aligns))
