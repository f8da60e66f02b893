"""What is cut and what a scanner reads: the frame of a label, the size of a module of a linear code."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, scale, translate
from shapely.geometry import LineString, MultiLineString, Point, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import polygonize

from rigcard.documents.base.layout import line_height
from rigcard.documents.base.model import MM_PER_POINT, Line, Mark, Rectangle, Squares, Text
from rigcard.documents.labels import cable_labels as forms
from rigcard.documents.labels import code128
from rigcard.documents.labels.frame import Label, fitted, gathered, outline, sides
from rigcard.documents.labels.ratings import AMPERES, VOLTS
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.model import Rig

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
def test_texts_share_lines_while_they_fit(texts: list[str], room: float, bold: bool) -> None:
    """In order, none parted, on the fewest lines of all ways to part them into lines that are wide enough."""
    lines = gathered(FACE, texts, 7.0, room, bold, " · ")

    def fits(line: list[str]) -> bool:
        return len(line) == 1 or FACE.width(" · ".join(line), 7.0, bold) <= room

    parted = (
        [texts[low:high] for low, high in zip((0, *cuts), (*cuts, len(texts)), strict=True)]
        for count in range(len(texts))
        for cuts in combinations(range(1, len(texts)), count)
    )
    fewest = next(ways for ways in parted if all(map(fits, ways)))  # those of fewer lines come first
    assert " · ".join(lines) == " · ".join(texts)
    assert len(lines) == len(fewest)
    assert all(fits(line.split(" · ")) for line in lines)


def test_a_linear_module_is_three_dots() -> None:
    """A bar of whole dots is printed without a ragged edge; 0.254 mm: arithmetic."""
    assert pytest.approx(3 * DOT) == code128.MODULE
    assert pytest.approx(0.254) == code128.MODULE
    assert code128.linear_length("A") == pytest.approx((11 * 3 + 13 + 20) * 0.254)


# ---- round a cable ---------------------------------------------------------------------------------------------------

WORDS = forms.Words("Head pack out-1", "P01-A", "→ Head power, 800 mm, rev C", "→ Head power, 800 mm", ())


def texts(made: forms.Made) -> list[Text]:
    """The lines of text of a label."""
    return [mark for mark in made[3] if isinstance(mark, Text)]


def ticks(made: forms.Made) -> list[Line]:
    """What is drawn besides the cut."""
    return [mark for mark in made[3] if isinstance(mark, Line) and not mark.dash]


@pytest.mark.parametrize(
    ("jacket", "zone"),
    [(4.9, 12), (5, 15), (6.9, 15), (7, 20), (8.9, 20), (9, 25), (30, 25), (3, 9.4), (2.87, 9), (2.86, None)],
)
def test_zone_of_each_jacket(jacket: float, zone: float | None) -> None:
    """Common practice, no source; but never more than a turn (3 x pi = 9.42), nor less than 9 mm (2.86 x pi = 8.98)."""
    assert forms.printed_zone(jacket) == zone


@pytest.mark.parametrize(("jacket", "height"), [(2.5, 7.8), (2, 6.2), (0.5, 3 + line_height(6.0))])
def test_height_of_a_sleeve(jacket: float, height: float) -> None:
    """One turn rounded down to a tenth; round the thinnest, one line and both its edges of 1.5 mm."""
    assert forms.sleeve_height(jacket) == pytest.approx(height)


@pytest.mark.parametrize(
    "words",
    [WORDS, WORDS._replace(facts=(VOLTS, AMPERES, "mark: three rings"), here="Head pack out-1 behind the arm")],
)
def test_both_faces_of_a_flag(words: forms.Words) -> None:
    """The same words on both, in the middle of each; ticks where each face ends; a turn of film lies between them."""
    made = forms._flag(FACE, words, 3.0)
    _, film, height, _ = made
    half = len(texts(made)) // 2
    first, second = texts(made)[:half], texts(made)[half:]
    ends = sorted({mark.points[0][0] for mark in ticks(made)})
    face = ends[0]

    assert face in range(25, 51)
    assert film == math.ceil(2 * face + 3 * math.pi)
    assert ends == [face, film - face]
    assert [mark.text for mark in first] == [mark.text for mark in second]
    for mark, other in zip(first, second, strict=True):
        assert mark.x + mark.width / 2 == pytest.approx(face / 2)
        assert other.x - mark.x == pytest.approx(film - face)
        assert other.y == mark.y
    spans = sorted((mark.points[0][1], mark.points[1][1]) for mark in ticks(made))
    assert spans == [(0, 1.2)] * 2 + [(height - 1.2, height)] * 2
    used = sum(line_height(mark.size) for mark in first)
    assert height == pytest.approx(max(8.0, used + 3))


@pytest.mark.parametrize("jacket", [3.2, 4.5, 6.0, 8.0, 10.0])
def test_the_tail_of_a_wrap_is_clear(jacket: float) -> None:
    """All print lies in the zone, which the tail then covers by 2 mm more; ticks stand where the tail begins."""
    made = forms._wrap(FACE, WORDS, jacket, 150.0, moves=True)
    zone = forms.printed_zone(jacket)
    assert made and zone
    _, width, film, _ = made

    assert film == math.ceil(round(zone + math.pi * jacket + 2, 6))
    assert [mark.points for mark in ticks(made)] == [
        ((0, zone), (1.2, zone)),
        ((width - 1.2, zone), (width, zone)),
    ]
    for mark in texts(made):
        assert mark.y - mark.size * 0.66 * MM_PER_POINT >= 1.5
        assert mark.y + mark.size * 0.2 * MM_PER_POINT <= zone
        assert mark.x + mark.width / 2 == pytest.approx(width / 2)
    assert any("P01-A" in mark.text for mark in texts(made))
    assert width == math.ceil(max(mark.width for mark in texts(made)) + 3)


def test_copies_of_an_id_are_of_one_size() -> None:
    """As many as go in; what is left is less than a line of that size, and no smaller one is put there."""
    words = WORDS._replace(here="Head pack " * 3 + "Head pack", there="→ Camera Camera Camera")
    made = forms._wrap(FACE, words, 10.0, 40.0, moves=True)
    assert made
    copies = [mark for mark in texts(made) if mark.text == "P01-A"][1:]  # the first is one of the words
    used = sum(line_height(mark.size) - 0.12 for mark in texts(made))

    assert {mark.size for mark in copies} == {7}
    assert line_height(6.0) < 25 - 1.5 - used < line_height(7.0)


@pytest.mark.parametrize("size", [6.0, 7.0, 8.0])
@pytest.mark.parametrize("more", [-1.0, 1.4, 1.6, 2.95, 3.05])
def test_a_long_id_does_not_leave_its_wrap(size: float, more: float) -> None:
    """Where it is wider than the label less 3 mm it is broken, and no copy of it reaches beyond the edge."""
    words = WORDS._replace(id="control-of-camera-1.3-A", facts=())
    widest = FACE.width(words.id, size, True) + more
    made = forms._wrap(FACE, words, 10.0, widest, moves=True)
    assert made
    assert made[1] <= widest
    assert all(mark.x >= 1.5 - 1e-6 and mark.x + mark.width <= made[1] - 1.5 + 1e-6 for mark in texts(made))


@settings(deadline=None, max_examples=150)
@given(
    st.lists(st.sampled_from(("Head", "pack", "W", "out-1")), min_size=1, max_size=14).map(" ".join),
    st.integers(1, 40),
    st.integers(0, 3),
    st.sampled_from((3.0, 3.3, 3.6, 4.5, 6.0, 8.0, 10.0)),
    st.integers(16, 80),
)
def test_any_words_on_a_wrap(here: str, count: int, facts: int, jacket: float, widest: int) -> None:
    """All in the zone and off the cut; each copy of the id smaller than the first line, if that is not an id too."""
    there = "→ " + " ".join(["Camera"] * count)
    words = forms.Words(here, "P01-A", there, there, (VOLTS, AMPERES, "mark: red")[:facts])
    made = forms._wrap(FACE, words, jacket, float(widest), moves=True)
    zone = forms.printed_zone(jacket)
    assert made and zone
    marks = texts(made)
    first = marks[0]
    for mark in marks:
        size = mark.size * MM_PER_POINT
        assert mark.x >= 1.5 - 1e-6 and mark.x + mark.width <= made[1] - 1.5 + 1e-6
        assert mark.y - 0.66 * size >= 1.5 - 1e-6 and mark.y + 0.2 * size <= zone
    own, *copies = [mark for mark in marks if "P01-A" in mark.text]
    assert own.size <= first.size
    assert first.text == "P01-A" or first.size == 6 or all(mark.size < first.size for mark in copies)


@pytest.mark.parametrize("height", [5.0, 10.5, 16.9, 17.0, 22.9, 23.0])
def test_no_choice_sets_the_less_important_larger(height: float) -> None:
    """Where this plug goes is larger than the id, what comes after that never rises; the largest choice comes first."""
    words = WORDS._replace(facts=(VOLTS, AMPERES))
    choices = list(forms._choices(words, height))
    for parts in choices:
        first, *rest = [size for _, size, _ in parts]
        assert [first, *rest] == sorted([first, *rest], reverse=True)
        assert first > rest[0]
        said = " ".join(text for texts, _, _ in parts for text in texts)
        places = [said.find(text) for text in (words.here, words.id, words.there)]
        assert -1 not in places and places == sorted(places)
        assert all(fact in said for fact in words.facts)
    sizes = [parts[0][1] for parts in choices]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[0] == (12 if height >= 23 else 10 if height >= 17 else 8)


@pytest.mark.parametrize(("jacket", "count", "sizes"), [(3.4, 8, [8, 6, 6]), (4.5, 14, [7, 6, 6, 6])])
def test_words_that_leave_no_room_for_a_copy_are_the_largest(
    jacket: float, count: int, sizes: list[float]
) -> None:
    """Round 3.4 mm 10.6 - 1.5 = 9.1 mm are to print on: lines of 8, 6 and 6 pt are 8.25 mm, one of 6 pt more 10.7 mm.

    No smaller type helps: with 7, 6 and 6 pt it is 10.3 mm. Round 4.5 mm, on 10.5 mm, 7 and three of 6 pt are 10.3 mm
    and 8 and three of 6 pt 10.7 mm. All words are there, so that a lead that lies has a wrap as well.
    """
    words = WORDS._replace(here="Head pack", there="→ " + " ".join(["Camera"] * count))
    for moves in (True, False):
        made = forms._wrap(FACE, words, jacket, 50.0, moves=moves)
        assert made
        assert [mark.size for mark in texts(made)] == sizes


@pytest.mark.parametrize(("form", "jacket"), [("flag", 3.0), ("wrap", 6.0), ("wrap", 10.0), ("sleeve", 2.0)])
def test_what_is_written_on_a_blank_has_room(form: str, jacket: float) -> None:
    """Ruled lines begin right of the edge and end left of it, at least 3 mm apart, on the part that is not covered."""
    rig = Rig.__new__(
        Rig, *[None] * len(Rig._fields)
    )  # a blank takes only the sheet of a rig, and there is none
    label = forms._blank(FACE, rig, form, jacket, "blank 1", "W__-A")
    ruled = [mark for mark in label.marks if isinstance(mark, Line) and not mark.dash]
    ruled = [mark for mark in ruled if mark.points[1][0] - mark.points[0][0] > 1.3]
    foot = forms.printed_zone(jacket) if form == "wrap" else label.height

    assert ruled and foot
    assert label.form == form
    for mark in ruled:
        (left, y), (right, also) = mark.points
        assert y == also
        assert 1.5 <= left < right <= label.width - 1.5
        assert 1.5 < y <= foot
    if form == "flag":
        assert sorted({mark.points[0][0] for mark in ruled}) == [1.5, label.width - 25 + 1.5]
        assert {mark.points[1][0] - mark.points[0][0] for mark in ruled} == {22.0}
