"""The CPU of every page and JSON of one large object: python tests/bench/speed/large_object_pages.py

120 samples and 2,000 layers (tests/builders/large_object.py), asked in process, the median of five after a first. The bar
is 30 ms each; the exit code is 1 where one takes more.
"""

from __future__ import annotations

import asyncio
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "builders"))

BAR, RUNS = 30.0, 5
PAGES = (
    "",
    "/stratigraphy",
    "/timeline",
    "/tests",
    "/records",
    "/place/P0",
    "/place/P0-Z1",
    "/sample/S1",
    "/proposal/Q0",
)
ONE_FORM = (".jsonld", "/samples.svg", "/matrix.svg")
QUESTION = "place=P0-Z1&action=solvent&agent=acetone"


def main() -> int:
    from large_object import CODE, large_package
    from site_packages import database_of

    from collection.output.site.publish import publish

    with tempfile.TemporaryDirectory(prefix="firstcoat-bench-") as work:
        db = database_of(Path(work) / "large.db", large_package(Path(work) / "package"))
        began = time.process_time()
        report = publish(db, Path(work) / "site")
        print(f"publish: {time.process_time() - began:.2f} s of CPU, {report.bytes / 1e6:.1f} MB")
        paths = [f"/object/{CODE}{page}{form}" for page in PAGES for form in ("", ".json")]
        paths += [f"/object/{CODE}{page}" for page in ONE_FORM]
        paths += [f"/before{form}?object={CODE}&{QUESTION}" for form in ("", ".json")]
        return asyncio.run(asked(Path(work) / "site", paths))


async def asked(site: Path, paths: list[str]) -> int:
    from collection.output.site.serve import make_datasette

    datasette = make_datasette(site, threads=0)
    slow = 0
    for path in paths:
        took = []
        for _ in range(RUNS + 1):
            began = time.process_time()
            answer = await datasette.client.get(path)
            took.append(1000 * (time.process_time() - began))
        ms = statistics.median(took[1:])
        over = ms > BAR or answer.status_code != 200
        slow += over
        print(
            f"{answer.status_code} {ms:7.1f} ms  first {took[0]:7.1f} ms  {len(answer.content) / 1000:8.1f} kB  {path}"
            f"{'  OVER' if over else ''}"
        )
    print(f"{slow} of {len(paths)} over {BAR:g} ms")
    return int(slow > 0)


if __name__ == "__main__":
    raise SystemExit(main())
