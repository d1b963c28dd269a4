"""Opening, closing and writing: what stands in the way is a sentence, and nothing is lost."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from small_files import as_exit_code, with_files_no_larger
from tram_records import TRAM, one

from collection.cli import run
from collection.language.errors import CouldNot, DamageFound, OurFault
from collection.records.sheets import Scheme
from collection.store.base import chain, database, files, log, read
from collection.store.changes import corrections
from collection.store.changes.change import change, one_row, transaction
from collection.store.check import check

BY, WHY = "A. Surveyor", "seen again"
ROOT = os.name != "nt" and os.geteuid() == 0


def test_what_is_no_database_of_ours_is_said(tmp_path: Path) -> None:
    with pytest.raises(CouldNot, match=r"no database .*none\.db.*firstcoat init"):
        database.connect(tmp_path / "none.db", write=False)
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
                database.connect(tmp_path / name, write=write_)
        with pytest.raises(CouldNot, match="exists already"):
            database.create(tmp_path / name)
        assert (tmp_path / name).read_bytes() == before
    with pytest.raises(CouldNot):
        database.create(tmp_path / "no folder" / "x.db")
    with pytest.raises(CouldNot):
        database.connect(tmp_path, write=False)


def test_create_never_overwrites_and_finishes_what_was_interrupted(tmp_path: Path) -> None:
    path = tmp_path / "x.db"
    unfinished = sqlite3.connect(path)
    unfinished.execute("PRAGMA journal_mode = WAL")
    unfinished.close()
    assert path.stat().st_size > 0
    database.create(path)
    before = path.read_bytes()
    with pytest.raises(CouldNot, match="exists already"):
        database.create(path)
    assert path.read_bytes() == before


def test_settings_of_a_connection(new_db: Path) -> None:
    with database.opened(new_db, write=True) as db:
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


def test_closing_moves_the_log_into_the_file(filled: Path) -> None:
    """Afterwards the one file is the whole database."""
    assert sorted(p.name for p in filled.parent.iterdir()) == [filled.name, f"{filled.name}.files"]
    copy = sqlite3.connect(shutil.copy(filled, filled.with_name("copy.db")))
    assert copy.execute("SELECT count(*) FROM layers").fetchone() == (2,)
    copy.close()


def test_a_reader_and_a_writer_do_not_disturb_each_other(filled: Path) -> None:
    with database.opened(filled, write=False) as reader, database.opened(filled, write=True) as db:
        with database.writing(db):
            chain.begin_change(db, BY, WHY, "ingest", "x")
            assert reader.execute("SELECT count(*) FROM changes").fetchone() == (1,)
        assert reader.execute("SELECT count(*) FROM changes").fetchone() == (2,)
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            reader.execute("DELETE FROM facts")


def test_a_second_writer_is_told(filled: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database, "BUSY_SECONDS", 0.05)
    with database.opened(filled, write=True) as first, database.opened(filled, write=True) as second:
        with database.writing(first):
            with pytest.raises(CouldNot, match="being written to by another program"), database.writing(second):
                pass
            with pytest.raises(CouldNot, match="being written to"):
                corrections.withdraw(filled, "objects", TRAM, BY, WHY)
        with database.writing(second):
            chain.begin_change(second, BY, WHY, "ingest", "x")


def test_a_full_disk_is_told_and_nothing_is_lost(filled: Path) -> None:
    """SQLite's own limit on pages gives its own error of a full disk."""
    with database.opened(filled, write=True) as db:
        pages = db.execute("PRAGMA page_count").fetchone()[0]
        db.execute(f"PRAGMA max_page_count = {pages + 3}")
        before = db.execute("SELECT count(*) FROM warnings").fetchone()

        def much() -> None:
            with database.writing(db):
                change = chain.begin_change(db, BY, WHY, "ingest", "x")
                db.executemany(
                    "INSERT INTO warnings (sheet, key, message, change) VALUES ('layers', 'k', ?, ?)",
                    (("x" * 2000, change) for _ in range(100)),
                )

        with pytest.raises(CouldNot, match="is full"):
            much()
        assert not db.in_transaction
        assert db.execute("SELECT count(*) FROM warnings").fetchone() == before
    assert check(filled).damage == ()


def makers(path: Path) -> Any:
    """The tram's maker, or what SQLite says, in a plain copy of the one file; and in a copy of all that is one database."""
    found = []
    for parts in ([path], log.parts_of(path)):
        folder = path.with_name(f"copy{len(parts)}")
        folder.mkdir()
        for part in parts:
            shutil.copy(part, folder)
        with closing(sqlite3.connect(folder / path.name)) as db:
            try:
                found += db.execute("SELECT maker FROM objects WHERE object = ?", (TRAM,)).fetchone()
            except sqlite3.DatabaseError as error:
                found.append(str(error))
        shutil.rmtree(folder)
    return found


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX limits")
def test_what_is_stored_and_cannot_leave_the_log_is_done_and_told(filled: Path) -> None:
    """The file may not grow, its log may: so the change is stored, and only the last step, moving it in, fails."""
    maker = "N. N. " * 1_500
    code, told = with_files_no_larger(
        filled.stat().st_size, lambda: corrections.correct(filled, "objects", TRAM, {"maker": maker}, BY, WHY)
    )
    assert code == 0, told
    assert told.startswith(f"Note: the last changes of {filled} are stored, but in {filled.name}-wal beside it")
    assert f"{filled.name}, {filled.name}-wal and {filled.name}-shm are one database" in told
    assert makers(filled) == ["database disk image is malformed", maker.strip()]
    shutil.copy(filled, alone := filled.with_name("alone.db"))
    try:
        alone_said = " ".join(check(alone).notes + check(alone).damage)
    except DamageFound as error:
        alone_said = str(error)
    assert "see whether its log, alone.db-wal, was left behind" in alone_said
    # A reader changes nothing of that; whoever writes next tells it again, though nothing comes of it.
    with database.opened(filled, write=False) as db:
        assert db.execute("SELECT maker FROM objects WHERE object = ?", (TRAM,)).fetchone() == (maker.strip(),)
    code, told = with_files_no_larger(
        filled.stat().st_size, lambda: corrections.correct(filled, "objects", TRAM, {"title": "x" * 9_000}, BY, WHY)
    )
    assert "Note: the last changes" in told
    (note,) = check(filled).notes
    assert "were moved into the file, which is whole again" in note
    assert log.log_of(filled) is None
    assert makers(filled) == [maker.strip()] * 2
    assert check(filled).notes == ()


def test_a_log_that_a_reader_holds_back_is_told(
    filled: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(database, "BUSY_SECONDS", 0.05)
    with database.opened(filled, write=False) as reader:
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM changes").fetchone()
        corrections.correct(filled, "objects", TRAM, {"maker": "N. N."}, BY, WHY)
        assert "because somebody else has it open" in caplog.text
        (note,) = check(filled).notes
        assert "because somebody else has it open" in note
    assert makers(filled) == [None, "N. N."]
    assert "whole again" in check(filled).notes[0]


def test_a_database_that_could_not_be_made_is_not_left_half_made(tmp_path: Path) -> None:
    code, told = with_files_no_larger(100_000, lambda: database.create(tmp_path / "x.db"))
    assert code == 6, told
    assert list(tmp_path.iterdir()) == []


def test_a_transaction_is_begun_once(new_db: Path) -> None:
    with (
        database.opened(new_db, write=True) as db,
        database.writing(db),
        pytest.raises(OurFault, match="inside another"),
        database.writing(db),
    ):
        pass
    with database.opened(new_db, write=True) as db, pytest.raises(OurFault, match="outside a transaction"):
        chain.begin_change(db, BY, WHY, "ingest", "x")


def test_what_the_schema_refuses_is_our_fault_in_a_sentence(filled: Path) -> None:
    def lost() -> None:
        with transaction(filled) as db, change(db, BY, WHY, "ingest", "A") as made:
            row = {"name": "x", "period": "later", "survey": "A", "from_file": "f"}
            made.insert(one_row(Scheme, ("no such", "1"), row))

    with pytest.raises(OurFault, match="FOREIGN KEY"):
        lost()
    assert one(filled, "SELECT count(*) FROM changes") == 1


def as_nobody(act: Callable[[], object]) -> int:
    """Run in a child without root's right to write everywhere; gives its exit code."""

    def child() -> None:
        if ROOT:
            os.setgid(65534)
            os.setuid(65534)
        os._exit(as_exit_code(act))

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
    shutil.copytree(files.folder_of(filled), files.folder_of(path))
    base.chmod(0o755)
    path.chmod(0o444)
    folder.chmod(0o555)
    yield path
    folder.chmod(0o755)
    shutil.rmtree(base)


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX rights")
def test_reading_needs_no_right_to_write(read_only: Path) -> None:
    assert database._is_wal(read_only)

    def look() -> None:
        with database.opened(read_only, write=False) as db:
            assert len(read.facts_rows(db, TRAM).layers) == 2
        assert check(read_only).damage == ()

    assert as_nobody(look) == 0
    assert sorted(p.name for p in read_only.parent.iterdir()) == ["collection.db", "collection.db.files"]


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX rights")
def test_writing_to_a_read_only_disk_is_told(read_only: Path) -> None:
    before = read_only.read_bytes()
    assert as_nobody(lambda: database.connect(read_only, write=True).close()) == 6
    assert as_nobody(lambda: corrections.withdraw(read_only, "objects", TRAM, BY, WHY) and None) == 6
    assert as_nobody(lambda: database.create(read_only.with_name("new.db"))) == 6
    assert read_only.read_bytes() == before


@pytest.mark.skipif(os.name == "nt", reason="needs POSIX rights")
def test_a_log_left_on_a_read_only_disk_is_not_passed_over(read_only: Path) -> None:
    """Reading the file without its log would show an older state as if it were the present one."""
    read_only.parent.chmod(0o755)
    read_only.with_name(read_only.name + "-wal").write_bytes(b"x" * 5000)
    read_only.parent.chmod(0o555)
    assert as_nobody(lambda: database.connect(read_only, write=False).close()) == 6


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
def test_network_drives_are_known_by_the_mount_table(tmp_path: Path, path: str, kind: str | None) -> None:
    """proc_mounts(5): device, mount point with octal escapes, type."""
    table = tmp_path / "mounts"
    table.write_text(MOUNTS)
    assert database.network_drive(Path(path), table) == kind


def test_a_network_drive_is_refused_unless_shared(
    tmp_path: Path, filled: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    table = tmp_path / "mounts"
    table.write_text(f"/dev/sda1 / ext4 rw 0 0\nserver:/x {tmp_path.resolve()} nfs rw 0 0\n")
    monkeypatch.setattr(database, "network_drive", lambda path, mounts=table: NETWORK(path, mounts))
    for act in (
        lambda: database.connect(filled, write=True),
        lambda: database.connect(filled, write=False),
        lambda: database.create(tmp_path / "new.db"),
    ):
        with pytest.raises(CouldNot, match=r"network drive \(nfs\).*`firstcoat (init|migrate) \S+ --shared`"):
            act()
    assert run(["init", str(tmp_path / "new.db"), "--shared"]) == 0
    assert run(["migrate", str(filled), "--shared"]) == 0
    for path in (tmp_path / "new.db", filled):
        with database.opened(path, write=True) as db:
            assert db.execute("PRAGMA journal_mode").fetchone() == ("delete",)


NETWORK = database.network_drive


def damage_of(path: Path) -> None:
    """`check`, which tells damage by raising where the file cannot even be opened, else by listing it."""
    damage = check(path).damage
    if damage:
        raise DamageFound(damage[0])


def test_a_damaged_file_is_told(filled: Path) -> None:
    content = bytearray(filled.read_bytes())
    for start in range(4096, len(content), 4096):
        content[start : start + 64] = bytes(64)
    filled.write_bytes(content)
    with pytest.raises(DamageFound, match="restore from a copy"):
        corrections.withdraw(filled, "objects", TRAM, BY, WHY)
    with pytest.raises(DamageFound) as found:
        damage_of(filled)
    assert found.value.exit_code == 5
