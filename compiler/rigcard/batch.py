"""The rigs of a batch on several cores: results in the order of the rigs, whatever becomes of one of them."""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")


def in_order(work: Callable[[Item], Result], items: Sequence[Item], jobs: int) -> Iterator[Result | None]:
    """The result for each item, in order; `work` runs in at most `jobs` processes, or in this one if `jobs` is 1.

    The result is None where the process that worked on an item was killed: the other items are done all the same.
    """
    if jobs == 1:
        yield from map(work, items)
        return
    from concurrent.futures.process import (
        BrokenProcessPool,
        ProcessPoolExecutor,
    )  # 10 ms that one rig does not need

    with ProcessPoolExecutor(jobs) as pool:
        futures = [pool.submit(work, item) for item in items]
        for item, future in zip(items, futures, strict=True):
            try:
                yield future.result()
            except BrokenProcessPool:  # some item of the pool was killed: this one is tried by itself
                yield _alone(work, item)


def _alone(work: Callable[[Item], Result], item: Item) -> Result | None:
    from concurrent.futures.process import BrokenProcessPool, ProcessPoolExecutor

    with ProcessPoolExecutor(1) as pool:
        try:
            return pool.submit(work, item).result()
        except BrokenProcessPool:
            return None
