"""Runs `rigcard` as a process of its own, and looks at what it leaves behind."""

from __future__ import annotations

import os
import re
import resource
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import NamedTuple

CLEAN, FAULTS, UNUSABLE, WITHOUT_DRAWING = 0, 1, 2, 3
PATIENCE = 60  # seconds until a process counts as hung
CONTROLS = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2066-\u2069]")

BROKEN = """\
rig "Broken" {
  job      "Workshop"
  revision "A" on 2026-03-02
  crew     operator "Operator"
}
unit hs is handset-99 "Handset"
"""


class Run(NamedTuple):
    """What a process left behind."""

    code: int
    out: str
    err: str

    @property
    def said(self) -> str:
        """Both streams."""
        return self.out + self.err


def command(*arguments: str | Path) -> list[str]:
    """The command line of `rigcard`."""
    return [sys.executable, "-m", "rigcard", *map(str, arguments)]


def rigcard(
    *arguments: str | Path,
    at: Path,
    env: Mapping[str, str] | None = None,
    limits: Mapping[int, int] | None = None,
    patience: float = PATIENCE,
) -> Run:
    """Run `rigcard` in a folder; `limits` are resource limits of the process. A traceback is always a failure."""

    def limit() -> None:
        for kind, most in (limits or {}).items():
            resource.setrlimit(kind, (most, most))

    run = subprocess.run(
        command(*arguments),
        cwd=at,
        env=os.environ | {"PYTHONUTF8": "1"} | dict(env or {}),
        preexec_fn=limit if limits else None,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=patience,
        check=False,
    )
    out, err = (data.decode("utf-8", "surrogateescape") for data in (run.stdout, run.stderr))
    assert "Traceback" not in out + err, out + err
    return Run(run.returncode, out, err)


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder, hidden ones too."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def revised(rig: Path, letter: str) -> None:
    """Write another revision letter into a rig file, so that papers of it change."""
    text = rig.read_text(encoding="utf-8")
    changed = re.sub(r'(revision +)"\w+"', rf'\g<1>"{letter}"', text)
    assert changed != text
    rig.write_text(changed, encoding="utf-8")


PAPERS = {
    "cards.pdf",
    "wiring.gv",
    "wiring.svg",
    "wiring.pdf",
    "labels.pdf",
    "kit.pdf",
    "kit.csv",
    "rig.json",
}
FAULTY = 'rig "Faulty" {\n  crew operator "Operator"\n}\nunit hs is nothing-1 "Handset"\n'
Rigcard = Callable[..., Run]
