"""One action on every object of a collection, against reading the columns that it needs.

    python tests/bench/speed/screening.py [--database FILE] [--objects N] [--runs N]

Both in turn in one process on the same open database, CPU seconds, medians. Without --database a made collection is
taken in first. The bar is 2.2 times.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from speed.made_package import LAYERS_PER_OBJECT, write_package

from collection.ingest.load import ingest
from collection.records.sheets import ProposalStep
from collection.store.base import database
from collection.store.screen import screen

BAR = 2.2
COLUMNS = "SELECT object, sample, position, role, binder, scheme, coverage FROM layers"
STEP = ProposalStep(
    object="-",
    proposal="-",
    step=1,
    place="all",
    action="solvent",
    agent="acetone",
    dwell_s=10.0,
    application="rolled swab",
)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--database", type=Path)
    parser.add_argument("--objects", type=int, default=20_000)
    parser.add_argument("--runs", type=int, default=5)
    words = parser.parse_args()
    with tempfile.TemporaryDirectory() as work:
        path = words.database
        if path is None:
            path = Path(work) / "made.db"
            database.create(path)
            write_package(Path(work) / "package", LAYERS_PER_OBJECT * words.objects)
            ingest(path, Path(work) / "package")
        connection = database.connect(path, write=False)
        took: dict[str, list[float]] = {"read": [], "screen": []}
        for run in range(words.runs + 1):
            start = time.process_time()
            layers = sum(1 for _ in connection.execute(COLUMNS))
            middle = time.process_time()
            found = screen(connection, STEP, "2024-06-01")
            if run:
                took["read"].append(middle - start)
                took["screen"].append(time.process_time() - middle)
        database.close(connection)
    read, screened = (statistics.median(took[way]) for way in ("read", "screen"))
    print(
        f"{len(found):,} objects, {layers:,} layers: columns read in {read:.2f} s, screened in {screened:.2f} s of "
        f"CPU, medians of {words.runs}: {screened / read:.2f}×, bar {BAR:g}×; "
        f"{dict(Counter(e.severity for e in found))}"
    )
    return 0 if screened <= BAR * read else 1


if __name__ == "__main__":
    raise SystemExit(main())
