"""How fast the published site answers over HTTP, side by side with plain Datasette: python tests/bench/speed/site_speed.py

One generated collection (tests/bench/speed/searched_package.py) is published and served by `firstcoat serve`. Beside it a
plain Datasette serves the same file without our pages, and a file with nothing but an FTS5 table of the layers' texts.
Each pair of addresses is asked in turn over a kept connection; the figures are milliseconds from request to last byte.
The exit code is 1 when a bar of the design is not met: an object page under 20 kB and under 1.3 times Datasette's own
row page at the median; a search under a fifth of the bare query at the 95th percentile and under 1.5 times at the
median.
"""

from __future__ import annotations

import argparse
import contextlib
import http.client
import json
import random
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

BENCH = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(BENCH))
PAGE_BAR, PAGE_KB, P95_BAR, P50_BAR = 1.3, 20.0, 0.2, 1.5
BARE = "select rowid from layers_fts where layers_fts match :q order by bm25(layers_fts) limit 20"


@contextlib.contextmanager
def served(*words: str) -> Iterator[http.client.HTTPConnection]:
    """A server as a process of its own, and a connection to it."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    process = subprocess.Popen(
        [sys.executable, "-m", *words, "--port", str(port)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        for _ in range(200):
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
                break
            time.sleep(0.1)
        yield http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    finally:
        process.terminate()
        process.wait()


def asked(connection: http.client.HTTPConnection, path: str) -> tuple[float, int]:
    """Milliseconds of one answer, and its bytes."""
    began = time.perf_counter()
    connection.request("GET", path)
    answer = connection.getresponse()
    content = answer.read()
    took = (time.perf_counter() - began) * 1000
    if answer.status != 200:
        raise RuntimeError(f"{path}: {answer.status} {content[:200]!r}")
    return took, len(content)


def in_turn(
    ours: http.client.HTTPConnection, theirs: http.client.HTTPConnection, pairs: list[tuple[str, str]], runs: int
) -> tuple[list[float], list[float], list[int]]:
    """Each pair of addresses in turn: the medians of each, and the sizes of ours."""
    mine, other, sizes = [], [], []
    for own, beside in pairs:
        took = [(asked(ours, own), asked(theirs, beside)) for _ in range(runs)]
        mine.append(statistics.median(ms for (ms, _), _ in took))
        other.append(statistics.median(ms for _, (ms, _) in took))
        sizes.append(took[0][0][1])
    return mine, other, sizes


def asked_of_the_site(database: Path) -> Iterator[tuple[list[str], dict[str, str], str]]:
    """The questions of `search.py` as far as the site can be asked them: words, what narrows them, the bare query."""
    from speed.search import bare_match, questions

    names = {"state": "state", "period": "scheme", "colour": "colour"}
    for _, words, filters in questions(database):
        if set(filters) <= set(names):
            yield words, {names[name]: value[0] for name, value in filters.items()}, bare_match(words, filters)


def told(name: str, mine: list[float], other: list[float], share: float, bar: float) -> bool:
    from speed.search import percentile

    own, beside = percentile(mine, share), percentile(other, share)
    met = own < bar * beside
    print(
        f"{name:38} {own:8.1f} ms  beside it {beside:8.1f} ms  {own / beside:5.2f}x (bar {bar}x) "
        f"{'met' if met else 'NOT MET'}"
    )
    return met


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--layers", type=int, default=100_000)
    options.add_argument("--runs", type=int, default=5)
    options.add_argument("--work", type=Path, help="folder that is kept; default: a temporary one")
    given = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="firstcoat-bench-") as own:
        return measured(given.work or Path(own), given.layers, given.runs)


def measured(work: Path, layers: int, runs: int) -> int:
    from datasette.utils import tilde_encode
    from speed.search import made, yardstick

    from collection.output.site.publish import publish

    database = made(work, layers)
    out = work / f"site-{layers}"
    if not out.exists():
        publish(database, out)
    yardstick(database).close()
    bare, plain = database.with_suffix(".bare"), work / "plain.json"
    plain.write_text(json.dumps({"databases": {"collection": {}}}), "utf-8")
    with contextlib.closing(sqlite3.connect(out / "collection.db")) as db:
        objects = db.execute("SELECT id, object FROM objects ORDER BY id").fetchall()
    random.Random(3).shuffle(objects)
    pages = [(f"/object/{tilde_encode(code)}", f"/collection/objects/{number}") for number, code in objects[:60]]
    found = [
        (
            f"/?{urlencode({'q': ' '.join(words).replace('*', ''), **narrowed})}",
            f"/bare.json?{urlencode({'sql': BARE, 'q': match, '_shape': 'arrays'})}",
        )
        for words, narrowed, match in asked_of_the_site(database)
    ]
    bare_file = bare.with_name("bare.db")
    bare_file.unlink(missing_ok=True)
    bare_file.symlink_to(bare)
    with (
        served("collection", "serve", str(out)) as ours,
        served(
            "datasette",
            "-i",
            str(out / "collection.db"),
            "-i",
            str(bare_file),
            "-m",
            str(plain),
            "--setting",
            "sql_time_limit_ms",
            "20000",
        ) as theirs,
    ):
        for path in (pages[0][0], found[0][0]):
            asked(ours, path)
        for path in (pages[0][1], found[0][1]):
            asked(theirs, path)
        page, row, sizes = in_turn(ours, theirs, pages, runs)
        search, match, _ = in_turn(ours, theirs, found, runs)
    met = [
        told("object page beside a row page, p50", page, row, 0.5, PAGE_BAR),
        told("search page beside a bare query, p95", search, match, 0.95, P95_BAR),
        told("search page beside a bare query, p50", search, match, 0.5, P50_BAR),
    ]
    largest = max(sizes) / 1000
    print(
        f"{'the largest of the object pages':38} {largest:8.1f} kB (bar {PAGE_KB:g} kB) "
        f"{'met' if largest < PAGE_KB else 'NOT MET'}"
    )
    return int(not (all(met) and largest < PAGE_KB))


if __name__ == "__main__":
    raise SystemExit(main())
