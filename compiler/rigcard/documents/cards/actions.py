"""Numbered steps with their cautions: each caution stands directly above the step that it belongs to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.documents.base.layout import AFTER, Block, Box, joined, space
from rigcard.documents.base.model import Typeface
from rigcard.documents.cards.frame import caution_block
from rigcard.documents.cards.parts import steps


class Action(NamedTuple):
    """One step: what to do, what is then seen ("": nothing), and the cautions above it."""

    do: str
    see: str = ""
    cautions: tuple[str, ...] = ()


def warned_steps(face: Typeface, inner: float, actions: Sequence[Action]) -> Block:
    """Set numbered steps; a caution stays on the side of its step, directly above it."""
    boxes: list[Box] = []
    for number, action in enumerate(actions, 1):
        boxes += caution_block(face, action.cautions, inner).boxes
        boxes += steps(face, inner, [(action.do, action.see)], first=number).boxes[
            :-1
        ]  # no space between steps
    return joined(Block(tuple(boxes)), space(AFTER)) if boxes else Block(())


def with_cautions(actions: Sequence[Action], at: int, cautions: tuple[str, ...]) -> list[Action]:
    """Return the actions with cautions above one of them."""
    return [
        action._replace(cautions=(*action.cautions, *cautions)) if number == at else action
        for number, action in enumerate(actions)
    ]
