"""`build` beside four engines that set the same words: `python tests/bench/peers.py`.

The engines are an HTML-to-PDF engine, two PDF libraries with a flow of paragraphs and tables, and a compiled
typesetter; `pip install '.[bench]'` installs them. Each gets the words of our papers as rows of cells, row after row,
with sizes and weights, in the same typeface, on the same size of paper, and sets rows of one cell as paragraphs and
rows of more as tables. It neither parses a rig nor solves nor draws: no codes, no drawings, no rules. `build` does all
of that in its time. Two texts of two rigs: the cards (against `build --only cards`) and all papers (against `build`).

All run in turns, as whole processes; medians of CPU time (user and system, children included) and of peak memory.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from itertools import groupby
from pathlib import Path

from measure import processes
from production import production

if sys.argv[1:2] == ["rows"]:  # the engines must not pay for what they do not use
    from rigcard.diagnostics import Diagnostics
    from rigcard.documents.base.model import Document, Frame, Text
    from rigcard.outputs.registry import KINDS, Request
    from rigcard.pipeline import build_rig
    from rigcard.render.typeface import EmbeddedTypeface

Cell = tuple[str, float, bool]  # text, points, bold
Row = list[Cell]

SAMPLES = Path(__file__).parents[2] / "samples"
RUNS = 5
STATIONS = (6, 12)
MARGIN = 10  # mm
A4 = (210, 297)


# ---- the words of our papers --------------------------------------------------------------------------------------


def rows_of(rig: str, only: tuple[str, ...]) -> Iterator[Row]:
    """Every line of text of a rig's papers, from top to bottom of each card or label."""
    for document in documents_of(rig, only):
        for page in document.pages:
            left = [mark for mark in page.marks if isinstance(mark, Text)]
            for frame in [*page.frames, Frame("page", 0, 0, page.width, page.height)]:
                right, foot = frame.x + frame.width, frame.y + frame.height
                inside = [text for text in left if frame.x <= text.x <= right and frame.y <= text.y <= foot]
                left = [text for text in left if text not in inside]
                inside.sort(key=lambda text: (round(text.y, 1), text.x))
                for _, line in groupby(inside, key=lambda text: round(text.y, 1)):
                    yield [(text.text, text.size, text.bold) for text in line]


def documents_of(rig: str, only: tuple[str, ...]) -> list[Document]:
    """Every document that a build draws as PDF."""
    from rigcard.render import pdf

    documents: list[Document] = []
    draw = pdf.pdf

    def keep(document: Document, face: EmbeddedTypeface) -> bytes:
        documents.append(document)
        return draw(document, face)

    pdf.pdf = keep  # before the outputs are imported, which take it from there
    assert build_rig(rig, Diagnostics(), None, Request(only or KINDS), (str(SAMPLES / "stock"),))
    return documents


def tables(rows: list[Row]) -> Iterator[tuple[int, list[Row]]]:
    """Rows that follow each other and have as many cells, with that number."""
    for count, some in groupby(rows, key=len):
        yield count, list(some)


# ---- the engines ------------------------------------------------------------------------------------------------


def fonts() -> tuple[Path, Path]:
    """The regular and the bold file of the typeface of our papers."""
    import font_source_sans_pro

    folder = Path(font_source_sans_pro.font_directory)
    return folder / "SourceSansPro-Regular.ttf", folder / "SourceSansPro-Semibold.ttf"


def html(rows: list[Row], out: str) -> None:
    """By the HTML-to-PDF engine."""
    from html import escape

    from weasyprint import HTML

    regular, bold = fonts()
    style = (
        f"@page {{ size: a4; margin: {MARGIN}mm }}"
        f"@font-face {{ font-family: F; src: url({regular.as_uri()}) }}"
        f"@font-face {{ font-family: F; font-weight: bold; src: url({bold.as_uri()}) }}"
        "body { font-family: F; margin: 0 } p { margin: 0 }"
        "table { width: 100%; table-layout: fixed; border-collapse: collapse } td { padding: 0 }"
    )

    def words(cell: Cell) -> str:
        text, size, heavy = cell
        return f'style="font-size: {size:g}pt{"; font-weight: bold" if heavy else ""}">{escape(text)}'

    parts = []
    for count, some in tables(rows):
        if count == 1:
            parts += [f"<p {words(row[0])}</p>" for row in some]
        else:
            lines = ("".join(f"<td {words(cell)}</td>" for cell in row) for row in some)
            parts.append(f"<table>{''.join(f'<tr>{line}</tr>' for line in lines)}</table>")
    HTML(string=f"<!doctype html><style>{style}</style>{''.join(parts)}").write_pdf(out)


def fpdf2(rows: list[Row], out: str) -> None:
    """By the PDF library fpdf2."""
    from fpdf import FPDF
    from fpdf.fonts import FontFace

    paper = FPDF(format="A4")
    paper.set_margin(MARGIN)
    for style, file in zip(("", "B"), fonts(), strict=True):
        paper.add_font("F", style, str(file))
    paper.add_page()
    for count, some in tables(rows):
        if count == 1:
            for ((text, size, heavy),) in some:
                paper.set_font("F", "B" if heavy else "", size)
                paper.multi_cell(0, size * 0.42, text, new_x="LMARGIN", new_y="NEXT")
            continue
        with paper.table(first_row_as_headings=False, borders_layout="NONE", line_height=4) as table:
            for row in some:
                line = table.row()
                for text, size, heavy in row:
                    face = FontFace(family="F", emphasis="BOLD" if heavy else None, size_pt=size)
                    line.cell(text, style=face)
    paper.output(out)


def platypus(rows: list[Row], out: str) -> None:
    """By reportlab's own flow of paragraphs and tables."""
    from html import escape

    from reportlab.lib.styles import ParagraphStyle
    from reportlab.lib.units import mm
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.platypus import Paragraph, SimpleDocTemplate, Table

    for name, file in zip(("F", "B"), fonts(), strict=True):
        pdfmetrics.registerFont(TTFont(name, str(file)))
    styles: dict[tuple[float, bool], ParagraphStyle] = {}

    def words(cell: Cell) -> Paragraph:
        text, size, heavy = cell
        if (size, heavy) not in styles:
            font = "B" if heavy else "F"
            styles[size, heavy] = ParagraphStyle(
                f"{size}{font}", fontName=font, fontSize=size, leading=size * 1.2
            )
        return Paragraph(escape(text), styles[size, heavy])

    flow: list[object] = []
    inside = (A4[0] - 2 * MARGIN) * mm
    for count, some in tables(rows):
        if count == 1:
            flow += [words(row[0]) for row in some]
        else:
            flow.append(
                Table(
                    [[words(cell) for cell in row] for row in some],
                    [inside / count] * count,
                    style=[
                        (f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")
                    ],
                )
            )
    edges = dict.fromkeys(("leftMargin", "rightMargin", "topMargin", "bottomMargin"), MARGIN * mm)
    SimpleDocTemplate(out, pagesize=(A4[0] * mm, A4[1] * mm), **edges).build(flow)


def typesetter(rows: list[Row], out: str) -> None:
    """By the compiled typesetter."""
    import typst

    def words(cell: Cell) -> str:
        text, size, heavy = cell
        weight = ', weight: "semibold"' if heavy else ""
        return f"text(size: {size:g}pt{weight}, {json.dumps(text, ensure_ascii=False)})"

    parts = [
        f'#set page("a4", margin: {MARGIN}mm)\n',
        '#set text(font: "Source Sans Pro")\n',
        "#set par(spacing: 0.6em)\n#set table(inset: 0pt, stroke: none, row-gutter: 2pt)\n",
    ]
    for count, some in tables(rows):
        if count == 1:
            parts += [f"#par({words(row[0])})\n" for row in some]
        else:
            cells = ",\n".join(words(cell) for row in some for cell in row)
            parts.append(f"#table(columns: (1fr,) * {count},\n{cells})\n")
    regular, _ = fonts()
    typst.compile(
        "".join(parts).encode(), output=out, font_paths=[str(regular.parent)], ignore_system_fonts=True
    )


ENGINES: dict[str, Callable[[list[Row], str], None]] = {
    "HTML-to-PDF engine": html,
    "fpdf2": fpdf2,
    "platypus": platypus,
    "compiled typesetter": typesetter,
}


# ---- the runs -----------------------------------------------------------------------------------------------------


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        rigs = {"gorge": SAMPLES / "gorge.rig"}
        for stations in STATIONS:
            rigs[f"production of {stations}"] = path = folder / f"production-{stations}.rig"
            path.write_text(production(stations, stations), encoding="utf-8")
        for rig, path in rigs.items():
            for what, only in (("cards", ["--only", "cards"]), ("all papers", [])):
                compare(folder, rig, path, what, only)


def compare(folder: Path, rig: str, path: Path, what: str, only: list[str]) -> None:
    """Measure one text of one rig, and print a line an engine."""
    texts, out = folder / "rows.json", str(folder / "set.pdf")
    with texts.open("wb") as file:  # by a process of its own: a child begins with the memory of what started it
        subprocess.run([sys.executable, __file__, "rows", str(path), *only[1:]], check=True, stdout=file)
    build = ["-m", "rigcard", "build", str(path), "--stock", str(SAMPLES / "stock"), "--jobs", "1", *only]
    commands = {"build": [sys.executable, *build, "-o", str(folder / "out")]}
    for engine in ENGINES:
        commands[engine] = [sys.executable, __file__, "set", engine, str(texts), out]
    costs = processes(commands, RUNS)
    own = costs["build"]
    rows = json.loads(texts.read_text(encoding="utf-8"))
    print(f"{rig}, {what}, {len(rows)} lines: build {own.seconds:.2f} s CPU, peak {own.memory:.0f} MiB")
    for engine in ENGINES:
        cost = costs[engine]
        print(
            f"  {engine}: {cost.seconds:.2f} s, {cost.seconds / own.seconds:.2f} of build; "
            f"peak {cost.memory:.0f} MiB, {cost.memory / own.memory:.2f}",
            flush=True,
        )


if __name__ == "__main__":
    if sys.argv[1:2] == ["rows"]:
        json.dump(list(rows_of(sys.argv[2], tuple(sys.argv[3:]))), sys.stdout)
    elif sys.argv[1:2] == ["set"]:
        found = json.loads(Path(sys.argv[3]).read_text(encoding="utf-8"))
        ENGINES[sys.argv[2]]([[tuple(cell) for cell in row] for row in found], sys.argv[4])
    else:
        main()
