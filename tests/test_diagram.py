"""The wiring diagram keeps its order when a rig grows, judged on the places that Graphviz gives."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import networkx as nx
import pytest
from scipy.stats import kendalltau

from conftest import ROOT, STOCK
from rigcard.diagnostics import Diagnostics
from rigcard.documents.diagram.wiring import Graph, columns, power_graph, signal_graph
from rigcard.documents.labels.cable_labels import cable_labels
from rigcard.pipeline import check_rig
from rigcard.render.dot import place
from rigcard.render.typeface import EmbeddedTypeface

FACE = EmbeddedTypeface()
MONITOR = """unit more is monitor-7 "Chief's monitor"
cable V99 "Picture" { cam.sdi to more.sdi; length 10m; jacket 6mm }
cable P98 "Monitor power" { cam-pack.out-2 to more.power; length 1m; jacket 5mm; wire 1.5mm2 }"""
POWERED = """unit more-pack is pack-98 "Another pack"
cable P99 "Monitor power" { more-pack.out-1 to more.power; length 1m; jacket 5mm; wire 1.5mm2 }"""
MOTOR = """unit more is motor-1 "Focus motor"
cable S99 "Focus lead" {{ {} to more.signal; length 400mm; jacket 3mm }}"""
PINS = {"gorge": ("rx.p1", "rx.p4", "rx.p7", "rx.p8"), "mast": ("rx-a.p1", "rx-a.p2", "rx-a.p3")}
PINS["first"] = ("rx.p1", "rx.p2", "rx.p3")
GROWN = [
    *((name, MOTOR.format(pin), pin) for name, pins in PINS.items() for pin in pins),
    *((name, text, word) for name in ("gorge", "mast") for text, word in ((MONITOR, "monitor"),)),
    *((name, f"{MONITOR.rpartition(chr(10))[0]}\n{POWERED}", "monitor and pack") for name in ("gorge", "mast")),
]


@cache
def sample_text(name: str) -> str:
    """A sample with the whole stock at hand."""
    text = (ROOT / "samples" / f"{name}.rig").read_text(encoding="utf-8")
    if "camera.rig" not in text:
        text = text.replace('use "stock/radio.rig"', 'use "stock/radio.rig"\nuse "stock/camera.rig"')
    return text.replace('use "stock', f'use "{STOCK[0]}')


def graphs(folder: Path, text: str) -> list[Graph]:
    """Both diagrams of a rig."""
    path = folder / "grown.rig"
    path.write_text(text, encoding="utf-8")
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics, stock=STOCK).solved
    assert solved is not None, [found.message for found in diagnostics]
    return [signal_graph(FACE, solved), power_graph(FACE, solved)]


def ranks(graph: Graph) -> dict[str, int]:
    """How many lines lead from a beginning to each part, the longest way (networkx)."""
    drawn = nx.DiGraph([(edge.tail, edge.head) for edge in graph.edges])
    return {node: rank for rank, nodes in enumerate(nx.topological_generations(drawn)) for node in nodes}


@pytest.mark.parametrize("at", ["end", "front"])
@pytest.mark.parametrize(("name", "more"), [case[:2] for case in GROWN], ids=[f"{n}-{w}" for n, _, w in GROWN])
def test_a_cable_more_moves_nothing(tmp_path: Path, name: str, more: str, at: str) -> None:
    """Parts of one column that were there before stand in the same order: Kendall's tau is 1, distance 0.

    The cable and its unit stand before all other cables of the file, or behind them.
    """
    text = sample_text(name)
    cut = len(text) if at == "end" else text.index("\ncable") + 1
    grown = graphs(tmp_path, f"{text[:cut]}\n{more}\n{text[cut:]}")
    added = 0
    for before, after in zip(graphs(tmp_path, text), grown, strict=True):
        old, new = place(before), place(after)
        added += len(after.nodes) - len(before.nodes)
        assert set(old.nodes) <= set(new.nodes)
        rank_of = ranks(before)
        for rank in set(rank_of.values()):
            shared = [node for node in old.nodes if rank_of[node] == rank and ranks(after)[node] == rank]
            if len(shared) > 1:
                tau = kendalltau(
                    [old.nodes[node][1] for node in shared], [new.nodes[node][1] for node in shared]
                )
                assert tau.statistic == pytest.approx(1), rank
    assert added >= 2


@pytest.mark.parametrize("name", PINS)
def test_columns_are_those_that_graphviz_draws(tmp_path: Path, name: str) -> None:
    """Graphviz keeps the columns and their order, and every line of the samples goes to the right uncrossed."""
    for graph in graphs(tmp_path, sample_text(name)):
        placed = place(graph).nodes
        found = columns(graph)
        assert sorted(node for column in found for node in column) == sorted(placed)
        for column in found:
            heights = [placed[node][1] for node in column]
            assert heights == sorted(heights)
            assert len({round(placed[node][0]) for node in column}) == 1
        row = {node: (rank, at) for rank, column in enumerate(found) for at, node in enumerate(column)}
        for edge in graph.edges:
            assert row[edge.tail][0] < row[edge.head][0]
            for other in graph.edges:
                if row[other.tail][0] == row[edge.tail][0] and row[edge.head][0] == row[other.head][0]:
                    before, after = (
                        row[edge.tail][1] - row[other.tail][1],
                        row[edge.head][1] - row[other.head][1],
                    )
                    assert before * after >= 0, (edge, other)


@pytest.mark.parametrize("name", PINS)
def test_a_lead_is_named_at_both_ends(tmp_path: Path, name: str) -> None:
    """Before and after each cable stands that end as its label says it: W07-A and W07-B, never the same one twice."""
    path = tmp_path / "named.rig"
    path.write_text(sample_text(name), encoding="utf-8")
    solved = check_rig(path, Diagnostics(), stock=STOCK).solved
    assert solved is not None
    said = {label.name for label in cable_labels(FACE, solved.rig)}
    drawn = graphs(tmp_path, sample_text(name))
    words = {node.id: " ".join(text for text, _, _ in node.lines) for graph in drawn for node in graph.nodes}
    ends: dict[str, set[str]] = {}
    for edge in (edge for graph in drawn for edge in graph.edges):
        for cable, part in ((edge.tail, edge.head), (edge.head, edge.tail)):
            if cable.startswith("cable:"):
                leg = cable.removeprefix("cable:")
                (end,) = {f"{leg}-{letter}" for letter in "AB" if f"{leg}-{letter}" in words[part]}
                ends.setdefault(leg, set()).add(end)
    assert ends
    assert all(found == {f"{leg}-A", f"{leg}-B"} for leg, found in ends.items())
    assert set().union(*ends.values()) <= said
