"""The drawing of a handset as held, the far edge at the top, with leaders to letters that never cross.

The letters run clockwise from the top, so that a reader who has one finds the next. A stick is one symbol.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from math import cos, radians, sin
from typing import NamedTuple

from rigcard.documents.base.language import say
from rigcard.documents.base.layout import BODY, LABEL, Box, line_height, text_at
from rigcard.documents.base.model import Circle, Line, Mark, Rectangle, Typeface, moved
from rigcard.documents.cards.leaders import RADIUS, Area, Leader, Point, lead
from rigcard.documents.cards.sticks import Handle, handles, is_across
from rigcard.resolve.model import Control, Position, Unit

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
TALLEST = 0.34  # greatest height as a share of the card's width, so that the table fits on the same side
EDGE = LABEL  # points: type size of the words that name the edges
TOP = 5.5  # mm above the drawing, for switches on its far edge
MARGIN = 15.0  # mm at each side for the letters
HEAVY, THIN = 0.5, 0.12
CROSS = 4.2  # mm from centre to end of the cross over a control that nobody may touch
REACH = {True: 3.6, False: 5.0}  # mm that a knob moves from the centre: of a switch, and of any other control
KNOB = 1.5  # mm, radius of the knob of a stick or switch


class Drawing(NamedTuple):
    """The drawing, and the letter of each control that it may have; both axes of a stick have the same."""

    box: Box
    letters: dict[str, str]


def face_drawing(
    face: Typeface,
    unit: Unit,
    standing: Mapping[str, Position],
    used: Collection[str],
    width: float,
    letters: Sequence[str] = LETTERS,
) -> Drawing | None:
    """Draw used controls bold in their positions, the others thin; None if the model has no face."""
    model = unit.model
    placed = [handle for handle in handles(model) if any(control.at for control in handle.controls)]
    if model.front is None or not placed:
        return None
    scale = min((width - 2 * MARGIN) / float(model.front[0]), TALLEST * width / float(model.front[1]))
    body_width, height = float(model.front[0]) * scale, float(model.front[1]) * scale
    left = (width - body_width) / 2

    def at(handle: Handle) -> Point:
        places = [control.at for control in handle.controls if control.at]
        x, y = (sum(float(place[axis]) for place in places) / len(places) for axis in (0, 1))
        return left + x * scale, TOP + height - y * scale

    points = {handle.names[0]: at(handle) for handle in placed if set(handle.names) & set(used)}
    areas = {handle.names[0]: _area(handle, at(handle), standing) for handle in placed}
    leaders = lead(points, areas, width, height + TOP)
    order = [leader.name for leader in clockwise(leaders, width)]
    of = _lettered(unit, used, order, letters)
    marks: list[Mark] = [Rectangle(left, TOP, body_width, height, 0.4, radius=5.0)]
    marks += [Line(leader.points, 0.2) for leader in leaders]
    for handle in placed:
        marks += _handle(handle, at(handle), standing, used)
        if set(handle.names) & set(unit.leave):
            x, y = at(handle)
            marks += [
                Line(((x - CROSS, y - way * CROSS), (x + CROSS, y + way * CROSS)), HEAVY) for way in (-1, 1)
            ]
    first_of = {name: handle.names[0] for handle in placed for name in handle.names}
    letter_of = {first_of[name]: letter for name, letter in of.items() if name in first_of}
    for leader in leaders:
        outward = -RADIUS if leader.end[0] < width / 2 else RADIUS
        x, y = leader.end[0] + outward, leader.end[1]
        marks.append(Circle(x, y, RADIUS, 0.4))
        marks.append(
            text_at(
                face,
                x - 3,
                y - line_height(BODY) / 2,
                letter_of[leader.name],
                BODY,
                bold=True,
                align="centre",
                width=6,
            )
        )
    bottom = max([height + TOP, *(leader.end[1] + RADIUS for leader in leaders)])
    line = line_height(EDGE)
    marks = [moved(mark, 0, line) for mark in marks]
    marks.append(text_at(face, 0, 0, say("AWAY from you"), EDGE, align="centre", width=width))
    marks.append(text_at(face, 0, bottom + line + 0.6, say("TOWARD you"), EDGE, align="centre", width=width))
    return Drawing(Box(bottom + 2 * line + 1.4, tuple(marks), True), of)


def clockwise(leaders: Sequence[Leader], width: float) -> list[Leader]:
    """Return leaders clockwise by their letters: down the right column, then up the left one."""
    return sorted(
        leaders, key=lambda one: (one.end[0] < width / 2, one.end[1] if one.end[0] > width / 2 else -one.end[1])
    )


def _lettered(
    unit: Unit, used: Collection[str], order: Sequence[str], letters: Sequence[str]
) -> dict[str, str]:
    """Return a letter for each used control: those drawn in their order, then the others as the model has them."""
    mine = handles(unit.model, used)
    first_of = {name: whole.names[0] for whole in handles(unit.model) for name in whole.names}
    ranked = sorted(mine, key=lambda one: _rank(order, first_of[one.names[0]]))
    return {name: letter for letter, one in zip(endless(letters), ranked, strict=False) for name in one.names}


def _rank(order: Sequence[str], name: str) -> int:
    return order.index(name) if name in order else len(order)


def endless(letters: Sequence[str]) -> list[str]:
    """Return the letters, then the same with a number: enough for every handset."""
    return [*letters, *(f"{letter}{number}" for number in range(2, 10) for letter in letters)]


# ---- controls ------------------------------------------------------------------------------------------------


def _handle(handle: Handle, at: Point, standing: Mapping[str, Position], used: Collection[str]) -> list[Mark]:
    """Draw a control; of a stick both slots, then one knob where they put it."""
    weights = [HEAVY if control.name in used else THIN for control in handle.controls]
    if len(handle.controls) == 1:
        (control,) = handle.controls
        return _control(control, at, standing.get(control.name), weights[0] == HEAVY)
    marks: list[Mark] = [
        Line(_ends(control, at), weight) for control, weight in zip(handle.controls, weights, strict=True)
    ]
    knob = _knob_of(handle, at, standing)
    return [*marks, Circle(*knob, KNOB, max(weights), max(weights) == HEAVY)]


def _knob_of(handle: Handle, at: Point, standing: Mapping[str, Position]) -> Point:
    """Return where the knob of a stick stands: across by one axis, along by the other."""
    knobs = [_knob(control, at, standing.get(control.name)) for control in handle.controls]
    return (at[0] + sum(knob[0] - at[0] for knob in knobs), at[1] + sum(knob[1] - at[1] for knob in knobs))


def _ends(control: Control, at: Point) -> tuple[Point, Point]:
    x, y = at
    half = _half(control)
    return ((x - half, y), (x + half, y)) if is_across(control) else ((x, y - half), (x, y + half))


def _control(control: Control, at: Point, standing: Position | None, used: bool) -> list[Mark]:
    """Draw a control: a slot with a knob (stick, slider), a ring with a pointer (dial) or a case (switch)."""
    weight = HEAVY if used else THIN
    if control.kind == "dial":
        return _dial(at, float(standing.value) if standing else 0.0, weight)
    across, half, knob = is_across(control), _half(control), _knob(control, at, standing)
    x, y = at
    marks: list[Mark] = []
    if control.is_switch:
        size = (2 * half, 3.4) if across else (3.4, 2 * half)
        marks.append(Rectangle(x - size[0] / 2, y - size[1] / 2, *size, weight, radius=1.6, blank=True))
    else:
        marks.append(Line(_ends(control, at), weight))
    if control.kind == "slider":
        return [*marks, Rectangle(knob[0] - 2.2, knob[1] - 1.0, 4.4, 2.0, weight, solid=used, blank=not used)]
    return [*marks, Circle(*knob, KNOB, weight, used)]


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
    return (x + off, y) if is_across(control) else (x, y - off)


def _area(handle: Handle, at: Point, standing: Mapping[str, Position]) -> Area:
    """Return the area that the shape takes."""
    found = [_area_of(control, at, standing.get(control.name)) for control in handle.controls]
    if len(found) > 1:
        x, y = _knob_of(handle, at, standing)
        found.append(Area(x - KNOB, y - KNOB, x + KNOB, y + KNOB))
    sides = list(zip(*found, strict=True))
    return Area(min(sides[0]), min(sides[1]), max(sides[2]), max(sides[3]))


def _area_of(control: Control, at: Point, standing: Position | None) -> Area:
    x, y = at
    if control.kind == "dial":
        return Area(x - 3.4, y - 3.4, x + 3.4, y + 3.4)
    along, beside = _half(control), 1.7 if control.is_switch else 0.4
    dx, dy = (along, beside) if is_across(control) else (beside, along)
    knob = _knob(control, at, standing)
    wide, high = (2.2, 1.0) if control.kind == "slider" else (KNOB, KNOB)
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
