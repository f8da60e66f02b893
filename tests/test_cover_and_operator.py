"""What the cover says of the pack against the pack itself, and controls that nobody may touch."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from conftest import SAMPLES, STOCK
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Line, Page, Text
from rigcard.documents.base.paper import POCKET, SIZES
from rigcard.documents.cards.card_set import card_document, numbered_cards
from rigcard.documents.cards.frame import NumberedGroup
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Solved

FACE = EmbeddedTypeface()
GORGE = next(path for path in SAMPLES if path.stem == "gorge")


def solved_rig(path: Path) -> Solved:
    """A rig that must compile."""
    solved = check_rig(path, Diagnostics(), None, STOCK).solved
    assert solved is not None
    return solved


def page_words(page: Page) -> str:
    """Everything that stands on a page."""
    return " ".join(mark.text for mark in page.marks if isinstance(mark, Text))


def words(found: NumberedGroup) -> str:
    """Everything that stands on the cards of a group, a blank between lines."""
    return " ".join(mark.text for column in found.columns for mark in column.marks if isinstance(mark, Text))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize(("card", "per_sheet"), [("", None), ("", 1), ("a6", None), ("a5", None)])
def test_the_print_plan_counts_what_is_printed(path: Path, card: str, per_sheet: int | None) -> None:
    """Sheets and pouches on the cover are those of the document: the chief loads so much paper and no more."""
    solved = solved_rig(path)
    solved = solved._replace(rig=solved.rig._replace(card=card, per_sheet=per_sheet))
    pack = numbered_cards(FACE, solved)
    document = card_document(FACE, solved, numbered=pack)
    plan = words(pack[0])

    assert f"{len(document.pages)} sheets of " in plan
    in_hand = ("POWER-UP", "POWER-DOWN", "OPERATOR", "RADIO LOSS")
    everybody = len(solved.rig.crew) + 1  # and the technician
    count: Counter[str] = Counter()
    for found in (found for found in pack if found.group.kicker in in_hand):
        width, height = found.group.size  # a pouch is sold by the ISO 216 size that it takes
        pouch = next(
            name for name in ("a6", "a5", "a4") if width <= SIZES[name][0] and height <= SIZES[name][1]
        )
        count[pouch.upper()] += found.length * (1 if found.group.role else everybody)
    for pouch, many in count.items():
        assert f"{many} {pouch} pouches" in plan
    with_bars = all("this bar is 50 mm" in page_words(page) for page in document.pages)
    assert ("The bar on a sheet must measure 50 mm" in plan) == with_bars


def test_carried_cards_are_all_joined_or_none() -> None:
    """Where one of them takes more than two pocket cards all are joined ones: the crew has cards of one size."""
    for path in SAMPLES:
        carried = [
            found
            for found in numbered_cards(FACE, solved_rig(path))
            if found.group.kicker in ("POWER-UP", "POWER-DOWN", "OPERATOR", "RADIO LOSS")
        ]
        assert len({found.group.size for found in carried}) == 1
        if carried[0].group.size == POCKET:
            assert max(found.length for found in carried) <= 2


def test_the_cover_lists_every_group_with_its_numbers() -> None:
    """Numbers, titles and check codes of all groups after it, in their order."""
    pack = numbered_cards(FACE, solved_rig(GORGE))
    text = words(pack[0])
    at = 0
    for found in pack[1:]:
        last = found.first + found.length - 1
        number = str(found.first) if found.length == 1 else f"{found.first}–{last}"
        at = text.index(f"{number} {found.group.title.split()[0]}", at)
        assert found.code in text[at:]


def test_a_control_to_leave_is_crossed_and_named(tmp_path: Path) -> None:
    """Two strokes of one middle over the control, and the rule that names it; without the line there is neither."""
    text = GORGE.read_text(encoding="utf-8").replace('use "stock/', f'use "{STOCK[0]}/')
    found = {}
    for name, more in (("left", ""), ("crossed", "leave right-dial, left-slider\n")):
        path = tmp_path / f"{name}.rig"
        path.write_text(re.sub(r"(?m)^(unit hs is .*\{\n)", rf"\1{more}", text), encoding="utf-8")
        pack = numbered_cards(FACE, solved_rig(path))
        (found[name],) = (group for group in pack if group.group.kicker == "OPERATOR")

    def crosses(group: NumberedGroup) -> int:
        middles = [
            tuple(round(sum(axis) / 2, 3) for axis in zip(*mark.points, strict=True))
            for column in group.columns
            for mark in column.marks
            if isinstance(mark, Line)
            and len(mark.points) == 2
            and mark.weight == pytest.approx(0.5)
            and mark.points[0][0] != mark.points[1][0]
            and mark.points[0][1] != mark.points[1][1]
        ]
        return sum(middles.count(middle) == 2 for middle in set(middles))

    assert (crosses(found["left"]), crosses(found["crossed"])) == (0, 2)
    assert "LEAVE" not in words(found["left"])
    assert "LEAVE, whatever happens: Right dial and Left slider." in words(found["crossed"])
    assert found["left"].group.size == (POCKET[1], 2 * POCKET[0])  # joined: it folds to a pocket card


def test_one_axis_that_follows_its_control_takes_one_line() -> None:
    """The card names both ends in one line where they are called alike, and a line a position where not."""
    pack = numbered_cards(FACE, solved_rig(GORGE))
    text = " ".join(words(found) for found in pack if found.group.kicker == "OPERATOR")

    assert "Pan LEFT / RIGHT, 50 deg/s" in text
    assert "AWAY Tilt up" in text
    assert "ready" not in text.split("Together")[0]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("card", ["", "a6"])
def test_no_number_is_parted_from_its_unit(path: Path, card: str) -> None:
    """On no card does a unit begin a line by itself, as where a column is too narrow for `−100 %`."""
    solved = solved_rig(path)
    document = card_document(FACE, solved._replace(rig=solved.rig._replace(card=card)))
    texts = {mark.text for page in document.pages for mark in page.marks if isinstance(mark, Text)}

    assert [text for text in texts if re.match(r"(%|µs|V|Wh|kg|mm|deg)(?![\w/])", text)] == []


def test_no_nearly_empty_last_card_that_closing_up_would_save() -> None:
    """A last card with less than three tenths of its room used is there only where less white does not save it; and
    nothing is lost when white is closed up: the same lines stand on the cards, in the same order."""
    for path in SAMPLES:
        for found in numbered_cards(FACE, solved_rig(path)):
            pieces = [piece for block in found.group.blocks for piece in block.boxes]
            said = [mark.text for piece in pieces for mark in piece.marks if isinstance(mark, Text)]
            printed = [mark.text for column in found.columns for mark in column.marks if isinstance(mark, Text)]
            left = iter(printed)
            assert all(text in left for text in said), found.group.title
            room = found.group.size[1]
            white = sum(piece.trailing_space for piece in pieces)
            if found.length > 1 and found.columns[-1].used < 0.1 * room:
                assert white * 0.65 < found.columns[-1].used, found.group.title
