"""The kit list: every unit and cable, for packing, counting back and the customs desk."""

import csv
from fractions import Fraction
from io import StringIO
from typing import NamedTuple

from rigcard.documents.card import check_code
from rigcard.documents.layout import Cell, heading, joined, paragraph, table
from rigcard.documents.model import Document, Typeface
from rigcard.documents.paper import SIZES
from rigcard.documents.sheet import MARGIN, list_pages
from rigcard.resolve.model import Rig
from rigcard.words import decimal, kilograms, millimetres

HEADER = ("case", "id", "item", "model", "asset", "serial", "mass kg", "length mm", "ends")


class Item(NamedTuple):
    """One line of the list."""

    case: str
    id: str
    title: str
    model: str
    asset: str
    serial: str
    mass: Fraction | None
    length: Fraction | None
    ends: str


def items(rig: Rig) -> list[Item]:
    """Units and cables, by case and then in the order of the file."""
    found = [
        Item(
            unit.case,
            unit.name,
            unit.title,
            unit.model.name,
            unit.asset,
            unit.serial,
            unit.model.mass,
            None,
            "",
        )
        for unit in rig.units.values()
    ]
    for cable in rig.cables.values():
        ends = "; ".join(
            f"{leg.first.unit}.{leg.first.port} to {leg.second.unit}.{leg.second.port}"
            for leg in cable.legs
            if leg.second
        )
        found.append(Item("", cable.name, cable.title, "", "", "", None, cable.length, ends))
    cases = list(dict.fromkeys(item.case for item in found))
    return sorted(found, key=lambda item: (item.case == "", cases.index(item.case)))


def kit_csv(rig: Rig) -> str:
    """The list for a spreadsheet: no cell is taken for a formula."""
    out = StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADER)
    for item in items(rig):
        mass = "" if item.mass is None else decimal(item.mass, 3)
        length = "" if item.length is None else decimal(item.length)
        cells = (item.case, item.id, item.title, item.model, item.asset, item.serial, mass, length, item.ends)
        writer.writerow([_plain(cell) for cell in cells])
    return out.getvalue()


def _plain(cell: str) -> str:
    """A spreadsheet runs a cell that begins with one of these; an apostrophe makes it text."""
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


def kit_document(face: Typeface, rig: Rig) -> Document:
    """The list with columns to tick going out, coming back and at wrap."""
    inner = SIZES[rig.paper][0] - 2 * MARGIN
    blocks = []
    found = items(rig)
    for case in dict.fromkeys(item.case for item in found):
        rows = [_row(item) for item in found if item.case == case]
        widths = (24.0, inner - 24.0 - 26.0 - 20.0 - 30.0, 26.0, 20.0, 10.0, 10.0, 10.0)
        head = ("ID", "ITEM", "ASSET / SERIAL", "MASS / LENGTH", "OUT", "BACK", "WRAP")
        blocks.append(joined(heading(face, case or "Not in a case", inner), table(face, head, rows, widths)))
    blocks.append(paragraph(face, _totals(rig, found), inner, bold=True))
    pages = list_pages(face, rig, "Kit", blocks, check_code([str(item) for item in found]))
    return Document("kit", f"{rig.title}: kit", tuple(pages))


def _row(item: Item) -> list[Cell]:
    size = kilograms(item.mass) if item.mass is not None else ""
    if item.length is not None:
        size = millimetres(item.length)
    tick = Cell(kind="tick")
    marks = " / ".join(part for part in (item.asset, item.serial) if part)
    return [
        Cell(item.id, 10.0, True),
        Cell(item.title, 10.0),
        Cell(marks, 10.0),
        Cell(size, 10.0),
        tick,
        tick,
        tick,
    ]


def _totals(rig: Rig, found: list[Item]) -> str:
    masses = [item.mass for item in found if item.mass is not None]
    unknown = sum(1 for unit in rig.units.values() if unit.model.mass is None)
    text = f"{len(rig.units)} units, {len(rig.cables)} cables; {kilograms(sum(masses, Fraction(0)))} without cables and cases"
    return f"{text}; mass not stated for {unknown} units." if unknown else f"{text}."
