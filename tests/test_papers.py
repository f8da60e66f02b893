"""The papers as other programs read them: page sizes, text, fonts, structure, labels, lists.

Sizes of paper: tests/reference/paper.csv; geometry of labels: tests/reference/labelling.csv; sources stand there.
"""

from __future__ import annotations

import csv
import json
import re
import subprocess
from collections.abc import Iterator
from decimal import Decimal
from io import BytesIO, StringIO
from itertools import pairwise, product
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree

import pdfplumber
import pikepdf
import pypdf
import pytest

from conftest import SAMPLES
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import MM_PER_POINT, SMALLEST, Document, Text
from rigcard.documents.base.paper import POCKET, SIZES, STOCKS
from rigcard.documents.cards import cautions
from rigcard.documents.cards.card_set import card_document
from rigcard.documents.diagram.wiring import STYLES, Graph, figure, power_graph, signal_graph, wiring_document
from rigcard.documents.kit.kit_list import HEADER, kit_csv, kit_document
from rigcard.documents.labels.cable_labels import flag_length, girth, wrap_length
from rigcard.documents.labels.label_sheets import label_document
from rigcard.outputs.registry import Request
from rigcard.pipeline import build_rig, check_rig
from rigcard.render.dot import dot_source, place
from rigcard.render.pdf import pdf
from rigcard.render.svg import svg
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Solved

FACE = EmbeddedTypeface()
REFERENCE = Path(__file__).parent / "reference"
PAPERS = ("a4", "letter")
KINDS = ("cards", "labels", "kit", "wiring")
PUBLISHED = {"a3": "A3", "a4": "A4", "a5": "A5", "a6": "A6", "letter": "A (letter)", "tabloid": "B (tabloid)"}
UNPRINTABLE = 4.2  # mm: what an office printer leaves white; common practice, no source
SVG = "{http://www.w3.org/2000/svg}"


def table(name: str) -> list[dict[str, str]]:
    """The rows of a file of reference values."""
    return list(csv.DictReader((REFERENCE / name).read_text(encoding="utf-8").splitlines()))


class Papers(NamedTuple):
    """A sample on one paper: every document with its PDF."""

    solved: Solved
    documents: dict[str, Document]
    files: dict[str, bytes]


MADE: dict[tuple[Path, str], Papers] = {}


def solved_rig(path: Path) -> Solved:
    """A rig that must compile."""
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics).solved
    assert solved is not None, [found.message for found in diagnostics]
    return solved


def made(path: Path, paper: str) -> Papers:
    """The papers of a sample; made once a process."""
    if (path, paper) not in MADE:
        solved = solved_rig(path)
        solved = solved._replace(rig=solved.rig._replace(paper=paper))
        graphs = [graph for graph in (signal_graph(FACE, solved), power_graph(FACE, solved)) if graph.nodes]
        found = {
            "cards": card_document(FACE, solved),
            "labels": label_document(FACE, solved.rig),
            "kit": kit_document(FACE, solved),
            "wiring": wiring_document(FACE, solved, [(graph, place(graph)) for graph in graphs]),
        }
        files = {name: pdf(document, FACE, compress=False) for name, document in found.items()}
        MADE[path, paper] = Papers(solved, found, files)
    return MADE[path, paper]


@pytest.fixture(params=list(product(SAMPLES, PAPERS)), ids=lambda pair: f"{pair[0].stem}-{pair[1]}")
def papers(request: pytest.FixtureRequest) -> Papers:
    """Each sample on either paper."""
    return made(*request.param)


def squeezed(text: str) -> str:
    """Text without spaces."""
    return "".join(text.split())


# ---- pages -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_sizes_of_paper(name: str) -> None:
    """ISO 216 and ANSI/ASME Y14.1 (paper.csv), in mm and in points."""
    (row,) = (row for row in table("paper.csv") if row["name"] == PUBLISHED[name])

    assert SIZES[name] == (float(row["width_mm"]), float(row["height_mm"]))
    assert SIZES[name][0] / MM_PER_POINT == pytest.approx(float(row["width_pt"]), abs=0.001)
    assert SIZES[name][1] / MM_PER_POINT == pytest.approx(float(row["height_pt"]), abs=0.001)


def test_every_size_is_a_published_one() -> None:
    """No paper without a standard."""
    assert set(SIZES) == set(PUBLISHED)


def test_pages_have_the_size_of_their_paper(papers: Papers) -> None:
    """Read by pypdf: labels and lists upright on the paper of the rig, cards also across; diagrams on the next size too."""
    larger = {"a4": "A3", "letter": "B (tabloid)"}[papers.solved.rig.paper]
    sizes = {
        row["name"]: sorted((float(row["width_pt"]), float(row["height_pt"]))) for row in table("paper.csv")
    }
    own = sizes[PUBLISHED[papers.solved.rig.paper]]
    for name, data in papers.files.items():
        for page in pypdf.PdfReader(BytesIO(data)).pages:
            size = [float(page.mediabox.width), float(page.mediabox.height)]
            allowed = {"wiring": [own, own[::-1], sizes[larger][::-1]], "cards": [own, own[::-1]]}.get(
                name, [own]
            )
            assert any(size == pytest.approx(known, abs=0.01) for known in allowed), (name, size)


def test_cards_lie_inside_the_printable_paper(papers: Papers) -> None:
    """Cards of 100 x 134 mm or two of them joined, edge to edge, none over another, with 4.2 mm of paper round them."""
    assert (POCKET, STOCKS[""].bench) == ((100.0, 134.0), (134.0, 200.0))
    document = papers.documents["cards"]
    sheets = [{(frame.width, frame.height) for frame in page.frames} for page in document.pages]
    for page, sizes, after in zip(document.pages, sheets, [*sheets[1:], set()], strict=True):
        (size,) = sizes
        assert size in STOCKS[""]
        full = 4 if size == POCKET else 2
        assert len(page.frames) == full or (len(page.frames) < full and after != sizes)
        for frame in page.frames:
            assert frame.x >= UNPRINTABLE and frame.x + frame.width <= page.width - UNPRINTABLE
            assert frame.y >= UNPRINTABLE and frame.y + frame.height <= page.height - UNPRINTABLE
            for other in page.frames:
                across = abs(other.x - frame.x) >= frame.width - 1e-9
                assert other is frame or across or abs(other.y - frame.y) >= frame.height - 1e-9


def test_text_is_legible_and_on_the_paper(papers: Papers) -> None:
    """No text is smaller than the smallest size, and none begins or ends beyond the paper."""
    for document in papers.documents.values():
        for page in document.pages:
            for mark in page.marks:
                if isinstance(mark, Text):
                    assert mark.size >= SMALLEST
                    assert mark.x >= 0 and mark.x + (0 if mark.angle else mark.width) <= page.width


# ---- PDF ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_text_is_read_back_where_it_was_set(papers: Papers, kind: str) -> None:
    """pypdf finds the words of every text mark on its own page."""
    reader = pypdf.PdfReader(BytesIO(papers.files[kind]))
    document = papers.documents[kind]

    assert len(reader.pages) == len(document.pages)
    for page, read in zip(document.pages, reader.pages, strict=True):
        text = squeezed(read.extract_text())
        for mark in page.marks:
            if isinstance(mark, Text):
                assert squeezed(mark.text) in text, mark


def test_characters_stand_where_they_were_set(papers: Papers) -> None:
    """pdfplumber finds the first and last character of each upright line at its place, to a tenth of a mm."""
    document = papers.documents["labels"]
    with pdfplumber.open(BytesIO(papers.files["labels"])) as read:
        for page, found in zip(document.pages, read.pages, strict=True):
            starts = {(round(char["x0"], 0), char["text"]) for char in found.chars}
            ends = [(char["x1"], char["text"]) for char in found.chars]
            for mark in page.marks:
                if isinstance(mark, Text) and not mark.angle and mark.text.strip() == mark.text != "":
                    x = mark.x / MM_PER_POINT
                    assert {(round(x, 0), mark.text[0]), (round(x + 0.3, 0), mark.text[0])} & starts, mark
                    right = (mark.x + mark.width) / MM_PER_POINT
                    assert any(abs(x1 - right) < 0.3 and char == mark.text[-1] for x1, char in ends), mark


@pytest.mark.parametrize("kind", KINDS)
def test_fonts_are_embedded_subsets(papers: Papers, kind: str) -> None:
    """Read by pikepdf: every font has its file inside and a subset's tag of six letters (ISO 32000-1, 9.6.4)."""
    names = set()
    with pikepdf.open(BytesIO(papers.files[kind])) as read:
        for page in read.pages:
            for font in page.Resources.get("/Font", {}).values():
                names.add(str(font.BaseFont))
                assert re.fullmatch(r"/[A-Z]{6}\+.+", str(font.BaseFont)), f"{font.BaseFont} is not embedded"
                assert "/FontFile2" in font.FontDescriptor
                assert "/ToUnicode" in font
    assert names


@pytest.mark.parametrize("kind", KINDS)
def test_no_text_is_set_in_a_font_that_is_not_embedded(papers: Papers, kind: str) -> None:
    """pdfplumber names the font of every character: always a subset."""
    with pdfplumber.open(BytesIO(papers.files[kind])) as read:
        names = {char["fontname"] for page in read.pages[:4] for char in page.chars}

    assert names
    assert all(re.match(r"[A-Z]{6}\+", name) for name in names), names


@pytest.mark.parametrize("kind", KINDS)
def test_title_language_and_bookmarks(papers: Papers, kind: str) -> None:
    """The document tells its title and language (ISO 32000-1, 14.3.3 and 14.9.2); each bookmark leads to its page."""
    reader = pypdf.PdfReader(BytesIO(papers.files[kind]))
    document = papers.documents[kind]
    assert reader.metadata is not None

    assert reader.metadata.title == document.title
    assert papers.solved.rig.title in document.title
    assert reader.trailer["/Root"]["/Lang"] == "en"
    expected = [(title, at) for at, page in enumerate(document.pages) for title in page.bookmarks]
    found = [(mark.title, reader.get_destination_page_number(mark)) for mark in reader.outline]
    assert found == expected
    assert found


@pytest.mark.parametrize("kind", KINDS)
def test_qpdf_finds_no_fault(papers: Papers, kind: str, tmp_path: Path) -> None:
    """`qpdf --check` ends with 0 and warns of nothing, compressed or not."""
    for compress in (False, True):
        path = tmp_path / "papers.pdf"
        path.write_bytes(pdf(papers.documents[kind], FACE, compress=compress))
        run = subprocess.run(["qpdf", "--check", str(path)], capture_output=True, text=True, check=False)
        assert run.returncode == 0, run.stdout + run.stderr
        assert "WARNING" not in run.stdout + run.stderr


@pytest.mark.parametrize("kind", KINDS)
def test_every_page_tells_what_it_belongs_to(papers: Papers, kind: str) -> None:
    """Title, job, revision, date and a check code stand on every page, and on every card."""
    rig = papers.solved.rig
    for page in papers.documents[kind].pages:
        parts = [
            [
                mark.text
                for mark in page.marks
                if isinstance(mark, Text)
                and (kind != "cards" or _inside(mark, frame.x, frame.y, frame.width, frame.height))
            ]
            for frame in (page.frames if kind == "cards" else page.frames[:1])
        ]
        for texts in parts:
            whole = squeezed("".join(texts))
            for fact in (rig.title, rig.job, f"rev {rig.revision}", rig.date):
                assert squeezed(fact) in whole, fact
            assert any(re.search(r"check [2-9A-Z]{4}$", text) for text in texts)


def _inside(mark: Text, x: float, y: float, width: float, height: float) -> bool:
    return x <= mark.x <= x + width and y <= mark.y <= y + height


def test_a_change_changes_the_codes_of_its_cards_only() -> None:
    """A new software version gives that unit's cards and the cover another check code; other cards keep theirs."""
    solved = check_rig(SAMPLES[0], Diagnostics()).solved
    assert solved is not None
    units = solved.rig.units
    changed = {
        name: unit._replace(software="9.9") if unit.role == "head" else unit for name, unit in units.items()
    }
    before, after = (
        [
            mark.text
            for page in card_document(FACE, each).pages
            for mark in page.marks
            if isinstance(mark, Text) and re.fullmatch(r"check \w{4}", mark.text)
        ]
        for each in (solved, solved._replace(rig=solved.rig._replace(units=changed)))
    )
    kept = [old == new for old, new in zip(before, after, strict=True)]

    assert not kept[0]
    assert 0 < kept.count(True) < len(kept) - 1


def test_cards_are_numbered_through(papers: Papers) -> None:
    """`card n of m` runs from 1 to m without a gap."""
    texts = [
        mark.text for page in papers.documents["cards"].pages for mark in page.marks if isinstance(mark, Text)
    ]
    found = [match.groups() for text in texts if (match := re.match(r"card (\d+) of (\d+)", text))]

    assert [int(number) for number, _ in found] == list(range(1, len(found) + 1))
    assert {int(of) for _, of in found} == {len(found)}


# ---- what cards say ----------------------------------------------------------------------------------------------


def card_texts(papers: Papers) -> list[str]:
    """The text of every card without spaces, in order."""
    return [
        squeezed(
            "".join(
                mark.text
                for mark in page.marks
                if isinstance(mark, Text) and _inside(mark, frame.x, frame.y, frame.width, frame.height)
            )
        )
        for page in papers.documents["cards"].pages
        for frame in page.frames
    ]


def test_cards_tell_every_dialled_value(papers: Papers) -> None:
    """Sub-trim, levels and pulses of every channel stand on a card of their handset, negative ones with a true minus."""
    whole = "".join(card_texts(papers))
    negative = 0
    for sheet in papers.solved.results.values():
        values = [f"{sheet.dial.subtrim}"] if sheet.dial.subtrim else []
        for row in sheet.rows:
            percent = round(Decimal(row.level.percent.numerator) / Decimal(row.level.percent.denominator), 1)
            values.append(f"{'+' if percent > 0 else ''}{percent.normalize():f}%")
            pulse = round(Decimal(row.pulse.numerator) / Decimal(row.pulse.denominator), 1)
            values.append(f"{pulse.normalize():f}µs")
        for value in values:
            negative += value.startswith("-")
            assert value.replace("-", "\N{MINUS SIGN}") in whole, value
    assert negative


def test_no_hyphen_stands_for_a_minus(papers: Papers) -> None:
    """No number on a card has a hyphen for its sign (Unicode names U+2212 the minus sign)."""
    for page in papers.documents["cards"].pages:
        for mark in page.marks:
            if isinstance(mark, Text):
                assert not re.search(r"(?:^|[ (])-\d+(?:\.\d+)?(?: ?%| ?µs|$)", mark.text), mark.text


def test_cautions_stand_whole(papers: Papers) -> None:
    """Every caution of the rig and the sentence that defers to law and the competent person are printed to the letter."""
    cards = card_texts(papers)
    rig = papers.solved.rig
    lines = cautions.on("cover", rig)

    assert lines
    for line in lines:
        assert any(squeezed(line) in card for card in cards), line
    assert any(squeezed(cautions.DEFER) in card for card in cards)
    for unit in rig.units.values():
        for line in cautions.of_unit(rig, unit):
            assert line in lines


def test_caution_lines_are_short() -> None:
    """A caution has at most twelve words: common practice, no source."""
    more = (cautions.HEAVY, cautions.NEW_LOAD, cautions.LOOK_ALIKE, cautions.SPECIAL)
    for caution in (*cautions.LINES.values(), *more):
        assert 4 <= len(caution.text.split()) <= 12, caution


def test_nothing_is_called_safe(papers: Papers) -> None:
    """The papers say what was checked and what was not; no word of theirs calls anything safe."""
    for kind, data in papers.files.items():
        for page in pypdf.PdfReader(BytesIO(data)).pages:
            assert not re.search(r"\bsafe(ly|ty)?\b", page.extract_text(), re.I), kind


# ---- wiring ------------------------------------------------------------------------------------------------------

ODD = (
    '<b>bold</b> & "quoted"',
    "\\N \\G \\l {a|b} <<i>x</i>>",
    "]]></text><script>&amp;",
    "=1+1",
    "@x & y",
    "%s $1",
    "-- # //",
)
ODD_RIG = """
rig {0} {{ job {1}; revision "A"; crew op {2} }}
signal dc {3} carries power
model hm {4} {{ role handset; stick k {0} left to right; channels 8; pulse 1520us centre, 4us per 1%
  travel 0%..140% step 1%; subtrim -80..80 steps, 80 steps = 12%, shifts whole; reverse before subtrim
  mix before travel; output -150%..150% }}
model rm {5} {{ role receiver; channels 8; port p1 out servo channel 1 }}
model mm {6} {{ role motor; port a in servo; port b in dc; input i on a {1} {{ sweeps near to far }} }}
model pm "P" {{ role pack; port o out dc }}
unit hs is hm {0} {{ held by op; memory 1 "M"; channel 1 c from k failsafe hold; note {6}; asset {3} }}
unit rx is rm {1} {{ bound to hs; asset {4}; case {3} }}
unit mo is mm {2} {{ note {0}; serial {5}; asset {6}; case {4} }}
unit pk is pm {3}
cable W1 {4} {{ rx.p1 to mo.a; length 1m; jacket 3mm }}
cable P1 {5} {{ pk.o to mo.b; length 1m; jacket 6mm }}
"""


def odd_rig(folder: Path) -> Solved:
    """A rig whose words look like markup, escapes and formulas."""
    escaped = [text.replace("\\", "\\\\").replace('"', '\\"') for text in ODD]
    path = folder / "odd.rig"
    path.write_text(ODD_RIG.format(*(f'"{text}"' for text in escaped)), encoding="utf-8")
    return solved_rig(path)


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


def test_the_diagram_has_every_part_and_line(papers: Papers) -> None:
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


def test_the_source_of_the_diagram_has_every_part_and_line(papers: Papers) -> None:
    """Graphviz reads as many nodes and edges from the .gv text as the diagram has."""
    for graph in graphs_of(papers.solved):
        run = subprocess.run(
            ["dot", "-Tplain"], input=dot_source(graph).encode(), capture_output=True, check=True
        )
        lines = [line.split() for line in run.stdout.decode().splitlines()]
        kinds = [words[0] for words in lines if words and "invis" not in words]
        assert kinds.count("node") == len(graph.nodes)
        assert kinds.count("edge") == len(graph.edges)


# ---- lists -------------------------------------------------------------------------------------------------------


def kit_rows(solved: Solved) -> list[dict[str, str]]:
    """The kit list as the csv module reads it."""
    return list(csv.DictReader(StringIO(kit_csv(solved), newline="")))


def test_kit_list_is_read_back(papers: Papers) -> None:
    """Every unit and cable once, with its words; masses and lengths as numbers; totals as on the printed list."""
    rig = papers.solved.rig
    rows = kit_rows(papers.solved)

    assert set(rows[0]) == set(HEADER)
    spares = [f"{name}-S{n}" for name, cable in rig.cables.items() for n in range(1, cable.build.spares + 1)]
    uses = papers.solved.power.packs if papers.solved.power else ()
    packs = {use.unit: use.packs + use.spares - 1 for use in uses if use.packs is not None}
    more = [f"{name}.{number + 2}" for name, count in packs.items() for number in range(count)]
    assert sorted(row["id"] for row in rows) == sorted([*rig.units, *rig.cables, *spares, *more])
    by_id = {row["id"]: row for row in rows}
    mass = Decimal(0)
    for name, unit in rig.units.items():
        row = by_id[name]
        assert (row["item"], row["asset"], row["serial"], row["case"]) == (
            unit.title,
            unit.asset,
            unit.serial,
            unit.case,
        )
        mass += Decimal(row["mass kg"] or 0)
    for name, cable in rig.cables.items():
        assert by_id[name]["item"] == cable.title
        mass += Decimal(by_id[name]["mass kg"] or 0) * (1 + cable.build.spares)
        assert cable.length == Decimal(by_id[name]["length mm"])
    for name in more:
        assert by_id[name]["asset"] == by_id[name]["serial"] == "", "its number is to be written in"
        mass += Decimal(by_id[name]["mass kg"] or 0)
    pieces = {name: 1 + packs.get(name, 0) * (unit.role == "pack") for name, unit in rig.units.items()}
    expected = sum(((unit.model.mass or 0) * pieces[name] for name, unit in rig.units.items()), start=0)
    expected += sum((cable.build.mass or 0) * (1 + cable.build.spares) for cable in rig.cables.values())
    assert mass == expected
    text = squeezed(
        "".join(
            mark.text for page in papers.documents["kit"].pages for mark in page.marks if isinstance(mark, Text)
        )
    )
    counts = f"{len(rig.units)}units,{len(rig.cables)}cables"
    beside = f",{len(more)}morepack{'s' * (len(more) != 1)}" if more else ""
    beside += f",{len(spares)}sparecable{'s' * (len(spares) != 1)}" if spares else ""
    assert f"{len(rows)}pieces:{counts}{beside};{mass.normalize():f}kg" in text


def test_no_cell_is_a_formula(tmp_path: Path, papers: Papers) -> None:
    """No cell begins with a character that a spreadsheet runs: = + - @ tab return (common practice, no source)."""
    for solved in (papers.solved, odd_rig(tmp_path)):
        for row in kit_rows(solved):
            assert not [cell for cell in row.values() if cell[:1] in ("=", "+", "-", "@", "\t", "\r")]
    assert {row["item"] for row in kit_rows(odd_rig(tmp_path))} >= {ODD[0], f"'{ODD[3]}", f"'{ODD[4]}"}


# ---- labels ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", table("labelling.csv"), ids=lambda row: row["diameter_mm"])
def test_published_lengths_of_labels(row: dict[str, str]) -> None:
    """labelling.csv: a flag is two faces and a turn, a wrap print and a turn; film is cut to whole mm, never short."""
    diameter = float(row["diameter_mm"])

    assert girth(diameter) == pytest.approx(float(row["girth_mm"]), abs=0.005)
    flag = flag_length(diameter, 20.0) - float(row["flag_face_20_mm"])
    assert -0.005 <= flag < 1.005
    wrapped = wrap_length(diameter, 9.0)
    if row["note"]:
        assert wrapped is None
    else:
        assert wrapped is not None
        assert -0.005 <= wrapped - float(row["self_laminating_print_9_mm"]) - 2.0 < 1.005  # 2 mm overlap


def test_worked_lengths_of_labels() -> None:
    """A wrap is print + girth + 2 mm of overlap (common practice, no source), a flag 2 x face + girth: arithmetic."""
    assert (wrap_length(6, 12), wrap_length(10, 12), wrap_length(2, 12)) == (33, 46, None)
    assert flag_length(3, 25) == 60


def test_both_ends_of_every_leg_have_a_label(papers: Papers) -> None:
    """Two labels a leg, A and B, one naming each end first; never the same (IEC 62491: known at each of its ends)."""
    document = papers.documents["labels"]
    labels: dict[str, str] = {}
    for page in document.pages:
        for frame in page.frames:
            assert frame.name not in labels
            labels[frame.name] = squeezed(
                "".join(
                    mark.text
                    for mark in page.marks
                    if isinstance(mark, Text) and _inside(mark, frame.x, frame.y, frame.width, frame.height)
                )
            )
    rig = papers.solved.rig
    for cable in rig.cables.values():
        for leg in cable.legs:
            first, second = labels[f"{leg.id}-A"], labels[f"{leg.id}-B"]
            assert first.replace(f"{leg.id}-A", "") != second.replace(f"{leg.id}-B", "")
            assert leg.second is not None
            for text, name, end in ((first, "A", leg.first), (second, "B", leg.second)):
                assert f"{leg.id}-{name}" in text
                assert squeezed(f"{rig.units[end.unit].title} {end.port}") in text
    assert set(rig.units) <= set(labels)


def test_labels_lie_apart_inside_the_paper(papers: Papers) -> None:
    """No label leaves the printable paper or lies on another."""
    for page in papers.documents["labels"].pages:
        for at, frame in enumerate(page.frames):
            assert frame.x >= UNPRINTABLE and frame.x + frame.width <= page.width - UNPRINTABLE
            assert frame.y >= UNPRINTABLE and frame.y + frame.height <= page.height - UNPRINTABLE
            for other in page.frames[at + 1 :]:
                across = min(frame.x + frame.width, other.x + other.width) - max(frame.x, other.x)
                down = min(frame.y + frame.height, other.y + other.height) - max(frame.y, other.y)
                assert across <= 0 or down <= 0, (frame, other)
