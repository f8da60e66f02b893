"""Compares two sides, each a rig file or its rig.json."""

from __future__ import annotations

from typing import NamedTuple

from rigcard.compare.actions import actions_of
from rigcard.compare.comparison import Action, Comparison
from rigcard.compare.effects import effects_of, issue_of
from rigcard.compare.facts import Facts
from rigcard.compare.people import papers_of, people_of
from rigcard.compare.port import ports_of
from rigcard.faults.judged import judged
from rigcard.faults.retest import retest
from rigcard.solve.solved import Solved

# The kinds of work that touch the unit that they are about.
OF_UNITS = (
    "swap",
    "bring",
    "software",
    "mount",
    "bind",
    "memory",
    "set",
    "assign",
    "unset",
    "follow",
    "unfollow",
)


class Side(NamedTuple):
    """One revision: its facts; `solved` is None for a rig.json."""

    facts: Facts
    solved: Solved | None = None


def compare(old: Side, new: Side) -> Comparison:
    """Return everything that differs. Values for another handset are there only if the new side is a rig file."""
    was, now = old.facts, new.facts
    effects = effects_of(was, now)
    actions = actions_of(was, now, effects)
    if new.solved:
        actions = _with_lines(now, new.solved, actions)
    papers = papers_of(was, now)
    return Comparison(
        old=was,
        new=now,
        issue=issue_of(was, now),
        effects=effects,
        actions=actions,
        ports=ports_of(was, now, new.solved) if new.solved else (),
        papers=papers,
        people=people_of(was, now, effects, actions, papers),
    )


def _with_lines(now: Facts, solved: Solved, actions: tuple[Action, ...]) -> tuple[Action, ...]:
    """Add to the functions to test the lines of the function test, from 1, that show what all would."""
    names: set[str] = set()
    for action in actions:
        about = action.about
        if action.kind in ("lead", "lay"):
            names |= {leg for leg in now.legs if leg.split(".")[0] == about[0]}
        elif action.kind == "plug":
            names.add(about[0])
        elif action.kind in ("dial", "clear"):
            names.add(".".join(about))
        elif action.kind in OF_UNITS:
            names.add(about[0])
    if not names or not solved.losses:  # without a channel that a receiver sends on there is no function test
        return actions
    lines = tuple(number + 1 for number in sorted(retest(judged(solved).matrix, sorted(names)).chosen))
    return tuple(
        action._replace(now=lines) if action.kind == "test" and lines else action for action in actions
    )


def same_rig(old: Facts, new: Facts) -> bool:
    """Whether two revisions are of one rig: of one title, or with most of the pieces of the smaller in both.

    A title may be corrected, and every piece but one be another; both at once are another rig.
    """
    if old.title.casefold().split() == new.title.casefold().split():
        return True
    pieces = [{(name, unit.asset or unit.model) for name, unit in side.units.items()} for side in (old, new)]
    return 2 * len(pieces[0] & pieces[1]) >= min(map(len, pieces)) > 0
