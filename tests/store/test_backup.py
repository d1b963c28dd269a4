"""`backup`: one moment of the database with its files, whoever writes, and whenever it is killed; nothing is overwritten."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import killed_at
import pytest
from small_files import with_files_no_larger
from tram_records import TRAM, one

from collection.cli import run
from collection.language.errors import CouldNot, DamageFound, WrongCommand
from collection.store.backup import backup
from collection.store.base import chain, database, files, unfinished
from collection.store.changes import corrections
from collection.store.check import check
from collection.store.schema import database_copy

BY, WHY = "R. Registrar", "seen again"
MAKER = "SELECT maker FROM objects WHERE object = '1962.7'"


@pytest.fixture
def pictured(filled: Path) -> Path:
    """A database with three kept files that a record names, and one that none names."""
    with database.opened(filled, write=True) as db, database.writing(db):
        change = chain.begin_change(db, BY, WHY, "ingest", "A")
        for content in (b"a drawing", b"a photograph", b"another"):
            row = (files.put(filled, content), len(content), f"{content.decode()}.svg", change)
            db.execute("INSERT INTO files (sha256, bytes, name, change) VALUES (?, ?, ?, ?)", row)
    files.put(filled, b"left by a kill")
    return filled


def dump(path: Path) -> list[str]:
    """The whole content as SQLite's own shell would write it out."""
    with closing(sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)) as db:
        return list(db.iterdump())


def everything(folder: Path) -> dict[str, bytes]:
    """All files by name, without the scratch files that readers leave."""
    found = (path for path in folder.rglob("*") if path.is_file() and not path.name.endswith(("-shm", "-wal")))
    return {str(path.relative_to(folder)): path.read_bytes() for path in found}


def test_a_copy_is_the_same_and_works(pictured: Path, tmp_path: Path) -> None:
    """Rows, files but for the one that no record names, and writing to it; what was copied is untouched."""
    before = everything(pictured.parent)
    out = tmp_path / "copies of today" / "harbour 2026-11-28.db"
    out.parent.mkdir()
    report = backup(pictured, out)
    assert everything(pictured.parent) == before
    assert sorted(path.name for path in out.parent.iterdir()) == [out.name, f"{out.name}.files"]
    assert dump(out) == dump(pictured)
    with database.opened(pictured, write=False) as db:
        named = {sha256 for (sha256,) in db.execute("SELECT sha256 FROM files")}
    assert {path.parent.name + path.name for path in files.kept(out)} == named
    assert {files.hash_of(files.path_of(out, sha256)) for sha256 in named} == named
    assert (report.damage, report.files) == ((), len(named))
    assert report.change == one(pictured, "SELECT max(number) FROM changes")
    corrections.correct(out, "objects", TRAM, {"maker": "N. N."}, BY, WHY)
    assert check(out).damage + check(out).notes == ()
    assert one(out, "PRAGMA journal_mode") == "wal"
    assert one(pictured, MAKER) is None


def test_whoever_writes_meanwhile_neither_waits_nor_is_seen(
    pictured: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A maker is written when a tenth is copied: it is stored at once, and the copy is of the moment before it."""
    monkeypatch.setattr(database_copy, "PAGES", 10)
    monkeypatch.setattr(database, "BUSY_SECONDS", 0.05)
    expected = dump(pictured)
    written: list[int] = []
    seen: list[tuple[str, int, int]] = []

    def progress(what: str) -> Any:
        def how_far(done: int, whole: int) -> None:
            seen.append((what, done, whole))
            if done * 10 > whole and not written:
                written.append(corrections.correct(pictured, "objects", TRAM, {"maker": "N. N."}, BY, WHY))

        return how_far

    report = backup(pictured, tmp_path / "out.db", progress=progress)
    assert one(pictured, MAKER) == "N. N."
    assert one(tmp_path / "out.db", MAKER) is None
    assert dump(tmp_path / "out.db") == expected
    assert report.change == written[0] - 1
    assert check(tmp_path / "out.db").damage == ()
    pages = [done for what, done, _ in seen if what == "pages copied"]
    assert pages == sorted(pages), "it began anew"
    assert {what for what, done, whole in seen if done == whole} == {"pages copied", "files copied", "files checked"}


@pytest.mark.parametrize("name", ["there.db", "there.db.files", "there.db-wal", "there.db-journal"])
def test_nothing_is_ever_overwritten(pictured: Path, tmp_path: Path, name: str) -> None:
    """Not a file, nor the folder of another copy's files, nor a log that would be read as the copy's own."""
    (tmp_path / name).write_text("an earlier copy")
    with pytest.raises(WrongCommand, match=f"{name} is there already, and a backup overwrites nothing"):
        backup(pictured, tmp_path / "there.db")
    assert (tmp_path / name).read_text() == "an earlier copy"


def test_where_it_cannot_go_is_said(pictured: Path, tmp_path: Path) -> None:
    with pytest.raises(WrongCommand, match=r"is a folder\. Name the file too, such as .*collection\.db"):
        backup(pictured, tmp_path)
    with pytest.raises(WrongCommand, match="is there already"):
        backup(pictured, pictured)
    with pytest.raises(CouldNot, match=r"no folder .*Make it first"):
        backup(pictured, tmp_path / "no" / "out.db")
    with pytest.raises(CouldNot, match="no database"):
        backup(tmp_path / "none.db", tmp_path / "out.db")
    assert sorted(tmp_path.iterdir()) == [pictured.parent]


def test_damage_is_copied_as_it_is_and_told(pictured: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One lost picture must not stand in the way of a copy of all the rest; but nobody may take it for whole."""
    files.path_of(pictured, files.put(pictured, b"a photograph")).unlink()
    changed = files.path_of(pictured, files.put(pictured, b"another"))
    changed.write_bytes(b"ANOTHER")
    assert run(["backup", str(pictured), str(tmp_path / "out.db")]) == 5
    said = capsys.readouterr().out
    assert "The copy is as damaged as what was copied:" in said
    assert "a photograph.svg" in said
    assert "is missing" in said
    assert "another.svg" in said
    assert "no longer what was stored" in said
    assert len(check(tmp_path / "out.db").damage) == len(check(pictured).damage) == 2


def test_a_database_without_its_folder_is_not_copied(pictured: Path, tmp_path: Path) -> None:
    shutil.rmtree(files.folder_of(pictured))
    with pytest.raises(DamageFound, match=r"has no folder collection\.db\.files beside it \(\d+ files are named\)"):
        backup(pictured, tmp_path / "out.db")
    assert sorted(tmp_path.iterdir()) == [pictured.parent]


def test_a_broken_chain_is_told_and_a_broken_file_not_copied(pictured: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(pictured, isolation_level=None)) as db:
        triggers = "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'changes'"
        for (name,) in db.execute(triggers).fetchall():
            db.execute(f"DROP TRIGGER {name}")
        db.execute("UPDATE changes SET why = 'another reason' WHERE number = 1")
    assert "its hash does not fit" in backup(pictured, tmp_path / "told.db").damage[0]
    content = bytearray(pictured.read_bytes())
    for start in range(4096, len(content), 4096):
        content[start : start + 64] = bytes(64)
    pictured.write_bytes(content)
    with pytest.raises(DamageFound, match=f"{pictured.name} is damaged"):
        backup(pictured, tmp_path / "out.db")
    assert not list(tmp_path.glob("*out.db*"))


def test_a_full_disk_is_told_of_the_copys_disk_and_leaves_nothing(pictured: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.db"
    for limit in (0, 4, 100_000, pictured.stat().st_size - 4096):
        code, said = with_files_no_larger(limit, lambda: backup(pictured, out))
        assert code == 6, said
        assert str(out) in said
        assert sorted(tmp_path.iterdir()) == [pictured.parent]


KILLED = """
import os, signal, sys
from collection.store.backup import backup
real, left = os.rename, [int(sys.argv[1])]
def rename(*names):
    real(*names)
    left[0] -= 1
    if not left[0]:
        os.kill(os.getpid(), signal.SIGKILL)
os.rename = rename
backup(sys.argv[2], sys.argv[3])
"""


@pytest.mark.parametrize("renamed", [1, 2])
def test_a_kill_between_its_two_names_is_put_right(pictured: Path, tmp_path: Path, renamed: int) -> None:
    """The files have their name and the database has not: no copy. Both have: the copy. The next run clears up."""
    out = tmp_path / "out.db"
    done = subprocess.run([sys.executable, "-c", KILLED, str(renamed), pictured, out], check=False)
    assert done.returncode == -signal.SIGKILL
    assert files.folder_of(out).is_dir()
    assert out.exists() == (renamed == 2)
    (left,) = tmp_path.glob(".out.db.unfinished-*")
    with database.opened(pictured, write=False) as db:
        assert len(list(files.kept(out))) == db.execute("SELECT count(*) FROM files").fetchone()[0]
    report = backup(pictured, tmp_path / ("out.db" if renamed == 1 else "other.db"))
    assert report.leftovers == (str(left),)
    assert f"Removed what a killed run had left: {left}" in report.sentences()
    assert not list(tmp_path.glob(".*"))
    assert check(out).damage == ()


def test_what_is_still_being_worked_on_is_not_cleared_away(pictured: Path, tmp_path: Path) -> None:
    """Nor what only looks like ours, having no lock of ours in it."""
    other = tmp_path / ".mine.unfinished-12345678"
    other.mkdir()
    (other / "notes.txt").write_text("mine")
    holding = (
        "import sys\nfrom pathlib import Path\nfrom collection.store.base import unfinished\n"
        "with unfinished.unfinished(Path(sys.argv[1])):\n    print('held', flush=True)\n    sys.stdin.readline()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", holding, tmp_path / "site"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as child:
        assert child.stdout
        assert child.stdin
        assert child.stdout.readline() == "held\n"
        (live,) = tmp_path.glob(".site.unfinished-*")
        assert backup(pictured, tmp_path / "out.db").leftovers == ()
        assert live.is_dir()
        child.kill()
        child.wait()
    assert backup(pictured, tmp_path / "again.db").leftovers == (str(live),)
    assert [path.name for path in tmp_path.glob(".*")] == [other.name]


WORKED = """
from collection.store.backup import backup
def work(db, out):
    backup(db, out)
"""


@pytest.mark.slow
def test_a_kill_leaves_a_whole_copy_or_none(pictured: Path, tmp_path: Path) -> None:
    (tmp_path / "whole").mkdir()
    whole = killed_at.calls(WORKED, pictured, tmp_path / "whole" / "out.db")
    seen = []
    for moment in killed_at.moments(whole, 10):
        folder = tmp_path / f"killed{moment}"
        folder.mkdir()
        killed_at.kill(WORKED, pictured, folder / "out.db", at=moment)
        seen.append((folder / "out.db").exists())
        if seen[-1]:
            assert check(folder / "out.db").damage == ()
        else:
            backup(pictured, folder / "out.db")
            assert check(folder / "out.db").damage == ()
            assert not list(folder.glob(".*"))
    assert seen == sorted(seen)
    assert set(seen) == {False, True}


@pytest.mark.parametrize("exchanges", [True, False])
def test_what_is_put_over_another_leaves_one_of_both(
    tmp_path: Path, exchanges: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the system cannot swap two names in one step, a kill between the two is put right by the next run."""
    if not exchanges:
        monkeypatch.setattr(unfinished, "_exchanged", lambda one, other: False)
    place = tmp_path / "site"
    place.mkdir()
    (place / "old").touch()
    with unfinished.unfinished(place) as folder:
        (folder / "site").mkdir()
        (folder / "site" / "new").touch()
        unfinished.put_over(folder, place)
        assert (place / "new").exists()
    assert sorted(tmp_path.iterdir()) == [place]
    assert [path.name for path in place.iterdir()] == ["new"]
    with unfinished.unfinished(place) as folder:
        (folder / "site").mkdir()
        os.rename(place, folder / unfinished.REPLACED)
        killed = Path(shutil.copytree(folder, tmp_path / ".site.unfinished-killed00"))
        killed.rename(killed)
    assert not place.exists()
    assert unfinished.clean(tmp_path) == (str(killed),)
    assert [path.name for path in place.iterdir()] == ["new"]
    assert sorted(tmp_path.iterdir()) == [place]
