"""The frame of a label: what is cut and what a scanner reads."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import rotate, scale, translate
from shapely.geometry import LineString, MultiLineString, Point, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import polygonize

from rigcard.documents.base.model import Line, Mark, Rectangle, Squares, Text
from rigcard.documents.labels import code128
from rigcard.documents.labels.frame import Label, fitted, gathered, outline, sides
from rigcard.render.typeface import EmbeddedTypeface

FACE = EmbeddedTypeface()
DOT = 25.4 / 300  # mm, at 300 dots an inch


@pytest.mark.parametrize(("width", "height"), [(60.0, 12.5), (6.2, 48.0)])
def test_the_cut_is_the_edge_of_the_label(width: float, height: float) -> None:
    """Its four lines close to the rectangle of the label from its own corner, as shapely finds it."""
    (whole,) = outline(width, height)
    assert isinstance(whole, Rectangle)
    marks = [mark for mark in sides(whole) if isinstance(mark, Line)]
    (cut,) = polygonize(MultiLineString([mark.points for mark in marks]))

    assert len(marks) == 4
    assert cut.equals(box(0, 0, width, height))
    assert (whole.x, whole.y, whole.width, whole.height) == (0, 0, width, height)
    assert all(mark.dash == whole.dash != () and mark.weight == whole.weight for mark in marks), (
        "a line to cut along is dashed, a line to write on is not"
    )


def test_a_label_holds_all_its_words_unless_told() -> None:
    """Only a label that has room for the id alone says so."""
    assert Label("W01-A", "flat", 60, 12, (), ()).whole


def shape_of(mark: Mark) -> BaseGeometry:
    """What a mark takes of a label; of a text where it begins. A QR code has 17 and 4 times its version squares."""
    if isinstance(mark, Rectangle):
        return box(mark.x, mark.y, mark.x + mark.width, mark.y + mark.height)
    if isinstance(mark, Squares):
        side = (17 + 4 * mark.version) * mark.module
        return box(mark.x, mark.y, mark.x + side, mark.y + side)
    return LineString(mark.points) if isinstance(mark, Line) else Point(mark.x, mark.y)


def test_a_turned_label_is_the_same_label() -> None:
    """Every mark of 60 x 24 mm stands on 24 x 60 mm where shapely puts it that turns by 90 degrees to the left."""
    marks = (Text(5, 8, "W01-A", 8, True, 9), Rectangle(3, 4, 20, 10), Line(((1, 2), (30, 7))))
    marks += (Squares(40, 5, "A", 0.5, 1), Squares(30, 9, "A", 0.4, 3))
    label = Label("one", "flat", 60.0, 24.0, marks, ())
    turned = fitted(label, (24.0, 60.0))
    assert (turned.width, turned.height) == (24, 60)
    for before, after in zip(marks, turned.marks, strict=True):
        up = scale(shape_of(before), 1, -1, origin=(0, 0))  # y runs upward there
        wanted = translate(scale(rotate(up, 90, origin=(0, 0)), 1, -1, origin=(0, 0)), 0, 60)
        assert wanted.hausdorff_distance(shape_of(after)) < 1e-9, before
        assert type(after) is type(before)
        assert not isinstance(after, Text) or after.angle == 90

    assert fitted(label, (60.0, 24.0)) == label
    assert fitted(label, (23.9, 60.0)) == fitted(label, (24.0, 59.9)) == label, "no way round fits"


@given(
    st.lists(st.text("iaW1 ", min_size=1, max_size=9).filter(str.strip), min_size=1, max_size=6),
    st.floats(1, 40),
    st.booleans(),
)
def test_texts_share_lines_while_they_fit(texts_on: list[str], room: float, bold: bool) -> None:
    """In order, none parted, on the fewest lines of all ways to part them into lines that are wide enough."""
    lines = gathered(FACE, texts_on, 7.0, room, bold, " · ")

    def fits(line: list[str]) -> bool:
        return len(line) == 1 or FACE.width(" · ".join(line), 7.0, bold) <= room

    parted = (
        [texts_on[low:high] for low, high in zip((0, *cuts), (*cuts, len(texts_on)), strict=True)]
        for count in range(len(texts_on))
        for cuts in combinations(range(1, len(texts_on)), count)
    )
    fewest = next(ways for ways in parted if all(map(fits, ways)))  # those of fewer lines come first
    assert " · ".join(lines) == " · ".join(texts_on)
    assert len(lines) == len(fewest)
    assert all(fits(line.split(" · ")) for line in lines)


def test_a_linear_module_is_three_dots() -> None:
    """A bar of whole dots is printed without a ragged edge; 0.254 mm: arithmetic."""
    assert pytest.approx(3 * DOT) == code128.MODULE
    assert pytest.approx(0.254) == code128.MODULE
    assert code128.linear_length("A") == pytest.approx((11 * 3 + 13 + 20) * 0.254)
