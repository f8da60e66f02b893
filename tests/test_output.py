"""A build that is stopped at any moment leaves the papers of one build, and never loses what else lies beside them."""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from command import CLEAN, PATIENCE, command, contents, revised, rigcard
from rigcard import writer

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
import test_output as t
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
