"""Caches results that belong to a whole rig, so that each one is computed once per rig."""

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from rigcard.resolve.model import Rig

T = TypeVar("T")


def once_a_rig(compute: Callable[[Rig], T]) -> Callable[[Rig], T]:
    """Memoise a function for the rig of its last call.

    A rig never changes, so its identity is a sufficient key. The compiler works on one rig at a time, so one
    result is enough.
    """
    last: list[tuple[Rig, T]] = []

    @wraps(compute)
    def kept(rig: Rig) -> T:
        if not last or last[0][0] is not rig:
            last[:] = [(rig, compute(rig))]
        return last[0][1]

    return kept
