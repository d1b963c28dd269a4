"""Taking an export in: again, on from where it broke off, into a database that goes its own way, and damaged ones."""

from __future__ import annotations

import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from small_package import package
from whole_copy import Left, contents, told_apart

from collection.cli import run
from collection.ingest import load
from collection.ingest.whole_database import ingest_export
from collection.language.errors import CouldNot, InputRefused, WrongCommand
from collection.output.export.package import export_package
from collection.store import derive
from collection.store.base import database, files
from collection.store.changes import corrections, statements
from collection.store.check import check

BY, WHY = "R. Registrar", "as the register says"


@pytest.fixture
def source(tmp_path: Path) -> Path:
    """Four changes: a survey with a picture, two corrections, a withdrawal."""
    path = tmp_path / "source.db"
    database.create(path)
    load.ingest(path, package(tmp_path / "survey"))
    (code,) = sqlite3.connect(path).execute("SELECT object FROM objects").fetchone()
    corrections.correct(path, "objects", code, {"title": "another title"}, BY, WHY)
    corrections.correct(path, "objects", code, {"dimensions": "2 m"}, BY, WHY)
    corrections.withdraw(path, "objects", code, BY, WHY)
    return path


@pytest.fixture
def new(tmp_path: Path) -> Path:
    path = tmp_path / "new.db"
    database.create(path)
    return path


def test_the_same_again_changes_nothing_and_says_so(source: Path, new: Path, tmp_path: Path) -> None:
    export_package(source, tmp_path / "out")
    ingest_export(new, tmp_path / "out")
    before = new.read_bytes()
    report = ingest_export(new, tmp_path / "out")
    assert report.sentences() == ["out: the same as what is stored; nothing was changed."]
    assert report.as_json()["taken_in"] == 0
    assert new.read_bytes() == before
    assert ingest_export(source, tmp_path / "out").sentences() == report.sentences(), "into the database it came from"


def test_a_dry_run_counts_and_changes_nothing(source: Path, new: Path, tmp_path: Path) -> None:
    export_package(source, tmp_path / "out")
    before = new.read_bytes()
    report = ingest_export(new, tmp_path / "out", dry_run=True)
    assert report.sentences()[0] == "out: 4 changes of another database would be taken in."
    assert report.actions == {"ingest": 1, "correct": 2, "withdraw": 1}
    assert new.read_bytes() == before


def test_what_broke_off_goes_on_with_the_same_command(source: Path, new: Path, tmp_path: Path) -> None:
    export_package(source, tmp_path / "out")

    def stop(done: int, of: int) -> None:
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        ingest_export(new, tmp_path / "out", progress=stop)
    assert sqlite3.connect(new).execute("SELECT count(*) FROM changes").fetchone() == (2,)
    assert check(new).damage == ()
    report = ingest_export(new, tmp_path / "out")
    assert report.sentences()[0] == "out: 2 changes of another database were taken in after the 2 that were there."
    assert told_apart(source, new) == {}


@pytest.mark.slow
def test_killed_at_any_moment_it_goes_on_and_ends_equal(left: Left, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    database.create(copy)
    for tenths in (3, 4, 5, 6, 8):
        child = subprocess.Popen([sys.executable, "-m", "collection", "ingest", str(copy), str(left.out)])
        try:
            child.wait(timeout=tenths / 10)
        except subprocess.TimeoutExpired:
            child.send_signal(signal.SIGKILL)
            child.wait()
        assert check(copy).damage == ()
    ingest_export(copy, left.out)
    assert told_apart(left.source, copy) == {}


def test_what_went_on_meanwhile_is_taken_in_later(source: Path, new: Path, tmp_path: Path) -> None:
    """A second export brings the copy what has happened since the first."""
    export_package(source, tmp_path / "first")
    ingest_export(new, tmp_path / "first")
    (code,) = sqlite3.connect(source).execute("SELECT object FROM objects").fetchone()
    corrections.reinstate(source, "objects", code, BY, "it was not")
    export_package(source, tmp_path / "second")
    assert ingest_export(new, tmp_path / "second").actions == {"reinstate": 1}
    assert told_apart(source, new) == {}


def test_a_database_with_changes_of_its_own_is_refused(source: Path, new: Path, tmp_path: Path) -> None:
    """Be it one that was never a copy, or a copy that somebody worked on."""
    export_package(source, tmp_path / "out")
    load.ingest(new, package(tmp_path / "other" / "survey"))
    before = new.read_bytes()
    with pytest.raises(InputRefused) as refused:
        ingest_export(new, tmp_path / "out")
    (fault,) = refused.value.faults
    assert fault.message.startswith(f"{new} holds changes that are not in this export, the newest of 20")
    assert "firstcoat init" in fault.message
    assert new.read_bytes() == before


def test_a_copy_that_went_on_by_itself_refuses_what_the_source_did_since(
    source: Path, new: Path, tmp_path: Path
) -> None:
    export_package(source, tmp_path / "first")
    ingest_export(new, tmp_path / "first")
    (code,) = sqlite3.connect(source).execute("SELECT object FROM objects").fetchone()
    for path, why in ((source, "one reason"), (new, "another")):
        corrections.reinstate(path, "objects", code, BY, why)
    export_package(source, tmp_path / "second")
    with pytest.raises(InputRefused):
        ingest_export(new, tmp_path / "second")
    assert ingest_export(new, tmp_path / "first").sentences()[0].endswith("nothing was changed.")


def test_a_busy_database_says_where_it_stopped(
    source: Path, new: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(database, "BUSY_SECONDS", 0.1)
    export_package(source, tmp_path / "out")
    other = sqlite3.connect(new, isolation_level=None)

    def lock(done: int, of: int) -> None:
        if done == 3:
            other.execute("BEGIN IMMEDIATE")

    with pytest.raises(CouldNot, match=r"change 4 of 4; the 3 before it are stored.*the same command goes on"):
        ingest_export(new, tmp_path / "out", progress=lock)
    other.execute("ROLLBACK")
    other.close()
    ingest_export(new, tmp_path / "out")
    assert told_apart(source, new) == {}


def test_where_it_breaks_off_what_is_derived_is_known_to_be_behind(source: Path, new: Path, tmp_path: Path) -> None:
    """Else readers would be told of codes that are no longer so."""
    (code,) = sqlite3.connect(source).execute("SELECT object FROM objects").fetchone()
    corrections.reinstate(source, "objects", code, BY, "it was not")
    export_package(source, tmp_path / "first")
    ingest_export(new, tmp_path / "first")
    zone = sqlite3.connect(source).execute("SELECT zone FROM zones").fetchone()[0]
    statements.rename(source, "zones", f"{code}/{zone}", "PANEL", BY, WHY)
    export_package(source, tmp_path / "second")

    def stop(done: int, of: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        ingest_export(new, tmp_path / "second", progress=stop)
    with database.opened(new, write=False) as db:
        assert derive.behind(db) == [code]
    assert "nothing was changed" in ingest_export(new, tmp_path / "second").sentences()[0]
    assert told_apart(source, new) == {}, "and it is computed again"


def test_a_step_that_does_not_fit_is_refused_and_those_before_it_stand(source: Path, new: Path, tmp_path: Path) -> None:
    """Somebody altered an export and its checksums: the second correction claims to be the third content."""
    export_package(source, tmp_path / "out")
    rows, sums = tmp_path / "out" / "order" / "rows" / "0003.jsonl", tmp_path / "out" / "order" / "sha256sums.txt"
    before = files.hash_of(rows)
    rows.write_text(rows.read_text().replace(",3,null]", ",4,null]"))
    assert files.hash_of(rows) != before
    sums.write_text(sums.read_text().replace(before, files.hash_of(rows)))
    with pytest.raises(InputRefused, match=r"That was change 3 of 4; the 2 before it are stored") as refused:
        ingest_export(new, tmp_path / "out")
    assert refused.value.faults[0].message == "1 record is not as it stood before this change."
    assert sqlite3.connect(new).execute("SELECT count(*) FROM changes").fetchone() == (2,)


def drop(out: Path) -> None:
    next(out.rglob("objects.csv")).unlink()


def alter(out: Path) -> None:
    path = next(out.rglob("objects.csv"))
    path.write_text(path.read_text().replace("another title", "a third title"))


def add(out: Path) -> None:
    (out / "0001-more").mkdir()
    (out / "0001-more" / "layers.csv").write_text("object,sample,position,role\n")


def reorder(out: Path) -> None:
    path = out / "order.toml"
    path.write_text(path.read_text().replace('by = "R. Registrar"', 'by = "S. Omebody"'))


def unlist(out: Path) -> None:
    (out / "order" / "sha256sums.txt").unlink()


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (drop, "is missing"),
        (alter, "was changed after the export was written"),
        (add, "held no such file"),
        (reorder, "order.toml: This file was changed"),
        (unlist, "list of the export's files is missing"),
    ],
)
def test_an_export_that_was_touched_is_refused_before_anything_is_stored(
    source: Path, new: Path, tmp_path: Path, spoil: Callable[[Path], None], said: str
) -> None:
    export_package(source, tmp_path / "out")
    spoil(tmp_path / "out")
    with pytest.raises(InputRefused) as refused:
        ingest_export(new, tmp_path / "out")
    assert any(said in fault.sentence() for fault in refused.value.faults), [f.sentence() for f in refused.value.faults]
    assert sqlite3.connect(new).execute("SELECT count(*) FROM changes").fetchone() == (0,)


def test_files_that_a_computer_leaves_in_folders_do_no_harm(source: Path, new: Path, tmp_path: Path) -> None:
    export_package(source, tmp_path / "out")
    (tmp_path / "out" / ".DS_Store").write_bytes(b"x")
    (tmp_path / "out" / "Thumbs.db").write_bytes(b"x")
    ingest_export(new, tmp_path / "out")
    assert told_apart(source, new) == {}


def test_a_kept_file_that_is_gone_is_named_and_the_rest_goes_out(
    source: Path, new: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Damage is no reason to keep everything else locked in; the copy lacks the same file, and check says so."""
    lost, *_ = sorted(files.kept(source))
    lost.write_bytes(b"not what it was")
    assert run(["export", str(source), str(tmp_path / "out"), "--as", "package"]) == 5
    assert re.search(r"Damage: the kept file \S+ \([0-9a-f]{12}…\) is missing", capsys.readouterr().out)
    ingest_export(new, tmp_path / "out")
    found = told_apart(source, new)
    assert set(found) == {"kept files"}
    (damage,) = check(new).damage
    assert f"({lost.parent.name}{lost.name[:10]}…) is missing" in damage


def test_what_a_package_and_an_export_are_is_told_apart(source: Path, new: Path, tmp_path: Path) -> None:
    """The folder holds packages, and none of them stands for it; a zip of it is not one package either."""
    export_package(source, tmp_path / "out")
    with pytest.raises(WrongCommand, match="export of a whole database, and no single survey"):
        load.ingest(new, tmp_path / "out")
    with zipfile.ZipFile(tmp_path / "out.zip", "w") as packed:
        for name, content in contents(tmp_path / "out").items():
            packed.writestr(f"out/{name}", content)
    with pytest.raises(WrongCommand, match="Unpack it, and ingest the folder"):
        load.ingest(new, tmp_path / "out.zip")
    assert run(["try", str(tmp_path / "out")]) == 2
    assert run(["ingest", str(new), str(tmp_path / "out"), "--amend", "why", "--by", BY]) == 2
    assert run(["ingest", str(new), str(tmp_path / "out"), "--map", "map.toml"]) == 2
    assert sqlite3.connect(new).execute("SELECT count(*) FROM changes").fetchone() == (0,)


def test_an_export_of_a_newer_firstcoat_is_refused(source: Path, new: Path, tmp_path: Path) -> None:
    export_package(source, tmp_path / "out")
    order, sums = tmp_path / "out" / "order.toml", tmp_path / "out" / "order" / "sha256sums.txt"
    before = files.hash_of(order)
    order.write_text(order.read_text().replace("format = 1", "format = 2"))
    sums.write_text(sums.read_text().replace(before, files.hash_of(order)))
    with pytest.raises(InputRefused) as refused:
        ingest_export(new, tmp_path / "out")
    assert "newer firstcoat" in refused.value.faults[0].message


def test_nothing_is_written_over_and_nothing_is_left_half_done(source: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    for form in ("csv", "package"):
        assert run(["export", str(source), str(tmp_path / "out"), "--as", form]) == 2
        assert run(["export", str(source), str(tmp_path / "no" / "where"), "--as", form]) == 6
        assert run(["export", str(tmp_path / "none.db"), str(tmp_path / "new"), "--as", form]) == 6
    assert list((tmp_path / "out").iterdir()) == []
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_an_empty_database_goes_out_and_comes_in(new: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.db"
    database.create(other)
    assert export_package(new, tmp_path / "out").changes == {}
    assert ingest_export(other, tmp_path / "out").changes == 0


def test_a_copy_of_the_export_without_dates_is_the_same(source: Path, new: Path, tmp_path: Path) -> None:
    """Carried by whatever means: only names and contents count."""
    export_package(source, tmp_path / "out")
    shutil.copytree(tmp_path / "out", tmp_path / "carried", copy_function=shutil.copyfile)
    ingest_export(new, tmp_path / "carried")
    assert told_apart(source, new) == {}
