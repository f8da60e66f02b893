"""The rigs of a batch on several cores: results in the order of the rigs, whatever becomes of one of them."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from threading import Event, Thread
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

Item = TypeVar("Item")
Result = TypeVar("Result")
EVERY = 1.0  # seconds between two looks for the process that gives the work
# what Python raises where the system has no more processes, threads or semaphores, or never had any
NO_MORE = (OSError, RuntimeError, ImportError, NotImplementedError)


def in_order(work: Callable[[Item], Result], items: Sequence[Item], jobs: int) -> Iterator[Result | None]:
    """The result for each item, in order; `work` runs in at most `jobs` processes, or in this one if `jobs` is 1.

    The result is None where the process that worked on an item was killed: the other items are done all the same.
    Where the system allows no further process, this one does the work.
    """
    if jobs == 1:
        yield from map(work, items)
        return
    from concurrent.futures.process import BrokenProcessPool  # 10 ms that one rig does not need

    try:
        pool = _pool(jobs)
        futures = [pool.submit(work, item) for item in items]
    except NO_MORE:
        _end_children()
        yield from map(work, items)
        return
    try:
        for item, future in zip(items, futures, strict=True):
            try:
                yield future.result()
            except BrokenProcessPool:  # some item of the pool was killed: this one is tried by itself
                yield _alone(work, item)
    finally:
        pool.shutdown(cancel_futures=True)  # an interrupt ends what is being done, and nothing more is begun


def _alone(work: Callable[[Item], Result], item: Item) -> Result | None:
    try:
        with _pool(1) as pool:
            return pool.submit(work, item).result()
    except NO_MORE:  # a broken pool is among them
        return None


def _pool(jobs: int) -> ProcessPoolExecutor:
    from concurrent.futures.process import ProcessPoolExecutor

    return ProcessPoolExecutor(jobs, initializer=_end_with, initargs=(os.getpid(),))


def _end_children() -> None:
    """End those that were started before the system allowed no more: they would wait for work without end."""
    from multiprocessing import active_children

    for child in active_children():
        child.kill()
        child.join()


def _end_with(giver: int) -> None:
    """End this process soon after the one that gives it work: nobody else would."""

    def watch() -> None:
        never = Event()
        while os.getppid() == giver:
            never.wait(EVERY)
        os._exit(1)  # papers are written all or none

    Thread(target=watch, daemon=True).start()
