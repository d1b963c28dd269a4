"""Codes of one object in the order in which people count them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.records.codes import natural

CODES = st.text("S0123456789-.aL9", max_size=8)


@pytest.mark.parametrize(
    "counted",
    [
        ("S1", "S2", "S10", "S100"),
        ("L-2", "L-10", "L-STRIP", "L2"),
        ("45.2", "45.10", "45.10a"),
        ("7", "12", "C3", "D1"),
        ("S02", "S2", "S03"),
        ("N" + "9" * 9, "N1" + "0" * 9, "N1" + "0" * 10, "N1" + "0" * 40),
    ],
)
def test_codes_stand_as_people_count(counted: tuple[str, ...]) -> None:
    assert tuple(sorted(set(counted), key=natural)) == counted


@given(st.lists(st.integers(0, 10**25), min_size=2))
def test_numbers_stand_by_their_size(numbers: list[int]) -> None:
    """Python's own order of whole numbers."""
    assert sorted((f"S{n}-x" for n in numbers), key=natural) == [f"S{n}-x" for n in sorted(numbers)]


@given(CODES, CODES, CODES)
def test_any_two_codes_have_one_order(one: str, other: str, third: str) -> None:
    assert (natural(one) == natural(other)) == (one == other)
    assert natural(one) < natural(other) or natural(other) < natural(one) or one == other
    first, second, last = sorted((one, other, third), key=natural)
    assert natural(first) <= natural(second) <= natural(last)
    assert natural(first) <= natural(last)


@given(st.lists(st.tuples(st.text("S-.L", max_size=3), st.integers(0, 99), st.text("-.Lz", max_size=2))))
def test_numbers_of_as_many_digits_leave_the_plain_order(parts: list[tuple[str, int, str]]) -> None:
    codes = [f"{before}{number:02d}{after}" for before, number, after in parts]
    assert sorted(codes, key=natural) == sorted(codes)
