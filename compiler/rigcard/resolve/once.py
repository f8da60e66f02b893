"""Caches results that belong to a whole rig, resolved or solved, so that each one is computed once per rig."""

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

R = TypeVar("R")  # a rig, a solved one, or the links of one
T = TypeVar("T")


def once_a_rig(compute: Callable[[R], T]) -> Callable[[R], T]:
    """Memoise a function for the rig of its last call.

    A rig never changes, so its identity is a sufficient key. The compiler works on one rig at a time, so one
    result is enough.
    """
    last: list[tuple[R, T]] = []

    @wraps(compute)
    def kept(rig: R) -> T:
        if not last or last[0][0] is not rig:
            last[:] = [(rig, compute(rig))]
        return last[0][1]

    return kept
