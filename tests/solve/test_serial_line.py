"""What an input hears: the level of the code that a serial line carries, less the neutral that it learned.

The oracles are written anew from the words of the page: the nearest code by trying every one, the level of a code by
the two points of `counts`, a learned zero by subtraction.
"""

from __future__ import annotations

import tempfile
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigcard.resolve.model import Counts
from rigcard.solve.arithmetic import count_of, level_of
from rigcard.solve.solved import Reading, Solved
from rigs import HUNG, compiled, ids, only, rows, solved_rig

MODE = "channel 1 mode from two travel {low}% / {high}% subtrim {trim} failsafe {loss}"


def tried(counts: Counts, level: Fraction) -> int:
    """The code nearest to a level, of two equally near the higher: every code of the field is tried."""
    span = counts.high_percent - counts.low_percent
    exact = {
        code: counts.low_percent + Fraction(code - counts.low) / (counts.high - counts.low) * span
        for code in range(counts.field_low, counts.field_high + 1)
    }
    return min(exact, key=lambda code: (abs(exact[code] - level), -code))


@st.composite
def lines(draw: st.DrawFn) -> Counts:
    """A line of few codes, its field narrower or wider than its counts."""
    low = draw(st.integers(0, 40))
    high = low + draw(st.integers(3, 60))
    field_low = draw(st.integers(max(0, low - 10), low + 1))
    field_high = draw(st.integers(high - 1, high + 10))
    ends = draw(st.sampled_from([(-100, 100), (-125, 125), (0, 100)]))
    return Counts(low, high, Fraction(ends[0]), Fraction(ends[1]), field_low, field_high)


@given(counts=lines(), level=st.fractions(-200, 200, max_denominator=16))
def test_a_code_is_the_nearest_that_the_field_has(counts: Counts, level: Fraction) -> None:
    """Every code of the field is tried; the level that comes back is that of the code (common practice, no source)."""
    code = count_of(counts, level)

    assert code == tried(counts, level)
    assert count_of(counts, level_of(counts, code)) == code
    step = (counts.high_percent - counts.low_percent) / (counts.high - counts.low)
    inside = level_of(counts, counts.field_low) <= level <= level_of(counts, counts.field_high)
    assert (abs(level_of(counts, code) - level) <= step / 2) or not inside


def mode_rig(folder: Path, bands: str, **values: int | str) -> Solved:
    """A toggle on a channel that a mode hears over the serial line."""
    channel = MODE.format(**{"low": 100, "high": 100, "trim": 0, "loss": "hold", **values})
    return solved_rig(
        folder,
        channels=channel,
        inputs=f'input mode on bus "Mode" {{ {bands} }}',
        unit="input mode from mode",
        cables=HUNG["cables"],
    )


@pytest.mark.parametrize(("low", "high", "trim"), [(100, 100, 0), (37, 62, 11), (140, 140, 0), (90, 120, -33)])
def test_every_level_is_heard_as_the_line_carries_it(tmp_path: Path, low: int, high: int, trim: int) -> None:
    """Rows, failsafe and margins: the code is the nearest, cut at the ends of the counts where no field is stated."""
    counts = Counts(172, 1811, Fraction(-100), Fraction(100), 172, 1811)
    solved = mode_rig(tmp_path, "a -150%..-1%; b 1%..150%", low=low, high=high, trim=trim, loss="-66.6%")
    found = [(row.level.percent, row.readings[0]) for row in rows(solved, "mode").values()]
    (loss,) = solved.losses
    assert loss.reading is not None and loss.level is not None
    for level, reading in [*found, (loss.level, loss.reading)]:
        code = tried(counts, level)
        assert reading.code == code
        assert reading.heard == Fraction(200 * (code - 172), 1639) - 100
        assert reading.exact == level
        assert reading.band is not None
        assert reading.margin == min(abs(reading.heard) - 1, 150 - abs(reading.heard))


def test_a_level_beyond_the_line_is_no_state_beyond_it(tmp_path: Path) -> None:
    """-120 % leaves as code 172, which is -100 %: a band from -150 to -110 % is never reached; arithmetic."""
    _, found = compiled(
        tmp_path,
        channels=MODE.format(low=120, high=100, trim=0, loss="hold"),
        inputs='input mode on bus "Mode" { park -150%..-110%; live 50%..150% }',
        unit="input mode from mode",
        cables=HUNG["cables"],
        more="expect hs.two.away gives dev.park\nexpect hs.two.toward gives dev.live",
    )

    said = only(found, "RC411").message
    assert "hears −100 %" in said
    assert "code 172 stands for it" in said


KEYS = 'input keys on two "Keys" { low -120%..-50%; idle -20%..20% rest; high 75%..120%; learns neutral }'


@given(trim=st.integers(-130, 130), travel=st.integers(40, 120))
def test_a_learned_neutral_shifts_every_other_reading(trim: int, travel: int) -> None:
    """Both ways: what is heard is what is sent less what was sent at power-up, which reads as 0 %; subtraction."""
    size = Fraction(35, 240)
    if abs(trim * size) > 20:
        return  # rest is not seen: an error of its own
    with tempfile.TemporaryDirectory() as folder:
        solved, found = compiled(
            Path(folder),
            channels=f"channel 2 keys from b travel {travel}% / {travel}% subtrim {trim} failsafe hold",
            inputs=KEYS,
            more="expect hs.b.toward gives dev.high",
            cables='cable W1 "Lead" { rx.p2 to dev.two; length 300mm; jacket 3mm }',
        )
    bands = {"low": (-120, -50), "idle": (-20, 20), "high": (75, 120)}
    high = 75 <= travel <= 120
    assert ("RC411" in ids(found)) == (not high)  # the sub-trim is no part of it
    if solved is None:
        return
    for row in rows(solved, "keys").values():
        if row.control != "b":
            continue
        (reading,) = row.readings
        assert isinstance(reading, Reading)
        assert reading.heard == row.level.percent - trim * size
        named = [name for name, (low, top) in bands.items() if low <= reading.heard <= top]
        assert reading.state == (named[0] if named else "")


def test_two_states_with_one_code_are_told_where_nothing_claims_them(tmp_path: Path) -> None:
    """The failsafe of -120 % and the toggle at -100 % are both code 172; at -90 % they are two; arithmetic."""
    parts = {
        "inputs": 'input mode on bus "Mode" { park -150%..-105%; slow -104%..-50%; live 50%..150% }',
        "unit": "input mode from mode",
        "cables": HUNG["cables"],
    }
    shared = compiled(tmp_path, channels=MODE.format(low=100, high=100, trim=0, loss="-120%"), **parts)[1]
    apart = compiled(tmp_path, channels=MODE.format(low=100, high=100, trim=0, loss="-90%"), **parts)[1]

    assert "172" in only(shared, "RC470").message
    assert "RC470" not in ids(apart)


@pytest.mark.parametrize(
    ("dead", "drifts"),
    [("", True), ("dead-band 0%", True), ("dead-band 0.05%", True), ("dead-band 0.07%", False)],
)
def test_a_code_beside_zero_drifts(tmp_path: Path, dead: str, drifts: bool) -> None:
    """991.5 is no code: 992 is 200 / 1639 / 2 = 0.061 % beside zero; arithmetic."""
    _, found = compiled(
        tmp_path,
        channels="channel 1 pan from across failsafe 0%",
        inputs=f'input pan on bus "Pan" critical {{ sweeps left to right rest 0% {dead} full 60deg/s }}',
        unit="input pan from pan",
        cables=HUNG["cables"],
    )

    assert ids(found) == ["RC437"] * drifts
