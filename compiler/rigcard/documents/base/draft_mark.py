"""The word DRAFT in thin strokes across a card, behind its text, while a question of the rig is open."""

from __future__ import annotations

from math import cos, radians, sin

from rigcard.documents.base.model import Line, Mark

STROKES = {  # on a grid of 4 x 6 from the top left
    "D": (((0, 0), (0, 6), (2, 6), (4, 4), (4, 2), (2, 0), (0, 0)),),
    "R": (((0, 6), (0, 0), (3, 0), (4, 1), (4, 2), (3, 3), (0, 3)), ((2, 3), (4, 6))),
    "A": (((0, 6), (2, 0), (4, 6)), ((0.8, 4), (3.2, 4))),
    "F": (((4, 0), (0, 0), (0, 6)), ((0, 3), (3, 3))),
    "T": (((0, 0), (4, 0)), ((2, 0), (2, 6))),
}
TURN = radians(-45)


def draft_marks(width: float, height: float) -> list[Mark]:
    """Return the word from the lower left to the upper right of a card of this size."""
    size = min(width, height) / 24
    marks: list[Mark] = []
    for number, letter in enumerate("DRAFT"):
        for stroke in STROKES[letter]:
            marks.append(
                Line(
                    tuple(
                        _turned((number * 6 - 14 + x) * size, (y - 3) * size, width, height) for x, y in stroke
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
