"""The whole collection's threats ranked, against reading what an object's coats are ranked by.

    python tests/bench/speed/ranking.py [--database FILE] [--objects N] [--runs N]

Both in turn in one process on the same open database, CPU seconds, medians: the SELECT of the columns of all layers that
screening needs, which is the bar of the design (2.2 times), and beside it the SELECT of the derived rows that ranking
reads. Without --database a made collection is taken in first.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from speed.made_package import LAYERS_PER_OBJECT, write_package
from speed.screening import BAR, COLUMNS

from collection.compute.risk.ranking import plan, rank
from collection.ingest.load import ingest
from collection.records.policy import default_policy
from collection.store.base import database
from collection.store.risks import STORED, at_risk

LISTED, HOURS = 20, 40


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--database", type=Path)
    parser.add_argument("--objects", type=int, default=20_000)
    parser.add_argument("--runs", type=int, default=5)
    words = parser.parse_args()
    policy = default_policy()
    with tempfile.TemporaryDirectory() as work:
        path = words.database
        if path is None:
            path = Path(work) / "made.db"
            database.create(path)
            write_package(Path(work) / "package", LAYERS_PER_OBJECT * words.objects)
            ingest(path, Path(work) / "package")
        connection = database.connect(path, write=False)
        took: dict[str, list[float]] = {"layers": [], "derived": [], "read": [], "rank": [], "plan": []}
        for run in range(words.runs + 1):
            marks = [time.process_time()]
            layers = sum(1 for _ in connection.execute(COLUMNS))
            marks.append(time.process_time())
            rows = sum(1 for _ in connection.execute(STORED))
            marks.append(time.process_time())
            found = at_risk(connection, policy, "2026-01-01")
            marks.append(time.process_time())
            rank(found, policy.risk, most=LISTED)
            marks.append(time.process_time())
            plan(found, policy.risk, HOURS)
            marks.append(time.process_time())
            if run:
                for name, start, end in zip(took, marks, marks[1:], strict=False):
                    took[name].append(end - start)
        database.close(connection)
    middle = {name: statistics.median(each) for name, each in took.items()}
    ranked = middle["read"] + middle["rank"]
    print(f"{len(found):,} objects, {layers:,} layers, {rows:,} derived threats")
    for name, seconds in middle.items():
        print(f"{name:<8} {seconds:8.3f} s")
    print(
        f"ranked: {ranked:.3f} s, {ranked / middle['layers']:.2f} times the layers (bar {BAR}), "
        f"{ranked / middle['derived']:.1f} times the derived rows; with the plan {ranked + middle['plan']:.3f} s"
    )
    return 0 if ranked < BAR * middle["layers"] else 1


if __name__ == "__main__":
    raise SystemExit(main())
