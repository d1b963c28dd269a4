"""What is stored of a list: an invented European one, a list that changed, kept cells, and what is never made up."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from asked import ask
from mapped_lists import GERMAN_LIST, GERMAN_MAP, PLAIN, report_of, write

from collection.ingest import load
from collection.language.errors import DifferenceRefused, InputRefused
from collection.output.site.publish import publish
from collection.store.changes import statements
from collection.store.check import check


def test_a_european_list_comes_in(db: Path, german: tuple[Path, Path]) -> None:
    """Semicolons, Latin-1, decimal commas, two languages in a cell, numbers with part numbers, repeated rows."""
    report, told = report_of(db, german)
    assert ask(db, "SELECT object, title, kind, made, other_numbers, store_place FROM objects ORDER BY from_row") == [
        ("1979.10", "carousel horse", "carved figure", "1900~", "none", "Depot 2"),
        ("1979.10 a", "saddle", "carved figure", None, "A 12", "Depot 2"),
        ("007", "door sign", "sign", "192X", "B 3", "Saal"),
        ("12", "untitled in the list", "sign", "[1890..1910]", None, "Saal"),
        ("13", "untitled in the list", "Modell", None, None, "Depot 1"),
    ]
    assert ask(db, "SELECT object, component, name, area_m2, from_row FROM components ORDER BY object, component") == [
        ("007", "M1", "vitreous enamel on iron", None, 4),
        ("12", "M1", "wood", None, 6),
        ("1979.10", "M1", "wood", 1.25, 2),
        ("1979.10", "M2", "paint", 1.25, 2),
        ("1979.10 a", "M1", "leather", 0.5, 3),
    ]
    assert report.added["components"] == 5
    assert told["left_out"] == {"photographs": 1}
    assert told["said_by_mapping"] == {"objects.title": 2}
    assert told["untranslated"] == {
        "objects.kind": [{"term": "Modell", "count": 1, "nearest": None}],
        "components.name": [{"term": "Zinn", "count": 1, "nearest": None}],
        "components.support": [{"term": "Zinn", "count": 1, "nearest": None}],
    }
    assert [(each["text"], each["rows"]) for each in told["dates_not_understood"]["objects.made"]] == [
        ("Gründerzeit", [7])
    ]
    assert told["said_to_be"] == {
        "blank": {"Datierung": 1},
        "none": {"objects.other_numbers": 1},
        "unknown": {"objects.made": 1},
    }
    assert told["rows_not_made"] == {}
    assert told["rows_merged"] == 1


def test_what_the_european_list_does_not_say_in_columns_is_kept(db: Path, german: tuple[Path, Path]) -> None:
    """Blank, none and unknown stay apart: a blank leaves nothing, the others are kept as they were written."""
    report_of(db, german)
    cells = ask(db, 'SELECT "key", heading, value FROM unmapped_cells')
    kept = {(code, heading): value for code, heading, value in cells}
    assert kept["1979.10", "Bezeichnung / Name"] == "Karussellpferd / carousel horse"
    assert kept["1979.10", "früher Nr."] == "keine"
    assert kept["007", "Datierung"] == "unbekannt"
    assert kept["12", "Gattung"] == "Schild"
    assert kept["13", "Material"] == "Zinn"
    assert kept["13", "Bezeichnung / Name"] == "Modell"
    assert kept["13", "Datierung"] == "Gründerzeit"
    assert ("1979.10 a", "Datierung") not in kept
    assert kept["007", "Zustand"] == "unbekannt"
    assert kept["007", "Zustand [2]"] == "Rost (schwach)"
    assert kept["007", "Datierung [2]"] == "1920er Jahre"


def test_a_wrong_encoding_is_told(db: Path, tmp_path: Path) -> None:
    """What cannot be read as stated is refused with its row; UTF-8 under the name of Latin-1 is doubted."""
    files = write(tmp_path / "a", GERMAN_LIST, GERMAN_MAP.replace("latin-1", "utf-8"), "latin-1")
    with pytest.raises(InputRefused, match=r"1 fault") as caught:
        load.ingest(db, files[0], mapping=files[1])
    assert caught.value.faults[0].row == 1
    assert "not written in utf-8" in caught.value.faults[0].message
    files = write(tmp_path / "b", "No,Title,Kind\n1,Tür,door\n", PLAIN.replace("utf-8", "windows-1252"))
    report, _ = report_of(db, files)
    assert "UTF-8" in report.warnings[0].message


def test_a_changed_list_is_a_difference(db: Path, tmp_path: Path) -> None:
    """As of any package: shown field by field with the row of the list, stored only as an amendment."""
    report_of(db, write(tmp_path / "a", "No,Title,Kind,Note\n\n1,Gate,door,x\n2,Sign,sign,y\n", PLAIN))
    changed = write(tmp_path / "b", "No,Title,Kind,Note\n\n1,Gate,door,x\n2,Old sign,sign,y\n", PLAIN)
    with pytest.raises(DifferenceRefused) as caught:
        load.ingest(db, changed[0], mapping=changed[1])
    assert (caught.value.faults[0].file, caught.value.faults[0].row) == ("list.csv", 4)
    report, _ = report_of(db, changed, amend="new export", by="Nora Pike")
    assert report.changed == {"objects": 1}
    assert ask(db, "SELECT title, revision, from_row FROM objects WHERE object = '2'") == [("Old sign", 2, 4)]


def test_a_changed_cell_outside_the_mapping_is_kept_too(db: Path, tmp_path: Path) -> None:
    """It changes no record, so it needs no amendment; of both values the newest change holds."""
    report_of(db, write(tmp_path / "a", "No,Title,Kind,Note\n1,Gate,door,old\n", PLAIN))
    report, _ = report_of(db, write(tmp_path / "b", "No,Title,Kind,Note\n1,Gate,door,new\n", PLAIN))
    assert (report.added, report.changed, report.change) == ({}, {}, 2)
    assert ask(db, "SELECT value, change FROM unmapped_cells ORDER BY change") == [("old", 1), ("new", 2)]
    report, _ = report_of(db, write(tmp_path / "c", "No,Title,Kind,Note\n1,Gate,door,new\n \n", PLAIN))
    assert report.change is None
    assert check(db).damage == ()


def test_cells_stay_with_an_object_that_was_given_another_code(db: Path, tmp_path: Path) -> None:
    """A list that calls it by the new code speaks of the same object, so what is kept lies under the stored one."""
    report_of(db, write(tmp_path / "a", "No,Title,Kind,Note\n1,Gate,door,old\n", PLAIN))
    statements.rename(db, "objects", "1", "G-1", by="Nora Pike", why="new numbers")
    report, _ = report_of(db, write(tmp_path / "b", "No,Title,Kind,Note\nG-1,Gate,door,new\n", PLAIN))
    assert (report.added, report.unchanged) == ({}, {"survey": 1, "objects": 1})
    assert ask(db, 'SELECT "key", value FROM unmapped_cells ORDER BY change') == [("1", "old"), ("1", "new")]


def test_the_mapping_and_the_list_are_kept_with_the_change(db: Path, tmp_path: Path) -> None:
    """So that rows left out, and what was translated, can be looked up in fifty years."""
    report_of(db, write(tmp_path / "a", "No,Title,Kind\n1,Gate,door\n", PLAIN))
    assert ask(db, "SELECT name FROM files ORDER BY name") == [("list.csv",), ("map.toml",)]
    assert ask(db, "SELECT from_file, from_row FROM surveys") == [("map.toml", 1)]


def test_a_dry_run_tells_all_and_changes_nothing(db: Path, tmp_path: Path) -> None:
    """The report is the same; the database is not touched."""
    files = write(tmp_path / "a", "No,Title,Kind,Note\n1,Gate,door,x\n2,,sign,y\n", PLAIN)
    before = db.read_bytes()
    report, told = report_of(db, files, dry_run=True)
    assert report.change is None
    assert db.read_bytes() == before
    assert told == report_of(db, files)[1]


def test_kept_cells_are_never_published_and_no_part_of_the_facts(db: Path, tmp_path: Path) -> None:
    """They are in the database, and in no byte of the site."""
    secret = "Insured for 12 guilders by A. Nonymous"
    report_of(db, write(tmp_path / "a", f"No,Title,Kind,Note\n1,Gate,door,{secret}\n", PLAIN))
    assert ask(db, "SELECT value FROM unmapped_cells") == [(secret,)]
    assert all(secret not in document for (document,) in ask(db, "SELECT document FROM facts"))
    publish(db, tmp_path / "site")
    published = [path.read_bytes() for path in (tmp_path / "site").rglob("*") if path.is_file()]
    assert any(b"Gate" in content for content in published)
    assert not any(secret.encode() in content for content in published)


def test_what_an_object_needs_is_never_made_up(db: Path, tmp_path: Path) -> None:
    """Rows without a title or a number are set aside with their rows and reasons; the list that is kept has them."""
    files = write(tmp_path / "a", "No,Title,Kind\n1,Gate,door\n2,,sign\n,Sign,sign\n4,Not recorded,sign\n", PLAIN)
    _, told = report_of(db, files)
    assert told["set_aside"] == [
        {"reason": "the object's number is blank or no code", "count": 1, "rows": [4]},
        {"reason": "nothing is said of title, and every object needs it", "count": 2, "rows": [3, 5]},
    ]
    assert ask(db, "SELECT object FROM objects") == [("1",)]
    assert told["rows_read"] == told["rows_kept"] + 3


def test_rows_for_one_object_that_differ_are_reported(db: Path, tmp_path: Path) -> None:
    """For what every object needs the first row holds; of the rest nothing is taken; all is kept."""
    mapping = PLAIN + 'maker = "Maker"\nmade = { date = "Year" }\n'
    files = write(tmp_path / "a", "No,Title,Kind,Maker,Year\n1,Gate,door,Hope,1910\n1,Old gate,door,,1870\n", mapping)
    _, told = report_of(db, files)
    assert ask(db, "SELECT title, maker, made FROM objects") == [("Gate", "Hope", None)]
    both = {"count": 2, "rows": [2, 3]}
    assert told["differing"] == {"objects.title": both, "objects.made": both}
    assert ask(db, "SELECT heading, value FROM unmapped_cells ORDER BY 1") == [
        ("Title", "Old gate"),
        ("Year", "1910"),
        ("Year [2]", "1870"),
    ]


def test_the_database_file_is_plain_about_kept_cells(db: Path, german: tuple[Path, Path]) -> None:
    """Someone with nothing but SQLite finds them, each with its change."""
    report_of(db, german)
    with sqlite3.connect(db) as plain:
        rows = plain.execute(
            'SELECT u.sheet, u."key", u.heading, c.action FROM unmapped_cells AS u JOIN changes '
            "AS c ON c.number = u.change WHERE u.value = 'alt übermalt'"
        ).fetchall()
    plain.close()
    assert rows == [("objects", "1979.10", "Bemerkung", "ingest")]
