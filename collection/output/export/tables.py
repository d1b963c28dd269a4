"""`export --as csv`: every table as CSV (RFC 4180, UTF-8), with a description of each column beside them.

The description, `datapackage.json`, follows the open standard Data Package with Table Schema (version 1), which many
programs read.
"""

from __future__ import annotations

import csv
import json
import re
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, ClassVar

from collection.language.sentences import counted
from collection.output.export.new_folder import new_folder
from collection.records.columns import Column
from collection.records.row import Record
from collection.records.sheets import SHEETS
from collection.store.base import database, files
from collection.store.base.live_rows import live_rows, live_tables
from collection.store.changes import collection_row
from collection.store.changes.collection_row import Collection
from collection.store.schema.tables import HANGS_ON, Reference, StoredColumn, Table, fills_blank

DESCRIPTION, FORMAT = "datapackage.json", "tabular-data-package"
WHOLE = "Private columns, notes and the names of people are in it: it is for staff."
NOT_IN_IT = (
    "Not in it are withdrawn records, what was said before, the kept files themselves, and what is computed from the "
    "records; --as package takes all but the last."
)
_TOLD = (
    "The records in account of a firstcoat database, as they are stored. Codes are those under which things were handed "
    "in; same_things says which of them are one thing or were renamed. Numbers have all their digits. Read the columns "
    "as text where a text may begin with =, which a spreadsheet would compute. "
)
_TYPES = {"REAL": "number", "INTEGER": "integer", "TEXT": "string"}
_RECORDS = {record.table: record for record in SHEETS}


@dataclass(frozen=True)
class TablesReport:
    """What was exported: rows by table."""

    folder: str
    rows: dict[str, int]
    damaged: ClassVar[bool] = False

    def as_json(self) -> dict[str, Any]:
        return {"format": 1, **asdict(self)}

    def sentences(self) -> list[str]:
        return [
            f"{self.folder}: {counted(sum(self.rows.values()), 'row')} of {counted(len(self.rows), 'table')}, and what "
            f"each column means in {DESCRIPTION}.",
            f"  {WHOLE}",
            f"  {NOT_IN_IT}",
        ]


def export_tables(db_path: Path, out: Path) -> TablesReport:
    """Write every table to a new folder.

    :raises WrongCommand: where something of that name is there already.
    :raises CouldNot: where the database cannot be read or the folder cannot be written; no folder is left.
    """
    with new_folder(out, db_path) as folder, database.opened(db_path, write=False) as db:
        db.execute("BEGIN")  # one snapshot, whoever writes meanwhile
        rows: dict[str, int] = {}
        resources = []
        tables = live_tables()
        written = {table.name for table, _ in tables}
        for table, columns in tables:
            path = folder / f"{table.name}.csv"
            blanks = [column.name for column in columns if _is_blank_part(table, column)]
            with path.open("w", encoding="utf-8", newline="") as file:
                lines = csv.writer(file)
                lines.writerow(column.name for column in columns)
                rows[table.name] = 0
                for row in live_rows(db, table, columns):
                    lines.writerow(_cells(row, columns, blanks))
                    rows[table.name] += 1
            resources.append(_resource(table, columns, path, written))
        described = {**_whose(collection_row.present(db)), "resources": resources}
        (folder / DESCRIPTION).write_text(json.dumps(described, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return TablesReport(str(out), rows)


def _cells(row: tuple[Any, ...], columns: tuple[StoredColumn, ...], blanks: list[str]) -> list[Any]:
    return [
        ""
        if value is None or (column.name in blanks and not value)
        else repr(value)
        if isinstance(value, float)
        else value
        for value, column in zip(row, columns, strict=True)
    ]


def _whose(collection: Collection) -> dict[str, Any]:
    name = re.sub(r"[^a-z0-9._-]+", "-", (collection.code or "").lower()).strip("-") or "collection"
    licence = collection.licence
    told: dict[str, Any] = {"profile": FORMAT, "name": name}
    if collection.name:
        told["title"] = collection.name
        told["contributors"] = [{"title": collection.name, "role": "publisher"}]
    if collection.address:
        told["homepage"] = collection.address
    if licence:
        told["licenses"] = [{"path" if re.match("https?://", licence) else "name": licence}]
    asked = f"Questions: {collection.contact}. " if collection.contact else ""
    return {**told, "description": f"{_TOLD}{asked}{WHOLE}"}


def _resource(table: Table, columns: tuple[StoredColumn, ...], path: Path, written: set[str]) -> dict[str, Any]:
    schema: dict[str, Any] = {
        "fields": [_field(table, column) for column in columns],
        "missingValues": [""],
        "primaryKey": list(table.key),
    }
    keys = [_foreign(reference) for reference in table.references if _holds(table, reference, written)]
    if keys:
        schema["foreignKeys"] = keys
    return {
        "profile": "tabular-data-resource",
        "name": table.name,
        "path": path.name,
        "description": " ".join(table.meaning.split()),
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"lineTerminator": "\r\n", "quoteChar": '"', "doubleQuote": True, "delimiter": ","},
        "bytes": path.stat().st_size,
        "hash": f"sha256:{files.hash_of(path)}",
        "schema": schema,
    }


def _field(table: Table, column: StoredColumn) -> dict[str, Any]:
    told: dict[str, Any] = {
        "name": column.name,
        "type": _TYPES[column.sql.split()[0]],
        "description": column.meaning,
        "source": column.source,
    }
    if column.unit:
        told["unit"] = column.unit
    if column.private:
        told["private"] = True
    own = _own(table, column)
    limits: dict[str, Any] = {}
    if "NOT NULL" in column.sql and not _is_blank_part(table, column):
        limits["required"] = True
    if own is not None and own.is_number:
        limits |= {name: value for name, value in (("minimum", own.low), ("maximum", own.high)) if value is not None}
    if column.words and column.kind == "word" and not (own is not None and own.words and own.words.open_list):
        limits["enum"] = list(column.words)
    if limits:
        told["constraints"] = limits
    return told


def _own(table: Table, column: StoredColumn) -> Column | None:
    """The sheet's own column; None for what the program adds."""
    record: type[Record] | None = _RECORDS.get(table.name)
    return next((each for each in record.columns() if each.name == column.name), None) if record else None


def _is_blank_part(table: Table, column: StoredColumn) -> bool:
    """Whether a blank of this column is stored as '' or 0."""
    own = _own(table, column)
    return own is not None and fills_blank(_RECORDS[table.name], own)


def _holds(table: Table, reference: Reference, written: set[str]) -> bool:
    """Whether every row of a table that counts points to one that counts as well. Of a reference in which one part is
    blank programs that read Table Schema say that it leads nowhere, so only whole ones are told."""
    needed = {column.name for column in table.columns if "NOT NULL" in column.sql and not _is_blank_part(table, column)}
    if not reference.to or reference.table not in written or not needed.issuperset(reference.columns):
        return False
    if table.name not in _RECORDS:
        return reference.table not in _RECORDS
    return reference.columns in (("survey",), ("change",)) or reference.columns[-1] in HANGS_ON.get(
        _RECORDS[table.name].sheet, ()
    )


def _foreign(reference: Reference) -> dict[str, Any]:
    return {"fields": list(reference.columns), "reference": {"resource": reference.table, "fields": list(reference.to)}}
