"""What became of every paper, and who must be told of what."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.compare.comparison import CHANGED, NEW, VALID, WITHDRAWN, Action, Effect, Paper, Person
from rigcard.compare.facts import Facts

TECHNICIAN = "technician"
TOLD = {"hung": "rigger", "all-up": "pilot"}  # who is told a mass, by its kind
OF_FUNCTIONS = ("done", "turned", "combined", "losses", "margins", "turns", "levels")
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
    for name, card in new.cards.items():
        was = old.cards.get(name)
        state = NEW if was is None else VALID if was.code == card.code else CHANGED
        more = max(0, card.copies - was.copies) if was and state == VALID else 0
        found.append(Paper("card", name, state, card.role, more))
    found += [
        Paper("card", name, WITHDRAWN, card.role) for name, card in old.cards.items() if name not in new.cards
    ]
    for kind, before, after in (("sheet", old.sheets, new.sheets), ("label", old.labels, new.labels)):
        for name, code in after.items():
            state = NEW if name not in before else VALID if before[name] == code else CHANGED
            found.append(Paper(kind, name, state))
        found += [Paper(kind, name, WITHDRAWN) for name in before if name not in after]
    return tuple(found)


def people_of(
    old: Facts, new: Facts, effects: Sequence[Effect], actions: Sequence[Action], papers: Sequence[Paper]
) -> tuple[Person, ...]:
    """Return who must be told: each crew role with a reason, then those that no crew names."""
    cards = [paper for paper in papers if paper.kind == "card" and paper.name in {**old.cards, **new.cards}]
    changed = {paper.role for paper in cards if paper.state != VALID and not _issue_only(paper)}
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
    technical = [*(["card"] if TECHNICIAN in changed or "" in changed else []), *(["work"] if work else [])]
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
    lists = any(paper.kind != "card" and paper.state != VALID for paper in papers)
    packing = any(action.kind in PACKING for action in actions)
    found.append(Person("packer", (*(["pack"] if packing else []), *(["list"] if lists else []))))
    return tuple(person for person in found if person.reasons)


def _issue_only(paper: Paper) -> bool:
    """Whether a paper is the issue sheet, which goes with every issue and to one person."""
    return paper.name == "ISSUE SHEET"


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
