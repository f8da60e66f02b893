"""The word DRAFT, in the language of the papers, in thin strokes across a card while a question is open."""

from __future__ import annotations

from math import cos, radians, sin

from rigcard.documents.base.language import say
from rigcard.documents.base.model import Line, Mark

STROKES = {  # the letters of the word in each language, on a grid of 4 x 6 from the top left
    "D": (((0, 0), (0, 6), (2, 6), (4, 4), (4, 2), (2, 0), (0, 0)),),
    "R": (((0, 6), (0, 0), (3, 0), (4, 1), (4, 2), (3, 3), (0, 3)), ((2, 3), (4, 6))),
    "A": (((0, 6), (2, 0), (4, 6)), ((0.8, 4), (3.2, 4))),
    "F": (((4, 0), (0, 0), (0, 6)), ((0, 3), (3, 3))),
    "T": (((0, 0), (4, 0)), ((2, 0), (2, 6))),
    "E": (((4, 0), (0, 0), (0, 6), (4, 6)), ((0, 3), (3, 3))),
    "N": (((0, 6), (0, 0), (4, 6), (4, 0)),),
    "U": (((0, 0), (0, 5), (1, 6), (3, 6), (4, 5), (4, 0)),),
    "W": (((0, 0), (1, 6), (2, 2), (3, 6), (4, 0)),),
}
TURN = radians(-45)


def draft_marks(width: float, height: float) -> list[Mark]:
    """Return the word from the lower left to the upper right of a card of this size."""
    word = say("DRAFT")
    wide = 6 * len(word) - 2
    size = min(width, height) * 1.1 / wide  # the corners of the word stay on the card
    marks: list[Mark] = []
    for number, letter in enumerate(word):
        for stroke in STROKES[letter]:
            marks.append(
                Line(
                    tuple(
                        _turned((number * 6 - wide / 2 + x) * size, (y - 3) * size, width, height)
                        for x, y in stroke
                    ),
                    0.3,
                )
            )
    return marks


def _turned(x: float, y: float, width: float, height: float) -> tuple[float, float]:
    return (
        width / 2 + x * cos(TURN) - y * sin(TURN),
        height / 2 + 4 + x * sin(TURN) + y * cos(TURN),
    )
