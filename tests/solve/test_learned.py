"""An input that learns its neutral: what `auto` dials is meant for the levels from its zero on; where it must start."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from rigs import solved_rig

KEYS = 'input keys on one "Keys" { b -90%..-50%; idle -20%..20% rest; a 60%..90%; learns neutral }'
BANDS = {"away": (-90, -50), "middle": (-20, 20), "toward": (60, 90)}
CLAIMS = "\n".join(
    f"expect hs.a.{place} gives dev.keys.{state}"
    for place, state in {"away": "b", "middle": "idle", "toward": "a"}.items()
)
STEP = Fraction(35, 240)


@pytest.mark.parametrize("size", ["4us", "5us"])
@pytest.mark.parametrize("shifts", ["whole", "centre"])
@pytest.mark.parametrize("subtrim", [-240, -37, 0, 100])
def test_auto_beside_a_learned_zero_against_every_travel(
    tmp_path: Path, subtrim: int, shifts: str, size: str
) -> None:
    """The smallest margin is the largest of all travels, then the next; the headroom is that margin (exhaustive)."""
    solved = solved_rig(
        tmp_path,
        inputs=KEYS,
        listener=f"pulse 1520us centre, {size} per 1%",
        shifts=shifts,
        channels=f"channel 1 keys from a travel auto subtrim {subtrim} failsafe hold",
        more=CLAIMS,
    )
    result = solved.results["hs", "keys"]
    scale = Fraction(4, int(size[0]))

    def margins(low: int, high: int) -> list[Fraction]:
        moved = {"away": -low, "middle": 0, "toward": high}
        at_ends = 0 if shifts == "centre" else subtrim * STEP
        sent = {
            place: level + (at_ends if place != "middle" else subtrim * STEP) for place, level in moved.items()
        }
        cut = {place: min(max(level, Fraction(-150)), Fraction(150)) for place, level in sent.items()}
        heard = {place: (level - cut["middle"]) * scale for place, level in cut.items()}
        return sorted(
            min(heard[place] - floor, ceiling - heard[place]) for place, (floor, ceiling) in BANDS.items()
        )

    best = max(margins(low, high) for low, high in product(range(141), repeat=2))
    assert margins(int(result.dial.travel.low), int(result.dial.travel.high)) == best
    assert result.solution is not None
    assert result.solution.headroom == best[0]


def test_a_switch_that_starts_at_its_end(tmp_path: Path) -> None:
    """Away is its zero, so toward is heard as both travels together: 130 to 170 asks for 150 (arithmetic)."""
    solved = solved_rig(
        tmp_path,
        inputs='input keys on one "Keys" { idle -20%..20% rest; a 130%..170%; learns neutral }',
        channels="channel 1 keys from two travel auto failsafe hold",
        more="expect hs.two.toward gives dev.keys.a",
    )
    travel = solved.results["hs", "keys"].dial.travel

    assert travel.low + travel.high == 150


def test_a_slider_whose_zero_is_learned_has_a_place_to_start_from(tmp_path: Path) -> None:
    """Without a rest, too: at its end, everything is heard one whole way beside (arithmetic)."""
    solved = solved_rig(
        tmp_path,
        inputs='input iris on one "Iris" { sweeps closed to open; learns neutral }',
        channels="channel 1 iris from fader failsafe hold",
        more="expect hs.fader.away gives dev.iris.open",
    )

    assert ("hs", "fader") in solved.needed
    assert {(start.position.name, start.learned[0][1]) for start in solved.wrong_starts} == {
        ("toward", "open"),
        ("away", "closed"),
    }


@pytest.mark.parametrize("wanted", ["subtrim 170", "subtrim auto"])
@pytest.mark.parametrize("pin", ["one", "bus"])
def test_a_learned_zero_is_where_the_middle_is(tmp_path: Path, wanted: str, pin: str) -> None:
    """However far a sub-trim puts the middle, it is where the control starts, and rest: half of 26 % is the largest margin."""
    solved = solved_rig(
        tmp_path,
        subtrim="-240..240 steps, 10 steps = 1%",
        inputs=f'input keys on {pin} "Keys" {{ b -56%..-30%; idle -16%..25% rest; a 46%..84%; learns neutral }}',
        channels=f"channel 1 keys from a travel auto {wanted} failsafe hold",
        cables=f'cable W1 "Lead" {{ rx.{"bus" if pin == "bus" else "p1"} to dev.{pin}; length 1m; jacket 3mm }}',
        unit="input keys from keys" if pin == "bus" else "",
        more=CLAIMS,
    )
    result = solved.results["hs", "keys"]

    assert solved.power_up_positions["hs", "a"].name == "middle"
    assert result.solution is not None
    assert result.solution.headroom is not None
    assert abs(result.solution.headroom - 13) <= (Fraction(1, 5) if pin == "bus" else 0)
