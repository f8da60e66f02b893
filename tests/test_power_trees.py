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


# ---- plates for two packs ------------------------------------------------------------------------------------------

PLATES = """model plate "Plate" {{
  role other
  port a, b in amp
  port out, more out amp
  {how} a, b to out, more
}}
model load "Load" {{ role other; port power in amp; takes 1V..60V; draws 1A peak 2A }}
model lamp "Lamp" {{ role other; port power in amp; takes 1V..60V; draws 10W peak 20W }}
model hub "Hub" {{ role other; port power in amp; port out, more out amp; passes power to out, more }}
model pack-t "Pack" {{ role pack; port out-1, out-2 out amp; supplies 18V..25V }}
"""


class Pair(NamedTuple):
    """Two packs at a plate: lengths in m of the leads from each (over a hub with a load, where `hubs`) and behind it."""

    first: int
    second: int
    behind: int
    hubs: tuple[bool, bool]
    watts: bool


@st.composite
def pairs(draw: st.DrawFn) -> Pair:
    """Any two packs at a plate."""
    metres = st.integers(1, 6)
    return Pair(
        draw(metres),
        draw(metres),
        draw(metres),
        (draw(st.booleans()), draw(st.booleans())),
        draw(st.booleans()),
    )


def rig_of(pair: Pair, how: str) -> str:
    """A plate, its packs, and a load behind it."""
    kind = "lamp" if pair.watts else "load"
    lines = ['rig "Plate" { revision "A" }', 'signal amp "Power" carries power', PLATES.format(how=how)]
    lines += ['unit plate is plate "Plate"', f'unit end is {kind} "End"']
    lines.append(
        f'cable C "C" {{ plate.out to end.power; length {pair.behind}m; jacket 8mm; wire 2.5mm2; rated 99A }}'
    )
    for name, port, metres, hub in (
        ("x", "a", pair.first, pair.hubs[0]),
        ("y", "b", pair.second, pair.hubs[1]),
    ):
        lines.append(f'unit {name} is pack-t "{name}"')
        giver = f"{name}.out-1"
        if hub:
            lines += [f'unit {name}h is hub "{name} hub"', f'unit {name}l is load "{name} load"']
            lines.append(
                f'cable H{name} "H" {{ {giver} to {name}h.power; length 1m; jacket 8mm; wire 2.5mm2; rated 99A }}'
            )
            lines.append(
                f'cable L{name} "L" {{ {name}h.more to {name}l.power; length 2m; jacket 8mm; wire 2.5mm2; rated 99A }}'
            )
            giver = f"{name}h.out"
        lines.append(
            f'cable P{name} "P" {{ {giver} to plate.{port}; length {metres}m; jacket 8mm; wire 2.5mm2; rated 99A }}'
        )
    return "\n".join(lines) + "\n"


OHMS = 2 * 7.98e-3  # of a metre of 2.5 mm2 there and back: IEC 60228, class 5


def by_nodes(pair: Pair, volts: float, *, peak: bool, feeds: tuple[str, ...]) -> dict[str, float]:
    """Volts of every unit by nodal analysis; `feeds`: the packs that the plate lets through."""
    names = ["plate", "end"]
    leads = [("plate", "end", pair.behind)]
    loads = {"end": (0.0, 20.0 if peak else 10.0) if pair.watts else (2.0 if peak else 1.0, 0.0)}
    for name, metres, hub in (("x", pair.first, pair.hubs[0]), ("y", pair.second, pair.hubs[1])):
        if hub:
            names += [f"{name}h", f"{name}l"]
            leads += [(name, f"{name}h", 1), (f"{name}h", f"{name}l", 2)]
            loads[f"{name}l"] = (2.0 if peak else 1.0, 0.0)
        if name in feeds:
            leads.append((f"{name}h" if hub else name, "plate", metres))
    known = dict.fromkeys(names, volts)
    for _ in range(200):
        matrix, right = np.zeros((len(names), len(names))), np.zeros(len(names))
        for first, second, metres in leads:
            for here, there in ((first, second), (second, first)):
                if here in names:
                    at = names.index(here)
                    matrix[at, at] += 1 / (OHMS * metres)
                    if there in names:
                        matrix[at, names.index(there)] -= 1 / (OHMS * metres)
                    else:
                        right[at] += volts / (OHMS * metres)
        for name, (amps, watts) in loads.items():
            right[names.index(name)] -= amps + watts / known[name]
        known = dict(zip(names, np.linalg.solve(matrix, right), strict=True))
    return known


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(pair=pairs())
def test_joined_packs_agree_with_nodal_analysis(tmp_path: Path, pair: Pair) -> None:
    """Both packs at the same volts, their leads meeting at the plate: every unit's volts as numpy solves the nodes."""
    solved, found = checked(tmp_path, rig_of(pair, "joins"))
    assert solved and solved.power, found
    for at, case in enumerate(CASES):
        wanted = by_nodes(pair, 18.0 if case.empty else 25.0, peak=case.peak, feeds=("x", "y"))
        for (unit, _), use in solved.power.rails.items():
            if unit in wanted:
                assert use.volts[at] == pytest.approx(wanted[unit], abs=1e-6), (unit, case)
        into = sum(solved.power.leads[leg].amps[at] for leg in ("Px", "Py"))
        assert into == pytest.approx(solved.power.leads["C"].amps[at])


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(pair=pairs())
def test_packs_by_turns_are_as_bad_as_the_worse_of_them(tmp_path: Path, pair: Pair) -> None:
    """Each pack alone by nodal analysis: the lowest volts and the largest currents of the two count."""
    solved, found = checked(tmp_path, rig_of(pair, "either"))
    assert solved and solved.power, found
    for at, case in enumerate(CASES):
        volts = 18.0 if case.empty else 25.0
        alone = {name: by_nodes(pair, volts, peak=case.peak, feeds=(name,)) for name in ("x", "y")}
        end = next(use for (unit, _), use in solved.power.rails.items() if unit == "end")
        assert end.volts[at] == pytest.approx(min(one["end"] for one in alone.values()), abs=1e-6)
        for name in ("x", "y"):
            metres = pair.first if name == "x" else pair.second
            giver = f"{name}h" if pair.hubs[name == "y"] else name
            amps = (alone[name].get(giver, volts) - alone[name]["plate"]) / (OHMS * metres)
            assert solved.power.leads[f"P{name}"].amps[at] == pytest.approx(amps, rel=1e-6)


def test_two_equal_packs_share_and_take_turns(tmp_path: Path) -> None:
    """Equal leads: joined packs carry half each; by turns each carries all, and on average half."""
    pair = Pair(2, 2, 1, (False, False), False)
    together, _ = checked(tmp_path, rig_of(pair, "joins"))
    turns, _ = checked(tmp_path, rig_of(pair, "either"))
    assert together and together.power and turns and turns.power

    assert together.power.leads["Px"].amps == pytest.approx((0.5, 0.5, 1.0, 1.0))
    assert turns.power.leads["Px"].amps == pytest.approx((1.0, 1.0, 2.0, 2.0))
    assert turns.power.sources["x"].alone == pytest.approx(2 * turns.power.sources["x"].watts)
    assert len(turns.power.ways) == 2
