"""Truth tables of controls that share a channel, and where such a table ends."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from rigcard.solve.joint import joint_tables
from rigs import KEYS, MIXED, WAYS, checked, compiled, ids, joint, only, rig_text, solved_rig

LEVELS = {  # F10: switch A down, switch B across
    "away": (-125, -100, -50),
    "middle": (-50, 0, 50),
    "toward": (50, 100, 125),
}
STATES = {
    "away": ("a-minus", "a-minus", "b-minus"),
    "middle": ("b-minus", "none", "b-plus"),
    "toward": ("b-plus", "a-plus", "a-plus"),
}


# ---- two switches on one channel -----------------------------------------------------------------------------------


def test_truth_table_of_two_switches(tmp_path: Path) -> None:
    """F10: nine levels and states of A with half of B, output +-125 %; arithmetic on edges of common practice."""
    table = joint(solved_rig(tmp_path, **MIXED), "keys")

    assert len(table) == 9
    for first, (at, second) in product(WAYS, enumerate(WAYS)):
        row = table[first, second]
        assert row.level.percent == LEVELS[first][at]
        assert [reading.state for reading in row.readings] == [STATES[first][at]]
        assert row.level.clipped == (first == second != "middle")
        assert row.level.wanted == {"away": -100, "middle": 0, "toward": 100}[first] + (at - 1) * 50


def test_corners_with_a_lower_output_limit(tmp_path: Path) -> None:
    """F10: with output +-100 % the corners read as A; arithmetic."""
    table = joint(solved_rig(tmp_path, **{**MIXED, "output": "-100%..100%"}), "keys")

    for way, level, state in (("away", -100, "a-minus"), ("toward", 100, "a-plus")):
        assert table[way, way].level.percent == level
        assert table[way, way].readings[0].state == state


def test_a_mix_into_a_sweep_lands_between_no_bands(tmp_path: Path) -> None:
    """An input that sweeps has no bands, so no combination lies outside of them."""
    inputs = 'input iris on two "Iris" { sweeps closed to open }'
    _, found = compiled(tmp_path, **{**MIXED, "inputs": inputs, "output": "-150%..150%"})

    assert found == []


def test_truth_table_of_a_mix_that_a_third_switch_turns_on(tmp_path: Path) -> None:
    """F10 with half of B mixed in only while C is in the middle: 27 rows, B tells in nine of them; arithmetic."""
    parts = {**MIXED, "channels": f"{MIXED['channels']} while c middle"}
    table = joint(solved_rig(tmp_path, **parts), "keys")

    assert list(table) == list(product(WAYS, repeat=3))
    for (first, second, third), row in table.items():
        own, other = (WAYS.index(way) - 1 for way in (first, second))
        assert row.level.wanted == 100 * own + (50 * other if third == "middle" else 0)


# ---- searches against trying everything ----------------------------------------------------------------------------------


def crowd(count: int, bands: str) -> str:
    """A rig with `count` dials on one channel."""
    dials = "\n".join(f'dial d{at} "Dial {at}" left to right' for at in range(count))
    channels = "\n".join(f"channel {at + 1} c{at} from d{at} failsafe 0%" for at in range(count))
    mixes = "\n".join(f"mix c{at} into c0 at 5%" for at in range(1, count))
    return rig_text(
        handset=dials, inputs=f'input keys on one "Keys" {{ {bands} }}', channels=f"{channels}\n{mixes}"
    )


@pytest.mark.parametrize(
    "bands", ["low -150%..0% rest; high 0.1%..150%", "low -150%..0%; high 150%..151% rest"]
)
def test_a_crowded_channel_ends_in_one_message(tmp_path: Path, bands: str) -> None:
    """Sixteen dials are 3^16 = 43 million combinations: one RC421 on the channel, and the compiler comes back."""
    _, found = checked(tmp_path, crowd(16, bands))

    assert ids(found).count("RC421") == 1
    assert ("RC413" in ids(found)) == ("rest; high" not in bands)  # sought, and not found in good time
    assert "channel `c0`" in only(found, "RC421").message


@pytest.mark.parametrize(("count", "codes"), [(7, 0), (8, 1)])
def test_where_a_table_ends(tmp_path: Path, count: int, codes: int) -> None:
    """3^7 = 2187 combinations are tabulated, 3^8 = 6561 are above 4096; arithmetic."""
    _, found = checked(tmp_path, crowd(count, "low -150%..-0.1%; mid 0%..150% rest"))

    assert ids(found).count("RC421") == codes


def test_which_channels_are_tabulated(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each channel of several controls that somebody listens to, together up to and with the bound: 3 x 3 + 3 x 2; arithmetic.

    A channel of one control, one without a listener and one with too many combinations keep no other from its table.
    """
    parts = {
        **MIXED,
        "channels": """channel 1 alone from c failsafe hold
  channel 5 unheard from fader failsafe hold
  channel 2 keys from a failsafe 0%
  channel 4 other from a failsafe 0%
  channel 6 half from b failsafe 0%
  channel 7 third from two failsafe 0%
  mix half into unheard at 10%; mix half into keys at 50%; mix third into other at 10%""",
        "inputs": f'{KEYS}\ninput lamp on four "Lamp" {{ sweeps dark to bright }}'
        '\ninput iris on one "Iris" { sweeps closed to open }',
        "cables": 'cable W2 "Lead" { rx.p1 to dev.one; rx.p2 to dev.two; rx.p4 to dev.four; length 1m; jacket 3mm }',
    }
    monkeypatch.setattr("rigcard.solve.joint.MOST_COMBINATIONS", 9 + 6)
    solved = solved_rig(tmp_path, **parts)
    assert {channel: len(table) for (_, channel), table in solved.joint.items()} == {"keys": 9, "other": 6}

    monkeypatch.setattr("rigcard.solve.joint.MOST_COMBINATIONS", 8)
    dials = {key: sheet.dial for key, sheet in solved.results.items()}
    tables, crowded = joint_tables(solved.rig, solved.links, dials, solved.power_up_positions)
    assert [channel for _, channel in tables] == ["other"]
    assert crowded == [("hs", "keys")]


def test_seven_switches_on_several_channels_are_bounded_and_told(tmp_path: Path) -> None:
    """3^7 = 2187 combinations a channel: the first is tabulated and called long, four do not fit into 4096."""
    ports = ("one", "two", "three", "four")
    switches = "\n".join(f'switch s{at} "Switch {at}" away, middle, toward' for at in range(7))
    own = "\n".join(f"channel {at + 1} c{at} from s{at} failsafe hold" for at in range(7))
    mixes = "\n".join(
        f"mix c{source} into c{target} at 5%"
        for target in range(len(ports))
        for source in range(7)
        if source != target
    )
    inputs = "\n".join(
        f'input i{at} on {port} "Input {at}" {{ off -150%..-20%; mid -19%..20%; on 21%..150% }}'
        for at, port in enumerate(ports)
    )
    legs = "; ".join(f"rx.p{at} to dev.{port}" for at, port in enumerate(ports, 1))
    cables = f'cable W2 "Lead" {{ {legs}; length 1m; jacket 3mm }}'
    _, found = compiled(tmp_path, handset=switches, inputs=inputs, channels=f"{own}\n{mixes}", cables=cables)

    assert ids(found).count("RC421") == 3
    assert "2187 combinations" in only(found, "RC494").message
    crowded = next(each for each in found if each.code.id == "RC421")
    assert "2187 combinations of positions, those of other channels have 2187, and a rig has at most 4096" in (
        crowded.message
    )
