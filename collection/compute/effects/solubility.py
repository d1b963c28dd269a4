"""Which liquids act on a coat: a posterior over regions of Hansen space, from its binder's class and its own tests.

Prior: the spheres published for the binder (Ra² = 4(ΔδD)² + (ΔδP)² + (ΔδH)², Hansen 2007) and the bands of total
solubility parameter, each with its centre and size uncertain, more so where the binder was not analysed or the values
are those of another material. Films that dry by oxidation are stripped by liquids outside their published sphere (NMP,
DMF, benzyl alcohol), and an aged oil film stays sensitive on the polar side (Phenix 2002, JAIC 41(1), 61–90; the amount
is judgement), so part of their prior lies there. Likelihood: recorded tests, each misjudged with a small chance.

A plain posterior would let a harmless test on one side push the region to the other, and a harmful one pull it away. So
the figure shown for a liquid is the largest, over small sets of harmful tests, of the least, over small sets of
harmless ones, of the posterior share that acts: one more harmful test can only raise it, one more harmless test can
only lower it.

Particles are fixed points of an additive recurrence ("R-sequence" of plastic numbers; from memory), and sums are made
of whole multiples of 2⁻⁴², so that the order of adding makes no difference: the same evidence gives the same answer to
the last byte, alone or among many.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations, pairwise
from statistics import NormalDist
from typing import TYPE_CHECKING, Any, NamedTuple

from collection.records.policy import ModelPolicy, Policy
from collection.values.reference import Band, Sphere
from collection.values.reference_rows import Triple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

PARTICLES, LEAST_PARTICLES = 256, 64
"""Particles of the whole prior, shared out among its published rows, and the fewest for each row."""
SURE_BASES = frozenset({"analysed", "tested"})
OXIDISING = frozenset({"oil", "oleoresin", "alkyd", "natural resin"})
"""Binders that age by oxidation, and are open to more polar liquids than when fresh."""
LARGEST_SETS = (1, 3)
"""Up to this many harmful and harmless tests, every set of them is looked at."""
PLAUSIBLE = 0.2
"""A published row under which the tests are this much less likely than under the best row no longer counts."""
CHUNK, BLOCK = 256, 1 << 16
"""How many points, and how many figures of sets, are held at a time."""
_WEIGHT_BITS, _INSIDE_BITS = 26, 16


@dataclass(frozen=True, slots=True)
class Observed:
    """One recorded test: the liquid's point in MPa^½, whether it did anything to the coat, and its name for people."""

    point: Triple
    acted: bool
    text: str = field(default="", compare=False)


@dataclass(frozen=True, eq=False)
class Region:
    """A posterior over the region in which liquids act on one coat; made by `region`.

    `shapes` (7, k) are the particles: what a point's terms 1, δD, δP, δH, 4δD² + δP² + δH², δ² and δ are multiplied
    with to say how far inside it lies. `part` (k,) says which published row a particle belongs to, `weights` (k,) are
    the posterior's, all tests counted, and sum to 1, `prior` (k,) those before any; `harmful` (a, k) and `harmless` (b,
    k) are the likelihoods of sets of tests.
    """

    shapes: Array
    part: Array
    weights: Array
    prior: Array
    harmful: Array
    harmless: Array

    def inside(self, points: Array) -> Array:
        """How far each point (n, 3) lies in each particle's region, (n, k): 1 well inside, ½ about its edge."""
        return _inside(points, self.shapes)

    def acts(self, points: Array) -> Array:
        """The share of the posterior in which a liquid at each point (n, 3) acts: (n, 3) low, middle, high.

        Low and high are the least and the most given by any published row that the tests have not ruled out.
        """
        import numpy as np

        points = np.asarray(points, dtype=float).reshape(-1, 3)
        found = np.zeros((3, len(points)))
        for start in range(0, len(points), CHUNK):
            member = self.inside(points[start : start + CHUNK]).T
            found[:, start : start + CHUNK] = _acts(self.prior, self.harmful, self.harmless, member, _spans(self.part))
        return found.T


@dataclass(frozen=True, eq=False)
class PhRegion:
    """A posterior over the interval of pH that leaves one coat unaffected; made by `ph_region`.

    `limits` (2, k) are the distances from 7 beyond which each particle's coat is affected, to the acid and to the
    alkaline side, below 0 where any water affects it; `weights` (k,) sum to 1.
    """

    limits: Array
    weights: Array
    prior: Array
    harmful: Array
    harmless: Array

    def inside(self, ph: Array) -> Array:
        """Whether each pH (n,) affects each particle's coat: (n, k), 0 or 1."""
        return _affected(ph, self.limits)

    def acts(self, ph: Array) -> Array:
        """The share of the posterior in which water of each pH (n,) acts: (n, 3) low, middle, high, here the same."""
        return _acts(self.prior, self.harmful, self.harmless, self.inside(ph).T, [slice(0, len(self.prior))]).T


def region(
    spheres: Sequence[Sphere],
    basis: str | None,
    observed: Iterable[Observed],
    policy: Policy,
    *,
    bands: Sequence[Band] = (),
) -> Region:
    """The posterior for a coat of a binder with these published spheres and bands; the order of the tests does not
    matter.

    :param basis: how the binder was identified (`analysed`, `tested`, `looked`, `guessed`); what is not sure is wider.
    :raises ValueError: without any sphere or band, where nothing can be said.
    """
    if not (spheres or bands):
        raise ValueError("a region needs a published sphere or band")
    return _region(_region_key(spheres, bands, basis, observed, policy))


class _RegionKey(NamedTuple):
    """Everything that a region depends on, as plain values: equal evidence for any coat gives the same region."""

    spheres: tuple[Sphere, ...]
    bands: tuple[Band, ...]
    sure: bool
    observed: tuple[Observed, ...]
    policy: ModelPolicy


def _region_key(
    spheres: Sequence[Sphere], bands: Sequence[Band], basis: str | None, observed: Iterable[Observed], policy: Policy
) -> _RegionKey:
    tests = tuple(sorted(set(observed), key=lambda o: (o.acted, o.point)))
    return _RegionKey(tuple(spheres), tuple(bands), basis in SURE_BASES, tests, policy.model)


@lru_cache(maxsize=8192)
def _chances(key: _RegionKey, points: tuple[Triple, ...]) -> tuple[Triple, ...]:
    import numpy as np

    return tuple((low, middle, high) for low, middle, high in _region(key).acts(np.asarray(points)).tolist())


@lru_cache(maxsize=512)
def _region(key: _RegionKey) -> Region:
    import numpy as np

    spheres, bands, sure, observed, policy = key
    shapes, part = _prior(spheres, bands, sure, policy)
    size = shapes.shape[1]
    prior = np.full(size, 1 / size)
    if not observed:
        one = np.ones((1, size))
        return Region(shapes, part, prior, prior, one, one)
    member = _inside(np.asarray([o.point for o in observed], dtype=float), shapes)
    acted = np.asarray([o.acted for o in observed])
    likely = policy.misjudged + (1 - 2 * policy.misjudged) * np.where(acted[:, None], member, 1 - member)
    weights = prior * likely.prod(axis=0)
    return Region(
        shapes,
        part,
        weights / weights.sum(),
        prior,
        _products(likely[acted], LARGEST_SETS[0]),
        _products(likely[~acted], LARGEST_SETS[1]),
    )


def chances(
    spheres: Sequence[Sphere],
    bands: Sequence[Band],
    basis: str | None,
    observed: Iterable[Observed],
    points: tuple[Triple, ...],
    policy: Policy,
) -> tuple[Triple, ...]:
    """Low, middle and high share of `region` in which a liquid at each point acts; equal questions from many objects
    are computed once."""
    return _chances(_region_key(spheres, bands, basis, observed, policy), points)


def ph_region(observed: Iterable[tuple[float, bool]], policy: Policy) -> PhRegion:
    """The posterior for a coat from its tests with water, each a pH and whether it did anything.

    The prior is wide and the same for every binder: no published figure was found for the pH that paint of any binder
    stands.
    """
    return _ph_region(tuple(sorted(set(observed))), policy.model)


@lru_cache(maxsize=512)
def _ph_region(observed: tuple[tuple[float, bool], ...], policy: ModelPolicy) -> PhRegion:
    import numpy as np

    even = _even_points(2, PARTICLES).T
    size = len(even[0])
    any_water = np.arange(size) < round(policy.any_water * size)
    limits = np.where(any_water, -1.0, 7 * even)
    prior = np.full(size, 1 / size)
    member = _affected(np.asarray([ph for ph, _ in observed], dtype=float), limits)
    acted = np.asarray([did for _, did in observed], dtype=bool)
    likely = policy.misjudged + (1 - 2 * policy.misjudged) * np.where(acted[:, None], member, 1 - member)
    weights = prior * likely.prod(axis=0)
    return PhRegion(
        limits,
        weights / weights.sum(),
        prior,
        _products(likely[acted], LARGEST_SETS[0]),
        _products(likely[~acted], LARGEST_SETS[1]),
    )


def _affected(ph: Array, limits: Array) -> Array:
    import numpy as np

    away = np.asarray(ph, dtype=float).reshape(-1)[:, None] - 7
    found: Array = np.where(np.where(away < 0, -away > limits[0], away > limits[1]) | (limits[0] < 0), 1.0, 0.0)
    return found


@lru_cache(maxsize=64)
def _prior(
    spheres: tuple[Sphere, ...], bands: tuple[Band, ...], sure: bool, policy: ModelPolicy
) -> tuple[Array, Array]:
    """The particles' shapes (7, k) and the published row (k,) that each belongs to."""
    import numpy as np

    count = max(LEAST_PARTICLES, PARTICLES // (len(spheres) + len(bands)))
    found = [_balls(s, policy.wider if s.fit != "same" or not sure else 1.0, count, policy) for s in spheres]
    found += [_shells(b, policy.wider if b.fit != "same" or not sure else 1.0, count, policy) for b in bands]
    return np.concatenate(found, axis=1), np.repeat(np.arange(len(found)), count)


def _balls(sphere: Sphere, factor: float, count: int, policy: ModelPolicy) -> Array:
    """Spheres about a published one: half of them wider, and for oxidising binders a share of them aged."""
    import numpy as np

    z, even = _normal_points(5, count), _even_points(5, count)
    spread = factor * np.where(even[:, 4] < 0.5, 1.0, policy.wider)
    centre = np.asarray(sphere.centre) + z[:, :3] * policy.centre_sd * spread[:, None] * np.asarray([0.5, 1.0, 1.0])
    radius = sphere.radius * np.exp(policy.radius_log_sd * spread * z[:, 3])
    if sphere.binder in OXIDISING:
        # The last coordinate of the even points can be used again within the wider half.
        age = np.maximum(even[:, 4] - (1 - policy.aged_share), 0) / policy.aged_share
        centre[:, 1:] += (policy.aged_shift * factor * age)[:, None] * np.asarray([0.6, 0.8])
        radius = radius * (1 + policy.aged_growth * age)
    # A liquid is in where (Ra / R)² lies well under 1: linear in the terms of `_inside`, with an edge of its softness.
    slope = 1 / (4 * policy.edge)
    scale = slope / radius**2
    return np.stack(
        [
            0.5 + slope - scale * (4 * centre[:, 0] ** 2 + centre[:, 1] ** 2 + centre[:, 2] ** 2),
            scale * 8 * centre[:, 0],
            scale * 2 * centre[:, 1],
            scale * 2 * centre[:, 2],
            -scale,
            np.zeros(count),
            np.zeros(count),
        ]
    )


def _shells(band: Band, factor: float, count: int, policy: ModelPolicy) -> Array:
    import numpy as np

    z, even = _normal_points(5, count), _even_points(5, count)
    spread = factor * policy.band_sd * np.where(even[:, 4] < 0.5, 1.0, policy.wider)
    low, high = band.low + z[:, 0] * spread, band.high + z[:, 1] * spread
    middle, half = (low + high) / 2, np.maximum(np.abs(high - low) / 2, 0.1)
    slope = 1 / (4 * policy.edge)
    scale, none = slope / half**2, np.zeros(count)
    return np.stack([0.5 + slope - scale * middle**2, none, none, none, none, -scale, scale * 2 * middle])


@lru_cache(maxsize=32)
def _even_points(dimensions: int, count: int) -> Array:
    """(count, dimensions) points that fill the unit cube evenly."""
    import numpy as np

    ratio = 2.0
    for _ in range(60):
        ratio = (1 + ratio) ** (1 / (dimensions + 1))
    steps = np.asarray([ratio ** -(axis + 1) for axis in range(dimensions)])
    return (0.5 + np.outer(np.arange(1, count + 1), steps)) % 1


@lru_cache(maxsize=32)
def _normal_points(dimensions: int, count: int) -> Array:
    import numpy as np

    inverse = NormalDist().inv_cdf
    return np.asarray([[inverse(float(u)) for u in row] for row in _even_points(dimensions, count)])


def _inside(points: Array, shapes: Array) -> Array:
    import numpy as np

    d, p, h = np.asarray(points, dtype=float).reshape(-1, 3).T
    total = d * d + p * p + h * h
    terms = (d, p, h, 3 * d * d + total, total, np.sqrt(total))
    member = np.empty((len(d), shapes.shape[1]))
    member[:] = shapes[0]
    for term, shape in zip(terms, shapes[1:], strict=True):
        if shape.any():
            member += term[:, None] * shape
    np.clip(member, 0.0, 1.0, out=member)
    member *= 1 << _INSIDE_BITS
    np.rint(member, out=member)
    member /= 1 << _INSIDE_BITS
    return member


def _spans(part: Array) -> list[slice]:
    """Which slice of the particles belongs to each published row."""
    import numpy as np

    edges = [0, *(np.flatnonzero(np.diff(part)) + 1).tolist(), len(part)]
    return [slice(left, right) for left, right in pairwise(edges)]


def _acts(prior: Array, harmful: Array, harmless: Array, member: Array, spans: Sequence[slice]) -> Array:
    """Low, middle and high (3, n) for what lies inside (k, n): most over harmful sets of least over harmless ones."""
    import numpy as np

    found = np.zeros((3, member.shape[1]))
    many, size = harmless.shape
    block = max(1, BLOCK // (many * max(size, member.shape[1])))
    for start in range(0, len(harmful), block):
        sets = prior * harmful[start : start + block, None, :] * harmless
        for kept, share in zip(found, _shares_acting(sets.reshape(-1, size), member, spans), strict=True):
            np.maximum(kept, share.reshape(-1, many, member.shape[1]).min(axis=1).max(axis=0), out=kept)
    return np.minimum(found, 1.0)


def _shares_acting(weights: Array, member: Array, spans: Sequence[slice]) -> tuple[Array, Array, Array]:
    """What each set's weights (b, k) say about points that lie inside (k, n): low, middle, high, each (b, n)."""
    import numpy as np

    mass = np.stack([weights[:, span].sum(axis=1) for span in spans], axis=1)
    own = [_exact(weights[:, span] / mass[:, [number]]) @ member[span] for number, span in enumerate(spans)]
    if len(own) == 1:
        return own[0], own[0], own[0]
    speaks = mass >= PLAUSIBLE * mass.max(axis=1, keepdims=True)
    trust = np.where(speaks, mass, 0)
    trust = trust / trust.sum(axis=1, keepdims=True)
    middle, low, high = np.zeros_like(own[0]), np.full_like(own[0], np.inf), np.zeros_like(own[0])
    for number, share in enumerate(own):
        middle += trust[:, [number]] * share
        np.maximum(high, share * speaks[:, [number]], out=high)
        np.minimum(low, share if speaks[:, number].all() else np.where(speaks[:, [number]], share, np.inf), out=low)
    return low, np.clip(middle, low, high), high


def _exact(weights: Array) -> Array:
    import numpy as np

    found: Array = np.rint(weights * (1 << _WEIGHT_BITS)) / (1 << _WEIGHT_BITS)
    return found


def _products(likelihoods: Array, largest: int) -> Array:
    """(sets, k): the product over every set of up to `largest` of them (n, k), the empty set first."""
    import numpy as np

    number, size = likelihoods.shape
    found: list[Any] = [np.ones((1, size))]
    for count in range(1, min(largest, number) + 1):
        chosen = np.asarray(list(combinations(range(number), count)))
        product = likelihoods[chosen[:, 0]]
        for column in chosen.T[1:]:
            product = product * likelihoods[column]
        found.append(product)
    return np.concatenate(found)
