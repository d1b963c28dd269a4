"""Compares the staged package with the stored records: which rows are new, different, the same, or missing.

A blank in the package says nothing, so it is never a difference and never overwrites; `not recorded` is and does. All
functions work inside the caller's transaction.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from collection.records.sheets import SHEETS, Record
from collection.store.changes.change import Rows
from collection.store.schema.guards import key_sql
from collection.store.schema.tables import fills_blank
from collection.store.stage.stage import Stage


@dataclass(frozen=True, slots=True)
class Compared:
    """How many rows of one sheet are new, different, the same or withdrawn, and how many this survey stored and did
    not send."""

    added: int
    changed: int
    unchanged: int
    withdrawn: int
    missing: int


@dataclass(frozen=True, slots=True)
class Origin:
    """The survey that staged rows come from, and the file of each sheet."""

    survey: str
    files: dict[str, str]


def staged_records(stage: Stage) -> Iterator[type[Record]]:
    """The staged sheets, each after those it points to."""
    return (record for record in SHEETS if record.sheet in stage.columns)


def compare(stage: Stage, record: type[Record], survey: str | None) -> Compared:
    """What storing the sheet would do; `survey` is the survey's code where it is stored already."""
    missing = _count(stage, _missing(stage, record), {"survey": survey}) if survey is not None else 0
    staged = stage.counts.get(record.sheet, 0)
    if not staged or not _any_stored(stage, record):
        return Compared(staged, 0, 0, 0, missing)
    both = f"FROM stage.{record.sheet} AS s JOIN main.{record.table} AS m ON {same_key(stage, record)}"
    stored = _count(stage, f"SELECT count(*) {both}")
    if not stored:
        return Compared(staged, 0, 0, 0, missing)
    withdrawn = _count(stage, f"SELECT count(*) {both} WHERE m.withdrawn IS NOT NULL")
    _note_others(stage, record)
    changed = _count(stage, f"SELECT count(*) FROM stage.{_others(record)}")
    return Compared(staged - stored, changed, stored - changed - withdrawn, withdrawn, missing)


def differences(stage: Stage, record: type[Record], limit: int) -> tuple[int, list[tuple[Any, ...]]]:
    """How many fields differ, and the first of them: staged row, key, column, stored value, given value."""
    both = f"{_from_others(stage, record)} WHERE "
    count, listed = 0, []
    key = key_sql(record, "m")
    for name in _compared(stage, record):
        differs = _cell_differs(stage, record, name)
        count += _count(stage, f"SELECT count(*) {both}({differs})")
        stored, given = f"m.{name}", f"s.{name}"
        if record.column(name).kind == "file":
            # The name may be the same and the file another.
            stored = f"m.{name} || CASE WHEN m.{name} = s.{name} THEN ' (other content)' ELSE '' END"
        listed += list(
            stage.select(
                f"SELECT s.row, {key}, '{name}', {stored}, {given} {both}({differs}) ORDER BY s.row LIMIT {limit}"
            )
        )
    return count, sorted(listed, key=lambda field: field[0])[:limit]


def withdrawn_keys(stage: Stage, record: type[Record], limit: int) -> list[tuple[int, str]]:
    """Staged rows whose record is stored and withdrawn, with its key."""
    return [
        (row[0], row[1])
        for row in stage.select(
            f"SELECT s.row, {key_sql(record, 'm')} FROM stage.{record.sheet} AS s JOIN main.{record.table} AS m "
            f"ON {same_key(stage, record)} WHERE m.withdrawn IS NOT NULL ORDER BY s.row LIMIT {limit}"
        )
    ]


def touch(stage: Stage, record: type[Record], compared: Compared) -> None:
    """Note the objects of which storing the sheet would add or change anything."""
    if compared.changed:
        _touch(stage, record, _from_others(stage, record))
    if compared.added:
        _touch(stage, record, f"FROM stage.{record.sheet} AS s WHERE {_fresh(stage, record, compared)}")


def new_rows(stage: Stage, record: type[Record], compared: Compared, origin: Origin) -> Rows:
    """The staged rows whose record is not stored."""
    given = _given(stage, record)
    blank = [column.name for column in record.columns() if fills_blank(record, column) and column.name not in given]
    cells = {name: f"s.{name}" for name in given} | {name: _staged_key(stage, record, name) for name in blank}
    return _rows(stage, record, origin, cells, _fresh(stage, record, compared), compared.added)


def other_rows(stage: Stage, record: type[Record], compared: Compared, origin: Origin) -> Rows:
    """The staged rows whose record says something else, with each cell as it is to be."""
    cleared = stage.cleared_columns(record.sheet)
    cells = {name: _staged_key(stage, record, name) for name in record.key}
    for name in _given(stage, record):
        column = name.removesuffix("_earliest").removesuffix("_latest")
        if column not in record.key:
            said = f"coalesce(s.{name}, m.{name})"
            cells[name] = (
                f"CASE WHEN {_is_cleared(record, column)} THEN NULL ELSE {said} END" if column in cleared else said
            )
    return _rows(stage, record, origin, cells, f"s.row IN (SELECT row FROM stage.{_others(record)})", compared.changed)


def _rows(stage: Stage, record: type[Record], origin: Origin, cells: dict[str, str], where: str, count: int) -> Rows:
    provenance = {"from_file": ":file", "from_row": _from_row(stage, record)}
    if record.sheet != "survey":
        provenance["survey"] = ":survey"
    values = {"survey": origin.survey, "file": origin.files[record.sheet]}
    return Rows(record, cells | provenance, values, f"stage.{record.sheet} AS s", where, count)


def _fresh(stage: Stage, record: type[Record], compared: Compared) -> str:
    if compared.added == stage.counts[record.sheet]:
        return "true"
    return f"NOT EXISTS (SELECT 1 FROM main.{record.table} AS m WHERE {same_key(stage, record)})"


def _any_stored(stage: Stage, record: type[Record]) -> bool:
    return bool(_count(stage, f"SELECT EXISTS (SELECT 1 FROM main.{record.table})"))


def _count(stage: Stage, sql: str, values: Any = ()) -> int:
    return int(stage.db.execute(sql, values).fetchone()[0])


def same_key(stage: Stage, record: type[Record]) -> str:
    # The plus keeps SQLite from walking through all that is stored to look each up in the stage.
    return " AND ".join(f"m.{name} = +{_staged_key(stage, record, name)}" for name in record.key)


def _staged_key(stage: Stage, record: type[Record], name: str) -> str:
    """A part of the key in the stage; blank where it is optional and the package has no column for it."""
    if stage.holds(record.sheet, name):
        return f"s.{name}"
    return "0" if record.column(name).is_number else "''"


def _missing(stage: Stage, record: type[Record]) -> str:
    own = "code" if record.sheet == "survey" else "survey"
    absent = (
        ""
        if record.sheet not in stage.columns
        else (
            f" AND NOT EXISTS (SELECT 1 FROM stage.{record.sheet} AS s WHERE {same_key(stage, record).replace('+', '')})"
        )
    )
    return f"SELECT count(*) FROM main.{record.table} AS m WHERE m.{own} = :survey AND m.withdrawn IS NULL{absent}"


def _compared(stage: Stage, record: type[Record]) -> list[str]:
    """The columns that the package gives and that may differ."""
    return [
        column.name
        for column in record.columns()
        if column.name not in record.key and stage.holds(record.sheet, column.name)
    ]


def _differs(stage: Stage, record: type[Record]) -> str:
    return " OR ".join(_cell_differs(stage, record, name) for name in _compared(stage, record)) or "0"


def _cell_differs(stage: Stage, record: type[Record], name: str) -> str:
    said = f"(s.{name} IS NOT NULL AND s.{name} IS NOT m.{name})"
    if name in stage.cleared_columns(record.sheet):
        said = f"({said} OR (m.{name} IS NOT NULL AND {_is_cleared(record, name)}))"
    if record.column(name).kind == "file":
        kept = (
            f"(SELECT u.sha256 FROM main.file_uses AS u WHERE u.sheet = '{record.sheet}' AND u.key = "
            f"{key_sql(record, 'm')} AND u.\"column\" = '{name}' ORDER BY u.change DESC LIMIT 1)"
        )
        sent = f"(SELECT f.sha256 FROM stage.files AS f WHERE f.name = s.{name})"
        said = f"({said} OR (s.{name} IS NOT NULL AND {kept} IS NOT {sent}))"
    return said


def _note_others(stage: Stage, record: type[Record]) -> None:
    """Keep the numbers of the rows that differ from what is stored, because they are needed several times."""
    stage.db.execute(f"DROP TABLE IF EXISTS stage.{_others(record)}")
    stage.db.execute(f"CREATE TABLE stage.{_others(record)} (row INTEGER PRIMARY KEY)")
    stage.db.execute(
        f"INSERT INTO stage.{_others(record)} SELECT s.row FROM stage.{record.sheet} AS s "
        f"JOIN main.{record.table} AS m ON {same_key(stage, record)} "
        f"WHERE m.withdrawn IS NULL AND ({_differs(stage, record)}) ORDER BY s.row"
    )


def _others(record: type[Record]) -> str:
    return f"other_{record.sheet}"


def _from_others(stage: Stage, record: type[Record]) -> str:
    return (
        f"FROM stage.{_others(record)} AS o CROSS JOIN stage.{record.sheet} AS s ON s.row = o.row "
        f"CROSS JOIN main.{record.table} AS m ON {same_key(stage, record)}"
    )


def _is_cleared(record: type[Record], name: str) -> str:
    return f"s.row IN (SELECT row FROM stage.cleared WHERE sheet = '{record.sheet}' AND col = '{name}')"


def _touch(stage: Stage, record: type[Record], rows: str) -> None:
    if "object" in record.key:
        stage.db.execute(f"INSERT OR IGNORE INTO stage.touched SELECT DISTINCT s.object {rows}")


def _given(stage: Stage, record: type[Record]) -> list[str]:
    """The sheet's columns that are staged, each date followed by its bounds."""
    names = []
    for column in record.columns():
        if stage.holds(record.sheet, column.name):
            names.append(column.name)
            if column.kind == "date":
                names += [f"{column.name}_earliest", f"{column.name}_latest"]
    return names


def _from_row(stage: Stage, record: type[Record]) -> str:
    """The row number that the person sees in the file; for a list that is not the number of the staged row."""
    if not stage.listed:
        return "s.row"
    listed = f"SELECT l.list_row FROM stage.list_rows AS l WHERE l.sheet = '{record.sheet}' AND l.row = s.row"
    return f"coalesce(({listed}), s.row)"
