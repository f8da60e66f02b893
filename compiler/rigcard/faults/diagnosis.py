"""What explains the lines that failed, and which line or look to do next (IEEE Std 1232: diagnosis, fault isolation).

A mistake explains what was seen if every failed line may look different with it and every passed line may look as
planned. Mistakes are ranked by how often their kind is met; if no single one explains it, pairs are tried, each line
looking different if it does with one of the two.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import combinations
from typing import NamedTuple

from rigcard.faults.lines import A_CONTROL, MOVES, TAKE, Line
from rigcard.faults.matrix import Matrix, Row, by_station
from rigcard.faults.single import KINDS

MOST_QUESTIONS = 5  # in the printed tree (common practice, no source)
A_QUESTION = 30  # seconds to ask and to answer, so that a quick line is not asked for little (common practice)
MOST_AHEAD = 40  # questions, the best by themselves, that are judged together with the best one after them
MOST_PAIRS = 200_000  # pairs of mistakes that are tried
SHARED = 2520  # the parts of a weight, so that those with one action can share it
UNASKED = ("close", "take", "loss")  # the kinds of lines that are no quick question
EXTRA = {TAKE: 10, MOVES: 20}  # seconds that a line counts more for what it can do (common practice, no source)


class Diagnosis(NamedTuple):
    """What explains the failed and passed lines, most likely first: single mistakes, or pairs if there are none.

    `next` is the line, by index, that tells the explanations apart best; None if no line does.
    """

    explained: tuple[tuple[Row, ...], ...]
    next: int | None


def weight(row: Row) -> int:
    """How likely a mistake is against others: by the rank of its kind (common practice, no source)."""
    return len(KINDS) - KINDS.index(row.fault.kind)


def diagnose(
    matrix: Matrix, failed: Collection[int], passed: Collection[int], skipped: Collection[int] = ()
) -> Diagnosis:
    """What explains failed and passed lines, given by index; a line in neither says nothing.

    `skipped`: lines that nobody can do now, so that they are not the next one.
    """
    rows = [row for row in matrix.rows if not row.harmless]
    single = [(row,) for row in rows if explains((row,), failed, passed)]
    found: Sequence[tuple[Row, ...]] = single
    if not single and failed:
        found = _pairs(rows, failed, passed)
    ranked = sorted(
        found, key=lambda rows: (_open(rows, failed), -min(map(weight, rows)), -sum(map(weight, rows)))
    )
    return Diagnosis(tuple(ranked), next_line(matrix, ranked, {*failed, *passed, *skipped}))


def explains(rows: Sequence[Row], failed: Iterable[int], passed: Iterable[int]) -> bool:
    """Whether some mistakes together explain what was seen."""
    return all(any(at in row.differs or at in row.open for row in rows) for at in failed) and not any(
        at in row.differs for at in passed for row in rows
    )


def _open(rows: Sequence[Row], failed: Iterable[int]) -> int:
    """How many failed lines are only perhaps explained."""
    return sum(not any(at in row.differs for row in rows) for at in failed)


def _pairs(rows: Sequence[Row], failed: Collection[int], passed: Collection[int]) -> list[tuple[Row, ...]]:
    able = [
        row
        for row in rows
        if not any(at in row.differs for at in passed)
        and any(at in row.differs or at in row.open for at in failed)
    ]
    able.sort(key=weight, reverse=True)
    while len(able) * (len(able) - 1) // 2 > MOST_PAIRS:
        able.pop()  # the least likely
    return [pair for pair in combinations(able, 2) if explains(pair, failed, ())]


def next_line(matrix: Matrix, explained: Sequence[tuple[Row, ...]], known: Collection[int]) -> int | None:
    """The line that splits explanations best for its time: quickest and safest first; None if none splits them."""
    best, best_gain = None, 0.0
    weights = _weights(explained)
    for at, line in enumerate(matrix.lines):
        if at in known or line.kind in UNASKED:
            continue
        sides = [0, 0]
        for rows, own in zip(explained, weights, strict=True):
            if any(at in row.differs for row in rows):
                sides[0] += own
            elif not any(at in row.open for row in rows):
                sides[1] += own
        gain = sides[0] * sides[1] / (_seconds(line) + A_QUESTION)
        if gain > best_gain:
            best, best_gain = at, gain
    return best


def _seconds(line: Line) -> int:
    """The seconds that a line counts by itself, with what it can do."""
    return line.seconds + EXTRA.get(line.stage, 0) + (A_CONTROL if line.moved else 0)


def action(row: Row) -> tuple[str, ...]:
    """What puts a mistake right: mistakes with one action need not be told apart."""
    fault = row.fault
    match fault.kind:
        case "lead":
            return "lead", fault.names[0]
        case "power":
            return "power", *fault.names
        case "menu" | "mount" | "plug":
            return fault.kind, fault.names[0]
        case "bind":
            return ("bind",)
    return fault.kind, fault.names[0]


def _weights(explained: Sequence[tuple[Row, ...]]) -> list[int]:
    """The weight of each explanation; those with one action share it."""
    actions = [tuple(map(action, rows)) for rows in explained]
    many = Counter(actions)
    return [min(map(weight, rows)) * SHARED // many[own] for rows, own in zip(explained, actions, strict=True)]


class Question(NamedTuple):
    """A question of the printed tree: does the line, by index, look as planned? `yes` and `no` are what follows."""

    line: int
    yes: Question | Leaf
    no: Question | Leaf


class Leaf(NamedTuple):
    """An end of the tree: mistakes, most likely first, and the last line that failed on the way, or None."""

    rows: tuple[Row, ...]
    again: int | None


def tree(
    matrix: Matrix, kinds: Collection[str], station: int = 0, most: int = MOST_QUESTIONS
) -> Question | Leaf:
    """The questions that tell mistakes of some kinds apart by the lines of one station, at most `most` in a row.

    Before the first question the card has people read every screen and set every control as at power-up. So what a
    screen shows is left out, and a wrong start position where no input learned it.
    """
    parts = by_station(matrix)
    lines = parts.lines[station]
    screens = {at for at in lines if matrix.lines[at].kind == "screen"}
    learns = any(feed.input.learns for feed in matrix.solved.links.feeds)
    rows = [
        row
        for row in parts.rows[station]
        if row.fault.kind in kinds and screens.isdisjoint(row.differs) and (learns or row.fault.kind != "start")
    ]
    return _Tree(matrix, rows, lines).grow((1 << len(rows)) - 1, most, None)


class _Tree:
    """Grows a tree: each question is the one that splits best together with the best question after it.

    Sets of mistakes are the bits of an integer.
    """

    def __init__(self, matrix: Matrix, rows: list[Row], lines: Sequence[int]) -> None:
        self.rows = rows
        self.actions = [action(row) for row in rows]
        self.cost = {}
        self.fails: dict[int, int] = {}  # by line: the mistakes with which it looks different
        for at in lines:
            line = matrix.lines[at]
            if line.kind not in (*UNASKED, "screen"):
                self.fails[at] = sum(1 << number for number, row in enumerate(rows) if at in row.differs)
                self.cost[at] = _seconds(line)
        by_weight: dict[int, int] = {}
        for number, own in enumerate(_weights([(row,) for row in rows])):
            by_weight[own] = by_weight.get(own, 0) | 1 << number
        self.by_weight = list(by_weight.items())

    def grow(self, left: int, most: int, failed: int | None) -> Question | Leaf:
        """The tree for the mistakes of a set, after `failed` was the last line to fail."""
        numbers = [number for number in range(len(self.rows)) if left >> number & 1]
        lines = self._splitting(left) if most and len({self.actions[number] for number in numbers}) > 1 else {}
        if not lines:
            rows = sorted((self.rows[number] for number in numbers), key=weight, reverse=True)
            return Leaf(tuple(rows), failed)
        best = self._best(left, lines, most > 1)
        fails = lines[best]
        return Question(best, self.grow(left & ~fails, most - 1, failed), self.grow(fails, most - 1, best))

    def _best(self, left: int, lines: Mapping[int, int], ahead: bool) -> int:
        """The line that tells most apart for its time, with the best one after it if another may follow."""

        def worth(at: int, ahead: bool) -> tuple[float, int]:
            return self._gain(left, lines[at], ahead) / (self.cost[at] + A_QUESTION), -at

        tried = sorted(lines, key=lambda at: worth(at, False), reverse=True)
        return max(tried[:MOST_AHEAD], key=lambda at: worth(at, True)) if ahead else tried[0]

    def _splitting(self, left: int) -> dict[int, int]:
        """The lines that split a set, each with those for which it fails; of lines that split alike the cheapest."""
        found: dict[int, int] = {}
        for at, fails in self.fails.items():
            part = fails & left
            if part and part != left and self.cost[at] < self.cost.get(found.get(part, -1), 1000):
                found[part] = at
        return {at: part for part, at in sorted(found.items(), key=lambda item: item[1])}

    def _gain(self, left: int, fails: int, ahead: bool) -> int:
        """How much a question tells apart: the drop in the sum of the squared weights of what stays together."""
        gain = 2 * self._weight(fails) * self._weight(left & ~fails)
        if ahead:
            for part in (fails, left & ~fails):
                gain += max((self._gain(part, own, False) for own in self._splitting(part).values()), default=0)
        return gain

    def _weight(self, left: int) -> int:
        return sum((own * (left & members).bit_count() for own, members in self.by_weight))


def leaves(node: Question | Leaf) -> list[Leaf]:
    """The ends of a tree, from left to right."""
    return [node] if isinstance(node, Leaf) else [*leaves(node.yes), *leaves(node.no)]


def depth(node: Question | Leaf) -> int:
    """The most questions in a row."""
    return 0 if isinstance(node, Leaf) else 1 + max(depth(node.yes), depth(node.no))
