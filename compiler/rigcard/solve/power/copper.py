"""Copper leads: their resistance there and back, and the amperes that bare tables give them.

Metric sizes: the greatest resistance that IEC 60228 allows a plain flexible (class 5) conductor at 20 C; below 0.5 mm2,
which that standard does not have, the greater value of the table of VDE 0295. Ideal copper of the same cross-section
has 9 to 17 % less. AWG sizes: the diameter rule of ASTM B258 with annealed copper of
1/58 ohm mm2/m (IEC 60028); stranded wire has 2 to 3 % more. Sources of both tables: tests/reference/.
"""

from __future__ import annotations

from fractions import Fraction
from math import log, pi

from rigcard.resolve.power import SECTIONS, THICKEST
from rigcard.resolve.power_side import ROOM, Gauge

CLASS_5 = {  # ohm/km at 20 C
    size: float(ohms)
    for size, ohms in zip(
        SECTIONS,
        [
            "138",
            "79",
            "56",
            "39",
            "26",
            "19.5",
            "13.3",
            "7.98",
            "4.95",
            "3.30",
            "1.91",
            "1.21",
            "0.780",
            "0.554",
            "0.386",
            "0.272",
            "0.206",
            "0.161",
        ],
        strict=True,
    )
}
# A that a core of a cable with two or three loaded cores carries all day at 30 C: VDE 0298-4, table 11, and VDE 0891-1
# below 0.5 mm2. Source: tests/reference/wire_amperes.csv.
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
RESISTIVITY = 1 / 58  # ohm mm2/m at 20 C
ALPHA = Fraction(4, 1000)  # a K, as IEC 60228 reckons; 0.00393 is the physical value


def ohms_per_km(gauge: Gauge) -> float:
    """Resistance of one core at 20 C."""
    if gauge.kind == "mm2":
        return CLASS_5[gauge.size]
    return 1000 * RESISTIVITY / area(gauge)


def area(gauge: Gauge) -> float:
    """Cross-section of an AWG size in mm2."""
    diameter: float = 0.127 * 92 ** ((36 - float(gauge.size)) / 39)
    return pi / 4 * diameter * diameter


def carries(gauge: Gauge) -> Fraction:
    """Amperes that the tables give a size of wire; an AWG size has those of the metric size next to it by ratio."""
    section = float(gauge.size) if gauge.kind == "mm2" else area(gauge)
    return CARRIES[min(CARRIES, key=lambda size: abs(log(float(size) / section)))]


def to_20(temperature: Fraction) -> Fraction:
    """The factor that brings a resistance at a temperature in C to 20 C, to three places as the standard prints it."""
    return round(1 / (1 + ALPHA * (temperature - ROOM)), 3)


def lead_ohms(gauge: Gauge, length: Fraction, temperature: Fraction) -> float:
    """Resistance of a lead of a length in mm, both cores in series, at a temperature in C."""
    return 2 * float(length) / 1e6 * ohms_per_km(gauge) / float(to_20(temperature))


def thicker(gauge: Gauge) -> list[Gauge]:
    """The larger sizes of the same kind, the next one first."""
    if gauge.kind == "mm2":
        return [Gauge("mm2", size) for size in SECTIONS if size > gauge.size]
    return [Gauge("AWG", Fraction(size)) for size in range(int(gauge.size) - 1, THICKEST - 1, -1)]
