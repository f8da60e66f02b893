"""What is cut and what a scanner reads: the frame of a label, the size of a module of a linear code."""

from __future__ import annotations

import pytest
from shapely.geometry import MultiLineString, box
from shapely.ops import polygonize

from rigcard.documents import linear
from rigcard.documents.label import Label, outline
from rigcard.documents.model import Line

DOT = 25.4 / 300  # mm, at 300 dots an inch


@pytest.mark.parametrize(("width", "height"), [(60.0, 12.5), (6.2, 48.0)])
def test_the_cut_is_the_edge_of_the_label(width: float, height: float) -> None:
    """Its four lines close to the rectangle of the label from its own corner, as shapely finds it."""
    marks = [mark for mark in outline(width, height) if isinstance(mark, Line)]
    (cut,) = polygonize(MultiLineString([mark.points for mark in marks]))

    assert len(marks) == 4
    assert cut.equals(box(0, 0, width, height))
    assert all(mark.dash for mark in marks), "a line to cut along is dashed, a line to write on is not"


def test_a_label_holds_all_its_words_unless_told() -> None:
    """Only a label that has room for the id alone says so."""
    assert Label("W01-A", "flat", 60, 12, (), ()).whole


def test_a_linear_module_is_three_dots() -> None:
    """A bar of whole dots is printed without a ragged edge; 0.254 mm: arithmetic."""
    assert pytest.approx(3 * DOT) == linear.MODULE
    assert pytest.approx(0.254) == linear.MODULE
    assert linear.linear_length("A") == pytest.approx((11 * 3 + 13 + 20) * 0.254)
