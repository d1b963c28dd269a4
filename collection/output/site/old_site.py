"""The site that is replaced: what was computed for an object there, if it was computed from the same records.

The rows are taken out of its tables as they stand, counted from 1 again in each, so that the new file numbers them as it
numbers those that were computed anew.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from pathlib import Path
from typing import Any

from collection.output.published.filed_object import FiledObject
from collection.output.published.published_pictures import PublishedPictures, put
from collection.output.site.checksums import checksum, read_checksums
from collection.output.site.object_rows import ObjectRows
from collection.output.site.papers import KINDS, PAPERS, paper_name
from collection.output.site.site_tables import DATABASE, WITH_FILES

Row = dict[str, Any]

PICTURES = "pictures"


class OldSite:
    """The published file of the old site, and its images. Nothing is taken from one that is no longer as it was made."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._checksums = read_checksums(folder)
        self._connection: sqlite3.Connection | None = None
        path = folder / f"{DATABASE}.db"
        if checksum(path) != self._checksums.get(path.name):
            return
        connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True)
        if connection.execute("select count(*) from sqlite_master where name = 'computed'").fetchone() == (0,):
            connection.close()
            return
        connection.row_factory = _as_dict
        self._connection = connection
        self._columns = {
            row["name"]: [column["name"] for column in connection.execute(f"PRAGMA table_info({row['name']})")]
            for row in connection.execute("select name from sqlite_master where type = 'table'")
        }
        self._tables = [table for table, columns in self._columns.items() if "object_id" in columns]
        self._links = {
            table: {row["from"]: row["table"] for row in connection.execute(f"PRAGMA foreign_key_list({table})")}
            for table in ["objects", *self._tables]
        }

    def take(self, code: str, inputs: str, pictures: PublishedPictures, with_papers: bool) -> ObjectRows | None:
        """The rows of an object that were computed from the same inputs, its images and papers copied; None where there
        are none, or one of those is no longer as it was made."""
        if self._connection is None:
            return None
        same = self._connection.execute(
            "select o.id, c.left_out from objects as o join computed as c on c.object_id = o.id where o.object = ? and "
            "c.inputs = ?",
            (code, inputs),
        ).fetchone()
        if same is None:
            return None
        document = FiledObject(self._connection, same["id"])
        rows = [row for sheet in WITH_FILES for row in document[sheet]]
        names = {row["file"] for row in rows if row.get("file")}
        small = self._connection.execute("select thumb from glances where object_id = ?", (same["id"],)).fetchone()
        names |= {small["thumb"]} if small and small["thumb"] else set()
        images = {name: self._file(PICTURES, name) for name in sorted(names)}
        written = [paper_name(code, kind) for kind in KINDS] if with_papers else []
        papers = {name: self._file(PAPERS, name) for name in written}
        if None in images.values() or None in papers.values():
            return None
        for name, content in papers.items():
            put(pictures.folder.parent / PAPERS / name, content or b"")
        for name, content in images.items():
            pictures.put(name, content or b"")
        return ObjectRows(code, self._rows(same["id"]), document["withheld"], json.loads(same["left_out"]), True)

    def close(self) -> None:
        if self._connection is not None:
            self._connection.close()

    def _rows(self, number: int) -> dict[str, list[Row]]:
        assert self._connection is not None
        found = {"objects": self._connection.execute("select * from objects where id = ?", (number,)).fetchall()}
        for table in self._tables:
            sql = f"select * from {table} where object_id = ? order by id"
            if rows := self._connection.execute(sql, (number,)).fetchall():
                found[table] = rows
        before = {table: rows[0]["id"] - 1 for table, rows in found.items()}
        for table, rows in found.items():
            own = [(name, before[target]) for name, target in self._links[table].items() if target in before]
            for row in rows:
                del row["id"]
                for name, first in own:
                    if row[name] is not None:
                        row[name] -= first
        return found

    def _file(self, folder: str, name: str) -> bytes | None:
        """A file of the old site; None where it is no longer as it was."""
        try:
            content = (self._folder / folder / name).read_bytes()
        except OSError:
            return None
        return content if hashlib.sha256(content).hexdigest() == self._checksums.get(f"{folder}/{name}") else None


def _as_dict(cursor: sqlite3.Cursor, values: tuple[Any, ...]) -> Row:
    return {column[0]: value for column, value in zip(cursor.description, values, strict=True)}
