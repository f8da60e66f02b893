"""What a cable's label is, what it says and how large it is; spares and blanks.

F32 to F38 are worked examples of the trade, arithmetic that can be done by hand; what they rest on is in
tests/reference/labelling.csv or named beside each test.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor, pi
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cardlines import squeezed
from labelled import (
    FACE,
    GORGE_TEXT,
    apart,
    faces_of,
    inked,
    lines,
    rig_of,
    rows_in,
    said_of,
    texts,
    with_jackets,
)
from papers import SamplePapers, _inside, published_table
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import MM_PER_POINT, Line, Text
from rigcard.documents.labels import cable_labels as forms
from rigcard.documents.labels import geometry
from rigcard.documents.labels.frame import EDGE, label_code
from rigcard.documents.labels.geometry import flag_length, girth, wrap_length
from rigcard.documents.labels.label_sheets import Outcome, Used, all_labels, cell_place, label_sheets, too_large
from rigcard.documents.labels.ratings import ratings
from rigcard.pipeline import check_rig
from rigcard.resolve.label_sheets import COMMON
from rigcard.resolve.model import Rig
from samples import ROOT

pytest_plugins = ("papers",)

MAST = (ROOT / "samples" / "mast.rig").read_text(encoding="utf-8")


# ---- worked examples ---------------------------------------------------------------------------------------------


def test_f32_clear_tail_wrap() -> None:
    """Print zone + girth + 2 mm: 12 + 18.85 + 2 = 33; 45.42 is 46; on 2 mm the zone is longer than the girth."""
    assert wrap_length(6, 12) == 33
    assert wrap_length(10, 12) == 46
    assert wrap_length(2, 12) is None
    assert wrap_length(6, 6 * pi) == 40  # a zone of the whole girth: 18.85 + 18.85 + 2
    assert geometry.printed_zone(2) is None


def test_f33_flag() -> None:
    """Twice the face and the girth: 2 x 25 + 9.42 is 60 mm."""
    assert flag_length(3, 25) == 60


def test_f34_text_fits(gorge: Rig) -> None:
    """Each line of a flag is measured, so that none is wider than its face less 1.5 mm on either side."""
    for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(3))):
        face = (label.width - pi * 3) / 2
        for mark in label.marks:
            assert not isinstance(mark, Text) or mark.width <= ceil(face) - 2 * EDGE + 1e-6


def test_f35_repeats_round_a_wrap(gorge: Rig) -> None:
    """Lines of 3.387 mm: 18.85 / 3.387 is 5. The id stands as often as its lines go round, evenly, one size, all
    between the cut and the tail; nothing of it is covered or cut through."""
    assert floor(pi * 6 / 3.387) == 5
    for jacket, count in ((4, 3), (5, 4), (6, 5), (8, 6), (10, 7)):  # 8 pt, then 9 from 7 mm and 10 from 9 mm
        girth = pi * jacket
        for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket), moving=True)):
            ids = [mark for mark in texts(label) if mark.text == label.name]
            (size,) = {mark.size for mark in ids}
            assert label.form == "wrap"
            assert len(ids) == floor(girth / (1.22 * size * 25.4 / 72)) == count, label.name
            assert size == (8 if jacket < 7 else 9 if jacket < 9 else 10)
            steps = [two.y - one.y for one, two in pairwise(ids)]
            assert steps == pytest.approx([steps[0]] * len(steps))
            assert steps[0] >= 0.86 * size * MM_PER_POINT, "no copy lies on the next one"
            assert all(inked(mark)[1] >= EDGE and inked(mark)[3] <= girth for mark in texts(label))
            assert label.height == ceil(girth * 2 - 0.1 + 2) or label.height == ceil(girth * 2 + 2)


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
        assert label.name in lines(label)


def test_order_of_the_words(gorge: Rig) -> None:
    """Where this plug goes is largest, then the id with its end, then small facts, the other end, length, revision."""
    by_name = {label.name: label for label in forms.cable_labels(FACE, gorge)}
    said = said_of(by_name["P01-A"])
    block = [
        ("Head pack out-1", 12, True),
        ("18 to 25.2 V · 20 A · fuse 20 A", 7, False),
        ("→ Stabilised head power · 800 mm · rev C", 7, False),
    ]

    assert said == [("P01-A", 9, True)] * 6 + block * 2, "round 8 mm six ids and the words twice"


@pytest.mark.parametrize("jacket", ["2", "3", "3.2", "3.5", "4.5", "6", "8", "10"])
@pytest.mark.parametrize("moving", [True, False])
def test_where_a_plug_goes_is_first_and_largest(gorge: Rig, jacket: str, moving: bool) -> None:
    """In every form: no text is larger, and all that is not its place or its id is smaller."""
    for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket), moving)):
        rest = [mark for mark in texts(label) if mark.text != label.name]
        here = rest[0]
        assert "→" not in here.text
        same = {here.text, here.text.removeprefix("G| ")}
        assert all(mark.text in same for mark in rest if mark.size >= here.size)
        assert all(mark.size <= here.size for mark in texts(label))
        assert label.form == "sleeve" or all(
            mark.size < here.size for mark in texts(label) if mark.text == label.name
        )
        assert any("→" in mark.text for mark in rest), "where the other end is"


def test_the_ground_mark_is_on_one_face(gorge: Rig) -> None:
    """Both faces say where the plug goes, only one bears G|: on two they would point two ways; on a wrap it is there
    once."""
    marked = {f"S01.{leg}-{end}" for leg in "RIT" for end in "AB"} | {"S03-A", "S03-B", "S02-A"}
    for jacket, moving in ((3, False), (3, True), (2, True), (6, False), (10, True)):
        for label in forms.cable_labels(FACE, with_jackets(gorge, Fraction(jacket), moving)):
            bearing = [mark for mark in texts(label) if mark.text.startswith("G|")]
            assert len(bearing) == (label.name in marked), (label.name, label.form)
            if label.form == "flag":
                first, second = (" ".join(mark.text for mark in face) for face in faces_of(label))
                assert "G|" not in second
                assert first.removeprefix("G| ") == second
                if label.name in marked:
                    assert first.startswith("G| ")


def test_flags_are_low_where_the_words_fit(gorge: Rig) -> None:
    """25 x 8 to 10 mm, two rows on either face, with short names; larger only as the words need (common practice)."""
    short = {"rx": "RX", "bridge": "CB", "motor": "ZM", "head": "HEAD", "cam": "CAM"}
    units = {name: unit._replace(short=short.get(name, "")) for name, unit in gorge.units.items()}
    rig = with_jackets(gorge, Fraction("3.2"))._replace(units=units)
    made = {label.name: label for label in forms.cable_labels(FACE, rig)}
    for name in ("S01.R-A", "S01.R-B", "S02-A", "S03-B"):
        label = made[name]
        assert (label.width, 8 <= label.height <= 10) == (ceil(50 + pi * 3.2), True), (name, label.height)
        first, _ = faces_of(label)
        assert [len(row) for row in rows_in(first)] == [1, 2], "where it goes; id and other end"
        assert first[0].size == 9
    assert made["S04-A"].height > 10, "EXACT and its mark take a third row"


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
    path.write_text(GORGE_TEXT.replace(plugs, "" if not marked else plugs), encoding="utf-8")
    solved = check_rig(path, Diagnostics()).solved
    assert solved is not None
    found = {
        label.name
        for label in forms.cable_labels(FACE, solved.rig)
        if any(text.startswith("G|") for text in lines(label))
    }

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
    assert all("EXACT · mark: three rings · 400 mm" in made[name] for name in ("S04-A", "S04-B"))
    assert all("EXACT" not in " ".join(said) for name, said in made.items() if not name.startswith("S04"))
    other = rig_of(tmp_path, GORGE_TEXT.replace("three rings", "red ring"))
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

    one = [
        ("SPARE FOR P02", 8, True),
        ("P__-B", 6, True),
        ("Cinema camera power", 6, False),
        ("12 to 16.8 V · 10 A · fuse 10 A", 6, False),
    ]
    assert made["P02-B spare"][:4] == one and len(made["P02-B spare"]) == 8
    servo = [("SPARE FOR S01.R", 8, True), ("S__-A", 6, True), ("Head receiver p5", 6, False)]
    assert made["S01.R-A spare"] == [("G| SPARE FOR S01.R", 8, True), *servo[1:], *servo]


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


# ---- any cable ---------------------------------------------------------------------------------------------------


def printed(outcome: Outcome) -> int:
    """Cells with a label on them."""
    return sum(len(page.frames) for page in outcome.document.pages[:-1])


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
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
        marks = texts(label)
        assert marks
        for mark in marks:
            left, high, right, low = inked(mark)
            assert left >= EDGE - 0.02 and right <= label.width - EDGE + 0.02, (label.name, mark)
            assert high >= EDGE - 0.02 and low <= label.height - EDGE + 0.02, (label.name, mark)
        assert apart(marks), label.name
        if label.form != "flat":
            assert not (place and label.form == "flag")
    said = {label.name: tuple(lines(label)) for label in forms.cable_labels(FACE, rig)}
    for name, words in said.items():
        if name.endswith("-A"):
            assert words != said[f"{name[:-1]}B"]
    if not too_large(FACE, fitting):
        outcome = label_sheets(FACE, fitting, Used(start=start if start <= 2 else 1))
        assert printed(outcome) == sum(map(len, outcome.cells)) == len(all_labels(FACE, fitting))
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


# ---- labels ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", published_table("labelling.csv"), ids=lambda row: row["diameter_mm"])
def test_published_lengths_of_labels(row: dict[str, str]) -> None:
    """labelling.csv: a flag is two faces and a turn, a wrap print and a turn; film is cut to whole mm, never short."""
    diameter = float(row["diameter_mm"])

    assert girth(diameter) == pytest.approx(float(row["girth_mm"]), abs=0.005)
    flag = flag_length(diameter, 20.0) - float(row["flag_face_20_mm"])
    assert -0.005 <= flag < 1.005
    wrapped = wrap_length(diameter, 9.0)
    if row["note"]:
        assert wrapped is None
    else:
        assert wrapped is not None
        assert -0.005 <= wrapped - float(row["self_laminating_print_9_mm"]) - 2.0 < 1.005  # 2 mm overlap


def test_worked_lengths_of_labels() -> None:
    """A wrap is print + girth + 2 mm of overlap (common practice, no source), a flag 2 x face + girth: arithmetic."""
    assert (wrap_length(6, 12), wrap_length(10, 12), wrap_length(2, 12)) == (33, 46, None)
    assert flag_length(3, 25) == 60


def test_both_ends_of_every_leg_have_a_label(papers: SamplePapers) -> None:
    """Two labels a leg, A and B, one naming each end first; never the same (IEC 62491: known at each of its ends)."""
    document = papers.documents["labels"]
    labels: dict[str, str] = {}
    for page in document.pages:
        for frame in page.frames:
            assert frame.name not in labels
            labels[frame.name] = squeezed(
                "".join(
                    mark.text
                    for mark in page.marks
                    if isinstance(mark, Text) and _inside(mark, frame.x, frame.y, frame.width, frame.height)
                )
            )
    rig = papers.solved.rig
    for cable in rig.cables.values():
        for leg in cable.legs:
            first, second = labels[f"{leg.id}-A"], labels[f"{leg.id}-B"]
            assert first.replace(f"{leg.id}-A", "") != second.replace(f"{leg.id}-B", "")
            assert leg.second is not None
            for text, name, end in ((first, "A", leg.first), (second, "B", leg.second)):
                assert f"{leg.id}-{name}" in text
                assert squeezed(f"{rig.units[end.unit].label} {rig.port(end).label}") in text
    assert set(rig.units) <= set(labels)
