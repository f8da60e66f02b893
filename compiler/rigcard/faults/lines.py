"""The lines of the function test, harmless to harmful, and inputs that hold others still out of the way first.

A control leaves a band that `holds` other inputs before they are tested, and stays where they can move. The
states that hold them are tested after the sweeps. If no input of a device has `holds`, any input with bands may
be a lock or a mode. Then the bands of a device that moves are tested before its sweeps, away from rest and from
the state without pulses. (IEEE Std 1522 calls a line a test.)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from rigcard.faults.looks import LINKED, ON, looks_of
from rigcard.resolve.links import Feed, obeying
from rigcard.resolve.model import CENTRE, Input, Look, Position, RadioLink
from rigcard.resolve.once import once_a_rig
from rigcard.solve.loss import RUN, STANDBY, is_record, toggles_take
from rigcard.solve.solved import Reading, Row, Solved, stands_still
from rigcard.solve.stations import station_numbers, stations_of

if TYPE_CHECKING:
    from rigcard.faults.bench import Stands  # only the papers of the technician need the bench

Order = tuple[int, int, int]  # stage of the test, unit by its place in the file, step of that unit
SWEEPS, KEYS, TAKE, OTHERS, MOVES = range(5)
FREED, EASY, HARD, LATER, HELD = range(5)
# Seconds, common practice, no source: to read or look, to find a control and call, to move it and answer,
# to go through the radio-loss card, to play a take.
A_LOOK, A_CONTROL, A_MOVE, A_LOSS, A_TAKE = 4, 4, 4, 60, 15


class Line(NamedTuple):
    """One line: what is done, and where it is seen.

    `kind`: screen, link, picture, look, start, control, loss, take or close. `devices`: the units at which people
    look; () for all. `handset` is whose control moves, whose screen is read, or whose link is lost. A control line
    has the row and the reading, and what other inputs of the device make of it at the same time (`also`); `stays`: its control stays there so that others can be tested, or is set back
    after them; `press`: the number of the press of a key that toggles, 0 for other controls; `stage`: how much harm
    it can do; `station`: to which of them the line belongs; `left`: where controls stand that stayed before it.
    """

    kind: str
    devices: tuple[str, ...] = ()
    handset: str = ""
    row: Row | None = None
    reading: Reading | None = None
    also: tuple[Reading, ...] = ()
    stays: bool = False
    press: int = 0
    stage: int = 0
    link: RadioLink | None = None
    look: Look | None = None
    station: int = 0
    left: tuple[tuple[tuple[str, str], Position], ...] = ()

    @property
    def moved(self) -> tuple[str, str] | None:
        """The handset and the control that the line moves, or None."""
        return (self.handset, self.row.control) if self.row else None

    @property
    def whose(self) -> str:
        """The unit whose station the line belongs to; "" for a line about a whole station."""
        return "" if self.kind in ("start", "take", "close") else self.handset or self.devices[0]

    @property
    def seconds(self) -> int:
        """How long the line itself takes; a control takes `A_CONTROL` more, once for its lines in a row."""
        return {"control": A_MOVE, "loss": A_LOSS, "take": A_TAKE, "close": A_LOOK + A_CONTROL}.get(
            self.kind, A_LOOK
        )

    def stands(self) -> Stands:
        """Where the controls stand that the line moves, and those that stayed before it."""
        if self.row is None:
            return {}
        places = {**dict(self.row.conditions), self.row.control: self.row.position}
        return {**dict(self.left), **{(self.handset, name): place for name, place in places.items()}}


def lines_of(solved: Solved) -> list[Line]:
    """All lines in order, station by station: what is only looked at, every position of every control, loss of the
    link, the end."""
    rig = solved.rig
    looks = [
        Line("look", (unit.name,), look=look)
        for unit in rig.units.values()
        for look in looks_of(unit)
        if look.when in (ON, LINKED)
    ]
    numbers = station_numbers(solved)
    handsets = [unit for unit in rig.units.values() if unit.role == "handset"]
    found = [Line("screen", (unit.name,), unit.name) for unit in handsets if unit.memory]
    found += [*looks, *_pictures(solved)]
    moving = [feed for feed in solved.links.feeds if _has_rest(feed.input) or solved.links.orders_of(feed)]
    starting = dict.fromkeys(numbers[feed.handset] for feed in moving)
    found += [Line("start", station=number) for number in starting]
    found += _at_one_time(in_order(solved))
    found += [Line("loss", (), unit.name) for unit in handsets if solved.links.feeds_from(unit.name)]
    found += [
        Line("take", tuple(dict.fromkeys(names)), station=number)
        for number, names in _recorders(solved, numbers).items()
    ]
    for number, station in enumerate(stations_of(solved)):
        if not station.others:
            own = tuple(unit.name for unit in station.handsets if unit.memory)
            found.append(Line("close", own, station=number))
    whose = [line._replace(station=numbers[name]) if (name := line.whose) else line for line in found]
    return _with_what_stays(sorted(whose, key=lambda line: line.station))


def _with_what_stays(lines: list[Line]) -> list[Line]:
    """The lines, each with the controls that an earlier one left where they free a device."""
    found: list[Line] = []
    standing: dict[tuple[str, str], Position] = {}
    for line in lines:
        found.append(line._replace(left=tuple(standing.items())) if line.row and standing else line)
        if line.stays and line.row:
            standing[line.handset, line.row.control] = line.row.position
    return found


def _recorders(solved: Solved, numbers: dict[str, int]) -> dict[int, list[str]]:
    """By station, the units that record a take."""
    found: dict[int, list[str]] = {}
    for feed in solved.links.feeds:
        if is_record(feed.input.states) or toggles_take(solved, feed):
            obey = [order.receiver for order in obeying(solved.rig, solved.links, feed)]
            found.setdefault(numbers[feed.handset], []).extend(obey or [feed.unit])
    return found


def _has_rest(known: Input) -> bool:
    return known.sweep.rest is not None if known.sweep else any(band.rest for band in known.bands)


def _pictures(solved: Solved) -> list[Line]:
    """A look at every radio link that is not a handset's, and at every screen that a picture reaches by lead."""
    rig = solved.rig
    found = [
        Line("link", (name,), link=link)
        for link in rig.radio_links
        if rig.units[link.sender].role != "handset"
        for name in link.receivers
    ]
    screens = [
        wire.sink.unit
        for wire in solved.links.wires
        if rig.signal_at(wire.sink).kind == "picture" and rig.units[wire.sink.unit].role == "monitor"
    ]
    return [*found, *(Line("picture", (name,)) for name in dict.fromkeys(screens))]


@once_a_rig
def in_order(solved: Solved) -> list[Line]:
    """Every line with a control that has a visible effect, one for each input."""
    found: list[tuple[Order, Line]] = []
    places = {name: at for at, name in enumerate(solved.rig.units)}
    for feed in solved.links.feeds:
        at = places[feed.unit]
        lines = _lines(solved, feed)
        if any(done.toggles for line in lines for done in _reading(line).effects):
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
    ordered = sorted(found, key=lambda item: item[0])
    return [line._replace(stage=order[0]) for order, line in ordered]


def _at_one_time(lines: list[Line]) -> list[Line]:
    """The lines, those that are one move at one device as one: a dial that sets the speed of two axes."""
    found: dict[object, Line] = {}
    for at, line in enumerate(lines):
        row, reading = _row(line), _reading(line)
        alone = line.stays or line.press or not reading.feed.input.sweep or reading.feed.input.critical
        key = (line.moved, row.position.name, row.conditions, line.devices, line.stage, reading.heard)
        if alone or key not in found:
            found[at if alone else key] = line
        else:
            found[key] = found[key]._replace(also=(*found[key].also, reading))
    return list(found.values())


def _reading(line: Line) -> Reading:
    assert line.reading is not None
    return line.reading


def _row(line: Line) -> Row:
    assert line.row is not None
    return line.row


def control_line(solved: Solved, row: Row, reading: Reading) -> Line:
    """A line for one position of one control, and what one input makes of it."""
    devices = tuple(dict.fromkeys(done.unit for done in reading.effects)) or (reading.feed.unit,)
    return Line("control", devices, reading.feed.handset, row, reading)


def _lines(solved: Solved, feed: Feed) -> list[Line]:
    """The rows of an input. A state without a command shows nothing if other states send one, except standby."""
    orders = solved.links.orders_of(feed)
    return [
        control_line(solved, row, reading)
        for row in solved.results[feed.handset, feed.channel].rows
        for reading in row.readings
        if reading.feed == feed
        and _shows(reading)
        and (reading.effects or not orders or is_record(feed.input.states))
    ]


def _shows(reading: Reading) -> bool:
    """Whether there is anything to see: a sweep at its middle shows nothing."""
    return bool(reading.effects) or not (reading.feed.input.sweep and reading.state == CENTRE)


def _order(solved: Solved, feed: Feed, at: int) -> Order:
    """The place in the order of an input that holds nothing still."""
    sweeps = feed.input.sweep is not None
    if not _moves(solved, feed.unit):
        return (MOVES, at, LATER) if feed.input.critical else (SWEEPS if sweeps else KEYS, 0, 0)
    return _stage(solved, feed.unit), at, (HARD if feed.input.critical else EASY) if sweeps else LATER


def _moves(solved: Solved, unit: str) -> bool:
    """Whether a device has sweeps of its own; an adapter only passes them on."""
    own = _fed_inputs(solved).get(unit, [])
    return solved.rig.units[unit].role != "adapter" and any(known.sweep for known in own)


@once_a_rig
def _fed_inputs(solved: Solved) -> dict[str, list[Input]]:
    """The inputs of each unit that a channel reaches."""
    found: dict[str, list[Input]] = {}
    for feed in solved.links.feeds:
        found.setdefault(feed.unit, []).append(feed.input)
    return found


def _stage(solved: Solved, unit: str) -> int:
    """The stage at which a moving device is tested, all of its inputs together."""
    known = _fed_inputs(solved).get(unit, [])
    if any(one.critical for one in known):
        return MOVES
    return OTHERS if any(one.bands for one in known) else SWEEPS


def _take(lines: list[Line]) -> list[Line]:
    """Each control's RUN line, then its standby line, which ends the take."""
    states = (RUN, STANDBY)
    return sorted(
        lines,
        key=lambda line: (
            _turn(lines, line),
            states.index(_reading(line).state) + 1 if _reading(line).state in states else 0,
        ),
    )


def _pressed_twice(lines: list[Line]) -> list[Line]:
    """A toggling key is pressed twice, which restores its state."""
    found = []
    for line in lines:
        toggles = any(done.toggles for done in _reading(line).effects)
        found += [line._replace(press=press) for press in ((1, 2) if toggles else (0,))]
    return found


def _turn(lines: list[Line], line: Line) -> int:
    """The position of a control in the order of an input's rows."""
    return [_row(other).control for other in lines].index(_row(line).control)


def _away_first(solved: Solved, feed: Feed, lines: list[Line]) -> list[Line]:
    """Each control's lines away from rest, then those at rest."""
    return sorted(
        lines,
        key=lambda line: (_turn(lines, line), _row(line).conditions != (), _rests(solved, feed, line)),
    )


def _rests(solved: Solved, feed: Feed, line: Line) -> bool:
    """Whether an input is at rest; without a rest state, whether its control stands as at power-up."""
    known, reading, row = feed.input, _reading(line), _row(line)
    if known.sweep:
        return stands_still(known.sweep, reading.heard)
    if any(band.rest for band in known.bands):
        return reading.band is not None and reading.band.rest
    return row.position == solved.power_up_positions[feed.handset, row.control]


def _freed(solved: Solved, feed: Feed, lines: list[Line]) -> list[Line]:
    """The lines after which an input of a moving device lets the others move; none for other inputs.

    The control of the channel moves last, as far from its power-up position as possible, and stays. Other
    controls that are mixed in are set back first.
    """
    moved = solved.results[feed.handset, feed.channel].control
    said = any(map(_modes, _fed_inputs(solved)[feed.unit]))
    frees = _modes(feed.input) if said else _moves(solved, feed.unit)
    if feed.input.sweep or not frees or moved.springs:  # nobody holds a sprung control that long
        return []
    own = moved.name
    away = [line for line in lines if _lets_go(solved, feed, line)]
    mine = [line for line in away if _row(line).control == own]
    if not mine:
        return []
    home = solved.power_up_positions[feed.handset, own].value
    mine.sort(key=lambda line: (_row(line).conditions == (), abs(_row(line).position.value - home)))
    mine[-1] = mine[-1]._replace(stays=True)
    before: list[Line] = []
    for control in dict.fromkeys(_row(line).control for line in away if _row(line).control != own):
        before += [line for line in away if _row(line).control == control]
        before += [line for line in lines if _row(line).control == control and line not in away]
    return [*before, *mine]


def _lets_go(solved: Solved, feed: Feed, line: Line) -> bool:
    reading = _reading(line)
    if _modes(feed.input):
        return reading.band is not None and not reading.band.stills
    still = reading.state in ("", feed.input.silence) or _rests(solved, feed, line)
    return not still


def _modes(known: Input) -> bool:
    """Whether the model says that a state of an input holds others still."""
    return any(band.stills for band in known.bands)


def _held(solved: Solved, feed: Feed, lines: list[Line], freed: list[Line]) -> list[Line]:
    """The lines that set the channel's control back: its other positions first, then rest."""
    result = solved.results[feed.handset, feed.channel]
    own = result.control.name
    done = {(_row(line).control, _row(line).position.name) for line in freed}
    left = [line for line in lines if _row(line).control == own and (own, _row(line).position.name) not in done]
    left.sort(key=lambda line: _rests(solved, feed, line))
    if not left or not _rests(solved, feed, left[-1]):  # it rests between its ends
        left += [
            control_line(solved, result.rest, reading)
            for reading in result.rest.readings
            if reading.feed == feed
        ]
    left[-1] = left[-1]._replace(stays=True)
    return left


# ---- what a line needs of others ------------------------------------------------------------------------------


def needs_of(lines: list[Line]) -> list[tuple[int, ...]]:
    """For each line the lines without which it must not be done, by their index.

    A take that starts is stopped; a key that toggles is pressed again; where a control frees a device, it is moved
    before the device's sweeps are tested, and set back after them.
    """
    found: list[tuple[int, ...]] = []
    staying: dict[str, list[int]] = {}
    for at, line in enumerate(lines):
        if line.stays and line.reading:
            staying.setdefault(line.reading.feed.unit, []).append(at)
    for at, line in enumerate(lines):
        needed: list[int] = []
        if line.reading:
            feed = line.reading.feed
            if line.press == 1 or (line.reading.state == RUN and is_record(feed.input.states)):
                needed += _ends_take(lines, at)
            if line.press == 2:
                needed.append(at - 1)
            if line.stays or feed.input.sweep:
                needed += staying.get(feed.unit, [])
        if line.kind == "take":
            needed += _one_take(lines, line.station)
        found.append(tuple(other for other in dict.fromkeys(needed) if other != at))
    return found


def _ends_take(lines: list[Line], at: int) -> list[int]:
    """The line after a start that stops the take."""
    later = lines[at + 1] if at + 1 < len(lines) else None
    if later and later.reading and later.moved == lines[at].moved:
        return [at + 1] if later.press == 2 or later.reading.state == STANDBY else []
    return []


def _one_take(lines: list[Line], station: int) -> list[int]:
    """The first line of a station that starts a take."""
    return [
        at
        for at, line in enumerate(lines)
        if line.station == station
        and line.reading
        and (line.stage == TAKE and (line.press == 1 or line.reading.state == RUN))
    ][:1]
