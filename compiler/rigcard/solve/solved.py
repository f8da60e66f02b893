"""The rig with nothing left open: dialled values, levels, pulses, states. The papers are made from this alone."""

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from rigcard.resolve.links import Feed, Links
from rigcard.resolve.model import CENTRE, Band, Control, Mix, Position, Rig, Sweep
from rigcard.solve.arithmetic import Dial, Level

if TYPE_CHECKING:
    from rigcard.solve.power.result import Power

STILL = Fraction(
    1
)  # per cent from its rest within which a sweep without a `dead-band` stands still (common practice)
NEXT_TO_REST = Fraction(
    1, 8
)  # per cent: about a step of a serial line, by which a level set to rest may miss it
Values = dict[str, Position]  # where each control of a handset stands


def stands_still(sweep: Sweep, level: Fraction) -> bool:
    """Whether a level as heard counts as the rest of a sweep that has one."""
    return sweep.rest is not None and abs(level - sweep.rest) <= (STILL if sweep.dead is None else sweep.dead)


def base_of(sweep: Sweep) -> Fraction:
    """The level at which the axis does not turn: its rest, or else the middle of the sweep."""
    return (sweep.low + sweep.high) / 2 if sweep.rest is None else sweep.rest


def part_of_way(sweep: Sweep, level: Fraction) -> Fraction:
    """The part of the way to the nearer end, from the edge of the dead band about a rest or else from the middle, at
    a level as heard: 1 at the end and beyond, 0 where the axis stands still."""
    base = base_of(sweep)
    way = sweep.high - base if level > base else base - sweep.low
    if way <= 0:
        return Fraction(0)
    if abs(level - base) >= way:
        return Fraction(1)
    dead = (sweep.dead or Fraction(0)) if sweep.rest is not None else Fraction(0)
    return max(Fraction(0), abs(level - base) - dead) / way


class Effect(NamedTuple):
    """A command on its way: who obeys, what it is called, and the value of the setting that says what it does.

    `toggles`: the two states that it changes between; () where it asks for what it says.
    """

    unit: str
    command: str
    does: str
    toggles: tuple[str, ...] = ()


class Reading(NamedTuple):
    """What one input makes of a level: the level as it hears it, the state, the commands that follow.

    `state` is the name of a band, an end of a sweep or `centre`; "" where the level lies outside every band. `exact`
    is what it would hear if the line carried every level; `code` the integer on the line, None on a servo lead.
    `share` is the part of `full` that another input lets the axis turn with; `held` the input that holds it still.
    """

    feed: Feed
    heard: Fraction
    exact: Fraction
    code: int | None
    state: str
    band: Band | None
    effects: tuple[Effect, ...]
    share: Fraction = Fraction(1)
    held: str = ""

    @property
    def margin(self) -> Fraction | None:
        """Distance to the nearest edge of the band in per cent."""
        return self.band.margin(self.heard) if self.band else None

    @property
    def either(self) -> list[Band]:
        """The bands that share the level, where it lies exactly on the edge of two; else none."""
        found = [band for band in self.feed.input.bands if band.holds(self.heard)]
        return found if len(found) > 1 else []


class Row(NamedTuple):
    """One position of one control: the level and pulse of a channel, and what every listener makes of it.

    `conditions` are the controls that stand elsewhere than at power-up meanwhile.
    """

    control: str
    position: Position
    level: Level
    pulse: Fraction
    readings: tuple[Reading, ...]
    conditions: tuple[tuple[str, Position], ...] = ()

    @property
    def serial_count(self) -> int | None:
        """The integer on the serial line that carries the channel; None where it leaves by a servo pin alone."""
        return next((reading.code for reading in self.readings if reading.code is not None), None)


class Solution(NamedTuple):
    """How the values of an `auto` channel were found. Headroom: the smallest margin in per cent."""

    headroom: Fraction | None
    unique: bool


class ChannelResult(NamedTuple):
    """A channel with everything that is dialled in and everything that comes of it."""

    handset: str
    name: str
    number: int
    control: Control
    dial: Dial
    mixes: tuple[Mix, ...]
    failsafe: Fraction | str | None
    solution: Solution | None
    rows: tuple[Row, ...]
    rest: Row


class JointRow(NamedTuple):
    """One combination of positions of all controls of a channel, and what comes of it.

    `unasked`: it gives a state that none of the controls as they stand asks for. `stray` is then the control to which
    that state belongs, "" if it belongs to none. `harmless`: the file says that the combination does no harm.
    """

    places: tuple[tuple[str, Position], ...]
    level: Level
    readings: tuple[Reading, ...]
    unasked: bool
    stray: str
    harmless: bool


class Loss(NamedTuple):
    """What one input does when the link is lost. `kind` is hold, level, none or "not set".

    `reading` is there at a level; `state` is what the input then shows, "" where that is not known. `held` is the input
    of the same unit that then holds it still, or "".
    """

    feed: Feed
    kind: str
    level: Fraction | None
    reading: Reading | None
    state: str
    held: str = ""

    @property
    def at_rest(self) -> bool:
        """Whether the input is surely in its rest state, at its rest level, or held still."""
        if self.held:
            return True
        bands = {band.name: band.rest for band in self.feed.input.bands}
        sweep = self.feed.input.sweep
        if sweep is None:
            return bands.get(self.state, False)
        if self.reading and sweep.rest is not None:
            turns = sweep.full is not None and sweep.full.speed and sweep.dead is None
            heard = [
                self.reading.heard,
                self.reading.exact,
            ]  # a line without a code for the rest is told elsewhere
            if turns:
                return any(abs(level - sweep.rest) <= NEXT_TO_REST for level in heard)
            return any(stands_still(sweep, level) for level in heard)
        return self.kind == "none" and self.state == CENTRE and sweep.rest == (sweep.low + sweep.high) / 2


class WrongStart(NamedTuple):
    """One control in one wrong position at power-up, worst first by `harm` (0: a critical input)."""

    handset: str
    control: str
    position: Position
    harm: int
    readings: tuple[Reading, ...]
    learned: tuple[tuple[Feed, str], ...]  # an input that learns its neutral, and what rest then reads as


class Solved(NamedTuple):
    """A rig with its sheets, in the order of the file; `home` is where each control stands at power-up."""

    rig: Rig
    links: Links
    results: dict[tuple[str, str], ChannelResult]
    power_up_positions: dict[tuple[str, str], Position]
    needed: frozenset[tuple[str, str]]  # the controls whose power-up position some input demands
    joint: dict[tuple[str, str], tuple[JointRow, ...]]  # channels that several controls feed
    losses: tuple[Loss, ...]
    wrong_starts: tuple[WrongStart, ...]
    bearers: dict[tuple[str, str], list[Feed]]  # by unit and input: the feeds that hold it still or scale it
    power: "Power | None"  # None: the rig has neither a source of power nor a pack with a capacity

    def results_of(self, handset: str) -> list[ChannelResult]:
        """The channels of a handset by number."""
        found = [sheet for (unit, _), sheet in self.results.items() if unit == handset]
        return sorted(found, key=lambda sheet: sheet.number)
