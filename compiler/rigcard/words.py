"""Writes values for people, in the same way on every paper and in every message."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache

MINUS = "−"


@lru_cache(maxsize=4096)  # a rig has few different values, but each is on many papers
def decimal(value: Fraction, places: int = 1) -> str:
    """Write a decimal number: halves round away from zero, no trailing zeros, a true minus sign."""
    scaled = abs(value) * 10**places
    digits = str(int(scaled + Fraction(1, 2))).rjust(places + 1, "0")
    whole, part = (digits[:-places], digits[-places:].rstrip("0")) if places else (digits, "")
    shown = f"{whole}.{part}" if part else whole
    return f"{MINUS}{shown}" if value < 0 and shown != "0" else shown


def percent(value: Fraction) -> str:
    """Write a level: `−42 %`."""
    return f"{decimal(value)} %"


def signed_percent(value: Fraction) -> str:
    """Write a level with its sign: `+40 %`, `0 %`, `−42 %`."""
    shown = percent(value)
    return f"+{shown}" if value > 0 and not shown.startswith("0 ") else shown


def microseconds(value: Fraction) -> str:
    """Write a pulse: `1360 us`, or to a tenth if it is not whole."""
    return f"{decimal(value)} µs"


def steps(value: int) -> str:
    """Write sub-trim steps with a true minus sign."""
    return f"{MINUS}{-value}" if value < 0 else str(value)


def millimetres(value: Fraction) -> str:
    """Write a length: in mm up to 950 mm, in metres above."""
    return f"{decimal(value / 1000, 2)} m" if value >= 1000 else f"{decimal(value)} mm"


def kilograms(value: Fraction) -> str:
    """Write a mass, to the gram."""
    return f"{decimal(value, 3)} kg"


def volts(value: Fraction | None) -> str:
    """Write a voltage: `3.3 V`, or nothing."""
    return "" if value is None else f"{decimal(value, 2)} V"


def baud(value: Fraction | None) -> str:
    """Write the rate of a serial line: `100000 baud`, or nothing."""
    return "" if value is None else f"{decimal(value)} baud"


def listed(parts: list[str]) -> str:
    """Join parts as "a, b and c"."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def listed_or(parts: list[str]) -> str:
    """Join parts as "a, b or c"."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} or {parts[-1]}"


def ranges(numbers: Sequence[int]) -> str:
    """Write rising whole numbers in short form: `4-5, 9-24`."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def escaped(text: str) -> str:
    """Words as they are written between quotes in a rig file."""
    return text.replace("\\", "\\\\").replace('"', '\\"')
