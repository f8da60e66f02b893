"""A rig with its function test judged: matrix, figures, short tests and questions, each computed when it is asked for."""

from __future__ import annotations

from functools import cached_property

from rigcard.faults.diagnosis import Leaf, Question, tree
from rigcard.faults.figures import Figures, Short, figures_of, short_tests, together
from rigcard.faults.matrix import Matrix, matrix_of
from rigcard.faults.single import OVERNIGHT
from rigcard.solve.solved import Solved


class Judged:
    """What follows from the mistakes of one rig."""

    def __init__(self, solved: Solved) -> None:
        self.solved = solved

    @cached_property
    def matrix(self) -> Matrix:
        """Every mistake against every line."""
        return matrix_of(self.solved)

    @cached_property
    def figures(self) -> Figures:
        """Which share of the mistakes the full test finds."""
        return figures_of(self.matrix)

    @cached_property
    def shorts(self) -> tuple[Short, ...]:
        """The lines of the short tests of each station."""
        return short_tests(self.matrix)

    @property
    def short(self) -> Short:
        """The lines of the short tests of all stations."""
        return Short(
            together(each.swap for each in self.shorts), together(each.morning for each in self.shorts)
        )

    @cached_property
    def questions(self) -> tuple[Question | Leaf, ...]:
        """The questions of each station's fault-finding card: about all that can go wrong after a test has passed."""
        return tuple(tree(self.matrix, OVERNIGHT, station) for station in range(len(self.shorts)))


_LAST: list[Judged] = []


def judged(solved: Solved) -> Judged:
    """The same object for the rig of the last call: the compiler works on one rig at a time."""
    if not _LAST or _LAST[0].solved is not solved:
        _LAST[:] = [Judged(solved)]
    return _LAST[0]
