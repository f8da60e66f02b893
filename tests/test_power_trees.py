"""Power of whole rigs: random trees of a pack, hubs, regulators and loads, against nodal analysis by numpy."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigcard.solve.power.result import CASES
from rigs import checked

HUB = """model hub "Hub" {
  role other
  port power in amp
  port a, b out amp
  port low out low
  takes 1V..60V on power
  passes power to a, b
  regulates power to low at 5V efficiency 80%
}
model eater "Load" { role other; port power in amp; takes 1V..60V; draws 1A peak 2A }
model sipper "Load at 5 V" { role other; port power in low; takes 1V..6V; draws 100mA peak 300mA }
model pack-t "Pack" { role pack; port out-1 out amp; supplies 18V..25V }
"""
EFFICIENCY, LOW = 0.8, 5.0
DRAWS = {"hub": (0.0, 0.0), "eater": (1.0, 2.0), "sipper": (0.1, 0.3)}  # A at rest and at peak


class Node(NamedTuple):
    """A unit of the tree: its kind, what it hangs on and by which port, the length of its lead in m."""

    kind: str
    parent: int
    port: str
    metres: int


@st.composite
def rig_trees(draw: st.DrawFn) -> list[Node]:
    """A hub on the pack, then up to nine more units on free ports of hubs."""
    nodes = [Node("hub", -1, "out-1", draw(st.integers(1, 3)))]
    free = [(0, "a"), (0, "b"), (0, "low")]
    for _ in range(draw(st.integers(1, 9))):
        if not free:
            break
        parent, port = free.pop(draw(st.integers(0, len(free) - 1)))
        kind = "sipper" if port == "low" else draw(st.sampled_from(["hub", "eater"]))
        nodes.append(Node(kind, parent, port, draw(st.integers(1, 3))))
        if kind == "hub":
            at = len(nodes) - 1
            free += [(at, "a"), (at, "b"), (at, "low")]
    return nodes


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(nodes=rig_trees())
def test_rigs_with_regulators_agree_with_nodal_analysis(tmp_path: Path, nodes: list[Node]) -> None:
    """Conductances of the leads, regulators as ideal 5 V at 80 %: volts of every unit as numpy solves the nodes."""
    lines = [
        'rig "Tree" { revision "A" }',
        'signal amp "Power" carries power',
        'signal low "5 V" carries power',
        HUB,
    ]
    lines.append('unit pack is pack-t "Pack"')
    for at, node in enumerate(nodes):
        giver = "pack" if node.parent < 0 else f"n{node.parent}"
        lines.append(f'unit n{at} is {node.kind} "N{at}"')
        lines.append(
            f'cable C{at} "C{at}" {{ {giver}.{node.port} to n{at}.power; length {node.metres}m; jacket 8mm; wire 2.5mm2 }}'
        )
    solved, found = checked(tmp_path, "\n".join(lines) + "\n")
    assert solved and solved.power, found
    ohms = {at: solved.power.leads[f"C{at}"].ohms or 0.0 for at in range(len(nodes))}
    assert all(ohms[at] > 0 for at in ohms)
    mine: dict[
        str, tuple[float, ...]
    ] = {}  # of the two rails of a hub the first one reached is that of its input
    for (unit, _), use in solved.power.rails.items():
        mine.setdefault(unit, use.volts)

    for number, case in enumerate(CASES):
        source = 18.0 if case.empty else 25.0
        drawn = [DRAWS[node.kind][case.peak] for node in nodes]
        volts = [source] * len(nodes)
        for _ in range(200):  # a regulator draws by its input volts: solve, put them in, solve again
            current = list(drawn)
            for at, node in enumerate(nodes):
                if node.port == "low":
                    current[node.parent] += LOW * drawn[at] / (EFFICIENCY * volts[node.parent])
            matrix, right = np.zeros((len(nodes), len(nodes))), np.zeros(len(nodes))
            for at, node in enumerate(nodes):
                conductance = 1 / ohms[at]
                matrix[at, at] += conductance
                right[at] -= current[at]
                if node.port == "low":
                    right[at] += conductance * LOW
                elif node.parent < 0:
                    right[at] += conductance * source
                else:
                    matrix[at, node.parent] -= conductance
                    matrix[node.parent, node.parent] += conductance
                    matrix[node.parent, at] -= conductance
            volts = [float(volt) for volt in np.linalg.solve(matrix, right)]
        for at in range(len(nodes)):
            assert mine[f"n{at}"][number] == pytest.approx(volts[at], abs=1e-5), (at, case, nodes)
