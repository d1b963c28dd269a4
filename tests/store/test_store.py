"""Opening, keys, corrections, withdrawals, reading in account, files and `check`, each on real files."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import os
import shutil
import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import collection_rows, object_rows, value

from collection.language.errors import BadValue, CouldNot, DamageFound, FirstcoatError, InputRefused, OurFault
from collection.records import cells
from collection.records.cells import CLEAR
from collection.records.facts import Facts, facts_of, read_document
from collection.records.row import Record
from collection.records.sheets import (
    BY_SHEET,
    SHEETS,
    Analysis,
    Component,
    Condition,
    Layer,
    Object,
    Proposal,
    ProposalStep,
    Reserve,
    Response,
    Sample,
    Scheme,
    Survey,
    Zone,
)
from collection.records.sheets import Test as SpotTest
from collection.store import derive
from collection.store.base import database as opening
from collection.store.base import files, keys, read
from collection.store.changes import write
from collection.store.check import check
from collection.store.schema.tables import stored_values

BY, WHY = "A. Surveyor", "seen again"
ROOT = os.name != "nt" and os.geteuid() == 0


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("empty") / "empty.db"
    opening.create(path)
    return path


@pytest.fixture
def database(empty: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(empty, tmp_path / "collection.db"))


def store(path: Path, survey: str, rows: list[Record]) -> None:
    with opening.opened(path, write=True) as db, opening.writing(db):
        change = write.begin_change(db, BY, WHY, "ingest", survey)
        head = Survey(code=survey, title="trial", lead=BY, started="2020")
        for row in [head, *rows]:
            write.insert(db, row, change=change, survey=survey, from_file="a.csv", from_row=2)
        derive.derive(db, read.object_codes(db))


def amend(path: Path, survey: str, sheet: str, key: tuple[Any, ...], **values: Any) -> None:
    with opening.opened(path, write=True) as db, opening.writing(db):
        change = write.begin_change(db, BY, WHY, "amend", survey)
        write.amend(db, sheet, key, values, change, survey, "b.csv", 3)
        derive.derive(db, [str(key[0])])


def one(path: Path, sql: str, *values: Any) -> Any:
    with opening.opened(path, write=False) as db:
        row = db.execute(sql, values).fetchone()
    return row if row is None or len(row) > 1 else row[0]


PUMP, TRAM = "1937/2", "1962.7"
ROWS: list[Record] = [
    Object(object=PUMP, title="hand pump", kind="pump", owner="the harbour board", notes="looks tired"),
    Object(object=TRAM, title="tram", kind="tram", made="1908~"),
    Component(object=TRAM, component="body", name="body", observed_on="1924/1931"),
    Component(object=TRAM, component="body", name="body", observed_on="2001"),
    Component(object=TRAM, component="frame", name="frame", parent="body"),
    Zone(object=TRAM, zone="door", component="body", area_m2=2.0),
    Zone(object=TRAM, zone="panel", component="body", within="door"),
    Scheme(object=TRAM, scheme="1", name="first", period="original"),
    Scheme(object=TRAM, scheme="2", name="second", period="later"),
    Sample(object=TRAM, sample="S1", place="door", method="cross-section"),
    Layer(object=TRAM, sample="S1", position=1, role="primer", scheme="1"),
    Layer(object=TRAM, sample="S1", position=2, role="body colour", scheme="1", thickness_um=0.1 + 0.2),
    Analysis(object=TRAM, analysis="A1", technique="SEM", result="lead white", sample="S1", position=1),
    SpotTest(object=TRAM, test="T1", place="door", agent="acetone"),
    Response(object=TRAM, test="T1", response="softened", scheme="1", role="body colour"),
    Response(object=TRAM, test="T1", response="removed", sample="S1", position=2),
    Condition(object=TRAM, place="door", phenomenon="flaking", observed_on="1924/1931"),
    Condition(object=TRAM, place="door", phenomenon="flaking", observed_on="1924/1931", scheme="1"),
    Reserve(object=TRAM, reserve="R1", place="door", kind="reserve"),
    Proposal(object=TRAM, proposal="P1", title="repaint", proposed_by="N. N.", proposed_on="2024"),
    ProposalStep(object=TRAM, proposal="P1", step=1, place="door", action="strip", removes="2"),
    ProposalStep(object=TRAM, proposal="P1", step=2, place="all", action="coat"),
]


@pytest.fixture
def filled(database: Path) -> Path:
    store(database, "A", ROWS)
    return database


# ---------------------------------------------------------------- opening


def test_what_is_no_database_of_ours_is_said(tmp_path: Path):
    with pytest.raises(CouldNot, match=r"no database .*none\.db.*firstcoat init"):
        opening.connect(tmp_path / "none.db", write=False)
    (tmp_path / "text.db").write_text("a letter about a tram\n" * 50)
    (tmp_path / "short.db").write_text("a letter")
    foreign = sqlite3.connect(tmp_path / "foreign.db")
    foreign.execute("CREATE TABLE t (x)")
    foreign.close()
    for name, said in (
        ("text.db", "not a firstcoat database"),
        ("short.db", "not a firstcoat database"),
        ("foreign.db", "another program"),
    ):
        before = (tmp_path / name).read_bytes()
        for write_ in (False, True):
            with pytest.raises(CouldNot, match=said):
                opening.connect(tmp_path / name, write=write_)
        with pytest.raises(CouldNot, match="exists already"):
            opening.create(tmp_path / name)
        assert (tmp_path / name).read_bytes() == before
    with pytest.raises(CouldNot):
        opening.create(tmp_path / "no folder" / "x.db")
    with pytest.raises(CouldNot):
        opening.connect(tmp_path, write=False)


def test_create_never_overwrites_and_finishes_what_was_interrupted(tmp_path: Path):
    path = tmp_path / "x.db"
    unfinished = sqlite3.connect(path)
    unfinished.execute("PRAGMA journal_mode = WAL")
    unfinished.close()
    assert path.stat().st_size > 0
    opening.create(path)
    before = path.read_bytes()
    with pytest.raises(CouldNot, match="exists already"):
        opening.create(path)
    assert path.read_bytes() == before


def test_settings_of_a_connection(database: Path):
    with opening.opened(database, write=True) as db:
        found = {
            name: db.execute(f"PRAGMA {name}").fetchone()[0]
            for name in (
                "journal_mode",
                "synchronous",
                "cache_size",
                "temp_store",
                "foreign_keys",
                "recursive_triggers",
            )
        }
        assert found == {
            "journal_mode": "wal",
            "synchronous": 2,
            "cache_size": -16384,
            "temp_store": 1,
            "foreign_keys": 1,
            "recursive_triggers": 1,
        }
        assert db.execute("PRAGMA busy_timeout").fetchone() == (5000,)
        assert db.isolation_level is None


def test_closing_moves_the_log_into_the_file(filled: Path):
    """Afterwards the one file is the whole database."""
    assert [p.name for p in filled.parent.iterdir()] == [filled.name]
    copy = sqlite3.connect(shutil.copy(filled, filled.with_name("copy.db")))
    assert copy.execute("SELECT count(*) FROM layers").fetchone() == (2,)
    copy.close()


def test_a_reader_and_a_writer_do_not_disturb_each_other(filled: Path):
    with opening.opened(filled, write=False) as reader, opening.opened(filled, write=True) as db:
        with opening.writing(db):
            write.begin_change(db, BY, WHY, "ingest", "x")
            assert reader.execute("SELECT count(*) FROM changes").fetchone() == (1,)
        assert reader.execute("SELECT count(*) FROM changes").fetchone() == (2,)
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            reader.execute("DELETE FROM facts")


def test_a_second_writer_is_told(filled: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(opening, "BUSY_SECONDS", 0.05)
    with opening.opened(filled, write=True) as first, opening.opened(filled, write=True) as second:
        with opening.writing(first):
            with pytest.raises(CouldNot, match="being written to by another program"), opening.writing(second):
                pass
            with pytest.raises(CouldNot, match="being written to"):
                write.withdraw(filled, "objects", TRAM, BY, WHY)
        with opening.writing(second):
            write.begin_change(second, BY, WHY, "ingest", "x")


def test_a_full_disk_is_told_and_nothing_is_lost(filled: Path):
    """SQLite's own limit on pages gives its own error of a full disk."""
    with opening.opened(filled, write=True) as db:
        pages = db.execute("PRAGMA page_count").fetchone()[0]
        db.execute(f"PRAGMA max_page_count = {pages + 3}")
        before = db.execute("SELECT count(*) FROM warnings").fetchone()

        def much() -> None:
            with opening.writing(db):
                change = write.begin_change(db, BY, WHY, "ingest", "x")
                db.executemany(
                    "INSERT INTO warnings (sheet, key, message, change) VALUES ('layers', 'k', ?, ?)",
                    (("x" * 2000, change) for _ in range(100)),
                )

        with pytest.raises(CouldNot, match="is full"):
            much()
        assert not db.in_transaction
        assert db.execute("SELECT count(*) FROM warnings").fetchone() == before
    assert check(filled).damage == ()


def test_a_transaction_is_begun_once(database: Path):
    with (
        opening.opened(database, write=True) as db,
        opening.writing(db),
        pytest.raises(OurFault, match="inside another"),
        opening.writing(db),
    ):
        pass
    with opening.opened(database, write=True) as db, pytest.raises(OurFault, match="outside a transaction"):
        write.begin_change(db, BY, WHY, "ingest", "x")


def test_what_the_schema_refuses_is_our_fault_in_a_sentence(filled: Path):
    def lost() -> None:
        with opening.opened(filled, write=True) as db, opening.writing(db):
            change = write.begin_change(db, BY, WHY, "ingest", "x")
            write.insert(
                db,
                Scheme(object="no such", scheme="1", name="x", period="later"),
                change=change,
                survey="A",
                from_file="f",
                from_row=1,
            )

    with pytest.raises(OurFault, match="FOREIGN KEY"):
        lost()
    assert one(filled, "SELECT count(*) FROM changes") == 1


def as_nobody(act: Callable[[], None]) -> int:
    """Run in a child without root's right to write everywhere; gives its exit code."""

    def child() -> None:
        if ROOT:
            os.setgid(65534)
            os.setuid(65534)
        try:
            act()
        except FirstcoatError as error:
            print(error)
            os._exit(error.exit_code)
        os._exit(0)

    process = multiprocessing.get_context("fork").Process(target=child)
    process.start()
    process.join()
    assert process.exitcode is not None
    return process.exitcode


@pytest.fixture
def read_only(filled: Path) -> Iterator[Path]:
    """The database in a folder that nobody may write to, as on a read-only disk."""
    base = Path(subprocess.run(["mktemp", "-d"], capture_output=True, text=True, check=True).stdout.strip())
    folder = base / "disk"
    folder.mkdir()
    path = Path(shutil.copy(filled, folder / "collection.db"))
    base.chmod(0o755)
    path.chmod(0o444)
    folder.chmod(0o555)
    yield path
    folder.chmod(0o755)
    shutil.rmtree(base)


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX rights")
def test_reading_needs_no_right_to_write(read_only: Path):
    assert opening._is_wal(read_only)

    def look() -> None:
        with opening.opened(read_only, write=False) as db:
            assert len(read.facts_rows(db, TRAM).layers) == 2
        assert check(read_only).damage == ()

    assert as_nobody(look) == 0
    assert sorted(p.name for p in read_only.parent.iterdir()) == ["collection.db"]


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX rights")
def test_writing_to_a_read_only_disk_is_told(read_only: Path):
    before = read_only.read_bytes()
    assert as_nobody(lambda: opening.connect(read_only, write=True).close()) == 6
    assert as_nobody(lambda: write.withdraw(read_only, "objects", TRAM, BY, WHY) and None) == 6
    assert as_nobody(lambda: opening.create(read_only.with_name("new.db"))) == 6
    assert read_only.read_bytes() == before


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX rights")
def test_a_log_left_on_a_read_only_disk_is_not_passed_over(read_only: Path):
    """Reading the file without its log would show an older state as if it were the present one."""
    read_only.parent.chmod(0o755)
    read_only.with_name(read_only.name + "-wal").write_bytes(b"x" * 5000)
    read_only.parent.chmod(0o555)
    assert as_nobody(lambda: opening.connect(read_only, write=False).close()) == 6


MOUNTS = """\
/dev/sda1 / ext4 rw 0 0
server:/export /net/museum nfs4 rw 0 0
//srv/share /mnt/two\\040words cifs rw 0 0
/dev/sdb1 /net/museum/local ext4 rw 0 0
user@host: /home/a/remote fuse.sshfs rw 0 0
"""


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/data/x.db", None),
        ("/net/museum/x.db", "nfs4"),
        ("/net/museumx/x.db", None),
        ("/mnt/two words/a/x.db", "cifs"),
        ("/net/museum/local/x.db", None),
        ("/home/a/remote/x.db", "fuse.sshfs"),
    ],
)
def test_network_drives_are_known_by_the_mount_table(tmp_path: Path, path: str, kind: str | None):
    """proc_mounts(5): device, mount point with octal escapes, type."""
    table = tmp_path / "mounts"
    table.write_text(MOUNTS)
    assert opening.network_drive(Path(path), table) == kind


def test_a_network_drive_is_refused_unless_shared(tmp_path: Path, filled: Path, monkeypatch: pytest.MonkeyPatch):
    table = tmp_path / "mounts"
    table.write_text(f"/dev/sda1 / ext4 rw 0 0\nserver:/x {tmp_path.resolve()} nfs rw 0 0\n")
    monkeypatch.setattr(opening, "network_drive", lambda path, mounts=table: NETWORK(path, mounts))
    for act in (
        lambda: opening.connect(filled, write=True),
        lambda: opening.connect(filled, write=False),
        lambda: opening.create(tmp_path / "new.db"),
    ):
        with pytest.raises(CouldNot, match=r"network drive \(nfs\).*--shared"):
            act()
    opening.create(tmp_path / "new.db", shared=True)
    opening.close(opening.connect(filled, write=True, shared=True))
    for path in (tmp_path / "new.db", filled):
        with opening.opened(path, write=True) as db:
            assert db.execute("PRAGMA journal_mode").fetchone() == ("delete",)


NETWORK = opening.network_drive


def damage_of(path: Path) -> None:
    """`check`, which tells damage by raising where the file cannot even be opened, else by listing it."""
    damage = check(path).damage
    if damage:
        raise DamageFound(damage[0])


def test_a_damaged_file_is_told(filled: Path):
    content = bytearray(filled.read_bytes())
    for start in range(4096, len(content), 4096):
        content[start : start + 64] = bytes(64)
    filled.write_bytes(content)
    with pytest.raises(DamageFound, match="restore from a copy"):
        write.withdraw(filled, "objects", TRAM, BY, WHY)
    with pytest.raises(DamageFound) as found:
        damage_of(filled)
    assert found.value.exit_code == 5


# ---------------------------------------------------------------- keys


@settings(max_examples=60)
@given(object_rows())
def test_every_key_comes_back_from_its_text(rows: list[Record]):
    for row in rows:
        stored = tuple(stored_values(row)[name] for name in row.key)
        assert stored in set(keys.readings(type(row), keys.shown(row.sheet, stored)))
        assert stored in set(keys.readings(type(row), keys.full_text(stored)))
        assert keys.shown(row.sheet, stored) == row.key_text()


@pytest.mark.parametrize(
    ("sheet", "text", "parts"),
    [
        ("survey", "A", ("A",)),
        ("survey", "A/1", ("A/1",)),
        ("objects", "1937/2", ("1937/2",)),
        ("layers", "1937/2/S1/3", ("1937/2", "S1", 3)),
        ("components", "3/body", ("3", "body", "")),
        ("components", "3/body/2001", ("3", "body", "2001")),
        ("components", "3/body/1924/1931", ("3", "body", "1924/1931")),
        ("conditions", "1937/2/door/flaking/1924/1931/1", ("1937/2", "door", "flaking", "1924/1931", "1")),
        ("responses", "3/T1/1", ("3", "T1", "1", "", "", 0, "")),
        ("responses", "3/T1/1/varnish", ("3", "T1", "1", "varnish", "", 0, "")),
        ("responses", "3/T1///S1/2", ("3", "T1", "", "", "S1", 2, "")),
        ("responses", "3/T1/////D1", ("3", "T1", "", "", "", 0, "D1")),
    ],
)
def test_keys_are_split_from_the_right(sheet: str, text: str, parts: tuple[Any, ...]):
    assert keys.split_key(sheet, text) == parts or parts in set(keys.readings(BY_SHEET[sheet], text))
    assert keys.shown(sheet, parts) == text


@pytest.mark.parametrize(
    ("sheet", "text"),
    [
        ("layers", "3/S1"),
        ("layers", "3/S1/x"),
        ("layers", "S1"),
        ("layers", ""),
        ("zones", "3/"),
        ("zones", "/door"),
        ("responses", "3"),
        ("conditions", "3/door/flaking/someday"),
    ],
)
def test_what_is_no_key_is_told_its_form(sheet: str, text: str):
    with pytest.raises(InputRefused) as refusal:
        keys.split_key(sheet, text)
    assert f"A key of {sheet} is written OBJECT" in refusal.value.faults[0].message


@pytest.mark.parametrize(
    ("sheet", "text", "nearest"),
    [
        ("objects", "1962-7", "1962.7"),
        ("layers", "1962.7/S1/3", "1962.7/S1/"),
        ("layers", "1962,7/S1/1", "1962.7"),
        ("zones", "1962.7/dor", "1962.7/door"),
        ("survey", "B", None),
    ],
)
def test_an_unknown_key_names_the_nearest(filled: Path, sheet: str, text: str, nearest: str | None):
    with pytest.raises(InputRefused) as refusal:
        write.withdraw(filled, sheet, text, BY, WHY)
    fault = refusal.value.faults[0]
    assert "no such record" in fault.message
    assert (fault.nearest or "").startswith(nearest or "")
    assert (fault.nearest is None) == (nearest is None)


def test_a_key_with_two_meanings_is_asked_back(database: Path):
    """A part `1924` of object 3/1 without a date, and the part `1` of object 3 in 1924."""
    store(
        database,
        "A",
        [
            Object(object="3", title="t", kind="k"),
            Object(object="3/1", title="t", kind="k"),
            Component(object="3", component="1", name="one", observed_on="1924"),
            Component(object="3/1", component="1924", name="two"),
        ],
    )
    with pytest.raises(InputRefused, match="Refused") as refusal:
        write.withdraw(database, "components", "3/1/1924", BY, WHY)
    assert "may name 2 records" in refusal.value.faults[0].message
    write.withdraw(database, "components", "3/1/1924/", BY, WHY)
    assert one(database, "SELECT name FROM components WHERE withdrawn IS NOT NULL") == "two"
    with opening.opened(database, write=False) as db:
        assert len(read.history_of(db, "components", "3/1/1924/")) == 1
        assert db.execute("SELECT key FROM history").fetchall() == [("3/1/1924",)]


# ---------------------------------------------------------------- corrections


def test_a_correction_is_signed_and_keeps_what_stood_there(filled: Path):
    write.correct(filled, "layers", f"{TRAM}/S1/2", {"thickness_um": "35,5", "role": "Overpaint"}, BY, WHY)
    assert one(filled, "SELECT thickness_um, role, revision, survey FROM layers WHERE position = 2") == (
        35.5,
        "body colour",
        2,
        "A",
    )
    with opening.opened(filled, write=False) as db:
        entry = read.history_of(db, "layers", f"{TRAM}/S1/2")[0]
        assert read.load_facts(db, TRAM).sha256 == read.facts_rows(db, TRAM).sha256
        assert read.load_facts(db, TRAM).layers[1].thickness_um == 35.5
    assert entry["content"]["thickness_um"] == 0.1 + 0.2
    assert (entry["by"], entry["why"], entry["action"]) == (BY, WHY, "correct")
    assert check(filled).damage == ()


def test_a_date_takes_its_bounds_with_it(filled: Path):
    write.correct(filled, "objects", TRAM, {"made": "1924/1931"}, BY, WHY)
    made = "SELECT made, made_earliest, made_latest FROM objects WHERE object = ?"
    assert one(filled, made, TRAM) == ("1924/1931", "1924-01-01", "1931-12-31")
    write.correct(filled, "objects", TRAM, {"made": "Not  recorded"}, BY, WHY)
    assert one(filled, made, TRAM) == (None, None, None)


@pytest.mark.parametrize(
    ("sheet", "key", "column", "text", "said", "nearest"),
    [
        ("layers", f"{TRAM}/S1/2", "thicknes_um", "3", "no such column", "thickness_um"),
        ("layers", f"{TRAM}/S1/2", "position", "3", "part of the record's key", None),
        ("layers", f"{TRAM}/S1/2", "role", "varnsh", "Not a word for layer role", "varnish"),
        ("layers", f"{TRAM}/S1/2", "role", "size", "gold size is written mordant", None),
        ("layers", f"{TRAM}/S1/2", "role", "not recorded", "always needed", None),
        ("layers", f"{TRAM}/S1/2", "role", " ", "blank changes nothing", None),
        ("layers", f"{TRAM}/S1/2", "thickness_um", "-1", "0 to 100000 µm", None),
        ("layers", f"{TRAM}/S1/2", "thickness_um", "1,234", "thousands", None),
        ("layers", f"{TRAM}/S1/2", "thickness_um", "nan", "left blank", None),
        ("layers", f"{TRAM}/S1/2", "scheme", "11", "no such record in schemes", "1"),
        ("layers", f"{TRAM}/S1/2", "source", "Q", "no such record in sources", None),
        ("layers", f"{TRAM}/S1/2", "notes", "a\x00b", "cannot be seen", None),
        ("layers", f"{TRAM}/S1/2", "notes", "a\u202eb", "right-to-left override", None),
        ("samples", f"{TRAM}/S1", "place", "doors", "no such zone or part", "door"),
        ("samples", f"{TRAM}/S1", "taken_on", "12/13/2001", "2001-12-13 in EDTF", "2001-12-13"),
        ("zones", f"{TRAM}/panel", "within", "all", "stands for the whole object", None),
        ("zones", f"{TRAM}/door", "within", "panel", "lie within itself, by way of panel", None),
        ("zones", f"{TRAM}/door", "within", "door", "lie within itself", None),
        ("zones", f"{TRAM}/door", "outline", "0,0 1,1", "at least 3", None),
        ("zones", f"{TRAM}/door", "outline", "0,0 1,1 2", "no y", None),
        ("components", f"{TRAM}/body/2001", "parent", "frame", "lie within itself", None),
        ("objects", PUMP, "part_of", PUMP, "lie within itself", None),
        ("objects", PUMP, "part_of", "1962", "no such record in objects", TRAM),
        ("analyses", f"{TRAM}/A1", "position", "7", "no such record in layers", None),
        ("analyses", f"{TRAM}/A1", "sample", "not recorded", "the sample has to be named", None),
        ("proposal_steps", f"{TRAM}/P1/1", "removes", "9/varnish", "no such record in schemes", None),
        ("proposal_steps", f"{TRAM}/P1/1", "removes", "1/varnishes", "Not a word", "varnish"),
        ("proposal_steps", f"{TRAM}/P1/1", "agent", "5% acetone", "not in percent", None),
        ("objects", TRAM, "title", "tram", "says this already", None),
    ],
)
def test_a_correction_that_does_not_fit_is_a_sentence(
    filled: Path, sheet: str, key: str, column: str, text: str, said: str, nearest: str | None
):
    before = list(sqlite3.connect(filled).iterdump())
    with pytest.raises(InputRefused) as refusal:
        write.correct(filled, sheet, key, {column: text}, BY, WHY)
    faults = refusal.value.faults
    assert said in faults[0].message, faults
    assert faults[0].nearest == nearest
    assert list(sqlite3.connect(filled).iterdump()) == before


def test_all_faults_of_a_correction_are_told_at_once(filled: Path):
    with pytest.raises(InputRefused) as refusal:
        write.correct(filled, "layers", f"{TRAM}/S1/2", {"role": "x", "binder": "japan", "lab_l": "101"}, BY, WHY)
    assert {fault.column for fault in refusal.value.faults} == {"role", "binder", "lab_l"}


def test_a_reference_to_what_is_out_of_account_is_refused(filled: Path):
    write.withdraw(filled, "schemes", f"{TRAM}/2", BY, WHY)
    with pytest.raises(InputRefused) as refusal:
        write.correct(filled, "layers", f"{TRAM}/S1/2", {"scheme": "2"}, BY, WHY)
    assert refusal.value.faults[0].nearest is None
    write.reinstate(filled, "schemes", f"{TRAM}/2", BY, WHY)
    write.correct(filled, "layers", f"{TRAM}/S1/2", {"scheme": "2"}, BY, WHY)


# ---------------------------------------------------------------- cells


@given(st.data(), st.sampled_from([(cls, c) for cls in SHEETS for c in cls.columns() if not c.reference]))
def test_what_a_column_can_hold_is_read_as_it_is(data: st.DataObject, of: tuple[type[Record], Any]):
    _cls, column = of
    wanted = data.draw(value(column))
    text = repr(wanted) if isinstance(wanted, float) else str(wanted)
    assert cells.read_cell(column, f"  {text}\n") == wanted


@given(st.sampled_from([c for cls in SHEETS for c in cls.columns()]), st.text(max_size=40))
def test_any_text_is_a_value_or_a_sentence(column: Any, text: str):
    """Nothing else is raised, and what is accepted fits the record."""
    fault = found = None
    try:
        found = cells.read_cell(column, text)
    except BadValue as refused:
        fault = refused
    if fault is not None:
        assert str(fault).endswith((".", "?"))
    elif found is None:
        assert not text.strip()
    elif found is CLEAR:
        assert not column.required
    elif column.is_number:
        assert column.low is None or found >= column.low
        assert column.high is None or found <= column.high
        assert str(found) != "-0.0"
    else:
        assert isinstance(found, str)
        assert found
        assert found == cells.clean(found)
        assert not any(ord(sign) < 32 and sign not in "\n\t" for sign in found)


@pytest.mark.parametrize(
    ("sheet", "column", "text", "said"),
    [
        ("zones", "zone", "a/b", "Only the number of an object"),
        ("zones", "zone", "ALL", "whole object"),
        ("components", "component", "all", "whole object"),
        ("zones", "zone", "x" * 81, "at most 80"),
        ("zones", "zone", "a\u200bb", "invisible"),
        ("zones", "zone", "a\tb", "tabs"),
        ("objects", "title", "x" * 20_001, "at most 20000"),
        ("pictures", "file", "../secret.png", "in the package"),
        ("pictures", "file", "C:\\a.png", "with / between"),
        ("pictures", "file", "/etc/a.png", "in the package"),
        ("treatment_steps", "removed", "1/varnish/x", "scheme and a role"),
        ("treatment_steps", "removed", "/varnish", "scheme"),
        ("zones", "outline", "0,0 1e4000,0 1,1", "no outline"),
        ("zones", "outline", "0,0 1e400,0 1,1", "beyond"),
        ("samples", "x", "1e10", "-1e+09 to 1e+09"),
        ("tests", "passes", "1.5", "whole number"),
        ("survey", "started", "2001-02-30", "no day 30"),
        ("objects", "title", "a\x1b[31mred", "U+001B"),
    ],
)
def test_cells_that_are_refused(sheet: str, column: str, text: str, said: str):
    with pytest.raises(BadValue, match=r"(?s).*") as fault:
        cells.read_cell(BY_SHEET[sheet].column(column), text)
    assert said in str(fault.value)


@pytest.mark.parametrize(
    ("sheet", "column", "text", "stored"),
    [
        ("objects", "object", " 1937/2 ", "1937/2"),
        ("samples", "place", "All", "all"),
        ("objects", "title", "A\u030a", "Å"),
        ("objects", "title", "a\r\nb", "a\nb"),
        ("treatment_steps", "removed", "1 / Clear coat", "1/varnish"),
        ("layers", "binder", "French  polish", "shellac"),
        ("conditions", "phenomenon", "Wet rot", "Wet rot"),
        ("conditions", "phenomenon", "Blisters", "blistering"),
        ("layers", "lab_a", "-0", 0.0),
        ("layers", "notes", "not recorded", CLEAR),
        ("layers", "notes", "\u00a0", None),
    ],
)
def test_cells_that_are_read(sheet: str, column: str, text: str, stored: Any):
    found = cells.read_cell(BY_SHEET[sheet].column(column), text)
    assert found == stored
    assert str(found) == str(stored)


# ---------------------------------------------------------------- in account


def live(path: Path) -> dict[str, int]:
    with opening.opened(path, write=False) as db:
        return {cls.sheet: db.execute(f"SELECT count(*) FROM live_{cls.table}").fetchone()[0] for cls in SHEETS}


def test_a_record_counts_with_all_it_hangs_on(filled: Path):
    whole = live(filled)
    assert whole["layers"] == 2
    write.withdraw(filled, "samples", f"{TRAM}/S1", BY, WHY)
    assert {k: v for k, v in live(filled).items() if v != whole[k]} == {
        "samples": 0,
        "layers": 0,
        "analyses": 0,
        "responses": 1,
    }
    write.reinstate(filled, "samples", f"{TRAM}/S1", BY, WHY)
    assert live(filled) == whole
    write.withdraw(filled, "zones", f"{TRAM}/door", BY, WHY)
    gone = {k: v for k, v in live(filled).items() if v != whole[k]}
    assert gone == {"zones": 1, "samples": 0, "layers": 0, "analyses": 0, "tests": 0, "responses": 0, "conditions": 0}
    write.reinstate(filled, "zones", f"{TRAM}/door", BY, WHY)
    write.withdraw(filled, "survey", "A", BY, WHY)
    assert set(live(filled).values()) == {0}
    write.reinstate(filled, "survey", "A", BY, WHY)
    assert live(filled) == whole
    assert check(filled).damage == ()


def test_one_of_several_dated_states_keeps_the_part_in_account(filled: Path):
    whole = live(filled)
    write.withdraw(filled, "components", f"{TRAM}/body/2001", BY, WHY)
    assert live(filled) == {**whole, "components": 2}
    write.withdraw(filled, "components", f"{TRAM}/body/1924/1931", BY, WHY)
    assert live(filled)["zones"] == 0


def test_an_alarm_stays_when_its_place_goes(filled: Path):
    """A reserve and a proposed step are not silenced by withdrawing a zone, nor evidence by a scheme."""
    write.withdraw(filled, "zones", f"{TRAM}/door", BY, WHY)
    assert (live(filled)["reserves"], live(filled)["proposal_steps"]) == (1, 2)
    write.reinstate(filled, "zones", f"{TRAM}/door", BY, WHY)
    write.withdraw(filled, "schemes", f"{TRAM}/1", BY, WHY)
    assert (live(filled)["layers"], live(filled)["conditions"]) == (2, 2)


def test_withdrawing_twice_or_nothing_is_refused(filled: Path):
    with pytest.raises(InputRefused):
        write.reinstate(filled, "objects", TRAM, BY, WHY)
    write.withdraw(filled, "objects", TRAM, BY, WHY)
    with pytest.raises(InputRefused):
        write.withdraw(filled, "objects", TRAM, BY, WHY)
    assert one(filled, "SELECT count(*) FROM changes") == 2


KEY = (TRAM, "S1", 2)
TEXT = f"{TRAM}/S1/2"


def colour(path: Path) -> tuple[Any, ...]:
    """Colour, survey, and whether the layer is in account."""
    row = one(path, "SELECT colour, survey FROM layers WHERE position = 2")
    return (*row, live(path)["layers"] == 2)


def test_withdrawing_a_survey_restores_what_it_had_amended(filled: Path):
    write.correct(filled, "layers", TEXT, {"colour": "red"}, BY, WHY)
    store(filled, "B", [])
    store(filled, "C", [])
    amend(filled, "B", "layers", KEY, colour="green", thickness_um=2 / 3)
    assert colour(filled) == ("green", "B", True)
    write.withdraw(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("red", "A", True)
    layer = one(filled, "SELECT thickness_um, revision, from_file FROM layers WHERE position = 2")
    assert layer == (0.1 + 0.2, 4, "a.csv")
    write.reinstate(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("green", "B", True)
    amend(filled, "C", "layers", KEY, colour="blue")
    write.withdraw(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("blue", "C", True), "something newer stands"
    write.withdraw(filled, "survey", "C", BY, WHY)
    assert colour(filled) == ("red", "A", True), "not what a withdrawn survey said"
    write.reinstate(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("green", "B", True)
    write.reinstate(filled, "survey", "C", BY, WHY)
    assert colour(filled) == ("blue", "C", True)
    report = check(filled)
    assert (report.damage, report.notes) == ((), ())


def test_a_correction_after_a_restoration_stands(filled: Path):
    store(filled, "B", [])
    amend(filled, "B", "layers", KEY, colour="green")
    write.withdraw(filled, "survey", "B", BY, WHY)
    write.correct(filled, "layers", TEXT, {"colour": "maroon"}, BY, WHY)
    write.reinstate(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("maroon", "A", True)


def test_all_surveys_of_a_record_withdrawn_take_it_out_and_any_brings_it_back(filled: Path):
    store(filled, "B", [])
    amend(filled, "B", "layers", KEY, colour="green")
    write.withdraw(filled, "survey", "A", BY, WHY)
    assert colour(filled) == ("green", "B", False), "the sample is survey A's"
    write.withdraw(filled, "survey", "B", BY, WHY)
    write.reinstate(filled, "survey", "A", BY, WHY)
    assert colour(filled) == (None, "A", True)


def test_a_record_withdrawn_by_itself_stays_so(filled: Path):
    store(filled, "B", [])
    amend(filled, "B", "layers", KEY, colour="green")
    write.withdraw(filled, "layers", TEXT, BY, WHY)
    write.withdraw(filled, "survey", "B", BY, WHY)
    write.reinstate(filled, "survey", "B", BY, WHY)
    assert colour(filled) == ("green", "B", False)
    write.reinstate(filled, "layers", TEXT, BY, WHY)
    assert colour(filled) == ("green", "B", True)


# ---------------------------------------------------------------- reading


def vars_of(facts: Facts) -> list[Any]:
    """The rows of a facts document; documents themselves are compared by identity."""
    return [getattr(facts, field.name) for field in fields(facts)]


@settings(max_examples=40)
@given(collection_rows())
def test_facts_are_what_was_stored(empty: Path, rows: list[Record]):
    """Read for one object, for many, from the views, from the document, and made of the records alone."""
    path = Path(shutil.copy(empty, empty.with_name("facts.db")))
    store(path, "A", rows)
    objects = [row for row in rows if isinstance(row, Object)]
    with opening.opened(path, write=False) as db:
        bulk = {facts.object.object: facts for facts in read.facts_in_bulk(db)}
        assert sorted(bulk) == read.object_codes(db) == sorted(row.object for row in objects)
        for row in objects:
            expected = facts_of(row, [r for r in rows if getattr(r, "object", None) == row.object])
            one_by_one = read.facts_rows(db, row.object)
            assert one_by_one.document() == expected.document()
            for other in (
                bulk[row.object],
                read.load_facts(db, row.object),
                read_document(json.loads(one_by_one.canonical)),
            ):
                assert vars_of(other) == vars_of(one_by_one)
    write.withdraw(path, "objects", objects[0].object, BY, WHY)
    with opening.opened(path, write=False) as db:
        assert read.anything_withdrawn(db)
        assert [facts.object.object for facts in read.facts_in_bulk(db)] == sorted(r.object for r in objects[1:])
        for row in objects[1:]:
            assert vars_of(read.facts_rows(db, row.object)) == vars_of(bulk[row.object])


def test_facts_hold_no_notes_and_nothing_private(filled: Path):
    with opening.opened(filled, write=False) as db:
        facts = read.facts_rows(db, PUMP)
        assert (facts.object.owner, facts.object.notes) == (None, None)
        assert "tired" not in facts.canonical
        assert vars_of(facts) == vars_of(read.load_facts(db, PUMP))


def test_an_outdated_document_is_not_used(filled: Path):
    with opening.opened(filled, write=True) as db:
        db.execute("UPDATE facts SET document = json_set(document, '$.object.title', 'bus') WHERE object = ?", (TRAM,))
        assert read.load_facts(db, TRAM).object.title == "bus"
        write.mark_stale(db, [TRAM])
        assert read.load_facts(db, TRAM).object.title == "tram"
    notes = check(filled).notes
    assert any("1 objects" in line and "refresh" in line for line in notes)


def test_unknown_objects_and_proposals_name_the_nearest(filled: Path):
    with opening.opened(filled, write=False) as db:
        with pytest.raises(InputRefused) as refusal:
            read.facts_rows(db, "1962")
        assert refusal.value.faults[0].nearest == TRAM
        with pytest.raises(InputRefused) as refusal:
            read.load_proposal(db, TRAM, "P9")
        assert "has P1" in refusal.value.faults[0].message
        found = read.load_proposal(db, TRAM, "P1")
        assert [step.step for step in found.steps] == [1, 2]
        assert read.proposal_keys(db) == [(TRAM, "P1")]
        assert read.object_history(db, TRAM) == []


# ---------------------------------------------------------------- files and check


def test_files_are_kept_once_under_their_hash(filled: Path, tmp_path: Path):
    picture = tmp_path / "front.png"
    picture.write_bytes(b"not really a picture" * 1000)
    sha256 = hashlib.sha256(picture.read_bytes()).hexdigest()
    assert files.put(filled, picture) == files.put(filled, picture.read_bytes()) == sha256
    path = files.path_of(filled, sha256)
    assert path == filled.with_name("collection.db.files") / sha256[:2] / sha256[2:]
    assert list(files.kept(filled)) == [path]
    assert files.read_file(filled, sha256) == picture.read_bytes()
    path.write_bytes(b"other")
    with pytest.raises(DamageFound, match="no longer what was stored"):
        files.read_file(filled, sha256)
    assert files.put(filled, picture) == sha256
    assert path.read_bytes() == picture.read_bytes()
    with pytest.raises(CouldNot, match="changed while it was read"):
        files.put(filled, picture, "0" * 64)
    assert list(files.kept(filled)) == [path]
    with pytest.raises(CouldNot):
        files.put(filled, tmp_path / "none.png")


@pytest.fixture
def pictured(filled: Path) -> tuple[Path, Path]:
    """A database with one kept file that a record names."""
    sha256 = files.put(filled, b"a drawing")
    with opening.opened(filled, write=True) as db, opening.writing(db):
        change = write.begin_change(db, BY, WHY, "ingest", "A")
        db.execute("INSERT INTO files (sha256, bytes, name, change) VALUES (?, 9, 'front.svg', ?)", (sha256, change))
    assert check(filled).damage == ()
    return filled, files.path_of(filled, sha256)


def test_check_finds_files_that_are_gone_or_altered(pictured: tuple[Path, Path]):
    path, kept = pictured
    content = kept.read_bytes()
    kept.write_bytes(bytes([content[0] ^ 1]) + content[1:])
    assert any("front.svg" in line and "no longer" in line for line in check(path).damage)
    kept.unlink()
    assert any("front.svg" in line and "missing" in line for line in check(path).damage)


def test_orphans_are_listed_and_no_damage(pictured: tuple[Path, Path]):
    path, kept = pictured
    orphan = files.path_of(path, files.put(path, b"left by a kill"))
    stray = kept.with_name("x.partial")
    stray.write_bytes(b"half")
    with opening.opened(path, write=False) as db:
        assert files.orphans(db) == sorted([orphan, stray])
    report = check(path)
    assert report.damage == ()
    assert sum("may be removed" in line for line in report.notes) == 2


@pytest.mark.parametrize(
    ("sql", "said"),
    [
        (
            "INSERT INTO responses (object, test, response, scheme, role, sample, position, decoration, survey, from_file, "
            "change) VALUES ('1962.7', 'T1', 'softened', '9', '', '', 0, '', 'A', 'f', 1)",
            "scheme names 9",
        ),
        (
            "INSERT INTO claims (object, claim, statement, status, decoration, observed_on, survey, from_file, change) "
            "VALUES ('1962.7', 'C', 'x', 'untested', 'D9', '', 'A', 'f', 1)",
            "decoration names D9",
        ),
        (
            "INSERT INTO hazards (object, hazard, kind, status, component, observed_on, survey, from_file, change) "
            "VALUES ('1962.7', 'H', 'lead', 'suspected', 'door', '', 'A', 'f', 1)",
            "component names door",
        ),
        (
            "INSERT INTO proposal_steps (object, proposal, step, place, action, spares, survey, from_file, change) "
            "VALUES ('1962.7', 'P', 1, 'all', 'strip', 'door; R\"7', 'A', 'f', 1)",
            'spares names R"7',
        ),
        (
            "INSERT INTO treatment_steps (object, treatment, step, place, action, removed, survey, from_file, change) "
            "VALUES ('1962.7', 'T', 1, 'all', 'strip', '7/varnish', 'A', 'f', 1)",
            "removed names 7/varnish",
        ),
        ("UPDATE facts SET document = json_set(document, '$.object.title', 'bus')", "is not what its records give"),
        ("DELETE FROM survival_places", "is not what its records give"),
        ("INSERT INTO places VALUES ('no such', 'x', 'zone')", "points to a row of objects"),
    ],
)
def test_check_finds_what_no_foreign_key_holds(filled: Path, sql: str, said: str):
    db = sqlite3.connect(filled, isolation_level=None)
    db.execute(sql)
    db.close()
    damage = check(filled).damage
    assert any(said in line for line in damage), damage


def test_check_lists_a_few_and_counts_the_rest(filled: Path):
    db = sqlite3.connect(filled)
    db.executemany(
        "INSERT INTO claims (object, claim, statement, status, decoration, observed_on, survey, from_file, "
        "change) VALUES ('1962.7', ?, 'x', 'untested', 'D9', '', 'A', 'f', 1)",
        ((str(i),) for i in range(80)),
    )
    db.commit()
    db.close()
    damage = check(filled).damage
    assert len(damage) == 51
    assert damage[-1] == "… and 30 more of this kind."


def test_check_changes_nothing(filled: Path):
    before = filled.read_bytes()
    check(filled)
    assert filled.read_bytes() == before
