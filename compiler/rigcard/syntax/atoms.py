"""The smallest parts of statements: names, words, numbers, and lists of them. See `tree`."""

from fractions import Fraction
from typing import NamedTuple

from rigcard.source import Span


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


class PortRange(NamedTuple):
    first: Name
    last: Name


class PortList(NamedTuple):
    names: tuple[Name, ...]


class NameList(NamedTuple):
    names: tuple[Name, ...]
