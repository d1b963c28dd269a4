"""What a stored table is, and the tables of the sheets, made from the records that declare them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from typing import Any

from collection.language.word_list import WordList
from collection.records.columns import Column
from collection.records.sheets import SHEETS, Record
from collection.values import dates

PRACTICE = "common practice, no published source"


@dataclass(frozen=True, slots=True)
class StoredColumn:
    """One column of a table: its SQL, and what the dictionary says of it."""

    name: str
    sql: str
    meaning: str
    unit: str | None = None
    kind: str = "text"
    words: tuple[str, ...] = ()
    reference: str | None = None
    private: bool = False
    source: str = "the program"


@dataclass(frozen=True, slots=True)
class Reference:
    """A reference from columns of one table to columns of another; empty `to` where only checks hold it."""

    columns: tuple[str, ...]
    table: str
    to: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """One STRICT table. `numbered` says that its key is one INTEGER column that numbers the rows."""

    name: str
    meaning: str
    columns: tuple[StoredColumn, ...]
    key: tuple[str, ...]
    references: tuple[Reference, ...] = ()
    indexes: tuple[str, ...] = ()
    append_only: bool = False
    numbered: bool = False


HANGS_ON: dict[str, tuple[str, ...]] = {
    "sources": ("object",),
    "components": ("object",),
    "drawings": ("object",),
    "zones": ("object", "component"),
    "schemes": ("object",),
    "samples": ("place",),
    "layers": ("sample",),
    "analyses": ("object", "place", "sample", "position"),
    "decorations": ("place",),
    "reserves": ("object",),
    "tests": ("place",),
    "responses": ("test", "scheme", "sample", "position", "decoration"),
    "conditions": ("place",),
    "treatments": ("object",),
    "treatment_steps": ("treatment", "place"),
    "advice": ("object",),
    "claims": ("object",),
    "hazards": ("object",),
    "pictures": ("object", "place", "sample", "test", "treatment"),
    "proposals": ("object",),
    "proposal_steps": ("proposal",),
}
"""Per sheet the references without which a row says nothing, so that it leaves the account with them.

A row whose scheme, source, drawing, parent or proposal was withdrawn still says what was seen, and stays;
so does a reserve, a hazard, a claim or a proposed step whose place was withdrawn: with a reference more in
this table, withdrawing that place would silence an alarm.
"""

PARTS = """json_each('["' || replace(replace(replace({0}, '\\', '\\\\'), '"', '\\"'), '; ', '","') || '"]')"""
"""The parts of a stored cell that holds several, as rows of `value`."""
LOOSE = "replace(replace(lower({0}), ' ', ''), '0', '')"
BEYOND_ASCII = "{0} GLOB '*[^ -~]*'"
NEAR_OBJECTS = (
    f"CREATE INDEX objects_loose ON objects ({LOOSE.format('object')});",
    f"CREATE INDEX objects_beyond_ascii ON objects (object) WHERE {BEYOND_ASCII.format('object')};",
)
"""What two nearly equal codes have in common, in SQLite's own functions: what they leave in doubt is compared exactly.
With it the intake finds a number that is nearly that of a stored object without looking at every object."""


def fills_blank(record: type[Record], column: Column) -> bool:
    """Whether a blank of this column is stored as '' or 0, because it is an optional part of the key."""
    return column.name in record.key and not column.required


def blank_of(column: Column) -> str | int:
    """What a blank optional part of a key is stored as."""
    return 0 if column.is_number else ""


@cache
def stored_names(record: type[Record]) -> tuple[str, ...]:
    """Every column of the record's table in order: the sheet's, each date's bounds, the provenance."""
    return tuple(column.name for column in record_table(record).columns)


@cache
def record_table(record: type[Record]) -> Table:
    """The table of one sheet."""
    columns: list[StoredColumn] = []
    for column in record.columns():
        columns.append(_stored(record, column))
        if column.kind == "date":
            columns.extend(_bounds(record, column))
    columns.extend(_provenance(record))
    return Table(
        record.table,
        record.meaning,
        tuple(columns),
        record.key,
        references=tuple(_references(record)),
        indexes=(
            f"CREATE INDEX {record.table}_withdrawn ON {record.table} (withdrawn) WHERE withdrawn IS NOT NULL;",
            *(NEAR_OBJECTS if record.sheet == "objects" else ()),
        ),
    )


def stored_values(record: Record) -> dict[str, Any]:
    """A record's cells as they are stored: blank parts of a key filled, each date followed by its bounds."""
    row: dict[str, Any] = {}
    for column in record.columns():
        value = getattr(record, column.name)
        if value in (None, ""):
            value = blank_of(column) if fills_blank(type(record), column) else None
        row[column.name] = value
        if column.kind == "date":
            span = dates.bounds(value) if value else None
            row[f"{column.name}_earliest"] = span.earliest if span else None
            row[f"{column.name}_latest"] = span.latest if span else None
    return row


def earlier_content(record: type[Record], content: str) -> dict[str, Any]:
    """A content from the history as a row of today's columns; those that the sheet did not have yet are blank."""
    blank = {column.name: blank_of(column) for column in record.columns() if fills_blank(record, column)}
    return {**dict.fromkeys(stored_names(record)), **blank, **json.loads(content)}


def record_tables() -> tuple[Table, ...]:
    return tuple(record_table(record) for record in SHEETS)


def any_of(name: str, values: tuple[str, ...]) -> str:
    """A closed list as SQLite checks it fastest: `IN (...)` is built anew for every row of executemany."""
    return "(" + " OR ".join(f"{name} = {_literal(value)}" for value in values) + ")"


def _literal(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _stored(record: type[Record], column: Column) -> StoredColumn:
    optional_key = fills_blank(record, column)
    sql_type = {"number": "REAL", "integer": "INTEGER"}.get(column.kind, "TEXT")
    sql = sql_type
    if column.required or optional_key:
        sql += " NOT NULL"
    if column.kind == "list":
        # Of several words in one cell SQL can only say that there are some; the intake reads each.
        sql += f" CHECK ({column.name} <> '')"
    elif column.words is not None and not column.words.open_list:
        allowed = (("",) if optional_key else ()) + column.words.words
        sql += f" CHECK {any_of(column.name, allowed)}"
    elif column.is_number:
        sql += f" CHECK ({column.name} BETWEEN {_bound(record, column)})"
    elif column.required:
        sql += f" CHECK ({column.name} <> '')"
    return StoredColumn(
        column.name,
        sql,
        column.meaning,
        column.unit,
        column.kind,
        column.words.words if column.words else (),
        column.reference,
        column.private,
        _source_of(column),
    )


def _bound(record: type[Record], column: Column) -> str:
    low: float | int = -1e9 if column.low is None else column.low
    high: float | int = 1e9 if column.high is None else column.high
    if fills_blank(record, column):
        low = min(low, 0)
    if column.kind == "integer":
        return f"{int(low)} AND {int(high)}"
    return f"{float(low)!r} AND {float(high)!r}"


_STANDARDS = {
    "CIE L*": "CIE 1976 L*a*b* (ISO/CIE 11664-4)",
    "CIE a*": "CIE 1976 L*a*b* (ISO/CIE 11664-4)",
    "CIE b*": "CIE 1976 L*a*b* (ISO/CIE 11664-4)",
    "GU at 60°": "ISO 2813",
}


def _source_of(column: Column) -> str:
    if column.kind == "date":
        return "Extended Date/Time Format (ISO 8601-2)"
    if column.kind == "points":
        return "the points syntax of SVG"
    if column.words is not None:
        return f"{PRACTICE}; list: {_name_of(column.words)}"
    return _STANDARDS.get(column.unit or "", "the survey's sheet")


def _name_of(words: WordList) -> str:
    return words.name + (", open to new words" if words.open_list else "")


def _bounds(record: type[Record], column: Column) -> list[StoredColumn]:
    name = column.name
    blank = f"({name} = '')" if fills_blank(record, column) else f"({name} IS NULL)"
    first, last = f"{name}_earliest", f"{name}_latest"
    required = " NOT NULL" if column.required else ""
    return [
        StoredColumn(
            first,
            f"TEXT{required} CHECK ({blank} = ({first} IS NULL))",
            f"the earliest day that {name} can mean; 0000-01-01 where that end is open",
            kind="day",
            source="read from the date beside it",
        ),
        StoredColumn(
            last,
            f"TEXT{required} CHECK ({blank} = ({last} IS NULL)) CHECK ({first} <= {last})",
            f"the latest day that {name} can mean; 9999-12-31 where that end is open",
            kind="day",
            source="read from the date beside it",
        ),
    ]


def _provenance(record: type[Record]) -> list[StoredColumn]:
    own = [
        StoredColumn("from_file", "TEXT NOT NULL", "the file of that survey it was last read from"),
        StoredColumn("from_row", "INTEGER", "the row of that file, as a person sees it in the editor", kind="integer"),
        StoredColumn(
            "revision",
            "INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1)",
            "how many contents it has had, this one counted",
            kind="integer",
        ),
        StoredColumn(
            "change",
            "INTEGER NOT NULL",
            "the change that gave it its present content",
            kind="integer",
            reference="changes",
        ),
        StoredColumn(
            "withdrawn",
            "INTEGER",
            "the change that took it out of account; blank = it counts",
            kind="integer",
            reference="changes",
        ),
    ]
    if record.sheet == "survey":
        return own
    return [
        StoredColumn("survey", "TEXT NOT NULL", "the survey that brought it", kind="code", reference="surveys"),
        *own,
    ]


def _references(record: type[Record]) -> list[Reference]:
    # A cell of several codes is held by checks alone.
    found = [_reference(record, column) for column in record.columns() if column.reference and column.kind != "list"]
    if record.sheet != "survey":
        found.append(Reference(("survey",), "surveys", ("code",)))
    found.append(Reference(("change",), "changes", ("number",)))
    found.append(Reference(("withdrawn",), "changes", ("number",)))
    return found


def _reference(record: type[Record], column: Column) -> Reference:
    target = column.reference
    name = column.name
    if target == "objects":
        return Reference((name,), "objects", ("object",))
    if target in ("place", "components"):
        to: tuple[str, ...] = ("object", "place")
        return Reference(("object", name), "places", () if fills_blank(record, column) else to)
    if target == "layers":
        blank = fills_blank(record, column)
        return Reference(("object", "sample", name), "layers", () if blank else ("object", "sample", "position"))
    assert target is not None
    goal = next(sheet for sheet in SHEETS if sheet.sheet == target)
    exact = len(goal.key) == 2 and not fills_blank(record, column)
    return Reference(("object", name), goal.table, goal.key if exact else ())
