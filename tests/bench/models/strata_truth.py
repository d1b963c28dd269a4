"""How well sections are correlated, on synthetic objects whose campaigns are known (`made_strata`).

    python tests/bench/models/strata_truth.py [OBJECTS]

Two measures over samples of one object: the share of coats placed in their true campaign, campaigns matched one to one
so that most agree; and F1 of the pairs of coats of different samples said to belong to one campaign. Beside ours:
counting coats from the support, and laying every sample against the longest one only, both parted into campaigns in
the same way. The two mistakes are counted apart: a coat of the first campaign taken for later, and the reverse. The
last table holds how sure the program was against how often it was right, of the coats that nobody had assigned.
"""

from __future__ import annotations

import random
import statistics
import sys
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import numpy as np
from models.made_strata import SETTINGS, Made, Setting, made
from scipy.optimize import linear_sum_assignment

from collection.compute.case import Case
from collection.compute.stratigraphy import alignment
from collection.compute.stratigraphy.campaigns import campaigns
from collection.compute.stratigraphy.sequence import Laid, lay
from collection.compute.stratigraphy.strata import strata

Coats = dict[tuple[str, int], int]
BANDS = ((0.0, 0.5), (0.5, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 0.95), (0.95, 0.98), (0.98, 1.01))


def ours(case: Made) -> Coats:
    return {(p.sample, p.position): p.campaign for p in strata(Case(case.facts)).placings}


def from_the_support(case: Made) -> Coats:
    laid = lay(Case(case.facts), by_scheme=True)
    longest = max(map(len, laid.stacks))
    return _parted(laid, [[stack[at] for stack in laid.stacks if at < len(stack)] for at in range(longest)])


def against_the_longest(case: Made) -> Coats:
    laid = lay(Case(case.facts), by_scheme=True)
    reaches = {s.sample: s.reaches_support == "yes" for s in case.facts.samples}
    first = max(range(len(laid.stacks)), key=lambda at: len(laid.stacks[at]))
    spine = [[coat] for coat in laid.stacks[first]]
    columns, between = [list(column) for column in spine], defaultdict(list)
    for at, stack in enumerate(laid.stacks):
        if at == first:
            continue
        place = -1
        for column in alignment._laid(spine, stack, laid.scores, reaches[laid.names[at]]):
            own = [coat for coat in column if coat in stack]
            if len(own) == len(column):
                between[place].append(own)
            else:
                place += 1
                columns[place] += own
    order = [*between[-1]]
    for at, column in enumerate(columns):
        order += [column, *between[at]]
    return _parted(laid, order)


def _parted(laid: Laid, columns: list[list[int]]) -> Coats:
    numbers, _ = campaigns(columns, laid.stacks, laid.coats, laid.scores)
    return {
        (laid.coats[coat].sample, laid.coats[coat].position): number
        for number, column in zip(numbers, columns, strict=True)
        for coat in column
    }


def placed(truth: Coats, said: Coats) -> tuple[dict[tuple[str, int], bool], dict[int, int]]:
    """Which coats stand in their true campaign, and the true campaign matched to each said one."""
    keys = [key for key in truth if truth[key]]
    true, found = sorted({truth[k] for k in keys}), sorted({said[k] for k in keys} - {0})
    together = np.zeros((len(true), len(found)))
    for key in keys:
        if said[key]:
            together[true.index(truth[key]), found.index(said[key])] += 1
    match = {found[j]: true[i] for i, j in zip(*linear_sum_assignment(-together), strict=True)}
    return {key: match.get(said[key]) == truth[key] for key in keys}, match


def pairs(truth: Coats, said: Coats) -> tuple[int, int, int]:
    right = wrong = missed = 0
    keys = [key for key in truth if truth[key]]
    for at, one in enumerate(keys):
        for other in keys[at + 1 :]:
            if one[0] != other[0]:
                is_one, said_one = truth[one] == truth[other], said[one] == said[other] != 0
                right, wrong, missed = (
                    right + (is_one and said_one),
                    wrong + (said_one and not is_one),
                    missed + (is_one and not said_one),
                )
    return right, wrong, missed


def measure(
    setting: Setting, method: Callable[[Made], Coats], objects: int, seed: int
) -> tuple[float, float, float, float]:
    """Placed, F1, first campaign taken for later, later taken for first; the last two as shares of those coats."""
    rng = random.Random(seed)
    good: list[bool] = []
    first_lost: list[bool] = []
    later_first: list[bool] = []
    counts = np.zeros(3)
    for _ in range(objects):
        case = made(rng, setting)
        said = method(case)
        right, match = placed(case.truth, said)
        good += right.values()
        counts += pairs(case.truth, said)
        for key in right:
            taken = match.get(said[key], 99)
            (first_lost if case.truth[key] == 1 else later_first).append(
                taken > 1 if case.truth[key] == 1 else taken == 1
            )
    f1 = 2 * counts[0] / (2 * counts[0] + counts[1] + counts[2])
    return statistics.fmean(good), float(f1), statistics.fmean(first_lost), statistics.fmean(later_first)


def calibration(objects: int, seed: int) -> list[tuple[str, int, float]]:
    found: dict[tuple[float, float], list[bool]] = defaultdict(list)
    for setting in SETTINGS:
        rng = random.Random(seed)
        for _ in range(objects):
            case = made(rng, setting)
            right, _ = placed(case.truth, ours(case))
            for p in strata(Case(case.facts)).placings:
                if not p.given and p.campaign and (p.sample, p.position) in right:
                    band = next(b for b in BANDS if b[0] <= p.chance < b[1])
                    found[band].append(right[p.sample, p.position])
    return [
        (f"{low:.2f}–{min(high, 1):.2f}", len(found[low, high]), statistics.fmean(found[low, high]))
        for low, high in BANDS
        if found[low, high]
    ]


def main(objects: int, seed: int = 2024) -> None:
    methods = (
        ("counted from the support", from_the_support),
        ("against the longest", against_the_longest),
        ("ours", ours),
    )
    print(f"{objects} objects of each kind: placed / pairs F1 / first taken for later / later taken for first\n")
    print("| setting | " + " | ".join(name for name, _ in methods) + " |")
    print("|---|" + "---|" * len(methods))
    for setting in SETTINGS:
        cells = [
            " / ".join(f"{value:.3f}" for value in measure(setting, method, objects, seed)) for _, method in methods
        ]
        print(f"| {setting} | " + " | ".join(cells) + " |", flush=True)
    print("\n| said to be sure | coats | right |\n|---|---|---|")
    for band, count, share in calibration(objects, seed + 1):
        print(f"| {band} | {count} | {share:.3f} |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 150)
