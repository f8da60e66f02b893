"""The cover: what the card set is for, its contents, what was checked and what was not."""

from __future__ import annotations

from collections.abc import Sequence

from rigcard.documents.base.layout import (
    BODY,
    SMALL,
    TICK,
    Block,
    Cell,
    heading,
    joined,
    paragraph,
    row,
    table,
)
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.paper import Grid, grid_of, has_bar, pouch_for
from rigcard.documents.base.phrases import sentence
from rigcard.documents.cards import cautions
from rigcard.documents.cards.burden import masses
from rigcard.documents.cards.frame import TECHNICIAN, Group, LaidGroup, card_size, caution_block
from rigcard.documents.cards.power import checked_words, unchecked_words
from rigcard.resolve.model import Cable, Rig
from rigcard.resolve.payload import loads
from rigcard.resolve.pins import unstated
from rigcard.resolve.radio import all_links, on_air
from rigcard.solve.solved import Solved
from rigcard.words import listed


def cover(face: Typeface, inner: float, solved: Solved, contents: Sequence[LaidGroup]) -> Group:
    """Make the issue sheet of a card set, a full page."""
    rig = solved.rig
    facts = [(label, text) for label, text in (("job", rig.job), ("date", rig.date)) if text]
    cells = [Cell(text, BODY, True, label=label) for label, text in facts]
    cells += [Cell("", label=f"{title} (name)", kind="blank") for title in rig.crew.values()]
    pieces = [piece for pair in _pairs(cells) for piece in row(face, pair, (inner / 2, inner / 2), ruled=False)]
    blocks = [Block(tuple(pieces)), caution_block(face, cautions.on("cover", rig), inner)]
    if rig.questions:
        questions = [paragraph(face, f"? {question}", inner, indent=0, bold=True) for question in rig.questions]
        blocks += [heading(face, "Open questions: do not use before they are answered", inner), *questions]
    blocks.append(_contents(face, inner, solved, contents))
    blocks.append(paragraph(face, _print_plan(solved, contents), inner, size=SMALL))
    blocks += masses(face, inner, rig)
    blocks += _radio(face, inner, rig)
    blocks.append(paragraph(face, cautions.DEFER, inner, size=SMALL, bold=True, whole=True))
    blocks += [
        heading(face, "Checked by calculation", inner),
        paragraph(face, _checked(solved), inner, size=SMALL),
    ]
    blocks += [heading(face, "Not checked", inner), paragraph(face, _not_checked(solved), inner, size=SMALL)]
    if rig.notes:
        blocks += [heading(face, "Notes", inner), *(paragraph(face, note, inner) for note in rig.notes)]
    return Group("ISSUE SHEET", "Issue sheet", tuple(blocks), full_sheet=True)


def _radio(face: Typeface, inner: float, rig: Rig) -> list[Block]:
    """Set every radio link for the frequency coordinator; empty for a rig that declares none."""
    if not rig.radio_links:
        return []
    rows = [
        [
            Cell(link.title, BODY, True),
            Cell(rig.units[link.sender].title, BODY),
            Cell(listed([rig.units[name].title for name in link.receivers]), BODY),
            Cell(on_air(link) or "________________", BODY),
        ]
        for link in all_links(rig)
    ]
    widths = (inner * 0.24, inner * 0.24, inner * 0.24, inner * 0.28)
    return [
        joined(heading(face, "Radio links", inner), table(face, ("LINK", "FROM", "TO", "ON"), rows, widths))
    ]


def _pairs(cells: Sequence[Cell]) -> list[Sequence[Cell]]:
    """Put two cells in each row, and fill up the last row."""
    filled = [*cells, Cell()] if len(cells) % 2 else cells
    return [filled[at : at + 2] for at in range(0, len(filled), 2)]


def _contents(face: Typeface, inner: float, solved: Solved, contents: Sequence[LaidGroup]) -> Block:
    """Set the contents: each card group, who gets how many, and boxes for what went out and came back."""
    rows = []
    for found in contents:
        role = found.group.role
        holder = solved.rig.crew.get(role, role) or "each person"
        copies = copies_of(solved.rig, found.group)
        rows.append(
            [
                Cell(found.group.mark, BODY, True),
                Cell(found.group.title, BODY),
                Cell(str(found.sides), BODY, align="centre"),
                Cell(str(found.leaves), BODY, align="centre"),
                Cell(holder, SMALL),
                Cell(str(copies), BODY, True, align="centre"),
                TICK,
                TICK,
                Cell(found.code, BODY, align="right"),
            ]
        )
    head = ("CARD", "", "SIDES", "CARDS", "FOR", "COPIES", "OUT", "BACK", "CHECK")
    rest = inner - 3 * 13.0 - 2 * 11.0 - 15.0
    widths = (rest * 0.35, rest * 0.35, 13.0, 13.0, rest * 0.3, 13.0, 11.0, 11.0, 15.0)
    aligns = ("left", "left", "centre", "centre", "left", "centre", "centre", "centre", "right")
    return joined(heading(face, "Cards in this pack", inner), table(face, head, rows, widths, aligns=aligns))


def _print_plan(solved: Solved, contents: Sequence[LaidGroup]) -> str:
    """Return how to print the card set, and how many sheets and pouches it needs."""
    rig = solved.rig
    grid = grid_of(card_size(rig), rig.paper, rig.per_sheet)
    leaves = sum(found.leaves for found in contents)
    sheets = 1 + -(-leaves // grid.cells)
    paper = rig.paper.upper() if rig.paper.startswith("a") else rig.paper.capitalize()
    parts = [
        f"{sheets} sheets of {paper} for one of each card: at 100 %, black.",
        _measure(grid),
        "Cut on the ticks.",
        _pouches(rig, [found for found in contents if found.group.role != TECHNICIAN]),
        "A card is valid if its check code is in this list. Collect and destroy every other one.",
    ]
    return " ".join(part for part in parts if part)


def copies_of(rig: Rig, group: Group) -> int:
    """Return the number of copies.

    A card has one for its reader; a card for everybody has one for each crew role and one for the technician.
    """
    return 1 if group.role or group.full_sheet else len({*rig.crew, TECHNICIAN})


def _measure(grid: Grid) -> str:
    """Return what to measure on a print: the bar if there is room for one, otherwise a card."""
    if has_bar(grid):
        return "The bar on a sheet must measure 50 mm."
    width, height = grid.card
    return f"A card must measure {width:g} x {height:g} mm."


def _pouches(rig: Rig, carried: Sequence[LaidGroup]) -> str:
    """Return the number of pouches for all carried copies, of the smallest ISO size that leaves an edge to seal."""
    many = sum(found.leaves * copies_of(rig, found.group) for found in carried)
    return f"Laminate what is carried: {many} {pouch_for(card_size(rig)).upper()} pouches."


def _not_checked(solved: Solved) -> str:
    rig = solved.rig
    parts = ["radio range, ropes, masts and fixings", unchecked_words(solved), *_not_judged(solved)]
    text = "; ".join(part for part in parts if part)
    return (
        f"{text[0].upper()}{text[1:]}; what the devices do between and beyond the declared "
        f"values, and whether the models describe the {'device' if len(rig.units) == 1 else 'devices'} in your hands. "
        "Measure, then test."
    )


def _not_judged(solved: Solved) -> list[str]:
    """Return what rules skipped because the file does not state it, with that reason."""
    rig = solved.rig
    ends = [end for cable in rig.cables.values() for end in _plug_ends(rig, cable)]
    plugs = sum(not known for known in ends)
    pins = sum(unstated(rig, cable) for cable in rig.cables.values())
    routes = sum(cable.build.route is None for cable in rig.cables.values())
    loads_open = [load.carrier.title for load in loads(rig) if load.margin is None or load.unknown]
    parts = (
        (plugs, f"the plugs at {plugs} of {len(ends)} lead ends, connector not stated"),
        (pins, f"ground and supply in {pins} lead{'s' * (pins != 1)}, pins not stated"),
        (routes, f"the length of {routes} lead{'s' * (routes != 1)}, route not stated"),
        (
            len(loads_open),
            f"the payload of {listed(loads_open)}, rating or masses not stated" if loads_open else "",
        ),
    )
    return [text for count, text in parts if count]


def _plug_ends(rig: Rig, cable: Cable) -> list[bool]:
    """For each end of each leg, return whether its plug was compared with a socket of known kind."""
    first, second = cable.build.plugs or (None, None)
    return [
        bool(plug and rig.port(end).connector)
        for leg in cable.legs
        for end, plug in ((leg.first, first), (leg.second, second))
        if end
    ]


def _checked(solved: Solved) -> str:
    rig = solved.rig
    legs = sum(len(cable.legs) for cable in rig.cables.values())
    heard = sum(bool(solved.links.feeds_of(*key)) for key in solved.results)
    needs = any(
        command.needs or command.does for unit in rig.units.values() for command in unit.model.commands.values()
    )
    parts = (
        (heard, f"{heard} channel{'s' * (heard != 1)} from control to effect"),
        (
            len(rig.expectations),
            f"{len(rig.expectations)} expectation{'s' * (len(rig.expectations) != 1)} of the operators",
        ),
        (legs, f"{legs} leads and their signals" if legs != 1 else "1 lead and its signal"),
        (needs, "settings that commands need"),
        (len(solved.needed), "control positions at power-up"),
    )
    found = [text for count, text in parts if count]
    found += [*_mechanical(rig), *([power] if (power := checked_words(solved)) else [])]
    return f"{sentence(listed(found))}." if found else "Nothing."


def _mechanical(rig: Rig) -> list[str]:
    """Return what was checked of masses, lengths and plugs, as far as the file states them."""
    cables = rig.cables.values()
    carriers = sum(load.margin is not None and not load.unknown for load in loads(rig))
    routes = sum(cable.build.route is not None for cable in cables)
    plugs = sum(known for cable in cables for known in _plug_ends(rig, cable))
    claims = len(rig.independents)
    parts = (
        (carriers, f"the payload of {carriers} unit{'s' * (carriers != 1)}"),
        (routes, f"the length of {routes} lead{'s' * (routes != 1)} on the way stated"),
        (plugs, f"the plugs at {plugs} lead end{'s' * (plugs != 1)}"),
        (claims, f"{claims} claim{'s' * (claims != 1)} of independence"),
    )
    return [text for count, text in parts if count]
