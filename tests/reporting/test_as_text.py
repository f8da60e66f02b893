"""Messages as text: their form, their caret, nothing in them that a terminal obeys."""

from __future__ import annotations

import json
import re
import unicodedata
from pathlib import Path

import pytest

from command import CONTROLS, FAULTS, FAULTY, Rigcard, rigcard
from rigcard import cli

# GNU Coding Standards, 4.4 "Formatting Error Messages": sourcefile:lineno:column: message
GNU = re.compile(r"^[^:\n]+:[1-9]\d*:[1-9]\d*: (error|warning)\[RC\d{3}\]: \S")


# ---- messages ------------------------------------------------------------------------------------------------


def test_messages_as_text_follow_gnu(rigcard: Rigcard, tmp_path: Path) -> None:
    """GNU Coding Standards 4.4: `sourcefile:lineno:column: message`; editors can jump to it."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")
    heads = [line for line in rigcard("check", "faulty.rig").err.splitlines() if "[RC" in line]

    assert heads
    assert all(GNU.match(line) for line in heads), heads
    assert any(line.startswith("faulty.rig:4:12: error[") for line in heads), heads


# ---- messages ----------------------------------------------------------------------------------------------------


def test_the_very_first_character_is_1_1(tmp_path: Path) -> None:
    """GNU Coding Standards 4.4: lines and columns start from 1. A byte order mark and CRLF move nothing."""
    for data in (b"nonsense x\n", b"\xef\xbb\xbfnonsense x\r\nmore\r\n"):
        (tmp_path / "x.rig").write_bytes(data)
        text = rigcard("check", "x.rig", at=tmp_path)
        assert text.err.startswith("x.rig:1:1: error[")
        assert "\r" not in text.err
        found = json.loads(rigcard("check", "x.rig", "--message-format", "json", at=tmp_path).out)[0]
        assert (found["file"], found["line"], found["column"]) == ("x.rig", 1, 1)


def test_the_caret_stands_under_the_fault(tmp_path: Path) -> None:
    """Tabs, wide and combining characters before the fault do not move the mark off it (widths: UAX 11)."""
    line = '\tjob "日本 e\u0301 a" nonsense'
    (tmp_path / "x.rig").write_text(f'rig "x" {{\n{line}\n}}\n', encoding="utf-8")
    shown = rigcard("check", "x.rig", at=tmp_path).err.splitlines()
    at = next(number for number, text in enumerate(shown) if "^" in text)

    def width(text: str) -> int:
        wide = sum(unicodedata.east_asian_width(char) in "WF" for char in text)
        return len(text) + wide - sum(unicodedata.combining(char) != 0 for char in text)

    before = shown[at - 1][: shown[at - 1].index("nonsense")]
    assert shown[at].index("^") == width(before)
    assert shown[at].count("^") == len("nonsense")


ESCAPES = (
    "\x1b[31m",
    "\x9b31m",
    "\x1b]0;title\x07",
    "\x08\x08",
    "\u202e",
    "\x7f",
    "\u2066",
    "\r",
    "\x0c",
    "\u2028",
)


@pytest.mark.parametrize("form", ["text", "json"])
@pytest.mark.parametrize("escape", ESCAPES, ids=ascii)
def test_messages_carry_no_control_character(
    escape: str, form: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Control and bidirectional characters of a rig file come out visible, in the text as in the JSON.

    ECMA-48 for C0 and C1; Unicode annex 9 for the direction marks. The JSON is read on terminals too.
    """
    texts = (
        f'rig "x" {{ job "a{escape}b" }}\nunit hs is nothing "{escape}"\n',
        f"unit {escape} is nothing\n",
        f"# {escape}\nunit hs is a{escape}b {escape}\n",
        f'use "{escape}.rig"\n',
    )
    monkeypatch.chdir(tmp_path)
    for text in texts:
        (tmp_path / "x.rig").write_bytes(text.encode())
        assert cli.main(["check", "x.rig", "--message-format", form]) == FAULTS
        said = capsys.readouterr()
        assert not CONTROLS.search(said.out + said.err), ascii(said)
        if form == "json":
            assert json.loads(said.out)
