"""How much of several areas of one part survives, from few readings: a hierarchical beta-binomial.

Each area has its own surviving share, drawn from a beta distribution whose mean and concentration the
areas have in common. Both are uncertain: flat in the mean (49 values) and in the logarithm of the
concentration (7 values, 1/2 to 32). The readings of an area are binomial in its share. Own model after
A. Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.3 (hierarchical binomial model on a grid).

The mean is learnt from the readings at each concentration; the concentration itself keeps its prior. Few
readings say next to nothing about it, and where they do, an absence found in one zone, which shows that
zones differ, would raise what is believed of another. So kept, one more absence never raises, and one more
presence never lowers, any share: at a given concentration the readings order the mean by likelihood ratio.

Draws are a rank-1 lattice (N. M. Korobov 1959; I. H. Sloan and S. Joe, Lattice Methods for Multiple
Integration, 1994), so that nothing is left to chance: the same readings give the same draws. They are
made once per distinct set of readings; `shuffled` then decouples one part from another by its key.

numpy is loaded with the first call, not with the module.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any

from collection.policy import Interval

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

DRAWS = 512
"""Joint draws per part (K): the ends of a total lie within about 2 % of its area of their true place."""

CONFIDENCE = 0.95
TAILS = ((1 - CONFIDENCE) / 2, (1 + CONFIDENCE) / 2)

MEANS, CONCENTRATIONS = 49, 7
LEAST_CONCENTRATION = 0.5
NODES = 193
"""Shares at which distribution functions are tabulated, denser towards 0 and 1."""

KOROBOV, KOROBOV_DIMENSIONS = 269, 24
"""Generator of the lattice: among the odd numbers modulo 512 that keep any two of the first 24 dimensions
correlated below 0.07, least P2 figure of merit over 3, 5, 8 and 12 dimensions (own search)."""

Counts = tuple[int, int]
"""Readings of one area: (present, absent)."""


class Posterior:
    """What readings of several areas of one part tell; `pattern` are their counts, in sorted order.

    Shares are of the area, 0-1. `position` counts in `pattern`; None stands for an area never read.
    """

    def __init__(self, pattern: tuple[Counts, ...]) -> None:
        self.pattern = pattern

    @cached_property
    def weights(self) -> Array:
        """The posterior of mean and concentration; shape (343,), mean outermost, sums to 1."""
        import numpy as np

        fit = np.zeros((MEANS, CONCENTRATIONS))
        for present, absent in self.pattern:
            fit = fit + _log_likelihood(present, absent)
        given_concentration = np.exp(fit - fit.max(axis=0))
        weights: Array = given_concentration / given_concentration.sum(axis=0) / CONCENTRATIONS
        return weights.ravel()

    def mean(self, position: int | None) -> float:
        """The expected share of one area."""
        tables = _tables()
        present, absent = (0, 0) if position is None else self.pattern[position]
        shares = (tables["alpha"] + present) / (tables["concentration"] + present + absent)
        return float((self.weights * shares).sum())

    def share(self, position: int | None, most: float = 1.0) -> Interval:
        """[low, middle, high] of one area's share, capped at `most`; the middle is the expected share."""
        import numpy as np

        nodes = _tables()["nodes"]
        distribution = self._distribution(position)
        low, high = (min(most, float(end)) for end in np.interp(TAILS, distribution, nodes))
        middle = self.mean(position)
        if most < 1:
            inside = nodes[nodes > most]
            x = np.concatenate(([most], inside))
            beyond = 1 - np.interp(x, nodes, distribution)
            middle -= float((np.diff(x) * (beyond[1:] + beyond[:-1]) / 2).sum())
        return low, min(max(middle, low), high), high

    def _distribution(self, position: int | None) -> Array:
        """The distribution function of one area's share at the nodes; shape (193,)."""
        table = _cdf(*((0, 0) if position is None else self.pattern[position])).reshape(-1, NODES)
        found: Array = self.weights @ table - self.weights @ table[:, 0]
        found[0], found[-1] = 0.0, 1.0
        return found

    @cached_property
    def draws(self) -> Array:
        """Joint draws of the shares; shape (1 + areas read, 512): row 0 an area never read, then `pattern`."""
        import numpy as np

        rows = _lattice(3 + len(self.pattern))
        cells = np.minimum(np.searchsorted(np.cumsum(self.weights), rows[0]), len(self.weights) - 1)
        found = np.empty((1 + len(self.pattern), DRAWS))
        found[0] = _quantiles(0, 0, cells, rows[1])
        for row, counts in enumerate(self.pattern, 1):
            found[row] = _quantiles(*counts, cells, rows[2 + row])
        found.flags.writeable = False
        return found


@lru_cache(maxsize=512)
def posterior(pattern: tuple[Counts, ...]) -> Posterior:
    """The posterior of one set of readings; `pattern` sorted, so that equal sets are computed once."""
    return Posterior(pattern)


def trace_width() -> Array:
    """Draws of the share that a trace stands for, 0-0.1; shape (512,)."""
    width: Array = _lattice(3)[2] * TRACE_MOST
    return width


TRACE_MOST = 0.1
"""A trace is given no more of the area than this."""


def shuffled(key: str) -> NDArray[np.intp]:
    """The order in which one part takes the draws: a permutation of 0-511 that its key decides."""
    return _permutation(int.from_bytes(hashlib.sha256(key.encode()).digest()[:8], "big"))


def interval_of(draws: Array) -> tuple[float, float]:
    """The ends of the central 95 % of 512 draws."""
    import numpy as np

    ordered = np.sort(draws)
    ends = []
    for tail in TAILS:
        spot = tail * len(ordered) - 0.5
        left = math.floor(spot)
        ends.append(float(ordered[left] + (spot - left) * (ordered[left + 1] - ordered[left])))
    return ends[0], ends[1]


@lru_cache(maxsize=1)
def _tables() -> dict[str, Any]:
    """The grid, mean outermost, and its distribution functions before any reading."""
    import numpy as np

    means = (np.arange(MEANS) + 0.5) / MEANS
    concentrations = LEAST_CONCENTRATION * 2.0 ** np.arange(CONCENTRATIONS)
    concentration = np.tile(concentrations, MEANS)
    alpha = np.repeat(means, CONCENTRATIONS) * concentration
    nodes = np.sin(np.linspace(0, math.pi / 2, NODES)) ** 2
    nodes[0], nodes[-1] = 0.0, 1.0
    return {"alpha": alpha, "beta": concentration - alpha, "concentration": concentration, "nodes": nodes}


@lru_cache(maxsize=256)
def _log_likelihood(present: int, absent: int) -> Array:
    import numpy as np

    tables = _tables()
    fit = np.zeros(MEANS * CONCENTRATIONS)
    for i in range(present):
        fit = fit + np.log(tables["alpha"] + i)
    for i in range(absent):
        fit = fit + np.log(tables["beta"] + i)
    for i in range(present + absent):
        fit = fit - np.log(tables["concentration"] + i)
    return fit.reshape(MEANS, CONCENTRATIONS)


@lru_cache(maxsize=1)
def _prior_cdf() -> Array:
    """I_x(alpha, beta) in each cell at each node; shape (343, 193).

    By the hypergeometric series of NIST DLMF 8.17.7 below 1/2, where 60 terms leave less than 1e-16, and by
    I_x(a, b) = 1 − I_(1−x)(b, a) above.
    """
    import numpy as np

    tables = _tables()
    alpha, beta = tables["alpha"][:, None], tables["beta"][:, None]
    middle = NODES // 2
    x = tables["nodes"][None, :middle + 1]
    with np.errstate(divide="ignore"):
        front = np.exp(alpha * np.log(x) - _log_complete())
    power, total = np.ones_like(front), np.zeros_like(front)
    for n in range(60):
        total += power / (alpha + n)
        power *= (n + 1 - beta) * x / (n + 1)
    lower = front * total
    # The grid of means is symmetric: the cell with alpha and beta exchanged stands mirrored in the order.
    mirrored = lower.reshape(MEANS, CONCENTRATIONS, -1)[::-1].reshape(lower.shape)
    found = np.concatenate((lower, 1 - mirrored[:, :middle][:, ::-1]), axis=1)
    np.clip(found, 0.0, 1.0, out=found)
    np.maximum.accumulate(found, axis=1, out=found)
    found.flags.writeable = False
    return found


def _log_complete() -> Array:
    """The logarithm of the complete beta function in each cell; shape (343, 1)."""
    import numpy as np

    tables = _tables()
    return np.array([math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b) for a, b in
                     zip(tables["alpha"].tolist(), tables["beta"].tolist(), strict=True)])[:, None]


@lru_cache(maxsize=48)
def _cdf(present: int, absent: int) -> Array:
    """The distribution function of an area's share, cell after cell of the grid; shape (343 * 193,).

    Cell r is raised by r, so that the whole ascends and one search finds places in many cells. By the
    recurrences I_x(a+1, b) = I_x(a, b) − x^a (1−x)^b / (a B(a, b)) and I_x(a, b+1) = I_x(a, b) +
    x^a (1−x)^b / (b B(a, b)) (NIST DLMF 8.17.20-21).
    """
    import numpy as np

    tables = _tables()
    alpha, beta, x = tables["alpha"][:, None], tables["beta"][:, None], tables["nodes"][None, :]
    with np.errstate(divide="ignore"):
        term = np.exp(alpha * np.log(x) + beta * np.log1p(-x) - _log_complete())
    found = _prior_cdf().copy()
    for i in range(present):
        found -= term / (alpha + i)
        term = term * x * (alpha + beta + i) / (alpha + i)
    for i in range(absent):
        found += term / (beta + i)
        term = term * (1 - x) * (alpha + beta + present + i) / (beta + i)
    np.clip(found, 0.0, 1.0, out=found)
    np.maximum.accumulate(found, axis=1, out=found)
    found[:, 0], found[:, -1] = 0.0, 1.0
    raised: Array = (found + np.arange(len(found))[:, None]).ravel()
    raised.flags.writeable = False
    return raised


def _quantiles(present: int, absent: int, cells: NDArray[np.intp], at: Array) -> Array:
    """The shares at probabilities `at`, each in its own cell of the grid; shape (512,)."""
    import numpy as np

    nodes, table = _tables()["nodes"], _cdf(present, absent)
    first = cells * NODES
    right = np.minimum(np.maximum(np.searchsorted(table, at + cells), first + 1), first + NODES - 1)
    below = table[right - 1]
    width = table[right] - below
    within = (at + cells - below) / np.where(width > 0, width, 1.0)
    within = np.minimum(np.maximum(within, 0.0), 1.0)
    right = right - first
    found: Array = nodes[right - 1] + within * (nodes[right] - nodes[right - 1])
    return found


@lru_cache(maxsize=128)
def _lattice(dimensions: int) -> Array:
    """Points of the lattice; shape (dimensions, 512), each row the midpoints of 512 equal cells."""
    import numpy as np

    rows = []
    for dimension in range(dimensions):
        if dimension < KOROBOV_DIMENSIONS:
            ranks = np.arange(DRAWS) * pow(KOROBOV, dimension, DRAWS) % DRAWS
        else:
            # The powers of the generator come round again: beyond, each row is an order of its own.
            ranks = _permutation(dimension)
        rows.append((ranks + 0.5) / DRAWS)
    found = np.array(rows)
    found.flags.writeable = False
    return found


def _permutation(seed: int) -> NDArray[np.intp]:
    """The order of 512 hashed counters: our own, so that it outlasts the versions of numpy."""
    import numpy as np

    return np.argsort(_splitmix64(seed, DRAWS), kind="stable")


def _splitmix64(seed: int, count: int) -> NDArray[np.uint64]:
    """The first numbers of the generator of G. L. Steele, D. Lea and C. H. Flood 2014, OOPSLA, 453-472."""
    import numpy as np

    state = np.uint64(seed) + np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    state = (state ^ (state >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    state = (state ^ (state >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    numbers: NDArray[np.uint64] = state ^ (state >> np.uint64(31))
    return numbers


def counts_in_order(counts: Sequence[Counts]) -> tuple[Counts, ...]:
    """The pattern that `posterior` is asked for."""
    return tuple(sorted(counts))
