"""Fronts and backs of cards meet when a printed sheet is turned over: geometry, for every paper, size and flip."""

from __future__ import annotations

from itertools import product

import pytest

from rigcard.documents.base.model import Frame, Page, Text
from rigcard.documents.base.paper import CARD_SIZES, ONE_SIDED, Leaf, grid_of, impose, turns_at_side
from rigcard.render.typeface import EmbeddedTypeface

FACE = EmbeddedTypeface()
PAPERS = ("a4", "letter")
FITTING = [pair for pair in product(CARD_SIZES, PAPERS) if pair != ("a4", "letter")]  # too high for it
SIDES = (2, 1, 2, 2, 1, 2, 2)  # of the leaves of a pack


def leaves() -> list[Leaf]:
    """Cards that bear their number, some with a white back."""

    def mark(text: str) -> Text:
        return Text(10, 20, text, 12.0, False, FACE.width(text, 12.0))

    return [
        Leaf([(mark(f"{side} {at}"),) for side in ("front", "back")[:sides]], "")
        for at, sides in enumerate(SIDES)
    ]


def turned_over(page: Page, frame: Frame, flip: str) -> tuple[float, float]:
    """Where the corner of a card on the back of a sheet lies, seen through the sheet from its front."""
    upright = page.height > page.width
    if upright == (flip == "long"):  # the edge that it turns at is upright
        return page.width - frame.x - frame.width, frame.y
    return frame.x, page.height - frame.y - frame.height


def printed(card: str, paper: str, most: int | None, flip: str) -> list[Page]:
    """The pages of those cards."""
    return impose(FACE, leaves(), CARD_SIZES[card], paper, most, flip, "")


def placed(page: Page) -> dict[str, Frame]:
    """Which card stands where on a page, by the words in its place."""
    return {
        mark.text: frame
        for mark in page.marks
        if isinstance(mark, Text) and mark.text.startswith(("front ", "back "))
        for frame in page.frames
        if frame.x <= mark.x < frame.x + frame.width and frame.y <= mark.y < frame.y + frame.height
    }


@pytest.mark.parametrize("flip", ["long", "short"])
@pytest.mark.parametrize(
    ("card", "paper", "most"), [(*pair, most) for pair in FITTING for most in (None, 1, 2)]
)
def test_a_back_lies_behind_its_front(card: str, paper: str, most: int | None, flip: str) -> None:
    """Each pair of pages is one sheet, and every back lies exactly behind the front of its leaf."""
    pages = printed(card, paper, most, flip)
    seen = set()
    assert len(pages) % 2 == 0
    for front, back in zip(pages[::2], pages[1::2], strict=True):
        assert (front.width, front.height) == (back.width, back.height)
        fronts, backs = placed(front), placed(back)
        assert len(fronts) == len(front.frames) and len(backs) == len(back.frames)
        seen |= fronts.keys() | backs.keys()
        for name, frame in backs.items():
            other = fronts[name.replace("back", "front")]
            assert turned_over(back, frame, flip) == pytest.approx((other.x, other.y))
    assert seen == {f"front {at}" for at in range(len(SIDES))} | {
        f"back {at}" for at, sides in enumerate(SIDES) if sides == 2
    }


@pytest.mark.parametrize(("card", "paper"), FITTING)
def test_one_sided_puts_both_sides_beside_each_other(card: str, paper: str) -> None:
    """Every side is printed once, on paper with an empty back; front and back stand on one sheet that holds two."""
    pages = printed(card, paper, None, ONE_SIDED)
    cells = grid_of(CARD_SIZES[card], paper, None).cells
    seen = [name for page in pages for name in placed(page)]
    assert sorted(seen) == sorted({*seen}) and len(seen) == sum(SIDES)
    if cells >= 2:
        for page in pages:
            names = placed(page)
            for name in names:
                at = int(name.split()[1])
                assert SIDES[at] == 1 or {f"front {at}", f"back {at}"} <= names.keys()


def test_a_card_turns_as_its_sheet() -> None:
    """Two cards on A4 across: turned at the long edge, the card turns at its top; at the short one, at its side."""
    grid = grid_of(CARD_SIZES[""], "a4", None)
    assert not turns_at_side(grid, "long")
    assert turns_at_side(grid, "short")
