"""The drawings of signals and power: every part and line, the same order when a rig grows, odd words."""

from __future__ import annotations

import csv
import json
import subprocess
from collections.abc import Iterator
from functools import cache
from io import BytesIO, StringIO
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import networkx as nx
import pypdf
import pytest
from scipy.stats import kendalltau

from cardlines import NAMES_OF_SAMPLES, sample, squeezed
from papers import ODD, SamplePapers, odd_rig
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Curve, Line
from rigcard.documents.cards.card_set import card_document
from rigcard.documents.diagram.wiring import (
    STYLES,
    Graph,
    columns,
    drawing,
    figure,
    power_graph,
    signal_graph,
    wiring_document,
)
from rigcard.documents.kit.kit_list import kit_document
from rigcard.documents.labels.cable_labels import cable_labels
from rigcard.documents.labels.label_sheets import label_document
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig, check_rig
from rigcard.render.dot import dot_source, place
from rigcard.render.pdf import pdf
from rigcard.render.svg import svg
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.power.circuits import circuits
from rigcard.solve.solved import Solved
from samples import ROOT, SAMPLES, STOCK

pytest_plugins = ("papers",)

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


@pytest.mark.slow
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


SVG = "{http://www.w3.org/2000/svg}"


# ---- wiring ------------------------------------------------------------------------------------------------------


def graphs_of(solved: Solved) -> Iterator[Graph]:
    """Both diagrams where they have parts."""
    yield from (graph for graph in (signal_graph(FACE, solved), power_graph(FACE, solved)) if graph.nodes)


def plain_output(source: str) -> list[str]:
    """What Graphviz itself makes of every label: the text lines of its own SVG."""
    run = subprocess.run(["dot", "-Tsvg"], input=source.encode(), capture_output=True, check=True)
    return [element.text or "" for element in ElementTree.fromstring(run.stdout).iter(f"{SVG}text")]


def test_odd_words_in_the_diagram_s_source(tmp_path: Path) -> None:
    """Graphviz reads every label of the .gv files as the very text: no markup, no escape."""
    for graph in graphs_of(odd_rig(tmp_path)):
        lines = [squeezed(line.replace("\N{NO-BREAK SPACE}", " ")) for line in plain_output(dot_source(graph))]
        for node in graph.nodes:
            for text, _, _ in node.lines:
                assert squeezed(text) in lines, text


def test_odd_words_in_the_list_and_the_data(tmp_path: Path) -> None:
    """The CSV and the JSON read back as the words, but for the apostrophe that keeps a cell from being a formula."""
    solved = odd_rig(tmp_path)
    papers = build_rig(tmp_path / "odd.rig", Diagnostics(), request=Request(only=("kit", "data")))
    assert papers is not None
    rows = list(csv.DictReader(StringIO(papers.files["kit.csv"].decode("utf-8-sig"), newline="")))
    data = json.loads(papers.files["rig.json"])

    for unit in solved.rig.units.values():
        row = next(row for row in rows if row["id"] == unit.name)
        for key, words in (
            ("item", unit.title),
            ("case", unit.case),
            ("asset", unit.asset),
            ("serial", unit.serial),
        ):
            assert row[key] == (f"'{words}" if words[:1] in tuple("=+-@") else words)
    assert {*ODD} <= {*_strings(data)}


def _strings(node: object) -> Iterator[str]:
    """Every string in what JSON gives."""
    if isinstance(node, str):
        yield node
    elif isinstance(node, dict | list):
        for part in node.values() if isinstance(node, dict) else node:
            yield from _strings(part)


def test_odd_words_in_svg_and_pdf(tmp_path: Path) -> None:
    """The SVG is XML whose text is the words; the PDFs hold them too."""
    solved = odd_rig(tmp_path)
    placed = [(graph, place(graph)) for graph in graphs_of(solved)]
    for graph, placement in placed:
        drawn = svg(figure(FACE, solved.rig, graph, placement), f"{solved.rig.title}: {graph.title}")
        tree = ElementTree.fromstring(drawn)
        lines = [element.text for element in tree.iter(f"{SVG}text")]
        assert all(text in lines for node in graph.nodes for text, _, _ in node.lines)
        assert tree.findtext(f"{SVG}title") == f"{solved.rig.title}: {graph.title}"
        assert {element.tag for element in tree.iter()} <= {
            f"{SVG}{name}" for name in ("svg", "title", "rect", "circle", "path", "text")
        }
    made_of = {
        "cards": card_document(FACE, solved),
        "wiring": wiring_document(FACE, solved, placed),
        "labels": label_document(FACE, solved.rig),
        "kit": kit_document(FACE, solved),
    }
    read = {
        name: squeezed(
            "".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(pdf(found, FACE))).pages)
        )
        for name, found in made_of.items()
    }
    for unit in solved.rig.units.values():
        for name in ("cards", "labels", "kit"):
            assert squeezed(unit.title) in read[name], (name, unit.title)
    assert squeezed(solved.rig.job) in read["wiring"]


def test_the_diagram_has_every_part_and_line(papers: SamplePapers) -> None:
    """Channels, pins, cables and inputs in use are parts; each feed is a chain of lines from control to input."""
    solved = papers.solved
    graph = signal_graph(FACE, solved)
    nodes = {node.id: node for node in graph.nodes}
    lines = {(edge.tail, edge.head) for edge in graph.edges}

    assert len(nodes) == len(graph.nodes)
    assert all(edge.tail in nodes and edge.head in nodes and edge.kind in STYLES for edge in graph.edges)
    for sheet in solved.results.values():
        channel = f"channel:{sheet.handset}.{sheet.name}"
        control = f"control:{sheet.handset}.{sheet.control.name}"
        assert (control, channel) in lines
        shown = squeezed("".join(text for text, _, _ in nodes[channel].lines))
        assert f"CH{sheet.number}{sheet.name}" in shown
        title = squeezed("".join(text for text, _, _ in nodes[control].lines))
        assert squeezed(sheet.control.title) in title
    for feed in solved.links.feeds:
        end = feed.pin
        chain = [
            f"channel:{feed.handset}.{feed.channel}",
            f"pin:{end.unit}.{end.port}",
            f"cable:{feed.last.leg.id}",
            f"input:{feed.unit}.{feed.input.name}",
        ]
        assert all(pair in lines for pair in pairwise(chain)), chain
        assert nodes[chain[2]].lines[0][0] == feed.last.leg.id
        known = squeezed("".join(text for text, _, _ in nodes[chain[3]].lines))
        assert squeezed(feed.input.title) in known
    power = {node.id for node in power_graph(FACE, solved).nodes}
    for wire in solved.links.wires:
        if solved.rig.signal_at(wire.source).kind == "power":
            assert f"cable:{wire.leg.id}" in power


def test_the_source_of_the_diagram_has_every_part_and_line(papers: SamplePapers) -> None:
    """Graphviz reads as many nodes and edges from the .gv text as the diagram has."""
    for graph in graphs_of(papers.solved):
        run = subprocess.run(
            ["dot", "-Tplain"], input=dot_source(graph).encode(), capture_output=True, check=True
        )
        lines = [line.split() for line in run.stdout.decode().splitlines()]
        kinds = [words[0] for words in lines if words and "invis" not in words]
        assert kinds.count("node") == len(graph.nodes)
        assert kinds.count("edge") == len(graph.edges)


# ---- a pin that dies -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_what_dies_with_a_pin(sample: Path) -> None:
    """Everything drawn after a pin (descendants by networkx) is every input that is fed through that pin."""
    solved = check_rig(sample, Diagnostics()).solved
    assert solved is not None
    drawn = signal_graph(EmbeddedTypeface(), solved)
    graph = nx.DiGraph([(edge.tail, edge.head) for edge in drawn.edges])
    fed: dict[str, set[str]] = {}
    for feed in solved.links.feeds:
        source = feed.pin
        fed.setdefault(f"pin:{source.unit}.{source.port}", set()).add(f"input:{feed.unit}.{feed.input.name}")
    orders = {f"pin:{order.port.unit}.{order.port.port}" for order in solved.links.command_links}
    pins = {node.id for node in drawn.nodes if node.kind == "pin"} - orders  # ports that commands leave by

    assert pins == fed.keys()
    for pin in pins:
        assert {name for name in nx.descendants(graph, pin) if name.startswith("input:")} == fed[pin]


# ---- drawing -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_the_power_drawing_has_every_feed(name: str) -> None:
    """Each lead that carries power, whatever it is made for, goes from giver to taker; the rest is not there."""
    solved = sample(name)
    assert solved.power
    graph = power_graph(FACE, solved)
    edges = {(edge.tail, edge.head): edge.kind for edge in graph.edges}
    rig = solved.rig

    assert {node.id for node in graph.nodes if node.kind == "cable"} == {
        f"cable:{leg}" for leg in solved.power.leads
    }
    for leg, use in solved.power.leads.items():
        ends = f"device:{use.lead.giver.unit}", f"cable:{leg}", f"device:{use.lead.taker.unit}"
        plain = rig.signal_at(use.lead.giver).kind == "power"
        assert {edges[pair] for pair in pairwise(ends)} == {"power" if plain else "power-too"}
        (node,) = [node for node in graph.nodes if node.id == ends[1]]
        assert any(" V" in text and "at peak" in text for text, _, _ in node.lines)
    drawn = nx.DiGraph(list(edges))
    for circuit in circuits(solved):
        for unit in circuit.units[1:]:
            assert nx.has_path(drawn, f"device:{circuit.source}", f"device:{unit}")


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_a_cable_is_drawn_without_a_gap(name: str) -> None:
    """The stroke of a cable goes over the ends of the lines on both its sides."""
    graph = power_graph(FACE, sample(name))
    placed = place(graph)
    marks = drawing(FACE, graph, placed)
    strokes = [mark for mark in marks if isinstance(mark, Line)]
    cables = [node.id for node in graph.nodes if node.kind == "cable"]
    assert len(strokes) == len(cables)
    for cable, stroke in zip(cables, strokes, strict=True):
        (left, y), (right, _) = stroke.points
        for edge, points in zip(graph.edges, placed.edges, strict=True):
            if cable in (edge.tail, edge.head):
                x, height = points[-1] if edge.head == cable else points[0]
                assert left < x < right
                assert height == pytest.approx(y, abs=stroke.weight / 2)
    assert sum(isinstance(mark, Curve) for mark in marks) == 2 * len(cables)
