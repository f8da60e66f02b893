"""The drawing of a handset: leaders reach their own controls and letters, cross nothing, run over nothing.

Crossing and distance are judged by shapely on what is drawn.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.layout import Box
from rigcard.documents.base.model import Circle, Line, Rectangle, Text
from rigcard.documents.cards.handset_drawing import LETTERS, TALLEST, face_drawing
from rigcard.documents.cards.leaders import Area, lead
from rigcard.documents.cards.operator import operator_card
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.model import Control, Position, Unit
from rigcard.solve.solved import Solved
from samples import SAMPLES

FACE = EmbeddedTypeface()
WIDTH = 88.0  # mm inside a card's margins
LEADER = 0.2  # mm, the weight of leaders; sticks that have no effect are as thin
RING = 2.9


class Drawn(NamedTuple):
    """A drawing taken apart: leaders, the rings at their ends, the letters, and shapes of controls."""

    leaders: list[LineString]
    rings: list[BaseGeometry]
    letters: list[tuple[str, BaseGeometry]]
    controls: list[BaseGeometry]


def taken_apart(piece: Box) -> Drawn:
    """Leaders are the lines that end on a ring; every other line, box and circle belongs to a control."""
    circles = [mark for mark in piece.marks if isinstance(mark, Circle)]
    rings = [Point(mark.x, mark.y).buffer(mark.radius) for mark in circles if mark.radius == RING]
    leaders, controls = [], []
    for mark in piece.marks[1:]:  # the first is the body
        if isinstance(mark, Line):
            line = LineString(mark.points)
            at_ring = any(Point(mark.points[-1]).distance(ring.boundary) < 0.05 for ring in rings)
            (leaders if mark.weight == LEADER and at_ring else controls).append(line)
        elif isinstance(mark, Rectangle):
            controls.append(box(mark.x, mark.y, mark.x + mark.width, mark.y + mark.height))
        elif isinstance(mark, Circle) and mark.radius != RING:
            controls.append(Point(mark.x, mark.y).buffer(mark.radius))
    letters = [
        (mark.text, box(mark.x, mark.y - 2.8, mark.x + mark.width, mark.y))
        for mark in piece.marks
        if isinstance(mark, Text) and len(mark.text) == 1
    ]
    return Drawn(leaders, rings, letters, controls)


def crossings(drawn: Drawn) -> list[tuple[LineString, LineString]]:
    """Pairs of leaders that share a point."""
    return [(a, b) for a, b in combinations(drawn.leaders, 2) if a.intersects(b)]


def drawing_of(controls: list[Control], unit: Unit, used: list[str]) -> Box:
    """The drawing of a handset with other controls."""
    model = unit.model._replace(
        front=(Fraction(180), Fraction(200)), controls={control.name: control for control in controls}
    )
    standing = {control.name: control.positions[0] for control in controls}
    made = face_drawing(FACE, unit._replace(model=model), standing, used, WIDTH)
    assert made is not None
    return made.box


def solved_rig(path: Path) -> Solved:
    """A sample."""
    solved = check_rig(path, Diagnostics()).solved
    assert solved is not None
    return solved


def handsets(path: Path) -> list[tuple[Solved, Unit]]:
    """The handsets of a sample."""
    solved = solved_rig(path)
    return [(solved, unit) for unit in solved.rig.units.values() if unit.role == "handset"]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_leaders_of_the_samples(path: Path) -> None:
    """No leader crosses another, nor comes near a control that is not its own, nor a letter."""
    for solved, unit in handsets(path):
        pieces = [piece for block in operator_card(FACE, 88.0, solved, unit).blocks for piece in block.boxes]
        (piece,) = (piece for piece in pieces if any(isinstance(mark, Circle) for mark in piece.marks))
        drawn = taken_apart(piece)
        assert drawn.leaders
        assert len(drawn.leaders) == len(drawn.rings) == len(drawn.letters)
        assert not crossings(drawn)
        for leader in drawn.leaders:
            start = Point(leader.coords[0])
            for shape in drawn.controls:
                assert (
                    shape.distance(start) < 0.01 or shape.distance(leader) > 0.2 or at_same_stick(shape, start)
                )
            assert sum(leader.distance(ring) < 0.05 for ring in drawn.rings) == 1
            assert all(leader.distance(letter) > 0.2 for _, letter in drawn.letters)


def at_same_stick(shape: BaseGeometry, start: Point) -> bool:
    """Whether a shape is part of the control that a leader starts from: its slot or its knob, at most 5 mm off."""
    return bool(shape.distance(start) < 5.2 and abs(shape.centroid.x - start.x) < 0.01)


ENDS = (
    ("left", "right"),
    ("toward", "away"),
    ("away", "toward"),
    ("away", "middle", "toward"),
    ("left", "middle", "right"),
)
KINDS = ("stick", "slider", "dial", "switch")


@st.composite
def faces(draw: st.DrawFn, apart: int) -> list[tuple[str, tuple[str, ...], int, int]]:
    """Up to 20 controls of any kind inside a face of 180 x 200 mm, each at least `apart` mm from the others."""
    places = draw(
        st.lists(st.tuples(st.integers(5, 175), st.integers(5, 195)), min_size=1, max_size=20, unique=True)
    )
    kept: list[tuple[int, int]] = []
    for x, y in places:
        if all(max(abs(x - a), abs(y - b)) >= apart for a, b in kept):
            kept.append((x, y))
    return [(draw(st.sampled_from(KINDS)), draw(st.sampled_from(ENDS)), x, y) for x, y in kept]


def controls_of(face: list[tuple[str, tuple[str, ...], int, int]], unit: Unit) -> list[Control]:
    """The controls of a made face."""
    (some, *_) = unit.model.controls.values()
    made = []
    for number, (kind, names, x, y) in enumerate(face):
        step = Fraction(2, len(names) - 1)
        positions = tuple(Position(name, -1 + step * at) for at, name in enumerate(names))
        made.append(
            some._replace(
                name=f"c{number}",
                title=f"C {number}",
                kind=kind,
                positions=positions,
                at=(Fraction(x), Fraction(y)),
            )
        )
    return made


OWN_LENGTH = int(11 * 200 / (TALLEST * WIDTH)) + 1  # mm on the handset that are 11 mm, a slot, in the drawing
ANY_UNIT = handsets(SAMPLES[0])[0][1]


@settings(max_examples=60)
@given(faces(apart=1), st.data())
def test_leaders_never_cross(face: list[tuple[str, tuple[str, ...], int, int]], data: st.DataObject) -> None:
    """Whatever the controls and however near: as many leaders as letters, each at its own control, none crossed."""
    controls = controls_of(face, ANY_UNIT)
    used = [control.name for control in controls if data.draw(st.booleans())]
    assume(used)
    piece = drawing_of(controls, ANY_UNIT, used)
    drawn = taken_apart(piece)

    assert sorted(letter for letter, _ in drawn.letters) == sorted(LETTERS[: len(used)])
    assert not crossings(drawn)
    for ring, other in combinations(drawn.rings, 2):
        assert ring.distance(other) > 0.5
    for mark in piece.marks:
        if isinstance(mark, Circle) and mark.radius == RING:
            assert mark.x - RING >= 0 and mark.x + RING <= WIDTH
            assert mark.y - RING >= 0 and mark.y + RING <= piece.height


@settings(max_examples=60)
@given(faces(apart=OWN_LENGTH), st.data())
def test_leaders_run_over_no_control(
    face: list[tuple[str, tuple[str, ...], int, int]], data: st.DataObject
) -> None:
    """Where controls stand an own length apart, no leader passes over one that is not its own."""
    controls = controls_of(face, ANY_UNIT)
    used = [control.name for control in controls if data.draw(st.booleans())]
    assume(used)
    drawn = taken_apart(drawing_of(controls, ANY_UNIT, used))
    for leader in drawn.leaders:
        start = Point(leader.coords[0])
        for shape in drawn.controls:
            assert shape.distance(start) < 6.5 or shape.distance(leader) > 0.2


def test_a_leader_bends_round_what_stands_before_it() -> None:
    """Two switches side by side on the far edge: the inner one's leader goes over the outer one, not through it."""
    areas = {
        "outer": Area(18.0, 2.5, 21.4, 12.9),
        "inner": Area(24.0, 2.5, 27.4, 12.9),
    }
    points = {"outer": (19.7, 7.7), "inner": (25.7, 7.7)}
    leaders = {leader.name: LineString(leader.points) for leader in lead(points, areas, WIDTH, 45.0)}

    for name, other in (("outer", "inner"), ("inner", "outer")):
        area = areas[other]
        assert leaders[name].distance(box(*area)) > 0.3
    assert not leaders["outer"].intersects(leaders["inner"])
