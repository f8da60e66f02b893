"""The order of testing inputs: harmless to harmful, and inputs that hold others still out of the way first.

A control leaves a band that `holds` other inputs before they are tested, and stays where they can move. The
states that hold them are tested after the sweeps. If no input of a device has `holds`, any input with bands may
be a lock or a mode. Then the bands of a device that moves are tested before its sweeps, away from rest and from
the state without pulses.
"""

from typing import NamedTuple

from rigcard.documents.base.phrases import effect_and_turn
from rigcard.resolve.links import Feed
from rigcard.resolve.model import Input
from rigcard.solve.loss import RUN, STANDBY, is_record, toggles_take
from rigcard.solve.solved import Reading, Row, Solved, stands_still

Order = tuple[int, int, int]  # stage of the test, unit by its place in the file, step of that unit
SWEEPS, KEYS, TAKE, OTHERS, MOVES = range(5)
FREED, EASY, HARD, LATER, HELD = range(5)


class Line(NamedTuple):
    """One position of one control, and what one input makes of it.

    `short`: also in the short test. `stays`: its control stays there so that others can be tested, or is set
    back after them. `press`: the number of the press of a key that toggles, 0 for other controls.
    """

    row: Row
    reading: Reading
    short: bool = False
    stays: bool = False
    press: int = 0


def in_order(solved: Solved) -> list[Line]:
    """Return every line with a visible effect."""
    found: list[tuple[Order, Line]] = []
    places = {name: at for at, name in enumerate(solved.rig.units)}
    for feed in solved.links.feeds:
        at = places[feed.unit]
        lines = _lines(solved, feed)
        if any(done.toggles for line in lines for done in line.reading.effects):
            stage = TAKE if toggles_take(solved, feed) else KEYS
            found += [((stage, 0, 0), line) for line in _pressed_twice(lines)]
        elif is_record(feed.input.states):
            found += [((TAKE, 0, 0), line) for line in _take(lines)]
        elif freed := _freed(solved, feed, lines):
            stage = _stage(solved, feed.unit)
            found += [((stage, at, FREED), line) for line in freed]
            found += [((stage, at, HELD), line) for line in _held(solved, feed, lines, freed)]
        else:
            found += [(_order(solved, feed, at), line) for line in _away_first(solved, feed, lines)]
    return [line for _, line in sorted(found, key=lambda item: item[0])]


def _lines(solved: Solved, feed: Feed) -> list[Line]:
    """Return the rows of an input.

    A state without a command shows nothing if other states send one, except standby.
    """
    orders = solved.links.orders_of(feed)
    return [
        Line(row, reading)
        for row in solved.results[feed.handset, feed.channel].rows
        for reading in row.readings
        if reading.feed == feed
        and effect_and_turn(solved, reading)
        and (reading.effects or not orders or is_record(feed.input.states))
    ]


def _order(solved: Solved, feed: Feed, at: int) -> Order:
    """Return the place in the order of an input that holds nothing still."""
    sweeps = feed.input.sweep is not None
    if not _moves(solved, feed.unit):
        return (MOVES, at, LATER) if feed.input.critical else (SWEEPS if sweeps else KEYS, 0, 0)
    return _stage(solved, feed.unit), at, (HARD if feed.input.critical else EASY) if sweeps else LATER


def _moves(solved: Solved, unit: str) -> bool:
    """Whether a device has sweeps of its own; an adapter only passes them on."""
    return solved.rig.units[unit].role != "adapter" and any(
        feed.unit == unit and feed.input.sweep for feed in solved.links.feeds
    )


def _stage(solved: Solved, unit: str) -> int:
    """Return the stage at which a moving device is tested, all of its inputs together."""
    known = [feed.input for feed in solved.links.feeds if feed.unit == unit]
    if any(one.critical for one in known):
        return MOVES
    return OTHERS if any(one.bands for one in known) else SWEEPS


def _take(lines: list[Line]) -> list[Line]:
    """Return each control's RUN line, then its standby line, which ends the take.

    The short test has both lines of the first control.
    """
    states = (RUN, STANDBY)
    ranked = sorted(
        lines,
        key=lambda line: (
            _turn(lines, line),
            states.index(line.reading.state) + 1 if line.reading.state in states else 0,
        ),
    )
    first = _turn(lines, ranked[0]) if ranked else 0
    return [
        line._replace(short=_turn(lines, line) == first and line.reading.state in states) for line in ranked
    ]


def _pressed_twice(lines: list[Line]) -> list[Line]:
    """Press a toggling key twice to restore its state; the short test has both presses of the first one."""
    found = []
    for number, line in enumerate(lines):
        toggles = any(done.toggles for done in line.reading.effects)
        found += [line._replace(press=press, short=number == 0) for press in ((1, 2) if toggles else (0,))]
    return found


def _turn(lines: list[Line], line: Line) -> int:
    """Return the position of a control in the order of an input's rows."""
    return [other.row.control for other in lines].index(line.row.control)


def _away_first(solved: Solved, feed: Feed, lines: list[Line]) -> list[Line]:
    """Return each control's lines away from rest, then those at rest; the first is in the short test."""
    ranked = sorted(
        lines,
        key=lambda line: (
            _turn(lines, line),
            line.row.conditions != (),
            _rests(solved, feed, line.row, line.reading),
        ),
    )
    return [line._replace(short=at == 0) for at, line in enumerate(ranked)]


def _rests(solved: Solved, feed: Feed, row: Row, reading: Reading) -> bool:
    """Whether an input is at rest; without a rest state, whether its control stands as at power-up."""
    known = feed.input
    if known.sweep:
        return stands_still(known.sweep, reading.heard)
    if any(band.rest for band in known.bands):
        return reading.band is not None and reading.band.rest
    return row.position == solved.power_up_positions[feed.handset, row.control]


def _freed(solved: Solved, feed: Feed, lines: list[Line]) -> list[Line]:
    """Return the lines after which an input of a moving device lets the others move; none for other inputs.

    The control of the channel moves last, as far from its power-up position as possible, and stays. Other
    controls that are mixed in are set back first.
    """
    moved = solved.results[feed.handset, feed.channel].control
    said = [other.input for other in solved.links.feeds if other.unit == feed.unit and _modes(other.input)]
    holds = _modes(feed.input) if said else _moves(solved, feed.unit)
    if feed.input.sweep or not holds or moved.springs:  # nobody holds a sprung control that long
        return []
    own = moved.name
    away = [line for line in lines if _lets_go(solved, feed, line)]
    mine = [line for line in away if line.row.control == own]
    if not mine:
        return []
    home = solved.power_up_positions[feed.handset, own].value
    mine.sort(key=lambda line: (line.row.conditions == (), abs(line.row.position.value - home)))
    mine[-1] = mine[-1]._replace(short=True, stays=True)
    before: list[Line] = []
    for control in dict.fromkeys(line.row.control for line in away if line.row.control != own):
        before += [line for line in away if line.row.control == control]
        before += [line for line in lines if line.row.control == control and line not in away]
    return [*before, *mine]


def _lets_go(solved: Solved, feed: Feed, line: Line) -> bool:
    if _modes(feed.input):
        return line.reading.band is not None and not line.reading.band.stills
    still = line.reading.state in ("", feed.input.silence) or _rests(solved, feed, line.row, line.reading)
    return not still


def _modes(known: Input) -> bool:
    """Whether the model says that a state of an input holds others still."""
    return any(band.stills for band in known.bands)


def _held(solved: Solved, feed: Feed, lines: list[Line], freed: list[Line]) -> list[Line]:
    """Return the lines that set the channel's control back: its other positions first, then rest."""
    own = solved.results[feed.handset, feed.channel].control.name
    done = {(line.row.control, line.row.position.name) for line in freed}
    left = [line for line in lines if line.row.control == own and (own, line.row.position.name) not in done]
    left.sort(key=lambda line: _rests(solved, feed, line.row, line.reading))
    if not left or not _rests(solved, feed, left[-1].row, left[-1].reading):  # it rests between its ends
        rest = solved.results[feed.handset, feed.channel].rest
        left += [Line(rest, reading) for reading in rest.readings if reading.feed == feed]
    left[-1] = left[-1]._replace(short=True, stays=True)
    return left
