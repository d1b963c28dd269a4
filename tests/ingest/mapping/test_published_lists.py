"""Lists that museums publish (see open_lists/README.md), brought in as they are: numbers, dates, several rows for one
object, and no cell lost."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from asked import ask
from mapped_lists import LIST, OBJECTS, OPEN_LISTS, SURVEY, lost_cells, mapping_of, open_list, report_of, rows_of

from collection.ingest import load
from collection.ingest.mapping.list_file.list_rows import read_list
from collection.language.errors import DifferenceRefused, InputRefused
from collection.store.base import database
from collection.store.check import check


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
    assert sum(each["count"] for each in told["dates_not_understood"]["objects.made"]) == len(unread)
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


@pytest.mark.parametrize("name", ["autry_objects", "nga_historical", "tate_artworks"])
def test_a_published_list_says_the_same_however_it_is_saved(db: Path, tmp_path: Path, name: str) -> None:
    """As UTF-16 with tabs below a title, and as a workbook of texts by XlsxWriter: the records of the CSV file exactly."""
    listed, mapping = open_list(name)
    with open(listed, encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    text = io.StringIO(newline="")
    csv.writer(text, delimiter="\t").writerows([[f"A title of {name}"], [], *rows])
    (tmp_path / "tabs.csv").write_bytes(text.getvalue().encode("utf-16"))
    with xlsxwriter.Workbook(str(tmp_path / "list.xlsx"), {"strings_to_numbers": False}) as book:
        page = book.add_worksheet("List")
        for at, row in enumerate(rows):
            for place, cell in enumerate(row):
                if cell:
                    page.write_string(at, place, cell)
    own = mapping.read_text(encoding="utf-8")
    tabs = re.sub("(?m)^encoding = .*$", 'encoding = "utf-16"', own)
    tabs = re.sub("(?m)^separator = .*$", r'separator = "\\t"\nheadings_row = 3', tabs)
    book_map = re.sub("(?m)^(encoding|separator) = .*\n", "", own)
    wanted = told_of(db, listed, mapping)
    for path, text_of_map in ((tmp_path / "tabs.csv", tabs), (tmp_path / "list.xlsx", book_map)):
        made = tmp_path / f"{path.stem}.toml"
        made.write_text(text_of_map, encoding="utf-8")
        other = tmp_path / f"{path.stem}.db"
        database.create(other)
        assert told_of(other, path, made) == wanted


def told_of(db: Path, listed: Path, mapping: Path) -> list[list[tuple[Any, ...]]]:
    """The records and the kept cells of a list, and what its report says, without the rows' numbers."""
    report_of(db, (listed, mapping))
    return [
        ask(db, "SELECT object, title, kind, made, maker, materials, dimensions FROM objects ORDER BY 1"),
        ask(db, "SELECT object, claim, statement, status FROM claims ORDER BY 1, 2"),
        ask(db, 'SELECT "key", heading, value FROM unmapped_cells ORDER BY 1, 2'),
    ]


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
