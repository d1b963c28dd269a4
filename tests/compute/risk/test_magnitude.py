"""The ABC method's scale and worked values, and the laws of magnitudes.

The manual is S. Michalski and J. L. Pedersoli, The ABC Method, CCI and ICCROM 2016. No worked number of it was seen: the
half-step tables and bands are from memory, and so marked in the policy; the examples follow from the scales.
"""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.compute.risk import magnitude
from collection.compute.risk.magnitude import Magnitude
from collection.compute.risk.threat import FAILING, Threat
from collection.records.policy import default_policy
from collection.values.resources import schema_file

POLICY = default_policy().risk


def exact(years: float, share: float, of_collection: float) -> float:
    return Magnitude((years,) * 3, (share,) * 3, of_collection).exact[1]


@pytest.mark.parametrize(
    ("years", "share", "of_collection", "scores", "whole", "half"),
    [
        # an event every 30 years takes 25 % of the value of everything: 13 in half steps
        (30, 0.25, 1.0, (3.523, 4.398, 5.0), 12.92, 13.0),
        # every 300 years 2 % of a fifth: 10
        (300, 0.02, 0.2, (2.523, 3.301, 4.301), 10.12, 10.0),
        # gradual: in 100 years 10 % of a hundredth: 10
        (100, 0.1, 0.01, (3.0, 4.0, 3.0), 10.0, 10.0),
    ],
)
def test_worked_values(
    years: float, share: float, of_collection: float, scores: tuple[float, ...], whole: float, half: float
) -> None:
    """Derived from A = 5 - log10(years), B and C = 5 + log10(share)."""
    found = (magnitude.score_of_years(years), magnitude.score_of_share(share), magnitude.score_of_share(of_collection))
    assert found == pytest.approx(scores, abs=0.001)
    assert exact(years, share, of_collection) == pytest.approx(sum(scores), abs=0.002)
    assert exact(years, share, of_collection) == pytest.approx(whole, abs=0.01)
    assert magnitude.half_step(exact(years, share, of_collection)) == half


def test_the_half_step_tables_are_those_remembered_and_fit_the_scale() -> None:
    """From memory: 5 every year, 4½ three years, 4 ten …; 5 all, 4½ 30 %, 4 10 % … Each row lies within a fortieth of a
    step of the exact scale, since 3 stands for the root of ten."""
    assert [score for score, _ in POLICY.score_of_years] == [5 - half / 2 for half in range(10)]
    assert [years for _, years in POLICY.score_of_years] == [1, 3, 10, 30, 100, 300, 1000, 3000, 10000, 30000]
    assert [share for _, share in POLICY.score_of_share] == pytest.approx(
        [1 / 1, 0.3, 0.1, 0.03, 0.01, 0.003, 0.001, 0.0003, 0.0001, 0.00003]
    )
    for score, years in POLICY.score_of_years:
        assert magnitude.half_step_of_years(POLICY, years) == score
        assert magnitude.score_of_years(years) == pytest.approx(score, abs=0.025)
    for score, share in POLICY.score_of_share:
        assert magnitude.half_step_of_share(POLICY, share) == score
        assert magnitude.score_of_share(share) == pytest.approx(score, abs=0.025)


def test_that_the_tables_are_from_memory_stands_beside_them() -> None:
    lines = schema_file("policy.toml").read_text().splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("score_of_years"))
    assert any(line.startswith("# FROM MEMORY") for line in lines[at - 3 : at])


@pytest.mark.parametrize(
    ("mr", "band"),
    [
        (15, "catastrophic"),
        (13.5, "catastrophic"),
        (13, "extreme"),
        (11.5, "extreme"),
        (11, "high"),
        (9.5, "high"),
        (9, "medium"),
        (7.5, "medium"),
        (7, "low"),
        (0, "low"),
    ],
)
def test_bands_from_memory(mr: float, band: str) -> None:
    assert magnitude.band(POLICY, mr) == band


@pytest.mark.parametrize(("mr", "a_year", "a_century"), [(13, 0.01, 0.634), (11, 0.0001, 0.00995), (9, 1e-6, 0.0001)])
def test_what_a_magnitude_stands_for(mr: float, a_year: float, a_century: float) -> None:
    """10^(MR - 15) a year; by a constant rate 63.4 %, 0.995 % and 0.01 % in a century."""
    assert magnitude.loss_of(mr) == pytest.approx(a_year)
    assert magnitude.in_a_century(magnitude.loss_of(mr)) == pytest.approx(a_century, rel=0.001)
    assert magnitude.magnitude(a_year) == pytest.approx(mr)


def test_no_magnitude_passes_fifteen_and_nothing_lost_is_nothing() -> None:
    assert exact(0.1, 1.0, 1.0) == 15.0
    assert exact(1, 0.0, 1.0) == exact(1, 1.0, 0.0) == 0.0


def test_high_and_uncertain_as_the_manuals_table_22_advises() -> None:
    """Seen in the manual's table 22: high and certain, treat soon; high and uncertain, review soon; low and certain, no
    action; low and uncertain, review later. High is from 10."""

    def advice(years: tuple[float, float, float], share: float) -> str:
        return magnitude.advice(POLICY, Magnitude(years, (share,) * 3, 0.1))

    assert advice((10, 10, 10), 0.1) == "treat soon"
    assert advice((1000, 10, 1), 0.1) == "review soon"
    assert advice((1000, 1000, 1000), 0.001) == "no action"
    assert advice((100000, 1000, 10), 0.001) == "review later"


shares = st.floats(0, 1)
waits = st.floats(1, 1e5)


@given(waits, shares, shares, st.floats(1, 10), st.floats(1, 10), st.floats(1, 10))
def test_more_sooner_or_more_valuable_is_never_less(
    years: float, share: float, value: float, sooner: float, more: float, dearer: float
) -> None:
    worse = exact(max(1.0, years / sooner), min(1.0, share * more), min(1.0, value * dearer))
    assert worse >= exact(years, share, value) - 1e-9


@given(st.sampled_from(sorted(POLICY.soon)), st.tuples(shares, shares, shares).map(sorted), shares, st.none() | waits)
def test_the_low_end_is_never_over_the_high_end(
    soon: str, reached: list[float], value: float, pace: float | None
) -> None:
    low, middle, high = reached
    threat = Threat(FAILING, None, "", "", (), soon=soon, share=(low, middle, high), pace_years=pace)
    ends = magnitude.of(POLICY, threat, value).exact
    assert all(a <= b + 1e-12 for a, b in pairwise(ends))


def test_two_looks_move_the_middle_halfway_and_reach_an_end() -> None:
    """Severe flaking is gone in 1, 5 or 15 years. Where more came loose at a pace of 45 years, the middle is the root of
    5 x 45 = 15, and the late end 45."""
    threat = Threat(FAILING, None, "", "", (), soon="failing, severe", share=(1.0, 1.0, 1.0), pace_years=45.0)
    assert POLICY.soon["failing, severe"].years == (1, 5, 15)
    assert magnitude.of(POLICY, threat, 1.0).years == pytest.approx((45, math.sqrt(5 * 45), 1))
