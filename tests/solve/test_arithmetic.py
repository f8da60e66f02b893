"""The arithmetic of a handset, against published figures and values worked by hand.

Figures of the pulse and of the serial line: tests/reference/signal.csv, with their sources. The worked examples of
the trade have none: each test says whether it stands on arithmetic alone or on common practice.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import pytest
from bitarray import bitarray
from bitarray.util import ba2int, int2ba
from hypothesis import given
from hypothesis import strategies as st

from dials import MIXES, RECORD_RECIPE, compiled_set, dial, handset, level, rows_of_set
from rigcard.resolve.model import Counts, Pulse, Rate, Shape, Travel
from rigcard.solve.arithmetic import Dial, Part, channel_level, count_of, rate_of, shaped, side
from samples import REFERENCE

SIGNAL = {
    row["id"]: row
    for row in csv.DictReader((REFERENCE / "signal.csv").read_text(encoding="utf-8").splitlines())
}
SERIAL = Counts(172, 1811, Fraction(-100), Fraction(100), 0, 2047)


# ---- pulses ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("row", "size"), [("percent.400", "4"), ("percent.500", "5"), ("percent.512", "5.12")])
def test_the_published_relations_of_per_cent_and_pulse(row: str, size: str) -> None:
    """`us = 1500 + size x per cent`, and its two ends, as signal.csv has them; 400 and 512 are common practice."""
    published = SIGNAL[row]
    assert published["value"] == f"us = 1500 + {float(size):.2f} * percent"
    ends = re.match(r"-100 % (\d+) us, \+100 % (\d+) us", published["note"])
    assert ends
    pulse = Pulse(Fraction(SIGNAL["pulse.neutral"]["value"]), Fraction(size))

    assert pulse.width(Fraction(0)) == 1500
    assert [round(pulse.width(Fraction(side))) for side in (-100, 100)] == [
        int(ends[1]),
        int(ends[2]),
    ]


@pytest.mark.parametrize(
    ("centre", "size", "low", "high"),
    [
        ("1500", "4", "1360", "1080"),
        ("1500", "5", "1325", "975"),
        ("1500", "5.12", "1320.8", "962.4"),
        ("1520", "4", "1380", "1100"),
    ],
)
def test_the_same_per_cent_on_four_sets(centre: str, size: str, low: str, high: str) -> None:
    """F1: -35 % and -105 % as pulses: arithmetic. The neutral is 1500 or 1520 us in signal.csv."""
    assert {SIGNAL["pulse.neutral"]["value"], SIGNAL["pulse.neutral.alt"]["value"]} == {"1500", "1520"}
    pulse = Pulse(Fraction(centre), Fraction(size))

    assert (pulse.width(Fraction(-35)), pulse.width(Fraction(-105))) == (Fraction(low), Fraction(high))
    assert (pulse.level(Fraction(low)), pulse.level(Fraction(high))) == (-35, -105)


# ---- the order of operations ---------------------------------------------------------------------------------------


def test_record_recipe() -> None:
    """F3: travel 0 / 70 and sub-trim -240 give -35 % and -105 %, 1360 and 1080 us: common practice, no source."""
    pulse = handset().pulse

    assert [level(handset(), RECORD_RECIPE, own) for own in (1, -1)] == [-35, -105]
    assert [pulse.width(level(handset(), RECORD_RECIPE, own)) for own in (1, -1)] == [1360, 1080]


def test_subtrim_that_moves_the_centre_only() -> None:
    """F8: where the ends stay, the same values give 0 and -70 %, wrong by 35 % and 140 us: arithmetic."""
    centre = handset(shifts="centre")
    levels = [level(centre, RECORD_RECIPE, own) for own in (1, -1, 0)]

    assert levels == [0, -70, -35]
    assert centre.pulse.width(levels[0]) - 1360 == 140


def test_reversal_before_and_after() -> None:
    """F9: reversal last gives +35 and +105 %; reversal of the control swaps the two positions: arithmetic."""
    turned = RECORD_RECIPE._replace(reversed=True)

    assert [level(handset(reverse="after-subtrim"), turned, own) for own in (1, -1)] == [35, 105]
    assert [level(handset(reverse="before-travel"), turned, own) for own in (1, -1)] == [-105, -35]
    assert [level(handset(reverse="before-subtrim"), turned, own) for own in (1, -1)] == [-35, 35]


KEYS = ((-1000, -75, "A-"), (-75, -25, "B-"), (-25, 25, ""), (25, 75, "B+"), (75, 1000, "A+"))


def key_at(percent: Fraction) -> str:
    """Which of the keys with edges at -75, -25, 25 and 75 % a level fires."""
    return next(name for low, high, name in KEYS if low <= percent < high)


def mix_table(limit: int) -> list[list[Fraction]]:
    """A at -100, 0 and +100 % (rows) with half of B at -100, 0 and +100 % (columns) mixed in."""
    full = Travel(Fraction(100), Fraction(100))
    half = Rate(Fraction(50), Fraction(50))
    return [
        [level(handset(output=limit), dial(100, 100, 0), a, Part(Fraction(b), full, half)) for b in (-1, 0, 1)]
        for a in (-1, 0, 1)
    ]


def test_half_of_one_switch_mixed_into_another() -> None:
    """Nine levels, corners cut at the limit of 125 %: common practice, no source."""
    assert mix_table(125) == [[-125, -100, -50], [-50, 0, 50], [50, 100, 125]]
    assert mix_table(150)[0][0] == -150
    keys = [[key_at(found) for found in row] for row in mix_table(125)]
    assert keys == [["A-", "A-", "B-"], ["B-", "", "B+"], ["B+", "A+", "A+"]]
    assert mix_table(100)[0][0] == -100
    assert mix_table(100)[2][2] == 100


def test_mix_before_or_after_the_travel_of_its_source() -> None:
    """F12: B's own travel 80 %, half of it mixed in: 40 % after travel, 50 % before; 15 or 25 to the edge: arithmetic."""
    part = Part(Fraction(1), Travel(Fraction(80), Fraction(80)), Rate(Fraction(50), Fraction(50)))
    after, before = (level(handset(mix=mix), dial(100, 100, 0), 0, part) for mix in reversed(MIXES))

    assert (after, before) == (40, 50)
    assert (after - 25, before - 25) == (15, 25)


@pytest.mark.parametrize("mix", MIXES)
def test_the_rate_of_a_mix_on_either_side_of_centre(mix: str) -> None:
    """The inner two of four positions stand at -1/3 and 1/3: a third of 60 % below centre, of 30 % above; arithmetic."""
    full, rate = Travel(Fraction(100), Fraction(100)), Rate(Fraction(60), Fraction(30))
    thirds = [Part(Fraction(at, 3), full, rate) for at in (-3, -1, 1, 3)]

    assert [level(handset(mix=mix), dial(100, 100, 0), 0, part) for part in thirds] == [-60, -20, 10, 30]


@pytest.mark.parametrize("expo", [-100, 0, 30, 100])
def test_a_control_at_its_end_gives_its_rate(expo: int) -> None:
    """(1 - e) + e = 1, so the ends are the rate, whatever the expo: every whole rate; arithmetic."""
    for rate in range(1, 201):
        shape = Shape(Fraction(rate), Fraction(expo), Fraction(0))
        assert [shaped(Fraction(way), shape) for way in (-1, 1)] == [Fraction(-rate, 100), Fraction(rate, 100)]


# ---- serial codes --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("code", [172, 992, 1811])
def test_codes_of_the_two_point_line(code: int) -> None:
    """172, 992 and 1811 stand for 988, 1500 and 2012 us (signal.csv; the line between the outer two)."""
    pulse = Pulse(Fraction(1500), Fraction("5.12"))

    assert count_of(SERIAL, pulse.level(Fraction(SIGNAL[f"code.{code}"]["value"]))) == code


@given(st.integers(0, 2047))
def test_every_code_comes_back_from_its_pulse(code: int) -> None:
    """us = 988 + (code - 172) x 1024 / 1639 (signal.csv, mapping D), exactly, over the whole field."""
    assert SIGNAL["code.mapD"]["value"] == "us = 988 + (x - 172) * 1024 / 1639"
    assert SIGNAL["code.range"]["value"] == "0 to 2047"
    width = 988 + (code - 172) * Fraction(1024, 1639)

    assert count_of(SERIAL, Pulse(Fraction(1500), Fraction("5.12")).level(width)) == code


def frame_codes(row: dict[str, str]) -> list[int]:
    """The sixteen codes that a worked payload is said to hold."""
    return [int(word) for word in row["note"].split("channels: ")[1].split(";")[0].split()]


def packed(codes: Sequence[int]) -> str:
    """Sixteen codes of 11 bits, the first one first, least significant bit first, as hex; `bitarray` packs."""
    bits = bitarray(endian="little")
    for code in codes:
        bits += int2ba(code, 11, endian="little")
    return bits.tobytes().hex()


@pytest.mark.parametrize("name", ["w1", "w2", "w3", "w4", "x1"])
def test_worked_payloads(name: str) -> None:
    """The codes of the levels, packed, are the published payload; its bits, unpacked, are the codes."""
    row = SIGNAL[f"frame.{name}"]
    codes = frame_codes(row)
    scale = Fraction(200, 1811 - 172)
    levels = [-100 + (code - 172) * scale for code in codes]

    assert packed([count_of(SERIAL, found) for found in levels]) == row["value"]
    bits = bitarray(endian="little")
    bits.frombytes(bytes.fromhex(row["value"]))
    assert [ba2int(bits[at : at + 11]) for at in range(0, 176, 11)] == codes


def test_codes_about_1024() -> None:
    """F21: 6.4 codes a per cent about 1024, field 0 to 2047: -105 % is 352; 159.8 % is the last that fits: arithmetic."""
    counts = Counts(384, 1664, Fraction(-100), Fraction(100), 0, 2047)

    assert count_of(counts, Fraction(0)) == 1024
    assert count_of(counts, Fraction(-105)) == 352
    assert count_of(counts, Fraction("159.8")) == 2047
    assert [count_of(counts, Fraction(far)) for far in (200, -200)] == [2047, 0]


# ---- the whole compiler ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pulse", "widths"),
    [
        ("1500us centre, 4us per 1%", ("1080", "1360")),
        ("1500us centre, 5us per 1%", ("975", "1325")),
        ("1500us centre, 5.12us per 1%", ("962.4", "1320.8")),
        ("1520us centre, 4us per 1%", ("1100", "1380")),
        ("1520us centre, 8us per 2%", ("1100", "1380")),
    ],
)
def test_dialled_values_through_the_compiler(tmp_path: Path, pulse: str, widths: tuple[str, str]) -> None:
    """Travel 70 / 0 and sub-trim -240 as written give the pulses of `test_the_same_per_cent_on_four_sets`."""
    stated = "channel 1 record from two travel 70% / 0% subtrim -240 failsafe hold"
    found = rows_of_set(*compiled_set(tmp_path, pulse=pulse, channels=stated))

    assert [found[name].level.percent for name in ("away", "toward")] == [-105, -35]
    assert [found[name].pulse for name in ("away", "toward")] == [Fraction(width) for width in widths]


@pytest.mark.parametrize(
    ("shifts", "reverse", "turned", "levels"),
    [
        ("centre", "before subtrim", "", (-70, 0)),
        ("whole", "after subtrim", "reversed", (105, 35)),
        ("whole", "before travel", "reversed", (-35, -105)),
        ("whole", "before subtrim", "reversed", (35, -35)),
        ("whole", "after travel", "reversed", (35, -35)),
    ],
)
def test_orders_through_the_compiler(
    tmp_path: Path, shifts: str, reverse: str, turned: str, levels: tuple[int, int]
) -> None:
    """The worked orders of reversal and sub-trim, declared in a model; arithmetic."""
    stated = f"channel 1 record from two travel 70% / 0% subtrim -240 {turned} failsafe hold"
    found = rows_of_set(*compiled_set(tmp_path, shifts=shifts, reverse=reverse, channels=stated))

    assert tuple(found[name].level.percent for name in ("away", "toward")) == levels


@pytest.mark.parametrize(("name", "control", "position"), [("w1", "three", "middle"), ("w3", "two", "toward")])
def test_a_rig_makes_the_worked_payload(tmp_path: Path, name: str, control: str, position: str) -> None:
    """Sixteen channels of one switch, in the middle or alternately reversed, are the payload of signal.csv."""
    turned = ["" if name == "w1" or number % 2 == 0 else "reversed" for number in range(1, 17)]
    channels = "; ".join(
        f"channel {number} c{number} from {control} {turn} failsafe hold"
        for number, turn in enumerate(turned, 1)
    )
    inputs = "; ".join(f'input i{number} on bus "I" {{ sweeps left to right }}' for number in range(1, 17))
    sources = "; ".join(f"input i{number} from c{number}" for number in range(1, 17))
    spare = 'input rec on a "Record" { sweeps left to right }'
    solved, diagnostics = compiled_set(
        tmp_path, channels=channels, inputs=f"{spare}; {inputs}", sources=sources
    )
    codes = [rows_of_set(solved, diagnostics, f"c{number}")[position].serial_count for number in range(1, 17)]

    assert all(code is not None for code in codes)
    assert packed([code or 0 for code in codes]) == SIGNAL[f"frame.{name}"]["value"]


FULL = Travel(Fraction(100), Fraction(100))


@pytest.mark.parametrize(
    ("rate", "expo", "value", "out"),
    [
        (100, 0, "0.5", "0.5"),
        (100, 100, "0.5", "0.125"),  # the cube alone
        (100, 30, "0.5", "0.3875"),  # 0.7 x 0.5 + 0.3 x 0.125
        (60, 50, "0.5", "0.1875"),  # 0.6 x (0.25 + 0.0625)
        (70, 30, "1", "0.7"),  # the end of a stick is its rate, whatever the expo
        (70, 30, "0", "0"),
    ],
)
def test_the_curve_of_a_control(rate: int, expo: int, value: str, out: str) -> None:
    """The same on both sides of centre."""
    shape = Shape(Fraction(rate), Fraction(expo), Fraction(0))

    assert shaped(Fraction(value), shape) == Fraction(out)
    assert shaped(-Fraction(value), shape) == -Fraction(out)


@pytest.mark.parametrize(("value", "travel"), [("-1", 80), ("-0.01", 80), ("0.01", 110), ("1", 110)])
def test_the_travel_of_each_side(value: str, travel: int) -> None:
    """80 % below centre, 110 % above, however near to centre."""
    assert side(Travel(Fraction(80), Fraction(110)), Fraction(value)) == travel


@pytest.mark.parametrize(("value", "rate"), [("-1", 30), ("-0.01", 30), ("0.01", 60), ("1", 60)])
def test_the_rate_of_each_side(value: str, rate: int) -> None:
    """30 % below centre, 60 % above, however near to centre."""
    assert rate_of(Part(Fraction(value), FULL, Rate(Fraction(30), Fraction(60)))) == rate


@pytest.mark.parametrize("mix", ["before-travel", "after-travel"])
def test_a_mix_with_two_rates(mix: str) -> None:
    """30 % of the source below centre and 60 % above; the travel of the channel, 100 %, leaves them as they are."""
    for value, percent in ((-1, -30), (1, 60)):
        part = Part(Fraction(value), FULL, Rate(Fraction(30), Fraction(60)))
        found = channel_level(handset(mix=mix), Dial(FULL, 0, False), Fraction(0), (part,))
        assert found.percent == percent
