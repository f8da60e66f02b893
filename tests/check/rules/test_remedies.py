"""Remedies that work as they stand: typed into the case that brings them about, they leave nothing of it to report."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rigcard.diagnostics import Diagnostic, Diagnostics
from rigcard.pipeline import check_rig
from test_cases import CASES


def found(text: str, folder: Path) -> list[Diagnostic]:
    """What is reported for a rig file with such text."""
    path = folder / "case.rig"
    path.write_text(re.sub(r'use "(?:\.\./)?', 'use "', text), encoding="utf-8")
    diagnostics = Diagnostics()
    check_rig(path, diagnostics, stock=(str(CASES),))
    return diagnostics.sorted()


def hint(name: str, code: str, folder: Path) -> tuple[str, str]:
    """The text of a case and the first remedy of one code in it."""
    text = "\n".join(
        line for line in (CASES / name).read_text(encoding="utf-8").split("\n") if "#!" not in line
    )
    return text, next(one.hint for one in found(text, folder) if one.code.id == code)


def quoted(remedy: str) -> list[str]:
    """What a remedy says in backquotes."""
    return re.findall(r"`([^`]*)`", remedy)


@pytest.mark.parametrize(
    ("name", "code", "old", "new"),
    [
        ("check/RC399_pins_left_out.rig", "RC399", "plugs two to two", "plugs two to two\n{0}\n{1}"),
        ("check/RC383_source_feeds_nothing.rig", "RC383", "passes in-1 to out", "{0}"),
        ("check/pack_in_a_socket_not_taken.rig", "RC383", "takes 10V..17V on power", "{0}"),
        ("check/RC384_output_says_nothing.rig", "RC384", "a, b out key-line;", "a, b out key-line; {0}"),
    ],
)
def test_typed(name: str, code: str, old: str, new: str, tmp_path: Path) -> None:
    """A line that a remedy tells to write makes its message go away, and brings about no other."""
    text, remedy = hint(name, code, tmp_path)
    assert text.count(old) == 1

    after = found(text.replace(old, new.format(*quoted(remedy))), tmp_path)

    assert code not in [one.code.id for one in after]
    assert not [one.message for one in after if one.code.id.startswith(("RC1", "RC2"))]


def test_no_plate_of_signals(tmp_path: Path) -> None:
    """Two signals cannot leave by one port in turn, as two packs can."""
    assert "either" not in hint("names/signal_passed_twice.rig", "RC210", tmp_path)[1]
    assert "either" in hint("names/plate_passes_twice.rig", "RC210", tmp_path)[1]


def test_pin_of_the_same_signal(tmp_path: Path) -> None:
    """A plug for a servo pin goes into no pin that gives another signal."""
    assert "rx.p2" not in hint("check/free_pin_of_another_signal.rig", "RC382", tmp_path)[1]
    assert "rx.p2" in hint("check/RC382_two_plugs_in_output.rig", "RC382", tmp_path)[1]
