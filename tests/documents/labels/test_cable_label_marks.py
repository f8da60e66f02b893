"""Where each mark of a cable's label stands: flags, wraps, sleeves, blanks."""

from __future__ import annotations

import math
from fractions import Fraction
from math import ceil, floor, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelled import (
    POINT,
    ROOM,
    apart,
    faces_of,
    inked,
    lines,
    pitch,
    rows_in,
    said_of,
    sheet_of,
    solid,
    texts,
    texts_on,
    titled,
    with_jackets,
)
from rigcard.documents.base.layout import line_height, wrap
from rigcard.documents.base.model import Line
from rigcard.documents.labels import cable_labels as forms
from rigcard.documents.labels.frame import EDGE, Label
from rigcard.documents.labels.geometry import printed_zone, sizes_for, sleeve_height
from rigcard.documents.labels.label_sheets import all_labels, too_large
from rigcard.documents.labels.ratings import AMPERES, VOLTS
from rigcard.documents.labels.setting import ALL, PLACE, Made
from rigcard.documents.labels.words import Words, end_words
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.label_sheets import COMMON
from rigcard.resolve.model import Cable, Leg, Rig

FACE = EmbeddedTypeface()


# ---- where the marks of a label stand ------------------------------------------------------------------------------


ZONES = {
    "3": 9.4,
    "3.15": 9.8,
    "3.25": 10.2,
    "4": 12.5,
    "5": 15.7,
    "6": 18.8,
    "7": 21.9,
    "8": 25.1,
    "9": 28.2,
    "10": 31.4,
    "12": 32,
    "16": 33.5,
}  # jacket -> printed zone: once round up to 32 mm, then two thirds of that


def test_print_keeps_its_distance_from_the_cut() -> None:
    """1.5 mm to a die cut (common practice, no source)."""
    assert EDGE == ROOM


@pytest.mark.parametrize("jacket", ["1", "2", "3", "4", "4.4"])
def test_marks_of_a_flag(gorge: Rig, jacket: str) -> None:
    """Two faces at the ends, one turn of the jacket between them, ticks at the folds; rows in the middle of each."""
    for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket))):
        faces = faces_of(label)
        wide = max(row[-1].x + row[-1].width - row[0].x for face in faces for row in rows_in(face))
        face = max(25, ceil(wide + 2 * ROOM))
        high = max(sum(max(pitch(mark.size) for mark in row) for row in rows_in(half)) for half in faces)
        second = label.width - face
        assert label.width == ceil(2 * face + pi * float(jacket))
        assert label.height == pytest.approx(max(8, high + 2 * ROOM))
        for half, left in zip(faces, (0, second), strict=True):
            rows = rows_in(half)
            top = (label.height - sum(max(pitch(mark.size) for mark in row) for row in rows)) / 2
            for row in rows:
                assert row[0].x - left == pytest.approx(left + face - (row[-1].x + row[-1].width))
                size = max(mark.size for mark in row)
                assert row[0].y == pytest.approx(top + 0.94 * size * POINT)
                top += pitch(size)
        ends = ((0, 1.2), (label.height - 1.2, label.height))
        assert solid(label) == [((x, low), (x, high)) for x in (face, second) for low, high in ends]


def test_words_of_a_flag(gorge: Rig) -> None:
    """In the order of the trade, with volts, amperes and fuse on a power lead; the ground mark on the first face."""
    made = {label.name: label for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(3)))}
    one = [("Head receiver p5", 8, True), ("S01.R-A", 6, True), ("→ Camera bridge j3", 6, False)]
    power = [
        ("Head pack out-1", 8, True),
        ("P01-A", 6, True),
        ("→ Stabilised head power", 6, False),
        ("18 to 25.2 V · 20 A · fuse 20 A · rev C", 6, False),
    ]

    assert said_of(made["S01.R-A"]) == [("G| Head receiver p5", 8, True), *one[1:], *one]
    assert said_of(made["P01-A"]) == power * 2


SIZES = ((9, 7, 6), (8, 7, 6), (8, 6, 6))  # of where the plug goes, of the id, of the rest


def least_film(label: Label, here: str, there: str, jacket: float) -> float:
    """The film in mm2 of the smallest flag that holds a place, an id and another place, tried one by one.

    Faces of 25 to 50 mm, in which no word is broken; the id and the other place share a row where they fit.
    """
    found = {}
    for length in (25, 30, 35, 40, 45, 50):
        room = length - 2 * ROOM
        for large, middle, small in SIZES:
            first = wrap(FACE, here, large, room, bold=True)
            beside = FACE.width(label.name, middle, True) + 1.2 + FACE.width(there, small) <= room
            below = (
                pitch(middle) if beside else pitch(middle) + pitch(small) * len(wrap(FACE, there, small, room))
            )
            high = max(8, len(first) * pitch(large) + below + 2 * ROOM)
            words = [(word, large, True) for word in here.split()] + [
                (word, small, False) for word in there.split()
            ]
            broken = any(FACE.width(*word) > room for word in (*words, (label.name, middle, True)))
            found[broken, high * ceil(2 * length + pi * jacket)] = (length, high)
    unbroken = {area: size for (broken, area), size in found.items() if not broken}
    low = [area for area, (length, high) in unbroken.items() if length == 25 and high <= 10]
    return max(low) if low else min(unbroken)


@pytest.mark.parametrize("length", range(1, 31))
def test_a_flag_takes_the_least_film(gorge: Rig, length: int) -> None:
    """As small as the words allow: a low flag of the shortest face in the largest type, or else the least film."""
    title = " ".join("Wiadomo"[: 2 + at * length % 6] for at in range(length + 1))
    rig = titled(with_jackets(gorge, Fraction(3)), "bridge", title)._replace(revision="")
    cables = {name: cable._replace(length=None) for name, cable in rig.cables.items()}
    made = {label.name: label for label in forms.cable_labels(FACE, rig._replace(cables=cables))}
    for name, here, there in (
        ("S01.R-B", f"G| {title} j3", "→ Head receiver p5"),
        ("S01.R-A", "G| Head receiver p5", f"→ {title} j3"),
    ):
        label = made[name]
        least = least_film(label, here, there, 3)
        assert label.width * label.height <= least + 1e-6, "a face that its words do not fill is cut shorter"


@pytest.mark.parametrize(
    ("jacket", "moving"),
    [(jacket, True) for jacket in ZONES] + [(jacket, False) for jacket in ZONES if float(jacket) >= 4.5],
)
def test_marks_of_a_wrap(gorge: Rig, jacket: str, moving: bool) -> None:
    """Words in the printed zone, a clear tail of one turn and 2 mm below it, ticks where it begins."""
    zone, girth = ZONES[jacket], pi * float(jacket)
    for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket), moving)):
        marks = texts(label)
        left = min(mark.x for mark in marks)
        right = max(mark.x + mark.width for mark in marks)
        assert label.form == "wrap"
        assert label.width == ceil(right - left + 2 * ROOM)
        assert left == pytest.approx(label.width - right)
        assert label.height == ceil(zone + girth + 2)
        assert solid(label) == [((0, zone), (1.2, zone)), ((label.width - 1.2, zone), (label.width, zone))]
        ids = [mark for mark in marks if mark.text == label.name]
        words = [mark for mark in marks if mark not in ids]
        pitches = (zone - ROOM) / len(ids)
        assert [mark.y for mark in ids] == pytest.approx(
            [ROOM + (at + 0.5) * pitches + 0.33 * mark.size * POINT for at, mark in enumerate(ids)], abs=0.01
        ), "the capitals of each id stand in the middle of its share of the turn"
        assert all(mark.x + mark.width + 2 <= min(word.x for word in words) + 1e-6 for mark in ids)
        blocks = [mark for mark in words if mark.size == words[0].size]
        share = (zone - ROOM) / len(blocks)
        high = sum(max(pitch(mark.size) for mark in row) for row in rows_in(words)) / len(blocks)
        assert (len(blocks) + 1) * high > zone - ROOM, "the words stand there as often as they fit"
        assert high <= share + 0.12 * len(rows_in(words)) / len(blocks) + 1e-6
        assert apart(marks)


def test_words_of_a_wrap(gorge: Rig) -> None:
    """Larger on thick leads, in fewer rows on a thin one; the id as often as its lines go round."""
    thick, eight, five, thin = (
        {
            label.name: said_of(label)
            for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket), True))
        }
        for jacket in (10, 8, 5, 3)
    )
    there, facts = "→ Stabilised head power · 800 mm · rev C", "18 to 25.2 V · 20 A · fuse 20 A"

    def block(here: float, small: float) -> list[tuple[str, float, bool]]:
        return [("Head pack out-1", here, True), (facts, small, False), (there, small, False)]

    assert thick["P01-A"] == [("P01-A", 10, True)] * 7 + block(14, 8) * 2
    assert eight["P01-A"] == [("P01-A", 9, True)] * 6 + block(12, 7) * 2
    assert five["P01-A"] == [("P01-A", 8, True)] * 4 + block(10, 6.5)
    assert thin["P01-A"] == [
        *[("P01-A", 8, True)] * 2,
        ("Head pack out-1", 10, True),
        (f"{facts} · {there}", 6.5, False),
    ]
    assert thin["S01.R-A"] == [
        *[("S01.R-A", 8, True)] * 2,
        ("G| Head receiver p5", 10, True),
        ("→ Camera bridge j3 · 300 mm · rev C", 6.5, False),
    ]


@pytest.mark.parametrize(("least", "whole"), [(146.2, True), (147.0, False)])
def test_words_along_a_wrap_end_at_150_mm(gorge: Rig, least: float, whole: bool) -> None:
    """Less 1.5 mm at either end: ids and words of up to 147 mm go in beside each other, longer ones do not."""
    title = "Head pack"
    beside = FACE.width("P01-A", 6, True) + 2.0  # the ids, and what parts them from the words
    while FACE.width(f"{title} out-1", 7, True) + beside <= least:
        title += "l"
    rig = titled(with_jackets(gorge, Fraction(5), True), "head-pack", title)
    label = next(label for label in forms.cable_labels(FACE, rig) if label.name == "P01-A")

    assert FACE.width(f"{title} out-1", 7, True) + beside < least + 0.8
    assert (lines(label).count("P01-A") > 1 and f"{title} out-1" in lines(label)) == whole
    assert label.width <= 150
    assert not whole or label.width == 150


@pytest.mark.parametrize(("least", "size"), [(146.2, 7), (147.0, 6)])
def test_words_along_a_sleeve_end_at_150_mm(gorge: Rig, least: float, size: int) -> None:
    """What takes more than 147 mm in 7 pt is set in 6 pt."""
    title = "Head pack"
    while FACE.width(f"{title} out-1", 7, True) + 1.2 + FACE.width("P01-A", 7, True) <= least:
        title += "l"
    rig = titled(with_jackets(gorge, Fraction(2), True), "head-pack", title)
    label = next(label for label in forms.cable_labels(FACE, rig) if label.name == "P01-A")

    assert FACE.width(f"{title} out-1", 7, True) + 1.2 + FACE.width("P01-A", 7, True) < least + 0.8
    assert said_of(label) == [(f"{title} out-1", size, True), ("P01-A", size, True)]


def test_a_sleeve_is_no_wider_than_its_cell(gorge: Rig) -> None:
    """Words of more than 67 mm are set smaller or left out; the strip goes on a cell of 70 mm."""
    for length in (4, 20, 40, 60, 100):
        rig = titled(with_jackets(gorge, Fraction(2), True), "head-pack", "Head pack " * (length // 10) + "H")
        rig = rig._replace(sheet=sheet_of((70, 37), (5, 5)))
        assert all(label.width <= 70 for label in forms.cable_labels(FACE, rig) if label.form == "sleeve")
        assert too_large(FACE, rig, forms.cable_labels(FACE, rig)) == []


def test_a_still_lead_whose_words_do_not_fit_has_a_flag(gorge: Rig) -> None:
    """On a sheet of narrow cells, also from 4.5 mm; blanks are no wider than a cell either."""
    rig = titled(with_jackets(gorge, Fraction(5)), "head-pack", "W" * 150)
    rig = rig._replace(sheet=COMMON["a4-3x8-70x37"])
    made = {label.name: label for label in forms.cable_labels(FACE, rig)}
    assert (made["P01-A"].form, made["S02-A"].form) == ("flag", "wrap")
    assert all(label.form == "wrap" and label.width <= 70 for label in forms.blank_labels(FACE, rig))

    rig = rig._replace(sheet=COMMON["a4-3x8-70x37"]._replace(cell=(Fraction(40), Fraction(80))))
    narrow = {label.name: label for label in forms.cable_labels(FACE, rig)}
    assert narrow["S02-A"].form == "flag"


def test_the_ground_mark_follows_the_plug_to_its_end(gorge: Rig) -> None:
    """S02 has a servo plug at the receiver alone: written from either end, that end has the mark and the other not."""
    cable = gorge.cables["S02"]
    (leg,) = cable.legs
    assert cable.build.plugs == ("servo-3", "control-6")
    turned = cable._replace(build=cable.build._replace(plugs=("control-6", "servo-3")))
    back = leg._replace(first=leg.second, second=leg.first)
    unstated = cable._replace(build=cable.build._replace(plugs=None))
    ports = gorge.units["rx"].model.ports
    stated = ports["bus"].connector is not None

    def marked(cable: Cable, leg: Leg) -> list[bool]:
        return [words.ground for words in end_words(gorge, cable, leg, {})]

    assert marked(cable, leg) == [True, False]
    assert marked(turned, back) == [False, True]
    assert marked(unstated, leg) == [stated, False]
    servo = gorge.cables["S01"]
    assert marked(servo, servo.legs[0]) == [True, True]  # both ends on servo ports
    models = {name: unit.model for name, unit in gorge.units.items()}
    ports_of = {
        name: {key: port._replace(connector=None) for key, port in model.ports.items()}
        for name, model in models.items()
    }
    bare = gorge._replace(
        units={
            name: unit._replace(model=models[name]._replace(ports=ports_of[name]))
            for name, unit in gorge.units.items()
        }
    )
    loose = servo._replace(build=servo.build._replace(plugs=None))  # no connector is told anywhere
    assert [words.ground for words in end_words(bare, loose, loose.legs[0], {})] == [True, True]
    ends = {end.unit: end.port for end in (leg.first, leg.second) if end}
    untold = gorge._replace(
        units={
            name: unit._replace(
                model=unit.model._replace(
                    ports={
                        **unit.model.ports,
                        ends[name]: unit.model.ports[ends[name]]._replace(connector=None),
                    }
                )
            )
            if name in ends
            else unit
            for name, unit in gorge.units.items()
        }
    )
    for written, along, told in (
        (cable, leg, [True, False]),
        (turned, back, [False, True]),
    ):  # the plugs tell it
        assert [words.ground for words in end_words(untold, written, along, {})] == told
    other = gorge.cables["S04"]
    other = other._replace(build=other.build._replace(plugs=None))
    assert not any(words.ground for words in end_words(bare, other, other.legs[0], {}))


def test_each_core_that_is_cut_is_told_at_both_ends(gorge: Rig) -> None:
    """On both ends of the lead, so that nobody takes the cut for a fault."""
    cable = gorge.cables["S04"]
    for cuts, told in (({"plus"}, ["plus cut"]), ({"ground", "plus"}, ["plus cut", "ground cut"]), (set(), [])):
        cut = cable._replace(power=cable.power._replace(cuts=frozenset(cuts)))
        for words in end_words(gorge, cut, cut.legs[0], {}):
            assert [fact for fact in words.facts if fact.endswith("cut")] == told


def test_copies_of_an_id_are_no_wider_than_the_cell(gorge: Rig) -> None:
    """P01-A is 7.02 mm wide in 8 pt, 6.14 mm in 7 pt: in a cell of 10 mm, less 1.5 mm at either end, 7 pt go in."""
    sheet = COMMON["a4-2x4-99x68"]._replace(cell=(Fraction(10), Fraction(80)))
    rig = titled(with_jackets(gorge, Fraction(10), True), "head-pack", "W" * 400)._replace(sheet=sheet)
    label = next(label for label in forms.cable_labels(FACE, rig) if label.name == "P01-A")

    assert {line for line in said_of(label) if line[0] == "P01-A"} == {("P01-A", 7, True)}
    assert label.width <= 10


def test_words_of_a_lead_without_length(gorge: Rig) -> None:
    """The other end alone is told."""
    cable = gorge.cables["S04"]._replace(length=None)
    ends = end_words(gorge, cable, cable.legs[0], {})

    assert [(words.there, words.extras) for words in ends] == [
        ("→ Cinema camera control", ["rev C"]),
        ("→ Camera bridge camera", ["rev C"]),
    ]
    assert forms.blank_labels(FACE, gorge._replace(cables={})) == []


@pytest.mark.parametrize(
    ("jacket", "form", "size"),
    [("3", "wrap", 8), ("10", "wrap", 8), ("1.5", "sleeve", 6), ("1.95", "sleeve", 7), ("2.1", "sleeve", 8)],
)
def test_the_id_alone_where_no_more_fits(gorge: Rig, jacket: str, form: str, size: int) -> None:
    """On a lead that moves: its label tells that it lacks words, and has the id as large as goes in."""
    rig = titled(with_jackets(gorge, Fraction(jacket), True), "head-pack", "W" * 400)
    rig = rig._replace(sheet=COMMON["a4-3x8-70x37"])
    label = next(label for label in forms.cable_labels(FACE, rig) if label.name == "P01-A")

    assert (label.form, label.whole) == (form, False)
    assert set(said_of(label)) == {("P01-A", size, True)}
    servo = next(
        label for label in forms.cable_labels(FACE, titled(rig, "rx", "W" * 400)) if label.name == "S01.R-A"
    )
    assert lines(servo)[0] == "G| S01.R-A", "which way round it is plugged is never left out"
    assert not servo.whole
    assert all(label.whole for label in all_labels(FACE, with_jackets(gorge, Fraction(jacket), True)))


@pytest.mark.parametrize(
    ("name", "spare"),
    [("W7", "W__-A"), ("ABC7", "ABC__-A"), ("LOOM7", "L__-A"), ("7", "__-A")],
)
def test_a_spare_keeps_the_letters_of_its_kind(gorge: Rig, name: str, spare: str) -> None:
    """Up to three letters before the number say the kind of a lead, of a longer word the first (common practice)."""
    cable = gorge.cables["P02"]
    renamed = cable._replace(name=name, legs=tuple(leg._replace(id=name) for leg in cable.legs))
    label = forms.spare_labels(FACE, gorge._replace(cables={name: renamed}))[0]

    assert label.name == f"{name}-A spare"
    assert any(line.startswith(spare) for line in lines(label))


@pytest.mark.parametrize(
    ("jacket", "height"), [("1.5", 5.58), ("1.7", 5.58), ("1.8", 5.6), ("2", 6.2), ("2.8", 8.7)]
)
def test_marks_of_a_sleeve(gorge: Rig, jacket: str, height: float) -> None:
    """One turn high, but never lower than a line of 6 pt and 1.5 mm on either side: 2.58 + 3 = 5.58 mm."""
    for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket), True)):
        marks = texts(label)
        assert label.form == "sleeve"
        assert label.height == pytest.approx(height, abs=0.005)
        left, right = min(mark.x for mark in marks), max(mark.x + mark.width for mark in marks)
        assert label.width == ceil(right - left + 2 * ROOM)
        assert min(mark.x for mark in marks) == pytest.approx(
            label.width - max(mark.x + mark.width for mark in marks)
        )
        assert solid(label) == []


@pytest.mark.parametrize("jacket", [tenths / 100 for tenths in range(180, 287, 3)])
def test_words_of_a_sleeve_are_the_largest_that_go_on_it(gorge: Rig, jacket: float) -> None:
    """All lines lie 1.5 mm or more from the cut; two of 7 and 6 pt, less 0.12 mm a line, where they go in."""
    room = floor(pi * jacket * 10 + 1e-9) / 10 - 2 * ROOM
    stacks = ((10, 8), (9, 7), (8, 7), (8, 6), (7, 6))  # where the plug goes, and the row below it
    large = next(
        (pair[0] for pair in stacks if sum(map(pitch, pair)) - 2 * 0.12 <= room + 1e-9),
        next((size for size in (8, 7) if pitch(size) - 0.12 <= room + 1e-9), 6),
    )
    found = with_jackets(gorge, Fraction(jacket).limit_denominator(100), True)
    for label in forms.cable_labels(FACE, found):
        assert label.form == "sleeve" and label.whole
        assert max(mark.size for mark in texts(label)) == large
        assert "→" in " ".join(lines(label))
        for mark in texts(label):
            _, high, _, low = inked(mark)
            assert high >= ROOM and low <= label.height - ROOM


@pytest.mark.parametrize(
    ("jacket", "film", "cell", "width"),
    [
        (10, 65, "70 37", 37),
        (10, 65, "99 68", 50),
        (10, 65, "66 45", 45),
        (10, 65, "40 80", 40),
        (6, 40, "70 40", 50),  # as tall as the cell: it need not be turned
        (6, 40, "40 30", 30),  # as tall as the cell is wide: it can be
    ],
)
def test_a_blank_wrap_goes_on_its_cell(gorge: Rig, jacket: int, film: int, cell: str, width: int) -> None:
    """Round 10 mm it is 31.4 + 31.4 + 2 = 65 mm tall, round 6 mm 18.8 + 18.8 + 2 = 40 mm.

    On a lower cell it is turned, and so no wider than that is tall.
    """
    wide, tall = map(Fraction, cell.split())
    sheet = COMMON["a4-2x4-99x68"]._replace(cell=(wide, tall), columns=1, rows=1)
    rig = with_jackets(gorge, Fraction(jacket), True)._replace(sheet=sheet)
    blanks = forms.blank_labels(FACE, rig)
    assert {(label.form, label.width, label.height) for label in blanks} == {("wrap", width, film)}
    assert too_large(FACE, rig, blanks) == []
    thin = with_jackets(gorge, Fraction(2), True)._replace(sheet=sheet)
    assert {label.width for label in forms.blank_labels(FACE, thin)} == {min(50, wide)}


def test_a_flag_is_no_wider_than_its_cell(gorge: Rig) -> None:
    """Round 3 mm two faces of 30 mm and a turn are 70 mm, the width of a cell; one of 35 mm would be 80 mm."""
    widths = set()
    for length in range(4, 40):
        title = ("Wia dom " * 9)[:length].strip()
        rig = titled(with_jackets(gorge, Fraction(3)), "bridge", title)._replace(
            sheet=sheet_of((70, 37), (5, 5))
        )
        label = next(label for label in forms.cable_labels(FACE, rig) if label.name == "S01.R-B")
        widths.add(label.width)
        assert " ".join(lines(label)).count("Wia dom"[: len(title)]) >= 2, "no word is left out"
    assert {60, 70} <= widths and max(widths) == 70


@pytest.mark.parametrize(
    ("jacket", "size"), [("2.2", 6), ("2.3", 6), ("2.35", 6), ("2.4", 10), ("2.45", 10), ("2.6", 10)]
)
def test_an_id_to_complete_is_large_where_it_goes_in(gorge: Rig, jacket: str, size: int) -> None:
    """A line of 10 pt is 4.30 mm: round 2.35 mm 7.3 - 3 = 4.3 mm are too little, round 2.4 mm 4.5 mm are enough."""
    for label in forms.blank_labels(FACE, with_jackets(gorge, Fraction(jacket), True)):
        assert label.form == "sleeve"
        assert [mark.size for mark in texts(label)] == [size]
        assert len(solid(label)) == 1
        (_, y), (_, also) = solid(label)[0]
        assert y == also and texts(label)[0].y < y <= label.height - ROOM


BLANK_LINES = {  # form, jacket -> (field of the words: left, width), size of the id, (height of each ruled line)
    "flag": ("3", False, 10, (9.3, 13.8)),
    "wrap": ("8", False, 10, (9.3, 13.8, 18.3, 22.8)),
    "thin wrap": ("3", True, 10, (9.3,)),
    "sleeve": ("2", True, 6, None),
}


@pytest.mark.parametrize("kind", BLANK_LINES)
def test_marks_of_a_blank(gorge: Rig, kind: str) -> None:
    """An id to complete at the left, 3.5 mm below its line a ruled one, then each 4.5 mm; beside it on a low strip."""
    jacket, moving, size, ruled = BLANK_LINES[kind]
    girth = pi * float(jacket)
    fields = {"flag": ((0, 25), (60 - 25, 25)), "sleeve": ((0, 50),)}.get(kind, ((0, 50),))
    width, height = {
        "flag": (60, 16),
        "sleeve": (50, 6.2),
    }.get(kind, (50, ceil(ZONES.get(jacket, 0) + girth + 2)))
    made = forms.blank_labels(FACE, with_jackets(gorge, Fraction(jacket), moving))
    assert [label.name for label in made] == ["blank 1", "blank 2", "blank 3", "blank 4"]
    assert [lines(label)[0] for label in made] == ["S__-A", "S__-B", "S__-A", "S__-B"]
    label = made[0]
    assert (label.width, label.height) == (width, pytest.approx(height))
    for mark, (left, _) in zip(texts(label), fields, strict=True):
        assert (mark.size, mark.bold, mark.x) == (size, True, left + ROOM)
        assert mark.y == pytest.approx(ROOM + 0.94 * size * POINT)
    ticks = {"flag": 4, "sleeve": 0}.get(kind, 2)
    found = [(*one, *other) for one, other in solid(label)[ticks:]]
    if ruled is None:
        beside = ROOM + FACE.width("S__-A", 6, True) + 2
        assert found == [pytest.approx((beside, ROOM + pitch(6) - 0.3, width - ROOM, ROOM + pitch(6) - 0.3))]
    else:
        assert found == [
            pytest.approx((left + ROOM, y, left + wide - ROOM, y), abs=0.01)
            for left, wide in fields
            for y in ruled
        ]


# ---- round a cable ---------------------------------------------------------------------------------------------------


WORDS = Words("Head pack out-1", "P01-A", "→ Head power", length="800 mm", revision="rev C")


def ticks(made: Made) -> list[Line]:
    """What is drawn besides the cut."""
    return [mark for mark in made[3] if isinstance(mark, Line) and not mark.dash]


@pytest.mark.parametrize(
    ("jacket", "zone"),
    [
        (5, 15.7),
        (10, 31.4),
        (10.2, 32),
        (15.2, 32),
        (15.4, 32.2),
        (30, 62.8),
        (3, 9.4),
        (2.87, 9),
        (2.86, None),
    ],
)
def test_zone_of_each_jacket(jacket: float, zone: float | None) -> None:
    """A turn, rounded down (3 x pi = 9.42), up to 32 mm; two thirds of a longer turn; never less than 9 mm (2.86 x pi =
    8.98). A third of the turn is readable at a glance (common practice, no source), so that some print always faces up.
    """
    assert printed_zone(jacket) == zone


@pytest.mark.parametrize(("jacket", "height"), [(2.5, 7.8), (2, 6.2), (0.5, 3 + line_height(6.0))])
def test_height_of_a_sleeve(jacket: float, height: float) -> None:
    """One turn rounded down to a tenth; round the thinnest, one line and both its edges of 1.5 mm."""
    assert sleeve_height(jacket) == pytest.approx(height)


@pytest.mark.parametrize(
    "words",
    [WORDS, WORDS._replace(facts=(VOLTS, AMPERES, "mark: three rings"), here="Head pack out-1 behind the arm")],
)
def test_both_faces_of_a_flag(words: Words) -> None:
    """The same words on both, in the middle of each; ticks where each face ends; a turn of film lies between them."""
    made = forms._flag(FACE, words, 3.0)
    _, film, height, _, says = made
    half = len(texts_on(made)) // 2
    first, second = texts_on(made)[:half], texts_on(made)[half:]
    ends = sorted({mark.points[0][0] for mark in ticks(made)})
    face = ends[0]

    assert says == ALL
    assert face in range(25, 51)
    assert film == math.ceil(2 * face + 3 * math.pi)
    assert ends == [face, film - face]
    assert [mark.text for mark in first] == [mark.text for mark in second]
    for mark, other in zip(first, second, strict=True):
        assert other.x - mark.x == pytest.approx(film - face)
        assert other.y == mark.y
    spans = sorted((mark.points[0][1], mark.points[1][1]) for mark in ticks(made))
    assert spans == [(0, 1.2)] * 2 + [(height - 1.2, height)] * 2
    used = sum(max(line_height(mark.size) for mark in row) for row in rows_in(first))
    assert height == pytest.approx(max(8.0, used + 3))


@pytest.mark.parametrize("jacket", [3.2, 4.5, 6.0, 8.0, 10.0])
def test_the_tail_of_a_wrap_is_clear(jacket: float) -> None:
    """All print lies in the zone, which the tail then covers by 2 mm more; ticks stand where the tail begins."""
    made = forms._wrap(FACE, WORDS, jacket, 150.0, moves=True)
    zone = printed_zone(jacket)
    assert made and zone
    _, width, film, _, says = made

    assert says == ALL
    assert film == math.ceil(round(zone + math.pi * jacket + 2, 6))
    assert [mark.points for mark in ticks(made)] == [
        ((0, zone), (1.2, zone)),
        ((width - 1.2, zone), (width, zone)),
    ]
    for mark in texts_on(made):
        _, high, _, low = inked(mark)
        assert high >= 1.5 and low <= zone
    assert any("P01-A" in mark.text for mark in texts_on(made))
    left, right = (min(mark.x for mark in texts_on(made)), max(mark.x + mark.width for mark in texts_on(made)))
    assert width == math.ceil(right - left + 3)


def test_ids_stand_below_the_words_where_there_is_no_room_beside_them() -> None:
    """On a label of 22 mm along a lead of 10 mm: the words, then the id as often as it fits, all of one size."""
    words = WORDS._replace(here="Head pack", there="→ Camera")
    made = forms._wrap(FACE, words, 10.0, 22.0, moves=True)
    assert made and made[-1] == ALL
    rows = rows_in(texts_on(made))
    alone = [row[0] for row in rows if [mark.text for mark in row] == ["P01-A"]]
    used = sum(max(line_height(mark.size) for mark in row) for row in rows)

    assert len({mark.size for mark in alone}) == 1 and len(alone) >= 2
    assert used + line_height(alone[0].size) - 0.12 * (len(rows) + 1) > 31.4 - 1.5, "not one more fits"


@pytest.mark.parametrize("size", [6.0, 7.0, 8.0])
@pytest.mark.parametrize("more", [-1.0, 1.4, 1.6, 2.95, 3.05])
def test_a_long_id_does_not_leave_its_wrap(size: float, more: float) -> None:
    """Where it is wider than the label less 3 mm it is broken, and no copy of it reaches beyond the edge."""
    words = WORDS._replace(id="control-of-camera-1.3-A", facts=())
    widest = FACE.width(words.id, size, True) + more
    made = forms._wrap(FACE, words, 10.0, widest, moves=True)
    assert made
    assert made[1] <= widest
    assert all(mark.x >= 1.5 - 1e-6 and mark.x + mark.width <= made[1] - 1.5 + 1e-6 for mark in texts_on(made))


@settings(max_examples=150)
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
    words = Words(here, "P01-A", there, (VOLTS, AMPERES, "mark: red")[:facts], ground=bool(count % 2))
    made = forms._wrap(FACE, words, jacket, float(widest), moves=True)
    zone = printed_zone(jacket)
    assert made and zone
    marks = texts_on(made)
    for mark in marks:
        left, high, right, low = inked(mark)
        assert left >= 1.5 - 1e-6 and right <= made[1] - 1.5 + 1e-6
        assert high >= 1.5 - 1e-6 and low <= zone
    assert apart(marks)
    assert any("P01-A" in mark.text for mark in marks)
    assert sum(mark.text.startswith("G|") for mark in marks) == words.ground
    said = " ".join(mark.text for mark in marks)
    if made[-1] == ALL:
        assert all(word in said for text in (here, there, *words.facts) for word in text.split())
    if made[-1] >= PLACE:
        largest = max(mark.size for mark in marks)
        assert all(mark.size < largest or largest <= 8 for mark in marks if mark.text == "P01-A")


@pytest.mark.parametrize("jacket", [2.0, 3.0, 5.0, 6.9, 7.0, 8.9, 9.0, 30.0])
def test_no_sizes_set_the_less_important_larger(jacket: float) -> None:
    """Where this plug goes is larger than the id, the rest is not larger than that; the largest sizes come first."""
    for known in (sizes_for(jacket), forms.FLAG_SIZES):
        for sizes in known:
            assert sizes.here > sizes.id >= sizes.small >= 6
        assert list(known) == sorted(known, reverse=True)
    assert sizes_for(jacket)[0].here == (14 if jacket >= 9 else 12 if jacket >= 7 else 10)


@settings(max_examples=100)
@given(
    st.lists(st.sampled_from(("Head", "pack", "W", "out-1", "Wiagm")), min_size=1, max_size=9).map(" ".join),
    st.integers(1, 9),
    st.sampled_from((1.0, 2.0, 3.0, 4.4)),
    st.booleans(),
)
def test_any_words_on_a_flag(here: str, count: int, jacket: float, ground: bool) -> None:
    """On both faces, off the cut and off the fold, none on another; only the first face bears the ground mark."""
    there = "→ " + " ".join(["Camera"] * count)
    words = Words(here, "S01.R-A", there, ("EXACT",), "300 mm", "rev C", ground)
    made = forms._flag(FACE, words, jacket)
    (face, second) = sorted({mark.points[0][0] for mark in ticks(made)})
    marks = texts_on(made)
    assert apart(marks)
    for mark in marks:
        left, high, right, low = inked(mark)
        assert high >= 1.5 - 1e-6 and low <= made[2] - 1.5 + 1e-6
        start = 0 if left < face else second
        assert left >= start + 1.5 - 1e-6 and right <= start + face - 1.5 + 1e-6
    sides = [" ".join(mark.text for mark in marks if (mark.x < face) == first) for first in (True, False)]
    assert all(
        word in side for side in sides for text in (here, there, "EXACT", "S01.R-A") for word in text.split()
    )
    assert [side.count("G|") for side in sides] == [int(ground), 0]


@pytest.mark.parametrize(("form", "jacket"), [("flag", 3.0), ("wrap", 6.0), ("wrap", 10.0), ("sleeve", 2.0)])
def test_what_is_written_on_a_blank_has_room(form: str, jacket: float) -> None:
    """Ruled lines begin right of the edge and end left of it, at least 3 mm apart, on the part that is not covered."""
    rig = Rig.__new__(
        Rig, *[None] * len(Rig._fields)
    )  # a blank takes only the sheet of a rig, and there is none
    label = forms._blank(FACE, rig, form, jacket, "blank 1", "W__-A")
    ruled = [mark for mark in label.marks if isinstance(mark, Line) and not mark.dash]
    ruled = [mark for mark in ruled if mark.points[1][0] - mark.points[0][0] > 1.3]
    foot = printed_zone(jacket) if form == "wrap" else label.height

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
