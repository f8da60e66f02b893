"""Converts numbers of the file into the units of the model: kg, ms, mm, degrees."""

from __future__ import annotations

from fractions import Fraction

from rigcard.resolve.model import (
    Turn,
)
from rigcard.syntax import tree


def mass_kg(number: tree.Number) -> Fraction:
    """A mass in kg."""
    return number.value / 1000 if number.unit == "g" else number.value


def milliseconds(number: tree.Number) -> Fraction:
    """A time in ms."""
    return number.value * 1000 if number.unit == "s" else number.value


def length_mm(number: tree.Number) -> Fraction:
    """A length in mm."""
    return number.value * {"mm": 1, "cm": 10, "m": 1000}[number.unit]


def turn(number: tree.Number) -> Turn:
    """An angle in degrees, or a speed in degrees a second."""
    return Turn(number.value, number.unit == "deg/s")
