"""The leaves of the tree of statements: names, words in quotes, and numbers with their unit."""

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
    """A number with its unit as written (`%`, `us`, `mm`, `kg`, "" ...); the value is exact."""

    value: Fraction
    unit: str
    span: Span
