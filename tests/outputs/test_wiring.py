"""The drawing as an output: with `dot`, without it, and with one that is broken."""

from __future__ import annotations

import os
import re
import time
from pathlib import Path

import pytest

from command import CLEAN, CONTROLS, PAPERS, WITHOUT_DRAWING, Rigcard, contents, rigcard
from rigcard import cli
from rigcard.render import dot
from samples import GORGE

# ---- dot -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("script", "code"),
    [(None, "RC511"), ("exit 1", "RC512"), ("echo garbage", "RC512"), ("echo '{\"objects\": 3}'", "RC512")],
)
def test_without_a_working_dot_all_but_the_drawing_is_written(
    rigcard: Rigcard, tmp_path: Path, script: str | None, code: str
) -> None:
    """No `dot`, or one that fails or answers nonsense: one message with the remedy, the other papers, exit 3."""
    (tmp_path / "bin").mkdir()
    if script:
        (tmp_path / "bin" / "dot").write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
        (tmp_path / "bin" / "dot").chmod(0o755)
    run = rigcard("build", GORGE, env={"PATH": str(tmp_path / "bin")})

    assert run.code == WITHOUT_DRAWING
    assert run.err.count("[RC") == 1
    assert f"[{code}]" in run.err
    assert "apt-get install" in run.err
    assert "graphviz" in run.err
    assert set(contents(tmp_path / "out" / "gorge")) >= PAPERS - {"wiring.svg", "wiring.pdf"}
    assert not list((tmp_path / "out" / "gorge").glob("*.svg"))


def test_no_old_drawing_stays_beside_new_papers(rigcard: Rigcard, tmp_path: Path) -> None:
    """Without `dot`, the drawing of an earlier revision must not lie beside the papers of this one."""
    rigcard("new", "my.rig")
    rigcard("build", "my.rig")
    (tmp_path / "bin").mkdir()
    source = (tmp_path / "my.rig").read_text(encoding="utf-8")
    (tmp_path / "my.rig").write_text(source.replace('revision "', 'revision "Z'), encoding="utf-8")
    run = rigcard("build", "my.rig", env={"PATH": str(tmp_path / "bin")})

    assert run.code == WITHOUT_DRAWING
    assert not (tmp_path / "out" / "my" / "wiring.svg").exists() or "wiring.svg" in run.err


# ---- graphviz ----------------------------------------------------------------------------------------------------


def test_without_dot_the_other_papers_are_the_same(place: Path) -> None:
    """Only the placed diagrams are missing; every other file, both DOT texts too, has the bytes it has with `dot`."""
    (place / "empty").mkdir()
    rigcard("build", "first.rig", "-o", "whole", at=place)
    run = rigcard("build", "first.rig", at=place, env={"PATH": str(place / "empty")})
    whole, found = contents(place / "whole" / "first"), contents(place / "out" / "first")

    assert run.code == WITHOUT_DRAWING
    assert whole.keys() - found.keys() == {"wiring.svg", "wiring-power.svg", "wiring.pdf"}
    assert not {name for name in found if found[name] != whole[name]}


def test_dot_is_missing_and_not_wanted(place: Path) -> None:
    """Papers without a diagram need no Graphviz."""
    (place / "empty").mkdir()
    run = rigcard("build", "first.rig", "--only", "cards", at=place, env={"PATH": str(place / "empty")})

    assert (run.code, run.err) == (CLEAN, "")


BROKEN_DOTS = {
    "says-why": 'cat >/dev/null; echo "layout was not done" >&2; exit 1',
    "killed": "kill -9 $$",
    "silent": "cat >/dev/null",
    "random": "cat >/dev/null; head -c 5000 /dev/urandom",
    "a-list": "cat >/dev/null; echo '[]'",
    "null": "cat >/dev/null; echo null",
    "deep": "cat >/dev/null; head -c 200000 /dev/zero | tr '\\0' '['",
    "no-nodes": """cat >/dev/null; echo '{"bb": "0,0,10,10", "objects": [], "edges": []}'""",
    "bad-numbers": """cat >/dev/null; echo '{"bb": "a,b,c,d", "objects": [], "edges": []}'""",
    "odd-edges": """cat >/dev/null; echo '{"bb": "0,0,10,10", "edges": 3}'""",
}


@pytest.mark.parametrize("kind", BROKEN_DOTS)
def test_dot_is_broken(kind: str, place: Path) -> None:
    """A `dot` that fails or answers nonsense: RC512, exit 3, the papers without it written, no traceback."""
    (place / "tools").mkdir()
    (place / "tools" / "dot").write_text(f"#!/bin/sh\n{BROKEN_DOTS[kind]}\n", encoding="utf-8")
    (place / "tools" / "dot").chmod(0o755)
    env = {"PATH": f"{place / 'tools'}:{os.environ['PATH']}"}
    run = rigcard("build", "first.rig", "--only", "wiring", "--only", "kit", at=place, env=env)

    assert run.code == WITHOUT_DRAWING
    assert run.said.count("RC512") == 1
    assert not CONTROLS.search(run.said)
    assert {"kit.pdf", "wiring-list.pdf", "wiring.gv"} <= set(contents(place / "out" / "first"))
    assert ("layout was not done" in run.err) == (kind == "says-why")


def test_dot_that_does_not_end(
    place: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A `dot` that hangs is stopped, though a program that it has started goes on: RC512, exit 3."""
    (place / "tools").mkdir()
    (place / "tools" / "dot").write_text("#!/bin/sh\nsleep 5; echo {}\n", encoding="utf-8")
    (place / "tools" / "dot").chmod(0o755)
    monkeypatch.setenv("PATH", f"{place / 'tools'}:{os.environ['PATH']}")
    monkeypatch.setattr(dot, "PATIENCE", 0.2)
    monkeypatch.chdir(place)
    began = time.monotonic()
    assert cli.main(["build", "first.rig", "--only", "wiring"]) == WITHOUT_DRAWING
    assert time.monotonic() - began < 4
    said = capsys.readouterr().err
    assert "did not end within 0.2 seconds" in said
    assert "dot -Tpdf -O wiring.gv" in said
    assert {"wiring-list.pdf", "wiring.gv"} <= set(contents(place / "out" / "first"))


def test_dot_that_is_no_program(place: Path) -> None:
    """A `dot` that the system cannot run: RC511 or RC512, exit 3, no traceback."""
    (place / "tools").mkdir()
    (place / "tools" / "dot").write_bytes(b"\x7fELF nonsense")
    (place / "tools" / "dot").chmod(0o755)
    run = rigcard("build", "first.rig", "--only", "wiring", at=place, env={"PATH": str(place / "tools")})

    assert run.code == WITHOUT_DRAWING
    assert re.search("RC51[12]", run.err)
    assert "wiring.gv" in contents(place / "out" / "first")
