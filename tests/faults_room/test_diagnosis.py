"""Diagnosis: a mistake is among what explains its own lines; the printed questions lead to it; pairs; the next line."""

from __future__ import annotations

import pytest

from rigcard.faults.diagnosis import MOST_QUESTIONS, Leaf, Question, depth, diagnose, leaves
from rigcard.faults.figures import figures_of
from rigcard.faults.judged import Judged, judged
from rigcard.faults.matrix import Row
from rigcard.faults.retest import retest
from rigs import solved_or_none
from samples import ROOT, SAMPLES


def of(path: object) -> Judged:
    """A sample, judged."""
    solved = solved_or_none(path)  # type: ignore[arg-type]
    assert solved
    return judged(solved)


def gorge() -> Judged:
    """The gorge sample, judged."""
    return of(ROOT / "samples" / "gorge.rig")


def named(found: Judged, kind: str, *names: str) -> Row:
    """The row of one mistake."""
    (row,) = [row for row in found.matrix.rows if (row.fault.kind, row.fault.names) == (kind, names)]
    return row


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_each_mistake_explains_its_own_lines(path: object) -> None:
    """The lines that differ failed, all others that are sure passed: it is explained, with those that look alike."""
    found = of(path)
    groups = {id(row): group for group in figures_of(found.matrix).groups for row in group}
    for row in found.matrix.rows:
        if not row.detected:
            continue
        sure = set(range(len(found.matrix.lines))) - row.open - row.differs.keys()
        result = diagnose(found.matrix, row.differs.keys(), sure)
        explained = [rows for rows in result.explained if len(rows) == 1]
        assert (row,) in explained
        assert {id(one) for one in groups[id(row)]} <= {id(rows[0]) for rows in explained}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_questions_lead_to_each_mistake(path: object) -> None:
    """Answered as a mistake makes the lines look, the questions end where it stands; never more than five of them."""
    found = of(path)
    (tree,) = found.questions
    assert depth(tree) <= MOST_QUESTIONS
    asked = {id(row) for leaf in leaves(tree) for row in leaf.rows}
    reached = 0
    for row in found.matrix.rows:
        if id(row) not in asked:
            continue
        node, failed = tree, None
        while isinstance(node, Question):
            if node.line in row.differs:
                node, failed = node.no, node.line
            else:
                node = node.yes
        assert isinstance(node, Leaf)
        assert row in node.rows
        assert node.again == failed
        reached += 1
    assert reached > 10


def test_the_example_of_the_page() -> None:
    """Lines 7 and 12 of the gorge: no single mistake; a lead and a key without its use, by hand."""
    found = gorge()
    take = next(
        at for at, line in enumerate(found.matrix.lines) if line.reading and line.reading.state == "run"
    )
    key = next(
        at for at, line in enumerate(found.matrix.lines) if line.reading and line.reading.state == "soft-4"
    )
    rest = {
        at
        for at, needed in enumerate(found.matrix.needs)
        if at not in (take, key) and not {take, key} & set(needed)
    }
    result = diagnose(found.matrix, {take, key}, rest)

    assert result.explained[0] == (named(found, "lead", "S01.R"), named(found, "menu", "cam", "soft-4", ""))
    assert {len(rows) for rows in result.explained} == {2}


def test_what_nothing_explains_is_said() -> None:
    """The line that ends a test shows no mistake."""
    found = gorge()
    last = len(found.matrix.lines) - 1

    assert diagnose(found.matrix, {last}, set()).explained == ()


def test_the_next_line_splits() -> None:
    """Asked on and answered for a mistake, the questions come to an end, with it among what is left."""
    found = gorge()
    for row in found.matrix.rows:
        if not row.detected or row.open:
            continue
        failed: set[int] = set()
        passed: set[int] = set()
        for _ in range(len(found.matrix.lines)):
            result = diagnose(found.matrix, failed, passed)
            if result.next is None:
                break
            (failed if result.next in row.differs else passed).add(result.next)
        assert result.next is None
        assert (row,) in result.explained


def test_figures_add_up() -> None:
    """Found and unseen are all that is not harmless; each found one is in one group; the kinds add up."""
    for path in SAMPLES:
        figures = of(path).figures
        assert figures.share.found + len(figures.unseen) == figures.share.all
        assert sum(len(group) for group in figures.groups) == figures.share.found
        assert sum(share.all for share in figures.by_kind.values()) == figures.share.all
        assert figures.mean_group * len(figures.groups) == figures.share.found


def test_what_is_tested_again_after_a_change() -> None:
    """By hand on the gorge: a lens brings its motor and the iris, a lead its function, a dial its channel."""
    found = gorge()
    states = {
        name: {
            line.reading.feed.input.name
            for at in retest(found.matrix, [name]).chosen
            if (line := found.matrix.lines[at]).reading
        }
        for name in ("lens", "S01.R", "hs.record", "cam", "head")
    }
    assert states["lens"] == {"iris", "zoom"}
    assert states["S01.R"] == states["hs.record"] == {"trigger"}
    assert states["cam"] >= {"iris", "tools", "trigger", "zoom"}
    assert states["head"] >= {"mode", "pan", "tilt", "horizon"}
