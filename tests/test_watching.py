"""`rigcard build --watch`: it builds on save, tells what changed in one line, and ends when somebody interrupts it."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from command import rigcard
from rigcard import watching

PATIENCE = 60  # seconds; other work may have the machine
WITHOUT = "import sys; sys.modules['watchfiles'] = None; from rigcard.__main__ import start; start()"
BACK_ENDS = {"news": ["-m", "rigcard"], "looks": ["-c", WITHOUT]}


class Watch:
    """A running `build --watch`, whose lines go to two files."""

    def __init__(self, folder: Path, back_end: str) -> None:
        self.out, self.err = folder / "said.txt", folder / "told.txt"
        command = [sys.executable, *BACK_ENDS[back_end], "build", "--watch", "first.rig"]
        with self.out.open("w") as out, self.err.open("w") as err:
            self.process = subprocess.Popen(command, cwd=folder, stdout=out, stderr=err)

    def until(self, there: Callable[[], bool]) -> None:
        """Wait for something to be so."""
        end = time.monotonic() + PATIENCE
        while not there():
            assert time.monotonic() < end, (self.out.read_text(), self.err.read_text())
            assert self.process.poll() is None, (self.out.read_text(), self.err.read_text())
            time.sleep(0.05)

    def lines(self) -> list[str]:
        """What it has said so far."""
        return self.out.read_text().splitlines()

    def end(self) -> int:
        """Interrupt it, as Ctrl-C does; return its exit code."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(PATIENCE)


@pytest.fixture(params=BACK_ENDS)
def watch(root: Path, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Watch]:
    """A watch over the first sample, after its first build."""
    if request.param == "news":
        pytest.importorskip("watchfiles")
    shutil.copytree(root / "samples", tmp_path, dirs_exist_ok=True)
    running = Watch(tmp_path, request.param)
    try:
        running.until(lambda: len(running.lines()) == 1)
        yield running
    finally:
        running.process.kill()
        running.process.wait()


@pytest.mark.slow
def test_a_save_builds_again_and_a_fault_keeps_the_papers(watch: Watch, tmp_path: Path) -> None:
    """A rig, a stock file it uses, a fault, the mending of it: each gives one build; Ctrl-C ends it cleanly."""
    rig, stock, papers = tmp_path / "first.rig", tmp_path / "stock" / "heads.rig", tmp_path / "out" / "first"
    assert watch.lines()[0].startswith(f"{Path('out', 'first')}: cards.pdf")
    text = rig.read_text()

    rig.write_text(text.replace("# ", "#  ", 1))  # a comment: every paper stays as it is, but it is looked at
    watch.until(lambda: len(watch.lines()) == 2)
    assert watch.lines()[1].startswith("first.rig: first.rig changed: ")

    stock.write_text(stock.read_text().replace('"Two-axis remote head"', '"Remote head of two axes"'))
    watch.until(lambda: len(watch.lines()) == 3)
    assert "heads.rig changed: cards.pdf" in watch.lines()[2]

    before = {path.name: path.read_bytes() for path in papers.iterdir()}
    rig.write_text(text.replace("bound to hs", "bound to hx"))
    watch.until(lambda: "1 error" in watch.err.read_text())
    assert "RC201" in watch.err.read_text()
    assert "no papers written" in watch.err.read_text()
    assert {path.name: path.read_bytes() for path in papers.iterdir()} == before
    assert len(watch.lines()) == 3

    replaced = tmp_path / "saved.tmp"  # many editors write beside a file, then put that in its place
    replaced.write_text(text.replace("bound to hs", "bound to hs "))
    os.replace(replaced, rig)
    watch.until(lambda: len(watch.lines()) == 4)
    assert watch.end() == 0
    assert "Traceback" not in watch.err.read_text()


@pytest.mark.slow
def test_the_exit_code_is_that_of_the_last_build(watch: Watch, tmp_path: Path) -> None:
    """Interrupted while the file is wrong, it ends with 1, as `build` would."""
    rig = tmp_path / "first.rig"
    rig.write_text(rig.read_text().replace("bound to hs", "bound to hx"))
    watch.until(lambda: "no papers written" in watch.err.read_text())
    assert watch.end() == 1


def test_a_change_is_told_after_it_has_settled(tmp_path: Path) -> None:
    """A file that grows while it is looked at is told once, when it no longer does; one that is deleted is a change."""
    one, two, gone = (tmp_path / name for name in ("one.rig", "two.rig", "gone.rig"))
    for path in (one, two, gone):
        path.write_text("a")
    before = watching.state_of(map(str, (one, two, gone)))
    looks: list[object] = []

    def wake(folders: object) -> None:
        looks.append(folders)
        if len(looks) == 2:
            one.write_text("longer")
            gone.unlink()

    assert watching.changed(before, wake) == {str(one), str(gone)}
    assert looks == [{str(tmp_path)}] * 2


@pytest.mark.parametrize(
    ("new", "line"),
    [
        ([], "heads.rig, radio.rig changed: the papers are as they were"),
        (["cards.pdf"], "heads.rig, radio.rig changed: cards.pdf new, 1 as before"),
        (["cards.pdf", "kit.pdf"], "heads.rig, radio.rig changed: cards.pdf, kit.pdf new"),
    ],
)
def test_what_changed_is_one_line(new: list[str], line: str) -> None:
    """The files that changed, without their folders, then the papers that are new."""
    assert watching.news(["stock/radio.rig", "stock/heads.rig"], new, ["cards.pdf", "kit.pdf"]) == line


@pytest.mark.parametrize("more", [("--message-format", "json"), ("--depfile", "papers.d")])
def test_what_needs_an_end_goes_with_no_watch(tmp_path: Path, more: tuple[str, str]) -> None:
    """One array of messages, and a list of all papers, can only be closed by a build that ends."""
    done = rigcard("build", "--watch", *more, "first.rig", at=tmp_path)
    assert done.code == 2
    assert "--watch never ends" in done.err


def test_the_working_folder_goes(watch: Watch, tmp_path: Path) -> None:
    """Somebody removes it: exit 2 with a remedy, as for a command that is started in such a place."""
    for path in tmp_path.iterdir():
        if path not in (watch.out, watch.err):
            shutil.rmtree(path) if path.is_dir() else path.unlink()
    kept = [name.rename(tmp_path.parent / f"{tmp_path.name}-{name.name}") for name in (watch.out, watch.err)]
    tmp_path.rmdir()

    assert watch.process.wait(PATIENCE) == 2
    assert (
        kept[1]
        .read_text()
        .endswith("the working folder is no longer there\n  do: cd /, or to any folder that is there\n")
    )
