"""Reads one database for publishing: everything about each object, in one snapshot."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from collection.facts import Facts
from collection.output.audience import Row
from collection.records import BY_SHEET, Survey
from collection.store.read import load_facts


@dataclass(frozen=True)
class Gathered:
    """One object: its rows by sheet (each with `live`), all its facts in account, the decisions and
    overrides on its proposals, and the hashes of its picture files by key."""

    object: str
    rows: dict[str, list[Row]]
    facts: Facts
    decisions: list[Row]
    overrides: list[Row]
    files: dict[str, str]


def newest_change(connection: sqlite3.Connection) -> Row | None:
    """The number and time of the newest change: what the published state is named by."""
    found = _rows(connection, "SELECT number, at FROM changes ORDER BY number DESC LIMIT 1")
    return found[0] if found else None


def surveys(connection: sqlite3.Connection) -> list[Row]:
    """The surveys in account."""
    names = _names(Survey.model_fields)
    return _rows(connection, f"SELECT {names}, from_row FROM live_surveys ORDER BY code")


def public_objects(connection: sqlite3.Connection) -> list[str]:
    """The accession numbers of the objects in account that are not for staff only."""
    return [row[0] for row in connection.execute(
        "SELECT object FROM live_objects WHERE audience IS NOT 'staff' ORDER BY object")]


def objects(connection: sqlite3.Connection, codes: list[str]) -> Iterator[Gathered]:
    """Everything about the objects named, one at a time."""
    for code in codes:
        yield Gathered(
            code,
            {sheet: found for sheet in BY_SHEET if sheet != "survey"
             if (found := _sheet(connection, sheet, code))},
            load_facts(connection, code),
            _of_object(connection, "decisions", code, "ORDER BY proposal, number"),
            _of_object(connection, "overrides", code, "ORDER BY proposal, number, loss"),
            _files(connection, code),
        )


def _sheet(connection: sqlite3.Connection, sheet: str, code: str) -> list[Row]:
    record = BY_SHEET[sheet]
    key = _names(record.key)
    names = _names(column.name for column in record.columns())
    live = {tuple(row) for row in connection.execute(
        f"SELECT {key} FROM live_{record.table} WHERE object = ?", (code,))}
    found = _rows(connection, f"SELECT {names}, survey, from_row FROM {record.table} "
                              f"WHERE object = ? ORDER BY {key}", code)
    for row in found:
        row["live"] = tuple(row[name] for name in record.key) in live
    return found


def _of_object(connection: sqlite3.Connection, table: str, code: str, order: str = "") -> list[Row]:
    return _rows(connection, f"SELECT * FROM {table} WHERE object = ? {order}", code)


def _files(connection: sqlite3.Connection, code: str) -> dict[str, str]:
    """The SHA-256 of each picture's file, by the picture's key; the newest use holds."""
    found = connection.execute(
        "SELECT u.key, u.sha256 FROM pictures AS p JOIN file_uses AS u ON u.sheet = 'pictures' "
        "AND u.key = p.object || '/' || p.picture WHERE p.object = ? ORDER BY u.change", (code,))
    return dict(found.fetchall())


def _names(columns: Any) -> str:
    return ", ".join(f'"{name}"' for name in columns)


def _rows(connection: sqlite3.Connection, sql: str, *values: Any) -> list[Row]:
    cursor = connection.execute(sql, values)
    names = [column[0] for column in cursor.description]
    return [dict(zip(names, row, strict=True)) for row in cursor]
