"""How often the intervals of the total hold the truth, on synthetic parts whose truth is known.

    python tests/bench/survival_coverage.py [PARTS] [SEED]

Each part has 6 to 12 zones of 0.2 to 2 m² and 4 to 20 readings at random places. `even`: every zone has the
same share; a number: shares are drawn with that concentration, the smaller the patchier; `two kinds`:
zones take one of two shares; `all or nothing`: a zone is whole or bare, which the model does not know of.
Printed are the share of parts whose true total lies in its 95 % interval, or within 1 % of the area of it, the mean
width of the interval as a share of the area, and the same for two rivals on the same parts: all readings of the part
pooled by Jeffreys, and independent Jeffreys priors per zone. A part that is whole or bare all over, as one in six is of
`all or nothing`, has its truth just beyond the end of any interval that leaves anything open.
"""

from __future__ import annotations

import sys

import numpy as np

from collection.compute import posterior as model
from collection.compute.intervals import jeffreys

KINDS = ("even", "32", "8", "2", "0.5", "two kinds", "all or nothing")
METHODS = ("hierarchical", "pooled", "independent zones")
NEAR = 0.01
"""Share of the area that a truth may lie beyond an interval to count as near."""


def truth(kind: str, zones: int, rng: np.random.Generator) -> np.ndarray:
    """The surviving share of each zone."""
    mean = rng.uniform(0.02, 0.98)
    if kind == "even":
        return np.full(zones, mean)
    if kind == "all or nothing":
        return (rng.random(zones) < mean).astype(float)
    if kind == "two kinds":
        one, other = rng.uniform(0, 1, 2)
        return np.where(rng.random(zones) < 0.5, one, other)
    concentration = float(kind)
    return rng.beta(mean * concentration, (1 - mean) * concentration, zones)


def intervals(counts: list[tuple[int, int]], areas: np.ndarray,
              rng: np.random.Generator) -> dict[str, tuple[float, float]]:
    """Each method's interval of the surviving area."""
    read = sorted((c, i) for i, c in enumerate(counts) if c != (0, 0))
    believed = model.posterior(tuple(c for c, _ in read))
    total = believed.draws() * sum(areas[i] for i, c in enumerate(counts) if c == (0, 0))
    for dimension, (c, i) in enumerate(read, model.FIRST):
        total = total + areas[i] * believed.draws(c, dimension)
    present, n = sum(k for k, _ in counts), sum(k + a for k, a in counts)
    alone = sum(area * rng.beta(k + 0.5, a + 0.5, 4096) for area, (k, a) in zip(areas, counts, strict=True))
    low, high = jeffreys(present, n)
    return {"hierarchical": model.interval_of(total), "pooled": (low * areas.sum(), high * areas.sum()),
            "independent zones": tuple(np.quantile(alone, (0.025, 0.975)))}


def compare(parts: int, kind: str, seed: int) -> dict[str, tuple[float, float, float]]:
    """For each method, how often the truth was held, how often it was held or near, and the mean width as a share of
    the area."""
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    hits, near, widths = dict.fromkeys(METHODS, 0), dict.fromkeys(METHODS, 0), dict.fromkeys(METHODS, 0.0)
    for _ in range(parts):
        zones, readings = int(rng.integers(6, 13)), int(rng.integers(4, 21))
        shares, areas = truth(kind, zones, rng), rng.uniform(0.2, 2, zones)
        where = rng.integers(0, zones, readings)
        present = rng.random(readings) < shares[where]
        counts = [(int((present & (where == z)).sum()), int((~present & (where == z)).sum())) for z in range(zones)]
        for method, (low, high) in intervals(counts, areas, rng).items():
            beyond = max(low - float(areas @ shares), float(areas @ shares) - high)
            hits[method] += int(beyond <= 1e-9)
            near[method] += int(beyond <= NEAR * areas.sum())
            widths[method] += (high - low) / areas.sum()
    return {method: (hits[method] / parts, near[method] / parts, float(widths[method]) / parts) for method in METHODS}


def study(parts: int, kind: str, seed: int) -> tuple[float, float]:
    """The hierarchical model's coverage and mean width."""
    held, _, width = compare(parts, kind, seed)["hierarchical"]
    return held, width


def main() -> None:
    parts = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 2026
    print(f"{parts} parts of each kind, seed {seed}: share of true totals held, or near, mean width / area")
    print(f"{'survival':16}" + "".join(f"{method:>24}" for method in METHODS))
    for kind in KINDS:
        found = compare(parts, kind, seed)
        print(f"{kind:16}" + "".join("{:>10.3f} {:>6.3f} {:>6.3f}".format(*found[m]) for m in METHODS), flush=True)


if __name__ == "__main__":
    main()
