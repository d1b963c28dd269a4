"""Computing everything derived again, against the floor of storing the same collection.

    python tests/bench/speed/refresh.py [--layers N] [--runs N] [--profile]

Floor and refresh in turn in one process, CPU seconds, medians. Without correlation, which is computed when it is asked
for. The bar is 1.6 times.
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from speed import floor
from speed.made_package import write_package

from collection.ingest.load import ingest
from collection.store import derive
from collection.store.base import database

BAR = 1.6


def refreshed(path: Path) -> int:
    db = database.connect(path, write=True)
    try:
        with database.writing(db):
            return derive.refresh(db)
    finally:
        database.close(db)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--layers", type=int, default=100_000)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--profile", action="store_true", help="where the time of one refresh goes")
    words = parser.parse_args()
    with tempfile.TemporaryDirectory() as work:
        package, path = Path(work) / "package", Path(work) / "made.db"
        write_package(package, words.layers)
        database.create(path)
        ingest(path, package, derived=False)
        refreshed(path)
        took: dict[str, list[float]] = {"floor": [], "refresh": []}
        for run in range(words.runs):
            start = time.process_time()
            floor.load(package, Path(work) / f"floor{run}.db")
            took["floor"].append(time.process_time() - start)
            start = time.process_time()
            objects = refreshed(path)
            took["refresh"].append(time.process_time() - start)
        if words.profile:
            profile = cProfile.Profile()
            profile.runcall(refreshed, path)
            pstats.Stats(profile).sort_stats("cumulative").print_stats(45)
    least, ours = statistics.median(took["floor"]), statistics.median(took["refresh"])
    print(
        f"{objects:,} objects, {words.layers:,} layers: floor {least:.2f} s, refresh {ours:.2f} s of CPU, medians of "
        f"{words.runs}: {ours / least:.2f}×, bar {BAR:g}×"
    )
    return 0 if ours <= BAR * least else 1


if __name__ == "__main__":
    raise SystemExit(main())
