"""The `rigcard` command as people meet it: a real process, its files, its messages, its exit code."""

from __future__ import annotations

import errno
import json
import os
import random
import resource
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from command import CLEAN, FAULTY, PAPERS, PATIENCE, UNUSABLE, Rigcard, command, contents, revised, rigcard
from command import command as command_line
from rigcard import writer

# ---- old papers ----------------------------------------------------------------------------------------------


def test_a_failing_build_keeps_the_papers(rigcard: Rigcard, tmp_path: Path) -> None:
    """The papers of the last good build stay byte for byte, and the message says so."""
    rigcard("new", "my.rig")
    rigcard("build", "my.rig")
    before = contents(tmp_path / "out" / "my")
    (tmp_path / "my.rig").write_text(FAULTY, encoding="utf-8")
    run = rigcard("build", "my.rig")

    assert run.code == 1
    assert "as they were" in run.err
    assert before.keys() >= PAPERS
    assert contents(tmp_path / "out" / "my") == before


OLD_TEXTS = {f"{letter}.txt": b"old " * 100 for letter in "abcd"}
NEW_TEXTS = dict.fromkeys(OLD_TEXTS, b"new " * 5000)


@pytest.mark.parametrize("at", [1, 2, 4])
@pytest.mark.parametrize("function", ["fsync", "chmod", "replace"])
def test_a_fault_while_writing_keeps_every_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, function: str, at: int
) -> None:
    """A full disk at any moment: OSError, every old file as it was, no temporary file left."""
    writer.write_all(tmp_path, OLD_TEXTS)
    if function == "replace":  # where the whole folder cannot be replaced at once
        monkeypatch.setattr(sys, "platform", "other")
    real: Callable[..., None] = getattr(os, function)
    calls = 0

    def fails(*arguments: object, **named: object) -> None:
        nonlocal calls
        calls += 1
        if calls == at:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(*arguments, **named)

    monkeypatch.setattr(os, function, fails)
    with pytest.raises(OSError, match="No space"):
        writer.write_all(tmp_path, NEW_TEXTS)
    assert contents(tmp_path) == OLD_TEXTS


def test_a_folder_in_the_place_of_a_paper_keeps_the_others(rigcard: Rigcard, tmp_path: Path) -> None:
    """One paper cannot be replaced: RC513, and what was there is as it was, as the message says."""
    rigcard("new", "my.rig")
    rigcard("build", "my.rig")
    folder = tmp_path / "out" / "my"
    (folder / "rig.json").unlink()
    (folder / "rig.json").mkdir()
    before = contents(folder)
    source = (tmp_path / "my.rig").read_text(encoding="utf-8")
    (tmp_path / "my.rig").write_text(source.replace('revision "', 'revision "Z'), encoding="utf-8")
    run = rigcard("build", "my.rig")

    assert run.code == 2
    assert "RC513" in run.err
    assert contents(folder) == before


WRITER = """
import sys
from pathlib import Path
from rigcard.writer import write_all
folder = Path(sys.argv[1])
print("ready", flush=True)
while True:
    for letter in (b"x", b"y"):
        write_all(folder, {name: letter * 300_000 for name in ("a.pdf", "b.pdf", "c.pdf")})
"""


def test_a_killed_writer_leaves_whole_files(tmp_path: Path) -> None:
    """Killed at twelve random moments of writing: each file is one whole content, never a mixture or a part."""
    chance = random.Random(7)
    whole = {letter * 300_000 for letter in (b"x", b"y")}
    for _ in range(12):
        with subprocess.Popen([sys.executable, "-c", WRITER, str(tmp_path)], stdout=subprocess.PIPE) as process:
            assert process.stdout
            process.stdout.readline()
            time.sleep(chance.uniform(0.0, 0.12))
            process.kill()
        for path in tmp_path.glob("*.pdf"):
            assert path.read_bytes() in whole, path
    assert {path.name for path in tmp_path.glob("*.pdf")} == {"a.pdf", "b.pdf", "c.pdf"}


@pytest.mark.slow
def test_a_killed_build_leaves_whole_papers(rigcard: Rigcard, tmp_path: Path) -> None:
    """Killed at eight random moments: each paper is the old or the new one, byte for byte, and none is missing."""
    rigcard("new", "my.rig")
    old_text = (tmp_path / "my.rig").read_text(encoding="utf-8")
    versions = []
    folder = tmp_path / "out" / "my"
    for text in (old_text.replace('revision "', 'revision "Z'), old_text):
        (tmp_path / "my.rig").write_text(text, encoding="utf-8")
        began = time.monotonic()
        assert rigcard("build", "my.rig").code == 0
        took = time.monotonic() - began
        versions.append(contents(folder))
    assert versions[0]["rig.json"] != versions[1]["rig.json"]
    (tmp_path / "my.rig").write_text(old_text.replace('revision "', 'revision "Z'), encoding="utf-8")
    chance = random.Random(11)
    for _ in range(8):
        with subprocess.Popen(
            command_line("build", "my.rig"),
            cwd=tmp_path,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        ) as process:
            time.sleep(chance.uniform(0.3, 1.1) * took)
            process.kill()
        found = contents(folder)
        for name in versions[0]:
            assert found[name] in (versions[0][name], versions[1][name]), name


# ---- what is written ---------------------------------------------------------------------------------------------


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


OLD = {"cards.pdf": b"old cards", "rig.json": b"old data", "wiring.svg": b"old wiring"}
NEW = {"cards.pdf": b"new cards", "rig.json": b"new data", "kit.csv": b"new kit"}
STALE = ("wiring.svg",)
MINE = {
    "notes.txt": b"mine",
    "photos/one.jpg": b"a picture",
    "photos/deep/two.jpg": b"another",
    ".hidden": b"x",
}


at_once_only = pytest.mark.skipif(sys.platform != "linux", reason="folders change places on Linux only")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with papers, and with files and folders of its owner."""
    place = tmp_path / "out" / "job"
    fill(place)
    return place


def fill(place: Path) -> None:
    """Old papers and foreign files."""
    shutil.rmtree(place, ignore_errors=True)
    for name, data in {**OLD, **MINE}.items():
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        (place / name).write_bytes(data)
    (place / "link").symlink_to("notes.txt")


def tree(place: Path) -> dict[str, bytes]:
    """Every file below a folder by its path."""
    return {
        str(path.relative_to(place)): path.read_bytes()
        for path in place.rglob("*")
        if path.is_file() and not path.is_symlink()
    }


@at_once_only
def test_folders_change_places(folder: Path) -> None:
    """All papers are new, the stale one is gone, everything else is the same file as before, nothing is left over."""
    (folder / "photos").chmod(0o700)
    folder.chmod(0o750)
    before = folder.stat()
    inodes = {name: (folder / name).stat().st_ino for name in MINE}
    writer.write_all(folder, NEW, STALE)

    assert tree(folder) == {**NEW, **MINE}
    assert folder.stat().st_ino != before.st_ino
    assert folder.stat().st_mode == before.st_mode
    assert (folder / "photos").stat().st_mode & 0o777 == 0o700
    assert {name: (folder / name).stat().st_ino for name in MINE} == inodes
    assert os.readlink(folder / "link") == "notes.txt"
    assert [path.name for path in folder.parent.iterdir()] == ["job"]


def refused(*_: object, **__: object) -> None:
    """What a system without this step answers."""
    raise OSError("not here")


WAYS = {
    "no exchange": lambda folder, patch: patch.setattr(writer, "_exchange", refused),
    "no second names": lambda folder, patch: patch.setattr(os, "link", refused),
    "no locks": lambda folder, patch: patch.setitem(sys.modules, "fcntl", None),
    "another system": lambda folder, patch: patch.setattr(sys, "platform", "win32"),
    "working folder": lambda folder, patch: patch.chdir(folder / "photos"),
    "a link to it": lambda folder, patch: (folder.rename(folder.parent / "real"), folder.symlink_to("real")),
}


@pytest.mark.parametrize("way", WAYS)
def test_where_folders_cannot_change_places(way: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The papers are replaced one by one, with the same result; a link stays a link, a working folder the same."""
    WAYS[way](folder, monkeypatch)
    inode, link = folder.stat().st_ino, folder.is_symlink()
    writer.write_all(folder, NEW, STALE)

    assert tree(folder) == {**NEW, **MINE}
    assert (folder.stat().st_ino == inode) == (way not in ("no locks", "a link to it"))
    assert folder.is_symlink() == link
    assert not list(folder.parent.rglob(f"{writer.WORK}*"))


@at_once_only
def test_the_working_folder_of_another_program(folder: Path) -> None:
    """A shell that stands in the folder still stands in it after the build."""
    with subprocess.Popen(["cat"], cwd=folder / "photos", stdin=subprocess.PIPE) as shell:
        inode = folder.stat().st_ino
        writer.write_all(folder, NEW, STALE)
        assert folder.stat().st_ino == inode
        assert shell.stdin
        shell.stdin.close()
    assert tree(folder) == {**NEW, **MINE}


@at_once_only
def test_what_is_saved_meanwhile_is_kept(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An editor saves a file between the second names and the exchange: its new text is there afterwards."""
    exchange = writer._exchange

    def saving(first: Path, second: Path) -> None:
        for name in ("notes.txt", "photos/deep/three.jpg"):
            (second / "draft").write_bytes(b"newer")
            os.replace(second / "draft", second / name)
        exchange(first, second)

    monkeypatch.setattr(writer, "_exchange", saving)
    writer.write_all(folder, NEW, STALE)

    assert tree(folder) == {**NEW, **MINE, "notes.txt": b"newer", "photos/deep/three.jpg": b"newer"}


# ---- killed ------------------------------------------------------------------------------------------------------


KILLED = """
import os, signal, sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
import test_writer as t
from rigcard import writer

STEPS = ("open", "os.", "ctypes.", "shutil.", "fcntl.")
folder = Path(sys.argv[2]) / "out" / "job"
if sys.argv[3] == "one by one":
    writer._exchange = t.refused
import fcntl, ctypes

def killed(last):
    left = [last]
    def step(event, arguments):
        left[0] -= event.startswith(STEPS)
        if left[0] < 0 and event != "os.kill":
            os.kill(os.getpid(), signal.SIGKILL)
    sys.addaudithook(step)

found = []
for last in range(10_000):
    if sys.argv[3] != "first":
        t.fill(folder)
    child = os.fork()
    if child == 0:
        killed(last)
        writer.write_all(folder, t.NEW, t.STALE)
        os._exit(0)
    status = os.waitpid(child, 0)[1]
    there = t.tree(folder) if folder.exists() else {}
    found.append({name: data.decode() for name, data in there.items() if not name.startswith(writer.WORK)})
    if os.WIFEXITED(status):
        assert status == 0
        break
    writer.write_all(folder, t.NEW, t.STALE)  # a build after it clears up
    left = [path.name for path in folder.parent.rglob(writer.WORK + "*")]
    assert t.tree(folder) == ({**t.NEW, **t.MINE} if sys.argv[3] != "first" else t.NEW), (last, left)
    assert not left, left
    if sys.argv[3] == "first":
        t.shutil.rmtree(folder)
import json
print(json.dumps(found))
"""


def killed_at_every_step(place: Path, way: str) -> list[dict[str, str]]:
    """What lies in the folder after a kill before each call to the system, and after the whole."""
    arguments = [sys.executable, "-c", KILLED, str(Path(__file__).parent), str(place), way]
    run = subprocess.run(arguments, capture_output=True, text=True, timeout=PATIENCE, check=False)
    assert run.returncode == 0, run.stderr
    found: list[dict[str, str]] = json.loads(run.stdout)
    return found


def texts(files: dict[str, bytes]) -> dict[str, str]:
    """Files as text."""
    return {name: data.decode() for name, data in files.items()}


@at_once_only
def test_a_kill_before_any_step_leaves_one_set(tmp_path: Path) -> None:
    """SIGKILL before each call to the system in turn: the old papers whole, then the new ones whole, never a mixture."""
    found = killed_at_every_step(tmp_path, "at once")
    old, new = texts({**OLD, **MINE}), texts({**NEW, **MINE})

    assert all(papers in (old, new) for papers in found)
    changes = found.index(new)
    assert found == [old] * changes + [new] * (len(found) - changes)
    assert changes > 10
    assert len(found) - changes > 3


@at_once_only
def test_a_kill_before_any_step_of_the_first_build(tmp_path: Path) -> None:
    """No papers, then all of them."""
    found = killed_at_every_step(tmp_path, "first")
    assert [papers for papers in found if papers not in ({}, texts(NEW))] == []
    assert found[-1] == texts(NEW)


@at_once_only
def test_a_kill_where_files_are_replaced_one_by_one(tmp_path: Path) -> None:
    """Each paper is old or new and whole, and everything else is there."""
    for papers in killed_at_every_step(tmp_path, "one by one"):
        assert texts(MINE).items() <= papers.items()
        for name, data in papers.items():
            assert data.encode() in (OLD.get(name), NEW.get(name), MINE.get(name)), name
        assert {"cards.pdf", "rig.json"} <= papers.keys()


@pytest.mark.slow
@at_once_only
def test_a_real_build_that_is_killed(tmp_path: Path, root: Path) -> None:
    """SIGKILL at many moments while `rigcard build` writes: all papers are of one revision."""
    shutil.copytree(root / "samples" / "stock", tmp_path / "stock")
    rig, papers = tmp_path / "first.rig", tmp_path / "out" / "first"
    shutil.copy(root / "samples" / "first.rig", rig)
    known = {}
    for letter in "BA":
        revised(rig, letter)
        assert rigcard("build", "first.rig", "--only", "cards", "--only", "data", at=tmp_path).code == CLEAN
        known[letter] = contents(papers)
    assert all(known["A"][name] != known["B"][name] for name in ("cards.pdf", "rig.json"))
    chance = random.Random(7)
    caught = 0
    for turn in range(8):
        revised(rig, "BA"[turn % 2])
        process = subprocess.Popen(
            command("build", "first.rig", "--only", "cards", "--only", "data"),
            cwd=tmp_path,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        deadline = time.monotonic() + PATIENCE
        while process.poll() is None and os.listdir(papers.parent) == ["first"] and time.monotonic() < deadline:
            time.sleep(0.0002)
        time.sleep(chance.uniform(0, 0.003))
        process.kill()
        process.wait(timeout=PATIENCE)
        caught += os.listdir(papers.parent) != ["first"]
        assert contents(papers) in (known["A"], known["B"])
    assert caught, "the kills came too late to test anything"

    revised(rig, "C")
    assert rigcard("build", "first.rig", "--only", "cards", "--only", "data", at=tmp_path).code == CLEAN
    assert os.listdir(papers.parent) == ["first"]
    assert set(contents(papers)) == set(known["A"])
