"""What a new survey of known objects starts from: their rows, the codes in use, and the files they name."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from collection.records.codes import CODE_COLUMN, fold
from collection.records.sheets import BY_SHEET, Record, Survey
from collection.store.base import keys, names
from collection.store.base.files import OF_THE_WITHDRAWN
from collection.store.schema.tables import fills_blank

KEPT_BACK = frozenset({"notes"})
"""Left out like private columns: a prepared sheet leaves the house, and a blank cell in it changes nothing."""


def rows_in_account(db: sqlite3.Connection, record: type[Record], object_code: str) -> list[Record]:
    """An object's rows of one sheet that count, sorted by key, without private cells and notes."""
    listed = []
    for column in record.columns():
        if column.private or column.name in KEPT_BACK:
            listed.append("NULL")
        elif fills_blank(record, column):
            listed.append(f"nullif({column.name}, {0 if column.is_number else chr(39) * 2})")
        else:
            listed.append(column.name)
    columns = [column.name for column in record.columns()]
    known = names.load(db)
    sql = f"SELECT {', '.join(listed)} FROM live_{record.table} WHERE object = ? ORDER BY {', '.join(record.key)}"
    rows = [
        dict(zip(columns, row, strict=True))
        for own in ((object_code,) if known is None else known.objects(object_code))
        for row in db.execute(sql, (own,))
    ]
    return [record.model_construct(**(row if known is None else known.renamed(record, row))) for row in rows]


def codes_in_use(db: sqlite3.Connection, sheets: Iterable[str]) -> frozenset[str]:
    """Every code of these sheets on any object, withdrawn ones too, folded as codes are compared."""
    known = names.load(db)
    given = () if known is None else (name[2] or name[1] for name in known.stored_as)
    return frozenset(
        fold(code) or ""
        for sheet in sheets
        for (code,) in db.execute(f"SELECT DISTINCT {CODE_COLUMN[sheet]} FROM {BY_SHEET[sheet].table}")
    ) | {fold(code) or "" for code in given}


def files_named(db: sqlite3.Connection, sheet: str, key: str) -> str | None:
    """The SHA-256 of the file that a record names now, None where none is kept."""
    stored = keys.shown(sheet, keys.find(db, sheet, key))
    row = db.execute(
        "SELECT u.sha256 FROM file_uses AS u WHERE u.sheet = ? AND u.key = ? "
        f"ORDER BY {OF_THE_WITHDRAWN}, u.change DESC LIMIT 1",
        (sheet, stored),
    ).fetchone()
    return None if row is None else str(row[0])


def survey_row(db: sqlite3.Connection, code: str) -> Survey | None:
    """A stored survey that counts, without its notes."""
    columns = [column.name for column in Survey.columns()]
    row = db.execute(
        f"SELECT {', '.join(columns)} FROM surveys WHERE code = ? AND withdrawn IS NULL", (code,)
    ).fetchone()
    return None if row is None else Survey.model_construct(**dict(zip(columns, row, strict=True)))
