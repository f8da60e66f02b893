"""The mechanical side of a rig: connectors, cables as built, cases. Lengths are in mm, masses in kg."""

from fractions import Fraction
from typing import NamedTuple

from rigcard.source import Span


class Serial(NamedTuple):
    """The parameters of a serial line; None or "": not stated. `reach`: the longest lead that works."""

    rate: Fraction | None  # baud
    polarity: str  # normal, inverted
    logic: Fraction | None  # volts
    reach: Fraction | None


class Connector(NamedTuple):
    """A kind of plug and socket. `sealed` is None if nobody has said whether it keeps water out."""

    name: str
    title: str
    mates: tuple[str, ...]  # other kinds that it fits
    sealed: bool | None
    rated: Fraction | None  # amperes
    pins: dict[str, str]  # the purpose of each pin, as far as it is stated: ground, supply, data
    span: Span


class Pin(NamedTuple):
    """One conductor, from a pin of the first plug to a pin of the second; `colour`: IEC 60757, or ""."""

    first: str
    second: str
    colour: str
    title: str
    span: Span


class Route(NamedTuple):
    """The path of a lead: its length, its slack in per cent of that length, and its loops."""

    length: Fraction
    slack: Fraction
    loops: int
    loop: Fraction

    @property
    def needed(self) -> Fraction:
        """The shortest lead that is long enough."""
        return self.length * (1 + self.slack / 100) + self.loops * self.loop


class Build(NamedTuple):
    """A cable as built and laid."""

    plugs: tuple[str, str] | None  # the connectors at the first and at the second end of every leg
    pins: tuple[Pin, ...]
    route: Route | None
    wet: bool
    mass: Fraction | None
    rides: str | None  # the unit that carries it
    swap: str  # exact, same-type, any
    mark: str  # the mark that distinguishes it from a similar lead
    spares: int
    case: str


class Case(NamedTuple):
    """A case for kit: its own mass, and its mass limit when full."""

    name: str
    empty: Fraction
    limit: Fraction | None
    span: Span


class Independent(NamedTuple):
    """Inputs (unit, input) that must not depend on any common part."""

    inputs: tuple[tuple[str, str], ...]
    spans: tuple[Span, ...]


class Inventory(NamedTuple):
    """A rental house's stock: kinds of connectors, lengths on the shelf by signal (ascending), cases."""

    connectors: dict[str, Connector]
    stock: dict[str, tuple[Fraction, ...]]
    cases: dict[str, Case]
