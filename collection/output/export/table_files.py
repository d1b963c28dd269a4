"""Tables as CSV files (RFC 4180, UTF-8), and what describes them: Table Schema, and CSV on the Web.

The open standards Data Package with Table Schema (version 1, and of version 2 that a column may say by itself what stands
for nothing) and Metadata Vocabulary for Tabular Data (W3C) are read by many programs.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from collection.records.columns import Column
from collection.records.sheets import SHEETS
from collection.store.base import files
from collection.store.changes.collection_row import Collection
from collection.store.schema.tables import Reference, StoredColumn, Table, fills_blank

DESCRIPTION, FORMAT = "datapackage.json", "tabular-data-package"
ON_THE_WEB = "csv-metadata.json"
_TYPES = {"REAL": "number", "INTEGER": "integer", "TEXT": "string"}
_WEB_TYPES = {"number": "double", "integer": "integer", "string": "string"}
_RECORDS = {record.table: record for record in SHEETS}
Json = dict[str, Any]


@dataclass(frozen=True)
class Field:
    """A column of a CSV file. `null` stands for nothing: a blank cell, or a mark where a blank cell is an empty text."""

    name: str
    type: str
    description: str
    source: str = ""
    unit: str | None = None
    private: bool = False
    required: bool = False
    limits: tuple[tuple[str, Any], ...] = ()
    null: str = ""

    @property
    def blank(self) -> str:
        """What a blank cell of it means, as a sentence."""
        if self.null:
            return f"A blank cell is an empty text; {self.null} is nothing recorded (NULL)."
        return "No cell is blank." if self.required else "A blank cell is nothing recorded (NULL)."


@dataclass(frozen=True)
class WrittenTable:
    """A table that stands in a file, with how many rows."""

    name: str
    path: Path
    description: str
    fields: tuple[Field, ...]
    key: tuple[str, ...]
    references: tuple[Reference, ...]
    rows: int


def write_table(
    path: Path,
    table: Table,
    fields: Sequence[Field],
    rows: Iterable[Sequence[Any]],
    references: Iterable[Reference] = (),
) -> WrittenTable:
    """Write the rows of a table, in the order of its fields, to a new file.

    :param references: those that lead from every row to one of another file.
    """
    nulls, number = [field.null for field in fields], 0
    with path.open("w", encoding="utf-8", newline="") as file:
        lines = csv.writer(file)
        lines.writerow(field.name for field in fields)
        for row in rows:
            lines.writerow(
                null if value is None else repr(value) if isinstance(value, float) else value
                for value, null in zip(row, nulls, strict=True)
            )
            number += 1
    meaning = " ".join(table.meaning.split())
    return WrittenTable(table.name, path, meaning, tuple(fields), table.key, tuple(references), number)


def own_column(table: Table, column: StoredColumn) -> Column | None:
    """The sheet's own column; None for what the program adds."""
    record = _RECORDS.get(table.name)
    return next((each for each in record.columns() if each.name == column.name), None) if record else None


def is_blank_part(table: Table, column: StoredColumn) -> bool:
    """Whether a blank of this column is stored as '' or 0."""
    own = own_column(table, column)
    return own is not None and fills_blank(_RECORDS[table.name], own)


def field_of(table: Table, column: StoredColumn, null: str = "", *, as_stored: bool = False) -> Field:
    """A stored column as a column of a file.

    :param as_stored: the blank parts of keys stand there as '' or 0, as they are stored; else as nothing.
    """
    own, blank_part = own_column(table, column), is_blank_part(table, column)
    free = as_stored and blank_part
    limits: dict[str, Any] = {}
    if own is not None and own.is_number and not free:
        limits |= {name: value for name, value in (("minimum", own.low), ("maximum", own.high)) if value is not None}
    if column.words and column.kind == "word" and not (own is not None and own.words and own.words.open_list):
        limits["enum"] = (*([""] if free else []), *column.words)
    # A primary key of whole numbers is never NULL in SQLite, whether its column says so or not.
    required = "NOT NULL" in column.sql or (table.numbered and table.key == (column.name,))
    return Field(
        column.name,
        _TYPES[column.sql.split()[0]],
        column.meaning,
        column.source,
        column.unit,
        column.private,
        required and (as_stored or not blank_part),
        tuple(limits.items()),
        null,
    )


def table_schema(tables: Iterable[WrittenTable], about: Json) -> Json:
    """The description of the files as a Data Package."""
    return {**about, "resources": [_resource(table) for table in tables]}


def about_package(collection: Collection, description: str) -> Json:
    """Whose tables they are, as a Data Package says it."""
    name = re.sub(r"[^a-z0-9._-]+", "-", (collection.code or "").lower()).strip("-") or "collection"
    licence = collection.licence
    told: Json = {"profile": FORMAT, "name": name}
    if collection.name:
        told["title"] = collection.name
        told["contributors"] = [{"title": collection.name, "role": "publisher"}]
    if collection.address:
        told["homepage"] = collection.address
    if licence:
        told["licenses"] = [{"path" if re.match("https?://", licence) else "name": licence}]
    return {**told, "description": description}


def _resource(table: WrittenTable) -> Json:
    schema: Json = {
        "fields": [_table_schema_field(field) for field in table.fields],
        "missingValues": [""],
        "primaryKey": list(table.key),
    }
    if table.references:
        schema["foreignKeys"] = [
            {"fields": list(each.columns), "reference": {"resource": each.table, "fields": list(each.to)}}
            for each in table.references
        ]
    return {
        "profile": "tabular-data-resource",
        "name": table.name,
        "path": table.path.name,
        "description": table.description,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"lineTerminator": "\r\n", "quoteChar": '"', "doubleQuote": True, "delimiter": ","},
        "bytes": table.path.stat().st_size,
        "hash": f"sha256:{files.hash_of(table.path)}",
        "schema": schema,
    }


def _table_schema_field(field: Field) -> Json:
    told: Json = {"name": field.name, "type": field.type, "description": field.description, "blank": field.blank}
    if field.source:
        told["source"] = field.source
    if field.unit:
        told["unit"] = field.unit
    if field.private:
        told["private"] = True
    if field.null:
        told["missingValues"] = [field.null]
    limits = {name: list(value) if isinstance(value, tuple) else value for name, value in field.limits}
    if field.required:
        limits = {"required": True, **limits}
    if limits:
        told["constraints"] = limits
    return told


def on_the_web(tables: Sequence[WrittenTable], title: str | None, description: str) -> Json:
    """The description of the files as CSV on the Web has it, where every row leads somewhere by a foreign key."""
    paths = {table.name: table.path.name for table in tables}
    return {
        "@context": ["http://www.w3.org/ns/csvw", {"@language": "en"}],
        **({"dc:title": title} if title else {}),
        "dc:description": description,
        "dialect": {"encoding": "utf-8", "lineTerminators": ["\r\n"], "header": True},
        "tables": [
            {
                "url": table.path.name,
                "dc:description": table.description,
                "tableSchema": {
                    "columns": [_web_column(field) for field in table.fields],
                    "primaryKey": list(table.key),
                    "foreignKeys": [
                        {
                            "columnReference": list(each.columns),
                            "reference": {"resource": paths[each.table], "columnReference": list(each.to)},
                        }
                        for each in table.references
                        if {field.name for field in table.fields if field.required}.issuperset(each.columns)
                    ],
                },
            }
            for table in tables
        ],
    }


def _web_column(field: Field) -> Json:
    limits = dict(field.limits)
    kind: Json = {"base": _WEB_TYPES[field.type]}
    kind |= {name: limits[name] for name in ("minimum", "maximum") if name in limits}
    return {
        "name": field.name,
        "titles": field.name,
        "datatype": kind,
        "required": field.required,
        "null": field.null,
        "dc:description": f"{field.description}{f', {field.unit}' if field.unit else ''}. {field.blank}",
    }
