"""The six passes in order: parse, resolve, check, solve, documents, render. A pass runs if none before found an error."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from rigcard.check.check import check
from rigcard.diagnostics import Sink
from rigcard.resolve.links import trace
from rigcard.resolve.resolve import resolve
from rigcard.solve.solve import solve
from rigcard.solve.solved import Solved
from rigcard.syntax.load import Program, load

if TYPE_CHECKING:
    from rigcard.render.typeface import EmbeddedTypeface

KINDS = ("cards", "wiring", "labels", "kit", "data")


class Checked(NamedTuple):
    """A program and what became of it; `solved` is None if an error stopped it."""

    program: Program | None
    solved: Solved | None


def check_rig(path: Path, sink: Sink, cache: str | None = None) -> Checked:
    """Everything that needs no paper: parse, resolve, check, solve."""
    program = load(path, sink, cache)
    if program is None:
        return Checked(None, None)
    rig = resolve(program, sink)
    if rig is None or sink.failed():
        return Checked(program, None)
    links = trace(rig)
    check(rig, links, sink)
    if sink.failed():
        return Checked(program, None)
    solved = solve(rig, links, sink)
    return Checked(program, None if sink.failed() else solved)


def build_rig(
    path: Path, sink: Sink, cache: str | None = None, only: tuple[str, ...] = KINDS
) -> dict[str, bytes] | None:
    """All papers of a rig by file name, or None if an error stopped them."""
    program, solved = check_rig(path, sink, cache)
    if program is None or solved is None:
        return None
    from rigcard.documents.wording import check_words
    from rigcard.render.typeface import EmbeddedTypeface  # reportlab, only where papers are made

    face = EmbeddedTypeface()
    check_words(program.statements, face, sink)
    if sink.failed():
        return None
    makers: dict[str, Callable[[], dict[str, bytes]]] = {
        "cards": lambda: _cards(face, solved),
        "wiring": lambda: _wiring(face, solved, sink),
        "labels": lambda: _labels(face, solved),
        "kit": lambda: _kit(face, solved),
        "data": lambda: _data(solved),
    }
    return {name: data for kind in KINDS if kind in only for name, data in makers[kind]().items()}


def _cards(face: "EmbeddedTypeface", solved: Solved) -> dict[str, bytes]:
    from rigcard.documents.cards.pack import card_document
    from rigcard.render.pdf import pdf

    return {"cards.pdf": pdf(card_document(face, solved), face)}


def _wiring(face: "EmbeddedTypeface", solved: Solved, sink: Sink) -> dict[str, bytes]:
    from rigcard.documents import codes
    from rigcard.documents.wiring import figure, power_graph, signal_graph, wiring_document
    from rigcard.render.dot import DotFailedError, DotMissingError, dot_source, place
    from rigcard.render.pdf import pdf
    from rigcard.render.svg import svg

    files: dict[str, bytes] = {}
    graphs = [graph for graph in (signal_graph(face, solved), power_graph(face, solved)) if graph.nodes]
    placed = []
    try:
        for graph in graphs:
            files[f"{graph.name}.gv"] = dot_source(graph).encode()
            placed.append((graph, place(graph)))
    except DotMissingError:
        sink.report(
            codes.DOT_MISSING,
            None,
            "the program `dot` is not on this machine, so the wiring diagram is left out; its table is there",
            "install Graphviz: apt-get install graphviz",
            where="dot",
        )
    except DotFailedError as fault:
        sink.report(
            codes.DOT_FAILED,
            None,
            f"the program `dot` gave no layout, so the wiring diagram is left out; its table is there: {fault}",
            "install Graphviz again: apt-get install --reinstall graphviz",
            where="dot",
        )
    for graph, placement in placed:
        title = f"{solved.rig.title}: {graph.title}"
        files[f"{graph.name}.svg"] = svg(figure(face, solved.rig, graph, placement), title).encode()
    files["wiring.pdf"] = pdf(wiring_document(face, solved, placed), face)
    return files


def _labels(face: "EmbeddedTypeface", solved: Solved) -> dict[str, bytes]:
    from rigcard.documents.labels import label_document
    from rigcard.render.pdf import pdf

    return {"labels.pdf": pdf(label_document(face, solved.rig), face)}


def _kit(face: "EmbeddedTypeface", solved: Solved) -> dict[str, bytes]:
    from rigcard.documents.kit import kit_csv, kit_document
    from rigcard.render.pdf import pdf

    text = kit_csv(solved.rig)
    return {"kit.pdf": pdf(kit_document(face, solved.rig), face), "kit.csv": text.encode("utf-8-sig")}


def _data(solved: Solved) -> dict[str, bytes]:
    from rigcard.documents.data import rig_json

    return {"rig.json": rig_json(solved).encode()}
