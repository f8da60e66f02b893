"""Edges of bands, a dead band, a speed and a delay, settled by readings of devices that the tests know."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigcard.diagnostics import Diagnostics
from rigcard.resolve.model import Model, Turn
from rigcard.resolve.resolve import resolve_models
from rigcard.resolve.units import report_unknown
from rigcard.source import Source
from rigcard.syntax.load import Program
from rigcard.syntax.parser import parse

STATES = ("key-b", "idle", "key-a")
BRIDGE = """model bridge-m "Bridge" {{
  role adapter
  pulse 1500us centre, 4us per 1%
  reads 900us..2100us
  port one in servo
  input keys on one "Keys" {{
    key-b unknown
    idle  unknown rest
    key-a unknown
{readings}
  }}
}}
"""
HEAD = """model head-m "Head" {{
  role head
  pulse 1500us centre, 5us per 1%
  port one in servo
  input pan on one "Pan" {{ sweeps left to right rest 0% dead-band unknown full unknown
{readings}
  }}
}}
"""
RECEIVER = """model rx-m "Receiver" {{ role receiver; channels 8; port p1..p8 out servo channel 1..8
  failsafe after unknown
{readings}
}}
"""


def model_of(text: str, *readings: str) -> tuple[Model, list[str]]:
    """The model with these readings, and the codes that were reported."""
    source, diagnostics = Source("mine.rig", text.format(readings="\n".join(readings))), Diagnostics()
    parsed = parse(source, diagnostics)
    assert parsed is not None, list(diagnostics)
    models = resolve_models(Program(source, parsed.statements), diagnostics)
    report_unknown(models, diagnostics)
    (model,) = models
    return model, [found.code.id for found in diagnostics]


class Box:
    """A hidden bridge: between two states it changes at `up` as the pulse rises and at `down` as it falls, in us."""

    def __init__(self, edges: list[tuple[int, int]]) -> None:
        self.edges = edges

    def after(self, state: int, pulse: Fraction) -> int:
        """The state that it is in with a pulse, come from a state."""
        while state < len(self.edges) and pulse >= self.edges[state][0]:
            state += 1
        while state > 0 and pulse <= self.edges[state - 1][1]:
            state -= 1
        return state

    def readings(self) -> list[str]:
        """What a person notes who raises and lowers the pulse by 1 us at a time."""
        found = []
        state = 0
        for pulse in range(900, 2101):
            after = self.after(state, Fraction(pulse))
            if after != state:
                found.append(f"reading raised to {STATES[after]} at {pulse}us")
            state = after
        for pulse in range(2100, 899, -1):
            after = self.after(state, Fraction(pulse))
            if after != state:
                found.append(f"reading lowered to {STATES[after]} at {pulse}us")
            state = after
        return found


edges = st.tuples(st.integers(1000, 1400), st.integers(1550, 2000), st.integers(0, 80), st.integers(0, 80)).map(
    lambda drawn: Box([(drawn[0] + drawn[2], drawn[0]), (drawn[1] + drawn[3], drawn[1])])
)


@settings(max_examples=40)
@given(edges)
def test_a_level_in_a_band_gives_its_state_from_anywhere(box: Box) -> None:
    """In every band the state is sure whatever it was before; 3 us beyond an inner edge it is not, or another is."""
    model, said = model_of(BRIDGE, *box.readings())
    bands = model.inputs["keys"].bands

    assert said == []
    assert [band.name for band in bands] == [*STATES]
    for number, band in enumerate(bands):
        ends = [1500 + 4 * band.low, 1500 + 4 * band.high]
        for pulse in (*ends, sum(ends) / 2):
            assert {box.after(start, Fraction(pulse)) for start in range(3)} == {number}
        for pulse, inner in ((ends[0] - 3, number > 0), (ends[1] + 3, number < 2)):
            if inner:
                assert {box.after(start, Fraction(pulse)) for start in range(3)} != {number}


@pytest.mark.parametrize("left_out", range(4))
def test_the_reading_that_is_missing_is_asked_for(left_out: int) -> None:
    """Four readings settle three bands, and no three of them do: the fourth is named."""
    readings = Box([(1250, 1230), (1700, 1660)]).readings()
    missing = readings.pop(left_out)
    model, said = model_of(BRIDGE, *readings)

    assert said == ["RC241"]
    assert [ask.form.partition(" at ")[0] for ask in model.asks] == [missing.partition(" at ")[0]]


def test_readings_are_asked_for_once_up_and_once_down() -> None:
    """The order of taking: all that is raised, rising; then all that is lowered, falling."""
    model, _ = model_of(BRIDGE)

    assert [(ask.kind, ask.state) for ask in model.asks] == [
        ("raised", "idle"),
        ("raised", "key-a"),
        ("lowered", "idle"),
        ("lowered", "key-b"),
    ]


def test_of_several_readings_the_one_that_promises_least_counts() -> None:
    """Raised to idle at 1250 and at 1254 us: it is sure from 1255 us, which is -61.25 % of 4 us; arithmetic."""
    readings = Box([(1250, 1230), (1700, 1660)]).readings()
    model, _ = model_of(BRIDGE, *readings, "reading raised to idle at 1254us")
    idle = model.inputs["keys"].bands[1]

    assert (idle.low, idle.high) == (Fraction(-6125, 100), Fraction(3975, 100))


@pytest.mark.parametrize("wrong", ["reading raised to idle at 1690us", "reading lowered to idle at 1240us"])
def test_readings_that_leave_no_band_contradict(wrong: str) -> None:
    """A band must end above where it begins."""
    _, said = model_of(BRIDGE, *Box([(1250, 1230), (1700, 1660)]).readings(), wrong)

    assert said == ["RC242"]


def test_a_dead_band_and_a_speed() -> None:
    """It moves at 1516 us up and at 1490 us down, so 9 us or 1.8 % are sure; half a turn in 3.6 s is 50 deg/s."""
    readings = (
        "reading raised to right at 1516us",
        "reading lowered to left at 1490us",
        "reading turns 180deg in 3.6s at 2000us",
    )
    model, said = model_of(HEAD, *readings)
    sweep = model.inputs["pan"].sweep
    assert sweep is not None

    assert said == []
    assert (sweep.dead, sweep.full) == (Fraction(9, 5), Turn(Fraction(50), True))
    for missing in range(3):
        less, said = model_of(HEAD, *readings[:missing], *readings[missing + 1 :])
        assert said == ["RC241"]
        assert (
            less.asks[0].form.split(" at ")[0].split(" in ")[0]
            == readings[missing].split(" at ")[0].split(" in ")[0]
        )


@pytest.mark.parametrize(
    ("readings", "code"),
    [
        (("reading turns 180deg in 3.6s at 1700us",), "RC206"),
        (("reading turns 50deg/s in 3.6s at 2000us",), "RC206"),
        (("reading turns 180deg in 3.6s at 2000us", "reading turns 180deg in 36s at 1000us"), "RC242"),
        (("reading raised to right at 1499us", "reading lowered to left at 1490us"), "RC242"),
        (("reading raised to up at 1516us",), "RC201"),
    ],
)
def test_readings_of_an_axis_that_cannot_be(readings: tuple[str, ...], code: str) -> None:
    """Not at an end of the sweep, no angle in a time, two speeds, a rest that turns, an end that it has not."""
    _, said = model_of(HEAD, *readings)

    assert code in said


def test_the_longest_delay_counts() -> None:
    """Three readings settle it, two do not; one that is far off contradicts."""
    times = ["reading failsafe after 780ms", "reading failsafe after 0.82s", "reading failsafe after 800ms"]

    assert (model_of(RECEIVER, *times)[0].loss_after, model_of(RECEIVER, *times)[1]) == (820, [])
    assert model_of(RECEIVER, *times[:2])[1] == ["RC241"]
    assert "RC242" in model_of(RECEIVER, *times, "reading failsafe after 8s")[1]
