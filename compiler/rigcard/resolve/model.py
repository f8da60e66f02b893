"""The rig with its names bound: what the later passes read. Levels are in per cent, pulses in us, sizes in mm.

Things refer to each other by name; the dictionaries of `Rig` hold them in the order of the file.
"""

from fractions import Fraction
from typing import NamedTuple

from rigcard.resolve.mechanics import Build, Independent, Inventory, Serial
from rigcard.resolve.power_side import CablePower, Day, PowerSide
from rigcard.source import Span

# the kind of a signal, or the role of a model, that is not said or not understood: an error already
UNKNOWN = ""
SERVO = "servo"  # the one signal that every rig knows: a pulse on a three-core lead
CENTRE = "centre"  # the position of a stick, slider or dial at rest


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
    """A kind of signal. `kind` is servo, channels, commands, power or picture; `powers`: it carries power, alone or
    beside that."""

    name: str
    title: str
    kind: str
    powers: bool
    channels: int
    counts: Counts | None
    serial: Serial
    span: Span | None


class Position(NamedTuple):
    """A place that a control can be put to; `value` runs from -1 (first end) to +1 (last end)."""

    name: str
    value: Fraction


class Control(NamedTuple):
    """A stick axis, slider, dial or switch. A switch has its positions only; the others their ends and centre."""

    name: str
    title: str
    kind: str
    positions: tuple[Position, ...]
    springs: bool
    play: Fraction  # per cent from its rest within which a control that springs back comes to stand
    at: tuple[Fraction, Fraction] | None
    trim: Fraction  # what one throw of its trim lever adds to a level; 0 without one
    span: Span

    @property
    def is_switch(self) -> bool:
        """Whether it rests only in its positions."""
        return self.kind == "switch"

    def position(self, name: str) -> Position | None:
        """The position of a name."""
        return next((position for position in self.positions if position.name == name), None)


class Pulse(NamedTuple):
    """The relation of level and servo pulse: centre in us and us per 1 %."""

    centre: Fraction
    per_percent: Fraction

    def width(self, level: Fraction) -> Fraction:
        """The pulse of a level, in us."""
        return self.centre + level * self.per_percent

    def level(self, width: Fraction) -> Fraction:
        """The level of a pulse, in per cent."""
        return (width - self.centre) / self.per_percent


class Arithmetic(NamedTuple):
    """How a handset makes a channel's level, as its model declares; see `solve.arithmetic`."""

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


class Need(NamedTuple):
    """A setting with a value, or (value None) something that a mounted unit must offer."""

    name: str
    value: str | None
    span: Span


class Port(NamedTuple):
    """A socket or pin. `channel` is set on a receiver's pins that carry one channel."""

    name: str
    direction: str
    signal: str
    channel: int | None
    connector: str | None
    pins: dict[str, str]  # what a pin is for here, before what the connector says
    short: str  # for labels and drawings; "": the name
    needs: tuple[Need, ...]
    span: Span

    @property
    def label(self) -> str:
        """What labels and drawings call it."""
        return self.short or self.name


class Band(NamedTuple):
    """The levels from `low` to `high`, both included, read as one state. `stills`: inputs of the same unit that do not
    act in it."""

    name: str
    low: Fraction
    high: Fraction
    rest: bool
    span: Span
    stills: tuple[str, ...] = ()

    def holds(self, level: Fraction) -> bool:
        """Whether a level is read as this state."""
        return self.low <= level <= self.high

    def margin(self, level: Fraction) -> Fraction:
        """Distance of a level to the nearest edge in per cent, negative outside."""
        return min(level - self.low, self.high - level)


class Turn(NamedTuple):
    """An angle in degrees, or (`speed`) degrees a second."""

    degrees: Fraction
    speed: bool


class Scale(NamedTuple):
    """Another input whose axis turns with a part of its `full`: from `low` at the first end to `high` at the last, in
    per cent."""

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
    dead: Fraction | None  # per cent about rest that count as rest
    full: Turn | None  # what the ends of the sweep stand for
    scales: Scale | None = None
    reached: Fraction | None = None  # per cent of the way that count as the end; None: not said


class Input(NamedTuple):
    """What a device makes of a level: bands, or else a sweep."""

    name: str
    title: str
    port: str
    critical: bool
    stops: bool  # a declared safety function
    bands: tuple[Band, ...]
    sweep: Sweep | None
    learns: bool  # takes the first level after power-up as its zero
    dwell: Fraction | None  # ms that a level must last to be read
    silence: str | None  # the state without pulses
    sends: tuple[str, ...]  # the ports that its commands leave by
    needs: tuple[Need, ...]
    span: Span

    @property
    def states(self) -> list[str]:
        """The names that an `expect` can give: of the bands or of the sweep's ends."""
        return [self.sweep.first, self.sweep.last] if self.sweep else [band.name for band in self.bands]

    @property
    def commands(self) -> list[str]:
        """The names of the commands that it can make: its bands, or itself where it sweeps."""
        return [self.name] if self.sweep else [band.name for band in self.bands]


class Setting(NamedTuple):
    """A menu item: where it is found, what may be chosen (empty: anything), how it comes from the maker, or ""."""

    name: str
    menu: str
    choices: tuple[str, ...]
    default: str


class Command(NamedTuple):
    """Something that a device can be told to do; `does` names the setting that says what. `toggles`: the two states
    that each order changes between."""

    name: str
    toggles: tuple[str, str] | None
    needs: tuple[Need, ...]
    does: str | None
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
    pulse: Pulse | None
    window: tuple[Fraction, Fraction] | None  # the pulses that it takes for pulses, in us
    ports: dict[str, Port]
    passed: dict[str, str]  # a port that a signal leaves by as it came in -> the port that it came in by
    inputs: dict[str, Input]
    settings: dict[str, Setting]
    commands: dict[str, Command]
    hazards: tuple[str, ...]
    carries: Fraction | None
    mass: Fraction | None
    offers: tuple[str, ...]
    flips: tuple[str, ...]
    has: tuple[str, ...]
    loss_after: Fraction | None  # ms from loss of the link to the failsafe level
    ready_after: Fraction | None  # ms from power to work
    power: PowerSide
    span: Span


# ---- units ---------------------------------------------------------------------------------------------------


class Travel(NamedTuple):
    """How far each side of the control goes, in per cent."""

    low: Fraction
    high: Fraction


class Aim(NamedTuple):
    """A level wanted at a position of the channel's control."""

    position: Position
    level: Fraction
    span: Span


class Switched(NamedTuple):
    """The rate, or the expo, or both, that count while another control stands at a position."""

    control: str
    position: Position
    rate: Fraction | None
    expo: Fraction | None


class Shape(NamedTuple):
    """What a handset does to a control before travel: rate and expo in per cent, slow in ms end to end.

    The first of `switched` that counts goes before `rate` and `expo`.
    """

    rate: Fraction
    expo: Fraction
    slow: Fraction
    switched: tuple[Switched, ...] = ()


class Channel(NamedTuple):
    """A channel as the file states it. None in travel, subtrim or reversed: the compiler computes it."""

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
    """The part of a mix's source taken below and above its centre, in per cent."""

    low: Fraction
    high: Fraction


class Mix(NamedTuple):
    """Adds part of the control of channel `source` to channel `target`. Rate None: computed."""

    source: str
    target: str
    rate: Rate | None
    while_control: str | None
    while_position: Position | None
    span: Span


class InputSource(NamedTuple):
    """Which channel an input of a many-channel port follows."""

    channel: str
    reversed: bool
    dead: Fraction | None  # in place of the model's
    full: Turn | None
    clear: Fraction | None  # degrees that the axis may turn unasked
    span: Span


class Value(NamedTuple):
    """The value that a setting is put to."""

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
    packs: tuple[str, ...]  # numbers of all its packs, that on the rig first
    owner: str
    value: int | None  # in the currency of the house; never on a paper
    short: str  # for labels and drawings; "": the title
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
    obeys: tuple[str, ...] | None  # of the commands of its model; None: all
    spare_for: str | None
    span: Span

    @property
    def role(self) -> str:
        """The role of its model."""
        return self.model.role

    @property
    def label(self) -> str:
        """What labels and drawings call it."""
        return self.short or self.title

    @property
    def numbers(self) -> tuple[str, ...]:
        """The numbers of the unit and of all its packs, the one on the rig first."""
        own = (self.asset,) if self.asset and self.asset not in self.packs else ()
        return own + self.packs

    @property
    def commands(self) -> dict[str, Command]:
        """The commands that it obeys."""
        if self.obeys is None:
            return self.model.commands
        return {name: self.model.commands[name] for name in self.obeys}


# ---- cables and the rig -----------------------------------------------------------------------------------------


class End(NamedTuple):
    """A plug of a cable leg and the port that it goes into."""

    unit: str
    port: str
    span: Span


class Leg(NamedTuple):
    """One lead of a cable. `id` is unique in the rig; `second` None: the file gives one end only."""

    id: str
    first: End
    second: End | None
    tag: str


class Cable(NamedTuple):
    """A cable of one or more legs; length and jacket (outside diameter) in mm."""

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
    """A claim: this position of this control gives this state, command or end of a sweep.

    `conditions` are where other controls of the handset stand; those it lacks stand as at power-up.
    """

    handset: str
    control: str
    position: Position
    unit: str
    wanted: tuple[str, ...]
    span: Span
    given_span: Span
    conditions: tuple[tuple[str, Position], ...] = ()

    def places(self) -> dict[str, Position]:
        """Where the controls stand that the claim speaks of."""
        return {**dict(self.conditions), self.control: self.position}


class Harmless(NamedTuple):
    """A combination of control positions that is known to do no harm, whatever state it gives."""

    handset: str
    places: tuple[tuple[str, Position], ...]
    span: Span


class Measurement(NamedTuple):
    """A pulse in us read at a pin with one control at one position and the others as at power-up."""

    handset: str
    channel: str
    control: str
    position: Position
    pulse: Fraction
    span: Span


class RadioLink(NamedTuple):
    """Another radio link than that of the handsets, or what is known of one of theirs: `channel` may be ""."""

    title: str
    sender: str
    receivers: tuple[str, ...]
    band: str
    channel: str
    span: Span


class Step(NamedTuple):
    """A line of the rig builder's own for one of the cards."""

    phase: str
    text: str


class LabelSheet(NamedTuple):
    """A sheet of labels: its paper and its grid of cells, lengths in mm from the top left of the page."""

    name: str
    title: str
    page: str
    columns: int
    rows: int
    cell: tuple[Fraction, Fraction]
    margin: tuple[Fraction, Fraction]
    gap: tuple[Fraction, Fraction]
    offset: tuple[Fraction, Fraction]  # right and down: makes up for the printer's feed error

    @property
    def cells(self) -> int:
        """Cells on a sheet."""
        return self.columns * self.rows


class Typefaces(NamedTuple):
    """Font files beside the rig file: for plain and for heavy text."""

    regular: str
    bold: str
    span: Span


class Rig(NamedTuple):
    """Everything that the file says."""

    title: str
    job: str
    revision: str
    date: str
    crew: dict[str, str]
    paper: str
    card: str  # the size of a pocket card: "" for 100 x 134 mm, or a6, a5, a4
    typeface: Typefaces | None  # the papers' own; None: the one that comes with the compiler
    per_sheet: int | None  # cards on a sheet at most; None: as many as it takes
    sheet: LabelSheet | None  # what labels are printed on; None: film that is cut by hand
    spares: Fraction  # spare labels in per cent of those of the cables; 0: neither spares nor blanks
    codes: str  # matrix, linear, or "": as the labels have room
    guard: Fraction
    day: Day
    signals: dict[str, Signal]
    models: dict[str, Model]  # all that the files declare
    units: dict[str, Unit]
    spare_units: dict[str, Unit]  # packed and labelled, and joined to nothing
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
        """A unit, in use or spare."""
        return self.units.get(name) or self.spare_units[name]

    def port(self, end: End) -> Port:
        """The port that a plug goes into."""
        return self.units[end.unit].model.ports[end.port]

    def signal_at(self, end: End) -> Signal:
        """The signal of that port."""
        return self.signals[self.port(end).signal]
