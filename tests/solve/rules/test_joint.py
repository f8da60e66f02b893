"""Claims about controls that share a channel: keys that are fired, rests that are lost."""

from __future__ import annotations

from pathlib import Path

from rigs import KEYS, MIXED, compiled, joint, only, solved_rig


def test_two_switches_that_fire_the_others_key(tmp_path: Path) -> None:
    """F10: A- with B+ fires B-, and A+ with B- fires B+, the opposite of what B shows; nothing else is named."""
    solved, found = compiled(tmp_path, **MIXED)
    said = only(found, "RC422").message

    assert solved is not None
    assert "`a.away` with `b.toward` gives −50 %, `b-minus`" in said
    assert "`a.toward` with `b.away` gives +50 %, `b-plus`" in said
    assert said.count(" with ") == 2
    assert {key: row.stray for key, row in joint(solved, "keys").items() if row.stray != ""} == {
        ("away", "toward"): "b",
        ("toward", "away"): "b",
    }


def test_a_key_is_fired_beside_another_listener(tmp_path: Path) -> None:
    """F10 with an iris on the same channel, declared before the keys: the two strays are the same; arithmetic."""
    iris = 'input iris on two "Iris" { sweeps closed to open }'
    table = joint(solved_rig(tmp_path, **{**MIXED, "inputs": f"{iris}\n{KEYS}"}), "keys")

    assert {len(row.readings) for row in table.values()} == {2}
    assert {key for key, row in table.items() if row.stray} == {("away", "toward"), ("toward", "away")}


def test_two_switches_that_cancel_each_other_rest(tmp_path: Path) -> None:
    """All of B mixed into A: A+ with B- is 0 %, which does nothing and cuts short what A asks for; arithmetic."""
    parts = {**MIXED, "channels": MIXED["channels"].replace("50%", "100%")}
    table = joint(solved_rig(tmp_path, **parts), "keys")

    assert table["toward", "away"].readings[0].state == "none"
    assert table["toward", "away"].stray == "a"


def test_a_stray_is_the_first_of_the_controls_that_give_its_state(tmp_path: Path) -> None:
    """Half of B, C and the fader mixed into A: A+ with B- is 50 %, which each of the three gives alone; arithmetic."""
    mixed = "\n".join(
        f"channel {at} half-{name} from {name} failsafe 0%\nmix half-{name} into keys at 50%"
        for at, name in ((5, "fader"), (4, "c"), (3, "b"))
    )
    parts = {**MIXED, "channels": f"channel 2 keys from a failsafe 0%\n{mixed}"}
    table = joint(solved_rig(tmp_path, **parts), "keys")

    assert table["toward", "centre", "middle", "away"].readings[0].state == "b-plus"
    assert table["toward", "centre", "middle", "away"].stray == "b"
    assert table["toward", "centre", "away", "middle"].stray == "b"
    assert table["toward", "toward", "middle", "middle"].stray == "b"
