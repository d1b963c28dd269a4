"""Does the model of solubility warn? Synthetic coats with a hidden true region, a few recorded tests, unseen agents.

    python tests/bench/models/calibration.py [--coats N] [--seed N]

The truth lies about a published sphere of the coat's class, elsewhere and of another size than published, and is one
of three shapes: a sphere; a tilted ellipsoid, which no sphere is; two lobes, which nothing here is made for. Of 23
liquids and their binary mixtures some are tested, now and then misjudged, and others then asked for. Each way ranks
what it was asked; shown are the false alarms where 95 % of what truly acts is caught, for our model also what comes
out at the threshold that is shipped, the whole curve, and how often what it says comes true.

Ways: class alone (least RED of its published spheres); nearest test; kernel smoothing of the tests towards an even
chance, and towards a chance by the class, of seven widths and three weights of that chance the best, chosen by looking
at the truth, which the model may not; the plain posterior of the same particles; the middle and the upper rate of
`collection.compute.effects.solubility`.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np

from collection.compute.effects.solubility import Observed, region
from collection.records.policy import default_policy
from collection.values import reference

LIQUIDS = (
    "acetone",
    "butanone",
    "cyclohexanone",
    "diacetone alcohol",
    "ethyl acetate",
    "n-butyl acetate",
    "ethyl lactate",
    "methanol",
    "ethanol",
    "2-propanol",
    "1-butanol",
    "benzyl alcohol",
    "2-butoxyethanol",
    "1-methoxy-2-propanol",
    "tetrahydrofuran",
    "dichloromethane",
    "dimethylformamide",
    "dimethyl sulfoxide",
    "toluene",
    "xylene",
    "d-limonene",
    "cyclohexane",
    "n-heptane",
)
CLASSES = ("oil", "alkyd", "cellulose nitrate", "shellac", "natural resin", "acrylic", "polyvinyl acetate", "epoxy")
SHAPES = ("sphere", "ellipsoid", "two lobes")
ASKED, MISJUDGED, CAUGHT = 12, 0.03, 0.95
WIDTHS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 9.0)
EVEN = (0.03, 0.1, 0.3)
SCALE = np.array([2.0, 1.0, 1.0])
RIVALS = ("class alone", "nearest test", "kernel smoothing", "kernel smoothing about the class")


@dataclass(frozen=True)
class Asked:
    """One agent asked for on one coat: whether it truly acts, and how loud each way warns."""

    shape: str
    tests: int
    acts: bool
    by_class: float
    nearest: float
    kernel: tuple[float, ...]
    kernel_by_class: tuple[float, ...]
    model: tuple[float, float, float]
    plain: float


def points() -> np.ndarray:
    """The liquids and their binary mixtures at 3 : 1, 1 : 1 and 1 : 3, (n, 3) in MPa^½."""
    solvents = reference.packaged().solvents
    pure = [np.array(found.hansen) for name in LIQUIDS if (found := solvents.find(name)) is not None]
    mixed = [share * a + (1 - share) * b for a, b in combinations(pure, 2) for share in (0.25, 0.5, 0.75)]
    return np.array([*pure, *mixed])


def true_region(
    shape: str, centre: np.ndarray, radius: float, rng: np.random.Generator
) -> Callable[[np.ndarray], np.ndarray]:
    """A function that tells of points (n, 3) whether they lie in a hidden region."""
    if shape == "sphere":
        return lambda at: (((at - centre) * SCALE) ** 2).sum(axis=1) <= radius**2
    if shape == "ellipsoid":
        turned, _ = np.linalg.qr(rng.normal(size=(3, 3)))
        axes = radius * np.exp(rng.normal(0, 0.35, 3))
        return lambda at: ((((at - centre) * SCALE) @ turned / axes) ** 2).sum(axis=1) <= 1
    way = rng.normal(size=3)
    second = centre + way / np.linalg.norm(way) * radius / SCALE
    return lambda at: (
        ((((at - centre) * SCALE) ** 2).sum(axis=1) <= (0.8 * radius) ** 2)
        | ((((at - second) * SCALE) ** 2).sum(axis=1) <= (0.6 * radius) ** 2)
    )


def study(coats: int, seed: int) -> list[Asked]:
    """Every question of the study with its answers."""
    rng, everything, policy, tables = (np.random.default_rng(seed), points(), default_policy(), reference.packaged())
    found = []
    for number in range(coats):
        name, shape = CLASSES[number % len(CLASSES)], SHAPES[number % len(SHAPES)]
        spheres = tuple(s for s in tables.spheres[name] if s.fit == "same")
        true = spheres[rng.integers(len(spheres))]
        centre = np.array(true.centre) + rng.normal(0, 1.5, 3) * np.array([0.5, 1, 1])
        acts = true_region(shape, centre, true.radius * np.exp(rng.normal(0, 0.2)), rng)(everything)
        tests = int(rng.integers(2, 7))
        # Half of what is tested are pure liquids, as on a bench.
        chosen = np.unique(
            np.concatenate(
                [
                    rng.choice(len(LIQUIDS), tests // 2, replace=False),
                    rng.choice(len(everything), tests - tests // 2, replace=False),
                ]
            )
        )
        said = acts[chosen] ^ (rng.random(len(chosen)) < MISJUDGED)
        left = np.setdiff1d(np.arange(len(everything)), chosen)
        asked = rng.choice(left, ASKED, replace=False)
        posterior = region(
            tables.spheres[name],
            "analysed",
            [Observed(tuple(everything[at]), bool(did)) for at, did in zip(chosen, said, strict=True)],
            policy,
            bands=tables.bands.get(name, ()),
        )
        plain = posterior.inside(everything[asked]) @ posterior.weights
        for at, span, share in zip(asked, posterior.acts(everything[asked]), plain, strict=True):
            reds = [np.linalg.norm((everything[at] - np.array(s.centre)) * SCALE) / s.radius for s in spheres]
            away = np.linalg.norm((everything[chosen] - everything[at]) * SCALE, axis=1)
            near = int(away.argmin())
            known = 1 / (1 + np.exp((min(reds) - 1) / 0.25))
            kernels: list[tuple[float, ...]] = []
            for chance in (0.5, known):
                smoothed = []
                for width, even in product(WIDTHS, EVEN):
                    weight = np.exp(-0.5 * (away / width) ** 2)
                    smoothed.append(float(((weight * said).sum() + chance * even) / (weight.sum() + even)))
                kernels.append(tuple(smoothed))
            found.append(
                Asked(
                    shape,
                    len(chosen),
                    bool(acts[at]),
                    -float(min(reds)),
                    (1 if said[near] else -1) / (1 + float(away[near])),
                    kernels[0],
                    kernels[1],
                    (span[0], span[1], span[2]),
                    float(share),
                )
            )
    return found


def false_alarms(scores: np.ndarray, acts: np.ndarray, caught: float = CAUGHT) -> tuple[float, float]:
    """The share of harmless agents that are warned of where the threshold catches this share of the acting ones, and
    that threshold."""
    threshold = float(np.quantile(scores[acts], 1 - caught, method="lower"))
    return float((scores[~acts] >= threshold).mean()), threshold


def ways(found: list[Asked]) -> dict[str, np.ndarray]:
    """What each way says of every question."""
    acts = np.array([a.acts for a in found])
    best = {}
    for way, of in (("kernel smoothing", "kernel"), ("kernel smoothing about the class", "kernel_by_class")):
        scores = np.array([getattr(a, of) for a in found])
        alarms = [false_alarms(scores[:, at], acts)[0] for at in range(scores.shape[1])]
        best[way] = scores[:, alarms.index(min(alarms))]
    return {
        "class alone": np.array([a.by_class for a in found]),
        "nearest test": np.array([a.nearest for a in found]),
        **best,
        "plain posterior, which breaks the laws": np.array([a.plain for a in found]),
        "this model, middle": np.array([a.model[1] for a in found]),
        "this model": np.array([a.model[2] for a in found]),
    }


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--coats", type=int, default=1200)
    parser.add_argument("--seed", type=int, default=20, help="the shipped policy was chosen on seeds 5, 7 and 11")
    words = parser.parse_args()
    found = study(words.coats, words.seed)
    shipped = default_policy().model_rate
    print(f"{words.coats} coats, {len(found)} questions, {sum(a.acts for a in found)} of them truly act\n")
    print("| false alarms at 95 % caught | " + " | ".join((*SHAPES, "all")) + " |\n|---|" + "---|" * (len(SHAPES) + 1))
    groups = [*([a for a in found if a.shape == shape] for shape in SHAPES), found]
    tables = [(ways(group), np.array([a.acts for a in group])) for group in groups]
    for way in tables[0][0]:
        print(f"| {way} | " + " | ".join(f"{false_alarms(said[way], acts)[0]:.2f}" for said, acts in tables) + " |")
    for which, text in ((True, "caught"), (False, "false alarms")):
        print(
            f"| this model at the shipped {shipped:g}: {text} | "
            + " | ".join(f"{(said['this model'][acts == which] >= shipped).mean():.2f}" for said, acts in tables)
            + " |"
        )
    said, acts = tables[-1][0]["this model"], tables[-1][1]
    print("\n| threshold of the upper rate | caught | false alarms |\n|---|---|---|")
    for threshold in (0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.7, 0.9):
        print(f"| {threshold:g} | {(said[acts] >= threshold).mean():.2f} | {(said[~acts] >= threshold).mean():.2f} |")
    print("\n| the middle says | questions | truly act |\n|---|---|---|")
    for low, count, share in reliability(found):
        print(f"| {low:.1f}–{low + 0.1:.1f} | {count} | {share:.2f} |")
    beaten = all(
        false_alarms(said["this model"], acts)[0] <= min(false_alarms(said[way], acts)[0] for way in RIVALS)
        for said, acts in tables
    )
    return 0 if beaten and (said[acts] >= shipped).mean() >= CAUGHT else 1


def reliability(found: list[Asked]) -> list[tuple[float, int, float]]:
    """For each tenth of what the middle may say: its lower end, the questions it holds, the share that truly act."""
    tenth = np.minimum((np.array([a.model[1] for a in found]) * 10).astype(int), 9)
    acts = np.array([a.acts for a in found])
    return [
        (low / 10, int((tenth == low).sum()), float(acts[tenth == low].mean()))
        for low in range(10)
        if (tenth == low).any()
    ]


if __name__ == "__main__":
    raise SystemExit(main())
