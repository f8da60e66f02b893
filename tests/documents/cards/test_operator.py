"""The operator's card: controls that nobody may touch, axes that follow their control."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cardlines import group_words, kind
from rigcard.documents.base.model import Line
from rigcard.documents.cards.card_set import card_pack
from rigcard.documents.cards.frame import LaidGroup
from rigcard.render.typeface import EmbeddedTypeface
from samples import GORGE, STOCK, solved_rig

FACE = EmbeddedTypeface()


def test_a_control_to_leave_is_crossed_and_named(tmp_path: Path) -> None:
    """Two strokes of one middle over the control, and the rule that names it; without the line there is neither."""
    text = GORGE.read_text(encoding="utf-8").replace('use "stock/', f'use "{STOCK[0]}/')
    found = {}
    for name, more in (("left", ""), ("crossed", "leave right-dial, left-slider\n")):
        path = tmp_path / f"{name}.rig"
        path.write_text(re.sub(r"(?m)^(unit hs is .*\{\n)", rf"\1{more}", text), encoding="utf-8")
        pack = card_pack(FACE, solved_rig(path))
        (found[name],) = (group for group in pack if kind(group.group) == "OPERATOR")

    def crosses(group: LaidGroup) -> int:
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
    assert "LEAVE" not in group_words(found["left"])
    assert "LEAVE, whatever happens: Right dial and Left slider." in group_words(found["crossed"])


def test_one_axis_that_follows_its_control_takes_one_line() -> None:
    """The card names both ends in one line where they are called alike, and a line a position where not."""
    pack = card_pack(FACE, solved_rig(GORGE))
    text = " ".join(group_words(found) for found in pack if kind(found.group) == "OPERATOR")

    assert "Pan LEFT / RIGHT, 50 deg/s" in text
    assert "AWAY Tilt up" in text
    assert "ready" not in text.split("Together")[0]
