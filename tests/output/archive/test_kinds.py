"""For whom an archive is, what it then holds and what not, and what is refused, in sentences."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from archived import DATA, copied, flip
from published_secrets import SECRET, everything, filled_in_database

from collection.cli import run
from collection.output.archive import bag
from collection.output.archive.archive import archive
from collection.output.archive.checked import check_archive
from collection.store.base import files


@pytest.fixture(scope="module")
def public(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The archive for the public of a database with a secret wherever something is not to be published."""
    folder = tmp_path_factory.mktemp("secrets")
    archive(filled_in_database(folder), folder / "out", audience="public", processes=1)
    return folder / "out"


@pytest.mark.slow
def test_nothing_held_back_is_in_any_byte_of_an_archive_for_the_public(public: Path) -> None:
    assert sorted(set(SECRET.findall(everything(public)))) == []
    assert b"aaashown" in everything(public), "what is public is there"


@pytest.mark.slow
def test_it_says_that_it_holds_no_history_and_restore_refuses_it(
    public: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = " ".join((public / "data" / "README.txt").read_text("utf-8").split())
    assert "it holds no history, no private cells, no survey packages and no columns with people's names" in said
    assert "no history" in bag.said(public)["External-Description"]
    assert not list(public.rglob("collection.db.files"))
    assert run(["check", str(public)]) == 0
    assert run(["restore", str(public), str(tmp_path / "back.db")]) == 2
    assert "is made from what is published for the public: it holds no history" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


@pytest.mark.slow
def test_an_object_for_staff_is_not_archived_for_the_public(
    public: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    typed = ["archive", str(public.with_name("filled_in.db")), str(tmp_path / "out"), "--audience", "public"]
    assert run([*typed, "--object", "PUB/1", "--object", "STAFFOBJECT"]) == 2
    assert "Nothing of STAFFOBJECT is published for the public" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


@pytest.mark.slow
def test_a_damaged_archive_of_what_is_published_is_found_damaged(public: Path, tmp_path: Path) -> None:
    spoiled = copied(public, tmp_path / "spoiled")
    flip(spoiled / "data" / "published" / "collection.db", 5_000)
    assert run(["check", str(spoiled)]) == 5


@pytest.mark.slow
def test_some_objects_go_along_with_a_loan(small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The one that was asked for, for staff, with its pictures, and nothing of the others, not even their surveys."""
    assert run(["archive", str(small), str(tmp_path / "loan"), "--object", "T1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["kind"], told["objects"], told["object_count"]) == ("some objects", ["T1"], 1)
    data = tmp_path / "loan" / "data"
    with closing(sqlite3.connect(f"file:{data / 'published' / 'collection.db'}?mode=ro", uri=True)) as db:
        assert db.execute("SELECT object, owner FROM objects").fetchall() == [("T1", "=HYPERLINK(1)")]
        assert db.execute("SELECT code FROM surveys").fetchall() == [("harbour-1",)]
        shown = {name for (name,) in db.execute("SELECT file FROM pictures UNION SELECT file FROM drawings")}
    assert shown <= {path.name for path in (data / "pages" / "pictures").iterdir()}
    assert (data / "pages" / "object" / "T1" / "object.html").is_file()
    assert not (data / "pages" / "object" / "T9").exists()
    assert check_archive(tmp_path / "loan").damage == ()
    assert run(["restore", str(tmp_path / "loan"), str(tmp_path / "back.db")]) == 2
    said = capsys.readouterr().err
    assert "holds some objects only" in said
    assert "export DB OUT --as package" in said


def test_objects_that_are_not_there_are_refused_and_nothing_is_left(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["archive", str(small), str(tmp_path / "out"), "--object", "T11"]) == 1
    assert "T1" in capsys.readouterr().err
    assert run(["archive", str(small), str(tmp_path / "out"), "--object", "T1/S1"]) == 2
    assert "T1/S1 is a record of T1: an archive takes whole objects" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_nothing_is_ever_overwritten(
    small: Path, kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "out").mkdir()
    assert run(["archive", str(small), str(tmp_path / "out")]) == 2
    (tmp_path / "there.db").write_text("mine")
    assert run(["restore", str(kept), str(tmp_path / "there.db")]) == 2
    (tmp_path / "new.db.files").mkdir()
    assert run(["restore", str(kept), str(tmp_path / "new.db")]) == 2
    assert "a restored database overwrites nothing" in capsys.readouterr().err
    assert run(["restore", str(kept), str(tmp_path / "out")]) == 2
    assert run(["restore", str(kept), str(tmp_path / "no folder" / "new.db")]) == 6
    assert run(["restore", str(tmp_path), str(tmp_path / "new2.db")]) == 6
    assert (tmp_path / "there.db").read_text() == "mine"


@pytest.mark.parametrize(
    ("what", "restores"),
    [
        ("data/pages/index.html", True),
        ("data/README.txt", True),
        ("data/tables/objects.csv", True),
        ("manifest-sha256.txt", True),
        ("data/database/collection.db.files", False),
    ],
)
def test_damage_beside_the_database_is_told_and_damage_to_it_refused(
    what: str, restores: bool, kept: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A page that was lost is no reason to withhold the records; a picture is one of them. Both end with 5."""
    spoiled = copied(kept, tmp_path / "spoiled")
    path = spoiled / what
    path = next(each for each in sorted(path.rglob("*")) if each.is_file()) if path.is_dir() else path
    flip(path, path.stat().st_size // 2)
    assert run(["restore", str(spoiled), str(tmp_path / "back.db")]) == 5
    said = capsys.readouterr()
    assert path.relative_to(spoiled).as_posix() in said.out + said.err
    assert (tmp_path / "back.db").exists() == restores
    assert ("in nothing that the database rests on" in said.out) == restores
    assert ("nothing was restored" in said.err) == (not restores)


def test_a_damaged_database_is_not_archived(small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "c.db"
    shutil.copy(small, path)
    shutil.copytree(files.folder_of(small), files.folder_of(path))
    next(files.kept(path)).write_bytes(b"another picture")
    assert run(["archive", str(path), str(tmp_path / "out")]) == 5
    said = capsys.readouterr().err
    assert "is no longer what was stored" in said
    assert "firstcoat backup" in said
    assert not [each for each in tmp_path.iterdir() if not each.name.startswith("c.db")]


def test_without_papers_it_says_what_to_install(kept: Path) -> None:
    """Papers are taken as publishing makes them; where it made none, people read why and what to do."""
    said = " ".join((kept / "data" / "README.txt").read_text("utf-8").split())
    if (kept / "data" / "papers").exists():
        assert "NUMBER-tag.pdf" in said
    else:
        assert "`pip install 'firstcoat[report]'` adds that" in said


def test_it_can_be_read_without_a_log_beside_it(kept: Path) -> None:
    """In write-ahead mode SQLite has to write beside a file even to read it; format bytes 18 and 19 of the header say 1."""
    assert (kept / DATA).read_bytes()[18:20] == b"\x01\x01"
