"""The papers of the samples as bytes, made once for all processes of a test run, and what stands in their pages."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pikepdf
import pypdfium2
from numpy.typing import NDArray

from conftest import ROOT, STOCK
from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import build_rig

MM = 72 / 25.4  # points
SHEETS = ("cards", "wiring", "labels", "kit")


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
