"""Runs `rigcard` as a process of its own, and looks at what it leaves behind."""

from __future__ import annotations

import json
import os
import re
import resource
import select
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from functools import cache
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


def from_start(environment: Mapping[str, str]) -> dict[str, str]:
    """What of an environment counts when Python starts, and never again."""
    return {name: value for name, value in environment.items() if name.startswith(("PYTHON", "LC_", "LANG"))}


class Forks:
    """A process that forks for each command (forks.py). What a start decides is as it was when the first was asked for."""

    def __init__(self, environment: Mapping[str, str]) -> None:
        self.started_with = from_start(environment)
        self.folder = Path(tempfile.mkdtemp())
        script = str(Path(__file__).with_name("forks.py"))
        self.process = subprocess.Popen(
            [sys.executable, script], bufsize=0, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment
        )

    def answer(self, patience: float | None = None) -> int:
        """The next number that it says."""
        assert self.process.stdout
        if patience is not None and not select.select([self.process.stdout], [], [], patience)[0]:
            raise TimeoutError
        return int(self.process.stdout.readline())

    def run(
        self, words: list[str], given: bytes, at: Path, environment: Mapping[str, str], patience: float
    ) -> tuple[int, bytes, bytes]:
        """The exit code of a command, and what it wrote to its output and to its error stream."""
        streams = [self.folder / name for name in ("in", "out", "err")]
        for stream, data in zip(streams, (given, b"", b""), strict=True):
            stream.write_bytes(data)
        asked = {
            "arguments": [os.fsencode(word).hex() for word in words],
            "folder": str(at),
            "environment": dict(environment),
            "streams": [str(stream) for stream in streams],
        }
        assert self.process.stdin
        self.process.stdin.write(json.dumps(asked).encode() + b"\n")
        child = self.answer()
        try:
            code = self.answer(patience)
        except TimeoutError:
            os.kill(child, signal.SIGKILL)
            self.answer()
            raise subprocess.TimeoutExpired(words, patience) from None
        return code, streams[1].read_bytes(), streams[2].read_bytes()

    def end(self) -> None:
        """End it, and clear up."""
        self.process.communicate()
        shutil.rmtree(self.folder)


@cache
def forks() -> Forks:
    """The one of this process, started when it is first needed."""
    return Forks(os.environ | {"PYTHONUTF8": "1"})


def rigcard(
    *arguments: str | Path,
    at: Path,
    env: Mapping[str, str] | None = None,
    limits: Mapping[int, int] | None = None,
    patience: float = PATIENCE,
    given: bytes = b"",
) -> Run:
    """Run `rigcard` in a folder, `given` on its input; `limits` are resource limits. A traceback is always a failure.

    The process is a fork of one that has rigcard loaded, unless it matters how Python starts.
    """

    def limit() -> None:
        for kind, most in (limits or {}).items():
            resource.setrlimit(kind, (most, most))

    environment = os.environ | {"PYTHONUTF8": "1"} | dict(env or {})
    if not limits and from_start(environment) == forks().started_with:
        code, *streams = forks().run([str(word) for word in arguments], given, at, environment, patience)
    else:
        run = subprocess.run(
            command(*arguments),
            cwd=at,
            env=environment,
            preexec_fn=limit if limits else None,
            input=given,
            capture_output=True,
            timeout=patience,
            check=False,
        )
        code, streams = run.returncode, [run.stdout, run.stderr]
    out, err = (data.decode("utf-8", "surrogateescape") for data in streams)
    assert "Traceback" not in out + err, out + err
    return Run(code, out, err)


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
    "wiring-list.pdf",
    "labels.pdf",
    "kit.pdf",
    "kit.csv",
    "rig.json",
}
FAULTY = 'rig "Faulty" {\n  crew operator "Operator"\n}\nunit hs is nothing-1 "Handset"\n'
Rigcard = Callable[..., Run]
