"""Two inputs that must share nothing."""

from __future__ import annotations

from pathlib import Path

from rigs import checked, only
from samples import ROOT


def test_a_named_brake_must_not_hang_on_the_head_it_stops(tmp_path: Path) -> None:
    """The message names each shared part; another handset and receiver make it independent."""
    case = (ROOT / "tests/cases/check/RC375_independent_inputs_share.rig").read_text(encoding="utf-8")
    text = case.replace('"../stock.rig"', f'"{ROOT / "tests/cases/stock.rig"}"')
    _, found = checked(tmp_path, text)

    assert "handset `hs` and receiver `rx`" in only(found, "RC375").message
