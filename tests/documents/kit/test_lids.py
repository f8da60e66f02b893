"""Sheets for the lids of cases."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from cardlines import page_words
from labelled import apart, inked
from mechanical import boxed
from rigcard.documents.base.language import speaking
from rigcard.documents.base.model import Frame, Line, Page, Text
from rigcard.documents.kit.kit_list import kit_document
from rigcard.documents.kit.lids import case_mass, contents
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.packing import Packed, Piece
from rigcard.resolve.words import LANGUAGES
from rigcard.solve.power.provision import provided
from rigcard.solve.solved import Solved
from rigs import checked
from samples import changed_sample

FACE = EmbeddedTypeface()


def pages_of(solved: Solved, title: str) -> list[Page]:
    """The pages of the kit list that hold sheets for the cases: outside or inside."""
    return [
        page for page in kit_document(FACE, solved).pages if any(title in frame.name for frame in page.frames)
    ]


def on_panel(page: Page, frame: Frame) -> list[Text]:
    """The texts on one of the sheets of a page."""
    return [
        mark
        for mark in page.marks
        if isinstance(mark, Text)
        and frame.x <= mark.x <= frame.x + frame.width
        and frame.y <= mark.y <= frame.y + frame.height
    ]


def test_the_outside_says_nothing_of_the_contents(tmp_path: Path) -> None:
    """Name, mass and lift mark alone (common practice, no source: thieves read)."""
    for stand, lift in (("200g", []), ("12.4kg", ["TWO PEOPLE LIFT"])):
        solved, _ = checked(tmp_path, boxed("40kg", stand))
        assert solved is not None
        (page,) = pages_of(solved, "Outside")
        (frame,) = page.frames
        mass = "12.9 kg" if not lift else "25.1 kg"
        assert [mark.text for mark in on_panel(page, frame)] == ["Case 1", mass, *lift]


def test_the_inside_lists_at_most_twelve_lines(tmp_path: Path) -> None:
    """Eleven things and how many more: with the case's name and mass, of which job, and its check code."""
    more = "\n".join(f'unit s{n} is stand "Stand {n}" {{ mounted on head; case "Case 1" }}' for n in range(14))
    solved, _ = checked(tmp_path, boxed("40kg", "200g") + more)
    assert solved is not None
    (page,) = pages_of(solved, "Inside")
    (frame,) = page.frames
    words = on_panel(page, frame)
    things = (*solved.rig.units.values(), *solved.rig.cables.values())
    rows = [mark for mark in words if mark.text in {thing.title for thing in things}]
    assert len(rows) == 11
    said = " ".join(mark.text for mark in words)
    assert said.startswith("Case 1 15.7 kg") and "and 8 more: see the kit list" in said and "check " in said
    (outside,) = pages_of(solved, "Outside")
    assert not any(
        unit.title in " ".join(mark.text for mark in on_panel(outside, outside.frames[0]))
        for unit in solved.rig.units.values()
    )


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_sheets_of_cases_lie_apart(tmp_path: Path, paper: str, language: str) -> None:
    """Outsides eight a page, insides below each other as high as they need, all cut apart on one line; no word leaves its
    sheet or lies on another, however long the names are."""
    gorge = changed_sample(tmp_path, "gorge")
    units = {
        name: unit._replace(title="Wide title of a thing " * (1 + 3 * (at % 2)))
        for at, (name, unit) in enumerate(gorge.rig.units.items())
    }
    solved = gorge._replace(rig=gorge.rig._replace(paper=paper, units=units))
    with speaking(language):
        pages = kit_document(FACE, solved).pages
    sheets = [page for page in pages if len(page.frames) > 1 or "Case" in page.frames[0].name]
    assert [len(page.frames) for page in sheets] == [5, 3, 2]
    for page in sheets:
        for at, frame in enumerate(page.frames):
            words = on_panel(page, frame)
            assert apart(words)
            for mark in words:
                left, high, right, low = inked(mark)
                assert left >= frame.x + 1 and right <= frame.x + frame.width - 1
                assert high >= frame.y + 1 and low <= frame.y + frame.height - 1
            for other in page.frames[at + 1 :]:
                across = min(frame.x + frame.width, other.x + other.width) - max(frame.x, other.x)
                down = min(frame.y + frame.height, other.y + other.height) - max(frame.y, other.y)
                assert across <= 1e-6 or down <= 1e-6
        cuts = [mark.points for mark in page.marks if isinstance(mark, Line) and mark.dash]
        assert len(cuts) == len(set(cuts)), "a cut that is drawn twice is a solid line"


@pytest.mark.parametrize(
    ("mass", "unknown", "said"),
    [
        ("16.38", False, "16.4 kg"),
        ("16.3", False, "16.3 kg"),
        ("23.01", False, "23.1 kg"),
        ("4.56", True, "at least 4.5 kg"),
        ("14", False, "14 kg"),
    ],
)
def test_mass_for_people_who_lift(mass: str, unknown: bool, said: str) -> None:
    """To a tenth of a kg from the exact sum: never less than it is, and never more than "at least"."""
    piece = Piece("a", "A", None if unknown else Fraction(mass))
    assert case_mass(Packed("Case 1", Fraction(mass) if unknown else Fraction(0), None, (piece,))) == said


def test_a_case_weighs_all_packs_that_are_in_it(tmp_path: Path) -> None:
    """Case 4: 4.1 empty + 3 x 2.1 + 7 x 0.8 + 0.38 of leads = 16.38 kg; packs of a handset are nowhere weighed."""
    solved = changed_sample(tmp_path, "gorge")
    cases = {case.name: case for case in provided(solved.rig, solved.power)}

    assert cases["Case 4"].mass == Fraction("16.38")
    assert cases["Case 4"].unknown == []
    assert cases["Case 1"].unknown == ["hs.2", "hs.3"]
    (page,) = pages_of(solved, "Outside")
    words = [" ".join(mark.text for mark in on_panel(page, frame)) for frame in page.frames]
    assert words[3] == "Case 4 16.4 kg" and words[0] == "Case 1 at least 4.5 kg"
    assert "Not weighed: Pack for Head handset, 2 of 3; Pack for Head handset, 3 of 3." in page_words(
        kit_document(FACE, solved).pages
    )


def test_a_lid_has_a_line_for_all_packs_of_a_unit(tmp_path: Path) -> None:
    """Twelve lines hold more than one kind of pack."""
    gorge = changed_sample(tmp_path, "gorge")
    cases = {case.name: case for case in provided(gorge.rig, gorge.power)}

    assert [line[:2] for line in contents(gorge.rig, cases["Case 4"].pieces)] == [
        ("PK-301", "Head pack, 3 packs"),
        ("PK-098", "Camera pack, 7 packs"),
        ("P01", "Head power"),
        ("P01-S1", "SPARE FOR P01"),
        ("P02", "Camera power"),
    ]
    for case in cases.values():
        assert sum(count for _, _, count in contents(gorge.rig, case.pieces)) == len(case.pieces)
