"""The cards of a rig as a set: numbers, codes, what they tell, how they break."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from cardlines import group_words
from papers import SamplePapers, card_texts
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.layout import BODY, line_height
from rigcard.documents.base.model import Text
from rigcard.documents.cards.card_set import card_document, card_groups, card_pack
from rigcard.documents.cards.frame import TECHNICIAN, caution_height, inner_width, leaves_of, room, side_mark
from rigcard.pipeline import check_rig
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.resolve.links import leaving_by
from samples import GORGE, SAMPLES, solved_rig

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
    packs = [
        card_pack(FACE, each) for each in (solved, solved._replace(rig=solved.rig._replace(units=changed)))
    ]
    before, after = ({found.group.mark: found.code for found in pack} for pack in packs)
    for pack in packs:
        pages = card_document(FACE, solved, pack=pack).pages
        printed = {mark.text for page in pages for mark in page.marks if isinstance(mark, Text)}
        assert {f"check {found.code}" for found in pack} <= printed
    assert before.keys() == after.keys()
    touched = {mark for mark in before if before[mark] != after[mark]}

    assert pack[0].group.mark in touched
    assert 1 < len(touched) < len(before) / 2


def test_every_mark_is_unique_and_every_side_is_counted(papers: SamplePapers) -> None:
    """No two groups share a mark, nor two sides what stands large at their head; `side n of m` runs through a group."""
    pack = card_pack(FACE, papers.solved)
    marks = [found.group.mark for found in pack]
    large = [side_mark(found, index) for found in pack for index in range(found.sides)]
    assert len(set(marks)) == len(marks)
    assert len(set(large)) == len(large)
    for found in pack[1:]:
        sides = [
            [mark.text for mark in side if isinstance(mark, Text)]
            for leaf in leaves_of(FACE, papers.solved.rig, [found])
            for side in leaf.sides
            if side
        ]
        for number, texts in enumerate(sides, 1):
            assert f"side {number} of {len(sides)}" in texts
            large = side_mark(found, number - 1)
            assert large in texts or {found.group.mark, large.removeprefix(found.group.mark).strip()} <= {
                *texts
            }


def test_a_revision_renames_no_card_that_it_does_not_touch() -> None:
    """Another unit before the others, and one less: the marks and codes of the rest stay."""
    solved = solved_rig(GORGE)
    units = {name: unit for name, unit in solved.rig.units.items() if name != "charger"}
    less = solved._replace(rig=solved.rig._replace(units=units))
    before, after = (
        {found.group.mark: found.code for found in card_pack(FACE, one)[1:]} for one in (solved, less)
    )
    assert set(before) - set(after) <= {"CHARGER"}
    assert set(after) <= set(before)


# ---- what cards say ----------------------------------------------------------------------------------------------


def test_cards_tell_every_dialled_value(papers: SamplePapers) -> None:
    """Sub-trim, levels and pulses of every channel stand on a card of their handset, negative ones with a true minus."""
    whole = "".join(card_texts(papers))
    own = {
        unit.name: group_words(found).split()
        for unit in papers.solved.rig.units.values()
        for found in card_pack(FACE, papers.solved)
        if found.group.title == unit.title and unit.role == "handset" and found.group.role == TECHNICIAN
    }
    negative = 0
    for sheet in papers.solved.results.values():
        handset = papers.solved.rig.units[sheet.handset]
        pins = leaving_by(papers.solved.rig, papers.solved.links, handset, sheet.number)
        values = [f"{sheet.dial.subtrim}"] if sheet.dial.subtrim else []
        for row in sheet.rows:
            percent = round(Decimal(row.level.percent.numerator) / Decimal(row.level.percent.denominator), 1)
            values.append(f"{'+' if percent > 0 else ''}{percent.normalize():f}%")
            pulse = round(Decimal(row.pulse.numerator) / Decimal(row.pulse.denominator), 1)
            if (
                pins
            ):  # what leaves by none cannot be measured; the unit of the others is at the head of their column
                assert f"{pulse.normalize():f}" in own[sheet.handset]
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


def test_sides_are_filled() -> None:
    """No side of a group is under half full, except its last; one that is nearly empty is there only where less white
    between blocks does not save it; and nothing is lost: the same lines stand on the cards, in the same order."""
    for path in SAMPLES:
        solved = solved_rig(path)
        for group, found in zip(card_groups(FACE, solved), card_pack(FACE, solved)[1:], strict=True):
            pieces = [piece for block in group.blocks for piece in block.boxes]
            said = [mark.text for piece in pieces for mark in piece.marks if isinstance(mark, Text)]
            printed = [mark.text for column in found.columns for mark in column.marks if isinstance(mark, Text)]
            left = iter(printed)
            assert all(text in left for text in said), found.group.title
            height = room(FACE, solved.rig, found.group)
            pinned = caution_height(FACE, found.group.cautions, inner_width(solved.rig))
            for index, column in enumerate(found.columns[:-1]):
                assert column.used + (pinned if index == 0 else 0) >= height / 2, (found.group.mark, index)
            white = sum(piece.trailing_space for piece in pieces)
            if found.sides > 1 and found.columns[-1].used < 0.1 * height:
                assert white * 0.65 < found.columns[-1].used, found.group.title


def test_head_and_foot_take_little_of_a_card(papers: SamplePapers) -> None:
    """With their margins at most 13 % of the height, where titles are as short as in the samples."""
    for found in card_pack(FACE, papers.solved)[1:]:
        below = line_height(BODY) if found.group.title.casefold() != found.group.mark.casefold() else 0.0
        assert 200 - room(FACE, papers.solved.rig, found.group) <= 0.13 * 200 + below, found.group.mark
