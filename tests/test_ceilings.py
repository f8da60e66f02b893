"""Numbers at their extremes and very much of one thing: refused at its place, soon, with a remedy; never a hang."""

from __future__ import annotations

import re
import resource
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from command import CLEAN, FAULTS, rigcard
from rigcard.resolve.ceilings import DEEPEST_MOUNT, MOST_MIXES
from rigcard.solve.power.packs import MOST_PACKS, plan
from rigcard.starter import STARTER
from samples import STOCK

LIMITS = {resource.RLIMIT_AS: 1 << 30, resource.RLIMIT_CPU: 20}  # bytes, seconds of the processor
DAY = """\
rig "Day" {{ revision "A"; day {day}; night 10h }}
model feed "Pack" {{ role pack; port out out lead; supplies 12V..16.8V; capacity {capacity} }}
signal lead "Lead" carries power
model lamp "Lamp" {{ role other; port in in lead; takes 5V..17V; draws {draws} }}
model loader "Charger" {{ role charger; bays {bays}; charges in {charges} }}
unit pack is feed "Pack"
unit lamp is lamp "Lamp"
unit loader is loader "Charger" {{ mounted on pack }}
cable P1 "Lead" {{ pack.out to lamp.in; length 1m; jacket 5mm; wire 2.5mm2 }}
"""
USUAL = {"day": "10h", "capacity": "98Wh", "draws": "20W", "bays": "2", "charges": "3h"}


@pytest.mark.parametrize(
    ("changed", "codes"),
    [
        ({}, []),
        ({"day": "999999999h"}, ["RC230", "RC493"]),
        ({"day": "100000h"}, ["RC230", "RC493"]),
        ({"capacity": "3.4mAh at 14.4V"}, ["RC493"]),
        ({"capacity": "0.000001Wh"}, ["RC493"]),
        ({"capacity": "0.000001Ah at 14.4V"}, ["RC493"]),
        ({"draws": "999999999mA"}, ["RC463"]),
        ({"draws": "999999999W"}, ["RC463"]),
        ({"bays": "100"}, []),
        ({"charges": "0.000001h"}, []),
        ({"day": "999999999h", "capacity": "0.000001Wh", "bays": "100"}, ["RC230", "RC493"]),
    ],
)
def test_a_day_of_extremes(changed: dict[str, str], codes: list[str], tmp_path: Path) -> None:
    """The packs of a day are computed, not listed: what nobody can carry is refused, within the limits."""
    (tmp_path / "my.rig").write_text(DAY.format(**USUAL | changed), encoding="utf-8")
    run = rigcard("build", "my.rig", at=tmp_path, limits=LIMITS)

    assert [code for code in ("RC230", "RC463", "RC493") if code in run.err] == codes
    assert run.code == (FAULTS if {"RC463", "RC493"} & set(codes) else CLEAN), run.said


@given(
    st.integers(1, 40),
    st.lists(st.tuples(st.integers(1, 5), st.fractions(Fraction(1, 4), 6, max_denominator=4)), min_size=1),
)
def test_packs_on_bays_as_one_by_one(packs: int, chargers: list[tuple[int, Fraction]]) -> None:
    """The time that all packs take is the same as if each took the bay that is done with it first."""
    free = [time for count, time in chargers for _ in range(count)]
    done = [Fraction(0)] * len(free)
    for _ in range(packs):
        bay = min(range(len(free)), key=lambda at: done[at] + free[at])
        done[bay] += free[bay]

    assert plan(packs, chargers, None).hours == max(done)


@pytest.mark.parametrize(("more", "refused"), [(0, False), (1, True), (5000, True)])
def test_mixes_into_one_channel(more: int, refused: bool, tmp_path: Path) -> None:
    """As many as may be are computed; one more is refused at its line, and thousands as soon."""
    (tmp_path / "my.rig").write_text(
        'rig "R" { revision "A" }\nuse "stock.rig"\n'
        'unit hs is handset-12 "Handset" {\n  memory 1 "A"\n  channel 1 pan from right-across failsafe 0%\n'
        "  channel 2 tilt from right-along failsafe 0%\n"
        + "  mix tilt into pan at 1%\n" * (MOST_MIXES + more)
        + "}\n",
        encoding="utf-8",
    )
    run = rigcard("check", "my.rig", "--stock", STOCK[1], at=tmp_path, limits=LIMITS)

    assert run.err.count("RC232") == refused, run.said
    if refused:
        assert f"my.rig:{7 + MOST_MIXES}:7" in run.err


@pytest.mark.parametrize(
    ("height", "refused"), [(DEEPEST_MOUNT, False), (DEEPEST_MOUNT + 1, True), (5000, True)]
)
@pytest.mark.parametrize("order", [1, -1])
def test_a_tower_of_units(height: int, refused: bool, order: int, tmp_path: Path) -> None:
    """Units on each other, written from the ground up or from the top down."""
    units = ['unit u1 is box "Box 1"'] + [
        f'unit u{at} is box "Box {at}" {{ mounted on u{at - 1} }}' for at in range(2, height + 1)
    ]
    text = 'rig "R" { revision "A" }\nmodel box "Box" { role other; mass 1kg }\n' + "\n".join(units[::order])
    (tmp_path / "my.rig").write_text(text, encoding="utf-8")
    run = rigcard("check", "my.rig", at=tmp_path, limits=LIMITS)

    assert run.err.count("RC231") == refused, run.said
    assert run.code == (FAULTS if refused else CLEAN)


def test_a_ring_of_units(tmp_path: Path) -> None:
    """A long ring has no top: it is refused too, and a short one is still called a circle."""
    for size, code in ((2, "RC335"), (5000, "RC231")):
        units = [f'unit u{at} is box "Box {at}" {{ mounted on u{(at + 1) % size} }}' for at in range(size)]
        text = 'rig "R" { revision "A" }\nmodel box "Box" { role other }\n' + "\n".join(units)
        (tmp_path / "my.rig").write_text(text, encoding="utf-8")
        assert rigcard("check", "my.rig", at=tmp_path, limits=LIMITS).err.count(code) == 1


def test_the_most_packs_are_listed(tmp_path: Path) -> None:
    """Up to the ceiling the list is whole: 48 packs and a spare."""
    hours = Fraction(98 * 85, 100) / 20 * MOST_PACKS
    (tmp_path / "my.rig").write_text(
        DAY.format(**USUAL | {"day": f"{int(hours)}h", "capacity": "98Wh"}), encoding="utf-8"
    )
    run = rigcard("build", "my.rig", "--only", "kit", at=tmp_path, limits=LIMITS)

    assert run.code == CLEAN, run.said
    assert (tmp_path / "out" / "my" / "kit.csv").read_text(encoding="utf-8").count(
        f"of {MOST_PACKS + 1}"
    ) == MOST_PACKS


# ---- words that fill a card ----------------------------------------------------------------------------------------

DASH = "\u2e3b"  # the widest that the typeface has: three times as wide as it is high


@pytest.mark.parametrize(
    ("title", "unit", "revision", "refused"),
    [
        ("Gorge", "Handset", "A", False),
        ("W" * 60, "W" * 60, "WWWW", False),
        ("\u2014" * 60, "\u2014" * 60, "\u2014" * 4, False),
        (DASH * 60, "Handset", "A", False),  # it leaves more than half of each card, and the contents fit
        ("Gorge", DASH * 60, "A", False),
        ("Gorge", "Handset", DASH * 4, True),  # beside the mark and the title of a card it is too wide
        ("Gorge", "Handset", f'{DASH * 4}"; card a6; crew chief "Chief', True),
        (DASH * 60, DASH * 60, DASH * 4, True),
    ],
)
def test_words_that_fill_the_head_of_a_card(
    title: str, unit: str, revision: str, refused: bool, tmp_path: Path
) -> None:
    """What fills the head is refused, by `check` too, and never set over the body: no mark leaves its card."""
    text = STARTER.replace('"Handset"', f'"{unit}"')
    text = re.sub(r'rig "[^"]*"', f'rig "{title}"', text, count=1)
    text = re.sub(r'revision( *)"[^"]*" on [\d-]+', rf'revision\1"{revision}"', text, count=1)
    assert text.count(unit) and text.count(title)
    (tmp_path / "my.rig").write_text(text, encoding="utf-8")
    for command in ("check", "build"):
        run = rigcard(command, "my.rig", at=tmp_path, limits=LIMITS)
        assert run.code == (FAULTS if refused else CLEAN), run.said
        assert bool(re.search(r"error\[RC51[05]\]", run.err)) == refused
    assert (tmp_path / "out").exists() != refused
