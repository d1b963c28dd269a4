"""Every question the pages put to the published file. Each function is one page's, in one thread."""

from __future__ import annotations

import heapq
import json
import re
import sqlite3
import unicodedata
from dataclasses import dataclass
from typing import Any

Json = dict[str, Any]

PER_PAGE = 20
LARGEST_PAGE = 500
MOST_WORDS = 12
MOST_STAKES = 30
SHORTEST_PREFIX = 3
_WORD = re.compile(r'[^\s"\x00-\x1f]+')


@dataclass(frozen=True)
class Found:
    """One page of results: how many there are in all, and the documents of those shown; `exact` counts the
    first of them whose code was asked for."""

    total: int
    documents: list[Json]
    exact: int


def asked_words(asked: str) -> list[str]:
    """The words of a question, as they are looked for: in NFC, the first twelve."""
    return [word for word in _WORD.findall(unicodedata.normalize("NFC", asked))
            if any(sign.isalnum() for sign in word)][:MOST_WORDS]


def about(connection: sqlite3.Connection) -> Json:
    """What the file says of itself, and the surveys it was made from."""
    return {"about": told(connection), "surveys": _rows(connection, "select * from surveys order by started, key")}


def told(connection: sqlite3.Connection) -> dict[str, str]:
    """What the file says of itself."""
    return dict(connection.execute("select name, value from about").fetchall())


def start(connection: sqlite3.Connection, page: int) -> Json:
    """Counts over the collection, and one page of its objects with what survives on each."""
    counts = {table: connection.execute(f"select count(*) from {table}").fetchone()[0]
              for table in ("objects", "places", "samples", "layers", "tests", "treatments", "proposals")}
    counts["unexamined"] = connection.execute(
        "select count(*) from places where state = 'not examined'").fetchone()[0]
    objects = _rows(connection, "select * from what_survives limit ? offset ?", PER_PAGE, (page - 1) * PER_PAGE)
    stakes = _rows(connection,
                   "select l.object, l.proposal, p.title, sum(l.severity = 'destroys') as destroys, "
                   "sum(l.severity = 'endangers') as endangers, (select d.decision from decisions as d "
                   "where d.proposal_id = p.id order by d.number desc limit 1) as decision "
                   "from losses as l join proposals as p on p.id = l.proposal_id "
                   "where not exists (select 1 from treatments as t where t.proposal_id = p.id) "
                   "group by l.proposal_id having destroys + endangers > 0 and decision is not 'refuse' "
                   "order by destroys = 0, destroys desc, endangers desc, l.object, l.proposal limit ?", MOST_STAKES)
    return {**about(connection), "counts": counts, "objects": objects, "stakes": stakes, "total": counts["objects"]}


def document(connection: sqlite3.Connection, code: str) -> Json | None:
    """An object's document."""
    row = connection.execute("select document from documents where object = ?", (code,)).fetchone()
    return None if row is None else json.loads(row[0])


def columns(connection: sqlite3.Connection) -> dict[str, list[str]]:
    """The published columns of each table, in order."""
    found: dict[str, list[str]] = {}
    for table, column in connection.execute(
            "select table_name, column_name from dictionary where column_name <> '' order by id"):
        found.setdefault(table, []).append(column)
    return found


def is_picture(connection: sqlite3.Connection, file: str) -> bool:
    """Whether a published picture or drawing has this file name."""
    return connection.execute("select 1 from pictures where file = ? union all select 1 from drawings where file = ?",
                              (file, file)).fetchone() is not None


def search(connection: sqlite3.Connection, asked: str, page: int) -> Found:
    """Objects that hold every word asked for; those whose own code, or a record's key, was asked for first."""
    exact = _exact(connection, asked)
    ranked = _ranked(connection, asked_words(asked), set(exact))
    end = page * PER_PAGE
    best = [number for _, number in heapq.nsmallest(max(0, end - len(exact)), ranked)]
    shown = [*exact, *best][end - PER_PAGE:end]
    return Found(len(exact) + len(ranked),
                 [json.loads(connection.execute("select document from documents where object_id = ?",
                                                (number,)).fetchone()[0]) for number in shown],
                 max(0, len(exact) - (end - PER_PAGE)))


def _exact(connection: sqlite3.Connection, asked: str) -> list[int]:
    code = unicodedata.normalize("NFC", asked.strip())
    if not code:
        return []
    found = [row[0] for row in connection.execute("select id from objects where object = ?", (code,))]
    for table in ("components", "zones", "samples", "layers", "schemes", "decorations", "tests", "reserves",
                  "treatments", "proposals", "claims", "advice", "pictures"):
        found += [row[0] for row in connection.execute(
            f"select object_id from {table} where key = ?", (code,))]
    above = f"{code}\U0010ffff"
    found += [row[0] for row in connection.execute(
        "select id from objects where object > ? and object < ? order by object limit 100", (code, above))]
    return list(dict.fromkeys(found))


def _ranked(connection: sqlite3.Connection, words: list[str], known: set[int]) -> list[tuple[float, int]]:
    if not words:
        return []
    # Quoted, a word is a phrase and never an operator.
    asked = " AND ".join(f'"{word}"' + ("*" if len(word) >= SHORTEST_PREFIX else "") for word in words)
    return [(rank, number) for number, rank in connection.execute(
        "select rowid, rank from search_fts where search_fts match ?", (asked,)) if number not in known]


def _rows(connection: sqlite3.Connection, sql: str, *values: Any) -> list[Json]:
    cursor = connection.execute(sql, values)
    names = [column[0] for column in cursor.description]
    return [dict(zip(names, row, strict=True)) for row in cursor]
