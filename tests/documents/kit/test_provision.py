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

from cardlines import page_words
from rigcard.documents.base.model import Rectangle, Text, moved
from rigcard.documents.kit.kit_list import kit_csv, kit_document
from rigcard.documents.kit.provision import plan_lines
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Solved
from samples import changed_sample

FACE = EmbeddedTypeface()
DAY = "  day         10h duty 60%\n"


def rows(solved: Solved) -> list[dict[str, str]]:
    """The list as the csv module reads it."""
    return list(csv.DictReader(StringIO(kit_csv(solved), newline="")))


def test_every_pack_to_bring_is_a_line(tmp_path: Path) -> None:
    """13 packs, each to be counted back: 3 x 25.16 + 7 x 97.68 = 759.24 Wh in the lowest class, 3 x 301.92 = 905.76
    Wh above 160 Wh (arithmetic; classes as in tests/reference/battery.csv)."""
    solved = changed_sample(tmp_path, "gorge")
    found = [row for row in rows(solved) if row["watt-hours"]]

    assert [row["id"] for row in found if row["id"].startswith("cam-pack")] == [
        "cam-pack",
        *(f"cam-pack.{number}" for number in range(2, 8)),
    ]
    assert len(found) == 13
    assert sum(Fraction(row["watt-hours"]) for row in found) == Fraction("1665")
    text = page_words(kit_document(FACE, solved).pages)
    assert "10 up to 100 Wh, 759.24 Wh together; 3 over 160 Wh, 905.76 Wh together." in text
    assert "10 units, 6 cables, 10 extra packs, 2 spare cables" in text
    assert (
        "Head handset 2 + 1 spare, Head pack 2 + 1 spare and Camera pack 6 + 1 spare. How many are spare is assumed."
        in text
    )


def test_a_case_that_its_packs_make_too_heavy_is_told(tmp_path: Path) -> None:
    """16.38 kg against 16 kg, though it weighs 7.38 kg with one pack of each."""
    limit = ('case "Case 4" empty 4.1kg up to 23kg', 'case "Case 4" empty 4.1kg up to 16kg')

    assert "OVER ITS LIMIT" in page_words(kit_document(FACE, changed_sample(tmp_path, "gorge", limit)).pages)
    assert "OVER ITS LIMIT" not in page_words(kit_document(FACE, changed_sample(tmp_path, "gorge")).pages)


@pytest.mark.parametrize(
    ("name", "changes", "told"),
    [
        ("first", (), ["Counted once, as the rig states no day: Handset and Pack.", "No charger is listed."]),
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
                "Packs to bring, as on the power card: Head handset 2 + 1 spare, Head pack 2 + 1 spare and "
                "Camera pack 6 + 1 spare.",
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
    solved = changed_sample(tmp_path, name, *changes)

    assert plan_lines(solved) == told
    text = page_words(kit_document(FACE, solved).pages)
    assert all(" ".join(line.split()) in " ".join(text.split()) for line in told)


@pytest.mark.parametrize(("name", "barred", "free"), [("gorge", "Head pack", 2), ("mast", "Mast pack", 5)])
def test_who_travels_carries_no_pack_that_is_cargo(tmp_path: Path, name: str, barred: str, free: int) -> None:
    """301.92 Wh is over 160 Wh, the most in passenger baggage (tests/reference/battery.csv): named apart, with the
    card that says so. What is ticked in a case is not ticked again: boxes are there for media and papers alone."""
    pages = kit_document(FACE, changed_sample(tmp_path, name)).pages
    marks = [moved(mark, 0, number * 1000.0) for number, page in enumerate(pages) for mark in page.marks]
    texts = [mark for mark in marks if isinstance(mark, Text)]
    title = next(mark for mark in texts if mark.text == "Travels with a person")
    below = [mark for mark in texts if mark.y > title.y]
    end = next(mark for mark in below if mark.text.startswith("Not with a person: "))
    listed = [mark.text for mark in below if mark.y < end.y]

    assert barred not in listed
    assert sum(text == "cabin baggage, terminals covered" for text in listed) == free
    rest = " ".join(mark.text for mark in below if mark.y >= end.y)
    assert f"Not with a person: {barred} (" in rest
    assert "of 301.92 Wh), over 160 Wh: not in passenger baggage, declared cargo" in rest
    assert "“Packs by air”" in rest
    boxes = [
        mark for mark in marks if isinstance(mark, Rectangle) and title.y < mark.y < end.y and mark.width == 7
    ]
    assert len(boxes) == 2
