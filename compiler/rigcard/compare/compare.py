"""Compares two sides, each a rig file or its rig.json."""

from __future__ import annotations

from typing import NamedTuple

from rigcard.compare.actions import actions_of
from rigcard.compare.comparison import Comparison
from rigcard.compare.effects import effects_of, issue_of
from rigcard.compare.facts import Facts
from rigcard.compare.people import papers_of, people_of
from rigcard.compare.port import ports_of
from rigcard.solve.solved import Solved


class Side(NamedTuple):
    """One revision: its facts; `solved` is None for a rig.json."""

    facts: Facts
    solved: Solved | None = None


def compare(old: Side, new: Side) -> Comparison:
    """Return everything that differs. Values for another handset are there only if the new side is a rig file."""
    was, now = old.facts, new.facts
    effects = effects_of(was, now)
    actions = actions_of(was, now, effects)
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


def same_rig(old: Facts, new: Facts) -> bool:
    """Whether two revisions are of one rig: of one title, or with most of the pieces of the smaller in both.

    A title may be corrected, and every piece but one be another; both at once are another rig.
    """
    if old.title.casefold().split() == new.title.casefold().split():
        return True
    pieces = [{(name, unit.asset or unit.model) for name, unit in side.units.items()} for side in (old, new)]
    return 2 * len(pieces[0] & pieces[1]) >= min(map(len, pieces)) > 0
