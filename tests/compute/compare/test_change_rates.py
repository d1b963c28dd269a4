"""Changes per year: held against other people's least squares, and silent where two readings say nothing of scatter."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats
from two_looks import NOW, OBJ, THEN, looked, read, seen

from collection.compute.compare.rates import line, student
from collection.records.sheets import Decoration

YEARS = [0.0, 3.1, 5.5, 10.2, 12.9, 20.0]


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 5, 6, 7, 10, 11, 30, 31, 120])
def test_the_point_of_students_t_is_that_of_scipy(degrees: int) -> None:
    """Reference: scipy.stats.t.ppf(0.975, n)."""
    assert student(degrees) == pytest.approx(stats.t.ppf(0.975, degrees), rel=1e-9)


@given(st.lists(st.integers(0, 1000).map(lambda tenths: tenths / 10), min_size=3, max_size=6))
def test_slope_and_interval_are_those_of_scipy_and_statsmodels(values: list[float]) -> None:
    """References: scipy.stats.linregress with scipy.stats.t, and statsmodels OLS(...).fit().conf_int(0.05)."""
    assume(len(set(values)) > 1)  # scipy divides by their spread
    years = YEARS[: len(values)]
    slope, interval = line(years, values)
    by_scipy = stats.linregress(years, values)
    assert slope == pytest.approx(by_scipy.slope, abs=1e-9)
    if interval is None:
        assert by_scipy.stderr <= 1e-6
        return
    reach = stats.t.ppf(0.975, len(values) - 2) * by_scipy.stderr
    assert interval == pytest.approx((slope - reach, slope, slope + reach), rel=1e-6, abs=1e-6)
    low, high = sm.OLS(np.array(values), sm.add_constant(np.array(years))).fit().conf_int(0.05)[1]
    assert (interval[0], interval[2]) == pytest.approx((low, high), rel=1e-6, abs=1e-6)


def test_two_readings_give_their_difference_per_year_and_no_interval() -> None:
    """5 % in May 2014 and 25 % ten years later: 2 % of the place a year."""
    (rate,) = looked([seen(THEN, extent_pct=5.0)], [seen(NOW, extent_pct=25.0)]).rates
    assert (rate.what, rate.place, rate.column) == ("flaking", "top", "extent_pct")
    assert rate.per_year == pytest.approx(2.0, rel=1e-3)
    assert rate.interval is None
    assert rate.as_json() == {
        "what": "flaking",
        "place": "top",
        "column": "extent_pct",
        "per_year": 1.99969,
        "interval": None,
        "readings": [
            {"on": on, "value": value, "evidence": {"kind": "conditions", "key": f"{OBJ}/top/flaking/{on}"}}
            for on, value in ((THEN, 5.0), (NOW, 25.0))
        ],
    }


def test_three_readings_have_an_interval_whoever_brought_them() -> None:
    """A third survey's reading between the two counts too: 5, 17, 25 % at five years each, by linregress 2.00 a year."""
    found = looked([seen(THEN, extent_pct=5.0)], [seen(NOW, extent_pct=25.0)], [seen("2019-05-02", extent_pct=17.0)])
    (rate,) = found.rates
    low, middle, high = rate.interval
    assert middle == rate.per_year == pytest.approx(2.0, rel=1e-3)
    # scipy.stats.linregress([0, 5, 10], [5, 17, 25]).stderr is 0.23094, and t.ppf(0.975, 1) is 12.7062
    assert (low, high) == pytest.approx((2 - 12.7062 * 0.23094, 2 + 12.7062 * 0.23094), abs=0.01)


def test_readings_on_a_line_have_no_interval_of_nothing() -> None:
    """Three rounded readings that happen to lie on a line are no proof of a rate without error."""
    assert line([0.0, 5.0, 10.0], [10.0, 20.0, 30.0]) == (2.0, None)


@pytest.mark.parametrize(
    ("then", "now"),
    [
        ([seen(THEN, severity=1)], [seen(NOW, severity=3)]),  # a rank has no rate
        ([seen(THEN, extent_pct=8.0)], [seen(NOW, extent_pct=8.0)]),  # nothing changed
        ([seen("201X", extent_pct=8.0)], [seen("2019", extent_pct=9.0)]),  # the order is not sure
        ([seen(THEN, extent_pct=8.0)], [seen(NOW, "foot", extent_pct=9.0)]),  # two places
        ([seen(THEN, extent_pct=8.0), seen("2012", extent_pct=5.0)], []),  # nobody looked again
        ([seen(THEN, "top", "not accessible", extent_pct=10.0)], [seen(NOW, "top", "not accessible", extent_pct=90.0)]),
    ],
)
def test_where_there_is_no_rate(then: list[Any], now: list[Any]) -> None:
    assert looked(then, now).rates == ()


def test_cover_has_a_rate_where_the_whole_surface_was_read_twice() -> None:
    """Spots differ, so two spots have none; 90 % and 70 % of the whole top ten years apart are −2 % a year."""

    def rows(code: str, on: str, percent: float, extent: str | None) -> list[Any]:
        sample, layer = read(code, on, ("1", "body colour", "red"), method="surface", extent=extent)
        return [sample, layer.model_copy(update={"coverage": None, "coverage_pct": percent})]

    assert looked(rows("S1", THEN, 90.0, None), rows("S2", NOW, 70.0, None)).rates == ()
    (rate,) = looked(rows("S1", THEN, 90.0, "whole place"), rows("S2", NOW, 70.0, "whole place")).rates
    assert rate.column == "coverage_pct"
    assert rate.per_year == pytest.approx(-2.0, rel=1e-3)


def test_the_area_of_a_decoration_has_a_rate() -> None:
    """A state without a date says nothing of how fast it went, and takes nothing from those that have one."""

    def state(on: str | None, area: float) -> Decoration:
        return Decoration(object=OBJ, decoration="D1", place="top", kind="lining", observed_on=on, area_m2=area)

    (rate,) = looked([state(None, 0.05), state(THEN, 0.04)], [state(NOW, 0.03)]).rates
    assert (rate.what, rate.column) == ("lining D1", "area_m2")
    assert rate.per_year == pytest.approx(-0.001, rel=1e-3)
