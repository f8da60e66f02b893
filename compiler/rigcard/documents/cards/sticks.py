"""Both axes of a stick as one stick: the model has a control for each axis, a person has one thing in the hand."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from rigcard.documents.base.language import say
from rigcard.documents.base.phrases import handset_title, the
from rigcard.resolve.model import Control, Model, Rig

ACROSS = frozenset(("left", "right"))


class Handle(NamedTuple):
    """One thing to hold: a control, or both axes of a stick under their common title."""

    title: str
    controls: tuple[Control, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Return the names of its controls."""
        return tuple(control.name for control in self.controls)


def is_across(control: Control) -> bool:
    """Whether a control moves to left and right, and not away and toward."""
    return {control.positions[0].name, control.positions[-1].name} <= ACROSS


def handles(model: Model, names: Iterable[str] | None = None) -> list[Handle]:
    """Return what a handset is worked with, in the order of its model; only controls of `names` if given.

    Two axes are one stick if one lies across, the other along, and their titles agree up to the first comma:
    `Right stick, across` and `Right stick, along`.
    """
    wanted = set(model.controls if names is None else names)
    found: list[Handle] = []
    taken: set[str] = set()
    for control in model.controls.values():
        if control.name in taken:
            continue
        pair = _pair(model, control)
        taken.update(one.name for one in pair)
        title = control.title.partition(",")[0].strip() if len(pair) == 2 else control.title
        mine = tuple(one for one in pair if one.name in wanted)
        if mine:
            found.append(Handle(title if len(mine) == 2 else mine[0].title, mine))
    return found


def _pair(model: Model, control: Control) -> tuple[Control, ...]:
    head, comma, _ = control.title.partition(",")
    if control.kind != "stick" or not comma:
        return (control,)
    both = [
        one
        for one in model.controls.values()
        if one.kind == "stick" and one.title.partition(",")[:2] == (head, comma)
    ]
    if len(both) != 2 or is_across(both[0]) == is_across(both[1]):
        return (control,)
    return tuple(sorted(both, key=lambda one: not is_across(one)))


def titles_of(rig: Rig, handset: str, names: Iterable[str]) -> list[str]:
    """Return the titles of controls for a sentence: a stick with both axes once."""
    return [one.title for one in handles(rig.units[handset].model, names)]


def spoken(rig: Rig, handset: str, name: str, alone: bool = False) -> str:
    """Return one control for a sentence: `the left dial`, `the right stick across`.

    If the rig has more handsets its own is said too, unless the control is spoken of `alone`.
    """
    head, _, tail = rig.units[handset].model.controls[name].title.partition(",")
    control = f"{the(head)}{f' {tail.strip()}' if tail else ''}"
    whose = "" if alone else handset_title(rig, handset)
    return say("{control} of {handset}", control=control, handset=the(whose)) if whose else control
