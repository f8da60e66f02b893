"""The drawing of a handset as held, the far edge at the top, with leaders to letters that never cross."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import cos, radians, sin

from rigcard.documents.base.layout import Box, line_height, text_at
from rigcard.documents.base.model import Circle, Line, Mark, Rectangle, Typeface, moved
from rigcard.documents.cards.leaders import RADIUS, Area, Point, lead
from rigcard.resolve.model import Control, Position, Unit

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
TALLEST = 0.45  # greatest height as a share of the card's width, so that the drawing fits on the first card
EDGE = 8.0  # points: type size of the words that name the edges
TOP = 5.5  # mm above the drawing, for switches on its far edge
MARGIN = 15.0  # mm at each side for the letters
HEAVY, THIN = 0.5, 0.12
CROSS = 4.2  # mm from centre to end of the cross over a control that nobody may touch
REACH = {True: 3.6, False: 5.0}  # mm that a knob moves from the centre: of a switch, and of any other control
ACROSS = frozenset(("left", "right"))


def face_drawing(
    face: Typeface,
    unit: Unit,
    standing: Mapping[str, Position],
    letters: Mapping[str, str],
    width: float,
) -> Box | None:
    """Draw lettered controls bold in their positions, the others thin; None if the model has no face."""
    model = unit.model
    placed = [control for control in model.controls.values() if control.at]
    if model.front is None or not placed:
        return None
    scale = min((width - 2 * MARGIN) / float(model.front[0]), TALLEST * width / float(model.front[1]))
    body_width, height = float(model.front[0]) * scale, float(model.front[1]) * scale
    left = (width - body_width) / 2

    def at(control: Control) -> Point:
        assert control.at is not None
        return left + float(control.at[0]) * scale, TOP + height - float(control.at[1]) * scale

    points = {control.name: at(control) for control in placed if control.name in letters}
    areas = {control.name: _area(control, at(control), standing.get(control.name)) for control in placed}
    leaders = lead(points, areas, width, height + TOP)
    marks: list[Mark] = [Rectangle(left, TOP, body_width, height, 0.4, radius=5.0)]
    marks += [Line(leader.points, 0.2) for leader in leaders]
    for control in placed:
        used = control.name in letters
        marks += _control(control, at(control), standing.get(control.name), used)
        if control.name in unit.leave:
            x, y = at(control)
            marks += [
                Line(((x - CROSS, y - way * CROSS), (x + CROSS, y + way * CROSS)), HEAVY) for way in (-1, 1)
            ]
    for leader in leaders:
        outward = -RADIUS if leader.end[0] < width / 2 else RADIUS
        x, y = leader.end[0] + outward, leader.end[1]
        marks.append(Circle(x, y, RADIUS, 0.4))
        letter = letters[leader.name]
        marks.append(text_at(face, x - 3, y - 2.6, letter, 12.0, bold=True, align="centre", width=6))
    bottom = max([height + TOP, *(leader.end[1] + RADIUS for leader in leaders)])
    line = line_height(EDGE)
    marks = [moved(mark, 0, line) for mark in marks]
    marks.append(text_at(face, 0, 0, "AWAY from you", EDGE, align="centre", width=width))
    marks.append(text_at(face, 0, bottom + line + 1.2, "TOWARD you", EDGE, align="centre", width=width))
    return Box(bottom + 2 * line + 3.2, tuple(marks))


# ---- controls ------------------------------------------------------------------------------------------------


def _control(control: Control, at: Point, standing: Position | None, used: bool) -> list[Mark]:
    """Draw a control: a slot with a knob (stick, slider), a ring with a pointer (dial) or a case (switch)."""
    weight = HEAVY if used else THIN
    if control.kind == "dial":
        return _dial(at, float(standing.value) if standing else 0.0, weight)
    across, half, knob = _is_across(control), _half(control), _knob(control, at, standing)
    x, y = at
    marks: list[Mark] = []
    if control.is_switch:
        size = (2 * half, 3.4) if across else (3.4, 2 * half)
        marks.append(Rectangle(x - size[0] / 2, y - size[1] / 2, *size, weight, radius=1.6, blank=True))
    else:
        ends = ((x - half, y), (x + half, y)) if across else ((x, y - half), (x, y + half))
        marks.append(Line(ends, weight))
    if control.kind == "slider":
        return [*marks, Rectangle(knob[0] - 2.2, knob[1] - 1.0, 4.4, 2.0, weight, solid=used, blank=not used)]
    return [*marks, Circle(*knob, 1.5, weight, used)]


def _is_across(control: Control) -> bool:
    return {control.positions[0].name, control.positions[-1].name} <= ACROSS


def _half(control: Control) -> float:
    """Return half the length of its slot or case in mm."""
    return REACH[control.is_switch] + (1.6 if control.is_switch else 0.0)


def _knob(control: Control, at: Point, standing: Position | None) -> Point:
    """Return the position of the knob."""
    value = float(standing.value) if standing else 0.0
    off = value * REACH[control.is_switch]
    x, y = at
    if control.positions[0].name == "away":  # the first position is at the top
        return x, y + off
    return (x + off, y) if _is_across(control) else (x, y - off)


def _area(control: Control, at: Point, standing: Position | None) -> Area:
    """Return the area that the shape takes."""
    x, y = at
    if control.kind == "dial":
        return Area(x - 3.4, y - 3.4, x + 3.4, y + 3.4)
    along, beside = _half(control), 1.7 if control.is_switch else 0.4
    dx, dy = (along, beside) if _is_across(control) else (beside, along)
    knob = _knob(control, at, standing)
    wide, high = (2.2, 1.0) if control.kind == "slider" else (1.5, 1.5)
    return Area(
        min(x - dx, knob[0] - wide),
        min(y - dy, knob[1] - high),
        max(x + dx, knob[0] + wide),
        max(y + dy, knob[1] + high),
    )


def _dial(at: Point, value: float, weight: float) -> list[Mark]:
    x, y = at
    turn = radians(-90 + value * 135)
    return [
        Circle(x, y, 3.4, weight),
        Line(((x, y), (x + 3.4 * cos(turn), y + 3.4 * sin(turn))), weight),
    ]


def lettered(controls: Sequence[str]) -> dict[str, str]:
    """Return a letter for each control, in the given order."""
    return dict(zip(controls, LETTERS, strict=False))
