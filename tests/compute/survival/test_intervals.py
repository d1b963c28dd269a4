"""Intervals of a proportion against published tables, and distribution functions against scipy."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from scipy import special, stats
from statsmodels.stats.proportion import proportion_confint

from collection.compute.survival.model.intervals import (
    incomplete_beta,
    inverse_incomplete_beta,
    jeffreys,
    normal_cdf,
    student_t_cdf,
    wilson,
)

# R. G. Newcombe 1998, Statistics in Medicine 17, 857-872, Table I. 81/263 by Wilson and the upper end of
# 0/8 were seen quoted from that table; every row is also what statsmodels 0.15.0 proportion_confint gives.
NEWCOMBE = [
    (81, 263, (0.2553, 0.3662), (0.2545, 0.3656)),
    (15, 148, (0.0624, 0.1605), (0.0604, 0.1576)),
    (0, 20, (0.0, 0.1611), (0.0, 0.1166)),
    (1, 29, (0.0061, 0.1718), (0.0037, 0.1501)),
    (0, 14, (0.0, 0.2153), (0.0, 0.1616)),
    (0, 8, (0.0, 0.3244), (0.0, 0.2622)),
    (20, 20, (0.8389, 1.0), (0.8834, 1.0)),
    (5, 12, (0.1933, 0.6805), (0.1805, 0.6881)),
]
trials = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
shape = st.floats(0.02, 500)


@pytest.mark.parametrize(("k", "n", "by_wilson", "by_jeffreys"), NEWCOMBE)
def test_rows_of_newcombe_table_one(
    k: int, n: int, by_wilson: tuple[float, float], by_jeffreys: tuple[float, float]
) -> None:
    assert wilson(k, n) == pytest.approx(by_wilson, abs=5e-5)
    assert jeffreys(k, n) == pytest.approx(by_jeffreys, abs=5e-5)


@given(trials, st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99]))
def test_wilson_agrees_with_statsmodels(counts: tuple[int, int], confidence: float) -> None:
    k, n = counts
    low, high = proportion_confint(k, n, 1 - confidence, "wilson")
    assert wilson(k, n, confidence) == pytest.approx((max(low, 0.0), min(high, 1.0)), abs=1e-12)


@given(trials, st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99]))
def test_jeffreys_agrees_with_statsmodels_but_for_the_end_rule(counts: tuple[int, int], confidence: float) -> None:
    k, n = counts
    low, high = proportion_confint(k, n, 1 - confidence, "jeffreys")
    # Brown, Cai and DasGupta 2001: 0 and 1 where nothing, or everything, was found.
    assert jeffreys(k, n, confidence) == pytest.approx((0.0 if k == 0 else low, 1.0 if k == n else high), abs=1e-10)


@given(trials)
def test_ends_are_ordered_mirrored_and_hold_the_share(counts: tuple[int, int]) -> None:
    k, n = counts
    for method in (wilson, jeffreys):
        low, high = method(k, n)
        assert 0 <= low <= k / n <= high <= 1
        assert method(n - k, n) == pytest.approx((1 - high, 1 - low), abs=1e-9)


# At the least numbers that a float can hold scipy 1.17 itself is off by a hundredth.
@given(shape, shape, st.one_of(st.just(0.0), st.floats(1e-300, 1)))
@example(0.02, 0.02, 0.5)
@example(500.0, 0.02, 0.999999)
def test_incomplete_beta_agrees_with_scipy(a: float, b: float, x: float) -> None:
    assert incomplete_beta(a, b, x) == pytest.approx(special.betainc(a, b, x), abs=1e-11)


@given(shape, shape, st.floats(1e-12, 1))
def test_the_inverse_gives_back_the_probability(a: float, b: float, p: float) -> None:
    # Within a few last places of 1 the probability itself no longer fixes the share.
    assume(p == 1 or p < 1 - 1e-9)
    x = inverse_incomplete_beta(a, b, p)
    assert x == pytest.approx(special.betaincinv(a, b, p), abs=1e-8)
    assume(1e-12 < x < 1 - 1e-9)
    # Near 1 the last place of the share is worth this much of the probability.
    assert incomplete_beta(a, b, x) == pytest.approx(p, abs=1e-6)


@given(st.floats(-60, 60), st.floats(0.1, 1e4))
@example(-12.706204736, 1.0)
def test_student_t_agrees_with_scipy(x: float, df: float) -> None:
    assert student_t_cdf(x, df) == pytest.approx(stats.t.cdf(x, df), abs=1e-10)


@given(st.floats(-38, 38))
def test_normal_agrees_with_scipy(x: float) -> None:
    assert normal_cdf(x) == pytest.approx(stats.norm.cdf(x), rel=1e-12, abs=1e-300)


def test_nothing_tried_leaves_everything_open() -> None:
    assert wilson(0, 0) == jeffreys(0, 0) == (0.0, 1.0)
    assert student_t_cdf(math.inf, 3) == 1.0
    assert student_t_cdf(1.0, math.inf) == normal_cdf(1.0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: wilson(3, 2), "3 hits in 2 trials"),
        (lambda: wilson(-1, 2), "-1 hits"),
        (lambda: jeffreys(1, 2, 1.0), "confidence"),
        (lambda: incomplete_beta(0, 1, 0.5), "a > 0"),
        (lambda: incomplete_beta(1, 1, 1.5), "0-1"),
        (lambda: inverse_incomplete_beta(1, 1, -0.1), "0-1"),
        (lambda: inverse_incomplete_beta(math.nan, 1, 0), "a > 0"),
        (lambda: student_t_cdf(1, 0), "degrees of freedom"),
    ],
)
def test_wrong_arguments_are_named(call: Callable[..., Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()
