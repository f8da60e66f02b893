"""The documents of the samples on both papers, with their PDF, made once a process."""

from __future__ import annotations

import csv
from itertools import product
from pathlib import Path
from typing import NamedTuple

import pytest

from cardlines import squeezed
from rigcard.diagnostics import Diagnostics
from rigcard.documents.base.model import Document, Text
from rigcard.documents.cards.card_set import card_document
from rigcard.documents.diagram.leads import list_document
from rigcard.documents.diagram.power import power_graph
from rigcard.documents.diagram.sheets import drawing_document
from rigcard.documents.diagram.signals import signal_graph
from rigcard.documents.kit.kit_list import kit_document
from rigcard.documents.labels.label_sheets import label_document
from rigcard.pipeline import check_rig
from rigcard.render.dot import place
from rigcard.render.pdf import pdf
from rigcard.render.typeface import EmbeddedTypeface
from rigcard.solve.solved import Solved
from samples import REFERENCE, SAMPLES

FACE = EmbeddedTypeface()
PAPERS = ("a4", "letter")
UNPRINTABLE = 4.2  # mm: what an office printer leaves white; common practice, no source


def published_table(name: str) -> list[dict[str, str]]:
    """The rows of a file of reference values."""
    return list(csv.DictReader((REFERENCE / name).read_text(encoding="utf-8").splitlines()))


class SamplePapers(NamedTuple):
    """A sample on one paper: every document with its PDF."""

    solved: Solved
    documents: dict[str, Document]
    files: dict[str, bytes]


MADE: dict[tuple[Path, str], SamplePapers] = {}


def compiled_rig(path: Path) -> Solved:
    """A rig that must compile."""
    diagnostics = Diagnostics()
    solved = check_rig(path, diagnostics).solved
    assert solved is not None, [found.message for found in diagnostics]
    return solved


def made(path: Path, paper: str) -> SamplePapers:
    """The papers of a sample; made once a process."""
    if (path, paper) not in MADE:
        solved = compiled_rig(path)
        solved = solved._replace(rig=solved.rig._replace(paper=paper))
        graphs = [graph for graph in (signal_graph(FACE, solved), power_graph(FACE, solved)) if graph.cells]
        found = {
            "cards": card_document(FACE, solved),
            "labels": label_document(FACE, solved.rig),
            "kit": kit_document(FACE, solved),
            "wiring": drawing_document(FACE, solved.rig, [(graph, place(graph)) for graph in graphs]),
            "wiring-list": list_document(FACE, solved),
        }
        files = {name: pdf(document, FACE, compress=False) for name, document in found.items()}
        MADE[path, paper] = SamplePapers(solved, found, files)
    return MADE[path, paper]


@pytest.fixture(params=list(product(SAMPLES, PAPERS)), ids=lambda pair: f"{pair[0].stem}-{pair[1]}")
def papers(request: pytest.FixtureRequest) -> SamplePapers:
    """Each sample on either paper."""
    return made(*request.param)


def _inside(mark: Text, x: float, y: float, width: float, height: float) -> bool:
    return x <= mark.x <= x + width and y <= mark.y <= y + height


def card_texts(papers: SamplePapers) -> list[str]:
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
    return compiled_rig(path)
