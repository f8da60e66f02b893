"""How much of one thing a rig may have, so that no number in a file keeps a computer busy for hours."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from rigcard.diagnostics import Diagnostics
from rigcard.resolve import codes
from rigcard.resolve.model import Mix, Unit

DEEPEST_MOUNT = 50  # units that stand on each other in a chain
MOST_MIXES = 32  # into one channel


def mount_chains(units: Mapping[str, Unit | None], diagnostics: Diagnostics) -> None:
    """Report, once, a chain of mounted units that is too long. A circle, which has no end, is reported elsewhere."""
    depths: dict[str, int] = {}
    for name in units:
        way: list[str] = []
        at: str | None = name
        while at is not None and at not in depths:
            depths[at] = 0  # a circle that comes back here ends
            way.append(at)
            unit = units.get(at)
            at = unit.mounted_on if unit else None
        depth = depths[at] if at is not None else 0
        for met in reversed(way):
            depth += 1
            depths[met] = depth
            if depth > DEEPEST_MOUNT and (found := units.get(met)):
                diagnostics.report(
                    codes.MOUNTED_TOO_DEEP,
                    found.span,
                    f"`{met}` ends a chain of more than {DEEPEST_MOUNT} units that are mounted on each other",
                    "mount it on the unit at the foot of the chain that really carries it",
                )
                return


def mixes(owner: str, found: Sequence[Mix], diagnostics: Diagnostics) -> None:
    """Report each channel that too many mixes go into, at the first of them that is too many."""
    counts: Counter[str] = Counter()
    for mix in found:
        counts[mix.target] += 1
        if counts[mix.target] == MOST_MIXES + 1:
            diagnostics.report(
                codes.TOO_MANY_MIXES,
                mix.span,
                f"more than {MOST_MIXES} mixes go into channel `{mix.target}` of `{owner}`",
                "add the rates of those with the same source, and keep one line of them",
            )
