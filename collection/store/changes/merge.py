"""The staged package against the stored records: what is new, the same, other or missing; then one merge.

A blank in the package says nothing, so it is never a difference and never overwrites; `not recorded` does
both. All functions work inside the caller's transaction.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from collection.records.codes import fold
from collection.records.sheets import SHEETS, Record
from collection.store.schema.guards import key_sql
from collection.store.schema.tables import fills_blank
from collection.store.stage.stage import Stage

LIFTED_FROM = 5_000
"""Staged rows from which on a merge lifts the guard against overwriting while it inserts."""

PLACED = {"objects": ("'all'", "all"), "components": ("s.component", "component"), "zones": ("s.zone", "zone")}
"""Sheets whose rows are places, with the place and its kind."""


@dataclass(frozen=True, slots=True)
class Compared:
    """How many rows of one sheet are new, other, the same, withdrawn, or stored by this survey and not sent."""

    added: int
    changed: int
    unchanged: int
    withdrawn: int
    missing: int


@dataclass(frozen=True, slots=True)
class Origin:
    """What the merge writes beside a record's own columns."""

    survey: str
    change: int
    files: dict[str, str]
    """The file of each sheet."""


def staged_records(stage: Stage) -> Iterator[type[Record]]:
    """The staged sheets, each after those it points to."""
    return (record for record in SHEETS if record.sheet in stage.columns)


def compare(stage: Stage, record: type[Record], survey: str | None) -> Compared:
    """What storing the sheet would do; `survey` is the survey's code where it is stored already."""
    missing = _count(stage, _missing(stage, record), {"survey": survey}) if survey is not None else 0
    staged = stage.counts.get(record.sheet, 0)
    if not staged or not _any_stored(stage, record):
        return Compared(staged, 0, 0, 0, missing)
    both = f"FROM stage.{record.sheet} AS s JOIN main.{record.table} AS m ON {_same_key(stage, record)}"
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
            f"ON {_same_key(stage, record)} WHERE m.withdrawn IS NOT NULL ORDER BY s.row LIMIT {limit}"
        )
    ]


def touch(stage: Stage, record: type[Record], compared: Compared) -> None:
    """Note the objects of which a merge of the sheet would change or add anything."""
    if compared.changed:
        _touch(stage, record, _from_others(stage, record))
    if compared.added:
        _touch(stage, record, f"FROM stage.{record.sheet} AS s {_fresh(stage, record, compared)}")


def merge(stage: Stage, record: type[Record], compared: Compared, origin: Origin) -> None:
    """Change what differs, then insert what is new, in the order of the keys."""
    if compared.changed:
        _update(stage, record, origin)
    if compared.added:
        fresh = _fresh(stage, record, compared)
        with _triggers_lifted(stage.db, record, compared.added) as lifted:
            _insert(stage, record, origin, fresh)
            if lifted and record.sheet in PLACED:
                _add_places(stage, record)


def _fresh(stage: Stage, record: type[Record], compared: Compared) -> str:
    return (
        ""
        if compared.added == stage.counts[record.sheet]
        else (f"WHERE NOT EXISTS (SELECT 1 FROM main.{record.table} AS m WHERE {_same_key(stage, record)})")
    )


def any_proposals(stage: Stage) -> bool:
    """Whether any proposal is stored or staged at all."""
    return bool(stage.counts.get("proposals") or _count(stage, "SELECT EXISTS (SELECT 1 FROM main.proposals)"))


def attach_warnings(stage: Stage, change: int) -> None:
    """Keep the doubts about those records that this change wrote."""
    for record in staged_records(stage):
        stage.db.execute(
            'INSERT INTO main.warnings (sheet, key, "column", message, change) '
            f"SELECT w.sheet, {key_sql(record, 'm')}, w.col, w.message || coalesce(' Did you mean ''' || w.nearest "
            f"|| '''?', ''), m.change FROM stage.warnings AS w CROSS JOIN stage.{record.sheet} AS s ON s.row = w.at "
            f"CROSS JOIN main.{record.table} AS m ON {_same_key(stage, record)} "
            "WHERE w.sheet = ? AND m.change = ? ORDER BY w.rowid",
            (record.sheet, change),
        )


def note_files(stage: Stage, package: str, change: int) -> None:
    """Which file is kept, which record names it, and which files were the package."""
    db = stage.db
    db.execute(
        "INSERT INTO main.files (sha256, bytes, name, change) SELECT f.sha256, f.bytes, min(f.name), ? "
        "FROM stage.files AS f WHERE f.named AND NOT EXISTS (SELECT 1 FROM main.files AS m "
        "WHERE m.sha256 = f.sha256) GROUP BY f.sha256",
        (change,),
    )
    db.execute(
        'INSERT INTO main.file_uses (sheet, key, "column", sha256, change) '
        "SELECT 'packages', ?, name, sha256, ? FROM stage.files WHERE named ORDER BY name",
        (package, change),
    )
    for record in staged_records(stage):
        for column in record.columns():
            if column.kind == "file" and stage.holds(record.sheet, column.name):
                db.execute(
                    'INSERT INTO main.file_uses (sheet, key, "column", sha256, change) '
                    f"SELECT '{record.sheet}', {key_sql(record, 'm')}, '{column.name}', f.sha256, m.change "
                    f"FROM stage.{record.sheet} AS s JOIN main.{record.table} AS m ON {_same_key(stage, record)} "
                    f"JOIN stage.files AS f ON f.name = s.{column.name} WHERE m.change = ? ORDER BY s.row",
                    (change,),
                )


def note_package(stage: Stage, sha256: str, survey: str, name: str, change: int) -> None:
    stage.db.execute(
        "INSERT INTO main.packages (sha256, survey, name, change) SELECT ?, ?, ?, ? "
        "WHERE NOT EXISTS (SELECT 1 FROM main.packages WHERE sha256 = ?)",
        (sha256, survey, name, change, sha256),
    )


def known_package(db: sqlite3.Connection, sha256: str) -> tuple[str, int] | None:
    """The survey of a package that was read before, and the change that stored it."""
    row = db.execute("SELECT survey, change FROM packages WHERE sha256 = ?", (sha256,)).fetchone()
    return None if row is None else (row[0], row[1])


def last_replacement(db: sqlite3.Connection) -> int:
    """The newest change that replaced the content of any record; 0 where none did."""
    row = db.execute("SELECT change FROM history ORDER BY id DESC LIMIT 1").fetchone()
    return 0 if row is None else int(row[0])


def last_change(db: sqlite3.Connection) -> int:
    return int(db.execute("SELECT coalesce(max(number), 0) FROM changes").fetchone()[0])


def stored_survey(db: sqlite3.Connection, code: str) -> tuple[str, bool] | None:
    """The code of a stored survey, and whether the survey is withdrawn."""
    row = db.execute("SELECT code, withdrawn IS NOT NULL FROM surveys WHERE code = ?", (code,)).fetchone()
    return None if row is None else (row[0], bool(row[1]))


def near_survey(db: sqlite3.Connection, code: str) -> str | None:
    """A stored survey whose code differs from this one only in case, blanks, width or leading zeros."""
    return next(
        (
            other
            for (other,) in db.execute("SELECT code FROM surveys ORDER BY code")
            if other != code and fold(other) == fold(code)
        ),
        None,
    )


def _any_stored(stage: Stage, record: type[Record]) -> bool:
    return bool(_count(stage, f"SELECT EXISTS (SELECT 1 FROM main.{record.table})"))


def _count(stage: Stage, sql: str, values: Any = ()) -> int:
    return int(stage.db.execute(sql, values).fetchone()[0])


def _same_key(stage: Stage, record: type[Record]) -> str:
    # The plus keeps SQLite from walking through all that is stored to look each up in the stage.
    return " AND ".join(f"m.{name} = +{_staged_key(stage, record, name)}" for name in record.key)


def _staged_key(stage: Stage, record: type[Record], name: str) -> str:
    """A part of the key in the stage; an optional part that the package has no column for is blank."""
    if stage.holds(record.sheet, name):
        return f"s.{name}"
    return "0" if record.column(name).is_number else "''"


def _missing(stage: Stage, record: type[Record]) -> str:
    own = "code" if record.sheet == "survey" else "survey"
    absent = (
        ""
        if record.sheet not in stage.columns
        else (
            f" AND NOT EXISTS (SELECT 1 FROM stage.{record.sheet} AS s WHERE {_same_key(stage, record).replace('+', '')})"
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
    """Keep the rows of the sheet whose record has other content; it is looked through once, and used again."""
    stage.db.execute(f"DROP TABLE IF EXISTS stage.{_others(record)}")
    stage.db.execute(f"CREATE TABLE stage.{_others(record)} (row INTEGER PRIMARY KEY)")
    stage.db.execute(
        f"INSERT INTO stage.{_others(record)} SELECT s.row FROM stage.{record.sheet} AS s "
        f"JOIN main.{record.table} AS m ON {_same_key(stage, record)} "
        f"WHERE m.withdrawn IS NULL AND ({_differs(stage, record)}) ORDER BY s.row"
    )


def _others(record: type[Record]) -> str:
    return f"other_{record.sheet}"


def _from_others(stage: Stage, record: type[Record]) -> str:
    return (
        f"FROM stage.{_others(record)} AS o CROSS JOIN stage.{record.sheet} AS s ON s.row = o.row "
        f"CROSS JOIN main.{record.table} AS m ON {_same_key(stage, record)}"
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


def _insert(stage: Stage, record: type[Record], origin: Origin, fresh: str) -> None:
    given = _given(stage, record)
    absent = [column.name for column in record.columns() if fills_blank(record, column) and column.name not in given]
    own = [] if record.sheet == "survey" else ["survey"]
    columns = [*given, *absent, *own, "from_file", "from_row", "change"]
    values = [
        *(f"s.{name}" for name in given),
        *(_staged_key(stage, record, name) for name in absent),
        *(f":{name}" for name in own),
        ":file",
        _from_row(stage, record),
        ":change",
    ]
    # In the order of the key, so that a package in any order is stored as fast, and read in that order later.
    order = ", ".join(f"s.{name}" for name in record.key if stage.holds(record.sheet, name))
    stage.db.execute(
        f"INSERT INTO main.{record.table} ({', '.join(columns)}) SELECT {', '.join(values)} "
        f"FROM stage.{record.sheet} AS s {fresh or 'WHERE true'} ORDER BY {order}",
        {"survey": origin.survey, "file": origin.files[record.sheet], "change": origin.change},
    )


def _update(stage: Stage, record: type[Record], origin: Origin) -> None:
    cleared = stage.cleared_columns(record.sheet)
    sets = []
    for name in _given(stage, record):
        if name in record.key or name.removesuffix("_earliest").removesuffix("_latest") in record.key:
            continue
        value = f"coalesce(s.{name}, m.{name})"
        base = next((c for c in cleared if name in (c, f"{c}_earliest", f"{c}_latest")), None)
        if base is not None:
            value = f"CASE WHEN {_is_cleared(record, base)} THEN NULL ELSE {value} END"
        sets.append(f"{name} = {value}")
    own = "" if record.sheet == "survey" else "survey = :survey, "
    stage.db.execute(
        f"UPDATE main.{record.table} AS m SET {', '.join(sets)}, {own}from_file = :file, from_row = "
        f"{_from_row(stage, record)}, revision = m.revision + 1, change = :change FROM stage.{record.sheet} AS s "
        f"WHERE s.row IN (SELECT row FROM stage.{_others(record)}) AND {_same_key(stage, record)}",
        {"survey": origin.survey, "file": origin.files[record.sheet], "change": origin.change},
    )


def _from_row(stage: Stage, record: type[Record]) -> str:
    """The row that the person sees in the file, which of a list is another than the number of the staged row."""
    if not stage.listed:
        return "s.row"
    listed = f"SELECT l.list_row FROM stage.list_rows AS l WHERE l.sheet = '{record.sheet}' AND l.row = s.row"
    return f"coalesce(({listed}), s.row)"


def _add_places(stage: Stage, record: type[Record]) -> None:
    """What the trigger on one row adds to the name space of places, for all rows at once."""
    place, kind = PLACED[record.sheet]
    stage.db.execute(
        f"INSERT INTO main.places (object, place, kind) SELECT DISTINCT s.object, {place}, '{kind}' "
        f"FROM stage.{record.sheet} AS s WHERE NOT EXISTS (SELECT 1 FROM main.places AS p WHERE p.object = s.object "
        f"AND p.place = {place}) ORDER BY 1, 2"
    )


@contextmanager
def _triggers_lifted(db: sqlite3.Connection, record: type[Record], rows: int) -> Iterator[bool]:
    """Without the triggers on every insert, for the length of a long one; tells whether it is so.

    One looks for a taken key, to stop INSERT OR REPLACE; the plain INSERT of a merge stops at a taken key by
    itself, and the trigger would take nearly as long again as the insert. The other enters zones and parts into
    `places`. They come back from their own text in the same transaction, so that no other connection and no
    crash ever finds the table without them.
    """
    names = [f"{record.table}_no_overwrite"]
    if record.sheet in PLACED:
        names += [f"{record.table}_place", "places_no_overwrite"]
    found = [
        db.execute("SELECT name, sql FROM main.sqlite_master WHERE type = 'trigger' AND name = ?", (name,)).fetchone()
        for name in names
    ]
    if rows < LIFTED_FROM or None in found:
        yield False
        return
    for name, _ in found:
        db.execute(f"DROP TRIGGER main.{name}")
    yield True
    for _, sql in found:
        db.execute(sql)
