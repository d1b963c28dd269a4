"""Every query on the published file. Each function serves one page, in one thread."""

from __future__ import annotations

import json
import re
import sqlite3
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from collection.compute.risk.threat import KINDS, gravity
from collection.language.phrases import one_word
from firstcoat_site import filters
from firstcoat_site.matches import Match, asked_tokens, matched

Json = dict[str, Any]

PER_PAGE = 24
LARGEST_PAGE = 5000
MOST_WORDS = 12
MOST_OFFERED = 200
MOST_RANKED = 2000
SHORTEST_PREFIX = 3
_WORD = re.compile(r'[^\s"\x00-\x1f]+')


@dataclass(frozen=True)
class Found:
    """One page of results: how many there are in all, and those shown, each with its reason.

    :ivar beginnings: whether words that begin like those asked for count too.
    :ivar more: how many objects more have such words, where they do not count.
    """

    total: int
    matches: list[Match]
    beginnings: bool = False
    more: int = 0


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


SORTS = {
    "number": ("number", "g.object_id"),
    "name": ("name", "g.title, g.object_id"),
    "most": ("what survives most", "g.seen is null, g.seen desc, g.object_id"),
    "fewest": ("what survives least", "g.seen is null, g.seen, g.object_id"),
    "least": ("what is examined least", "g.not_examined desc, g.object_id"),
    "risk": ("risk", "g.risk desc, g.object_id"),
    "newest": ("newest survey", "g.newest desc, g.object_id"),
}
"""The orders of a list of objects: what each is called, and its columns."""


def start(connection: sqlite3.Connection, page: int, sort: str = "number") -> Json:
    """Counts for the whole collection, and one page of its objects with what survives on each."""
    counts = {
        name.removeprefix("count_"): int(value)
        for name, value in connection.execute("select name, value from about where name glob 'count_*'")
    }
    counts["unexamined"] = connection.execute("select count(*) from places where state = 'not examined'").fetchone()[0]
    counts["never"] = connection.execute("select count(*) from glances where looked = 'never'").fetchone()[0]
    shown = [
        number
        for (number,) in connection.execute(
            f"select g.object_id from glances as g order by {SORTS[sort][1]} limit ? offset ?",
            (PER_PAGE, (page - 1) * PER_PAGE),
        )
    ]
    return {
        "counts": counts,
        "total": counts["objects"],
        "surveys": surveys(connection),
        "objects": glances(connection, shown),
    }


def glances(connection: sqlite3.Connection, numbers: list[int]) -> list[Json]:
    """What a list shows of some objects by row number, in that order."""
    found = {
        row["id"]: row
        for row in _rows(
            connection,
            "select o.id, w.*, g.thumb, g.exposed, g.covered, g.fragmentary, g.not_found, g.removed, g.not_examined, "
            "g.looked, g.risk from objects as o join what_survives as w on w.object = o.object join glances as g on "
            "g.object_id = o.id where o.id in (select value from json_each(?))",
            json.dumps(numbers),
        )
    }
    return [{name: value for name, value in found[number].items() if name != "id"} for number in numbers]


def kinds(connection: sqlite3.Connection) -> list[str]:
    """The kinds of thing that the published objects are, for the list to choose from."""
    return [kind for (kind,) in connection.execute("select distinct kind from glances order by kind limit 200")]


def place_names(connection: sqlite3.Connection, numbers: list[int]) -> dict[int, dict[str, str | None]]:
    """The names of the places of some objects, by the objects' row numbers."""
    found: dict[int, dict[str, str | None]] = {}
    for number, place, name in connection.execute(
        "select object_id, place, name from places where object_id in (select value from json_each(?))",
        (json.dumps(numbers),),
    ):
        found.setdefault(number, {})[place] = name
    return found


def newest_decisions(connection: sqlite3.Connection, most: int) -> list[Json]:
    """The newest decisions, each with the titles of its proposal and object."""
    return _rows(
        connection,
        "select d.*, p.title as proposal_title, o.title from decisions as d join proposals as p on p.id = d.proposal_id "
        "join objects as o on o.id = d.object_id order by d.decided_at desc, d.id desc limit ?",
        most,
    )


def reviews(connection: sqlite3.Connection) -> list[Json]:
    """The days to look again, earliest first, each with the title of its object."""
    return _rows(
        connection,
        "select r.*, o.title as object_title from reviews as r join objects as o on o.id = r.object_id "
        "order by r.day, r.object_id, r.id",
    )


def some_objects(connection: sqlite3.Connection) -> list[Json]:
    """The first objects by number, with their titles, for the list to choose from."""
    return _rows(connection, "select object, title from objects order by id limit ?", MOST_OFFERED)


def at_risk(connection: sqlite3.Connection, page: int, size: int = PER_PAGE) -> Json:
    """One page of the objects at risk, the worst first, each with its reasons."""
    (total,) = connection.execute("select count(*) from glances where risk is not null").fetchone()
    shown = connection.execute(
        "select object_id, object, title, thumb from glances where risk is not null order by risk desc, object_id "
        "limit ? offset ?",
        (size, (page - 1) * size),
    ).fetchall()
    found = []
    for number, code, title, thumb in shown:
        reasons = _rows(
            connection, "select kind, place, message, remedy from threats where object_id = ? order by number", number
        )
        numbers = dict(zip(KINDS, gravity(reason["kind"] for reason in reasons), strict=True))
        found.append({"object": code, "title": title, "thumb": thumb, "numbers": numbers, "threats": reasons})
    return {"kinds": list(KINDS), "total": total, "objects": found}


def ranking(connection: sqlite3.Connection) -> Json:
    """The gravest threats of the whole collection, what survives of the objects they reach, and the pictures of both."""
    found = dict(connection.execute("select name, content from ranking").fetchall())
    return {**json.loads(found.pop("listed")), "pictures": found}


def numbered(connection: sqlite3.Connection, objects: Iterable[Json]) -> list[tuple[int, Json]]:
    """Some objects with their row numbers."""
    return [
        (connection.execute("select id from objects where object = ?", (row["object"],)).fetchone()[0], row)
        for row in objects
    ]


def survey(connection: sqlite3.Connection, code: str, page: int, size: int = PER_PAGE) -> Json | None:
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
        size,
        (page - 1) * size,
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
            "select 1 from pictures where file = ?1 union all select 1 from drawings where file = ?1 union all "
            "select 1 from glances where thumb = ?1",
            (file,),
        ).fetchone()
        is not None
    )


def thumb(connection: sqlite3.Connection, code: str) -> str | None:
    """The file of an object's small picture; None where it has none."""
    found = connection.execute(
        "select g.thumb from glances as g join objects as o on o.id = g.object_id where o.object = ?", (code,)
    ).fetchone()
    return None if found is None else found[0]


def search(
    connection: sqlite3.Connection,
    asked: str,
    wanted: Mapping[str, str],
    page: int,
    *,
    beginnings: bool = False,
    sort: str = "number",
) -> Found:
    """Objects that hold every word of the search; an exact code of an object or record comes first.

    A word is a word: `red` finds no `reduced`, unless nothing holds the words as they are, or the reader asks for it.

    :param wanted: what the search is narrowed by, as `filters.read` gives it.
    :param sort: the order of objects that no words rank, one of `SORTS`.
    """
    left = filters.objects(connection, wanted)
    exact = [number for number in _exact(connection, asked) if left is None or number in left]
    end = page * PER_PAGE
    if asked or left is None:
        words = asked_words(asked)
        total, ranked = _ranked(connection, words, set(exact), left, end, beginnings=beginnings)
        if not (beginnings or total or exact):
            beginnings = True
            total, ranked = _ranked(connection, words, set(exact), left, end, beginnings=True)
    else:
        total, ranked = len(left), _in_order(connection, left, sort)
    more = 0
    if asked and not beginnings:
        more = _ranked(connection, asked_words(asked), set(exact), left, end, beginnings=True)[0] - total
    shown = [*exact, *ranked][end - PER_PAGE : end]
    tokens = asked_tokens(asked_words(asked), SHORTEST_PREFIX if beginnings else None)
    return Found(len(exact) + total, matched(connection, shown, asked, tokens, wanted), beginnings, max(more, 0))


def _in_order(connection: sqlite3.Connection, numbers: Iterable[int], sort: str) -> list[int]:
    sql = f"select object_id from glances as g where object_id in (select value from json_each(?)) order by {SORTS[sort][1]}"
    return [number for (number,) in connection.execute(sql, (json.dumps(sorted(numbers)),))]


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
    connection: sqlite3.Connection,
    words: list[str],
    known: set[int],
    left: set[int] | None,
    end: int,
    *,
    beginnings: bool,
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
    asked = " AND ".join(f'"{word}"' + ("*" if beginnings and len(word) >= SHORTEST_PREFIX else "") for word in words)
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
