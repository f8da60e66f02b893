"""Resistance of leads, against published values of wire (tests/reference/wire_*.csv)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from electrical import UNITS, published
from rigcard.resolve.power import SECTIONS
from rigcard.resolve.power_side import Gauge
from rigcard.resolve.wire import CARRIES, area, carries
from rigcard.solve.power.copper import CLASS_5, lead_ohms, ohms_per_km, thicker, to_20


def test_metric_wire_is_the_limit_of_the_standard() -> None:
    """IEC 60228, class 5, plain, and from 0.14 mm2 on VDE 0295, tinned: every size of the table, and no other."""
    table = {Fraction(row["nominal_mm2"]): row for row in published("wire_metric.csv")}

    assert set(table) == set(SECTIONS) == set(CLASS_5)
    for size, row in table.items():
        metal = "plain" if size >= Fraction(1, 2) else "tinned"
        assert ohms_per_km(Gauge("mm2", size)) == float(row[f"class5_{metal}_max_r20_ohm_per_km"])
        assert ohms_per_km(Gauge("mm2", size)) > float(row["ideal_r20_ohm_per_km"])


def test_a_wire_carries_what_the_tables_say() -> None:
    """VDE 0298-4 and VDE 0891-1: every metric size; AWG sizes as the metric size that the trade calls equal."""
    table = {row["nominal_mm2"]: Fraction(row["multicore_a"]) for row in published("wire_amperes.csv")}

    assert {Fraction(size): amps for size, amps in table.items()} == CARRIES
    for size, amps in table.items():
        assert carries(Gauge("mm2", Fraction(size))) == amps
    # common practice, no source
    for awg, size in (
        (26, "0.14"),
        (24, "0.25"),
        (22, "0.34"),
        (20, "0.5"),
        (18, "0.75"),
        (16, "1.5"),
        (14, "2.5"),
    ):
        assert carries(Gauge("AWG", Fraction(awg))) == table[size]


@pytest.mark.parametrize("row", published("wire_awg.csv"), ids=lambda row: f"AWG{row['awg']}")
def test_awg_wire_follows_the_published_rule(row: dict[str, str]) -> None:
    """ASTM B258 with IEC 60028 copper: area and resistance of each size; table 1 printed, to its rounding (0.04 %)."""
    gauge = Gauge("AWG", Fraction(row["awg"]))

    assert area(gauge) == pytest.approx(float(row["area_mm2"]), rel=1e-4)
    assert ohms_per_km(gauge) == pytest.approx(float(row["r20_ohm_per_km"]), rel=1e-4)
    assert ohms_per_km(gauge) == pytest.approx(float(row["t1_r20_ohm_per_km"]), rel=4e-4)
    kilofeet = (ohms_per_km(gauge) * UNITS.ohm / UNITS.km).to("ohm/foot").magnitude * 1000
    assert kilofeet == pytest.approx(float(row["r20_ohm_per_kft"]), rel=1e-4)


@pytest.mark.parametrize("row", published("wire_temperature.csv"), ids=lambda row: row["conductor_degC"])
def test_the_factor_to_20_degrees_is_the_printed_one(row: dict[str, str]) -> None:
    """IEC 60228 correction factors, as printed."""
    assert to_20(Fraction(row["conductor_degC"])) == Fraction(row["printed_kt_to_20degC"])


def test_a_lead_counts_there_and_back_and_warm() -> None:
    """3 m of 1.5 mm2 at 20 and 40 C; Pint does the units."""
    gauge = Gauge("mm2", Fraction("1.5"))
    by_pint = (13.3 * UNITS.ohm / UNITS.km * 2 * 3 * UNITS.m).to("ohm").magnitude

    assert lead_ohms(gauge, Fraction(3000), Fraction(20)) == pytest.approx(by_pint)
    assert lead_ohms(gauge, Fraction(3000), Fraction(40)) == pytest.approx(by_pint / 0.926)


def test_thicker_wire_has_less_resistance() -> None:
    """The sizes to try stand in order, and each has less than the one before."""
    for gauge in (Gauge("mm2", Fraction("0.5")), Gauge("AWG", Fraction(30))):
        sizes = [gauge, *thicker(gauge)]

        assert len(sizes) > 5
        assert sorted(sizes, key=ohms_per_km, reverse=True) == sizes
