"""Decides which cards a rig gets, and in which order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rigcard.documents.base.full_sheet import sheet_columns, sheet_pages, sheet_width
from rigcard.documents.base.language import say
from rigcard.documents.base.model import Document, Page, Typeface
from rigcard.documents.base.paper import LONG_EDGE, ONE_SIDED, impose, paper_file
from rigcard.documents.base.phrases import station_title
from rigcard.documents.cards.brief import brief
from rigcard.documents.cards.cover import cover
from rigcard.documents.cards.devices import device_groups, small_devices
from rigcard.documents.cards.frame import (
    Group,
    LaidGroup,
    card_size,
    check_code,
    group_code,
    inner_width,
    lay,
    leaves_of,
)
from rigcard.documents.cards.handset import handset_setup
from rigcard.documents.cards.operator import operator_card
from rigcard.documents.cards.power import power_card
from rigcard.documents.cards.power_up import power_down, power_up
from rigcard.documents.cards.wrap import changed_settings, wrap_card
from rigcard.faults.lines import lines_of
from rigcard.resolve.model import Unit
from rigcard.solve.solved import Solved
from rigcard.solve.stations import Station, parts_of_rig, station_numbers, stations_of


def card_groups(face: Typeface, solved: Solved, *, tests: bool = True) -> list[Group]:
    """Return every card group; add a new kind of card here.

    Without `tests`, those that need every mistake tried on the rig have no blocks: it takes longer than the rest.
    """
    rig = solved.rig
    inner = inner_width(rig)
    handsets = [unit for unit in rig.units.values() if unit.role == "handset"]
    return [
        *_for_everybody(face, inner, solved),
        *_of_units(
            solved, say("OPERATOR"), handsets, [operator_card(face, inner, solved, unit) for unit in handsets]
        ),
        *(_tests(face, inner, solved, tests) if solved.losses else []),
        *_of_units(
            solved, say("HANDSET"), handsets, [handset_setup(face, inner, solved, unit) for unit in handsets]
        ),
        *_devices(face, inner, solved),
        *_power_and_small(face, inner, solved),
        *([wrap_card(face, inner, solved)] if changed_settings(rig) else []),
    ]


def _devices(face: Typeface, inner: float, solved: Solved) -> list[Group]:
    """Return the cards of devices: each head has its own, which come first."""
    heads = [unit for unit in solved.rig.units.values() if unit.role == "head"]
    groups = device_groups(face, inner, solved)
    return [*_of_units(solved, say("HEAD"), heads, groups[: len(heads)]), *groups[len(heads) :]]


def _of_units(solved: Solved, kind: str, units: Sequence[Unit], groups: Sequence[Group]) -> list[Group]:
    """Return the cards of units, each with its station if there are several."""
    if len(stations_of(solved)) == 1:
        return list(groups)
    numbers = station_numbers(solved)
    return [
        group._replace(station=numbers[unit.name], kind=kind) for unit, group in zip(units, groups, strict=True)
    ]


def _for_everybody(face: Typeface, inner: float, solved: Solved) -> list[Group]:
    """Return brief, power-up and power-down of each station; what belongs to no handset is only powered."""
    groups: list[Group] = []
    for at, (station, part) in enumerate(zip(stations_of(solved), parts_of_rig(solved), strict=True)):
        own = [] if station.others else [brief(face, inner, part)]
        if not station.others or part.rig.cables:
            own += [power_up(face, inner, part), power_down(face, inner, part)]
        groups += own if part is solved else [_at(group, at, station) for group in own]
    return groups


def _at(group: Group, number: int, station: Station) -> Group:
    """Return a card group of one station of several."""
    return group._replace(mark=_mark(group.mark, station), station=number, kind=group.mark)


def _mark(mark: str, station: Station) -> str:
    """Return the mark of a card of one station of several."""
    return f"{mark} {station_title(station) if station.others else station.handsets[0].label}"


def _power_and_small(face: Typeface, inner: float, solved: Solved) -> list[Group]:
    """Return the power card with the small devices, mostly packs, on it; without power statements, these alone."""
    small = small_devices(face, inner, solved)
    if not solved.power:
        return [small] if small else []
    more = (small.blocks, small.cautions) if small else ((), ())
    return [power_card(face, inner, solved, *more)]


def _tests(face: Typeface, inner: float, solved: Solved, whole: bool) -> list[Group]:
    """Return the function test and fault-finding, or only their heads."""
    heads = _test_heads(solved)
    if not whole:
        return [head for station in heads for head in station]
    from rigcard.documents.cards.fault_finding import fault_finding  # with all that tries mistakes on the rig
    from rigcard.documents.cards.function_test import function_test

    return [
        head._replace(blocks=tuple(make(face, inner, solved, number)))
        for number, station in enumerate(heads)
        for head, make in zip(station, (function_test, fault_finding), strict=False)
    ]


def _test_heads(solved: Solved) -> list[tuple[Group, ...]]:
    """Return the heads of function test and fault-finding of each station; what has no handset is only looked at."""
    stations = stations_of(solved)
    if len(stations) == 1:
        return [(Group(say("TEST"), say("Function test"), ()), Group(say("FAULTS"), say("Fault-finding"), ()))]
    heads: list[tuple[Group, ...]] = []
    for at, station in enumerate(stations):
        title = station_title(station)
        test = _at(Group(say("TEST"), say("Function test: {station}", station=title), ()), at, station)
        faults = _at(Group(say("FAULTS"), say("Fault-finding: {station}", station=title), ()), at, station)
        heads.append((test,) if station.others else (test, faults))
    return heads if any(line.station == len(heads) - 1 for line in lines_of(solved)) else heads[:-1]


def card_heads(face: Typeface, solved: Solved) -> list[Group]:
    """Return every card group with its mark and cautions; some have no blocks."""
    return _marked(card_groups(face, solved, tests=False))


def card_pack(face: Typeface, solved: Solved) -> list[LaidGroup]:
    """Return every card group laid out, the issue sheet first."""
    rig = solved.rig
    laid = [lay(face, rig, group) for group in _marked(card_groups(face, solved))]
    sheet = cover(face, sheet_width(rig), solved, laid)
    columns = tuple(sheet_columns(rig, sheet.blocks))
    return [LaidGroup(sheet, columns, group_code(rig, sheet), len(columns)), *laid]


def _marked(groups: Sequence[Group]) -> list[Group]:
    """Make every mark unique: a second group of a mark has its title, else what it is for, or a letter, behind it."""
    marked: list[Group] = []
    taken: set[str] = set()
    for group in groups:
        mark = group.mark.upper()
        more = say("SET-UP") if group.title.upper() == mark else group.title.upper()
        tried = [mark, f"{mark} {more}", *(f"{mark} {letter}" for letter in "BCDEFGHJKLMNPQRS")]
        mark = next((one for one in tried if one not in taken), f"{mark} {len(taken)}")
        taken.add(mark)
        marked.append(group._replace(mark=mark))
    return marked


def card_document(
    face: Typeface,
    solved: Solved,
    role: str = "",
    valid: Mapping[str, str] | None = None,
    pack: Sequence[LaidGroup] = (),
    flip: str = LONG_EDGE,
) -> Document:
    """Set the card set on sheets: all cards or those for one role, without those still valid (mark -> code).

    The issue sheet, a full page, comes first, and alone: nothing stands on its back. It is left out for a role.
    `pack`: the card set, if already laid out. `flip` is the edge that the printer turns the paper over at.
    """
    rig = solved.rig
    pack = pack or card_pack(face, solved)
    footer = say("check {code}", code=check_code([found.code for found in pack]))
    printed = [found for found in pack if (valid or {}).get(card_key(found)) != found.code]
    pages: list[Page] = []
    for found in printed:
        if found.group.full_sheet and not role:
            pages += _single_sided(sheet_pages(face, rig, found.group.title, found.columns, found.code), flip)
    mine = [
        found
        for found in printed
        if not found.group.full_sheet and (not role or found.group.role in ("", role))
    ]
    leaves = leaves_of(face, rig, mine)
    cards = impose(face, leaves, card_size(rig), rig.paper, rig.per_sheet, flip, footer)
    return paper_file("cards", say("{rig}: cards", rig=rig.title), cards.after(pages))


def _single_sided(pages: Sequence[Page], flip: str) -> list[Page]:
    """Return pages with white ones between, so that a printer that prints two sides leaves their backs empty."""
    if flip == ONE_SIDED:
        return [*pages]
    return [each for page in pages for each in (page, Page(page.width, page.height, (), ()))]


def card_key(found: LaidGroup) -> str:
    """Return the key that identifies a card group across revisions: its mark."""
    return found.group.mark
