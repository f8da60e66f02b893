"""The language server reads what `check` would read and nothing else, edits nothing elsewhere, and ends with its editor."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("pygls")

from pygls.exceptions import JsonRpcException

from editor import Editor, at
from rigcard.server.completion import complete
from rigcard.server.project import Project
from rigcard.syntax.load import LARGEST

BOX = 'model box-1 "Box" { role other }\n'
RIG = 'rig "Test" { revision "A" }\nunit box is box-1 "Box"\n'


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """`job/my.rig`, and `house/far.rig` outside of its folder."""
    for name in ("job", "house"):
        (tmp_path / name).mkdir()
    (tmp_path / "house" / "far.rig").write_text(BOX, encoding="utf-8")
    return tmp_path


@pytest.fixture
def editor(place: Path) -> Iterator[Editor]:
    """A session in the folder `job`."""
    editor = Editor(place / "job")
    yield editor
    assert editor.quit() == 0


@pytest.mark.parametrize(
    ("used", "code"),
    [
        ("pipe", "RC109"),
        ("way", "RC109"),
        ("../house/far.rig", "RC114"),
        ("far.rig", "RC114"),
        ("big.rig", "RC110"),
    ],
)
def test_a_used_file_that_check_refuses(used: str, code: str, place: Path, editor: Editor) -> None:
    """Told as by `check`, and nothing of it can be reached: no name of it, no place in it, no edit."""
    job = place / "job"
    os.mkfifo(job / "pipe")
    (job / "way").symlink_to("pipe")
    (job / "far.rig").symlink_to("../house/far.rig")
    (job / "big.rig").write_text(BOX + " " * LARGEST, encoding="utf-8")
    rig = job / "my.rig"
    text = f'{RIG}use "{used}"\n'
    rig.write_text(text, encoding="utf-8")
    editor.open(rig, text)

    editor.codes(rig, [code])
    assert editor.definition(rig, at(text, "box-1")) == []
    assert editor.definition(rig, at(text, used)) == []
    with pytest.raises(JsonRpcException):
        editor.rename(rig, at(text, "box-1"), "box-2")


def test_a_file_that_no_editor_opened(place: Path, editor: Editor) -> None:
    """What is asked of a file elsewhere, of a pipe or a device finds nothing, and the session goes on."""
    job = place / "job"
    os.mkfifo(job / "pipe.rig")
    for path in (job / "pipe.rig", place / "house" / "far.rig", Path("/dev/zero"), Path("/etc/hosts")):
        assert editor.symbols(path) == []
        assert editor.formatting(path) == []
    (job / "box.rig").write_text(BOX, encoding="utf-8")
    assert [found.name for found in editor.symbols(job / "box.rig")] == ["box-1"]


def test_a_rename_stays_in_its_folders(place: Path) -> None:
    """A rig elsewhere that is linked into the folder keeps its words."""
    job = place / "job"
    (job / "box.rig").write_text(BOX, encoding="utf-8")
    (job / "my.rig").write_text(f'{RIG}use "box.rig"\n', encoding="utf-8")
    (place / "house" / "other.rig").write_text(f'{RIG}use "../job/box.rig"\n', encoding="utf-8")
    (job / "other.rig").symlink_to("../house/other.rig")
    project = Project()
    project.take_folders([job.as_uri()])
    project.put((job / "box.rig").as_uri(), BOX, 1)
    found = project.everywhere(str(job / "box.rig"), BOX.index("box-1"))

    assert {place.span.source.name for place in found} == {str(job / "box.rig"), str(job / "my.rig")}


def test_paths_elsewhere_are_not_offered(place: Path) -> None:
    """Completion of `use` lists the folder of the file and those below it."""
    job = place / "job"
    (job / "box.rig").write_text(BOX, encoding="utf-8")
    for written, offered in (("", ["box.rig"]), ("../house/", []), ("/", []), ("./", ["./box.rig"])):
        text = f'use "{written}'
        project = Project()
        project.put((job / "my.rig").as_uri(), text, 1)
        offers = complete(project, str(job / "my.rig"), len(text)).offers
        assert [offer.text for offer in offers] == offered


def test_a_text_that_is_too_large(place: Path) -> None:
    """It is not parsed: its size is what is told."""
    path = place / "job" / "my.rig"
    project = Project()
    project.put(path.as_uri(), RIG + " " * LARGEST, 1)

    assert [found.code.id for found in project.diagnostics()[str(path)]] == ["RC110"]


@pytest.mark.skipif(sys.platform == "win32", reason="there, the end of the streams is the only sign")
def test_the_server_ends_with_its_editor(tmp_path: Path) -> None:
    """The editor is killed and its streams stay open, held by another process: gone within seconds, not later."""
    start = (
        "import subprocess, sys, time\n"
        "server = subprocess.Popen([sys.executable, '-m', 'rigcard', 'language-server'])\n"
        "time.sleep(600)\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", start], stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=tmp_path
    ) as editor:
        assert editor.stdin and editor.stdout
        hello = {
            "jsonrpc": "2.0",
            "id": 1,
            "method": "initialize",
            "params": {"processId": editor.pid, "rootUri": None, "capabilities": {}},
        }
        body = json.dumps(hello).encode()
        editor.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        editor.stdin.flush()
        assert editor.stdout.readline().startswith(b"Content-Length")
        editor.kill()
        editor.wait()
        began = time.monotonic()
        editor.stdout.read()  # ends when the server, which has the other end, is gone

    assert time.monotonic() - began < 10


def test_an_editor_in_another_container(tmp_path: Path) -> None:
    """A number that names no process here is no sign of an end."""
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    hello = {
        "jsonrpc": "2.0",
        "id": 1,
        "method": "initialize",
        "params": {"processId": gone.pid, "rootUri": None, "capabilities": {}},
    }
    body = json.dumps(hello).encode()
    with subprocess.Popen(
        [sys.executable, "-m", "rigcard", "language-server"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=tmp_path,
    ) as server:
        assert server.stdin and server.stdout
        server.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        server.stdin.flush()
        assert server.stdout.readline().startswith(b"Content-Length")
        time.sleep(2.5)
        assert server.poll() is None
        server.stdin.close()


def test_a_server_without_an_editor(tmp_path: Path) -> None:
    """Its input is closed: exit 2 with a remedy."""
    run = subprocess.run(
        ["sh", "-c", f'exec "{sys.executable}" -m rigcard language-server <&-'],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )

    assert run.returncode == 2
    assert run.stderr.startswith("rigcard: standard input is closed") and "  do: " in run.stderr


def test_an_interrupt_ends_a_server(tmp_path: Path) -> None:
    """Control-C of a person who started it by hand ends it at once, with the shell's code for it."""
    with subprocess.Popen(
        [sys.executable, "-m", "rigcard", "language-server"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
    ) as server:
        assert server.stdin and server.stdout
        body = b'{"jsonrpc":"2.0","id":1,"method":"initialize","params":{"processId":null,"capabilities":{}}}'
        server.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        server.stdin.flush()
        assert server.stdout.readline().startswith(b"Content-Length")
        server.send_signal(signal.SIGINT)
        try:
            assert server.wait(10) == -signal.SIGINT
        finally:
            server.kill()


@pytest.mark.parametrize("length", ["99999999999999", "9" * 5000])
def test_a_message_that_no_editor_sends(length: str, tmp_path: Path) -> None:
    """A length beyond all reason ends the session without a traceback."""
    run = subprocess.run(
        [sys.executable, "-m", "rigcard", "language-server"],
        input=f"Content-Length: {length}\r\n\r\n{{}}".encode(),
        cwd=tmp_path,
        capture_output=True,
        timeout=60,
        check=False,
    )

    assert (run.returncode, run.stderr) == (1, b"")
