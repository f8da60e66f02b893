"""A card for each person who holds a handset: what each control does, where it rests, what never to do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rigcard.documents.base.layout import (
    BODY,
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
    wrap,
)
from rigcard.documents.base.model import Mark, Rectangle, Typeface
from rigcard.documents.base.phrases import effect, effect_and_turn, has_trims, meanwhile, place, slow_axes
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import Group
from rigcard.documents.cards.handset_drawing import face_drawing, lettered
from rigcard.documents.cards.parts import together
from rigcard.documents.cards.radio_loss import STAYS, before_return, on_loss
from rigcard.resolve.links import Feed
from rigcard.resolve.model import Control, Mix, Position, Unit
from rigcard.solve.bearing import freed_by, scaled_turns
from rigcard.solve.loss import is_record, toggles_take
from rigcard.solve.solved import ChannelResult, JointRow, Reading, Row, Solved
from rigcard.solve.turning import shown_turn, turn_read
from rigcard.words import listed, listed_or, percent

WIDE = 110.0  # mm: from this width on, most controls need one line of the table
STOP = "Wrong? Hands off. Say STOP STOP STOP."


def operator_card(face: Typeface, inner: float, solved: Solved, unit: Unit) -> Group:
    """Make the card of a handset's operator, without channel numbers, pulses or menus."""
    title = solved.rig.crew.get(unit.held_by or "", unit.title)
    used = _used(solved, unit)
    letters = lettered([control.name for control in used])
    standing = {name: solved.power_up_positions[unit.name, name] for name in unit.model.controls}
    blocks: list[Block] = [_stop(face, inner)]
    pinned = cautions.on("operator", solved.rig)
    drawing = face_drawing(face, unit, standing, letters, inner)
    if drawing:
        blocks.append(Block((drawing,)))
        blocks.append(paragraph(face, _legend(unit, letters), inner, size=10.0))
    rows = [_row(solved, unit, control, letters[control.name]) for control in used if control.name in letters]
    head = ("", "CONTROL", "DOES", "START AT")
    sides = (23.0, 19.0) if inner < WIDE else (36.0, 19.0)
    blocks.append(table(face, head, rows, (7.0, sides[0], inner - 7.0 - sum(sides), sides[1])))
    for (handset, _), joint in solved.joint.items():
        if handset == unit.name and (at_once := _at_once(joint, standing)):
            blocks.append(together(face, inner, solved, unit, at_once, False))
    blocks.append(joined(heading(face, "Rules", inner), _whole(face, inner, _rules(solved, unit))))
    blocks.append(joined(heading(face, "If the radio is lost", inner), *_lost(face, inner, solved, unit)))
    blocks.append(
        joined(
            heading(face, "If it does not obey", inner),
            _whole(face, inner, _faults(solved, unit, used, letters)),
        )
    )
    blocks.append(_call(face, inner, solved, unit))
    return Group(title, unit.title, tuple(blocks), pinned, unit.held_by or "")


def _at_once(joint: Sequence[JointRow], standing: Mapping[str, Position]) -> tuple[JointRow, ...]:
    """Keep rows with two or more controls off rest: the table above shows what each control does alone."""
    return tuple(
        line
        for line in joint
        if sum(position.name != standing[control].name for control, position in line.places) > 1
    )


def _whole(face: Typeface, inner: float, lines: Sequence[str]) -> Block:
    """Set sentences that stay together."""
    *before, last = lines
    return joined(
        *(paragraph(face, line, inner, gap=0.6, keep=True) for line in before),
        paragraph(face, last, inner, whole=True),
    )


def _stop(face: Typeface, inner: float) -> Block:
    size = 13.0 if inner < WIDE else 16.0
    lines = wrap(face, STOP, size, inner - 5.0, bold=True)
    height = len(lines) * line_height(size) + 3.0
    marks: list[Mark] = [Rectangle(0.5, 0.5, inner - 1.0, height, 0.8)]
    marks += [
        text_at(face, 2.5, 2.0 + at * line_height(size), line, size, bold=True) for at, line in enumerate(lines)
    ]
    return Block((Box(height + 2.6, tuple(marks)),))


def _legend(unit: Unit, letters: Mapping[str, str]) -> str:
    """Explain the drawing, and name the control in the table that it does not show."""
    placed = [control.name for control in unit.model.controls.values() if control.at]
    missing = [name for name in letters if name not in placed]
    parts = [
        "Drawn in the power-up position.",
        "" if letters.keys() >= set(placed) else "Thin lines: not used.",
        "Crossed: LEAVE." if set(unit.leave) & set(placed) else "",
        f"Not drawn: {listed([letters[name] for name in missing])}." if missing else "",
    ]
    return " ".join(part for part in parts if part)


def _used(solved: Solved, unit: Unit) -> list[Control]:
    """Return controls that have an effect, or change the effect of others, in the order of the model."""
    names = {
        row.control
        for result in solved.results_of(unit.name)
        for row in result.rows
        if any(effect(solved, reading) for reading in row.readings)
    }
    names |= {
        control.name
        for result in solved.results_of(unit.name)
        for control in unit.model.controls.values()
        if _switches(solved, unit, result, control)
    }
    names |= {mix.while_control for mix in _mixes(solved, unit) if mix.while_control}
    return [control for control in unit.model.controls.values() if control.name in names]


def _mixes(solved: Solved, unit: Unit) -> list[Mix]:
    """Return the mixes of a handset that reach an input."""
    return [mix for mix in unit.mixes if solved.links.feeds_of(unit.name, mix.target)]


def _conditions(solved: Solved, unit: Unit, control: Control) -> list[str]:
    """Return what else acts at a switch's mix position: `TOWARD left slider acts on Pan too`."""
    return [
        f"{place(mix.while_position)} {unit.model.controls[unit.channels[mix.source].control].title} acts on {on} too"
        for mix in _mixes(solved, unit)
        if mix.while_control == control.name and mix.while_position
        if control.name != unit.channels[mix.target].control  # a rule reports this
        for on in [listed([feed.input.title for feed in solved.links.feeds_of(unit.name, mix.target)])]
    ]


def _row(solved: Solved, unit: Unit, control: Control, letter: str) -> list[Cell]:
    rest = solved.power_up_positions[unit.name, control.name]
    needed = (unit.name, control.name) in solved.needed
    rests = place(rest) if needed or control.springs else "anywhere"
    if control.name in unit.leave:
        rests = f"LEAVE {place(rest)}"
    return [
        Cell(letter, BODY, True),
        Cell(control.title, BODY),
        Cell("\n".join(_does(solved, unit, control)), BODY, True),
        Cell(rests, BODY),
    ]


def _does(solved: Solved, unit: Unit, control: Control) -> list[str]:
    """Return what a control does, one line per position; an axis that follows it has one for both ends."""
    lines: list[str] = []
    for result in solved.results_of(unit.name):
        mine = [line for line in result.rows if line.control == control.name]
        for conditions in dict.fromkeys(line.conditions for line in mine):
            lines += _lines(solved, unit, control, [line for line in mine if line.conditions == conditions])
        for feed in solved.links.feeds_of(unit.name, result.name) if result.control == control else ():
            lines += _scales(solved, feed)
        lines += _switches(solved, unit, result, control)
    return list(dict.fromkeys([*lines, *_conditions(solved, unit, control)]))


def _lines(solved: Solved, unit: Unit, control: Control, rows: Sequence[Row]) -> list[str]:
    """Return the lines of a control for rows that agree on the positions of other controls."""
    lines: list[str] = []
    also = meanwhile(solved.rig, unit.name, rows[0])
    for here in rows:
        shown = [effect_and_turn(solved, reading) for reading in here.readings if _heard(solved, reading)]
        if not any(shown):
            continue
        only = "".join(dict.fromkeys(_only(solved, reading.feed) for reading in here.readings))
        if not control.is_switch and len(rows) == 2 and _follows(rows):
            sweep = rows[0].readings[0].feed.input.sweep
            turn = shown_turn(sweep, turn_read(rows[0].readings[0])) if sweep else ""
            name = rows[0].readings[0].feed.input.title
            ends = " / ".join(place(end.position) for end in rows)
            lines.append(f"{name} {ends}{f', {turn}' if turn else ''}{also}{only}")
            break
        lines.append(
            f"{place(here.position)} {', '.join(dict.fromkeys(text for text in shown if text))}{also}{only}"
        )
    return lines


def _only(solved: Solved, feed: Feed) -> str:
    """Return the positions of a mode in which an input acts: `, only with the Mode switch FOLLOW or LIVE`."""
    found = []
    for mode, free in freed_by(solved, feed):
        control = solved.results[mode.handset, mode.channel].control
        found.append(
            f"the {control.title} {listed_or([place(position) for position in free])}" if free else "no mode"
        )
    return f", only with {listed(found)}" if found else ""


def _scales(solved: Solved, feed: Feed) -> list[str]:
    """Return how a dial scales an axis, at its ends and in its middle."""
    lines = []
    for axis, turns in scaled_turns(solved, feed):
        assert axis.input.sweep
        shown = [f"{place(position)} {shown_turn(axis.input.sweep, turn)}" for position, turn in turns]
        lines.append(f"{axis.input.title} at full stick: {', '.join(shown)}")
    return lines


def _switches(solved: Solved, unit: Unit, result: ChannelResult, control: Control) -> list[str]:
    """Return the rates and expos of a channel that a control switches."""
    titles = [feed.input.title for feed in solved.links.feeds_of(unit.name, result.name)]
    if not titles:
        return []
    whose, lines = listed(titles), []
    for one in unit.channels[result.name].shape.switched:
        if one.control == control.name:
            parts = [f"rate {percent(one.rate)}"] if one.rate is not None else []
            parts += [f"expo {percent(one.expo)}"] if one.expo is not None else []
            lines.append(f"{place(one.position)} {whose}: {', '.join(parts)}")
    return lines


def _follows(rows: Sequence[Row]) -> bool:
    """Whether one axis moves the way its control is pushed, and the names of its ends say so."""
    return all(
        len(row.readings) == 1 and not row.readings[0].effects and row.readings[0].state == row.position.name
        for row in rows
    )


def _heard(solved: Solved, reading: Reading) -> bool:
    """Whether anybody sees the effect of a reading: a rest state that sends no command shows nothing."""
    silent = reading.band is not None and reading.band.rest and not reading.effects
    return not (silent and solved.links.orders_of(reading.feed))


def _rules(solved: Solved, unit: Unit) -> list[str]:
    rules = []
    for (handset, channel), rows in solved.joint.items():
        if handset == unit.name and (names := _rivals(solved, unit, channel, rows)):
            titles = [unit.model.controls[name].title for name in names]
            rules.append(f"One at a time: {listed(titles)}. Put one back before you touch another.")
    if _records(solved, unit):
        rules.append("The control asks; the tally answers. Look for the tally.")
    if _toggles(solved, unit):
        rules.append(
            "Each press starts or stops the take: only the tally tells which. Look for it before and after."
        )
    if unit.leave:
        titles = [unit.model.controls[name].title for name in unit.leave]
        rules.append(f"LEAVE, whatever happens: {listed(titles)}.")
    if has_trims(unit):
        rules.append("Leave the trims at zero.")
    rules.append("Moves the wrong way? Do not fix it at the handset. Call the technician.")
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


def _faults(solved: Solved, unit: Unit, used: Sequence[Control], letters: Mapping[str, str]) -> list[str]:
    """Return the likeliest faults as the operator sees them, and the remedies; common practice, no source."""
    memory = f", memory {unit.memory[0]}" if unit.memory else ""
    faults = [
        f"Nothing works: controls as on the power-up card, screen on{memory}? Call.",
        "The wrong thing moves, or the wrong way: hands off. Call.",
    ]
    slow = [one for one in slow_axes(solved) if one.handset == unit.name and one.control in letters]
    scaling = [letters[one.control] for one in slow]
    if loose := [one for one in _left_standing(solved, unit, used, letters) if one not in scaling]:
        stand = "stands" if len(loose) == 1 else "stand"
        faults.insert(0, f"Head slow, dead or askew: look where {listed(loose)} {stand}.")
    faults += [f"{one.axis}: {letters[one.control]} toward {one.fast}; {one.least}." for one in slow]
    if _records(solved, unit):
        faults.append("No tally after RUN: count on no recording. Call.")
    if _toggles(solved, unit):
        faults.append("The tally does not change with a press: do not press again. Call.")
    return faults


def _left_standing(
    solved: Solved, unit: Unit, used: Sequence[Control], letters: Mapping[str, str]
) -> list[str]:
    """Return the letters of controls that act on a head and stay where they were left.

    Their setting does not show.
    """
    sets = {
        row.control
        for result in solved.results_of(unit.name)
        for row in result.rows
        for reading in row.readings
        if reading.feed.input.sweep and solved.rig.units[reading.feed.unit].role == "head"
    }
    return [
        letters[control.name]
        for control in used
        if control.name in sets and control.name in letters and not control.is_switch and not control.springs
    ]


def _call(face: Typeface, inner: float, solved: Solved, unit: Unit) -> Block:
    """Set blanks for the people to call: names and numbers are not printed."""
    others = [title for role, title in solved.rig.crew.items() if role != unit.held_by]
    cells = [Cell(kind="blank", label=f"call: {title}") for title in ("technician", *others)[:2]]
    return Block(tuple(row(face, cells, [inner / len(cells)] * len(cells), ruled=False)))


def _records(solved: Solved, unit: Unit) -> bool:
    return any(loss.feed.handset == unit.name and is_record(loss.feed.input.states) for loss in solved.losses)


def _toggles(solved: Solved, unit: Unit) -> bool:
    return any(toggles_take(solved, feed) for feed in solved.links.feeds_from(unit.name))


def _lost(face: Typeface, inner: float, solved: Solved, unit: Unit) -> list[Block]:
    """Set what moves first, then the rest, then what to do; what does not change takes one line."""
    mine = [loss for loss in solved.losses if loss.feed.handset == unit.name]
    mine.sort(key=lambda loss: (not loss.feed.input.critical, loss.feed.input.sweep is None))
    words = [(loss.feed.input.title, on_loss(solved, loss)) for loss in mine]
    lines = [f"{title}: {text}." for title, text in words if text != STAYS]
    still = [title for title, text in words if text == STAYS]
    if still:
        lines.append(f"{listed(still)}: {STAYS if len(still) == 1 else 'stay as they are'}.")
    return [
        *(paragraph(face, line, inner, gap=0.4, keep=True) for line in lines),
        paragraph(
            face,
            f"You: let go, say “RADIO LOST”. {before_return(solved, mine)}.",
            inner,
            bold=True,
            whole=True,
        ),
    ]
