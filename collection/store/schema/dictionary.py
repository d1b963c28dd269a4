"""The data dictionary: one row per table and per column, the same in the file and beside it as CSV."""

from __future__ import annotations

import csv
import io

from collection.records.sheets import SHEETS
from collection.store.schema.ddl import tables
from collection.store.schema.system_tables import DICTIONARY

COLUMNS = tuple(column.name for column in DICTIONARY.columns)
Row = tuple[str, str, str, str | None, str, str | None, str | None, int, str]

VIRTUAL = {"documents_fts": "Derived: the full-text index over documents."}


def rows() -> list[Row]:
    """Every table and column in the order of the schema; the columns are those of the table `dictionary`."""
    found: list[Row] = []
    for table in tables():
        found.append((table.name, "", " ".join(table.meaning.split()), None, "table", None, None, 0, "the program"))
        found.extend(
            (
                table.name,
                c.name,
                c.meaning,
                c.unit,
                c.kind,
                "|".join(c.words) or None,
                c.reference,
                int(c.private),
                c.source,
            )
            for c in table.columns
        )
    for name, meaning in VIRTUAL.items():
        found.append((name, "", meaning, None, "table", None, None, 0, "the program"))
    found.append(
        (
            "live_places",
            "",
            "Parts, zones and whole objects that are in account.",
            None,
            "view",
            None,
            None,
            0,
            "the program",
        )
    )
    found.extend(
        (
            f"live_{record.table}",
            "",
            f"Rows of {record.table} in account: neither they, nor their survey, nor what "
            "they hang on is withdrawn; columns as there.",
            None,
            "view",
            None,
            None,
            0,
            "the program",
        )
        for record in SHEETS
    )
    return found


def as_csv() -> str:
    """The dictionary as CSV (RFC 4180 quoting, lines ending in a line feed)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(rows())
    return out.getvalue()


def read_csv(text: str) -> list[Row]:
    """The rows of a dictionary CSV; a blank in an optional column is None."""
    reader = csv.reader(io.StringIO(text))
    next(reader)
    return [
        (t, c, meaning, unit or None, kind, words or None, ref or None, int(private), source)
        for t, c, meaning, unit, kind, words, ref, private, source in reader
    ]
