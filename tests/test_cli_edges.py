"""The command at its edges: files that are odd, disks that are full, streams that are gone, names nobody expects.

What it does on an ordinary day is in test_cli.py.
"""

from __future__ import annotations

import json
import os
import pty
import re
import resource
import shutil
import signal
import subprocess
import sys
import time
import unicodedata
from collections.abc import Sequence
from pathlib import Path

import pytest

from command import (
    BROKEN,
    CLEAN,
    CONTROLS,
    FAULTS,
    PATIENCE,
    UNUSABLE,
    WITHOUT_DRAWING,
    Run,
    command,
    contents,
    revised,
    rigcard,
)
from rigcard import __main__, cli
from rigcard.catalogue import all_codes
from rigcard.render import dot

COLOUR = re.compile(r"\x1b\[[0-9;]*m")
BUFFERING = pytest.mark.parametrize("buffering", ["", "1"], ids=["buffered", "unbuffered"])


@pytest.fixture
def place(tmp_path: Path, root: Path) -> Path:
    """A folder with the samples and their stock files."""
    shutil.copytree(root / "samples", tmp_path, dirs_exist_ok=True)
    return tmp_path


@pytest.fixture(autouse=True)
def _own_surroundings(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """No run touches the user's own cache; the output of a process is buffered, as it is for a user."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.delenv("PYTHONUNBUFFERED", raising=False)


# ---- help --------------------------------------------------------------------------------------------------------


def test_the_steps_of_help_work_when_typed(tmp_path: Path) -> None:
    """Each line under "a first rig" runs as it stands, in its order, without a diagnostic."""
    lines = [line for line in rigcard("--help", at=tmp_path).out.splitlines() if line.startswith("  rigcard ")]
    typed = [re.split(r"\s{2,}", line.strip())[0].split()[1:] for line in lines]

    assert [words[0] for words in typed] == ["new", "check", "build", "show", "format", "explain"]
    for words in typed:
        run = rigcard(*words, at=tmp_path)
        assert (run.code, run.err) == (CLEAN, ""), words
    assert (tmp_path / "out" / "my" / "cards.pdf").exists()


@pytest.mark.parametrize("name", ["build", "check", "show", "format", "new", "explain"])
def test_every_argument_has_help(name: str, tmp_path: Path) -> None:
    """`rigcard COMMAND --help` says something about every argument."""
    run = rigcard(name, "--help", at=tmp_path)

    assert (run.code, run.err) == (CLEAN, "")
    rows = re.findall(r"^  (\S.*)\n?(?:^ {10,}(\S.*))?", run.out.split("\n\n", 1)[1], re.M)
    assert len(rows) > 1
    for row, below in rows:
        assert below or re.search(r"\S {2,}\S", row), row


# ---- files -------------------------------------------------------------------------------------------------------

ODD_INPUTS = {
    "utf-16-be-no-mark": BROKEN.encode("utf-16-be"),
    "latin-1": 'rig "Café" { }\n'.encode("latin-1"),
    "zero-byte": b'rig "x" {\0}\n',
    "pdf": b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n1 0 obj\n",
    "cut-utf-8": 'rig "é'.encode()[:-1],
    "surrogate": b'rig "\xed\xa0\x80" { }\n',
    "overlong": b'rig "\xc0\xaf" { }\n',
}


@pytest.mark.parametrize("kind", ODD_INPUTS)
def test_a_file_that_is_no_utf_8(kind: str, tmp_path: Path) -> None:
    """Another encoding, or bytes that RFC 3629 forbids: exit 2, one message that names the file and the line."""
    (tmp_path / "x.rig").write_bytes(ODD_INPUTS[kind])
    run = rigcard("check", "x.rig", at=tmp_path)

    assert (run.code, run.out) == (UNUSABLE, "")
    assert run.err.startswith("x.rig: error[RC108]: x.rig is not UTF-8 text: line ")
    assert run.err.count("error[") == 1


def test_a_file_of_just_four_megabytes_is_read(tmp_path: Path) -> None:
    """The limit is the one that RC110 speaks of: 4 MB are read, one byte more is not."""
    rig = tmp_path / "x.rig"
    rig.write_bytes(b" " * 4_000_000)
    assert rigcard("check", "x.rig", at=tmp_path).code == FAULTS
    rig.write_bytes(b" " * 4_000_001)
    assert rigcard("check", "x.rig", at=tmp_path).code == UNUSABLE


def test_a_device_without_an_end_is_refused(tmp_path: Path) -> None:
    """`/dev/zero` has size 0 and never ends; it is refused before the memory is full (limit here: 1 GB)."""
    for arguments, code, said in (
        (["/dev/zero"], UNUSABLE, "/dev/zero: error[RC110]"),
        (["x.rig"], FAULTS, "x.rig:1:5: error[RC114]"),
        (["x.rig", "--stock", "/dev"], FAULTS, "x.rig:1:5: error[RC109]"),
    ):
        (tmp_path / "x.rig").write_text('use "/dev/zero"\n', encoding="utf-8")
        run = rigcard("check", *arguments, at=tmp_path, limits={resource.RLIMIT_AS: 1 << 30})
        assert run.code == code
        assert run.err.startswith(said)


def test_a_rig_may_come_through_a_pipe(tmp_path: Path) -> None:
    """A file without a size, such as the pipe of a shell's `<( )`, is read to its end."""
    assert rigcard("new", "whole.rig", at=tmp_path).code == CLEAN
    run = subprocess.run(
        command("check", "/dev/stdin"),
        cwd=tmp_path,
        input=(tmp_path / "whole.rig").read_bytes(),
        capture_output=True,
        timeout=PATIENCE,
        check=False,
    )

    assert (run.returncode, run.stderr) == (CLEAN, b"")


@pytest.mark.parametrize(
    "line", ['a".b to c.d }', 'a" b; length 5"mm }', 'a.b to c"d {', "a.b to c.d }}", "a.b to c.d", '"}']
)
def test_a_faulty_statement_is_never_passed_over(line: str, tmp_path: Path) -> None:
    """A file that the grammar refuses has an error whatever is mended on the way, and its papers are not made."""
    rigcard("new", "x.rig", at=tmp_path)
    rig = tmp_path / "x.rig"
    rig.write_text(rig.read_text(encoding="utf-8") + f'\ncable W9 "R" {{ {line}\n', encoding="utf-8")
    for verb in ("check", "build"):
        run = rigcard(verb, "x.rig", at=tmp_path)
        assert run.code == FAULTS
        assert "error[" in run.err
        assert "no errors" not in run.out
    assert not (tmp_path / "out").exists()


def test_a_missing_used_file_is_a_fault_of_the_rig(tmp_path: Path) -> None:
    """`use` of a file that is not there is shown where it is written; exit 1."""
    (tmp_path / "x.rig").write_text('use "gone.rig"\n', encoding="utf-8")
    run = rigcard("check", "x.rig", at=tmp_path)

    assert run.code == FAULTS
    assert run.err.startswith("x.rig:1:5: error[RC109]: ")


def test_files_that_use_each_other(tmp_path: Path) -> None:
    """A circle of `use` ends, and each file is read once: no message of a name that is there twice."""
    rigcard("new", "a.rig", at=tmp_path)
    whole = (tmp_path / "a.rig").read_text(encoding="utf-8")
    (tmp_path / "a.rig").write_text(f'use "./b.rig"\nuse "../{tmp_path.name}/a.rig"\n{whole}', encoding="utf-8")
    (tmp_path / "b.rig").write_text('use "a.rig"\nuse "b.rig"\n', encoding="utf-8")

    assert rigcard("check", "a.rig", at=tmp_path) == Run(CLEAN, "a.rig: no errors\n", "")


def test_a_place_without_permission(tmp_path: Path) -> None:
    """What may not be read or written: exit 2, one message each. As root the process becomes nobody for it."""
    (tmp_path / "x.rig").write_text(BROKEN, encoding="utf-8")
    (tmp_path / "x.rig").chmod(0)
    (tmp_path / "user.rig").write_text('use "x.rig"\n', encoding="utf-8")
    tmp_path.chmod(0o555)
    script = (
        "import os, sys\nfrom rigcard.cli import main\n"
        "main(['check', 'gone.rig'])\n"  # all that is imported late is there before the right to read it goes
        "main(['new', 'gone/y.rig'])\n"
        "main(['check', 'user.rig'])\n"
        "if os.geteuid() == 0:\n    os.setuid(65534)\n"
        "sys.stderr.write('----\\n')\n"
        "print(main(['check', 'x.rig']), main(['new', 'y.rig']), main(['check', 'user.rig']))\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        check=False,
    )
    tmp_path.chmod(0o755)
    said = run.stderr.split("----\n")[1]

    assert run.stdout == f"{UNUSABLE} {UNUSABLE} {FAULTS}\n", run.stderr
    assert "user.rig:1:5: error[RC109]: x.rig cannot be read: Permission denied" in said
    assert "x.rig cannot be read: Permission denied" in said
    assert "y.rig cannot be written: Permission denied" in said
    assert sorted(path.name for path in tmp_path.iterdir()) == ["user.rig", "x.rig"]


@pytest.mark.parametrize("name", ["nowhere/my.rig", "file/my.rig", "folder"])
def test_new_in_an_impossible_place(name: str, tmp_path: Path) -> None:
    """No folder, a file for a folder, a folder for a file: exit 2, one message, nothing made."""
    (tmp_path / "file").write_text("x", encoding="utf-8")
    (tmp_path / "folder").mkdir()
    run = rigcard("new", name, at=tmp_path)

    assert run.code == UNUSABLE
    assert name in run.err
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["file", "folder"]


ODD_NAMES = [b"a\x1b[31mb.rig", b"caf\xe9.rig", b"a\nb.rig", "日本.rig".encode(), b"-x.rig", b" .rig"]


@pytest.mark.parametrize("name", ODD_NAMES, ids=ascii)
def test_a_file_with_an_odd_name(name: bytes, tmp_path: Path) -> None:
    """Escapes, bytes that are no UTF-8, a line end: the file is read, nothing raw is printed, no traceback."""
    rigcard("new", "x.rig", at=tmp_path)
    odd = f"./{os.fsdecode(name)}"
    (tmp_path / "x.rig").rename(tmp_path / odd)
    for words in (["check"], ["build", "--only", "data"]):
        run = rigcard(*words, odd, at=tmp_path)
        assert (run.code, run.err) == (CLEAN, "")
        assert not CONTROLS.search(run.out), ascii(run.out)
        assert run.out.count("\n") == 1
    (tmp_path / odd).write_text(BROKEN, encoding="utf-8")
    for form in ("text", "json"):
        run = rigcard("check", odd, "--message-format", form, at=tmp_path)
        assert run.code == FAULTS
        assert not CONTROLS.search(run.said), ascii(run.said)
        if form == "json":
            assert json.loads(run.out)[0]["line"] == 6


EXTREMES = {
    "a long number": f'rig "x" {{ guard {"9" * 5000}% }}',
    "a long fraction": f'rig "x" {{ guard 1.{"9" * 5000}% }}',
    "a long whole number": f'signal s "S" carries {"9" * 5000} channels',
    "a long name": "expect " + "a" * 100_000 + ".b gives c.d",
    "a long place": "expect " + "a." * 20_000 + "b gives c.d",
    "a deep block": "{" * 50_000,
    "blocks in blocks": 'unit a is b "x" { ' * 5_000,
    "closing braces": "}" * 50_000,
    "open quotes": '"\n' * 50_000,
    "nothing but lines": "\n" * 500_000,
    "nothing but comments": "# words\n" * 60_000 + "x",
    "a text that is no rig": "some words\n" * 40_000,
    "quotes on every line": 'job "x\n' * 40_000,
    "one long line": "x " * 100_000,
    "commas": 'rig "x" { crew a "b"' + ",\n" * 50_000 + "}",
    "a long range of ports": 'model m "M" { role receiver; port p1..p999999999 out servo }',
    "many channels": 'model m "M" { role receiver; channels 999999999 }',
}


@pytest.mark.parametrize("kind", EXTREMES)
def test_an_extreme_file_is_judged(kind: str, tmp_path: Path) -> None:
    """Length, depth and size beyond all reason: some message of the file, exit 1, in bounded memory (1 GB)."""
    (tmp_path / "x.rig").write_text(EXTREMES[kind], encoding="utf-8")
    limits = {resource.RLIMIT_AS: 1 << 30, resource.RLIMIT_CPU: 20}
    run = rigcard("check", "x.rig", at=tmp_path, limits=limits, patience=300)

    assert run.code == FAULTS
    assert 1 <= run.err.count("error[") <= 60  # a flood helps nobody


# ---- what is written ---------------------------------------------------------------------------------------------


def test_each_kind_alone_is_the_same(place: Path) -> None:
    """A kind of paper built alone has the same bytes as among all; together the kinds are all papers."""
    rigcard("build", "first.rig", "-o", "all", at=place)
    whole = contents(place / "all" / "first")
    alone: dict[str, bytes] = {}
    for kind in ("cards", "wiring", "labels", "kit", "data"):
        assert rigcard("build", "first.rig", "-o", kind, "--only", kind, at=place).code == CLEAN
        found = contents(place / kind / "first")
        assert not alone.keys() & found.keys()
        alone |= found

    assert alone == whole


def test_an_unknown_kind_beside_a_known_one(place: Path) -> None:
    """Exit 2 and nothing written, although the other `--only` is right."""
    for kind in ("card", "Cards", "cards,kit", "", "wiring.pdf"):
        assert rigcard("build", "first.rig", "--only", "kit", "--only", kind, at=place).code == UNUSABLE
    assert not (place / "out").exists()


@pytest.mark.parametrize(
    "cells", ["x", "4-", "-4", "4-x", "9-4", "1.5", "9" * 5000, "1-999999999"], ids=lambda cells: cells[:11]
)
def test_a_list_of_cells_that_is_none(cells: str, place: Path) -> None:
    """A mistyped list of used cells is refused: read as another list, the sheet would be printed over."""
    rig = place / "first.rig"
    text = rig.read_text(encoding="utf-8")
    rig.write_text(text.replace("  crew ", "  labels on a4-3x8-70x37\n  crew "), encoding="utf-8")
    good = rigcard("build", "first.rig", "--skip=4,9-11", "--only", "labels", "-o", "good", at=place)
    assert good.code == CLEAN
    run = rigcard("build", "first.rig", f"--skip={cells}", "--only", "labels", at=place)

    assert run.code != CLEAN
    assert not (place / "out").exists()


def test_one_faulty_file_among_many(place: Path) -> None:
    """The others are still built; the exit code tells of the fault; the faulty one leaves no empty folder."""
    (place / "x.rig").write_text(BROKEN, encoding="utf-8")
    run = rigcard("build", "x.rig", "first.rig", at=place)

    assert run.code == FAULTS
    assert "cards.pdf" in contents(place / "out" / "first")
    assert not (place / "out" / "x").exists()


@pytest.mark.parametrize("blocked", ["cards.pdf", "kit.csv"])
def test_a_folder_where_a_paper_should_be(blocked: str, place: Path) -> None:
    """Whichever paper cannot be replaced: RC513, exit 2, and, as the message says, every old one is as it was."""
    assert rigcard("build", "first.rig", at=place).code == CLEAN
    folder = place / "out" / "first"
    (folder / blocked).unlink()
    (folder / blocked).mkdir()
    before = contents(folder)
    revised(place / "first.rig", "B")
    run = rigcard("build", "first.rig", at=place)

    assert run.code == UNUSABLE
    assert "error[RC513]" in run.err
    assert contents(folder) == before


def test_a_disk_that_is_full(place: Path) -> None:
    """A paper larger than the system lets the process write: RC513, exit 2, old papers whole, no fragments."""
    assert rigcard("build", "gorge.rig", at=place).code == CLEAN
    before = contents(place / "out" / "gorge")
    revised(place / "gorge.rig", "D")
    most = len(before["cards.pdf"]) // 2
    run = rigcard("build", "gorge.rig", at=place, limits={resource.RLIMIT_FSIZE: most})

    assert run.code == UNUSABLE
    assert "error[RC513]" in run.err
    assert contents(place / "out" / "gorge") == before


# ---- graphviz ----------------------------------------------------------------------------------------------------


def test_without_dot_the_other_papers_are_the_same(place: Path) -> None:
    """Only the placed diagrams are missing; every other file, both DOT texts too, has the bytes it has with `dot`."""
    (place / "empty").mkdir()
    rigcard("build", "first.rig", "-o", "whole", at=place)
    run = rigcard("build", "first.rig", at=place, env={"PATH": str(place / "empty")})
    whole, found = contents(place / "whole" / "first"), contents(place / "out" / "first")

    assert run.code == WITHOUT_DRAWING
    assert whole.keys() - found.keys() == {"wiring.svg", "wiring-power.svg"}
    assert {name for name in found if found[name] != whole[name]} == {"wiring.pdf"}


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
    assert {"kit.pdf", "wiring.pdf", "wiring.gv"} <= set(contents(place / "out" / "first"))
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
    assert "did not end within 0.2 seconds" in capsys.readouterr().err
    assert {"wiring.pdf", "wiring.gv"} <= set(contents(place / "out" / "first"))


def test_dot_that_is_no_program(place: Path) -> None:
    """A `dot` that the system cannot run: RC511 or RC512, exit 3, no traceback."""
    (place / "tools").mkdir()
    (place / "tools" / "dot").write_bytes(b"\x7fELF nonsense")
    (place / "tools" / "dot").chmod(0o755)
    run = rigcard("build", "first.rig", "--only", "wiring", at=place, env={"PATH": str(place / "tools")})

    assert run.code == WITHOUT_DRAWING
    assert re.search("RC51[12]", run.err)
    assert "wiring.gv" in contents(place / "out" / "first")


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


@pytest.mark.parametrize("escape", ["\x9b31m", "\u202e"], ids=ascii)
def test_show_refuses_words_with_a_control_character(escape: str, tmp_path: Path) -> None:
    """They are refused at the character, and come out visible."""
    rigcard("new", "x.rig", at=tmp_path)
    rig = tmp_path / "x.rig"
    text = rig.read_text(encoding="utf-8")
    rig.write_text(
        re.sub(r'^( *(?:stick|switch|input|unit|model)\b.*?")', rf"\1{escape}", text, flags=re.M), "utf-8"
    )
    run = rigcard("show", "x.rig", "pan", "--json", at=tmp_path)

    assert run.code == FAULTS
    assert "error[RC107]: an unseen character (U+" in run.err
    assert not CONTROLS.search(run.said), ascii(run.said)


# ---- terminals and streams ---------------------------------------------------------------------------------------


def on_a_terminal(arguments: Sequence[str], at: Path) -> str:
    """What a run writes where both its streams are a terminal."""
    leader, follower = pty.openpty()
    try:
        process = subprocess.Popen(
            command(*arguments), cwd=at, stdin=follower, stdout=follower, stderr=follower
        )
        os.close(follower)
        said = b""
        while part := _read(leader):
            said += part
        process.wait(timeout=PATIENCE)
    finally:
        os.close(leader)
    text = said.decode("utf-8")
    assert "Traceback" not in text, text
    return text.replace("\r\n", "\n")


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 65536)
    except OSError:  # EIO: the other end is closed
        return b""


def test_colour_changes_no_word(tmp_path: Path) -> None:
    """Without its colours the coloured text is the plain one; no colour runs on past the end of its line."""
    (tmp_path / "x.rig").write_text(BROKEN, encoding="utf-8")
    coloured = on_a_terminal(["check", "x.rig"], tmp_path)
    plain = rigcard("check", "x.rig", at=tmp_path).err

    assert COLOUR.search(coloured)
    assert COLOUR.sub("", coloured) == plain
    for line in coloured.splitlines():
        assert COLOUR.findall(line)[-1:] in ([], ["\x1b[0m"]), line


def test_progress_is_for_terminals(place: Path) -> None:
    """Many files: where a batch stands is shown on a terminal, and leaves no trace in a file."""
    names = ["first.rig", "mast.rig"]

    out = "first.rig: no errors\nmast.rig: no errors\n2 files: none with errors, 0 messages\n"
    assert rigcard("check", *names, at=place) == Run(CLEAN, out, "")
    shown = on_a_terminal(["check", *names], place)
    assert "[2/2] mast.rig" in shown
    assert shown.endswith("none with errors, 0 messages\n")


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_a_terminal_of_another_encoding(encoding: str, place: Path) -> None:
    """Signs that the terminal lacks, such as a true minus, are written another way; JSON stays JSON."""
    (place / "x.rig").write_text(BROKEN.replace("handset-99", "Größe−Ж"), encoding="utf-8")
    env = {"PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    found = rigcard("check", "x.rig", "--message-format", "json", at=place, env=env)

    assert found.code == FAULTS
    assert json.loads(found.out)
    assert rigcard("show", "gorge.rig", "--json", at=place, env=env).code == CLEAN
    foreign = [code.id for code in all_codes().values() if not code.doc.isascii()]
    assert rigcard("explain", foreign[0], at=place, env=env).code == CLEAN


@BUFFERING
@pytest.mark.parametrize("arguments", [["explain", "RC301"], ["check", "first.rig"]], ids=" ".join)
def test_a_reader_that_has_gone(arguments: list[str], buffering: str, place: Path) -> None:
    """`rigcard ... | head -0`: nobody reads; the standard error is silent, whether Python buffers or not."""
    reader, writer = os.pipe()
    os.close(reader)
    try:
        run = subprocess.run(
            command(*arguments),
            cwd=place,
            env=os.environ | {"PYTHONUNBUFFERED": buffering},
            stdout=writer,
            stderr=subprocess.PIPE,
            timeout=PATIENCE,
            check=False,
        )
    finally:
        os.close(writer)

    assert run.stderr == b""


@BUFFERING
@pytest.mark.parametrize(
    "arguments", [["explain", "RC301"], ["check", "first.rig"], ["new", "my.rig"]], ids=" ".join
)
def test_an_output_that_is_full(arguments: list[str], buffering: str, place: Path) -> None:
    """`rigcard ... > /dev/full`: what was to be printed is lost, so exit 2 with the reason, no traceback."""
    with Path("/dev/full").open("wb") as full:
        run = subprocess.run(
            command(*arguments),
            cwd=place,
            env=os.environ | {"PYTHONUNBUFFERED": buffering},
            stdout=full,
            stderr=subprocess.PIPE,
            timeout=PATIENCE,
            check=False,
        )

    assert b"Traceback" not in run.stderr
    assert b"Exception ignored" not in run.stderr
    assert run.returncode == UNUSABLE
    assert b"No space left" in run.stderr


def test_closed_streams_are_no_crash(place: Path) -> None:
    """Without a standard output or error (`>&- 2>&-`, a service) the exit code is still the one of the work."""
    for file, code in (("first.rig", CLEAN), ("x.rig", FAULTS)):
        (place / "x.rig").write_text(BROKEN, encoding="utf-8")
        run = subprocess.run(
            ["sh", "-c", f'exec "{sys.executable}" -m rigcard check {file} >&- 2>&-'],
            cwd=place,
            timeout=PATIENCE,
            check=False,
        )
        assert run.returncode == code


@pytest.mark.parametrize("form", ["text", "json"])
def test_faults_that_nobody_reads_are_still_faults(form: str, place: Path) -> None:
    """Messages into a closed pipe are lost; the exit code is still that of the file."""
    (place / "x.rig").write_text(BROKEN, encoding="utf-8")
    reader, writer = os.pipe()
    os.close(reader)
    try:
        run = subprocess.run(
            command("check", "x.rig", "--message-format", form),
            cwd=place,
            stdout=writer,
            stderr=writer,
            timeout=PATIENCE,
            check=False,
        )
    finally:
        os.close(writer)

    assert run.returncode == FAULTS


def test_both_streams_full_exits_2(place: Path) -> None:
    """`> /dev/full 2>&1`: there is no place to say it, and it is no fault of the file."""
    with Path("/dev/full").open("wb") as full:
        run = subprocess.run(
            command("check", "first.rig"), cwd=place, stdout=full, stderr=full, timeout=PATIENCE, check=False
        )

    assert run.returncode == UNUSABLE


def test_dots_behind_a_link_lead_to_where_the_link_does(place: Path) -> None:
    """`link/../first.rig` lies beside what the link names (POSIX, 4.13), and so does the stock that it uses."""
    away = place / "away" / "deep"
    away.mkdir(parents=True)
    shutil.copy(place / "first.rig", place / "away")
    shutil.move(place / "stock", place / "away" / "stock")
    (place / "link").symlink_to(away)

    assert rigcard("check", "link/../first.rig", at=place).code == CLEAN
    assert rigcard("check", "first.rig", "--stock", "link/..", at=place).code == CLEAN


def test_an_interrupt_while_it_starts_is_no_crash(monkeypatch: pytest.MonkeyPatch) -> None:
    """Control-C before the command is read: exit 130 too."""

    def stopped() -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "main", stopped)
    with pytest.raises(SystemExit) as ended:
        __main__.start()
    assert ended.value.code == 130


def test_an_interrupt_is_no_crash(place: Path) -> None:
    """Control-C in the middle of a long batch: no traceback, exit 130 (128 + SIGINT, as shells count)."""
    names = [f"g{number}.rig" for number in range(40)]
    for name in names:
        shutil.copy(place / "gorge.rig", place / name)
    process = subprocess.Popen(
        command("build", "--only", "data", *names),
        cwd=place,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a shell's background job ignores it
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    deadline = time.monotonic() + PATIENCE
    while not (place / "out" / "g0" / "rig.json").exists() and time.monotonic() < deadline:
        time.sleep(0.01)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=PATIENCE)

    assert process.returncode == 130
    assert b"Traceback" not in err
    assert b"stopped" in err


# ---- the cache of the grammar ------------------------------------------------------------------------------------


@pytest.mark.parametrize("state", ["no-place", "a-file", "a-folder", "truncated"])
def test_a_spoilt_cache_changes_nothing(state: str, place: Path) -> None:
    """The cache only saves time: without one, or with a broken one, the answer is the same and nothing is said."""
    base = Path("/dev/null") if state == "no-place" else place / "cache"
    if state == "a-file":
        base.write_text("x", encoding="utf-8")
    elif state != "no-place":
        rigcard("check", "first.rig", at=place, env={"XDG_CACHE_HOME": str(base)})
        (kept,) = (base / "rigcard").glob("grammar-*")
        whole = kept.read_bytes()
        kept.unlink()
        if state == "a-folder":
            kept.mkdir()
        else:
            kept.write_bytes(whole[: len(whole) // 2])
    run = rigcard("check", "first.rig", at=place, env={"XDG_CACHE_HOME": str(base)})

    assert run == Run(CLEAN, "first.rig: no errors\n", "")
