"""The facts of one revision that are compared, flat and by key. Levels are in per cent, pulses in us, lengths in mm."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

Number = Fraction | None


class Done(NamedTuple):
    """What an input makes of a position: its state ("" between bands), and what the units that obey then do."""

    state: str
    does: tuple[str, ...]
    held_by: str


class Margin(NamedTuple):
    """The distance to the nearest edge: in per cent as heard, and in us of the handset (None on a serial line)."""

    percent: Fraction
    pulse: Number


class Sent(NamedTuple):
    """What a channel sends with its controls somewhere: a level in per cent, and the pulse of a pin in us."""

    level: Fraction
    pulse: Fraction


class Turn(NamedTuple):
    """How far, in degrees, or how fast, in degrees a second, an axis turns."""

    degrees: Number
    speed: Number


class Loss(NamedTuple):
    """What an input does on radio loss: `kind` hold, preset, silence or unknown, after `delay` ms."""

    kind: str
    level: Number
    state: str
    does: tuple[str, ...]
    delay: Number
    at_rest: bool
    unasked: Number


class Dial(NamedTuple):
    """What is dialled into a channel."""

    number: int
    control: str
    low: Fraction
    high: Fraction
    subtrim: int
    reversed: bool
    rate: Fraction
    expo: Fraction
    switched: tuple[tuple[str, Number, Number], ...]  # control.position, rate, expo
    slow: Fraction
    mixes: tuple[tuple[str, Number, Number, str], ...]  # source, low, high, control.position or ""
    failsafe: Fraction | str


class Unit(NamedTuple):
    """One device. `spare_for`: the unit whose place it takes, "" for one in use."""

    title: str
    model: str
    model_title: str
    role: str
    asset: str
    serial: str
    software: str
    case: str
    packs: tuple[str, ...]
    owner: str
    mass: Number
    held_by: str
    memory: tuple[int, str] | None  # number and name
    bound_to: str
    mounted_on: str
    underslung: bool | None
    spare_for: str = ""


class Source(NamedTuple):
    """What an input of a menu follows: a channel by its number, and whether the menu reverses it."""

    channel: int
    reversed: bool


class Leg(NamedTuple):
    """The ports into which the two plugs of a lead go, as unit.port; `second` "" if one end is free."""

    first: str
    second: str


class Cable(NamedTuple):
    """A cable as it is made, laid and packed."""

    title: str
    length: Number
    jacket: Number
    wire: str
    plugs: tuple[str, ...]
    pins: tuple[tuple[str, str, str], ...]
    wet: bool
    moving: bool
    airborne: bool
    mass: Number
    rides: str
    case: str
    mark: str
    spares: int
    needed: Number  # what its way takes; None if no route is stated


class Rail(NamedTuple):
    """The volts of a rail at peak with the pack full and near empty, and the window that it takes."""

    full: Fraction
    empty: Fraction
    low: Number
    high: Number


class Lead(NamedTuple):
    """The largest current of a lead that brings power, and its rating."""

    amps: Fraction
    rated: Number


class Run(NamedTuple):
    """What a pack holds and for how many hours it lasts; `day` and `spares`: packs for the day and beside them."""

    watt_hours: Fraction
    hours: Number
    cold: Number
    day: int | None
    spares: int
    air: str


class Weight(NamedTuple):
    """A mass, and the most that it may be."""

    mass: Fraction
    limit: Number


class Card(NamedTuple):
    """A card group: its check code, its role ("" for everybody) and its copies. `issue`: it is the issue sheet."""

    code: str
    role: str
    copies: int
    issue: bool


Where = tuple[str, ...]  # handset, control, position, then control.position of others that stand elsewhere


class Facts(NamedTuple):
    """Everything of one revision that is compared; keys are names of the file, tuples where it takes several."""

    title: str
    job: str
    revision: str
    date: str
    crew: dict[str, str]
    units: dict[str, Unit]
    spares: dict[str, Unit]
    settings: dict[tuple[str, str], str]  # unit, setting
    sources: dict[tuple[str, str], Source]  # unit, input; of inputs that a menu assigns to channels
    legs: dict[str, Leg]
    cables: dict[str, Cable]
    dials: dict[tuple[str, str], Dial]  # handset, channel
    done: dict[tuple[str, ...], Done]  # unit, input, then where
    margins: dict[tuple[str, ...], Margin]
    turns: dict[tuple[str, ...], Turn]
    levels: dict[tuple[str, ...], Fraction]  # as heard, of sweeps without a stated turn
    sent: dict[tuple[str, ...], Sent]  # handset, channel, control, position, others
    combined: dict[tuple[str, ...], Done]  # unit, input, handset, then control.position of every control
    losses: dict[tuple[str, str], Loss]  # unit, input
    stands: dict[tuple[str, str], str]  # handset, control: its position at power-up
    starts: dict[
        tuple[str, str, str], str
    ]  # handset, control, position: the harm of standing there at power-up
    rails: dict[tuple[str, str], Rail]
    leads: dict[str, Lead]
    runs: dict[str, Run]
    loads: dict[str, Weight]  # by carrier
    handed: dict[str, Weight]  # by the unit that carries all: what a rigger or a pilot must know
    cases: dict[str, Weight]
    radio: dict[str, tuple[str, str]]  # by title: band, channel
    claims: dict[tuple[str, ...], bool]  # given, gives, while
    questions: dict[str, bool]
    hazards: dict[str, bool]
    steps: dict[tuple[str, str], bool]  # phase, text
    needs: dict[tuple[str, str], frozenset[tuple[str, ...]]]  # unit, input: the parts that it needs, kind first
    assigned: frozenset[tuple[str, str]]  # settings that say what a command does
    titles: dict[tuple[str, ...], str]  # "control", handset, name; "input", unit, name; "port"; "menu"
    sweeps: frozenset[tuple[str, ...]]  # unit, input: those that follow a level between two ends
    kinds: dict[str, str]  # by carrier of what is handed over: hung, all-up
    cards: dict[str, Card]
    labels: dict[str, str]
    sheets: dict[str, tuple[str, str]]  # file, check code
