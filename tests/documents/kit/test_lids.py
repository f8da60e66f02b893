"""Sheets for the lids of cases."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from cardlines import page_words, squeezed
from mechanical import boxed, said
from rigcard.documents.base.model import Text
from rigcard.documents.kit.kit_list import kit_document
from rigcard.documents.kit.lids import contents
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.power.provision import provided
from rigs import checked
from samples import changed_sample

FACE = EmbeddedTypeface()


def test_a_lid_sheet_says_nothing_of_the_contents_outside(tmp_path: Path) -> None:
    """Above the line to cut on: name, mass, lift mark. Below it at most twelve lines of contents."""
    more = "\n".join(f'unit s{n} is stand "Stand {n}" {{ mounted on head; case "Case 1" }}' for n in range(14))
    solved, _ = checked(tmp_path, boxed("40kg", "200g") + more)
    assert solved is not None
    page = kit_document(FACE, solved).pages[-1]
    texts = [mark for mark in page.marks if isinstance(mark, Text)]
    (inside,) = (mark for mark in texts if mark.text.startswith("Inside the lid"))
    outside = squeezed("".join(mark.text for mark in texts if mark.y < inside.y and mark.size > 20))
    assert outside == "Case115.7kg"
    for unit in solved.rig.units.values():
        assert not [mark for mark in texts if mark.y < inside.y and unit.title in mark.text.split(": ")[0]]
    rows = [
        mark for mark in texts if mark.y > inside.y and mark.text in {*solved.rig.units, *solved.rig.cables}
    ]
    assert len(rows) == 11
    assert "and8more:seethekitlist" in said(page)


def test_a_case_weighs_all_packs_that_are_in_it(tmp_path: Path) -> None:
    """Case 4: 4.1 empty + 3 x 2.1 + 7 x 0.8 + 0.38 of leads = 16.38 kg; packs of a handset are nowhere weighed."""
    solved = changed_sample(tmp_path, "gorge")
    cases = {case.name: case for case in provided(solved.rig, solved.power)}

    assert cases["Case 4"].mass == Fraction("16.38")
    assert cases["Case 4"].unknown == []
    assert cases["Case 1"].unknown == ["hs.2", "hs.3"]
    pages = kit_document(FACE, solved).pages
    lids = [page_words([page]) for page in pages if "Outside of the case" in page_words([page])]
    assert "16.38 kg" in lids[3] and "at least 4.56 kg" in lids[0]
    assert "Not weighed: hs.2 and hs.3." in page_words(pages)


def test_a_lid_has_a_line_for_all_packs_of_a_unit(tmp_path: Path) -> None:
    """Twelve lines hold more than one kind of pack."""
    gorge = changed_sample(tmp_path, "gorge")
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
