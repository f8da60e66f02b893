"""Statements as written: one class a rule of `grammar/rig.lark`, fields in the order of the rule's parts.

A field of type tuple takes the rest of the parts. What is made most often is a named tuple, the rest a `Rule`.
"""

from fractions import Fraction
from typing import NamedTuple

from rigcard.source import Span
from rigcard.syntax.rule import Rule


class Name(NamedTuple):
    """A name or a fixed word."""

    text: str
    span: Span


class Words(NamedTuple):
    """Text for people, without its quotes."""

    text: str
    span: Span


class Number(NamedTuple):
    """A number with its unit as written (`%`, `us`, `mm`, `kg`, "" ...), the value exact."""

    value: Fraction
    unit: str
    span: Span


class PortRange(Rule):
    first: Name
    last: Name


class PortList(Rule):
    names: tuple[Name, ...]


class NameList(Rule):
    names: tuple[Name, ...]


class File(NamedTuple):
    statements: tuple[object, ...]


# ---- rig --------------------------------------------------------------------------------------------------


class Rig(Rule):
    title: Words
    items: tuple[object, ...]


class Job(Rule):
    text: Words


class Revision(Rule):
    text: Words
    date: Name | None


class CrewRole(Rule):
    name: Name
    title: Words


class Crew(Rule):
    roles: tuple[CrewRole, ...]


class Paper(Rule):
    name: Name


class Guard(Rule):
    percent: Number


class CardSize(Rule):
    name: Name


class PerSheet(Rule):
    number: Number


class Typeface(Rule):
    regular: Words
    bold: Words | None


class LabelsOn(Rule):
    sheet: Name


class SpareLabels(Rule):
    percent: Number


class Codes(Rule):
    kind: Name


class Use(Rule):
    path: Words


class Place(Rule):
    parts: tuple[Name, ...]


class Expect(Rule):
    given: Place
    then: Place


class Measured(Rule):
    given: Place
    channel: Name
    pulse: Number


class Step(Rule):
    phase: Name
    text: Words


class Hazard(Rule):
    name: Name


class Note(Rule):
    text: Words


class Question(Rule):
    text: Words


# ---- signal -----------------------------------------------------------------------------------------------


class Signal(Rule):
    name: Name
    title: Words
    options: tuple[object, ...]


class CarriesChannels(Rule):
    number: Number


class CarriesKind(Rule):
    kind: Name


class Counts(Rule):
    low: Number
    high: Number
    low_percent: Number
    high_percent: Number


class Field(Rule):
    low: Number
    high: Number


class Baud(Rule):
    number: Number


class Polarity(Rule):
    name: Name


class Logic(Rule):
    voltage: Number


class Reach(Rule):
    length: Number


# ---- model ------------------------------------------------------------------------------------------------


class Model(Rule):
    name: Name
    title: Words
    items: tuple[object, ...]


class Role(Rule):
    name: Name


class Face(Rule):
    width: Number
    height: Number


class Lever(Rule):
    kind: Name
    name: Name
    title: Words
    first: Name
    last: Name
    options: tuple[object, ...]


class Switch(Rule):
    name: Name
    title: Words
    parts: tuple[object, ...]


class Springs(Rule):
    word: Name
    within: Number | None


class At(Rule):
    x: Number
    y: Number


class Channels(Rule):
    number: Number


class Window(Rule):
    low: Number
    high: Number


class Pulse(Rule):
    centre: Number
    per: Number
    percent: Number


class TravelRange(Rule):
    low: Number
    high: Number
    step: Number


class SubtrimRange(Rule):
    low: Number
    high: Number
    steps: Number
    percent: Number
    shifts: Name


class ReverseOrder(Rule):
    order: Name
    step: Name


class MixOrder(Rule):
    order: Name
    step: Name


class OutputRange(Rule):
    low: Number
    high: Number


class Trims(Rule):
    throw: Number


class LossAfter(Rule):
    time: Number


class Learns(Rule):
    word: Name


class Dwell(Rule):
    time: Number


class Silence(Rule):
    state: Name


class PortChannel(Rule):
    first: Number
    last: Number | None


class Port(Rule):
    names: PortRange | PortList
    direction: Name
    signal: Name
    connector: Name | None
    channel: PortChannel | None


class Critical(Rule):
    word: Name
    stop: Name | None


class Input(Rule):
    name: Name
    port: Name | None
    title: Words
    critical: Critical | None
    items: tuple[object, ...]


class Band(Rule):
    name: Name
    low: Number
    high: Number
    rest: Name | None


class SweepOver(Rule):
    low: Number
    high: Number


class SweepRest(Rule):
    percent: Number


class DeadBand(Rule):
    percent: Number


class Full(Rule):
    turn: Number


class Clear(Rule):
    turn: Number


class Sweep(Rule):
    first: Name
    last: Name
    options: tuple[object, ...]


class Choices(Rule):
    texts: tuple[Words, ...]


class Setting(Rule):
    name: Name
    title: Words
    choices: Choices | None


class Need(Rule):
    name: Name
    value: Words | None


class Needs(Rule):
    needs: tuple[Need, ...]


class Command(Rule):
    names: NameList
    needs: Needs | None
    does: Name | None


class Carries(Rule):
    mass: Number


class Mass(Rule):
    mass: Number


class Has(Rule):
    names: NameList


class Offers(Rule):
    names: NameList


class Flips(Rule):
    names: NameList


# ---- unit -------------------------------------------------------------------------------------------------


class Unit(Rule):
    name: Name
    model: Name
    title: Words
    items: tuple[object, ...]


class Asset(Rule):
    text: Words


class Serial(Rule):
    text: Words


class Software(Rule):
    text: Words


class Case(Rule):
    text: Words


class Held(Rule):
    role: Name


class Memory(Rule):
    number: Number
    name: Words


class Channel(Rule):
    number: Number
    name: Name
    control: Name
    options: tuple[object, ...]


class Travel(Rule):
    low: Number
    high: Number


class TravelAuto(Rule):
    word: Name


class Subtrim(Rule):
    steps: Number


class SubtrimAuto(Rule):
    word: Name


class Reversed(Rule):
    word: Name


class ReverseAuto(Rule):
    word: Name


class ChannelRate(Rule):
    percent: Number


class Expo(Rule):
    percent: Number


class Slow(Rule):
    time: Number


class Failsafe(Rule):
    value: Name | Number


class Aim(Rule):
    position: Name
    level: Number


class Aims(Rule):
    aims: tuple[Aim, ...]


class Rate(Rule):
    low: Number
    high: Number | None


class RateAuto(Rule):
    word: Name


class During(Rule):
    control: Name
    position: Name


class Mix(Rule):
    source: Name
    target: Name
    rate: Rate | RateAuto
    during: During | None


class Bound(Rule):
    handset: Name


class Mount(Rule):
    name: Name


class Mounted(Rule):
    carrier: Name


class Source(Rule):
    input: Name
    channel: Name
    options: tuple[object, ...]


class Leave(Rule):
    names: NameList


class Unused(Rule):
    names: NameList


class Set(Rule):
    setting: Name
    value: Words


# ---- cable ------------------------------------------------------------------------------------------------


class Cable(Rule):
    name: Name
    title: Words
    items: tuple[object, ...]


class Plug(Rule):
    unit: Name
    port: Name


class Tag(Rule):
    text: Words


class Leg(Rule):
    first: Plug
    second: Plug | None
    tag: Tag | None


class Length(Rule):
    length: Number


class Jacket(Rule):
    diameter: Number


class CablePlace(Rule):
    word: Name


class Ends(Rule):
    first: Name
    second: Name


class Pin(Rule):
    first: Name | Number
    second: Name | Number
    colour: Name | None
    title: Words | None


class Loops(Rule):
    number: Number
    length: Number


class Route(Rule):
    length: Number
    slack: Number | None
    loops: Loops | None


class Rides(Rule):
    carrier: Name


class Swap(Rule):
    word: Name


class Mark(Rule):
    text: Words


class SpareLeads(Rule):
    number: Number


# ---- connectors, lengths on the shelf, cases -----------------------------------------------------------------


class Connector(Rule):
    name: Name
    title: Words
    options: tuple[object, ...]


class Mates(Rule):
    connector: Name


class Seal(Rule):
    word: Name


class StockLengths(Rule):
    signal: Name
    lengths: tuple[Number, ...]


class Box(Rule):
    name: Words
    empty: Number
    limit: Number | None


class Independent(Rule):
    inputs: tuple[Place, ...]


# ---- sheet of labels -----------------------------------------------------------------------------------------


class Sheet(Rule):
    name: Name
    title: Words
    items: tuple[object, ...]


class SheetPage(Rule):
    name: Name


class Grid(Rule):
    columns: Number
    rows: Number


class Cell(Rule):
    width: Number
    height: Number


class SheetMargin(Rule):
    left: Number
    top: Number


class Gap(Rule):
    across: Number
    down: Number


class Offset(Rule):
    right: Number
    down: Number


# ---- groups of rules --------------------------------------------------------------------------------------

Control = Lever | Switch
Dialled = Travel | TravelAuto | Subtrim | SubtrimAuto | Reversed | ReverseAuto
ChannelOption = Dialled | Failsafe | Aims | ChannelRate | Expo | Slow


# ---- power --------------------------------------------------------------------------------------------------


class Temperature(Rule):
    low: Number
    high: Number


class Day(Rule):
    time: Number
    duty: Number | None


class Night(Rule):
    time: Number


class Usable(Rule):
    percent: Number


class Cold(Rule):
    percent: Number


class SparePacks(Rule):
    number: Number


class UpTo(Rule):
    current: Number


class Supplies(Rule):
    low: Number
    high: Number
    limit: UpTo | None
    ports: NameList | None


class Passes(Rule):
    source: Name
    names: PortRange | PortList
    limit: UpTo | None


class Regulates(Rule):
    source: Name
    names: PortRange | PortList
    volts: Number
    efficiency: Number
    limit: UpTo | None


class Takes(Rule):
    low: Number
    high: Number
    ports: NameList | None


class Peak(Rule):
    load: Number


class Draws(Rule):
    steady: Number
    peak: Peak | None
    ports: NameList | None


class Charge(Rule):
    charge: Number
    volts: Number


class Capacity(Rule):
    holds: Number | Charge


class Chemistry(Rule):
    name: Name


class Cells(Rule):
    number: Number


class Fuse(Rule):
    current: Number


class Bays(Rule):
    number: Number


class Charges(Rule):
    time: Number


class Wire(Rule):
    size: Number


class Rated(Rule):
    current: Number


class Cut(Rule):
    word: Name
