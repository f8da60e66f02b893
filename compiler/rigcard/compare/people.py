"""What became of every paper, and who must be told of what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeVar

from rigcard.compare.comparison import CHANGED, NEW, VALID, WITHDRAWN, Action, Effect, Paper, Person
from rigcard.compare.facts import Facts

TECHNICIAN, PACKER = "technician", "packer"
KIT = "kit.pdf"  # what whoever packs works with; the other sheets are the technician's
Value = TypeVar("Value")
TOLD = {"hung": "rigger", "all-up": "pilot"}  # who is told a mass, by its kind
OF_CONTROLS = ("done", "turned", "combined", "turns", "levels")  # what an operator feels; margins they do not
PACKING = (
    "pack",
    "packs",
    "spare leads",
    "label",
    "unlabel",
    "bring",
    "take out",
    "bring spare",
    "take out spare",
)
NO_WORK = (*PACKING, "stand")


def papers_of(old: Facts, new: Facts) -> tuple[Paper, ...]:
    """Return every paper of both sides: cards, full sheets, labels; the new ones first, then those withdrawn."""
    found = []
    for name, before, card in _both(old.cards, new.cards):
        state = _state(before and before.code, card and card.code)
        more = max(0, card.copies - before.copies) if before and card and state == VALID else 0
        role = card.role if card else before.role if before else ""
        found.append(Paper("card", name, state, role, more))
    for name, was, now in _both(old.sheets, new.sheets):
        file = (now or was or ("",))[0]
        found.append(
            Paper("sheet", name, _state(was and was[1], now and now[1]), PACKER if file == KIT else TECHNICIAN)
        )
    found += [Paper("label", name, _state(was, now)) for name, was, now in _both(old.labels, new.labels)]
    return tuple(found)


def _both(old: Mapping[str, Value], new: Mapping[str, Value]) -> list[tuple[str, Value | None, Value | None]]:
    """Return what is on either side: the order of the new one, then what is gone."""
    return [(name, old.get(name), new.get(name)) for name in dict.fromkeys((*new, *old))]


def _state(was: str | None, now: str | None) -> str:
    """Return what became of a paper, by its check codes."""
    if was is None:
        return NEW
    return WITHDRAWN if now is None else VALID if was == now else CHANGED


def people_of(
    old: Facts, new: Facts, effects: Sequence[Effect], actions: Sequence[Action], papers: Sequence[Paper]
) -> tuple[Person, ...]:
    """Return who must be told: each crew role with a reason, then those that no crew names."""
    known = {**old.cards, **new.cards}
    changed = {
        paper.role
        for paper in papers
        if paper.kind == "card"
        and paper.state != VALID
        and not known[paper.name].issue  # goes with every issue
    }
    kinds = {effect.kind for effect in effects}
    found = []
    for role in new.crew:
        reasons = []
        if role not in old.crew:
            reasons.append("joins")
        if role in changed or "" in changed:
            reasons.append("card")
        if any(effect.kind in OF_CONTROLS and _holder(old, new, effect) == role for effect in effects):
            reasons.append("does")
        if "losses" in kinds:
            reasons.append("loss")
        if any(_starts(old, new, action) == role for action in actions):
            reasons.append("start")
        if "hazards" in kinds:
            reasons.append("hazard")
        found.append(Person(role, tuple(reasons)))
    found += [Person(role, ("out",)) for role in old.crew if role not in new.crew]
    work = [action for action in actions if action.kind not in NO_WORK]
    sheets = {paper.role for paper in papers if paper.kind == "sheet" and paper.state != VALID}
    technical = [
        *(["card"] if TECHNICIAN in changed or "" in changed else []),
        *(["work"] if work else []),
        *(["list"] if TECHNICIAN in sheets else []),
    ]
    found.append(Person(TECHNICIAN, tuple(technical)))
    for kind, who in TOLD.items():
        heavier = [
            effect
            for effect in effects
            if effect.kind == "handed"
            and kind in (new.kinds.get(effect.about[0]), old.kinds.get(effect.about[0]))
        ]
        found.append(Person(who, ("mass",) if heavier else ()))
    found.append(Person("coordinator", ("radio",) if "radio" in kinds else ()))
    packing = any(action.kind in PACKING for action in actions)
    found.append(Person(PACKER, (*(["pack"] if packing else []), *(["list"] if PACKER in sheets else []))))
    return tuple(person for person in found if person.reasons)


def _holder(old: Facts, new: Facts, effect: Effect) -> str:
    """Return the role that holds the handset of an effect."""
    handset = effect.about[2]
    unit = new.units.get(handset) or old.units.get(handset)
    return unit.held_by if unit else ""


def _starts(old: Facts, new: Facts, action: Action) -> str:
    """Return the role that must leave a control elsewhere before power-up; "" for other work."""
    if action.kind != "stand":
        return ""
    unit = new.units.get(action.about[0]) or old.units.get(action.about[0])
    return unit.held_by if unit else ""
