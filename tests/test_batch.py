"""Rigs of a batch on several cores: the same results in the same order, whatever becomes of one process."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from command import CLEAN, contents, rigcard
from rigcard.batch import in_order

ROOT = Path(__file__).parents[1]
SAMPLES = sorted(str(path) for path in (ROOT / "samples").glob("*.rig"))


def squared(number: int) -> int:
    """The work of these tests; 13 ends its process as a system without memory would."""
    if number == 13:
        os._exit(9)
    return number * number


@pytest.mark.parametrize("jobs", [1, 2, 3])
def test_results_come_in_order(jobs: int) -> None:
    """Whichever is done first."""
    assert list(in_order(squared, range(20, 10, -1)[:6], jobs)) == [400, 361, 324, 289, 256, 225]


def test_one_killed_process_loses_no_other_result() -> None:
    """A pool that is broken gives up all of its work: what was not done is done again, each by itself."""
    assert list(in_order(squared, [1, 13, 2, 3, 13, 4], 2)) == [1, None, 4, 9, None, 16]


def test_papers_are_the_same_on_one_core_and_on_two(tmp_path: Path) -> None:
    """Byte for byte, and the same is said of them in the same order."""
    names = SAMPLES[:3]
    said = [
        rigcard(
            "build",
            *names,
            "--only",
            "kit",
            "--only",
            "data",
            "--jobs",
            str(jobs),
            "-o",
            f"out-{jobs}",
            at=tmp_path,
        )
        for jobs in (1, 2)
    ]

    assert [run.code for run in said] == [CLEAN, CLEAN]
    assert said[0].out == said[1].out.replace("out-2", "out-1")
    for name in names:
        stem = Path(name).stem
        assert contents(tmp_path / "out-1" / stem) == contents(tmp_path / "out-2" / stem) != {}


def nap(seconds: float) -> float:
    """Work that only takes time."""
    time.sleep(seconds)
    return seconds


def refusing(*_: object, **__: object) -> None:
    """A system that allows no further process, as fork(2) says it: EAGAIN."""
    raise BlockingIOError(errno.EAGAIN, os.strerror(errno.EAGAIN))


@pytest.mark.parametrize("what", ["multiprocessing.SemLock", "os.fork"])
def test_a_system_without_more_processes(what: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """This process does the work where no semaphore or no process can be had."""
    import _multiprocessing

    if what == "os.fork":
        monkeypatch.setattr(os, "fork", refusing)
    else:
        monkeypatch.setattr(_multiprocessing, "SemLock", refusing)

    assert list(in_order(squared, [1, 2, 3], 2)) == [1, 4, 9]


def children(process: int) -> list[int]:
    """The processes that one has started: proc(5)."""
    return [int(word) for word in Path(f"/proc/{process}/task/{process}/children").read_text().split()]


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="no /proc")
@pytest.mark.parametrize("end", [signal.SIGTERM, signal.SIGKILL, signal.SIGHUP])
def test_the_processes_of_a_batch_end_with_it(end: signal.Signals, tmp_path: Path) -> None:
    """A batch that is killed leaves no process behind that waits for work without end."""
    script = f"import sys; sys.path[:0] = [{str(Path(__file__).parent)!r}]\n"
    script += (
        "from test_batch import nap\nfrom rigcard.batch import in_order\nlist(in_order(nap, [0.2] * 600, 2))"
    )
    with subprocess.Popen([sys.executable, "-c", script], cwd=tmp_path) as batch:
        workers: list[int] = []
        deadline = time.monotonic() + 30
        while len(workers) < 2 and time.monotonic() < deadline:
            time.sleep(0.05)
            workers = children(batch.pid)
        assert len(workers) == 2
        batch.send_signal(end)
        batch.wait()
    while any(map(alive, workers)) and time.monotonic() < deadline:
        time.sleep(0.1)

    assert not any(map(alive, workers))


def alive(process: int) -> bool:
    """Whether a process is there and has not ended: a dead one may wait for its parent."""
    try:
        return ") Z" not in Path(f"/proc/{process}/stat").read_text(encoding="utf-8")
    except OSError:
        return False


def test_an_interrupt_ends_a_batch_soon(tmp_path: Path) -> None:
    """What is being done is done, and nothing more is begun: not the other 600 items of half a minute each core."""
    script = f"import sys; sys.path[:0] = [{str(Path(__file__).parent)!r}]\n"
    script += "from test_batch import nap\nfrom rigcard.batch import in_order\n"
    script += "for _ in in_order(nap, [0.1] * 600, 2): print(flush=True)"
    with subprocess.Popen(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    ) as batch:
        assert batch.stdout
        batch.stdout.readline()
        began = time.monotonic()
        batch.send_signal(signal.SIGINT)
        batch.communicate(timeout=60)

    assert time.monotonic() - began < 10
