"""A small collection to archive, archives to spoil, and everything in which a database and its copy may differ."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

from coded_package import SHEETS, coded_package

from collection.ingest import load
from collection.output.archive import bag
from collection.store.base import database, files
from collection.store.changes import collection_row, corrections, statements
from collection.store.decide.decisions import decide

BY, WHY = "R. Registrar", "so it stands\nin the register"
DATA = "data/database/collection.db"


def small_collection(room: Path) -> Path:
    """Two objects with pictures and a drawing; corrections, a withdrawal, a rename, decisions, a list; private cells."""
    path = room / "small.db"
    database.create(path)
    load.ingest(path, coded_package(room / "survey", sheets=SHEETS))
    (room / "list.csv").write_text("No,Title,Kind,Shelf\nT9,Sign,sign,12b\n", encoding="utf-8")
    (room / "map.toml").write_text(
        '[survey]\ncode = "list-1"\ntitle = "A list"\nlead = "Nora Pike"\nstarted = "2024-05"\n[list]\n'
        'encoding = "utf-8"\nseparator = ","\nobject = "No"\n[objects]\ntitle = "Title"\nkind = "Kind"\n',
        encoding="utf-8",
    )
    load.ingest(path, room / "list.csv", mapping=room / "map.toml")
    for sheet, key, cell, text in (
        ("objects", "T1", "dimensions", "9.2 m\n“over all”; Å ＝ A\u030a, \\N, ,,"),
        ("objects", "T1", "owner", "=HYPERLINK(1)"),
        ("layers", "T1/S1/3", "thickness_um", "0.30000000000000004"),
        ("samples", "T1/S1", "taken_on", "2018-05~/.."),
        ("samples", "T1/S2", "taken_on", "../1939"),
    ):
        corrections.correct(path, sheet, key, {cell: text}, BY, WHY)
    corrections.withdraw(path, "advice", "T1/V2", BY, WHY)
    statements.rename(path, "zones", "T1/Z2", "panel", BY, WHY)
    decide(path, "T1", "P1", "refuse", by=BY, reason="not now")
    collection_row.state(path, {"code": "HM", "name": "Harbour Museum", "contact": "N. N."}, BY, WHY)
    return path


def stored(path: Path) -> dict[str, Any]:
    """Every row of every table in the order of storing, each cell with its type; the SQL of everything; and each kept file.

    Of a full-text index the words are compared by what it finds, since it stores them as it likes.
    """
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as db:
        found: dict[str, Any] = {
            f"the {kind} {name}": sql
            for kind, name, sql in db.execute("SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE '%fts_%'")
        }
        for name, kind in db.execute("SELECT name, type FROM pragma_table_list WHERE schema = 'main'").fetchall():
            if kind == "table" and not name.startswith("sqlite_"):
                columns = [row[1] for row in db.execute(f'PRAGMA table_info("{name}")')]
                typed = ", ".join(f'typeof("{column}"), "{column}"' for column in columns)
                found[name] = list(map(repr, db.execute(f'SELECT {typed} FROM "{name}" ORDER BY rowid')))
        for pragma in ("user_version", "application_id"):
            found[pragma] = db.execute(f"PRAGMA {pragma}").fetchone()
        found["words"] = db.execute(
            "SELECT rowid FROM documents_fts WHERE documents_fts MATCH 'tram OR sign'"
        ).fetchall()
        named = {sha256 for (sha256,) in db.execute("SELECT sha256 FROM files")}
    found["files"] = {sha256: files.path_of(path, sha256).read_bytes() for sha256 in named}
    return found


def unlike(one: dict[str, Any], other: dict[str, Any]) -> list[str]:
    """In what two databases differ; empty where they are equal."""
    return sorted(name for name in one.keys() | other.keys() if one.get(name) != other.get(name))


def copied(archive: Path, to: Path) -> Path:
    """An archive to spoil."""
    return Path(shutil.copytree(archive, to))


def sealed_again(archive: Path) -> Path:
    """The archive with checksums that fit what stands in it now, as somebody would make them who puts things into it."""
    info = [(label, text) for label, text in bag.said(archive).items() if label != "Payload-Oxum"]
    bag.seal(archive, info)
    return archive


def flip(path: Path, at: int, bit: int = 0) -> None:
    """Turn one bit of a file over."""
    content = bytearray(path.read_bytes())
    content[at] ^= 1 << bit
    path.write_bytes(content)
