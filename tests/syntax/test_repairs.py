"""The table of repairs: each mends its own example, and no repair before it does."""

from __future__ import annotations

import pytest

from rigcard.diagnostics import Diagnostics
from rigcard.source import Source
from rigcard.syntax import parser, repairs


@pytest.mark.parametrize(
    "number", range(len(repairs.TRIES)), ids=[one.attempt.__name__ for one in repairs.TRIES]
)
def test_each_repair_is_the_one_for_its_example(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its remedy is told, the example reads with what it writes, and without it something else is told."""
    tried = repairs.TRIES[number]
    source = Source("example", tried.example)
    told: list[repairs.Repair] = []

    def watched(trial: repairs.Trial) -> repairs.Repair | None:
        found = tried.attempt(trial)
        told.extend([found] if found else [])
        return found

    before, after = repairs.TRIES[:number], repairs.TRIES[number + 1 :]
    monkeypatch.setattr(repairs, "TRIES", (*before, tried._replace(attempt=watched), *after))
    diagnostics = Diagnostics()
    assert parser.parse(source, diagnostics) is None
    assert [one.hint for one in diagnostics] == [tried.hint]
    mended = tried.example[: told[0].start] + told[0].text + tried.example[told[0].end :]
    assert parser.parse(Source("mended", mended), Diagnostics()) is not None, mended

    monkeypatch.setattr(repairs, "TRIES", (*before, *after))
    without = Diagnostics()
    parser.parse(source, without)
    assert [one.hint for one in without] != [tried.hint]
