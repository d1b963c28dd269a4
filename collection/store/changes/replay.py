"""Makes a change of another database again: the same rows under the same number, by the same person, for the same reason.

Nothing is judged anew: what a change once wrote is written as it was, so that rules that came later alter no past. The
change is stamped by the clock of today and enters the chain like any other; when it was first made stands beside it, in
`first_made`.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from collection.language.errors import CouldNot
from collection.records.row import Record
from collection.records.sheets import SHEETS, Survey
from collection.store.base import names
from collection.store.changes import corrections, statements
from collection.store.changes.change import Change, Rows, change, refused
from collection.store.changes.comparison import same_key, staged_cells
from collection.store.changes.steps import CARRIED, Step
from collection.store.schema.system_tables import FIRST_MADE, SAME
from collection.store.schema.tables import Table
from collection.store.stage.stage import Stage

Carried = Mapping[str, Sequence[Mapping[str, Any]]]
"""Rows of the program's own tables, by table."""
Provenance = tuple[str, int, str | None, str, int | None, int, int | None]
"""Of one staged row: sheet, row; then survey, from_file, from_row, revision and withdrawn, as they stood."""


def stage_provenance(stage: Stage, rows: Iterable[Provenance]) -> None:
    """Tell the stage which of its rows the change wrote, and where each came from."""
    stage.db.execute(
        "CREATE TABLE stage.written (sheet TEXT, row INTEGER, survey TEXT, from_file TEXT, from_row INTEGER, "
        "revision INTEGER, withdrawn INTEGER, PRIMARY KEY (sheet, row))"
    )
    stage.db.execute("BEGIN")
    stage.db.executemany("INSERT INTO stage.written VALUES (?, ?, ?, ?, ?, ?, ?)", rows)
    stage.db.execute("COMMIT")


def replay(stage: Stage, step: Step, carried: Carried) -> None:
    """Make one change again inside the running transaction.

    A staged row of revision 1 is a new record. Of others the filled cells replace what is stored, and the cleared ones
    clear it.

    :raises InputRefused: where records that are read as one would not say the same, or a record is not as it stood
        before this change.
    :raises CouldNot: where the database holds another change already.
    """
    db = stage.db
    before = names.load(db)
    with change(db, step.by, step.why, step.action, step.subject, package=step.package_sha256, derived_up_to=0) as made:
        if made.number != step.number:
            raise CouldNot("Somebody else changed the database meanwhile, so that the export no longer fits it.")
        for record in SHEETS:
            if record.sheet in stage.columns:
                _write(stage, record, made)
        for table in CARRIED:
            _insert(db, table, carried.get(table.name, ()))
        for row in carried.get(SAME.name, ()):
            nodes = (names.node_of(row["sheet"], row["key"]), names.node_of(row["sheet"], row["same_as"]))
            made.touch(statements.objects_about(db, before or names.Names((), {}), *nodes))
        first = {"change": made.number, "at": step.at, "tool_version": step.tool_version, "hash": step.hash}
        _insert(db, FIRST_MADE, [first])


def _write(stage: Stage, record: type[Record], made: Change) -> None:
    counts = {
        new: int(
            stage.db.execute(
                f"SELECT count(*) FROM stage.written WHERE sheet = ? AND revision {'=' if new else '>'} 1",
                (record.sheet,),
            ).fetchone()[0]
        )
        for new in (False, True)
    }
    if counts[False]:
        _refuse_missing(stage, record, counts[False])
        made.update(_rows(stage, record, counts[False], new=False))
    if counts[True]:
        made.insert(_rows(stage, record, counts[True], new=True))
    if record is Survey:
        for (code,) in stage.db.execute("SELECT code FROM stage.survey").fetchall() if counts[False] else ():
            made.touch(corrections.objects_of_survey(stage.db, code))
    elif counts[False] or counts[True]:
        made.touch(code for (code,) in stage.db.execute(f"SELECT DISTINCT object FROM stage.{record.sheet}"))


def _rows(stage: Stage, record: type[Record], count: int, *, new: bool) -> Rows:
    """The staged rows as an ingest would write them, but for where they come from, which stays as it was."""
    cells = staged_cells(stage, record, new=new)
    cells |= {name: f"p.{name}" for name in ("from_file", "from_row", "withdrawn")}
    if record is not Survey:
        cells["survey"] = "p.survey"
    source = f"(stage.{record.sheet} AS s JOIN stage.written AS p ON p.sheet = '{record.sheet}' AND p.row = s.row)"
    return Rows(record, cells, {}, source, f"p.revision {'=' if new else '>'} 1", count)


def _refuse_missing(stage: Stage, record: type[Record], count: int) -> None:
    found = stage.db.execute(
        f"SELECT count(*) FROM stage.{record.sheet} AS s JOIN stage.written AS p ON p.sheet = ? AND p.row = s.row "
        f"JOIN main.{record.table} AS m ON {same_key(stage, record)} "
        "WHERE p.revision > 1 AND m.revision = p.revision - 1",
        (record.sheet,),
    ).fetchone()[0]
    if found != count:
        told = "record is not as it" if count - found == 1 else "records are not as they"
        raise refused(record.sheet, "", f"{count - found} {told} stood before this change.")


def _insert(db: sqlite3.Connection, table: Table, rows: Iterable[Mapping[str, Any]]) -> None:
    columns = [column.name for column in table.columns]
    quoted = ", ".join(f'"{name}"' for name in columns)
    db.executemany(
        f"INSERT INTO main.{table.name} ({quoted}) VALUES ({', '.join('?' * len(columns))})",
        ([row[name] for name in columns] for row in rows),
    )
