"""Fault-finding from what is seen: which functions are dead together, and which parts they share."""

from __future__ import annotations

from itertools import groupby

from rigcard.documents.base.layout import BODY, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import control_title, handset_title, slow_axes
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import Group
from rigcard.documents.cards.parts import steps
from rigcard.resolve.model import RadioLink
from rigcard.resolve.radio import on_air
from rigcard.solve.sharing import Function, Part, Suspects, dead_together
from rigcard.solve.solved import Solved
from rigcard.words import listed

FIRST = (
    ("Read the handset's screen.", "the right memory, no alarm"),
    ("Look at the receiver.", "link light steady"),
    (
        "Set all controls as on the power-up card, then move one.",
        "it does what the function test says, no more",
    ),
)
LOOKS = {  # what to look at on a unit, by its role
    "handset": "power, memory",
    "receiver": "link light",
    "adapter": "ready sign",
    "camera": "power, no menu open",
    "pack": "charge",
}


def fault_finding(face: Typeface, inner: float, solved: Solved) -> Group:
    """Set the three quickest checks, then a table from the wiring; the part with most functions comes first."""
    rows = [
        [Cell(who_is_dead(solved, found.functions), BODY, True), Cell(where_to_look(solved, found), BODY)]
        for found in dead_together(solved)
    ]
    rows += [
        [Cell(f"only {link.title}", BODY, True), Cell(_at_both_ends(solved, link), BODY)]
        for link in solved.rig.radio_links
        if solved.rig.units[link.sender].role != "handset"
    ]
    blocks = [
        heading(face, "First, in this order", inner),
        steps(face, inner, [*FIRST, *_dials(solved)]),
        joined(
            heading(face, "What is dead? (all else works)", inner),
            table(face, ("DEAD", "LOOK AT, IN THIS ORDER"), rows, (38.0, inner - 38.0)),
        ),
        paragraph(
            face,
            "Moves the wrong way? Do not reverse it at the handset: call the technician. Open no case, bypass no fuse. "
            "After each change do that line of the function test again. Still dead: rig DOWN, call the technician.",
            inner,
            bold=True,
            whole=True,
        ),
    ]
    return Group("FAULTS", "Fault-finding", tuple(blocks), cautions.on("fault-finding", solved.rig))


def _dials(solved: Solved) -> list[tuple[str, str]]:
    """Warn that an axis scaled by a dial looks dead at the dial's slow end."""
    return [
        (
            f"{slow.axis}? {control_title(solved.rig, slow.handset, slow.control)} toward {slow.fast}.",
            slow.least,
        )
        for slow in slow_axes(solved)
    ]


def _at_both_ends(solved: Solved, link: RadioLink) -> str:
    """Return where to look if what another radio link carries is missing."""
    sender, *receivers = (solved.rig.units[name].title for name in (link.sender, *link.receivers))
    return "; ".join([f"{sender}: on, {on_air(link)}", *(f"{title}: on, same channel" for title in receivers)])


def who_is_dead(solved: Solved, functions: tuple[Function, ...]) -> str:
    """Name functions briefly: everything, all of a handset, all of a device, and the rest by name."""
    rig, feeds = solved.rig, solved.links.feeds
    dead = set(functions)
    if len(dead) == 1:
        return f"only {_named(solved, functions[0])}"
    if dead == {(feed.unit, feed.input.name) for feed in feeds}:
        return "everything"
    for handset in dict.fromkeys(feed.handset for feed in feeds):
        if dead == {(feed.unit, feed.input.name) for feed in feeds if feed.handset == handset}:
            return f"everything of {rig.units[handset].title}"
    words = []
    for unit in dict.fromkeys(unit for unit, _ in functions):
        mine = dict.fromkeys((feed.unit, feed.input.name) for feed in feeds if feed.unit == unit)
        if len(mine) > 1 and dead.issuperset(mine):
            words.append(f"all of {rig.units[unit].title}")
        else:
            words += [_named(solved, function) for function in mine if function in dead]
    return listed(words)


def _named(solved: Solved, function: Function) -> str:
    """Return an input's title, after that of its device if other inputs have the same one."""
    units = solved.rig.units
    title = units[function[0]].model.inputs[function[1]].title
    alike = {(feed.unit, feed.input.name) for feed in solved.links.feeds if feed.input.title == title}
    return f"{units[function[0]].title}: {title}" if len(alike) > 1 else title


def where_to_look(solved: Solved, found: Suspects) -> str:
    """Return the parts that the functions share, in order; a lead or a unit's settings appear once."""
    settings = [part.name[0] for part in found.parts if part.kind == "setting"]
    leads = [part.name for part in found.parts if part.kind == "lead"]
    looks = []
    for part in found.parts:
        if part.kind == "setting" and settings.count(part.name[0]) > 1:
            looks.append((solved.rig.units[part.name[0]].title, "settings as on its card"))
        elif part.kind != "plus" or part.name not in leads:
            looks.append(_look(solved, part))
    words = []
    for whose, group in groupby(dict.fromkeys(looks), lambda look: look[0]):
        texts = [text for _, text in group]
        words += [f"{whose}: {', '.join(texts)}"] if whose else texts
    return "; ".join(words)


def _look(solved: Solved, part: Part) -> tuple[str, str]:
    """Return whose part it is, if that must be said, and what to look at."""
    rig = solved.rig
    first, *more = part.name
    if part.kind in ("lead", "plus"):
        fused = any(leg.id == first for cable in rig.cables.values() if cable.power.fuse for leg in cable.legs)
        return "", f"{first} at both ends{f', the fuse of {first}' if fused else ''}"
    unit = rig.units[first]
    if part.kind == "control":
        return handset_title(rig, first), unit.model.controls[more[0]].title
    if part.kind == "channel":
        return handset_title(rig, first), f"channel {unit.channels[more[0]].number} {more[0]}"
    if part.kind == "setting":
        return unit.title, f"{unit.model.settings[more[0]].menu}: {unit.settings[more[0]].text}"
    if part.kind == "feed":
        return "", f"{listed(more)}, which feed {unit.title}"
    return unit.title, f"pin {more[0]}" if part.kind == "pin" else LOOKS.get(unit.role, "power")
