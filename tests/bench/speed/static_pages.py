"""The pages of an archive: python tests/bench/speed/static_pages.py [--objects N] [--work FOLDER]

A generated collection (six places, ten samples and fifty coats an object) is published and its pages are written by a process
of its own: milliseconds, files and bytes an object, its largest page, and the most memory, beside that for a tenth of the
objects. The bars: memory within 1.2 times, and no page over 500 kB. `--site FOLDER` measures a published folder instead.
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

MEMORY_BAR, LARGEST = 1.2, 500_000
WRITE = """
import json, resource, sys, time
from pathlib import Path
from collection.output.archive.static_pages import write_pages
objects = 0
def progress(done, whole):
    global objects
    objects = done
began = time.process_time()
report = write_pages(Path(sys.argv[1]), Path(sys.argv[2]), name="made", day="2025-03-14", progress=progress)
print(json.dumps({
    "objects": objects,
    "pages": report.pages,
    "files": report.files,
    "bytes": report.bytes,
    "longest": report.longest,
    "cpu": time.process_time() - began,
    "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    "largest": max((path.stat().st_size, path.name) for path in Path(sys.argv[2]).rglob("*.html")),
}))
"""


def written(site: Path) -> dict[str, Any]:
    """What writing the pages of a published folder took; the pages are thrown away."""
    with tempfile.TemporaryDirectory(prefix="firstcoat-bench-") as own:
        done = subprocess.run(
            [sys.executable, "-c", WRITE, site, Path(own) / "pages"], capture_output=True, text=True, check=True
        )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def told(name: str, found: dict[str, Any]) -> None:
    each = found["objects"]
    print(
        f"{name:16} {each:6,} objects  {1000 * found['cpu'] / each:6.0f} ms of CPU an object  "
        f"{found['pages'] / each:5.1f} pages, {found['files'] / each:5.1f} files, {found['bytes'] / each / 1000:6.0f} kB "
        f"an object  {found['memory']:5.0f} MB  largest page {found['largest'][0] / 1000:.0f} kB "
        f"({found['largest'][1]})  longest path {found['longest']}"
    )


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--objects", type=int, default=600)
    options.add_argument("--work", type=Path, help="folder that is kept; default: a temporary one")
    options.add_argument("--site", type=Path, help="a published folder to measure instead")
    given = options.parse_args()
    if given.site:
        told("as published", written(given.site))
        return 0
    with tempfile.TemporaryDirectory(prefix="firstcoat-bench-") as own:
        return measured(given.work or Path(own), given.objects)


def measured(work: Path, objects: int) -> int:
    from speed.publishing import database, published

    found = []
    for number in (objects // 10, objects):
        db = database(work, number)
        published(work, db)
        found.append(written(db.with_suffix(".site")))
        told("pages written", found[-1])
    memory = found[1]["memory"] / found[0]["memory"]
    met = memory < MEMORY_BAR and found[1]["largest"][0] < LARGEST
    print(f"memory {memory:.2f}x (bar {MEMORY_BAR}x): {'met' if met else 'NOT MET'}")
    return int(not met)


if __name__ == "__main__":
    raise SystemExit(main())
