"""Nothing is lost: whatever is accepted, refused, amended, withdrawn, reinstated or corrected, every earlier
content can be had again exactly; and no other program can do otherwise without `check` telling."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import AGENTS, object_rows, value

from collection.language.errors import FirstcoatError, InputRefused
from collection.records.cells import CLEAR
from collection.records.row import Record
from collection.records.sheets import BY_SHEET, SHEETS, Layer, Object, Sample, Survey
from collection.store.base import chain, keys
from collection.store.base import database as opening
from collection.store.changes import write
from collection.store.check import check
from collection.store.schema.tables import record_table, stored_names, stored_values

Contents = dict[tuple[str, tuple[Any, ...]], dict[str, Any]]
BY, WHY = "A. Surveyor", "the register says otherwise"


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("empty") / "empty.db"
    opening.create(path)
    return path


@pytest.fixture
def database(empty: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(empty, tmp_path / "collection.db"))


@pytest.fixture
def db(database: Path) -> Iterator[opening.Database]:
    connection = opening.connect(database, write=True)
    yield connection
    opening.close(connection)


def survey_row(code: str) -> Survey:
    return Survey(code=code, title="trial", lead=BY, started="2020")


def store(db: sqlite3.Connection, survey: str, rows: list[Record], first: bool = True) -> int:
    """Take in rows of one survey as an ingest would."""
    with opening.writing(db):
        change = write.begin_change(db, BY, "a survey", "ingest", survey)
        for row in ([survey_row(survey)] if first else []) + rows:
            write.insert(db, row, change=change, survey=survey, from_file="a.csv", from_row=2)
    return change


def present(db: sqlite3.Connection) -> Contents:
    """Every record as it stands, by plain SELECT."""
    found: Contents = {}
    for cls in SHEETS:
        names = stored_names(cls)
        for row in db.execute(f"SELECT {', '.join(names)} FROM {cls.table}"):
            content = dict(zip(names, row, strict=True))
            found[cls.sheet, tuple(content[name] for name in cls.key)] = content
    return found


def all_contents(db: sqlite3.Connection) -> dict[tuple[str, tuple[Any, ...]], list[dict[str, Any]]]:
    """Every content each record ever had, from history and table alone, in the order of its revisions."""
    found: dict[tuple[str, tuple[Any, ...]], list[dict[str, Any]]] = {}
    for sheet, content in db.execute("SELECT sheet, content FROM history ORDER BY id"):
        row = json.loads(content)
        found.setdefault((sheet, tuple(row[name] for name in BY_SHEET[sheet].key)), []).append(row)
    for key, row in present(db).items():
        found.setdefault(key, []).append(row)
    return found


def as_of(contents: dict[tuple[str, tuple[Any, ...]], list[dict[str, Any]]], change: int) -> Contents:
    """The records as they stood after a change."""
    return {
        key: [row for row in rows if row["change"] <= change][-1]
        for key, rows in contents.items()
        if rows[0]["change"] <= change
    }


def exact(contents: Contents) -> dict[Any, dict[str, str]]:
    """For comparing to the last bit: 1 and 1.0, 0.1 and 0.1 + 1e-17 are different texts."""
    return {key: {name: repr(cell) for name, cell in row.items()} for key, row in contents.items()}


class Play:
    """A database, and what it was seen to hold after each change that it accepted."""

    def __init__(self, path: Path, rows: list[Record]) -> None:
        self.db = opening.connect(path, write=True)
        self.seen: dict[int, Contents] = {}
        store(self.db, "A", [])
        store(self.db, "B", [])
        change = store(self.db, "C", rows)
        self.note(change)
        for row in rows:
            kept = self.seen[change][row.sheet, tuple(stored_values(row)[name] for name in row.key)]
            for name, cell in stored_values(row).items():
                assert kept[name] == cell, (row.sheet, name)
                assert type(kept[name]) is type(cell)

    def note(self, change: int) -> None:
        self.seen[change] = present(self.db)

    def amend(self, data: st.DataObject) -> None:
        sheet, key = self.a_record(data, but=("survey",))
        cls = BY_SHEET[sheet]
        values: dict[str, Any] = {}
        for column in cls.columns():
            free = column.name not in cls.key and not column.reference and column.kind != "coat"
            if free and data.draw(st.booleans()):
                values[column.name] = data.draw(value(column) if column.required else st.just(CLEAR) | value(column))
        survey = data.draw(st.sampled_from("AB"))
        with opening.writing(self.db):
            change = write.begin_change(self.db, BY, WHY, "amend", survey)
            write.amend(self.db, sheet, key, values, change, survey, "b.csv", 7)
        self.note(change)
        kept = self.seen[change][sheet, key]
        assert (kept["survey"], kept["from_file"], kept["from_row"]) == (survey, "b.csv", 7)
        for name, cell in values.items():
            assert kept[name] == (None if cell is CLEAR else cell)

    def correct(self, data: st.DataObject) -> None:
        sheet, key = self.a_record(data)
        cls = BY_SHEET[sheet]
        column = data.draw(st.sampled_from([c for c in cls.columns() if c.name not in cls.key]))
        if column.kind == "agent":
            text = data.draw(st.sampled_from(AGENTS))
        elif column.reference or column.kind == "coat":
            text = data.draw(st.sampled_from(("all", "1", "nowhere", "not recorded")))
        else:
            odd = st.sampled_from(("not recorded", "", "nan", "1e400", "\x00", "1_0"))
            text = data.draw(odd | value(column).map(str))
        self.attempt(lambda: write.correct(self.db, sheet, keys.full_text(key), {column.name: text}, BY, WHY))

    def withdraw(self, data: st.DataObject) -> None:
        sheet, key = self.a_record(data)
        self.attempt(lambda: write.withdraw(self.db, sheet, keys.full_text(key), BY, WHY))

    def reinstate(self, data: st.DataObject) -> None:
        gone = [key for key, row in present(self.db).items() if row["withdrawn"] is not None]
        sheet, key = data.draw(st.sampled_from(sorted(gone, key=repr))) if gone else self.a_record(data)
        self.attempt(lambda: write.reinstate(self.db, sheet, keys.full_text(key), BY, WHY))

    def survey(self, data: st.DataObject) -> None:
        act = data.draw(st.sampled_from((write.withdraw, write.reinstate)))
        self.attempt(lambda: act(self.db, "survey", data.draw(st.sampled_from("ABC")), BY, WHY))

    def interrupted(self, data: st.DataObject) -> None:
        """A change that comes to nothing half way."""
        sheet, key = self.a_record(data, but=("survey",))
        before = self.all_rows()

        def half() -> None:
            with opening.writing(self.db):
                change = write.begin_change(self.db, BY, WHY, "amend", "A")
                write.amend(self.db, sheet, key, {"notes": "half"}, change, "A", "b.csv", 1)
                raise ZeroDivisionError

        with pytest.raises(ZeroDivisionError):
            half()
        assert self.all_rows() == before

    def forced(self, data: st.DataObject) -> None:
        """What another program might try."""
        sheet, key = self.a_record(data)
        cls = BY_SHEET[sheet]
        where, names = keys.where(cls), ", ".join(stored_names(cls))
        before = self.all_rows()
        for sql in (
            f"DELETE FROM {cls.table} WHERE {where}",
            f"UPDATE {cls.table} SET from_file = 'x' WHERE {where}",
            f"UPDATE OR IGNORE {cls.table} SET from_file = 'x', revision = revision + 1 WHERE {where}",
            f"UPDATE OR REPLACE {cls.table} SET revision = revision + 2, change = change + 1 WHERE {where}",
            f"INSERT OR REPLACE INTO {cls.table} ({names}) SELECT {names} FROM {cls.table} WHERE {where}",
            f"INSERT OR IGNORE INTO {cls.table} ({names}) SELECT {names} FROM {cls.table} WHERE {where}",
        ):
            with pytest.raises(sqlite3.IntegrityError):
                self.db.execute(sql, key)
        assert self.all_rows() == before

    def a_record(self, data: st.DataObject, but: tuple[str, ...] = ()) -> tuple[str, tuple[Any, ...]]:
        return data.draw(st.sampled_from(sorted((key for key in present(self.db) if key[0] not in but), key=repr)))

    def attempt(self, act: Any) -> None:
        """Something that may be refused: then nothing at all may have changed."""
        before = self.all_rows()
        refusal = change = None
        try:
            change = act()
        except InputRefused as refused:
            refusal = refused
        if refusal is None:
            self.note(change)
            return
        assert refusal.faults
        assert all(fault.message.endswith((".", "?")) for fault in refusal.faults), refusal.faults
        assert self.all_rows() == before

    def all_rows(self) -> tuple[str, ...]:
        return tuple(
            repr(self.db.execute(f"SELECT * FROM {name}").fetchall())
            for name in (*(cls.table for cls in SHEETS), "history", "changes", "places")
        )

    def end(self) -> None:
        contents = all_contents(self.db)
        for rows in contents.values():
            assert [row["revision"] for row in rows] == list(range(1, len(rows) + 1))
            assert [row["change"] for row in rows] == sorted({row["change"] for row in rows})
        for change, seen in self.seen.items():
            assert exact(as_of(contents, change)) == exact(seen)
        assert self.db.execute("SELECT count(*) FROM changes WHERE hash IS NULL").fetchone() == (0,)
        opening.close(self.db)


ACTS = (Play.amend, Play.correct, Play.withdraw, Play.reinstate, Play.survey, Play.interrupted, Play.forced)


@settings(max_examples=settings().max_examples // 2)
@given(st.data(), object_rows(), st.lists(st.sampled_from(ACTS), min_size=1, max_size=10))
def test_every_earlier_content_comes_back_exactly(
    empty: Path, data: st.DataObject, rows: list[Record], acts: list[Any]
):
    path = Path(shutil.copy(empty, empty.with_name("play.db")))
    play = Play(path, rows)
    try:
        for act in acts:
            act(play, data)
    finally:
        play.end()
    report = check(path)
    assert report.damage == ()


@settings(max_examples=300)
@given(st.data(), st.sampled_from([cls for cls in SHEETS if any(c.kind == "number" for c in cls.columns())]))
def test_a_number_comes_out_of_the_history_as_it_went_in(data: st.DataObject, cls: type[Record]):
    """Against IEEE 754 as Python holds it, for every number column: denormal ones, ends of ranges, thirds. SQLite
    keeps no negative zero, which is equal to zero."""
    db = sqlite3.connect(":memory:")
    numbers = [c for c in cls.columns() if c.kind == "number"]
    given_numbers = [data.draw(value(column)) for column in numbers]
    db.execute(f"CREATE TABLE t ({', '.join(f'{c.name} REAL' for c in numbers)}) STRICT")
    db.execute(f"INSERT INTO t VALUES ({', '.join('?' * len(numbers))})", given_numbers)
    texts = db.execute(f"SELECT {', '.join(f'''printf('%!.17g', {c.name})''' for c in numbers)} FROM t").fetchone()
    assert [json.loads(text) for text in texts] == given_numbers
    db.close()


# ---------------------------------------------------------------- guards, through connections that know nothing


@pytest.fixture
def stored(database: Path) -> Path:
    """Two objects, a sample and two layers of survey A."""
    with opening.opened(database, write=True) as db:
        store(
            db,
            "A",
            [
                Object(object="1/2", title="hand pump", kind="pump"),
                Object(object="3", title="tram", kind="tram"),
                Sample(object="3", sample="S1", place="all", method="cross-section"),
                Layer(object="3", sample="S1", position=1, role="primer", thickness_um=0.1 + 0.2),
                Layer(object="3", sample="S1", position=2, role="body colour", colour="naïve 漆 'red'"),
            ],
        )
    return database


def raw(path: Path, *, recursive: bool = False) -> sqlite3.Connection:
    """As the sqlite3 shell opens it: foreign keys off, recursive triggers off."""
    db = sqlite3.connect(path, isolation_level=None)
    db.execute(f"PRAGMA recursive_triggers = {'ON' if recursive else 'OFF'}")
    return db


def dump(db: sqlite3.Connection) -> list[str]:
    return list(db.iterdump())


HISTORY_ROW = "INTO history (id, sheet, key, revision, survey, content, change)"


@pytest.mark.parametrize("recursive", [False, True])
@pytest.mark.parametrize(
    "sql",
    [
        "DELETE FROM layers",
        "DELETE FROM surveys",
        "UPDATE layers SET colour = 'green'",
        "UPDATE layers SET colour = 'green', change = change + 1",
        "UPDATE layers SET colour = 'green', revision = revision + 1",
        "UPDATE layers SET colour = 'green', revision = revision + 1, change = 0",
        "UPDATE layers SET colour = 'green', revision = revision + 1, change = NULL",
        "UPDATE OR IGNORE layers SET colour = 'green'",
        "UPDATE OR REPLACE layers SET position = 2, revision = 2, change = 2 WHERE position = 1",
        "UPDATE OR REPLACE layers SET rowid = 2, revision = 2, change = 2 WHERE rowid = 1",
        "INSERT OR REPLACE INTO layers (object, sample, position, role, survey, from_file, change) "
        "VALUES ('3', 'S1', 1, 'varnish', 'A', 'f', 1)",
        "REPLACE INTO layers (rowid, object, sample, position, role, survey, from_file, change) "
        "VALUES (1, '3', 'S1', 9, 'varnish', 'A', 'f', 1)",
        "INSERT INTO layers (rowid, object, sample, position, role, survey, from_file, change) "
        "VALUES (-1, '3', 'S1', 9, 'varnish', 'A', 'f', 1)",
        "INSERT INTO layers (object, sample, position, role, survey, from_file, change) "
        "VALUES ('3', 'S1', 1, 'varnish', 'A', 'f', 1) ON CONFLICT DO UPDATE SET role = 'wax'",
        "DELETE FROM changes",
        "UPDATE changes SET why = 'another'",
        "UPDATE changes SET hash = NULL",
        "INSERT OR REPLACE INTO changes (number, at, by, why, action, subject, tool_version) "
        "VALUES (1, '', 'x', 'y', '', '', '')",
        "INSERT INTO changes (number, at, by, why, action, subject, tool_version) VALUES (7, '', 'x', 'y', '', '', '')",
        "INSERT INTO changes (at, by, why, action, subject, tool_version) VALUES ('', 'x', 'y', '', '', '')",
        "INSERT INTO changes (number, at, by, why, action, subject, tool_version) VALUES (2, '', ' ', 'y', '', '', '')",
        "DELETE FROM places",
        "UPDATE places SET kind = 'zone'",
        "INSERT OR REPLACE INTO places VALUES ('3', 'all', 'all')",
        f"INSERT {HISTORY_ROW} VALUES (NULL, 'layers', '3/S1/1', 1, 'A', '{{}}', 1)",
        f"INSERT {HISTORY_ROW} VALUES (-1, 'layers', '3/S1/1', 1, 'A', '{{}}', 1)",
        "DELETE FROM migrations",
        "UPDATE migrations SET sha256 = sha256",
    ],
)
def test_other_programs_cannot_lose_anything(stored: Path, sql: str, recursive: bool):
    db = raw(stored, recursive=recursive)
    before = dump(db)
    with pytest.raises(sqlite3.IntegrityError):
        db.execute(sql)
    assert dump(db) == before
    db.close()


@pytest.mark.parametrize("cls", SHEETS, ids=lambda cls: cls.sheet)
def test_every_sheet_is_guarded(empty: Path, tmp_path: Path, cls: type[Record]):
    """One row of each sheet, against deletion, silent update and INSERT OR REPLACE."""
    path = Path(shutil.copy(empty, tmp_path / "collection.db"))
    db = raw(path)
    db.execute("BEGIN")
    write.begin_change(db, BY, WHY, "ingest", "A")
    fixed = {c.name: "3" for c in cls.columns() if c.required and c.reference}
    row = stored_values(_plain(cls, fixed))
    row.update(from_file="f", change=1, **({} if cls.sheet == "survey" else {"survey": "A"}))
    insert = f"INTO {cls.table} ({', '.join(row)}) VALUES ({', '.join('?' * len(row))})"
    db.execute(f"INSERT {insert}", tuple(row.values()))
    db.execute("COMMIT")
    before = dump(db)
    for sql, values in (
        (f"DELETE FROM {cls.table}", ()),
        (f"UPDATE {cls.table} SET from_row = 5", ()),
        (f"INSERT OR REPLACE {insert}", tuple(row.values())),
    ):
        with pytest.raises(sqlite3.IntegrityError):
            db.execute(sql, values)
    assert dump(db) == before
    db.execute("BEGIN")
    write.begin_change(db, BY, WHY, "amend", "A")
    db.execute(f"UPDATE {cls.table} SET from_row = 5, revision = 2, change = 2")
    kept = json.loads(db.execute("SELECT content FROM history WHERE sheet = ?", (cls.sheet,)).fetchone()[0])
    assert {name: kept[name] for name in row} == row
    assert list(kept) == [column.name for column in record_table(cls).columns]
    db.close()


def _plain(cls: type[Record], fixed: dict[str, Any]) -> Record:
    """A record with every column filled that no reference needs."""
    values: dict[str, Any] = dict(fixed)
    samples = {
        "number": 0.125,
        "integer": 1,
        "date": "1924/1931",
        "agent": "acetone",
        "points": "0,0 1,0 0,1",
        "file": "a.png",
        "coat": "1/varnish",
        "code": "Ö 1",
        "text": "a \"b\"\n'c' \\ ĝ",
        "person": "N. N.",
    }
    for column in cls.columns():
        if column.name not in values and not column.reference:
            values[column.name] = column.words.words[0] if column.words else samples[column.kind]
    return cls.model_validate(values)


def test_a_refused_update_leaves_no_history_behind(stored: Path):
    """UPDATE OR IGNORE passes over a row that a constraint refuses; its before-image must not be written."""
    db = raw(stored)
    db.execute("UPDATE OR IGNORE layers SET role = NULL, revision = 2, change = 2")
    assert db.execute("SELECT count(*) FROM history").fetchone() == (0,)
    with pytest.raises(sqlite3.IntegrityError):
        db.execute("UPDATE layers SET role = 'no such role', revision = 2, change = 2")
    assert db.execute("SELECT count(*) FROM history").fetchone() == (0,)
    db.close()


def test_a_code_of_a_part_cannot_become_a_zone(stored: Path):
    db = raw(stored)
    head = "(object, {0}, {1}, survey, from_file, change) VALUES ('3', 'body', 'x', 'A', 'f', 1)"
    db.execute(
        "INSERT INTO components (object, component, name, observed_on, survey, from_file, change) "
        "VALUES ('3', 'body', 'x', '', 'A', 'f', 1)"
    )
    for verb in ("INSERT", "INSERT OR REPLACE", "INSERT OR IGNORE"):
        with pytest.raises(sqlite3.IntegrityError, match="share their codes"):
            db.execute(f"{verb} INTO zones " + head.format("zone", "component"))
    db.close()


def test_a_sealed_change_takes_nothing_more(stored: Path):
    db = raw(stored)
    for sql in (
        "INSERT INTO warnings (sheet, key, message, change) VALUES ('layers', '3/S1/1', 'x', 1)",
        f"INSERT INTO files VALUES ('{'a' * 64}', 1, 'x', 1)",
        "UPDATE layers SET colour = 'x', revision = 2, change = 2",
    ):
        if sql.startswith("UPDATE"):
            db.execute("BEGIN")
            write.begin_change(db, BY, WHY, "amend", "A")
            write.seal_change(db, 2)
        with pytest.raises(sqlite3.IntegrityError, match="not sealed yet"):
            db.execute(sql)
    db.close()


# ---------------------------------------------------------------- tampering is found


def test_the_hash_of_a_change_can_be_computed_by_anyone(stored: Path):
    """From the row alone, by SHA-256 of its JSON as `changes` says."""
    db = raw(stored)
    *row, found = db.execute("SELECT * FROM changes WHERE number = 1").fetchone()
    assert found == hashlib.sha256(json.dumps(row, separators=(",", ":"), ensure_ascii=False).encode()).hexdigest()
    assert db.execute("SELECT content_sha256 FROM changes").fetchone() == (hashlib.sha256(b"").hexdigest(),)
    db.close()


def tampered(path: Path, guard: str, *statements: str) -> tuple[str, ...]:
    """What `check` says after somebody took a guard away, wrote, and put it back."""
    db = raw(path)
    sql = db.execute("SELECT sql FROM sqlite_master WHERE name = ?", (guard,)).fetchone()[0]
    db.execute(f"DROP TRIGGER {guard}")
    for statement in statements:
        db.execute(statement)
    db.execute(sql)
    db.close()
    return check(path).damage


@pytest.fixture
def lived(stored: Path) -> Path:
    """A database in which things were corrected, withdrawn and reinstated."""
    write.correct(stored, "layers", "3/S1/1", {"colour": "grey"}, BY, WHY)
    write.correct(stored, "layers", "3/S1/1", {"colour": "pale grey"}, BY, WHY)
    write.withdraw(stored, "objects", "1/2", BY, WHY)
    assert check(stored).damage == ()
    return stored


@pytest.mark.parametrize(
    ("guard", "sql", "said"),
    [
        (
            "changes_sealed_once",
            "UPDATE changes SET why = 'nothing' WHERE number = 2",
            "Change 2 is not what was written",
        ),
        ("changes_sealed_once", "UPDATE changes SET at = '1999' WHERE number = 4", "Change 4 is not what was written"),
        ("changes_no_delete", "DELETE FROM changes WHERE number = 2", "Change 2 is missing"),
        ("changes_no_delete", "DELETE FROM changes WHERE number = 4", "points to a row of changes"),
        (
            "history_no_update",
            "UPDATE history SET content = replace(content, 'grey', 'gray') WHERE id = 2",
            "change 3 wrote",
        ),
        ("history_no_delete", "DELETE FROM history WHERE id = 1", "change 2 wrote"),
        ("history_no_delete", "DELETE FROM history WHERE id = 1", "not all earlier contents"),
        ("layers_history", "UPDATE layers SET scheme = 'x' WHERE position = 1", "points to a row of schemes"),
        ("layers_history", "UPDATE layers SET role = 'varnish' WHERE position = 1", "is not what its records give"),
        ("objects_no_delete", "DELETE FROM objects WHERE object = '1/2'", "points to a row of objects"),
        ("layers_no_delete", "DELETE FROM layers WHERE position = 2", "is not what its records give"),
    ],
)
def test_tampering_is_found(lived: Path, guard: str, sql: str, said: str):
    assert any(said in line for line in tampered(lived, guard, sql)), tampered(lived, guard)


def test_a_rewritten_change_is_found_even_with_a_right_hash_of_its_own(lived: Path):
    """Whoever alters a change and computes its hash again has to alter every later one."""
    db = raw(lived)
    row = list(chain.chained(db, 2).fetchone())
    row[3] = "nothing"
    db.close()
    damage = tampered(
        lived,
        "changes_sealed_once",
        f"UPDATE changes SET why = 'nothing', hash = '{chain.chain_hash(tuple(row))}' WHERE number = 2",
    )
    assert any("Change 3 is not what was written" in line for line in damage)


@pytest.mark.parametrize("kind", ["trigger", "view", "index", "table"])
def test_a_missing_or_altered_part_of_the_schema_is_found(lived: Path, kind: str):
    name = {"trigger": "layers_no_delete", "view": "live_layers", "index": "history_by_change", "table": "risks"}[kind]
    db = raw(lived)
    sql = db.execute("SELECT sql FROM sqlite_master WHERE name = ?", (name,)).fetchone()[0]
    db.execute(f"DROP {kind} {name}")
    db.close()
    assert any(f"The {kind} {name} is missing" in line for line in check(lived).damage)
    db = raw(lived)
    db.execute(sql if kind != "trigger" else sql.replace("Nothing", "Something"))
    db.execute("CREATE TABLE mine (x)")
    db.close()
    report = check(lived)
    assert any("mine is none of firstcoat's" in line for line in report.notes)
    assert bool(report.damage) == (kind == "trigger")


def test_refusals_of_raw_programs_say_why(stored: Path):
    db = raw(stored)
    with pytest.raises(sqlite3.IntegrityError, match="Nothing is deleted from layers: withdraw the record"):
        db.execute("DELETE FROM layers")
    with pytest.raises(sqlite3.IntegrityError, match="stored already: amend or correct it"):
        db.execute(
            "REPLACE INTO objects (object, title, kind, survey, from_file, change) VALUES ('3', 'x', 'x', 'A', 'f', 1)"
        )
    db.close()


def test_a_bulk_load_is_guarded_again_afterwards(stored: Path):
    with opening.opened(stored, write=True) as db:
        guards = db.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'").fetchone()
        with opening.writing(db):
            change = write.begin_change(db, BY, WHY, "ingest", "A")
            with write.bulk_inserts(db, ["layers"]):
                write.insert(
                    db,
                    Layer(object="3", sample="S1", position=5, role="wax"),
                    change=change,
                    survey="A",
                    from_file="f",
                    from_row=1,
                )
                with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
                    write.insert(
                        db,
                        Layer(object="3", sample="S1", position=5, role="wax"),
                        change=change,
                        survey="A",
                        from_file="f",
                        from_row=1,
                    )
        with pytest.raises(ZeroDivisionError), opening.writing(db), write.bulk_inserts(db, ["layers"]):
            raise ZeroDivisionError
        assert db.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'").fetchone() == guards
    with pytest.raises(sqlite3.IntegrityError):
        raw(stored).execute("DELETE FROM layers")


def test_nobody_and_no_reason_change_nothing(stored: Path):
    for by, why in (("", WHY), ("  ", WHY), (BY, ""), (BY, "\n"), (BY, "a\x00b")):
        with pytest.raises(FirstcoatError) as refusal:
            write.correct(stored, "objects", "3", {"title": "car"}, by, why)
        assert refusal.value.exit_code == 2
    with opening.opened(stored, write=False) as db:
        assert db.execute("SELECT title FROM objects WHERE object = '3'").fetchone() == ("tram",)
        assert db.execute("SELECT count(*) FROM changes").fetchone() == (1,)
