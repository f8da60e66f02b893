"""The command and its streams: terminals, encodings, readers that have gone, interrupts."""

from __future__ import annotations

import json
import os
import pty
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

from command import BROKEN, CLEAN, FAULTS, FAULTY, PATIENCE, UNUSABLE, Rigcard, Run, command, rigcard
from command import command as command_line
from rigcard import __main__, cli
from rigcard.catalogue import all_codes
from samples import FIRST, GORGE

# ---- terminal ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("no_color", "coloured"), [(None, True), ("", True), ("1", False), ("0", False)])
def test_colour_on_a_terminal(rigcard: Rigcard, tmp_path: Path, no_color: str | None, coloured: bool) -> None:
    """no-color.org: no colour where NO_COLOR is present and not empty, whatever its value."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")
    environment = {**os.environ, "TERM": "xterm"}
    if no_color is not None:
        environment["NO_COLOR"] = no_color
    ours, theirs = pty.openpty()
    try:
        run = subprocess.run(
            command_line("check", "faulty.rig"), cwd=tmp_path, env=environment, stderr=theirs, check=False
        )
        shown = os.read(ours, 65536).decode()
    finally:
        os.close(ours)
        os.close(theirs)

    assert run.returncode == 1
    assert "error[" in shown
    assert ("\x1b[" in shown) == coloured


def test_no_colour_without_a_terminal(rigcard: Rigcard, tmp_path: Path) -> None:
    """A pipe gets no escape (common practice, no source)."""
    (tmp_path / "faulty.rig").write_text(FAULTY, encoding="utf-8")

    assert "\x1b" not in rigcard("check", "faulty.rig").err


@pytest.mark.parametrize("escape", ["\x1b[31m", "\x1b]0;title\x07", "\x9b31m", "\u202e"])
def test_a_rig_cannot_write_to_the_terminal(rigcard: Rigcard, tmp_path: Path, escape: str) -> None:
    """Control sequences (ECMA-48, 7 and 8 bits) and a text-direction override in a rig are never sent raw."""
    for number, text in enumerate(
        (
            f'rig "A {escape} rig"\n',
            f"unit hs is nothing-{escape}1\n",
            f'use "no-{escape}such.rig"\n',
            f"# {escape}\nrig {escape}\n",
        )
    ):
        (tmp_path / f"{number}.rig").write_text(text, encoding="utf-8")
        run = rigcard("check", f"{number}.rig")
        assert run.code != 0
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]", run.out + run.err), text


@pytest.mark.parametrize("escape", ["\x9b31m", "\u202e"])
def test_show_cannot_write_to_the_terminal(rigcard: Rigcard, tmp_path: Path, escape: str) -> None:
    """The titles of a rig go through the same filter in the table of `show`."""
    rigcard("new", "my.rig")
    text = re.sub(
        r'^(\s*(?:unit|input|switch|stick|model)\b.*?")', rf"\1{escape}", _starter(tmp_path), flags=re.M
    )
    (tmp_path / "my.rig").write_text(text, encoding="utf-8")
    run = rigcard("show", "my.rig")

    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]", run.out + run.err)


@pytest.mark.parametrize("command", ["check", "build", "new", "show"])
def test_a_file_name_cannot_write_to_the_terminal(rigcard: Rigcard, tmp_path: Path, command: str) -> None:
    """A name with a control sequence is printed without it, in success as in failure."""
    name = "a\x1b[2Jb.rig"
    if command != "new":
        rigcard("new", "my.rig")
        shutil.copy(tmp_path / "my.rig", tmp_path / name)
    for _ in range(2):
        run = rigcard(command, name)
        assert "\x1b" not in run.out + run.err


def _starter(folder: Path) -> str:
    return (folder / "my.rig").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "arguments", [("--help",), ("explain", "RC301"), ("check", str(FIRST)), ("show", str(GORGE))]
)
def test_a_reader_that_has_gone_is_no_fault(arguments: tuple[str, ...]) -> None:
    """`rigcard ... | true`: nothing is said on standard error."""
    reading, writing = os.pipe()
    os.close(reading)
    try:
        run = subprocess.run(
            command_line(*arguments),
            stdout=writing,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    finally:
        os.close(writing)

    assert run.stderr == ""


@pytest.mark.parametrize("command", ["check", "show", "build", "explain"])
def test_a_terminal_with_few_characters_is_no_fault(rigcard: Rigcard, tmp_path: Path, command: str) -> None:
    """Where the terminal takes ASCII only (old consoles, LC_ALL=C without coercion), nothing fails."""
    shutil.copy(GORGE, tmp_path / "größe.rig")
    shutil.copytree(GORGE.parent / "stock", tmp_path / "stock")
    run = rigcard(
        command,
        "RC301" if command == "explain" else "größe.rig",
        env={"PYTHONIOENCODING": "ascii"},
    )

    assert run.code == 0


def test_a_file_name_that_is_no_text_is_no_fault(rigcard: Rigcard, tmp_path: Path) -> None:
    """On Unix a file name is bytes: one that is not UTF-8 is checked like any other."""
    for sort in ("text", "json"):
        name = os.fsdecode(os.fsencode(tmp_path) + b"/\xff.rig")
        Path(name).write_text(FAULTY if sort == "json" else 'note "x"\n', encoding="utf-8")
        assert rigcard("check", "--message-format", sort, name).code in (0, 1)


COLOUR = re.compile(r"\x1b\[[0-9;]*m")
BUFFERING = pytest.mark.parametrize("buffering", ["", "1"], ids=["buffered", "unbuffered"])


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


def test_an_answer_without_an_end(place: Path) -> None:
    """`faults --ask` reads no more of a line than a person types, and bytes that are no text are no answer."""
    for given in ("/dev/zero", "/dev/urandom", "/dev/null"):
        with Path(given).open("rb") as stream:
            run = subprocess.run(
                command("faults", "first.rig", "--ask"),
                cwd=place,
                stdin=stream,
                capture_output=True,
                timeout=PATIENCE,
                check=False,
            )
        assert run.returncode == CLEAN
        assert b"Traceback" not in run.stderr
