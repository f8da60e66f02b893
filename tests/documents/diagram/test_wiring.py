"""The drawings of signals and power: every part and line, the same order when a rig grows, odd words."""

from __future__ import annotations

import csv
import json
import re
import subprocess
from collections.abc import Iterator
from functools import cache
from io import BytesIO, StringIO
from itertools import pairwise
from pathlib import Path
from typing import Any
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
from rigcard.documents.diagram.drawing import strip_marks
from rigcard.documents.diagram.graph import STYLES, Graph
from rigcard.documents.diagram.leads import list_document
from rigcard.documents.diagram.power import power_graph
from rigcard.documents.diagram.sheets import drawing_document, figure
from rigcard.documents.diagram.signals import signal_graph
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
FAN = """model fan-1 "Fan" {{ role other; port dc in rail-5v; port {} out rail-5v; takes 4.5V..6V; draws 1W; mass 0.1kg }}
unit more is fan-1 "Fan" {{ mounted on head }}
cable P99 "Fan power" {{ head.dc-5 to more.dc; length 300mm; jacket 4mm; wire AWG22; rated 3A; mass 10g; rides head }}"""
MOTOR = """unit more is motor-1 "Focus motor"
cable S99 "Focus lead" {{ {} to more.signal; length 400mm; jacket 3mm }}"""
PINS = {"gorge": ("rx.p1", "rx.p4", "rx.p7", "rx.p8"), "mast": ("rx-a.p1", "rx-a.p2", "rx-a.p3")}
PINS["first"] = ("rx.p1", "rx.p2", "rx.p3")
GROWN = [
    *((name, MOTOR.format(pin), pin) for name, pins in PINS.items() for pin in pins),
    ("gorge", MONITOR, "monitor"),
    ("gorge", f"{MONITOR.rpartition(chr(10))[0]}\n{POWERED}", "monitor and pack"),
    ("mast", FAN.format("aux"), "fan"),  # its picture socket is taken
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


def middles(graph: Graph) -> dict[str, tuple[float, float]]:
    """The left edge and the middle of each cell, as Graphviz places them."""
    placed = place(graph)
    return {
        cell: (placed.columns[column], y)
        for strip, rows in zip(graph.strips, placed.rows, strict=True)
        for row, y in zip(strip.rows, rows, strict=True)
        for column, cell in row.items()
    }


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
        old, new = middles(before), middles(after)
        added += len(after.cells) - len(before.cells)
        assert set(old) <= set(new)
        columns = {cell.id: (cell.column,) for cell in before.cells}
        for cell in after.cells:
            if cell.id in columns:
                columns[cell.id] += (cell.column,)
        for column in set(columns.values()):
            shared = [cell for cell in columns if columns[cell] == column]
            if len(shared) > 1:
                tau = kendalltau([old[cell][1] for cell in shared], [new[cell][1] for cell in shared])
                assert tau.statistic == pytest.approx(1), column
    assert added >= 2


@pytest.mark.parametrize("name", PINS)
def test_rows_and_columns_are_those_that_graphviz_draws(tmp_path: Path, name: str) -> None:
    """Graphviz keeps columns upright, rows level and their order; every line goes to the right, none crosses another."""
    for graph in graphs(tmp_path, sample_text(name)):
        placed = middles(graph)
        assert sorted(placed) == sorted(cell.id for cell in graph.cells)
        down: dict[int, list[str]] = {}
        for strip, answer in zip(graph.strips, answers(dot_source(graph)), strict=True):
            points = {
                item["comment"]: tuple(map(float, item["pos"].split(",")))
                for item in answer["objects"]
                if "comment" in item
            }
            assert points.keys() == {cell.id for cell in strip.cells}
            for row in strip.rows:
                assert len({points[cell][1] for cell in row.values()}) <= 1
                for column, cell in row.items():
                    down.setdefault(column, []).append(cell)
        for column in down.values():
            heights = [placed[cell][1] for cell in column]
            assert heights == sorted(set(heights))
            assert len({placed[cell][0] for cell in column}) == 1
        where = {cell: (column, at) for column, found in down.items() for at, cell in enumerate(found)}
        for edge in graph.edges:
            assert where[edge.tail][0] < where[edge.head][0]
            for other in graph.edges:
                if where[other.tail][0] == where[edge.tail][0] and where[edge.head][0] == where[other.head][0]:
                    before, after = (
                        where[edge.tail][1] - where[other.tail][1],
                        where[edge.head][1] - where[other.head][1],
                    )
                    assert before * after >= 0, (edge, other)


def answers(source: str) -> list[dict[str, Any]]:
    """What Graphviz says of each digraph of a text."""
    run = subprocess.run(["dot", "-Tjson"], input=source.encode(), capture_output=True, check=True)
    text, found = run.stdout.decode().strip(), []
    while text:
        answer, end = json.JSONDecoder().raw_decode(text)
        found.append(answer)
        text = text[end:].strip()
    return found


@pytest.mark.parametrize("name", PINS)
def test_a_lead_is_named_at_both_ends(tmp_path: Path, name: str) -> None:
    """Before and after each cable stands that end as its label says it: W07-A and W07-B, never the same one twice."""
    path = tmp_path / "named.rig"
    path.write_text(sample_text(name), encoding="utf-8")
    solved = check_rig(path, Diagnostics(), stock=STOCK).solved
    assert solved is not None
    said = {label.name for label in cable_labels(FACE, solved.rig)}
    drawn = graphs(tmp_path, sample_text(name))
    cells = {cell.id: cell for graph in drawn for cell in graph.cells}
    words = {name: " ".join(text for text, _, _ in cell.lines) for name, cell in cells.items()}
    ends: dict[str, set[str]] = {}
    for edge in (edge for graph in drawn for edge in graph.edges):
        for cable, part in ((edge.tail, edge.head), (edge.head, edge.tail)):
            if cells[cable].part.startswith("cable:"):
                leg = cells[cable].part.removeprefix("cable:")
                (end,) = {f"{leg}-{letter}" for letter in "AB" if f"{leg}-{letter}" in words[part]}
                ends.setdefault(leg, set()).add(end)
    assert ends
    assert all(found == {f"{leg}-A", f"{leg}-B"} for leg, found in ends.items())
    assert set().union(*ends.values()) <= said


SVG = "{http://www.w3.org/2000/svg}"


# ---- wiring ------------------------------------------------------------------------------------------------------


def graphs_of(solved: Solved) -> Iterator[Graph]:
    """Both diagrams where they have parts."""
    yield from (graph for graph in (signal_graph(FACE, solved), power_graph(FACE, solved)) if graph.cells)


def plain_output(source: str) -> list[str]:
    """What Graphviz itself makes of every label: the text lines of its own SVG."""
    run = subprocess.run(["dot", "-Tsvg"], input=source.encode(), capture_output=True, check=True)
    return [element.text or "" for element in ElementTree.fromstring(run.stdout).iter(f"{SVG}text")]


def test_odd_words_in_the_diagram_s_source(tmp_path: Path) -> None:
    """Graphviz reads every label of the .gv files as the very text: no markup, no escape."""
    for graph in graphs_of(odd_rig(tmp_path)):
        lines = [squeezed(line.replace("\N{NO-BREAK SPACE}", " ")) for line in plain_output(dot_source(graph))]
        for cell in graph.cells:
            for text in (*(text for text, _, _ in cell.lines), *filter(None, cell.beside)):
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
        assert all(text in lines for text in graph.words())
        assert tree.findtext(f"{SVG}title") == f"{solved.rig.title}: {graph.title}"
        assert {element.tag for element in tree.iter()} <= {
            f"{SVG}{name}" for name in ("svg", "title", "rect", "circle", "path", "text")
        }
    made_of = {
        "cards": card_document(FACE, solved),
        "wiring": drawing_document(FACE, solved.rig, placed),
        "wiring-list": list_document(FACE, solved),
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
    assert squeezed(solved.rig.job) in read["wiring-list"]


def test_the_diagram_has_every_part_and_line(papers: SamplePapers) -> None:
    """Channels, pins, cables and inputs in use are parts; each feed is a chain of lines from control to input."""
    solved = papers.solved
    graph = signal_graph(FACE, solved)
    cells = {cell.id: cell for cell in graph.cells}
    lines = {(edge.tail, edge.head) for edge in graph.edges}

    assert len(cells) == len(graph.cells)
    assert all(edge.tail in cells and edge.head in cells and edge.kind in STYLES for edge in graph.edges)
    for sheet in solved.results.values():
        channel = f"channel:{sheet.handset}.{sheet.name}"
        control = f"control:{sheet.handset}.{sheet.control.name}"
        assert (control, channel) in lines
        assert cells[channel].numbers == (str(sheet.number),)
        assert squeezed(sheet.name) in squeezed("".join(text for text, _, _ in cells[channel].lines))
        title = squeezed("".join(text for text, _, _ in cells[control].lines))
        assert squeezed(sheet.control.title) in title
    for feed in solved.links.feeds:
        end, strand = feed.pin, f"{feed.handset}.{feed.channel}"
        chain = [
            f"channel:{strand}",
            f"pin:{end.unit}.{end.port}/{strand}",
            f"cable:{feed.last.leg.id}/{strand}",
            f"input:{feed.unit}.{feed.input.name}",
        ]
        assert all(pair in lines for pair in pairwise(chain)), chain
        assert cells[chain[2]].part == f"cable:{feed.last.leg.id}"
        assert graph.titles[cells[chain[2]].part][0][0] == feed.last.leg.id
        known = squeezed("".join(text for text, _, _ in cells[chain[3]].lines))
        assert squeezed(feed.input.title) in known
    power = {cell.part for cell in power_graph(FACE, solved).cells}
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
        assert kinds.count("node") == len(graph.cells)
        assert kinds.count("edge") == len(graph.edges)


# ---- a pin that dies -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_what_dies_with_a_pin(sample: Path) -> None:
    """Everything drawn after a pin (descendants by networkx) is every input that is fed through that pin."""
    solved = check_rig(sample, Diagnostics()).solved
    assert solved is not None
    drawn = signal_graph(EmbeddedTypeface(), solved)
    cells = {cell.id: cell for cell in drawn.cells}
    graph = nx.DiGraph([(edge.tail, edge.head) for edge in drawn.edges])
    fed: dict[str, set[str]] = {}
    for feed in solved.links.feeds:
        source = feed.pin
        fed.setdefault(f"pin:{source.unit}.{source.port}", set()).add(f"input:{feed.unit}.{feed.input.name}")
    reached: dict[str, set[str]] = {}
    for cell in drawn.cells:
        if cell.kind == "pin":
            after = {cells[name].part for name in nx.descendants(graph, cell.id)}
            reached.setdefault(cell.part, set()).update(part for part in after if part.startswith("input:"))

    assert reached == fed


# ---- drawing -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_the_power_drawing_has_every_feed(name: str) -> None:
    """Each lead that carries power, whatever it is made for, goes from giver to taker; the rest is not there."""
    solved = sample(name)
    assert solved.power
    graph = power_graph(FACE, solved)
    cells = {cell.id: cell for cell in graph.cells}
    edges = {(cells[edge.tail].part, cells[edge.head].part): edge.kind for edge in graph.edges}
    rig = solved.rig

    assert {cell.part for cell in graph.cells if cell.kind == "cable"} == {
        f"cable:{leg}" for leg in solved.power.leads
    }
    for leg, use in solved.power.leads.items():
        ends = f"device:{use.lead.giver.unit}", f"cable:{leg}", f"device:{use.lead.taker.unit}"
        plain = rig.signal_at(use.lead.giver).kind == "power"
        assert {edges[pair] for pair in pairwise(ends)} == {"power" if plain else "power-too"}
        (cell,) = [cell for cell in graph.cells if cell.part == ends[1]]
        said = " ".join(text for text, _, _ in cell.lines)
        assert re.search(r" V( full, .* V near empty,?)? at peak", said), said
        assert re.search(r"up to [\d.]+ m?A", said), said
        if use.lead.wire.cable.power.fuse is not None:
            assert re.search(r"fuse [\d.]+ A", said), said
    drawn = nx.DiGraph(list(edges))
    for circuit in circuits(solved):
        for unit in circuit.units[1:]:
            assert nx.has_path(drawn, f"device:{circuit.source}", f"device:{unit}")


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_a_cable_is_drawn_without_a_gap(name: str) -> None:
    """The stroke of a cable begins where the line before it ends, and ends where the next one begins, as thick."""
    for graph in (signal_graph(FACE, sample(name)), power_graph(FACE, sample(name))):
        placed = place(graph)
        where = middles(graph)
        cells = {cell.id: cell for cell in graph.cells}
        marks = [m for number in range(len(graph.strips)) for m in strip_marks(FACE, graph, placed, number)]
        strokes = [mark for mark in marks if isinstance(mark, Line | Curve)]
        ends = [(mark.points[0], mark.points[-1], mark.weight, mark.dash) for mark in strokes]
        for cell in cells.values():
            if cell.kind != "cable":
                continue
            x, y = where[cell.id]
            right = x + graph.widths[cell.column]
            (kind,) = {edge.kind for edge in graph.edges if cell.id in (edge.tail, edge.head)}
            style = STYLES[kind]
            assert ((x, y), (right, y), *style) in ends
            assert any(end == (x, y) and start[0] < x and rest == list(style) for start, end, *rest in ends)
            assert any(
                start == (right, y) and end[0] > right and rest == list(style) for start, end, *rest in ends
            )
