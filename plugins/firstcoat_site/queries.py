"""Every query on the published file. Each function serves one page, in one thread."""

from __future__ import annotations

import json
import re
import sqlite3
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from collection.compute.threats import KINDS, gravity
from collection.language.phrases import one_word
from firstcoat_site import filters
from firstcoat_site.matches import Match, asked_tokens, matched

Json = dict[str, Any]

PER_PAGE = 20
LARGEST_PAGE = 500
MOST_WORDS = 12
MOST_OFFERED = 200
MOST_RANKED = 2000
SHORTEST_PREFIX = 3
_WORD = re.compile(r'[^\s"\x00-\x1f]+')


@dataclass(frozen=True)
class Found:
    """One page of results: how many there are in all, and those shown, each with its reason."""

    total: int
    matches: list[Match]


def page_number(text: str | None) -> int:
    """The number of a page that was asked for, 1 where it cannot be read."""
    number = int(text) if text and text.isascii() and text.isdigit() and len(text) < 6 else 1
    return min(max(number, 1), LARGEST_PAGE)


def asked_words(asked: str) -> list[str]:
    """The words of a search: in NFC, the first twelve; a Munsell notation is one word."""
    return [
        word
        for word in _WORD.findall(one_word(unicodedata.normalize("NFC", asked)))
        if any(sign.isalnum() for sign in word)
    ][:MOST_WORDS]


def about_file(connection: sqlite3.Connection) -> dict[str, str]:
    """What the file says about itself."""
    return dict(connection.execute("select name, value from about").fetchall())


def surveys(connection: sqlite3.Connection) -> list[Json]:
    """The surveys that the file was made from, earliest first."""
    return _rows(connection, "select * from surveys order by started, key")


def start(connection: sqlite3.Connection, page: int) -> Json:
    """Counts for the whole collection, and one page of its objects with what survives on each."""
    counts = {
        table: connection.execute(f"select count(*) from {table}").fetchone()[0]
        for table in ("objects", "places", "samples", "layers", "tests", "treatments", "proposals")
    }
    counts["unexamined"] = connection.execute("select count(*) from places where state = 'not examined'").fetchone()[0]
    return {
        "counts": counts,
        "total": counts["objects"],
        "surveys": surveys(connection),
        "objects": _rows(connection, "select * from what_survives limit ? offset ?", PER_PAGE, (page - 1) * PER_PAGE),
    }


def place_names(connection: sqlite3.Connection, numbers: list[int]) -> dict[int, dict[str, str | None]]:
    """The names of the places of some objects, by the objects' row numbers."""
    found: dict[int, dict[str, str | None]] = {}
    for number, place, name in connection.execute(
        "select object_id, place, name from places where object_id in (select value from json_each(?))",
        (json.dumps(numbers),),
    ):
        found.setdefault(number, {})[place] = name
    return found


def addressed(connection: sqlite3.Connection) -> dict[str, list[str]]:
    """The codes of all objects and surveys, for the site map."""
    return {
        "surveys": [code for (code,) in connection.execute("select key from surveys order by started, key")],
        "objects": [code for (code,) in connection.execute("select object from objects order by id")],
    }


def some_objects(connection: sqlite3.Connection) -> list[Json]:
    """The first objects by number, with their titles, for the list to choose from."""
    return _rows(connection, "select object, title from objects order by id limit ?", MOST_OFFERED)


def at_risk(connection: sqlite3.Connection, page: int, size: int = PER_PAGE) -> Json:
    """One page of the objects at risk, the worst first, each with its reasons."""
    kinds: dict[int, list[str]] = {}
    for number, kind in connection.execute("select object_id, kind from threats"):
        kinds.setdefault(number, []).append(kind)
    numbers = {number: gravity(own) for number, own in kinds.items()}
    order = sorted(numbers, key=lambda number: (tuple(-n for n in numbers[number]), number))
    shown = order[(page - 1) * size : page * size]
    found = []
    for number in shown:
        (row,) = _rows(connection, "select object, title from objects where id = ?", number)
        found.append(
            {
                **row,
                "numbers": dict(zip(KINDS, numbers[number], strict=True)),
                "threats": _rows(
                    connection,
                    "select kind, place, message, remedy from threats where object_id = ? order by number",
                    number,
                ),
            }
        )
    return {"kinds": list(KINDS), "total": len(order), "objects": found}


def survey(connection: sqlite3.Connection, code: str, page: int) -> Json | None:
    """A survey with how many records it brought, and one page of the objects it covered."""
    found = _rows(connection, "select * from surveys where key = ?", code)
    if not found:
        return None
    number = found[0]["id"]
    counts = dict(
        connection.execute(
            "select sheet, sum(number) from brought where survey_id = ? group by sheet order by min(id)", (number,)
        )
    )
    (total,) = connection.execute(
        "select count(distinct object_id) from brought where survey_id = ?", (number,)
    ).fetchone()
    objects = _rows(
        connection,
        "select o.object, o.title, o.kind, s.present, s.read, s.traces from objects as o join survival as s "
        "on s.object_id = o.id where o.id in (select object_id from brought where survey_id = ?) "
        "order by o.id limit ? offset ?",
        number,
        PER_PAGE,
        (page - 1) * PER_PAGE,
    )
    return {
        "survey": found[0],
        "counts": counts,
        "total": total,
        "objects": objects,
        "compared": _compared(connection, code),
    }


def _compared(connection: sqlite3.Connection, survey: str) -> list[Json]:
    """The pairs of surveys that a survey is one of, with how many objects both looked at, the most first."""
    return _rows(
        connection,
        "select c.earlier, c.later, e.title as earlier_title, e.started as earlier_started, l.title as later_title, "
        "l.started as later_started, count(*) as objects from comparisons as c join surveys as e on e.key = c.earlier "
        "join surveys as l on l.key = c.later where c.earlier = ?1 or c.later = ?1 group by c.earlier, c.later "
        "order by objects desc, c.earlier, c.later",
        survey,
    )


def columns(connection: sqlite3.Connection) -> dict[str, list[str]]:
    """The published columns of each table, in order."""
    found: dict[str, list[str]] = {}
    for table, column in connection.execute(
        "select table_name, column_name from dictionary where column_name <> '' order by id"
    ):
        found.setdefault(table, []).append(column)
    return found


def is_picture(connection: sqlite3.Connection, file: str) -> bool:
    """Whether a published picture or drawing has this file name."""
    return (
        connection.execute(
            "select 1 from pictures where file = ? union all select 1 from drawings where file = ?", (file, file)
        ).fetchone()
        is not None
    )


def search(connection: sqlite3.Connection, asked: str, wanted: Mapping[str, str], page: int) -> Found:
    """Objects that hold every word of the search; an exact code of an object or record comes first.

    :param wanted: what the search is narrowed by, as `filters.read` gives it.
    """
    left = filters.objects(connection, wanted)
    exact = [number for number in _exact(connection, asked) if left is None or number in left]
    end = page * PER_PAGE
    if asked or left is None:
        total, ranked = _ranked(connection, asked_words(asked), set(exact), left, end)
    else:
        total, ranked = len(left), sorted(left)
    shown = [*exact, *ranked][end - PER_PAGE : end]
    words = asked_tokens(asked_words(asked), SHORTEST_PREFIX)
    return Found(len(exact) + total, matched(connection, shown, asked, words, wanted))


def _exact(connection: sqlite3.Connection, asked: str) -> list[int]:
    code = unicodedata.normalize("NFC", asked.strip())
    if not code:
        return []
    found = [row[0] for row in connection.execute("select id from objects where object = ?", (code,))]
    for table in (
        "components",
        "zones",
        "samples",
        "layers",
        "schemes",
        "decorations",
        "tests",
        "reserves",
        "treatments",
        "proposals",
        "claims",
        "advice",
        "pictures",
    ):
        found += [row[0] for row in connection.execute(f"select object_id from {table} where key = ?", (code,))]
    above = f"{code}\U0010ffff"
    # Objects are numbered in the order in which people count them.
    found += sorted(
        row[0]
        for row in connection.execute(
            "select id from objects where object > ? and object < ? order by object limit 100", (code, above)
        )
    )
    return list(dict.fromkeys(found))


def _ranked(
    connection: sqlite3.Connection, words: list[str], known: set[int], left: set[int] | None, end: int
) -> tuple[int, list[int]]:
    """How many objects hold every word, and at least the best `end` of them, in order.

    Beyond `MOST_RANKED` those whose title holds the words come first, then all by number, because ranking everything
    tells least where most is found.

    :param known: objects that stand before these, and are not counted.
    :param left: what a narrowing leaves; None where nothing is narrowed.
    """
    if not words:
        return 0, []
    # Quoted, a word is a phrase and never an operator.
    asked = " AND ".join(f'"{word}"' + ("*" if len(word) >= SHORTEST_PREFIX else "") for word in words)
    match = "select rowid from search_fts where search_fts match ?"

    def others(rows: Iterable[tuple[int]]) -> list[int]:
        return [number for (number,) in rows if number not in known and (left is None or number in left)]

    (total,) = connection.execute("select count(*) from search_fts where search_fts match ?", (asked,)).fetchone()
    if total <= MOST_RANKED:
        found = others(connection.execute(f"{match} order by rank", (asked,)))
        return len(found), found
    named = others(connection.execute(match, (f"title : ({asked})",)))
    if left is None:
        total -= len(known) - len(
            known.difference(
                number
                for (number,) in connection.execute(
                    f"{match} and rowid in (select value from json_each(?))", (asked, json.dumps(sorted(known)))
                )
            )
        )
        found = others(connection.execute(f"{match} limit ?", (asked, end + len(named) + len(known))))
    else:
        found = others(connection.execute(match, (asked,)))
        total = len(found)
    already = set(named)
    return total, [*named, *(number for number in found if number not in already)]


def _rows(connection: sqlite3.Connection, sql: str, *values: Any) -> list[Json]:
    cursor = connection.execute(sql, values)
    names = [column[0] for column in cursor.description]
    return [dict(zip(names, row, strict=True)) for row in cursor]
