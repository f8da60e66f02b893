"""The rig with all values computed: dialled values, levels, pulses, states. All papers are made from it."""

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from rigcard.resolve.links import Feed, Links
from rigcard.resolve.model import CENTRE, Band, Control, Mix, Position, Rig, Sweep
from rigcard.solve.arithmetic import Dial, Level

if TYPE_CHECKING:
    from rigcard.solve.power.result import Power

STILL = Fraction(
    1
)  # per cent from its rest at which a sweep without a `dead-band` still stands still (common practice)
NEXT_TO_REST = Fraction(
    1, 8
)  # per cent, about one step of a serial line: how far a level set to rest may miss it
Values = dict[str, Position]  # the position of each control of a handset


def stands_still(sweep: Sweep, level: Fraction) -> bool:
    """Whether a level as heard counts as the rest of a sweep; False for a sweep without a rest."""
    return sweep.rest is not None and abs(level - sweep.rest) <= (STILL if sweep.dead is None else sweep.dead)


def base_of(sweep: Sweep) -> Fraction:
    """The level at which the axis does not turn: its rest or, without one, the middle of the sweep."""
    return (sweep.low + sweep.high) / 2 if sweep.rest is None else sweep.rest


def part_of_way(sweep: Sweep, level: Fraction) -> Fraction:
    """The fraction of the way to the nearer end that a level as heard represents: 1 at the end and beyond, 0
    where the axis stands still. The way starts at the edge of the dead band about a rest or, without a rest, at
    the middle."""
    base = base_of(sweep)
    way = sweep.high - base if level > base else base - sweep.low
    if way <= 0:
        return Fraction(0)
    if abs(level - base) >= way:
        return Fraction(1)
    dead = (sweep.dead or Fraction(0)) if sweep.rest is not None else Fraction(0)
    return max(Fraction(0), abs(level - base) - dead) / way


class Effect(NamedTuple):
    """A command and its effect: the unit that obeys, the name, and the value of the setting behind it.

    `toggles`: the two states between which it changes; () if it asks for one fixed state.
    """

    unit: str
    command: str
    does: str
    toggles: tuple[str, ...] = ()


class Reading(NamedTuple):
    """How one input reads a level: the level as heard, the state, and the commands that follow.

    `state` is the name of a band, an end of a sweep or `centre`; "" if the level lies outside every band.
    `exact` is the level that it would hear if the line could carry every level; `code` is the integer on the
    line, None on a servo lead. `share` is the fraction of `full` to which another input limits the axis; `held`
    is the input that holds it still.
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
        """The distance to the nearest edge of the band in per cent; None without a band."""
        return self.band.margin(self.heard) if self.band else None

    @property
    def either(self) -> list[Band]:
        """The two bands that share the level if it lies exactly on their common edge; otherwise empty."""
        found = [band for band in self.feed.input.bands if band.holds(self.heard)]
        return found if len(found) > 1 else []


class Row(NamedTuple):
    """One position of one control: the level and pulse of a channel, and how every listener reads it.

    `conditions` are the controls that are not at their power-up positions meanwhile.
    """

    control: str
    position: Position
    level: Level
    pulse: Fraction
    readings: tuple[Reading, ...]
    conditions: tuple[tuple[str, Position], ...] = ()

    @property
    def serial_count(self) -> int | None:
        """The integer on the serial line of the channel; None if it leaves only by a servo pin."""
        return next((reading.code for reading in self.readings if reading.code is not None), None)


class Solution(NamedTuple):
    """How the values of an `auto` channel were found. Headroom is the smallest margin in per cent."""

    headroom: Fraction | None
    unique: bool


class ChannelResult(NamedTuple):
    """A channel with all its dialled values and everything that follows from them."""

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
    """One combination of positions of all controls of a channel, and its effect.

    `unasked`: it gives a state that none of the controls in these positions asks for. `stray` is then the
    control that owns this state, or "" if none does. `harmless`: the file declares the combination harmless.
    `cut_short`: the state is a rest that ends what a control asks for, other than a take or a stop.
    """

    places: tuple[tuple[str, Position], ...]
    level: Level
    readings: tuple[Reading, ...]
    unasked: bool
    stray: str
    harmless: bool
    cut_short: bool


class Loss(NamedTuple):
    """The behaviour of one input when the link is lost. `kind` is hold, level, none or "not set".

    `reading` is set if `kind` is level. `state` is the state of the input after the loss, "" if unknown.
    `held` is the input of the same unit that then holds it still, or "".
    """

    feed: Feed
    kind: str
    level: Fraction | None
    reading: Reading | None
    state: str
    held: str = ""

    @property
    def at_rest(self) -> bool:
        """Whether the input is certainly in its rest state, at its rest level, or held still."""
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
            ]  # another rule reports a line without an integer for the rest
            if turns:
                return any(abs(level - sweep.rest) <= NEXT_TO_REST for level in heard)
            return any(stands_still(sweep, level) for level in heard)
        return self.kind == "none" and self.state == CENTRE and sweep.rest == (sweep.low + sweep.high) / 2


class WrongStart(NamedTuple):
    """One control in one wrong position at power-up. `harm` sorts the worst first (0: a critical input)."""

    handset: str
    control: str
    position: Position
    harm: int
    readings: tuple[Reading, ...]
    learned: tuple[tuple[Feed, str], ...]  # each input that learns its neutral, and how it then reads its rest


class Solved(NamedTuple):
    """A rig with its sheets, in the order of the file; `home` is the position of each control at power-up."""

    rig: Rig
    links: Links
    results: dict[tuple[str, str], ChannelResult]
    power_up_positions: dict[tuple[str, str], Position]
    needed: frozenset[tuple[str, str]]  # the controls whose power-up position an input demands
    joint: dict[tuple[str, str], tuple[JointRow, ...]]  # channels that several controls feed
    losses: tuple[Loss, ...]
    wrong_starts: tuple[WrongStart, ...]
    bearers: dict[tuple[str, str], list[Feed]]  # by unit and input: the feeds that hold or scale that input
    power: "Power | None"  # None: the rig has no source of power and no pack with a capacity

    def results_of(self, handset: str) -> list[ChannelResult]:
        """The channels of a handset, sorted by number."""
        names = [(handset, name) for name in self.rig.units[handset].channels]
        found = [self.results[name] for name in names if name in self.results]
        return sorted(found, key=lambda result: result.number)
