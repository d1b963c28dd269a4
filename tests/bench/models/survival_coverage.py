"""How often the intervals of the total hold the truth, on synthetic parts whose truth is known.

    python tests/bench/models/survival_coverage.py [PARTS] [SEED]

Each part has 6 to 12 zones of 0.2 to 2 m² and 4 to 20 readings at random places. `even`: every zone has the
same share; a number: shares are drawn with that concentration, the smaller the patchier; `two kinds`:
zones take one of two shares; `all or nothing`: a zone is whole or bare, which the model does not know of.
Printed are the share of parts whose true total lies in its 95 % interval, or within 1 % of the area of it, the mean
width of the interval as a share of the area, and the same for two rivals on the same parts: all readings of the part
pooled by Jeffreys, and independent Jeffreys priors per zone. A part that is whole or bare all over, as one in six is of
`all or nothing`, has its truth just beyond the end of any interval that leaves anything open.

A second table holds whole surveys against their truth, through records and all: zones whose finish is `fragmentary` at
every spot (the spot's own cover drawn with concentration 1 or 4 about its zone's share), written down as `words`,
`measured` (coverage_pct, each misread by 10 % of the spot), half of each (`mixed`), or left `blank`; measured ones also
after `windows` (in one to four zones 1 to 30 % was taken, its area measured, in half of them only where the finish
stood; half of the readings before, half after), after work whose area nobody wrote down (`unmeasured`), and after
stripping that left 0 to 10 % (`stripped`: one to four zones, read before it).
"""

from __future__ import annotations

import sys

import numpy as np
from statsmodels.stats.proportion import proportion_confint

from collection.compute.case import Case
from collection.compute.survival.model import posterior as model
from collection.compute.survival.survival import object_survival
from collection.records.facts import Facts, facts_of
from collection.records.sheets import Component, Layer, Object, Record, Sample, Scheme, Treatment, TreatmentStep, Zone

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


def intervals(
    counts: list[tuple[int, int]], areas: np.ndarray, rng: np.random.Generator
) -> dict[str, tuple[float, float]]:
    """Each method's interval of the surviving area."""
    read = sorted(((k * model.STEPS, a * model.STEPS), i) for i, (k, a) in enumerate(counts) if (k, a) != (0, 0))
    believed = model.posterior(model.pattern_of(c for c, _ in read))
    total = believed.draws() * sum(areas[i] for i, c in enumerate(counts) if c == (0, 0))
    for dimension, (c, i) in enumerate(read, model.FIRST):
        total = total + areas[i] * believed.draws(c, dimension)
    present, n = sum(k for k, _ in counts), sum(k + a for k, a in counts)
    alone = sum(area * rng.beta(k + 0.5, a + 0.5, 4096) for area, (k, a) in zip(areas, counts, strict=True))
    # Up to the end where nothing or everything was found, as Brown, Cai and DasGupta 2001 have it.
    low, high = proportion_confint(present, n, method="jeffreys") if n else (0.0, 1.0)
    low, high = 0.0 if present == 0 else low, 1.0 if present == n else high
    return {
        "hierarchical": model.interval_of(total),
        "pooled": (low * areas.sum(), high * areas.sum()),
        "independent zones": tuple(np.quantile(alone, (0.025, 0.975))),
    }


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


RECORDED = ("words", "measured", "mixed", "blank", "windows", "unmeasured", "stripped")
ORIGINAL = Scheme(object="X", scheme="1", name="first", period="original", rank=1, basis="seen")


def spot(cover: float, how: str, rng: np.random.Generator) -> dict[str, object]:
    """What a surveyor writes down of one spot of which the finish covers this share."""
    if how == "mixed":
        how = ("words", "measured")[rng.integers(2)]
    if cover < 0.005:
        return {"coverage": "absent"}
    if how == "blank":
        return {}
    if how == "measured":
        return {"coverage_pct": float(np.clip(round(100 * cover + rng.normal(0, 10)), 1, 100))}
    return {"coverage": "intact" if cover >= 0.98 else "trace" if cover <= 0.1 else "partial"}


def surveyed(kind: str, rng: np.random.Generator) -> tuple[Facts, float, float]:
    """The records of one part, the m² that truly survive on it, and its area."""
    zones, readings = int(rng.integers(6, 13)), int(rng.integers(4, 21))
    spread, patch = rng.choice((2.0, 8.0)), rng.choice((1.0, 4.0))
    mean = rng.uniform(0.05, 0.95)
    shares = np.clip(rng.beta(mean * spread, (1 - mean) * spread, zones), 1e-6, 1 - 1e-6)
    areas = rng.uniform(0.2, 2, zones)
    now = shares.copy()
    rows: list[Record] = [Component(object="X", component="body", name="body", area_m2=float(areas.sum())), ORIGINAL]
    rows += [Zone(object="X", zone=f"Z{z:02}", component="body", area_m2=float(area)) for z, area in enumerate(areas)]
    worked = rng.choice(zones, int(rng.integers(1, 5)), replace=False) if kind in RECORDED[4:] else ()
    for number, z in enumerate(worked):
        step: dict[str, object] = {"action": "strip" if kind == "stripped" else "solvent"}
        if kind == "stripped":
            now[z] *= rng.uniform(0, 0.1)
        else:
            off = rng.uniform(0.01, 0.3)
            if kind == "windows":
                off = min(off, 0.9 * shares[z])
                step["removed_m2"] = float(off * areas[z])
            now[z] = shares[z] - off if kind == "windows" and rng.random() < 0.5 else shares[z] * (1 - off)
        rows += [
            Treatment(object="X", treatment=f"T{number}", purpose="work", started="2000", outcome="done"),
            TreatmentStep(object="X", treatment=f"T{number}", step=1, place=f"Z{z:02}", removed="1", **step),
        ]
    for number, z in enumerate(rng.integers(0, zones, readings)):
        before = kind not in ("windows", "unmeasured") or rng.random() < 0.5
        share = float(np.clip((shares if before else now)[z], 1e-6, 1 - 1e-6))
        cover = float(rng.beta(share * patch, (1 - share) * patch))
        rows += [
            Sample(
                object="X",
                sample=f"S{number:02}",
                place=f"Z{z:02}",
                method="cross-section",
                reaches_support="yes",
                taken_on="1990" if before else "2010",
            ),
            Layer(object="X", sample=f"S{number:02}", position=1, role="support"),
            Layer(
                object="X",
                sample=f"S{number:02}",
                position=2,
                role="body colour",
                scheme="1",
                **spot(cover, kind if kind in RECORDED[:4] else "measured", rng),
            ),
        ]
    return facts_of(Object(object="X", title="made", kind="made"), rows), float(areas @ now), float(areas.sum())


def held_by_survey(parts: int, kind: str, seed: int) -> tuple[float, float, float, float]:
    """How often the printed interval of the total held the truth, or near, its mean width, and how far its middle lies
    from the truth on average (the middle less the truth), both as shares of the area."""
    rng = np.random.default_rng([seed, len(KINDS) + RECORDED.index(kind)])
    hits = near = 0
    width = bias = 0.0
    for _ in range(parts):
        facts, truly, area = surveyed(kind, rng)
        found = object_survival(Case(facts)).surviving_m2
        assert found is not None
        low, middle, high = found
        beyond = max(low - truly, truly - high)
        hits, near = hits + int(beyond <= 1e-9), near + int(beyond <= NEAR * area)
        width, bias = width + (high - low) / area, bias + (middle - truly) / area
    return hits / parts, near / parts, width / parts, bias / parts


def main() -> None:
    parts = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 2026
    print(f"{parts} parts of each kind, seed {seed}: share of true totals held, or near, mean width / area")
    print(f"{'survival':16}" + "".join(f"{method:>24}" for method in METHODS))
    for kind in KINDS:
        found = compare(parts, kind, seed)
        print(f"{kind:16}" + "".join("{:>10.3f} {:>6.3f} {:>6.3f}".format(*found[m]) for m in METHODS), flush=True)
    surveys = max(1, parts // 4)
    print(f"\n{surveys} surveys of each kind: share of true totals held, or near, mean width, middle less truth / area")
    for kind in RECORDED:
        print(
            f"{kind:16}" + "{:>10.3f} {:>6.3f} {:>6.3f} {:>+7.3f}".format(*held_by_survey(surveys, kind, seed)),
            flush=True,
        )


if __name__ == "__main__":
    main()
