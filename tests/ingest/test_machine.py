"""The intake against the machine and against packages nobody meant: refused with a sentence, or wholly stored."""

from __future__ import annotations

import json
import shlex
import shutil
import sqlite3
import subprocess
import sys
import textwrap
from pathlib import Path

import killed_at
import pytest
from faults import spoiled
from faulty_package import rows_of
from hypothesis import given
from hypothesis import strategies as st
from speed import made_package

from collection.ingest import load
from collection.language.errors import CouldNot, FirstcoatError, InputRefused
from collection.store.backup import backup
from collection.store.base import database
from collection.store.check import check

pytestmark = pytest.mark.slow


@pytest.fixture
def db(tmp_path: Path) -> Path:
    path = tmp_path / "collection.db"
    database.create(path)
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return spoiled.write(tmp_path / "package", spoiled.SOUND)


def test_a_missing_database_is_told(folder: Path, tmp_path: Path) -> None:
    """No database is made by an ingest."""
    with pytest.raises(CouldNot, match="no database"):
        load.ingest(tmp_path / "none.db", folder)
    assert not (tmp_path / "none.db").exists()


def test_a_foreign_database_is_left_alone(folder: Path, tmp_path: Path) -> None:
    """Another program's database, and a file that is none, keep their bytes."""
    foreign = tmp_path / "foreign.db"
    connection = sqlite3.connect(foreign)
    connection.execute("CREATE TABLE layers (a)")
    connection.commit()
    connection.close()
    text = tmp_path / "text.db"
    text.write_text("no database at all " * 200)
    for path in (foreign, text):
        before = path.read_bytes()
        with pytest.raises(CouldNot) as caught:
            load.ingest(path, folder)
        assert str(path) in str(caught.value)
        assert path.read_bytes() == before
        assert caught.value.exit_code == 6


def test_a_newer_database_is_left_alone(db: Path, folder: Path) -> None:
    """What a later version wrote is not touched by this one."""
    connection = sqlite3.connect(db)
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    before = db.read_bytes()
    with pytest.raises(CouldNot, match="newer"):
        load.ingest(db, folder)
    assert db.read_bytes() == before


def test_a_locked_database_is_told_and_the_package_goes_in_later(
    db: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another program writes, the ingest says so; nothing is lost, and afterwards it works."""
    monkeypatch.setattr(database, "BUSY_SECONDS", 0.1)
    other = sqlite3.connect(db, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(CouldNot, match="another program"):
        load.ingest(db, folder)
    other.execute("ROLLBACK")
    other.close()
    assert load.ingest(db, folder).change == 1
    assert check(db).damage == ()


def in_a_small_world(commands: str, db_path: Path, package: Path) -> dict[str, str | int]:
    """An ingest after shell commands in a mount name space of its own, where disks can be small or read-only."""
    if shutil.which("unshare") is None or subprocess.run(["unshare", "-rm", "true"], check=False).returncode:
        pytest.skip("no mount name spaces on this machine")
    script = textwrap.dedent(f"""
        import json
        from collection.language.errors import FirstcoatError
        from collection.ingest.load import ingest
        try:
            ingest({str(db_path)!r}, {str(package)!r})
            said = {{"error": "", "code": 0}}
        except FirstcoatError as error:
            said = {{"error": str(error), "code": error.exit_code}}
        print(json.dumps(said))
        """)
    whole = f"set -e\n{commands}\n{sys.executable} -c {shlex.quote(script)}"
    done = subprocess.run(["unshare", "-rm", "sh", "-c", whole], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    found: dict[str, str | int] = json.loads(done.stdout.splitlines()[-1])
    return found


def test_a_full_disk_is_told_and_nothing_is_lost(db: Path, tmp_path: Path) -> None:
    """On a disk with room for part of the package the database stays as it was, bytes and all."""
    made_package.write_package(tmp_path / "p", 20_000)
    disk = tmp_path / "disk"
    disk.mkdir()
    kept = tmp_path / "kept"
    kept.mkdir()
    said = in_a_small_world(
        f"mount -t tmpfs -o size=4m none {disk}\ncp {db} {disk}/small.db\n"
        f"trap 'cp {disk}/small.db {kept}/small.db' EXIT",
        disk / "small.db",
        tmp_path / "p",
    )
    assert said["code"] == 6
    assert "full" in str(said["error"])
    assert (kept / "small.db").read_bytes() == db.read_bytes()


def test_a_full_disk_for_temporary_files_is_told(db: Path, tmp_path: Path) -> None:
    """The stage lies on the disk for temporary files; when that is full, the database was not even touched."""
    made_package.write_package(tmp_path / "p", 100_000)
    before = db.read_bytes()
    small = tmp_path / "temporary"
    small.mkdir()
    said = in_a_small_world(f"mount -t tmpfs -o size=1m none {small}\nexport SQLITE_TMPDIR={small}", db, tmp_path / "p")
    assert said["code"] == 6
    assert "full" in str(said["error"])
    assert db.read_bytes() == before


def test_a_read_only_disk_is_told(db: Path, folder: Path, tmp_path: Path) -> None:
    """On a disk that cannot be written to, the ingest says so."""
    said = in_a_small_world(f"mount --bind {tmp_path} {tmp_path}\nmount -o remount,bind,ro {tmp_path}", db, folder)
    assert said["code"] == 6
    assert "written" in str(said["error"])


def test_a_limit_on_the_size_of_files_is_told(db: Path, tmp_path: Path) -> None:
    """A quota stops the ingest in the middle; the database is as it was."""
    made_package.write_package(tmp_path / "p", 20_000)
    script = (
        "import resource, sys\nfrom collection.language.errors import CouldNot\n"
        "from collection.ingest.load import ingest\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1_500_000, 1_500_000))\n"
        "try:\n    ingest(sys.argv[1], sys.argv[2])\nexcept CouldNot as error:\n    print(error)\n"
    )
    before = db.read_bytes()
    done = subprocess.run(
        [sys.executable, "-c", script, str(db), str(tmp_path / "p")], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "Nothing was changed" in done.stdout
    assert db.read_bytes() == before
    assert check(db).damage == ()


def test_somebody_elses_change_in_the_meantime_is_seen(db: Path, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was checked before the lock is checked again when the database has changed since."""
    put_files = load._Intake._put_files

    def meanwhile(intake: load._Intake) -> None:
        put_files(intake)
        files = {
            "survey.toml": spoiled.SURVEY.replace(b"harbour-1", b"other"),
            "objects.csv": b"object,title,kind\nT1,Tram number one,tram\n",
        }
        monkeypatch.setattr(load._Intake, "_put_files", put_files)
        load.ingest(db, spoiled.write(folder.parent / "other", files))

    monkeypatch.setattr(load._Intake, "_put_files", meanwhile)
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, folder)
    assert [(f.sheet, f.column, f.value) for f in caught.value.faults] == [
        ("objects", "title", "Tram 1"),
        ("objects", "made", "1908~"),
    ]
    assert check(db).damage == ()


def test_a_package_that_changes_while_it_is_read_is_refused(
    db: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sheet saved again in the middle of the ingest is told, and nothing is stored."""
    judge = load._Intake._judge

    def meanwhile(intake: load._Intake) -> None:
        judge(intake)
        with open(folder / "layers.csv", "ab") as file:
            file.write(b"T1,S02,2,wax,,,\n")

    monkeypatch.setattr(load._Intake, "_judge", meanwhile)
    before = db.read_bytes()
    with pytest.raises(CouldNot, match=r"layers\.csv was changed"):
        load.ingest(db, folder)
    assert db.read_bytes() == before


TAKEN_IN = """
from collection.ingest.load import ingest
def work(db, package):
    ingest(db, package)
"""


def backed_up(db: Path, to: Path) -> Path:
    backup(db, to)
    return to


def test_a_kill_leaves_the_state_before_or_after(db: Path, tmp_path: Path) -> None:
    """Twelve kills, and the package goes in after each; kills at random moments are in the long run of the bench."""
    made_package.write_package(tmp_path / "first", 500, survey="first")
    load.ingest(db, tmp_path / "first")
    package = tmp_path / "p"
    made_package.write_package(package, 5_000, survey="second", first=1000)
    done = backed_up(db, tmp_path / "whole.db")
    whole = killed_at.calls(TAKEN_IN, done, package)
    before, after = rows_of(db), rows_of(done)
    assert after != before
    seen = []
    for moment in killed_at.moments(whole, 8):
        db_path = backed_up(db, tmp_path / f"killed{moment}.db")
        killed_at.kill(TAKEN_IN, db_path, package, at=moment)
        assert check(db_path).damage == ()
        seen.append(rows_of(db_path))
        load.ingest(db_path, package)
        assert rows_of(db_path) == after
    sides = [[before, after].index(state) for state in seen]
    assert set(sides) == {0, 1}
    assert sides == sorted(sides)


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("empty") / "collection.db"
    database.create(path)
    return path


def test_the_sound_package_is_sound(db: Path, folder: Path) -> None:
    """What the generated packages spoil has no fault and no doubt but the two that it is meant to have."""
    report = load.ingest(db, folder)
    assert [(w.sheet, w.column) for w in report.warnings] == [("tests", "agent")]
    assert check(db).damage == ()


CELLS = st.tuples(
    st.just("cell"),
    st.sampled_from(sorted(n for n in spoiled.SOUND if n.endswith(".csv"))),
    st.integers(0, 9),
    st.integers(0, 9),
    st.sampled_from(spoiled.NASTY) | st.text(max_size=12),
)
BYTES = st.tuples(
    st.just("bytes"),
    st.sampled_from(sorted(spoiled.SOUND)),
    st.integers(0, 10_000),
    st.binary(max_size=4),
    st.integers(0, 4),
)
ROWS = st.tuples(
    st.just("row"), st.sampled_from(sorted(spoiled.SOUND)), st.integers(0, 9), st.integers(0, 9), st.none()
)


@given(edits=st.lists(st.one_of(CELLS, BYTES, ROWS), min_size=1, max_size=6))
def test_no_package_gets_halfway(
    empty: Path,
    tmp_path_factory: pytest.TempPathFactory,
    edits: list[tuple[str, str, int, int | bytes, str | int | None]],
) -> None:
    """However a package is spoiled, it is wholly stored or refused with sentences, and no other error comes."""
    files = dict(spoiled.SOUND)
    for how, name, place, second, third in edits:
        if how == "cell":
            files[name] = spoiled.with_cell(files[name], place, int(second), str(third))
        elif how == "bytes":
            assert isinstance(second, bytes)
            files[name] = spoiled.with_bytes(files[name], place, second, int(third or 0))
        else:
            files[name] = spoiled.with_row(files[name], place, int(second))
    whole_or_nothing(empty, tmp_path_factory.mktemp("spoiled"), files)


def whole_or_nothing(empty: Path, work: Path, files: dict[str, bytes]) -> None:
    db_path = work / "collection.db"
    shutil.copy(empty, db_path)
    spoiled.write(work / "package", files)
    refusal: FirstcoatError | None = None
    try:
        load.ingest(db_path, work / "package")
    except FirstcoatError as error:
        refusal = error
    if refusal is None:
        assert check(db_path).damage == ()
        assert load.ingest(db_path, work / "package").change is None
    else:
        assert refusal.exit_code in (1, 2), refusal
        assert db_path.read_bytes() == empty.read_bytes()
        assert not (work / "collection.db.files").exists()
        assert not isinstance(refusal, InputRefused) or refusal.faults
        json.dumps(refusal.as_json()).encode()
    shutil.rmtree(work)


def test_the_environment_is_left_as_it_was(db: Path, folder: Path) -> None:
    """The longest cell of the csv module, one setting for the whole process, is put back."""
    import csv

    before = csv.field_size_limit(70_000)
    try:
        load.ingest(db, folder)
        assert csv.field_size_limit() == 70_000
    finally:
        csv.field_size_limit(before)
