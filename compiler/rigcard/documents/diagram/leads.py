"""The wiring as a list, one line per lead, readable from a phone photo; routes of leads, special wiring."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from rigcard.documents.base.full_sheet import MARGIN, list_pages
from rigcard.documents.base.language import listed, say
from rigcard.documents.base.layout import Block, Cell, heading, joined, table
from rigcard.documents.base.model import Document, Page, Typeface
from rigcard.documents.base.paper import SIZES
from rigcard.documents.diagram.ways import way_pages
from rigcard.documents.labels.cable_labels import end_id
from rigcard.documents.labels.frame import gathered
from rigcard.resolve import colours
from rigcard.resolve.links import Wire
from rigcard.resolve.model import Cable, End, Leg, Rig
from rigcard.solve.solved import Solved
from rigcard.words import decimal, millimetres

SHARES = (0.11, 0.21, 0.21, 0.15, 0.1, 0.22)  # of the width
ALIGNS = ("left", "left", "left", "left", "right", "left")
ROUTE_SHARES = (0.11, 0.31, 0.12, 0.12, 0.12, 0.22)
ROUTE_ALIGNS = ("left", "left", "right", "right", "right", "left")
SIZE = 10.0


def list_document(face: Typeface, solved: Solved) -> Document:
    """Make the lists that go with the drawings: the ways of the channels, then the leads."""
    pages = (*way_pages(face, solved), *lead_pages(face, solved))
    return Document("wiring-list", say("{rig}: lists of the wiring", rig=solved.rig.title), pages)


def lead_pages(face: Typeface, solved: Solved) -> list[Page]:
    """Make the pages of the list; none for a rig without leads."""
    rig = solved.rig
    inner = SIZES[rig.paper][0] - 2 * MARGIN
    rows = []
    for wire in solved.links.wires:
        rows.append(
            [
                Cell(wire.leg.id, SIZE, True),
                Cell(f"{rig.units[wire.source.unit].title}, {rig.port(wire.source).label}", SIZE),
                Cell(f"{rig.units[wire.sink.unit].title}, {rig.port(wire.sink).label}", SIZE),
                Cell(rig.signal_at(wire.source).title, SIZE),
                Cell(millimetres(wire.cable.length) if wire.cable.length else "", SIZE, align="right"),
                Cell(_channels(face, solved, wire, inner * SHARES[-1] - 2.0), SIZE),
            ]
        )
    if not rows:
        return []
    routes = _route_rows(rig)
    head = (say("CABLE"), say("FROM"), say("TO"), say("SIGNAL"), say("LENGTH"), say("CARRIES"))
    blocks = [table(face, head, rows, [inner * share for share in SHARES], aligns=ALIGNS)]
    if routes:
        widths = [inner * share for share in ROUTE_SHARES]
        way = (
            say("WAY + SLACK + LOOPS"),
            say("NEEDS"),
            say("LENGTH"),
            say("COIL"),
            say("LENGTHS THAT WILL DO"),
        )
        laid = table(face, (say("CABLE"), *way), routes, widths, aligns=ROUTE_ALIGNS)
        blocks.append(joined(heading(face, say("How they are laid"), inner), laid))
    blocks += [pin_table(face, rig, cable, inner, SIZE) for cable in special(rig)]
    return list_pages(face, rig, say("Leads"), blocks)


def _route_rows(rig: Rig) -> list[list[Cell]]:
    """Return every lead with a stated route: length needed, used and left over, and which lengths will do."""
    rows = []
    for cable in rig.cables.values():
        route = cable.build.route
        if route is None or not cable.length:
            continue
        way = f"{millimetres(route.length)} + {decimal(route.slack)} %"
        if route.loops:
            way += f" + {route.loops} x {millimetres(route.loop)}"
        most = min((reach for reach in _reaches(rig, cable)), default=None)
        coil = cable.length - route.needed
        cells = (cable.name, way, millimetres(route.needed), millimetres(cable.length), millimetres(coil))
        will_do = (
            say("{least} to {most}", least=millimetres(route.needed), most=millimetres(most))
            if most
            else say("from {least}", least=millimetres(route.needed))
        )
        rows.append([Cell(text, SIZE, number == 0) for number, text in enumerate((*cells, will_do))])
        rows[-1][2:5] = [cell._replace(align="right") for cell in rows[-1][2:5]]
    return rows


def _reaches(rig: Rig, cable: Cable) -> list[Fraction]:
    """Return the greatest lengths over which the signals of a cable work."""
    limits = [rig.signal_at(leg.first).serial.reach for leg in cable.legs]
    return [limit for limit in limits if limit is not None]


# ---- special wiring ------------------------------------------------------------------------------------------


def special(rig: Rig) -> list[Cable]:
    """Return the leads that are wired pin by pin and cannot be replaced by any other."""
    return [cable for cable in rig.cables.values() if cable.build.pins]


def pin_rows(cable: Cable, size: float) -> list[list[Cell]]:
    """Return the pins that are joined, with the colours of their conductors and their signals."""
    rows = []
    for pin in cable.build.pins:
        colour = f"{pin.colour}, {colours.in_words(pin.colour)}" if pin.colour else ""
        ends = (Cell(pin.first, size, True), Cell(pin.second, size, True))
        rows.append([*ends, Cell(colour, size), Cell(pin.title, size)])
    return rows


def pin_table(face: Typeface, rig: Rig, cable: Cable, width: float, size: float) -> Block:
    """Set the wiring of one special lead under its name.

    It has a column for each end, headed by where that end is plugged in.
    """
    plugs = [rig.inventory.connectors[name].title for name in cable.build.plugs or ()]
    ends = [
        f"{_at(rig, [(leg, end) for leg in cable.legs if (end := leg.first if first else leg.second)])}\n{plug}"
        for first, plug in zip(
            (True, False), [say("{plug}, pin", plug=title) for title in plugs] or [say("pin")] * 2, strict=True
        )
    ]
    title = f"{cable.name}: {cable.title}"
    if cable.build.mark:
        title = say("{cable} (mark: {mark})", cable=title, mark=cable.build.mark)
    widths = [width * share for share in (0.29, 0.29, 0.21, 0.21)]
    head = (*ends, say("COLOUR"), say("CARRIES"))
    return joined(heading(face, title, width), table(face, head, pin_rows(cable, size), widths))


def _at(rig: Rig, ends: list[tuple[Leg, End]]) -> str:
    """Return where the plugs of one side of a cable go: `at Camera bridge (S04-A)`."""
    units: dict[str, list[str]] = {}
    for leg, end in ends:
        units.setdefault(rig.units[end.unit].title, []).append(end_id(leg, end))
    return "; ".join(say("at {unit} ({ends})", unit=title, ends=", ".join(ids)) for title, ids in units.items())


def _channels(face: Typeface, solved: Solved, wire: Wire, room: float) -> str:
    """Return the channels that a lead carries; no line separates a number from its name."""
    units = solved.rig.units
    fed = [feed for feed in solved.links.feeds if wire in feed.route]
    if not fed:
        return ""
    carried = sorted({(units[feed.handset].channels[feed.channel].number, feed.channel) for feed in fed})
    texts = [f"{number} {name}" for number, name in carried]
    return ",\n".join(gathered(face, texts, SIZE, room - face.width(",", SIZE), False, ", "))


def wired_alike(wiring: Sequence[Cable]) -> str:
    """Return leads of the same wiring with their marks: `P12 and P14 (mark: red ring), P15 (no mark)`."""
    by_mark: dict[str, list[str]] = {}
    for cable in wiring:
        mark = say("mark: {mark}", mark=cable.build.mark) if cable.build.mark else say("no mark")
        by_mark.setdefault(mark, []).append(cable.name)
    return ", ".join(f"{listed(names)} ({mark})" for mark, names in by_mark.items())
