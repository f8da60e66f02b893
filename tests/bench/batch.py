"""A batch of 200 rigs, spread over all cores by ninja, against one core: `python tests/bench/batch.py`.

Wall time, one run each; the rest of the machine should be idle. Needs the package ninja, as the tests do.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

RIGS = 200
SAMPLES = Path(__file__).parents[2] / "samples"
RULES = """rule papers
  command = {python} -m rigcard build --depfile $out.d $in
  depfile = $out.d
  deps = gcc

"""


def seconds(folder: Path, jobs: int) -> float:
    """Wall time of ninja with so many jobs, nothing built before."""
    subprocess.run([sys.executable, "-m", "ninja", "-t", "clean"], cwd=folder, check=True, capture_output=True)
    before = perf_counter()
    subprocess.run([sys.executable, "-m", "ninja", f"-j{jobs}"], cwd=folder, check=True, capture_output=True)
    return perf_counter() - before


def main() -> None:
    """Measure and print."""
    cores = len(os.sched_getaffinity(0))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "stock").symlink_to(SAMPLES / "stock")
        text = (SAMPLES / "first.rig").read_text(encoding="utf-8")
        names = [f"rig-{number:03}" for number in range(RIGS)]
        for rig in names:
            (folder / f"{rig}.rig").write_text(text.replace("stock/", f"{SAMPLES}/stock/"), encoding="utf-8")
        edges = "".join(f"build out/{rig}/rig.json: papers {rig}.rig\n" for rig in names)
        python = f"{sys.executable} -X utf8"
        rules = RULES.format(python=python).replace(
            "build --depfile", f"build --stock {SAMPLES}/stock --depfile"
        )
        (folder / "build.ninja").write_text(rules + edges, encoding="utf-8")
        one, all_ = seconds(folder, 1), seconds(folder, cores)
    print(f"batch of {RIGS}: {one:.1f} s on one core, {all_:.1f} s on {cores}: {one / all_:.2f} times as fast")


if __name__ == "__main__":
    main()
