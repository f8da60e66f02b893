"""Claims about radio loss: where a failsafe lands and what is known of it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rigcard.diagnostics import Diagnostic
from rigs import (
    KEYS,
    MIXED,
    PAN,
    RECORD,
    RECORDING,
    SPEED,
    STOP,
    checked,
    compiled,
    ids,
    only,
    rig_text,
    solved_rig,
)

KEYED = {"inputs": KEYS, "cables": MIXED["cables"]}


@pytest.mark.parametrize(
    ("parts", "codes"),
    [
        pytest.param(
            {"inputs": PAN, "channels": "channel 1 pan from across failsafe hold"}, ["RC431"], id="F18"
        ),
        pytest.param({"inputs": PAN, "channels": "channel 1 pan from across failsafe 10%"}, ["RC431"]),
        pytest.param({"inputs": PAN, "channels": "channel 1 pan from across failsafe 0%"}, []),
        pytest.param({"channels": f"{RECORDING} failsafe 0%"}, ["RC433"], id="F19 take is cut"),
        pytest.param({"channels": f"{RECORDING} failsafe -105%"}, [], id="F19 run is held"),
        pytest.param({"channels": f"{RECORDING} failsafe hold"}, []),
        pytest.param(
            {"channels": f"{RECORDING} failsafe 0%", "inputs": RECORD.replace("run", "on")},
            [],
            id="standby of what takes nothing",
        ),
        pytest.param(
            {
                "channels": f"{RECORDING} failsafe -105%",
                "inputs": RECORD.replace("standby", "idle").replace("..150%", "..150% rest"),
            },
            ["RC434"],
            id="run of what takes nothing",
        ),
        pytest.param({**KEYED, "channels": "channel 2 keys from a failsafe 0%"}, [], id="F19 key neutral"),
        pytest.param({**KEYED, "channels": "channel 2 keys from a failsafe 100%"}, ["RC434"]),
        pytest.param({**KEYED, "channels": "channel 2 keys from a failsafe 130%"}, ["RC432"]),
        pytest.param({"inputs": SPEED, "channels": "channel 1 v from a failsafe -100%"}, ["RC436"]),
        pytest.param(
            {"inputs": SPEED, "channels": "channel 1 v from a failsafe 0%"},
            ["RC431", "RC436"],
            id="F19 centre is no stop",
        ),
    ],
)
def test_where_a_failsafe_lands(tmp_path: Path, parts: dict[str, str], codes: list[str]) -> None:
    """F18, F19: motion goes on, a take is cut, a key fires, or nothing (common practice, no source)."""
    _, found = compiled(tmp_path, **parts)

    assert sorted(ids(found)) == codes


@pytest.mark.parametrize(
    ("failsafe", "kind", "level", "state"),
    [
        ("", "not set", None, ""),
        ("failsafe hold", "hold", None, ""),
        ("failsafe none", "none", None, ""),
        ("failsafe -80%", "level", -80, "run"),
    ],
)
def test_what_is_known_of_a_loss(
    tmp_path: Path, failsafe: str, kind: str, level: int | None, state: str
) -> None:
    """The language's own words for what a channel does; a state only where a level says it."""
    (loss,) = solved_rig(tmp_path, channels=f"channel 1 record from two {failsafe}").losses

    assert (loss.kind, loss.level, loss.state) == (kind, level, state)
    assert (loss.reading is None) == (level is None)


@pytest.mark.parametrize(
    ("parts", "code"),
    [
        pytest.param(
            {"inputs": PAN.replace("{", "{ without pulses gives right;"), "failsafe": "none"},
            "RC431",
            id="no pulses, and it turns right",
        ),
        pytest.param(
            {"inputs": RECORD.replace("{", "{ without pulses gives standby;"), "failsafe": "none"},
            "RC433",
            id="no pulses, and the take ends",
        ),
    ],
)
def test_a_failsafe_of_no_pulses_is_judged_by_what_the_model_declares(
    tmp_path: Path, parts: dict[str, str], code: str
) -> None:
    """F18, F19: silence that moves the head or ends the take is as bad as a level that does (common practice)."""
    recipe = "two travel 0% / 70% subtrim -240 reversed" if code == "RC433" else "across"
    _, found = compiled(
        tmp_path, inputs=parts["inputs"], channels=f"channel 1 x from {recipe} failsafe {parts['failsafe']}"
    )

    assert code in ids(found)


TURNING = 'input pan on one "Pan" { sweeps left to right rest 0% dead-band 2% full 60deg/s }'


@pytest.mark.parametrize(
    ("failsafe", "inputs", "after", "code"),
    [
        ("failsafe hold", TURNING, "failsafe after 800ms", "RC482"),
        ("failsafe 20%", TURNING, "failsafe after 800ms", "RC482"),
        ("failsafe none", TURNING, "failsafe after 800ms", "RC482"),
        ("", TURNING, "failsafe after 800ms", "RC482"),
        ("failsafe 0%", TURNING, "", "RC482"),
        ("failsafe 0%", TURNING.replace(" full 60deg/s", ""), "failsafe after 800ms", "RC482"),
        ("failsafe 0%", TURNING, "failsafe after 800ms", ""),
        ("failsafe hold", TURNING.replace("{", "critical {", 1), "failsafe after 800ms", "RC431"),
        ("failsafe none", TURNING.replace("{", "critical {", 1), "failsafe after 800ms", "RC431"),
    ],
)
def test_what_is_kept_clear_is_enough_for_the_whole_loss(
    tmp_path: Path, failsafe: str, inputs: str, after: str, code: str
) -> None:
    """An axis that holds its speed, gets another one, or stops nobody knows when, is not clear after 60 deg; the
    remedy, typed as it stands, proves it (common practice, no source)."""

    def judged(channels: str, inputs: str, receiver: str) -> list[Diagnostic]:
        text = rig_text(inputs=inputs, channels=channels, unit="input pan from pan clear 60deg")
        opening = 'model rec "Receiver" { role receiver;'
        return checked(tmp_path, text.replace(opening, f"{opening} {receiver};" if receiver else opening))[1]

    found = judged(f"channel 1 pan from across {failsafe}", inputs, after)
    errors = [said for said in found if said.code.severity.value == "error"]
    assert [said.code.id for said in errors] == ([code] if code else [])
    if code:
        typed = re.search(r"write `(.*?)`", errors[0].hint)
        assert typed
        if typed[1].startswith("failsafe after"):
            after = typed[1]
        elif typed[1].startswith("full"):
            inputs = inputs.replace(" }", f" {typed[1]} }}")
        else:
            failsafe = typed[1]
        left = judged(f"channel 1 pan from across {failsafe}", inputs, after)
        assert not [said for said in left if said.code.severity.value == "error"]


@pytest.mark.parametrize(
    ("inputs", "failsafe", "code"),
    [
        (TURNING, "failsafe 50%", "RC434"),  # it turns on, slowly
        (TURNING.replace(" dead-band 2%", ""), "failsafe 0.5%", "RC434"),  # next to its rest, and it turns
        (TURNING.replace(" dead-band 2%", ""), "failsafe 0%", ""),
        (TURNING, "failsafe 1.5%", ""),  # within the dead band
        (TURNING, "", "RC480"),
        (RECORD.replace("trigger", "pan"), "", "RC480"),
        ('input pan on one "Pan" { off -150%..-60% rest; on -50%..150% }', "failsafe 0%", "RC434"),
    ],
)
def test_the_remedy_of_a_failsafe_off_rest_brings_it_to_rest(
    tmp_path: Path, inputs: str, failsafe: str, code: str
) -> None:
    """A failsafe beside the rest of an axis or a key, or none at all; with the remedy nothing is left to say of it."""
    channel = "channel 1 pan from across {}" if inputs.startswith(TURNING[:40]) else "channel 1 pan from two {}"
    _, found = compiled(tmp_path, inputs=inputs, channels=channel.format(failsafe))
    told = [said for said in found if said.code.id in ("RC434", "RC480", "RC431")]
    assert [said.code.id for said in told] == ([code] if code else [])
    if code:
        typed = re.search(r"`(failsafe .*?)`", told[0].hint)
        assert typed
        _, left = compiled(tmp_path, inputs=inputs, channels=channel.format(typed[1]))
        assert not {"RC434", "RC480", "RC431", "RC432"} & set(ids(left))


@pytest.mark.parametrize(("control", "told"), [("fader", True), ("along", False)])
def test_what_is_mixed_in_moves_it_when_the_link_returns(tmp_path: Path, control: str, told: bool) -> None:
    """A lever that stays put, mixed into an axis whose own stick springs back (common practice, no source)."""
    _, found = compiled(
        tmp_path,
        inputs=PAN,
        handset='stick along "Along" toward to away springs',
        channels=f"""channel 1 pan from across failsafe 0%
  channel 3 half from {control} failsafe 0%
  mix half into pan at 50%""",
    )
    said = [each.message for each in found if each.code.id == "RC436"]

    assert len(said) == told
    assert all("follows `fader`, which is mixed into `pan`" in each for each in said)


@pytest.mark.parametrize("failsafe", ["hold", "100%"])
def test_a_stop_that_radio_loss_leaves_released_is_refused(tmp_path: Path, failsafe: str) -> None:
    """F19: a declared safety function must come to rest when the link is lost: an error (common practice, no source)."""
    solved, found = compiled(tmp_path, inputs=STOP, channels=f"channel 1 brake from two failsafe {failsafe}")

    assert found
    assert solved is None


def test_margin_of_a_key_at_failsafe(tmp_path: Path) -> None:
    """F19: a key channel whose failsafe is 0 % lands in rest with 25 % to spare; arithmetic."""
    solved = solved_rig(tmp_path, **KEYED, channels="channel 2 keys from a failsafe 0%")
    reading = solved.losses[0].reading

    assert reading is not None
    assert (reading.state, reading.margin) == ("none", 25)


@pytest.mark.parametrize("turn", ["", "reversed"])
@pytest.mark.parametrize("listener", ["", "pulse 1500us centre, 4us per 1%"])
@pytest.mark.parametrize("rest", ["0%", "-100%"])
def test_the_failsafe_that_is_proposed_stops_it(tmp_path: Path, turn: str, listener: str, rest: str) -> None:
    """The value in the hint of RC431, written into the file, leaves no RC431 (a hint must be true; no source)."""
    parts = {
        "pulse": "1520us centre, 5us per 1%" if listener else "1500us centre, 4us per 1%",
        "listener": listener,
        "inputs": f'input pan on one "Pan" critical {{ sweeps left to right rest {rest} }}',
        "unit": f"input pan from pan {turn}" if turn else "",
    }
    _, found = compiled(tmp_path, **parts, channels="channel 1 pan from across failsafe hold")
    hint = only(found, "RC431").hint
    proposed = hint.removeprefix("write `").partition("`")[0]

    _, after = compiled(tmp_path, **parts, channels=f"channel 1 pan from across {proposed}")
    assert "RC431" not in ids(after), proposed
