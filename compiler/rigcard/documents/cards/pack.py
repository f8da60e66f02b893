"""Which cards a rig gets, and in which order."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from rigcard.documents.card import Group, Numbered, cards, check_code, inner_width, number_groups
from rigcard.documents.cards.cover import cover
from rigcard.documents.cards.devices import device_setup
from rigcard.documents.cards.fault_finding import fault_finding
from rigcard.documents.cards.function_test import function_test
from rigcard.documents.cards.handset import handset_setup
from rigcard.documents.cards.operator import operator_card
from rigcard.documents.cards.power import power_card
from rigcard.documents.cards.power_up import power_down, power_up
from rigcard.documents.cards.radio_loss import radio_loss
from rigcard.documents.cards.special_leads import has_special_leads, special_leads
from rigcard.documents.model import Document, Typeface
from rigcard.documents.paper import STOCKS, impose
from rigcard.resolve.model import Unit
from rigcard.resolve.words import ROLES
from rigcard.solve.solved import Solved

MOST_IN_POCKET = 2  # cards of one kind that somebody can leaf through in gloves


def card_groups(face: Typeface, solved: Solved) -> list[Group]:
    """Every group of cards but the cover: a new kind of card is added here.

    What is carried comes first, then what lies on the bench. Carried cards are pocket cards, or all of them joined
    ones that fold to that size, where one of them would be a pack of its own.
    """
    stock = STOCKS[solved.rig.card]
    units = sorted(solved.rig.units.values(), key=lambda unit: ROLES.index(unit.role))
    handsets = [unit for unit in units if unit.role == "handset"]

    def pocket(make: Callable[..., Group], *about: Unit) -> Group:
        return make(face, inner_width(stock.pocket), solved, *about)._replace(size=stock.pocket)

    def bench(make: Callable[..., Group], *about: Unit) -> Group:
        return make(face, inner_width(stock.bench), solved, *about)._replace(size=stock.bench)

    def longest(groups: list[Group]) -> int:
        return max((found.length for found in number_groups(face, solved.rig, groups)), default=0)

    carried: list[tuple[Any, ...]] = [
        (power_up,),
        (power_down,),
        *((operator_card, unit) for unit in handsets),
        *([(radio_loss,)] if solved.losses else []),
    ]
    in_pocket = [pocket(*made) for made in carried]
    setups = [(handset_setup if unit.role == "handset" else device_setup, unit) for unit in units]
    small = {unit.name: made for make, unit in setups if longest([made := pocket(make, unit)]) == 1}
    return [
        *(in_pocket if longest(in_pocket) <= MOST_IN_POCKET else [bench(*made) for made in carried]),
        *small.values(),  # a device with little to set takes the smaller card
        *([bench(power_card)] if solved.power else []),
        *([bench(function_test), bench(fault_finding)] if solved.losses else []),
        *(bench(make, unit) for make, unit in setups if unit.name not in small),
        *([bench(special_leads)] if has_special_leads(solved.rig) else []),
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
    made = cards(face, rig, numbered, printed)
    return impose(face, made, rig.paper, rig.per_sheet, f"{rig.title}: cards", footer)


def card_key(found: Numbered) -> str:
    """What a group of cards is known by from one revision to the next."""
    return f"{found.group.kicker}: {found.group.title}"


def recall(numbered: Sequence[Numbered], valid: Mapping[str, str]) -> str:
    """Which cards of an earlier pack (title -> code) are out of date: what to print, and what to collect."""
    keys = {card_key(found): found for found in numbered}
    changed = [key for key in valid if key in keys and keys[key].code != valid[key]]
    gone = [key for key in valid if key not in keys]
    fresh = [key for key in keys if key not in valid]
    kept = len(keys) - len(changed) - len(fresh)
    parts = [
        f"{what}: {', '.join(names)}"
        for what, names in (
            ("changed, collect the old ones", changed),
            ("new", fresh),
            ("withdrawn, collect", gone),
        )
        if names
    ]
    return f"cards: {'; '.join([*parts, f'still valid: {kept}'])}"


def _with_cover(face: Typeface, solved: Solved, groups: list[Group]) -> list[Numbered]:
    """The cover lists the numbers of the cards after it, and so decides them by its own length."""
    rig = solved.rig
    rest = number_groups(face, rig, groups)
    size = STOCKS[rig.card].bench
    length = 1
    for _ in range(4):
        shifted = [found._replace(first=found.first + length) for found in rest]
        made = cover(face, inner_width(size), solved, shifted, [size] * length)
        front = number_groups(face, rig, [made._replace(size=size)])
        if front[0].length == length:
            break
        length = front[0].length
    return [*front, *shifted]
