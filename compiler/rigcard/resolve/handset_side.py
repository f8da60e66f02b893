"""The arithmetic of a handset, and what readings at its pins have to find of it. `model` passes these types on."""

from fractions import Fraction
from typing import NamedTuple

from rigcard.source import Span


class Position(NamedTuple):
    """A position of a control; `value` runs from -1 (first end) to +1 (last end)."""

    name: str
    value: Fraction


class Pulse(NamedTuple):
    """The relation of level and servo pulse: the centre in us, and the us for 1 %."""

    centre: Fraction
    per_percent: Fraction

    def width(self, level: Fraction) -> Fraction:
        """The pulse for a level, in us."""
        return self.centre + level * self.per_percent

    def level(self, width: Fraction) -> Fraction:
        """The level for a pulse, in per cent."""
        return (width - self.centre) / self.per_percent


class Arithmetic(NamedTuple):
    """How a handset computes the level of a channel, as its model declares it; see `solve.arithmetic`."""

    pulse: Pulse
    travel_low: Fraction
    travel_high: Fraction
    travel_step: Fraction
    subtrim_low: int
    subtrim_high: int
    subtrim_step: Fraction
    shifts: str  # whole, centre
    reverse: str  # before-travel, before-subtrim, after-subtrim
    mix: str  # before-travel, after-travel, "" for a handset without mixes
    output_low: Fraction
    output_high: Fraction


class Travel(NamedTuple):
    """The travel on each side of the control, in per cent."""

    low: Fraction
    high: Fraction


class BenchReading(NamedTuple):
    """A pulse between `low` and `high` us, read at a pin of a blank memory with these values dialled.

    `travel` in per cent, `subtrim` in steps; `control` stands at `position`, and `mix` per cent of `source`, whose
    own values are blank, are added. `source` and `source_position` are "" and None where nothing is mixed in.
    """

    travel: Travel
    subtrim: int
    reversed: bool
    control: str
    position: Position
    mix: Fraction
    source: str
    source_position: Position | None
    low: Fraction
    high: Fraction
    span: Span


class Bench(NamedTuple):
    """What the model of a handset leaves to be found by readings at the pin.

    `unknown`: which of `words.LEARNABLE`. `declared` has a stand-in for each of them, which no later pass sees.
    `steps` is the number of sub-trim steps whose size the model states. `found`: what the readings settled.
    `asks`: the readings that are still to be taken, without their pulses.
    """

    unknown: tuple[str, ...]
    declared: Arithmetic
    steps: int
    readings: tuple[BenchReading, ...]
    found: tuple[str, ...] = ()
    asks: tuple[BenchReading, ...] = ()

    @property
    def left(self) -> tuple[str, ...]:
        """What is unknown still."""
        return tuple(name for name in self.unknown if name not in self.found)
