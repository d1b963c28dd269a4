"""Hours per m² by kind of work: a hierarchical log-normal model of logged steps, solved without random draws.

The logarithm of a step's hours per m² is a level common to all work plus what its action, its binder within the action,
its part of an object and its worker add to that, plus what is its own. Each of these five is normal about 0 with a
spread of its own; so what has few logs leans on what it belongs to (partial pooling: A. Gelman et al., Bayesian Data
Analysis, 3rd ed. 2013, chapters 5 and 15). The common level is flat beforehand. Given the spreads everything is linear
and normal (D. V. Lindley and A. F. M. Smith 1972, J. R. Stat. Soc. B 34, 1-41); the spreads, log-normal beforehand by
the policy, are integrated on a lattice laid around their mode, each point with its weight (H. Rue, S. Martino and
N. Chopin 2009, J. R. Stat. Soc. B 71, 319-392).

Rates are hours per m² and do not depend on how large the surface is.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist
from typing import TYPE_CHECKING

from collection.compute.effort.logs import Kind, Log
from collection.compute.survival.model.lattice import DRAWS, lattice
from collection.records.policy import EffortPolicy, Interval

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

CONFIDENCE = 0.90
POINTS = 128
"""Points of the lattice over the five spreads."""
SPREADS = ("action", "binder", "part", "worker", "step")
_WIDER = 1.2
"""How much wider the lattice is laid than the curvature at the mode says, so that long tails are reached."""
_STEP, _FURTHEST, _TIMES = 0.05, 1.0, 40


@dataclass(frozen=True, slots=True)
class Wanted:
    """Work whose hours are asked for. `part` is None for a part that no log tells of; `worker` for anybody; `any_binder`
    for work of the action on a coat of which nothing is said."""

    kind: Kind
    part: str | None = None
    worker: str | None = None
    any_binder: bool = False


@dataclass(frozen=True)
class Predicted:
    """What is foreseen of some work, together: at each point of the lattice a weight, the means of the log rates and
    their covariance; shapes (K,), (K, J), (K, J, J)."""

    weights: Array
    means: Array
    covariances: Array

    def interval(self, at: int = 0) -> Interval:
        """Hours per m² of one more step, [low, middle, high] at 90 %: the 5th, 50th and 95th percentile."""
        low, middle, high = (self._quantile(at, share) for share in (0.05, 0.5, 0.95))
        return low, middle, high

    def _quantile(self, at: int, share: float) -> float:
        parts = [
            (float(weight), NormalDist(float(mean), math.sqrt(var)))
            for weight, mean, var in zip(self.weights, self.means[:, at], self.covariances[:, at, at], strict=True)
            if weight > 1e-9
        ]
        whole = math.fsum(weight for weight, _ in parts)
        low, high = (pick(each.inv_cdf(share) for _, each in parts) for pick in (min, max))
        while high - low > 1e-7:
            middle = (low + high) / 2
            below = math.fsum(weight * each.cdf(middle) for weight, each in parts)
            low, high = (middle, high) if below < share * whole else (low, middle)
        return math.exp((low + high) / 2)

    def draws(self, uniform: Array) -> Array:
        """Joint draws of hours per m², shape (N, J).

        :param uniform: numbers in 0–1, shape (1 + 2 J, N): the first picks a point, the others two by two a normal
            number (G. E. P. Box and M. E. Muller 1958).
        """
        import numpy as np

        at = np.minimum(np.searchsorted(np.cumsum(self.weights), uniform[0]), len(self.weights) - 1)
        first, second = uniform[1::2], uniform[2::2]
        normal = np.sqrt(-2 * np.log1p(-first)) * np.cos(2 * np.pi * second)
        roots = np.linalg.cholesky(self.covariances)
        found: Array = np.exp(self.means[at] + np.einsum("nij,jn->ni", roots[at], normal))
        return found


class Rates:
    """What logged steps say of hours per m². The order of the logs does not matter."""

    def __init__(self, logs: Sequence[Log], policy: EffortPolicy) -> None:
        """:raises ValueError: without any log: then there is no figure of anything."""
        import numpy as np

        if not logs:
            raise ValueError("no logged step counts")
        self.logs = sorted(logs, key=lambda log: (log.key, log.hours, log.area_m2))
        self._policy = policy
        names: list[tuple[str, object]] = [("all", None)]
        for group in ("action", "binder", "worker"):
            names += [(group, name) for name in sorted({_name(log, group) for log in self.logs}, key=repr)]
        self._column = {name: at for at, name in enumerate(names)}
        self._group = [group for group, _ in names]
        parts = sorted({log.part for log in self.logs})
        self._part = {part: at for at, part in enumerate(parts)}
        size = len(names)
        y = np.array([log.log_rate for log in self.logs])
        self._level = float(y.mean())
        y = y - self._level
        self._yy, self._count = float(y @ y), len(y)
        self._both, self._sum = np.zeros((size, size)), np.zeros(size)
        # Parts may be many: they are summed out beforehand, all of one count of logs together.
        self._of_part, self._part_sum = np.zeros((len(parts), size)), np.zeros(len(parts))
        for log, value in zip(self.logs, y, strict=True):
            columns = self._columns(log)
            self._both[np.ix_(columns, columns)] += 1
            self._sum[columns] += value
            self._of_part[self._part[log.part], columns] += 1
            self._part_sum[self._part[log.part]] += value
        self._part_logs = self._of_part[:, 0]
        self._sizes = []
        for logged in np.unique(self._part_logs):
            rows = self._part_logs == logged
            of, total = self._of_part[rows], self._part_sum[rows]
            self._sizes.append((float(logged), int(rows.sum()), of.T @ of, of.T @ total, float(total @ total)))

    def _columns(self, log: Log) -> list[int]:
        return [0, *(self._column[group, _name(log, group)] for group in ("action", "binder", "worker"))]

    @cached_property
    def kinds(self) -> Counter[Kind]:
        """The kinds of work with logs that count, each with how many."""
        return Counter(log.kind for log in self.logs)

    @cached_property
    def actions(self) -> Counter[str]:
        return Counter(log.kind.action for log in self.logs)

    def predict(self, wanted: Sequence[Wanted]) -> Predicted:
        """What is foreseen of new steps, done together: by one worker where none is named, and one part where two name
        the same.

        :raises ValueError: for an action without a log.
        """
        import numpy as np

        missing = sorted({each.kind.action for each in wanted} - set(self.actions))
        if missing:
            raise ValueError(f"no logged step of {', '.join(missing)} counts")
        weights, points = self._posterior
        means, covariances = [], []
        for point in points:
            mean, covariance = self._at(np.exp(point), wanted)
            means.append(mean)
            covariances.append(covariance)
        return Predicted(weights, np.array(means) + self._level, np.array(covariances))

    def _solved(self, spreads: Array) -> tuple[Array, Array, float]:
        """The precision of the effects without the parts, their weighted sums, and the logarithm of the marginal
        likelihood, parts summed out (the Schur complement)."""
        import numpy as np

        action, binder, part, worker, step = spreads
        noise = step**2
        own = {"all": math.inf, "action": action, "binder": binder, "worker": worker}
        scale = np.array([own[group] for group in self._group])
        precision = self._both / noise + np.diag(scale**-2.0)
        sums = self._sum / noise
        rest = self._yy / noise
        log_scale = float(np.log(scale[1:]).sum()) + self._count * math.log(step)
        for logged, parts, both, sum_, squares in self._sizes:
            gives = 1 / (logged / noise + part**-2)
            precision -= gives / noise**2 * both
            sums = sums - gives / noise**2 * sum_
            rest -= gives / noise**2 * squares
            log_scale += parts * (math.log(part) - 0.5 * math.log(gives))
        root = np.linalg.cholesky(precision)
        halved = np.linalg.solve(root, sums)
        likelihood = -log_scale - float(np.log(np.diag(root)).sum()) - 0.5 * (rest - float(halved @ halved))
        return precision, sums, likelihood

    def _log_posterior(self, point: Array) -> float:
        import numpy as np

        return self._solved(np.exp(point))[2] + math.fsum(
            -0.5 * ((float(value) - math.log(middle)) / wide) ** 2
            for value, (middle, wide) in zip(point, self._before, strict=True)
        )

    @property
    def _before(self) -> list[tuple[float, float]]:
        return [getattr(self._policy, name) for name in SPREADS]

    @cached_property
    def _posterior(self) -> tuple[Array, Array]:
        """The points of the lattice, logarithms of the five spreads, with their weights; shapes (K,) and (K, 5)."""
        import numpy as np

        mode, root = self._mode
        # Every fourth point of a lattice of 512 is a lattice of 128.
        uniform = lattice(len(SPREADS))[:, :: DRAWS // POINTS]
        inverse = NormalDist().inv_cdf
        normal = np.array([[inverse(float(each)) for each in row] for row in uniform]).T
        points = mode + _WIDER * normal @ root.T
        logs = np.array([self._log_posterior(point) for point in points]) + 0.5 * (normal**2).sum(axis=1)
        weights = np.exp(logs - logs.max())
        weights /= weights.sum()
        return weights, points

    @cached_property
    def _mode(self) -> tuple[Array, Array]:
        """The likeliest logarithms of the spreads, and a root of their covariance by the curvature there."""
        import numpy as np

        point = np.array([math.log(middle) for middle, _ in self._before])
        values, vectors = np.ones(len(point)), np.eye(len(point))
        for _ in range(_TIMES):
            slope, curvature = self._slope_and_curvature(point)
            values, vectors = np.linalg.eigh(-curvature)
            # Where the posterior is flatter than the policy, or bends the wrong way, the policy's width is enough.
            values = np.maximum(values, 1 / max(wide for _, wide in self._before) ** 2 / 4)
            move = vectors @ ((vectors.T @ slope) / values)
            length = float(np.abs(move).max())
            move = move * min(1.0, _FURTHEST / length) if length else move
            here = self._log_posterior(point)
            while self._log_posterior(point + move) < here - 1e-9 and np.abs(move).max() > 1e-6:
                move = move / 2
            point = point + move
            if float(np.abs(move).max()) < 1e-5:
                break
        # The triangular root, as nearly equal values turn the vectors by any rounding.
        root: Array = np.linalg.cholesky(np.asarray((vectors / values) @ vectors.T, dtype=np.float64))
        return point, root

    def _slope_and_curvature(self, point: Array) -> tuple[Array, Array]:
        import numpy as np

        size = len(point)
        aside = np.eye(size) * _STEP
        here = self._log_posterior(point)
        up = [self._log_posterior(point + each) for each in aside]
        down = [self._log_posterior(point - each) for each in aside]
        slope = np.array([(up[i] - down[i]) / (2 * _STEP) for i in range(size)])
        curvature = np.zeros((size, size))
        for i in range(size):
            curvature[i, i] = (up[i] - 2 * here + down[i]) / _STEP**2
            for j in range(i):
                both = self._log_posterior(point + aside[i] + aside[j])
                curvature[i, j] = curvature[j, i] = (both - up[i] - up[j] + here) / _STEP**2
        return slope, curvature

    def _at(self, spreads: Array, wanted: Sequence[Wanted]) -> tuple[Array, Array]:
        """Means and covariance of the wanted log rates, less the common level, at one point of the lattice."""
        import numpy as np

        action, binder, part, worker, step = (float(each) for each in spreads)
        noise = step**2
        precision, sums, _ = self._solved(spreads)
        rows = np.zeros((len(wanted), len(self._column)))
        means = np.zeros(len(wanted))
        new: dict[tuple[str, object], tuple[float, list[int]]] = {}
        for at, each in enumerate(wanted):
            rows[at, 0] = 1
            unknown: dict[tuple[str, object], float] = {("step", at): noise}
            names: dict[str, object] = {"action": each.kind.action, "binder": each.kind, "worker": each.worker}
            for group, spread in (("action", action), ("binder", binder), ("worker", worker)):
                name = self._shown_binder(each) if group == "binder" else names[group]
                column = None if name is None else self._column.get((group, name))
                if column is None:
                    # A binder that nobody named may be another one each time; a worker is one for all steps.
                    unknown[group, at if group == "binder" and name is None else name] = spread**2
                else:
                    rows[at, column] = 1
            known = self._part.get(each.part) if each.part else None
            if known is None:
                unknown["part", each.part or at] = part**2
            else:
                gives = 1 / (float(self._part_logs[known]) / noise + part**-2)
                rows[at] -= gives / noise * self._of_part[known]
                means[at] = gives / noise * self._part_sum[known]
                unknown["part", each.part] = gives
            for name, variance in unknown.items():
                new.setdefault(name, (variance, []))[1].append(at)
        solved = np.linalg.solve(precision, np.column_stack([sums, rows.T]))
        means += rows @ solved[:, 0]
        covariance = rows @ solved[:, 1:]
        for variance, shared in new.values():
            covariance[np.ix_(shared, shared)] += variance
        return means, (covariance + covariance.T) / 2

    def _shown_binder(self, wanted: Wanted) -> Kind | None:
        """The kind whose binder counts: of an action that was only ever logged on one binder, any is that one."""
        if not wanted.any_binder:
            return wanted.kind
        own = [kind for kind in self.kinds if kind.action == wanted.kind.action]
        return own[0] if len(own) == 1 else None


def _name(log: Log, group: str) -> object:
    return {"action": log.kind.action, "binder": log.kind, "worker": log.worker}[group]
