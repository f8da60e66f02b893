"""Which cards a rig gets, and in which order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rigcard.documents.card import Group, Numbered, cards, check_code, number_groups
from rigcard.documents.cards.cover import cover
from rigcard.documents.cards.devices import device_setup
from rigcard.documents.cards.fault_finding import fault_finding
from rigcard.documents.cards.function_test import function_test
from rigcard.documents.cards.handset import handset_setup
from rigcard.documents.cards.operator import operator_card
from rigcard.documents.cards.power_up import power_down, power_up
from rigcard.documents.cards.radio_loss import radio_loss
from rigcard.documents.model import Document, Typeface
from rigcard.documents.paper import impose
from rigcard.resolve.words import ROLES
from rigcard.solve.solved import Solved


def card_groups(face: Typeface, solved: Solved) -> list[Group]:
    """Every group of cards but the cover: a new kind of card is added here."""
    units = sorted(solved.rig.units.values(), key=lambda unit: ROLES.index(unit.role))
    return [
        power_up(face, solved),
        power_down(face, solved),
        *(operator_card(face, solved, unit) for unit in units if unit.role == "handset"),
        *(
            handset_setup(face, solved, unit) if unit.role == "handset" else device_setup(face, solved, unit)
            for unit in units
        ),
        *([function_test(face, solved), radio_loss(face, solved)] if solved.losses else []),
        *([fault_finding(face, solved)] if solved.losses else []),
    ]


def numbered_cards(face: Typeface, solved: Solved) -> list[Numbered]:
    """Every group of cards with its numbers and check code, the cover first."""
    return _with_cover(face, solved, card_groups(face, solved))


def card_document(
    face: Typeface,
    solved: Solved,
    role: str = "",
    valid: Mapping[str, str] | None = None,
    numbered: Sequence[Numbered] = (),
) -> Document:
    """The pack of cards on sheets: all, or those for one role, and without those still valid (title -> code).

    `numbered` is the pack if it has been laid out already.
    """
    rig = solved.rig
    numbered = numbered or numbered_cards(face, solved)
    footer = f"check {check_code([found.code for found in numbered])}"
    printed = [
        found
        for found in numbered
        if (not role or found.group.role in ("", role)) and (valid or {}).get(card_key(found)) != found.code
    ]
    return impose(face, cards(face, rig, numbered, printed), rig.paper, f"{rig.title}: cards", footer)


def card_key(found: Numbered) -> str:
    """What a group of cards is known by from one revision to the next."""
    return f"{found.group.kicker}: {found.group.title}"


def _with_cover(face: Typeface, solved: Solved, groups: list[Group]) -> list[Numbered]:
    """The cover lists the numbers of the cards after it, and so decides them by its own length."""
    rig = solved.rig
    rest = number_groups(face, rig, groups)
    length = 1
    for _ in range(4):
        shifted = [found._replace(first=found.first + length) for found in rest]
        front = number_groups(face, rig, [cover(face, solved, shifted)])
        if front[0].length == length:
            break
        length = front[0].length
    return [*front, *shifted]
