"""What comes on together: one lead out of a pack wakes all that is fed through it (common practice, no source)."""

from __future__ import annotations

import networkx as nx
import pytest

from cardlines import NAMES_OF_SAMPLES, sample
from rigcard.solve.power.circuits import Circuit, circuits


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("first", [("hs", (), ("hs",)), ("pack", ("P1",), ("head", "rx"))]),
        (
            "gorge",
            [
                ("hs", (), ("hs",)),
                ("cam-pack", ("P02",), ("cam",)),
                ("head-pack", ("P01",), ("head", "rx", "bridge", "motor")),
            ],
        ),
        (
            "mast",
            [
                ("hs-a", (), ("hs-a",)),
                ("hs-b", (), ("hs-b",)),
                ("rx-pack", ("P14",), ("rx-b", "motor", "bridge")),
                ("cam-pack", ("P12",), ("cam",)),
                ("view-pack", ("P13",), ("view",)),
                ("mast-pack", ("P11",), ("head", "rx-a")),
            ],
        ),
    ],
)
def test_circuits_of_the_samples(
    name: str, expected: list[tuple[str, tuple[str, ...], tuple[str, ...]]]
) -> None:
    """Worked by hand from the leads of each sample: handsets first, what has packs of its own, the head last."""
    assert circuits(sample(name)) == [Circuit(*parts) for parts in expected]


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_a_circuit_is_all_that_can_be_reached(name: str) -> None:
    """Behind the first device of a lead: its descendants in the graph of all leads that carry power (networkx)."""
    solved = sample(name)
    assert solved.power
    graph = nx.DiGraph((use.lead.giver.unit, use.lead.taker.unit) for use in solved.power.leads.values())
    for circuit in circuits(solved):
        first = circuit.units[0]
        reached = nx.descendants(graph, first) if first in graph else set()
        assert set(circuit.units) == {first, *reached}
        if circuit.leads:
            assert graph.has_edge(circuit.source, first)
