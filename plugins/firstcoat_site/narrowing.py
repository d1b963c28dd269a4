"""Narrowing a search: by what survives in a place, by a finish, a colour, a maker. All of it has to hold."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from typing import Any

from collection.phrases import folded
from collection.words import ZONE_STATE

Json = dict[str, Any]

COLUMNS = {"state": ("places", ("state",)), "scheme": ("schemes", ("period", "name")),
           "colour": ("layers", ("colour",)), "maker": ("objects", ("maker",))}
"""What each answer is looked for in: the table of the published file, and the columns any of which may hold it."""
WHOLE = frozenset({"state", "period"})
"""Columns of listed words, which are what was asked or are not; the others hold it anywhere."""
LONGEST = 100


def read(args: Mapping[str, Any]) -> dict[str, str]:
    """What the address narrows by, blank where by nothing; a state that is none is passed over."""
    found = {name: " ".join((args.get(name) or "").split())[:LONGEST] for name in COLUMNS}
    if found["state"] not in ZONE_STATE.words:
        found["state"] = ""
    return found


def objects(connection: sqlite3.Connection, wanted: Mapping[str, str]) -> set[int] | None:
    """The row numbers of the objects that everything asked for is true of; None where nothing is asked."""
    left: set[int] | None = None
    for name, asked in wanted.items():
        if not asked:
            continue
        table, columns = COLUMNS[name]
        own = "id" if table == "objects" else "object_id"
        met: set[int] = set()
        for column in columns:
            values = [value for (value,) in connection.execute(
                f"select distinct {column} from {table} where {column} is not null") if _holds(column, value, asked)]
            met |= {row[0] for row in connection.execute(
                f"select distinct {own} from {table} where {column} in (select value from json_each(?))",
                (json.dumps(values),))}
        left = met if left is None else left & met
    return left


def is_met(name: str, asked: str, table: str, row: Json) -> bool:
    """Whether one record of an object is what a narrowing asks for."""
    wanted_table, columns = COLUMNS[name]
    return table == wanted_table and any(_holds(column, row.get(column) or "", asked) for column in columns)


def _holds(column: str, value: str, asked: str) -> bool:
    return value == asked if column in WHOLE else folded(asked) in folded(value)
