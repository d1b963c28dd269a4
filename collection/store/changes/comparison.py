"""Compares the staged package with the stored records: which rows are new, different, the same, or missing.

A blank in the package says nothing, so it is never a difference and never overwrites; `not recorded` is and does. A
stored record whose survey was withdrawn differs too: it counts again only when this survey takes it over. All functions
work inside the caller's transaction.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from typing import Any

from collection.records.sheets import SHEETS, Record
from collection.store.base.files import OF_THE_WITHDRAWN
from collection.store.base.keys import Key
from collection.store.changes import corrected_cells
from collection.store.changes.change import Rows
from collection.store.changes.settlement import PROVENANCE
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


@dataclass(frozen=True, slots=True)
class Differing:
    """A cell in which the package and a stored record differ; `column` is "survey" where the record's own survey was
    withdrawn. `corrected` is the change by which a named person gave the stored value, `survey` whose record it is."""

    row: int
    key: str
    column: str
    stored: Any
    given: Any
    corrected: int | None
    survey: str | None
    object: str | None
    code: str | None


def compare(stage: Stage, record: type[Record], survey: str | None, meant: Collection[str] | None = None) -> Compared:
    """What storing the sheet would do.

    :param survey: the survey's code where it is stored already.
    :param meant: in an amendment the keys of the records of which it may replace what was corrected; None without one.
    """
    missing = _count(stage, _missing(stage, record), {"survey": survey}) if survey is not None else 0
    staged = stage.counts.get(record.sheet, 0)
    if not staged or not _any_stored(stage, record):
        return Compared(staged, 0, 0, 0, missing)
    both = _from_both(stage, record)
    stored = _count(stage, f"SELECT count(*) {both}")
    if not stored:
        return Compared(staged, 0, 0, 0, missing)
    withdrawn = _count(stage, f"SELECT count(*) {both} WHERE m.withdrawn IS NOT NULL")
    _note_others(stage, record, meant)
    changed = _count(stage, f"SELECT count(*) FROM stage.{_others(record)}")
    return Compared(staged - stored, changed, stored - changed - withdrawn, withdrawn, missing)


def differences(stage: Stage, record: type[Record], limit: int) -> tuple[int, list[Differing]]:
    """How many fields differ, and the first of them."""
    cells = [(name, _cell_differs(stage, record, name)) for name in _compared(stage, record)]
    if record.sheet != "survey":
        cells.append(("survey", _ownerless(stage)))
    return _differing(stage, record, limit, _from_others(stage, record), cells)


def corrections_kept(stage: Stage, record: type[Record], limit: int) -> tuple[int, list[Differing]]:
    """How many cells differ and stay as a named person corrected them, and the first of them."""
    cells = [
        (name, f"({_says_other(stage, record, name)}) AND {_stays(record, name)}")
        for name in sorted(stage.staying_columns(record.sheet))
    ]
    return _differing(stage, record, limit, _from_both(stage, record), cells)


def corrections_replaced(stage: Stage, record: type[Record]) -> frozenset[str]:
    """The keys of stored records of which an amendment replaces a correction, because they were named for it."""
    if record.sheet not in stage.columns:
        return frozenset()
    rows = f"s.row IN (SELECT row FROM stage.corrected WHERE sheet = '{record.sheet}' AND NOT stays)"
    found = stage.select(f"SELECT {key_sql(record, 'm')} {_from_both(stage, record)} WHERE {rows}")
    return frozenset(key for (key,) in found)


def _differing(
    stage: Stage, record: type[Record], limit: int, source: str, cells: list[tuple[str, str]]
) -> tuple[int, list[Differing]]:
    count, listed = 0, []
    key = key_sql(record, "m")
    own = "m.survey" if record.sheet != "survey" else "m.code"
    thing = f"m.{record.key[0]}, " + (f"m.{record.key[1]}" if len(record.key) > 1 else "NULL")
    for name, differs in cells:
        stored, given = f"m.{name}", "NULL" if name == "survey" else f"s.{name}"
        if name != "survey" and record.column(name).kind == "file":
            # The name may be the same and the file another.
            stored = f"m.{name} || CASE WHEN m.{name} = s.{name} THEN ' (other content)' ELSE '' END"
        rows = f"{source} WHERE m.withdrawn IS NULL AND ({differs})"
        count += _count(stage, f"SELECT count(*) {rows}")
        corrected = (
            "(SELECT c.change FROM stage.corrected AS c "
            f"WHERE c.sheet = '{record.sheet}' AND c.row = s.row AND c.col = '{name}')"
        )
        listed += [
            Differing(*row)
            for row in stage.select(
                f"SELECT s.row, {key}, '{name}', {stored}, {given}, {corrected}, {own}, {thing} {rows} "
                f"ORDER BY s.row LIMIT {limit}"
            )
        ]
    return count, sorted(listed, key=lambda field: field.row)[:limit]


def withdrawn_keys(stage: Stage, record: type[Record], limit: int) -> list[tuple[int, Key]]:
    """Staged rows whose record is stored and withdrawn, with its key."""
    parts = ", ".join(f"m.{part}" for part in record.key)
    return [
        (row, tuple(key))
        for row, *key in stage.select(
            f"SELECT s.row, {parts} {_from_both(stage, record)} WHERE m.withdrawn IS NOT NULL ORDER BY s.row LIMIT {limit}"
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
    cells = staged_cells(stage, record, new=True)
    return _rows(stage, record, origin, cells, _fresh(stage, record, compared), compared.added)


def other_rows(stage: Stage, record: type[Record], compared: Compared, origin: Origin) -> Rows:
    """The staged rows whose record says something else, with each cell as it is to be."""
    cells = staged_cells(stage, record, new=False)
    rows = _rows(stage, record, origin, cells, f"s.row IN (SELECT row FROM stage.{_others(record)})", compared.changed)
    if record.sheet == "survey":
        return rows
    # The record stays with the survey that brought it, and is taken over where that one was withdrawn.
    theirs = f"m.survey <> :survey AND NOT ({_ownerless(stage)})"
    own = {name: f"CASE WHEN {theirs} THEN m.{name} ELSE {rows.cells[name]} END" for name in PROVENANCE}
    return replace(rows, cells={**rows.cells, **own})


def staged_cells(stage: Stage, record: type[Record], *, new: bool) -> dict[str, str]:
    """The cells of staged rows as SQL: those of new records, or what stored ones come to say, where a blank says
    nothing."""
    given = _given(stage, record)
    if new:
        blank = [column.name for column in record.columns() if fills_blank(record, column) and column.name not in given]
        return {name: f"s.{name}" for name in given} | {name: _staged_key(stage, record, name) for name in blank}
    cleared, staying = stage.cleared_columns(record.sheet), stage.staying_columns(record.sheet)
    cells = {name: _staged_key(stage, record, name) for name in record.key}
    for name in given:
        column = name.removesuffix("_earliest").removesuffix("_latest")
        if column not in record.key:
            said = f"coalesce(s.{name}, m.{name})"
            if column in cleared:
                said = f"CASE WHEN {_is_cleared(record, column)} THEN NULL ELSE {said} END"
            cells[name] = (
                f"CASE WHEN {_stays(record, column)} THEN m.{name} ELSE {said} END" if column in staying else said
            )
    return cells


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
    cells = [_cell_differs(stage, record, name) for name in _compared(stage, record)]
    return " OR ".join((*cells, "0" if record.sheet == "survey" else _ownerless(stage)))


def _cell_differs(stage: Stage, record: type[Record], name: str) -> str:
    said = _says_other(stage, record, name)
    return f"({said} AND NOT {_stays(record, name)})" if name in stage.staying_columns(record.sheet) else said


def _says_other(stage: Stage, record: type[Record], name: str) -> str:
    said = f"(s.{name} IS NOT NULL AND s.{name} IS NOT m.{name})"
    if name in stage.cleared_columns(record.sheet):
        said = f"({said} OR (m.{name} IS NOT NULL AND {_is_cleared(record, name)}))"
    if record.column(name).kind == "file":
        kept = (
            f"(SELECT u.sha256 FROM main.file_uses AS u WHERE u.sheet = '{record.sheet}' AND u.key = "
            f"{key_sql(record, 'm')} AND u.\"column\" = '{name}' ORDER BY {OF_THE_WITHDRAWN}, u.change DESC LIMIT 1)"
        )
        sent = f"(SELECT f.sha256 FROM stage.files AS f WHERE f.name = s.{name})"
        said = f"({said} OR (s.{name} IS NOT NULL AND {kept} IS NOT {sent}))"
    return said


def _stays(record: type[Record], name: str) -> str:
    """Whether a cell stays as a named person corrected it."""
    return f"(s.row IN (SELECT row FROM stage.corrected WHERE sheet = '{record.sheet}' AND col = '{name}' AND stays))"


def _ownerless(stage: Stage) -> str:
    """Whether the survey that a stored record belongs to was withdrawn."""
    gone = "SELECT code FROM main.surveys WHERE withdrawn IS NOT NULL"
    return f"m.survey IN ({gone})" if _count(stage, f"SELECT EXISTS ({gone})") else "0"


def _note_others(stage: Stage, record: type[Record], meant: Collection[str] | None) -> None:
    """Keep the numbers of the rows that differ from what is stored, because they are needed several times."""
    stage.begin_corrected(record.sheet)
    stage.db.execute(f"DROP TABLE IF EXISTS stage.{_others(record)}")
    stage.db.execute(f"CREATE TABLE stage.{_others(record)} (row INTEGER PRIMARY KEY)")
    stage.db.execute(
        f"INSERT INTO stage.{_others(record)} SELECT s.row {_from_both(stage, record)} "
        f"WHERE m.withdrawn IS NULL AND ({_differs(stage, record)}) ORDER BY s.row"
    )
    corrected_cells.note(stage, record, _from_others(stage, record), _compared(stage, record), meant)
    if stage.staying_columns(record.sheet):
        stage.db.execute(
            f"DELETE FROM stage.{_others(record)} WHERE row NOT IN "
            f"(SELECT s.row {_from_others(stage, record)} WHERE {_differs(stage, record)})"
        )


def _from_both(stage: Stage, record: type[Record]) -> str:
    return f"FROM stage.{record.sheet} AS s JOIN main.{record.table} AS m ON {same_key(stage, record)}"


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
