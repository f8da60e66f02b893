"""Packs on the kit list: as many as the plan of the day asks for, by class of air travel, with their masses.

The gorge sample, worked by hand: a day of 10 h at -2 C takes 2 packs of the handset, 2 of the head and 6 of the
camera, and one spare of each beside them (as on its power card): 3 + 3 + 7 = 13.
"""

from __future__ import annotations

import csv
from fractions import Fraction
from io import StringIO
from pathlib import Path

import pytest

from conftest import ROOT, STOCK
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Page, Rectangle, Text
from rigcard.documents.cards.burden import burden
from rigcard.documents.diagram.leads import lead_pages
from rigcard.documents.kit.kit_list import kit_csv, kit_document
from rigcard.documents.kit.lids import contents
from rigcard.documents.kit.provision import plan_lines
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.power.provision import provided
from rigcard.solve.solved import Solved

FACE = EmbeddedTypeface()
DAY = "  day         10h duty 60%\n"


def sample(folder: Path, name: str, *changes: tuple[str, str]) -> Solved:
    """A sample with some of its words changed; it must compile."""
    text = (ROOT / "samples" / f"{name}.rig").read_text(encoding="utf-8")
    for was, now in changes:
        assert was in text, was
        text = text.replace(was, now)
    path = folder / "rig.rig"
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics, stock=STOCK).solved
    assert solved is not None, [found.message for found in diagnostics]
    return solved


def rows(solved: Solved) -> list[dict[str, str]]:
    """The list as the csv module reads it."""
    return list(csv.DictReader(StringIO(kit_csv(solved), newline="")))


def words(pages: tuple[Page, ...] | list[Page]) -> str:
    """All text of pages, in the order of its marks."""
    return " ".join(mark.text for page in pages for mark in page.marks if isinstance(mark, Text))


def test_every_pack_to_bring_is_a_line(tmp_path: Path) -> None:
    """13 packs, each to be counted back: 3 x 25.16 + 7 x 97.68 = 759.24 Wh in the lowest class, 3 x 301.92 = 905.76
    Wh above 160 Wh (arithmetic; classes as in tests/reference/battery.csv)."""
    solved = sample(tmp_path, "gorge")
    found = [row for row in rows(solved) if row["watt-hours"]]

    assert [row["id"] for row in found if row["id"].startswith("cam-pack")] == [
        "cam-pack",
        *(f"cam-pack.{number}" for number in range(2, 8)),
    ]
    assert len(found) == 13
    assert sum(Fraction(row["watt-hours"]) for row in found) == Fraction("1665")
    text = words(kit_document(FACE, solved).pages)
    assert "10 up to 100 Wh, 759.24 Wh together; 3 over 160 Wh, 905.76 Wh together." in text
    assert "10 units, 6 cables, 10 more packs, 2 spare cables" in text
    assert "Head handset 2 + ~ 1, Head pack 2 + ~ 1 and Camera pack 6 + ~ 1. ~ is assumed." in text


def test_a_case_weighs_all_packs_that_are_in_it(tmp_path: Path) -> None:
    """Case 4: 4.1 empty + 3 x 2.1 + 7 x 0.8 + 0.38 of leads = 16.38 kg; packs of a handset are nowhere weighed."""
    solved = sample(tmp_path, "gorge")
    cases = {case.name: case for case in provided(solved.rig, solved.power)}

    assert cases["Case 4"].mass == Fraction("16.38")
    assert cases["Case 4"].unknown == []
    assert cases["Case 1"].unknown == ["hs.2", "hs.3"]
    pages = kit_document(FACE, solved).pages
    lids = [words([page]) for page in pages if "Outside of the case" in words([page])]
    assert "16.38 kg" in lids[3] and "at least 4.56 kg" in lids[0]
    assert "Not weighed: hs.2 and hs.3." in words(pages)


def test_a_lid_has_a_line_for_all_packs_of_a_unit(tmp_path: Path) -> None:
    """Twelve lines hold more than one kind of pack."""
    gorge = sample(tmp_path, "gorge")
    cases = {case.name: case for case in provided(gorge.rig, gorge.power)}

    assert [line[:2] for line in contents(cases["Case 4"].pieces)] == [
        ("head-pack", "Head pack, 3 packs"),
        ("cam-pack", "Camera pack, 7 packs"),
        ("P01", "Head power"),
        ("P01-S1", "SPARE FOR P01"),
        ("P02", "Camera power"),
    ]
    for case in cases.values():
        assert sum(count for _, _, count in contents(case.pieces)) == len(case.pieces)


def test_a_case_that_its_packs_make_too_heavy_is_told(tmp_path: Path) -> None:
    """16.38 kg against 16 kg, though it weighs 7.38 kg with one pack of each."""
    limit = ('case "Case 4" empty 4.1kg up to 23kg', 'case "Case 4" empty 4.1kg up to 16kg')

    assert "OVER ITS LIMIT" in words(kit_document(FACE, sample(tmp_path, "gorge", limit)).pages)
    assert "OVER ITS LIMIT" not in words(kit_document(FACE, sample(tmp_path, "gorge")).pages)


@pytest.mark.parametrize(
    ("name", "changes", "told"),
    [
        ("first", (), ["Counted once, as the rig states no day: Handset and Pack."]),
        ("gorge", ((DAY, ""),), ["Counted once, as the rig states no day: Head handset, Head pack and Camera pack."]),
        (
            "gorge",
            (
                ('unit charger ', 'model brick "Brick" { role pack; port out-1 out pack-power }\n'
                 'model bank "Bank" { role pack; port out-1 out pack-power; capacity 50Wh }\n'
                 'unit spare is brick "Plain brick"\nunit bank is bank "Power bank"\nunit charger '),
                (DAY, f"{DAY}  spare-packs 1\n"),
            ),
            [
                "Packs to bring, as on the power card: Head handset 2 + 1, Head pack 2 + 1 and Camera pack 6 + 1.",
                "Counted once, as nothing says what it holds: Plain brick.",
                "Counted once, as nothing says what it feeds: Power bank.",
            ],
        ),
    ],
)  # fmt: skip
def test_the_list_says_where_the_plan_cannot(
    tmp_path: Path, name: str, changes: tuple[tuple[str, str], ...], told: list[str]
) -> None:
    """No number is made up: each pack of which nothing says how many is one line, and the reason stands below."""
    solved = sample(tmp_path, name, *changes)

    assert plan_lines(solved) == told
    text = words(kit_document(FACE, solved).pages)
    assert all(" ".join(line.split()) in " ".join(text.split()) for line in told)


@pytest.mark.parametrize(("name", "barred", "free"), [("gorge", "Head pack", 2), ("mast", "Mast pack", 5)])
def test_who_travels_carries_no_pack_that_is_cargo(tmp_path: Path, name: str, barred: str, free: int) -> None:
    """301.92 Wh is over 160 Wh, the most in passenger baggage (tests/reference/battery.csv): named apart, with the
    card that says so. What is ticked in a case is not ticked again: boxes are there for media and papers alone."""
    pages = kit_document(FACE, sample(tmp_path, name)).pages
    (page,) = (page for page in pages if "Travels with a person" in words([page]))
    texts = [mark for mark in page.marks if isinstance(mark, Text)]
    title = next(mark for mark in texts if mark.text == "Travels with a person")
    below = [mark for mark in texts if mark.y > title.y]
    end = next(mark for mark in below if mark.text.startswith("Not with a person: "))
    listed = [mark.text for mark in below if mark.y < end.y]

    assert barred not in listed
    assert sum(text == "cabin baggage, terminals covered" for text in listed) == free
    rest = " ".join(mark.text for mark in below if mark.y >= end.y)
    assert f"Not with a person: {barred} (" in rest
    assert "of 301.92 Wh), over 160 Wh: not in passenger baggage, declared cargo" in rest
    assert "“Packs by air” on the power card" in rest
    boxes = [
        mark
        for mark in page.marks
        if isinstance(mark, Rectangle) and title.y < mark.y < end.y and mark.width == 7
    ]
    assert len(boxes) == 2


def test_pin_tables_are_headed_by_the_end(tmp_path: Path) -> None:
    """Which column is at which plug: the lead has the same plug at both ends."""
    solved = sample(tmp_path, "gorge")
    text = words(lead_pages(FACE, solved))

    assert "at Camera bridge (S04-A) Six-pin control, pin at Cinema camera (S04-B) Six-pin control, pin" in text


def test_pin_tables_of_a_loom_name_all_its_ends(tmp_path: Path) -> None:
    """Three legs, wired alike: each end by its own id."""
    pins = ("  plugs  servo-3 to servo-3\n", "  plugs  servo-3 to servo-3\n  pin 1 to 1\n  pin 2 to 2\n")
    text = words(lead_pages(FACE, sample(tmp_path, "gorge", pins)))

    assert "".join(["at", "Head", "receiver", "(S01.R-A,", "S01.I-A,", "S01.T-A)"]) in "".join(text.split())


def test_what_is_carried_names_leads_by_their_ids(tmp_path: Path) -> None:
    """As their labels have it, so that a lead can be found and weighed."""
    solved = sample(tmp_path, "gorge")
    blocks = burden(FACE, 120.0, solved.rig, solved.rig.units["head"])
    text = " ".join(
        mark.text for block in blocks for piece in block.boxes for mark in piece.marks if isinstance(mark, Text)
    )

    assert "P01 Head power 0.15 kg" in text and "S01 Bridge loom 0.02 kg" in text
    assert "Head pack 2.1 kg" in text
