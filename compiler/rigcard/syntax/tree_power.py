"""Statements on power: of a model, a cable and the rig block. `tree` holds them beside all others."""

from typing import NamedTuple

from rigcard.syntax.atoms import Name, NameList, Number, PortList, PortRange


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
    high: Number
    limit: UpTo | None
    ports: NameList | None


class Passes(NamedTuple):
    source: Name
    names: PortRange | PortList
    limit: UpTo | None


class Regulates(NamedTuple):
    source: Name
    names: PortRange | PortList
    volts: Number
    efficiency: Number
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


class Wire(NamedTuple):
    size: Number


class Rated(NamedTuple):
    current: Number


class Cut(NamedTuple):
    word: Name
