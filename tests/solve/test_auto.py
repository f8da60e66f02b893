"""The search behind `auto`: worked examples, brute force, and an integer linear programme.

The worked examples have no published source: each test says whether it stands on arithmetic alone or on common
practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from dials import MIXES, RECORD_RECIPE, STEP, base, dial, handset, level
from rigcard.resolve.model import Arithmetic, Channel, Rate, Travel
from rigcard.solve.arithmetic import Dial, Part
from rigcard.solve.auto import Found, find, search
from rigcard.solve.wants import Condition, Constraint, Variant

REVERSES = ("before-travel", "before-subtrim", "after-subtrim")
SHIFTS = ("whole", "centre")


def channel(
    *,
    travel: Travel | None = None,
    subtrim: int | None = None,
    turned: bool | None = None,
) -> Channel:
    """A channel that leaves to the search whatever is None."""
    return base().channels["record"]._replace(travel=travel, subtrim=subtrim, reversed=turned)


def aim(own: int | Fraction, level: int | Fraction) -> Constraint:
    """A level wanted with the control at `own`."""
    at = Fraction(level)
    return Constraint(Fraction(own), (), at, at, Fraction(1), Fraction(0), False)


def found_levels(arithmetic: Arithmetic, found: Found, *owns: int) -> list[Fraction]:
    """The levels that the values found give."""
    return [level(arithmetic, found.dial, own) for own in owns]


# ---- the search: worked examples -----------------------------------------------------------------------------------


def test_record_solve() -> None:
    """F3, F4: -35 % away and -105 % toward: travel 0 and 70, sub-trim -240, nothing else: common practice, no source."""
    found = find(handset(), channel(), [aim(1, -35), aim(-1, -105)])

    assert found.dial == RECORD_RECIPE
    assert found.margins == (0, 0)
    assert found.unique


def test_record_solve_with_more_subtrim() -> None:
    """F4: with 300 steps (43.75 %) the recipe is not the only one: sub-trim -40 %, travel 5 and 65: arithmetic."""
    wider = handset(subtrim=300)
    found = find(wider, channel(), [aim(1, -35), aim(-1, -105)])

    assert found_levels(wider, found, 1, -1) == [-35, -105]
    assert not found.unique
    other = Dial(Travel(Fraction(65), Fraction(5)), -288, False)  # -42 %
    assert level(wider, other, 1) == -37
    exact = [
        trim
        for trim in range(-300, 301)
        if (trim * STEP).denominator == 1 and -105 <= trim * STEP <= -35  # travel is set in whole per cent
    ]
    assert exact == [-288, -240]


def test_impossible_record_levels() -> None:
    """F5: -40 % needs -274.3 steps of 240: the nearest is -35, and -100 then takes travel 65: arithmetic."""
    assert abs(Fraction(-40) / STEP - Fraction("-274.3")) < Fraction(1, 20)
    found = find(handset(), channel(), [aim(1, -40), aim(-1, -100)])

    assert found.dial == Dial(Travel(Fraction(65), Fraction(0)), -240, False)
    assert found.margins == (-5, 0)
    assert -35 - (-70) == 35  # still on the right side of an edge at -70 %


def test_rounding_of_record_levels() -> None:
    """F6: -30 % is 205.71 steps: 206 give -30.0417 %, travel 70 then -100.0417 %; the stop does better: arithmetic."""
    assert round(float(-30 / STEP), 2) == -205.71
    rounded = Dial(Travel(Fraction(70), Fraction(0)), -206, False)
    found = find(handset(), channel(turned=False), [aim(1, -30), aim(-1, -100)])

    assert [round(float(level(handset(), rounded, own)), 4) for own in (1, -1)] == [-30.0417, -100.0417]
    assert found.dial == Dial(Travel(Fraction(65), Fraction(5)), -240, False)
    assert found.margins == (0, 0)


def test_three_levels() -> None:
    """F7: -60, +10 and +70 %: sub-trim 69, travel 70 and 60, none off by more than 0.0625 %: arithmetic."""
    found = find(handset(), channel(), [aim(-1, -60), aim(0, 10), aim(1, 70)])

    assert found.dial == Dial(Travel(Fraction(70), Fraction(60)), 69, False)
    assert [float(found_) for found_ in found_levels(handset(), found, -1, 0, 1)] == [
        -59.9375,
        10.0625,
        70.0625,
    ]
    assert min(found.margins) == -Fraction("0.0625")


def test_values_that_the_output_makes_equal() -> None:
    """With an output of 50 % every travel of 50 % and more gives 50 %, on both sides: others are as good; arithmetic."""
    found = find(handset(output=50), channel(subtrim=0, turned=False), [aim(-1, -50), aim(1, 50)])

    assert found == Found(dial(100, 100, 0), (0, 0), False)


@pytest.mark.parametrize(
    ("output", "high", "travel"),
    [
        (113, 140, 115),  # 113 to 140 % are equal: 115 is a multiple of 5, not at the end, nearest to 100
        (111, 114, 111),  # no multiple of 5
        (111, 115, 115),  # the only one, though at the end
        (90, 140, 100),  # a blank memory has it
        (96, 99, 99),  # a blank memory has the most that there is
    ],
)
def test_the_travel_among_equals(output: int, high: int, travel: int) -> None:
    """All that the output makes equal are as good; the language says which is taken."""
    made = handset(output=output, travel=(0, high, 1))
    found = find(made, channel(subtrim=0, turned=False), [aim(1, output)])

    assert found is not None
    assert (found.dial.travel.high, found.margins, found.unique) == (travel, (0,), False)


def test_the_travel_among_equals_of_a_band() -> None:
    """A band of 100 to 140 % and an output of 113: 113 to 140 are 13 % from its edge, of which 115 as before."""
    wanted = aim(1, 100)._replace(high=Fraction(140))
    found = find(handset(output=113), channel(subtrim=0, turned=False), [wanted])

    assert found == Found(dial(100, 115, 0), (13,), False)


def test_the_travel_among_equals_that_go_by_halves() -> None:
    """From 0.5 % by 0.5 %: of 111 to 140 % 115 is a multiple of 5, not at the end, nearest to 100."""
    halves = handset(output=111)._replace(travel_low=Fraction(1, 2), travel_step=Fraction(1, 2))
    found = find(halves, channel(subtrim=0, turned=False), [aim(1, 111)])

    assert found == Found(dial(100, 115, 0), (0,), False)


def test_two_travels_that_are_equal_and_what_lies_between_is_not() -> None:
    """Travel less 225 % rises from the lower limit at 115, less 5 % is at the upper one from there: margins of 3 and 5 %
    with 113 and with 117, both 3 % with 115; arithmetic."""
    added = [
        Part(Fraction(-1), Travel(Fraction(by), Fraction(by)), Rate(Fraction(100), Fraction(100)))
        for by in (225, 5)
    ]
    wanted = [
        Constraint(Fraction(1), (part,), Fraction(low), Fraction(low + 10), Fraction(1), Fraction(0), False)
        for part, low in zip(added, (-113, 103), strict=True)
    ]
    found = find(handset(mix="after-travel", output=110), channel(subtrim=0, turned=False), wanted)

    assert found == Found(dial(100, 113, 0), (3, 5), False)


def test_a_handset_of_two_travels() -> None:
    """99 % with sub-trim -1 and 100 % without give -100 %: a blank memory has the second; arithmetic."""
    found = find(
        handset(subtrim=5, step=Fraction(1), travel=(99, 100, 1)), channel(turned=False), [aim(-1, -100)]
    )

    assert found == Found(dial(100, 100, 0), (0,), False)


@pytest.mark.parametrize(
    ("subtrim", "step", "level_", "travel", "trim"),
    [
        (10, 1, 110, 110, 0),  # or sub-trim 10 alone, which is at its end
        (20, 2, 90, 90, 0),  # five steps of travel from a blank memory, or ten of sub-trim
        (20, 1, 150, 135, 15),  # multiples of 5, and 140 is the end of travel
        (20, 5, -10, 5, -15),  # sub-trim -10 alone is nearer to a blank memory, but 0 is the end of travel
    ],
)
def test_travel_or_subtrim(subtrim: int, step: int, level_: int, travel: int, trim: int) -> None:
    """One per cent a step of sub-trim: what gives the same level is told apart by the language's rules; arithmetic."""
    made = handset(subtrim=subtrim, step=Fraction(1), travel=(0, 140, step))
    found = find(made, channel(turned=False), [aim(1, level_)])

    assert found is not None
    assert (found.dial, found.unique) == (dial(100, travel, trim), False)


@pytest.mark.parametrize("way", [1, -1])
def test_a_subtrim_at_its_end_is_taken_after_a_travel(way: int) -> None:
    """Two per cent a step: sub-trim of 5 steps, all there are, or travel of 10 steps more or less; arithmetic."""
    found = find(handset(subtrim=5, step=Fraction(2)), channel(turned=False), [aim(1, 100 + 10 * way)])

    assert found == Found(dial(100, 100 + 10 * way, 0), (0,), False)


def test_a_round_subtrim_is_taken_before_a_near_one() -> None:
    """116 % where travel ends at 110: 10 steps and 106 % have one multiple of 5, 8 steps and 108 % are nearer; arithmetic."""
    made = handset(subtrim=12, step=Fraction(1), travel=(0, 110, 2))
    found = find(made, channel(turned=False), [aim(1, 116)])

    assert found == Found(dial(100, 106, 10), (0,), False)


def test_equals_of_several_subtrims_are_counted_together() -> None:
    """-150 %: travel of 140 with sub-trim -10 or -11, which has 139 as well, where the output ends; arithmetic."""
    made = handset(subtrim=11, step=Fraction(1))
    found = find(made, channel(turned=False), [aim(-1, -150)])

    assert found == Found(dial(140, 100, -10), (0,), False)


def test_the_travel_among_equals_that_begin_between_two_steps() -> None:
    """0.9 x 111.1 % are the output's 100 %: 112 to 140 are equal, of which 115 is the first multiple of 5."""
    found = find(handset(output=100), channel(subtrim=0, turned=False), [aim(Fraction(9, 10), 100)])

    assert found == Found(dial(100, 115, 0), (0,), False)


def test_the_travel_among_equals_below_that_of_a_blank_memory() -> None:
    """130 % of sub-trim less up to 80 % of travel are the output's 50 %, and 80 is nearest to 100."""
    made = handset(output=50, step=Fraction(1), subtrim=150)
    found = find(made, channel(subtrim=130, turned=False), [aim(-1, 50)])

    assert found == Found(dial(80, 100, 130), (0,), False)


@pytest.mark.parametrize("own", [-1, 1])
def test_a_side_that_no_position_uses_leaves_the_values_the_only_ones(own: int) -> None:
    """The control at one end and in its middle: travel of the other side is as in a blank memory."""
    found = find(handset(), channel(subtrim=0, turned=False), [aim(own, own * 60), aim(0, 0)])

    assert found == Found(dial(60, 100, 0) if own < 0 else dial(100, 60, 0), (0, 0), True)


def test_limits_of_the_output_through_another_pulse() -> None:
    """Of 110 % a listener of 5 us a per cent hears 88 % where the set sends 4: 95 % are 7 % off, with travel of 110 %."""
    wanted = [
        Constraint(
            Fraction(own), (), Fraction(95 * own), Fraction(95 * own), Fraction(4, 5), Fraction(0), False
        )
        for own in (1, -1)
    ]
    found = find(handset(output=110), channel(subtrim=0, turned=False), wanted)

    assert found == Found(dial(110, 110, 0), (-7, -7), False)


def test_limits_of_the_output_as_a_listener_hears_them() -> None:
    """An output of 110 % is heard as 115 and -105 % where the listener's centre lies 5 % lower; arithmetic."""
    wanted = [
        Constraint(Fraction(own), (), Fraction(at), Fraction(at), Fraction(1), Fraction(5), False)
        for own, at in ((1, 115), (-1, -105))
    ]
    found = find(handset(output=110), channel(subtrim=0, turned=False), wanted)

    assert found == Found(dial(110, 110, 0), (0, 0), False)


def test_a_sub_trim_beside_the_limits_as_a_listener_hears_them() -> None:
    """The same with travel of 140 %: 115 and -105 % are the limits for sub-trims of -30 to 30 %, of which 0; arithmetic."""
    wanted = [
        Constraint(Fraction(own), (), Fraction(at), Fraction(at), Fraction(1), Fraction(5), False)
        for own, at in ((1, 115), (-1, -105))
    ]
    full = Travel(Fraction(140), Fraction(140))
    found = find(handset(output=110, step=Fraction(1)), channel(travel=full, turned=False), wanted)

    assert found == Found(dial(140, 140, 0), (0, 0), False)


@pytest.mark.parametrize("mix", MIXES)
def test_the_travel_beside_what_a_mix_takes_away(mix: str) -> None:
    """90 % of another control at its low end leave a tenth of the travel, or travel less 90 %: 10 % ask for 100 %."""
    full = Travel(Fraction(100), Fraction(100))
    part = Part(Fraction(-1), full, Rate(Fraction(90), Fraction(90)))
    wanted = [aim(1, 10)._replace(parts=(part,))]
    found = find(handset(mix=mix), channel(subtrim=0, turned=False), wanted)

    assert found == Found(dial(100, 100, 0), (0,), True)


def test_the_only_values_for_two_levels() -> None:
    """-60 and 60 % with sub-trim and reversal stated: travel of 60 % to either side, and no other; arithmetic."""
    found = find(handset(), channel(subtrim=0, turned=False), [aim(-1, -60), aim(1, 60)])

    assert found == Found(dial(60, 60, 0), (0, 0), True)


def test_a_margin_to_beat() -> None:
    """A search that may stop early comes back with what is as good as asked, and with nothing only if none can be."""
    wanted = [Constraint(Fraction(1), (), Fraction(20), Fraction(40), Fraction(1), Fraction(0), False)]
    asked = channel(subtrim=0, turned=False)

    for beat in (None, Fraction(-5), Fraction(10)):
        found = find(handset(), asked, wanted, beat)
        assert found is not None
        assert (found.dial.travel.high, found.margins) == (30, (10,))
    assert find(handset(), asked, wanted, Fraction(101, 10)) is None
    found = find(handset(), channel(turned=False), wanted, Fraction(10))  # sub-trim 240 alone would leave 5 %
    assert found is not None and found.margins == (10,)


# ---- the search: brute force and integer programming -----------------------------------------------------------------


def plain_level(handset_: Arithmetic, values: Dial, want: Constraint) -> Fraction:
    """What a listener hears, written down once more from the text of the language, line by line."""
    control = want.own
    if handset_.reverse == "before-travel" and values.reversed:
        control = -control
    added = Fraction(0)
    for part in want.parts:
        percent, travel = (
            (part.rate.high, part.travel.high) if part.value >= 0 else (part.rate.low, part.travel.low)
        )
        added += part.value * percent / 100 * (travel if handset_.mix == "after-travel" else 1)
    if handset_.mix == "before-travel":
        control, added = control + added, Fraction(0)
    out = control * (values.travel.high if control >= 0 else values.travel.low) + added
    trim = values.subtrim * handset_.subtrim_step
    if handset_.shifts == "centre":
        trim *= max(Fraction(0), 1 - abs(control))
    if handset_.reverse == "before-subtrim" and values.reversed:
        out = -out
    out += trim
    if handset_.reverse == "after-subtrim" and values.reversed:
        out = -out
    out = max(handset_.output_low, min(handset_.output_high, out))
    heard = out * want.scale + want.shift
    return -heard if want.turned else heard


def plain_margin(handset_: Arithmetic, values: Dial, want: Constraint) -> Fraction:
    """Distance to the nearer edge."""
    heard = plain_level(handset_, values, want)
    return min(heard - want.low, want.high - heard)


def travels(handset_: Arithmetic) -> list[Fraction]:
    """Every value that travel can be set to."""
    count = (handset_.travel_high - handset_.travel_low) // handset_.travel_step
    return [handset_.travel_low + at * handset_.travel_step for at in range(int(count) + 1)]


def every_dial(handset_: Arithmetic, asked: Channel) -> Iterator[Dial]:
    """Every set of values that the channel leaves open."""
    sides = [asked.travel] if asked.travel else [Travel(*pair) for pair in product(travels(handset_), repeat=2)]
    trims = (
        range(handset_.subtrim_low, handset_.subtrim_high + 1) if asked.subtrim is None else (asked.subtrim,)
    )
    for sides_, trim, turned in product(sides, trims, (False, True)):
        if asked.reversed in (None, turned):
            yield Dial(sides_, trim, turned)


def rounded_fractions(low: int, high: int, parts: int) -> st.SearchStrategy[Fraction]:
    """Fractions with one denominator."""
    return st.integers(low * parts, high * parts).map(lambda number: Fraction(number, parts))


@st.composite
def small_handsets(draw: st.DrawFn) -> Arithmetic:
    """Handsets with so few settings that all can be tried."""
    return handset(
        step=draw(st.sampled_from([Fraction(5, 2), Fraction(10), Fraction(35, 3)])),
        subtrim=draw(st.integers(1, 4)),
        travel=(draw(st.sampled_from([0, 20])), 20 + 20 * draw(st.integers(1, 6)), 20),
        shifts=draw(st.sampled_from(SHIFTS)),
        reverse=draw(st.sampled_from(REVERSES)),
        mix=draw(st.sampled_from(MIXES)),
        output=draw(st.sampled_from([75, 110, 150])),
    )


@st.composite
def wants(draw: st.DrawFn, scales: bool = True) -> list[Constraint]:
    """One to four positions with the bands in which they must land."""
    made = []
    for _ in range(draw(st.integers(1, 4))):
        low = draw(rounded_fractions(-150, 130, 2))
        high = low + draw(rounded_fractions(0, 60, 2))
        parts = tuple(
            Part(
                Fraction(draw(st.sampled_from([-1, 0, 1]))),
                Travel(Fraction(draw(st.integers(0, 140))), Fraction(draw(st.integers(0, 140)))),
                Rate(Fraction(draw(st.integers(-100, 100))), Fraction(draw(st.integers(-100, 100)))),
            )
            for _ in range(draw(st.integers(0, 2)))
        )
        made.append(
            Constraint(
                draw(
                    st.sampled_from([Fraction(-1), Fraction(-1, 3), Fraction(0), Fraction(1, 3), Fraction(1)])
                ),
                parts,
                low,
                high,
                draw(st.sampled_from([Fraction(1), Fraction(4, 5), Fraction(32, 25)]))
                if scales
                else Fraction(1),
                draw(st.sampled_from([Fraction(0), Fraction(5), Fraction(-4)])) if scales else Fraction(0),
                draw(st.booleans()) if scales else False,
                draw(st.booleans()),
            )
        )
    return list(dict.fromkeys(made))


def ranks(handset_: Arithmetic, values: Dial, wanted: Sequence[Constraint]) -> list[list[Fraction]]:
    """What the search makes as large as it can: the margins of bands and aims, least first, then those of ends."""
    return [
        sorted(plain_margin(handset_, values, want) for want in wanted if want.firm is firm)
        for firm in (True, False)
    ]


@st.composite
def asked_channels(draw: st.DrawFn, handset_: Arithmetic) -> Channel:
    """A channel with one or more of its values left to the search."""
    sides = st.sampled_from(travels(handset_))
    asked = channel(
        travel=draw(st.none() | st.builds(Travel, sides, sides)),
        subtrim=draw(st.none() | st.integers(handset_.subtrim_low, handset_.subtrim_high)),
        turned=draw(st.none() | st.booleans()),
    )
    assume(None in (asked.travel, asked.subtrim, asked.reversed))
    return asked


@settings(max_examples=120)
@given(st.data())
def test_search_is_as_good_as_brute_force(data: st.DataObject) -> None:
    """No values of the handset have larger margins, smallest first; the margins told are those of the values told."""
    handset_ = data.draw(small_handsets())
    asked = data.draw(asked_channels(handset_))
    wanted = data.draw(wants())
    found = find(handset_, asked, wanted)
    ranked = [full_ranks(handset_, tried, wanted, ()) for tried in every_dial(handset_, asked)]
    best = max(ranked)

    assert full_ranks(handset_, found.dial, wanted, ()) == best
    assert list(found.margins) == [plain_margin(handset_, found.dial, want) for want in wanted]
    assert found.dial in set(every_dial(handset_, asked))
    if ranked.count(best) == 1:
        assert found.unique


def dislike(handset_: Arithmetic, values: Dial) -> tuple[int, int, int, Fraction]:
    """What a person likes less: values changed, no multiples of 5, at an end of a range, steps from a blank memory."""
    blank = min(Fraction(100), handset_.travel_high)
    sides, trim = list(values.travel), values.subtrim
    return (
        sum(side != blank for side in sides) + (trim != 0) + values.reversed,
        sum(side % 5 != 0 for side in sides) + (trim % 5 != 0),
        sum(side in (handset_.travel_low, handset_.travel_high) for side in sides)
        + (trim in (handset_.subtrim_low, handset_.subtrim_high)),
        sum((abs(side - blank) / handset_.travel_step for side in sides), Fraction(abs(trim))),
    )


@settings(max_examples=60)
@given(st.data())
def test_among_equals_what_a_person_would_dial(data: st.DataObject) -> None:
    """Of all values with the best margins those that the language promises, one rule after the other: all tried."""
    step = data.draw(st.sampled_from([1, 3, 4]))
    below, above = data.draw(st.integers(0, 10)), data.draw(st.integers(0, 6))  # steps on either side of 100 %
    high = 100 + above * step if data.draw(st.booleans()) else 97
    handset_ = handset(
        step=data.draw(st.sampled_from([Fraction(5, 2), Fraction(35, 3)])),
        subtrim=data.draw(st.integers(1, 6)),
        travel=(min(high, 100) - below * step, high, step),
        shifts=data.draw(st.sampled_from(SHIFTS)),
        reverse=data.draw(st.sampled_from(REVERSES)),
        output=data.draw(st.sampled_from([50, 60, 67, 110])),
    )
    wanted = [want._replace(parts=()) for want in data.draw(wants())]
    asked = channel(turned=data.draw(st.sampled_from([None, False, True])))
    found = find(handset_, asked, wanted)
    assert found is not None
    best = ranks(handset_, found.dial, wanted)
    equals = [tried for tried in every_dial(handset_, asked) if ranks(handset_, tried, wanted) == best]

    assert dislike(handset_, found.dial) == min(dislike(handset_, tried) for tried in equals)


@pytest.mark.slow
@settings(max_examples=120)
@given(st.data())
def test_the_only_best_values_are_the_only_ones(data: st.DataObject) -> None:
    """Called the only best: every other choice with the same margins differs on a side that no position uses."""
    handset_ = data.draw(small_handsets())
    wanted = data.draw(wants())
    found = find(handset_, channel(), wanted)
    assume(found.unique)
    best = ranks(handset_, found.dial, wanted)
    for tried in every_dial(handset_, channel()):
        if ranks(handset_, tried, wanted) != best:
            continue
        assert (tried.subtrim, tried.reversed) == (found.dial.subtrim, found.dial.reversed)
        for one_side in (
            found.dial._replace(travel=Travel(tried.travel.low, found.dial.travel.high)),
            found.dial._replace(travel=Travel(found.dial.travel.low, tried.travel.high)),
        ):
            if one_side != found.dial:
                moved = [plain_level(handset_, one_side, want) for want in wanted]
                wide = handset_._replace(output_low=Fraction(-(10**6)), output_high=Fraction(10**6))
                assert moved == [plain_level(handset_, found.dial, want) for want in wanted]
                assert [plain_level(wide, one_side, want) for want in wanted] == [
                    plain_level(wide, found.dial, want) for want in wanted
                ]


@st.composite
def further(draw: st.DrawFn) -> list[Condition]:
    """Positions that must land in one of one to three stretches, kept some way from their ends; or that only move."""
    made = []
    for want in draw(wants()):
        stretches = [(want.low, want.high)]
        for _ in range(draw(st.integers(0, 2))):
            low = stretches[-1][1] + draw(rounded_fractions(1, 30, 2))
            stretches.append((low, low + draw(rounded_fractions(0, 40, 2))))
        cut = draw(st.none() | st.just((Fraction(-90), Fraction(80))))
        made.append(
            Condition(
                own=want.own,
                parts=want.parts,
                stretches=() if draw(st.integers(0, 4)) == 0 else tuple(stretches),
                scale=want.scale,
                shift=want.shift,
                turned=want.turned,
                room=Fraction(draw(st.sampled_from([0, 2, 5, 100]))),
                cut=cut,
            )
        )
    return made


def plain_distance(handset_: Arithmetic, values: Dial, condition: Condition) -> Fraction:
    """How far inside one of its stretches a level lies, at most the room; less than 0 outside."""
    if not condition.stretches:
        return Fraction(0)
    cut = handset_
    if condition.cut:
        cut = handset_._replace(
            output_low=max(handset_.output_low, condition.cut[0]),
            output_high=min(handset_.output_high, condition.cut[1]),
        )
    ends = [
        Constraint(*condition[:2], low, high, condition.scale, condition.shift, condition.turned)
        for low, high in condition.stretches
    ]
    return min(condition.room, max(plain_margin(cut, values, end) for end in ends))


def is_met(handset_: Arithmetic, values: Dial, wanted: Sequence[Constraint]) -> bool:
    """Whether every band is met, and every level aimed at by a step of the handset."""
    step = max(handset_.travel_step, handset_.subtrim_step)
    return all(
        plain_margin(handset_, values, want) >= (-step * want.scale if want.low == want.high else 0)
        for want in wanted
        if want.firm
    )


def full_ranks(
    handset_: Arithmetic, values: Dial, wanted: Sequence[Constraint], conditions: Sequence[Condition]
) -> tuple[int, list[list[Fraction]]]:
    """What the language promises: all is met, or else all that is wished; then margins, conditions, ends of sweeps."""
    firm, soft = ranks(handset_, values, wanted)
    distances = sorted(plain_distance(handset_, values, condition) for condition in conditions)
    wished = is_met(handset_, values, wanted)
    if not wished:
        return 0, [firm, soft]
    return 1 + all(distance >= 0 for distance in distances), [firm, distances, soft]


@settings(max_examples=250)
@given(st.data())
def test_search_under_conditions_is_as_good_as_brute_force(data: st.DataObject) -> None:
    """Values that meet all are found whenever there are some, and they are the best of those; all values tried."""
    handset_ = data.draw(small_handsets())
    asked = data.draw(asked_channels(handset_))
    wanted = data.draw(wants())
    conditions = data.draw(further())
    found = find(handset_, asked, wanted, conditions=conditions)
    assert found is not None and found.exact
    ranked = [full_ranks(handset_, tried, wanted, conditions) for tried in every_dial(handset_, asked)]
    best = max(ranked)

    assert full_ranks(handset_, found.dial, wanted, conditions) == best
    assert list(found.margins) == [plain_margin(handset_, found.dial, want) for want in wanted]
    if found.unique and all(
        any(condition.own == own and not condition.stretches for condition in conditions) for own in (-1, 1)
    ):
        assert ranked.count(best) == 1


@settings(max_examples=80)
@given(st.data())
def test_search_over_variants_is_as_good_as_each_alone(data: st.DataObject) -> None:
    """The best of several sets of wants, those of one kind with one set of conditions or another; all values tried."""
    handset_ = data.draw(small_handsets())
    asked = data.draw(asked_channels(handset_))
    wanted = data.draw(wants())
    conditions = data.draw(further())
    shifts = data.draw(st.lists(st.integers(-30, 30), min_size=1, max_size=4, unique=True))
    variants = tuple(
        Variant(
            tuple(want._replace(shift=want.shift + shift) for want in wanted),
            tuple(condition._replace(own=own) for condition in conditions),
            (Fraction(at),),
            at,
        )
        for at, shift in enumerate(shifts)
        for own in (Fraction(1), Fraction(-1, 3))
    )
    found = search(handset_, *asked[3:6], variants)
    assert found is not None
    tried = {
        (number, dial_): full_ranks(handset_, dial_, variant.wants, variant.conditions)
        for number, variant in enumerate(variants)
        for dial_ in every_dial(handset_, asked)
    }
    best = max(tried.values())

    assert tried[found.variant, found.dial] == best
    equals = {(variants[number].kin, dial_) for (number, dial_), reached in tried.items() if reached == best}
    assert variants[found.variant].kin == min(kin for kin, _ in equals)
    if len(equals) == 1:
        assert found.unique
    if found.unique:
        assert len({kin for kin, _ in equals}) == 1


def programme(handset_: Arithmetic, wanted: Sequence[Constraint], turned: bool, met: bool) -> float:
    """The largest smallest margin of one direction, by an integer linear programme; minus infinity if there is none.

    Unknown: t, then the steps of travel low and high, and of sub-trim; t <= level - low and t <= high - level.
    What a step of each is worth is measured on the plain arithmetic, which is linear where nothing is clipped.
    `met`: only values that meet every band, and every aim within a step of the handset.
    """
    step = handset_.travel_step
    slack = float(max(step, handset_.subtrim_step))
    last = (handset_.travel_high - handset_.travel_low) / step

    def at(low: int, high: int, trim: int, want: Constraint) -> Fraction:
        sides = Travel(handset_.travel_low + low * step, handset_.travel_low + high * step)
        return plain_level(handset_, Dial(sides, trim, turned), want)

    rows_of_set, limits = [], []
    for want in wanted:
        start = at(0, 0, 0, want)
        slopes = [at(*one, want) - start for one in ((1, 0, 0), (0, 1, 0), (0, 0, 1))]
        rows_of_set.append([1.0, *(-float(slope) for slope in slopes)])
        limits.append(float(start - want.low))
        rows_of_set.append([1.0, *(float(slope) for slope in slopes)])
        limits.append(float(want.high - start))
        if met and want.firm:
            rows_of_set += [[0.0, *row[1:]] for row in rows_of_set[-2:]]
            limits += [limit + slack * (want.low == want.high) for limit in limits[-2:]]
    answer = milp(
        c=np.array([-1.0, 0, 0, 0]),
        constraints=LinearConstraint(np.array(rows_of_set), ub=np.array(limits)),
        integrality=np.array([0, 1, 1, 1]),
        options={"mip_rel_gap": 0.0},
        bounds=Bounds(
            [-np.inf, 0, 0, handset_.subtrim_low], [np.inf, float(last), float(last), handset_.subtrim_high]
        ),
    )
    assert answer.success or met, answer.message
    return float(-answer.fun) if answer.success else -np.inf


@pytest.mark.slow
@pytest.mark.parametrize(("shifts", "reverse", "mix"), list(product(SHIFTS, REVERSES, MIXES)))
@settings(max_examples=20)
@given(st.data())
def test_search_is_as_good_as_an_integer_programme(
    shifts: str, reverse: str, mix: str, data: st.DataObject
) -> None:
    """On a handset of full size the smallest margin is the one that scipy's solver finds, met values before others."""
    handset_ = handset(shifts=shifts, reverse=reverse, mix=mix, output=100_000)
    wanted = data.draw(wants(scales=False))
    found = find(handset_, channel(), wanted)
    first = [want for want in wanted if want.firm] or wanted
    met, nearest = (
        max(programme(handset_, first, turned, met) for turned in (False, True)) for met in (True, False)
    )
    best = nearest if met == -np.inf else met

    margins = [margin for want, margin in zip(wanted, found.margins, strict=True) if want in first]
    assert float(min(margins)) == pytest.approx(best, abs=1e-4)
