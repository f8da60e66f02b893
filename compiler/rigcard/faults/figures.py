"""What the function test is worth: which share of the mistakes it finds, and which mistakes look alike in it.

Terms of IEEE Std 1522: fault detection (`found` of `all`), fault isolation by ambiguity groups (mistakes with one
signature), both counted over single faults. A mistake that changes nothing is harmless and does not count.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import NamedTuple

from rigcard.faults.cover import Cover, least_cover
from rigcard.faults.lines import A_CONTROL
from rigcard.faults.matrix import Matrix, Row, by_station
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
    """The short tests of a station: the lines, by index, that find in the least time all that its full test finds of
    some kinds."""

    swap: Cover
    morning: Cover


def short_tests(matrix: Matrix) -> tuple[Short, ...]:
    """After a swap of packs, and in the morning, for each station."""
    covers = (cover_of(matrix, kinds) for kinds in (AT_A_SWAP, OVERNIGHT))
    return tuple(Short(swap, morning) for swap, morning in zip(*covers, strict=True))


def cover_of(matrix: Matrix, kinds: frozenset[str]) -> list[Cover]:
    """For each station, the lines that find in the least time every mistake of some kinds that its full test finds."""
    return cover_rows(matrix, [row for row in matrix.rows if row.fault.kind in kinds])


def cover_rows(matrix: Matrix, rows: Sequence[Row]) -> list[Cover]:
    """For each station, the lines that find these mistakes in the least time, with the lines that they need, and the
    one that ends a test."""
    seen: dict[int, list[list[int]]] = {}
    for row in rows:
        if not row.harmless:
            parts: dict[int, list[int]] = {}
            for at in row.differs:
                parts.setdefault(matrix.lines[at].station, []).append(at)
            for station, own_lines in parts.items():
                seen.setdefault(station, []).append(own_lines)
    covers = []
    for station, lines in enumerate(by_station(matrix).lines):
        closing = [at for at in lines if matrix.lines[at].kind == "close"]
        covers.append(
            least_cover(
                [*seen.get(station, []), closing],
                {at: matrix.lines[at].seconds for at in lines},
                matrix.needs,
                {at: moved for at in lines if (moved := matrix.lines[at].moved)},
                A_CONTROL,
            )
        )
    return covers


def together(covers: Iterable[Cover]) -> Cover:
    """The lines of all stations, one station after the other."""
    covers = list(covers)
    return Cover(
        chosen=frozenset(at for cover in covers for at in cover.chosen),
        seconds=sum(cover.seconds for cover in covers),
        bound=sum(cover.bound for cover in covers),
    )


def seconds_of(matrix: Matrix, chosen: frozenset[int]) -> int:
    """How long some lines take: each its own time, and each control once."""
    lines = [matrix.lines[at] for at in chosen]
    return sum(line.seconds for line in lines) + A_CONTROL * len({line.moved for line in lines if line.moved})
