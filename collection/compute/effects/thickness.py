"""How likely a cut of a given depth goes through what lies above a coat.

Thicknesses vary lognormally from spot to spot (common practice, no published source); the chance is predictive, so few
readings give a wide answer: with n readings the log of a new one is Student t with n − 1 degrees of freedom about their
mean, scaled by s·√(1 + 1/n) (Gelman et al., Bayesian Data Analysis, normal model with unknown variance; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

STEPS, FINE_STEPS, REACH = 160, 400, 9.0
"""Steps of the trapezium rule: how many, how many for a depth without a spread (which is a step), and how far to either
side in asinh(t)."""


def chance_through(depth: float, depth_sd: float, thicknesses: Sequence[float], least_log_sd: float) -> float | None:
    """The chance that a cut of `depth` ± `depth_sd` µm goes through a film read `thicknesses` µm thick.

    None with fewer than two readings, which say nothing of how the film varies. A film read as 0 µm at any spot is cut
    through there.
    """
    return _chance(depth, depth_sd, tuple(sorted(thicknesses)), least_log_sd)


def surely_through(depth: float, depth_sd: float, thicknesses: Sequence[float], least_log_sd: float) -> float:
    """The least share that a cut goes through, 0 to 1: the same chance, for films as much thicker as the few measured
    ones allow (the upper end of the 95 % interval of their mean). 0 with fewer than two readings."""
    films = [math.log(t) for t in thicknesses if t > 0]
    if len(films) < 2:
        return 0.0
    n, mean = len(films), sum(films) / len(films)
    spread = max(math.sqrt(sum((x - mean) ** 2 for x in films) / (n - 1)), least_log_sd)
    thicker = math.exp(min(_quantile(n - 1) * spread / math.sqrt(n), 700.0))
    return _chance(depth, depth_sd, tuple(sorted(t * thicker for t in thicknesses)), least_log_sd) or 0.0


@lru_cache(maxsize=64)
def _quantile(degrees: int) -> float:
    """The 97.5 % point of a Student t variable."""
    below = 0.0
    for t, weight in _student(degrees, FINE_STEPS):
        below += weight
        if below >= 0.975:
            return t
    return REACH


@lru_cache(maxsize=4096)
def _chance(depth: float, depth_sd: float, thicknesses: tuple[float, ...], least_log_sd: float) -> float | None:
    if depth <= 0:
        return 0.0
    bare = sum(1 for t in thicknesses if t <= 0)
    films = [math.log(t) for t in thicknesses if t > 0]
    if bare == len(thicknesses) and bare:
        return 1.0
    if len(films) < 2:
        return None
    n = len(films)
    mean = sum(films) / n
    spread = max(math.sqrt(sum((x - mean) ** 2 for x in films) / (n - 1)), least_log_sd) * math.sqrt(1 + 1 / n)
    through = sum(
        weight * _normal_tail(depth, depth_sd, math.exp(min(mean + spread * t, 700.0)))
        for t, weight in _student(n - 1, STEPS if depth_sd > 0 else FINE_STEPS)
    )
    return (bare + n * through) / len(thicknesses)


def _normal_tail(depth: float, sd: float, film: float) -> float:
    """P(cut > film) for a cut normal about its depth."""
    if sd <= 0:
        return 1.0 if depth > film else 0.0
    return 0.5 * math.erfc((film - depth) / (sd * math.sqrt(2)))


@lru_cache(maxsize=64)
def _student(degrees: int, steps: int) -> tuple[tuple[float, float], ...]:
    """Points of a Student t variable with their weights, which add up to 1: the trapezium rule in asinh(t)."""
    points = [math.sinh(REACH * (2 * i / steps - 1)) for i in range(steps + 1)]
    weights = [math.sqrt(1 + t * t) * (1 + t * t / degrees) ** (-(degrees + 1) / 2) for t in points]
    whole = sum(weights)
    return tuple((t, weight / whole) for t, weight in zip(points, weights, strict=True))
