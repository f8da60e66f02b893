"""The least cover against integer programming, and what a short test must hold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from rigcard.faults.cover import Cover, least_cover
from rigcard.faults.figures import cover_of, seconds_of
from rigcard.faults.judged import Judged, judged
from rigcard.faults.lines import A_CONTROL
from rigcard.faults.single import AT_A_SWAP, OVERNIGHT
from rigs import solved_or_none
from samples import SAMPLES

Instance = tuple[list[list[int]], dict[int, int], list[list[int]], dict[int, str], int]


@st.composite
def instances(draw: st.DrawFn) -> Instance:
    """Rows to cover, seconds, needs and shared controls of up to ten lines."""
    count = draw(st.integers(1, 10))
    lines = st.integers(0, count - 1)
    rows = draw(st.lists(st.lists(lines, min_size=1, max_size=4, unique=True), max_size=12))
    seconds = {at: draw(st.integers(1, 60)) for at in range(count)}
    needs = [
        draw(st.lists(lines, max_size=2, unique=True)) if draw(st.integers(0, 3)) == 0 else [] for _ in seconds
    ]
    shared = {at: draw(st.sampled_from("abcd")) for at in seconds if draw(st.booleans())}
    return rows, seconds, needs, shared, draw(st.integers(0, 10))


def by_milp(instance: Instance) -> int:
    """The least seconds: one variable a line and one a control, a line not without what it needs."""
    rows, seconds, needs, shared, shared_seconds = instance
    controls = sorted(set(shared.values()))
    count = len(seconds)
    cost = [*(seconds[at] for at in range(count)), *(shared_seconds for _ in controls)]
    matrix, low = [], []
    for row in rows:
        matrix.append([1 if at in row else 0 for at in range(len(cost))])
        low.append(1)
    pairs = [(at, other) for at, own in enumerate(needs) for other in own if other != at]
    pairs += [(at, count + controls.index(name)) for at, name in shared.items()]
    for at, other in pairs:
        line = [0] * len(cost)
        line[at], line[other] = -1, 1
        matrix.append(line)
        low.append(0)
    if not matrix:
        return 0
    found = milp(
        np.array(cost, float),
        constraints=LinearConstraint(np.array(matrix, float), np.array(low, float), np.inf),
        integrality=np.ones(len(cost)),
        bounds=Bounds(0, 1),
    )
    assert found.success
    return round(found.fun)


def worth(instance: Instance, cover: Cover) -> int:
    """The seconds of a cover, after it was seen to cover everything with all that it needs."""
    rows, seconds, needs, shared, shared_seconds = instance
    assert all(set(row) & cover.chosen for row in rows)
    assert all(set(needs[at]) <= cover.chosen for at in cover.chosen)
    return sum(seconds[at] for at in cover.chosen) + shared_seconds * len(
        {shared[at] for at in cover.chosen if at in shared}
    )


@given(instances())
@settings(max_examples=300)
def test_nothing_is_cheaper(instance: Instance) -> None:
    """The seconds of the cover are its own, and those that integer programming finds."""
    cover = least_cover(*instance)

    assert cover.proven
    assert worth(instance, cover) == cover.seconds == by_milp(instance)


@given(instances())
@settings(max_examples=100)
def test_a_search_that_gives_up_says_so(instance: Instance) -> None:
    """With no node to spend: still a cover, and a bound that the least one does not go below."""
    cover = least_cover(*instance, most_nodes=0)

    assert cover.bound <= by_milp(instance) <= cover.seconds == worth(instance, cover)


def test_a_search_that_gave_up_is_not_called_proven() -> None:
    """Rows of three lines each, no line in many: the greedy choice is not the least, and one node cannot tell."""
    rows = [[0, 1, 2], [0, 3, 4], [1, 3, 5], [2, 4, 5], [0, 5, 6], [1, 4, 6], [2, 3, 6]]
    seconds = {at: 8 + at % 3 for at in range(7)}
    cover = least_cover(rows, seconds, [[]] * 7, {}, 0, most_nodes=1)

    assert not cover.proven
    assert least_cover(rows, seconds, [[]] * 7, {}, 0).proven


def of(path: object) -> Judged:
    """A sample, judged."""
    solved = solved_or_none(path)  # type: ignore[arg-type]
    assert solved
    return judged(solved)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_short_test_finds_all_of_its_kinds_and_nothing_shorter_does(path: object) -> None:
    """Every mistake of the kinds that any line shows, in the least seconds by integer programming."""
    found = of(path)
    for cover, kinds in ((found.short.swap, AT_A_SWAP), (found.short.morning, OVERNIGHT)):
        rows = [
            list(row.differs)
            for row in found.matrix.rows
            if row.fault.kind in kinds and row.detected and not row.harmless
        ]
        assert len(rows) > 5
        rows.append([at for at, line in enumerate(found.matrix.lines) if line.kind == "close"])
        seconds = {at: line.seconds for at, line in enumerate(found.matrix.lines)}
        shared = {at: str(line.moved) for at, line in enumerate(found.matrix.lines) if line.moved}
        instance: Instance = rows, seconds, [list(own) for own in found.matrix.needs], shared, A_CONTROL
        assert cover.proven
        assert (
            worth(instance, cover)
            == cover.seconds
            == by_milp(instance)
            == seconds_of(found.matrix, cover.chosen)
        )
    assert found.short.swap.seconds <= 60
    assert [cover.seconds for cover in cover_of(found.matrix, frozenset())] == [
        8
    ]  # the line that ends every test
