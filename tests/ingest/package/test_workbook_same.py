"""One survey as a folder, a workbook and a zip of either: the same content in the database, and the same files."""

from __future__ import annotations

import csv
import shutil
import sqlite3
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import made_workbooks
import pytest

from collection.ingest import load
from collection.language.errors import DifferenceRefused
from collection.records.sheets import BY_SHEET, SHEETS
from collection.store.base import database

SAMPLE = Path(__file__).resolve().parents[3] / "sample_db" / "harbour" / "2014"
NOT_CONTENT = {"from_file", "from_row", "change"}


def beside(folder: Path, book: Callable[[Path], Path]) -> Path:
    """A workbook with the sample's pictures and drawings beside it."""
    folder.mkdir()
    for name in ("pictures", "drawings"):
        shutil.copytree(SAMPLE / name, folder / name)
    return book(folder / "harbour.xlsx")


def zipped(path: Path, folder: Path, inside: str = "") -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in sorted(folder.rglob("*")):
            if file.is_file():
                archive.write(file, inside + file.relative_to(folder).as_posix())
    return path


def semicolons(folder: Path) -> Path:
    """The sample with semicolons between its columns and commas in its numbers."""
    shutil.copytree(SAMPLE, folder)
    for path in folder.glob("*.csv"):
        known = {column.name: column for column in BY_SHEET[path.stem].columns()}
        with open(path, encoding="utf-8", newline="") as file:
            rows = list(csv.reader(file))
        numbers = [at for at, name in enumerate(rows[0]) if known[name].is_number]
        for row in rows[1:]:
            for at in numbers:
                # Three digits would be asked back: with a fourth they can be no thousand.
                more = "0" * (len(row[at].partition(".")[2]) == 3)
                row[at] = row[at].replace(".", ",") + more
        with open(path, "w", encoding="utf-8", newline="") as file:
            csv.writer(file, delimiter=";").writerows(rows)
    return folder


def content(db_path: Path, package: Path) -> tuple[dict[str, list[tuple[Any, ...]]], list[tuple[Any, ...]]]:
    """Every sheet's rows, all but where they come from, and the files that sheets name, with their hash."""
    database.create(db_path)
    report = load.ingest(db_path, package, derived=False)
    assert report.added["layers"] > 50
    found = {}
    with opened(db_path) as db:
        for record in SHEETS:
            names = [row[1] for row in db.execute(f"PRAGMA table_info({record.table})") if row[1] not in NOT_CONTENT]
            found[record.sheet] = db.execute(
                f"SELECT {', '.join(names)} FROM {record.table} ORDER BY {', '.join(record.key)}"
            ).fetchall()
        files = db.execute("SELECT name, sha256 FROM files WHERE name LIKE '%/%' ORDER BY name").fetchall()
    for _, sha256 in files:
        assert (Path(f"{db_path}.files") / sha256[:2] / sha256[2:]).is_file()
    return found, files


def opened(db_path: Path) -> Any:
    return database.opened(db_path, write=False)


@pytest.fixture(scope="module")
def expected(tmp_path_factory: pytest.TempPathFactory) -> Any:
    found = content(tmp_path_factory.mktemp("folder") / "collection.db", SAMPLE)
    assert sum(map(len, found[0].values())) > 300
    assert len(found[1]) > 30
    return found


MADE: dict[str, Callable[[Path], Path]] = {
    "workbook, dates as text": lambda tmp: beside(tmp / "b", lambda p: made_workbooks.from_folder(SAMPLE, p)),
    "workbook, real dates": lambda tmp: beside(
        tmp / "b", lambda p: made_workbooks.from_folder(SAMPLE, p, real_dates=True)
    ),
    "workbook, real dates from 1904": lambda tmp: beside(
        tmp / "b", lambda p: made_workbooks.from_folder(SAMPLE, p, real_dates=True, base_1904=True)
    ),
    "workbook, decimal commas in text": lambda tmp: beside(
        tmp / "b", lambda p: made_workbooks.from_folder(SAMPLE, p, decimal_commas=True)
    ),
    "folder, semicolons and commas": lambda tmp: semicolons(tmp / "p"),
    "zip of the folder's files": lambda tmp: zipped(tmp / "h.zip", SAMPLE),
    "zip with the folder in it": lambda tmp: zipped(tmp / "h.zip", SAMPLE, "harbour 2014/"),
    "zip of a workbook": lambda tmp: zipped(
        tmp / "h.zip", beside(tmp / "b", lambda p: made_workbooks.from_folder(SAMPLE, p)).parent, "survey/"
    ),
}


@pytest.mark.parametrize("kind", MADE)
def test_whatever_the_survey_comes_in_its_content_is_the_same(tmp_path: Path, expected: Any, kind: str) -> None:
    """Row by row, all but file, row and hash: a survey does not depend on what it was handed in as."""
    rows, files = content(tmp_path / "collection.db", MADE[kind](tmp_path))
    for sheet, found in rows.items():
        assert found == expected[0][sheet], sheet
    assert files == expected[1]


def test_the_variants_are_not_all_alike(tmp_path: Path) -> None:
    """The workbooks compared above do hold date cells, and texts with decimal commas."""

    def sheets(**how: bool) -> str:
        path = made_workbooks.from_folder(SAMPLE, tmp_path / "x.xlsx", **how)
        with zipfile.ZipFile(path) as archive:
            return "".join(archive.read(name).decode() for name in archive.namelist() if name.endswith(".xml"))

    assert sheets().count(' s="1"') == 0
    assert sheets(real_dates=True).count(' s="1"') > 50
    assert "date1904" in sheets(base_1904=True)
    assert "<t>0,8</t>" in sheets(decimal_commas=True) or "<t>0,5</t>" in sheets(decimal_commas=True)


def test_the_same_workbook_or_zip_again_changes_nothing(tmp_path: Path) -> None:
    """A zip of a folder that is stored is the same package; a workbook is known by itself and its pictures."""
    db_path = tmp_path / "collection.db"
    database.create(db_path)
    first = load.ingest(db_path, SAMPLE, derived=False)
    again = load.ingest(db_path, zipped(tmp_path / "h.zip", SAMPLE, "inner/"), derived=False)
    assert (again.change, again.unchanged, again.package_sha256) == (None, first.added, first.package_sha256)
    book = beside(tmp_path / "b", lambda p: made_workbooks.from_folder(SAMPLE, p))
    as_book = load.ingest(db_path, book, derived=False)
    assert (as_book.change, as_book.unchanged) == (None, first.added)
    other = tmp_path / "other.db"
    database.create(other)
    load.ingest(other, book, derived=False)
    known = load.ingest(other, book, derived=False)
    assert (known.change, known.unchanged) == (None, first.added)
    picture = next((book.parent / "pictures").iterdir())
    picture.write_bytes(picture.read_bytes() + b"\0")
    assert load.ingest(other, book, derived=False, dry_run=True).package_sha256 != known.package_sha256


def test_a_survey_sent_again_with_one_more_note_keeps_its_pictures(tmp_path: Path) -> None:
    """A picture whose bytes are the stored ones is no difference; one with other bytes is."""
    db_path = tmp_path / "collection.db"
    database.create(db_path)
    folder = tmp_path / "p"
    shutil.copytree(SAMPLE, folder)
    load.ingest(db_path, folder, derived=False)
    (folder / "advice.csv").unlink()
    again = load.ingest(db_path, folder, derived=False)
    assert (again.change, again.changed, again.missing["advice"] > 0) == (None, {}, True)
    picture = sorted((folder / "pictures").iterdir())[0]
    picture.write_bytes(picture.read_bytes() + b"\0")
    with pytest.raises(DifferenceRefused) as caught:
        load.ingest(db_path, folder, derived=False)
    assert [(fault.sheet, fault.column, fault.value) for fault in caught.value.faults] == [
        ("pictures", "file", f"pictures/{picture.name}")
    ]


def test_the_temporary_folder_of_a_zip_goes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither an ingest nor a refusal leaves what was unpacked."""
    monkeypatch.setenv("TMPDIR", str(tmp_path / "tmp"))
    monkeypatch.setattr("tempfile.tempdir", None)
    (tmp_path / "tmp").mkdir()
    database.create(tmp_path / "collection.db")
    load.ingest(tmp_path / "collection.db", zipped(tmp_path / "h.zip", SAMPLE), derived=False)
    assert list((tmp_path / "tmp").iterdir()) == []
    with sqlite3.connect(tmp_path / "collection.db") as db:
        assert db.execute("SELECT count(*) FROM layers").fetchone()[0] > 50
    db.close()
