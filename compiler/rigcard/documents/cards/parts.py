"""Parts that several cards share: identity and connections of a unit, settings, notices, steps to call out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigcard.documents.base.language import listed, say
from rigcard.documents.base.layout import (
    AFTER,
    BODY,
    GAP,
    LABEL,
    MOST_LINES,
    PAD,
    RULE,
    RULED,
    SMALL,
    TICK,
    TICK_LINE,
    TICK_SIZE,
    Block,
    Box,
    Cell,
    columns_for,
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
from rigcard.resolve.links import plugs
from rigcard.resolve.model import Rig, Unit
from rigcard.solve.solved import JointRow, Solved
from rigcard.words import signed_percent

STEP_INDENT = 8.0


def identity(face: Typeface, inner: float, unit: Unit, first: Sequence[Cell] = ()) -> Block:
    """Set what to compare with the plate on the device, with a line to write the asset on if nobody states it.

    `first` are cells that come before.
    """
    facts = [
        (say("MODEL"), unit.model.title if unit.model.title != unit.title else ""),
        (say("ASSET"), unit.asset or "____________"),
        (say("SERIAL"), unit.serial),
        (say("SOFTWARE"), unit.software),
    ]
    cells = [*first, *(Cell(text, BODY, label=label) for label, text in facts if text)]
    least = [
        max(face.width(cell.text, cell.size, cell.bold), face.width(cell.label, LABEL)) + 4 for cell in cells
    ]
    boxes: list[Box] = []
    while cells:  # as many beside each other as a row holds
        count = max(1, next((n for n in range(len(cells), 0, -1) if sum(least[:n]) <= inner), 1))
        rest = max(0.0, inner - sum(least[:count]))
        widths = [*least[: count - 1], least[count - 1] + rest] if count > 1 else [inner]
        boxes += row(face, cells[:count], widths, ruled=False, pad=0.5)
        cells, least = cells[count:], least[count:]
    return Block(tuple(boxes))


def leads_of(rig: Rig, unit: Unit) -> list[list[Cell]]:
    """Return a row for every lead at a unit, in the order of its ports: port, cable, where the other end goes."""
    ports = list(unit.model.ports)
    return [
        [
            Cell(rig.port(plug.end).label, BODY),
            Cell(plug.leg.id, BODY),
            Cell(port_name(rig, *(plug.other or plug.end)[:2]), BODY),
        ]
        for plug in sorted(plugs(rig).get(unit.name, ()), key=lambda plug: ports.index(plug.end.port))
    ]


def connections(face: Typeface, inner: float, rig: Rig, unit: Unit, titled: bool) -> Block | None:
    """Set every lead at a unit; `titled` for a card of one device."""
    if unit.role == "receiver":
        return None  # its pins are a table of their own
    rows = leads_of(rig, unit)
    if not rows:
        return None
    head = (say("PORT"), say("CABLE"), say("OTHER END"))
    made = table(face, head, rows, columns_for(face, head, rows, inner), ruled=False, pad=0.35)
    return joined(heading(face, say("Leads"), inner), made) if titled else made


def settings(face: Typeface, inner: float, unit: Unit) -> Block | None:
    """Set the menu settings, each with its value, what it was before, and a box to tick."""
    stated = [(unit.model.settings[name], value.text) for name, value in unit.settings.items()]
    if not stated:
        return None
    defaults = any(known.default for known, _ in stated)
    rows = [
        [
            Cell(known.menu, BODY),
            Cell(value, BODY, True),
            *([Cell(known.default, SMALL)] if defaults else []),
            TICK,
        ]
        for known, value in stated
    ]
    head = (say("MENU"), say("SET TO"), *((say("DEFAULT"),) if defaults else ()), say("SEEN"))
    widths = columns_for(face, head, rows, inner, loose=0)
    aligns = (*("left" for _ in head[1:]), "centre")
    return joined(heading(face, say("Settings"), inner), table(face, head, rows, widths, aligns=aligns))


def notes(face: Typeface, inner: float, texts: Sequence[str]) -> list[Block]:
    """Set the notes of the rig's author unchanged."""
    return [paragraph(face, say("Note: {text}", text=text), inner, gap=0.8) for text in texts]


def notice(face: Typeface, inner: float, caution: Caution) -> Block:
    """Set a caution that is not pinned, under its signal word; a NOTICE has no triangle (ANSI Z535.4)."""
    lines = wrap(face, f"{caution.word}: {caution.text}", BODY, inner - 4.0, bold=True)
    height = len(lines) * line_height(BODY) + 1.6
    marks: list[Mark] = [Rectangle(0, 0.6, inner, height, 0.3)]
    marks += [
        text_at(face, 2.0, 1.4 + at * line_height(BODY), line, BODY, bold=True) for at, line in enumerate(lines)
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
            last = start + MOST_LINES >= len(lines) and number % RULED == 0
            pieces.append(_step_piece(face, inner, chunk, str(number) if start == 0 else "", heavy, last))
    return joined(Block(tuple(pieces)), space(AFTER))


def _step_piece(
    face: Typeface, inner: float, lines: list[tuple[str, bool]], number: str, heavy: bool, ruled: bool
) -> Box:
    """Set lines of a step (text, bold); its number and tick box stand beside the first ones."""
    height = max(len(lines) * line_height(BODY) + 1.2, TICK_SIZE + 2 * PAD if number else 0.0)
    top = (height - len(lines) * line_height(BODY)) / 2
    marks: list[Mark] = [
        text_at(face, STEP_INDENT, top + at * line_height(BODY), line, BODY, bold=bold)
        for at, (line, bold) in enumerate(lines)
    ]
    if number:
        marks.append(text_at(face, 0, top, number, BODY, bold=heavy))
        marks.append(Rectangle(inner - TICK_SIZE, (height - TICK_SIZE) / 2, TICK_SIZE, TICK_SIZE, TICK_LINE))
    if ruled:
        marks.append(Line(((0, height), (inner, height)), RULE))
    return Box(height, tuple(marks))


def together(
    face: Typeface, inner: float, solved: Solved, unit: Unit, rows: tuple[JointRow, ...], with_levels: bool
) -> Block:
    """Set grids of what the controls of one channel give together: one down, the next across.

    Further controls make a grid for each combination of their positions. `!` marks what another position should
    give; "–" a combination that is not among the rows.
    """
    down, across, *more = (control for control, _ in rows[0].places)
    found: dict[tuple[str, ...], list[JointRow]] = {}
    for line in rows:
        places = dict(line.places)
        found.setdefault(tuple(place(places[control]) for control in more), []).append(line)
    blocks = []
    for stands, lines in found.items():
        titles = [unit.model.controls[control].title for control in (down, across, *more)]
        other = (
            listed([f"{title} {stand}" for title, stand in zip(titles[2:], stands, strict=True)])
            if more
            else ""
        )
        title = (
            say("{one} and {other} together, {more}", one=titles[0], other=titles[1], more=other)
            if more
            else say("{one} and {other} together", one=titles[0], other=titles[1])
        )
        blocks.append(joined(heading(face, title, inner), _grid(face, inner, solved, unit, lines, with_levels)))
    return joined(*blocks)


def _grid(
    face: Typeface, inner: float, solved: Solved, unit: Unit, lines: Sequence[JointRow], with_levels: bool
) -> Block:
    """Set one grid: a row for each position of the first control, a column for each of the second."""
    (down, _), (across, _), *_ = lines[0].places
    at = {(dict(line.places)[down].name, dict(line.places)[across].name): line for line in lines}
    columns = [one for one in unit.model.controls[across].positions if any(key[1] == one.name for key in at)]
    places_down = [one for one in unit.model.controls[down].positions if any(key[0] == one.name for key in at)]
    title = unit.model.controls[across].title
    head = ("", *(f"{title} {place(position)}" for position in columns))
    rows = [
        [
            Cell(f"{unit.model.controls[down].title} {place(position)}", SMALL),
            *(_given(solved, at.get((position.name, other.name)), with_levels) for other in columns),
        ]
        for position in places_down
    ]
    first = min(inner * 0.3, max(face.width(cells[0].text, SMALL) for cells in rows) + GAP)
    widths = (first, *((inner - first) / len(columns) for _ in columns))
    return table(face, head, rows, widths)


def _given(solved: Solved, line: JointRow | None, with_level: bool) -> Cell:
    if line is None:
        return Cell("–", BODY)
    effects = ", ".join(text for reading in line.readings if (text := effect(solved, reading)))
    mark = " !" if line.unasked and not line.harmless else ""
    level = signed_percent(line.level.percent) if with_level else ""
    return Cell(f"{effects or '–'}{mark}", BODY, True, label=level)
