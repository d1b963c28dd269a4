"""Archiving a collection, looking the archive through, and restoring it: python tests/bench/speed/archiving.py

    [--objects N] [--work FOLDER] [--project M] [--papers]

A generated collection (fifty coats an object, without pictures: those come on top as they are, twice) is archived, checked
and restored, each by a process of its own: CPU seconds over all its processes, seconds on the clock, the most memory of one
process, files and bytes an object. With `--papers` each object's report and tag are in it. The same of a tenth of the
objects, to see what grows. What M objects would take is projected from the two, in a straight line, and said as such; not so
the memory, in which caches of a fixed size fill up.
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

RUN = """
import json, resource, sys, time
from pathlib import Path
from collection.output.archive.archive import archive
from collection.output.archive.checked import check_archive
from collection.output.archive.restore import restore
if __name__ == "__main__":
    what, one, two = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
    began, found = time.perf_counter(), {}
    if what == "archive":
        report = archive(one, two, papers=bool(sys.argv[4:]))
        found = {"files": report.files, "bytes": report.bytes, "pages": report.pages}
    elif what == "check":
        assert check_archive(two).damage == ()
    else:
        restore(two, one)
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    print(json.dumps(found | {
        "cpu": sum(each.ru_utime + each.ru_stime for each in used),
        "clock": time.perf_counter() - began,
        "memory": max(each.ru_maxrss for each in used) / 1024,
    }))
"""
STEPS = ("archive", "check", "restore")


def measured(work: Path, objects: int, papers: bool) -> dict[str, dict[str, Any]]:
    """What each step took for a collection of so many objects."""
    from speed.publishing import database

    script, db, out = work / "archiving.py", database(work, objects), work / f"archive-{objects}"
    script.write_text(RUN)
    found = {}
    for step in STEPS:
        one = work / f"restored-{objects}.db" if step == "restore" else db
        done = subprocess.run(
            [sys.executable, script, step, one, out, *(["papers"] if papers else [])],
            capture_output=True,
            text=True,
            check=True,
        )
        found[step] = json.loads(done.stdout)
        told = found[step]
        more = (
            f"  {told['files'] / objects:5.1f} files, {told['pages'] / objects:4.1f} pages, "
            f"{told['bytes'] / objects / 1000:6.1f} kB an object"
            if step == "archive"
            else ""
        )
        print(
            f"{step:8} {objects:6,} objects  {1000 * told['cpu'] / objects:7.1f} ms of CPU an object  "
            f"{told['clock']:7.1f} s  {told['memory']:6.0f} MB{more}",
            flush=True,
        )
    return found


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--objects", type=int, default=2_000)
    options.add_argument("--project", type=int, default=20_000, help="how many objects are projected to")
    options.add_argument("--papers", action="store_true", help="each object's report and tag too")
    options.add_argument("--work", type=Path, help="folder that is kept; default: a temporary one")
    given = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="firstcoat-bench-") as own:
        work = given.work or Path(own)
        work.mkdir(parents=True, exist_ok=True)
        few, many = given.objects // 10, given.objects
        one, other = measured(work, few, given.papers), measured(work, many, given.papers)
    for step in STEPS:
        parts = []
        for name, unit, by in (
            ("cpu", "min of CPU", 60),
            ("memory", "MB", 1),
            ("bytes", "GB", 1e9),
            ("files", "files", 1),
        ):
            if name in one[step]:
                slope = (other[step][name] - one[step][name]) / (many - few)
                parts.append(f"{(other[step][name] + slope * (given.project - many)) / by:,.1f} {unit}")
        print(f"{step:8} {given.project:6,} objects, projected: {', '.join(parts)}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
