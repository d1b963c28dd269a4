"""Hours per m²: the model against scipy, statsmodels and published formulas; its laws; how often its intervals hold."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st
from logged_worlds import Truth, held, log, sure, truth_of

from collection.compute.effort.logs import Kind, Log
from collection.compute.effort.rates import SPREADS, Rates, Wanted
from collection.records.policy import EffortPolicy, default_policy

POLICY = default_policy().effort
some = settings(max_examples=max(1, settings().max_examples // 10))
SCRAPE = Wanted(Kind("scrape", "oil"))


def world(count: int = 24, seed: int = 1) -> list[Log]:
    """Steps of 3 actions, 2 binders, 5 parts and 3 workers, at random."""
    rng = np.random.default_rng(seed)
    return [
        log(
            float(np.exp(rng.normal(3, 1))),
            f"a{rng.integers(3)}",
            f"b{rng.integers(2)}",
            f"T/{rng.integers(5)}",
            f"w{rng.integers(3)}",
            key=f"{at:03}",
        )
        for at in range(count)
    ]


def covariance(logs: list[Log], spreads: Any) -> Any:
    """The covariance of log rates as the model's first sentence says it, written out."""
    names = [(each.kind.action, each.kind, each.part, each.worker) for each in logs]
    found = np.eye(len(logs)) * spreads[4] ** 2
    for i, one in enumerate(names):
        for j, other in enumerate(names):
            found[i, j] += sum(spreads[at] ** 2 for at in range(4) if one[at] == other[at])
    return found


def test_the_likelihood_is_that_of_a_normal_with_its_level_left_open() -> None:
    """scipy 1.x multivariate_normal, integrated over the common level by its own normal form; constants aside, so
    differences between two sets of spreads are compared."""
    logs = world()
    y = np.array([each.log_rate for each in logs])
    one = np.ones(len(y))

    def written_out(spreads: Any) -> float:
        whole = covariance(logs, spreads)
        inverse = np.linalg.inv(whole)
        level = one @ inverse @ y / (one @ inverse @ one)
        return float(
            scipy.stats.multivariate_normal(np.full(len(y), level), whole).logpdf(y)
            - 0.5 * math.log(one @ inverse @ one)
        )

    a, b = np.array([1.2, 0.5, 0.7, 0.4, 0.5]), np.array([0.3, 0.9, 0.2, 1.1, 0.8])
    rates = Rates(logs, POLICY)
    assert rates._solved(a)[2] - rates._solved(b)[2] == pytest.approx(written_out(a) - written_out(b), abs=1e-8)


def test_what_is_foreseen_is_the_normal_given_the_logs() -> None:
    """Conditioning of a joint normal, written out with numpy (Rasmussen and Williams 2006, eq. 2.19, with the level as
    one more normal of a very large spread)."""
    logs, spreads = world(), np.array([1.2, 0.5, 0.7, 0.4, 0.6])
    asked = [log(1.0, "a0", "b1", "T/2", "w1"), log(1.0, "a0", "b9", "T/9", "w9"), log(1.0, "a2", "b0", "T/9", "w9")]
    whole = covariance([*logs, *asked], spreads) + 1e5
    known, new = slice(0, len(logs)), slice(len(logs), None)
    y = np.array([each.log_rate for each in logs])
    gain = whole[new, known] @ np.linalg.inv(whole[known, known])
    rates = Rates(logs, POLICY)
    mean, spread = rates._at(spreads, [Wanted(each.kind, each.part, each.worker) for each in asked])
    assert mean + rates._level == pytest.approx(gain @ y, abs=1e-3)
    assert spread == pytest.approx(whole[new, new] - gain @ whole[known, new], abs=1e-3)


def test_groups_lean_on_each_other_as_the_normal_hierarchical_model_says() -> None:
    """A. Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, equations 5.17 and 5.20: with known spreads, a group's mean
    is its own and the common mean, each weighted by its precision."""
    spread, step = 0.8, 0.5
    rates_of = {"scrape": [20.0, 40.0, 30.0], "wash": [2.0], "coat": [5.0, 8.0]}
    logs = [log(rate, action, None) for action, rates in rates_of.items() for rate in rates]
    means = {action: np.mean(np.log(rates)) for action, rates in rates_of.items()}
    noise = {action: step**2 / len(rates) for action, rates in rates_of.items()}
    common_weights = {action: 1 / (noise[action] + spread**2) for action in means}
    common = sum(common_weights[a] * means[a] for a in means) / sum(common_weights.values())
    wash = (means["wash"] / noise["wash"] + common / spread**2) / (1 / noise["wash"] + 1 / spread**2)
    found = Rates(logs, sure(action=spread, step=step)).predict([Wanted(Kind("wash"), "T.1/body", "N. N.")])
    assert found.interval()[1] == pytest.approx(math.exp(wash), rel=1e-3)


def test_one_level_alone_is_students_t() -> None:
    """scipy.stats.t: with nothing but the spread of steps open, the 90 % interval of one more is t with n - 1 degrees of
    freedom (Gelman et al. 2013, section 3.2)."""
    rates = [12.0, 30.0, 18.0, 55.0, 22.0, 35.0, 16.0, 27.0]
    policy = replace(sure(), step=(0.5, 6.0))
    low, middle, high = Rates([log(rate) for rate in rates], policy).predict([SCRAPE]).interval()
    y = np.log(rates)
    reach = scipy.stats.t(len(y) - 1).ppf(0.95) * y.std(ddof=1) * math.sqrt(1 + 1 / len(y))
    assert math.log(high / low) == pytest.approx(2 * reach, rel=0.04)
    assert middle == pytest.approx(math.exp(y.mean()), rel=0.01)


def test_the_likeliest_spreads_are_those_of_a_mixed_model() -> None:
    """statsmodels 0.14 MixedLM by restricted maximum likelihood, actions as groups and parts within them as a further
    component; the policy nearly open, binders and workers as good as none."""
    import pandas  # type: ignore[import-untyped]
    import statsmodels.formula.api as formulas

    rng = np.random.default_rng(3)
    logs, rows = [], []
    for a in range(12):
        level = rng.normal(0, 1.0)
        for p in range(6):
            at = rng.normal(0, 0.6)
            for n in range(4):
                y = 3 + level + at + rng.normal(0, 0.4)
                logs.append(log(math.exp(y), f"a{a}", None, f"T/{a}.{p}", key=f"{a}.{p}.{n}"))
                rows.append({"y": y, "action": f"a{a}", "part": f"{a}.{p}"})
    fitted = formulas.mixedlm(
        "y ~ 1", pandas.DataFrame(rows), groups="action", re_formula="1", vc_formula={"part": "0 + C(part)"}
    ).fit(reml=True)
    policy = replace(sure(), action=(1.0, 30.0), part=(0.5, 30.0), step=(0.5, 30.0))
    mode = dict(zip(SPREADS, np.exp(Rates(logs, policy)._mode[0]), strict=True))
    assert mode["action"] == pytest.approx(math.sqrt(fitted.cov_re.iloc[0, 0]), rel=0.02)
    assert mode["part"] == pytest.approx(math.sqrt(fitted.vcomp[0]), rel=0.02)
    assert mode["step"] == pytest.approx(math.sqrt(fitted.scale), rel=0.02)


LOGS = st.lists(
    st.builds(
        log,
        st.floats(0.1, 5000),
        st.sampled_from(["scrape", "wash"]),
        st.sampled_from(["oil", None]),
        st.sampled_from(["T.1/body", "T.1/door", "T.2/all"]),
        st.sampled_from(["N. N.", "A. B.", ""]),
        st.floats(1e-3, 50),
    ),
    min_size=1,
    max_size=6,
).map(lambda logs: [replace(each, key=f"T/{at}") for at, each in enumerate(logs)])


def interval(logs: list[Log], policy: EffortPolicy = POLICY) -> tuple[float, float, float]:
    return Rates(logs, policy).predict([Wanted(logs[0].kind, "T.2/all")]).interval()


@some
@given(LOGS, st.sampled_from([2.0, 0.5, 64.0]))
def test_rates_do_not_depend_on_how_much_was_done_nor_on_the_order(logs: list[Log], times: float) -> None:
    found = interval(logs)
    assert 0 < found[0] <= found[1] <= found[2]
    more = [replace(each, hours=each.hours * times, area_m2=each.area_m2 * times) for each in logs]
    assert interval(more) == pytest.approx(found, rel=1e-3)
    backwards = Rates(logs[::-1], POLICY).predict([Wanted(logs[0].kind, "T.2/all")]).interval()
    assert backwards == pytest.approx(found, rel=1e-3)


@some
@given(LOGS, st.sampled_from([2.0, 0.1]))
def test_twice_the_hours_on_the_same_surface_are_twice_the_rate(logs: list[Log], times: float) -> None:
    found = interval([replace(each, hours=each.hours * times) for each in logs])
    assert found == pytest.approx([end * times for end in interval(logs)], rel=1e-3)


def test_more_logs_of_a_kind_narrow_its_interval() -> None:
    """A fixed ladder: 1, 2, 4 … logs of one kind on parts of their own, half of them at 20 and half at 40 h/m²."""
    widths = []
    for count in (1, 2, 4, 8, 16, 32):
        logs = [log((20.0, 40.0)[at % 2], part=f"T/{at}", key=f"{at:02}") for at in range(count)]
        low, _, high = Rates(logs, POLICY).predict([SCRAPE]).interval()
        widths.append(math.log(high / low))
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.6 * widths[0]


def test_there_is_no_figure_of_work_that_nobody_logged() -> None:
    with pytest.raises(ValueError, match="no logged step counts"):
        Rates([], POLICY)
    with pytest.raises(ValueError, match="no logged step of wash counts"):
        Rates([log(20.0)], POLICY).predict([Wanted(Kind("wash"))])


def test_what_was_logged_on_a_part_speaks_for_the_rest_of_it() -> None:
    """A carved part took ten times as long for another action; scraping there is foreseen slower than elsewhere."""
    logs = [
        *(log(20.0, part=f"T/{at}", key=f"s{at}") for at in range(6)),
        *(log(5.0, "wash", None, f"T/{at}", key=f"w{at}") for at in range(6)),
        log(50.0, "wash", None, "T/carved", key="w9"),
    ]
    rates = Rates(logs, POLICY)
    carved, elsewhere = (
        rates.predict([Wanted(Kind("scrape", "oil"), part)]).interval() for part in ("T/carved", "T/x")
    )
    assert carved[1] > 2 * elsewhere[1]


def test_steps_by_the_same_worker_on_the_same_part_are_not_independent() -> None:
    rates = Rates([log(20.0), log(5.0, "wash", None, "T/2", key="2")], POLICY)
    together = rates.predict([Wanted(Kind("scrape", "oil"), "T/new"), Wanted(Kind("wash"), "T/new")])
    apart = rates.predict([Wanted(Kind("scrape", "oil"), "T/a"), Wanted(Kind("wash"), "T/b")])
    assert (together.covariances[:, 0, 1] > apart.covariances[:, 0, 1]).all()
    assert (apart.covariances[:, 0, 1] > 0).all()


@pytest.mark.slow
@pytest.mark.parametrize(("count", "worlds"), [(8, 60), (40, 60), (200, 40)])
def test_nine_in_ten_intervals_hold_where_spreads_are_as_the_policy_expects(count: int, worlds: int) -> None:
    """Each world draws its own spreads; 86 to 94 % is the bar. What happens where they are far from what the policy
    expects stands in tests/bench/README.md."""
    found = [
        each
        for seed in range(worlds)
        for each in held(truth_of(POLICY, np.random.default_rng(1000 + seed)), POLICY, count, seed, 10)
    ]
    assert 0.86 <= np.mean(found) <= 0.94


@pytest.mark.slow
@pytest.mark.parametrize("truth", [Truth(1.0, 0.3, 0.3, 0.2, 0.3), Truth(2.5, 0.8, 1.2, 0.6, 0.8)])
def test_with_many_logs_they_hold_whatever_the_spreads_are(truth: Truth) -> None:
    found = [each for seed in range(40) for each in held(truth, POLICY, 300, seed, 10)]
    assert 0.86 <= np.mean(found) <= 0.94
