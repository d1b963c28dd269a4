"""The lists of a copy, in which nobody can search: every object by number, name, kind, maker, and by what survives."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any

from collection.language.words import ZONE_STATE
from collection.output.published.glances import STATES
from firstcoat_site import queries

Json = dict[str, Any]

MOST_GROUPS = 150
"""More groups than these are found by their first letter."""
NO_MAKER = "maker not recorded"
_ROWS = {
    # Objects are numbered in the order in which people count them.
    "number": "select 0 as at, '' as name, object_id as number, '' as title from glances",
    "name": "select not upper(substr(trim(title), 1, 1)) glob '[0-9]*' as at, "
    "case when substr(trim(title), 1, 1) glob '[0-9]' then '0–9' else upper(substr(trim(title), 1, 1)) end as name, "
    "object_id as number, title from glances",
    "kind": "select 0 as at, kind as name, object_id as number, title from glances",
    "maker": f"select o.maker is null as at, coalesce(o.maker, '{NO_MAKER}') as name, o.id as number, g.title as title "
    "from objects as o join glances as g on g.object_id = o.id",
    "state": " union all ".join(
        f"select {at} as at, '{word}' as name, object_id as number, title from glances where {STATES[word]} > 0"
        for at, word in enumerate(ZONE_STATE.words)
        if word in STATES
    ),
}
TITLES = {"number": "By number", "name": "By name", "kind": "By kind", "maker": "By maker", "state": "By what survives"}
_ORDER = "at, name, title collate nocase, number"


@dataclass(frozen=True)
class Group:
    """The objects of one letter, kind, maker or state: its mark, how many they are, and the page on which they begin."""

    name: str
    mark: str
    number: int
    page: int


def groups(connection: sqlite3.Connection, by: str, size: int) -> list[Group]:
    """The groups of a list, in their order, where each page holds `size` rows."""
    found, before = [], 0
    for at, (name, number) in enumerate(
        connection.execute(f"select name, count(*) from ({_ROWS[by]}) group by at, name order by at, name"), start=1
    ):
        found.append(Group(name, f"group-{at}", number, before // size + 1))
        before += number
    return found


def shortened(groups: list[Group]) -> list[Group]:
    """The groups to choose from: all, or where they are many the first of each letter, under that letter."""
    if len(groups) <= MOST_GROUPS:
        return groups
    first: dict[str, Group] = {}
    for group in groups:
        first.setdefault(group.name[:1].upper(), group)
    return [
        Group(letter, group.mark, sum(each.number for each in groups if each.name[:1].upper() == letter), group.page)
        for letter, group in first.items()
    ]


def shown(connection: sqlite3.Connection, by: str, page: int, size: int) -> list[tuple[str, list[Json]]]:
    """One page of a list: the names of its groups with what a list shows of their objects."""
    rows = connection.execute(
        f"select name, number from ({_ROWS[by]}) order by {_ORDER} limit ? offset ?", (size, (page - 1) * size)
    ).fetchall()
    glances = queries.glances(connection, [number for _, number in rows])
    found: list[tuple[str, list[Json]]] = []
    for (name, _), row in zip(rows, glances, strict=True):
        if not found or found[-1][0] != name:
            found.append((name, []))
        found[-1][1].append(row)
    return found


def codes(connection: sqlite3.Connection, page: int, size: int) -> list[str]:
    """One page of the codes of all objects, in their order."""
    return [
        code
        for (code,) in connection.execute(
            "select object from objects order by id limit ? offset ?", (size, (page - 1) * size)
        )
    ]
