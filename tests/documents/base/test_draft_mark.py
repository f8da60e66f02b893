"""The word across a card while a question is open: in every language, inside the card."""

import pytest

from rigcard.documents.base.draft_mark import STROKES, draft_marks
from rigcard.documents.base.language import say, speaking
from rigcard.documents.base.model import Line
from rigcard.documents.base.paper import CARD_SIZES
from rigcard.resolve.words import LANGUAGES


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("card", CARD_SIZES)
def test_the_word_is_whole_and_on_the_card(language: str, card: str) -> None:
    """Each letter has its strokes, and none of them leaves the card."""
    width, height = CARD_SIZES[card]
    with speaking(language):
        word, marks = say("DRAFT"), draft_marks(width, height)

    assert len(marks) == sum(len(STROKES[letter]) for letter in word)
    assert all(
        0 < x < width and 0 < y < height for mark in marks if isinstance(mark, Line) for x, y in mark.points
    )


def test_the_word_differs_by_language() -> None:
    """A German draft says so in German."""
    with speaking("de"):
        german = draft_marks(100, 150)

    assert len(german) != len(draft_marks(100, 150))
