"""The floor of the ingest bars: what any checked load of the same files has to do, and nothing more.

One process: csv.reader, one compiled pydantic model validator per row, a plain executemany into plain STRICT
tables without keys, then an FTS5 index over the text of the layers, in one transaction.
"""

from __future__ import annotations

import csv
import sqlite3
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, create_model

from collection.records.columns import LONGEST_TEXT, Column
from collection.records.sheets import BY_SHEET, Record

SQL_TYPE = {"number": "REAL", "integer": "INTEGER"}


def load(package: Path, database: Path) -> int:
    """Every row of the package's CSV files, validated and stored; returns how many."""
    db = sqlite3.connect(database, isolation_level=None)
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=FULL")
    db.execute("PRAGMA cache_size=-16384")
    db.execute("BEGIN")
    rows = 0
    for path in sorted(package.glob("*.csv")):
        record = BY_SHEET[path.stem]
        with open(path, encoding="utf-8", newline="") as file:
            reader = csv.reader(file)
            columns = [record.column(name) for name in next(reader)]
            typed = ", ".join(f"{c.name} {SQL_TYPE.get(c.kind, 'TEXT')}" for c in columns)
            db.execute(f"CREATE TABLE {record.table} ({typed}) STRICT")
            marks = ", ".join("?" * len(columns))
            insert = f"INSERT INTO {record.table} VALUES ({marks})"
            rows += db.executemany(insert, validated(reader, record, columns)).rowcount
            if record.sheet == "layers":
                texts = ", ".join(c.name for c in columns if not c.is_number)
    db.execute(f"CREATE VIRTUAL TABLE layers_fts USING fts5({texts}, content='layers')")
    db.execute("INSERT INTO layers_fts(layers_fts) VALUES('rebuild')")
    db.execute("COMMIT")
    db.close()
    return rows


def validated(rows: Iterable[list[str]], record: type[Record], columns: list[Column]) -> Iterator[tuple[object, ...]]:
    """Rows of a CSV file as the values of a validated model, in the order of the columns."""
    names = [column.name for column in columns]
    validate = model_of(record, columns).__pydantic_validator__.validate_python
    for cells in rows:
        row = validate(dict(zip(names, [cell or None for cell in cells], strict=True)))
        yield tuple(row.__dict__.values())


def model_of(record: type[Record], columns: list[Column]) -> type[BaseModel]:
    """The plainest compiled model of a sheet: closed lists as Literal, bounds on numbers, lengths on text.

    The records themselves check closed lists in Python, which would make this floor easier to beat.
    """
    return create_model(record.__name__, **{column.name: _typed(column) for column in columns})


def _typed(column: Column) -> Any:
    kind: Any
    if column.words is not None and not column.words.open_list:
        kind = Literal[column.words.words]
    elif column.is_number:
        base = {"integer": int, "number": float}[column.kind]
        kind = Annotated[base, Field(ge=column.low, le=column.high)]
    else:
        kind = Annotated[str, Field(max_length=LONGEST_TEXT)]
    return (kind, ...) if column.required else (kind | None, None)
