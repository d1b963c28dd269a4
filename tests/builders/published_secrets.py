"""A database with a secret wherever something is not to be published, and a look into the published files."""

from __future__ import annotations

import contextlib
import re
import sqlite3
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from site_packages import database_of, object_rows, write_package

from collection.output.published.filed_object import published_object
from collection.store.changes import corrections
from collection.store.decide.decisions import decide


class Secrets:
    """Fills cells with words that are found again in a heap of bytes."""

    def __init__(self, word: str) -> None:
        self.word, self.number = word, 0

    def __call__(self, sheet: str, column: str, kind: str) -> str:
        self.number += 1
        if kind == "public":
            return f"{self.word.lower()}shown{self.number:04d}"
        return f"{kind.upper()}{self.word}{self.number:04d}"


def everything(folder: Path) -> bytes:
    """All bytes of all files, the names of the files, and what is compressed in databases."""
    found = []
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            found += [str(path.relative_to(folder)).encode(), path.read_bytes()]
        if path.suffix == ".db":
            found += compressed(path)
    return b"\n".join(found)


def compressed(path: Path) -> Iterator[bytes]:
    """What every compressed value of every table of a database says."""
    connection = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    try:
        for (table,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall():
            for row in connection.execute(f'SELECT * FROM "{table}"'):
                for value in row:
                    if isinstance(value, bytes) and value[:1] == b"\x78":  # CMF of a zlib stream, RFC 1950
                        with contextlib.suppress(zlib.error):
                            yield zlib.decompress(value)
    finally:
        connection.close()


def rows_of(site: Path, sql: str) -> list[tuple[Any, ...]]:
    connection = sqlite3.connect(f"file:{site / 'collection.db'}?mode=ro", uri=True)
    try:
        return connection.execute(sql).fetchall()
    finally:
        connection.close()


def document_of(site: Path, code: str) -> dict[str, Any]:
    connection = sqlite3.connect(f"file:{site / 'collection.db'}?mode=ro", uri=True)
    try:
        published = published_object(connection, code)
        assert published is not None
        return published.document
    finally:
        connection.close()


SECRET = re.compile(rb"PRIVATE\w*|PERSON\w*|STAFF\w*|WITHDRAWN\w*|OLDCONTENT|WHYTOLD|PACKAGENAME|T\. Ester|BBB\w*")


def filled_in_database(folder: Path) -> Path:
    """A database with a secret in every private column, name, note, staff row, withdrawn row and old content."""
    shown = object_rows("PUB/1", Secrets("AAA"))
    for row in shown["zones"] + shown["samples"] + shown["tests"]:
        row["notes"] = "PRIVATENOTE"
    for sheet, code in (("zones", "Z9"), ("samples", "S9"), ("tests", "T9"), ("sources", "Q9")):
        own = dict(shown[sheet][0], audience="staff")
        own[{"zones": "zone", "samples": "sample", "tests": "test", "sources": "source"}[sheet]] = f"STAFF{code}"
        own |= {name: f"STAFF{code}TEXT" for name, value in own.items() if str(value).startswith("aaashown")}
        shown[sheet].append(own)
    hidden = object_rows("STAFFOBJECT", Secrets("BBB"), staff=frozenset({"objects"}))
    hidden = {
        sheet: [
            {name: f"STAFF{value}" if str(value).startswith("bbbshown") else value for name, value in row.items()}
            for row in rows
        ]
        for sheet, rows in hidden.items()
    }
    withdrawn = {"sources": [{"object": "PUB/1", "source": "WITHDRAWNQ", "kind": "letter", "title": "WITHDRAWNTITLE"}]}
    packages = [
        write_package(
            folder / "PACKAGENAME",
            {"code": "S1", "title": "a shown survey", "lead": "PERSONLEAD", "started": "2019-05-01"},
            shown,
        ),
        write_package(
            folder / "p2",
            {"code": "STAFFSURVEY", "title": "STAFFTITLE", "lead": "PERSONLEAD2", "started": "2019-05-01"},
            hidden,
        ),
        write_package(
            folder / "p3",
            {"code": "S3", "title": "OLDCONTENT", "lead": "PERSONLEAD3", "started": "2019-05-01"},
            withdrawn,
        ),
    ]
    path = database_of(folder / "filled_in.db", *packages)
    corrections.withdraw(path, "sources", "PUB/1/WITHDRAWNQ", by="PERSONREGISTRAR", why="WHYTOLD")
    corrections.correct(path, "zones", "PUB/1/Z1", {"name": "OLDCONTENT"}, by="PERSONREGISTRAR", why="WHYTOLD")
    corrections.correct(path, "zones", "PUB/1/Z1", {"name": "newcontent"}, by="PERSONREGISTRAR", why="WHYTOLD")
    decide(path, "PUB/1", "P1", "refuse", by="PERSONDECIDER", reason="reasonshown")
    return path
