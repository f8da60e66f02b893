"""Waits for a change of files: by news of the system where the package watchfiles is there, else by looking often."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Collection, Iterable, Mapping

from rigcard.diagnostics import Diagnostics
from rigcard.syntax.load import named_files

OFTEN = 0.3  # seconds between two looks, where the system tells no news
SELDOM = 2.0  # seconds after which we look in any case: a disk of a network may tell no news
SETTLED = 0.05  # seconds without a change, after which a save is taken to be over
State = Mapping[str, tuple[int, ...] | None]  # by file; None: it is not there
Wake = Callable[[Iterable[str]], None]  # returns when something may have changed in one of some folders


def state_of(files: Iterable[str]) -> State:
    """What the system says of each file: a file that is written or replaced says something else."""
    return {name: _state(name) for name in files}


def _state(name: str) -> tuple[int, ...] | None:
    try:
        said = os.stat(name)
    except OSError:
        return None
    return said.st_dev, said.st_ino, said.st_size, said.st_mtime_ns, said.st_ctime_ns


def files_for(rig: str, stock: Iterable[str]) -> set[str]:
    """The rig file and all that it uses, whether they can be read or not."""
    return set(named_files(rig, Diagnostics(), tuple(stock)))


def changed(before: State, wake: Wake) -> set[str]:
    """Wait until a file is not as it was before, and has settled; return all that are not."""
    folders = {os.path.dirname(os.path.abspath(name)) for name in before}
    while (now := state_of(before)) == before:
        wake(folders)
    while True:  # an editor may still be writing
        time.sleep(SETTLED)
        if (later := state_of(before)) == now:
            return {name for name in before if before[name] != now[name]}
        now = later


def look_often(folders: Iterable[str]) -> None:
    """Let some time pass."""
    time.sleep(OFTEN)


def waker() -> Wake:
    """The way to wait: for news of the system if the package watchfiles is there, else by looking often."""
    try:
        from watchfiles import watch
    except ImportError:
        return look_often

    def wait_for_news(folders: Iterable[str]) -> None:
        there = [folder for folder in folders if os.path.isdir(folder)]
        if not there:
            return look_often(folders)
        for _ in watch(
            *there, recursive=False, watch_filter=None, rust_timeout=int(SELDOM * 1000), yield_on_timeout=True
        ):
            return None
        return None

    return wait_for_news


def differing(folder: str, papers: Mapping[str, bytes]) -> list[str]:
    """The papers that are not in a folder yet just as they are."""
    return [name for name, data in papers.items() if _data(os.path.join(folder, name)) != data]


def _data(name: str) -> bytes | None:
    try:
        with open(name, "rb") as file:
            return file.read()
    except OSError:
        return None


def news(changes: Iterable[str], new: Collection[str], papers: Collection[str]) -> str:
    """What changed and which papers are new by that, in one line."""
    what = ", ".join(sorted({os.path.basename(name) for name in changes}))
    rest = len(papers) - len(new)
    if not new:
        return f"{what} changed: the papers are as they were"
    others = f", {rest} as before" if rest else ""
    return f"{what} changed: {', '.join(new)} new{others}"
