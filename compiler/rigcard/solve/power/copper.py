"""Resistance of a copper lead, there and back.

Metric sizes: the greatest resistance that IEC 60228 allows a plain flexible (class 5) conductor at 20 C; below 0.5 mm2,
which that standard does not have, the greater value of the table of VDE 0295. Ideal copper of the same cross-section
has 9 to 17 % less. AWG sizes: the diameter rule of ASTM B258 with annealed copper of
1/58 ohm mm2/m (IEC 60028); stranded wire has 2 to 3 % more. Sources of both tables: tests/reference/.
"""

from __future__ import annotations

from fractions import Fraction

from rigcard.resolve.power import SECTIONS, THICKEST
from rigcard.resolve.power_side import ROOM, Gauge
from rigcard.resolve.wire import area

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
RESISTIVITY = 1 / 58  # ohm mm2/m at 20 C
ALPHA = Fraction(4, 1000)  # a K, as IEC 60228 reckons; 0.00393 is the physical value


def ohms_per_km(gauge: Gauge) -> float:
    """Resistance of one core at 20 C."""
    if gauge.kind == "mm2":
        return CLASS_5[gauge.size]
    return 1000 * RESISTIVITY / area(gauge)


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
