"""Computes what is kept beside the records: facts, survival, and the words for search.

All of it can be made again from the records, with equal rows; `check` does so and compares.
"""

from __future__ import annotations

import gc
import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import islice
from typing import Any

from collection.compute import ENGINE
from collection.compute.case import Case
from collection.compute.risk.standing import standing_threats
from collection.compute.risk.threat import Threat
from collection.compute.survival.survival import decoration_survival, object_survival, scheme_places
from collection.records.facts import Facts
from collection.records.policy import Interval
from collection.store.base import names, read
from collection.store.base.listed_cells import words_of_cells
from collection.store.base.papers import papers
from collection.store.base.search_document import facets_of, words_of
from collection.values.numbers import six

Rows = dict[str, list[tuple[Any, ...]]]
HowFar = Callable[[int, int], None]
"""Called with how many are done, of how many."""
_SHARE, _COUNTS = "share_low, share_middle, share_high", "present, read, traces, as_of, engine"
TABLES = {
    "facts": "object, document, sha256, engine, stale",
    "survival_objects": "object, area_m2, surviving_low_m2, surviving_middle_m2, surviving_high_m2, places, "
    f"unmeasured_places, unexamined_places, {_COUNTS}",
    "survival_places": f"object, place, component, state, area_m2, {_SHARE}, {_COUNTS}",
    "survival_schemes": f"object, place, scheme, state, {_SHARE}, {_COUNTS}",
    "survival_decorations": f"object, decoration, place, state, area_m2, {_SHARE}, {_COUNTS}",
    "risks": "object, number, threat, place, message, remedy, evidence, soon, reaches_low, reaches_middle, reaches_high, "
    "event, act, amount, pace_years, after, until, action, area_m2, engine",
    "documents": "object, title, words, facets, listed",
}
"""The tables that are derived for each object, with the columns that are compared."""
AT_ONCE = 100
"""How many objects' derived rows are held in memory before they are written."""
REBUILD_ABOVE = 0.25
"""The share of the collection from which making the full-text index again costs less than changing it."""


def derive(db: sqlite3.Connection, objects: Iterable[str], progress: HowFar | None = None) -> None:
    """Compute some objects again, inside the caller's transaction; an object out of account has no derived rows."""
    asked = set(objects)
    # A number that is read as another now leaves nothing derived under itself.
    codes = sorted(asked | names.shown_objects(db, asked))
    stored = db.execute("SELECT count(*) FROM documents").fetchone()[0]
    rebuild = len(codes) > REBUILD_ABOVE * max(stored, AT_ONCE)
    if not rebuild:
        _index(
            db,
            codes,
            "INSERT INTO documents_fts (documents_fts, rowid, title, words, facets, listed) SELECT 'delete', ",
        )
    for name in TABLES:
        db.executemany(f"DELETE FROM {name} WHERE object = ?", ((code,) for code in codes))
    _store(db, codes, progress)
    if rebuild:
        _index_anew(db)
    else:
        _index(db, codes, "INSERT INTO documents_fts (rowid, title, words, facets, listed) SELECT ")


def mark_stale(db: sqlite3.Connection, objects: Iterable[str]) -> None:
    """Mark what is derived of some objects as out of date; readers then use the records instead."""
    db.executemany(
        "UPDATE facts SET stale = 1 WHERE object = ? AND stale = 0",
        ((code,) for code in names.shown_objects(db, objects)),
    )


def refresh(db: sqlite3.Connection, *, only_behind: bool = False, progress: HowFar | None = None) -> int:
    """Compute every object again, or only those behind their records, inside the caller's transaction.

    :param progress: told how many objects of how many are written.
    :returns: the number of objects in account that were computed.
    """
    if only_behind:
        codes = behind(db)
        derive(db, _objects_derived(db).difference(read.object_codes(db)).union(codes), progress)
        return len(codes)
    for name in TABLES:
        db.execute(f"DELETE FROM {name}")
    codes = read.object_codes(db)
    _store(db, codes, progress)
    _index_anew(db)
    return len(codes)


def behind(db: sqlite3.Connection) -> list[str]:
    """Objects whose derived rows are missing, stale, or of another version of the computations."""
    current = {code for (code,) in db.execute("SELECT object FROM facts WHERE stale = 0 AND engine = ?", (ENGINE,))}
    marked = {code for (code,) in db.execute("SELECT object FROM facts WHERE stale = 1")}
    return sorted(marked | {code for code in read.object_codes(db) if code not in current})


def recompute(db: sqlite3.Connection, code: str) -> Rows:
    """The derived rows of one object as its records give them now; none where it is out of account."""
    return next((_rows(db, facts) for facts in read.facts_in_bulk(db, [code])), _no_rows())


def stored(db: sqlite3.Connection, code: str) -> Rows:
    """The derived rows of one object as they are stored."""
    return {
        name: db.execute(f"SELECT {columns} FROM {name} WHERE object = ? ORDER BY rowid", (code,)).fetchall()
        for name, columns in TABLES.items()
    }


def out_of_date(db: sqlite3.Connection) -> Iterator[str]:
    """Objects whose derived rows are not what their records give, in sentences; those known to be behind are skipped."""
    known = set(behind(db))
    codes = _objects_derived(db)
    left = sorted(codes - known)
    for facts in read.facts_in_bulk(db, left):
        code = facts.object.object
        codes.discard(code)
        kept, now = stored(db, code), _rows(db, facts)
        wrong = [name for name in TABLES if sorted(map(repr, now[name])) != sorted(map(repr, kept[name]))]
        if wrong:
            yield (
                f"What is derived of {code} is not what its records give ({', '.join(wrong)}): run `firstcoat refresh`."
            )
    for code in sorted(codes - known):
        yield f"{code} is out of account, but something derived of it is left: run `firstcoat refresh`."


def _objects_derived(db: sqlite3.Connection) -> set[str]:
    """The objects of which anything derived is stored, in account or not."""
    return {code for name in TABLES for (code,) in db.execute(f"SELECT DISTINCT object FROM {name}")}


def _no_rows() -> Rows:
    return {name: [] for name in TABLES}


def _rows(db: sqlite3.Connection, facts: Facts) -> Rows:
    case = Case(facts)
    code, found, decorated = facts.object.object, object_survival(case), decoration_survival(case)
    facets = facets_of(facts, {p.place: p.state for p in found.places}, {d.decoration: d.state for d in decorated})
    return {
        "facts": [(code, facts.canonical, facts.sha256, ENGINE, 0)],
        "survival_objects": [
            (
                code,
                _six(found.area_m2),
                *_ends(found.surviving_m2),
                found.summed_places,
                found.unmeasured_places,
                found.unexamined_places,
                found.places_seen,
                found.places_read,
                found.traces,
                found.as_of,
                ENGINE,
            )
        ],
        "survival_places": [
            (
                code,
                p.place,
                p.component,
                p.state,
                _six(p.area_m2),
                *_ends(p.share),
                p.present,
                p.read,
                p.traces,
                p.as_of,
                ENGINE,
            )
            for p in found.places
        ],
        "survival_schemes": [
            (code, p.place, scheme, p.state, *_ends(p.share), p.present, p.read, p.traces, p.as_of, ENGINE)
            for scheme, p in scheme_places(case)
        ],
        "survival_decorations": [
            (
                code,
                d.decoration,
                d.place,
                d.state,
                _six(d.area_m2),
                *_ends(d.share),
                d.present,
                d.read,
                d.traces,
                d.as_of,
                ENGINE,
            )
            for d in decorated
        ],
        "risks": [_risk(code, number, each) for number, each in enumerate(standing_threats(case, papers(db, code)), 1)],
        "documents": [(code, f"{code} {facts.object.title}", words_of(facts), facets, words_of_cells(db, code))],
    }


def _risk(code: str, number: int, threat: Threat) -> tuple[Any, ...]:
    return (
        code,
        number,
        threat.kind,
        threat.place,
        threat.message,
        threat.remedy,
        json.dumps(threat.evidence, ensure_ascii=False),
        threat.soon,
        *_ends(threat.share),
        threat.event,
        threat.act,
        threat.amount,
        _six(threat.pace_years),
        threat.after,
        threat.until,
        threat.action,
        _six(threat.area_m2),
        ENGINE,
    )


def _store(db: sqlite3.Connection, codes: Sequence[str], progress: HowFar | None) -> None:
    """Compute objects of which nothing is derived yet, and write the rows."""
    found, written = read.facts_in_bulk(db, codes), 0
    with _without_collection():
        while batch := [_rows(db, facts) for facts in islice(found, AT_ONCE)]:
            for name, columns in TABLES.items():
                marks = ", ".join("?" * len(columns.split(",")))
                db.executemany(
                    f"INSERT INTO {name} ({columns}) VALUES ({marks})", (row for rows in batch for row in rows[name])
                )
            written += len(batch)
            if progress is not None and written < len(codes):
                progress(written, len(codes))
    if progress is not None and codes:
        progress(len(codes), len(codes))


@contextmanager
def _without_collection() -> Iterator[None]:
    """Turn garbage collection off for a block. Facts hold no reference cycles, as a test checks, and going through
    their millions of cells for them takes a tenth of a refresh."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _index(db: sqlite3.Connection, codes: Sequence[str], change: str) -> None:
    db.executemany(
        f"{change} id, title, words, facets, listed FROM documents WHERE object = ?", ((code,) for code in codes)
    )


def _index_anew(db: sqlite3.Connection) -> None:
    db.execute("INSERT INTO documents_fts (documents_fts) VALUES ('rebuild')")


def _ends(span: Interval | None) -> tuple[float | None, float | None, float | None]:
    return (None, None, None) if span is None else (six(span[0]), six(span[1]), six(span[2]))


def _six(value: float | None) -> float | None:
    return None if value is None else six(value)
