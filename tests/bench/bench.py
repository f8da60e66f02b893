"""Whole-process cost of `check` and `build` on the gorge sample, as ratios to floors measured in the same run.

The floor of `check` starts Python, imports lark and loads the cached grammar. The floor of `build` does that, imports
reportlab and graphviz with the same typeface, runs `dot` once on each of the same graphs, has reportlab make the same
QR codes, and draws the same strings. Times are the least CPU time (user + system, children included) of several runs: `python bench.py`.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
RIG = ROOT / "samples" / "gorge.rig"
RUNS = 15

FLOOR_CHECK = """
import argparse
from lark import Lark
from pkgutil import get_data
grammar = get_data("rigcard.grammar", "rig.lark").decode()
Lark(grammar, parser="lalr", lexer="contextual", start=["file", "unreadable"], maybe_placeholders=True, cache={cache!r})
"""
FLOOR_BUILD = (
    FLOOR_CHECK
    + """
import graphviz, json
from io import BytesIO
from pathlib import Path
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel
import font_source_sans_pro
fonts = Path(font_source_sans_pro.font_directory)
for name in ("Regular", "Semibold"):
    pdfmetrics.registerFont(TTFont(name, str(fonts / f"SourceSansPro-{{name}}.ttf")))
for graph in {graphs!r}:
    graphviz.pipe("dot", "json", Path(graph).read_bytes(), quiet=True)
documents, codes = json.loads(Path({texts!r}).read_text(encoding="utf-8"))
for version, words in codes:
    code = QRCode(version, QRErrorCorrectLevel.M)
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


def cpu_seconds(command: list[str]) -> float:
    """Least CPU time of a command over several runs."""
    times = []
    for _ in range(RUNS):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(command, check=True, capture_output=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(times)


def marks_of_papers() -> tuple[list[list[list[tuple[float, float, float, bool, str]]]], list[tuple[int, str]]]:
    """Every string of every page of the sample's PDFs, and the version and text of every QR code."""
    from rigcard.diagnostics import Diagnostics
    from rigcard.documents.base.model import Squares, Text
    from rigcard.documents.cards.card_set import card_document
    from rigcard.documents.diagram.wiring import power_graph, signal_graph, wiring_document
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
        wiring_document(face, solved, [(graph, place(graph)) for graph in graphs]),
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
    import json

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        out = str(folder / "out")
        python, rigcard = sys.executable, [sys.executable, "-m", "rigcard"]
        subprocess.run([*rigcard, "build", str(RIG), "-o", out], check=True, capture_output=True)
        texts = folder / "texts.json"
        texts.write_text(json.dumps(marks_of_papers()), encoding="utf-8")
        graphs = [str(folder / "out" / "gorge" / f"{graph}.gv") for graph in ("wiring", "wiring-power")]
        values = {"cache": str(folder / "grammar"), "graphs": graphs, "texts": str(texts)}
        floor_check = cpu_seconds([python, "-c", FLOOR_CHECK.format(**values)])
        floor_build = cpu_seconds([python, "-c", FLOOR_BUILD.format(**values)])
        check = cpu_seconds([*rigcard, "check", str(RIG)])
        build = cpu_seconds([*rigcard, "build", str(RIG), "-o", out])
    for what, time, floor in (("check", check, floor_check), ("build", build, floor_build)):
        print(f"{what}: {time * 1000:.0f} ms CPU, floor {floor * 1000:.0f} ms, ratio {time / floor:.2f}")


if __name__ == "__main__":
    main()
