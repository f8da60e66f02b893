"""Where the samples, the cases and the published values lie; samples as they compile."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import check_rig
from rigcard.solve.solved import Solved

ROOT = Path(__file__).parents[1]
SAMPLES = sorted((ROOT / "samples").glob("*.rig"))
FIRST = ROOT / "samples" / "first.rig"
GORGE = ROOT / "samples" / "gorge.rig"
CASES = ROOT / "tests" / "cases"
REFERENCE = ROOT / "tests" / "reference"  # published values with their sources
STOCK = (str(ROOT / "samples" / "stock"), str(CASES))  # what a rig in a folder of a test may use


@cache
def solved_rig(path: Path) -> Solved:
    """A rig that must compile."""
    solved = check_rig(path, Diagnostics(), None, STOCK).solved
    assert solved is not None
    return solved


def changed_sample(folder: Path, name: str, *changes: tuple[str, str]) -> Solved:
    """A sample with some of its words changed; it must compile."""
    text = (ROOT / "samples" / f"{name}.rig").read_text(encoding="utf-8")
    for was, now in changes:
        assert was in text, was
        text = text.replace(was, now)
    path = folder / "rig.rig"
    path.write_text(text.replace('use "stock/', f'use "{ROOT}/samples/stock/'), encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics, stock=STOCK).solved
    assert solved is not None, [found.message for found in diagnostics]
    return solved
