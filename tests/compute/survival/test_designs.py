"""Finite populations and strata against worked values and scipy."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import hypergeom

from collection.compute.survival.model.designs import Stratum, finite_range, weighted_share

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


def test_parts_are_weighted_by_area() -> None:
    """18 of 20, 5 of 15 and 0 of 10 on half, 0.3 and 0.2 of the area: 0.55, not the pooled 0.5111; derived by hand from
    Cochran's formula."""
    found = weighted_share([Stratum(0.5, 20, 18), Stratum(0.3, 15, 5), Stratum(0.2, 10, 0)])
    assert found is not None
    assert found.share == pytest.approx(0.55)
    assert found.error == pytest.approx(0.05112, abs=5e-6)
    assert (found.low, found.high) == pytest.approx((0.4498, 0.6502), abs=5e-5)


def test_a_part_with_nothing_found_is_named() -> None:
    """A stratum of zeros adds no variance, so it is named; so is one that nobody read, which stays out."""
    found = weighted_share([Stratum(0.5, 20, 18), Stratum(0.2, 10, 0), Stratum(0.3, 0, 0)])
    assert found is not None
    assert found.one_sided == (1,)
    assert found.unread == (2,)
    assert weighted_share([Stratum(1, 0, 0)]) is None


@given(st.lists(st.tuples(st.floats(0.01, 100), st.integers(1, 30), st.integers(0, 30)), min_size=1, max_size=6))
def test_the_share_lies_among_its_parts(rows: list[tuple[float, int, int]]) -> None:
    """The weighted share lies between the lowest and the highest of its parts, inside its own range."""
    strata = [Stratum(area, read, min(read, found)) for area, read, found in rows]
    found = weighted_share(strata)
    assert found is not None
    shares = [s.found / s.read for s in strata]
    assert min(shares) - 1e-9 <= found.share <= max(shares) + 1e-9
    assert found.low - 1e-9 <= found.share <= found.high + 1e-9


@pytest.mark.parametrize("bad", [(5, 6, 1), (5, 4, 5), (5, 4, -1)])
def test_impossible_counts_are_refused(bad: tuple[int, int, int]) -> None:
    """More read than there are, or more found than read, is no sample."""
    with pytest.raises(ValueError, match="within the next"):
        finite_range(*bad)
