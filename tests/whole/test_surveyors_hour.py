"""A surveyor's hour: one object from an empty workbook to a second visit, with the slips that people make.

The object is a made-up cupboard. The slips are common practice, no published source: the trade's other words, a
decimal comma, a real date, a row pasted twice, a sample numbered from the outside.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from blank_forms import headings

from collection.cli import run
from collection.ingest.trial import Trial, try_package
from collection.language.errors import BadValue, Fault, InputRefused, together
from collection.language.words import BINDER, DECORATION_STATE, PERIOD, PRESENCE, ROLE
from collection.language.work_words import ACTION

pytestmark = pytest.mark.slow

OBJ = "EX-7"
DAY = datetime.date(2014, 11, 3)
SURVEY = {"title": "One cupboard (invented)", "lead": "Tamsin Hollowell", "started": DAY}
COATS = ("support", "primer", "body colour", "varnish")
SHEETS: dict[str, list[dict[str, Any]]] = {
    "objects": [{"title": "Cupboard (invented)", "kind": "cupboard", "made": "ca. 1879", "other_numbers": "N/A"}],
    "components": [
        {"component": "DOOR-L", "name": "Left door", "area_m2": "1,1", "origin": "later", "observed_on": DAY},
        {"component": "DOOR-R", "name": "Right door", "area_m2": "1.1 m2"},
    ],
    "zones": [
        {"zone": "L-UP", "component": "Door-L"},
        {"zone": "R-UP", "component": "DOOR-R", "visibility": "yes"},
        {"zone": "R-UP", "component": "DOOR-R", "visibility": "yes"},
    ],
    "schemes": [{"scheme": 1, "name": "Estate finish", "period": "original"}],
    "samples": [
        {"sample": "S01", "place": "L-UP", "method": "X-section", "reaches_support": "yes"},
        {"sample": "S02", "place": "R-UPP", "method": "scraping", "reaches_support": "yes"},
    ],
    "layers": [
        *(
            {"sample": "S01", "position": at, "role": role, "scheme": 1 if at > 1 else None}
            for at, role in enumerate(COATS, 1)
        ),
        *(
            {
                "sample": "S02",
                "position": 5 - at,
                "role": "topcoat" if role == "varnish" else role,
                "binder": "n/a" if role == "primer" else None,
            }
            for at, role in enumerate(COATS, 1)
        ),
    ],
    "tests": [
        {
            "test": "C01",
            "place": "L-UP",
            "agent": "white spirit",
            "application": "swab",
            "dwell_s": "30 s",
            "tested_on": DAY,
            "after_drying": "Y",
        }
    ],
    "responses": [{"test": "C01", "response": "no change", "sample": "S01"}],
    "conditions": [{"place": "l-up", "phenomenon": "dirty", "severity": "slight", "observed_on": "Nov 2014"}],
    "pictures": [{"picture": "P1", "file": "front.png"}],
}
SAID: list[tuple[str, int, str | None, str | None]] = [
    ("objects", 2, "made", "1879~"),
    ("components", 2, "origin", None),
    ("components", 3, "area_m2", "1.1"),
    ("zones", 2, "component", "DOOR-L"),
    ("zones", 4, "zone", None),
    ("schemes", 2, "scheme", None),
    *(("layers", row, "scheme", None) for row in (3, 4, 5)),
    ("layers", 7, "binder", None),
    ("layers", 9, "role", None),
    ("tests", 2, "application", None),
    ("tests", 2, "dwell_s", "30"),
    ("responses", 2, None, None),
    ("conditions", 2, "observed_on", "2014-11"),
    ("conditions", 2, "severity", None),
    ("conditions", 2, "place", "L-UP"),
    ("pictures", 2, "file", None),
]
"""Sheet, row, column and nearest of every fault, sheet by sheet as a person reads them."""
MENDS: list[tuple[str, int, str, Any]] = [
    ("objects", 2, "made", "1879~"),
    ("components", 2, "origin", "replaced"),
    ("components", 3, "area_m2", 1.1),
    ("zones", 2, "component", "DOOR-L"),
    ("schemes", 2, "scheme", "1"),
    *(("layers", row, "scheme", "1") for row in (3, 4, 5)),
    ("layers", 7, "binder", None),
    ("layers", 9, "role", "varnish"),
    ("tests", 2, "application", "rolled swab"),
    ("tests", 2, "dwell_s", 30),
    ("responses", 2, "position", 4),
    ("conditions", 2, "observed_on", "2014-11"),
    ("conditions", 2, "severity", 1),
    ("conditions", 2, "place", "L-UP"),
]


class Sitting:
    """A workbook open on somebody's desk: rows are typed by heading below what stands there."""

    def __init__(self, path: Path) -> None:
        self._path, self.book = path, openpyxl.load_workbook(path)

    def type(self, sheet: str, *rows: Mapping[str, Any]) -> None:
        page = self.book[sheet]
        places = headings(page)
        first = max((row for row in range(1, page.max_row + 1) if page.cell(row, 1).value), default=1) + 1
        for row, cells in enumerate(rows, first):
            for heading, value in {"object": OBJ, **cells}.items():
                page.cell(row, places[heading]).value = value

    def mend(self, sheet: str, row: int, column: str, value: Any) -> None:
        page = self.book[sheet]
        page.cell(row, headings(page)[column]).value = value

    def survey(self, said: Mapping[str, Any]) -> None:
        for key, value in self.book["survey"].iter_rows(min_row=2, max_col=2):
            if key.value in said:
                value.value = said[key.value]

    def put_down(self) -> Path:
        self.book.save(self._path)
        return self._path


@pytest.fixture
def first(tmp_path: Path) -> Sitting:
    """The blank workbook, typed into."""
    path = tmp_path / "cupboard.xlsx"
    assert run(["blank", str(path), "--survey", "T14"]) == 0
    sitting = Sitting(path)
    sitting.survey(SURVEY)
    for sheet, rows in SHEETS.items():
        sitting.type(sheet, *rows)
    return sitting


@pytest.fixture
def mended(first: Sitting) -> Sitting:
    """The same after each sentence was followed, and nothing else."""
    for sheet, row, column, value in MENDS:
        first.mend(sheet, row, column, value)
    first.book["zones"].delete_rows(4)
    first.book["pictures"].delete_rows(2)
    return first


def faults_of(path: Path) -> list[Fault]:
    with pytest.raises(InputRefused) as caught:
        try_package(path)
    return caught.value.faults


def test_each_slip_is_one_fault_in_its_row(first: Sitting) -> None:
    """Every slip is named once, in the row that the spreadsheet shows, with what was meant where that is sure."""
    found = faults_of(first.put_down())
    assert [(f.sheet, f.row, f.column, f.nearest) for f in found] == SAID
    said = {(f.sheet, f.row, f.column): f.message for f in found}
    assert said["zones", 4, "zone"] == "Row 3 has the same key (object, zone) and says the same: delete one of the two."
    assert said["layers", 7, "binder"] == "A blank cell says nothing: empty this one."
    assert "1 slight, 2 moderate" in said["conditions", 2, "severity"]


def test_a_slip_of_a_whole_column_is_one_line(first: Sitting, capsys: pytest.CaptureFixture[str]) -> None:
    """A column of codes pasted as numbers is one mend, so it is one sentence; the count stays what it is."""
    assert run(["try", str(first.put_down())]) == 1
    text = capsys.readouterr().err
    assert f"{len(SAID)} faults" in text
    assert "sheet layers, rows 3–5, scheme: '1': This is a number" in text
    assert text.count("This is a number") == len({"schemes", "layers"})


def test_what_is_followed_sentence_by_sentence_has_no_fault_left(mended: Sitting) -> None:
    """After one round only doubts are left: among them the sample that was numbered from the outside."""
    found = try_package(mended.put_down())
    assert {(f.sheet, f.row, f.column) for f in found.warnings} == {
        ("layers", 6, "position"),
        ("objects", 2, "other_numbers"),
        ("tests", 2, "agent"),
    }
    doubt = next(f for f in found.warnings if f.column == "position")
    assert "write surface under counted_from" in doubt.message
    assert asked(found) == [("samples", 3, "place", "R-UPP", "R-UP")]


def asked(found: Trial) -> list[tuple[str, int | None, str | None, str | None, str | None]]:
    return [(f.sheet, f.row, f.column, f.value, f.nearest) for f in found.asked]


@pytest.mark.parametrize("counted", [None, "support", "surface"])
def test_a_support_over_other_coats_is_doubted_whichever_way_is_counted(mended: Sitting, counted: str | None) -> None:
    """The sample is doubted whose support is not its innermost coat; the other one is not."""
    mended.mend("samples", 2, "counted_from", counted)
    mended.mend("samples", 3, "counted_from", counted)
    rows = [f.row for f in try_package(mended.put_down()).warnings if f.column == "position"]
    assert rows == [2 if counted == "surface" else 6]


def test_the_first_visit_goes_in_and_the_second_starts_from_it(
    mended: Sitting, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was typed is stored; the second workbook holds it; a correction there needs its reason."""
    db, second = tmp_path / "c.db", tmp_path / "second.xlsx"
    mended.mend("samples", 3, "counted_from", "surface")
    mended.mend("samples", 3, "place", "R-UP")
    assert run(["init", str(db)]) == 0
    assert run(["ingest", str(db), str(mended.put_down()), "--by", "Tamsin Hollowell"]) == 0
    assert run(["show", str(db), f"{OBJ}/S02"]) == 0
    assert "COATS, outermost first" in capsys.readouterr().out
    assert run(["blank", str(second), "--survey", "T24", "--from", str(db), "--object", OBJ]) == 0
    visit = Sitting(second)
    visit.survey({**SURVEY, "started": datetime.date(2024, 9, 2)})
    visit.type("samples", {"sample": "T24-S01", "place": "R-UP", "method": "cross-section", "reaches_support": "yes"})
    visit.type("layers", *({"sample": "T24-S01", "position": at, "role": role} for at, role in enumerate(COATS, 1)))
    visit.type("conditions", {"place": "L-UP", "phenomenon": "soiling", "severity": 0, "observed_on": "2024-09-02"})
    visit.type("tests", {"test": "T24-T01", "place": "R-UP", "sample": "S02", "agent": "water"})
    visit.type("responses", {"test": "T24-T01", "response": "none seen", "sample": "S02", "position": 1})
    visit.mend("components", 2, "area_m2", 1.2)
    visit.put_down()
    assert {(f.value, f.nearest) for f in try_package(second).asked} == {("S02", None), ("1", None)}
    capsys.readouterr()
    assert run(["ingest", str(db), str(second), "--by", "Tamsin Hollowell"]) == 1
    assert "sheet components, row 2, area_m2: '1.2': EX-7/DOOR-R" in capsys.readouterr().err
    assert run(["ingest", str(db), str(second), "--by", "Tamsin Hollowell", "--amend", "measured"]) == 0
    assert "1 amended" in capsys.readouterr().out
    assert run(["check", str(db)]) == 0


def test_a_code_near_another_is_no_fault_before_the_database_was_asked(mended: Sitting) -> None:
    """S03 may be stored beside the S01 and S02 of the package, so `try` asks and does not refuse; s01 is a slip."""
    mended.type("tests", {"test": "C02", "place": "R-UP", "sample": "S03", "agent": "water"})
    mended.type("responses", {"test": "C02", "response": "none seen", "scheme": "1"})
    assert ("tests", 3, "sample", "S03", None) in asked(try_package(mended.put_down()))
    mended.mend("tests", 3, "sample", "s01")
    assert [(f.row, f.value, f.nearest) for f in faults_of(mended.put_down())] == [(3, "s01", "S01")]


def test_a_picture_that_lies_elsewhere_is_found(mended: Sitting, tmp_path: Path) -> None:
    """A name without its folder, or with other capitals, is told the file that lies there."""
    (tmp_path / "pictures").mkdir()
    (tmp_path / "pictures" / "Front.png").write_bytes(b"x")
    mended.type("pictures", {"picture": "P2", "file": "front.png"})
    (fault,) = faults_of(mended.put_down())
    assert (fault.row, "there is 'pictures/Front.png'" in fault.message) == (2, True)


@pytest.mark.parametrize(
    ("words", "written", "meant"),
    [
        (ROLE, "red lead primer", "primer"),
        (BINDER, "linseed oil paint", "oil"),
        (ACTION, "weldd", "weld"),
        (DECORATION_STATE, "none found", "not found"),
        (ACTION, "wipe down", None),
        (PERIOD, "not original", None),
        (BINDER, "resin over oil", None),
    ],
)
def test_the_nearest_word_is_meant_or_none_is_given(words: Any, written: str, meant: str | None) -> None:
    """The last word of a phrase, or a misspelling; never one of the other sense, or only of alike letters."""
    assert words.nearest(written) == meant


def test_a_trade_word_that_means_two_things_asks_back() -> None:
    """Overpaint says nothing of when; it is a question, and names no word by itself."""
    with pytest.raises(BadValue, match="later, restoration or recent") as caught:
        PERIOD.read("overpaint")
    assert caught.value.nearest is None
    assert ROLE.read("overpaint") == "body colour"


def test_a_part_that_is_lost_is_not_simply_missing() -> None:
    """A missing part holds no finish any more; one that nobody finds in the store may hold it, so lost asks back."""
    with pytest.raises(BadValue, match="stored apart") as caught:
        PRESENCE.read("lost")
    assert caught.value.nearest is None


def test_alike_faults_are_told_once_with_their_rows() -> None:
    """Rows that follow one another are a span; several values stand with their own rows; other columns stay apart."""

    def fault(row: int, column: str, value: str) -> Fault:
        return Fault("a.csv", "layers", row, column, value, "No.")

    assert together(
        [
            fault(3, "role", "x"),
            fault(4, "role", "x"),
            fault(5, "role", "x"),
            fault(9, "role", "x"),
            fault(3, "binder", "x"),
        ]
    ) == ["a.csv, rows 3–5, 9, role: 'x': No.", "a.csv, row 3, binder: 'x': No."]
    assert together([fault(2, "scheme", "1"), fault(3, "scheme", "2")]) == [
        "a.csv, row 2 ('1'), row 3 ('2'), scheme: No."
    ]
    assert together([Fault("a.xlsx", "", None, None, name, "No.") for name in ("one", "two")]) == [
        "a.xlsx: 'one': No.",
        "a.xlsx: 'two': No.",
    ]
