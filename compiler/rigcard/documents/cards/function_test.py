"""The function test: harmless steps first, each with what a person sees; rings and flags mark the short tests."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.documents.base.language import listed, say
from rigcard.documents.base.layout import (
    BODY,
    LABEL,
    TICK,
    Block,
    Box,
    Cell,
    joined,
    line_height,
    paragraph,
    row,
    table,
    text_at,
    wrap,
)
from rigcard.documents.base.model import Circle, Mark, Shape, Text, Typeface
from rigcard.documents.base.model import Line as Rule
from rigcard.documents.base.phrases import (
    control_title,
    effect_and_turn,
    handset_title,
    in_degrees,
    place,
    the,
    turns_picture,
    way,
)
from rigcard.documents.cards import cautions
from rigcard.documents.cards.frame import caution_block
from rigcard.documents.cards.sticks import spoken
from rigcard.faults.cover import Cover
from rigcard.faults.figures import seconds_of
from rigcard.faults.judged import judged
from rigcard.faults.lines import MOVES, Line
from rigcard.faults.looks import looks_when
from rigcard.faults.matrix import Matrix, by_station
from rigcard.resolve.radio import on_air
from rigcard.solve.loss import RUN, STANDBY, is_record, is_toggle
from rigcard.solve.solved import Reading, Solved
from rigcard.solve.stations import parts_of_rig
from rigcard.solve.turning import turn_read

CLOSE = 0.35  # mm above and below a row, which keeps the tick boxes of two rows apart
NUMBERS = 13.6  # mm, the column of numbers with their rings and flags
TICKS = 8.6  # mm, the column of boxes to tick
RING = 3.2  # mm, the radius of a ring round two figures of a body size
RING_LINE = 0.45  # thick enough for a copy of a copy
FLAG = 3.2  # mm, the height of a flag


class Test(NamedTuple):
    """What one person does, where another looks, and what shows a pass or a fault.

    `moves`: an axis or a mode that can harm. `swap`, `morning`: it belongs to that short test. `stays`: the control
    that this line leaves where it frees other inputs; also set on the line that moves it back. `hand`: the handset
    that is named before the control, if the rig has several.
    """

    do: str
    at: str
    see: str
    moves: bool
    swap: bool
    morning: bool
    stays: str
    hand: str = ""


def function_test(face: Typeface, inner: float, solved: Solved, station: int = 0) -> list[Block]:
    """Make all lines for the first test of a station of a rig; a ring marks those after a swap of packs, a flag the
    morning's. The lines of a rig are numbered through."""
    found = judged(solved)
    own = by_station(found.matrix).lines[station]
    before = own[0] if own else 0
    tests = _by_hand(lines_of_test(solved, station))
    rows = [
        _row(before + number, test, last)
        for number, (last, test) in enumerate(zip([None, *tests], tests, strict=False), 1)
    ]
    harmless = next((at for at, test in enumerate(tests) if test.moves), len(tests))
    still, moving = _cautions(parts_of_rig(solved)[station], bool(rows[harmless:]))
    rest = inner - NUMBERS - TICKS
    widths = (NUMBERS, rest * 0.485, rest * 0.515, TICKS)
    head = ("", say("O: DO"), say("H: SEE"), say("SEEN"))
    labels = (say("tested at (time)"), say("O, initials"), say("H, initials"))
    blank = [Cell(label=label, kind="blank") for label in labels]
    parts = [
        _marked(face, table(face, head, of, widths, pad=CLOSE), tests, range(first, end), before, head, widths)
        for first, end, of in ((0, harmless, rows[:harmless]), (harmless, len(tests), rows[harmless:]))
    ]
    set_up = joined(parts[0], caution_block(face, moving, inner), parts[1])
    return [
        paragraph(face, _how(solved, found.matrix, own, tests), inner),
        _legend(face, inner, found.shorts[station].swap, found.shorts[station].morning),
        caution_block(face, still, inner),
        _with_last(set_up, row(face, blank, (inner / 3,) * 3, ruled=False)),
    ]


def _by_hand(tests: Sequence[Test]) -> list[Test]:
    """Name the handset above the control, not with it; not at all if all lines are of one. No device is named twice."""
    many = len({test.hand for test in tests if test.hand}) > 1
    whole = (say("Play the test take"), say("Controls as on POWER UP"))  # they are about the whole rig
    return [
        test._replace(
            do=test.do.removeprefix(f"{test.hand}: "),
            hand=test.hand if many else "",
            at="" if test.do in whole or (test.at and the(test.at) in test.do) else test.at,
        )
        for test in tests
    ]


def _how(solved: Solved, matrix: Matrix, own: Sequence[int], tests: Sequence[Test]) -> str:
    """Return how to do the test: who does what, how long it takes, what goes back and what stays."""
    minutes = max(1, -(-seconds_of(matrix, frozenset(own)) // 60))
    when = say("All lines: when the rig is built, about {minutes} min.", minutes=minutes)
    if not any(matrix.lines[at].row for at in own):  # nothing of it moves
        return when
    return " ".join(
        [
            when,
            say("O works the handset, H calls what H sees. Anything else that moves is a fault."),
            say("Put each control back after its lines."),
            *_slowly(matrix, own),
            *_staying(solved, matrix, tests, own),
        ]
    )


def _slowly(matrix: Matrix, own: Sequence[int]) -> list[str]:
    """Return from which line on a control is moved a little first: from the first axis that can harm."""
    for at in own:
        line = matrix.lines[at]
        if line.stage == MOVES and line.reading and line.reading.feed.input.sweep:
            return [say("From line {number} on, move each control a little first.", number=at + 1)]
    return []


def _staying(solved: Solved, matrix: Matrix, tests: Sequence[Test], own: Sequence[int]) -> list[str]:
    """Return which controls stay where a line puts them, and until when."""
    held: dict[str, list[int]] = {}
    for at, test in zip(own, tests, strict=True):
        line = matrix.lines[at]
        if test.stays and line.row:
            control = spoken(solved.rig, line.handset, line.row.control, alone=not test.hand)
            held.setdefault(control, []).append(at + 1)
    return [
        say(
            "From line {first} to {last}, leave {control} where it is.",
            control=control,
            first=of[0],
            last=of[-1],
        )
        for control, of in held.items()
    ]


def _cautions(solved: Solved, moves: bool) -> tuple[list[str], list[str]]:
    """Return the lines that stand above the first line, and those above the first one that moves what can harm."""
    present = cautions.present("function-test", solved.rig)
    later = [hazard for hazard in present if moves and hazard == "moving-parts"]
    return (
        [cautions.LINES[hazard].text for hazard in present if hazard not in later],
        [cautions.LINES[hazard].text for hazard in later],
    )


def _row(number: int, test: Test, last: Test | None) -> list[Cell]:
    """Set a line; handset and device stand above it where they are others than those of the `last` one."""
    return [
        Cell(str(number), BODY, test.swap or test.morning, align="centre"),
        Cell(test.do, BODY, label="" if last and last.hand == test.hand else test.hand),
        Cell(test.see, BODY, True, label="" if last and last.at == test.at else test.at),
        TICK,
    ]


def _overleaf(
    face: Typeface, head: Sequence[str], widths: Sequence[float], last: Test, test: Test
) -> tuple[float, tuple[Mark, ...]]:
    """Return the head of a side that begins with a line: it names what stands above an earlier one."""
    still = ("", last.hand == test.hand and test.hand, last.at == test.at and test.at, "")
    cells = [Cell(f"{text}, {name}" if name else text, LABEL) for text, name in zip(head, still, strict=True)]
    box, *_ = row(face, cells, widths, keep=True, pad=0.4)
    return box.height, box.marks


def _marked(
    face: Typeface,
    rows: Block,
    tests: Sequence[Test],
    of: range,
    before: int,
    head: Sequence[str],
    widths: Sequence[float],
) -> Block:
    """Draw a ring or a flag at the number of each line of a short test: it must survive a photocopy.

    `of`: which lines of the test the rows are. `before`: how many lines of the rig stand above the test.
    """
    boxes = []
    number = of.start
    for box in rows.boxes:
        first = next((mark for mark in box.marks if isinstance(mark, Text)), None)
        if number in of and first and first.text == str(before + number + 1) and first.x < NUMBERS:
            line = tests[number]
            x, y = first.x + first.width / 2, first.y - 1.5
            extra = [*([_ring(x, y)] if line.swap else []), *(_flag(x, y) if line.morning else [])]
            box = box._replace(marks=(*box.marks, *extra))
            if box.repeat_header:
                box = box._replace(repeat_header=_overleaf(face, head, widths, tests[number - 1], line))
            number += 1
            box = box._replace(marks=tuple(_left_of_ticks(mark, sum(widths) - TICKS) for mark in box.marks))
        boxes.append(box)
    return rows._replace(boxes=tuple(boxes))


def _left_of_ticks(mark: Mark, end: float) -> Mark:
    """End the rule below a row before the boxes to tick: between two of them it would be one thick line in a copy."""
    if not isinstance(mark, Rule):
        return mark
    return mark._replace(points=tuple((min(x, end), y) for x, y in mark.points))


def _ring(x: float, y: float) -> Mark:
    return Circle(x, y, RING, RING_LINE)


def _flag(x: float, y: float) -> list[Mark]:
    """Return a pennant on its staff, to the left of a number."""
    left, top = x - RING - 3.4, y - FLAG / 2
    return [
        Shape(((left, top), (left + 2.2, top + 0.9), (left, top + 1.8)), 0.2, True),
        Shape(((left - 0.25, top), (left, top), (left, top + FLAG), (left - 0.25, top + FLAG)), 0.1, True),
    ]


def _legend(face: Typeface, inner: float, swap: Cover, morning: Cover) -> Block:
    """Say what ring and flag mean, each with its time; the number of a line stands for any."""
    told = (
        (True, _short(say("after a swap of packs"), swap)),
        (False, _short(say("in the morning"), morning)),
    )
    widths = [face.width(text, BODY, True) for _, text in told]
    beside = sum(widths) + 2 * NUMBERS <= inner
    marks: list[Mark] = []
    left, top, lowest = 0.0, 0.6, 0.6
    for (ring, text), width in zip(told, widths, strict=True):
        x, y = left + NUMBERS / 2, top + line_height(BODY) / 2
        marks += [_ring(x, y)] if ring else _flag(x + (RING + 2.4 if beside else 0.0), y)
        lines = wrap(face, text, BODY, inner - NUMBERS, True)
        marks += [
            text_at(face, left + NUMBERS, top + at * line_height(BODY), line, BODY, bold=True)
            for at, line in enumerate(lines)
        ]
        lowest = top + len(lines) * line_height(BODY) + 2.0
        left, top = (NUMBERS + width, top) if beside else (0.0, lowest)
    return Block((Box(lowest, tuple(marks), True),))


def _short(when: str, cover: Cover) -> str:
    """Return when a short test is done, and its time; if a shorter one may exist, how long that takes at least."""
    if cover.proven:
        return say("{when}: {seconds} s", when=when, seconds=cover.seconds)
    return say(
        "{when}: {seconds} s; at least {bound} s are needed",
        when=when,
        seconds=cover.seconds,
        bound=cover.bound,
    )


def _with_last(tests: Block, signed: list[Box]) -> Block:
    """Keep the signature with the last line of a test, so that it never stands alone on a card."""
    *before, last = tests.boxes
    return Block((*before, last._replace(keep_with_next=True), *signed))


# ---- words of a line ------------------------------------------------------------------------------------------


def lines_of_test(solved: Solved, station: int | None = None) -> list[Test]:
    """Return every line in words, in the order of the test; only those of a station if one is given."""
    found = judged(solved)
    stations = range(len(found.shorts)) if station is None else (station,)
    return [
        _test(solved, found.matrix.lines[at], at in short.swap.chosen, at in short.morning.chosen)
        for each in stations
        for short in (found.shorts[each],)
        for at in by_station(found.matrix).lines[each]
    ]


def _test(solved: Solved, line: Line, swap: bool, morning: bool) -> Test:
    stays = ""
    if line.row and line.reading:
        stays = control_title(solved.rig, line.handset, line.row.control) if line.stays else ""
    at = listed([solved.rig.units[name].title for name in line.devices]) if line.devices else ""
    hand = handset_title(solved.rig, line.handset) if line.row or line.kind == "loss" else ""
    return Test(to_do(solved, line), at, to_see(solved, line), line.stage == MOVES, swap, morning, stays, hand)


def to_do(solved: Solved, line: Line) -> str:
    """Return what the person with the handset does."""
    match line.kind:
        case "screen":
            return say("Read the memory")
        case "look":
            return say("Look at {unit}", unit=the(solved.rig.units[line.devices[0]].title))
        case "picture":
            return say("Look at the picture")
        case "link":
            assert line.link
            return say("Look at {link}, {channel}", link=line.link.title, channel=on_air(line.link))
        case "start":
            return say("All is on. Touch nothing")
        case "loss":
            whose = handset_title(solved.rig, line.handset)
            do = say("Radio-loss test of the brief")
            return f"{whose}: {do}" if whose else do
        case "take":
            return say("Play the test take")
        case "close":
            return say("Controls as on POWER UP")
    return _move(solved, line)


def _move(solved: Solved, line: Line) -> str:
    """Return a control with its position, and where others stand meanwhile; slowly first where much moves."""
    assert line.row and line.reading
    rig, row = solved.rig, line.row
    control = control_title(rig, line.handset, row.control)
    position = place(row.position)
    if row.conditions:
        titles = rig.units[line.handset].model.controls
        others = listed(
            [
                say("{control} {position}", control=titles[name].title, position=place(stands))
                for name, stands in row.conditions
            ]
        )
        return say("{control} {position} with {others}", control=control, position=position, others=others)
    if line.press:
        if line.press == 1:
            return say("{control} {position}, once", control=control, position=position)
        return say("{control} {position}, once more", control=control, position=position)
    return say("{control} {position}", control=control, position=position)


def to_see(solved: Solved, line: Line) -> str:
    """Return what the person beside the rig sees if all is well."""
    match line.kind:
        case "screen":
            memory = solved.rig.units[line.handset].memory
            assert memory
            return say("{number} “{name}”", number=memory[0], name=memory[1])
        case "look":
            assert line.look
            return line.look.text
        case "picture" | "link":
            return say("there, and steady")
        case "start":
            feeds = parts_of_rig(solved)[line.station].links.feeds
            recorders = any(is_record(feed.input.states) for feed in feeds)
            return say("no motion, no take") if recorders else say("nothing moves")
        case "loss":
            return say("all steps ticked")
        case "take":
            return say("plays back to the end")
        case "close":
            return say("checked by both")
    return _seen(solved, line)


def _seen(solved: Solved, line: Line) -> str:
    reading = line.reading
    assert reading and line.row
    looks = looks_when((solved.rig.units[name] for name in line.devices), reading.effects, reading.state)
    if line.press:
        return _with_looks(_toggled(reading, line.press), looks if line.press == 1 else ())
    if is_record(reading.feed.input.states) and reading.state in (RUN, STANDBY):
        return _with_looks(say("the take starts") if reading.state == RUN else say("the take stops"), looks)
    texts = [picture_turn(solved, line) or effect_and_turn(solved, reading)]
    texts += [effect_and_turn(solved, other) for other in line.also]
    return _with_looks(listed(texts), looks)


def _with_looks(text: str, looks: Sequence[str]) -> str:
    return ", ".join([text, *looks])


def picture_turn(solved: Solved, line: Line) -> str:
    """Return what the picture does while an axis turns that carries a camera; "" for anything else."""
    reading = line.reading
    assert reading and line.row
    known, sweep = reading.feed.input, reading.feed.input.sweep
    if sweep is None or not turns_picture(solved, reading.feed):
        return ""
    state = way(reading.state).upper()
    control = solved.rig.units[line.handset].model.controls[line.row.control]
    turn = in_degrees(sweep, turn_read(reading))
    if turn and control.springs:
        return say("{axis}: picture turns {way}, {turn}, then stops", axis=known.title, way=state, turn=turn)
    if control.springs:
        return say("{axis}: picture turns {way}, then stops", axis=known.title, way=state)
    return say("{axis}: picture turns {way}", axis=known.title, way=state)


def _toggled(reading: Reading, press: int) -> str:
    """Describe a press that changes a state from what is seen before it to what is seen after it."""
    done = next(done for done in reading.effects if done.toggles)
    if is_toggle(reading):
        return say("the take starts") if press == 1 else say("the take stops")
    if press == 1:
        return say("changes between {states}", states=listed(list(done.toggles)))
    return say("is as before")
