"""Lists that exist elsewhere, brought in through a mapping: what comes in, what is kept, refused and counted."""

from __future__ import annotations

import csv
import io
import json
import re
import sqlite3
import tempfile
import tomllib
import unicodedata
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from asked import ask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from mapped_lists import (
    GERMAN_LIST,
    GERMAN_MAP,
    LIST,
    OBJECTS,
    OPEN_LISTS,
    PLAIN,
    SURVEY,
    lost_cells,
    rows_of,
    words_in,
    write,
)

from collection.cli import run
from collection.ingest import load
from collection.ingest.mapping.honesty import WORDS_THAT_CLEAR_NOTHING, why_not
from collection.ingest.mapping.list_rows import ForeignList, ListRow, read_list
from collection.ingest.mapping.mapping import Mapping, MapText
from collection.ingest.mapping.mapping_file import read_mapping
from collection.ingest.mapping.rows import carry_over
from collection.language import words
from collection.language.errors import DifferenceRefused, InputRefused, WrongCommand
from collection.output.site.publish import publish
from collection.records.sheets import BY_SHEET, SHEETS
from collection.store.base import database
from collection.store.changes import statements
from collection.store.check import check

MANUAL = (Path(__file__).resolve().parents[3] / "collection" / "manual" / "lists.md").read_text()


def report_of(db: Path, files: tuple[Path, Path], **more: Any) -> tuple[load.IngestReport, dict[str, Any]]:
    """What an ingest reports, and its account of the list as JSON."""
    report = load.ingest(db, files[0], mapping=files[1], **more)
    assert report.mapping is not None
    told = json.loads(json.dumps(report.as_json()))
    return report, told["mapping"]


def mapping_of(text: str) -> Mapping:
    mapping, faults = read_mapping(MapText("map.toml", text), tomllib.loads(text))
    assert mapping is not None, [fault.sentence() for fault in faults]
    return mapping


def faults_of(text: str) -> list[str]:
    _, faults = read_mapping(MapText("map.toml", text), tomllib.loads(text))
    return [fault.sentence() for fault in faults]


def open_list(name: str) -> tuple[Path, Path]:
    return OPEN_LISTS / f"{name}.csv", OPEN_LISTS / f"{name}.toml"


# Lists that museums publish, see open_lists/README.md


def test_a_published_list_comes_in_as_it_is(db: Path) -> None:
    """Numbers are those of the source byte for byte, texts are whole, and what no column takes is kept and counted."""
    report, told = report_of(db, open_list("autry_objects"))
    rows = rows_of(OPEN_LISTS / "autry_objects.csv")
    photographs = [row for row in rows if "photograph" in row["ObjectName"]]
    digital = [row for row in rows if row["ObjectName"] == "digital video disc"]
    kept = [row for row in rows if row not in photographs + digital]
    assert (len(photographs), len(digital)) == (2, 1)
    assert told["left_out"] == {"photographs and albums of them": 2, "digital works": 1}
    assert (told["rows_read"], told["rows_kept"], told["objects"]) == (len(rows), len(kept), len(kept))
    assert report.added == {"survey": 1, "objects": len(kept)}
    stored = ask(db, "SELECT object, title, kind, materials, owner, from_file, from_row FROM objects ORDER BY from_row")
    assert [row[:5] for row in stored] == [
        (row["ObjectNumber"], row["Title"], row["ObjectName"], row["Materials"], row["Owner"]) for row in kept
    ]
    assert {row[5] for row in stored} == {"autry_objects.csv"}
    assert [rows[row[6] - 2]["ObjectNumber"] for row in stored] == [row[0] for row in stored]
    raw = (OPEN_LISTS / "autry_objects.csv").read_bytes()
    assert all(b"\n" + code.encode() + b"," in raw for code, *_ in stored)


def test_half_a_cell_is_not_a_whole_one(db: Path) -> None:
    """Where a size has a second part for the frame, the first comes in and the whole cell is kept."""
    _, told = report_of(db, open_list("autry_objects"))
    framed = {
        row["ObjectNumber"]: row["Measurements"]
        for row in rows_of(OPEN_LISTS / "autry_objects.csv")
        if "; " in row["Measurements"]
    }
    assert told["unmapped_cells"]["Measurements"] == len(framed) >= 2
    assert dict(ask(db, "SELECT \"key\", value FROM unmapped_cells WHERE heading = 'Measurements'")) == framed
    for code, cell in framed.items():
        assert ask(db, "SELECT dimensions FROM objects WHERE object = ?", code) == [(cell.split("; ")[0],)]


def test_a_second_list_adds_dates_to_the_objects_of_the_first(db: Path) -> None:
    """Without titles a list can only amend what is stored; its dates cover the years that it gives beside them."""
    report_of(db, open_list("autry_objects"))
    with pytest.raises(DifferenceRefused):
        load.ingest(db, open_list("autry_dated")[0], mapping=open_list("autry_dated")[1])
    report, told = report_of(db, open_list("autry_dated"), amend="dates from the published list", by="Nora Pike")
    rows = {row["ObjectID"]: row for row in rows_of(OPEN_LISTS / "autry_dated.csv")}
    stored = ask(db, "SELECT object, made, made_earliest, made_latest, title FROM objects WHERE made IS NOT NULL")
    assert report.changed == {"objects": len(stored)}
    assert len(stored) == len(rows) - told["left_out"]["objects that were left out"] == 37
    for code, made, earliest, latest, title in stored:
        row = rows[code]
        assert title
        assert (earliest[:4], latest[:4]) <= (row["EARLIEST_YEAR"], "9999")
        assert latest[:4] >= row["LATEST_YEAR"]
        if row["Dated"] == row["EARLIEST_YEAR"] == row["LATEST_YEAR"]:
            assert made == row["Dated"]
    assert {code: made for code, made, *_ in stored}["88.108.9"] == "[1850..1900]"
    worded = {
        code: row["Dated"]
        for code, row in rows.items()
        if row["Dated"] and row["Dated"] != row["EARLIEST_YEAR"] and code in {each[0] for each in stored}
    }
    assert told["kept_as_written"] == {"Dated": len(worded)}
    assert dict(ask(db, "SELECT \"key\", value FROM unmapped_cells WHERE heading = 'Dated'")) == worded
    assert told["said_to_be"]["unknown"] == {"objects.made": 1}


def test_a_list_of_objects_nobody_knows_is_refused(db: Path) -> None:
    """A title and a kind are never invented: the sentence says which objects, and what can be done."""
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, open_list("autry_dated")[0], mapping=open_list("autry_dated")[1])
    sentence = caught.value.faults[0].sentence()
    assert "37 objects of the list are not in the database" in sentence
    assert "title and kind" in sentence
    assert ask(db, "SELECT count(*) FROM objects") == [(0,)]


def test_several_rows_for_one_object_become_several_records(db: Path) -> None:
    """Earlier attributions come in as untested claims, every one, and one that is given twice otherwise is reported."""
    _, told = report_of(db, open_list("nga_historical"))
    rows = rows_of(OPEN_LISTS / "nga_historical.csv")
    keys = Counter((row["objectid"], row["datatype"], row["displayorder"]) for row in rows)
    assert told["rows_made"] == {"objects": len({row["objectid"] for row in rows}), "claims": len(keys)}
    assert told["repeated_objects"] == sum(n > 1 for n in Counter(row["objectid"] for row in rows).values())
    twice = [key for key, n in keys.items() if n > 1]
    assert twice == [("487", "previous_attribution", "1")]
    second = [number for number, row in enumerate(rows, 2) if row["objectid"] == "487"][1]
    assert {column: found["count"] for column, found in told["differing"].items()} == {
        "claims.statement": 1,
        "claims.notes": 1,
    }
    assert rows[second - 2]["objectid"] == "487"
    assert ask(db, "SELECT DISTINCT status FROM claims") == [("untested",)]
    assert ask(db, "SELECT statement FROM claims WHERE object = '1' ORDER BY claim") == [
        ("School of Giotto",),
        ("Follower of Giotto",),
    ]
    assert told["said_by_mapping"] == {"claims.status": len(keys), "objects.title": 12, "objects.kind": 12}


def test_dates_in_many_forms_come_in_or_are_counted(db: Path) -> None:
    """Of Tate's dates those with one meaning are read, the others stay as they are and are listed."""
    _, told = report_of(db, open_list("tate_artworks"))
    rows = rows_of(OPEN_LISTS / "tate_artworks.csv")
    made = dict(ask(db, "SELECT object, made FROM objects"))
    dated = [row for row in rows if row["dateText"]]
    unread = {row["accession_number"]: row["dateText"] for row in dated if made[row["accession_number"]] is None}
    assert sum(told["dates_not_understood"]["objects.made"].values()) == len(unread)
    assert all("," in text or "/" in text or "published" in text for text in unread.values()), unread
    assert made["A00003"] == "1785%"
    assert made["A00045"] == "1779%/1780%"
    assert made["A00842"] == "1858/1864"
    kept = dict(ask(db, "SELECT \"key\", value FROM unmapped_cells WHERE heading = 'dateText'"))
    assert kept.items() >= unread.items()
    for row in dated:
        if made[row["accession_number"]] is not None and row["year"]:
            earliest, latest = ask(
                db, "SELECT made_earliest, made_latest FROM objects WHERE object = ?", row["accession_number"]
            )[0]
            assert earliest[:4] <= row["year"] <= latest[:4], row
    untitled = [row for row in rows if row["title"] == "[title not known]"]
    assert ask(db, "SELECT count(*) FROM objects WHERE title = 'title not known'") == [(len(untitled),)]
    assert told["said_to_be"]["unknown"] == {"objects.title": len(untitled)}


@pytest.mark.parametrize(
    ("name", "number", "sheets"),
    [
        ("autry_objects", "ObjectNumber", ("objects",)),
        ("nga_historical", "objectid", ("objects", "claims")),
        ("tate_artworks", "accession_number", ("objects",)),
    ],
)
def test_every_cell_of_a_published_list_is_somewhere(db: Path, name: str, number: str, sheets: tuple[str, ...]) -> None:
    """Each cell that is not blank is in a record or kept with its object; the same list again changes nothing."""
    report_of(db, open_list(name))
    known = {code for (code,) in ask(db, "SELECT object FROM objects")}
    rows = [row for row in rows_of(OPEN_LISTS / f"{name}.csv") if row[number] in known]
    assert lost_cells(rows, number, db, sheets) == []
    before = ask(db, "SELECT count(*), (SELECT max(number) FROM changes) FROM unmapped_cells")
    again, told = report_of(db, open_list(name))
    assert (again.added, again.changed) == ({}, {})
    assert again.unchanged["objects"] == len(known) == told["objects"]
    assert ask(db, "SELECT count(*), (SELECT max(number) FROM changes) FROM unmapped_cells") == before
    assert check(db).damage == ()


def test_the_check_for_lost_cells_can_fail(db: Path) -> None:
    """A cell that is in no record and not kept is found."""
    report_of(db, open_list("autry_objects"))
    rows = [{"ObjectNumber": "81.G.2", "ObjectName": "painting", "Other": "nowhere at all"}]
    assert lost_cells(rows, "ObjectNumber", db, ("objects",)) == [("81.G.2", "Other")]


def test_a_byte_order_mark_is_no_part_of_a_heading() -> None:
    """Tate's list of artists begins with one."""
    path = OPEN_LISTS / "tate_artists.csv"
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")
    found = read_list(path.name, path, mapping_of(SURVEY + LIST.replace("No", "id") + OBJECTS))
    assert found.faults == []
    assert found.headings[0] == "id"
    assert [row.cells for row in found.rows] == rows_of(path)


# An invented European list


@pytest.fixture
def german(tmp_path: Path) -> tuple[Path, Path]:
    return write(tmp_path / "german", GERMAN_LIST, GERMAN_MAP, "latin-1", "liste.csv")


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
    assert told["dates_not_understood"] == {"objects.made": {"Gründerzeit": 1}}
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


# Storing


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


CONDITIONS = (
    PLAIN
    + """
[[rows]]
sheet = "conditions"
each = "Damage"
parted_by = ";"
[rows.columns]
place = { say = "all" }
phenomenon = { piece = true, part = 1, parted_by = ":", words = "damage", none = ["keine"] }
severity = { piece = true, part = 2, parted_by = ":", words = { leicht = "1", stark = "3" } }
observed_on = { date = "Seen" }
[words.damage]
Rost = "corrosion under paint"
"blättert" = "flaking"
"""
)


def test_a_note_becomes_conditions_only_where_somebody_dated_it(db: Path, tmp_path: Path) -> None:
    """Without the date of the look no row is made: the note stays with the object, counted by what was wanting."""
    text = (
        "No,Title,Kind,Damage,Seen\n1,Gate,door,Rost: leicht; blättert: stark,2019-05\n2,Sign,sign,Rost: stark,\n"
        "3,Flag,flag,keine,2019\n4,Pole,pole,Schimmel: stark,2019\n"
    )
    files = write(tmp_path / "a", text, CONDITIONS)
    _, told = report_of(db, files)
    assert ask(db, "SELECT object, phenomenon, severity, observed_on FROM conditions ORDER BY object, phenomenon") == [
        ("1", "corrosion under paint", 1, "2019-05"),
        ("1", "flaking", 3, "2019-05"),
    ]
    assert told["rows_not_made"] == {"conditions.observed_on": 1, "conditions.phenomenon": 2}
    assert told["untranslated"]["conditions.phenomenon"] == [{"term": "Schimmel", "count": 1, "nearest": None}]
    assert ask(db, "SELECT \"key\", value FROM unmapped_cells WHERE heading = 'Damage' ORDER BY 1") == [
        ("1", "Rost: leicht; blättert: stark"),
        ("2", "Rost: stark"),
        ("3", "keine"),
        ("4", "Schimmel: stark"),
    ]


def test_numbers_and_words_are_read_or_left(db: Path, tmp_path: Path) -> None:
    """A word that means two things, a number with its unit, a status that is none: each stays as it is, with the
    sentence that says why."""
    mapping = PLAIN + 'status = "State"\nvalue_points = "Points"\n'
    files = write(tmp_path / "a", "No,Title,Kind,State,Points\n1,Gate,door,HELD,3\n2,Sign,sign,hold,12 EUR\n", mapping)
    _, told = report_of(db, files)
    assert ask(db, "SELECT status, value_points FROM objects ORDER BY object") == [("held", 3.0), (None, None)]
    assert told["untranslated"] == {"objects.status": [{"term": "hold", "count": 1, "nearest": "held"}]}
    assert told["not_read"]["objects.value_points"][0]["text"] == "12 EUR"
    assert "unit" in told["not_read"]["objects.value_points"][0]["message"]
    assert told["unmapped_cells"] == {"State": 1, "Points": 1}


def test_numbered_rows_keep_their_numbers_when_more_are_added(db: Path, tmp_path: Path) -> None:
    """A list to which something is added at the end changes no code; equal pieces are one row."""
    mapping = PLAIN + (
        '[[rows]]\nsheet = "components"\neach = "Parts"\nparted_by = ","\n[rows.columns]\n'
        'component = { numbered = "P" }\nname = { piece = true }\n'
    )
    report_of(db, write(tmp_path / "a", 'No,Title,Kind,Parts\n1,A,b,"seat, back, seat"\n', mapping))
    assert ask(db, "SELECT component, name FROM components ORDER BY 1") == [("P1", "seat"), ("P2", "back")]
    report, told = report_of(db, write(tmp_path / "b", 'No,Title,Kind,Parts\n1,A,b,"seat, back, seat, leg"\n', mapping))
    assert (report.added, report.changed, told["rows_merged"]) == ({"components": 1}, {}, 1)
    many = ",".join(f"p{n}" for n in range(1_001))
    _, told = report_of(db, write(tmp_path / "c", f'No,Title,Kind,Parts\n2,A,b,"{many}"\n', mapping))
    assert told["rows_made"] == {"objects": 1}
    assert told["unmapped_cells"] == {"Parts": 1}
    assert list(told["not_read"]) == ["components from Parts"]


STACKS = (
    PLAIN
    + """
[[rows]]
sheet = "layers"
{each}
[rows.columns]
sample = "Sample"
position = {{ numbered = "" }}
role = {role}
"""
)


def stack_of(mapping: str, *coats: str) -> list[tuple[str, str]]:
    """Positions and roles that rows of a list become, each row with what stands below Coats."""
    rows = [
        ListRow(n, {"No": "1", "Title": "A", "Kind": "b", "Sample": "S1", "Coats": cell})
        for n, cell in enumerate(coats, 2)
    ]
    made = carry_over(ForeignList("list.csv", ("No", "Title", "Kind", "Sample", "Coats"), rows), mapping_of(mapping))
    assert made.cells == []
    return [(row.values["position"], row.values["role"]) for row in made.sheets["layers"]]


def test_a_coat_that_comes_twice_in_a_stack_is_two_coats() -> None:
    """The second varnish of a cell, or of further rows, is a coat of its own; a cell that is repeated says no more."""
    stack = [("1", "varnish"), ("2", "body colour"), ("3", "varnish")]
    pieces = STACKS.format(each='each = "Coats"\nparted_by = ";"', role="{ piece = true }")
    cell = "varnish; body colour; varnish"
    assert stack_of(pieces, cell) == stack_of(pieces, cell, cell) == stack
    assert stack_of(STACKS.format(each="", role='"Coats"'), "varnish", "body colour", "varnish") == stack


@pytest.mark.parametrize(
    ("each", "coats"),
    [
        (True, ("support; Lasur",)),
        (True, ("support; primer; unbekannt; varnish",)),
        (False, ("support", "Lasur")),
        (True, ("support; primer", "Lasur")),
    ],
)
def test_a_stack_comes_in_whole_or_not_at_all(each: bool, coats: tuple[str, ...]) -> None:
    """A coat that nobody can translate is there all the same: without it the support would be bare."""
    text = (
        STACKS.format(each='each = "Coats"\nparted_by = ";"', role="{ piece = true }")
        if each
        else STACKS.format(each="", role='"Coats"')
    ).replace('"No"\n', '"No"\nunknown = ["unbekannt"]\n')
    heads = ("No", "Title", "Kind", "Sample", "Coats")
    rows = [ListRow(n, dict(zip(heads, ("1", "A", "b", "S1", cell), strict=True))) for n, cell in enumerate(coats, 2)]
    other = ListRow(9, dict(zip(heads, ("1", "A", "b", "S2", "varnish"), strict=True)))
    blank = ListRow(10, dict(zip(heads, ("1", "A", "b", "S2", ""), strict=True)))
    made = carry_over(ForeignList("list.csv", heads, [*rows, other, blank]), mapping_of(text))
    assert [row.values["sample"] for row in made.sheets["layers"]] == ["S2"]
    assert {cell.value for cell in made.cells if cell.heading.startswith("Coats")} == set(coats)
    assert made.report.rows_not_made["layers.role"] >= 1
    assert made.report.rows_not_made["layers before or after it"] >= 1


def test_two_coats_at_one_position_bring_in_neither() -> None:
    """Nobody knows which lies there, so the stack stays in the list, and both rows are told."""
    heads = ("No", "Title", "Kind", "Sample", "At", "Coats")
    text = STACKS.format(each="", role='"Coats"').replace('{ numbered = "" }', '"At"')
    rows = [
        ListRow(n, dict(zip(heads, ("1", "A", "b", "S1", at, coat), strict=True)))
        for n, (at, coat) in enumerate((("1", "support"), ("2", "primer"), ("2", "varnish")), 2)
    ]
    made = carry_over(ForeignList("list.csv", heads, rows), mapping_of(text))
    assert "layers" not in made.sheets
    assert made.report.differing == {"layers.role": [4]}
    assert {cell.value for cell in made.cells} >= {"support", "primer", "varnish"}


def test_joined_cells_are_never_moved_up_to_a_blank_one(db: Path, tmp_path: Path) -> None:
    """A year and a day are no month, and 12 with its third part is not 12 with its second."""
    made = PLAIN + 'made = { take = ["Year", "Month", "Day"], between = "-" }\n'
    _, told = report_of(
        db, write(tmp_path / "a", "No,Title,Kind,Year,Month,Day\n1,A,b,1910,,12\n2,A,b,1910,11,\n", made)
    )
    assert ask(db, "SELECT made FROM objects ORDER BY object") == [(None,), ("1910-11",)]
    assert list(told["not_read"]) == ["objects.made"]
    assert ask(db, "SELECT heading, value FROM unmapped_cells ORDER BY 1") == [("Day", "12"), ("Year", "1910")]
    parts = PLAIN.replace('"No"', '{ take = ["No", "Part", "Piece"], between = "." }')
    _, told = report_of(db, write(tmp_path / "b", "No,Part,Piece,Title,Kind\n12,,3,A,b\n12,3,,A,b\n", parts))
    assert [(each["count"], each["rows"]) for each in told["set_aside"]] == [(1, [2])]
    assert told["objects"] == 1


def test_numbers_joined_to_the_same_text_are_not_the_same(db: Path, tmp_path: Path) -> None:
    """1 with 23 and 12 with 3 are two things: the later row is set aside and told."""
    joined = PLAIN.replace('"No"', '{ take = ["No", "Part"], between = "" }')
    _, told = report_of(db, write(tmp_path / "a", "No,Part,Title,Kind\n1,23,A,b\n12,3,A,b\n1,23,A,b\n", joined))
    assert told["set_aside"] == [
        {"reason": "the object's number is joined from other cells than in an earlier row", "count": 1, "rows": [3]}
    ]
    assert ask(db, "SELECT object FROM objects") == [("123",)]


# Rules and headings


@pytest.mark.parametrize(
    ("rule", "kept"),
    [
        ('[[leave_out]]\nname = "r"\nheading = "Kind"\nis = ["Copy"]\n', ["1", "3"]),
        ('[[leave_out]]\nname = "r"\nheading = "Kind"\nholds = ["op"]\n', ["1", "3"]),
        ('[[leave_out]]\nname = "r"\nheading = "Note"\nblank = true\n', ["1"]),
        ('[[keep_only]]\nname = "r"\nheading = "Note"\nblank = true\n', ["2", "3"]),
        ('[[keep_only]]\nname = "r"\nheading = "Kind"\nis = ["sign"]\n', ["1", "3"]),
    ],
)
def test_rules_leave_rows_out_and_count_them(db: Path, tmp_path: Path, rule: str, kept: list[str]) -> None:
    """By a word, by a part of the cell, by its being blank; capitals make no difference."""
    text = "No,Title,Kind,Note\n1,A,sign,x\n2,B,copy,\n3,C,Sign,\n"
    files = write(tmp_path / "a", text, SURVEY + LIST + rule + OBJECTS)
    _, told = report_of(db, files)
    assert [code for (code,) in ask(db, "SELECT object FROM objects ORDER BY 1")] == kept
    assert told["left_out"] == {"r": 3 - len(kept)}


def test_a_rule_takes_the_words_of_the_list_for_a_blank(db: Path, tmp_path: Path) -> None:
    """Where a dash is said to be blank, it is blank to a rule as well."""
    rule = 'blank = ["-"]\n[[leave_out]]\nname = "r"\nheading = "Note"\nblank = true\n'
    files = write(tmp_path / "a", "No,Title,Kind,Note\n1,A,sign,x\n2,B,copy,-\n", SURVEY + LIST + rule + OBJECTS)
    assert report_of(db, files)[1]["left_out"] == {"r": 1}


def test_blank_and_repeated_headings_are_told_apart(db: Path, tmp_path: Path) -> None:
    """Cells below them are kept under names of their own, and a mapping can name them."""
    files = write(
        tmp_path / "a", "No,Title,Kind,Date,,Date\n1,A,sign,1910,odd,1920\n", PLAIN + 'made = { date = "Date (2)" }\n'
    )
    report_of(db, files)
    assert ask(db, "SELECT made FROM objects") == [("1920",)]
    assert ask(db, "SELECT heading, value FROM unmapped_cells ORDER BY 1") == [("Date", "1910"), ("column 5", "odd")]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("No;Title;Kind\n1;A;b\n", "All headings are in one cell. The columns seem to be separated by a semicolon"),
        ("No,Title,Kind\n1,A,b,c\n", "row 2: This row has 4 cells and the headings are 3"),
        ("No,Title,Kind\n1,A\n", "row 2: This row has 2 cells and the headings are 3"),
        ('No,Title,Kind\n1,"A,b\n', "row 2: A quotation mark is opened here"),
        ("No,Title,Kind\n1,A\x00,b\n", "row 2: This row holds a character NUL"),
        ("", "no headings"),
    ],
)
def test_a_list_that_cannot_be_read_is_refused(db: Path, tmp_path: Path, text: str, sentence: str) -> None:
    """With the row and what is wrong; nothing is stored."""
    files = write(tmp_path / "a", text, PLAIN)
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, files[0], mapping=files[1])
    assert any(sentence in fault.sentence() for fault in caught.value.faults), caught.value.faults
    assert ask(db, "SELECT count(*) FROM changes") == [(0,)]


def test_a_heading_that_the_list_does_not_have_is_told_with_its_line(db: Path, tmp_path: Path) -> None:
    """The line of the mapping, its table and key, and the nearest heading."""
    mapping = PLAIN + 'maker = "Makers"\n[[leave_out]]\nname = "r"\nheading = "Nota"\nblank = true\n'
    files = write(tmp_path / "a", "No,Title,Kind,Maker,Note\n1,A,b,c,d\n", mapping)
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, files[0], mapping=files[1])
    lines = mapping.splitlines()
    assert [(f.file, f.row, f.column, f.value, f.nearest) for f in caught.value.faults] == [
        ("map.toml", lines.index('maker = "Makers"') + 1, "objects.maker", "Makers", "Maker"),
        ("map.toml", lines.index('heading = "Nota"') + 1, "leave_out.heading", "Nota", "Note"),
    ]


def test_the_map_and_the_list_have_to_be_there(db: Path, tmp_path: Path) -> None:
    """A missing file is a wrong command."""
    files = write(tmp_path / "a", "No,Title,Kind\n", PLAIN)
    with pytest.raises(WrongCommand, match="no file"):
        load.ingest(db, tmp_path / "none.csv", mapping=files[1])
    with pytest.raises(WrongCommand, match="no file"):
        load.ingest(db, files[0], mapping=tmp_path / "none.toml")


# The mapping's own faults


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (LIST + OBJECTS, "The table [survey] is missing"),
        (SURVEY + OBJECTS, "The table [list] is missing"),
        (PLAIN.replace("[objects]", "[object]"), "'object': A mapping has the tables survey, list"),
        (PLAIN.replace('"utf-8"', '"utf8"'), "Did you mean 'utf-8'?"),
        (PLAIN.replace('object = "No"', ""), "Say which heading holds the objects' numbers"),
        (PLAIN + 'makr = "M"\n', "The sheet objects has no such column"),
        (PLAIN + 'maker = { tak = "M" }\n', "Did you mean 'take'?"),
        (PLAIN + 'maker = { take = "M", say = "x" }\n', "in one way"),
        (PLAIN + 'maker = { take = ["A", "B"], part = 1, parted_by = ";" }\n', "Only a single cell"),
        (PLAIN + 'maker = { take = "A", part = 1 }\n', "`part` and `parted_by` go together"),
        (PLAIN + 'maker = { take = "A", characters = [3, 1] }\n', "first and the last character"),
        (PLAIN + "maker = { piece = true }\n", "have an `each`"),
        (PLAIN + 'maker = { date = "A" }\n', "This column holds no date"),
        (PLAIN + 'status = { take = "A", words = { x = "helt" } }\n', "Did you mean 'held'?"),
        (PLAIN + 'status = { take = "A", words = "states" }\n', "There is no table [words.states]"),
        (PLAIN + 'status = { take = "A", words = { "" = "held" } }\n', "A blank says nothing"),
        (PLAIN + 'object = "No"\n', "told once, below [list]"),
        (PLAIN + '[[rows]]\nsheet = "condition"\n', "Did you mean 'conditions'?"),
        (PLAIN + '[[rows]]\nsheet = "pictures"\n[rows.columns]\n', "A picture needs its file"),
        (
            PLAIN + '[[rows]]\nsheet = "conditions"\n[rows.columns]\nplace = { say = "all" }\nphenomenon = "A"\n',
            "Every row of conditions needs observed_on",
        ),
        (
            PLAIN + '[[rows]]\nsheet = "components"\n[rows.columns]\ncomponent = { numbered = 3 }\nname = "A"\n',
            "M1, M2",
        ),
        (PLAIN + '[[leave_out]]\nname = "r"\nheading = "A"\n', "asks one thing"),
        (PLAIN + '[[leave_out]]\nname = "r"\nheading = "A"\nis = []\n', "Name at least one word"),
        (
            PLAIN + '[[leave_out]]\nname = "r"\nheading = "A"\nblank = true\n[[keep_only]]\nname = "r"\nheading = "A"\n'
            "blank = false\n",
            "Two rules have this name",
        ),
        (PLAIN + '[dates]\nranges = "either"\n', "from to"),
        (PLAIN + '[dates]\nabout = ["19"]\n', "holds no digit"),
    ],
)
def test_a_fault_of_a_mapping_is_a_sentence(text: str, sentence: str) -> None:
    """What is wrong, where, and what is allowed."""
    found = faults_of(text)
    assert any(sentence in each for each in found), found
    assert all(each.startswith("map.toml") for each in found)


def test_all_faults_of_a_mapping_are_told_at_once(db: Path, tmp_path: Path) -> None:
    """With their lines, so that the registrar mends the file once."""
    text = PLAIN.replace('"utf-8"', '"utf9"').replace('lead = "Nora Pike"\n', "") + (
        'makr = "M"\nmade = { say = "1910" }\n'
    )
    files = write(tmp_path / "a", "No,Title,Kind\n", text)
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, files[0], mapping=files[1])
    lines = text.splitlines()
    assert [(f.row, f.column) for f in caught.value.faults] == [
        (None, "lead"),
        (lines.index('encoding = "utf9"') + 1, "list.encoding"),
        (lines.index('makr = "M"') + 1, "objects.makr"),
        (lines.index('made = { say = "1910" }') + 1, "objects.made"),
    ]


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers(-3, 3) | st.text(max_size=4) | st.floats(allow_nan=False),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(
                st.sampled_from(
                    [
                        "survey",
                        "list",
                        "objects",
                        "rows",
                        "columns",
                        "title",
                        "made",
                        "take",
                        "say",
                        "date",
                        "words",
                        "part",
                        "parted_by",
                        "each",
                        "sheet",
                        "dates",
                        "about",
                        "is",
                        "leave_out",
                        "encoding",
                        "object",
                        "ranges",
                    ]
                ),
                inner,
                max_size=4,
            )
        ),
        max_leaves=12,
    )
)
def test_no_tables_however_odd_raise(held: Any) -> None:
    """Whatever TOML can hold, a mapping of it is read or has faults."""
    given_tables = held if isinstance(held, dict) else {"objects": held}
    base = tomllib.loads(PLAIN)
    for tables in (given_tables, {**base, **given_tables}, {**base, "objects": given_tables}):
        mapping, faults = read_mapping(MapText("map.toml", ""), tables)
        assert (mapping is None) == bool(faults)


# What only evidence may say

CLEARING = [
    ("schemes", "period", "later"),
    ("schemes", "period", "restoration"),
    ("schemes", "period", "recent"),
    ("schemes", "period", "original"),
    ("layers", "period", "original"),
    ("layers", "coverage", "absent"),
    ("layers", "role", "dirt"),
    ("layers", "binder", "wax"),
    ("components", "origin", "original"),
    ("components", "origin", "replaced"),
    ("components", "presence", "missing"),
    ("samples", "reaches_support", "yes"),
    ("samples", "chosen", "random"),
    ("samples", "place", "all"),
    ("tests", "place", "all"),
    ("tests", "application", "immersion"),
    ("responses", "response", "none seen"),
    ("decorations", "state", "lost"),
    ("decorations", "state", "not found"),
    ("conditions", "severity", "0"),
    ("conditions", "active", "no"),
    ("conditions", "observed_on", "2019"),
    ("conditions", "place", "Z1"),
    ("treatment_steps", "action", "strip"),
    ("treatment_steps", "place", "all"),
    ("treatment_steps", "removed", "1"),
    ("treatments", "outcome", "tried and failed"),
    ("claims", "status", "refuted"),
    ("claims", "status", "confirmed"),
    ("claims", "resolved_by", "report"),
    ("hazards", "status", "not found"),
    ("hazards", "status", "controlled"),
    ("hazards", "component", "body"),
    ("proposals", "permission", "given"),
    ("schemes", "keep", "may go"),
    ("schemes", "decided_by", "A"),
    ("schemes", "component", "body"),
    ("layers", "scheme", "9"),
    ("zones", "area_m2", "2"),
    ("zones", "visibility", "hidden"),
    ("objects", "made", "1910"),
    ("objects", "status", "left"),
    ("advice", "done_by", "T1"),
    ("reserves", "place", "body"),
    ("layers", "colour", "red"),
]


@pytest.mark.parametrize(("sheet", "column", "word"), CLEARING)
def test_a_mapping_may_not_say_what_would_clear(sheet: str, column: str, word: str) -> None:
    """Nobody looked, so the mapping's reader refuses it, however it is written."""
    record = BY_SHEET[sheet]
    sentence = why_not(record, record.column(column), word)
    assert sentence is not None
    assert sentence.endswith("the cells then stay with the record.")
    where = (
        "[objects]\n"
        if sheet == "objects"
        else f'[objects]\ntitle = "Title"\nkind = "Kind"\n[[rows]]\nsheet = "{sheet}"\n[rows.columns]\n'
    )
    for said in (
        f'{{ say = "{word}" }}',
        f'{{ take = "A", when_blank = "{word}" }}',
        f'{{ take = "A", when_none = "{word}" }}',
        f'{{ take = "A", when_unknown = "{word}" }}',
    ):
        found = faults_of(SURVEY + LIST + where + f"{column} = {said}\n")
        assert any(sentence in each for each in found), found


@pytest.mark.parametrize("term", ["?", "-", "N/A", "Unknown", "not examined"])
def test_what_says_nothing_is_not_translated_into_a_find(term: str) -> None:
    """A term of somebody who did not look or does not know stands for no word that would clear; for others it may."""
    rows = PLAIN + '[[rows]]\nsheet = "layers"\n[rows.columns]\nsample = "S"\nposition = "P"\nrole = "R"\n'
    clearing = rows + f'coverage = {{ take = "C", words = {{ "{term}" = "absent" }} }}\n'
    assert any("says nothing" in each for each in faults_of(clearing))
    assert faults_of(rows + f'period = {{ take = "C", words = {{ "{term}" = "unknown" }} }}\n') == []
    assert faults_of(clearing.replace(f'"{term}"', '"none left"')) == []


def test_every_closed_list_was_thought_of() -> None:
    """Of each closed list some words are allowed, by name, or none; all that are allowed are words of the list."""
    for (sheet, name), allowed in WORDS_THAT_CLEAR_NOTHING.items():
        column = BY_SHEET[sheet].column(name)
        assert column.words is not None
        assert set(allowed) < set(column.words.words) or name in ("method", "kind", "counted_from", "priority")
    for record in SHEETS:
        for column in record.columns():
            if column.words is not None and not column.words.open_list and column.name != "audience":
                said = {word for word in column.words.words if why_not(record, column, word) is None}
                assert said == set(WORDS_THAT_CLEAR_NOTHING.get((record.sheet, column.name), ()))
                assert not said & (words.LATER_PERIODS | {"absent", "not found", "refuted", "controlled", "none seen"})


# Nothing is lost

CELL = st.text("ab1970.;/ -é\u0301ßkeiun", max_size=14) | st.sampled_from(
    [
        "",
        "-",
        "keine",
        "unbekannt",
        "1910",
        "um 1900",
        "oak; pine",
        "horse / Pferd",
        "held",
        "not recorded",
        "Title",
        " x ",
        "oak;oak",
        "A;;B",
        "1900-1910",
        "=1+1",
    ]
)
RECIPES = {
    "title": [
        '"B"',
        '{ take = "B", when_blank = "untitled" }',
        '{ take = "B", part = 1, parted_by = " / " }',
        '{ take = ["B", "C"], between = "; " }',
    ],
    "kind": [
        '"C"',
        '{ say = "thing" }',
        '{ take = "C", words = { held = "kept" }, untranslated = "as written" }',
        '{ take = "C", when_blank = "thing", when_unknown = "unknown thing" }',
    ],
    "maker": [
        '"D"',
        '{ take = "D", part = 2, parted_by = ";" }',
        '{ take = "D", characters = [1, 4] }',
        '{ take = "D", words = { oak = "Eiche" } }',
    ],
    "made": ['{ date = "D" }', '{ date = "D", earliest = "E", latest = "F" }', '{ earliest = "E" }'],
    "status": ['"E"', '{ take = "E", words = { keine = "left", a = "held" } }'],
    "other_numbers": ['{ take = ["E", "F"], between = "." }', '{ take = "F", when_none = "none" }'],
    "part_of": [],
}
ROWS = [
    "",
    '[[rows]]\nsheet = "components"\neach = "F"\nparted_by = ";"\n[rows.columns]\ncomponent = { numbered = "M" }\n'
    'name = { piece = true }\nsupport = { take = "E" }\n',
    '[[rows]]\nsheet = "claims"\n[rows.columns]\nclaim = "E"\nstatement = "F"\nstatus = { say = "untested" }\n',
    '[[rows]]\nsheet = "advice"\neach = "D"\nparted_by = ";"\n[rows.columns]\nadvice = { numbered = "A" }\n'
    'what = { piece = true, part = 1, parted_by = "/" }\ngiven_on = { date = "E" }\n',
]
JOINED = '{ take = ["A", "B"], between = "." }'
RULES = ["", '[[leave_out]]\nname = "r"\nheading = "C"\nis = ["keine"]\n']


@st.composite
def mappings(draw: st.DrawFn) -> str:
    """A mapping that reads, of any of these recipes."""
    chosen = {
        name: draw(st.sampled_from(ways))
        for name, ways in RECIPES.items()
        if ways and (name in ("title", "kind") or draw(st.booleans()))
    }
    objects = "".join(f"{name} = {way}\n" for name, way in chosen.items())
    number = draw(st.sampled_from(['"A"', JOINED]))
    return (
        SURVEY
        + LIST.replace('"No"', number)
        + 'blank = ["-"]\nnone = ["keine"]\nunknown = ["unbekannt"]\n'
        + draw(st.sampled_from(RULES))
        + '[dates]\nabout = ["um"]\n'
        + "[objects]\n"
        + objects
        + draw(st.sampled_from(ROWS))
        + draw(st.sampled_from(ROWS))
    )


LISTS = st.lists(
    st.fixed_dictionaries({"A": st.sampled_from(["1", "2", "1.x", ""]), **dict.fromkeys("BCDEF", CELL)}), max_size=6
)


def _number(row: dict[str, str], text: str) -> str:
    """The number of a row, told without the program: a part number counts where it is one."""
    part = unicodedata.normalize("NFC", row["B"].strip())
    joined = JOINED in text and part not in ("", "-", "keine", "unbekannt")
    return f"{row['A'].strip()}.{part}" if joined else row["A"].strip()


@given(LISTS, mappings())
def test_nothing_of_any_list_is_lost_by_any_mapping(rows: list[dict[str, str]], text: str) -> None:
    """Each row is kept, left out by a rule or set aside; of kept rows each cell that is not blank is kept with the
    object as it was written, or every word of it stands in the object's records."""
    listed = ForeignList("list.csv", tuple("ABCDEF"), [ListRow(n, row) for n, row in enumerate(rows, 2)])
    carried = carry_over(listed, mapping_of(text))
    report = carried.report
    aside = {row for numbers in report.set_aside.values() for row in numbers}
    assert len(rows) == report.rows_kept + sum(report.left_out.values()) + len(aside)
    held: dict[str, set[str]] = {}
    for made in carried.sheets.values():
        for each in made:
            held.setdefault(each.values["object"], set()).update(*map(words_in, each.values.values()))
    kept: dict[tuple[str, str], set[str]] = {}
    for one in carried.cells:
        kept.setdefault((one.object, one.heading.split(" [")[0]), set()).add(one.value)
    for row in listed.rows:
        if row.row in aside or (report.left_out.get("r") and row.cells["C"].strip() == "keine"):
            continue
        for heading, cell in row.cells.items():
            code = _number(row.cells, text)
            if cell.strip() and cell.strip() != "-":
                assert cell in kept.get((code, heading), ()) or words_in(cell) <= held[code], (heading, cell)


@settings(max_examples=25)
@given(LISTS, mappings())
def test_any_list_is_stored_whole_or_refused(rows: list[dict[str, str]], text: str) -> None:
    """What the sheets get reads as it was carried over, nothing is half stored, and once more changes nothing."""
    out = io.StringIO()
    writer = csv.DictWriter(out, tuple("ABCDEF"))
    writer.writeheader()
    writer.writerows(rows)
    with tempfile.TemporaryDirectory() as folder:
        db = Path(folder) / "collection.db"
        database.create(db)
        files = write(Path(folder) / "list", out.getvalue(), text)
        try:
            report = load.ingest(db, files[0], mapping=files[1])
        except InputRefused as error:
            refused = error
        else:
            refused = None
        if refused is not None:
            assert all("differs from" in fault.message for fault in refused.faults), refused.faults
            assert ask(db, "SELECT count(*) FROM changes") == [(0,)]
            return
        assert report.mapping is not None
        assert report.added == {"survey": 1, **{sheet: n for sheet, n in report.mapping.rows_made.items() if n}}
        assert check(db).damage == ()
        files[1].write_text(text + "\n", encoding="utf-8")
        again = load.ingest(db, files[0], mapping=files[1])
        assert (again.added, again.changed, again.change) == ({}, {}, None)
        assert again.unchanged == report.added


# The command


def test_the_command_tells_what_became_of_a_list(
    db: Path, german: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """In sentences, and as JSON under `mapping`; of an ordinary package that is null."""
    assert run(["ingest", str(db), str(german[0]), "--map", str(german[1])]) == 0
    told = capsys.readouterr().out
    assert "The list: 7 rows read, 6 kept for 5 objects." in told
    assert "Left out by the rule 'photographs': 1 row." in told
    assert "Not translated, objects.kind: 'Modell' 1." in told
    assert "Said by the mapping, not by the list: objects.title 2." in told
    assert run(["ingest", str(db), str(german[0]), "--map", str(german[1]), "--dry-run", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["mapping"]["rows_read"] == 7
    bad = german[1].with_name("bad.toml")
    bad.write_text(german[1].read_text(encoding="utf-8").replace('"Standort"', '"Ort"'), encoding="utf-8")
    assert run(["ingest", str(db), str(german[0]), "--map", str(bad)]) == 1
    assert "The list has no such heading" in capsys.readouterr().err


def test_a_list_can_be_tried_without_a_database(german: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    """With the same account of it; of a list without titles it is said that only a database could tell."""
    assert run(["try", str(german[0]), "--map", str(german[1]), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["rows"] == {"survey": 1, "objects": 5, "components": 5}
    assert told["mapping"]["left_out"] == {"photographs": 1}
    dated = open_list("autry_dated")
    assert run(["try", str(dated[0]), "--map", str(dated[1])]) == 0
    out = capsys.readouterr().out
    assert "each of them has to be in the database already" in out
    assert "The list: 40 rows read" in out


def test_the_example_of_the_manual_works(db: Path, tmp_path: Path) -> None:
    """The list and the mapping that the manual shows are taken in, and what it says of them is so."""
    blocks = dict(re.findall(r"```(csv|toml)\n(.*?)```", MANUAL, re.S))
    files = write(tmp_path / "manual", blocks["csv"], blocks["toml"])
    report, told = report_of(db, files)
    sentences = report.mapping.sentences() if report.mapping else []
    shown = re.search(r"```text\n(.*?)```", MANUAL, re.S)
    assert shown
    assert [line.strip() for line in shown[1].splitlines()] == sentences
    assert told["objects"] == len(ask(db, "SELECT object FROM objects"))


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
