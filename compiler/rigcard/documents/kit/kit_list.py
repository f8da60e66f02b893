"""The kit list: every unit, pack, cable and spare by case in packing order, for packing, return and customs.

The list never shows values, because papers travel with the cases. The file for a spreadsheet stays behind and
shows them.
"""

import csv
from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from io import StringIO
from typing import NamedTuple

from rigcard.documents.base.full_sheet import MARGIN, list_pages
from rigcard.documents.base.language import MOST_NAMED, listed, listed_or_counted, say, say_count
from rigcard.documents.base.layout import Block, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Document, Typeface
from rigcard.documents.base.paper import SIZES, paper_file
from rigcard.documents.cards.power import journey
from rigcard.documents.diagram.leads import wired_alike
from rigcard.documents.kit.lids import case_mass, lid_pages, title_of
from rigcard.documents.kit.provision import plan_lines
from rigcard.documents.labels.asset_codes import asset_code
from rigcard.resolve.model import Cable, Model, Rig, Unit
from rigcard.resolve.packing import TWO_PERSONS, Packed, Piece, look_alikes
from rigcard.solve.power.air import CLASSES, AirClass, air_class
from rigcard.solve.power.provision import pack_counts, provided
from rigcard.solve.power.wording import watt_hours as energy_words
from rigcard.solve.solved import Solved
from rigcard.words import decimal, kilograms, millimetres

HEADER = (
    "case",
    "id",
    "item",
    "model",
    "asset",
    "scan",
    "serial",
    "mass kg",
    "watt-hours",
    "length mm",
    "ends",
    "plugs",
    "substitution",
    "mark",
    "owner",
    "value",
    "out",
    "back",
    "wrap",
    "fault",
)
SWAPS = {"exact": "EXACT", "same-type": "SAME TYPE", "any": "ANY"}
BY_HAND = ("handset", "pack")  # carried by a person: needed first, or not allowed in the hold
SIZE = 10.0
TICK = Cell(kind="tick")
TO_WRITE = "________"


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
    needs: str  # how long its way is
    owner: str
    value: int | None  # for the spreadsheet only
    label: str  # what is written on the thing itself: the id of a lead, the number of a device; "" if nobody states it
    detail: str  # what to pick: the model of a device, the plugs of a lead


def watt_hours(model: Model) -> Fraction | None:
    """Return the energy in a pack of a model; None if the model does not state it."""
    return model.power.capacity.energy if model.power.capacity else None


def items(solved: Solved) -> list[Item]:
    """Return units, packs for the day, cables and spares, by case in packing order."""
    cases = provided(solved.rig, solved.power)
    packs = Counter(piece.more_of for case in cases for piece in case.pieces)
    return [_item(solved.rig, case.name, piece, packs) for case in cases for piece in case.pieces]


def _item(rig: Rig, case: str, piece: Piece, packs: Mapping[str, int]) -> Item:
    if piece.of_cable:
        return _cable(rig, case, piece, rig.cables[piece.spare_for or piece.name])
    if piece.more_of:
        return _pack(case, piece, rig.units[piece.more_of], 1 + packs[piece.more_of])
    return _unit(case, piece, rig.unit_or_spare(piece.name))


def _pack(case: str, piece: Piece, unit: Unit, count: int) -> Item:
    """Return one more of the `count` packs of a unit; the file may not know its own number."""
    name = unit.title if unit.role == "pack" else say("Pack for {unit}", unit=unit.title)
    title = say("{name}, {number} of {count}", name=name, number=piece.name.rpartition(".")[2], count=count)
    model = unit.model.name if unit.role == "pack" else ""
    worth = unit.value if unit.role == "pack" else None
    facts = (model, piece.asset, "", piece.mass, watt_hours(unit.model), None, "", "")
    kind = unit.model.title if model else ""
    return Item(
        case, piece.name, title, *facts, SWAPS["same-type"], "", "", unit.owner, worth, piece.asset, kind
    )


def _unit(case: str, piece: Piece, unit: Unit) -> Item:
    model = unit.model
    number = unit.numbers[0] if unit.packs else unit.asset
    facts = (model.name, number, unit.serial, piece.mass, watt_hours(model), None, "", "")
    label = " / ".join(part for part in (number, unit.serial) if part)
    kind = model.title if model.title != unit.title else ""
    return Item(
        case, unit.name, unit.title, *facts, SWAPS[unit.swap], "", "", unit.owner, unit.value, label, kind
    )


def _cable(rig: Rig, case: str, piece: Piece, cable: Cable) -> Item:
    ends = "; ".join(
        f"{leg.first.unit}.{leg.first.port} to {leg.second.unit}.{leg.second.port}"
        for leg in cable.legs
        if leg.second
    )
    build = cable.build
    plugs = " to ".join(build.plugs) if build.plugs else ""
    facts = (piece.mass, None, cable.length, ends, plugs, SWAPS[build.swap], build.mark)
    needs = say("needs {length}", length=millimetres(build.route.needed)) if build.route else ""
    known = rig.inventory.connectors
    kinds = [known[plug].title if plug in known else plug for plug in build.plugs or ()]
    between = say("{one} to {other}", one=kinds[0], other=kinds[1]) if kinds else ""
    return Item(case, piece.name, title_of(piece), "", "", "", *facts, needs, "", None, piece.name, between)


# ---- for a spreadsheet ---------------------------------------------------------------------------------------


def kit_csv(solved: Solved) -> str:
    """Write the list for a spreadsheet; no cell can be read as a formula.

    The last four columns are to be filled in.
    """
    out = StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADER)
    for item in items(solved):
        numbers = (_number(item.mass, 3), _number(item.energy, 2), _number(item.length, 1))
        words = (item.case, item.id, item.title, item.model, item.asset, asset_code(item.asset), item.serial)
        worth = "" if item.value is None else str(item.value)
        cells = (
            *words,
            *numbers,
            item.ends,
            item.plugs,
            item.swap,
            item.mark,
            item.owner,
            worth,
            "",
            "",
            "",
            "",
        )
        writer.writerow([_plain(cell) for cell in cells])
    return out.getvalue()


def _number(value: Fraction | None, places: int) -> str:
    return "" if value is None else decimal(value, places)


def _plain(cell: str) -> str:
    """Put an apostrophe before a cell that a spreadsheet would run as a formula, which makes it text."""
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


# ---- on paper ------------------------------------------------------------------------------------------------


def kit_document(face: Typeface, solved: Solved) -> Document:
    """Set the list with columns to tick going out, coming back and at wrap; then a lid sheet for each case."""
    rig, cases = solved.rig, provided(solved.rig, solved.power)
    inner = SIZES[rig.paper][0] - 2 * MARGIN
    found = items(solved)
    packs = sum(bool(piece.more_of) for case in cases for piece in case.pieces)
    blocks = [_case(face, name, found, inner) for name in dict.fromkeys(item.case for item in found)]
    blocks += [
        paragraph(face, _totals(rig, found, packs), inner, bold=True),
        *([paragraph(face, energies, inner, bold=True)] if (energies := _packs(found)) else []),
        *(paragraph(face, line, inner, size=SIZE) for line in plan_lines(solved)),
        *_cases(face, cases, inner),
        *_look_alikes(face, rig, inner),
        *_owners(face, found, inner),
        *_by_air(face, found, inner),
        *_with_a_person(face, solved, inner),
        *(journey(face, inner, solved, solved.power) if solved.power else []),
        *_labels(face, rig, inner),
    ]
    pages = lid_pages(face, rig, cases).after(list_pages(face, rig, say("Kit"), blocks))
    return paper_file("kit", say("{rig}: kit", rig=rig.title), pages)


def _case(face: Typeface, case: str, found: list[Item], inner: float) -> Block:
    widths = [28.0, 0.0, 17.0, 12.0, 16.0, 9.0, 9.0, 9.0, 24.0]
    widths[1] = inner - sum(widths)
    head = (
        say("NUMBER"),
        say("ITEM"),
        say("MASS, LENGTH"),
        "Wh",
        say("SWAP"),
        say("OUT"),
        say("BACK"),
        say("WRAP"),
        say("FAULT"),
    )
    rows = [_row(item) for item in found if item.case == case]
    return joined(heading(face, case or say("Not in a case"), inner), table(face, head, rows, widths))


def _row(item: Item) -> list[Cell]:
    """Set one item, with what to pick below its title; a thing without a number has a blank for it."""
    mass = kilograms(item.mass) if item.mass is not None else ""
    length = millimetres(item.length) if item.length is not None else ""
    energy = decimal(item.energy, 2) if item.energy is not None else ""
    mark = say("mark: {mark}", mark=item.mark) if item.mark else ""
    detail = "; ".join(part for part in (item.detail, item.needs, mark) if part)
    return [
        Cell(item.label or TO_WRITE, SIZE, True),
        Cell(f"{item.title}\n{detail}" if detail else item.title, SIZE),
        Cell(", ".join(part for part in (mass, length) if part), SIZE),
        Cell(energy, SIZE),
        Cell(_swap(item), 9.0),
        TICK,
        TICK,
        TICK,
        Cell(kind="blank"),
    ]


def _swap(item: Item) -> str:
    """Return whether another of its kind will do, in the language of the papers; the spreadsheet is English."""
    return {"EXACT": say("EXACT"), "SAME TYPE": say("SAME TYPE"), "ANY": say("ANY")}[item.swap]


def _totals(rig: Rig, found: list[Item], packs: int) -> str:
    units, idle = len(rig.units), len(rig.spare_units)
    spares = len(found) - units - idle - len(rig.cables) - packs
    parts = [
        say_count(units, "{count} unit", "{count} units"),
        say_count(len(rig.cables), "{count} cable", "{count} cables"),
    ]
    if packs:
        parts.append(say_count(packs, "{count} extra pack", "{count} extra packs"))
    if spares:
        parts.append(say_count(spares, "{count} spare cable", "{count} spare cables"))
    if idle:
        parts.append(say_count(idle, "{count} spare unit", "{count} spare units"))
    mass = sum((item.mass for item in found if item.mass is not None), Fraction(0))
    unweighed = [item.title for item in found if item.mass is None]
    unknown = "; ".join(unweighed) if len(unweighed) <= MOST_NAMED else listed_or_counted(unweighed)
    text = say(
        "{count} pieces: {parts}; {mass} kg without cases.",
        count=len(found),
        parts=", ".join(parts),
        mass=decimal(mass),
    )
    return f"{text} {say('Not weighed: {items}.', items=unknown)}" if unknown else text


def _packs(found: list[Item]) -> str:
    """Return packs and their watt-hours by the classes of air travel; "" without packs."""
    parts = []
    for known in CLASSES:
        energies = [
            item.energy for item in found if item.energy is not None and air_class(item.energy) == known
        ]
        if energies:
            total = decimal(sum(energies, Fraction(0)), 2)
            kind = _air(known).partition(":")[0]
            parts.append(
                say("{count} {kind}, {total} Wh together", count=len(energies), kind=kind, total=total)
            )
    return say("Packs: {parts}. Ask the airline.", parts="; ".join(parts)) if parts else ""


def _air(known: AirClass) -> str:
    """Return the class of a pack in air travel, in the language of the papers."""
    return {
        "up to 100 Wh: cabin baggage, terminals covered": say("up to 100 Wh: cabin baggage, terminals covered"),
        "over 100 to 160 Wh: only if the airline approves, at most two spares a person, cabin": say(
            "over 100 to 160 Wh: only if the airline approves, at most two spares a person, cabin"
        ),
        "over 160 Wh: not in passenger baggage, declared cargo": say(
            "over 160 Wh: not in passenger baggage, declared cargo"
        ),
    }[known.words]


def _cases(face: Typeface, cases: list[Packed], inner: float) -> list[Block]:
    """Set the mass of each case."""
    rows = []
    for case in cases:
        if not case.name:
            continue
        limit = kilograms(case.limit) if case.limit is not None else ""
        over = case.limit is not None and case.mass > case.limit
        remarks = [say("OVER ITS LIMIT")] * over + [say("TWO PEOPLE LIFT")] * (case.mass > TWO_PERSONS)
        rows.append(
            [
                Cell(case.name, SIZE, True),
                Cell(str(len(case.pieces)), SIZE, align="right"),
                Cell(kilograms(case.empty) if case.empty is not None else "", SIZE, align="right"),
                Cell(case_mass(case), SIZE, True, align="right"),
                Cell(limit, SIZE, align="right"),
                Cell(", ".join(remarks), SIZE, True),
            ]
        )
    if not rows:
        return []
    aligns = ("left", "right", "right", "right", "right", "left")
    widths = (50.0, 18.0, 24.0, 40.0, 24.0, inner - 156.0)
    head = (say("CASE"), say("PIECES"), say("EMPTY"), say("FULL"), say("LIMIT"), say("LIFT"))
    return [joined(heading(face, say("Cases"), inner), table(face, head, rows, widths, aligns=aligns))]


def _owners(face: Typeface, found: list[Item], inner: float) -> list[Block]:
    """Set what goes back to which owner; empty if no owner is stated."""
    owners: dict[str, list[str]] = {}
    for item in found:
        if item.owner:
            owners.setdefault(item.owner, []).append(
                " ".join(part for part in (item.title, item.label) if part)
            )
    if not owners:
        return []
    rows = [
        [Cell(owner, SIZE, True), Cell(str(len(own)), SIZE, align="right"), Cell("; ".join(own), SIZE), TICK]
        for owner, own in owners.items()
    ]
    head = (say("OWNER"), say("PIECES"), say("ITEM"), say("BACK"))
    aligns = ("left", "right", "left", "left")
    widths = (50.0, 18.0, inner - 80.0, 12.0)
    return [joined(heading(face, say("By owner"), inner), table(face, head, rows, widths, aligns=aligns))]


def _by_air(face: Typeface, found: list[Item], inner: float) -> list[Block]:
    """Set every pack with its number for the check-in desk; only if the file lists the numbers of packs."""
    packs = [item for item in found if item.energy is not None]
    if not any(item.asset and "." in item.id for item in packs):
        return []
    rows = [
        [
            Cell(item.asset or TO_WRITE, SIZE, True),
            Cell(item.title, SIZE),
            Cell(decimal(item.energy or Fraction(0), 2), SIZE, align="right"),
            Cell(_air(air_class(item.energy or Fraction(0))), 9.0),
            Cell(item.case, 9.0),
        ]
        for item in packs
    ]
    widths = (28.0, 0.0, 16.0, 72.0, 22.0)
    widths = (widths[0], inner - sum(widths), *widths[2:])
    head = (say("NUMBER"), say("PACK"), say("Wh EACH"), say("CLASS"), say("CASE"))
    aligns = ("left", "left", "right", "left", "left")
    title = heading(face, say("Packs by air: ask the airline"), inner)
    return [joined(title, table(face, head, rows, widths, aligns=aligns))]


def _look_alikes(face: Typeface, rig: Rig, inner: float) -> list[Block]:
    """Set groups of leads that fit the same sockets but have different wiring, one line per group."""
    lines = [
        say(
            "{leads}: same plugs, other wiring.",
            leads=say("; not ").join(wired_alike(wiring) for wiring in group.wirings),
        )
        for group in look_alikes(rig)
    ]
    if not lines:
        return []
    return [
        heading(face, say("Look the same, wired differently"), inner),
        *(paragraph(face, line, inner, size=SIZE) for line in lines),
    ]


def _with_a_person(face: Typeface, solved: Solved, inner: float) -> list[Block]:
    """Set what must not travel alone (common practice, no source; the carrier decides about packs).

    Items in a list above are ticked there and not repeated. Packs of a class that passengers may not carry are
    named.
    """
    counts = pack_counts(solved.rig, solved.power)
    known = (*solved.rig.units.values(), *solved.rig.spare_units.values())
    carried = [unit for unit in known if unit.role in BY_HAND]
    barred = [unit for unit in carried if _barred(unit)]
    free = [(unit, counts.get(unit.name, 1)) for unit in carried if not _barred(unit)]
    rows = [_travelling([unit], count) for unit, count in free]
    if len(free) > MOST_NAMED:  # one line for all of a kind
        kinds: dict[tuple[str, int], list[Unit]] = {}
        for unit, count in free:
            kinds.setdefault((unit.model.name, count), []).append(unit)
        rows = [_travelling(units, count) for (_, count), units in kinds.items()]
    media = [say("Recording media")] if any(unit.role == "camera" for unit in solved.rig.units.values()) else []
    rows += [[Cell(text, SIZE), *[Cell()] * 4, TICK] for text in (*media, say("Cards and papers"))]
    widths = (0.0, 18.0, 18.0, 56.0, 26.0, 12.0)
    widths = (inner - sum(widths), *widths[1:])
    head = (say("ITEM"), say("PIECES"), say("Wh EACH"), say("BY AIR"), say("TICKED IN"), say("OUT"))
    aligns = ("left", "right", "right", "left", "left", "left")
    title = heading(face, say("Travels with a person"), inner)
    *before, last = joined(title, table(face, head, rows, widths, aligns=aligns)).boxes
    whole = (*(box._replace(prefer_with_next=True) for box in before), last)  # it is packed in one go
    blocks = [Block(whole)]
    if barred:
        alike: dict[str, list[str]] = {}
        for unit in barred:
            alike.setdefault(_pieces(unit, counts.get(unit.name, 1)), []).append(unit.title)
        parts = [
            f"{listed_or_counted(titles)} ({say('each {pieces}', pieces=pieces) if len(titles) > 1 else pieces})"
            for pieces, titles in alike.items()
        ]
        text = say("Not with a person: {packs}, {rule}.", packs=listed(parts), rule=_air(CLASSES[-1]))
        if solved.power:
            text = f"{text} {say('See “Packs by air”.')}"
        blocks.append(paragraph(face, text, inner, bold=True, whole=True))
    return blocks


def _labels(face: Typeface, rig: Rig, inner: float) -> list[Block]:
    """Set where the labels of leads go, which labels on tape have no room to say (common practice, no source)."""
    if not rig.cables:
        return []
    where = say("Labels of leads: stick them 30 to 50 mm behind the plug, at both ends.")
    how = say("Fold flags at the ticks. G| lies on the ground side of the plug.")
    return [paragraph(face, f"{where} {how}", inner, size=SIZE)]


def _barred(unit: Unit) -> bool:
    """Whether no passenger may carry a pack of this model."""
    energy = watt_hours(unit.model)
    return energy is not None and air_class(energy).most is None


def _pieces(unit: Unit, count: int) -> str:
    energy = watt_hours(unit.model)
    return (
        say("{count} of {energy}", count=count, energy=energy_words(energy))
        if energy is not None
        else str(count)
    )


def _travelling(units: Sequence[Unit], count: int) -> list[Cell]:
    """Set one line for units that are alike, each with so many packs."""
    unit = units[0]
    energy = watt_hours(unit.model)
    rule = _air(air_class(energy)).partition(": ")[2] if energy is not None else ""
    named = listed_or_counted([one.title for one in units])
    with_packs = unit.role != "pack" and count > 1
    pieces = count * len(units)
    cases = {one.case for one in units}
    return [
        Cell(say("{unit} with its packs", unit=named) if with_packs else named, SIZE, True),
        Cell(say("{count} packs", count=pieces) if with_packs else str(pieces), SIZE, align="right"),
        Cell(decimal(energy, 2) if energy is not None else "", SIZE, align="right"),
        Cell(rule, 9.0),
        Cell(cases.pop() if len(cases) == 1 and unit.case else say("the list above"), 9.0),
        Cell(),
    ]
