"""Fault-finding from what is seen: questions with what to do, and which functions are dead together."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import NamedTuple

from rigcard.documents.base.language import listed, say
from rigcard.documents.base.layout import BODY, SMALL, Block, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import control_title, handset_title, slow_axes, the
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import caution_block
from rigcard.documents.cards.function_test import to_do, to_see
from rigcard.documents.cards.mistakes import remedy
from rigcard.documents.cards.parts import steps
from rigcard.faults.diagnosis import Leaf, Question, leaves
from rigcard.faults.judged import judged
from rigcard.faults.looks import LINKED, ON
from rigcard.faults.matrix import by_station
from rigcard.faults.single import Fault
from rigcard.resolve.model import RadioLink, Unit
from rigcard.resolve.radio import on_air
from rigcard.solve.sharing import Function, Part, Suspects, dead_together
from rigcard.solve.solved import Solved
from rigcard.solve.stations import parts_of_rig
from rigcard.words import ranges

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # I and O are read as numbers


def fault_finding(face: Typeface, inner: float, solved: Solved, station: int = 0) -> list[Block]:
    """Set for a station what to do first, the questions with their answers, then what is dead together; the largest
    come first."""
    part = parts_of_rig(solved)[station]
    asked, ends = _numbered(solved, judged(solved).questions[station])
    dead = dead_together(solved, part.links.feeds)
    rows = [
        [Cell(who_is_dead(solved, found.functions), BODY, True), Cell(where_to_look(solved, found), BODY)]
        for found in dead
        if not _on_the_handset(found)
    ]
    if len(rows) < len(dead):
        rows.append(
            [
                Cell(say("only another one"), BODY, True),
                Cell(say("its control; its channel, as on the card of the handset"), BODY),
            ]
        )
    rows += [
        [Cell(say("only {function}", function=link.title), BODY, True), Cell(_at_both_ends(solved, link), BODY)]
        for link in solved.rig.radio_links
        if solved.rig.units[link.sender].role != "handset" and link.sender in part.rig.units
    ]
    return [
        heading(face, say("First, in this order"), inner),
        steps(face, inner, [*_first(solved, station), *_dials(part)]),
        caution_block(face, cautions.on("fault-finding", part.rig), inner),
        *([_questions(face, inner, solved, part, asked)] if asked else []),
        *([_answers(face, inner, ends)] if ends else []),
        paragraph(
            face,
            " ".join(
                [
                    say("Moves the wrong way? Do not reverse it at the handset: call the technician."),
                    say("Open no case, bypass no fuse."),
                    say("Still wrong after this: rig DOWN, call the technician."),
                ]
            ),
            inner,
            bold=True,
            whole=True,
        ),
        joined(
            heading(face, say("What is dead? (all else works)"), inner),
            table(face, (say("DEAD"), say("LOOK AT, IN THIS ORDER")), rows, (38.0, inner - 38.0)),
        ),
    ]


def _first(solved: Solved, station: int) -> list[tuple[str, str]]:
    """Return what to look at before any question: every screen, then every control."""
    found = []
    matrix = judged(solved).matrix
    for line in (matrix.lines[at] for at in by_station(matrix).lines[station]):
        if line.kind == "screen":
            title = solved.rig.units[line.handset].title
            found.append((say("Read the screen of {unit}.", unit=the(title)), to_see(solved, line)))
    return [
        *found,
        (
            say("Set all controls as on the power-up card, then move one."),
            say("it does what the function test says, no more"),
        ),
    ]


def _on_the_handset(found: Suspects) -> bool:
    """Whether a function alone is dead, and what it shares with no other is on the handset."""
    return len(found.functions) == 1 and all(part.kind in ("control", "channel") for part in found.parts)


class _Asked(NamedTuple):
    """A numbered question, and where its answers lead: the number of a question, or a letter."""

    number: int
    line: int
    yes: str
    no: str


class _End(NamedTuple):
    """A letter: what to do, the likeliest first, who may do it, and which lines of the test to do again."""

    letter: str
    do: str
    who: str
    again: frozenset[int]


def _numbered(solved: Solved, root: Question | Leaf) -> tuple[list[_Asked], list[_End]]:
    """Number the questions and letter the ends, each in the order in which people come to them.

    Ends at which the same is done share a letter; a question that only leads to one letter is not asked.
    """
    words = {id(leaf): (" ".join(actions(solved, leaf)), _who(solved, leaf)) for leaf in leaves(root)}
    asked: list[_Asked] = []
    ends: dict[tuple[str, str], _End] = {}

    def name(node: Question | Leaf) -> str:
        ends_here = leaves(node)
        (do, who), *others = dict.fromkeys(words[id(leaf)] for leaf in ends_here)
        if not others:  # whatever the answers are, the same is done
            letter = LETTERS[len(ends) % len(LETTERS)] * (1 + len(ends) // len(LETTERS))
            end = ends.setdefault((do, who), _End(letter, do, who, frozenset()))
            again = end.again | {leaf.again for leaf in ends_here if leaf.again is not None}
            ends[do, who] = end._replace(again=again)
            return end.letter
        assert isinstance(node, Question)
        number = len(asked) + 1
        asked.append(_Asked(number, node.line, "", ""))
        yes, no = name(node.yes), name(node.no)
        asked[number - 1] = _Asked(number, node.line, yes, no)
        return str(number)

    name(root)
    return asked, list(ends.values())


def _questions(face: Typeface, inner: float, solved: Solved, part: Solved, asked: Sequence[_Asked]) -> Block:
    """Set the questions; each is a line of the function test, with its number. One handset alone is not named."""
    lines = judged(solved).matrix.lines
    handsets = [unit.title for unit in part.rig.units.values() if unit.role == "handset"]
    named = f"{handsets[0]}: " if len(handsets) == 1 else ""
    rows = [
        [
            Cell(str(found.number), BODY, True),
            Cell(
                say(
                    "{do}: {see}?",
                    do=to_do(solved, lines[found.line]).removeprefix(named),
                    see=to_see(solved, lines[found.line]),
                ),
                BODY,
            ),
            Cell(str(found.line + 1), BODY, align="right"),
            Cell(_leads_to(found.yes), BODY, True, align="right"),
            Cell(_leads_to(found.no), BODY, True, align="right"),
        ]
        for found in asked
    ]
    head = ("", say("DO AND LOOK"), say("TEST"), say("YES"), say("NO"))
    aligns = ("left", "left", "right", "right", "right")
    title = heading(face, say("Then answer, from 1, until a letter comes"), inner)
    return joined(title, table(face, head, rows, (8.0, inner - 47.0, 13.0, 13.0, 13.0), aligns=aligns))


def _leads_to(name: str) -> str:
    return f"→ {name}" if name.isdigit() else name


def _answers(face: Typeface, inner: float, ends: Sequence[_End]) -> Block:
    """Set what to do at each end: the actions, who may do them if that differs, the lines to do again."""
    who = {end.who for end in ends}
    alone = len(who) == 1
    rows = [
        [
            Cell(end.letter, BODY, True),
            Cell(end.do, BODY),
            *([] if alone else [Cell(end.who, SMALL)]),
            Cell(ranges(sorted(line + 1 for line in end.again)) or say("all"), BODY, True, align="right"),
        ]
        for end in ends
    ]
    if alone:
        head: tuple[str, ...] = ("", say("DO, IN THIS ORDER"), say("TEST AGAIN"))
        widths: tuple[float, ...] = (8.0, inner - 28.0, 20.0)
        title = say("Letters: only the {role} does this", role=who.pop())
    else:
        head = ("", say("DO, IN THIS ORDER"), say("WHO"), say("TEST AGAIN"))
        widths, title = (8.0, inner - 50.0, 22.0, 20.0), say("Letters")
    aligns = ("left",) * (len(head) - 1) + ("right",)
    return joined(heading(face, title, inner), table(face, head, rows, widths, aligns=aligns))


def actions(solved: Solved, leaf: Leaf) -> list[str]:
    """Return the actions at an end of the questions, each once, the likeliest first.

    Where one receiver may be bound crosswise with any of several, that is one action. To bind two again that may be
    crossed is also the cure for one of them alone.
    """
    crossed = [row.fault for row in leaf.rows if row.fault.kind == "bind" and row.fault.names[1]]
    every = [frozenset(fault.names) for fault in crossed]
    common = every[0].intersection(*every) if len(every) > 1 else frozenset()

    def cure(fault: Fault) -> str:
        receiver = fault.names[0]
        if common and (fault in crossed or (fault.kind == "bind" and receiver in common)):
            return _swapped(solved, min(common))
        if fault.kind == "bind" and not fault.names[1]:
            fault = next((pair for pair in crossed if receiver in pair.names), fault)
        return remedy(solved, fault)

    return list(dict.fromkeys(cure(row.fault) for row in leaf.rows))


def _swapped(solved: Solved, receiver: str) -> str:
    """Return what to do if a receiver and any other one have changed their handsets."""
    return say(
        "Bind {unit} again, and the receiver that obeys its handset, each as on its card.",
        unit=solved.rig.units[receiver].title,
    )


def _who(solved: Solved, leaf: Leaf) -> str:
    """Return who may do what an end asks for; operators put right only what they did."""
    people = set()
    for row in leaf.rows:
        crew = solved.rig.units[row.fault.names[0]].held_by if row.fault.person == "operator" else None
        people.add(solved.rig.crew[crew] if crew else say("technician"))
    return listed(sorted(people))


def _dials(solved: Solved) -> list[tuple[str, str]]:
    """Warn that an axis scaled by a dial looks dead at the dial's slow end."""
    return [
        (
            say(
                "{axis}? {control} toward {position}.",
                axis=slow.axis,
                control=control_title(solved.rig, slow.handset, slow.control),
                position=slow.fast,
            ),
            slow.least,
        )
        for slow in slow_axes(solved)
    ]


def _at_both_ends(solved: Solved, link: RadioLink) -> str:
    """Return where to look if what another radio link carries is missing."""
    sender, *receivers = (solved.rig.units[name].title for name in (link.sender, *link.receivers))
    first = say("{unit}: on, {channel}", unit=sender, channel=on_air(link))
    return "; ".join([first, *(say("{unit}: on, same channel", unit=title) for title in receivers)])


def who_is_dead(solved: Solved, functions: tuple[Function, ...]) -> str:
    """Name functions briefly: everything, all of a handset, all of a device, and the rest by name."""
    rig, feeds = solved.rig, solved.links.feeds
    dead = set(functions)
    if len(dead) == 1:
        return say("only {function}", function=_named(solved, functions[0]))
    if dead == {(feed.unit, feed.input.name) for feed in feeds}:
        return say("everything")
    for handset in dict.fromkeys(feed.handset for feed in feeds):
        if dead == {(feed.unit, feed.input.name) for feed in feeds if feed.handset == handset}:
            return say("everything of {unit}", unit=the(rig.units[handset].title))
    words = []
    for unit in dict.fromkeys(unit for unit, _ in functions):
        mine = dict.fromkeys((feed.unit, feed.input.name) for feed in feeds if feed.unit == unit)
        if len(mine) > 1 and dead.issuperset(mine):
            words.append(say("all of {unit}", unit=the(rig.units[unit].title)))
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
            looks.append((solved.rig.units[part.name[0]].title, say("settings as on its card")))
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
        if fused:
            return "", say("{lead} at both ends, the fuse of {lead}", lead=first)
        return "", say("{lead} at both ends", lead=first)
    unit = rig.units[first]
    if part.kind == "control":
        return handset_title(rig, first), unit.model.controls[more[0]].title
    if part.kind == "channel":
        return handset_title(rig, first), say("channel {number}", number=unit.channels[more[0]].number)
    if part.kind == "setting":
        return unit.title, f"{unit.model.settings[more[0]].menu}: {unit.settings[more[0]].text}"
    if part.kind == "feed":
        return "", say("{leads}, which feed {unit}", leads=listed(more), unit=unit.title)
    return unit.title, say("pin {pin}", pin=more[0]) if part.kind == "pin" else _look_at(unit)


def _look_at(unit: Unit) -> str:
    """Return what shows that a unit works: what the file says that it shows, or its power."""
    if unit.role == "handset":
        return say("power, memory") if unit.memory else say("power")
    if unit.role == "pack":
        return say("charge")
    return ", ".join(look.text for look in unit.model.looks if look.when in (ON, LINKED)) or say("power")
