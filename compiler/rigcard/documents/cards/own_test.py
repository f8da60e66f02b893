"""The short test of one handset, which its operator does alone: one line for each thing that it works."""

from __future__ import annotations

from rigcard.documents.base.language import say
from rigcard.documents.base.phrases import effect_and_turn, in_degrees, meanwhile, place, seen, turns_picture
from rigcard.documents.cards.actions import Action, with_cautions
from rigcard.documents.cards.order_of_test import Line, in_order
from rigcard.resolve.model import Unit
from rigcard.solve.loss import RUN, STANDBY, is_record, is_toggle
from rigcard.solve.solved import Solved
from rigcard.solve.turning import turn_read

SECONDS_A_LINE = 8  # common practice, no source


def own_test(solved: Solved, unit: Unit, cautions: tuple[str, ...]) -> list[Action]:
    """Return the lines of the short function test that this handset has; cautions stand above the first move."""
    actions = []
    if unit.memory:
        number, name = unit.memory
        actions.append(
            Action(say("Read the screen."), say("memory {number} “{name}”", number=number, name=name))
        )
    first = len(actions)
    mine = [line for line in in_order(solved) if line.reading.feed.handset == unit.name and line.short]
    actions += [_action(solved, unit, line) for line in mine]
    actions.append(Action(say("Set all controls as at the start."), say("as in the table")))
    return with_cautions(actions, first, cautions)


def seconds(lines: int) -> int:
    """Return how long so many lines take, to the next ten seconds."""
    return -(-lines * SECONDS_A_LINE // 10) * 10


def _action(solved: Solved, unit: Unit, line: Line) -> Action:
    row, reading = line.row, line.reading
    control = unit.model.controls[row.control]
    do = f"{control.title} {place(row.position)}{meanwhile(solved.rig, unit.name, row)}"
    if line.press:
        do = say("{move}, once", move=do) if line.press == 1 else say("{move}, once more", move=do)
        return Action(f"{do}.", _toggled(line))
    if line.stays:
        return Action(say("{move}; leave it there.", move=do), seen(solved, reading))
    if turns_picture(solved, reading.feed) and reading.feed.input.sweep:
        turn = in_degrees(reading.feed.input.sweep, turn_read(reading))
        shown = f"{seen(solved, reading)}{f', {turn}' if turn else ''}"
        if control.springs and reading.feed.input.sweep.full:
            shown = say("{what}; stops when you let go", what=shown)
        return Action(f"{do}.", shown)
    if is_record(reading.feed.input.states) and reading.state in (RUN, STANDBY):
        lit = say("tally lit") if reading.state == RUN else say("tally out")
        return Action(f"{do}.", f"{seen(solved, reading)}, {lit}")
    return Action(f"{do}.", effect_and_turn(solved, reading))


def _toggled(line: Line) -> str:
    """Describe a press by what is seen after it."""
    if is_toggle(line.reading):
        return say("the take starts: tally lit") if line.press == 1 else say("the take stops: tally out")
    states = next(done.toggles for done in line.reading.effects if done.toggles)
    if line.press == 1:
        return say("changes between {first} and {last}", first=states[0], last=states[1])
    return say("is as before")
