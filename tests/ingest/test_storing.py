"""What the intake stores: new, same, other and cleared content; amendments, withdrawals, provenance."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from asked import ask
from small_package import LAYERS, OBJECTS, ZONES, only, package

from collection.ingest import load
from collection.language.errors import DifferenceRefused, InputRefused, WrongCommand
from collection.store.base import database, files, read
from collection.store.changes import corrections
from collection.values import dates


def everything(db: Path) -> dict[str, list[tuple[Any, ...]]]:
    with database.opened(db, write=False) as connection:
        return {
            name: connection.execute(f"SELECT * FROM {name} ORDER BY 1, 2, 3").fetchall()
            for (name,) in connection.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND sql LIKE '%STRICT'"
            )
        }


def test_a_package_is_stored_with_its_provenance(db: Path, tmp_path: Path) -> None:
    """Values, bounds of dates, aliases as their words, and for each record survey, file, row and change."""
    report = load.ingest(db, package(tmp_path / "p"))
    assert report.added == {
        "survey": 1,
        "objects": 1,
        "components": 3,
        "zones": 2,
        "schemes": 1,
        "samples": 1,
        "layers": 2,
    }
    assert (report.changed, report.unchanged, report.missing, report.change) == ({}, {}, {}, 1)
    assert ask(
        db,
        "SELECT object, made, made_earliest, made_latest, survey, from_file, from_row, revision, change FROM objects",
    ) == [("T1", "1908~", *dates.bounds("1908~"), "harbour-1", "objects.csv", 2, 1, 1)]
    assert ask(db, "SELECT position, role, thickness_um, from_row FROM layers ORDER BY position") == [
        (1, "primer", 20.0, 2),
        (2, "lining", 35.5, 3),
    ]
    assert ask(db, "SELECT component, observed_on, observed_on_earliest FROM components ORDER BY rowid") == [
        ("body", "", None),
        ("door", "2001", "2001-01-01"),
        ("door", "2019", "2019-01-01"),
    ]
    assert ask(db, "SELECT place, kind FROM places ORDER BY place") == [
        ("Z1", "zone"),
        ("Z2", "zone"),
        ("all", "all"),
        ("body", "component"),
        ("door", "component"),
    ]
    assert ask(db, "SELECT by, action, subject, package_sha256 FROM changes") == [
        ("Ada Penrose", "ingest", "harbour-1", report.package_sha256)
    ]
    assert ask(db, "SELECT hash IS NOT NULL FROM changes") == [(1,)]
    assert ask(db, "SELECT object FROM facts WHERE stale = 0") == [("T1",)]


def test_the_same_package_changes_nothing_and_says_so(db: Path, tmp_path: Path) -> None:
    """A second ingest of the same bytes writes no row, and neither does the same content in other bytes."""
    first = load.ingest(db, package(tmp_path / "p"))
    before = everything(db)
    again = load.ingest(db, tmp_path / "p")
    assert (again.added, again.changed, again.unchanged, again.change) == ({}, {}, first.added, None)
    shuffled = LAYERS.splitlines(keepends=True)
    other = package(tmp_path / "q", layers="".join([shuffled[0], shuffled[2], shuffled[1]]))
    reordered = load.ingest(db, other)
    assert (reordered.added, reordered.changed, reordered.unchanged, reordered.change) == ({}, {}, first.added, None)
    assert everything(db) == before


def test_the_counts_of_a_known_package_are_the_counts_of_its_rows(db: Path, tmp_path: Path) -> None:
    """Quoted cells, cells of several lines and blank rows are counted as the first ingest counted them."""
    objects = 'object,title,kind\nT1,"Tram\n1",tram\n\n,,\nT2,"a ""b"", c",tram'
    first = load.ingest(db, package(tmp_path / "p", objects=objects))
    assert first.added["objects"] == 2
    assert load.ingest(db, tmp_path / "p").unchanged == first.added


def test_a_difference_is_refused_and_shown_field_by_field(db: Path, tmp_path: Path) -> None:
    """Each field that differs is one difference with the stored and the given value; nothing is stored."""
    load.ingest(db, package(tmp_path / "p"))
    before = everything(db)
    with pytest.raises(DifferenceRefused) as caught:
        load.ingest(
            db,
            package(
                tmp_path / "q", layers=LAYERS.replace("grey,20", "red,21"), objects=OBJECTS.replace("1908~", "1909")
            ),
        )
    assert [(d.sheet, d.key, d.column, d.stored, d.given) for d in caught.value.differences] == [
        ("objects", "T1", "made", "1908~", "1909"),
        ("layers", "T1/S01/1", "colour", "grey", "red"),
        ("layers", "T1/S01/1", "thickness_um", 20.0, 21.0),
    ]
    assert [(f.file, f.row, f.column, f.value) for f in caught.value.faults] == [
        ("objects.csv", 2, "made", "1909"),
        ("layers.csv", 2, "colour", "red"),
        ("layers.csv", 2, "thickness_um", "21.0"),
    ]
    assert caught.value.count == 3
    assert everything(db) == before


def test_an_amendment_keeps_what_it_replaced(db: Path, tmp_path: Path) -> None:
    """With a reason and a name the new content stands, and the old one is in the history as it was."""
    load.ingest(db, package(tmp_path / "p"))
    amended = only(tmp_path / "q", "harbour-2", layers=LAYERS.replace("grey,20", "red,21"))
    with pytest.raises(WrongCommand):
        load.ingest(db, amended, amend="read again")
    with pytest.raises(WrongCommand):
        load.ingest(db, amended, amend=" ", by="Ada Penrose")
    report = load.ingest(db, amended, amend="read again under the microscope", by="Joan Pike")
    assert (report.added, report.changed, report.unchanged) == ({"survey": 1}, {"layers": 1}, {"layers": 1})
    assert ask(db, "SELECT colour, thickness_um, revision, survey, change FROM layers ORDER BY position") == [
        ("red", 21.0, 2, "harbour-1", 2),
        ("cream", 35.5, 1, "harbour-1", 1),
    ]
    ((key, revision, survey, content, change),) = ask(db, "SELECT key, revision, survey, content, change FROM history")
    assert (key, revision, survey, change) == ("T1/S01/1", 1, "harbour-1", 2)
    assert (json.loads(content)["colour"], json.loads(content)["thickness_um"]) == ("grey", 20.0)
    assert ask(db, "SELECT by, why, action FROM changes WHERE number = 2") == [
        ("Joan Pike", "read again under the microscope", "amend")
    ]


def test_a_blank_says_nothing_and_not_recorded_clears(db: Path, tmp_path: Path) -> None:
    """A blank or absent cell neither differs nor overwrites; `not recorded` is a difference, and clears."""
    load.ingest(db, package(tmp_path / "p"))
    blank = only(tmp_path / "q", objects="object,title,kind,made,owner\nT1,Tram 1,tram,,\n")
    assert load.ingest(db, blank).unchanged == {"survey": 1, "objects": 1}
    cleared = only(tmp_path / "r", objects="object,title,kind,made,owner\nT1,Tram 1,tram,Not recorded,NOT  RECORDED\n")
    with pytest.raises(DifferenceRefused) as caught:
        load.ingest(db, cleared)
    assert [(d.column, d.stored, d.given) for d in caught.value.differences] == [
        ("made", "1908~", None),
        ("owner", "Harbour town", None),
    ]
    load.ingest(db, cleared, amend="the plate is a replica", by="Joan Pike")
    assert ask(db, "SELECT made, made_earliest, made_latest, owner FROM objects") == [(None, None, None, None)]
    new = only(tmp_path / "s", objects="object,title,kind,owner\nT2,Tram 2,tram,not recorded\n")
    assert load.ingest(db, new).added == {"objects": 1}
    assert ask(db, "SELECT owner FROM objects WHERE object = 'T2'") == [(None,)]


def test_rows_that_a_package_no_longer_holds_are_counted_and_kept(db: Path, tmp_path: Path) -> None:
    """Missing rows are reported per sheet and stay."""
    load.ingest(db, package(tmp_path / "p"))
    report = load.ingest(
        db, package(tmp_path / "q", layers=LAYERS.rsplit("T1", 1)[0], schemes=None, zones=ZONES + "T1,Z3,body,1\n")
    )
    assert report.missing == {"layers": 1, "schemes": 1}
    assert report.added == {"zones": 1}
    assert ask(db, "SELECT count(*) FROM layers") == [(2,)]


def test_records_in_the_database_may_be_pointed_to(db: Path, tmp_path: Path) -> None:
    """A later package brings only what is new; a record out of account may not be pointed to."""
    load.ingest(db, package(tmp_path / "p"))
    more = only(
        tmp_path / "q",
        "harbour-2",
        samples="object,sample,place,method\nT1,S02,Z2,exposure\n",
        layers="object,sample,position,role,scheme\nT1,S02,1,varnish,1\n",
    )
    assert load.ingest(db, more).added == {"survey": 1, "samples": 1, "layers": 1}
    corrections.withdraw(db, "zones", "T1/Z2", "Joan Pike", "measured on another door")
    on_it = only(tmp_path / "r", "harbour-3", samples="object,sample,place,method\nT1,S03,Z2,exposure\n")
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, on_it)
    ((file, row, column, value),) = [(f.file, f.row, f.column, f.value) for f in caught.value.faults]
    assert (file, row, column, value) == ("samples.csv", 2, "place", "Z2")
    assert "withdrawn" in caught.value.faults[0].message


def test_a_code_near_a_stored_one_is_refused(db: Path, tmp_path: Path) -> None:
    """Case, blanks, width and leading zeros make no new object, sample or zone beside a stored one."""
    load.ingest(db, package(tmp_path / "p"))
    for sheet, text, code, near in (
        ("objects", "object,title,kind\nt 01,Tram,tram\n", "t 01", "T1"),
        ("objects", "object,title,kind\nＴ１,Tram,tram\n", "Ｔ１", "T1"),
        ("samples", "object,sample,place,method\nT1,s1,Z1,gauge\n", "s1", "S01"),
        ("zones", "object,zone,component\nT1,z01,body\n", "z01", "Z1"),
        ("zones", "object,zone,component\nT1,BODY,body\n", "BODY", "body"),
        ("schemes", "object,scheme,name,period\nT1,01,a,later\n", "01", "1"),
    ):
        with pytest.raises(InputRefused) as caught:
            load.ingest(db, only(tmp_path / f"q{hashlib.sha256(text.encode()).hexdigest()}", **{sheet: text}))
        assert [(f.file, f.row, f.value, f.nearest) for f in caught.value.faults] == [(f"{sheet}.csv", 2, code, near)]


def test_a_survey_near_a_stored_one_is_refused(db: Path, tmp_path: Path) -> None:
    """Two writings of one survey's code would part what belongs together."""
    load.ingest(db, package(tmp_path / "p"))
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, package(tmp_path / "q", "Harbour-01"))
    assert [(f.file, f.row, f.column, f.nearest) for f in caught.value.faults] == [
        ("survey.toml", 1, "code", "harbour-1")
    ]


def test_the_newest_state_of_a_part_decides_where_it_belongs(db: Path, tmp_path: Path) -> None:
    """A part that moved makes no circle with where it was; a circle of the newest states is refused."""
    moved = "object,component,name,parent,observed_on\nT1,body,body,,2001\nT1,door,door,body,2001\n"
    load.ingest(db, only(tmp_path / "p", objects=OBJECTS, components=moved))
    load.ingest(
        db,
        only(
            tmp_path / "q",
            components="object,component,name,parent,observed_on\n"
            "T1,frame,frame,,2019\nT1,door,door,frame,2019\n"
            "T1,body,body,door,2019\n",
        ),
    )
    with pytest.raises(InputRefused) as caught:
        load.ingest(
            db, only(tmp_path / "r", components="object,component,name,parent,observed_on\nT1,frame,frame,body,2020\n")
        )
    assert [(f.row, f.column, f.value) for f in caught.value.faults] == [(2, "parent", "body")]
    assert "frame → body → door → frame" in caught.value.faults[0].message


def test_a_withdrawn_record_is_not_brought_back_by_a_package(db: Path, tmp_path: Path) -> None:
    """A package says of a withdrawn record what it likes: the record stays withdrawn, and the report says so."""
    load.ingest(db, package(tmp_path / "p"))
    corrections.withdraw(db, "layers", "T1/S01/2", "Joan Pike", "wrong sample")
    before = everything(db)
    for folder in (tmp_path / "p", package(tmp_path / "q", layers=LAYERS.replace("cream", "white"))):
        report = load.ingest(db, folder)
        assert report.withdrawn == {"layers": 1}
        assert [(w.file, w.row, w.value) for w in report.warnings] == [("layers.csv", 3, "T1/S01/2")]
        assert everything(db) == before


def test_a_withdrawn_survey_takes_nothing_in(db: Path, tmp_path: Path) -> None:
    """A new package of a withdrawn survey is refused until the survey is reinstated."""
    load.ingest(db, package(tmp_path / "p"))
    corrections.withdraw(db, "survey", "harbour-1", "Joan Pike", "another tram")
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, package(tmp_path / "q", zones=ZONES + "T1,Z3,body,1\n"))
    assert any("was withdrawn" in f.message and f.column == "code" for f in caught.value.faults)


def test_a_dry_run_tells_what_would_happen_and_writes_nothing(db: Path, tmp_path: Path) -> None:
    """The report of a dry run is that of the ingest; the file of the database keeps its bytes."""
    folder = package(tmp_path / "p")
    before = db.read_bytes()
    dry = load.ingest(db, folder, dry_run=True)
    assert db.read_bytes() == before
    assert not files.folder_of(db).exists()
    wet = load.ingest(db, folder)
    assert (dry.added, dry.dry_run, dry.change) == (wet.added, True, None)


def test_the_report_is_the_json_that_others_build_on(db: Path, tmp_path: Path) -> None:
    """The keys of section 7 of the design are there, and the rest is added beside them."""
    said = json.loads(json.dumps(load.ingest(db, package(tmp_path / "p")).as_json()))
    assert {"format", "survey", "added", "changed", "unchanged", "missing", "warnings"} <= set(said)
    assert (said["format"], said["survey"], said["added"]["layers"]) == (1, "harbour-1", 2)


def test_what_is_left_underived_is_marked_and_not_read(db: Path, tmp_path: Path) -> None:
    """An object's facts are those of its records, however the package went in."""
    load.ingest(db, package(tmp_path / "a"))
    hazards = "object,hazard,kind,status\nT1,H1,asbestos,confirmed\n"
    load.ingest(db, only(tmp_path / "b", "second", objects=OBJECTS, hazards=hazards), derived=False)
    assert ask(db, "SELECT stale FROM facts WHERE object = 'T1'") == [(1,)]
    with database.opened(db, write=False) as connection:
        assert [row.hazard for row in read.load_facts(connection, "T1").hazards] == ["H1"]


def test_a_large_package_leaves_the_guards_as_they_were(db: Path, tmp_path: Path) -> None:
    """A long insert lifts guards inside its transaction; afterwards every trigger is there, word for word."""
    triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
    before = ask(db, triggers)
    load.ingest(
        db,
        only(
            tmp_path / "p",
            objects="object,title,kind\n" + "".join(f"T{n},Trial,sign\n" for n in range(60)),
            components="object,component,name\n" + "".join(f"T{n},body,body\n" for n in range(60)),
            zones="object,zone,component\n" + "".join(f"T{n % 60},Z{n},body\n" for n in range(6000)),
        ),
    )
    assert ask(db, triggers) == before
    assert ask(db, "SELECT count(*), count(DISTINCT place) FROM places WHERE kind = 'zone'") == [(6000, 6000)]
    connection = sqlite3.connect(db)
    with pytest.raises(sqlite3.IntegrityError, match="stored already"):
        connection.execute("INSERT OR REPLACE INTO zones SELECT * FROM zones LIMIT 1")
    connection.close()
