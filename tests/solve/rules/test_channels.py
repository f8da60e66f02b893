"""Claims about channels: slow, drift off a rest, a stop that is alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from rigs import KEYS, LEAD, MIXED, SECOND, STICK, STOP, TURNING, checked, compiled, ids, only, rig_text

# ---- slow -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("slow", "stay"), [("1s", "249.9 ms"), ("241ms", "60.2 ms"), ("239ms", None), ("100ms", None)]
)
def test_slow_presses_the_keys_between(tmp_path: Path, slow: str, stay: str | None) -> None:
    """F16: -100 to 100 % in 1 s is 0.25 s in a band of 50 %; read after 60 ms, so 0.24 s is the most; arithmetic."""
    parts = {
        "inputs": KEYS.replace("{", "{ reads after 60ms", 1),
        "channels": f"channel 2 keys from a slow {slow} failsafe 0%",
        "cables": MIXED["cables"],
    }
    solved, found = compiled(tmp_path, **parts)

    assert solved is not None
    assert ids(found) == (["RC442"] if stay else [])
    if stay:
        assert f"stays {stay} in `b-minus` of `dev`" in found[0].message
        assert "read after 60 ms" in found[0].message


# ---- a safety function ---------------------------------------------------------------------------------------------------


IRIS = 'input iris on three "Iris" { sweeps shut to open }'
BRAKE = "channel 1 brake from two failsafe -100%"


@pytest.mark.parametrize(
    ("parts", "reason"),
    [
        pytest.param({"inputs": STOP, "channels": BRAKE}, None, id="alone"),
        pytest.param(
            {"inputs": STOP, "channels": f"{BRAKE}; channel 3 x from a failsafe 0%; mix x into brake at 10%"},
            "several controls feed it",
            id="mixed into",
        ),
        pytest.param(
            {
                "inputs": f"{STOP}; {IRIS}",
                "channels": f"{BRAKE}; channel 3 iris from fader failsafe hold; mix brake into iris at 10%",
                "cables": f"{LEAD}\n{SECOND}",
            },
            "its control drives other channels too",
            id="mixed from",
        ),
        pytest.param(
            {"inputs": STOP + '; input lamp on one "Lamp" { sweeps dark to bright }', "channels": BRAKE},
            "other inputs listen to it",
            id="shared",
        ),
        pytest.param(
            {
                "inputs": f"{STOP}; {IRIS}",
                "channels": f"{BRAKE}; channel 3 iris from two failsafe hold",
                "cables": f"{LEAD}\n{SECOND}",
            },
            "its control drives other channels too",
            id="shared control",
        ),
        pytest.param(
            {
                "inputs": f"{STOP}; {IRIS}",
                "channels": f"{BRAKE}; channel 3 iris from fader failsafe hold; channel 4 x from a failsafe hold;"
                " mix x into iris at 10% while two away",
                "cables": f"{LEAD}\n{SECOND}",
            },
            "its control drives other channels too",
            id="control switches a mix",
        ),
        pytest.param(
            {
                "inputs": STOP.replace("free", "slip -30%..30%; free"),
                "channels": "channel 1 brake from a failsafe -100%",
            },
            "it is one of 3 levels",
            id="three levels",
        ),
    ],
)
def test_a_stop_is_alone_or_refused(tmp_path: Path, parts: dict[str, str], reason: str | None) -> None:
    """A stop depends on no other control, listener or level (common practice, no source)."""
    _, found = compiled(tmp_path, **parts)

    if reason is None:
        assert found == []
    else:
        assert reason in only(found, "RC444").message


ACROSS = 'stick  across "Across" left to right springs'


def drifting(play: int, dead: int) -> str:
    """A rig with a stick that comes to rest within `play` per cent."""
    text = rig_text(inputs=TURNING.format(dead=dead), channels=STICK.format(failsafe="0%"))
    assert ACROSS in text
    return text.replace(ACROSS, f"{ACROSS} within {play}%")


# ---- F17: drift ------------------------------------------------------------------------------------------------------


def test_a_stick_off_its_rest_drifts(tmp_path: Path) -> None:
    """F17: 3 % off, dead band 2 %, 60 deg/s: 0.6 deg/s, which is 36 deg a minute; arithmetic."""
    _, found = checked(tmp_path, drifting(play=3, dead=2))
    said = only(found, "RC437").message

    assert "it turns 0.6 deg/s, 36 deg a minute" in said
    assert "hear 3 % beside its rest" in said


@pytest.mark.parametrize("travel", ["100% / 50%", "50% / 100%"])
def test_the_side_of_more_travel_drifts_more(tmp_path: Path, travel: str) -> None:
    """F17 with half the travel on one side: 3 % off on the other side are 0.6 deg/s still; arithmetic."""
    text = drifting(play=3, dead=2).replace("pan from across", f"pan from across travel {travel}")

    assert "it turns 0.6 deg/s, 36 deg a minute" in only(checked(tmp_path, text)[1], "RC437").message


@pytest.mark.parametrize(("play", "dead"), [(3, 3), (0, 0), (2, 5)])
def test_a_stick_within_the_dead_band_stands_still(tmp_path: Path, play: int, dead: int) -> None:
    """F17: no drift where play is not beyond the dead band."""
    assert ids(checked(tmp_path, drifting(play, dead))[1]) == []


def test_play_of_what_is_mixed_in_drifts_too(tmp_path: Path) -> None:
    """2 % of play of each of two sticks, the second mixed in by half, are 3 %: a dead band of 2 % leaves 1 % of 60
    deg/s; arithmetic."""
    mixed = "channel 2 half from along failsafe 0%\n  mix half into pan at 50%"
    solved, found = checked(
        tmp_path,
        rig_text(
            handset='stick along "Along" toward to away springs within 2%',
            inputs=TURNING.format(dead=2),
            channels=f"{STICK.format(failsafe='0%')}\n  {mixed}",
        ).replace("left to right springs\n", "left to right springs within 2%\n"),
    )
    assert solved is not None, found
    said = [each.message for each in found if each.code.id == "RC437"]

    assert len(said) == 1
    assert "hear 3 % beside its rest" in said[0]


@pytest.mark.parametrize("turn", ["", "reversed"])
def test_a_trim_knocked_drifts_too(tmp_path: Path, turn: str) -> None:
    """F17 with a trim's throw of 10 % instead of the stick's play: 8 % of 60 deg/s, to either side; arithmetic."""
    parts = {"inputs": TURNING.format(dead=2), "channels": STICK.format(failsafe="0%"), "handset": "trims 10%"}
    parts["unit"] = f"input pan from pan {turn}"
    _, found = compiled(tmp_path, **parts)

    assert "it turns 4.8 deg/s, 288 deg a minute" in only(found, "RC437").message


def test_play_and_a_trim_knocked_add_up(tmp_path: Path) -> None:
    """F17 with both: 3 and 10 % are 13 % off, less the dead band 11 % of 60 deg/s; arithmetic."""
    text = drifting(play=3, dead=2).replace("has     slow", "trims 10%\n  has slow")
    said = only(checked(tmp_path, text)[1], "RC437").message

    assert "hear 13 % beside its rest" in said
    assert "it turns 6.6 deg/s, 396 deg a minute" in said


@pytest.mark.parametrize("steps", [240, -240])
def test_drift_about_a_rest_beside_the_middle(tmp_path: Path, steps: int) -> None:
    """Rest at 35 %, where 240 steps put it: 3 % off, less 2, of the 65 % to the nearer end are 0.92 deg/s; arithmetic.

    The axis may drift either way, and the nearer end is the faster: the same for a rest at -35 %.
    """
    text = drifting(play=3, dead=2).replace("rest 0%", f"rest {35 if steps > 0 else -35}%")
    text = text.replace("pan from across failsafe 0%", f"pan from across subtrim {steps} failsafe hold")
    said = [found.message for found in checked(tmp_path, text)[1] if found.code.id == "RC437"]

    assert len(said) == 1
    assert "hear 3 % beside its rest" in said[0]
    assert "it turns 0.92 deg/s, 55.4 deg a minute" in said[0]
