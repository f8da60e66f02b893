"""A batch of 200 rigs in one `build FILE...` against ninja, which starts a process a rig: `python tests/bench/batch.py`.

Both use all cores, and write the same papers; the two run in turns. Medians of wall time and of CPU time, so the rest
of the machine should be idle. Needs the package ninja, as the tests do.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import NamedTuple

from measure import ENVIRONMENT

RIGS = 200
RUNS = 2
SAMPLES = Path(__file__).parents[2] / "samples"
RULES = """rule papers
  command = {python} -m rigcard build --stock {stock} --depfile $out.d $in
  depfile = $out.d
  deps = gcc

"""


class Taken(NamedTuple):
    """What a run took, in seconds."""

    wall: float
    cpu: float


def taken(command: list[str], folder: Path) -> Taken:
    """What a command takes in a folder where nothing is built yet."""
    subprocess.run([sys.executable, "-m", "ninja", "-t", "clean"], cwd=folder, check=True, capture_output=True)
    before, start = os.times(), perf_counter()
    subprocess.run(command, cwd=folder, check=True, capture_output=True, env=ENVIRONMENT)
    wall, after = perf_counter() - start, os.times()
    cpu = after.children_user - before.children_user + after.children_system - before.children_system
    return Taken(wall, cpu)


def main() -> None:
    """Measure and print."""
    cores = len(os.sched_getaffinity(0))
    stock = SAMPLES / "stock"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        text = (SAMPLES / "first.rig").read_text(encoding="utf-8").replace("stock/", f"{stock}/")
        names = [f"rig-{number:03}" for number in range(RIGS)]
        for rig in names:
            (folder / f"{rig}.rig").write_text(text, encoding="utf-8")
        edges = "".join(f"build out/{rig}/rig.json: papers {rig}.rig\n" for rig in names)
        rules = RULES.format(python=f"{sys.executable} -X utf8", stock=stock)
        (folder / "build.ninja").write_text(rules + edges, encoding="utf-8")
        ninja = [sys.executable, "-m", "ninja"]
        own = [sys.executable, "-X", "utf8", "-m", "rigcard", "build", "--stock", str(stock)]
        commands = {
            f"one build of {RIGS} files": [*own, *(f"{rig}.rig" for rig in names)],
            f"ninja on {cores} cores": [*ninja, f"-j{cores}"],
        }
        found = {what: list[Taken]() for what in commands}
        for _ in range(RUNS):
            for what, command in commands.items():
                found[what].append(taken(command, folder))
    costs = {
        what: Taken(median(c.wall for c in some), median(c.cpu for c in some)) for what, some in found.items()
    }
    base = costs[f"ninja on {cores} cores"]
    for what, cost in costs.items():
        print(
            f"{what}: {cost.wall:.1f} s, {cost.wall / base.wall:.2f} of ninja; "
            f"{cost.cpu:.1f} s CPU, {cost.cpu / base.cpu:.2f}"
        )


if __name__ == "__main__":
    main()
