"""Writes the diagram as DOT and lets graphviz place it. Sizes come from the document, never from fonts."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Any

import graphviz

from rigcard.documents.diagram.graph import STYLES, Cell, Graph, Placement
from rigcard.documents.diagram.rows import APART, BETWEEN

MM_PER_INCH = 25.4
PATIENCE = 30  # seconds for one layout; a rig takes a fraction of a second
_BLANKS = re.compile(r"\s+")
_CONTROL = re.compile(r"[\x00-\x1f\x7f]")


class DotMissingError(Exception):
    """The `dot` program is not on this machine."""


class DotFailedError(Exception):
    """`dot` is installed but gave no usable answer; the text is what it printed."""


class DotTooSlowError(DotFailedError):
    """`dot` was stopped at work."""


def dot_source(graph: Graph) -> str:
    """Return a diagram as DOT text: a digraph for each strip, in a style for each kind of signal.

    Nodes have fixed sizes in inches, and each edge has a line of its own. Rows and columns are held by invisible
    nodes where a row has nothing, by heavy invisible edges along each row, and by light ones down each column.
    """
    names = iter(range(1, sys.maxsize))
    return "\n".join(_strip_source(graph, number, names) for number in range(len(graph.strips)))


def _strip_source(graph: Graph, number: int, names: Iterator[int]) -> str:
    strip = graph.strips[number]
    digraph = graphviz.Digraph(
        f"{graph.name}-{number + 1}",
        graph_attr={
            "rankdir": "LR",
            "nodesep": f"{BETWEEN / MM_PER_INCH:.4f}",
            "ranksep": f"{graph.gutter / MM_PER_INCH:.4f}",
        },
        node_attr={"shape": "box", "fixedsize": "true"},
        edge_attr={"dir": "none"},
    )
    cells = {cell.id: cell for cell in strip.cells}
    named: dict[str, str] = {}

    def node(column: int, height: float, cell: Cell | None) -> str:
        name = f"n{next(names)}"
        size = {"width": f"{graph.widths[column] / MM_PER_INCH:.4f}", "height": f"{height / MM_PER_INCH:.4f}"}
        if cell is None:
            digraph.node(name, label="", style="invis", **size)
            return name
        named[cell.id] = name
        words = "\n".join([*cell.numbers, *(text for text, _, _ in cell.lines), *filter(None, cell.beside)])
        comment = graphviz.escape(cell.id)
        digraph.node(name, comment=comment, label=_label(words), **size, **{"class": cell.kind})
        return name

    down: list[list[str]] = [[] for _ in graph.widths]
    rows = []
    for row, held in enumerate(strip.rows):
        for column, under in enumerate(down):
            if (row, column) in strip.above:
                under.append(node(column, strip.above[row, column], None))
        along = [
            node(column, strip.heights[row], cells.get(held.get(column, "")))
            for column in range(len(graph.widths))
        ]
        for name, under in zip(along, down, strict=True):
            under.append(name)
        rows.append(along)
    for edge in strip.edges:
        style = STYLES[edge.kind]
        digraph.edge(
            f"{named[edge.tail]}:e",
            f"{named[edge.head]}:w",
            **{"class": edge.kind},
            constraint="false",
            style="dashed" if style.dash else "solid",
            penwidth=f"{style.weight / 0.3:.2f}",
        )
    with digraph.subgraph(edge_attr={"style": "invis", "weight": "100"}) as level:
        for along in rows:
            level.edges(pairwise(along))
    for under in down:
        with digraph.subgraph(graph_attr={"rank": "same"}, edge_attr={"style": "invis", "weight": "1"}) as same:
            same.node(under[0])
            same.edges(pairwise(under))
    return str(digraph.source)


def _label(text: str) -> str:
    """Return text as a plain label: escapes, entities and markup are taken literally."""
    lines = [graphviz.escape(_CONTROL.sub(" ", line).replace("&", "&amp;")) for line in text.split("\n")]
    return str(graphviz.nohtml("\\n".join(lines)))


def place(graph: Graph, source: str = "") -> Placement:
    """Let `dot` lay out the diagram; `source` is its DOT text, if it is known. Raises DotMissingError, DotFailedError."""
    try:
        answer = subprocess.run(
            ["dot", "-Tjson0", "-Gsplines=none"],  # places alone; the lines are ours
            input=(source or dot_source(graph)).encode(),
            capture_output=True,
            timeout=PATIENCE,
            check=True,
        ).stdout
    except FileNotFoundError as fault:
        raise DotMissingError from fault
    except subprocess.TimeoutExpired as fault:
        raise DotTooSlowError(f"it did not end within {PATIENCE} seconds") from fault
    except (subprocess.CalledProcessError, OSError) as fault:
        text = getattr(fault, "stderr", b"") or str(fault).encode()
        raise DotFailedError(text.decode("utf-8", "replace").strip()[:300]) from fault
    try:
        return _placement(graph, _answers(answer.decode()))
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError) as fault:
        raise DotFailedError("its answer could not be read") from fault


def _answers(text: str) -> Iterator[dict[str, Any]]:
    """Read one JSON object after the other."""
    at = _end_of_blanks(text, 0)
    while at < len(text):
        answer, at = json.JSONDecoder().raw_decode(text, at)
        yield answer
        at = _end_of_blanks(text, at)


def _end_of_blanks(text: str, at: int) -> int:
    found = _BLANKS.match(text, at)
    return found.end() if found else at


def _placement(graph: Graph, answers: Iterable[dict[str, Any]]) -> Placement:
    """Convert the layout to mm from the top left; graphviz counts points upward from the bottom left."""
    scale = MM_PER_INCH / 72
    columns: list[float] = []
    rows = []
    strips = []
    width, top = 0.0, 0.0
    names = iter(range(1, sys.maxsize))
    for strip, answer in zip(graph.strips, answers, strict=True):
        _, _, right, height = (float(part) * scale for part in answer["bb"].split(","))
        points = {
            item["name"]: [float(part) * scale for part in item["pos"].split(",")[:2]]
            for item in answer["objects"]
            if "pos" in item
        }
        heights = []
        for row in range(len(strip.rows)):
            for column in range(len(graph.widths)):
                if (row, column) in strip.above:
                    next(names)
            along = [points[f"n{next(names)}"] for _ in graph.widths]
            heights.append(top + height - along[0][1])
            columns = columns or [x - mm / 2 for (x, _), mm in zip(along, graph.widths, strict=True)]
        rows.append(tuple(heights))
        strips.append((top, top + height))
        top += height + APART
        width = max(width, right)
    return Placement(width, top - APART, tuple(columns), tuple(rows), tuple(strips))
