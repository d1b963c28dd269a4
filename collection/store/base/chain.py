"""Who changed what, why and when. The changes form a chain: each carries the hash of the one before it.

`content_sha256` covers what the change wrote besides the records themselves: the contents it replaced, decisions,
overrides, answers, files, packages, warnings and the like. `hash` covers the change's own row, that digest and the hash before
it, so nothing earlier can be altered without breaking every later hash. Hashes are SHA-256 (FIPS 180-4) of canonical
JSON, one row to a line.
"""

from __future__ import annotations

import hashlib
import sqlite3
from datetime import UTC, datetime

import collection
from collection.language.errors import BadValue, OurFault, WrongCommand
from collection.records import cells
from collection.records.facts import canonical_json
from collection.store.schema.system_tables import (
    ANSWERS,
    CHANGES,
    COLLECTION,
    DECISIONS,
    FILE_USES,
    FILES,
    FIRST_MADE,
    HISTORY,
    OVERRIDES,
    PACKAGES,
    SAME,
    TAGS,
    UNMAPPED,
    WARNINGS,
)

DIGESTED = (
    HISTORY,
    DECISIONS,
    OVERRIDES,
    PACKAGES,
    FILES,
    FILE_USES,
    WARNINGS,
    UNMAPPED,
    SAME,
    ANSWERS,
    COLLECTION,
    FIRST_MADE,
    TAGS,
)
"""The tables that `content_sha256` covers, in this order; rows go in the order of their key."""
LATER = {UNMAPPED.name: "list_row"}
"""Columns that came when rows of their table had been sealed already: a blank in one is left out, as it was then."""
MADE_AT = "coalesce((SELECT f.at FROM first_made AS f WHERE f.change = c.number), c.at)"
"""When a change `c` was made, as SQL: for one that came in with an export of another database, when it was made there."""
_CHAINED = tuple(c.name for c in CHANGES.columns if c.name != "hash")


def begin_change(
    db: sqlite3.Connection, by: str, why: str, action: str, subject: str, package_sha256: str | None = None
) -> int:
    """Open a change inside the running transaction and give its number.

    :raises WrongCommand: when nobody, or no reason, is named.
    """
    if not db.in_transaction:
        raise OurFault("A change was begun outside a transaction.")
    number = int(db.execute("SELECT coalesce(max(number), 0) + 1 FROM changes").fetchone()[0])
    db.execute(
        "INSERT INTO changes (number, at, by, why, action, subject, tool_version, package_sha256) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (
            number,
            datetime.now(UTC).isoformat(timespec="milliseconds"),
            _said(by, "who makes the change"),
            _said(why, "the reason for the change"),
            action,
            subject,
            collection.__version__,
            package_sha256,
        ),
    )
    return number


def seal_change(db: sqlite3.Connection, number: int) -> None:
    """Close a change, and any earlier one still open: from now on nothing can be written under it."""
    for (still_open,) in db.execute(
        "SELECT number FROM changes WHERE hash IS NULL AND number <= ? ORDER BY number", (number,)
    ).fetchall():
        _seal(db, still_open)


def seal_open_changes(db: sqlite3.Connection) -> None:
    """Close every change that is still open."""
    newest = db.execute("SELECT max(number) FROM changes WHERE hash IS NULL").fetchone()[0]
    if newest is not None:
        seal_change(db, newest)


def content_digest(db: sqlite3.Connection, number: int) -> str:
    """The hash of every row that a change wrote besides the records. A file of an earlier version has fewer tables;
    the missing ones count as empty."""
    digest = hashlib.sha256()
    there = {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    for table in (table for table in DIGESTED if table.name in there):
        names = [column.name for column in table.columns]
        later = LATER.get(table.name)
        if later and later not in {row[1] for row in db.execute(f"PRAGMA table_info({table.name})")}:
            names.remove(later)
        for row in db.execute(
            f"SELECT {', '.join(names)} FROM {table.name} WHERE change = ? ORDER BY {', '.join(table.key)}", (number,)
        ):
            told = row if later is None else [c for n, c in zip(names, row, strict=True) if n != later or c is not None]
            digest.update(canonical_json([table.name, *told]).encode() + b"\n")
    return digest.hexdigest()


def chain_hash(row: tuple[object, ...]) -> str:
    """The hash of one change: of every column but the hash itself, in the order of the table."""
    return hashlib.sha256(canonical_json(list(row)).encode()).hexdigest()


def chained(db: sqlite3.Connection, number: int | None = None) -> sqlite3.Cursor:
    """The rows of `changes` without their hash, in order, or just the one with this number."""
    where, values = ("", ()) if number is None else (" WHERE number = ?", (number,))
    return db.execute(f"SELECT {', '.join(_CHAINED)} FROM changes{where} ORDER BY number", values)


def _seal(db: sqlite3.Connection, number: int) -> None:
    before = db.execute("SELECT hash FROM changes WHERE number = ?", (number - 1,)).fetchone()
    row = dict(zip(_CHAINED, chained(db, number).fetchone(), strict=True))
    row["content_sha256"] = content_digest(db, number)
    row["previous_hash"] = before[0] if before else ""
    db.execute(
        "UPDATE changes SET content_sha256 = ?, previous_hash = ?, hash = ? WHERE number = ?",
        (row["content_sha256"], row["previous_hash"], chain_hash(tuple(row.values())), number),
    )


def _said(text: str, what: str) -> str:
    try:
        said = cells.clean(text or "")
    except BadValue as fault:
        raise WrongCommand(f"{what.capitalize()}: {fault}") from fault
    if not said:
        raise WrongCommand(f"Say {what}: nothing is changed without it.")
    return said
