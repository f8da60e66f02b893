"""What a model, a cable and the rig say of power: volts, amperes, watts, watt-hours, hours, as exact fractions."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from rigcard.source import Span

USABLE = Fraction(85)  # per cent of a pack's energy that a day may count on (common practice, no source)
COLD = Fraction(70)  # per cent of that which is left at and below freezing (common practice, no source)
FREEZING = Fraction(0)  # C
ROOM = Fraction(20)  # C: the temperature that wire tables are made for


class Supply(NamedTuple):
    """A source: volts when near empty and when full, and the current that it may give."""

    empty: Fraction
    full: Fraction
    limit: Fraction | None
    ports: tuple[str, ...]
    span: Span


class Outlet(NamedTuple):
    """Power that leaves by `ports` as it comes in at `source`; with `volts` through a regulator inside the unit.

    `either`: the inputs of which one at a time feeds `ports` (none: the unit itself); empty for every other outlet.
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
    """The volts that a unit takes at its ports."""

    low: Fraction
    high: Fraction
    ports: tuple[str, ...]
    span: Span


class Draw(NamedTuple):
    """What a unit draws, in A, or W if `watts`. Without ports: from a pack inside it."""

    steady: Fraction
    peak: Fraction
    watts: bool
    ports: tuple[str, ...]
    span: Span


class Capacity(NamedTuple):
    """What a pack holds in Wh; its nominal volts where the model gives a charge in Ah."""

    energy: Fraction
    volts: Fraction | None
    span: Span


class PowerSide(NamedTuple):
    """Everything that a model says of power. `rails`: the ports that are joined inside, each by its rail's name."""

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
    joined: tuple[tuple[str, ...], ...]  # inputs that may be fed together
    gives: frozenset[str]  # ports that power leaves by
    takes: frozenset[str]  # ports that power comes in by

    @property
    def plates(self) -> list[Outlet]:
        """The places where one input at a time feeds."""
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
        """As a rig file writes it."""
        return f"AWG{self.size}" if self.kind == "AWG" else f"{float(self.size):g}mm2"

    @property
    def shown(self) -> str:
        """As papers write it."""
        return f"AWG {self.size}" if self.kind == "AWG" else f"{float(self.size):g} mm²"


class CablePower(NamedTuple):
    """What a cable says of power: `cuts` are the cores, plus or ground, that are cut on purpose."""

    wire: Gauge | None
    fuse: Fraction | None
    rated: Fraction | None
    cuts: frozenset[str]


class Day(NamedTuple):
    """The day that packs must last. `assumed`: names of what the rig does not state."""

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
        """Whether packs may be as cold as freezing."""
        return self.coldest <= FREEZING
