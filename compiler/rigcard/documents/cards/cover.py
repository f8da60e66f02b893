"""The issue sheet: what is in the pack, who has which cards, how to print them, what was checked and what was not."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from rigcard.documents.base.language import MOST_NAMED, listed, listed_or_counted, say, say_count
from rigcard.documents.base.layout import (
    BODY,
    SMALL,
    TICK,
    Block,
    Box,
    Cell,
    heading,
    joined,
    line_height,
    paragraph,
    row,
    space,
    table,
    text_at,
    wrap,
)
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.paper import LARGE as LARGE_PAPER
from rigcard.documents.base.paper import Grid, grid_of, has_bar, pouch_for
from rigcard.documents.base.phrases import has_trims, sentence, station_title
from rigcard.documents.cards import cautions
from rigcard.documents.cards.burden import masses
from rigcard.documents.cards.frame import TECHNICIAN, Group, LaidGroup, card_size
from rigcard.documents.cards.power import checked_words, unchecked_words
from rigcard.resolve.model import Cable, RadioLink, Rig
from rigcard.resolve.payload import loads
from rigcard.resolve.pins import unstated
from rigcard.resolve.radio import all_links, on_air
from rigcard.solve.solved import Solved
from rigcard.solve.stations import stations_of
from rigcard.solve.targets import targets

EVERYBODY = ""
BETWEEN = 5.0  # mm between two columns of contents
TWO_COLUMNS = 180.0  # mm: from this width on the contents stand in two columns


def cover(face: Typeface, inner: float, solved: Solved, contents: Sequence[LaidGroup]) -> Group:
    """Make the issue sheet of a card set, a full page."""
    rig = solved.rig
    blocks: list[Block] = []
    if rig.questions:
        questions = [paragraph(face, f"? {question}", inner, bold=True, gap=0.6) for question in rig.questions]
        title = say("Open questions: do not use the cards before they are answered")
        blocks += [heading(face, title, inner), *questions]
    blocks += _contents(face, inner, solved, contents)
    blocks.append(_people(face, inner, rig, contents))
    blocks += _print_plan(face, inner, rig, contents)
    blocks += masses(face, inner, rig)
    blocks += _radio(face, inner, rig)
    blocks.append(_checks(face, inner, solved))
    if rig.notes:
        notes = [paragraph(face, note, inner, size=SMALL, gap=0.6) for note in rig.notes]
        blocks.append(joined(heading(face, say("Notes"), inner), *notes))
    blocks.append(paragraph(face, cautions.defer(), inner, size=SMALL, bold=True, whole=True))
    return Group(say("ISSUE SHEET"), say("Issue sheet"), tuple(blocks), full_sheet=True)


# ---- contents and people -------------------------------------------------------------------------------------


def _contents(face: Typeface, inner: float, solved: Solved, contents: Sequence[LaidGroup]) -> list[Block]:
    """Set the contents: a line for each station if there are several, then what belongs to none of them."""
    placed = [found for found in contents if found.group.station is not None]
    others = [found for found in contents if found.group.station is None]
    blocks = [_by_station(face, inner, solved, placed)] if placed else []
    title = say("Cards of all stations") if placed else say("Cards in this pack, in order")
    return [*blocks, _one_by_one(face, inner, solved.rig, others, title)] if others else blocks


def _by_station(face: Typeface, inner: float, solved: Solved, contents: Sequence[LaidGroup]) -> Block:
    """Set a line for each station: the check codes of its cards, and how many cards that is."""
    kinds = list(dict.fromkeys(found.group.kind for found in contents))
    at: dict[tuple[int | None, str], list[LaidGroup]] = {}
    for found in contents:
        at.setdefault((found.group.station, found.group.kind), []).append(found)
    copies = {found.group.kind: copies_of(solved.rig, found.group) for found in contents}
    rows = [
        [
            Cell(say("copies of each"), SMALL),
            *(Cell(str(copies[kind]), SMALL, align="centre") for kind in kinds),
            Cell(),
        ]
    ]
    for number, station in enumerate(stations_of(solved)):
        mine = [at.get((number, kind), []) for kind in kinds]
        title = station_title(station) if station.others else station.handsets[0].label
        rows.append(
            [
                Cell(sentence(title), SMALL, True),
                *(Cell("\n".join(found.code for found in of), SMALL, align="centre") for of in mine),
                Cell(str(sum(found.leaves for of in mine for found in of)), SMALL, align="right"),
            ]
        )
    narrow = min(17.0, (inner - 40.0) / (len(kinds) + 1))
    widths = (inner - narrow * (len(kinds) + 1), *(narrow for _ in kinds), narrow)
    head = (say("STATION"), *kinds, say("CARDS"))
    aligns = ("left", *("centre" for _ in kinds), "right")
    return joined(
        heading(face, say("Cards of each station, by their check codes"), inner),
        table(face, head, rows, widths, aligns=aligns, pad=0.3),
    )


def _one_by_one(face: Typeface, inner: float, rig: Rig, contents: Sequence[LaidGroup], title: str) -> Block:
    """Set each card group with its sides, who has it, how many copies, and its check code."""
    rows = [
        [
            Cell(found.group.mark, SMALL, True),
            Cell(_holder(rig, found.group.role), SMALL),
            Cell(str(found.sides), SMALL, align="centre"),
            Cell(str(copies_of(rig, found.group)), SMALL, align="centre"),
            Cell(found.code, SMALL, align="right"),
        ]
        for found in contents
    ]
    columns = 2 if inner >= TWO_COLUMNS and len(rows) > 1 else 1
    deep = -(-len(rows) // columns)
    empty = [[Cell()] * 5] * (columns * deep - len(rows))
    sides = [[*rows, *empty][at * deep : (at + 1) * deep] for at in range(columns)]
    sets = [
        [*line[0], *(cell for other in line[1:] for cell in (Cell(), *other))]
        for line in zip(*sides, strict=True)
    ]
    narrow = (11.0, 12.5, 12.0)
    rest = (inner - BETWEEN * (columns - 1)) / columns - sum(narrow)
    widths = [rest * 0.56, rest * 0.44, *narrow]
    head = [say("CARD"), say("FOR"), say("SIDES"), say("COPIES"), say("CHECK")]
    aligns = ["left", "left", "centre", "centre", "right"]
    if columns > 1:
        widths, head, aligns = [*widths, BETWEEN, *widths], [*head, "", *head], [*aligns, "left", *aligns]
    return joined(
        heading(face, title, inner),
        table(face, head, sets, widths, aligns=aligns, pad=0.3),
    )


def _people(face: Typeface, inner: float, rig: Rig, contents: Sequence[LaidGroup]) -> Block:
    """Set one line a person: how many cards, what went out and came back, and who was briefed."""
    rows = []
    for role in (*rig.crew, TECHNICIAN):
        mine = sum(found.leaves for found in contents if found.group.role in (EVERYBODY, role))
        rows.append(
            [
                Cell(sentence(_holder(rig, role)), BODY, True),
                Cell("______________"),
                Cell(str(mine), BODY, align="centre"),
                TICK,
                TICK,
                Cell("______________"),
            ]
        )
    head = (say("WHO"), say("NAME"), say("CARDS"), say("OUT"), say("BACK"), say("BRIEFED (signature)"))
    rest = inner - 16.0 - 2 * 12.0
    widths = (rest * 0.3, rest * 0.35, 16.0, 12.0, 12.0, rest * 0.35)
    aligns = ("left", "left", "centre", "centre", "centre", "left")
    title = heading(face, say("Cards out and back"), inner)
    return joined(title, table(face, head, rows, widths, aligns=aligns, pad=0.5))


def _holder(rig: Rig, role: str) -> str:
    if role == TECHNICIAN:
        return say("technician")
    return rig.crew[role] if role else say("everybody")


def copies_of(rig: Rig, group: Group) -> int:
    """Return the number of copies.

    A card has one for its reader; a card for everybody has one for each crew role and one for the technician.
    """
    return 1 if group.role or group.full_sheet else len({*rig.crew, TECHNICIAN})


# ---- printing ------------------------------------------------------------------------------------------------


def _print_plan(face: Typeface, inner: float, rig: Rig, contents: Sequence[LaidGroup]) -> list[Block]:
    """Set how to print the pack, by stock, and what it needs."""
    grid = grid_of(card_size(rig), rig.paper, rig.per_sheet)
    leaves = sum(found.leaves for found in contents)
    copies = sum(found.leaves * copies_of(rig, found.group) for found in contents)
    carried = sum(
        found.leaves * copies_of(rig, found.group) for found in contents if found.group.role != TECHNICIAN
    )
    diagram = say(
        "{paper} or {large}, as each page is made: the wiring diagram. Labels: {stock}.",
        paper=_named(rig.paper),
        large=_named(LARGE_PAPER[rig.paper]),
        stock=_stock(rig),
    )
    pouches = say(
        "Laminate every card but those of the technician: {count} pouches {size}.",
        count=carried,
        size=pouch_for(card_size(rig)).upper(),
    )
    lines = [
        say(
            "{paper}: this sheet. One set of cards: {sheets} sheets. All copies: {all} sheets, printed on two "
            "sides. Print at 100 %, black.",
            paper=_named(rig.paper),
            sheets=-(-leaves // grid.cells),
            all=-(-copies // grid.cells),
        ),
        f"{diagram} {_measure(grid)} {say('Cut on the ticks.')}",
        f"{pouches} {say('A card is valid if its check code is in this list. Collect and destroy every other one.')}",
    ]
    set_lines = [paragraph(face, line, inner, size=SMALL, gap=0.4) for line in lines]
    return [joined(heading(face, say("Printing"), inner), *set_lines)]


def _named(paper: str) -> str:
    return paper.upper() if paper.startswith("a") else paper.capitalize()


def _stock(rig: Rig) -> str:
    return rig.sheet.title if rig.sheet else say("film, cut by hand")


def _measure(grid: Grid) -> str:
    """Return what to measure on a print: the bar if there is room for one, otherwise a card."""
    if has_bar(grid):
        return say("The bar on a sheet must measure 50 mm.")
    width, height = grid.card
    return say("A card must measure {width} x {height} mm.", width=f"{width:g}", height=f"{height:g}")


# ---- radio, checks -------------------------------------------------------------------------------------------


def _radio(face: Typeface, inner: float, rig: Rig) -> list[Block]:
    """Set everything that sends by radio, for whoever coordinates it; first the links whose band is stated."""
    links = all_links(rig)
    if not links:
        return []
    lines = [
        say("{link}, {band}: {ways}", link=link.title, band=on_air(link), ways=_ends(rig, link))
        for link in links
        if on_air(link)
    ]
    if silent := [link for link in links if not on_air(link)]:
        named = len(silent) <= MOST_NAMED
        ways = (
            [_ends(rig, link) for link in silent]
            if named
            else [say("{count} links, each on the card of its receiver", count=len(silent))]
        )
        lines.append(say("Band not stated, look: {ways}", ways="; ".join(ways)))
    blocks = [paragraph(face, line, inner, size=SMALL, gap=0.4) for line in lines]
    return [joined(heading(face, say("Radio links"), inner), *blocks)]


def _ends(rig: Rig, link: RadioLink) -> str:
    receivers = listed([rig.units[name].title for name in link.receivers])
    return say("{sender} to {receivers}", sender=rig.units[link.sender].title, receivers=receivers)


def _checks(face: Typeface, inner: float, solved: Solved) -> Block:
    """Set what was checked and what was not beside each other, one thing a line."""
    half = (inner - 4.0) / 2
    widths = (half, 4.0, half)
    heads = [
        Cell(say("Checked by calculation"), BODY, True),
        Cell(),
        Cell(say("Not checked: look, measure, test"), BODY, True),
    ]
    boxes = row(face, heads, widths, keep=True, pad=0.4)
    checked, unchecked = _checked(solved), _not_checked(solved)
    if solved.losses:
        from rigcard.documents.cards.mistakes import figures_text  # with all that tries mistakes on the rig

        told, looks = figures_text(solved)
        checked, unchecked = [*checked, told], [*unchecked, *looks]
    columns = [_points(face, texts, half) for texts in (checked, unchecked)]
    for done, left in zip_longest(*columns, fillvalue=(0.0, "")):
        marks = [
            text_at(face, edge + indent, 0.2, line, SMALL)
            for edge, (indent, line) in ((0.0, done), (half + 4.0, left))
            if line
        ]
        boxes.append(Box(line_height(SMALL) + 0.4, tuple(marks)))
    return joined(space(1.5, keep=True), Block(tuple(boxes)), space(1.5))


def _points(face: Typeface, texts: Sequence[str], width: float) -> list[tuple[float, str]]:
    """Return the lines of a list, each with its indent: a point before the first line of a text, none before others.

    A text that begins with a dash belongs under the one before it.
    """
    indent = face.width("• ", SMALL)
    lines: list[tuple[float, str]] = []
    for text in texts:
        under = indent if text.startswith("– ") else 0.0
        first, *more = wrap(face, text, SMALL, width - indent - under)
        lines += [(under, first if under else f"• {first}"), *((indent + under, line) for line in more)]
    return lines


def _checked(solved: Solved) -> list[str]:
    rig = solved.rig
    legs = sum(len(cable.legs) for cable in rig.cables.values())
    heard = sum(bool(solved.links.feeds_of(*key)) for key in solved.results)
    needs = any(
        command.needs or command.does for unit in rig.units.values() for command in unit.model.commands.values()
    )
    wishes = len(rig.expectations)
    parts = (
        (
            heard,
            say_count(heard, "{count} channel, control to function", "{count} channels, control to function"),
        ),
        (wishes, say_count(wishes, "{count} operator expectation", "{count} operator expectations")),
        (legs, say_count(legs, "{count} lead: its signal fits", "{count} leads: their signals fit")),
        (needs, say("settings that commands need")),
        (len(solved.needed), say("control positions at power-up")),
    )
    found = [text for count, text in parts if count]
    return [*found, *_mechanical(rig), *([power] if (power := checked_words(solved)) else [])] or [
        say("nothing")
    ]


def _mechanical(rig: Rig) -> list[str]:
    """Return what was checked of masses, lengths and plugs, as far as the file states them."""
    cables = rig.cables.values()
    carriers = sum(load.margin is not None and not load.unknown for load in loads(rig))
    routes = sum(cable.build.route is not None for cable in cables)
    plugs = sum(known for cable in cables for known in _plug_ends(rig, cable))
    claims = len(rig.independents)
    parts = (
        (carriers, say_count(carriers, "payload of {count} unit", "payload of {count} units")),
        (
            routes,
            say_count(routes, "length of {count} lead on its route", "length of {count} leads on their routes"),
        ),
        (plugs, say_count(plugs, "plug at {count} lead end", "plugs at {count} lead ends")),
        (claims, say_count(claims, "{count} claim of independence", "{count} claims of independence")),
    )
    return [text for count, text in parts if count]


def _not_checked(solved: Solved) -> list[str]:
    parts = [
        say("radio range, antennas, ropes, masts and fixings"),
        unchecked_words(solved),
        *_not_judged(solved),
    ]
    return [
        *(part for part in parts if part),
        say("how devices behave outside the values in the file"),
        say("whether the devices in your hands match the file"),
    ]


def _not_judged(solved: Solved) -> list[str]:
    """Return what rules skipped because the file does not state it, with that reason."""
    rig = solved.rig
    ends = [end for cable in rig.cables.values() for end in _plug_ends(rig, cable)]
    plugs = sum(not known for known in ends)
    pins = sum(unstated(rig, cable) for cable in rig.cables.values())
    routes = sum(cable.build.route is None for cable in rig.cables.values())
    loads_open = [load.carrier.title for load in loads(rig) if load.margin is None or load.unknown]
    parts = (
        (plugs, say("plugs at {plugs} of {ends} lead ends: connector not stated", plugs=plugs, ends=len(ends))),
        (
            pins,
            say_count(
                pins,
                "ground and supply in {count} lead: pins not stated",
                "ground and supply in {count} leads: pins not stated",
            ),
        ),
        (
            routes,
            say_count(
                routes, "length of {count} lead: route not stated", "length of {count} leads: route not stated"
            ),
        ),
    )
    found = [text for count, text in parts if count]
    if loads_open:
        found.append(
            say("payload of {units}: rating or masses not stated", units=listed_or_counted(loads_open))
        )
    return [*found, *_taken_as_said(solved)]


def _taken_as_said(solved: Solved) -> list[str]:
    """Return what nothing in the file speaks of, so that only a look at the devices can tell it."""
    rig = solved.rig
    handsets = [unit for unit in rig.units.values() if unit.role == "handset"]
    sticks = [
        unit.title
        for unit in handsets
        if not has_trims(unit) and any(control.kind == "stick" for control in unit.model.controls.values())
    ]
    left = [
        control.title
        for unit in handsets
        for control in unit.model.controls.values()
        if not control.springs
        and (unit.name, control.name) not in solved.needed
        and any(
            result.control.name == control.name and solved.links.feeds_of(unit.name, result.name)
            for result in solved.results_of(unit.name)
        )
    ]
    needed = {
        need.name
        for unit in rig.units.values()
        for command in unit.commands.values()
        for need in command.needs
        if need.value is None
    }
    lenses = [
        unit.title
        for unit in rig.units.values()
        if unit.role == "lens" and needed.intersection(unit.model.offers)
    ]
    claimed = {target.feed for wish in rig.expectations for target in targets(rig, solved.links, wish)}
    ways = dict.fromkeys(
        f"{feed.input.title} ({rig.units[feed.unit].title})"
        for feed in solved.links.feeds
        if feed.input.critical and feed.input.sweep and feed not in claimed
    )
    found = []
    standing = [*(say("rings of {unit}", unit=title) for title in lenses), *left]
    if sticks:
        found.append(say("the trim levers of {units}: the model names none", units=listed_or_counted(sticks)))
    if standing:
        found.append(say("where these stand at the start: {things}", things=_apart(standing)))
    if ways:
        found.append(say("which way is meant, as no claim says it: {functions}", functions=_apart(list(ways))))
    if not rig.revision:
        found.append(say("which issue is in hand: no revision is stated"))
    return found


def _apart(parts: Sequence[str]) -> str:
    """Join titles that may have commas in them; many are counted."""
    return "; ".join(parts) if len(parts) <= MOST_NAMED else listed_or_counted(parts)


def _plug_ends(rig: Rig, cable: Cable) -> list[bool]:
    """For each end of each leg, return whether its plug was compared with a socket of known kind."""
    first, second = cable.build.plugs or (None, None)
    return [
        bool(plug and rig.port(end).connector)
        for leg in cable.legs
        for end, plug in ((leg.first, first), (leg.second, second))
        if end
    ]
