"""Watt hours and their class of air travel, against the published examples (tests/reference/battery.csv)."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from electrical import POWER_RIG, UNITS, published
from rigcard.solve.power.air import CLASSES, air_class, watt_hours
from rigcard.solve.power.wording import watt_hours as energy_words
from rigs import checked

# ---- batteries ---------------------------------------------------------------------------------------------------


def _example(row: dict[str, str]) -> tuple[Fraction, Fraction, str]:
    volts, ampere_hours = row["quantity"].split(" x ")
    return Fraction(volts.split()[0]), Fraction(ampere_hours.split()[0]), row["note"].split(";")[0]


@pytest.mark.parametrize(
    "row",
    [row for row in published("battery.csv") if row["chemistry"] == "example"],
    ids=lambda row: row["quantity"],
)
def test_watt_hours_and_their_class(row: dict[str, str], tmp_path: Path) -> None:
    """49 CFR 171.8 and the passenger provisions: every worked example, both limits included; Pint multiplies too."""
    volts, charge, note = _example(row)
    text = POWER_RIG.format(
        rig="", pack=f"capacity {float(charge):g}Ah at {float(volts):g}V", load="draws 1W", p1="", more=""
    )
    solved, _ = checked(tmp_path, text)
    assert solved
    (pack,) = watt_hours(solved.rig)

    assert pack.energy == Fraction(row["value"]) == volts * charge
    by_pint = (float(volts) * UNITS.V * float(charge) * UNITS.A * UNITS.hour).to("Wh").magnitude
    assert float(pack.energy) == pytest.approx(by_pint)
    wanted = {"class <=100": 0, "class 100<x<=160": 1, "class >160": 2}[note]
    assert pack.air is CLASSES[wanted]


def test_f29_air_travel_classes() -> None:
    """F29: 97.68, 142.56 and 222 Wh; exactly 100 and 160 are in the lower class (common practice; see battery.csv)."""
    for volts, charge, energy, place in (
        ("14.8", "6.6", "97.68", 0),
        ("14.4", "9.9", "142.56", 1),
        ("22.2", "10", "222", 2),
        ("10", "10", "100", 0),
        ("16", "10", "160", 1),
    ):
        assert Fraction(volts) * Fraction(charge) == Fraction(energy)
        assert air_class(Fraction(energy)) is CLASSES[place]
    assert air_class(Fraction(100) + Fraction(1, 10**12)) is CLASSES[1]
    assert air_class(Fraction(160) + Fraction(1, 10**12)) is CLASSES[2]


# ---- rigs --------------------------------------------------------------------------------------------------------


def test_an_energy_beside_a_limit_is_not_rounded_to_it() -> None:
    """100 and 160 Wh part the classes for the journey: what is a little more is not shown as them."""
    assert [energy_words(Fraction(text)) for text in ("98", "100", "100.004", "160.0001", "100.006")] == [
        "98 Wh",
        "100 Wh",
        "100.004 Wh",
        "160.0001 Wh",
        "100.01 Wh",
    ]
