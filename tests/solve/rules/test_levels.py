"""Claims about levels: what a knocked trim and the guard take from a margin, pulses that nothing reads."""

from __future__ import annotations

from pathlib import Path

import pytest

from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import check_rig
from rigs import MIXED, OTHER_SET, compiled, ids, joint, only, rows

# ---- margins ------------------------------------------------------------------------------------------------------


KEY_STICK = 'stick lever "Lever" away to toward springs\n'
KEYS_FROM_A_STICK = {**OTHER_SET, "channels": OTHER_SET["channels"].replace("from b", "from lever")}


def test_a_trim_knocked_at_the_far_end_of_a_margin(tmp_path: Path) -> None:
    """F14: a trim throw of 10 % at the listener carries 69 % to 79 %, another key; 7.8125 % at the set; arithmetic."""
    solved, reported = compiled(tmp_path, **KEYS_FROM_A_STICK, handset=KEY_STICK + "trims 7.8125%")
    assert solved is not None
    said = only(reported, "RC415").message

    assert "`lever.toward` gives +69 %" in said
    assert "one throw of a trim is 10 %" in said
    knocked, _ = compiled(
        tmp_path, **{**OTHER_SET, "channels": "channel 2 keys from b travel 50% / 58% failsafe -3.90625%"}
    )
    assert knocked is not None
    assert rows(knocked, "keys")["b", "toward"].readings[0].state == "a-plus"


def test_a_trim_takes_from_a_margin_through_a_reversed_input_too(tmp_path: Path) -> None:
    """F14 reversed: +50 % is heard as -69 %, 5.99 % from the edge, of which a trim takes 10 %; arithmetic."""
    parts = {**KEYS_FROM_A_STICK, "unit": "input keys from keys reversed"}
    reported = compiled(tmp_path, **parts, handset=KEY_STICK + "trims 7.8125%")[1]
    said = only(reported, "RC415").message

    assert "one throw of a trim is 10 %" in said
    assert "69 %" in said


def test_the_guard_holds_for_combinations_too(tmp_path: Path) -> None:
    """F10: both switches away give -125 %, the very edge of its band: a guard of 5 % is not kept; arithmetic."""
    solved, found = compiled(tmp_path, **{**MIXED, "guard": "5%"})

    assert solved is not None
    assert joint(solved, "keys")["away", "away"].readings[0].margin == 0
    assert "RC415" in ids(found)


# ---- F2: pulses ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("size", "pulse"), [("5us", "975"), ("4us", None), ("5.12us", "962.4")])
def test_a_pulse_beyond_what_the_listener_reads(tmp_path: Path, size: str, pulse: str | None) -> None:
    """F2: run at -105 % is 975 us at 5 us per 1 %, an error; 1080 us at 4 us is well within 1000 to 2000."""
    parts = {
        "pulse": f"1500us centre, {size} per 1%",
        "listener": "reads 1000us..2000us",
        "channels": "channel 1 record from two travel 0% / 70% subtrim -240 reversed failsafe hold",
        "inputs": 'input trigger on one "Record" { run -150%..-70%; standby -69.99%..150% }',
    }
    _, found = compiled(tmp_path, **parts)

    assert ids(found) == (["RC418"] if pulse else [])
    if pulse:
        assert f"−105 %, a pulse of {pulse} µs" in found[0].message


def test_a_failsafe_pulse_beyond_what_the_listener_reads(tmp_path: Path) -> None:
    """F2 for the level that is sent on radio loss."""
    channels = "channel 1 record from two travel 80% / 80% failsafe -130%"
    _, found = compiled(tmp_path, listener="reads 1000us..2000us", channels=channels)

    assert "RC418" in ids(found)


def test_what_a_line_never_carries_is_no_matter_of_travel() -> None:
    """A band from 110 % on over a line that ends at 100 %: the remedy is at the band; the standing of the two levels."""
    path = Path(__file__).parents[2] / "cases/solve/band_beyond_the_line.rig"
    diagnostics = Diagnostics()
    check_rig(path, diagnostics, stock=(str(path.parents[1]),))
    hints = [found.hint for found in diagnostics if found.code.id == "RC411"]

    assert len(hints) == 2
    assert not any("travel auto" in hint for hint in hints)
    assert "widen `a` to end at -100%" in hints[0] and "widen `b` to begin at 100%" in hints[1]
