"""What the intake refuses in cells and between rows: every fault with file, sheet, row, column, value, reason and
nearest, all in one report, and nothing stored."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from checked import check_package
from faulty_package import LAYERS, package, refused

from collection.ingest import load
from collection.language.errors import InputRefused


def test_the_sound_package_is_taken(db: Path, tmp_path: Path) -> None:
    """The package that every case below spoils has no fault of its own."""
    report = load.ingest(db, package(tmp_path / "p"))
    assert report.added == {
        "survey": 1,
        "objects": 1,
        "components": 2,
        "zones": 2,
        "sources": 1,
        "schemes": 2,
        "samples": 2,
        "layers": 2,
        "tests": 1,
        "responses": 1,
        "proposals": 1,
        "proposal_steps": 1,
    }
    assert report.warning_count == 0


CELL_FAULTS = [
    ("layers", LAYERS + "T1,S01,1,primr,20,1\n", (2, "role", "primr", "primer", "Not a word for layer role")),
    ("layers", LAYERS + "T1,S01,1,size,20,1\n", (2, "role", "size", None, "means two things")),
    ("layers", LAYERS + "T1,S01,1,topcoat,20,1\n", (2, "role", "topcoat", None, "clear coat")),
    ("layers", LAYERS + "T1,S01,1,gilding,20,1\n", (2, "role", "gilding", None, "bronze")),
    ("layers", LAYERS + "T1,S01,1,primer,20 µm,1\n", (2, "thickness_um", "20 µm", None, "unit")),
    ("layers", LAYERS + "T1,S01,1,primer,nan,1\n", (2, "thickness_um", "nan", None, "left blank")),
    ("layers", LAYERS + "T1,S01,1,primer,inf,1\n", (2, "thickness_um", "inf", None, "left blank")),
    ("layers", LAYERS + "T1,S01,1,primer,1_000,1\n", (2, "thickness_um", "1_000", "1000", "digits")),
    ("layers", LAYERS + "T1,S01,1,primer,5.,1\n", (2, "thickness_um", "5.", "5", "digits")),
    ("layers", LAYERS + "T1,S01,1,primer,1e-400,1\n", (2, "thickness_um", "1e-400", None, "too small")),
    ("layers", LAYERS + "T1,S01,1,primer,<5,1\n", (2, "thickness_um", "<5", None, "limits and ranges")),
    ("layers", LAYERS + 'T1,S01,1,primer,"12,5",1\n', (2, "thickness_um", "12,5", "12.5", "no decimal mark")),
    ("layers", LAYERS + 'T1,S01,1,primer,"1,234",1\n', (2, "thickness_um", "1,234", None, "1.234 or 1234")),
    ("layers", LAYERS + "T1,S01,1,primer,-3,1\n", (2, "thickness_um", "-3", None, "0 to 100000")),
    ("layers", LAYERS + "T1,S01,1,primer,1e9,1\n", (2, "thickness_um", "1e9", None, "lies outside")),
    ("layers", LAYERS + "T1,S01,0,primer,20,1\n", (2, "position", "0", None, "1 to 9999")),
    ("layers", LAYERS + "T1,S01,1.5,primer,20,1\n", (2, "position", "1.5", None, "whole number")),
    (
        "layers",
        LAYERS + "T1,S01,99999999999999999999999,primer,20,1\n",
        (2, "position", "99999999999999999999999", None, "large"),
    ),
    ("layers", LAYERS + "T1,S01,1,,20,1\n", (2, "role", None, None, "needs it")),
    ("layers", LAYERS + "T1,S01,1,not recorded,20,1\n", (2, "role", "not recorded", None, "cannot be cleared")),
    ("layers", LAYERS + "T1,S01,1,primer,20,1/2\n", (2, "scheme", "1/2", "1-2", "Only the number of an object")),
    ("samples", "object,sample,place,method\nT1,S01,Z1,drill\n", (2, "method", "drill", None, "cross-section")),
    (
        "samples",
        "object,sample,place,method,taken_on\nT1,S01,Z1,gauge,3.5.2019\n",
        (2, "taken_on", "3.5.2019", None, "2019-05-03 or 2019-03-05"),
    ),
    (
        "samples",
        "object,sample,place,method,taken_on\nT1,S01,Z1,gauge,2019-13\n",
        (2, "taken_on", "2019-13", None, "no month 13"),
    ),
    (
        "samples",
        "object,sample,place,method,taken_on\nT1,S01,Z1,gauge,31/02/2019\n",
        (2, "taken_on", "31/02/2019", None, "no day 31"),
    ),
    ("zones", "object,zone,component\nT1,all,body\nT1,Z1,body\n", (2, "zone", "all", None, "whole object")),
    ("zones", 'object,zone,component,outline\nT1,Z1,body,"0,0 1,1"\n', (2, "outline", "0,0 1,1", None, "3 different")),
    ("zones", "object,zone,component,outline\nT1,Z1,body,left half\n", (2, "outline", "left half", None, "x,y")),
    (
        "tests",
        "object,test,place,agent\nT1,C1,Z1,1 acetone + white spirit\n",
        (2, "agent", "1 acetone + white spirit", None, "parts"),
    ),
    (
        "proposal_steps",
        "object,proposal,step,place,action,removes\nT1,P1,1,Z1,solvent,2/topcoat\n",
        (2, "removes", "2/topcoat", None, "clear coat"),
    ),
    ("pictures", "object,picture,file\nT1,F1,../secret.jpg\n", (2, "file", "../secret.jpg", None, "must lie in")),
    ("pictures", "object,picture,file\nT1,F1,/etc/passwd\n", (2, "file", "/etc/passwd", None, "must lie in")),
    ("pictures", "object,picture,file\nT1,F1,C:\\a.jpg\n", (2, "file", "C:\\a.jpg", None, "folders")),
    ("pictures", "object,picture,file\nT1,F1,missing.jpg\n", (2, "file", "missing.jpg", None, "no such file")),
]


@pytest.mark.parametrize(("sheet", "text", "expected"), CELL_FAULTS)
def test_a_bad_cell_is_named(
    db: Path, tmp_path: Path, sheet: str, text: str, expected: tuple[int, str, str | None, str | None, str]
) -> None:
    """One bad cell gives one fault with its place, its value, the reason and the nearest right value."""
    spoiled: dict[str, Any] = {sheet: text}
    if sheet == "zones":
        spoiled |= dict.fromkeys(("tests", "responses", "proposal_steps"), None)
        spoiled["samples"] = "object,sample,place,method\nT1,S01,body,cross-section\n"
    elif sheet == "samples":
        spoiled["layers"] = None
    elif sheet == "tests":
        spoiled["responses"] = None
    faults = refused(db, package(tmp_path / "p", **spoiled))
    row, column, value, nearest, said = expected
    assert [(f.file, f.row, f.column, f.value) for f in faults] == [(f"{sheet}.csv", row, column, value)]
    assert said in faults[0].message
    if nearest is not None:
        assert faults[0].nearest == nearest


BETWEEN_ROWS = [
    (
        {"layers": LAYERS + "T1,S01,1,primer,20,1\nT1,S01,2,varnish,20,1\nT1,S01,1,varnish,20,1\n"},
        ("layers", 4, "sample", None, None, "Row 2 has the same key"),
    ),
    ({"layers": LAYERS + "T1,S3,1,primer,20,1\n"}, ("layers", 2, "sample", "S3", None, "Nothing in samples of T1")),
    ({"layers": LAYERS + "T1,S1,1,primer,20,1\n"}, ("layers", 2, "sample", "S1", "S01", "Nothing in samples of T1")),
    ({"layers": LAYERS + "T1,S01,1,primer,20,7\n"}, ("layers", 2, "scheme", "7", None, "Nothing in schemes of T1")),
    (
        {"samples": "object,sample,place,method\nT1,S01,Z9,gauge\n", "layers": None},
        ("samples", 2, "place", "Z9", "Z2", "No zone or part of T1"),
    ),
    (
        {"zones": "object,zone,component\nT1,Z1,bdy\n", "samples": None, "layers": None},
        ("zones", 2, "component", "bdy", "body", "Nothing in components of T1"),
    ),
    ({"layers": LAYERS + "T9,S01,1,primer,20,1\n"}, ("layers", 2, "object", "T9", "T1", "No object")),
    ({"zones": "object,zone,component\nT1,Z1,body\nT9,Z1,body\n"}, ("zones", 3, "object", "T9", "T1", "No object")),
    (
        {"tests": "object,test,place,agent\nT1,C1,Z1,water\nT9,C1,Z1,water\n"},
        ("tests", 3, "object", "T9", "T1", "No object"),
    ),
    ({"sources": "object,source,kind,title\nT2,R1,report,x\n"}, ("sources", 2, "object", "T2", "T1", "No object")),
    (
        {"schemes": "object,scheme,name,period,source\nT1,1,a,original,R2\nT1,2,b,later,\n"},
        ("schemes", 2, "source", "R2", "R1", "Nothing in sources of T1"),
    ),
    (
        {"objects": "object,title,kind\nT1,Tram,tram\nt1,Tram,tram\n"},
        ("objects", 3, "object", "t1", "T1", "only in case"),
    ),
    (
        {"objects": "object,title,kind\nT1,Tram,tram\nT01,Tram,tram\n"},
        ("objects", 3, "object", "T01", "T1", "leading zeros"),
    ),
    ({"objects": "object,title,kind\nT1,Tram,tram\nT 1,Tram,tram\n"}, ("objects", 3, "object", "T 1", "T1", "blanks")),
    ({"objects": "object,title,kind\nT1,Tram,tram\nＴ１,Tram,tram\n"}, ("objects", 3, "object", "Ｔ１", "T1", "width")),
    (
        {"samples": "object,sample,place,method\nT1,S01,Z1,gauge\nT1,S1,Z1,gauge\n"},
        ("samples", 3, "sample", "S1", "S01", "leading zeros"),
    ),
    (
        {"zones": "object,zone,component\nT1,Z1,body\nT1,Body,body\n"},
        ("zones", 3, "zone", "Body", None, "only in case"),
    ),
    (
        {"zones": "object,zone,component\nT1,Z1,body\nT1,door,body\n"},
        ("zones", 3, "zone", "door", None, "share one set"),
    ),
    (
        {"zones": "object,zone,component,within\nT1,Z1,body,Z2\nT1,Z2,body,Z1\n"},
        ("zones", 2, "within", "Z2", None, "Z1 → Z2 → Z1"),
    ),
    ({"zones": "object,zone,component,within\nT1,Z1,body,Z1\n"}, ("zones", 2, "within", "Z1", None, "Z1 → Z1")),
    (
        {"components": "object,component,name,parent\nT1,body,body,door\nT1,door,door,body\n"},
        ("components", 2, "parent", "door", None, "body → door → body"),
    ),
    (
        {"objects": "object,title,kind,part_of\nT1,Tram,tram,T2\nT2,Set,set,T1\n"},
        ("objects", 2, "part_of", "T2", None, "T1 → T2 → T1"),
    ),
    (
        {"responses": "object,test,response,scheme,role,sample,position,decoration\nT1,C1,none seen,,,,,\n"},
        ("responses", 2, None, None, None, "does not name the coat"),
    ),
    (
        {"responses": "object,test,response,scheme,role,sample,position,decoration\nT1,C1,none seen,1,,S01,1,\n"},
        ("responses", 2, None, None, None, "more than one way"),
    ),
    (
        {"responses": "object,test,response,scheme,role,sample,position,decoration\nT1,C1,none seen,,varnish,S01,1,\n"},
        ("responses", 2, None, None, None, "Give one of"),
    ),
    (
        {"responses": "object,test,response,sample,position\nT1,C1,none seen,S01,9\n"},
        ("responses", 2, "position", "9", None, "No layer of T1"),
    ),
    (
        {"analyses": "object,analysis,technique,result,position\nT1,A1,FTIR,oil,1\n"},
        ("analyses", 2, "position", None, None, "name the sample too"),
    ),
    (
        {"proposal_steps": "object,proposal,step,place,action,removes\nT1,P1,1,Z1,solvent,3/varnish\n"},
        ("proposal_steps", 2, "removes", "3", None, "Nothing in schemes of T1"),
    ),
    (
        {
            "treatments": "object,treatment,purpose\nT1,B1,Repair\n",
            "treatment_steps": "object,treatment,step,place,action,stopped_at\nT1,B1,1,all,scrape,9\n",
        },
        ("treatment_steps", 2, "stopped_at", "9", None, "Nothing in schemes of T1"),
    ),
]


@pytest.mark.parametrize(("sheets", "expected"), BETWEEN_ROWS)
def test_rows_that_do_not_fit_together_are_named(
    db: Path,
    tmp_path: Path,
    sheets: dict[str, str | None],
    expected: tuple[str, int, str | None, str | None, str | None, str],
) -> None:
    """Repeated keys, lost references, near codes, circles and coats that are none."""
    sheet, row, column, value, nearest, said = expected
    left_out = {
        "samples": ("layers",),
        "zones": ("tests", "responses", "proposal_steps", "layers", "samples"),
        "objects": (),
    }.get(sheet, ())
    folder = package(tmp_path / "p", **{**dict.fromkeys(left_out), **sheets})
    faults = [f for f in refused(db, folder) if f.sheet == sheet]
    assert [(f.file, f.row, f.column, f.value) for f in faults] == [(f"{sheet}.csv", row, column, value)]
    assert said in faults[0].message
    if nearest is not None:
        assert faults[0].nearest == nearest


def test_all_faults_come_at_once_in_reading_order(db: Path, tmp_path: Path) -> None:
    """Faults of cells, headings, files and references stand in one report, by sheet and row."""
    folder = package(
        tmp_path / "p",
        survey='code = "h"\ntitle = "t"\nlead = "l"\nstarted = "yesterday"\n',
        objects="object,title,kind,colour\nT1,Tram,tram,red\n",
        samples="object,sample,place,method\nT1,S01,Z9,drill\nT1,S02,Z1,gauge\n",
        layers=LAYERS + "T1,S01,1,primr,20,1\nT1,S9,1,primer,2_0,1\n",
        layrs="a,b\n",
    )
    assert [(f.file, f.row, f.column) for f in refused(db, folder)] == [
        ("survey.toml", 4, "started"),
        ("objects.csv", 1, "colour"),
        ("samples.csv", 2, "method"),
        ("samples.csv", 2, "place"),
        ("layers.csv", 2, "role"),
        ("layers.csv", 3, "thickness_um"),
        ("layers.csv", 3, "sample"),
        ("layrs.csv", None, None),
    ]


def test_the_row_is_the_one_that_the_person_sees(db: Path, tmp_path: Path) -> None:
    """A cell of several lines is one row, a blank line is one, and a `sep=` line is one."""
    folder = package(
        tmp_path / "p",
        objects='object,title,kind\n\nT1,"Tram\nof the\nharbour",tram\n,,\nT2,,tram\n',
        layers="sep=;\nobject;sample;position;role\nT1;S01;1;primer\nT1;S01;2;primr\n",
    )
    assert [(f.file, f.row, f.column) for f in refused(db, folder)] == [
        ("objects.csv", 5, "title"),
        ("layers.csv", 4, "role"),
    ]


def test_a_row_without_its_object_is_one_fault(db: Path, tmp_path: Path) -> None:
    """What a row points to is not looked for where the row does not say whose it is."""
    folder = package(
        tmp_path / "p",
        layers=LAYERS + ",S01,1,primer,20,1\n",
        responses=None,
        zones="object,zone,component,within\nT1,Z1,body,\nT1,Z2,body,Z1\n,Z3,body,Z1\n",
    )
    assert [(f.file, f.row, f.column) for f in refused(db, folder)] == [
        ("zones.csv", 4, "object"),
        ("layers.csv", 2, "object"),
    ]


def test_many_faults_are_counted_and_not_all_listed(db: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The count is exact beyond the listing."""
    monkeypatch.setattr("collection.ingest.package.faults.LISTED", 100)
    rows = "".join(f"T1,S01,{n},primr,20,1\n" for n in range(1, 2001))
    with pytest.raises(InputRefused) as caught:
        load.ingest(db, package(tmp_path / "p", layers=LAYERS + rows, responses=None))
    assert (caught.value.count, len(caught.value.faults)) == (2000, 100)
    assert [fault.row for fault in caught.value.faults] == list(range(2, 102))
    assert caught.value.as_json()["error_count"] == 2000


def test_without_a_database_references_outside_are_doubts(tmp_path: Path) -> None:
    """`check_package` says what only a database can know, and refuses what is wrong in any case."""
    folder = package(tmp_path / "p", objects=None)
    said = check_package(folder)
    assert {(f.column, f.value) for f in said} == {("object", "T1")}
    assert all("the database has to hold it" in f.message for f in said)
    with pytest.raises(InputRefused) as caught:
        check_package(package(tmp_path / "q", layers=LAYERS + "T1,S1,1,primer,20,1\n", responses=None))
    assert [(f.value, f.nearest) for f in caught.value.faults] == [("S1", "S01")]
