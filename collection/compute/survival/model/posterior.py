"""How much of several areas of one part survives, from a few readings: a hierarchical beta-binomial.

Each area has its own surviving share, drawn from a beta distribution whose mean and concentration all the areas share.
Both are uncertain: flat in the mean (49 values) and in the logarithm of the concentration (7 values, 1/2 to 32). The
readings of an area are binomial in its share; one that gives a share counts as that much of a presence and the rest of
an absence, and is no surer than a yes or no (a quasi-likelihood: R. W. M. Wedderburn, Biometrika 61 (1974) 439-447;
from memory). Own model after A. Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.3 (hierarchical binomial
model on a grid).

One more absence found in a place lowers the estimate for that place, and one more presence raises it. For another place
of the part it may do the opposite by a little, because it may show that places differ. (Holding the concentration at
its prior would prevent that; on synthetic parts it made the shares of single zones worse.)

Draws are a rank-1 lattice (N. M. Korobov 1959; I. H. Sloan and S. Joe, Lattice Methods for Multiple Integration, 1994),
so that nothing is random: the same readings give the same draws. They are made once for each distinct set of readings;
`shuffled` then makes one part independent of another by its key.

numpy is loaded with the first call, not with the module.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Iterable
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, TypeVar

from collection.compute.survival.model.lattice import lattice
from collection.records.policy import Interval

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

CONFIDENCE = 0.95
TAILS = ((1 - CONFIDENCE) / 2, (1 + CONFIDENCE) / 2)

MEANS, CONCENTRATIONS = 49, 7
LEAST_CONCENTRATION = 0.5
NODES, COARSE = 193, 16
"""Shares at which distribution functions are tabulated, denser towards 0 and 1, and the step of a first coarse search
through them."""
QUANTILES = 128
"""Equal steps of probability at which quantiles are tabulated for the draws."""

UNREAD, FIRST = 1, 3
"""The dimension of the lattice for areas never read, and for the first area read."""
Counts = tuple[int, int]
"""Readings of one area as (present, absent), in steps of a twentieth of a reading: one that gives a share counts as
that share present and the rest absent."""
STEPS = 20
SHARED_STEPS = 10
"""What the areas of a part share is computed from counts rounded to half a reading, so that more parts have equal
patterns."""

Value = TypeVar("Value", float, "Array")
NONE: Counts = (0, 0)
Pattern = tuple[Counts, ...]


def in_steps(present: float, read: int, end: int) -> Counts:
    """The counts of `read` readings of which `present` (a sum of shares) are present: at the low end (0) rounded down,
    at the high end (2) up, in the middle (1) to the nearest step."""
    exact = present * STEPS
    steps = (math.floor(exact + 1e-6), round(exact), math.ceil(exact - 1e-6))[end]
    return steps, STEPS * read - steps


def pattern_of(counts: Iterable[Counts]) -> Pattern:
    """The pattern to give to `posterior`, from the counts of a part's areas."""
    return tuple(
        sorted(
            (half := round(present / SHARED_STEPS) * SHARED_STEPS, present + absent - half)
            for present, absent in counts
        )
    )


class Posterior:
    """What follows from readings of several areas of one part; `pattern` holds their counts, sorted.

    Shares are of the area, 0-1. An area's counts need not be in the pattern: an area never read has none, and one whose
    readings already count for another area has counts of its own.
    """

    def __init__(self, pattern: Pattern) -> None:
        self.pattern = pattern

    @cached_property
    def weights(self) -> Array:
        """The posterior of mean and concentration; shape (343,), mean outermost, sums to 1."""
        import numpy as np

        fit = np.zeros((MEANS, CONCENTRATIONS))
        for present, absent in self.pattern:
            fit = fit + _log_likelihood(present / STEPS, absent / STEPS)
        weights: Array = np.exp(fit - fit.max()).ravel()
        weights /= weights.sum()
        return weights

    def mean(self, counts: Counts = NONE) -> float:
        """The expected share of an area with these readings."""
        return _between(counts, lambda present, absent: float(self.weights @ _expected(present, absent)))

    def share(self, counts: Counts = NONE, most: float = 1.0) -> Interval:
        """[low, middle, high] of an area's share, capped at `most`; the middle is the expected share."""
        return _share(self.pattern, counts, most)

    def draws(self, counts: Counts = NONE, dimension: int = UNREAD) -> Array:
        """Draws of an area's share; of shape (512,), read-only. Draw i of every area of a part belongs to the same
        state; each area read has its own `dimension` of the lattice, from `FIRST` on."""
        return _between(counts, lambda present, absent: _draws(self.pattern, present, absent, dimension))

    @cached_property
    def cells(self) -> NDArray[np.intp]:
        """For each draw, the cell of the grid that it comes from, as the index where the cell's quantiles begin."""
        import numpy as np

        found: NDArray[np.intp] = np.minimum(
            np.searchsorted(np.cumsum(self.weights), lattice(1)[0]), len(self.weights) - 1
        ) * (QUANTILES + 1)
        return found


def _between(counts: Counts, of: Callable[[int, int], Value]) -> Value:
    """A value for whole readings; for a fraction of a reading, interpolated between the counts below and above."""
    present, rest = divmod(counts[0], STEPS)
    absent = counts[1] // STEPS
    if not rest:
        return of(present, absent)
    return (of(present, absent + 1) * (STEPS - rest) + of(present + 1, absent) * rest) / STEPS


@lru_cache(maxsize=16384)
def _share(pattern: Pattern, counts: Counts, most: float) -> Interval:
    present, rest = divmod(counts[0], STEPS)
    absent = counts[1] // STEPS
    if not rest:
        return _share_of_whole(pattern, present, absent, most)
    less, more = (
        _share_of_whole(pattern, present, absent + 1, most),
        _share_of_whole(pattern, present + 1, absent, most),
    )
    towards = rest / STEPS
    return (
        less[0] + towards * (more[0] - less[0]),
        less[1] + towards * (more[1] - less[1]),
        less[2] + towards * (more[2] - less[2]),
    )


@lru_cache(maxsize=16384)
def _share_of_whole(pattern: Pattern, present: int, absent: int, most: float) -> Interval:
    import numpy as np

    found, nodes, table = posterior(pattern), _tables()["nodes"], _cdf(present, absent)
    middle = float(found.weights @ _expected(present, absent))
    coarse = (table[::COARSE] @ found.weights).tolist()
    ends = []
    for tail in TAILS:
        step = min(max(bisect_left(coarse, tail), 1), len(coarse) - 1)
        first = (step - 1) * COARSE
        fine = (table[first : first + COARSE + 1] @ found.weights).tolist()
        right = min(max(bisect_left(fine, tail), 1), COARSE)
        below, above = fine[right - 1], fine[right]
        left_node, right_node = float(nodes[first + right - 1]), float(nodes[first + right])
        within = (tail - below) / (above - below) if above > below else 1.0
        ends.append(min(most, left_node + min(max(within, 0.0), 1.0) * (right_node - left_node)))
    if most < 1:
        x = np.concatenate(([most], nodes[nodes > most]))
        beyond = 1 - np.interp(x, nodes, table @ found.weights)
        middle -= float((np.diff(x) * (beyond[1:] + beyond[:-1]) / 2).sum())
    return ends[0], min(max(middle, ends[0]), ends[1]), ends[1]


@lru_cache(maxsize=4096)
def _draws(pattern: Pattern, present: int, absent: int, dimension: int) -> Array:
    found = _drawn(present, absent, posterior(pattern).cells, dimension)
    found.flags.writeable = False
    return found


@lru_cache(maxsize=2048)
def posterior(pattern: Pattern) -> Posterior:
    """The posterior of one set of readings; `pattern` is sorted, so that equal sets are computed once."""
    return Posterior(pattern)


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


@lru_cache(maxsize=1024)
def _log_likelihood(present: float, absent: float) -> Array:
    fit: Array = (
        _log_rising("alpha", present) + _log_rising("beta", absent) - _log_rising("concentration", present + absent)
    )
    return fit.reshape(MEANS, CONCENTRATIONS)


@lru_cache(maxsize=1024)
def _log_rising(name: str, by: float) -> Array:
    """log Γ(a + by) − log Γ(a) for each value a of the grid's alpha, beta or concentration; shape (343,)."""
    import numpy as np

    values, rest = _tables()[name], by % 1
    fit = np.zeros(MEANS * CONCENTRATIONS)
    if rest:
        fit = np.array([math.lgamma(a + rest) - math.lgamma(a) for a in values.tolist()])
    for i in range(int(by)):
        fit = fit + np.log(values + rest + i)
    return fit


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
    x = tables["nodes"][None, : middle + 1]
    with np.errstate(divide="ignore"):
        front = np.exp(alpha * np.log(x) - _log_complete())
    power, total = np.ones_like(front), np.zeros_like(front)
    for n in range(60):
        total += power / (alpha + n)
        power *= (n + 1 - beta) * x / (n + 1)
    lower = front * total
    # The grid of means is symmetric: the cell with alpha and beta exchanged is its mirror image in the order.
    mirrored = lower.reshape(MEANS, CONCENTRATIONS, -1)[::-1].reshape(lower.shape)
    found = np.concatenate((lower, 1 - mirrored[:, :middle][:, ::-1]), axis=1)
    np.clip(found, 0.0, 1.0, out=found)
    np.maximum.accumulate(found, axis=1, out=found)
    found.flags.writeable = False
    return found


@lru_cache(maxsize=1)
def _prior_term() -> Array:
    """x^alpha (1−x)^beta / B(alpha, beta) in each cell at each node; shape (343, 193)."""
    import numpy as np

    tables = _tables()
    alpha, beta, x = tables["alpha"][:, None], tables["beta"][:, None], tables["nodes"][None, :]
    with np.errstate(divide="ignore"):
        found: Array = np.exp(alpha * np.log(x) + beta * np.log1p(-x) - _log_complete())
    found.flags.writeable = False
    return found


@lru_cache(maxsize=1)
def _log_complete() -> Array:
    """The logarithm of the complete beta function in each cell; shape (343, 1)."""
    import numpy as np

    tables = _tables()
    return np.array(
        [
            math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
            for a, b in zip(tables["alpha"].tolist(), tables["beta"].tolist(), strict=True)
        ]
    )[:, None]


@lru_cache(maxsize=64)
def _cdf(present: int, absent: int) -> Array:
    """The distribution function of an area's share in each cell of the grid; shape (193, 343).

    By the recurrences I_x(a+1, b) = I_x(a, b) − x^a (1−x)^b / (a B(a, b)) and I_x(a, b+1) = I_x(a, b) +
    x^a (1−x)^b / (b B(a, b)) (NIST DLMF 8.17.20-21).
    """
    import numpy as np

    tables = _tables()
    alpha, beta, x = tables["alpha"][:, None], tables["beta"][:, None], tables["nodes"][None, :]
    term = _prior_term()
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
    by_node: Array = np.ascontiguousarray(found.T)
    by_node.flags.writeable = False
    return by_node


@lru_cache(maxsize=1024)
def _expected(present: int, absent: int) -> Array:
    """The expected share of an area in each cell of the grid; shape (343,)."""
    tables = _tables()
    found: Array = (tables["alpha"] + present) / (tables["concentration"] + present + absent)
    return found


@lru_cache(maxsize=64)
def _quantiles(present: int, absent: int) -> Array:
    """The shares at 129 even probabilities, cell after cell of the grid; shape (343 * 129,)."""
    import numpy as np

    nodes, even = _tables()["nodes"], np.linspace(0, 1, QUANTILES + 1)
    found = np.array([np.interp(even, cell, nodes) for cell in _cdf(present, absent).T]).ravel()
    found.flags.writeable = False
    return found


def _drawn(present: int, absent: int, first: NDArray[np.intp], dimension: int) -> Array:
    """One share per draw, each from its own cell, whose quantiles begin at `first`; shape (512,)."""
    step, within = _lattice_steps(dimension)
    table, spot = _quantiles(present, absent), first + step
    below = table[spot]
    found: Array = below + within * (table[spot + 1] - below)
    return found


@lru_cache(maxsize=128)
def _lattice_steps(dimension: int) -> tuple[NDArray[np.intp], Array]:
    """One row of the lattice as the step of probability it lies in, and how far into it; each of shape (512,)."""
    import numpy as np

    scaled = lattice(dimension + 1)[dimension] * QUANTILES
    step = scaled.astype(np.intp)
    return step, scaled - step
