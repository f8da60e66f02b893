"""What a cable's label is, what it says and how large it is; spares, blanks, cases; linear codes.

F32 to F38 are worked examples of the trade, arithmetic that can be done by hand; what they rest on is in
tests/reference/labelling.csv or named beside each test.
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import ceil, floor, pi
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reportlab.graphics.barcode.code128 import Code128
from shapely.geometry import box

from conftest import ROOT, STOCK
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.layout import line_height, text_at, wrap
from rigcard.documents.base.model import MM_PER_POINT, Bars, Line, Rectangle, Squares, Text, moved
from rigcard.documents.labels import cable_labels as forms
from rigcard.documents.labels import code128
from rigcard.documents.labels.frame import EDGE, Label, label_code
from rigcard.documents.labels.kit_labels import MODULE, asset_code, case_labels, code_size, unit_labels
from rigcard.documents.labels.label_sheets import (
    FEED,
    SHEDDING,
    SLEEVES,
    Outcome,
    Used,
    all_labels,
    cell_place,
    free_cells,
    label_sheets,
    largest,
    sheet_that_holds,
    too_large,
)
from rigcard.documents.labels.ratings import ratings
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig, check_rig
from rigcard.render.pdf import pdf
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.label_sheets import COMMON, PAGES
from rigcard.resolve.model import Cable, LabelSheet, Leg, Rig

FACE = EmbeddedTypeface()
GORGE = (ROOT / "samples" / "gorge.rig").read_text(encoding="utf-8")
MAST = (ROOT / "samples" / "mast.rig").read_text(encoding="utf-8")


def rig_of(folder: Path, text: str) -> Rig:
    """A rig text that uses the samples' stock, solved without an error."""
    path = folder / "rig.rig"
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics, stock=STOCK).solved
    assert solved is not None, [found.message for found in diagnostics]
    return solved.rig


@pytest.fixture(scope="module")
def gorge(tmp_path_factory: pytest.TempPathFactory) -> Rig:
    """The sample with a servo loom, a moving lead and two power leads."""
    return rig_of(tmp_path_factory.mktemp("gorge"), GORGE)


def with_jackets(rig: Rig, jacket: Fraction, moving: bool = False, airborne: bool = False) -> Rig:
    """The same rig with all cables alike."""
    cables = {
        name: cable._replace(jacket=jacket, moving=moving, airborne=airborne)
        for name, cable in rig.cables.items()
    }
    return rig._replace(cables=cables)


def lines(label: Label) -> list[str]:
    """The lines of text on a label."""
    return [mark.text for mark in label.marks if isinstance(mark, Text)]


# ---- worked examples ---------------------------------------------------------------------------------------------


def test_f32_clear_tail_wrap() -> None:
    """Print zone + girth + 2 mm: 12 + 18.85 + 2 = 33; 45.42 is 46; on 2 mm the zone is longer than the girth."""
    assert forms.wrap_length(6, 12) == 33
    assert forms.wrap_length(10, 12) == 46
    assert forms.wrap_length(2, 12) is None
    assert forms.wrap_length(6, 6 * pi) == 40  # a zone of the whole girth: 18.85 + 18.85 + 2
    assert forms.printed_zone(2) is None


def test_f33_flag() -> None:
    """Twice the face and the girth: 2 x 25 + 9.42 is 60 mm."""
    assert forms.flag_length(3, 25) == 60


def test_f34_text_fits(gorge: Rig) -> None:
    """Each line of a flag is measured, so that none is wider than its face less 1.5 mm on either side."""
    for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(3))):
        face = (label.width - pi * 3) / 2
        for mark in label.marks:
            assert not isinstance(mark, Text) or mark.width <= ceil(face) - 2 * EDGE + 1e-6


def test_f35_repeats_round_a_wrap(gorge: Rig) -> None:
    """Lines of 3.387 mm: 18.85 / 3.387 is 5. No wrap has more lines than go round, each has its id twice or more."""
    assert floor(pi * 6 / 3.387) == 5
    for jacket in (Fraction(6), Fraction(8), Fraction(10)):
        for label in forms.cable_labels(FACE, with_jackets(gorge, jacket)):
            assert label.form == "wrap"
            assert sum(label.name in line for line in lines(label)) >= 2
            assert len(lines(label)) <= pi * float(jacket) / line_height(6.0)


def test_f36_matrix_code() -> None:
    """29 modules of 0.4233 mm are 12.28 mm, 33 are 13.97 mm; a module is five dots at 300 dpi (ISO/IEC 18004)."""
    assert pytest.approx(0.4233, abs=1e-4) == MODULE
    assert code_size("X" * 20) == (1, pytest.approx(12.28, abs=0.005))
    assert code_size("X" * 21) == (2, pytest.approx(13.97, abs=0.005))


def test_f37_linear_code() -> None:
    """8 characters: 11 x 8 + 11 + 11 + 13 = 123 modules and 20 of quiet zone; not less than 35.75 mm at 0.25 mm."""
    assert sum(code128.bar_widths("HS-014-G")) == 123
    assert code128.MODULE >= 0.25
    assert code128.linear_length("HS-014-G") == pytest.approx(143 * code128.MODULE)
    assert code128.linear_length("HS-014-G") >= 35.75


def test_f38_part_used_sheet(gorge: Rig) -> None:
    """7 cells of 24 used: begin at row 3, column 2; 31 labels: 17 here, 14 on the next; then 15 is free, 10 are left."""
    sheet = COMMON["a4-3x8-70x37"]
    cells = free_cells(sheet, Used(start=8), 32)

    assert cell_place(sheet, 8) == (70.0, 74.5)
    assert [sum(on == page for on, _ in cells[:31]) for page in (1, 2)] == [17, 14]
    assert cells[31] == (2, 15)
    outcome = label_sheets(FACE, gorge._replace(sheet=sheet), Used(start=8))
    count = len(all_labels(FACE, gorge._replace(sheet=sheet)))
    assert sum(map(len, outcome.cells)) == count
    assert outcome.next_cell == (7 + count) % 24 + 1


# ---- which label a jacket gets -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("jacket", "still", "moving"),
    [
        ("2", "flag", "sleeve"),
        ("2.86", "flag", "sleeve"),  # 8.98 mm once round
        ("2.87", "flag", "wrap"),
        ("3", "flag", "wrap"),
        ("4", "flag", "wrap"),
        ("4.49", "flag", "wrap"),
        ("4.5", "wrap", "wrap"),  # the least from which a still lead has wraps
        ("5", "wrap", "wrap"),
        ("6", "wrap", "wrap"),
        ("8", "wrap", "wrap"),
        ("10", "wrap", "wrap"),
    ],
)
def test_form_of_each_jacket(gorge: Rig, jacket: str, still: str, moving: str) -> None:
    """Common practice, no source: thin still leads have flags, thick ones wraps; what moves or flies has no flag."""
    size = Fraction(jacket)
    assert {label.form for label in forms.cable_labels(FACE, with_jackets(gorge, size))} == {still}
    for place in ({"moving": True}, {"airborne": True}):
        found = with_jackets(gorge, size, **place)
        made = [
            *forms.cable_labels(FACE, found),
            *forms.spare_labels(FACE, found),
            *forms.blank_labels(FACE, found),
        ]
        assert {label.form for label in made} == {moving}


def test_a_sleeve_goes_once_round(gorge: Rig) -> None:
    """The strip of a 2 mm lead is its girth of 6.28 mm, rounded down; its text keeps 1.5 mm from the cut."""
    for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(2), moving=True)):
        assert label.height == 6.2
        assert label.name in lines(label)[0]


def test_order_of_the_words(gorge: Rig) -> None:
    """Where this plug goes is largest, then the id with its end, then small the other end, length, revision."""
    by_name = {label.name: label for label in forms.cable_labels(FACE, gorge)}
    texts = [mark for mark in by_name["P01-A"].marks if isinstance(mark, Text)]

    assert [text.text for text in texts[:2]] == ["Head pack out-1", "P01-A"]
    assert texts[2].text == "18 to 25.2 V · 20 A · fuse 20 A"
    assert texts[3].text == "→ Stabilised head power, 800 mm, rev C"
    assert [text.size for text in texts[:4]] == sorted({text.size for text in texts[:4]}, reverse=True)


@pytest.mark.parametrize("jacket", ["3", "3.2", "3.5", "4.5", "6", "8", "10"])
def test_where_a_plug_goes_is_first_and_largest(gorge: Rig, jacket: str) -> None:
    """On every wrap of a lead that moves, low ones too; and the id is there again on the other side of the lead."""
    for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket), moving=True)):
        texts = [mark for mark in label.marks if isinstance(mark, Text)]
        first = texts[0]
        assert label.name not in first.text
        assert all(first.size > text.size for text in texts if label.name in text.text or "→" in text.text)
        if float(jacket) >= 3.2 and not label.name.startswith(("P", "S04")):
            assert sum(label.name in text.text for text in texts) >= 2, (label.name, lines(label))


BUS = "port     bus    out serial-16 by servo-3"


@pytest.mark.parametrize(
    ("was", "now", "marked"),
    [
        ("", "", True),  # on the connector of the receiver's own servo pins
        (BUS, "port     bus    out serial-16", True),  # the plug of the lead says it
        (BUS, "port     bus    out serial-16 by control-6", False),
    ],
)
def test_servo_plugs_bear_the_ground_mark(tmp_path: Path, was: str, now: str, marked: bool) -> None:
    """A three-pin plug has no key: what comes from a servo pin begins with the mark, and the bus on a plug of the same kind."""
    stock = tmp_path / "stock"
    stock.mkdir()
    for file in (ROOT / "samples" / "stock").iterdir():
        text = file.read_text(encoding="utf-8")
        (stock / file.name).write_text(text.replace(was, now) if was else text, encoding="utf-8")
    path = tmp_path / "rig.rig"
    plugs = "plugs       servo-3 to control-6"
    path.write_text(GORGE.replace(plugs, "" if not marked else plugs), encoding="utf-8")
    solved = check_rig(path, Diagnostics()).solved
    assert solved is not None
    found = {label.name for label in forms.cable_labels(FACE, solved.rig) if lines(label)[0].startswith("G|")}

    pins = {f"{leg}-{end}" for leg in ("S01.R", "S01.I", "S01.T", "S03") for end in "AB"}
    assert found == pins | ({"S02-A"} if marked else set())


def test_volts_and_amperes_are_those_of_the_source_and_the_lead(tmp_path: Path) -> None:
    """What the pack gives, near empty and full; what is marked on the lead; its fuse; a line to write on for the rest."""
    said = {
        label.name: " ".join(lines(label))
        for label in forms.cable_labels(FACE, rig_of(tmp_path, MAST))
        if label.name.startswith("P")
    }
    for end in "AB":
        assert "18 to 25.2 V · 16 A · fuse 15 A" in said[f"P11-{end}"]
        assert "4.7 to 5.8 V · 3 A" in said[f"P14-{end}"] and "____" not in said[f"P14-{end}"]
    again = rig_of(tmp_path, MAST.replace("  rated  3A\n", ""))
    made = next(label for label in forms.cable_labels(FACE, again) if label.name == "P14-A")
    assert " ".join(lines(made)).count("4.7 to 5.8 V · ______ A") == 2
    assert ratings(again._replace(units={}, cables={})) == {}


def test_volts_behind_a_regulator_are_its_own(tmp_path: Path) -> None:
    """A lead on the 5 V outlet of a head bears 5 V, whatever the pack gives."""
    text = MAST.replace("rx-pack.out-1 to rx-b.power", "head.dc-5 to rx-b.power").replace("independent ", "# ")
    assert ratings(rig_of(tmp_path, text))["P14"] == ("5 V", "3 A")


def test_what_is_to_be_compared_is_on_the_label(tmp_path: Path, gorge: Rig) -> None:
    """A lead that no other may take the place of says EXACT, and its mark stands there; no other lead says it."""
    made = {label.name: lines(label) for label in forms.cable_labels(FACE, gorge)}
    assert all("EXACT · mark: three rings" in made[name] for name in ("S04-A", "S04-B"))
    assert all("EXACT" not in " ".join(said) for name, said in made.items() if not name.startswith("S04"))
    other = rig_of(tmp_path, GORGE.replace("three rings", "red ring"))
    codes = [
        {label.name: label_code(label) for label in forms.cable_labels(FACE, rig)} for rig in (gorge, other)
    ]
    assert {name for name, code in codes[0].items() if codes[1][name] != code} == {"S04-A", "S04-B"}


def test_a_core_that_is_cut_is_told(gorge: Rig) -> None:
    """Who meets the lead must not take it for a whole one (common practice, no source)."""
    power = gorge.cables["S04"].power._replace(cuts=frozenset({"plus"}))
    rig = gorge._replace(cables={**gorge.cables, "S04": gorge.cables["S04"]._replace(power=power)})
    told = {label.name for label in forms.cable_labels(FACE, rig) if "plus cut" in " ".join(lines(label))}

    assert told == {"S04-A", "S04-B"}


# ---- where the marks of a label stand ------------------------------------------------------------------------------

POINT = 25.4 / 72  # mm
ROOM = 1.5  # mm between print and the cut (common practice, no source: a die cut wanders)
ZONES = {
    "3": 9.4,
    "3.15": 9.8,
    "3.25": 10.2,
    "4": 12,
    "5": 15,
    "6": 15,
    "7": 20,
    "8": 20,
    "9": 25,
    "10": 25,
}  # jacket -> printed zone


def pitch(size: float) -> float:
    """Lines stand 1.22 times their size apart."""
    return 1.22 * size * POINT


def texts(label: Label) -> list[Text]:
    """The texts of a label from its top."""
    return [mark for mark in label.marks if isinstance(mark, Text)]


def solid(label: Label) -> list[tuple[tuple[float, float], ...]]:
    """Its lines but for the cut, which goes round it once as a thin broken line."""
    (cut,) = (mark for mark in label.marks if isinstance(mark, Rectangle))
    assert (cut.x, cut.y, cut.width, cut.height) == (0, 0, label.width, label.height)
    drawn = [mark for mark in label.marks if isinstance(mark, Line)]
    assert all(0.1 <= mark.weight <= 0.2 for mark in (cut, *drawn))
    assert cut.dash and all(0.5 <= part <= 1.5 for part in cut.dash)
    assert not any(mark.dash for mark in drawn)
    return [mark.points for mark in drawn]


def stands(marks: list[Text], left: float, width: float, top: float, between: float = 0.0) -> None:
    """Each text in the middle of a field, and below the one before it; a baseline is 0.8 of the size from the top."""
    for mark in marks:
        assert mark.x == pytest.approx(left + (width - FACE.width(mark.text, mark.size, mark.bold)) / 2)
        assert mark.y == pytest.approx(top + 0.8 * mark.size * POINT)
        top += pitch(mark.size) + between


def said_of(label: Label) -> list[tuple[str, float, bool]]:
    """Words, size, bold of each line."""
    return [(mark.text, mark.size, mark.bold) for mark in texts(label)]


def test_print_keeps_its_distance_from_the_cut() -> None:
    """1.5 mm to a die cut (common practice, no source)."""
    assert EDGE == ROOM


@pytest.mark.parametrize("jacket", ["1", "2", "3", "4", "4.4"])
def test_marks_of_a_flag(gorge: Rig, jacket: str) -> None:
    """Two faces alike at the ends, one turn of the jacket between them, ticks at the folds; words in the middle."""
    for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket))):
        marks = texts(label)
        half = marks[: len(marks) // 2]
        face = max(25, ceil(max(mark.width for mark in half) + 2 * ROOM))
        high = sum(pitch(mark.size) for mark in half)
        second = label.width - face
        assert label.width == ceil(2 * face + pi * float(jacket))
        assert label.height == pytest.approx(high + 2 * ROOM)
        stands(half, 0, face, ROOM)
        stands(marks[len(half) :], second, face, ROOM)
        assert [mark.text for mark in marks[len(half) :]] == [mark.text for mark in half]
        ends = ((0, 1.2), (label.height - 1.2, label.height))
        assert solid(label) == [((x, low), (x, high)) for x in (face, second) for low, high in ends]


def test_words_of_a_flag(gorge: Rig) -> None:
    """In the order of the trade, with volts, amperes and fuse on a power lead."""
    made = {label.name: label for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(3)))}
    one = [
        ("G| Head receiver", 8, True),
        ("p5", 8, True),
        ("S01.R-A", 7, True),
        ("→ Camera bridge j3,", 6.5, False),
        ("300 mm, rev C", 6.5, False),
    ]
    power = [
        ("Head pack out-1", 8, True),
        ("P01-A", 7, True),
        ("18 to 25.2 V · 20 A · fuse 20 A", 6.5, False),
        ("→ Stabilised head power,", 6.5, False),
        ("800 mm, rev C", 6.5, False),
    ]

    assert said_of(made["S01.R-A"]) == one * 2
    assert said_of(made["P01-A"]) == power * 2


@pytest.mark.parametrize("length", range(1, 31))
def test_a_flag_with_much_text_has_wide_faces(gorge: Rig, length: int) -> None:
    """Faces are 25 mm wide, and as long as there are more than 16 mm of text 5 mm wider, up to 50 mm."""
    title = " ".join("Wiadomo"[: 2 + at * length % 6] for at in range(length + 1))
    bridge = gorge.units["bridge"]._replace(title=title)
    cables = with_jackets(gorge, Fraction(3)).cables
    plain = cables["S04"]._replace(build=cables["S04"].build._replace(swap="any", mark=""))
    rig = gorge._replace(units={**gorge.units, "bridge": bridge}, revision="", cables={**cables, "S04": plain})
    words = {
        "S01.R-B": (f"G| {bridge.title} j3", "→ Head receiver p5, 300 mm"),
        "S04-A": (f"{bridge.title} camera", "→ Cinema camera control, 400 mm"),
    }
    made = {label.name: label for label in forms.cable_labels(FACE, rig)}
    for name, (here, there) in words.items():
        for room in (face - 2 * ROOM for face in (25, 30, 35, 40, 45, 50)):
            large, small = wrap(FACE, here, 8, room, bold=True), wrap(FACE, there, 6.5, room)
            high = len(large) * pitch(8) + pitch(7) + len(small) * pitch(6.5)
            if high <= 16:
                break
        widest = max(*(FACE.width(line, 8, True) for line in large), *(FACE.width(line, 6.5) for line in small))
        assert made[name].height == pytest.approx(high + 2 * ROOM)
        assert made[name].width == ceil(2 * max(25, ceil(widest + 2 * ROOM)) + pi * 3)


@pytest.mark.parametrize(
    ("jacket", "moving"),
    [(jacket, True) for jacket in ZONES] + [(jacket, False) for jacket in ZONES if float(jacket) >= 4.5],
)
def test_marks_of_a_wrap(gorge: Rig, jacket: str, moving: bool) -> None:
    """Words in the middle of the printed zone, a clear tail of one turn and 2 mm below it, ticks where it begins."""
    zone, girth = ZONES[jacket], pi * float(jacket)
    for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket), moving)):
        marks = texts(label)
        high = sum(pitch(mark.size) for mark in marks)
        between = (zone - ROOM - high) / len(marks)
        assert label.form == "wrap"
        assert label.width == ceil(max(mark.width for mark in marks) + 2 * ROOM)
        assert label.height == ceil(zone + girth + 2)
        above = (zone - ROOM - high - between * (len(marks) - 1)) / 2
        stands(marks, 0, label.width, ROOM + above, between)
        assert solid(label) == [((0, zone), (1.2, zone)), ((label.width - 1.2, zone), (label.width, zone))]
        words = 1 + max(at for at, mark in enumerate(marks) if not mark.bold)
        free = zone - ROOM - sum(pitch(mark.size) for mark in marks[:words])
        least = 0.12  # mm that each line may give up of its pitch
        counts = {
            size: max(0, floor((free + least * words) / (pitch(size) - least) + 1e-9))
            for size in (8, 7, 6)
            if size < marks[0].size
        }
        assert between >= -least
        size = next((size for size, count in counts.items() if count), 6)
        assert said_of(label)[words:] == [(label.name, size, True)] * counts[size]


def test_words_of_a_wrap(gorge: Rig) -> None:
    """Large on thick leads; on a thin one in two lines; the id again for as often as it goes in."""
    thick, eight, five, thin = (
        {
            label.name: said_of(label)
            for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket), True))
        }
        for jacket in (10, 8, 5, 3)
    )
    there = "→ Stabilised head power, 800 mm, rev C"

    facts = ("18 to 25.2 V · 20 A · fuse 20 A", 7, False)
    assert thick["P01-A"] == [
        ("Head pack out-1", 12, True),
        ("P01-A", 11, True),
        facts,
        (there, 6.5, False),
        *[("P01-A", 8, True)] * 2,
    ]
    assert eight["P01-A"] == [
        ("Head pack out-1", 10, True),
        ("P01-A", 9, True),
        facts,
        (there, 6.5, False),
        ("P01-A", 8, True),
    ]
    assert five["P01-A"] == [
        ("Head pack out-1", 8, True),
        (f"P01-A · {facts[0]}", 6.5, True),
        (there, 6, False),
        ("P01-A", 7, True),
    ]
    assert thin["P01-A"] == [
        ("Head pack out-1", 7, True),
        (f"P01-A {there} · {facts[0]}", 6, False),
        ("P01-A", 6, True),
    ]
    assert thin["S01.R-A"] == [
        ("G| Head receiver p5", 7, True),
        ("S01.R-A → Camera bridge j3, 300 mm, rev C", 6, False),
        ("S01.R-A", 6, True),
    ]


def titled(rig: Rig, name: str, title: str) -> Rig:
    """The same rig with another name on a unit."""
    return rig._replace(units={**rig.units, name: rig.units[name]._replace(title=title)})


@pytest.mark.parametrize(("least", "whole"), [(146.2, True), (147.0, False)])
def test_words_along_a_wrap_end_at_150_mm(gorge: Rig, least: float, whole: bool) -> None:
    """Less 1.5 mm at either end: a line of up to 147 mm goes in, a longer one is not on one line."""
    title = "Head pack"
    while FACE.width(f"{title} out-1", 8, True) <= least:
        title += "l"
    rig = titled(with_jackets(gorge, Fraction(5)), "head-pack", title)
    label = next(label for label in forms.cable_labels(FACE, rig) if label.name == "P01-A")

    assert FACE.width(f"{title} out-1", 8, True) < least + 0.8
    assert (f"{title} out-1" in lines(label)) == whole
    assert label.width <= 150
    assert not whole or label.width == 150


@pytest.mark.parametrize(("least", "size"), [(146.2, 7), (147.0, 6)])
def test_words_along_a_sleeve_end_at_150_mm(gorge: Rig, least: float, size: int) -> None:
    """What takes more than 147 mm in 7 pt is set in 6 pt."""
    title = "Head pack"
    while FACE.width(f"{title} out-1 · P01-A", 7, True) <= least:
        title += "l"
    rig = titled(with_jackets(gorge, Fraction(2), True), "head-pack", title)
    label = next(label for label in forms.cable_labels(FACE, rig) if label.name == "P01-A")

    assert FACE.width(f"{title} out-1 · P01-A", 7, True) < least + 0.8
    assert said_of(label) == [(f"{title} out-1 · P01-A", size, True)]


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
        return [words.here.startswith("G|") for words in forms.end_words(gorge, cable, leg, {})]

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
    assert [words.here[:2] for words in forms.end_words(bare, loose, loose.legs[0], {})] == ["G|", "G|"]
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
        assert [words.here.startswith("G|") for words in forms.end_words(untold, written, along, {})] == told
    other = gorge.cables["S04"]
    other = other._replace(build=other.build._replace(plugs=None))
    assert not any(words.here.startswith("G|") for words in forms.end_words(bare, other, other.legs[0], {}))


def test_each_core_that_is_cut_is_told_at_both_ends(gorge: Rig) -> None:
    """On both ends of the lead, so that nobody takes the cut for a fault."""
    cable = gorge.cables["S04"]
    for cuts, told in (({"plus"}, ["plus cut"]), ({"ground", "plus"}, ["plus cut", "ground cut"]), (set(), [])):
        cut = cable._replace(power=cable.power._replace(cuts=frozenset(cuts)))
        for words in forms.end_words(gorge, cut, cut.legs[0], {}):
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
    ends = forms.end_words(gorge, cable, cable.legs[0], {})

    assert [words.lasting for words in ends] == ["→ Cinema camera control", "→ Camera bridge camera"]
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
        assert label.width == ceil(max(mark.width for mark in marks) + 2 * ROOM)
        stands(marks, 0, label.width, (label.height - sum(pitch(mark.size) for mark in marks)) / 2)
        assert solid(label) == []


@pytest.mark.parametrize("jacket", [tenths / 100 for tenths in range(180, 287, 3)])
def test_words_of_a_sleeve_are_the_largest_that_go_on_it(gorge: Rig, jacket: float) -> None:
    """All lines lie 1.5 mm or more from the cut; two where 8 and 6 pt, or 7 and 6 pt, less 0.12 mm a line go in."""
    room = floor(pi * jacket * 10 + 1e-9) / 10 - 2 * ROOM
    sizes = next(
        (pair for pair in ((8, 6), (7, 6)) if sum(map(pitch, pair)) - 2 * 0.12 <= room),
        next((each for each in ((7,), (6,)) if pitch(each[0]) - 0.12 <= room), (6,)),
    )
    found = with_jackets(gorge, Fraction(jacket).limit_denominator(100), True)
    for label in forms.cable_labels(FACE, found):
        assert label.form == "sleeve"
        assert tuple(mark.size for mark in texts(label)) == sizes
        for mark in texts(label):
            size = mark.size * POINT
            assert mark.y - 0.66 * size >= ROOM and mark.y + 0.2 * size <= label.height - ROOM


@pytest.mark.parametrize(
    ("jacket", "film", "cell", "width"),
    [
        (10, 59, "70 37", 37),
        (10, 59, "99 68", 50),
        (10, 59, "60 45", 45),
        (10, 59, "40 80", 40),
        (6, 36, "70 36", 50),  # as tall as the cell: it need not be turned
        (6, 36, "36 30", 30),  # as tall as the cell is wide: it can be
    ],
)
def test_a_blank_wrap_goes_on_its_cell(gorge: Rig, jacket: int, film: int, cell: str, width: int) -> None:
    """Round 10 mm it is 25 + 31.4 + 2 = 59 mm tall, round 6 mm 15 + 18.8 + 2 = 36 mm.

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
            sheet=sheet_of((70, 37), (5, 5)), revision=""
        )
        label = next(label for label in forms.cable_labels(FACE, rig) if label.name == "S01.R-B")
        here, there = f"G| {title} j3", "→ Head receiver p5, 300 mm"
        for room in (25 - 2 * ROOM, 30 - 2 * ROOM):
            large, small = wrap(FACE, here, 8, room, bold=True), wrap(FACE, there, 6.5, room)
            high = len(large) * pitch(8) + pitch(7) + len(small) * pitch(6.5)
            if high <= 16:
                break
        assert label.height == pytest.approx(high + 2 * ROOM)
        widths.add(label.width)
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
    "wrap": ("8", False, 10, (9.3, 13.8, 18.3)),
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
        assert mark.y == pytest.approx(ROOM + 0.8 * size * POINT)
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


# ---- spares, blanks and cases ------------------------------------------------------------------------------------


def test_spares_and_blanks_come_last(gorge: Rig) -> None:
    """Both ends of the power lead without a spare in the kit; then four blanks, A and B by turns."""
    names = [label.name for label in all_labels(FACE, gorge)]

    assert names[-6:-4] == ["P02-A spare", "P02-B spare"]
    assert names[-4:] == ["blank 1", "blank 2", "blank 3", "blank 4"]
    made = {label.name: label for label in all_labels(FACE, gorge)}
    assert {"SPARE FOR P02"} <= set(lines(made["P02-A spare"]))
    assert "P__-A" in " ".join(lines(made["P02-A spare"]))
    assert [lines(made[f"blank {number}"])[0] for number in (1, 2)] == ["S__-A", "S__-B"]
    assert sum(isinstance(mark, Line) and not mark.dash and mark.points[1][0] - mark.points[0][0] > 10
               for mark in made["blank 1"].marks) == 4  # fmt: skip


def test_words_of_a_spare(gorge: Rig) -> None:
    """The lead that it stands in for, a number to complete, what its plug is for; what the power lead itself bears."""
    made = {
        label.name: said_of(label)
        for label in forms.spare_labels(FACE, with_jackets(gorge, Fraction(3))._replace(spares=Fraction(100)))
    }

    assert made["P02-B spare"] == 2 * [
        ("SPARE FOR P02", 8, True),
        ("P__-B", 7, True),
        ("12 to 16.8 V · 10 A · fuse 10 A", 6.5, False),
        ("Cinema camera power,", 6.5, False),
        ("300 mm", 6.5, False),
    ]
    assert made["S01.R-A spare"] == 2 * [
        ("G| SPARE FOR", 8, True),
        ("S01.R", 8, True),
        ("S__-A", 7, True),
        ("Head receiver p5,", 6.5, False),
        ("300 mm", 6.5, False),
    ]


def test_spare_leads_of_the_kit_have_their_own_ids(gorge: Rig) -> None:
    """As the kit list names them, each leg and end; whatever the share of spares is (common practice, no source)."""
    more = {
        **gorge.cables,
        "S01": gorge.cables["S01"]._replace(build=gorge.cables["S01"].build._replace(spares=2)),
    }
    for share in ("0", "10", "100"):
        rig = gorge._replace(spares=Fraction(share), cables=more)
        made = {label.name: lines(label) for label in forms.spare_lead_labels(FACE, rig)}
        loom = [f"S01-S{number}.{leg}-{end}" for number in (1, 2) for leg in "RIT" for end in "AB"]
        assert list(made) == [*loom, "S02-S1-A", "S02-S1-B", "P01-S1-A", "P01-S1-B"]
        for name, said in made.items():
            assert name in " ".join(said)
        assert "SPARE FOR P01" in made["P01-S1-B"] and "G| SPARE FOR S02" in made["S02-S1-A"]
        assert " ".join(made["S01-S2.T-B"]).startswith("G| SPARE FOR S01.T")
        every = [label.name for label in all_labels(FACE, rig)]
        assert len(every) == len(set(every)) and set(made) <= set(every)


@pytest.mark.parametrize(
    ("share", "leads"), [("0", 0), ("10", 1), ("30", 1), ("49.9", 2), ("50", 2), ("50.1", 3), ("100", 6)]
)
def test_share_of_spares_is_rounded_up(gorge: Rig, share: str, leads: int) -> None:
    """Of eight legs two have a spare in the kit. 30 % is 2.4, so 3, less 2; 50 % is 4, less 2; one power lead is bare.

    49.9 % is 3.992 legs, 50.1 % is 4.008: one more.
    """
    spares = forms.spare_labels(FACE, gorge._replace(spares=Fraction(share)))

    assert len(spares) == 2 * leads
    assert not {label.name[:3] for label in spares} & {"P01", "S02"}
    if leads:
        assert spares[0].name == "P02-A spare"
    assert bool(forms.blank_labels(FACE, gorge._replace(spares=Fraction(share)))) == (share != "0")


def test_power_leads_then_those_that_move_have_spares_first(gorge: Rig) -> None:
    """50.1 % of eight legs are five, less the two in the kit: the bare power lead, the one that moves, and the first."""
    for place in ({"moving": True}, {"airborne": True}):
        cables = {name: cable._replace(moving=False, airborne=False) for name, cable in gorge.cables.items()}
        cables["S04"] = cables["S04"]._replace(**place)
        made = forms.spare_labels(FACE, gorge._replace(cables=cables, spares=Fraction("50.1")))
        assert [label.name.split()[0] for label in made[::2]] == ["P02-A", "S04-A", "S01.R-A"]


def test_spares_change_no_other_label(gorge: Rig) -> None:
    """Check codes of real labels do not depend on the share of spares; a spare is printed again where its lead changed."""
    none = {label.name: label_code(label) for label in all_labels(FACE, gorge._replace(spares=Fraction(0)))}
    some = {label.name: label_code(label) for label in all_labels(FACE, gorge)}
    longer = gorge.cables["P01"]._replace(length=Fraction(900))
    after = {
        label.name: label_code(label)
        for label in all_labels(FACE, gorge._replace(cables={**gorge.cables, "P01": longer}))
    }

    assert none.items() <= some.items()
    assert {name for name in some if some[name] != after[name]} == {
        f"P01{spare}-{end}" for end in "AB" for spare in ("", "-S1")
    }


def test_a_lead_that_begins_to_move_is_labelled_again(gorge: Rig) -> None:
    """The words are the same, the flag must come off."""
    moving = {**gorge.cables, "S04": gorge.cables["S04"]._replace(moving=True)}
    before = {label.name: label_code(label) for label in all_labels(FACE, gorge)}
    after = {label.name: label_code(label) for label in all_labels(FACE, gorge._replace(cables=moving))}

    assert {name for name in before if before[name] != after[name]} == {"S04-A", "S04-B"}


def test_case_labels_do_not_tell_what_is_inside(gorge: Rig) -> None:
    """`Case 2 of 4` and nothing else: no unit, job or rig (common practice, no source: thieves read)."""
    labels = case_labels(FACE, gorge)

    assert [lines(label) for label in labels] == [[f"Case {number} of 5"] for number in range(1, 6)]


def test_unit_labels_say_name_asset_and_case(gorge: Rig) -> None:
    """In this order, for the kit manager."""
    first = unit_labels(FACE, gorge)[0]

    assert lines(first)[:2] == ["Head handset", "HS-014 · Case 1"]


# ---- linear codes ------------------------------------------------------------------------------------------------


def modules(widths: tuple[int, ...]) -> str:
    """Bars and spaces by turns as letters: a to d for spaces, A to D for bars, as reportlab writes them."""
    return "".join(
        "abcd"[width - 1].upper() if at % 2 == 0 else "abcd"[width - 1] for at, width in enumerate(widths)
    )


@pytest.mark.parametrize("text", ["HS-014-G", "RX/031-L", "A.B C-7", "LENS-Z"])
def test_linear_pattern_is_the_published_one(text: str) -> None:
    """Module by module as reportlab's own table has it (ISO/IEC 15417)."""
    other = Code128(text)
    other.validate()
    other.encode()
    other.encoded = [104, *(ord(char) - 32 for char in text)]  # set B throughout, then its check character
    other.encoded += [(104 + sum(at * value for at, value in enumerate(other.encoded) if at)) % 103, 106]
    other.decompose()

    assert modules(code128.bar_widths(text)) == other.decomposed


def test_every_pattern_is_that_of_reportlab() -> None:
    """All characters from 0 to 105, each of 11 modules."""
    other = Code128("A")
    for value, widths in enumerate(code128.WIDTHS):
        other.encoded = [value]
        other.decompose()
        assert modules(tuple(map(int, widths))) == other.decomposed
        assert sum(map(int, widths)) == 11


def test_linear_codes_read_back(tmp_path: Path) -> None:
    """A general-purpose reader finds the assets at 300 dpi, and the same text stands beside each."""
    rig = rig_of(tmp_path, GORGE.replace("paper       a4", "paper       a4\n  codes linear"))
    document = label_sheets(FACE, rig, Used()).document
    read = [
        (code.text, code.format.name)
        for page in pypdfium2.PdfDocument(pdf(document, FACE))
        for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())
    ]
    assets = [asset_code(unit.asset) for unit in rig.units.values()]

    assert sorted(read) == sorted((asset, "Code128") for asset in assets)
    for label, asset in zip(unit_labels(FACE, rig), assets, strict=True):
        (under,) = [mark for mark in texts(label) if mark.text == asset]
        (bars,) = [mark for mark in label.marks if isinstance(mark, Bars)]
        above = under.y - 0.66 * under.size * POINT - (bars.y + bars.height)
        assert code128.MODULE <= above <= 2, "clear of the bars, and near them (common practice, no source)"


def test_codes_of_turned_labels_read_back(gorge: Rig) -> None:
    """A label of 60 x 24 mm in a cell of 40 x 70 mm stands upright; a reader still finds every asset. Bars stay."""
    sheet = COMMON["a4-3x8-70x37"]._replace(
        columns=4, rows=4, cell=(Fraction(40), Fraction(66)), margin=(Fraction(5), Fraction(5))
    )
    rig = gorge._replace(sheet=sheet)
    document = label_sheets(FACE, rig, Used(), unit_labels(FACE, gorge._replace(codes="matrix"))).document
    assert {(frame.width, frame.height) for frame in document.pages[0].frames} == {(24.0, 60.0)}
    read = [
        code.text
        for page in pypdfium2.PdfDocument(pdf(document, FACE))
        for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())
    ]

    assert sorted(read) == sorted(asset_code(unit.asset) for unit in rig.units.values())
    bars = unit_labels(FACE, gorge._replace(codes="linear"))
    assert len(too_large(FACE, rig, bars)) == len(bars)


def test_long_thin_labels_have_linear_codes(gorge: Rig) -> None:
    """On a sheet whose cells are too low for a matrix, the code is a linear one beside the words."""
    strips = COMMON["a4-2x7-99x38"]._replace(cell=(Fraction(190), Fraction(17)), columns=1)
    for label in unit_labels(FACE, gorge._replace(sheet=strips)):
        assert label.height <= 17
        assert any(isinstance(mark, Bars) for mark in label.marks)
    for label in unit_labels(FACE, gorge):
        assert any(isinstance(mark, Squares) for mark in label.marks)


def test_no_code_is_bent(gorge: Rig) -> None:
    """Codes stand on flat labels only (common practice, no source: none on a cable of 2 to 10 mm)."""
    for label in all_labels(FACE, gorge._replace(codes="linear")):
        if any(isinstance(mark, Bars | Squares) for mark in label.marks):
            assert label.form == "flat"


# ---- sheets ------------------------------------------------------------------------------------------------------


def test_offset_moves_the_print(gorge: Rig) -> None:
    """A feed error of 0.5 mm to the left and 0.3 mm down is made up for; the cells stay where they are."""
    sheet = COMMON["a4-2x4-99x68"]
    moved = sheet._replace(offset=(Fraction("0.5"), Fraction("-0.3")))
    plain = label_sheets(FACE, gorge._replace(sheet=sheet), Used()).document
    shifted = label_sheets(FACE, gorge._replace(sheet=moved), Used()).document

    for before, after in zip(plain.pages, shifted.pages, strict=True):
        for one, other in zip(before.frames, after.frames, strict=True):
            assert (other.x - one.x, other.y - one.y) == (pytest.approx(0.5), pytest.approx(-0.3))


def test_part_used_sheets_are_warned_of(gorge: Rig) -> None:
    """On the first sheet and the alignment page; feed and name of the sheet stand there too."""
    sheet = COMMON["a4-2x4-99x68"]
    for used, told in ((Used(start=3), True), (Used(skip=frozenset((3,))), True), (Used(), False)):
        pages = label_sheets(FACE, gorge._replace(sheet=sheet), used).document.pages
        for page in (pages[0], pages[-1]):
            texts = " ".join(mark.text for mark in page.marks if isinstance(mark, Text))
            assert (SHEDDING in texts) == told
            assert "↑" in texts and sheet.name in texts


def test_next_cell_is_never_a_used_one(gorge: Rig) -> None:
    """A cell in `--skip` is not told as the next free one."""
    sheet = COMMON["a4-2x4-99x68"]
    count = len(all_labels(FACE, gorge._replace(sheet=sheet)))
    valid = {label.name: label_code(label) for label in all_labels(FACE, gorge._replace(sheet=sheet))}
    one = dict(list(valid.items())[1:])
    outcome = label_sheets(FACE, gorge._replace(sheet=sheet), Used(2, frozenset((3, 4, 6)), one))

    assert count > 1
    assert outcome.cells == ((2,),)
    assert (outcome.next_cell, outcome.cells_left) == (5, 3)


def test_cells_used_are_told(tmp_path: Path) -> None:
    """The remark of a build names each cell that was printed on."""
    path = tmp_path / "rig.rig"
    text = GORGE.replace('use "stock/', f'use "{ROOT}/samples/stock/')
    path.write_text(
        text.replace("paper       a4", "paper       a4\n  labels on a4-2x4-99x68\n  spare-labels 0%"),
        encoding="utf-8",
    )
    papers = build_rig(
        path, Diagnostics(), None, Request(only=("labels",), start=4, skip=frozenset((6,))), STOCK
    )

    assert papers is not None
    assert "sheet 1: 4-5, 7-8; sheet 2: 1-8;" in papers.remark
    assert "shed labels" in papers.remark


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_rows_of_labels_on_film(gorge: Rig, paper: str) -> None:
    """In reading order from 10 mm within the paper and 14 mm below its head, 3 mm between labels, 8 mm for the foot.

    A row, or a sheet, is begun only where the label would not go into the one before.
    """
    thick = with_jackets(gorge, Fraction(10)).cables
    cables = {
        **thick,
        "S02": thick["S02"]._replace(jacket=Fraction(2), moving=True),
        "P01": gorge.cables["P01"],
    }
    rig = gorge._replace(paper=paper, cables=cables, spares=Fraction(100))
    width, height = map(float, PAGES[paper])
    made = all_labels(FACE, rig)
    pages = label_sheets(FACE, rig, Used()).document.pages
    assert len(pages) >= 3
    assert [frame.name for page in pages for frame in page.frames] == [label.name for label in made]

    sizes = {label.name: (label.width, label.height) for label in made}
    x, y, tallest, sheet, begins = 10.0, 24.0, 0.0, 0, 0
    for number, page in enumerate(pages):
        assert (page.width, page.height) == (width, height)
        for frame in page.frames:
            assert (frame.width, frame.height) == sizes[frame.name]
            if x + frame.width > width - 10:
                x, y, tallest = 10.0, y + tallest + 3, 0.0
            if y + frame.height > height - 18:
                x, y, tallest, sheet = 10.0, 24.0, 0.0, sheet + 1
                begins += 1
            assert (frame.x, frame.y, sheet) == (pytest.approx(x), pytest.approx(y), number)
            x, tallest = x + frame.width + 3, max(tallest, frame.height)
    assert begins == len(pages) - 1


def test_film_is_used_to_its_foot(gorge: Rig) -> None:
    """A4 less 10 mm on all sides, 14 mm of head and 8 mm of foot leaves 190 x 255 mm: no less, and no more."""
    first = Label("one", "flat", 190.0, 100.0, (), ())
    assert largest(gorge) == (190, 255)
    for height, sheets in ((152.0, 1), (152.5, 2)):
        made = [first, Label("two", "flat", 60.0, height, (), ())]
        assert len(label_sheets(FACE, gorge, Used(), made).document.pages) == sheets
    for width, height, fits in ((190.0, 255.0, True), (190.5, 255.0, False), (190.0, 255.5, False)):
        assert (too_large(FACE, gorge, [Label("one", "flat", width, height, (), ())]) == []) == fits
    for width, row in ((57.0, 24.0), (57.5, 54.0)):  # 3 mm between them
        made = [Label("one", "flat", 130.0, 27.0, (), ()), Label("two", "flat", width, 20.0, (), ())]
        assert label_sheets(FACE, gorge, Used(), made).document.pages[0].frames[1].y == row
    none = label_sheets(FACE, gorge, Used(), [])
    assert (none.document.pages, none.cells, none.next_cell, none.cells_left) == ((), (), None, 0)
    assert (none.document.name, none.document.title) == ("labels", "Gorge cable camera: labels")


def test_what_a_sheet_of_film_says(gorge: Rig) -> None:
    """Which of how many, the scale to print at, how sleeves go on where there are any; marks stand as on the label."""
    thick = with_jackets(gorge, Fraction(10)).cables
    rig = gorge._replace(cables={**thick, "S02": thick["S02"]._replace(jacket=Fraction(2), moving=True)})
    made = {label.name: label for label in all_labels(FACE, rig)}
    pages = label_sheets(FACE, rig, Used()).document.pages
    sleeves = []
    for number, page in enumerate(pages, 1):
        words = [mark.text for mark in page.marks if isinstance(mark, Text)]
        assert any(text.startswith("Labels: Gorge cable camera") for text in words)
        assert f"sheet {number} of {len(pages)} · print at 100 %, cut on the broken lines" in " ".join(words)
        (foot,) = [text for text in words if "this bar is 50 mm" in text]
        low = any(made[frame.name].form == "sleeve" for frame in page.frames)
        assert foot == "this bar is 50 mm" + (f"  ·  {SLEEVES}" if low else "")
        sleeves.append(low)
        marks = set(page.marks)
        for frame in page.frames:
            for mark in made[frame.name].marks:
                assert moved(mark, frame.x, frame.y) in marks
        bars = [
            mark.points
            for mark in page.marks
            if isinstance(mark, Line)
            and mark.points[1][0] - mark.points[0][0] == pytest.approx(50)
            and not mark.dash
        ]
        assert [points[0][0] for points in bars if points[0][1] > 280] == [10]
    assert set(sleeves) == {True, False}
    assert [page.bookmarks for page in pages] == [("Labels",), *[()] * (len(pages) - 1)]


def sheet_of(
    cell: tuple[int, int], margin: tuple[int, int], offset: tuple[str, str] = ("0", "0")
) -> LabelSheet:
    """Two columns and rows of cells, 4 mm and 2 mm apart."""
    return COMMON["a4-3x8-70x37"]._replace(
        columns=2,
        rows=2,
        cell=(Fraction(cell[0]), Fraction(cell[1])),
        margin=(Fraction(margin[0]), Fraction(margin[1])),
        gap=(Fraction(4), Fraction(2)),
        offset=(Fraction(offset[0]), Fraction(offset[1])),
    )


def test_labels_stand_in_the_middle_of_their_cells(gorge: Rig) -> None:
    """And all marks of a label move with it; the cells of the second row lie one cell and one gap below the first."""
    sheet = sheet_of((98, 120), (5, 20), ("0.5", "-0.25"))
    rig = gorge._replace(sheet=sheet)
    made = all_labels(FACE, rig)
    pages = label_sheets(FACE, rig, Used()).document.pages[:-1]
    corners = [(5.5, 19.75), (107.5, 19.75), (5.5, 141.75), (107.5, 141.75)]
    at = 0
    for number, page in enumerate(pages, 1):
        assert page.bookmarks == (f"Labels, sheet {number}",)
        marks = set(page.marks)
        for frame, (x, y) in zip(page.frames, corners, strict=False):
            label = made[at]
            assert (frame.name, frame.width, frame.height) == (label.name, label.width, label.height)
            assert frame.x == pytest.approx(x + (98 - label.width) / 2)
            assert frame.y == pytest.approx(y + (120 - label.height) / 2)
            assert all(moved(mark, frame.x, frame.y) in marks for mark in label.marks if isinstance(mark, Text))
            at += 1
    assert at == len(made)


@pytest.mark.parametrize(
    ("cell", "margin", "gap", "offset", "room"),
    [
        (
            "208.5 295",
            "1 1",
            "0 0",
            "0 0",
            (208.5 - 1.7 - 2.2, 295 - 1.7 - 1.7),
        ),  # one cell, 0.5 mm to its right
        ("100 140", "0 4", "5 3", "0 0", (100 - 2.7, 140)),  # 5 mm on the right, 10 mm at the foot
        ("100 140", "5 10", "5 7", "0 0", (100 - 2.7, 140 - 2.7)),  # none on the right, none at the foot
        (
            "100 140",
            "3 4",
            "2 2",
            "1 0",
            (100, 140),
        ),  # 3 mm on the left, 5 mm on the right: moved by 1 mm 4 and 4
        ("100 140", "3 4", "2 2", "-1 2", (100 - 0.7, 140)),
        ("100 140", "5 3", "2 2", "0 -1", (100, 140 - 0.7)),
        ("100 140", "4 3", "2 14", "2 1", (100 - 0.7, 140 - 3.7)),  # the last row hangs 1 mm over the foot
    ],
)
def test_no_label_goes_to_the_edge_of_the_paper(
    gorge: Rig, cell: str, margin: str, gap: str, offset: str, room: tuple[float, float]
) -> None:
    """Its print keeps 1.5 mm from its edge, and 4.2 mm from the edge of the paper: the label itself keeps 2.7 mm."""

    def pair(text: str) -> tuple[Fraction, Fraction]:
        first, second = map(Fraction, text.split())
        return first, second

    count = 1 if cell.startswith("2") else 2
    sheet = COMMON["a4-3x8-70x37"]._replace(
        columns=count, rows=count, cell=pair(cell), margin=pair(margin), gap=pair(gap), offset=pair(offset)
    )
    rig = gorge._replace(sheet=sheet)
    assert largest(rig) == pytest.approx(room)
    label = Label("one", "flat", *room, (), ())
    page = label_sheets(FACE, rig, Used(), [label] * sheet.cells).document.pages[0]
    (wide, tall), (right, down) = map(float, sheet.cell), map(float, sheet.offset)
    reached = box(0, 0, 210, 297).buffer(-2.7, join_style="mitre")
    for number, frame in enumerate(page.frames, 1):
        x, y = cell_place(sheet, number)
        whole = box(x + right, y + down, x + right + wide, y + down + tall)
        found = box(frame.x, frame.y, frame.x + frame.width, frame.y + frame.height)
        assert whole.intersection(reached).buffer(1e-6).covers(found), number
    for more in ((0.1, 0.0), (0.0, 0.1)):
        assert too_large(FACE, rig, [label._replace(width=room[0] + more[0], height=room[1] + more[1])])


@pytest.mark.parametrize("turned", [False, True])
def test_lines_end_where_the_cut_is_near(gorge: Rig, turned: bool) -> None:
    """A label of 40 x 20 mm, 1 mm from the cut to the left and right and 3 mm above and below: 1.5 mm are kept free.

    The same for one that stands the other way.
    """
    drawn: dict[tuple[tuple[float, float], ...], tuple[tuple[float, float], ...] | None] = {
        ((0, 0), (40, 0)): ((0.5, 0), (39.5, 0)),  # along its upper edge, 3 mm from the cut
        ((40, 20), (0, 20)): ((39.5, 20), (0.5, 20)),
        ((0, 0), (0, 20)): None,  # along its left edge, 1 mm from the cut
        ((40, 0), (40, 20)): None,
        ((10, 0), (10, 1.2)): ((10, 0), (10, 1.2)),
        ((10, 18.8), (10, 20)): ((10, 18.8), (10, 20)),
        ((0, 5), (0.5, 5)): None,  # all of it too near
        ((0, 6), (1.2, 6)): ((0.5, 6), (1.2, 6)),
        ((38.8, 6), (40, 6)): ((38.8, 6), (39.5, 6)),
    }
    way = -1 if turned else 1
    width, height = (40.0, 20.0)[::way]
    words = text_at(FACE, 2, 2, "S01-A", 8.0)
    marks = [Line(tuple(point[::way] for point in points)) for points in drawn]
    label = Label("S01-A", "wrap", width, height, (words, *marks), ("S01-A",))
    right, down = (1, 3)[::way]
    sheet = sheet_of((round(width) + 2 * right, round(height) + 2 * down), (5, 20))
    page = label_sheets(FACE, gorge._replace(sheet=sheet), Used(), [label]).document.pages[0]
    found = [mark.points for mark in page.marks if isinstance(mark, Line)]

    kept = [[point[::way] for point in points] for points in drawn.values() if points]
    assert len(found) == len(kept)
    for line, points in zip(found, kept, strict=True):
        assert line == tuple(pytest.approx((x + 5 + right, y + 20 + down)) for x, y in points)
    assert moved(words, 5 + right, 20 + down) in page.marks


def test_what_stands_about_the_cells(gorge: Rig) -> None:
    """Lines of 6 pt above the cells from 4.2 mm, what a printer cannot reach, then below them; none on a cell."""
    sheet = sheet_of((98, 120), (5, 8))
    for used, wanted in ((Used(), 1), (Used(start=2), 2)):
        for number, page in enumerate(
            label_sheets(FACE, gorge._replace(sheet=sheet), used).document.pages[:-1], 1
        ):
            told = [
                mark
                for mark in page.marks
                if isinstance(mark, Text)
                and not any(
                    frame.x <= mark.x <= frame.x + frame.width and frame.y <= mark.y <= frame.y + frame.height
                    for frame in page.frames
                )
            ]
            first = f"{FEED}  ·  {sheet.name}  ·  sheet {number}".replace("  ", " ")
            assert [mark.text for mark in told] == [first, SHEDDING][: wanted if number == 1 else 1]
            assert {(mark.x, mark.size) for mark in told} == {(10, 6)}
            assert told[0].y == pytest.approx(4.2 + 0.8 * 6 * POINT)
            if len(told) > 1:  # above the cells is room for one line only
                assert told[1].y == pytest.approx(8 + 2 * 120 + 2 + 0.8 * 6 * POINT)
    for margin in (6, 4, 1):  # no line goes between 4.2 mm and the cells: nothing is printed on them or beside
        page = label_sheets(
            FACE, gorge._replace(sheet=sheet_of((98, 120), (5, margin))), Used(2)
        ).document.pages[0]
        assert FEED not in " ".join(mark.text for mark in page.marks if isinstance(mark, Text))


@pytest.mark.parametrize(
    ("height", "margin", "rows"),
    [
        (120, 20, (4.2, 4.2 + 2.582, 4.2 + 2 * 2.582)),  # all above
        (120, 8, (4.2, 8 + 242, 8 + 242 + 2.582)),  # one line above, two below the cells
        (140, 9, (4.2,)),  # 297 - 9 - 282 = 6 mm below: too little for a line
        (143, 8, (4.2,)),
    ],
)
def test_lines_about_the_cells_stand_one_below_the_other(
    gorge: Rig, height: int, margin: int, rows: tuple[float, ...]
) -> None:
    """A name that takes two lines of 190 mm, and the warning; 6 pt are 2.582 mm a line, 1.693 to its foot."""
    sheet = sheet_of((98, height), (5, margin))._replace(name="W" * 100)
    label = Label("one", "flat", 60.0, 30.0, (), ())
    page = label_sheets(FACE, gorge._replace(sheet=sheet), Used(start=2), [label]).document.pages[0]
    told = [mark for mark in page.marks if isinstance(mark, Text)]

    assert [mark.y for mark in told] == [pytest.approx(row + 1.693, abs=0.01) for row in rows]
    assert all(mark.width <= 190 for mark in told)


def test_no_sheet_is_left_when_all_its_cells_are_used(gorge: Rig) -> None:
    """Four labels on four cells: the next begins a new sheet, of which none is used; without labels all stays."""
    rig = gorge._replace(sheet=sheet_of((98, 120), (5, 8)))
    label = Label("one", "flat", 60.0, 30.0, (), ())
    full = label_sheets(FACE, rig, Used(), [label] * 4)
    assert (full.cells, full.next_cell, full.cells_left) == (((1, 2, 3, 4),), 1, 0)

    none = label_sheets(FACE, rig, Used(start=3), [])
    assert (none.cells, none.next_cell, none.cells_left) == ((), 3, 2)
    assert none.document.name == "labels"


def test_the_page_to_align_by(gorge: Rig) -> None:
    """Each cell as a box with its number in the middle; what to do, from the first cell on, above the numbers."""
    cells = [((98, 60), ("1", "-2"), 8), ((60, 16), ("0", "0"), 1), ((60, 14), ("0", "0"), 0)]
    cells += [((width, 60), ("0", "0"), 8) for width in range(61, 98)]
    for cell, offset, room in cells:
        sheet = sheet_of(cell, (5, 20), offset)
        page = label_sheets(FACE, gorge._replace(sheet=sheet), Used(start=2), []).document.pages[-1]
        right, down = (float(shift) for shift in sheet.offset)
        corners = [
            (5 + right + column * (cell[0] + 4), 20 + down + row * (cell[1] + 2))
            for row in range(2)
            for column in range(2)
        ]
        boxes = [mark for mark in page.marks if isinstance(mark, Rectangle)]
        assert [(box.x, box.y, box.width, box.height) for box in boxes] == [(x, y, *cell) for x, y in corners]
        assert all(0.1 <= box.weight <= 0.3 for box in boxes)
        assert [(frame.x, frame.y, frame.width, frame.height) for frame in page.frames] == [
            (x, y, *cell) for x, y in corners
        ]
        assert [frame.name for frame in page.frames] == ["cell 1", "cell 2", "cell 3", "cell 4"]
        assert page.bookmarks == ("Alignment, on plain paper",)
        large = [mark for mark in page.marks if isinstance(mark, Text) and mark.size == 12]
        assert [mark.text for mark in large] == ["1", "2", "3", "4"]
        for mark, (x, y) in zip(large, corners, strict=True):
            stands([mark], x, cell[0], y + cell[1] / 2 - 3)
        said = [
            f"Plain paper only, at 100 %  ·  {sheet.name}",
            FEED,
            "Hold it behind a sheet of labels, against the light: do the lines lie on the cuts?",
            "If not, measure how far the cuts lie right of the lines and below them.",
            "Write it in the sheet's block, such as “offset 0.5mm, -0.3mm”.",
            "A common sheet has no block: copy its sizes into one of your own.",
            SHEDDING,
        ]
        wrapped = [line for text in said for line in wrap(FACE, text, 7, cell[0] - 4)]
        small = [mark for mark in page.marks if isinstance(mark, Text) and mark.size == 7]
        assert [mark.text for mark in small] == wrapped[: 4 * room]
        for at, mark in enumerate(small):
            x, y = corners[at // room]
            assert mark.x == pytest.approx(x + 2)
            assert mark.y == pytest.approx(y + ROOM + at % room * pitch(7) + 0.8 * 7 * POINT)
            assert mark.y < y + cell[1] / 2 - 3 + pitch(7)


def test_each_instruction_has_a_cell_of_its_own_where_all_fit(gorge: Rig) -> None:
    """One a cell, from the first on, if none is too tall for the room above the number; else they run on."""
    told = [
        "Plain paper only, at 100 %  ·  sheet-1: Clear film\n" + FEED,
        "Hold it behind a sheet of labels, against the light: do the lines lie on the cuts?",
        "If not, measure how far the cuts lie right of the lines and below them.",
        "Write it in the sheet's block, such as “offset 0.5mm, -0.3mm”.",
        SHEDDING,
    ]
    found = set()
    grids = [((3, 8), width, height) for width in range(30, 61) for height in (20, 24, 30, 34)]
    for (columns, rows), width, height in [*grids, ((1, 5), 190, 50), ((1, 4), 190, 60)]:
        sheet = COMMON["a4-3x8-70x37"]._replace(
            name="sheet-1",
            title="Clear film",
            columns=columns,
            rows=rows,
            cell=(Fraction(width), Fraction(height)),
            margin=(Fraction(5), Fraction(6)),
        )
        page = label_sheets(FACE, gorge._replace(sheet=sheet), Used(start=2), []).document.pages[-1]
        room = floor((height / 2 - 3 - ROOM) / pitch(7))
        wrapped = [wrap(FACE, text, 7, width - 4) for text in told]
        tallest = max(map(len, wrapped))
        found.add((tallest < room, tallest == room))
        if tallest <= room and columns * rows >= 5:
            cells = wrapped
        else:
            whole = [line for lines in wrapped for line in lines]
            cells = [whole[at : at + room] for at in range(0, len(whole), room)]
        said: list[list[str]] = [[] for _ in range(columns * rows)]
        for mark in page.marks:
            if isinstance(mark, Text) and mark.size == 7:
                across, down = (mark.x - 5) // width, (mark.y - 6) // height
                said[round(down * columns + across)].append(mark.text)
                assert mark.y <= 6 + down * height + height / 2 - 3, "above the number"
        assert said == [*cells, *[[]] * len(said)][: len(said)], (width, height)
    assert len(found) == 3, "shorter than the room, as tall, taller"


@pytest.mark.parametrize(
    ("top", "down"), [("0", "0"), ("0.5", "0.4"), ("2", "1"), ("2", "-1"), ("4", "-3"), ("3", "0")]
)
@pytest.mark.parametrize("left", ["0", "1.5", "5"])
def test_instructions_keep_off_the_edge_of_the_paper(gorge: Rig, left: str, top: str, down: str) -> None:
    """4.2 mm, the room above each number is used to its last line of 7 pt, and no line reaches the number."""
    gap = float(top) + float(down)
    for height in range(24, 50):
        sheet = sheet_of((80, height), (0, 0), ("0", down))
        sheet = sheet._replace(margin=(Fraction(left), Fraction(top)))
        page = label_sheets(FACE, gorge._replace(sheet=sheet), Used(), []).document.pages[-1]
        small = [mark for mark in page.marks if isinstance(mark, Text) and mark.size == 7]
        edge = max(ROOM, 4.2 - gap)  # mm from the cut to the first line
        rows = floor((height / 2 - 3 - edge) / pitch(7) + 1e-9)
        first = [mark for mark in small if mark.x < 80 and mark.y < gap + height]
        assert [mark.y for mark in first] == pytest.approx(
            [gap + edge + row * pitch(7) + 0.8 * 7 * POINT for row in range(rows)]
        )
        assert all(mark.x >= max(4.2, float(left) + ROOM) for mark in small)
        assert all(mark.x + mark.width <= float(left) + 164 - ROOM for mark in small)


def test_a_sheet_of_another_paper_is_not_named(gorge: Rig) -> None:
    """What goes on no cell of the only Letter sheet goes on A4 ones, which no Letter tray takes."""
    rig = gorge._replace(sheet=COMMON["letter-3x10-67x25"])
    assert too_large(FACE, rig)
    assert any(
        not too_large(FACE, gorge._replace(sheet=sheet)) for sheet in COMMON.values() if sheet.page == "a4"
    )
    assert sheet_that_holds(FACE, rig) == ""
    narrow = COMMON["a4-3x8-70x37"]._replace(cell=(Fraction(20), Fraction(20)))
    found = sheet_that_holds(FACE, gorge._replace(sheet=narrow))
    assert not too_large(FACE, gorge._replace(sheet=COMMON[found]))


# ---- any cable ---------------------------------------------------------------------------------------------------


def inked(outcome: Outcome) -> int:
    """Cells with a label on them."""
    return sum(len(page.frames) for page in outcome.document.pages[:-1])


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    jacket=st.integers(10, 300).map(lambda tenths: Fraction(tenths, 10)),
    title=st.text("Wiagm 1.", min_size=1, max_size=60).filter(str.strip),
    place=st.sampled_from(["", "moving", "airborne"]),
    codes=st.sampled_from(["", "linear", "matrix"]),
    cell=st.tuples(st.integers(60, 200), st.integers(15, 130)),
    start=st.integers(1, 4),
)
def test_any_cable(
    gorge: Rig, jacket: Fraction, title: str, place: str, codes: str, cell: tuple[int, int], start: int
) -> None:
    """Text lies in its label and off the cut, labels in their cells, ends differ, cells used are those told."""
    units = {name: unit._replace(title=title) for name, unit in gorge.units.items()}
    sheet = COMMON["a4-3x8-70x37"]._replace(
        columns=1, rows=2, cell=(Fraction(cell[0]), Fraction(cell[1])), margin=(Fraction(5), Fraction(9))
    )
    rig = with_jackets(gorge, jacket, place == "moving", place == "airborne")._replace(units=units, codes=codes)
    fitting = rig._replace(sheet=sheet)
    for label in all_labels(FACE, rig):
        texts = [mark for mark in label.marks if isinstance(mark, Text)]
        assert texts
        spans = []
        for mark in texts:
            size = mark.size * MM_PER_POINT
            box = (mark.x, mark.y - 0.66 * size, mark.x + mark.width, mark.y + 0.2 * size)
            assert box[0] >= EDGE - 0.02 and box[2] <= label.width - EDGE + 0.02, (label.name, mark)
            assert box[1] >= EDGE - 0.02 and box[3] <= label.height - EDGE + 0.02, (label.name, mark)
            spans.append(box)
        for at, one in enumerate(spans):
            for other in spans[at + 1 :]:
                across = min(one[2], other[2]) - max(one[0], other[0])
                assert across <= 0.02 or min(one[3], other[3]) - max(one[1], other[1]) <= 0.02, label.name
        if label.form != "flat":
            assert not (place and label.form == "flag")
    said = {label.name: tuple(lines(label)) for label in forms.cable_labels(FACE, rig)}
    for name, words in said.items():
        if name.endswith("-A"):
            assert words != said[f"{name[:-1]}B"]
    if not too_large(FACE, fitting):
        outcome = label_sheets(FACE, fitting, Used(start=start if start <= 2 else 1))
        assert inked(outcome) == sum(map(len, outcome.cells)) == len(all_labels(FACE, fitting))
        for page, cells in zip(outcome.document.pages, outcome.cells, strict=False):
            for frame, number in zip(page.frames, cells, strict=True):
                x, y = cell_place(sheet, number)
                assert frame.x >= x - 1e-6 and frame.x + frame.width <= x + cell[0] + 1e-6
                assert frame.y >= y - 1e-6 and frame.y + frame.height <= y + cell[1] + 1e-6
                for mark in page.marks:
                    if isinstance(mark, Line) and y <= mark.points[0][1] <= y + cell[1]:
                        for at_x, at_y in mark.points:
                            assert x + EDGE - 1e-6 <= at_x <= x + cell[0] - EDGE + 1e-6
                            assert y + EDGE - 1e-6 <= at_y <= y + cell[1] - EDGE + 1e-6


def test_ids_are_names_of_labels(gorge: Rig) -> None:
    """Each label of a rig has a name of its own: changed-only would lose one of two alike."""
    names = [label.name for label in all_labels(FACE, gorge)]

    assert len(names) == len(set(names))
    assert all(re.fullmatch(r"[\w. -]+", name) for name in names)
