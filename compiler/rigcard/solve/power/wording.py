"""Volts, amperes and the like as people read them."""

from __future__ import annotations

from fractions import Fraction

from rigcard.solve.power.result import EMPTY, FULL, Figures
from rigcard.words import decimal
from rigcard.words import volts as exact_volts


def volts(value: float | Fraction) -> str:
    """To a hundredth."""
    return exact_volts(_exact(value))


def volts_at_peak(figures: Figures) -> str:
    """The volts at one load, alike on every paper: all loads at their peak, the pack full and near empty."""
    full, empty = volts(figures[FULL]), volts(figures[EMPTY])
    return f"{full} at peak" if full == empty else f"{full} full, {empty} near empty, at peak"


def amps(value: float | Fraction) -> str:
    """To a hundredth; small currents in mA."""
    exact = _exact(value)
    return f"{decimal(exact * 1000, 0)} mA" if 0 < exact < Fraction(1, 10) else f"{decimal(exact, 2)} A"


def watts(value: float | Fraction) -> str:
    """To a tenth."""
    return f"{decimal(_exact(value))} W"


def watt_hours(value: Fraction) -> str:
    """To a hundredth, or as far as it takes not to be shown as a limit of an air-travel class that it is not."""
    places = 2
    while places < 12 and value != (near := round(value, places)) and near in (100, 160):
        places += 1
    return f"{decimal(value, places)} Wh"


def clock(hours: Fraction) -> str:
    """A time: minutes under two hours, else hours to a tenth, cut off: a pack is not to be trusted beyond."""
    if hours < 2:
        return f"{int(hours * 60)} min"
    return f"{decimal(Fraction(int(hours * 10), 10))} h"


def _exact(value: float | Fraction) -> Fraction:
    return value if isinstance(value, Fraction) else Fraction(round(value, 6)).limit_denominator(10**6)


def range_of(low: float | Fraction, high: float | Fraction) -> str:
    """Volts from low to high; one value where both read alike."""
    first, last = volts(low), volts(high)
    return last if first == last else f"{first.removesuffix(' V')} to {last}"
