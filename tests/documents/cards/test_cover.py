"""What the cover says of the pack against the pack itself."""

from __future__ import annotations

import re
import runpy
from pathlib import Path

import pytest

from cardlines import group_words
from rigcard.documents.base.model import Page, Rectangle, Text
from rigcard.documents.base.paper import SIZES
from rigcard.documents.cards.card_set import card_document, card_pack
from rigcard.documents.cards.frame import TECHNICIAN, card_size
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Solved
from samples import GORGE, ROOT, SAMPLES, STOCK, solved_rig

FACE = EmbeddedTypeface()


def words_of_page(page: Page) -> str:
    """Everything that stands on a page."""
    return " ".join(mark.text for mark in page.marks if isinstance(mark, Text))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize(("card", "per_sheet"), [("", None), ("", 1), ("a6", None), ("a5", None)])
def test_the_print_plan_counts_what_is_printed(path: Path, card: str, per_sheet: int | None) -> None:
    """Sheets and pouches on the issue sheet are those of the document: the chief loads so much paper and no more."""
    solved = solved_rig(path)
    solved = solved._replace(rig=solved.rig._replace(card=card, per_sheet=per_sheet))
    pack = card_pack(FACE, solved)
    document = card_document(FACE, solved, pack=pack)
    plan = group_words(pack[0])

    sheets = len(document.pages) // 2 - pack[0].sides
    assert f"One set of cards: {sheets} sheets." in plan
    everybody = len(solved.rig.crew) + 1  # and the technician
    leaves = sum(found.leaves * (1 if found.group.role else everybody) for found in pack[1:])
    on_a_sheet = max(len(page.frames) for page in document.pages[2 * pack[0].sides :])
    assert f"All copies: {-(-leaves // on_a_sheet)} sheets" in plan
    width, height = card_size(solved.rig)  # a pouch is sold by the ISO 216 size that it takes
    pouch = next(name for name in ("a6", "a5", "a4") if width <= SIZES[name][0] and height <= SIZES[name][1])
    count = sum(
        found.leaves * (1 if found.group.role else everybody)
        for found in pack[1:]
        if found.group.role != TECHNICIAN
    )
    assert f"{count} pouches {pouch.upper()}" in plan
    with_bars = all("this bar is 50 mm" in words_of_page(page) for page in document.pages if page.marks)
    assert ("The bar on a sheet must measure 50 mm" in plan) == with_bars


def test_the_sheet_lists_every_group() -> None:
    """Mark, holder, sides, copies and check code of every group, and no other."""
    solved = solved_rig(GORGE)
    pack = card_pack(FACE, solved)
    text = group_words(pack[0])
    holders = {"": "everybody", TECHNICIAN: "technician", **solved.rig.crew}
    everybody = len(solved.rig.crew) + 1
    for found in pack[1:]:
        role = found.group.role
        copies = 1 if role else everybody
        assert f"{found.group.mark} {holders[role]} {found.sides} {copies} {found.code}" in text
    assert text.count(" technician ") >= sum(found.group.role == TECHNICIAN for found in pack[1:])


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_sheet_has_a_line_for_each_person(path: Path) -> None:
    """How many cards each person takes and gives back, with two boxes; and everything stands on one page."""
    solved = solved_rig(path)
    pack = card_pack(FACE, solved)
    text = group_words(pack[0])
    for role, title in (*solved.rig.crew.items(), (TECHNICIAN, "Technician")):
        mine = sum(found.leaves for found in pack[1:] if found.group.role in ("", role))
        assert f"{title} ______________ {mine} ______________" in text
    boxes = [mark for column in pack[0].columns for mark in column.marks if isinstance(mark, Rectangle)]
    assert len([box for box in boxes if box.width == box.height]) == 2 * (len(solved.rig.crew) + 1)
    assert pack[0].sides == 1


def test_the_cover_counts_leads_whose_pins_nobody_states() -> None:
    """Two leads of the mast state theirs: without those lines there are two more that nobody checked."""

    def unchecked(solved: Solved) -> int:
        found = re.search(r"ground and supply in (\d+) leads?: pins not stated", not_checked(solved))
        return int(found[1]) if found else 0

    solved = solved_rig(next(path for path in SAMPLES if path.stem == "mast"))
    cables = solved.rig.cables
    stated = sum(bool(cable.build.pins) for cable in cables.values())
    bare = {name: cable._replace(build=cable.build._replace(pins=())) for name, cable in cables.items()}

    assert stated == 2
    assert unchecked(solved._replace(rig=solved.rig._replace(cables=bare))) == unchecked(solved) + stated


def not_checked(solved: Solved) -> str:
    """What stands on the sheet from the checks on."""
    return group_words(card_pack(FACE, solved)[0]).split("Not checked")[1]


def test_one_lead_is_no_leads() -> None:
    """The count and its word agree."""
    solved = solved_rig(GORGE)
    name, cable = next((name, cable) for name, cable in solved.rig.cables.items() if len(cable.legs) == 1)
    text = group_words(card_pack(FACE, solved._replace(rig=solved.rig._replace(cables={name: cable})))[0])

    assert "1 lead: its signal fits" in text
    assert not re.search(r"\b1 (?:leads|expectations|operator expectations|channels)", text)


def test_a_critical_axis_without_a_claim_is_named_as_not_checked() -> None:
    """An `expect` proves a direction; without one the sheet says which axes nobody has proven."""
    solved = solved_rig(GORGE)
    told = "which way is meant, as no claim says it: Tilt (Stabilised head)"
    assert "which way is meant" not in group_words(card_pack(FACE, solved)[0])
    kept = tuple(wish for wish in solved.rig.expectations if wish.wanted[0] != "tilt")
    assert len(kept) < len(solved.rig.expectations)
    without = solved._replace(rig=solved.rig._replace(expectations=kept))
    assert told in group_words(card_pack(FACE, without)[0])


def test_each_station_has_one_line(tmp_path: Path) -> None:
    """Its cards by their check codes and their number: no card of the pack is left out, and none is listed twice."""
    production = runpy.run_path(str(ROOT / "tests" / "bench" / "production.py"))["production"]
    path = tmp_path / "season.rig"
    path.write_text(
        re.sub(r'use "(\w+)\.rig"', rf'use "{STOCK[0]}/\1.rig"', production(3, 2)), encoding="utf-8"
    )
    solved = solved_rig(path)
    sheet, *pack = card_pack(FACE, solved)
    words = group_words(sheet)

    assert all(words.split().count(found.code) == 1 for found in pack)
    for number in (1, 2, 3):
        mine = [found for found in pack if found.group.mark.endswith(f"HANDSET {number}")]
        heads = [found for found in pack if found.group.mark == f"HEAD {number}"]
        codes = " ".join(found.code for found in [*mine, *heads])
        assert f"Handset {number} {codes} {sum(found.leaves for found in [*mine, *heads])}" in words
    assert {"HEAD OPERATOR HANDSET 1", "HEAD OPERATOR HANDSET 3"} <= {found.group.mark for found in pack}
