"""The length that a route needs."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from rigcard.resolve.mechanics import Route


@given(
    way=st.integers(1, 10**6), slack=st.integers(0, 100), loops=st.integers(0, 20), loop=st.integers(1, 10**4)
)  # fmt: skip
def test_need_grows_with_each_of_its_parts(way: int, slack: int, loops: int, loop: int) -> None:
    """In hundredths of a mm: 100 x need = way x (100 + slack) + 100 x loops x loop; integers alone."""
    need = Route(Fraction(way), Fraction(slack), loops, Fraction(loop)).needed

    assert need * 100 == way * (100 + slack) + 100 * loops * loop
