"""Checks that a database still is what was stored: structure, references, history, files, and what is derived."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from collection.language.errors import CouldNot, DamageFound
from collection.records.codes import sheets_of
from collection.records.row import Record
from collection.records.sheets import BY_SHEET, SHEETS
from collection.store import derive
from collection.store.base import chain, database, files, log
from collection.store.schema import migrate, packaged
from collection.store.schema.guards import key_sql
from collection.store.schema.tables import PARTS, fills_blank

LISTED = 50
"""How many findings of one kind a terminal shows; the rest are counted."""
MOST_LISTED = 10_000
"""How many of one kind the JSON answer lists."""


@dataclass(frozen=True, slots=True)
class CheckReport:
    """What was found, in sentences: `damage` calls for a copy to restore from, `notes` need no action."""

    path: Path
    damage: tuple[str, ...]
    notes: tuple[str, ...]


def check(path: Path | str, *, most: int = LISTED) -> CheckReport:
    """Look through a whole database and its files; nothing is changed, but that a log beside a sound one is moved in.

    :param most: how many findings of one kind are listed.
    :raises CouldNot: when it cannot be opened, or is none of ours.
    """
    path, few = Path(path), partial(_few, most=most)
    db = database.connect(path, write=False, any_version=True)
    try:
        db.execute("BEGIN")
        damage: list[str] = []
        notes: list[str] = []
        try:
            damage += few(_structure(db))
            notes += [log.left_behind(path)] if damage else []
            damage += few(_schema(db, path, notes))
            # Rows of an older version lack columns, so what is asked of every column waits for `migrate`.
            of_today = db.execute("PRAGMA user_version").fetchone()[0] == packaged.newest_version()
            damage += few(_chain(db))
            damage += few(_revisions(db)) if of_today else []
            damage += few(_foreign_keys(db))
            damage += few(_loose_references(db)) if of_today else []
            damage += few(_places(db))
            damage += few(_files(db))
            notes += few(
                f"No record names the file {found}: an interrupted ingest leaves such files, and they may be removed."
                for found in files.orphans(db)
            )
            if not damage and of_today:
                damage += few(derive.out_of_date(db))
            behind = len(derive.behind(db))
            if behind:
                notes.append(f"What is derived of {behind} objects is not up to date: run `firstcoat refresh {path}`.")
            db.execute("COMMIT")
            notes += _log(path, damage)
        except sqlite3.DatabaseError as error:
            found = database.sentence(error, path)
            if not isinstance(found, DamageFound) and not damage:
                raise found from error
            damage.append(str(found))
        return CheckReport(path, tuple(damage), tuple(notes))
    finally:
        database.close(db)


def damage_of_copy(db: sqlite3.Connection, progress: derive.HowFar) -> list[str]:
    """What is wrong with the file, the chain of changes or the files beside it, in sentences.

    :param progress: told how many of the files are read.
    """
    return [*_few(_structure(db), LISTED), *_few(_chain(db), LISTED), *_few(_files(db, progress), LISTED)]


def _log(path: Path, damage: Sequence[str]) -> Iterator[str]:
    """What a log beside the database means, once it was tried to move it in; of a damaged one nothing is touched."""
    if log.log_of(path) is None:
        return
    why: str | None = "the file is damaged"
    if not damage:
        try:
            why = database.close_and_say(database.connect(path, write=True, any_version=True))
        except CouldNot as stands_in_the_way:
            why = f"they cannot be moved ({str(stands_in_the_way).partition('. ')[0]})"
    if why is None:
        yield f"The last changes of {path} stood in {path.name}-wal; they were moved into the file, which is whole again."
    else:
        yield log.log_stands(path, why)


def _few(findings: Iterable[str], most: int) -> list[str]:
    listed: list[str] = []
    more = 0
    for finding in findings:
        if len(listed) < most:
            listed.append(finding)
        else:
            more += 1
    return [*listed, f"… and {more} more of this kind; --json lists up to {MOST_LISTED:,}."] if more else listed


def _structure(db: sqlite3.Connection) -> Iterator[str]:
    for (line,) in db.execute(f"PRAGMA integrity_check({MOST_LISTED})"):
        if line != "ok":
            yield f"The file itself is damaged: {line}."


def _schema(db: sqlite3.Connection, path: Path, notes: list[str]) -> Iterator[str]:
    """Tables, views and guards against those that the migrations make."""
    known = packaged.migrations()
    version = db.execute("PRAGMA user_version").fetchone()[0]
    try:
        migrate.check_applied(db, known, path)
    except DamageFound as found:
        yield str(found)
    if version < known[-1].version:
        notes.append(
            f"The schema has version {version}, {known[-1].version} is the newest: run `firstcoat migrate`, "
            "and then look again; some things are only looked for in the newest."
        )
        return
    ours, expected = _objects(db), _expected()
    for kind, name in sorted(expected.keys() - ours.keys()):
        yield f"The {kind} {name} is missing{': `firstcoat migrate` makes it again' if kind == 'trigger' else ''}."
    for kind, name in sorted(expected.keys() & ours.keys()):
        if ours[kind, name] != expected[kind, name]:
            yield f"The {kind} {name} is not the one that firstcoat made."
    for kind, name in sorted(ours.keys() - expected.keys()):
        notes.append(f"The {kind} {name} is none of firstcoat's.")


def _objects(db: sqlite3.Connection) -> dict[tuple[str, str], str]:
    rows = db.execute("SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'")
    return {(kind, name): sql for kind, name, sql in rows}


def _expected() -> dict[tuple[str, str], str]:
    fresh = sqlite3.connect(":memory:", isolation_level=None)
    try:
        fresh.execute("BEGIN")
        for migration in packaged.migrations():
            migrate.run_script(fresh, migration.text, migration.name)
        migrate.run_script(fresh, packaged.guards(), "guards.sql")
        return _objects(fresh)
    finally:
        fresh.close()


def _chain(db: sqlite3.Connection) -> Iterator[str]:
    before = ""
    hashes = dict(db.execute("SELECT number, hash FROM changes"))
    for place, row in enumerate(chain.chained(db).fetchall(), start=1):
        number, content, previous = row[0], row[-2], row[-1]
        if number != place:
            yield f"Change {place} is missing."
            return
        if hashes[number] is None:
            yield f"Change {number} was never sealed."
        elif previous != before or chain.chain_hash(row) != hashes[number]:
            yield f"Change {number} is not what was written: its hash does not fit."
        elif chain.content_digest(db, number) != content:
            yield (
                f"What change {number} wrote to the history, or its decisions, files or warnings, is not what was "
                "written: their hash does not fit."
            )
        before = hashes[number] or ""


def _revisions(db: sqlite3.Connection) -> Iterator[str]:
    """Every earlier content of every record has to be in the history."""
    for record in SHEETS:
        key = key_sql(record, "r")
        rows = db.execute(
            f"SELECT {key}, r.revision FROM {record.table} AS r WHERE r.revision > 1 AND (SELECT count(DISTINCT "
            f"h.revision) FROM history AS h WHERE h.sheet = '{record.sheet}' AND h.key = {key} "
            "AND h.revision < r.revision) < r.revision - 1"
        )
        for name, revision in rows:
            yield f"{record.sheet} {name} has revision {revision}, but not all earlier contents are in the history."


def _foreign_keys(db: sqlite3.Connection) -> Iterator[str]:
    for table, rowid, parent, _ in db.execute("PRAGMA foreign_key_check"):
        yield f"Row {rowid} of {table} points to a row of {parent} that is not there."


def _loose_references(db: sqlite3.Connection) -> Iterator[str]:
    """References that no foreign key can hold: blank parts of a key, codes with one row per date, coats."""
    for record in SHEETS:
        for column in record.columns():
            name = f"r.{column.name}"
            given = (
                f"{name} <> {'0' if column.is_number else chr(39) * 2}"
                if fills_blank(record, column)
                else (f"{name} IS NOT NULL")
            )
            target = "schemes" if column.kind == "coat" else column.reference
            if target is None or target == "objects":
                continue
            if column.kind == "list":
                yield from _lost_parts(db, record, column.name, target)
                continue
            if column.kind == "coat":
                name = f"substr({name}, 1, instr({name} || '/', '/') - 1)"
            for key, value in db.execute(
                f"SELECT {key_sql(record, 'r')}, r.{column.name} FROM {record.table} AS r WHERE {given} "
                f"AND NOT EXISTS ({_target(target, name)})"
            ):
                yield f"{record.sheet} {key}: {column.name} names {value}, and there is no such thing in {target}."


def _lost_parts(db: sqlite3.Connection, record: type[Record], column: str, target: str) -> Iterator[str]:
    absent = " AND ".join(f"NOT EXISTS ({_target(sheet, 'p.value')})" for sheet in sheets_of(target))
    for key, value in db.execute(
        f"SELECT {key_sql(record, 'r')}, p.value FROM {record.table} AS r, "
        f"{PARTS.format(f'r.{column}')} AS p WHERE r.{column} IS NOT NULL AND {absent}"
    ):
        yield f"{record.sheet} {key}: {column} names {value}, and there is no such thing in {target}."


def _target(target: str, name: str) -> str:
    if target == "place":
        return f"SELECT 1 FROM places AS t WHERE t.object = r.object AND t.place = {name}"
    if target == "layers":
        return f"SELECT 1 FROM layers AS t WHERE t.object = r.object AND t.sample = r.sample AND t.position = {name}"
    goal: type[Record] = BY_SHEET[target]
    return f"SELECT 1 FROM {goal.table} AS t WHERE t.object = r.object AND t.{goal.key[1]} = {name}"


def _places(db: sqlite3.Connection) -> Iterator[str]:
    for table, code, kind in (
        ("objects", "'all'", "all"),
        ("components", "r.component", "component"),
        ("zones", "r.zone", "zone"),
    ):
        for object_code, place in db.execute(
            f"SELECT DISTINCT r.object, {code} FROM {table} AS r WHERE NOT EXISTS (SELECT 1 FROM places AS p "
            f"WHERE p.object = r.object AND p.place = {code} AND p.kind = '{kind}')"
        ):
            yield f"{object_code}/{place} is missing from places as a {kind}."


def _files(db: sqlite3.Connection, progress: derive.HowFar = lambda done, whole: None) -> Iterator[str]:
    db_path = database.path_of(db)
    if (forgotten := files.forgotten_folder(db, db_path)) is not None:
        yield forgotten
        return
    folder = files.folder_of(db_path).name
    rows = db.execute("SELECT sha256, bytes, name FROM files ORDER BY sha256").fetchall()
    for done, (sha256, size, name) in enumerate(rows, start=1):
        path = files.path_of(db_path, sha256)
        if not path.is_file():
            yield f"The file {name} ({sha256[:12]}…) is missing from {folder}."
        elif path.stat().st_size != size or files.hash_of(path) != sha256:
            yield f"The file {name} ({sha256[:12]}…) in {folder} is no longer what was stored."
        progress(done, len(rows))
