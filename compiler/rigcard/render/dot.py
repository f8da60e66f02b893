"""Writes the diagram as DOT and lets graphviz place it. Sizes come from the document, never from fonts."""

from __future__ import annotations

import json
import re
import subprocess
from itertools import pairwise
from typing import Any

import graphviz

from rigcard.documents.diagram.wiring import STYLES, Graph, Placement, columns

MM_PER_INCH = 25.4
PATIENCE = 30  # seconds for one layout; a rig takes a fraction of a second
_CONTROL = re.compile(r"[\x00-\x1f\x7f]")


class DotMissingError(Exception):
    """The `dot` program is not on this machine."""


class DotFailedError(Exception):
    """`dot` is installed but gave no usable answer; the text is what it printed."""


def dot_source(graph: Graph) -> str:
    """Return a diagram as DOT text, in a style for each kind of signal.

    Nodes have fixed sizes in inches, and each edge has a line of its own. Invisible edges keep each column in
    the order that the document gives.
    """
    digraph = graphviz.Digraph(
        graph.name,
        graph_attr={"rankdir": "LR", "nodesep": "0.09", "ranksep": "0.33", "splines": "true"},
        node_attr={"shape": "box", "fixedsize": "true"},
        edge_attr={"dir": "none", "weight": "8"},  # keep real lines straight before making invisible ones short
    )
    names = {node.id: f"n{number}" for number, node in enumerate(graph.nodes, 1)}
    for node in graph.nodes:
        digraph.node(
            names[node.id],
            comment=graphviz.escape(node.id),
            label=_label("\n".join(text for text, _, _ in node.lines)),
            width=f"{node.width / MM_PER_INCH:.4f}",
            height=f"{node.height / MM_PER_INCH:.4f}",
            **{"class": node.kind},
        )
    for edge in graph.edges:
        style = STYLES[edge.kind]
        digraph.edge(
            f"{names[edge.tail]}:e",
            f"{names[edge.head]}:w",
            **{"class": edge.kind},
            style="dashed" if style.dash else "solid",
            penwidth=f"{style.weight / 0.3:.2f}",
        )
    for column in columns(graph):
        with digraph.subgraph(graph_attr={"rank": "same"}) as same:
            for above, below in pairwise(column):
                same.edge(names[above], names[below], style="invis", weight="1")
    return str(digraph.source)


def _label(text: str) -> str:
    """Return text as a plain label: escapes, entities and markup are taken literally."""
    lines = [graphviz.escape(_CONTROL.sub(" ", line).replace("&", "&amp;")) for line in text.split("\n")]
    return str(graphviz.nohtml("\\n".join(lines)))


def place(graph: Graph) -> Placement:
    """Let `dot` lay out the diagram. Raises DotMissingError or DotFailedError."""
    try:
        answer = subprocess.run(
            ["dot", "-Tjson"],
            input=dot_source(graph).encode(),
            capture_output=True,
            timeout=PATIENCE,
            check=True,
        ).stdout
    except FileNotFoundError as fault:
        raise DotMissingError from fault
    except subprocess.TimeoutExpired as fault:
        raise DotFailedError(f"it did not end within {PATIENCE} seconds") from fault
    except (subprocess.CalledProcessError, OSError) as fault:
        text = getattr(fault, "stderr", b"") or str(fault).encode()
        raise DotFailedError(text.decode("utf-8", "replace").strip()[:300]) from fault
    try:
        return _placement(graph, json.loads(answer))
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError) as fault:
        raise DotFailedError("its answer could not be read") from fault


def _placement(graph: Graph, found: dict[str, Any]) -> Placement:
    """Convert the layout to mm from the top left; graphviz counts points upward from the bottom left."""
    scale = MM_PER_INCH / 72
    _, _, width, height = (float(part) * scale for part in found["bb"].split(","))

    def point(text: str) -> tuple[float, float]:
        x, y = text.split(",")[:2]
        return float(x) * scale, height - float(y) * scale

    objects = {item["name"]: item for item in found.get("objects", [])}
    names = {node.id: f"n{number}" for number, node in enumerate(graph.nodes, 1)}
    nodes = {node.id: point(objects[names[node.id]]["pos"]) for node in graph.nodes}
    drawn: dict[tuple[int, int], list[str]] = {}
    for item in found.get("edges", []):  # graphviz returns edges in its own order
        drawn.setdefault((item["tail"], item["head"]), []).append(item["pos"])
    numbers = {node.id: objects[names[node.id]]["_gvid"] for node in graph.nodes}
    edges = tuple(
        tuple(point(text) for text in drawn[numbers[edge.tail], numbers[edge.head]].pop(0).split())
        for edge in graph.edges
    )
    return Placement(width, height, nodes, edges)
