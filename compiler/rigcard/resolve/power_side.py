"""The power data of a model, a cable and the rig: V, A, W, Wh and hours, as exact fractions."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from rigcard.source import Span

USABLE = Fraction(85)  # per cent of a pack's energy that a day may count on (common practice, no source)
COLD = Fraction(70)  # per cent of that energy which is left at and below freezing (common practice, no source)
FREEZING = Fraction(0)  # C
ROOM = Fraction(20)  # C: the temperature for which wire tables are made


class Supply(NamedTuple):
    """A source: its volts when nearly empty and when full, and its current limit."""

    empty: Fraction
    full: Fraction
    limit: Fraction | None
    ports: tuple[str, ...]
    span: Span


class Outlet(NamedTuple):
    """Power that enters at `source` and leaves by `ports`: unchanged, or regulated to `volts` in the unit.

    `either`: the inputs of a plate, one of which feeds `ports` at a time (no ports: it feeds the unit itself).
    It is empty for every other outlet.
    """

    source: str
    ports: tuple[str, ...]
    volts: Fraction | None
    efficiency: Fraction | None  # 0 to 1
    steps_up: bool  # the regulator raises volts
    either: tuple[str, ...]
    limit: Fraction | None
    span: Span


class Window(NamedTuple):
    """The range of volts that a unit accepts at its ports."""

    low: Fraction
    high: Fraction
    ports: tuple[str, ...]
    span: Span


class Draw(NamedTuple):
    """The current that a unit draws in A, or its power in W if `watts`. Without ports: from a pack inside."""

    steady: Fraction
    peak: Fraction
    watts: bool
    ports: tuple[str, ...]
    span: Span


class Capacity(NamedTuple):
    """The capacity of a pack in Wh; also its nominal volts if the model states a charge in Ah."""

    energy: Fraction
    volts: Fraction | None
    span: Span


class PowerSide(NamedTuple):
    """Everything that a model says about power. `rails`: for each port, the name of its rail."""

    supply: Supply | None
    outlets: tuple[Outlet, ...]
    windows: tuple[Window, ...]
    draws: tuple[Draw, ...]
    capacity: Capacity | None
    chemistry: str
    cells: int
    fuse: Fraction | None  # on its outputs
    bays: int
    charges_in: Fraction | None  # h
    rails: dict[str, str]
    joined: tuple[tuple[str, ...], ...]  # inputs that may feed together
    gives: frozenset[str]  # ports by which power leaves
    takes: frozenset[str]  # ports by which power enters

    @property
    def plates(self) -> list[Outlet]:
        """The plates: places with several inputs, one of which feeds at a time."""
        return [outlet for outlet in self.outlets if outlet.either]

    def meets(self, rail: str) -> bool:
        """Whether several sources may feed a rail together."""
        return any(self.rails[inputs[0]] == rail for inputs in self.joined)


class Gauge(NamedTuple):
    """A size of wire: `AWG` and its number, or `mm2` and its cross-section."""

    kind: str
    size: Fraction

    @property
    def written(self) -> str:
        """The size as a rig file writes it."""
        return f"AWG{self.size}" if self.kind == "AWG" else f"{float(self.size):g}mm2"

    @property
    def shown(self) -> str:
        """The size as papers write it."""
        return f"AWG {self.size}" if self.kind == "AWG" else f"{float(self.size):g} mm²"


class CablePower(NamedTuple):
    """The power data of a cable. `cuts` are the cores, plus or ground, that are cut on purpose."""

    wire: Gauge | None
    fuse: Fraction | None
    rated: Fraction | None
    cuts: frozenset[str]


class Day(NamedTuple):
    """The day for which the packs must last. `assumed`: the names of the values that the rig does not state."""

    coldest: Fraction  # C
    hottest: Fraction
    hours: Fraction | None
    duty: Fraction  # 0 to 1
    night: Fraction | None  # hours for charging
    usable: Fraction  # 0 to 1
    cold: Fraction  # 0 to 1
    spares: int
    assumed: frozenset[str]

    @property
    def freezing(self) -> bool:
        """Whether the packs may be at or below freezing."""
        return self.coldest <= FREEZING
