"""Keys as people write them, `OBJECT/CODE[/…]`, and the stored record that each one means.

Only an object's number may contain `/`, so a key is split from the right. Two things make that harder: a date may
contain one `/` too (1924/1931), and optional parts at the end are left out. So one text may be read in several ways.
The database says which of them exists, and writing a `/` at the end for each blank part makes any key clear.
"""

from __future__ import annotations

import difflib
import sqlite3
from collections.abc import Iterator
from typing import Any

from collection.language.errors import BadValue, Fault, InputRefused, NotFound
from collection.records.columns import Column
from collection.records.row import key_text
from collection.records.sheets import BY_SHEET, Record
from collection.store.base import names
from collection.store.schema.tables import blank_of, fills_blank
from collection.values import dates

Part = str | int
Key = tuple[Part, ...]

NEAREST_AMONG = 20_000


def split_key(sheet: str, text: str) -> Key:
    """The parts of a key, with blank optional parts as they are stored. Where a text can be read in several ways, the
    one with the most parts.

    :raises InputRefused: when the text has no reading as a key of this sheet.
    """
    for reading in readings(BY_SHEET[sheet], text):
        return reading
    raise _no_key(sheet, text)


def find(db: sqlite3.Connection, sheet: str, text: str) -> Key:
    """The stored key of the record that a text names, in stored, present or former codes, in account or not.

    :raises NotFound: when there is none, with the nearest key.
    :raises InputRefused: when the text could mean two records, or is no key.
    """
    record = BY_SHEET[sheet]
    found = [reading for reading in readings(record, text) if _is_stored(db, record, reading)]
    known = None if found or sheet == "survey" else names.load(db)
    if known is not None:
        meant = {
            key
            for reading in readings(record, text)
            for key in known.readings(record, reading)
            if _is_stored(db, record, key)
        }
        if len(meant) > 1:
            stored = ", ".join(sorted(shown(sheet, key) for key in meant))
            raise _refused(
                sheet,
                text,
                "This is one thing with several records. Name the one that is meant by the "
                f"code it was stored under: {stored}.",
                None,
            )
        found = list(meant)
    if len(found) == 1:
        return found[0]
    if found:
        raise _refused(
            sheet,
            text,
            f"This may name {len(found)} records. Write a / for each part that is blank, as in {full_text(found[0])}.",
            full_text(found[0]),
        )
    if next(readings(record, text), None) is None:
        raise _no_key(sheet, text)
    raise NotFound([_fault(sheet, text, f"There is no such record in {sheet}.", _nearest(db, record, text))])


def shown(sheet: str, key: Key) -> str:
    """A stored key as people write it; the same text that the history keeps."""
    record = BY_SHEET[sheet]
    return key_text(
        sheet,
        [
            None if fills_blank(record, record.column(name)) and part in ("", 0) else part
            for name, part in zip(record.key, key, strict=True)
        ],
    )


def full_text(key: Key) -> str:
    """A stored key with its blank parts written out, so that it can be read in one way only."""
    return "/".join("" if part in ("", 0) else str(part) for part in key)


def where(record: type[Record], alias: str = "") -> str:
    """SQL that matches one key; the key's parts are its parameters."""
    return " AND ".join(f"{alias}{name} = ?" for name in record.key)


def readings(record: type[Record], text: str) -> Iterator[Key]:
    """Every way to read a text as a key of the sheet, those with most parts written first."""
    columns = [record.column(name) for name in record.key]
    if len(columns) == 1:
        if text:
            yield (text,)
        return
    pieces = text.split("/")
    seen: set[Key] = set()
    for split in range(1, len(pieces) + 1):
        code = "/".join(pieces[:split])
        for rest in _rest(record, columns[1:], pieces[split:]):
            key = (code, *rest)
            if code and key not in seen:
                seen.add(key)
                yield key


def _rest(record: type[Record], columns: list[Column], pieces: list[str]) -> Iterator[Key]:
    if not columns:
        if not pieces:
            yield ()
        return
    column, blank = columns[0], fills_blank(record, columns[0])
    if not pieces:
        if all(fills_blank(record, c) for c in columns):
            yield tuple(blank_of(c) for c in columns)
        return
    for width in (2, 1) if column.kind == "date" else (1,):
        if len(pieces) < width:
            continue
        written = "/".join(pieces[:width])
        part = blank_of(column) if blank and not written else _part(column, written)
        if part is not None:
            for rest in _rest(record, columns[1:], pieces[width:]):
                yield (part, *rest)


def _part(column: Column, text: str) -> Part | None:
    if column.kind == "integer":
        return int(text) if text.isascii() and text.isdigit() and len(text) <= 9 else None
    if column.kind == "date":
        try:
            dates.bounds(text)
        except BadValue:
            return None
    elif column.words is not None and not column.words.open_list and text not in column.words.words:
        return None
    return text or None


def _is_stored(db: sqlite3.Connection, record: type[Record], key: Key) -> bool:
    return db.execute(f"SELECT 1 FROM {record.table} WHERE {where(record)}", key).fetchone() is not None


def _nearest(db: sqlite3.Connection, record: type[Record], text: str) -> str | None:
    """The stored key most like a text: among the records of its object, or else among the objects."""
    for reading in readings(record, text):
        if record.key[0] == "object":
            rows: list[Any] = db.execute(
                f"SELECT {', '.join(record.key)} FROM {record.table} WHERE object = ? LIMIT ?",
                (reading[0], NEAREST_AMONG),
            ).fetchall()
            if rows:
                return _closest(text, [shown(record.sheet, tuple(row)) for row in rows])
    rows = db.execute(f"SELECT DISTINCT {record.key[0]} FROM {record.table} LIMIT ?", (NEAREST_AMONG,)).fetchall()
    return _closest(text if len(record.key) == 1 else str(split_key(record.sheet, text)[0]), [row[0] for row in rows])


def _closest(text: str, known: list[str]) -> str | None:
    close = difflib.get_close_matches(text, known, n=1, cutoff=0.5)
    return close[0] if close else None


def _no_key(sheet: str, text: str) -> InputRefused:
    form = "/".join(name.upper() for name in BY_SHEET[sheet].key)
    return _refused(sheet, text, f"A key of {sheet} is written {form}.", None)


def _refused(sheet: str, text: str, message: str, nearest: str | None) -> InputRefused:
    return InputRefused([_fault(sheet, text, message, nearest)])


def _fault(sheet: str, text: str, message: str, nearest: str | None) -> Fault:
    return Fault("the database", sheet, None, None, f"{sheet} {text}", message, nearest)
