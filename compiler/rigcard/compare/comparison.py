"""What differs between two revisions: by effect, by action, by paper and by person. Values only, no words."""

from __future__ import annotations

from typing import Any, NamedTuple

from rigcard.compare.facts import Facts
from rigcard.compare.port import Port

NEW, CHANGED, VALID, WITHDRAWN = "new", "changed", "valid", "withdrawn"  # what became of a paper


class Effect(NamedTuple):
    """One fact of the rig that differs. `kind` is the name of the facts; None: there is nothing on that side."""

    kind: str
    about: tuple[str, ...]
    was: Any
    now: Any


class Action(NamedTuple):
    """One thing to do. `was` and `now` say from what to what; `was` None: all of it is to be done anew.

    `now` of a test: the lines of the function test, from 1, that show what the whole test would of what was touched.
    """

    kind: str
    about: tuple[str, ...]
    was: Any
    now: Any


class Paper(NamedTuple):
    """A card group, a label or a full sheet, and what became of it.

    `role`: who holds it; "" for everybody and for labels. `more`: how many more people get a copy of a card that stays valid.
    """

    kind: str  # card, label, sheet
    name: str
    state: str
    role: str = ""
    more: int = 0


class Person(NamedTuple):
    """Somebody who must be told: a crew role, the technician, or somebody outside; and why.

    `who`: the name of a role, `technician`, `packer`, `rigger`, `pilot` or `coordinator`. `reasons`: card (one
    that this person holds), does (a control that they hold), start (what to do before), copies, work, mass, radio,
    pack, out (the role is no longer there).
    """

    who: str
    reasons: tuple[str, ...]


class Comparison(NamedTuple):
    """Two revisions and everything that differs."""

    old: Facts
    new: Facts
    issue: tuple[Effect, ...]  # title, job, revision, date, crew
    effects: tuple[Effect, ...]
    actions: tuple[Action, ...]
    ports: tuple[Port, ...]
    papers: tuple[Paper, ...]
    people: tuple[Person, ...]

    def papers_in(self, state: str, kind: str = "") -> list[Paper]:
        """Return the papers that became this, of one kind or of all."""
        return [paper for paper in self.papers if paper.state == state and kind in ("", paper.kind)]

    @property
    def nothing(self) -> bool:
        """Whether nothing at all differs."""
        stays = all(paper.state == VALID and not paper.more for paper in self.papers)
        return stays and not (self.issue or self.effects or self.actions)

    @property
    def words_only(self) -> bool:
        """Whether papers say something in other words, and the rig is and does the same."""
        others = any(effect.kind == "job" or None in (effect.was, effect.now) for effect in self.issue)
        work = any(action.kind not in RELABEL for action in self.actions)
        return not (self.nothing or self.effects or work or others)

    @property
    def papers_differ(self) -> bool:
        """Whether any paper is new, other or withdrawn."""
        return any(paper.state != VALID for paper in self.papers)


RELABEL = ("label", "unlabel", "name")  # the actions that only write other words
