"""`auto` where nobody asks for one of the positions: many travels of that side are as good, and that is told."""

from __future__ import annotations

from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import check_rig
from samples import ROOT, STOCK


def test_values_with_a_free_side_are_not_the_only_ones() -> None:
    """Any travel from 25 % to 125 % brings the position away into its band: arithmetic."""
    diagnostics = Diagnostics()
    case = ROOT / "tests" / "cases" / "solve" / "auto_leaves_a_side_free.ok.rig"
    solved = check_rig(case, diagnostics, stock=STOCK).solved

    assert solved is not None and not list(diagnostics)
    (sheet,) = solved.results.values()
    assert sheet.solution is not None
    assert not sheet.solution.unique
    assert {row.position.name: row.level.percent for row in sheet.rows}[
        "toward"
    ] == 80  # the middle of 65 % to 95 %
