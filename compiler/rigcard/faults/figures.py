"""What the function test is worth: which share of the mistakes it finds, and which mistakes look alike in it.

Terms of IEEE Std 1522: fault detection (`found` of `all`), fault isolation by ambiguity groups (mistakes with one
signature), both counted over single faults. A mistake that changes nothing is harmless and does not count.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from rigcard.faults.cover import Cover, least_cover
from rigcard.faults.lines import A_CONTROL
from rigcard.faults.matrix import Matrix, Row
from rigcard.faults.single import AT_A_SWAP, KINDS, OVERNIGHT


class Share(NamedTuple):
    """How many mistakes the full test finds, out of how many."""

    found: int
    all: int


class Figures(NamedTuple):
    """The figures of a function test.

    `groups`: the mistakes that it finds, those that look alike together, the largest first; `unseen`: those that it
    cannot find; `harmless`: how many change nothing.
    """

    share: Share
    by_kind: dict[str, Share]
    groups: tuple[tuple[Row, ...], ...]
    unseen: tuple[Row, ...]
    harmless: int

    @property
    def mean_group(self) -> Fraction:
        """How many mistakes look alike on average, over the groups."""
        return Fraction(self.share.found, len(self.groups)) if self.groups else Fraction(0)

    @property
    def largest_group(self) -> int:
        """How many mistakes look alike at most."""
        return max((len(group) for group in self.groups), default=0)


def figures_of(matrix: Matrix) -> Figures:
    """The figures of a matrix."""
    counted = [row for row in matrix.rows if not row.harmless]
    by_kind = {}
    for kind in KINDS:
        own = [row for row in counted if row.fault.kind == kind]
        if own:
            by_kind[kind] = Share(sum(row.detected for row in own), len(own))
    alike: dict[object, list[Row]] = {}
    for row in counted:
        if row.detected:
            alike.setdefault(row.signature, []).append(row)
    return Figures(
        share=Share(sum(row.detected for row in counted), len(counted)),
        by_kind=by_kind,
        groups=tuple(tuple(group) for group in sorted(alike.values(), key=len, reverse=True)),
        unseen=tuple(row for row in counted if not row.detected),
        harmless=len(matrix.rows) - len(counted),
    )


class Short(NamedTuple):
    """The short tests: the lines, by index, that find in the least time all that the full test finds of some kinds."""

    swap: Cover
    morning: Cover


def short_tests(matrix: Matrix) -> Short:
    """After a swap of packs, and in the morning."""
    return Short(cover_of(matrix, AT_A_SWAP), cover_of(matrix, OVERNIGHT))


def cover_of(matrix: Matrix, kinds: frozenset[str]) -> Cover:
    """The lines that find in the least time every mistake of some kinds that the full test finds."""
    return cover_rows(matrix, [row for row in matrix.rows if row.fault.kind in kinds])


def cover_rows(matrix: Matrix, rows: list[Row]) -> Cover:
    """The lines that find these mistakes in the least time, with the lines that they need, and the one that ends a test."""
    closing = [at for at, line in enumerate(matrix.lines) if line.kind == "close"]
    moved = {at: line.moved for at, line in enumerate(matrix.lines) if line.moved}
    return least_cover(
        [*(row.differs for row in rows if row.detected and not row.harmless), closing],
        {at: line.seconds for at, line in enumerate(matrix.lines)},
        matrix.needs,
        moved,
        A_CONTROL,
    )


def seconds_of(matrix: Matrix, chosen: frozenset[int]) -> int:
    """How long some lines take: each its own time, and each control once."""
    lines = [matrix.lines[at] for at in chosen]
    return sum(line.seconds for line in lines) + A_CONTROL * len({line.moved for line in lines if line.moved})
