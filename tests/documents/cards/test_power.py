"""Volts and run time on the power card."""

from __future__ import annotations

import re

import pytest

from cardlines import FACE, NAMES_OF_SAMPLES, WIDE, at, lines, sample
from rigcard.documents.cards.power import power_card, power_line
from rigcard.documents.diagram.power import power_lines
from rigcard.exports.power_json import power_data

FIGURES = re.compile(
    r"\| (?:[\d.]+|–) \|(?: ([\d.]+) \|)? ([\d.]+) \| (?:[\d.]+ to [\d.]+|[\d.]+|not stated)$"
)  # of a load


@pytest.mark.parametrize("name", NAMES_OF_SAMPLES)
def test_volts_are_alike_on_all_papers(name: str) -> None:
    """Power card, card of the device, drawing and rig.json give the same two values for a load, and say which."""
    solved = sample(name)
    assert solved.power
    data = power_data(solved.power)
    assert data
    card = lines(power_card(FACE, WIDE, solved))
    seen = 0
    for use in solved.power.rails.values():
        feeds = solved.power.feeding.rails[use.rail].leads
        if not feeds:
            continue
        title = solved.rig.units[use.rail[0]].title
        line = power_line(solved, solved.rig.units[use.rail[0]])
        (drawn,) = {power_lines(solved, lead.wire)[-2] for lead in feeds}
        (row,) = [row for row in card if row.startswith(f"{title} | ") and FIGURES.search(row)]
        (rail,) = [one for one in data["rails"] if (one["unit"], one["port"]) == use.rail]
        figures = FIGURES.search(row)
        assert figures
        full, empty = figures[1] or figures[2], figures[2]
        assert re.findall(r"([\d.]+) V", drawn) == list(dict.fromkeys((full, empty)))
        assert re.findall(r"([\d.]+) V (?:with|near|at peak)", line) == list(dict.fromkeys((full, empty)))
        assert float(full) == pytest.approx(rail["volts_full"], abs=0.0051)
        assert float(empty) == pytest.approx(rail["volts_empty"], abs=0.0051)
        seen += 1
    assert seen >= 2


def test_volts_of_a_camera_by_hand() -> None:
    """Gorge P02: 68 W over 0.3 m of 1 mm2 there and back, 19.5 ohm/km (IEC 60228 class 5) at 18 C (factor 1.008).

    V = (S + sqrt(S^2 - 4 P R)) / 2 for a load of constant power behind a resistance; arithmetic.
    """
    ohms = 2 * 0.0003 * 19.5 / 1.008
    full, empty = ((s + (s * s - 4 * 68 * ohms) ** 0.5) / 2 for s in (16.8, 12.0))
    solved = sample("gorge")

    line = power_line(solved, solved.rig.units["cam"])
    assert f"{full:.2f} V with a full pack, {empty:.2f} V near empty, at peak load" in line


def test_run_time_says_in_use_or_by_the_clock() -> None:
    """Gorge: a camera pack is changed every 100 min by the clock, 60 of them in use; cold it lasts 63 in use."""
    found = lines(power_card(FACE, WIDE, sample("gorge")))
    head = found[at(found, "PACK | HOLDS, Wh | FEEDS, W")]

    assert head.endswith("~ IN USE | ~ IN USE AT −2 °C | ~ BRING (spare) | CHANGE EVERY")
    assert found[at(found, "Camera pack | ")].endswith("| 90 min | 63 min | 7 (1) | 100 min")
    assert "rig on for 60 % of the day" in " ".join(found)


def test_no_columns_for_what_nobody_stated() -> None:
    """First rig: no day and no frost, so nothing to bring or to change, and no sentence about it."""
    found = lines(power_card(FACE, WIDE, sample("first")))
    text = " ".join(found)

    assert "PACK | HOLDS, Wh | FEEDS, W | ~ IN USE" in found
    assert "Change each pack" not in text
    assert "spare" not in text
