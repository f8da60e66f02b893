"""Volts of a pack against the published range of its chemistry (tests/reference/battery.csv)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from electrical import published
from rigcard.check.rules.power import CELL

NAMES = {
    "li-ion": "lithium-ion",
    "lipo": "lithium-polymer",
    "lifepo4": "lithium-iron-phosphate",
    "nimh": "nickel-metal-hydride",
    "lead-acid": "lead-acid",
}
OUTLIER = ("glossary outlier", "standards note", "float charge")  # rows that are no volts of a cell in use


@pytest.mark.parametrize(
    "row",
    [row for row in published("battery.csv") if row["chemistry"] in NAMES and row["quantity"] not in OUTLIER],
    ids=lambda row: f"{row['chemistry']} {row['quantity']}",
)
def test_published_cell_volts_lie_in_the_range_of_the_chemistry(row: dict[str, str]) -> None:
    """Nominal, full and empty volts of every chemistry are volts that the compiler believes."""
    low, high = CELL[NAMES[row["chemistry"]]]

    assert low <= Fraction(row["value"]) <= high


def test_the_range_of_a_chemistry_ends_at_published_volts() -> None:
    """No range is wider than the published ends: the lowest `empty` and the highest `full`, or what its note says."""
    said = {
        "lithium-polymer": ("full", "4.45 V"),
        "nickel-metal-hydride": ("full", "1.45 V"),
        "lead-acid": ("full", "2.20 V"),
    }
    for short, name in NAMES.items():
        mine = [
            row
            for row in published("battery.csv")
            if row["chemistry"] == short and row["quantity"] not in OUTLIER
        ]
        low, high = CELL[name]
        assert low == min(Fraction(row["value"]) for row in mine)
        if name in said:
            notes = " ".join(row["note"] for row in mine if said[name][0] in row["quantity"])
            assert said[name][1] in notes
            assert high == Fraction(said[name][1].split()[0])
        else:
            assert high == max(Fraction(row["value"]) for row in mine)
