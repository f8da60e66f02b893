"""The cache of the grammar only saves time."""

from __future__ import annotations

from pathlib import Path

import pytest

from command import CLEAN, Rigcard, Run, rigcard
from samples import FIRST

# ---- files that are none -------------------------------------------------------------------------------------


@pytest.mark.parametrize("damage", [b"", b"garbage", b"\x80\x05]q\x00."], ids=["empty", "text", "other"])
def test_a_damaged_cache_does_no_harm(rigcard: Rigcard, tmp_path: Path, damage: bytes) -> None:
    """A cache file that is no cache is made anew, without a word."""
    environment = {"XDG_CACHE_HOME": str(tmp_path / "cache")}
    assert rigcard("check", FIRST, env=environment).code == 0
    for kept in (tmp_path / "cache" / "rigcard").iterdir():
        kept.write_bytes(damage)
    run = rigcard("check", FIRST, env=environment)

    assert (run.code, run.err) == (0, "")


# ---- the cache of the grammar ------------------------------------------------------------------------------------


@pytest.mark.parametrize("state", ["no-place", "a-file", "a-folder", "truncated"])
def test_a_spoilt_cache_changes_nothing(state: str, place: Path) -> None:
    """The cache only saves time: without one, or with a broken one, the answer is the same and nothing is said."""
    base = Path("/dev/null") if state == "no-place" else place / "cache"
    if state == "a-file":
        base.write_text("x", encoding="utf-8")
    elif state != "no-place":
        rigcard("check", "first.rig", at=place, env={"XDG_CACHE_HOME": str(base)})
        (kept,) = (base / "rigcard").glob("grammar-*")
        whole = kept.read_bytes()
        kept.unlink()
        if state == "a-folder":
            kept.mkdir()
        else:
            kept.write_bytes(whole[: len(whole) // 2])
    run = rigcard("check", "first.rig", at=place, env={"XDG_CACHE_HOME": str(base)})

    assert run == Run(CLEAN, "first.rig: no errors\n", "")
