"""The reference page: its blocks and its tables."""

from __future__ import annotations

import re
from typing import NamedTuple

from samples import ROOT

PAGE = (ROOT / "grammar" / "reference.md").read_text(encoding="utf-8")
FENCE = re.compile(r"^```(.*)\n((?:.*\n)*?)^```$", re.M)


class Fenced(NamedTuple):
    """A block of the page, with the line on which it begins and what is written behind its fence."""

    line: int
    info: str
    text: str


FENCED = [
    Fenced(PAGE.count("\n", 0, found.start()) + 1, found[1].strip(), found[2]) for found in FENCE.finditer(PAGE)
]


def table(*head: str) -> list[list[str]]:
    """The rows of the one table of the page with this head, without marks of code."""
    found: list[list[str]] = []
    lines = PAGE.replace("`", "").splitlines()
    starts = [n for n, line in enumerate(lines) if _cells(line) == list(head)]
    assert len(starts) == 1, f"{len(starts)} tables with the head {head}"
    for line in lines[starts[0] + 2 :]:
        if not line.startswith("|"):
            break
        found.append(_cells(line))
    assert found
    return found


def _cells(line: str) -> list[str]:
    return [cell.strip() for cell in line.strip().strip("|").split("|")] if line.startswith("|") else []
