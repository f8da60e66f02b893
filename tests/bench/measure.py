"""Measures whole processes: CPU time (user and system, children included) and peak memory.

What is compared runs in turns (A B A B), so that a machine that is busy for a while slows both; medians are compared.
A new process begins with the peak memory of the one that starts it (Linux), so whoever measures imports little.
Python may keep the bytecode of what it imports, as it does for whoever installs a package: else each run of a command
compiles its whole source anew, while the libraries that it is compared with were compiled when they were installed.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable, Mapping, Sequence
from statistics import median
from time import process_time
from typing import NamedTuple

ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


class Cost(NamedTuple):
    """CPU time in seconds and peak memory in MiB, that of the largest process."""

    seconds: float
    memory: float


def process(command: Sequence[str]) -> Cost:
    """What one run of a command costs."""
    quiet = subprocess.DEVNULL
    with subprocess.Popen(command, stdout=quiet, stderr=quiet, env=ENVIRONMENT) as started:
        _, status, used = os.wait4(started.pid, 0)
        started.returncode = os.waitstatus_to_exitcode(status)
    if started.returncode:
        raise subprocess.CalledProcessError(started.returncode, command)
    return Cost(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def processes(commands: Mapping[str, Sequence[str]], runs: int) -> dict[str, Cost]:
    """Medians of so many runs of each command, in turns; one more of each comes before and does not count."""
    found: dict[str, list[Cost]] = {name: [] for name in commands}
    for _ in range(runs + 1):
        for name, command in commands.items():
            found[name].append(process(command))
    return {
        name: Cost(median(cost.seconds for cost in costs[1:]), median(cost.memory for cost in costs[1:]))
        for name, costs in found.items()
    }


def calls(works: Mapping[str, Callable[[], object]], runs: int) -> dict[str, float]:
    """Medians of the CPU time of so many calls of each, in turns; one more of each comes before and does not count."""
    found: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(runs + 1):
        for name, work in works.items():
            before = process_time()
            work()
            found[name].append(process_time() - before)
    return {name: median(times[1:]) for name, times in found.items()}
