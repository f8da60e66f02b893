"""What the mechanical side of a rig is made of: connectors, leads as built, cases. Lengths in mm, masses in kg."""

from fractions import Fraction
from typing import NamedTuple

from rigcard.source import Span


class Serial(NamedTuple):
    """How a serial line talks; None or "": not stated. `reach`: the longest lead that it works over."""

    rate: Fraction | None  # baud
    polarity: str  # normal, inverted
    logic: Fraction | None  # volts
    reach: Fraction | None


class Connector(NamedTuple):
    """A kind of plug and socket. `sealed` None: nobody has said whether it keeps water out."""

    name: str
    title: str
    mates: tuple[str, ...]  # other kinds that it goes into
    sealed: bool | None
    rated: Fraction | None  # amperes
    pins: dict[str, str]  # what a pin is for, as far as it is stated: ground, supply, data
    span: Span


class Pin(NamedTuple):
    """One conductor: from a pin of the first plug to a pin of the second; `colour` by IEC 60757, or ""."""

    first: str
    second: str
    colour: str
    title: str
    span: Span


class Route(NamedTuple):
    """The way that a lead takes, with the slack in per cent of it and the loops that are left."""

    length: Fraction
    slack: Fraction
    loops: int
    loop: Fraction

    @property
    def needed(self) -> Fraction:
        """The least length that will do."""
        return self.length * (1 + self.slack / 100) + self.loops * self.loop


class Build(NamedTuple):
    """A cable as built and laid."""

    plugs: tuple[str, str] | None  # connectors, of the first and the second end of every leg
    pins: tuple[Pin, ...]
    route: Route | None
    wet: bool
    mass: Fraction | None
    rides: str | None  # the unit that bears it
    swap: str  # exact, same-type, any
    mark: str  # what tells it from a lead that looks alike
    spares: int
    case: str


class Case(NamedTuple):
    """A case that kit is packed in: its own mass, and the most that it may have when full."""

    name: str
    empty: Fraction
    limit: Fraction | None
    span: Span


class Independent(NamedTuple):
    """Inputs (unit, input) that must not hang on any one part together."""

    inputs: tuple[tuple[str, str], ...]
    spans: tuple[Span, ...]


class Inventory(NamedTuple):
    """What a rental house keeps: kinds of connectors, lengths of leads on the shelf by signal (ascending), cases."""

    connectors: dict[str, Connector]
    stock: dict[str, tuple[Fraction, ...]]
    cases: dict[str, Case]
