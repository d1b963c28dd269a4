"""A workbook's sheets: rows and columns as the person sees them, the survey, hidden and merged cells, and the files
beside the workbook."""

from __future__ import annotations

import os
import re
import time
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import made_workbooks as made
import pytest
import xlsxwriter
from checked import check_package
from small_workbook import OBJECTS, SMALL, one_fault, refused, stored

from collection.ingest.package.package_format import open_source
from collection.ingest.package.workbook.workbook import open_workbook
from collection.language.errors import CouldNot
from collection.records.sheets import BY_SHEET


def test_rows_and_columns_are_those_that_the_person_sees(tmp_path: Path) -> None:
    """Blank rows and columns before the headings, blank rows between, and columns in any order."""
    path = tmp_path / "b.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        survey = book.add_worksheet("survey")
        for at, (key, value) in enumerate(made.SURVEY):
            survey.write_row(at + 2, 0, [key, value if key != "started" else "yesterday"])
        page = book.add_worksheet("Objects")
        page.write_row(3, 2, ["kind", "", "Object", "title"])
        page.write_row(5, 2, ["tram", "", "T1", "Tram"])
        page.write_row(9, 2, ["tram", "", "T2", ""])
        page.write_row(10, 2, ["tram", "stray", "T3", "Bus"])
        page.write_string(11, 8, "far")
    assert [(f.sheet, f.row, f.column, f.value) for f in refused(path)] == [
        ("survey", 7, "started", "yesterday"),
        ("objects", 10, "title", None),
        ("objects", 11, None, "stray"),
        ("objects", 12, None, "far"),
    ]
    far = refused(path)[-1]
    assert "column I" in far.message


SURVEY_SHEETS: list[tuple[Sequence[Sequence[Any]], int | None, str | None, str]] = [
    (
        (("key", "value"), ("code", "h"), ("title", "t"), ("leed", "l"), ("started", "2019")),
        4,
        "leed",
        "no such column",
    ),
    ((("key", "value"), ("code", 1979.1), ("title", "t"), ("lead", "l"), ("started", "2019")), 2, "code", "number"),
    ((("key", "value"), ("code", "h"), ("title", "t"), ("lead", "l"), ("started", "")), 5, "started", "needs it"),
    ((("key", "value"), ("code", "h"), ("title", "t"), ("lead", "l")), None, "started", "column is missing"),
    (
        (("key", "value"), ("code", "h"), ("code", "i"), ("title", "t"), ("lead", "l"), ("started", "2019")),
        3,
        "code",
        "twice",
    ),
    (
        (("key", "value"), ("code", "h"), ("title", "t"), ("", "l"), ("lead", "l"), ("started", "2019")),
        4,
        None,
        "no key",
    ),
    (
        (("key", "value"), ("code", "h", "x"), ("title", "t"), ("lead", "l"), ("started", "2019")),
        2,
        None,
        "below no heading",
    ),
    ((("a", "b"), ("code", "h"), ("title", "t"), ("lead", "l"), ("started", "2019")), 1, None, "key and value"),
    ((), None, None, "no sheet survey"),
]


@pytest.mark.parametrize(("survey", "row", "column", "said"), SURVEY_SHEETS)
def test_the_sheet_survey_says_each_thing_on_its_own_row(
    tmp_path: Path, survey: made.Rows, row: int | None, column: str | None, said: str
) -> None:
    """Key and value below each other; a fault names the row of its key."""
    faults = [f for f in refused(made.written(tmp_path / "b.xlsx", {"objects": OBJECTS}, survey)) if said in f.message]
    assert [(f.sheet, f.row, f.column) for f in faults] == [("survey", row, column)]


def test_the_survey_needs_no_headings(tmp_path: Path) -> None:
    """Where the first row is a key of the survey, it is read as one."""
    book = made.written(tmp_path / "b.xlsx", SMALL, made.SURVEY[1:])
    assert stored(tmp_path, book, "SELECT code, started FROM surveys") == [("harbour-1", "2019-05")]


def test_other_sheets_are_named_unless_they_are_blank_or_for_people(tmp_path: Path) -> None:
    """A mistyped name has its nearest, a blank sheet is nothing, and a sheet twice is one too many."""
    rows = (("anything", 1, "=A1"),)
    sound = made.written(
        tmp_path / "a.xlsx", {**SMALL, "Sheet7": (), "Instructions": rows, "known": rows, "hazards": ()}
    )
    assert check_package(sound) == []
    faults = refused(
        made.written(tmp_path / "b.xlsx", {**SMALL, "layrs": rows, "treatment steps": (), "Remarks": rows})
    )
    assert [(f.value, f.nearest) for f in faults] == [("layrs", "layers"), ("Remarks", None)]
    twice = one_fault(
        made.written(
            tmp_path / "c.xlsx", {"objects": OBJECTS, "tests": (), "treatment-steps": (), "treatment steps": ()}
        )
    )
    assert (twice.sheet, twice.value) == ("treatment_steps", "treatment steps")


@pytest.mark.parametrize(
    ("place", "blanked", "expected"),
    [
        ((1, 2), True, [(2, None, "C2:C3"), (3, "kind", None)]),
        ((1, 2), False, [(2, None, "C2:C3")]),
        ((40, 41), True, []),
    ],
)
def test_merged_cells_in_the_data_are_told(
    tmp_path: Path, place: tuple[int, int], blanked: bool, expected: list[tuple[int, str | None, str | None]]
) -> None:
    """A merged range hides what its other cells hold, or that they hold nothing; one below the data is nothing."""
    path = tmp_path / "b.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        format_of_blanks = book.add_format({"bold": True}) if blanked else None
        for name, rows in {"survey": made.SURVEY, "objects": [*OBJECTS, ("T2", "Bus", "bus")]}.items():
            page = book.add_worksheet(name)
            for at, row in enumerate(rows):
                page.write_row(at, 0, row)
        page.merge_range(place[0], 2, place[1], 2, "tram" if expected else "", format_of_blanks)
    if not expected:
        assert check_package(path) == []
        return
    faults = refused(path)
    assert [(f.row, f.column, f.value) for f in faults] == expected
    assert "merged" in faults[0].message


def test_hidden_rows_columns_and_sheets_are_read_and_told(tmp_path: Path) -> None:
    """A filter hides rows without taking them away: they are read, and one warning says so."""
    path = tmp_path / "b.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        objects = [*OBJECTS, ("T2", "Bus", "bus"), ("T3", "Van", "van")]
        for name, rows in {"survey": made.SURVEY, "objects": objects}.items():
            page = book.add_worksheet(name)
            for at, row in enumerate(rows):
                page.write_row(at, 0, row)
        page.set_row(2, None, None, {"hidden": True})
        page.set_column(2, 2, None, None, {"hidden": True})
        page.hide()
    said = check_package(path)
    assert [(f.sheet, f.row, f.column) for f in said] == [
        ("objects", 3, None),
        ("objects", None, "kind"),
        ("objects", None, None),
    ]
    assert all("hidden" in f.message.lower() for f in said)
    assert stored(tmp_path, path, "SELECT count(*) FROM objects") == [(3,)]


def test_what_says_that_it_is_not_hidden_is_not(tmp_path: Path) -> None:
    """A spreadsheet program may write of every row, column and sheet that it is not hidden (18.3.1.13, 18.3.1.73,
    18.2.19): hidden is what says 1 or true, and a sheet that is not visible."""
    rows = "".join(
        made.inline_row(at, row).replace("<row ", f'<row hidden="{hidden}" ')
        for at, (row, hidden) in enumerate(
            ((OBJECTS[0], "false"), (OBJECTS[1], "0"), (("T2", "Bus", "bus"), "false")), 1
        )
    )
    columns = (
        '<cols><col min="1" max="1" hidden="false"/><col min="2" max="2" hidden="0"/>'
        '<col min="3" max="3" hidden="{}"/></cols><sheetData>'
    )

    def told(hidden: str, state: str) -> list[tuple[str, int | None, str | None]]:
        sheet = made.worksheet(rows if hidden == "false" else rows.replace('hidden="0"', f'hidden="{hidden}"'))
        path = made.by_hand(tmp_path / "b.xlsx", {"objects": sheet.replace("<sheetData>", columns.format(hidden))})
        with zipfile.ZipFile(path) as archive:
            listed = archive.read("xl/workbook.xml").decode()
        made.by_hand(
            path,
            {"objects": sheet.replace("<sheetData>", columns.format(hidden))},
            parts={"xl/workbook.xml": listed.replace("<sheet ", f'<sheet state="{state}" ')},
        )
        return [(f.sheet, f.row, f.column) for f in check_package(path)]

    assert told("false", "visible") == []
    for hidden, state in (("1", "hidden"), ("true", "veryHidden")):
        assert told(hidden, state) == [("objects", 2, None), ("objects", None, "kind"), ("objects", None, None)]


def test_no_number_of_hidden_columns_takes_the_day(tmp_path: Path) -> None:
    """A sheet that says of all its columns 20,000 times that they are hidden is read at once (it took a minute)."""
    sheet = made.worksheet("".join(made.inline_row(at, row) for at, row in enumerate(OBJECTS, 1))).replace(
        "<sheetData>", "<cols>" + '<col min="1" max="16384" hidden="1"/>' * 20_000 + "</cols><sheetData>"
    )
    began = time.process_time()
    said = check_package(made.by_hand(tmp_path / "b.xlsx", {"objects": sheet}))
    assert time.process_time() - began < 20
    assert [(f.column, f.message) for f in said] == [
        ("object", "Hidden columns were read like all others: object, title, kind.")
    ]


def test_every_fault_of_a_workbook_is_in_one_report(tmp_path: Path) -> None:
    """Faults of cells, headings, references and sheets come at once, in the order of sheets and rows."""
    faults = refused(
        made.written(
            tmp_path / "b.xlsx",
            {
                **SMALL,
                "objects": (("object", "title", "kind", "color"), ("T1", "Tram", "tram", "red")),
                "layers": (
                    SMALL["layers"][0],
                    ("T1", "S01", 1, "primr", 20, 1, "grey"),
                    ("T1", "S1", 2, "primer", "x", "1", ""),
                ),
                "drawings": (("object", "drawing", "file", "title"), ("T1", "D1", "gone.svg", "left side")),
            },
        )
    )
    assert [(f.sheet, f.row, f.column) for f in faults] == [
        ("objects", 1, "color"),
        ("drawings", 2, "file"),
        ("layers", 2, "role"),
        ("layers", 2, "scheme"),
        ("layers", 3, "thickness_um"),
        ("layers", 3, "sample"),
    ]


@pytest.mark.parametrize("sheet", [name for name in BY_SHEET if name != "survey"])
def test_every_sheet_is_known_by_its_name(tmp_path: Path, sheet: str) -> None:
    """Names compare without capitals, with blanks or hyphens for the low line."""
    headings = [tuple(column.name for column in BY_SHEET[sheet].columns())]
    for name in {sheet, sheet.replace("_", " ").title(), sheet.replace("_", "-").upper()}:
        assert check_package(made.written(tmp_path / "b.xlsx", {name: headings})) == []


def test_only_named_files_beside_the_workbook_are_taken(tmp_path: Path) -> None:
    """Neighbours that no sheet names are nobody's business; links and folders are refused; capitals count."""
    (tmp_path / "pictures").mkdir()
    for name in ("front.png", "Back.png"):
        (tmp_path / "pictures" / name).write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01")
    (tmp_path / "secret.txt").write_text("none of the survey's business")
    pictures = (("object", "picture", "file"), ("T1", "F1", "pictures/front.png"))
    sound = made.written(tmp_path / "b.xlsx", {"objects": OBJECTS, "pictures": pictures})
    assert sorted(open_workbook(sound).files) == ["b.xlsx", "pictures/front.png"]
    assert not any("secret" in f.sentence() for f in check_package(sound))
    (tmp_path / "link.png").symlink_to(tmp_path / "pictures" / "front.png")
    (tmp_path / "away").symlink_to(tmp_path / "pictures")
    wrong = (
        "pictures/back.png",
        "link.png",
        "away/front.png",
        "pictures",
        "../x.png",
        "/etc/passwd",
        "nowhere.png",
        "pictures/front.png/x",
    )
    faults = refused(
        made.written(
            tmp_path / "c.xlsx",
            {"objects": OBJECTS, "pictures": [pictures[0], *(("T1", f"F{at}", name) for at, name in enumerate(wrong))]},
        )
    )
    assert [(f.row, f.column, f.value) for f in faults] == [(at, "file", name) for at, name in enumerate(wrong, 2)]
    said = [
        "there is 'Back.png'",
        "link",
        "link",
        "folder",
        "in the package",
        "in the package",
        "no such file",
        "no such file",
    ]
    assert all(re.search(word, fault.message) for word, fault in zip(said, faults, strict=True))


def test_a_folder_of_many_pictures_is_listed_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Looking for each picture among all others takes a time that grows with their square."""
    (tmp_path / "pictures").mkdir()
    names = [f"pictures/{at}.png" for at in range(30)]
    for name in names:
        (tmp_path / name).write_bytes(b"x")
    listed: list[Path] = []
    scandir = os.scandir

    def listing(path: Path) -> Any:
        listed.append(path)
        return scandir(path)

    monkeypatch.setattr(os, "scandir", listing)
    book = made.written(
        tmp_path / "b.xlsx",
        {
            "objects": OBJECTS,
            "pictures": [("object", "picture", "file"), *(("T1", f"F{at}", name) for at, name in enumerate(names))],
        },
    )
    assert sorted(open_workbook(book).files) == sorted(["b.xlsx", *names])
    assert listed == [tmp_path, tmp_path / "pictures"]


@pytest.mark.parametrize("form", ["folder", "workbook"])
@pytest.mark.parametrize("changed", ["the sheets", "a picture", "a picture that is gone"])
def test_a_package_that_is_written_to_meanwhile_is_not_stored(tmp_path: Path, form: str, changed: str) -> None:
    """What was checked is what is stored: a file saved anew between the two is named, and nothing is stored."""
    package = tmp_path / "package"
    package.mkdir()
    picture = package / "front.png"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01")
    book = package / "b.xlsx"
    sheets = book if form == "workbook" else package / "survey.toml"
    if form == "workbook":
        made.written(book, {"objects": OBJECTS, "pictures": (("object", "picture", "file"), ("T1", "F1", "front.png"))})
    else:
        sheets.write_text('code = "h"\ntitle = "t"\nlead = "l"\nstarted = "2019"\n')
    with open_source(book if form == "workbook" else package) as source:
        source.unchanged_since_read()
        touched = sheets if changed == "the sheets" else picture
        touched.unlink() if changed.endswith("gone") else touched.write_bytes(touched.read_bytes() + b"\n")
        with pytest.raises(CouldNot, match=f"{touched.name} was changed while it was being read"):
            source.unchanged_since_read()
