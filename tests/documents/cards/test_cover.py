"""What the cover says of the pack against the pack itself."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from cardlines import group_words
from rigcard.documents.base.model import Page, Text
from rigcard.documents.base.paper import POCKET, SIZES
from rigcard.documents.cards.card_set import card_document, numbered_cards
from rigcard.render.typeface import EmbeddedTypeface
from samples import GORGE, SAMPLES, solved_rig

FACE = EmbeddedTypeface()


def words_of_page(page: Page) -> str:
    """Everything that stands on a page."""
    return " ".join(mark.text for mark in page.marks if isinstance(mark, Text))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize(("card", "per_sheet"), [("", None), ("", 1), ("a6", None), ("a5", None)])
def test_the_print_plan_counts_what_is_printed(path: Path, card: str, per_sheet: int | None) -> None:
    """Sheets and pouches on the cover are those of the document: the chief loads so much paper and no more."""
    solved = solved_rig(path)
    solved = solved._replace(rig=solved.rig._replace(card=card, per_sheet=per_sheet))
    pack = numbered_cards(FACE, solved)
    document = card_document(FACE, solved, numbered=pack)
    plan = group_words(pack[0])

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
    with_bars = all("this bar is 50 mm" in words_of_page(page) for page in document.pages)
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
    text = group_words(pack[0])
    at = 0
    for found in pack[1:]:
        last = found.first + found.length - 1
        number = str(found.first) if found.length == 1 else f"{found.first}–{last}"
        at = text.index(f"{number} {found.group.title.split()[0]}", at)
        assert found.code in text[at:]
