"""Logged steps made from a known truth: levels of actions, binders, parts and workers on the logarithm of hours per m²."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from collection.compute.effort.logs import Kind, Log
from collection.compute.effort.rates import SPREADS, Rates, Wanted
from collection.records.policy import EffortPolicy


def log(
    rate: float,
    action: str = "scrape",
    binder: str | None = "oil",
    part: str = "T.1/body",
    worker: str = "N. N.",
    area: float = 0.1,
    key: str = "T.1/T1/1",
) -> Log:
    """A step of so many hours per m²."""
    return Log(key, Kind(action, binder), part, worker, rate * area, area)


def sure(**spreads: float) -> EffortPolicy:
    """A policy that leaves no doubt about the spreads; one that is not named is as good as none."""
    return EffortPolicy(38.0, *((spreads.get(name, 1e-3), 1e-4) for name in SPREADS))


@dataclass(frozen=True)
class Truth:
    """The true spreads, in the order of `SPREADS`."""

    action: float
    binder: float
    part: float
    worker: float
    step: float


def truth_of(policy: EffortPolicy, rng: np.random.Generator) -> Truth:
    """Spreads as the policy expects them before any log."""
    return Truth(*(math.exp(rng.normal(math.log(middle), wide)) for middle, wide in _before(policy)))


def _before(policy: EffortPolicy) -> list[tuple[float, float]]:
    return [getattr(policy, name) for name in SPREADS]


def held(truth: Truth, policy: EffortPolicy, count: int, seed: int, trials: int) -> list[bool]:
    """Whether the 90 % intervals of new steps hold their hours, of steps in known and in new parts by turns.

    :param count: logs in the world: of 6 actions, 3 binders each, count / 3 parts and 5 workers.
    """
    rng = np.random.default_rng(seed)
    parts = max(3, count // 3)
    actions, binders = rng.normal(0, truth.action, 6), rng.normal(0, truth.binder, (6, 3))
    at, by = rng.normal(0, truth.part, parts), rng.normal(0, truth.worker, 5)
    drawn = [(rng.integers(6), rng.integers(3), rng.integers(parts), rng.integers(5)) for _ in range(count)]
    logs = [
        log(
            math.exp(3 + actions[a] + binders[a, b] + at[p] + by[w] + rng.normal(0, truth.step)),
            f"a{a}",
            f"b{b}",
            f"T/{p}",
            f"w{w}",
            math.exp(rng.normal(-2, 1.5)),
            f"{number:05}",
        )
        for number, (a, b, p, w) in enumerate(drawn)
    ]
    rates = Rates(logs, policy)
    kinds = sorted({(a, b) for a, b, _, _ in drawn})
    wanted, hours = [], []
    for trial in range(trials):
        a, b = kinds[rng.integers(len(kinds))]
        kind, own = Kind(f"a{a}", f"b{b}"), rng.normal(0, truth.step)
        if trial % 2:
            _, _, p, w = drawn[rng.integers(count)]
            wanted.append(Wanted(kind, f"T/{p}", f"w{w}"))
            there = at[p] + by[w]
        else:
            wanted.append(Wanted(kind))
            there = rng.normal(0, truth.part) + rng.normal(0, truth.worker)
        hours.append(math.exp(3 + actions[a] + binders[a, b] + there + own))
    foreseen = rates.predict(wanted)
    intervals = [foreseen.interval(number) for number in range(trials)]
    return [low <= true <= high for (low, _, high), true in zip(intervals, hours, strict=True)]
