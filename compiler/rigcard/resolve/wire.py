"""Cross-sections of copper wire, and their current ratings from published tables.

Sources: tests/reference/wire_awg.csv and wire_amperes.csv.
"""

from fractions import Fraction
from math import log, pi

from rigcard.resolve.power_side import Gauge

# A for continuous load of a core at 30 C, in a cable with two or three loaded cores: VDE 0298-4, table 11, and
# VDE 0891-1 below 0.5 mm2. Source: tests/reference/wire_amperes.csv.
CARRIES = {
    Fraction(size): Fraction(amps)
    for size, amps in (
        pair.split(":")
        for pair in [
            "0.08:2",
            "0.14:3",
            "0.25:4.5",
            "0.34:5",
            "0.5:9",
            "0.75:12",
            "1:15",
            "1.5:18",
            "2.5:26",
            "4:34",
            "6:44",
            "10:61",
            "16:82",
            "25:108",
            "35:135",
            "50:168",
            "70:207",
            "95:250",
            "120:292",
        ]
    )
}


def area(gauge: Gauge) -> float:
    """Cross-section of an AWG size in mm2."""
    diameter: float = 0.127 * 92 ** ((36 - float(gauge.size)) / 39)
    return pi / 4 * diameter * diameter


def carries(gauge: Gauge) -> Fraction:
    """The current rating of a wire in A; an AWG size takes that of the nearest metric size by ratio."""
    section = float(gauge.size) if gauge.kind == "mm2" else area(gauge)
    return CARRIES[min(CARRIES, key=lambda size: abs(log(float(size) / section)))]
