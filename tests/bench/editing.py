"""What an edit costs in the editor's server: `python tests/bench/editing.py`. Needs the package pygls.

CPU time from the end of an edit to the diagnostics of the new text, without the pause in which the server waits for
more edits (0.1 s); and of renaming a model of stock that 200 rigs use. Medians of ten edits, each another word, of
productions of about 1,000 and 7,000 lines (see production.py). `files` are those read from the disk for one edit.
"""

from __future__ import annotations

import builtins
import gc
import shutil
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import process_time

from production import production

from rigcard.server.project import Project
from rigcard.server.rename import renamed

SAMPLES = Path(__file__).parents[2] / "samples"
EDITS = 10
RIGS = 200


def folder_with_stock(folder: Path) -> Path:
    """A folder with the stock that productions use."""
    for file in (SAMPLES / "stock").iterdir():
        shutil.copy(file, folder)
    return folder


def edits(folder: Path, stations: int) -> None:
    """Measure edits of a production."""
    path = folder / f"production-{stations}.rig"
    text = production(stations, stations)
    path.write_text(text, encoding="utf-8")
    project = Project()
    project.take_folders([folder.as_uri()])
    project.put(path.as_uri(), text, 1)
    start = process_time()
    project.diagnostics()
    first = process_time() - start
    taken, read = [], []
    count = [0]
    opened = builtins.open

    def counting(*arguments, **named):  # type: ignore[no-untyped-def]
        count[0] += str(arguments[0]).endswith(".rig")
        return opened(*arguments, **named)

    builtins.open = counting
    for number in range(EDITS):
        count[0] = 0
        project.put(path.as_uri(), text.replace('"Receiver 3"', f'"Receiver {number} of them"'), 2 + number)
        start = process_time()
        project.diagnostics()
        taken.append(process_time() - start)
        read.append(count[0])
    builtins.open = opened
    print(
        f"edit of {text.count(chr(10))} lines: {median(taken):.2f} s to its messages, at most {max(taken):.2f} s; "
        f"{max(read)} files read; the first check {first:.2f} s",
        flush=True,
    )


def rename(folder: Path) -> None:
    """Measure the renaming of a model."""
    text = (SAMPLES / "first.rig").read_text(encoding="utf-8").replace("stock/", "")
    for number in range(RIGS):
        (folder / f"rig-{number:03}.rig").write_text(text, encoding="utf-8")
    path = folder / "radio.rig"
    written = path.read_text(encoding="utf-8")
    project = Project()
    project.take_folders([folder.as_uri()])
    project.put(path.as_uri(), written, 1)
    project.diagnostics()
    start = process_time()
    at = written.index("model handset-12 ") + len("model ")
    with project.one_moment():  # as the server does
        found = renamed(project, str(path.resolve()), at, "handset-13")
    print(f"rename over {RIGS} rigs: {process_time() - start:.2f} s, {len(found)} files")


def main() -> None:
    """Measure and print."""
    gc.set_threshold(100_000)  # as the command does
    for stations in map(int, sys.argv[1:] or ("21", "150")):
        with tempfile.TemporaryDirectory() as name:
            edits(folder_with_stock(Path(name).resolve()), stations)
    with tempfile.TemporaryDirectory() as name:
        rename(folder_with_stock(Path(name).resolve()))


if __name__ == "__main__":
    main()
