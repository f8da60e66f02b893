"""Two controls of one channel moved at once: one sentence where it can be said, otherwise a grid of positions."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import Block, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import place, seen
from rigcard.documents.cards.parts import together
from rigcard.resolve.model import Unit
from rigcard.solve.solved import JointRow, Solved


def at_once(
    face: Typeface, inner: float, solved: Solved, unit: Unit, rows: Sequence[JointRow], size: float
) -> Block | None:
    """Set what controls do together that the table of single controls does not show; None if there is nothing."""
    home = solved.power_up_positions
    both = [line for line in rows if sum(place_ != home[unit.name, name] for name, place_ in line.places) > 1]
    if not both:
        return None
    names = [name for name, _ in rows[0].places]
    if len(names) != 2:
        return together(face, inner, solved, unit, tuple(both), False)
    title = heading(face, say("Both moved at once"), inner)
    if winner := _winner(solved, unit, rows, both):
        text = say("Only {control} counts.", control=unit.model.controls[winner].title)
        return joined(title, paragraph(face, text, inner))
    return joined(title, _grid(face, inner, solved, unit, rows, size))


def _gives(solved: Solved, line: JointRow) -> str:
    """Return what is seen with controls in these positions; nothing where a rest state sends no command."""
    silent = [
        reading.band is not None and reading.band.rest and not reading.effects for reading in line.readings
    ]
    found = [seen(solved, reading) for reading, still in zip(line.readings, silent, strict=True) if not still]
    return ", ".join(dict.fromkeys(text for text in found if text))


def _winner(solved: Solved, unit: Unit, rows: Sequence[JointRow], both: Sequence[JointRow]) -> str:
    """Return the control that alone decides whenever both are moved, "" if there is none."""
    home = solved.power_up_positions
    for name, _ in rows[0].places:
        alone = {
            dict(line.places)[name].name: _gives(solved, line)
            for line in rows
            if all(place_ == home[unit.name, other] for other, place_ in line.places if other != name)
        }
        if all(alone.get(dict(line.places)[name].name) == _gives(solved, line) for line in both):
            return name
    return ""


def _grid(
    face: Typeface, inner: float, solved: Solved, unit: Unit, rows: Sequence[JointRow], size: float
) -> Block:
    """Set a row for each position of the first control, a column for each of the second; `!` marks a surprise."""
    (down, _), (across, _) = rows[0].places
    tops = list(dict.fromkeys(dict(line.places)[across] for line in rows))
    sides = list(dict.fromkeys(dict(line.places)[down] for line in rows))
    found = {(dict(line.places)[down], dict(line.places)[across]): line for line in rows}
    cells = []
    for side in sides:
        texts = []
        for top in tops:
            line = found.get((side, top))
            mark = " !" if line and line.unasked and not line.harmless else ""
            texts.append(f"{_gives(solved, line) if line else ''}{mark}".strip() or "–")
        cells.append([Cell(place(side), size), *(Cell(text, size, True) for text in texts)])
    first, second = (unit.model.controls[name].title for name in (down, across))
    head = (first, *(f"{second} {place(top)}" for top in tops))
    widths = (inner * 0.22, *([inner * 0.78 / len(tops)] * len(tops)))
    return table(face, head, cells, widths, pad=0.6)
