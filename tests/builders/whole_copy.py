"""A database, its export and the copy made of that, and everything in which two databases may differ."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from pathlib import Path

from collection.ingest.whole_database import ingest_export
from collection.output.export.package import export_package
from collection.store.base import database, files

OWN_TIME = {
    "changes": ("at", "tool_version", "content_sha256", "previous_hash", "hash"),
    "history": ("id",),
    "documents": ("id",),
}
"""What a copy cannot keep: its chain is stamped by its own clock. Rows are numbered in the order of computing."""
LEFT_OUT = ("first_made", "migrations", "documents_fts")
"""When changes were made elsewhere, which only a copy knows; when the file was made; the index over `documents`."""


@dataclass(frozen=True)
class Left:
    """A database, what it was written out as, and what was made of that."""

    source: Path
    out: Path
    copy: Path


def copied(source: Path, room: Path) -> tuple[Path, Path]:
    """The export of a database and a new database that took it in."""
    out, copy = room / "out", room / "copy.db"
    export_package(source, out)
    database.create(copy)
    ingest_export(copy, out)
    return out, copy


def everything(path: Path) -> dict[str, list[str]]:
    """Every row of every table by table, each value exact to the last bit; but for what a copy cannot keep."""
    db = sqlite3.connect(path)
    try:
        found = {}
        for (table,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall():
            if not table.startswith(LEFT_OUT):
                columns = [row[1] for row in db.execute(f"PRAGMA table_info({table})")]
                names = ", ".join(f'"{name}"' for name in columns if name not in OWN_TIME.get(table, ()))
                found[table] = sorted(map(repr, db.execute(f"SELECT {names} FROM {table}")))
        # A kill may leave a file that was being copied, which `check` names and nobody needs.
        kept = (file.relative_to(files.folder_of(path)) for file in files.kept(path) if file.suffix != ".partial")
        found["kept files"] = sorted(map(str, kept))
        return found
    finally:
        db.close()


def told_apart(one: Path, two: Path) -> dict[str, list[str]]:
    """The rows that only one of two databases has, by table; empty where they are equal."""
    first, second = everything(one), everything(two)
    return {
        table: sorted(set(first.get(table, [])) ^ set(second.get(table, [])))[:6]
        for table in first.keys() | second.keys()
        if first.get(table) != second.get(table)
    }


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder by its name."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
