"""Rigs of a batch on several cores: the same results in the same order, whatever becomes of one process."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from command import CLEAN, contents, rigcard
from rigcard.batch import in_order

ROOT = Path(__file__).parents[1]
SAMPLES = sorted(str(path) for path in (ROOT / "samples").glob("*.rig"))


def squared(number: int) -> int:
    """The work of these tests; 13 ends its process as a system without memory would."""
    if number == 13:
        os._exit(9)
    return number * number


@pytest.mark.parametrize("jobs", [1, 2, 3])
def test_results_come_in_order(jobs: int) -> None:
    """Whichever is done first."""
    assert list(in_order(squared, range(20, 10, -1)[:6], jobs)) == [400, 361, 324, 289, 256, 225]


def test_one_killed_process_loses_no_other_result() -> None:
    """A pool that is broken gives up all of its work: what was not done is done again, each by itself."""
    assert list(in_order(squared, [1, 13, 2, 3, 13, 4], 2)) == [1, None, 4, 9, None, 16]


def test_papers_are_the_same_on_one_core_and_on_two(tmp_path: Path) -> None:
    """Byte for byte, and the same is said of them in the same order."""
    names = SAMPLES[:3]
    said = [
        rigcard(
            "build",
            *names,
            "--only",
            "kit",
            "--only",
            "data",
            "--jobs",
            str(jobs),
            "-o",
            f"out-{jobs}",
            at=tmp_path,
        )
        for jobs in (1, 2)
    ]

    assert [run.code for run in said] == [CLEAN, CLEAN]
    assert said[0].out == said[1].out.replace("out-2", "out-1")
    for name in names:
        stem = Path(name).stem
        assert contents(tmp_path / "out-1" / stem) == contents(tmp_path / "out-2" / stem) != {}
