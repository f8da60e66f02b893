"""The least time in which some lines find every mistake: weighted set cover, exact, by branch and bound.

A line costs its own seconds and those of whatever it needs: the control that it moves (once, however many lines
move it), and lines without which it must not be done. That is a set cover whose columns pull others in.
Reductions first (a mistake that is found whenever another one is; a line that another one replaces), then each part
that shares nothing with the rest by itself. The bound adds up mistakes that no common line could find. If a part
takes more than `MOST_NODES` nodes, the best cover so far is returned with the bound and `proven` False.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import NamedTuple

MOST_NODES = 20_000
Item = Hashable


class Cover(NamedTuple):
    """The chosen lines by index, their seconds, and the least that any choice can take; equal if `proven`."""

    chosen: frozenset[int]
    seconds: int
    bound: int

    @property
    def proven(self) -> bool:
        """Whether nothing shorter finds as much."""
        return self.seconds == self.bound


class Problem(NamedTuple):
    """Rows to be covered, each by one of some columns; `pulls`: what each column costs, item by item, with all that it
    needs; `weights`: the seconds of each item."""

    rows: tuple[frozenset[int], ...]
    pulls: Mapping[int, frozenset[Item]]
    weights: Mapping[Item, int]

    def seconds(self, items: Iterable[Item]) -> int:
        """The seconds of items, each counted once."""
        return sum(self.weights[item] for item in set(items))


def least_cover(
    rows: Iterable[Iterable[int]],
    seconds: Mapping[int, int],
    needs: Sequence[Sequence[int]],
    shared: Mapping[int, Item],
    shared_seconds: int,
    most_nodes: int = MOST_NODES,
) -> Cover:
    """The cheapest lines that cover every row; a row that nothing covers is left out.

    `seconds`: of each line that may be chosen; `needs`: by line, the lines that it must not be without; `shared`:
    by line, what it has to pick up first, for `shared_seconds`.
    """
    pulls = {}
    weights: dict[Item, int] = {}
    for line, own in seconds.items():
        weights["line", line] = own
        if line in shared:
            weights["shared", shared[line]] = shared_seconds
        closed = [line]
        for other in closed:  # grows by what is needed in turn
            closed += [one for one in needs[other] if one not in closed]
        if all(one in seconds for one in closed):
            items: set[Item] = {("line", one) for one in closed}
            items |= {("shared", shared[one]) for one in closed if one in shared}
            pulls[line] = frozenset(items)
    finds = _with_pulled(rows, pulls)
    reduced = _reduced(Problem(finds, pulls, weights))
    chosen: set[Item] = set()
    bound = 0
    for part in _parts(reduced):
        best, least = _Search(part, most_nodes).run()
        chosen |= best
        bound += least
    lines = frozenset(item[1] for item in chosen if isinstance(item, tuple) and item[0] == "line")
    total = sum(weights[item] for item in chosen)
    return Cover(lines, total, bound)


def _with_pulled(
    rows: Iterable[Iterable[int]], pulls: Mapping[int, frozenset[Item]]
) -> tuple[frozenset[int], ...]:
    """The rows, each also covered by the columns that pull in one that covers it."""
    pulled_by: dict[int, set[int]] = {}
    for column, items in pulls.items():
        for item in items:
            if isinstance(item, tuple) and item[0] == "line":
                pulled_by.setdefault(item[1], set()).add(column)
    found = (frozenset(one for column in row for one in pulled_by.get(column, ())) for row in rows)
    return tuple(dict.fromkeys(row for row in found if row))


def _reduced(problem: Problem) -> Problem:
    """The same problem without rows and columns that change nothing, until there are no more."""
    rows, pulls = set(problem.rows), dict(problem.pulls)
    while True:
        fewer = {row for row in rows if not any(other < row for other in rows)}
        finds: dict[int, set[frozenset[int]]] = {}
        for row in fewer:
            for column in row:
                finds.setdefault(column, set()).add(row)
        kept = dict(pulls)
        for column in pulls:
            own = finds.get(column, set())
            rivals = set().union(*own) if own else set()
            if not own or any(
                other in kept
                and other != column
                and own <= finds[other]
                and pulls[other] - {("line", other)} <= pulls[column]
                and problem.weights["line", other] <= problem.weights["line", column]
                and ("line", column) not in pulls[other]
                for other in rivals
            ):
                del kept[column]
        trimmed = {frozenset(row & kept.keys()) for row in fewer}
        if trimmed == rows and len(kept) == len(pulls):
            return Problem(tuple(sorted(trimmed, key=sorted)), kept, problem.weights)
        rows, pulls = trimmed, kept


def _parts(problem: Problem) -> list[Problem]:
    """The parts of a problem that share no column and no item."""
    group: dict[Item, int] = {}
    rows: dict[int, list[frozenset[int]]] = {}
    for number, row in enumerate(problem.rows):
        items = {item for column in row for item in problem.pulls[column]}
        joined = {group[item] for item in items if item in group}
        rows[number] = [row, *(one for old in joined for one in rows.pop(old))]
        everything = {item for one in rows[number] for column in one for item in problem.pulls[column]}
        group.update(dict.fromkeys(everything, number))
    return [Problem(tuple(own), problem.pulls, problem.weights) for own in rows.values()]


class _Search:
    """Branch and bound over one part."""

    def __init__(self, problem: Problem, most_nodes: int) -> None:
        self.problem = problem
        self.most_nodes = most_nodes
        self.nodes = 0
        self.best = self._greedy()
        self.best_seconds = problem.seconds(self.best)
        self.bound_left = self.best_seconds  # the least bound of a branch that was given up

    def run(self) -> tuple[frozenset[Item], int]:
        """The items of the best cover, and what no cover can go below."""
        self._branch(frozenset(), frozenset(), list(self.problem.rows))
        return self.best, min(self.best_seconds, self.bound_left)

    def _greedy(self) -> frozenset[Item]:
        """Take what costs least for each row that it covers, then drop what is not needed."""
        chosen: list[int] = []
        have: set[Item] = set()
        left = list(self.problem.rows)
        while left:
            columns = sorted({column for row in left for column in row})
            column = min(columns, key=lambda one: self._more(one, have) / sum(one in row for row in left))
            chosen.append(column)
            have |= self.problem.pulls[column]
            left = [row for row in left if column not in row]
        for column in list(chosen):
            rest = [one for one in chosen if one != column]
            if all(not row.isdisjoint(rest) for row in self.problem.rows):
                chosen = rest
        return frozenset(item for column in chosen for item in self.problem.pulls[column])

    def _more(self, column: int, have: Iterable[Item]) -> int:
        return self.problem.seconds(self.problem.pulls[column] - frozenset(have))

    def _bound(self, have: frozenset[Item], barred: frozenset[int], left: Sequence[frozenset[int]]) -> int:
        """Rows that no common item could pay for each cost at least their cheapest column."""
        spent: set[Item] = set(have)
        least = 0
        for row in sorted(left, key=lambda row: (len(row - barred), sorted(row))):
            items = {item for column in row - barred for item in self.problem.pulls[column] - have}
            if items.isdisjoint(spent):
                least += min((self._more(column, have) for column in row - barred), default=0)
                spent |= items
        return least

    def _branch(self, have: frozenset[Item], barred: frozenset[int], left: list[frozenset[int]]) -> None:
        self.nodes += 1
        cost = self.problem.seconds(have)
        if not left:
            if cost < self.best_seconds:
                self.best, self.best_seconds = have, cost
            return
        row = min(left, key=lambda one: (len(one - barred), sorted(one)))
        columns = sorted(row - barred, key=lambda column: (self._more(column, have), column))
        if not columns:
            return
        bound = cost + self._bound(have, barred, left)
        if bound >= self.best_seconds:
            return
        if self.nodes > self.most_nodes:
            self.bound_left = min(self.bound_left, bound)
            return
        for column in columns:
            rest = [one for one in left if column not in one]
            self._branch(have | self.problem.pulls[column], barred, rest)
            barred |= {column}
