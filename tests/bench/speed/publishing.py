"""Publishing a collection, and publishing it again after one change: python tests/bench/speed/publishing.py

    [--objects N] [--work FOLDER]

A generated collection (fifty coats an object) is published by a process of its own: CPU seconds an object over all its
processes, seconds on the clock, the most memory of one process, bytes an object; the same of a tenth of the objects; then
over the site after one correction. The bars: under 60 ms of CPU an object, memory within 1.2 times of that for a tenth.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

MS_BAR, MEMORY_BAR = 60.0, 1.2
PUBLISH = """
import json, resource, sys, time
from pathlib import Path
from collection.output.site.publish import publish
if __name__ == "__main__":
    began = time.perf_counter()
    report = publish(Path(sys.argv[1]), Path(sys.argv[2]), replace=True)
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    print(json.dumps({
        "objects": report.objects,
        "taken_over": report.taken_over,
        "bytes": report.bytes,
        "cpu": sum(one.ru_utime + one.ru_stime for one in used),
        "clock": time.perf_counter() - began,
        "memory": max(one.ru_maxrss for one in used) / 1024,
    }))
"""


def database(work: Path, objects: int) -> Path:
    """A database of so many generated objects."""
    from speed.made_package import LAYERS_PER_OBJECT, write_package

    from collection.ingest.load import ingest
    from collection.store.base import database

    path = work / f"made-{objects}.db"
    if not path.exists():
        write_package(work / f"package-{objects}", objects * LAYERS_PER_OBJECT)
        database.create(path)
        ingest(path, work / f"package-{objects}")
    return path


def published(work: Path, db: Path) -> dict[str, Any]:
    """What publishing over the site beside a database took."""
    script = work / "publish.py"
    script.write_text(PUBLISH)
    done = subprocess.run(
        [sys.executable, script, db, db.with_suffix(".site")], capture_output=True, text=True, check=True
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def told(name: str, found: dict[str, Any]) -> None:
    ms = 1000 * found["cpu"] / found["objects"]
    print(
        f"{name:28} {found['objects']:7,} objects ({found['taken_over']:,} taken over)  {ms:6.1f} ms of CPU an object  "
        f"{found['clock']:7.1f} s  {found['memory']:6.0f} MB  {found['bytes'] / found['objects'] / 1000:6.1f} kB an object"
    )


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--objects", type=int, default=20_000)
    options.add_argument("--work", type=Path, help="folder that is kept; default: a temporary one")
    given = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="firstcoat-bench-") as own:
        return measured(given.work or Path(own), given.objects)


def measured(work: Path, objects: int) -> int:
    from collection.store.changes import corrections

    few = published(work, database(work, objects // 10))
    told("published, a tenth", few)
    db = database(work, objects)
    whole = published(work, db)
    told("published", whole)
    corrections.correct(db, "objects", "1987.00001", {"title": "another title"}, "R. Registrar", "seen again")
    again = published(work, db)
    told("again, after one correction", again)
    ms, memory = 1000 * whole["cpu"] / whole["objects"], whole["memory"] / few["memory"]
    met = ms < MS_BAR and memory < MEMORY_BAR and again["taken_over"] == objects - 1
    print(
        f"{ms:.1f} ms an object (bar {MS_BAR:g}), memory {memory:.2f}x (bar {MEMORY_BAR}x): {'met' if met else 'NOT MET'}"
    )
    return int(not met)


if __name__ == "__main__":
    raise SystemExit(main())
