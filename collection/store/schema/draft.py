"""Drafts the next migration: `python -m collection.store.schema.draft what_it_does` in a checkout.

It compares what the migrations make with what the records and the program's own tables say, and writes the SQL that
brings the one to the other. A changed table is made anew, because SQLite adds columns at the end only and cannot change
a check: its rows wait in a temporary table and come back in the order in which they were stored. Triggers are not
drafted: whoever runs migrations makes them again from guards.sql.
"""

from __future__ import annotations

import re
import sqlite3
import sys
import textwrap
from collections.abc import Iterable
from pathlib import Path

from collection.records.sheets import SHEETS
from collection.store.schema import ddl, freeze
from collection.store.schema.derived_tables import DERIVED
from collection.store.schema.tables import Table, blank_of, fills_blank

Schema = dict[str, str]
"""The SQL of each table with its indexes, and of each view, by name."""
TO_BE_SAID = "TO_BE_SAID"
_FILLED_AGAIN = "INSERT INTO documents_fts (documents_fts) VALUES ('rebuild');"
COMMAND = "python -m collection.store.schema.draft"


class NeedsAHand(Exception):
    """The change cannot be drafted at all."""


def made_by(scripts: Iterable[str]) -> Schema:
    """The schema that scripts make one after the other; triggers left out."""
    db = sqlite3.connect(":memory:")
    try:
        for script in scripts:
            db.executescript(script)
        found: Schema = {}
        for name, sql in db.execute(
            "SELECT tbl_name, sql FROM sqlite_master WHERE type <> 'trigger' AND name NOT LIKE 'sqlite_%' "
            "AND name NOT LIKE 'documents_fts_%' ORDER BY type = 'table' DESC, rowid"
        ):
            found[name] = f"{found[name]}\n{sql};" if name in found else f"{sql};"
        return found
    finally:
        db.close()


def differences(before: Schema, after: Schema) -> list[str]:
    """Where the schema that the migrations make is not that of the records: a sentence for each table or view."""
    found = []
    for name in sorted(before.keys() | after.keys()):
        old, new = before.get(name), after.get(name)
        if old == new:
            continue
        if old is None or new is None:
            found.append(f"{name} is {'made by no migration' if old is None else 'in no record'}.")
            continue
        had, has = ({}, {}) if _is_view(new) else (_columns(old), _columns(new))
        told = [f"{name}.{column} is made by no migration" for column in has if column not in had]
        told += [f"{name}.{column} is in no record" for column in had if column not in has]
        told += [
            f"{name}.{column} is other than the migrations make it"
            for column in has
            if column in had and has[column] != had[column]
        ]
        found.append("; ".join(told or [f"{name} is other than the migrations make it"]) + ".")
    return found


def draft(before: Schema) -> str:
    """The SQL of a migration from the schema `before` to that of the records; empty where they are the same.

    :raises NeedsAHand: when a table is gone.
    """
    after = made_by([ddl.schema_sql()])
    gone = [name for name in before if name not in after and not _is_view(before[name])]
    if gone:
        raise NeedsAHand(f"{', '.join(gone)}: a table is gone or renamed. Write by hand where its rows go.")
    parts = []
    for table in ddl.tables():
        if table.name not in before:
            parts.append(_with_indexes(table))
        elif before[table.name] != after[table.name]:
            kept = rebuild(table, tuple(_columns(before[table.name])))
            parts.append(_computed_again(table) if table in DERIVED and TO_BE_SAID in kept else kept)
    if before["documents_fts"] != after["documents_fts"]:
        parts.append(f"DROP TABLE documents_fts;\n{after['documents_fts']}\n{_FILLED_AGAIN}\n")
    parts += [f"DROP VIEW {n};\n" for n, sql in before.items() if _is_view(sql) and after.get(n) != sql]
    parts += [f"{sql}\n" for n, sql in after.items() if _is_view(sql) and before.get(n) != sql]
    return "\n".join(parts)


def rebuild(table: Table, had: tuple[str, ...]) -> str:
    """The SQL that makes a table anew and keeps its rows; `had` is the columns that it had, in order. `TO_BE_SAID` stands
    where only a person knows what a stored row gets: in a required column, and in every new one where an old one is
    gone."""
    names = [column.name for column in table.columns]
    new, gone = [name for name in names if name not in had], [name for name in had if name not in names]
    kept = [name for name in names if name in had]
    filled = dict.fromkeys(new, TO_BE_SAID) if gone else _filled(table, new)
    told = ", ".join(new) or "its checks"
    return "\n".join(
        [
            f"-- {table.name}: {told}.",
            *([f"-- Gone: {', '.join(gone)}. What stood there has to stay somewhere."] if gone else []),
            f"CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM {table.name};",
            f"DROP TABLE {table.name};",
            _without_note(ddl.create_table(table)),
            _wrapped(f"INSERT INTO {table.name} ({', '.join([*kept, *filled])})"),
            _wrapped(f"SELECT {', '.join([*kept, *filled.values()])}"),
            "FROM temp.waiting ORDER BY nth;",
            "DROP TABLE temp.waiting;",
            *table.indexes,
            "",
        ]
    )


def _computed_again(table: Table) -> str:
    """A derived table made anew and empty: nobody has to say what its rows get, they are computed from the records again."""
    return "\n".join(
        [
            f"-- {table.name}: computed again.",
            f"DROP TABLE {table.name};",
            _without_note(ddl.create_table(table)),
            *table.indexes,
            "UPDATE facts SET stale = 1;",
            "",
        ]
    )


def _with_indexes(table: Table) -> str:
    return "\n".join([f"-- {table.name}: a new table.", _without_note(ddl.create_table(table)), *table.indexes, ""])


def _filled(table: Table, new: list[str]) -> dict[str, str]:
    """What stored rows get in each new column that must not be NULL: in an optional part of a key its blank."""
    record = next((sheet for sheet in SHEETS if sheet.table == table.name), None)
    own = {} if record is None else {column.name: column for column in record.columns()}
    found = {}
    for name in new:
        sql = next(column.sql for column in table.columns if column.name == name)
        if record is not None and name in own and fills_blank(record, own[name]):
            found[name] = repr(blank_of(own[name]))
        elif " NOT NULL" in sql and " DEFAULT " not in sql:
            found[name] = TO_BE_SAID
    return found


def _without_note(sql: str) -> str:
    return "\n".join(line for line in sql.splitlines() if not line.startswith("-- "))


def _wrapped(text: str) -> str:
    return textwrap.fill(text, 118, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)


def _is_view(sql: str) -> bool:
    return sql.startswith("CREATE VIEW")


def _columns(sql: str) -> dict[str, str]:
    """The definition of each column of a table of ours, which has one a line."""
    found = {}
    for line in sql.partition(") STRICT")[0].splitlines()[1:]:
        name, _, rest = line.strip().removesuffix(",").partition(" ")
        if name not in ("PRIMARY", "FOREIGN", "CHECK"):
            found[name] = rest.strip()
    return found


def landed(schema: Path) -> list[str]:
    """The text of each migration below the folder `schema`, in order."""
    return [path.read_text(encoding="utf-8") for path in sorted((schema / "migrations").glob("*.sql"))]


def asked_for(schema: Path) -> str:
    """What to do where the migrations below the folder `schema` do not make what the records say, and why; empty where
    they do."""
    try:
        told = differences(made_by(landed(schema)), made_by([ddl.schema_sql()]))
    except sqlite3.Error as error:
        return f"A migration does not run: {error}."
    return f"Run `{COMMAND} what_it_does`, then `{freeze.COMMAND}`: {' '.join(told)}" if told else ""


def write(schema: Path, purpose: str) -> Path | None:
    """Write the draft below the folder `schema` as the next migration; None where nothing has changed."""
    before = landed(schema)
    text = draft(made_by(before))
    if not text:
        return None
    number = len(before) + 1
    path = schema / "migrations" / f"{number:04d}_{purpose}.sql"
    path.write_text(f"-- Version {number}: {purpose.replace('_', ' ')}.\n\n{text}", encoding="utf-8", newline="\n")
    return path


if __name__ == "__main__":
    if len(sys.argv) != 2 or not re.fullmatch("[a-z0-9_]+", sys.argv[1]):
        sys.exit(f"Say what it is for, in small letters with _ between the words: {COMMAND} what_it_does")
    try:
        written = write(Path(__file__).resolve().parents[3] / "schema", sys.argv[1])
    except NeedsAHand as told:
        sys.exit(str(told))
    print(
        f"{written} is drafted. Read it, then run `{freeze.COMMAND}`."
        if written
        else "The migrations make what the records say already."
    )
