"""The short test of one handset, which its operator does alone, by the letters of the drawing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rigcard.documents.base.language import listed, say, say_count
from rigcard.documents.base.layout import Block, Cell, heading, joined, paragraph, table
from rigcard.documents.base.model import Typeface
from rigcard.documents.base.phrases import effect, place, seen, turns_picture
from rigcard.documents.cards.frame import caution_block
from rigcard.documents.cards.moves import freeing, whose
from rigcard.faults.lines import A_CONTROL, A_LOOK, A_MOVE, Line, in_order
from rigcard.resolve.model import Unit
from rigcard.resolve.once import once_a_rig
from rigcard.solve.bearing import freed_by
from rigcard.solve.loss import RUN, STANDBY, is_record, is_toggle
from rigcard.solve.solved import Row, Solved

Test = tuple[str, str]  # what to do, what is then seen


def own_test(
    face: Typeface,
    inner: float,
    solved: Solved,
    unit: Unit,
    letters: Mapping[str, str],
    cautions: Sequence[str],
    size: float,
) -> Block:
    """Set the lines of the short function test that this handset has, down the left half, then down the right."""
    tests = lines_of(solved, unit, letters)
    half = -(-len(tests) // 2)
    cells = [[Cell(do, size), Cell(see, size, True)] for do, see in tests]
    cells += [[Cell(), Cell()]] * (2 * half - len(tests))
    rows = [[*left, *right] for left, right in zip(cells[:half], cells[half:], strict=True)]
    head = (say("DO"), say("SEE"), say("THEN DO"), say("SEE"))
    part = (inner * 0.19, inner * 0.31)
    short = _short(solved, unit)
    title = say("Your own test, about {seconds} s", seconds=_seconds(short))
    return joined(
        caution_block(face, cautions, inner),
        heading(face, title, inner),
        *(paragraph(face, text, inner, gap=0.6, keep=True) for text in _asked_of_others(solved, short)),
        table(face, head, rows, (*part, *part), pad=0.4),
    )


def _asked_of_others(solved: Solved, lines: Sequence[Line]) -> list[str]:
    """Return which modes at other handsets hold still what is tested here, and have to be put elsewhere before."""
    held: dict[str, None] = {}
    for line in lines:
        assert line.reading
        feed = line.reading.feed
        for mode, free in freed_by(solved, feed):
            control = solved.results[mode.handset, mode.channel].control.name
            stands = solved.power_up_positions[mode.handset, control]
            if mode.handset != feed.handset and free and stands not in free:
                held[freeing(solved, feed, mode, free[:1])] = None
    if not held:
        return []
    asked = say_count(
        len(held),
        "First ask for {controls}. At the end, have it put back.",
        "First ask for {controls}. At the end, have them put back.",
        controls=listed(list(held)),
    )
    return [asked]


def _seconds(lines: Sequence[Line]) -> int:
    """Return how long the test takes, to the next ten seconds: as in the full test, with the screen and the end."""
    controls = [line.row.control for line in lines if line.row]
    changes = sum(one != before for one, before in zip(controls, ["", *controls], strict=False))
    total = 2 * A_LOOK + len(controls) * A_MOVE + (changes + 1) * A_CONTROL
    return -(-total // 10) * 10


def lines_of(solved: Solved, unit: Unit, letters: Mapping[str, str]) -> list[Test]:
    """Return the screen, each line of the short test of this handset, and the controls put back.

    Lines that ask for the same move are one.
    """
    tests: dict[str, list[str]] = {}
    if unit.memory:
        number, name = unit.memory
        tests[say("Screen")] = [say("memory {number} “{name}”", number=number, name=name)]
    for line in _short(solved, unit):
        do, see = _line(solved, unit, line, letters)
        tests.setdefault(do, []).append(see)
    tests[say("All")] = [say("back at the start")]
    return [(do, ", ".join(dict.fromkeys(seen_))) for do, seen_ in tests.items()]


def _short(solved: Solved, unit: Unit) -> list[Line]:
    """Return the lines for one handset: the first of each function, of a take both; keys that toggle, and modes.

    They stand in the order of the function test, harmless before harmful.
    """
    found: list[Line] = []
    moved: dict[tuple[str, str], str] = {}  # by function: the control that showed it first
    for line in _in_order(solved).get(unit.name, ()):
        assert line.row and line.reading
        feed = line.reading.feed
        first = moved.setdefault((feed.unit, feed.input.name), line.row.control)
        known = any(
            one.reading and (one.reading.feed.unit, one.reading.feed.input.name) == (feed.unit, feed.input.name)
            for one in found
        )
        take = is_record(feed.input.states) and line.reading.state in (RUN, STANDBY)
        if not known or line.stays or ((line.press or take) and line.row.control == first):
            found.append(line)
    return found


@once_a_rig
def _in_order(solved: Solved) -> dict[str, list[Line]]:
    """The lines of each handset."""
    found: dict[str, list[Line]] = {}
    for line in in_order(solved):
        assert line.reading
        found.setdefault(line.reading.feed.handset, []).append(line)
    return found


def _line(solved: Solved, unit: Unit, line: Line, letters: Mapping[str, str]) -> Test:
    row, reading = line.row, line.reading
    assert row and reading
    control = unit.model.controls[row.control]
    letter = letters.get(row.control, control.title)
    do = f"{letter} {place(row.position)}{_beside(unit, row, letters)}"
    if line.press:
        return say("{move}, once", move=do) if line.press == 1 else say("{move}, again", move=do), _toggled(
            line
        )
    if line.stays and row.position != solved.power_up_positions[unit.name, row.control]:
        return say("{move}, leave it", move=do), seen(solved, reading)
    sweep = reading.feed.input.sweep
    if turns_picture(solved, reading.feed):
        what, stops = seen(solved, reading), sweep and sweep.full and control.springs
        return do, say("{what}; let go: stops", what=what) if stops else what
    if is_record(reading.feed.input.states) and reading.state in (RUN, STANDBY):
        return do, say("tally lit") if reading.state == RUN else say("tally out")
    return do, f"{whose(solved, reading.feed, solved.links.feeds_from(unit.name))}{effect(solved, reading)}"


def _beside(unit: Unit, row: Row, letters: Mapping[str, str]) -> str:
    """Return where other controls stand at the same time, by their letters."""
    stands = [
        f"{letters.get(name, unit.model.controls[name].title)} {place(position)}"
        for name, position in row.conditions
    ]
    return f" {say('with {controls}', controls=listed(stands))}" if stands else ""


def _toggled(line: Line) -> str:
    """Describe a press by what is seen after it."""
    assert line.reading
    if is_toggle(line.reading):
        return say("tally lit") if line.press == 1 else say("tally out")
    states = next(done.toggles for done in line.reading.effects if done.toggles)
    if line.press == 1:
        return say("changes between {first} and {last}", first=states[0], last=states[1])
    return say("is as before")
