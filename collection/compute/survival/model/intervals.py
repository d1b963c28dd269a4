"""Interval estimates of a proportion, and the distribution functions that other computations need.

Wilson: E. B. Wilson 1927, J. Am. Stat. Assoc. 22, 209-212. Jeffreys with its end rule: L. D. Brown,
T. T. Cai and A. DasGupta 2001, Statistical Science 16, 101-133. The incomplete beta function is the
continued fraction of the NIST Digital Library of Mathematical Functions, 8.17.22, by the modified
Lentz method. Everything is plain Python on single numbers; shares and probabilities lie in 0-1.
"""

from __future__ import annotations

import math
from statistics import NormalDist

Ends = tuple[float, float]

_TINY = 1e-300
_MOST_TERMS = 10_000


def wilson(k: float, n: float, confidence: float = 0.95) -> Ends:
    """The Wilson score interval of the share behind `k` hits in `n` trials, as (low, high).

    Without trials the share may be anything: (0, 1).

    :raises ValueError: unless 0 <= k <= n and 0 < confidence < 1.
    """
    _check(k, n, confidence)
    if n == 0:
        return 0.0, 1.0
    z2 = NormalDist().inv_cdf(0.5 + confidence / 2) ** 2
    centre = (k + z2 / 2) / (n + z2)
    half = math.sqrt(z2 * (k * (n - k) / n + z2 / 4)) / (n + z2)
    return (0.0 if k == 0 else max(0.0, centre - half)), (1.0 if k == n else min(1.0, centre + half))


def jeffreys(k: float, n: float, confidence: float = 0.95) -> Ends:
    """The equal-tailed interval of Beta(k + 1/2, n - k + 1/2), as (low, high).

    The low end is 0 where nothing was found, the high end 1 where everything was (Brown, Cai and
    DasGupta 2001, section 3.1.3: without this rule the coverage fails near 0 and 1).

    :raises ValueError: unless 0 <= k <= n and 0 < confidence < 1.
    """
    _check(k, n, confidence)
    tail = (1 - confidence) / 2
    low = 0.0 if k == 0 else inverse_incomplete_beta(k + 0.5, n - k + 0.5, tail)
    high = 1.0 if k == n else inverse_incomplete_beta(k + 0.5, n - k + 0.5, 1 - tail)
    return low, high


def incomplete_beta(a: float, b: float, x: float) -> float:
    """The regularised incomplete beta function I_x(a, b): the probability that a Beta(a, b) share is <= x.

    :raises ValueError: unless a > 0, b > 0 and 0 <= x <= 1.
    """
    if not (a > 0 and b > 0 and math.isfinite(a + b)):
        raise ValueError(f"a beta distribution needs finite a > 0 and b > 0, not {a} and {b}")
    if not 0 <= x <= 1:
        raise ValueError(f"a share lies in 0-1, not at {x}")
    if x in (0, 1):
        return float(x)
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x))
    if x < (a + 1) / (a + b + 2):
        return min(1.0, front * _fraction(a, b, x) / a)
    return max(0.0, 1 - front * _fraction(b, a, 1 - x) / b)


def inverse_incomplete_beta(a: float, b: float, p: float) -> float:
    """The share x at which I_x(a, b) = p; a bracketed Newton search, exact to about 1e-12 of the share.

    :raises ValueError: unless a > 0, b > 0 and 0 <= p <= 1.
    """
    if not 0 <= p <= 1:
        raise ValueError(f"a probability lies in 0-1, not at {p}")
    if p in (0, 1):
        incomplete_beta(a, b, p)
        return float(p)
    scale = math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
    low, high, x = 0.0, 1.0, a / (a + b)
    for _ in range(2000):
        off = incomplete_beta(a, b, x) - p
        if off > 0:
            high = x
        else:
            low = x
        step = math.inf
        if 0 < x < 1:
            log_density = (a - 1) * math.log(x) + (b - 1) * math.log1p(-x) - scale
            if abs(log_density) < 600:
                step = off / math.exp(log_density)
        new = x - step
        if not low < new < high:
            # The distribution may lie hundreds of powers of ten from 0: halve the exponent there.
            new = math.sqrt(low * high) if 0 < low < high / 16 else (high / 16 if low == 0 else (low + high) / 2)
        if abs(new - x) <= 1e-14 * x or high - low <= 1e-15 * high:
            return new
        x = new
    return x


def student_t_cdf(x: float, df: float) -> float:
    """The probability that Student's t with `df` degrees of freedom is <= x (NIST DLMF 8.17; any real x).

    :raises ValueError: unless df > 0.
    """
    if not df > 0:
        raise ValueError(f"Student's t needs more than 0 degrees of freedom, not {df}")
    if math.isinf(x):
        return 1.0 if x > 0 else 0.0
    if math.isinf(df):
        return normal_cdf(x)
    square = x * x
    if square <= df:
        # Near the middle the tail's argument rounds to 1: take the middle's own share instead.
        inside = incomplete_beta(0.5, df / 2, square / (df + square))
        return 0.5 + math.copysign(inside / 2, x)
    tail = incomplete_beta(df / 2, 0.5, df / (df + square)) / 2
    return 1 - tail if x > 0 else tail


def normal_cdf(x: float) -> float:
    """The probability that a standard normal quantity is <= x."""
    return math.erfc(-x / math.sqrt(2)) / 2


def _fraction(a: float, b: float, x: float) -> float:
    """The continued fraction DLMF 8.17.22."""
    c, d = 1.0, 1 - (a + b) * x / (a + 1)
    d = 1 / (d if abs(d) > _TINY else _TINY)
    h = d
    for m in range(1, _MOST_TERMS):
        for numerator in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1 + numerator * d
            c = 1 + numerator / c
            d = 1 / (d if abs(d) > _TINY else _TINY)
            c = c if abs(c) > _TINY else _TINY
            h *= c * d
        if abs(c * d - 1) < 1e-15:
            return h
    raise ArithmeticError(f"the incomplete beta function did not settle at a={a}, b={b}, x={x}")


def _check(k: float, n: float, confidence: float) -> None:
    if not 0 <= k <= n or not math.isfinite(n):
        raise ValueError(f"{k} hits in {n} trials: the hits must lie between 0 and the trials")
    if not 0 < confidence < 1:
        raise ValueError(f"a confidence lies between 0 and 1, not at {confidence}")
