"""Nothing is lost: whatever is accepted, refused, amended, withdrawn, reinstated or corrected, every earlier
content can be had again exactly; and no other program can do otherwise without `check` telling."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
from collections.abc import Callable, Collection, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from packaged_rows import hand_in, needed, store
from strategies import AGENTS, codes, object_rows, value

from collection.language.errors import FirstcoatError, InputRefused, OurFault
from collection.records.cells import CLEAR
from collection.records.codes import OWN_CODES
from collection.records.row import Record
from collection.records.sheets import BY_SHEET, SHEETS, Component, Layer, Object, Sample, Zone
from collection.store.base import chain, keys
from collection.store.base import database as opening
from collection.store.changes import change as changing
from collection.store.changes import corrections, same
from collection.store.check import check
from collection.store.decide.consequences import carried_out
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
    """A database that surveyors and a registrar work on, and what it was seen to hold after each change."""

    def __init__(self, path: Path, rows: list[Record]) -> None:
        self.path = path
        self.db = opening.connect(path, write=False)
        self.seen: dict[int, Contents] = {}
        self.number = 0
        for survey in "AB":
            self.note(store(path, survey, []).change)
        self.bring("C", rows)

    def note(self, change: int | None) -> None:
        if change is not None:
            self.seen[change] = present(self.db)

    def bring(self, survey: str, rows: list[Record]) -> None:
        """New records: each cell comes out as it went in, to the last bit and of the same type."""
        change = store(self.path, survey, rows).change
        self.note(change)
        assert change is not None
        for row in rows:
            kept = self.seen[change][row.sheet, tuple(stored_values(row)[name] for name in row.key)]
            assert (kept["survey"], kept["from_file"], kept["revision"]) == (survey, f"{row.sheet}.csv", 1)
            for name, cell in stored_values(row).items():
                assert kept[name] == cell, (row.sheet, name)
                assert type(kept[name]) is type(cell)

    def another(self, data: st.DataObject) -> None:
        """A package with an object more, from a survey that is there already or a new one."""
        survey = data.draw(st.sampled_from("ABD"))
        if self.gone("survey", survey):
            self.attempt(lambda: store(self.path, survey, []).change)
            return
        self.number += 1
        self.bring(survey, data.draw(object_rows(f"N{self.number}/1")))

    def amend(self, data: st.DataObject) -> None:
        """A package that says something else of a record: the cells it fills change, the others stay."""
        sheet, key = self.a_record(data, but=("survey",))
        cls = BY_SHEET[sheet]
        before = present(self.db)[sheet, key]
        said = dict(needed(self.path, sheet, key))
        drawn: dict[str, Any] = {}
        for column in cls.columns():
            free = column.name not in cls.key and not column.reference and column.kind not in ("coat", "file")
            if free and data.draw(st.booleans()):
                drawn[column.name] = data.draw(value(column) if column.required else st.just(CLEAR) | value(column))
        survey = data.draw(st.sampled_from("AB"))
        change = self.attempt(lambda: hand_in(self.path, survey, [(sheet, said | drawn)], amend=True).change)
        if change is None:
            return
        kept = self.seen[change][sheet, key]
        expected = {name: None if cell is CLEAR else cell for name, cell in drawn.items()}
        assert kept == before or (kept["survey"], kept["from_file"], kept["from_row"]) == (survey, f"{sheet}.csv", 2)
        assert {name: kept[name] for name in expected} == expected
        bounds = {f"{name}_{end}" for name in expected for end in ("earliest", "latest")}
        provenance = {"survey", "from_file", "from_row", "revision", "change"}
        for name in before.keys() - expected.keys() - bounds - provenance:
            assert repr(kept[name]) == repr(before[name]), name
        same_again = hand_in(self.path, survey, [(sheet, said | drawn)], amend=True)
        assert same_again.change is None

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
        self.attempt(lambda: corrections.correct(self.path, sheet, keys.full_text(key), {column.name: text}, BY, WHY))

    def withdraw(self, data: st.DataObject) -> None:
        sheet, key = self.a_record(data)
        self.attempt(lambda: corrections.withdraw(self.path, sheet, keys.full_text(key), BY, WHY))

    def reinstate(self, data: st.DataObject) -> None:
        gone = [key for key, row in present(self.db).items() if row["withdrawn"] is not None]
        sheet, key = data.draw(st.sampled_from(sorted(gone, key=repr))) if gone else self.a_record(data)
        self.attempt(lambda: corrections.reinstate(self.path, sheet, keys.full_text(key), BY, WHY))

    def survey(self, data: st.DataObject) -> None:
        act = data.draw(st.sampled_from((corrections.withdraw, corrections.reinstate)))
        self.attempt(lambda: act(self.path, "survey", data.draw(st.sampled_from("ABC")), BY, WHY))

    def rename(self, data: st.DataObject) -> None:
        """No stored row changes; only what is read does."""
        sheet, key = self.a_record(data, among=OWN_CODES)
        code = data.draw(codes(slash=sheet == "objects"))
        before = present(self.db)
        self.attempt(lambda: same.rename(self.path, sheet, "/".join(map(str, key[:2])), code, BY, WHY))
        assert present(self.db) == before

    def same(self, data: st.DataObject) -> None:
        """Two codes of one kind, which may be one thing or, taken back, two again; no stored row changes."""
        sheet, key = self.a_record(data, among=same.MERGED)
        others = sorted({other[:2] for kind, other in present(self.db) if kind == sheet} - {key[:2]}, key=repr)
        if not others:
            return
        one, two = ("/".join(map(str, part)) for part in (key[:2], data.draw(st.sampled_from(others))))
        holds, before = data.draw(st.booleans()), present(self.db)
        self.attempt(lambda: same.same(self.path, sheet, one, two, BY, WHY, holds=holds))
        assert present(self.db) == before

    def tried_out(self, data: st.DataObject) -> None:
        """What a dry run does is undone to the last row."""
        sheet, key = self.a_record(data)
        act = data.draw(st.sampled_from((corrections.withdraw, corrections.reinstate)))
        before = self.all_rows()
        with suppress(InputRefused):
            carried_out(self.path, lambda db: [], lambda db: act(db, sheet, keys.full_text(key), BY, WHY), dry_run=True)
        assert self.all_rows() == before

    def interrupted(self, data: st.DataObject) -> None:
        """A change that breaks off half way."""
        sheet, key = self.a_record(data)
        before = self.all_rows()

        def half() -> None:
            with changing.transaction(self.path) as db, changing.change(db, BY, WHY, "correct", "half") as made:
                made.update(changing.one_row(BY_SHEET[sheet], key, {"from_file": "half"}))
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
        other = raw(self.path)
        for sql in (
            f"DELETE FROM {cls.table} WHERE {where}",
            f"UPDATE {cls.table} SET from_file = 'x' WHERE {where}",
            f"UPDATE OR IGNORE {cls.table} SET from_file = 'x', revision = revision + 1 WHERE {where}",
            f"UPDATE OR REPLACE {cls.table} SET revision = revision + 2, change = change + 1 WHERE {where}",
            f"INSERT OR REPLACE INTO {cls.table} ({names}) SELECT {names} FROM {cls.table} WHERE {where}",
            f"INSERT OR IGNORE INTO {cls.table} ({names}) SELECT {names} FROM {cls.table} WHERE {where}",
        ):
            with pytest.raises(sqlite3.IntegrityError):
                other.execute(sql, key)
        other.close()
        assert self.all_rows() == before

    def gone(self, sheet: str, *key: Any) -> bool:
        row = present(self.db).get((sheet, key))
        return row is not None and row["withdrawn"] is not None

    def a_record(
        self, data: st.DataObject, but: Collection[str] = (), among: Collection[str] = tuple(BY_SHEET)
    ) -> tuple[str, tuple[Any, ...]]:
        known = (key for key in present(self.db) if key[0] in among and key[0] not in but)
        return data.draw(st.sampled_from(sorted(known, key=repr)))

    def attempt(self, act: Callable[[], int | None]) -> int | None:
        """Something that may be refused: then nothing at all may have changed."""
        before = self.all_rows()
        change, refusal = None, None
        try:
            change = act()
        except InputRefused as refused:
            refusal = refused
        if refusal is not None:
            assert refusal.faults
            assert all(fault.message.endswith((".", "?")) for fault in refusal.faults), refusal.faults
        if change is None:
            assert self.all_rows() == before
        self.note(change)
        return change

    def all_rows(self) -> tuple[str, ...]:
        kept = ("history", "changes", "places", "same_things", "warnings", "packages", "files", "file_uses", "facts")
        return tuple(
            repr(self.db.execute(f"SELECT * FROM {name} ORDER BY 1, 2").fetchall())
            for name in (*(cls.table for cls in SHEETS), *kept)
        )

    def end(self) -> None:
        contents = all_contents(self.db)
        for rows in contents.values():
            assert [row["revision"] for row in rows] == list(range(1, len(rows) + 1))
            assert [row["change"] for row in rows] == sorted({row["change"] for row in rows})
        for change, seen in self.seen.items():
            assert exact(as_of(contents, change)) == exact(seen)
        assert self.db.execute("SELECT count(*) FROM changes WHERE hash IS NULL").fetchone() == (0,)
        assert {number for (number,) in self.db.execute("SELECT number FROM changes")} == set(self.seen)
        opening.close(self.db)


ACTS = (
    Play.another,
    Play.amend,
    Play.amend,
    Play.correct,
    Play.withdraw,
    Play.reinstate,
    Play.survey,
    Play.rename,
    Play.same,
    Play.tried_out,
    Play.interrupted,
    Play.forced,
)


@settings(max_examples=settings().max_examples // 2)
@given(st.data(), object_rows(), st.lists(st.sampled_from(ACTS), min_size=1, max_size=10))
def test_every_earlier_content_comes_back_exactly(
    empty: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject, rows: list[Record], acts: list[Any]
):
    """Whatever surveyors hand in and a registrar mends, withdraws, takes back and says of codes."""
    path = Path(shutil.copy(empty, tmp_path_factory.mktemp("play") / "play.db"))
    play = Play(path, rows)
    try:
        for act in acts:
            act(play, data)
    finally:
        play.end()
    report = check(path)
    assert report.damage == ()
    shutil.rmtree(path.parent)


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
    rows = [
        Object(object="1/2", title="hand pump", kind="pump"),
        Object(object="3", title="tram", kind="tram"),
        Sample(object="3", sample="S1", place="all", method="cross-section"),
        Layer(object="3", sample="S1", position=1, role="primer", thickness_um=0.1 + 0.2),
        Layer(object="3", sample="S1", position=2, role="body colour", colour="naïve 漆 'red'"),
    ]
    store(database, "A", rows)
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
    chain.begin_change(db, BY, WHY, "ingest", "A")
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
    chain.begin_change(db, BY, WHY, "amend", "A")
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
            chain.begin_change(db, BY, WHY, "amend", "A")
            chain.seal_change(db, 2)
        with pytest.raises(sqlite3.IntegrityError, match="not sealed yet"):
            db.execute(sql)
    db.close()


# ---------------------------------------------------------------- tampering is found


def test_the_hash_of_a_change_can_be_computed_by_anyone(stored: Path):
    """By SHA-256 of JSON as `changes` says: of the change's own row, and before that of the rows it wrote beside the
    records; a package with no file to keep but its own sheets writes packages, files and their uses."""
    db = raw(stored)
    *row, found = db.execute("SELECT * FROM changes WHERE number = 1").fetchone()
    assert found == hashlib.sha256(json.dumps(row, separators=(",", ":"), ensure_ascii=False).encode()).hexdigest()
    lines = [
        json.dumps([table, *values], separators=(",", ":"), ensure_ascii=False) + "\n"
        for table, key in (("packages", "sha256"), ("files", "sha256"), ("file_uses", 'sheet, key, "column"'))
        for values in db.execute(f"SELECT * FROM {table} WHERE change = 1 ORDER BY {key}")
    ]
    assert len(lines) == 1 + 4 + 4
    expected = hashlib.sha256("".join(lines).encode()).hexdigest()
    assert db.execute("SELECT content_sha256 FROM changes").fetchone() == (expected,)
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
    corrections.correct(stored, "layers", "3/S1/1", {"colour": "grey"}, BY, WHY)
    corrections.correct(stored, "layers", "3/S1/1", {"colour": "pale grey"}, BY, WHY)
    corrections.withdraw(stored, "objects", "1/2", BY, WHY)
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


@pytest.mark.parametrize("lifted_from", [1, 5_000])
def test_a_long_load_is_guarded_again_afterwards(stored: Path, lifted_from: int, monkeypatch: pytest.MonkeyPatch):
    """Whether or not the guards are lifted while many rows go in: afterwards they stand as before, and zones and parts
    are in the one name space of places."""
    monkeypatch.setattr(changing, "LIFTED_FROM", lifted_from)
    triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
    with opening.opened(stored, write=False) as db:
        before = db.execute(triggers).fetchall()
    rows = [
        Object(object="9", title="cart", kind="cart"),
        *(Component(object="9", component=f"p{number}", name="wheel") for number in range(3)),
        *(Zone(object="9", zone=f"z{number}", component="p0") for number in range(3)),
    ]
    store(stored, "B", rows)
    with opening.opened(stored, write=False) as db:
        assert db.execute(triggers).fetchall() == before
        assert db.execute("SELECT place, kind FROM places WHERE object = '9' ORDER BY 1").fetchall() == [
            ("all", "all"),
            *((f"p{number}", "component") for number in range(3)),
            *((f"z{number}", "zone") for number in range(3)),
        ]
    assert check(stored).damage == ()
    with pytest.raises(sqlite3.IntegrityError):
        raw(stored).execute("DELETE FROM layers")


@pytest.mark.parametrize("lifted_from", [1, 5_000])
def test_a_taken_key_stops_an_insert(stored: Path, lifted_from: int, monkeypatch: pytest.MonkeyPatch):
    """With the guard that says so, or lifted, by the key itself; what broke off leaves every guard in its place."""
    monkeypatch.setattr(changing, "LIFTED_FROM", lifted_from)
    before = raw(stored).execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'").fetchone()
    row = changing.one_row(Layer, ("3", "S1", 1), {"role": "wax", "survey": "A", "from_file": "f"})
    with (
        pytest.raises(OurFault, match="refused"),
        changing.transaction(stored) as db,
        changing.change(db, BY, WHY, "ingest", "A") as made,
    ):
        made.insert(row)
    db = raw(stored)
    assert db.execute("SELECT role FROM layers ORDER BY position").fetchall() == [("primer",), ("body colour",)]
    assert db.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'").fetchone() == before


def test_nobody_and_no_reason_change_nothing(stored: Path):
    for by, why in (("", WHY), ("  ", WHY), (BY, ""), (BY, "\n"), (BY, "a\x00b")):
        with pytest.raises(FirstcoatError) as refusal:
            corrections.correct(stored, "objects", "3", {"title": "car"}, by, why)
        assert refusal.value.exit_code == 2
    with opening.opened(stored, write=False) as db:
        assert db.execute("SELECT title FROM objects WHERE object = '3'").fetchone() == ("tram",)
        assert db.execute("SELECT count(*) FROM changes").fetchone() == (1,)
