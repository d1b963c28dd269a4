"""How fast a search is beside a bare full-text query: a command: python tests/bench/speed/search.py --layers 1000000

Over one generated collection (tests/bench/speed/searched_package.py), a fixed mix of 216 questions in nine classes. Ours
is `store.search.search`: the total, the best 20 objects, their places, why, and on whose evidence. Beside
it, question by question, the plainest query over an FTS5 table of the layers' texts: MATCH, ORDER BY bm25, LIMIT 20;
filters that the layers hold (role, period, colour) are words to it, others are left out. Each is the median of five
runs, in milliseconds of CPU time. The exit code is 1 when a bar of the design is not met.
"""

from __future__ import annotations

import argparse
import random
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

BENCH = Path(__file__).resolve().parents[1]
P95_BAR, P50_BAR = 0.2, 1.5
EACH, RUNS = 24, 5
COMMON, RARE_FROM = 36, 400
TEXTS = (
    "object",
    "sample",
    "role",
    "binder",
    "binder_basis",
    "colour",
    "munsell",
    "fluorescence",
    "boundary",
    "scheme",
    "period",
    "certainty",
    "coverage",
)

Question = tuple[str, list[str], dict[str, Any]]


def made(folder: Path, layers: int) -> Path:
    """The database, made if it is not there."""
    from speed.searched_package import write_searched

    from collection.ingest.load import ingest
    from collection.store.base.database import create

    database = folder / f"search-{layers}.db"
    if not database.exists():
        write_searched(folder / "package", layers)
        create(database)
        ingest(database, folder / "package")
    return database


def yardstick(database: Path) -> sqlite3.Connection:
    """A plain FTS5 table over the texts of the layers, in a file of its own."""
    bare = database.with_suffix(".bare")
    fresh = not bare.exists()
    db = sqlite3.connect(bare)
    if fresh:
        columns = ", ".join(TEXTS)
        db.execute("ATTACH ? AS stored", (str(database),))
        db.execute(f"CREATE TABLE layers AS SELECT {columns} FROM stored.layers ORDER BY object, sample, position")
        db.commit()
        db.execute("DETACH stored")
        db.execute(f"CREATE VIRTUAL TABLE layers_fts USING fts5({columns}, content='layers')")
        db.execute("INSERT INTO layers_fts (layers_fts) VALUES ('rebuild')")
        db.commit()
    db.execute("PRAGMA cache_size = -16384")
    return db


def questions(database: Path) -> Iterator[Question]:
    """The mix, drawn with a fixed seed from the words that the collection was made of."""
    from speed.made_package import ROLES
    from speed.searched_package import AGENTS, COLOURS, WORDS

    from collection.store.base.search_document import liquids

    chance = random.Random(5)
    common, rare = WORDS[:COMMON], WORDS[RARE_FROM:]
    with sqlite3.connect(database) as db:
        codes = [code for (code,) in db.execute("SELECT object FROM objects ORDER BY object")]
        notations = [
            m
            for (m,) in db.execute(
                "SELECT munsell FROM layers WHERE sample = 'S01' AND position = 1 ORDER BY object LIMIT 5000"
            )
        ]
    closed = {
        "role": ROLES,
        "period": ("original", "later"),
        "state": ("original covered", "original fragmentary", "original not found"),
        "colour": COLOURS,
        "agent": [name for agent in AGENTS for name in liquids(agent)],
    }

    def some(*names: str) -> dict[str, Any]:
        return {name: (chance.choice(closed[name]),) for name in names}

    for n in range(EACH):
        yield "rare word", [chance.choice(rare)], {}
        yield "common word", [chance.choice(common)], {}
        yield "two words", [chance.choice(common), chance.choice(common if n % 2 else rare)], {}
        yield "word and filter", [chance.choice(common if n % 2 else rare)], some(("role", "state", "colour")[n % 3])
        yield "accession number", [chance.choice(codes) + ("/S03", "")[n % 2]], {}
        yield "Munsell notation", [chance.choice(notations)], {}
        yield "beginning of a word", [chance.choice(WORDS)[: chance.choice((3, 4, 5))] + "*"], {}
        yield "one filter", [], some(("role", "period", "state", "agent")[n % 4])
        yield (
            "filters of one coat",
            [],
            some(*(("state", "period"), ("role", "period"), ("state", "role", "period"), ("role", "colour"))[n % 4]),
        )


def bare_match(words: list[str], filters: dict[str, Any]) -> str:
    """The same question as the bare query puts it."""
    known = [value for name in ("role", "period", "colour") for value in filters.get(name, ())]
    asked = [*words, *known] or ["fragmentary"]
    return " AND ".join(f'"{word.rstrip("*")}"' + ("*" if word.endswith("*") else "") for word in asked)


def timed(ask: Callable[[], object]) -> float:
    """Median milliseconds of CPU time."""
    found = []
    for _ in range(RUNS):
        began = time.process_time()
        ask()
        found.append((time.process_time() - began) * 1000)
    return statistics.median(found)


def percentile(values: list[float], share: float) -> float:
    return sorted(values)[min(len(values) - 1, int(share * len(values)))]


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--layers", type=int, default=1_000_000)
    options.add_argument("--work", type=Path, help="folder for the database; default: a temporary one")
    options.add_argument("--database", type=Path, help="a database of this collection that is there already")
    given = options.parse_args()
    sys.path.insert(0, str(BENCH))
    with tempfile.TemporaryDirectory(prefix="firstcoat-bench-") as own:
        database = given.database or made(given.work or Path(own), given.layers)
        return measured(database)


def measured(database: Path) -> int:
    from collection.store.base.database import opened
    from collection.store.search.filters import filters
    from collection.store.search.search import search

    bare = yardstick(database)
    seen: dict[str, list[tuple[float, float, int]]] = {}
    with opened(database, write=False) as db:
        for name, words, narrowed in questions(database):
            asked = filters(**narrowed)
            total = search(db, words, asked).total
            ours = timed(lambda words=words, asked=asked: search(db, words, asked))  # type: ignore[misc]
            match = bare_match(words, narrowed)
            theirs = timed(
                lambda match=match: bare.execute(  # type: ignore[misc]
                    "SELECT rowid FROM layers_fts WHERE layers_fts MATCH ? ORDER BY bm25(layers_fts) LIMIT 20", (match,)
                ).fetchall()
            )
            seen.setdefault(name, []).append((ours, theirs, total))
    return show(seen)


def show(seen: dict[str, list[tuple[float, float, int]]]) -> int:
    everything = [row for rows in seen.values() for row in rows]
    print(f"{'':22}{'asked':>6}{'objects':>9}{'ours p50':>10}{'p95':>8}{'bare p50':>10}{'p95':>8}   (ms of CPU)")
    for name, rows in {**seen, "all": everything}.items():
        ours, theirs = [row[0] for row in rows], [row[1] for row in rows]
        print(
            f"{name:22}{len(rows):>6}{statistics.median(row[2] for row in rows):>9.0f}"
            f"{percentile(ours, 0.5):>10.1f}{percentile(ours, 0.95):>8.1f}"
            f"{percentile(theirs, 0.5):>10.1f}{percentile(theirs, 0.95):>8.1f}"
        )
    ours, theirs = [row[0] for row in everything], [row[1] for row in everything]
    met = True
    for share, bar in ((0.95, P95_BAR), (0.5, P50_BAR)):
        ratio = percentile(ours, share) / percentile(theirs, share)
        met = met and ratio < bar
        print(f"p{share * 100:.0f} {ratio:.3f}x the bare query's (bar {bar}x) {'met' if ratio < bar else 'NOT MET'}")
    return int(not met)


if __name__ == "__main__":
    raise SystemExit(main())
