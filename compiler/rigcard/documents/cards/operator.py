"""A card for each person who holds a handset: what each control does on the front, what to do when on the back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.documents.base.language import listed, say
from rigcard.documents.base.layout import (
    BODY,
    LARGE,
    SMALL,
    Block,
    Box,
    Cell,
    heading,
    joined,
    line_height,
    paragraph,
    row,
    table,
    text_at,
)
from rigcard.documents.base.model import Mark, Rectangle, Typeface
from rigcard.documents.base.phrases import has_trims, place, slow_axes, stand
from rigcard.documents.cards import cautions, radio_loss
from rigcard.documents.cards.at_once import at_once
from rigcard.documents.cards.frame import Group, room
from rigcard.documents.cards.handset_drawing import LETTERS, endless, face_drawing
from rigcard.documents.cards.moves import does, functions_of, used_controls
from rigcard.documents.cards.own_test import own_test
from rigcard.documents.cards.sticks import Handle, handles, titles_of
from rigcard.resolve.model import Control, Position, Unit
from rigcard.solve.loss import is_record, toggles_take
from rigcard.solve.solved import JointRow, Solved

SIZES = (BODY, SMALL)  # of the table, in points: the largest at which its rows stand beside the drawing


class Hand(NamedTuple):
    """What an operator works: the handset, its controls in use in the order of their letters, and the drawing."""

    unit: Unit
    handles: list[Handle]
    letters: dict[str, str]  # by control
    drawing: Box | None
    standing: dict[str, Position]


def operator_card(face: Typeface, inner: float, solved: Solved, unit: Unit) -> Group:
    """Make the card of a handset's operator, without channel numbers, pulses or menus."""
    hand = _hand(face, inner, solved, unit)
    empty = Group(*_name(solved, unit), (), (), unit.held_by or "")
    fronts = [_front(face, inner, solved, hand, size) for size in SIZES]
    side = room(face, solved.rig, empty)
    size, front = next(
        (one for one in zip(SIZES, fronts, strict=True) if _height(one[1]) <= side), (SIZES[-1], fronts[-1])
    )
    return empty._replace(blocks=(*front, *_back(face, inner, solved, hand, size)))


def _name(solved: Solved, unit: Unit) -> tuple[str, str]:
    """Return mark and title: the person, and the handset too if the person holds several."""
    person = solved.rig.crew.get(unit.held_by or "")
    if person is None:
        return unit.title.upper(), unit.title
    held = [one for one in solved.rig.units.values() if one.role == "handset" and one.held_by == unit.held_by]
    if len(held) == 1:
        return person.upper(), person
    return f"{person} {unit.label}".upper(), f"{person} {unit.title}"


def _height(blocks: Sequence[Block]) -> float:
    boxes = [box for block in blocks for box in block.boxes]
    return sum(box.height for box in boxes) - boxes[-1].trailing_space


def _hand(face: Typeface, inner: float, solved: Solved, unit: Unit) -> Hand:
    standing = {name: solved.power_up_positions[unit.name, name] for name in unit.model.controls}
    controls = used_controls(solved, unit)
    used = [control.name for control in controls]
    letters = _free_letters(solved, unit, controls)
    drawing = face_drawing(face, unit, standing, used, inner, letters)
    hands = handles(unit.model, used)
    if drawing is None:
        of = {name: letter for letter, one in zip(letters, hands, strict=False) for name in one.names}
        return Hand(unit, hands, of, None, standing)
    hands.sort(key=lambda one: letters.index(drawing.letters[one.names[0]]))
    return Hand(unit, hands, drawing.letters, drawing.box, standing)


def _free_letters(solved: Solved, unit: Unit, controls: Sequence[Control]) -> list[str]:
    """Return letters that no title on the card has: beside `Switch B` a ring with a B would be read as that switch."""
    titles = [control.title for control in controls] + functions_of(solved, unit)
    taken = {word.strip(",.:") for title in titles for word in title.split()}
    return endless([letter for letter in LETTERS if letter not in taken])


# ---- front ---------------------------------------------------------------------------------------------------


def stop_line(face: Typeface, inner: float) -> Block:
    """Set what everybody does and says when anything goes wrong."""
    before, words = say("Wrong? Hands off. Say:"), say("STOP STOP STOP")
    beside = face.width(before, BODY, True) + 4.0
    one_row = beside + face.width(words, LARGE, True) <= inner - 5.0
    under = 0.0 if one_row else line_height(BODY)
    height = line_height(LARGE) + under + 1.4
    top = 1.0 + (0.0 if under else (line_height(LARGE) - line_height(BODY)) / 2)
    marks: list[Mark] = [
        Rectangle(0.4, 0.4, inner - 0.8, height, 0.6),
        text_at(face, 2.5, top, before, BODY, bold=True),
        text_at(face, 2.5 + (beside if one_row else 0.0), 1.0 + under, words, LARGE, bold=True),
    ]
    return Block((Box(height + 1.8, tuple(marks), True),))


def _front(face: Typeface, inner: float, solved: Solved, hand: Hand, size: float) -> list[Block]:
    """Set the drawing and every row of its table; if that is too much for a side, the first rows stay with it."""
    blocks: list[Block] = [stop_line(face, inner)]
    if hand.drawing:
        legend = paragraph(face, _legend(hand), inner, size=SMALL, gap=0.8, keep=True)
        blocks += [Block((hand.drawing,)), legend]
    rows = [_row(solved, hand, one, size) for one in hand.handles]
    widths = (7.0, inner * 0.23, inner * 0.61 - 7.0, inner * 0.16)
    head = ("", say("CONTROL"), say("WHAT IT DOES"), say("START AT"))
    return [*blocks, table(face, head, rows, widths, pad=0.6)]


def _legend(hand: Hand) -> str:
    """Explain the drawing, and name the control in the table that it does not show."""
    placed = [control.name for control in hand.unit.model.controls.values() if control.at]
    missing = [name for name in hand.letters if name not in placed]
    parts = [
        say("{handset}, drawn in the power-up position.", handset=hand.unit.title),
        "" if hand.letters.keys() >= set(placed) else say("Thin lines: not used."),
        say("Crossed: LEAVE.") if set(hand.unit.leave) & set(placed) else "",
        say("Not drawn: {letters}.", letters=listed([hand.letters[name] for name in missing]))
        if missing
        else "",
    ]
    return " ".join(part for part in parts if part)


def _row(solved: Solved, hand: Hand, one: Handle, size: float) -> list[Cell]:
    lines = [line for control in one.controls for line in does(solved, hand.unit, control)]
    starts = dict.fromkeys(_starts(hand, control) for control in one.controls)
    return [
        Cell(hand.letters[one.names[0]], size, True),
        Cell(one.title, size),
        Cell("\n".join(lines), size),
        Cell("\n".join(starts), size),
    ]


def _starts(hand: Hand, control: Control) -> str:
    """Return where a control is at the start: it springs there, or where to set it."""
    position = hand.standing[control.name]
    if control.name in hand.unit.leave:
        return say("LEAVE {position}", position=place(position))
    return place(position) if control.springs else stand(control, position)


# ---- back ----------------------------------------------------------------------------------------------------


def _back(face: Typeface, inner: float, solved: Solved, hand: Hand, size: float) -> list[Block]:
    unit = hand.unit
    blocks: list[Block] = []
    for (handset, _), joint in solved.joint.items():
        if handset == unit.name and (found := at_once(face, inner, solved, unit, joint, size)):
            blocks.append(found)
    blocks.append(joined(heading(face, say("Rules"), inner), _whole(face, inner, _rules(solved, unit))))
    mine = [loss for loss in solved.losses if loss.feed.handset == unit.name]
    if mine:
        blocks.append(
            joined(
                heading(face, say("If the radio is lost"), inner),
                paragraph(face, radio_loss.in_one_breath(solved, mine), inner, gap=0.6, keep=True, whole=True),
                radio_loss.return_line(face, inner, solved, mine),
            )
        )
    blocks.append(
        joined(
            heading(face, say("If it does not obey"), inner),
            _whole(face, inner, _faults(solved, hand)),
        )
    )
    blocks.append(own_test(face, inner, solved, unit, hand.letters, cautions.on("operator", solved.rig), size))
    blocks.append(_call(face, inner, solved, unit))
    return blocks


def _whole(face: Typeface, inner: float, lines: Sequence[str]) -> Block:
    """Set sentences that stay together."""
    *before, last = lines
    return joined(
        *(paragraph(face, line, inner, gap=0.6, keep=True) for line in before),
        paragraph(face, last, inner, whole=True),
    )


def _rules(solved: Solved, unit: Unit) -> list[str]:
    rules = []
    for (handset, channel), rows in solved.joint.items():
        if handset == unit.name and (names := _rivals(solved, unit, channel, rows)):
            titles = [unit.model.controls[name].title for name in names]
            rules.append(
                say(
                    "One at a time: {controls}. Put one back before you touch another.", controls=listed(titles)
                )
            )
    if _records(solved, unit):
        rules.append(say("The control asks; the tally answers. Look for the tally."))
    if _toggles(solved, unit):
        rules.append(
            say(
                "Each press starts or stops the take: only the tally tells which. Look for it before and after."
            )
        )
    if unit.leave:
        titles = titles_of(solved.rig, unit.name, unit.leave)
        rules.append(say("LEAVE, whatever happens: {controls}.", controls=listed(titles)))
    if has_trims(unit):
        rules.append(say("Leave the trims at zero."))
    rules.append(say("Wrong thing or wrong way? Hands off, call. Do not fix it here."))
    return rules


def _rivals(solved: Solved, unit: Unit, channel: str, rows: Sequence[JointRow]) -> list[str]:
    """Return the controls of a channel that override each other.

    Together they do not give what each of them gives alone. None of these is a rival: controls that a sweep
    adds up, a switch that a mix depends on, which is meant to be moved with others, and controls that only
    together reach a state.
    """
    own = solved.results[unit.name, channel]
    sources = dict.fromkeys([own.control.name, *(unit.channels[mix.source].control for mix in own.mixes)])
    home = solved.power_up_positions

    def moved(line: JointRow) -> list[tuple[str, str]]:
        at = [(name, place.name) for name, place in line.places if name in sources]
        return [(name, place) for name, place in at if place != home[unit.name, name].name]

    def switched(line: JointRow) -> tuple[tuple[str, str], ...]:
        return tuple((name, place.name) for name, place in line.places if name not in sources)

    given = {
        id(line): [reading.state for reading in line.readings if not reading.feed.input.sweep] for line in rows
    }
    alone = {(switched(line), *moved(line)): given[id(line)] for line in rows if len(moved(line)) == 1}
    at_home = {switched(line): given[id(line)] for line in rows if not moved(line)}
    rivals = {
        name
        for line in rows
        if len(moved(line)) > 1
        and (given[id(line)] in alone.values() or "" in given[id(line)])
        and any(
            alone[switched(line), one] not in (given[id(line)], at_home[switched(line)]) for one in moved(line)
        )
        for name, _ in moved(line)
    }
    return [name for name in sources if name in rivals]


def _faults(solved: Solved, hand: Hand) -> list[str]:
    """Return the likeliest faults as the operator sees them, and the remedies; common practice, no source."""
    unit, letters = hand.unit, hand.letters
    slow = [one for one in slow_axes(solved) if one.handset == unit.name and one.control in letters]
    faults = []
    if loose := [
        one for one in _left_standing(solved, hand) if one not in {letters[one.control] for one in slow}
    ]:
        faults.append(
            say("Head slow or dead, or picture askew: set {controls} as in the table.", controls=listed(loose))
        )
    if unit.memory:
        faults.append(
            say(
                "Nothing works: set all as in the table. Screen on, memory {number}? Call.",
                number=unit.memory[0],
            )
        )
    else:
        faults.append(say("Nothing works: set all as in the table. Screen on? Call."))
    faults += [
        say(
            "{axis}: {control} toward {fast}; {least}.",
            axis=one.axis,
            control=letters[one.control],
            fast=one.fast,
            least=one.least,
        )
        for one in slow
    ]
    if _records(solved, unit):
        faults.append(say("No tally after you start a take: you are not recording. Call."))
    if _toggles(solved, unit):
        faults.append(say("The tally does not change with a press: do not press again. Call."))
    return faults


def _left_standing(solved: Solved, hand: Hand) -> list[str]:
    """Return the letters of controls that act on a head and stay where they were left.

    Their setting does not show.
    """
    sets = {
        row.control
        for result in solved.results_of(hand.unit.name)
        for row in result.rows
        for reading in row.readings
        if reading.feed.input.sweep and solved.rig.units[reading.feed.unit].role == "head"
    }
    return [
        hand.letters[control.name]
        for one in hand.handles
        for control in one.controls
        if control.name in sets and not control.is_switch and not control.springs
    ]


def _call(face: Typeface, inner: float, solved: Solved, unit: Unit) -> Block:
    """Set blanks for the people to call: names and numbers are not printed."""
    held = {one.held_by for one in solved.rig.units.values() if one.role == "handset"}
    others = sorted((role for role in solved.rig.crew if role != unit.held_by), key=lambda role: role in held)
    titles = [say("technician"), *(solved.rig.crew[role] for role in others)][:2]
    cells = [Cell(f"{say('call {role}:', role=title)} ________", BODY) for title in titles]
    return Block(tuple(row(face, cells, [inner / len(cells)] * len(cells), ruled=False, pad=1.2)))


def _records(solved: Solved, unit: Unit) -> bool:
    return any(loss.feed.handset == unit.name and is_record(loss.feed.input.states) for loss in solved.losses)


def _toggles(solved: Solved, unit: Unit) -> bool:
    return any(toggles_take(solved, feed) for feed in solved.links.feeds_from(unit.name))
