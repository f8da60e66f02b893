"""Handsets with hidden arithmetic: readings find it, or the reading that is missing is named."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench_handsets import (
    ALL_ORDERS,
    CONTROLS,
    DECLARED,
    FINE,
    HERE,
    bench,
    level,
    shown,
)
from rigcard.resolve.model import Arithmetic, Bench, Pulse, Travel
from rigcard.resolve.words import LEARNABLE
from rigcard.solve.learning.asking import fewest, menu, telling, to_take
from rigcard.solve.learning.handset import Frame, agreeing, contradicting, learn, pulse_of, ways

SETS = [  # what is unknown together
    ("reverse",),
    ("shifts",),
    ("mix",),
    ("step",),
    ("pulse",),
    ("shifts", "reverse"),
    ("step", "shifts", "reverse"),
    ("step", "shifts", "reverse", "mix"),
    LEARNABLE[:5],
]
MOST_ROUNDS = 4


def read_out(hidden: Arithmetic, unknown: tuple[str, ...]) -> tuple[Bench, int]:
    """Take the readings that are asked for until all is settled; return the bench and how often one had to ask."""
    found = bench(hidden, unknown)
    for rounds in range(1, MOST_ROUNDS + 1):
        asks = to_take(found, CONTROLS, HERE)
        assert asks, (unknown, hidden, learn(found).settled)
        found = found._replace(readings=(*found.readings, *(shown(hidden, one) for one in asks)))
        if set(learn(found).settled) == set(unknown):
            return found, rounds
    raise AssertionError(f"not settled: {unknown} {hidden}")


def is_near(found: Arithmetic, hidden: Arithmetic) -> bool:
    """Whether two handsets give every pulse within 1 % of travel (half of what a measured pulse may be off)."""
    orders = [(one.shifts, one.reverse, one.mix) for one in (found, hidden)]
    least = hidden.pulse.per_percent
    return (
        orders[0] == orders[1]
        and abs(found.pulse.centre - hidden.pulse.centre) <= least
        and abs(found.pulse.per_percent - hidden.pulse.per_percent) * 125 <= 2 * least
        and abs(found.subtrim_step - hidden.subtrim_step) * 80 <= 2
        and abs(found.output_high - hidden.output_high) <= 2
        and abs(found.output_low - hidden.output_low) <= 2
    )


@pytest.mark.parametrize("unknown", SETS, ids="-".join)
def test_every_order_is_found(unknown: tuple[str, ...]) -> None:
    """For each member of the family the readings that are asked for find it, sizes and all."""
    for order in ALL_ORDERS:
        hidden = order
        for name in unknown:
            hidden = hidden._replace(**FINE.get(name, {}))
        found, _ = read_out(hidden, unknown)

        assert is_near(learn(found).arithmetic, hidden), (unknown, hidden)


@pytest.mark.parametrize("order", [ALL_ORDERS[0], ALL_ORDERS[5], ALL_ORDERS[7]], ids=lambda one: one.reverse)
def test_the_limit_is_found_beside_all_else(order: Arithmetic) -> None:
    """With everything unknown, six readings find the handset, the levels at which it cuts off among it."""
    hidden = order._replace(**FINE["pulse"], **FINE["step"], **FINE["output"])
    found, rounds = read_out(hidden, LEARNABLE)

    assert (len(found.readings), rounds) == (6, 1)
    assert is_near(learn(found).arithmetic, hidden)


def test_a_limit_that_nothing_reaches_is_taken_where_it_was_last_seen() -> None:
    """Without mixes no channel reaches 200 %: the highest level that was read stands for the limit."""
    hidden = DECLARED._replace(mix="", output_low=Fraction(-200), output_high=Fraction(200))
    found, _ = read_out(hidden, ("output",))
    made = learn(found).arithmetic

    assert [made.output_low, made.output_high] == [pytest.approx(-137, abs=0.3), pytest.approx(137, abs=0.3)]


percents = st.sampled_from([Fraction(4), Fraction(9, 2), Fraction(5), Fraction(128, 25), Fraction(6)])
wholes = st.integers(min_value=6, max_value=60)


@settings(max_examples=12)
@given(st.sampled_from(ALL_ORDERS), percents, wholes, st.integers(1480, 1530))
def test_any_sizes_are_found(order: Arithmetic, percent: Fraction, whole: int, centre: int) -> None:
    """A handset of any order, scale, step and centre; what the first card leaves open, the next reading settles."""
    hidden = order._replace(pulse=Pulse(Fraction(centre), percent), subtrim_step=Fraction(whole, 80))
    found, _ = read_out(hidden, LEARNABLE[:5])

    assert is_near(learn(found).arithmetic, hidden)


@settings(max_examples=60)
@given(
    st.sampled_from(ALL_ORDERS),
    st.integers(0, 25),
    st.integers(0, 25),
    st.integers(-80, 80),
    st.booleans(),
    st.integers(-1, 1),
    st.sampled_from([0, 25, 50, 100]),
    st.integers(-1, 1),
)
def test_a_pulse_is_that_of_the_page(
    order: Arithmetic, low: int, high: int, steps: int, turned: bool, at: int, mix: int, source: int
) -> None:
    """What learning computes for a reading is what the page of the language says, written anew for the tests."""
    like = menu(bench(order, ("mix",)), CONTROLS, HERE)[0]
    places = {place.value: place for place in CONTROLS["top"].positions}
    reading = like._replace(
        travel=Travel(Fraction(5 * low), Fraction(5 * high)),
        subtrim=steps,
        reversed=turned,
        position=places[Fraction(at)],
        mix=Fraction(mix),
        source="front",
        source_position=places[Fraction(source)],
    )

    assert pulse_of(order, reading) == order.pulse.width(level(order, reading))


# ---- held against brute force --------------------------------------------------------------------------------


def blind_orders(found: Bench) -> set[tuple[str, str, str, int]]:
    """Every order and whole per cent of 80 steps that agrees, tried one after the other."""
    agreeing_ones = set()
    for order in ways(found):
        for whole in range(1, 200):
            tried = order._replace(subtrim_step=Fraction(whole, 80))
            pulses = [(tried.pulse.width(level(tried, one)), one) for one in found.readings]
            if all(one.low <= pulse <= one.high for pulse, one in pulses):
                agreeing_ones.add((order.shifts, order.reverse, order.mix, whole))
    return agreeing_ones


@settings(max_examples=25)
@given(st.sampled_from(ALL_ORDERS), st.integers(1, 60), st.sets(st.integers(0, 11), min_size=1, max_size=4))
def test_a_blind_search_agrees(order: Arithmetic, whole: int, chosen: set[int]) -> None:
    """Whatever was read: the orders that agree are those of a blind search, and its steps lie in their ranges."""
    hidden = order._replace(subtrim_step=Fraction(whole, 80))
    empty = bench(hidden, ("step", "shifts", "reverse", "mix"))
    choice = menu(empty, CONTROLS, HERE)
    found = empty._replace(readings=tuple(shown(hidden, choice[at]) for at in sorted(chosen)))
    frame = Frame(found)
    ranges: dict[tuple[str, str, str], list[tuple[Fraction, Fraction]]] = {}
    for option in agreeing(found, found.readings):
        low, high = frame.range_of(option, step=Fraction(80))
        percent = hidden.pulse.per_percent
        ranges.setdefault(option.orders, []).append((low / percent, high / percent))
    blind = blind_orders(found)

    assert {one[:3] for one in blind} <= set(ranges)
    for *orders, size in blind:
        assert any(low <= size <= high for low, high in ranges[tuple(orders)])  # type: ignore[index]
    for orders, sides in ranges.items():  # a range that holds a whole per cent was found blindly, too
        for low, high in sides:
            for size in range(max(1, -int(-low // 1)), min(199, int(high)) + 1):
                assert (*orders, size) in blind


def simulated(found: Bench, chosen: tuple[int, ...]) -> bool:
    """Whether these readings of the menu settle a few hidden handsets of every order."""
    choice = menu(found, CONTROLS, HERE)
    for order in ways(found):
        for whole in (12, 36):
            hidden = order._replace(subtrim_step=Fraction(whole, 80)) if "step" in found.unknown else order
            readings = tuple(shown(hidden, choice[at]) for at in chosen)
            if set(learn(found._replace(readings=readings)).settled) != set(found.unknown):
                return False
    return True


@pytest.mark.parametrize("unknown", SETS[:7], ids="-".join)
def test_no_fewer_readings_would_do(unknown: tuple[str, ...]) -> None:
    """The set that is asked for settles every order; no smaller set of the same menu does: brute force."""
    found = bench(DECLARED, unknown)
    choice = menu(found, CONTROLS, HERE)
    asked = fewest(found, choice)
    numbers = tuple(choice.index(one) for one in asked)

    assert simulated(found, numbers)
    for count in range(len(asked)):
        assert not any(simulated(found, chosen) for chosen in combinations(range(len(choice)), count))


# ---- contradictions and the next reading ---------------------------------------------------------------------


@pytest.mark.parametrize("at", range(6))
@pytest.mark.parametrize("off", [-40, 9, 60])
def test_any_one_wrong_reading_is_noticed(at: int, off: int) -> None:
    """Of six readings of a handset with known pulse one is off beyond rounding: none agrees, and it is suspected."""
    hidden = ALL_ORDERS[4]._replace(subtrim_step=Fraction(35, 80))
    empty = bench(hidden, ("step", "shifts", "reverse"))
    readings = [shown(hidden, one) for one in menu(empty, CONTROLS, HERE)[:7] if not one.mix]
    wrong = readings[at]._replace(low=readings[at].low + off, high=readings[at].high + off)
    found = empty._replace(readings=(*readings[:at], wrong, *readings[at + 1 :]))

    assert learn(found).options == ()
    assert wrong in contradicting(found)


def test_the_next_reading_parts_what_is_left() -> None:
    """Taken the reading that tells most, fewer orders agree than before, whatever the handset is."""
    for order in ALL_ORDERS:
        empty = bench(order, ("shifts", "reverse", "mix"))
        choice = menu(empty, CONTROLS, HERE)
        found = empty._replace(readings=(shown(order, choice[0]),))
        before = {option.orders for option in learn(found).options}
        best = telling(found, choice)
        assert best is not None
        after = learn(found._replace(readings=(*found.readings, shown(order, best)))).options

        assert {option.orders for option in after} < before
