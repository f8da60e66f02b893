"""The cards of a rig as a set: numbers, codes, what they tell, how they break."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from papers import SamplePapers, card_texts
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Text
from rigcard.documents.cards.card_set import card_document, numbered_cards
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from samples import SAMPLES, solved_rig

pytest_plugins = ("papers",)

FACE = EmbeddedTypeface()


# ---- PDF ---------------------------------------------------------------------------------------------------------


def test_a_change_changes_the_codes_of_its_cards_only() -> None:
    """A new software version gives that unit's cards and the cover another check code; other cards keep theirs."""
    solved = check_rig(SAMPLES[0], Diagnostics()).solved
    assert solved is not None
    units = solved.rig.units
    changed = {
        name: unit._replace(software="9.9") if unit.role == "head" else unit for name, unit in units.items()
    }
    before, after = (
        [
            mark.text
            for page in card_document(FACE, each).pages
            for mark in page.marks
            if isinstance(mark, Text) and re.fullmatch(r"check \w{4}", mark.text)
        ]
        for each in (solved, solved._replace(rig=solved.rig._replace(units=changed)))
    )
    kept = [old == new for old, new in zip(before, after, strict=True)]

    assert not kept[0]
    assert 0 < kept.count(True) < len(kept) - 1


def test_cards_are_numbered_through(papers: SamplePapers) -> None:
    """`card n of m` runs from 1 to m without a gap."""
    texts = [
        mark.text for page in papers.documents["cards"].pages for mark in page.marks if isinstance(mark, Text)
    ]
    found = [match.groups() for text in texts if (match := re.match(r"card (\d+) of (\d+)", text))]

    assert [int(number) for number, _ in found] == list(range(1, len(found) + 1))
    assert {int(of) for _, of in found} == {len(found)}


# ---- what cards say ----------------------------------------------------------------------------------------------


def test_cards_tell_every_dialled_value(papers: SamplePapers) -> None:
    """Sub-trim, levels and pulses of every channel stand on a card of their handset, negative ones with a true minus."""
    whole = "".join(card_texts(papers))
    negative = 0
    for sheet in papers.solved.results.values():
        values = [f"{sheet.dial.subtrim}"] if sheet.dial.subtrim else []
        for row in sheet.rows:
            percent = round(Decimal(row.level.percent.numerator) / Decimal(row.level.percent.denominator), 1)
            values.append(f"{'+' if percent > 0 else ''}{percent.normalize():f}%")
            pulse = round(Decimal(row.pulse.numerator) / Decimal(row.pulse.denominator), 1)
            values.append(f"{pulse.normalize():f}µs")
        for value in values:
            negative += value.startswith("-")
            assert value.replace("-", "\N{MINUS SIGN}") in whole, value
    assert negative


def test_no_hyphen_stands_for_a_minus(papers: SamplePapers) -> None:
    """No number on a card has a hyphen for its sign (Unicode names U+2212 the minus sign)."""
    for page in papers.documents["cards"].pages:
        for mark in page.marks:
            if isinstance(mark, Text):
                assert not re.search(r"(?:^|[ (])-\d+(?:\.\d+)?(?: ?%| ?µs|$)", mark.text), mark.text


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
