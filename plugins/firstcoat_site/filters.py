"""Narrows a search by what survives in a place, by a finish, a colour or a maker; all of them have to fit."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from collection.compute.risk.threat import KINDS
from collection.language.phrases import folded
from collection.language.words import ZONE_STATE

Json = dict[str, Any]

COLUMNS = {
    "state": ("places", ("state",)),
    "scheme": ("schemes", ("period", "name")),
    "colour": ("layers", ("colour",)),
    "maker": ("objects", ("maker",)),
    "kind": ("objects", ("kind",)),
    "risk": ("threats", ("kind",)),
    "looked": ("glances", ("looked",)),
}
"""Where each answer is looked for: the table of the published file, and its columns."""
WHOLE = frozenset({"state", "period", "kind", "looked"})
"""Columns of listed words, which have to be equal; in the others the text may stand anywhere."""
FEW = WHOLE | {"colour"}
"""Columns with few distinct values."""
LONGEST, ONE_BY_ONE = 100, 50


def read(args: Mapping[str, Any]) -> dict[str, str]:
    """What the address narrows by, blank for nothing; an unknown state is ignored."""
    found = {name: " ".join((args.get(name) or "").split())[:LONGEST] for name in COLUMNS}
    if found["state"] not in ZONE_STATE.words:
        found["state"] = ""
    if found["risk"] not in KINDS:
        found["risk"] = ""
    if found["looked"] != "never":
        found["looked"] = ""
    return found


def objects(connection: sqlite3.Connection, wanted: Mapping[str, str]) -> set[int] | None:
    """The row numbers of the objects that fit everything; None where nothing is asked."""
    left: set[int] | None = None
    for name, asked in wanted.items():
        if not asked:
            continue
        table, columns = COLUMNS[name]
        own = "id" if table == "objects" else "object_id"
        met: set[int] = set()
        for column in columns:
            values = [value for value in _distinct(connection, table, column) if _holds(column, value, asked)]
            # One value at a time, an index gives each object once without collecting them first.
            asked_for = (
                [("= ?", value) for value in values]
                if len(values) <= ONE_BY_ONE
                else [("in (select value from json_each(?))", json.dumps(values))]
            )
            for test, value in asked_for:
                met.update(
                    number
                    for (number,) in connection.execute(
                        f"select distinct {own} from {table} where {column} {test}", (value,)
                    )
                )
        left = met if left is None else left & met
    return left


@dataclass(frozen=True)
class Met:
    """One record that fits: its table, the row, the cell that fits, its place."""

    table: str
    row: Json
    value: str
    place: str | None


def records(connection: sqlite3.Connection, numbers: Iterable[int], wanted: Mapping[str, str]) -> dict[int, list[Met]]:
    """The records that fit, by the row numbers of their objects; objects without any are left out."""
    found: dict[int, list[Met]] = {}
    listed = json.dumps(list(numbers))
    for name, asked in wanted.items():
        if not asked:
            continue
        table, columns = COLUMNS[name]
        own = "id" if table == "objects" else "object_id"
        joined = (
            "select t.*, s.place from layers as t join samples as s on s.id = t.sample_id"
            if table == "layers"
            else f"select t.* from {table} as t"
        )
        cursor = connection.execute(
            f"{joined} where t.{own} in (select value from json_each(?)) order by t.id", (listed,)
        )
        names = [column[0] for column in cursor.description]
        for values in cursor:
            row = dict(zip(names, values, strict=True))
            value = next((row[column] for column in columns if _holds(column, row[column] or "", asked)), None)
            if value is not None:
                found.setdefault(row[own], []).append(Met(table, row, value, row.get("place")))
    return found


def _distinct(connection: sqlite3.Connection, table: str, column: str) -> list[str]:
    """The distinct values of a column; where there are few, by jumps along its index (a million rows, seven colours)."""
    if column not in FEW:
        return [
            value
            for (value,) in connection.execute(f"select distinct {column} from {table} where {column} is not null")
        ]
    return [
        value
        for (value,) in connection.execute(
            f"with recursive found (value) as (select min({column}) from {table} union all select (select min({column}) "
            f"from {table} where {column} > found.value) from found where found.value is not null) "
            "select value from found where value is not null"
        )
    ]


def _holds(column: str, value: str, asked: str) -> bool:
    return value == asked if column in WHOLE else folded(asked) in folded(value)
