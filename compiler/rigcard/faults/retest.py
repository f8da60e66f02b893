"""What must be tested again after a change: the lines that would see a mistake made with it."""

from __future__ import annotations

from collections.abc import Iterable

from rigcard.faults.cover import Cover
from rigcard.faults.figures import cover_rows, together
from rigcard.faults.matrix import Matrix, Row
from rigcard.resolve.model import Rig
from rigcard.solve.sharing import Part, parts_of


def retest(matrix: Matrix, changed: Iterable[str]) -> Cover:
    """The lines, by index, that find in the least time every mistake that a change can bring.

    `changed` names what was changed: a unit, a leg of a cable (`S01.R`), or a dialled channel (`hs.record`). A unit
    stands for the units that hang on it and for the leads at it. What works only through a changed part is tested even
    if no mistake of ours sits there.
    """
    names = set(changed)
    rig = matrix.solved.rig
    units = _with_mounted(rig, {name for name in names if name in rig.units})
    legs = {name for name in names if name not in rig.units}
    rows = [row for row in matrix.rows if _concerns(row, names, units, legs)]
    rows += [row for row in matrix.rows if row.fault.kind == "lead" and _at(rig, row, units)]
    rows += _needing(matrix, units, legs)
    covers = cover_rows(matrix, list({id(row): row for row in rows}.values()))
    told = [cover for cover in covers if len(cover.chosen) > 1]  # more than the line that ends every test
    return together(told or covers[:1])


def _with_mounted(rig: Rig, units: set[str]) -> set[str]:
    """Units with all that hangs on them."""
    waiting = sorted(units)
    for name in waiting:  # grows
        waiting += [
            unit.name for unit in rig.units.values() if unit.mounted_on == name and unit.name not in waiting
        ]
    return set(waiting)


def _concerns(row: Row, names: set[str], units: set[str], legs: set[str]) -> bool:
    dialled = ".".join(row.fault.names[:2])
    if dialled in names or row.fault.names[0] in legs:
        return True
    return not row.fault.about.isdisjoint(units | legs)


def _at(rig: Rig, row: Row, units: set[str]) -> bool:
    return not row.fault.about.isdisjoint(units)


def _needing(matrix: Matrix, units: set[str], legs: set[str]) -> list[Row]:
    """The rows of what kills a function that needs a changed part or something that a changed unit offers."""
    solved = matrix.solved
    offered = {name for unit in units for name in solved.rig.units[unit].model.offers}
    parts = {Part("unit", (name,)) for name in units} | {Part("lead", (leg,)) for leg in legs}
    functions = set()
    for feed in solved.links.feeds:
        needs = {
            need.name
            for order in solved.links.orders_of(feed)
            for name in feed.input.commands
            if (command := solved.rig.units[order.receiver].commands.get(name))
            for need in command.needs
            if need.value is None
        }
        if needs & offered or not parts.isdisjoint(parts_of(solved, feed)):
            functions.add((feed.unit, feed.input.name))
    return [
        row
        for row in matrix.rows
        if row.fault.kind in ("lead", "power", "reverse")
        and any(cell.function in functions for cell in row.differs.values())
        and {cell.function for cell in row.differs.values() if cell.function} <= functions
    ]
