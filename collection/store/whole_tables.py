"""Every table of a database as it stands, row by row, and the SQL that makes its tables again."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from collection.store.schema import ddl
from collection.store.schema.tables import StoredColumn, Table

NULL = "\\N"
"""What stands for nothing in a column in which a blank cell is an empty text; drawn out where a cell holds just that."""
_ORDER = "CASE type WHEN 'table' THEN 1 WHEN 'index' THEN 2 ELSE 3 END"


def whole_tables(db: sqlite3.Connection) -> tuple[list[Table], list[str]]:
    """The tables that firstcoat made, with the columns that this very file has, and the names of others.

    The full-text index is neither: it is made of the table `documents`, which is among them.
    """
    there = {
        name
        for name, kind in db.execute("SELECT name, type FROM pragma_table_list WHERE schema = 'main'")
        if kind == "table" and not name.startswith("sqlite_")
    }
    ours = [_as_it_is(db, table) for table in ddl.tables() if table.name in there]
    return ours, sorted(there - {table.name for table in ours})


def _as_it_is(db: sqlite3.Connection, table: Table) -> Table:
    """A table with the columns that it has in a file of whatever version."""
    has = {name for (name,) in db.execute("SELECT name FROM pragma_table_info(?)", (table.name,))}
    return replace(
        table,
        columns=tuple(column for column in table.columns if column.name in has),
        references=tuple(each for each in table.references if has.issuperset(each.columns)),
    )


def stored_rows(db: sqlite3.Connection, table: Table) -> Iterator[tuple[Any, ...]]:
    """Every row of a table as it is stored, in the order in which rows were stored."""
    names = ", ".join(f'"{column.name}"' for column in table.columns)
    yield from db.execute(f"SELECT {names} FROM {table.name} ORDER BY rowid")


def nulls(db: sqlite3.Connection, table: Table) -> dict[str, str]:
    """What stands for nothing in each column, so that it can be told from an empty text: a blank cell, or where the
    column holds empty texts a mark that no cell of it holds."""
    texts = [column for column in table.columns if column.sql.startswith("TEXT")]
    found = {column.name: "" for column in table.columns}
    if not texts:
        return found
    asked = ", ".join(f"max(\"{column.name}\" = '')" for column in texts)
    empty = db.execute(f"SELECT {asked} FROM {table.name}").fetchone()
    for column, holds in zip(texts, empty, strict=True):
        if holds:
            found[column.name] = _free_mark(db, table, column)
    return found


def _free_mark(db: sqlite3.Connection, table: Table, column: StoredColumn) -> str:
    mark = NULL
    while db.execute(f'SELECT 1 FROM {table.name} WHERE "{column.name}" = ? LIMIT 1', (mark,)).fetchone():
        mark += NULL[1:]
    return mark


def schema_sql(db: sqlite3.Connection) -> str:
    """Makes the empty tables, indexes and views of this very database, of whatever version it is."""
    version, application = (db.execute(f"PRAGMA {name}").fetchone()[0] for name in ("user_version", "application_id"))
    shadows = "SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'shadow'"
    return "\n".join(
        [
            "-- Makes the tables, indexes and views of this database, without rows.",
            "-- What each column means is written in dictionary.csv. Run guards.sql when the rows are in.",
            f"PRAGMA application_id = {application};",
            f"PRAGMA user_version = {version};",
            *_statements(db, f"type <> 'trigger' AND name NOT IN ({shadows})"),
        ]
    )


def guards_sql(db: sqlite3.Connection) -> str:
    """What is run when the rows are in: the full-text indexes are filled, and the triggers made."""
    indexes = db.execute("SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'virtual' ORDER BY name")
    return "\n".join(
        [
            "-- To be run when the rows are in: fills the full-text index and makes the triggers that keep the history.",
            *(f"INSERT INTO {name} ({name}) VALUES ('rebuild');" for (name,) in indexes.fetchall()),
            *_statements(db, "type = 'trigger'"),
        ]
    )


def _statements(db: sqlite3.Connection, which: str) -> Iterator[str]:
    sql = (
        f"SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%' AND {which} "
        f"ORDER BY {_ORDER}, rowid"
    )
    for (statement,) in db.execute(sql):
        yield f"{statement};\n"


def telling_place(db: sqlite3.Connection, states: str, tests: str, zones: str) -> tuple[str, str, str] | None:
    """An object and place by which it can be shown how to ask, with the name of the place: where the maker's finish lies
    under later coats, and a test did something to it, if there is such a one.

    :param states: the table of what is left at each place; `tests` and `zones` likewise.
    """
    found = db.execute(
        f"SELECT z.object, z.zone, z.name FROM {zones} AS z LEFT JOIN {states} AS s ON s.object = z.object AND "
        f"s.place = z.zone ORDER BY s.state IS NOT 'original covered', NOT EXISTS (SELECT 1 FROM {tests} AS t WHERE "
        "t.object = z.object AND t.place = z.zone), z.name NOT LIKE '%door%', z.object, z.zone LIMIT 1"
    ).fetchone()
    return None if found is None else (found[0], found[1], found[2] or "")
