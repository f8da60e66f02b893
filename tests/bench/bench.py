"""Whole-process cost of `check` and `build` on the gorge sample beside floors measured in the same run.

The floor of `check` starts Python, imports lark, loads the grammar from lark's own cache, and reads the typeface that
the words of the papers are measured with. The floor of `build` does that, imports graphviz and what draws, runs `dot`
once on each of the same graphs, has reportlab's QR module (by itself, without its package) make the same codes, and
draws the same strings. All four run in turns; medians of CPU time (user and system, children included) and peak memory:
`python tests/bench/bench.py`.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path

from measure import processes

ROOT = Path(__file__).parents[2]
RIG = ROOT / "samples" / "gorge.rig"
RUNS = 15

FLOOR_CHECK = """
import argparse
from lark import Lark
from pkgutil import get_data
grammar = get_data("rigcard.grammar", "rig.lark").decode()
Lark(grammar, parser="lalr", lexer="contextual", start=["file", "unreadable"], maybe_placeholders=True, cache={cache!r})
from pathlib import Path
import font_source_sans_pro
from reportlab.pdfbase.ttfonts import TTFont
folder = Path(font_source_sans_pro.font_directory)
fonts = [TTFont(name, str(folder / f"SourceSansPro-{{name}}.ttf")) for name in ("Regular", "Semibold")]
"""
FLOOR_BUILD = (
    FLOOR_CHECK
    + """
import graphviz, json
from io import BytesIO
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas
import importlib.util, reportlab
place = Path(reportlab.__file__).parent / "graphics" / "barcode" / "qrencoder.py"
spec = importlib.util.spec_from_file_location("qrencoder", place)
encoder = importlib.util.module_from_spec(spec)
spec.loader.exec_module(encoder)
for font in fonts:
    pdfmetrics.registerFont(font)
for graph in {graphs!r}:
    graphviz.pipe("dot", "json", Path(graph).read_bytes(), quiet=True)
documents, codes = json.loads(Path({texts!r}).read_text(encoding="utf-8"))
for version, words in codes:
    code = encoder.QRCode(version, encoder.QRErrorCorrectLevel.M)
    code.addData(words)
    code.make()
for document in documents:
    canvas = Canvas(BytesIO(), invariant=1)
    for page in document:
        for x, y, size, bold, text in page:
            canvas.setFont("Semibold" if bold else "Regular", size)
            canvas.drawString(x, y, text)
        canvas.showPage()
    canvas.save()
"""
)


def marks_of_papers() -> tuple[list[list[list[tuple[float, float, float, bool, str]]]], list[tuple[int, str]]]:
    """Every string of every page of the sample's PDFs, and the version and text of every QR code."""
    from rigcard.diagnostics import Diagnostics
    from rigcard.documents.base.model import Squares, Text
    from rigcard.documents.cards.card_set import card_document
    from rigcard.documents.diagram.leads import list_document
    from rigcard.documents.diagram.power import power_graph
    from rigcard.documents.diagram.sheets import drawing_document
    from rigcard.documents.diagram.signals import signal_graph
    from rigcard.documents.kit.kit_list import kit_document
    from rigcard.documents.labels.label_sheets import label_document
    from rigcard.pipeline import check_rig
    from rigcard.render.dot import place
    from rigcard.render.typeface import EmbeddedTypeface

    face = EmbeddedTypeface()
    solved = check_rig(RIG, Diagnostics()).solved
    assert solved is not None
    graphs = [signal_graph(face, solved), power_graph(face, solved)]
    documents = [
        card_document(face, solved),
        drawing_document(face, solved.rig, [(graph, place(graph)) for graph in graphs]),
        list_document(face, solved),
        label_document(face, solved.rig),
        kit_document(face, solved),
    ]
    pages = [page for document in documents for page in document.pages]
    codes = [(mark.version, mark.text) for page in pages for mark in page.marks if isinstance(mark, Squares)]
    texts = [
        [
            [(mark.x, mark.y, mark.size, mark.bold, mark.text) for mark in page.marks if isinstance(mark, Text)]
            for page in document.pages
        ]
        for document in documents
    ]
    return texts, codes


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        out = str(folder / "out")
        python, rigcard = sys.executable, [sys.executable, "-m", "rigcard"]
        subprocess.run([*rigcard, "build", str(RIG), "-o", out], check=True, capture_output=True)
        texts = folder / "texts.json"
        with texts.open("wb") as file:  # by a process of its own: a child counts the memory of what started it
            subprocess.run([python, __file__, "marks"], check=True, stdout=file)
        graphs = [str(folder / "out" / "gorge" / f"{graph}.gv") for graph in ("wiring", "wiring-power")]
        values = {"cache": str(folder / "grammar"), "graphs": graphs, "texts": str(texts)}
        costs = processes(
            {
                "floor of check": [python, "-c", FLOOR_CHECK.format(**values)],
                "check": [*rigcard, "check", str(RIG)],
                "floor of build": [python, "-c", FLOOR_BUILD.format(**values)],
                "build": [*rigcard, "build", str(RIG), "-o", out],
            },
            RUNS,
        )
    for what in ("check", "build"):
        cost, floor = costs[what], costs[f"floor of {what}"]
        print(
            f"{what}: {cost.seconds * 1000:.0f} ms CPU, floor {floor.seconds * 1000:.0f} ms, "
            f"ratio {cost.seconds / floor.seconds:.2f}; peak {cost.memory:.0f} MiB, floor {floor.memory:.0f} MiB"
        )


if __name__ == "__main__":
    if sys.argv[1:] == ["marks"]:
        print(json.dumps(marks_of_papers()))
    else:
        main()
