"""Spares of another model, tried in the places of the units in use: one of each station at once."""

from __future__ import annotations

import sys
from pathlib import Path

from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import check_rig
from samples import ROOT, STOCK

sys.path.insert(0, str(ROOT / "tests" / "bench"))
from production import production


def test_spares_that_fail_are_told_from_those_of_other_stations(tmp_path: Path) -> None:
    """A head feeds its receiver 5 V: a spare that takes 11 V or more fails there, one for 4.5 V does not; subtraction."""
    text = production(4, 0)
    model = text[text.index("model receiver-7") : text.index("use ")]
    text += model.replace("receiver-7", "receiver-12v").replace("takes 4.5V..8.4V", "takes 11V..14V")
    for number in (1, 4):
        text = text.replace(f"unit spare-{number} is receiver-7", f"unit spare-{number} is receiver-12v")
    path = tmp_path / "rig.rig"
    path.write_text(text, encoding="utf-8")
    diagnostics = Diagnostics()
    assert check_rig(path, diagnostics, stock=STOCK).solved

    said = [found.message for found in diagnostics if found.code.id == "RC317"]
    assert len(said) == 2
    for number, message in zip((1, 4), said, strict=True):
        assert f"`spare-{number}` cannot take the place of `rx-{number}`" in message
        assert "takes 11 V or more" in message
