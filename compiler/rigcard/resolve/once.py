"""Results that belong to a whole rig, computed once a rig however often they are asked for."""

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from rigcard.resolve.model import Rig

T = TypeVar("T")


def once_a_rig(compute: Callable[[Rig], T]) -> Callable[[Rig], T]:
    """Keep the result for the rig that was asked about last.

    A rig never changes, so that its identity is enough; one rig at a time is worked on, so that one result is.
    """
    last: list[tuple[Rig, T]] = []

    @wraps(compute)
    def kept(rig: Rig) -> T:
        if not last or last[0][0] is not rig:
            last[:] = [(rig, compute(rig))]
        return last[0][1]

    return kept
