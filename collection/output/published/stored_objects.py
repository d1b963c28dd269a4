"""Reads one database for publishing: everything about each object, in one snapshot."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

from collection.compute.case import Case
from collection.output.published.audience import Audience, Row
from collection.records.codes import natural
from collection.records.facts import Facts
from collection.records.sheets import BY_SHEET, Survey
from collection.store.base import names
from collection.store.base.chain import MADE_AT
from collection.store.base.files import OF_THE_WITHDRAWN
from collection.store.base.listed_cells import ListedCell, listed_cells
from collection.store.base.merged_records import joined_cells
from collection.store.base.names import Names
from collection.store.base.read import load_facts
from collection.store.changes.tags import Tag, tags


@dataclass(frozen=True)
class StoredObject:
    """One object: its rows by sheet (each with `live`), all its facts in account, which are read when they are asked for,
    the decisions and overrides and answers on its proposals, the hashes of its files by sheet (pictures, drawings) and
    key, the cells of lists that no column took whole, which are for staff, the day of the newest change to any of it, and
    the tags that hang on it: hanging one changes nothing about the object."""

    object: str
    rows: dict[str, list[Row]]
    read_facts: Callable[[], Facts]
    decisions: list[Row]
    overrides: list[Row]
    answers: list[Row]
    files: dict[tuple[str, str], str]
    listed: list[ListedCell]
    changed_on: str
    tags: list[Tag]

    @cached_property
    def facts(self) -> Facts:
        return self.read_facts()

    @cached_property
    def case(self) -> Case:
        """The object under the policy that firstcoat ships."""
        return Case(self.facts)


def newest_change(connection: sqlite3.Connection) -> Row | None:
    """The number of the newest change and the time when it was made first, by which the published state is named."""
    found = _rows(connection, f"SELECT c.number, {MADE_AT} AS at FROM changes AS c ORDER BY c.number DESC LIMIT 1")
    return found[0] if found else None


def surveys(connection: sqlite3.Connection) -> list[Row]:
    """The surveys that were not withdrawn."""
    names = _names(Survey.model_fields)
    return _rows(connection, f"SELECT {names}, from_row FROM live_surveys ORDER BY code")


def objects_for(audience: Audience, connection: sqlite3.Connection) -> list[str]:
    """The accession numbers of the objects; for the public without those that are for staff only under any of their
    numbers."""
    known = names.load(connection)
    only_staff: dict[str, bool] = {}
    for code, staff in connection.execute("SELECT object, audience IS 'staff' FROM live_objects"):
        shown = code if known is None else known.object(code)
        only_staff[shown] = only_staff.get(shown, False) or bool(staff)
    return sorted((code for code, staff in only_staff.items() if audience.is_staff or not staff), key=natural)


def objects(connection: sqlite3.Connection, codes: list[str]) -> Iterator[StoredObject]:
    """Everything about some objects, one at a time, under the codes that are in use now."""
    known = names.load(connection)
    for code in codes:
        yield StoredObject(
            code,
            {
                sheet: found
                for sheet in BY_SHEET
                if sheet != "survey"
                if (found := _joined_sheet(connection, known, sheet, code))
            },
            partial(load_facts, connection, code),
            _decided(connection, known, "decisions", code, "ORDER BY proposal, number"),
            _decided(connection, known, "overrides", code, "ORDER BY proposal, number, loss"),
            _decided(connection, known, "answers", code, "ORDER BY proposal, number, advice"),
            {
                key: sha256
                for own in _numbers(known, code)
                for sheet in ("pictures", "drawings")
                for key, sha256 in _files(connection, known, sheet, own).items()
            },
            listed_cells(connection, code),
            _changed_on(connection, _numbers(known, code)),
            [tag for tag in tags(connection, code) if tag.hangs],
        )


_TOUCHED = " UNION ALL ".join(
    [
        f"SELECT max(max(change), coalesce(max(withdrawn), 0)) FROM {record.table} WHERE object = :code"
        for record in BY_SHEET.values()
        if record is not Survey
    ]
    + [f"SELECT max(change) FROM {table} WHERE object = :code" for table in ("decisions", "answers", "overrides")]
)


def _changed_on(connection: sqlite3.Connection, codes: tuple[str, ...]) -> str:
    """The day of the newest change that touched an object, YYYY-MM-DD; empty where there is none."""
    numbers = [number for code in codes for (number,) in connection.execute(_TOUCHED, {"code": code}) if number]
    newest = max([names.last_stated(connection, codes[0]), *numbers])
    found = connection.execute(f"SELECT {MADE_AT} FROM changes AS c WHERE c.number = ?", (newest,)).fetchone()
    return "" if found is None else str(found[0])[:10]


def _numbers(known: Names | None, code: str) -> tuple[str, ...]:
    return (code,) if known is None else known.objects(code)


def _joined_sheet(connection: sqlite3.Connection, known: Names | None, sheet: str, code: str) -> list[Row]:
    if known is None or known.touched.isdisjoint((code, *known.objects(code))):
        return _sheet(connection, sheet, code)
    rows = [row for own in known.objects(code) for row in _sheet(connection, sheet, own)]
    joined = joined_cells(known, BY_SHEET[sheet], rows)
    return sorted(joined, key=lambda row: [str(row[name]) for name in BY_SHEET[sheet].key])


def _decided(connection: sqlite3.Connection, known: Names | None, table: str, code: str, order: str) -> list[Row]:
    found = [row for own in _numbers(known, code) for row in _of_object(connection, table, own, order)]
    for row in found:
        if known is not None:
            row.update(object=code, proposal=known.code("proposals", row["object"], row["proposal"]))
    return found


def _sheet(connection: sqlite3.Connection, sheet: str, code: str) -> list[Row]:
    record = BY_SHEET[sheet]
    key = _names(record.key)
    names = _names(column.name for column in record.columns())
    live = {
        tuple(row) for row in connection.execute(f"SELECT {key} FROM live_{record.table} WHERE object = ?", (code,))
    }
    found = _rows(
        connection, f"SELECT {names}, survey, from_row FROM {record.table} WHERE object = ? ORDER BY {key}", code
    )
    for row in found:
        row["live"] = tuple(row[name] for name in record.key) in live
    return found


def _of_object(connection: sqlite3.Connection, table: str, code: str, order: str = "") -> list[Row]:
    return _rows(connection, f"SELECT * FROM {table} WHERE object = ? {order}", code)


def _files(connection: sqlite3.Connection, known: Names | None, sheet: str, code: str) -> dict[tuple[str, str], str]:
    """The SHA-256 of the file of each row of a sheet, by the row's key; the newest use by a survey in account holds."""
    own = BY_SHEET[sheet].key[1]
    found = connection.execute(
        f"SELECT r.{own}, u.sha256 FROM {sheet} AS r JOIN file_uses AS u ON u.sheet = '{sheet}' "
        f"AND u.key = r.object || '/' || r.{own} WHERE r.object = ? ORDER BY {OF_THE_WITHDRAWN} DESC, u.change",
        (code,),
    )
    shown = code if known is None else known.object(code)
    return {
        (sheet, f"{shown}/{row if known is None else known.code(sheet, code, row)}"): sha256 for row, sha256 in found
    }


def _names(columns: Any) -> str:
    return ", ".join(f'"{name}"' for name in columns)


def _rows(connection: sqlite3.Connection, sql: str, *values: Any) -> list[Row]:
    cursor = connection.execute(sql, values)
    names = [column[0] for column in cursor.description]
    return [dict(zip(names, row, strict=True)) for row in cursor]
