"""How fast a survey of many layers goes in, beside the floor; a command: python tests/bench/speed/ingest.py --layers 300000

Every figure is measured in a process of its own, the ways in turn, and given as the median. Seconds are of CPU
time, user and system, after the imports. The floor is tests/bench/speed/floor.py. The table ends with the bars of the
design; the exit code is 1 when one is not met.
"""

from __future__ import annotations

import argparse
import json
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

BENCH = Path(__file__).resolve().parents[1]
SMALL = 100_000
STORED_BAR, AGAIN_BAR, MEMORY_BAR = 1.15, 0.05, 1.1

MEASURED = """
import json, resource, sys
sys.path.insert(0, {here!r})
from pathlib import Path
{imports}
package, database = Path({package!r}), Path({database!r})
def used():
    seen = resource.getrusage(resource.RUSAGE_SELF)
    return seen.ru_utime + seen.ru_stime
{before}
began = used()
{measured}
print(json.dumps({{"cpu": used() - began, "rss": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024}}))
"""
WAYS = {
    "floor": ("from speed import floor", "", "floor.load(package, database)"),
    "ingest": (
        "from collection.ingest.load import ingest\nfrom collection.store.base.database import create",
        "create(database)",
        "report = ingest(database, package, derived=False)\nassert report.change == 1",
    ),
    "again": (
        "from collection.ingest.load import ingest",
        "",
        "report = ingest(database, package, derived=False)\nassert report.change is None and report.unchanged",
    ),
}


def measure(way: str, package: Path, database: Path) -> dict[str, float]:
    """CPU seconds and peak memory (MB) of one way, in a new process."""
    imports, before, measured = WAYS[way]
    script = MEASURED.format(
        here=str(BENCH), imports=imports, before=before, measured=measured, package=str(package), database=str(database)
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(done.stderr)
    found: dict[str, float] = json.loads(done.stdout)
    return found


def emptied(work: Path) -> Path:
    """A place for a new database."""
    place = work / "databases"
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    return place / "collection.db"


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--layers", type=int, default=300_000)
    options.add_argument("--runs", type=int, default=3)
    options.add_argument("--work", type=Path, help="folder for the packages and databases; default: a temporary one")
    given = options.parse_args()
    sys.path.insert(0, str(BENCH))
    from speed.made_package import write_package

    work = given.work or Path(tempfile.mkdtemp(prefix="firstcoat-bench-"))
    work.mkdir(parents=True, exist_ok=True)
    try:
        rows = write_package(work / "package", given.layers)
        write_package(work / "small", SMALL)
        found: dict[str, list[dict[str, float]]] = {name: [] for name in ("floor", "ingest", "again", "small")}
        for run in range(1, given.runs + 1):
            print(f"run {run} of {given.runs}", file=sys.stderr)
            found["floor"].append(measure("floor", work / "package", emptied(work)))
            database = emptied(work)
            found["ingest"].append(measure("ingest", work / "package", database))
            found["again"].append(measure("again", work / "package", database))
            found["small"].append(measure("ingest", work / "small", emptied(work)))
    finally:
        if given.work is None:
            shutil.rmtree(work)
    return show(found, given.layers, rows)


def show(found: dict[str, list[dict[str, float]]], layers: int, rows: int) -> int:
    def median(way: str, what: str) -> float:
        return statistics.median(each[what] for each in found[way])

    floor = median("floor", "cpu")
    bars = [
        (
            f"ingest of {layers:,} layers, checked and stored, against the floor",
            median("ingest", "cpu") / floor,
            STORED_BAR,
        ),
        ("the same package again, against the floor", median("again", "cpu") / floor, AGAIN_BAR),
        (f"peak memory, {SMALL:,} → {layers:,} layers", median("ingest", "rss") / median("small", "rss"), MEMORY_BAR),
    ]
    print(f"{rows:,} rows in six sheets, {layers:,} of them layers; medians of {len(found['floor'])} runs")
    print(f"{'':24}{'CPU s':>8}{'range':>16}{'peak MB':>9}{'µs a row':>10}")
    for way in ("floor", "ingest", "again", "small"):
        seconds = [each["cpu"] for each in found[way]]
        name = {"small": f"ingest of {SMALL:,}", "again": "the same again"}.get(way, way)
        each_row = f"{median(way, 'cpu') / rows * 1e6:10.2f}" if way != "small" else ""
        print(
            f"{name:24}{median(way, 'cpu'):8.2f}{f'{min(seconds):.2f}–{max(seconds):.2f}':>16}"
            f"{median(way, 'rss'):9.0f}{each_row}"
        )
    for name, value, bar in bars:
        print(f"{name:75}{value:7.3f}× (bar {bar}×) {'met' if value < bar else 'NOT MET'}")
    return int(any(value >= bar for _, value, bar in bars))


if __name__ == "__main__":
    raise SystemExit(main())
