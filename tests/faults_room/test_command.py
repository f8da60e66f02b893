"""The command `faults`: figures, diagnosis, questions, and what it says to a list that is none."""

from __future__ import annotations

import json

import pytest

from command import CLEAN, FAULTS, UNUSABLE, rigcard
from rigcard.faults.judged import judged
from rigs import solved_or_none
from samples import ROOT

GORGE = str(ROOT / "samples" / "gorge.rig")


def line_of(state: str) -> int:
    """The number of the line of the gorge that gives a state."""
    solved = solved_or_none(ROOT / "samples" / "gorge.rig")
    assert solved
    lines = judged(solved).matrix.lines
    return next(at for at, line in enumerate(lines, 1) if line.reading and line.reading.state == state)


def test_figures_of_the_gorge() -> None:
    """The whole and its kinds; the looks for what no line sees; every line with its number."""
    run = rigcard("faults", GORGE, at=ROOT)

    assert run.code == CLEAN
    assert "single mistakes the full test finds" in run.out
    assert "Stabilised head: read Link > When lost: Halt" in run.out
    assert "measure 1050 µs with Top rocker AWAY" in run.out
    assert run.out.count("nothing shorter finds as much") == 2


def test_figures_as_json() -> None:
    """What is counted is what is listed."""
    run = rigcard("faults", GORGE, "--json", at=ROOT)
    data = json.loads(run.out)

    counted = [row for row in data["mistakes"] if not row["harmless"]]
    assert len(counted) == data["single_mistakes"]
    assert sum(bool(row["lines"]) for row in counted) == data["found"]
    assert sum(kind["all"] for kind in data["by_kind"]) == data["single_mistakes"]
    assert all(row["lines"] == [] for row in data["mistakes"] if row["harmless"])


def test_failed_lines_are_explained() -> None:
    """A take that does not start: the lead first, then the plug, then two dials; who may do what."""
    run = rigcard("faults", GORGE, "--failed", str(line_of("run")), "--passed", "rest", at=ROOT)
    lines = run.out.splitlines()

    assert run.code == CLEAN
    assert lines[1] == "  S01.R missing, loose or broken (technician)"
    assert "do: S01.R: push in both ends." in lines[2]
    assert "S01.R in p4, not in p5" in lines[3]


def test_answers_lead_to_a_mistake() -> None:
    """Every line that asks is answered as a pulled lead of the zoom motor makes it look."""
    solved = solved_or_none(ROOT / "samples" / "gorge.rig")
    assert solved
    found = judged(solved)
    (row,) = [row for row in found.matrix.rows if (row.fault.kind, row.fault.names) == ("lead", ("S03",))]
    typed = ""
    for _ in range(20):
        run = rigcard("faults", GORGE, "--ask", at=ROOT, given=typed.encode())
        asked = [line for line in run.err.splitlines() if line.startswith("line ")]
        if len(asked) == typed.count("\n"):
            break
        at = int(asked[-1].split()[1].rstrip(":")) - 1
        typed += "n\n" if at in row.differs else "y\n"
    assert run.code == CLEAN
    assert "S03 missing, loose or broken" in run.out
    assert 2 < typed.count("\n") <= 8


def test_no_answer_skips_a_line_and_the_end_of_input_ends() -> None:
    """An empty line is no answer: the next question is another one."""
    run = rigcard("faults", GORGE, "--ask", at=ROOT, given=b"\n\n")
    asked = [line for line in run.err.splitlines() if line.startswith("line ")]

    assert len(asked) == len(set(asked)) == 3
    assert run.code == CLEAN


@pytest.mark.parametrize("text", ["0", "99", "x", "1;2", "1,,2", "-1", "²"])
def test_a_list_that_is_none(text: str) -> None:
    """The cause, and what to type."""
    run = rigcard("faults", GORGE, f"--failed={text}", at=ROOT)

    assert run.code == UNUSABLE
    assert "is no list of lines from 1 to" in run.err
    assert "--failed 1,2" in run.err


def test_a_line_cannot_fail_and_pass() -> None:
    """It is named."""
    run = rigcard("faults", GORGE, "--failed", "3,4", "--passed", "4", at=ROOT)

    assert run.code == UNUSABLE
    assert "line 4 cannot have failed and passed" in run.err


def test_a_faulty_file_is_told() -> None:
    """As by any other command."""
    run = rigcard("faults", str(ROOT / "tests" / "cases" / "names" / "RC201_unknown_name.rig"), at=ROOT)

    assert run.code == FAULTS
    assert "RC201" in run.err
