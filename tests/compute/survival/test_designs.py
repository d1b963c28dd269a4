"""Finite populations against scipy."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import hypergeom

from collection.compute.survival.model.designs import finite_range

# scipy.stats.hypergeom.cdf(k, N, K, n): whole, read, found, one-sided 95 % ends, two-sided 95 % range.
FINITE = [
    (50, 12, 0, (0, 9), (0, 11)),
    (50, 12, 3, (5, 24), (4, 26)),
    (40, 10, 10, (31, 40), (30, 40)),
    (100, 30, 0, (0, 8), (0, 9)),
    (20, 20, 5, (5, 5), (5, 5)),
]


@pytest.mark.parametrize(("whole", "read", "found", "one", "two"), FINITE)
def test_finite_ranges_are_the_reference_librarys(
    whole: int, read: int, found: int, one: tuple[int, int], two: tuple[int, int]
) -> None:
    """The range of places is that of the exact hypergeometric tails; a census leaves none."""
    assert finite_range(whole, read, found, sides=1) == one
    assert finite_range(whole, read, found) == two


@given(st.integers(1, 40), st.data())
def test_ends_lie_where_the_tails_cross(whole: int, data: st.DataObject) -> None:
    """The most has more than 2.5 % chance of showing so few and one more has not; likewise the least."""
    read = data.draw(st.integers(0, whole))
    found = data.draw(st.integers(0, read))
    least, most = finite_range(whole, read, found)
    assert found <= least <= most <= whole - read + found
    assert hypergeom.cdf(found, whole, most, read) > 0.025 - 1e-12
    if most < whole - read + found:
        assert hypergeom.cdf(found, whole, most + 1, read) <= 0.025 + 1e-12
    assert hypergeom.sf(found - 1, whole, least, read) > 0.025 - 1e-12
    if least > found:
        assert hypergeom.sf(found - 1, whole, least - 1, read) <= 0.025 + 1e-12


@pytest.mark.parametrize("bad", [(5, 6, 1), (5, 4, 5), (5, 4, -1)])
def test_impossible_counts_are_refused(bad: tuple[int, int, int]) -> None:
    """More read than there are, or more found than read, is no sample."""
    with pytest.raises(ValueError, match="within the next"):
        finite_range(*bad)
