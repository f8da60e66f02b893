"""The command and files that are odd or none: their text, their names, their size."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from command import (
    BROKEN,
    CLEAN,
    CONTROLS,
    FAULTS,
    FAULTY,
    PATIENCE,
    UNUSABLE,
    Rigcard,
    Run,
    command,
    contents,
    rigcard,
)
from samples import FIRST

# ---- files that are none -------------------------------------------------------------------------------------


def _nothing(path: Path) -> None:
    del path


def _utf_16(path: Path) -> None:
    path.write_text(FAULTY, encoding="utf-16")


def _binary(path: Path) -> None:
    path.write_bytes(bytes(range(256)) * 20)


def _huge(path: Path) -> None:
    path.write_bytes(b"# a comment\n" * 400_000)


NO_RIGS = {"missing": _nothing, "folder": Path.mkdir, "utf-16": _utf_16, "binary": _binary, "huge": _huge}


@pytest.mark.parametrize("command", ["check", "build"])
@pytest.mark.parametrize("make", NO_RIGS.values(), ids=NO_RIGS)
def test_an_unusable_file_gives_one_message(
    rigcard: Rigcard, tmp_path: Path, make: Callable[[Path], None], command: str
) -> None:
    """What is no rig file is named in one message with one remedy; exit 2, nothing written."""
    make(tmp_path / "my.rig")
    run = rigcard(command, "my.rig")

    assert run.code == 2
    assert run.out == ""
    assert run.err.startswith("my.rig: error[RC1")
    assert run.err.count("error[") == 1
    assert run.err.count("  do: ") == 1
    assert not (tmp_path / "out").exists()


def test_an_endless_file_is_refused(rigcard: Rigcard) -> None:
    """A device without a size is read no further than the largest rig: the process may use 1.5 GB here."""
    assert rigcard("check", "/dev/zero", limits={resource.RLIMIT_AS: 1_500_000_000}).code == 2


def test_an_unwritable_output_exits_2(rigcard: Rigcard, tmp_path: Path) -> None:
    """A file where the folder should be: RC513, exit 2, the file untouched."""
    (tmp_path / "papers").write_text("mine", encoding="utf-8")
    run = rigcard("build", "-o", "papers", FIRST)

    assert run.code == 2
    assert run.err.count("RC513") == 1
    assert contents(tmp_path) == {"papers": b"mine"}


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
    assert "x.rig cannot be read: Permission denied\n  do: let its owner allow you to read it\n" in said
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


@pytest.mark.parametrize(
    "name",
    ["a'b.rig", 'a"b.rig', "a b.rig", "a$HOME.rig", "a;b.rig", "a\\b.rig", "a`b`.rig", "(a)&.rig", "-x.rig"],
)
def test_the_next_step_of_a_new_file_works_when_typed(name: str, tmp_path: Path) -> None:
    """A shell passes the name on as it is."""
    said = rigcard("new", "--", name, at=tmp_path).out
    step = said.rstrip("\n").partition("Next: rigcard ")[2]
    run = subprocess.run(
        ["bash", "-c", f'"{sys.executable}" -m rigcard {step}'],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        check=False,
    )

    assert run.returncode == CLEAN, f"{step}: {run.stderr}"


def test_a_new_file_is_whole_or_not_there(tmp_path: Path) -> None:
    """No room on the disk: exit 2, and no half file that would be in the way of the next try."""
    run = rigcard("new", "my.rig", at=tmp_path, limits={resource.RLIMIT_FSIZE: 1000})

    assert run.code == UNUSABLE and "my.rig cannot be written" in run.err
    assert not (tmp_path / "my.rig").exists()
    assert rigcard("new", "my.rig", at=tmp_path).code == CLEAN
