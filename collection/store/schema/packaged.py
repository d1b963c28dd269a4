"""The schema that comes with the program: migrations, guards, dictionary and reference tables, checked."""

from __future__ import annotations

import csv
import hashlib
import io
import re
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources.abc import Traversable

from collection.language.errors import OurFault
from collection.store.schema import dictionary, freeze
from collection.store.schema.reference_tables import REFERENCE
from collection.store.schema.tables import Table
from collection.values import resources

_NAME = re.compile(r"([0-9]{4})_[a-z0-9_]+\.sql")
Value = str | float | None


@dataclass(frozen=True, slots=True)
class Migration:
    """One step of the schema: its number, file name, text and the hash of the text."""

    version: int
    name: str
    text: str
    sha256: str


@cache
def migrations() -> tuple[Migration, ...]:
    """The migrations of this program in order.

    :raises OurFault: when one is missing, altered, unlisted or out of sequence.
    """
    return read_migrations(resources.schema_folder())


def read_migrations(schema: Traversable) -> tuple[Migration, ...]:
    """The migrations of a schema folder, held against its list of checksums.

    :raises OurFault: as `migrations`.
    """
    listed = {}
    for line in schema.joinpath("CHECKSUMS").read_text(encoding="utf-8").splitlines():
        sha256, _, name = line.partition("  migrations/")
        listed[name] = sha256
    found = []
    for entry in sorted(schema.joinpath("migrations").iterdir(), key=lambda e: e.name):
        match = _NAME.fullmatch(entry.name)
        if match is None:
            if entry.name.endswith(".sql"):
                raise OurFault(f"The migration {entry.name!r} is not named like 0001_records.sql.")
            continue
        content = entry.read_bytes()
        sha256 = hashlib.sha256(content).hexdigest()
        known = listed.pop(entry.name, None)
        if known is None:
            raise OurFault(f"The migration {entry.name} is not in CHECKSUMS: run `{freeze.COMMAND}`.")
        if known != sha256:
            raise OurFault(
                f"The migration {entry.name} is not what CHECKSUMS lists: the installation is damaged. "
                f"Install firstcoat again; in a checkout, where it is being written, run `{freeze.COMMAND}`."
            )
        found.append(Migration(int(match[1]), entry.name, content.decode("utf-8"), sha256))
    if listed or [m.version for m in found] != list(range(1, len(found) + 1)):
        raise OurFault(
            "The migrations are not numbered without a gap: the installation is damaged. Install firstcoat again."
        )
    return tuple(found)


def newest_version() -> int:
    """The schema version that this program works with."""
    return migrations()[-1].version


@cache
def guards() -> str:
    """The SQL of every trigger."""
    return resources.schema_file("guards.sql").read_text(encoding="utf-8")


@cache
def dictionary_rows() -> tuple[dictionary.Row, ...]:
    """The rows of the packaged data dictionary."""
    return tuple(dictionary.read_csv(resources.schema_file("dictionary.csv").read_text(encoding="utf-8")))


def reference_rows(file: str, table: Table) -> list[tuple[Value, ...]]:
    """The rows of one file of schema/reference in the order of its table's columns; a blank is NULL.

    :raises OurFault: when the file's columns are not the table's.
    """
    text = resources.schema_file(f"reference/{file}").read_text(encoding="utf-8")
    reader = csv.reader(io.StringIO(text))
    names = tuple(column.name for column in table.columns)
    if tuple(next(reader)) != names:
        raise OurFault(f"The reference table {file} has other columns than {table.name}.")
    numbers = [column.kind == "number" for column in table.columns]
    keys = [name in table.key for name in names]
    return [
        tuple(
            (float(cell) if number else cell) if cell else ("" if key else None)
            for cell, number, key in zip(row, numbers, keys, strict=True)
        )
        for row in reader
    ]


def reference_tables() -> Iterator[tuple[Table, list[tuple[Value, ...]]]]:
    """Every reference table with its rows."""
    for file, table in REFERENCE.items():
        yield table, reference_rows(file, table)


def statements(script: str, name: str) -> Iterator[str]:
    """The statements of a script, split where SQLite itself says that one is complete.

    :raises OurFault: when the last statement is not complete.
    """
    start = at = 0
    while (at := script.find(";", at) + 1) > 0:
        if sqlite3.complete_statement(script[start:at]):
            yield script[start:at].strip()
            start = at
    rest = re.sub(r"--[^\n]*|/\*.*?\*/", "", script[start:], flags=re.S).strip()
    if rest:
        raise OurFault(f"The script {name} ends in the middle of a statement: {rest[:60]!r}.")
