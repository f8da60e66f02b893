"""Spare units: packed and labelled, but not connected until one replaces the unit that it is a spare for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rigcard.diagnostics import Diagnostics, Related
from rigcard.resolve import codes
from rigcard.resolve.model import Unit
from rigcard.resolve.words import a_role
from rigcard.syntax import tree


def spares_of(
    statements: Iterable[object], units: dict[str, Unit | None], diagnostics: Diagnostics
) -> dict[str, Unit]:
    """The spare units. Reports uses of a spare as a unit in use, and spares that can replace nothing."""
    spares = {name: unit for name, unit in units.items() if unit and unit.spare_for}
    if spares:
        for unit in spares.values():
            _replaces(unit, units, diagnostics)
        for name in _naming(statements):
            if name.text in spares:
                spare = spares[name.text]
                diagnostics.report(
                    codes.SPARE_IN_USE,
                    name.span,
                    f"`{spare.name}` is spare for `{spare.spare_for}`, and a spare is joined to nothing",
                    f"name `{spare.spare_for}` here, or remove `spare for {spare.spare_for}` where `{spare.name}` is "
                    "declared",
                    Related(spare.span, "the spare"),
                )
    return spares


def _replaces(spare: Unit, units: dict[str, Unit | None], diagnostics: Diagnostics) -> None:
    unit = units.get(spare.spare_for or "")
    if unit is None:
        return
    if unit.spare_for or unit is spare:
        why, hint = f"`{unit.name}` is a spare itself", "name the unit in use that it is spare for"
    elif unit.role != spare.role:
        why = f"`{unit.name}` is {a_role(unit.role)} and `{spare.name}` {a_role(spare.role)}"
        hint = f"name the {spare.role} that it is spare for"
    else:
        return
    diagnostics.report(
        codes.SPARE_IN_USE, spare.span, f"`{spare.name}` cannot be spare for `{unit.name}`: {why}", hint
    )


def _naming(node: object) -> Iterator[tree.Name]:
    """Every name of a unit in a place that needs a unit in use."""
    match node:
        case tree.Plug():
            yield node.unit
        case tree.Bound():
            yield node.handset
        case tree.Mounted() | tree.Rides():
            yield node.carrier
        case tree.Place():
            yield node.parts[0]
        case tree.Link():
            yield from (node.sender, *node.receivers.names)
        case tuple() | list():
            for part in node:
                yield from _naming(part)
