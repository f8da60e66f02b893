"""Statements as written: one class for each rule of `grammar/rig.lark`, with fields in the order of its parts.

A field of type tuple takes all remaining parts.
"""

from typing import NamedTuple

from rigcard.syntax.leaves import Name as Name
from rigcard.syntax.leaves import Number as Number
from rigcard.syntax.leaves import Words as Words


class PortRange(NamedTuple):
    first: Name
    last: Name


class PortList(NamedTuple):
    names: tuple[Name, ...]


class NameList(NamedTuple):
    names: tuple[Name, ...]


class File(NamedTuple):
    statements: tuple[object, ...]


# ---- rig --------------------------------------------------------------------------------------------------


class Rig(NamedTuple):
    title: Words
    items: tuple[object, ...]


class Job(NamedTuple):
    text: Words


class Revision(NamedTuple):
    text: Words
    date: Name | None


class CrewRole(NamedTuple):
    name: Name
    title: Words


class Crew(NamedTuple):
    roles: tuple[CrewRole, ...]


class Language(NamedTuple):
    code: Name


class Paper(NamedTuple):
    name: Name


class Guard(NamedTuple):
    percent: Number


class CardSize(NamedTuple):
    name: Name


class PerSheet(NamedTuple):
    number: Number


class Typeface(NamedTuple):
    regular: Words
    bold: Words | None


class SpareLabels(NamedTuple):
    percent: Number


class Codes(NamedTuple):
    kind: Name


class Use(NamedTuple):
    path: Words


class Place(NamedTuple):
    parts: tuple[Name, ...]


class Condition(NamedTuple):
    handset: Name | None  # None: that of the claim
    control: Name
    position: Name


class Conditions(NamedTuple):
    conditions: tuple[Condition, ...]


class Expect(NamedTuple):
    given: Place
    then: Place
    conditions: Conditions | None


class Harmless(NamedTuple):
    places: tuple[Place, ...]


class Measured(NamedTuple):
    given: Place
    channel: Name
    pulse: Number
    asset: Words | None


class Step(NamedTuple):
    phase: Name
    text: Words


class Hazard(NamedTuple):
    name: Name


class Note(NamedTuple):
    text: Words


class Question(NamedTuple):
    text: Words


# ---- signal -----------------------------------------------------------------------------------------------


class Signal(NamedTuple):
    name: Name
    title: Words
    options: tuple[object, ...]


class CarriesChannels(NamedTuple):
    number: Number


class CarriesKind(NamedTuple):
    kinds: tuple[Name, ...]


class Counts(NamedTuple):
    low: Number
    high: Number
    low_percent: Number
    high_percent: Number


class Field(NamedTuple):
    low: Number
    high: Number


class Baud(NamedTuple):
    number: Number


class Polarity(NamedTuple):
    name: Name


class Logic(NamedTuple):
    voltage: Number


class Reach(NamedTuple):
    length: Number


# ---- model ------------------------------------------------------------------------------------------------


class Model(NamedTuple):
    name: Name
    title: Words
    items: tuple[object, ...]


class Role(NamedTuple):
    name: Name


class Face(NamedTuple):
    width: Number
    height: Number


class Lever(NamedTuple):
    kind: Name
    name: Name
    title: Words
    first: Name
    last: Name
    options: tuple[object, ...]


class Switch(NamedTuple):
    name: Name
    title: Words
    parts: tuple[object, ...]


class Springs(NamedTuple):
    word: Name
    within: Number | None


class At(NamedTuple):
    x: Number
    y: Number


class Channels(NamedTuple):
    number: Number


class Window(NamedTuple):
    low: Number
    high: Number


class Pulse(NamedTuple):
    centre: Number
    per: Number
    percent: Number


class TravelRange(NamedTuple):
    low: Number
    high: Number
    step: Number


class SubtrimRange(NamedTuple):
    low: Number
    high: Number
    steps: Number
    percent: Number | Name
    shifts: Name


class ReverseOrder(NamedTuple):
    order: Name
    step: Name


class MixOrder(NamedTuple):
    order: Name
    step: Name


class OutputRange(NamedTuple):
    low: Number
    high: Number


class PulseUnknown(NamedTuple):
    word: Name


class ReverseUnknown(NamedTuple):
    word: Name


class MixUnknown(NamedTuple):
    word: Name


class OutputUnknown(NamedTuple):
    word: Name


class Reading(NamedTuple):
    travel: "Travel | None"
    subtrim: "Subtrim | None"
    reversed: "Reversed | None"
    given: Place
    mix: Number | None
    source: Place | None
    pulse: Number
    give: Number | None


class Trims(NamedTuple):
    throw: Number


class LossAfter(NamedTuple):
    time: Number


class LossUnknown(NamedTuple):
    word: Name


class LossReading(NamedTuple):
    time: Number


class Learns(NamedTuple):
    word: Name


class Dwell(NamedTuple):
    time: Number


class Silence(NamedTuple):
    state: Name


class Need(NamedTuple):
    name: Name
    value: Words | None


class Needs(NamedTuple):
    needs: tuple[Need, ...]


class PortChannel(NamedTuple):
    first: Number
    last: Number | None


class PinMeaning(NamedTuple):
    pin: Name | Number
    word: Name


class Pins(NamedTuple):
    pins: tuple[PinMeaning, ...]


class Short(NamedTuple):
    text: Words


class Port(NamedTuple):
    names: PortRange | PortList
    direction: Name
    signal: Name
    connector: Name | None
    channel: PortChannel | None
    pins: Pins | None
    short: Short | None
    needs: Needs | None


class Critical(NamedTuple):
    word: Name
    stop: Name | None


class Sends(NamedTuple):
    ports: NameList


class Input(NamedTuple):
    name: Name
    port: Name | None
    title: Words
    critical: Critical | None
    sends: Sends | None
    needs: Needs | None
    items: tuple[object, ...]


class Stills(NamedTuple):
    inputs: NameList


class Band(NamedTuple):
    name: Name
    low: Number
    high: Number
    rest: Name | None
    stills: Stills | None


class BandUnknown(NamedTuple):
    name: Name
    word: Name
    rest: Name | None
    stills: Stills | None


class EdgeReading(NamedTuple):
    way: Name
    state: Name
    level: Number


class TurnReading(NamedTuple):
    turn: Number
    time: Number
    level: Number


class DeadUnknown(NamedTuple):
    word: Name


class FullUnknown(NamedTuple):
    word: Name


class SweepOver(NamedTuple):
    low: Number
    high: Number


class SweepRest(NamedTuple):
    percent: Number


class DeadBand(NamedTuple):
    percent: Number


class Full(NamedTuple):
    turn: Number


class Clear(NamedTuple):
    turn: Number


class Scales(NamedTuple):
    input: Name
    low: Number
    high: Number


class Reached(NamedTuple):
    percent: Number


class Sweep(NamedTuple):
    first: Name
    last: Name
    options: tuple[object, ...]


class Choices(NamedTuple):
    texts: tuple[Words, ...]


class Default(NamedTuple):
    value: Words


class Setting(NamedTuple):
    name: Name
    title: Words
    choices: Choices | None
    default: Default | None


class Toggles(NamedTuple):
    first: Name
    second: Name


class Command(NamedTuple):
    names: NameList
    toggles: Toggles | None
    needs: Needs | None
    does: Name | None


class Carries(NamedTuple):
    mass: Number


class Mass(NamedTuple):
    mass: Number


class Has(NamedTuple):
    names: NameList


class Menus(NamedTuple):
    names: NameList


class Offers(NamedTuple):
    names: NameList


class Flips(NamedTuple):
    names: NameList


# ---- unit -------------------------------------------------------------------------------------------------


class Spare(NamedTuple):
    unit: Name


class Unit(NamedTuple):
    name: Name
    model: Name
    title: Words
    spare: Spare | None
    items: tuple[object, ...]


class Asset(NamedTuple):
    text: Words


class Serial(NamedTuple):
    text: Words


class Software(NamedTuple):
    text: Words


class Case(NamedTuple):
    text: Words


class Packs(NamedTuple):
    numbers: tuple[Words, ...]


class Owner(NamedTuple):
    text: Words


class Value(NamedTuple):
    number: Number


class Held(NamedTuple):
    role: Name


class Memory(NamedTuple):
    number: Number
    name: Words


class Channel(NamedTuple):
    number: Number
    name: Name
    control: Name
    options: tuple[object, ...]


class Travel(NamedTuple):
    low: Number
    high: Number


class TravelAuto(NamedTuple):
    word: Name


class Subtrim(NamedTuple):
    steps: Number


class SubtrimAuto(NamedTuple):
    word: Name


class Reversed(NamedTuple):
    word: Name


class ReverseAuto(NamedTuple):
    word: Name


class Slow(NamedTuple):
    time: Number


class Failsafe(NamedTuple):
    value: Name | Number


class Aim(NamedTuple):
    position: Name
    level: Number


class Aims(NamedTuple):
    aims: tuple[Aim, ...]


class Rate(NamedTuple):
    low: Number
    high: Number | None


class RateAuto(NamedTuple):
    word: Name


class During(NamedTuple):
    control: Name
    position: Name


class ChannelRate(NamedTuple):
    percent: Number
    expo: Number | None
    during: During | None


class Expo(NamedTuple):
    percent: Number
    during: During | None


class Mix(NamedTuple):
    source: Name
    target: Name
    rate: Rate | RateAuto
    during: During | None


class Bound(NamedTuple):
    handset: Name


class Mount(NamedTuple):
    name: Name


class Mounted(NamedTuple):
    carrier: Name


class Source(NamedTuple):
    input: Name
    channel: Name
    options: tuple[object, ...]


class Leave(NamedTuple):
    names: NameList


class Unused(NamedTuple):
    names: NameList


class Set(NamedTuple):
    setting: Name
    value: Words


class Obeys(NamedTuple):
    names: NameList


# ---- cable ------------------------------------------------------------------------------------------------


class Cable(NamedTuple):
    name: Name
    title: Words
    items: tuple[object, ...]


class Plug(NamedTuple):
    unit: Name
    port: Name


class Tag(NamedTuple):
    text: Words


class Leg(NamedTuple):
    first: Plug
    second: Plug | None
    tag: Tag | None


class Length(NamedTuple):
    length: Number


class Jacket(NamedTuple):
    diameter: Number


class CablePlace(NamedTuple):
    word: Name


class Ends(NamedTuple):
    first: Name
    second: Name


class Pin(NamedTuple):
    first: Name | Number
    second: Name | Number
    colour: Name | None
    title: Words | None


class Loops(NamedTuple):
    number: Number
    length: Number


class Route(NamedTuple):
    length: Number
    slack: Number | None
    loops: Loops | None


class Rides(NamedTuple):
    carrier: Name


class Swap(NamedTuple):
    word: Name


class Mark(NamedTuple):
    text: Words


class SpareLeads(NamedTuple):
    number: Number


# ---- connectors, lengths on the shelf, cases -----------------------------------------------------------------


class Connector(NamedTuple):
    name: Name
    title: Words
    options: tuple[object, ...]


class Mates(NamedTuple):
    connector: Name


class Seal(NamedTuple):
    word: Name


class StockLengths(NamedTuple):
    signal: Name
    lengths: tuple[Number, ...]


class Box(NamedTuple):
    name: Words
    empty: Number
    limit: Number | None


class Independent(NamedTuple):
    inputs: tuple[Place, ...]


class Link(NamedTuple):
    title: Words
    sender: Name
    receivers: NameList
    band: Words
    channel: Words | None


# ---- sheet of labels -----------------------------------------------------------------------------------------


class Sheet(NamedTuple):
    name: Name
    title: Words
    items: tuple[object, ...]


class SheetPage(NamedTuple):
    name: Name


class Grid(NamedTuple):
    columns: Number
    rows: Number


class Cell(NamedTuple):
    width: Number
    height: Number


class SheetMargin(NamedTuple):
    left: Number
    top: Number


class Tape(NamedTuple):
    width: Number
    margin: SheetMargin | None


class Roll(NamedTuple):
    width: Number
    height: Number
    margin: SheetMargin | None


class LabelsOn(NamedTuple):
    sheet: Name | Tape | Roll


class Gap(NamedTuple):
    across: Number
    down: Number


class Offset(NamedTuple):
    right: Number
    down: Number


# ---- groups of rules --------------------------------------------------------------------------------------

Control = Lever | Switch
Dialled = Travel | TravelAuto | Subtrim | SubtrimAuto | Reversed | ReverseAuto


# ---- power --------------------------------------------------------------------------------------------------


class Temperature(NamedTuple):
    low: Number
    high: Number


class Day(NamedTuple):
    time: Number
    duty: Number | None


class Night(NamedTuple):
    time: Number


class Usable(NamedTuple):
    percent: Number


class Cold(NamedTuple):
    percent: Number


class SparePacks(NamedTuple):
    number: Number


class UpTo(NamedTuple):
    current: Number


class Supplies(NamedTuple):
    low: Number
    high: Number | None
    limit: UpTo | None
    ports: NameList | None


class Passes(NamedTuple):
    source: Name
    names: PortRange | PortList
    limit: UpTo | None


class LedTo(NamedTuple):
    names: PortRange | PortList


class Joins(NamedTuple):
    inputs: NameList
    led_to: LedTo | None
    limit: UpTo | None


class Either(NamedTuple):
    inputs: NameList
    led_to: LedTo | None
    limit: UpTo | None


class StepsUp(NamedTuple):
    word: Name


class Regulates(NamedTuple):
    source: Name
    names: PortRange | PortList
    volts: Number
    efficiency: Number
    steps_up: StepsUp | None
    limit: UpTo | None


class Takes(NamedTuple):
    low: Number
    high: Number
    ports: NameList | None


class Peak(NamedTuple):
    load: Number


class Draws(NamedTuple):
    steady: Number
    peak: Peak | None
    ports: NameList | None


class Charge(NamedTuple):
    charge: Number
    volts: Number


class Capacity(NamedTuple):
    holds: Number | Charge


class Chemistry(NamedTuple):
    name: Name


class Cells(NamedTuple):
    number: Number


class Fuse(NamedTuple):
    current: Number


class Bays(NamedTuple):
    number: Number


class Charges(NamedTuple):
    time: Number


class ReadyAfter(NamedTuple):
    time: Number


class Shows(NamedTuple):
    text: Words
    when: Name


class Wire(NamedTuple):
    size: Number


class Rated(NamedTuple):
    current: Number


class Cut(NamedTuple):
    word: Name
