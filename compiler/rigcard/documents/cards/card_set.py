"""Decides which cards a rig gets, and in which order."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from rigcard.documents.base.model import Document, Typeface
from rigcard.documents.base.paper import STOCKS, Size, impose
from rigcard.documents.cards.cover import cover
from rigcard.documents.cards.devices import device_setup
from rigcard.documents.cards.fault_finding import fault_finding
from rigcard.documents.cards.frame import (
    Group,
    GroupLayout,
    NumberedGroup,
    cards,
    check_code,
    inner_width,
    lay,
    number,
    room,
)
from rigcard.documents.cards.function_test import function_test
from rigcard.documents.cards.handset import handset_setup
from rigcard.documents.cards.operator import operator_card
from rigcard.documents.cards.power import power_card
from rigcard.documents.cards.power_up import power_down, power_up
from rigcard.documents.cards.radio_loss import radio_loss
from rigcard.documents.cards.special_leads import has_special_leads, special_leads
from rigcard.documents.cards.wrap import changed_settings, wrap_card
from rigcard.resolve.model import Unit
from rigcard.resolve.words import ROLES
from rigcard.solve.solved import Solved

MOST_IN_POCKET = 2  # cards of one kind that a person can leaf through in gloves
HOPELESS = 1.2  # times the height of so many pocket cards; a taller group is not tried on them


def card_groups(face: Typeface, solved: Solved) -> list[GroupLayout]:
    """Return every card group except the cover; add a new kind of card here.

    Cards to carry come first, then those for the bench. The carried ones are all pocket cards, unless one group
    would take too many; then all of them are bench cards.
    """
    rig = solved.rig
    units = sorted(rig.units.values(), key=lambda unit: ROLES.index(unit.role))
    joined = partial(_joined, face, solved)
    carried = [
        joined(power_up),
        joined(power_down),
        *(joined(operator_card, unit) for unit in units if unit.role == "handset"),
        *([joined(radio_loss)] if solved.losses else []),
    ]
    in_pocket = _in_pocket(face, solved, carried, MOST_IN_POCKET)
    setups = [joined(handset_setup if unit.role == "handset" else device_setup, unit) for unit in units]
    small = [_in_pocket(face, solved, [setup], 1) for setup in setups]
    return [
        *(in_pocket or [made for made, _ in carried]),
        *(made for found in small for made in found),  # a device with few settings gets the smaller card
        *([joined(power_card)[0]] if solved.power else []),
        *([joined(function_test)[0], joined(fault_finding)[0]] if solved.losses else []),
        *(made for (made, _), found in zip(setups, small, strict=True) if not found),
        *([joined(special_leads)[0]] if has_special_leads(rig) else []),
        *([joined(wrap_card)[0]] if changed_settings(rig) else []),
    ]


Sized = Callable[[Size], GroupLayout]  # lays a group out on cards of a size


def _joined(
    face: Typeface, solved: Solved, make: Callable[..., Group], *about: Unit
) -> tuple[GroupLayout, Sized]:
    """Lay a group out on bench cards, and return a function that lays it out on other sizes."""

    def sized(size: Size) -> GroupLayout:
        return lay(face, solved.rig, make(face, inner_width(size), solved, *about)._replace(size=size))

    return sized(STOCKS[solved.rig.card].bench), sized


def _in_pocket(
    face: Typeface, solved: Solved, groups: Sequence[tuple[GroupLayout, Sized]], most: int
) -> list[GroupLayout]:
    """Lay groups out on pocket cards if each takes at most `most`; otherwise return none."""
    size = STOCKS[solved.rig.card].pocket
    for made, _ in groups:
        height = sum(column.used for column in made.columns)
        if height > HOPELESS * most * room(face, solved.rig, made.group._replace(size=size)):
            return []
    found = [sized(size) for _, sized in groups]
    return found if all(made.length <= most for made in found) else []


def numbered_cards(face: Typeface, solved: Solved) -> list[NumberedGroup]:
    """Return every card group with its numbers and check code, the cover first."""
    return _with_cover(face, solved, card_groups(face, solved))


def card_document(
    face: Typeface,
    solved: Solved,
    role: str = "",
    valid: Mapping[str, str] | None = None,
    numbered: Sequence[NumberedGroup] = (),
) -> Document:
    """Set the card set on sheets: all cards or those for one role, without those still valid (title -> code).

    `numbered`: the card set, if already laid out.
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


def card_key(found: NumberedGroup) -> str:
    """Return the key that identifies a card group across revisions."""
    return f"{found.group.kicker}: {found.group.title}"


def recall(numbered: Sequence[NumberedGroup], valid: Mapping[str, str]) -> str:
    """Return which cards of an earlier set (title -> code) are out of date: what to print and to collect."""
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


def _with_cover(face: Typeface, solved: Solved, groups: list[GroupLayout]) -> list[NumberedGroup]:
    """Put the cover first; it lists the numbers of the later cards, which depend on its own length."""
    rig = solved.rig
    rest = number(groups)
    size = STOCKS[rig.card].bench
    length = 1
    for _ in range(4):
        shifted = [found._replace(first=found.first + length) for found in rest]
        made = cover(face, inner_width(size), solved, shifted, [size] * length)
        front = number([lay(face, rig, made._replace(size=size))])
        if front[0].length == length:
            break
        length = front[0].length
    return [*front, *shifted]
