"""The kit list: every unit, cable and spare by case in packing order, for packing, counting back and customs.

What a thing is worth is never on it: papers travel with the cases.
"""

import csv
from fractions import Fraction
from io import StringIO
from typing import NamedTuple

from rigcard.documents.card import check_code
from rigcard.documents.layout import Block, Cell, heading, joined, paragraph, table
from rigcard.documents.lids import case_mass, lid_pages
from rigcard.documents.model import Document, Typeface
from rigcard.documents.paper import SIZES
from rigcard.documents.sheet import MARGIN, list_pages
from rigcard.resolve.model import Cable, Model, Rig, Unit
from rigcard.resolve.packing import TWO_PERSONS, Piece, look_alikes, packed
from rigcard.solve.power.air import ASK, CLASSES, air_class
from rigcard.words import decimal, kilograms, listed, millimetres

HEADER = (
    "case",
    "id",
    "item",
    "model",
    "asset",
    "serial",
    "mass kg",
    "watt-hours",
    "length mm",
    "ends",
    "plugs",
    "substitution",
    "mark",
    "out",
    "back",
    "wrap",
    "fault",
)
SWAPS = {"exact": "EXACT", "same-type": "SAME TYPE", "any": "ANY"}
BY_HAND = ("handset", "pack")  # what a person carries: it is needed first, or may not travel in the hold
SIZE = 10.0
TICK = Cell(kind="tick")


class Item(NamedTuple):
    """One line of the list."""

    case: str
    id: str
    title: str
    model: str
    asset: str
    serial: str
    mass: Fraction | None
    energy: Fraction | None  # watt-hours
    length: Fraction | None
    ends: str
    plugs: str
    swap: str
    mark: str


def watt_hours(model: Model) -> Fraction | None:
    """The energy in a pack of a model; None: the model does not say what it holds."""
    return model.power.capacity.energy if model.power.capacity else None


def items(rig: Rig) -> list[Item]:
    """Units, cables and spares, by case in packing order."""
    return [_item(rig, case.name, piece) for case in packed(rig) for piece in case.pieces]


def _item(rig: Rig, case: str, piece: Piece) -> Item:
    if piece.of_cable:
        return _cable(case, piece, rig.cables[piece.spare_for or piece.name])
    return _unit(case, piece, rig.units[piece.name])


def _unit(case: str, piece: Piece, unit: Unit) -> Item:
    model = unit.model
    facts = (model.name, unit.asset, unit.serial, piece.mass, watt_hours(model), None, "", "")
    return Item(case, unit.name, unit.title, *facts, SWAPS[unit.swap], "")


def _cable(case: str, piece: Piece, cable: Cable) -> Item:
    ends = "; ".join(
        f"{leg.first.unit}.{leg.first.port} to {leg.second.unit}.{leg.second.port}"
        for leg in cable.legs
        if leg.second
    )
    build = cable.build
    plugs = " to ".join(build.plugs) if build.plugs else ""
    facts = (piece.mass, None, cable.length, ends, plugs, SWAPS[build.swap], build.mark)
    return Item(case, piece.name, piece.title, "", "", "", *facts)


# ---- for a spreadsheet -----------------------------------------------------------------------------------------


def kit_csv(rig: Rig) -> str:
    """The list for a spreadsheet: no cell is taken for a formula. The last four columns are to be filled in."""
    out = StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADER)
    for item in items(rig):
        numbers = (_number(item.mass, 3), _number(item.energy, 2), _number(item.length, 1))
        words = (item.case, item.id, item.title, item.model, item.asset, item.serial)
        cells = (*words, *numbers, item.ends, item.plugs, item.swap, item.mark, "", "", "", "")
        writer.writerow([_plain(cell) for cell in cells])
    return out.getvalue()


def _number(value: Fraction | None, places: int) -> str:
    return "" if value is None else decimal(value, places)


def _plain(cell: str) -> str:
    """A spreadsheet runs a cell that begins with one of these; an apostrophe makes it text."""
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


# ---- on paper ----------------------------------------------------------------------------------------------------


def kit_document(face: Typeface, rig: Rig) -> Document:
    """The list with columns to tick going out, coming back and at wrap; then a sheet for the lid of each case."""
    inner = SIZES[rig.paper][0] - 2 * MARGIN
    found = items(rig)
    blocks = [_case(face, name, found, inner) for name in dict.fromkeys(item.case for item in found)]
    blocks += [
        paragraph(face, _totals(rig, found), inner, bold=True),
        *([paragraph(face, packs, inner, bold=True)] if (packs := _packs(found)) else []),
        *_cases(face, rig, inner),
        *_look_alikes(face, rig, inner),
        *_with_a_person(face, rig, inner),
    ]
    code = check_code([str(item) for item in found])
    pages = [*list_pages(face, rig, "Kit", blocks, code), *lid_pages(face, rig)]
    return Document("kit", f"{rig.title}: kit", tuple(pages))


def _case(face: Typeface, case: str, found: list[Item], inner: float) -> Block:
    widths = [21.0, 0.0, 26.0, 17.0, 12.0, 16.0, 9.0, 9.0, 9.0, 24.0]
    widths[1] = inner - sum(widths)
    head = ("ID", "ITEM", "ASSET / SERIAL", "MASS, LENGTH", "Wh", "SWAP", "OUT", "BACK", "WRAP", "FAULT")
    rows = [_row(item) for item in found if item.case == case]
    return joined(heading(face, case or "Not in a case", inner), table(face, head, rows, widths))


def _row(item: Item) -> list[Cell]:
    mass = kilograms(item.mass) if item.mass is not None else ""
    length = millimetres(item.length) if item.length is not None else ""
    energy = decimal(item.energy, 2) if item.energy is not None else ""
    numbers = " / ".join(part for part in (item.asset, item.serial) if part)
    title = f"{item.title}; mark: {item.mark}" if item.mark else item.title
    return [
        Cell(item.id, SIZE, True),
        Cell(title, SIZE),
        Cell(numbers, SIZE),
        Cell(", ".join(part for part in (mass, length) if part), SIZE),
        Cell(energy, SIZE),
        Cell(item.swap, 9.0),
        TICK,
        TICK,
        TICK,
        Cell(kind="blank"),
    ]


def _totals(rig: Rig, found: list[Item]) -> str:
    spares = len(found) - len(rig.units) - len(rig.cables)
    more = f", {spares} spare cable{'s' * (spares != 1)}" if spares else ""
    mass = sum((item.mass for item in found if item.mass is not None), Fraction(0))
    unknown = [item.id for item in found if item.mass is None]
    text = f"{len(found)} pieces: {len(rig.units)} units, {len(rig.cables)} cables{more}; {kilograms(mass)} without cases"
    return f"{text}. Not weighed: {listed(unknown)}." if unknown else f"{text}."


def _packs(found: list[Item]) -> str:
    """Packs and their watt-hours by the classes of air travel; "" without packs."""
    parts = []
    for known in CLASSES:
        energies = [
            item.energy for item in found if item.energy is not None and air_class(item.energy) == known
        ]
        if energies:
            total = decimal(sum(energies, Fraction(0)), 2)
            parts.append(f"{len(energies)} {known.words.partition(':')[0]}, {total} Wh together")
    return f"Packs: {'; '.join(parts)}. {ASK.capitalize()}." if parts else ""


def _cases(face: Typeface, rig: Rig, inner: float) -> list[Block]:
    """What each case weighs."""
    rows = []
    for case in packed(rig):
        if not case.name:
            continue
        limit = kilograms(case.limit) if case.limit is not None else ""
        rows.append(
            [
                Cell(case.name, SIZE, True),
                Cell(str(len(case.pieces)), SIZE, align="right"),
                Cell(kilograms(case.empty) if case.empty is not None else "", SIZE, align="right"),
                Cell(case_mass(case), SIZE, True, align="right"),
                Cell(limit, SIZE, align="right"),
                Cell("TWO PERSONS" if case.mass > TWO_PERSONS else "", SIZE, True),
            ]
        )
    if not rows:
        return []
    aligns = ("left", "right", "right", "right", "right", "left")
    widths = (50.0, 18.0, 24.0, 40.0, 24.0, inner - 156.0)
    head = ("CASE", "PIECES", "EMPTY", "FULL", "LIMIT", "LIFT")
    return [joined(heading(face, "Cases", inner), table(face, head, rows, widths, aligns=aligns))]


def _look_alikes(face: Typeface, rig: Rig, inner: float) -> list[Block]:
    """Pairs that fit the same sockets and are wired otherwise."""
    lines = [
        f"{first.name} ({_marked(first)}) and {second.name} ({_marked(second)}): same plugs, other wiring."
        for first, second in look_alikes(rig)
    ]
    if not lines:
        return []
    return [
        heading(face, "Look alike, are not alike", inner),
        *(paragraph(face, line, inner, size=SIZE) for line in lines),
    ]


def _marked(cable: Cable) -> str:
    return f"mark: {cable.build.mark}" if cable.build.mark else "no mark"


def _with_a_person(face: Typeface, rig: Rig, inner: float) -> list[Block]:
    """What must not travel alone (common practice, no source; the carrier decides about packs)."""
    rows = [
        [
            Cell(unit.name, SIZE, True),
            Cell(unit.title, SIZE),
            Cell(unit.asset, SIZE),
            Cell(decimal(energy, 2) if (energy := watt_hours(unit.model)) is not None else "", SIZE),
            TICK,
        ]
        for unit in rig.units.values()
        if unit.role in BY_HAND
    ]
    rows += [
        [Cell(), Cell(text, SIZE), Cell(), Cell(), TICK] for text in ("Recording media", "Cards and papers")
    ]
    widths = (30.0, inner - 100.0, 40.0, 18.0, 12.0)
    head = ("ID", "ITEM", "ASSET", "Wh", "OUT")
    title = heading(face, "Travels with a person", inner)
    return [joined(title, table(face, head, rows, widths))]
