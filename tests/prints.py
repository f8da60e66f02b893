"""The papers of the samples as bytes, made once for all processes of a test run, and what stands in their pages."""

from __future__ import annotations

import csv
import fcntl
import json
import os
from collections.abc import Iterator
from contextlib import nullcontext
from io import BytesIO
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pdfplumber
import pikepdf
import pypdfium2
import pytest
from numpy.typing import NDArray

from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import build_rig
from rigcard.render.typeface import EmbeddedTypeface
from samples import REFERENCE, ROOT, SAMPLES, STOCK

MM = 72 / 25.4  # points
SHEETS = ("cards", "wiring", "wiring-list", "labels", "kit")


def built(path: Path, shared: Path) -> dict[str, bytes]:
    """The papers of a rig by file name; the first process that asks makes them, the others read them."""
    folder = shared / f"papers-{path.stem}"
    with open(shared / f"papers-{path.stem}.lock", "w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            diagnostics = Diagnostics()
            papers = build_rig(path, diagnostics, stock=STOCK)
            assert papers is not None, [found.message for found in diagnostics]
            making = folder.with_suffix(".making")
            making.mkdir()
            for name, data in papers.files.items():
                (making / name).write_bytes(data)
            os.replace(making, folder)
    return {found.name: found.read_bytes() for found in folder.iterdir()}


def plain_cases(every: int) -> list[Path]:
    """Some of the case files that compile without an error: every so many, in the order of their names."""
    found = []
    for path in sorted((ROOT / "tests" / "cases").rglob("*.ok.rig"))[::every]:
        diagnostics = Diagnostics()
        if build_rig(path, diagnostics, stock=STOCK) is not None:
            found.append(path)
    return found


def grey(page: pypdfium2.PdfPage, dpi: float) -> NDArray[np.uint8]:
    """A page as brightness from 0 (black) to 255, one number a dot."""
    return np.asarray(page.render(scale=dpi / 72, grayscale=True).to_numpy())


def photocopy(page: pypdfium2.PdfPage, dpi: float) -> NDArray[np.uint8]:
    """A page as an old photocopier or a fax leaves it: every dot black or white."""
    return np.where(grey(page, dpi) < 128, 0, 255).astype(np.uint8)


class Set(NamedTuple):
    """A font and size as a page sets them."""

    font: str
    size: float


def operations(page: pikepdf.Page) -> Iterator[tuple[str, list[pikepdf.Object]]]:
    """The operators of a page's content (ISO 32000-1, annex A) with their operands."""
    for operands, operator in pikepdf.parse_content_stream(page):
        yield str(operator), list(operands)


def settings_of_type(data: bytes) -> set[Set]:
    """Every font and size that a PDF sets text in."""
    found = set()
    with pikepdf.open(BytesIO(data)) as read:
        for page in read.pages:
            fonts = page.Resources.get("/Font", {})
            now: Set | None = None
            for operator, operands in operations(page):
                if operator == "Tf":
                    now = Set(str(fonts[str(operands[0])].BaseFont), float(operands[1]))
                elif operator in ("Tj", "TJ") and now:
                    found.add(now)
    return found


CARD = (134.0, 200.0)  # mm: two up on A4 and Letter lying across (common practice, no source)


class Sample(NamedTuple):
    """A sample's papers."""

    name: str
    files: dict[str, bytes]
    data: dict[str, Any]

    def pdf(self, kind: str) -> BytesIO:
        """One of the papers."""
        return BytesIO(self.files[f"{kind}.pdf"])


@pytest.fixture(scope="session", params=SAMPLES, ids=lambda path: path.stem)
def sample(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Sample:
    """Each sample, built once a test run."""
    base = tmp_path_factory.getbasetemp()
    files = built(request.param, base.parent if "xdist" in str(base) or base.name.startswith("popen") else base)
    return Sample(request.param.stem, files, json.loads(files["rig.json"]))


READ: dict[tuple[str, str], pdfplumber.PDF] = {}


def opened(sample: Sample, kind: str) -> nullcontext[pdfplumber.PDF]:
    """One of the papers as pdfplumber reads it; read once a process, for that takes most of the time."""
    if (sample.name, kind) not in READ:
        READ[sample.name, kind] = pdfplumber.open(sample.pdf(kind))
    return nullcontext(READ[sample.name, kind])


def legibility(kind: str) -> list[dict[str, str]]:
    """The reference values of a kind."""
    with open(REFERENCE / "legibility.csv", encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["kind"] == kind]


def grid(width: float, height: float) -> tuple[float, float, list[tuple[float, float]], tuple[float, float]]:
    """Left and top margin, the places and the size of the cards on paper of a size in mm; no places on an upright page."""
    left, top = (width - 2 * CARD[0]) / 2, (height - CARD[1]) / 2
    places = [(left, top), (left + CARD[0], top)] if width > height else []
    return left, top, places, CARD


def typeface_file(bold: bool) -> str:
    """The file of the typeface that the papers embed."""
    face = EmbeddedTypeface()
    return str((face.bold if bold else face.regular).face.filename)
