"""One more survey of one object: into a collection of many, against into an empty database.

    python tests/bench/speed/one_more.py [--database FILE] [--objects N] [--runs N]

Both ways in turn in one process, after the imports and one ingest of each kind that is not counted; CPU seconds of
reading, checking, storing and deriving, medians. With --database an existing file is copied and used, else a made
collection is taken in first. The bar is 1.2 times.
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from speed.made_package import LAYERS_PER_OBJECT, write_package

from collection.ingest.load import ingest
from collection.store.base import database

BAR = 1.2


def one_object(folder: Path, run: int, kind: str) -> Path:
    """A package of one object with some fifty layers, under a number and a survey of its own."""
    package = folder / f"{kind}-{run}"
    write_package(package, LAYERS_PER_OBJECT, survey=package.name, first=90_000 + run)
    return package


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--database", type=Path)
    parser.add_argument("--objects", type=int, default=20_000)
    parser.add_argument("--runs", type=int, default=7)
    words = parser.parse_args()
    with tempfile.TemporaryDirectory() as work:
        folder = Path(work)
        many = folder / "many.db"
        if words.database:
            shutil.copyfile(words.database, many)
        else:
            database.create(many)
            write_package(folder / "whole", LAYERS_PER_OBJECT * words.objects)
            ingest(many, folder / "whole")
        found: dict[str, list[float]] = {"empty": [], "many": []}
        for run in range(words.runs + 1):
            none = folder / f"none{run}.db"
            database.create(none)
            for way, path in (("empty", none), ("many", many)):
                package = one_object(folder, run, way)
                start = time.process_time()
                ingest(path, package)
                if run:
                    found[way].append(time.process_time() - start)
    empty, filled = statistics.median(found["empty"]), statistics.median(found["many"])
    print(
        f"into an empty database {empty * 1000:.0f} ms, into the collection {filled * 1000:.0f} ms, CPU, medians of "
        f"{words.runs}: {filled / empty:.2f}x (bar {BAR}x) {'met' if filled / empty < BAR else 'NOT MET'}"
    )
    return 0 if filled / empty < BAR else 1


if __name__ == "__main__":
    raise SystemExit(main())
