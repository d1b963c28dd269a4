"""Does the companion beside the swab part two coats, and what does it harm? Simulated hours with a hidden truth.

    python tests/bench/models/companion.py [--hours N] [--seeds 7 8 9] [--tests N] [--world solvents|timed|water]

Each hour has two coats with a hidden truth and jars of which some part them (`tests/builders/companion_hour.py`):
regions of solubility that are tilted ellipsoids about published spheres of their binders, and seven bottles; the same
where a longer swab reaches further; or water of seven pH. The companion proposes, the truth answers, until a test parts
the coats, the companion says to leave, or the tests are used up; beside it the same jars and mixtures at random.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "builders"))

from companion_hour import BOTTLES, WATERS, Hour, bottles, by_chance, by_companion, hours, water_hours

from collection.compute.windows.mixtures import Jar, mixed
from collection.records.policy import default_policy
from collection.values.agents import Agent
from collection.values.reference import packaged

WORLDS = ("solvents", "timed", "water")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--hours", type=int, default=24)
    parser.add_argument("--seeds", type=int, nargs="+", default=[7, 8, 9])
    parser.add_argument("--tests", type=int, default=6)
    parser.add_argument("--drawn", type=int, default=20, help="how often each hour is drawn at random")
    parser.add_argument("--world", choices=WORLDS, default="solvents")
    asked = parser.parse_args()
    policy, reference = default_policy(), packaged()

    def made(seed: int) -> list[Hour]:
        if asked.world == "water":
            return water_hours(asked.hours, seed, policy, reference)
        return hours(asked.hours, seed, policy, reference, timed=asked.world == "timed")

    every: Sequence[Jar | Agent] = bottles(reference, WATERS) if asked.world == "water" else mixed(BOTTLES, reference)
    chance = random.Random(1)
    parted, harm, used, luck, luck_harm, luck_used = 0, 0, 0, 0.0, 0.0, 0.0
    for seed in asked.seeds:
        found = made(seed)
        parted += sum(by_companion(hour, asked.tests) is not None for hour in found)
        harm += sum(len(hour.harmed) for hour in found)
        used += sum(len(hour.made) for hour in found)
        for _ in range(asked.drawn):
            drawn = made(seed)
            luck += sum(by_chance(hour, asked.tests, chance, every) is not None for hour in drawn) / asked.drawn
            luck_harm += sum(len(hour.harmed) for hour in drawn) / asked.drawn
            luck_used += sum(len(hour.made) for hour in drawn) / asked.drawn
    count = asked.hours * len(asked.seeds)
    print(f"{count} hours that something at hand parts ({asked.world}), up to {asked.tests} tests each")
    print(f"companion: parted {parted}, {used / count:.2f} tests and {harm / count:.2f} harmful ones an hour")
    print(
        f"at random: parted {luck:.1f}, {luck_used / count:.2f} tests and {luck_harm / count:.2f} harmful ones an hour"
    )


if __name__ == "__main__":
    main()
