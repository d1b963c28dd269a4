"""The arithmetic of loss: its laws, as properties of the pure function, and examples worked by hand."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.compute.effects.thickness import chance_through
from collection.compute.loss import loss
from collection.compute.loss.loss import StepEffect, losses

EPS = 1e-9
share = st.floats(0, 1, allow_subnormal=False)
interval = st.tuples(share, share, share).map(lambda t: tuple(sorted(t)))


@st.composite
def rates(draw: st.DrawFn) -> tuple[float, float, float]:
    low, high = sorted((draw(share), draw(share)))
    return (low, (low + high) / 2, high)


@st.composite
def cases(draw: st.DrawFn, cuts: bool = True) -> tuple[list[tuple[float, float, float]], list[StepEffect], list[bool]]:
    n = draw(st.integers(0, 4))
    covers: list[Any] = [draw(interval) for _ in range(n)]
    steps = [
        StepEffect(tuple(draw(rates()) for _ in range(n)), draw(rates()), cut=cuts and draw(st.booleans()))
        for _ in range(draw(st.integers(1, 4)))
    ]
    return covers, steps, [draw(st.booleans()) for _ in range(n)]


def _raw(
    covers: list[tuple[float, float, float]], steps: list[StepEffect], sure: list[bool]
) -> tuple[float, float, float]:
    return (loss._low(covers, steps)[-1], loss._middle(covers, steps)[0][-1], loss._high(covers, steps, sure)[-1][0])


def _not_less(after: list[float] | tuple[Any, ...], before: list[float] | tuple[Any, ...]) -> None:
    assert all(a >= b - EPS for a, b in zip(after, before, strict=True)), (before, after)


@given(cases(cuts=False))
def test_low_is_at_most_middle_and_middle_at_most_high(
    case: tuple[list[tuple[float, float, float]], list[StepEffect], list[bool]],
) -> None:
    """The three ends never cross, before any rounding is mended."""
    low, middle, high = _raw(*case)
    assert -EPS <= low <= middle + EPS
    assert middle <= high + EPS
    assert high <= 1 + EPS


@given(cases())
def test_with_cuts_the_published_interval_is_ordered(
    case: tuple[list[tuple[float, float, float]], list[StepEffect], list[bool]],
) -> None:
    for step in losses(*case):
        assert 0 - EPS <= step.lost[0] <= step.lost[1] + EPS <= step.lost[2] + 2 * EPS <= 1 + 3 * EPS


@given(cases(), st.data())
def test_one_more_step_never_lowers_an_end(
    case: tuple[list[tuple[float, float, float]], list[StepEffect], list[bool]], data: st.DataObject
) -> None:
    """A step put anywhere into the list takes nothing back."""
    covers, steps, sure = case
    extra = StepEffect(tuple(data.draw(rates()) for _ in covers), data.draw(rates()), cut=data.draw(st.booleans()))
    where = data.draw(st.integers(0, len(steps)))
    longer = [*steps[:where], extra, *steps[where:]]
    low, _, high = _raw(covers, steps, sure)
    more_low, _, more_high = _raw(covers, longer, sure)
    _not_less((more_low, more_high), (low, high))
    _not_less(_raw(covers, [*steps, extra], sure), _raw(covers, steps, sure))


@given(cases(cuts=False), st.data())
def test_a_harsher_rate_never_lowers_an_end(
    case: tuple[list[tuple[float, float, float]], list[StepEffect], list[bool]], data: st.DataObject
) -> None:
    """Raising every rate of one coat at one step raises or keeps each end."""
    covers, steps, sure = case
    i = data.draw(st.integers(0, len(steps) - 1))
    by = data.draw(share)
    lift = lambda r: tuple(v + (1 - v) * by for v in r)  # noqa: E731  one expression, used twice below
    step = steps[i]
    which = data.draw(st.integers(0, len(covers)))
    covers_rates = tuple(lift(r) if j == which else r for j, r in enumerate(step.covers))
    harsher = StepEffect(covers_rates, lift(step.kept) if which == len(covers) else step.kept, step.cut)
    _not_less(_raw(covers, [*steps[:i], harsher, *steps[i + 1 :]], sure), _raw(covers, steps, sure))


@given(cases(cuts=False), st.data())
def test_a_thinner_cover_never_lowers_an_end(
    case: tuple[list[tuple[float, float, float]], list[StepEffect], list[bool]], data: st.DataObject
) -> None:
    """Where less of a coat is left above, at least as much is lost below."""
    covers, steps, sure = case
    if not covers:
        return
    i = data.draw(st.integers(0, len(covers) - 1))
    by = data.draw(share)
    thinner: list[Any] = [tuple(v * by for v in c) if j == i else c for j, c in enumerate(covers)]
    _not_less(_raw(thinner, steps, sure), _raw(covers, steps, sure))


@given(cases())
def test_a_step_that_touches_nothing_changes_nothing(
    case: tuple[list[tuple[float, float, float]], list[StepEffect], list[bool]],
) -> None:
    covers, steps, sure = case
    nothing = StepEffect(tuple((0.0, 0.0, 0.0) for _ in covers), (0.0, 0.0, 0.0))
    before = losses(covers, steps, sure)[-1].lost
    after = losses(covers, [*steps, nothing], sure)[-1].lost
    assert after[0] == pytest.approx(before[0], abs=EPS)
    assert after[2] == pytest.approx(before[2], abs=EPS)


@given(cases())
def test_losing_sight_of_what_lies_above_never_lowers_the_high_end(
    case: tuple[list[tuple[float, float, float]], list[StepEffect], list[bool]],
) -> None:
    """A coat that may or may not lie above shields nothing."""
    covers, steps, sure = case
    _not_less([losses(covers, steps, [False] * len(covers))[-1].lost[2]], [losses(covers, steps, sure)[-1].lost[2]])


def test_a_bare_coat_loses_its_own_rate() -> None:
    assert losses([], [StepEffect((), (0.2, 0.3, 0.6))], [])[-1].lost == pytest.approx((0.2, 0.3, 0.6))


def test_two_steps_on_a_bare_coat_compound() -> None:
    """0.2 twice leaves 0.8 × 0.8 = 0.64."""
    step = StepEffect((), (0.2, 0.2, 0.2))
    assert losses([], [step, step], [])[-1].lost == pytest.approx((0.36, 0.36, 0.36))


def test_worked_by_hand_half_covered() -> None:
    """A cover of [0.4, 0.5, 0.6] that nothing moves (stood), over a coat that is taken wholly where touched.

    low: at least 1 − 0.6 lies open = 0.4; middle 0.5; high: the cover shields 0.4, the rest 0.6 is lost.
    """
    step = StepEffect(((0.0, 0.0, 0.0),), (1.0, 1.0, 1.0))
    assert losses([(0.4, 0.5, 0.6)], [step], [True])[-1].lost == pytest.approx((0.4, 0.5, 0.6))


def test_a_coat_that_was_never_tested_shields_nothing_in_the_high_end() -> None:
    step = StepEffect(((0.0, 0.5, 1.0),), (0.0, 0.5, 1.0))
    found = losses([(0.98, 0.99, 1.0)], [step], [True])[-1]
    assert found.lost[2] == 1.0
    assert found.contact == 1.0


def test_an_added_coat_counts_whole_in_the_low_end_and_shields_nothing_in_the_high_end() -> None:
    taking = StepEffect((), (0.6, 0.8, 1.0))
    coating = StepEffect((), (0.0, 0.0, 0.0), adds=True)
    found = losses([], [coating, taking], [])[-1].lost
    assert found[0] == 0.0
    assert found[2] == 1.0
    assert 0 < found[1] < 0.8


def test_cut_through_measured_films_agrees_with_scipy() -> None:
    """Student t predictive of the log thickness, against scipy.stats.t by numerical integration."""
    from math import exp, log, sqrt
    from statistics import mean, stdev

    from scipy import integrate, stats

    films, depth, sd = [40.0, 55.0, 62.0, 48.0], 45.0, 6.0
    logs = [log(f) for f in films]
    scale, n = stdev(logs) * sqrt(1 + 1 / len(films)), len(films)
    expected, _ = integrate.quad(
        lambda t: stats.norm.cdf((depth - exp(mean(logs) + scale * t)) / sd) * stats.t.pdf(t, n - 1), -60, 60, limit=400
    )
    assert chance_through(depth, sd, films, 0.01) == pytest.approx(expected, abs=2e-4)


@given(st.lists(st.floats(1, 500), min_size=2, max_size=8), st.floats(1, 400), st.floats(0, 80), st.floats(0.05, 1))
def test_films_thinner_all_over_are_cut_through_more_easily(
    films: list[float], depth: float, sd: float, by: float
) -> None:
    thick = chance_through(depth, sd, films, 0.1)
    thin = chance_through(depth, sd, [f * by for f in films], 0.1)
    assert thin >= thick - 1e-9


def test_one_reading_says_nothing_of_how_a_film_varies() -> None:
    assert chance_through(20, 5, [30.0], 0.1) is None
    assert chance_through(0, 5, [], 0.1) == 0.0
    assert chance_through(20, 5, [0.0, 0.0], 0.1) == 1.0
