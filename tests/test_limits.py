"""What is too large is refused with its place, and soon."""

from __future__ import annotations

import json
import resource
from pathlib import Path

import pytest

from command import CLEAN, FAULTS, rigcard
from rigcard.diagnostics import Diagnostics
from rigcard.reporter import MOST_SHOWN
from rigcard.source import Source
from rigcard.starter import STARTER
from rigcard.syntax import tree
from rigcard.syntax.parser import parse, readable
from rigcard.syntax.recover import MOST_FAULTS

LIMITS = {
    resource.RLIMIT_AS: 1 << 30,
    resource.RLIMIT_CPU: 20,
}  # bytes, seconds of the processor: others may run too
HUGE = {
    "bands": 'model m "M" { role other; port p in servo; input i on p "I" {'
    + ";".join(f"b{number} {number}%..{number + 1}%" for number in range(20_000))
    + "} }",
    "unknown names": "\n".join(f"expect hs{number}.a.b gives rx.c" for number in range(20_000)),
    "unknown ports": 'cable c "C" {'
    + ";".join(f"hs.a{number} to rx.b{number}" for number in range(10_000))
    + "}",
    "signs for an end": " ;" * 300_000 + " x",
    "notes": 'note "x"\n' * 30_000,
    "the same name": 'model m "M" { role other }\n' * 8_000,
    "uses": 'use "a.rig"\n' * 10_000,
    "words": f'note "{"x" * 65_536}"',
    "a name": f'unit u is {"a" * 65_536} "U"',
    "braces": "{" * 10_000,
    "pairs of braces": "{" * 10_000 + "}" * 10_000,
    "cells": 'sheet s "S" { page a4; grid 9999999 x 9999999; cell 1mm x 1mm }',
    "channels of a signal": 'signal s "S" carries 999999999 channels counts 0 to 1 over 0% to 1% field 0 to 1',
}


@pytest.mark.slow
@pytest.mark.parametrize("kind", HUGE)
def test_what_is_huge_is_judged_soon(kind: str, tmp_path: Path) -> None:
    """No search over all pairs, no flood: it ends, and what is printed can be read.

    Not a measure of speed: the limit is some twenty times what each takes.
    """
    (tmp_path / "a.rig").write_text("# nothing\n", encoding="utf-8")
    (tmp_path / "x.rig").write_text(f"{STARTER}\n{HUGE[kind]}\n", encoding="utf-8")
    run = rigcard("check", "x.rig", at=tmp_path, limits=LIMITS, patience=300)

    assert run.code in (CLEAN, FAULTS)
    assert len(run.said) < 100_000
    assert run.err.count("error[") <= MOST_SHOWN
    assert max(map(len, run.said.splitlines())) < 2_500


def test_a_flood_of_messages(tmp_path: Path) -> None:
    """The first hundred are shown, all are counted, and JSON has all."""
    text = STARTER + "".join(f'unit u{number} is none-{number} "U"\n' for number in range(250))
    (tmp_path / "x.rig").write_text(text, encoding="utf-8")
    run = rigcard("check", "x.rig", at=tmp_path)

    assert run.err.count("error[") == MOST_SHOWN
    assert run.err.endswith("\n250 errors, 100 shown\n")
    assert len(json.loads(rigcard("check", "x.rig", "--message-format", "json", at=tmp_path).out)) == 250


FLOODS = {
    "quotes that swallow a brace": 'note "a {note\n',
    "words over two lines": 'note "a\nb"\n',
    "opening braces forgotten": 'unit u is m "U"\n  memory 1 "A"\n}\n',
    "closing braces forgotten": 'model m "M" {\n  input a "A" {\n    x 1%..2%\n  input b "B" { y 1%..2% }\n}\n',
    "blocks closed too early": 'unit u is m "U" {\n  memory 1 "A"\n}\n  memory 2 "B"\n}\n',
    "words of no statement": "foo 1\n}\n",
}


@pytest.mark.parametrize("kind", FLOODS)
def test_a_flood_of_faults_in_the_syntax(kind: str) -> None:
    """The first fifty of a file are told, whichever they are; what stands after them is still known by name."""
    source = Source("x.rig", FLOODS[kind] * 200 + 'unit last is m "Last"\n')
    diagnostics = Diagnostics()

    assert parse(source, diagnostics) is None
    assert len(diagnostics) == MOST_FAULTS
    (last,) = [item for item in readable(source).statements if isinstance(item, tree.Unit)][-1:]
    assert last.name.text == "last"


def test_a_long_line_is_shown_around_its_fault(tmp_path: Path) -> None:
    """The mark stands under the fault, and of the line there is as much as can be read."""
    (tmp_path / "x.rig").write_text(
        f"{'note ' + chr(34)}{'words ' * 500}{chr(34)} wrong {'# ' * 500}\n", "utf-8"
    )
    shown = rigcard("check", "x.rig", at=tmp_path).err.splitlines()

    assert shown[1].startswith("    1 | …words")
    assert shown[1].endswith("…")
    assert shown[1][shown[2].index("^") :].startswith("wrong")
    assert len(shown[1]) < 250
