"""The rig with its names bound, as the later passes read it. Levels are in per cent, pulses in us, sizes in mm.

Objects refer to each other by name; the dictionaries of `Rig` hold them in the order of the file.
"""

from fractions import Fraction
from typing import NamedTuple

from rigcard.resolve.handset_side import Arithmetic as Arithmetic
from rigcard.resolve.handset_side import Bench as Bench
from rigcard.resolve.handset_side import BenchReading as BenchReading
from rigcard.resolve.handset_side import Position as Position
from rigcard.resolve.handset_side import Pulse as Pulse
from rigcard.resolve.handset_side import Travel as Travel
from rigcard.resolve.mechanics import Build, Independent, Inventory, Serial
from rigcard.resolve.paper_side import LabelSheet, Reel, Typefaces
from rigcard.resolve.power_side import CablePower, Day, PowerSide
from rigcard.source import Span

# a signal's kind or a model's role that is missing or unknown, which has already been reported as an error
UNKNOWN = ""
SERVO = "servo"  # the one signal that every rig has: pulses on a three-core lead
CENTRE = "centre"  # the rest position of a stick, slider or dial


# ---- signals and models --------------------------------------------------------------------------------------


class Counts(NamedTuple):
    """The integer code of a level: a straight line through (low_percent, low) and (high_percent, high)."""

    low: int
    high: int
    low_percent: Fraction
    high_percent: Fraction
    field_low: int
    field_high: int


class Signal(NamedTuple):
    """A kind of signal. `kind` is servo, channels, commands, power or picture; `powers`: it carries power,
    alone or beside its kind."""

    name: str
    title: str
    kind: str
    powers: bool
    channels: int
    counts: Counts | None
    serial: Serial
    span: Span | None


class Control(NamedTuple):
    """A stick axis, slider, dial or switch. A switch has its own positions; the others have ends and centre."""

    name: str
    title: str
    kind: str
    positions: tuple[Position, ...]
    springs: bool
    play: Fraction  # per cent from its rest within which a control that springs back may settle
    at: tuple[Fraction, Fraction] | None
    trim: Fraction  # the change of a level by one throw of its trim lever; 0 without a lever
    span: Span

    @property
    def is_switch(self) -> bool:
        """Whether it is a switch, which rests only in its positions."""
        return self.kind == "switch"

    def position(self, name: str) -> Position | None:
        """The position with a given name, or None."""
        return next((position for position in self.positions if position.name == name), None)


class Ask(NamedTuple):
    """A reading of a device other than a handset that is still to be taken, and the line to type.

    `kind` is raised, lowered, turn or loss; `title` that of the input, or of the model. `state` is what must begin,
    and `start` the state to come from.
    """

    kind: str
    title: str
    state: str
    start: str
    form: str


class Need(NamedTuple):
    """A setting with its required value, or (value None) a feature that a mounted unit must offer."""

    name: str
    value: str | None
    span: Span


class Port(NamedTuple):
    """A socket or pin. `channel` is set on those pins of a receiver that carry a single channel."""

    name: str
    direction: str
    signal: str
    channel: int | None
    connector: str | None
    pins: dict[str, str]  # the purpose of each pin; overrides that of the connector
    short: str  # the name on labels and drawings; "": the same as `name`
    needs: tuple[Need, ...]
    span: Span

    @property
    def label(self) -> str:
        """The name on labels and drawings."""
        return self.short or self.name


class Band(NamedTuple):
    """The levels from `low` to `high`, both included, read as one state; `stills`: inputs that it disables."""

    name: str
    low: Fraction
    high: Fraction
    rest: bool
    span: Span
    stills: tuple[str, ...] = ()

    def holds(self, level: Fraction) -> bool:
        """Whether the input reads a level as this state."""
        return self.low <= level <= self.high

    def margin(self, level: Fraction) -> Fraction:
        """The distance of a level to the nearest edge in per cent; negative outside."""
        return min(level - self.low, self.high - level)


class Turn(NamedTuple):
    """An angle in degrees, or (`speed`) degrees a second."""

    degrees: Fraction
    speed: bool


class Scale(NamedTuple):
    """The scaling of another input, whose axis turns with a fraction of its `full`: from `low` at the first end
    to `high` at the last, in per cent."""

    input: str
    low: Fraction
    high: Fraction


class Sweep(NamedTuple):
    """An input that follows the level between two ends."""

    first: str
    last: str
    low: Fraction
    high: Fraction
    rest: Fraction | None
    dead: Fraction | None  # per cent on either side of rest that count as rest
    full: Turn | None  # the turn at the ends of the sweep
    scales: Scale | None = None
    reached: Fraction | None = None  # per cent of the way that count as the end; None: not stated


class Input(NamedTuple):
    """How a device reads a level: as bands or as a sweep."""

    name: str
    title: str
    port: str
    critical: bool
    stops: bool  # it is declared as a safety function
    bands: tuple[Band, ...]
    sweep: Sweep | None
    learns: bool  # it takes the first level after power-up as its zero
    dwell: Fraction | None  # ms for which a level must last to be read
    silence: str | None  # the state when no pulses arrive
    sends: tuple[str, ...]  # the ports by which its commands leave
    needs: tuple[Need, ...]
    span: Span

    @property
    def states(self) -> list[str]:
        """The names that an `expect` can use: those of the bands, or of the ends of the sweep."""
        return [self.sweep.first, self.sweep.last] if self.sweep else [band.name for band in self.bands]

    @property
    def commands(self) -> list[str]:
        """The names of the commands that it can send: those of its bands, or its own name if it sweeps."""
        return [self.name] if self.sweep else [band.name for band in self.bands]


class Setting(NamedTuple):
    """A menu item: its place in the menu, its choices (empty: anything), and its value as delivered, or ""."""

    name: str
    menu: str
    choices: tuple[str, ...]
    default: str


class Command(NamedTuple):
    """A command that a device obeys; `does` names the setting that defines its effect. `toggles`: the two
    states between which each command switches."""

    name: str
    toggles: tuple[str, str] | None
    needs: tuple[Need, ...]
    does: str | None
    span: Span


class Look(NamedTuple):
    """What a person sees on a device `when`: "on" (it has power), "linked" (a receiver, with the link of its handset),
    or a command that it obeys, a state that one toggles, or a state of one of its inputs."""

    text: str
    when: str
    span: Span


class Model(NamedTuple):
    """A kind of device."""

    name: str
    title: str
    role: str
    front: tuple[Fraction, Fraction] | None  # width and height of a handset's face, in mm
    controls: dict[str, Control]
    channels: int
    arithmetic: Arithmetic | None
    bench: Bench | None  # of a handset that leaves something unknown, or that has readings
    pulse: Pulse | None
    window: tuple[Fraction, Fraction] | None  # the range of pulses that it accepts, in us
    ports: dict[str, Port]
    passed: dict[str, str]  # from a port by which a signal leaves unchanged to the port by which it entered
    inputs: dict[str, Input]
    settings: dict[str, Setting]
    commands: dict[str, Command]
    hazards: tuple[str, ...]
    carries: Fraction | None
    mass: Fraction | None
    offers: tuple[str, ...]
    flips: tuple[str, ...]
    has: tuple[str, ...]
    menus: tuple[str, ...]  # the order of a handset's menus; () if the model does not state it
    asks: tuple[Ask, ...]  # readings that a device other than a handset still needs
    loss_after: Fraction | None  # ms from the loss of the link to the failsafe level
    ready_after: Fraction | None  # ms from power-up until it works
    looks: tuple[Look, ...]
    power: PowerSide
    span: Span


# ---- units ---------------------------------------------------------------------------------------------------


class Aim(NamedTuple):
    """The level that a position of the channel's control should have."""

    position: Position
    level: Fraction
    span: Span


class Switched(NamedTuple):
    """The rate, the expo, or both, that apply while another control is at a position."""

    control: str
    position: Position
    rate: Fraction | None
    expo: Fraction | None


class Shape(NamedTuple):
    """How a handset shapes a control before travel: rate and expo in per cent, slow in ms from end to end.

    The first entry of `switched` that applies overrides `rate` and `expo`.
    """

    rate: Fraction
    expo: Fraction
    slow: Fraction
    switched: tuple[Switched, ...] = ()


class Channel(NamedTuple):
    """A channel as the file states it. If travel, subtrim or reversed is None, the compiler computes it."""

    number: int
    name: str
    control: str
    travel: Travel | None
    subtrim: int | None
    reversed: bool | None
    failsafe: Fraction | str | None  # a level, "hold", "none", or not stated
    shape: Shape
    aims: tuple[Aim, ...]
    span: Span


class Rate(NamedTuple):
    """The fraction of a mix's source to add, below and above the source's centre, in per cent."""

    low: Fraction
    high: Fraction


class Mix(NamedTuple):
    """Adds a fraction of the control of channel `source` to channel `target`. Rate None: to be computed."""

    source: str
    target: str
    rate: Rate | None
    while_control: str | None
    while_position: Position | None
    span: Span


class InputSource(NamedTuple):
    """The channel that an input of a many-channel port follows."""

    channel: str
    reversed: bool
    dead: Fraction | None  # overrides that of the model
    full: Turn | None
    clear: Fraction | None  # degrees that the axis may turn without being asked
    span: Span


class Value(NamedTuple):
    """The value of a setting."""

    text: str
    span: Span


class Unit(NamedTuple):
    """One device of the rig."""

    name: str
    title: str
    model: Model
    asset: str
    serial: str
    software: str
    case: str
    packs: tuple[str, ...]  # the numbers of all its packs; the pack on the rig comes first
    owner: str
    value: int | None  # in the currency of the house; never printed
    short: str  # the name on labels and drawings; "": the title
    held_by: str | None
    memory: tuple[int, str] | None
    channels: dict[str, Channel]
    mixes: tuple[Mix, ...]
    bound_to: str | None
    underslung: bool | None
    mounted_on: str | None
    sources: dict[str, InputSource]
    unused: tuple[str, ...]
    leave: tuple[str, ...]  # controls that nobody may touch
    settings: dict[str, Value]
    notes: tuple[str, ...]
    swap: str  # exact, same-type, any
    obeys: tuple[str, ...] | None  # the commands of its model that it obeys; None: all
    spare_for: str | None
    span: Span

    @property
    def role(self) -> str:
        """The role of its model."""
        return self.model.role

    @property
    def label(self) -> str:
        """The name on labels and drawings."""
        return self.short or self.title

    @property
    def numbers(self) -> tuple[str, ...]:
        """The numbers of the unit and of all its packs; the pack on the rig comes first."""
        own = (self.asset,) if self.asset and self.asset not in self.packs else ()
        return own + self.packs

    @property
    def commands(self) -> dict[str, Command]:
        """The commands that the unit obeys."""
        if self.obeys is None:
            return self.model.commands
        return {name: self.model.commands[name] for name in self.obeys}

    @property
    def controls_in_use(self) -> list[str]:
        """The controls of a handset that its channels, switched rates and mixes read."""
        channels = self.channels.values()
        used = [channel.control for channel in channels]
        used += [one.control for channel in channels for one in channel.shape.switched]
        used += [mix.while_control for mix in self.mixes if mix.while_control]
        return list(dict.fromkeys(used))


# ---- cables and the rig --------------------------------------------------------------------------------------


class End(NamedTuple):
    """A plug of a cable leg, and the port into which it goes."""

    unit: str
    port: str
    span: Span


class Leg(NamedTuple):
    """One lead of a cable. `id` is unique in the rig; `second` is None if the file gives only one end."""

    id: str
    first: End
    second: End | None
    tag: str


class Cable(NamedTuple):
    """A cable with one or more legs; length and jacket (outside diameter) in mm."""

    name: str
    title: str
    legs: tuple[Leg, ...]
    length: Fraction | None
    jacket: Fraction | None
    moving: bool
    airborne: bool
    build: Build
    power: CablePower
    span: Span


class Expectation(NamedTuple):
    """A claim that this position of this control gives this state, command or end of a sweep.

    `conditions` gives the positions of other controls of the handset, `elsewhere` those of controls of other
    handsets; all others are at their power-up positions.
    """

    handset: str
    control: str
    position: Position
    unit: str
    wanted: tuple[str, ...]
    span: Span
    given_span: Span
    conditions: tuple[tuple[str, Position], ...] = ()
    elsewhere: tuple[tuple[tuple[str, str], Position], ...] = ()  # by handset and control

    @property
    def meanwhile(self) -> list[str]:
        """Where other controls stand, as a rig file names it: `front-toggle.away`, or `hs-b.front-toggle.away`."""
        own = [f"{control}.{position.name}" for control, position in self.conditions]
        return [*own, *(f"{'.'.join(place)}.{position.name}" for place, position in self.elsewhere)]

    def places(self) -> dict[str, Position]:
        """The positions of all controls that the claim names."""
        return {**dict(self.conditions), self.control: self.position}


class Harmless(NamedTuple):
    """A combination of control positions that the file declares harmless, whatever state it gives."""

    handset: str
    places: tuple[tuple[str, Position], ...]
    span: Span


class Measurement(NamedTuple):
    """A pulse in us, measured at a pin with one control at one position and the others as at power-up.

    `asset`: the number of the handset that was measured; "" if the file does not say which it was.
    """

    handset: str
    channel: str
    control: str
    position: Position
    pulse: Fraction
    span: Span
    asset: str = ""


class RadioLink(NamedTuple):
    """A radio link besides those of the handsets, or details of one of theirs; `channel` may be ""."""

    title: str
    sender: str
    receivers: tuple[str, ...]
    band: str
    channel: str
    span: Span


class Step(NamedTuple):
    """A line that the author of the rig adds to one of the cards."""

    phase: str
    text: str


class Rig(NamedTuple):
    """Everything that the files say about a rig."""

    title: str
    job: str
    revision: str
    date: str
    crew: dict[str, str]
    language: str  # of the fixed words of the papers, an ISO 639-1 code
    paper: str
    card: str  # the size of every card: "" for 134 x 200 mm, or a6, a5, a4
    typeface: Typefaces | None  # the typeface of the papers; None: the one that comes with the compiler
    per_sheet: int | None  # the most cards on a sheet; None: as many as fit
    sheet: LabelSheet | None  # the sheet for labels; None: a reel, or film that is cut by hand
    sheets: tuple[LabelSheet, ...]  # all that the files declare
    reel: Reel | None  # the tape or roll for labels; None: a sheet or film
    spares: Fraction  # spare labels in per cent of the cable labels; 0: neither spares nor blanks
    codes: str  # matrix, linear, or "": whichever fits the label
    guard: Fraction
    day: Day
    signals: dict[str, Signal]
    models: dict[str, Model]  # all models that the files declare
    units: dict[str, Unit]
    spare_units: dict[str, Unit]  # packed and labelled, but not connected
    cables: dict[str, Cable]
    expectations: tuple[Expectation, ...]
    harmless: tuple[Harmless, ...]
    measurements: tuple[Measurement, ...]
    steps: tuple[Step, ...]
    hazards: tuple[str, ...]
    notes: tuple[str, ...]
    questions: tuple[str, ...]
    inventory: Inventory
    independents: tuple[Independent, ...]
    radio_links: tuple[RadioLink, ...]
    span: Span

    def unit_or_spare(self, name: str) -> Unit:
        """A unit by its name, in use or spare."""
        return self.units.get(name) or self.spare_units[name]

    def port(self, end: End) -> Port:
        """The port into which a plug goes."""
        return self.units[end.unit].model.ports[end.port]

    def signal_at(self, end: End) -> Signal:
        """The signal of the port into which a plug goes."""
        return self.signals[self.port(end).signal]
