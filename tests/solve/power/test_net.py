"""The net of power against nodal analysis."""

from __future__ import annotations

from typing import Any

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigcard.solve.power.net import MOST_SWEEPS, Branch, settle


@st.composite
def trees(draw: st.DrawFn, watts: bool) -> tuple[float, list[Branch]]:
    """A source and a tree of leads with loads, light enough to be fed."""
    count = draw(st.integers(2, 9))
    branches = [Branch(0, 0.0, 0.0, 0.0)]
    for node in range(1, count):
        branches.append(
            Branch(
                draw(st.integers(0, node - 1)),
                draw(st.floats(0.001, 0.2)),
                draw(st.floats(0, 0.5)),
                draw(st.floats(0, 8)) if watts else 0.0,
            )
        )
    return draw(st.floats(11, 30)), branches


def nodal(
    source: float, branches: list[Branch], currents: list[float]
) -> tuple[np.ndarray[Any, Any], nx.DiGraph]:
    """Volts of all nodes by nodal analysis: conductance matrix times volts is current, the source held."""
    graph = nx.DiGraph([(branch.parent, node) for node, branch in enumerate(branches) if node])
    size = len(branches)
    matrix, right = np.zeros((size, size)), np.array([-current for current in currents])
    for parent, node in graph.edges:
        conductance = 1 / branches[node].ohms
        matrix[[parent, node], [parent, node]] += conductance
        matrix[[parent, node], [node, parent]] -= conductance
    matrix[0], right[0] = np.eye(size)[0], source
    return np.linalg.solve(matrix, right), graph


@given(trees(watts=False))
def test_constant_currents_are_those_of_nodal_analysis(tree: tuple[float, list[Branch]]) -> None:
    """Volts of every node as numpy solves the node equations."""
    source, branches = tree
    settled = settle(source, branches)
    volts, graph = nodal(source, branches, [branch.amps for branch in branches])

    assert settled
    assert settled.volts == pytest.approx(volts, abs=1e-9)
    below = [
        sum(branches[at].amps for at in {node, *nx.descendants(graph, node)}) for node in range(len(branches))
    ]
    assert settled.amps == pytest.approx(below)


@given(trees(watts=True))
def test_constant_powers_meet_the_node_equations(tree: tuple[float, list[Branch]]) -> None:
    """What flows in is what flows out and what is drawn, at every node; watts out of the source are watts used."""
    source, branches = tree
    settled = settle(source, branches)
    if settled is None:
        return
    drawn = [branch.amps + branch.watts / volts for branch, volts in zip(branches, settled.volts, strict=True)]
    volts, _ = nodal(source, branches, drawn)

    assert settled.volts == pytest.approx(volts, abs=1e-6)
    lost = sum(branch.ohms * amps**2 for branch, amps in zip(branches[1:], settled.amps[1:], strict=True))
    used = sum(current * volt for current, volt in zip(drawn, settled.volts, strict=True))
    assert source * settled.amps[0] == pytest.approx(lost + used, rel=1e-6)


@given(trees(watts=True), st.integers(1, 8), st.floats(0.1, 1.0))
def test_thicker_wire_never_lowers_a_voltage(tree: tuple[float, list[Branch]], at: int, less: float) -> None:
    """With less resistance in one lead no node has fewer volts."""
    source, branches = tree
    at = 1 + (at - 1) % (len(branches) - 1)
    better = [*branches]
    better[at] = better[at]._replace(ohms=better[at].ohms * less)
    before, after = settle(source, branches), settle(source, better)

    if before is not None:
        assert after is not None
        assert all(new >= old - 1e-6 for old, new in zip(before.volts, after.volts, strict=True))


@given(trees(watts=True), st.floats(0.0, 5.0))
def test_a_fuller_pack_never_lowers_a_voltage(tree: tuple[float, list[Branch]], more: float) -> None:
    """With more volts at the source no node has fewer."""
    source, branches = tree
    before, after = settle(source, branches), settle(source + more, branches)

    if before is not None:
        assert after is not None
        assert all(new >= old - 1e-6 for old, new in zip(before.volts, after.volts, strict=True))


@given(st.floats(1, 30), st.floats(0.001, 5), st.floats(0, 500))
def test_one_lead_agrees_with_the_quadratic(source: float, ohms: float, watts: float) -> None:
    """V = (E + sqrt(E2 - 4 R P)) / 2 is the highest solution; below zero under the root there is none."""
    root = source**2 - 4 * ohms * watts
    settled = settle(source, [Branch(0, 0, 0, 0), Branch(0, ohms, 0, watts)])

    if root > 1e-3:
        assert settled
        assert settled.volts[1] == pytest.approx((source + root**0.5) / 2, abs=1e-4)
    elif root < -1e-3:
        assert settled is None
    assert MOST_SWEEPS < 10**6
