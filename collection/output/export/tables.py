"""`export --as csv`: the records in account as CSV, with a description of each column beside them."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, ClassVar

from collection.language.sentences import counted
from collection.output.export.new_folder import new_folder
from collection.output.export.table_files import (
    DESCRIPTION,
    about_package,
    field_of,
    is_blank_part,
    table_schema,
    write_table,
)
from collection.records.sheets import SHEETS
from collection.store.base import database
from collection.store.base.live_rows import live_rows, live_tables
from collection.store.changes import collection_row
from collection.store.schema.tables import HANGS_ON, Reference, StoredColumn, Table

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
_SHEET_OF = {record.table: record.sheet for record in SHEETS}


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
        tables = live_tables()
        names = {table.name for table, _ in tables}
        written = []
        for table, columns in tables:
            blanks = [is_blank_part(table, column) for column in columns]
            written.append(
                write_table(
                    folder / f"{table.name}.csv",
                    table,
                    [field_of(table, column) for column in columns],
                    (_cells(row, blanks) for row in live_rows(db, table, columns)),
                    [reference for reference in table.references if _holds(table, reference, names)],
                )
            )
        whose = collection_row.present(db)
        asked = f"Questions: {whose.contact}. " if whose.contact else ""
        described = table_schema(written, about_package(whose, f"{_TOLD}{asked}{WHOLE}"))
        (folder / DESCRIPTION).write_text(json.dumps(described, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return TablesReport(str(out), {table.name: table.rows for table in written})


def _cells(row: tuple[Any, ...], blanks: list[bool]) -> list[Any]:
    return [None if blank and not value else value for value, blank in zip(row, blanks, strict=True)]


def _holds(table: Table, reference: Reference, written: set[str]) -> bool:
    """Whether every row of a table that counts points to one that counts as well. Of a reference in which one part is
    blank programs that read Table Schema say that it leads nowhere, so only whole ones are told."""
    if not reference.to or reference.table not in written or not is_whole(table, reference):
        return False
    if table.name not in _SHEET_OF:
        return reference.table not in _SHEET_OF
    return reference.columns in (("survey",), ("change",)) or reference.columns[-1] in HANGS_ON.get(
        _SHEET_OF[table.name], ()
    )


def is_whole(table: Table, reference: Reference) -> bool:
    """Whether no part of a reference is ever blank."""

    def needed(column: StoredColumn) -> bool:
        return "NOT NULL" in column.sql and not is_blank_part(table, column)

    return {column.name for column in table.columns if needed(column)}.issuperset(reference.columns)
