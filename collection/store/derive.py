"""What is computed from the records and kept beside them: facts, survival, words for search.

All of it can be made again from the records, to equal rows; `check` does so and compares.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from typing import Any

from collection.compute import ENGINE
from collection.compute.survival import object_survival
from collection.facts import FACT_SHEETS, Facts
from collection.numbers import six
from collection.policy import Interval
from collection.store import read

Rows = dict[str, list[tuple[Any, ...]]]
TABLES = {
    "facts": "object, document, sha256, engine, stale",
    "survival_objects": "object, area_m2, surviving_low_m2, surviving_middle_m2, surviving_high_m2, places, "
                        "unmeasured_places, unexamined_places, present, read, traces, as_of, engine",
    "survival_places": "object, place, component, state, area_m2, share_low, share_middle, share_high, present, read, "
                       "traces, as_of, engine",
    "survival_schemes": "object, place, scheme, state, share_low, share_middle, share_high, present, read, traces, "
                        "as_of, engine",
}


def derive(db: sqlite3.Connection, objects: Iterable[str]) -> None:
    """Compute some objects again, inside the caller's transaction; an object out of account leaves no rows."""
    for code in objects:
        _store(db, code, recompute(db, code))


def mark_stale(db: sqlite3.Connection, objects: Iterable[str]) -> None:
    """Say that what is derived of some objects is not up to date; readers fall back on the records."""
    db.executemany("UPDATE facts SET stale = 1 WHERE object = ?", ((code,) for code in objects))


def refresh(db: sqlite3.Connection) -> int:
    """Compute every object again and give their number."""
    codes = read.object_codes(db)
    gone = [c for (c,) in db.execute("SELECT object FROM facts") if c not in set(codes)]
    derive(db, [*codes, *gone])
    return len(codes)


def recompute(db: sqlite3.Connection, code: str) -> Rows:
    """The derived rows of one object as its records give them now; empty where it is out of account."""
    if db.execute("SELECT 1 FROM live_objects WHERE object = ?", (code,)).fetchone() is None:
        return {name: [] for name in (*TABLES, "documents")}
    facts = read.facts_rows(db, code)
    found = object_survival(facts)
    return {
        "facts": [(code, facts.canonical, facts.sha256, ENGINE, 0)],
        "survival_objects": [(code, _six(found.area_m2), *_ends(found.surviving_m2), len(found.places),
                              found.unmeasured_places, found.unexamined_places, found.places_seen, found.places_read,
                              found.traces, found.as_of, ENGINE)],
        "survival_places": [(code, p.place, p.component, p.state, _six(p.area_m2), *_ends(p.share), p.present, p.read,
                             p.traces, p.as_of, ENGINE) for p in sorted(found.places, key=lambda p: p.place)],
        "survival_schemes": [(code, p.place, s.scheme, p.state, *_ends(p.share), p.present, p.read, p.traces, p.as_of,
                              ENGINE) for s in found.schemes for p in s.places],
        "documents": [(code, facts.object.title, _words(facts), _facets(facts, {p.state for p in found.places}))],
    }


def stored(db: sqlite3.Connection, code: str) -> Rows:
    """The derived rows of one object as they are stored."""
    rows = {name: db.execute(f"SELECT {columns} FROM {name} WHERE object = ? ORDER BY rowid", (code,)).fetchall()
            for name, columns in TABLES.items()}
    rows["documents"] = db.execute("SELECT object, title, words, facets FROM documents WHERE object = ?",
                                   (code,)).fetchall()
    return rows


def out_of_date(db: sqlite3.Connection) -> list[str]:
    """Objects whose derived rows are not what their records give, as sentences; stale ones are known to be."""
    found = []
    codes = set(read.object_codes(db)) | {c for (c,) in db.execute("SELECT object FROM facts WHERE stale = 0")}
    stale = {c for (c,) in db.execute("SELECT object FROM facts WHERE stale = 1")}
    for code in sorted(codes - stale):
        now, kept = recompute(db, code), stored(db, code)
        wrong = [name for name in now if sorted(map(repr, now[name])) != sorted(map(repr, kept[name]))]
        if wrong:
            found.append(f"What is derived of {code} is not what its records give ({', '.join(wrong)}): "
                         "run `firstcoat refresh`.")
    return found


def _store(db: sqlite3.Connection, code: str, rows: Rows) -> None:
    for name, columns in TABLES.items():
        db.execute(f"DELETE FROM {name} WHERE object = ?", (code,))
        marks = ",".join("?" * len(columns.split(",")))
        db.executemany(f"INSERT INTO {name} ({columns}) VALUES ({marks})", rows[name])
    old = db.execute("SELECT id, title, words, facets FROM documents WHERE object = ?", (code,)).fetchone()
    if old is not None:
        db.execute("INSERT INTO documents_fts (documents_fts, rowid, title, words, facets) VALUES ('delete', ?, ?, ?, ?)",
                   old)
        db.execute("DELETE FROM documents WHERE id = ?", (old[0],))
    for row in rows["documents"]:
        new = db.execute("INSERT INTO documents (object, title, words, facets) VALUES (?, ?, ?, ?)", row).lastrowid
        db.execute("INSERT INTO documents_fts (rowid, title, words, facets) VALUES (?, ?, ?, ?)", (new, *row[1:]))


def _words(facts: Facts) -> str:
    """Every distinct text of an object's records, once: what a search for words looks through."""
    texts: dict[str, None] = {}
    for sheet in ("object", *FACT_SHEETS):
        found = getattr(facts, sheet)
        for row in (found,) if sheet == "object" else found:
            for column in row.columns():
                value = getattr(row, column.name)
                if isinstance(value, str) and value and not column.private and column.kind not in ("person", "points") \
                        and column.name not in ("notes", "audience"):
                    texts[value] = None
    return " . ".join(texts)


def _facets(facts: Facts, states: set[str]) -> str:
    """Words that filters ask for, such as `periodoriginal`: one token each, whatever the tokenizer."""
    words = {f"period{s.period}" for s in facts.schemes} | {f"role{la.role}" for la in facts.layers}
    words |= {f"kind{facts.object.kind}"} | {f"state{state}" for state in states}
    return " ".join(sorted("".join(word.split()) for word in words))


def _ends(span: Interval | None) -> tuple[float | None, float | None, float | None]:
    return (None, None, None) if span is None else (six(span[0]), six(span[1]), six(span[2]))


def _six(value: float | None) -> float | None:
    return None if value is None else six(value)
