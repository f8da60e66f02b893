"""Parts that several cards share: identity and connections of a unit, settings, notices, steps to call out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

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
from rigcard.documents.base.phrases import effect, place, port_name
from rigcard.documents.cards.cautions import Caution
from rigcard.resolve.model import End, Leg, Rig, Unit
from rigcard.resolve.once import once_a_rig
from rigcard.solve.solved import JointRow, Solved
from rigcard.words import signed_percent

STEP_INDENT = 8.0


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
    face: Typeface,
    inner: float,
    actions: Iterable[tuple[str, str]],
    bold: frozenset[int] | None = None,
    first: int = 1,
) -> Block:
    """Set numbered lines, each with an action, its visible result and a tick box.

    `bold`: numbers set in bold. `first`: the number of the first line.
    """
    pieces = []
    width = inner - STEP_INDENT - 10.0
    for number, (do, see) in enumerate(actions, first):
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
