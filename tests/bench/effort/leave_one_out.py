"""How well hours are foreseen: each logged step of the sample from all the others, and made steps where the policy is wrong.

    python tests/bench/effort/leave_one_out.py

Of the sample the figure is told, not judged: its few steps are invented. What cannot be foreseen, because no other step
of its action is logged, is counted apart.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[3]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "builders")]

from logged_worlds import Truth, held, truth_of  # noqa: E402

from collection.compute.effort.logs import Log  # noqa: E402
from collection.compute.effort.rates import Rates, Wanted  # noqa: E402
from collection.ingest.load import ingest  # noqa: E402
from collection.records.policy import default_policy  # noqa: E402
from collection.store.base import database  # noqa: E402
from collection.store.logged_work import logged_work  # noqa: E402

POLICY = default_policy().effort


def sample() -> tuple[Log, ...]:
    with tempfile.TemporaryDirectory() as folder:
        db = Path(folder) / "c.db"
        database.create(db)
        packages = ROOT / "sample_db" / "harbour"
        ingest(db, packages / "2014")
        ingest(db, packages / "2024", amend="second survey", by="N. N.")
        with database.opened(db, write=False) as connection:
            return logged_work(connection).logs


def left_out(logs: tuple[Log, ...]) -> None:
    inside, factors, alone = 0, [], 0
    for log in logs:
        others = [other for other in logs if other is not log]
        if not any(other.kind.action == log.kind.action for other in others):
            alone += 1
            continue
        low, middle, high = Rates(others, POLICY).predict([Wanted(log.kind, log.part, log.worker)]).interval()
        rate = log.hours / log.area_m2
        inside += low <= rate <= high
        factors.append(max(rate / middle, middle / rate))
    print(f"{len(logs)} logged steps count; {alone} are the only one of their action")
    print(f"of the other {len(factors)}, {inside} lie in the 90 % interval made without them")
    print(
        f"they differ from its middle by a factor of {np.median(factors):.1f} in half of them, {max(factors):.0f} at most"
    )


def made() -> None:
    worlds = {
        "as the policy expects": None,
        "about half the spreads": Truth(1.0, 0.3, 0.3, 0.2, 0.3),
        "up to 1.7 times the spreads": Truth(2.5, 0.8, 1.2, 0.6, 0.8),
    }
    for name, truth in worlds.items():
        for count in (8, 30, 120, 300):
            found = [
                each
                for seed in range(40)
                for each in held(truth or truth_of(POLICY, np.random.default_rng(seed + 1000)), POLICY, count, seed, 10)
            ]
            print(f"{name}, {count} logs: {np.mean(found):.1%} of {len(found)} held")


if __name__ == "__main__":
    left_out(sample())
    made()
