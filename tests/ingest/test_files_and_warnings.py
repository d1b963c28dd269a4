"""What the intake keeps beside the records: files under their hash, and warnings with their record."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from asked import ask
from small_package import LAYERS, package

from collection.ingest import load
from collection.language.errors import DifferenceRefused
from collection.output.published import stored_objects
from collection.store import survey_rows
from collection.store.base import database, files
from collection.store.changes import corrections


def test_files_are_kept_under_their_hash_and_their_uses_noted(db: Path, tmp_path: Path) -> None:
    """Pictures and the sheets themselves are kept; which record names a file is stored with its hash."""
    folder = package(tmp_path / "p", pictures="object,picture,file,place\nT1,F1,pictures/door.jpg,Z1\n")
    (folder / "pictures").mkdir()
    (folder / "pictures" / "door.jpg").write_bytes(b"\xff\xd8\xff\xc0\x00\x0b\x08\x00\x10\x00\x10\x01\x01\x11\x00")
    (folder / "pictures" / "spare.jpg").write_bytes(b"not named")
    report = load.ingest(db, folder)
    assert [(w.file, "not kept" in w.message) for w in report.warnings] == [("pictures/spare.jpg", True)]
    content = (folder / "pictures" / "door.jpg").read_bytes()
    sha256 = hashlib.sha256(content).hexdigest()
    assert files.read_file(db, sha256) == content
    assert ask(db, "SELECT key, \"column\", sha256 FROM file_uses WHERE sheet = 'pictures'") == [
        ("T1/F1", "file", sha256)
    ]
    kept = {
        name
        for (name,) in ask(
            db, "SELECT \"column\" FROM file_uses WHERE sheet = 'packages' AND key = ?", report.package_sha256
        )
    }
    assert kept == {
        "survey.toml",
        "pictures/door.jpg",
        *(f"{sheet}.csv" for sheet in ("objects", "components", "zones", "schemes", "samples", "layers", "pictures")),
    }
    assert {sha for (sha,) in ask(db, "SELECT sha256 FROM files")} == {
        hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in kept
    }
    (folder / "pictures" / "door.jpg").write_bytes(content + b"\x00")
    with pytest.raises(DifferenceRefused) as caught:
        load.ingest(db, folder)
    assert [(d.key, d.column, d.stored) for d in caught.value.differences] == [
        ("T1/F1", "file", "pictures/door.jpg (other content)")
    ]
    load.ingest(db, folder, amend="a better photograph", by="Joan Pike")
    assert len(ask(db, "SELECT 1 FROM file_uses WHERE sheet = 'pictures' AND key = 'T1/F1'")) == 2
    assert files.read_file(db, sha256) == content


def test_a_withdrawn_survey_takes_its_photograph_with_it(db: Path, tmp_path: Path) -> None:
    """One picture, two photographs: the second survey's is shown while that survey counts, and no longer. The first
    survey's package again says nothing new then."""
    photographs = [bytes.fromhex("ffd8ffc0000b080010001001011100") + end for end in (b"", b"\x00")]
    sheet = "object,picture,file,place\nT1,F1,door.jpg,Z1\n"
    first = package(tmp_path / "first", pictures=sheet)
    (first / "door.jpg").write_bytes(photographs[0])
    second = tmp_path / "second"
    second.mkdir()
    (second / "survey.toml").write_text('code = "two"\ntitle = "T"\nlead = "B. Second"\nstarted = "2026"\n')
    (second / "pictures.csv").write_text(sheet)
    (second / "door.jpg").write_bytes(photographs[1])
    load.ingest(db, first)
    load.ingest(db, second, amend="a better photograph", by="B. Second")

    def shown() -> int:
        with database.opened(db, write=False) as connection:
            (stored,) = stored_objects.objects(connection, ["T1"])
            sha256 = survey_rows.files_named(connection, "pictures", "T1/F1")
        assert sha256 == stored.files["pictures", "T1/F1"]
        return photographs.index(files.read_file(db, sha256))

    assert shown() == 1
    corrections.withdraw(db, "survey", "two", "R. Registrar", "another door")
    assert shown() == 0
    assert load.ingest(db, first).change is None
    corrections.reinstate(db, "survey", "two", "R. Registrar", "the same door")
    assert shown() == 1


DOUBTS = [
    (
        {
            "layers": LAYERS.replace("thickness_um,", "thickness_um,thickness_min_um,thickness_max_um,")
            .replace("20,", "20,22,30,")
            .replace("35.5,", "35.5,30,40,")
        },
        [("layers.csv", 2, "thickness_um", "22 to 30 µm")],
    ),
    (
        {
            "drawings": "object,drawing,file,title,mm_per_unit\nT1,D1,front.svg,Front,10\n",
            "zones": 'object,zone,component,drawing,outline,area_m2\nT1,Z1,body,D1,"0,0 100,0 100,100 0,100",1.3\n'
            'T1,Z2,body,D1,"0,0 100,0 100,100 0,100",1.1\n',
        },
        [("zones.csv", 2, "area_m2", "encloses 1 m²")],
    ),
    (
        {
            "drawings": "object,drawing,file,title\nT1,D1,front.svg,Front\n",
            "zones": 'object,zone,component,drawing,outline\nT1,Z1,body,D1,"0,0 100,0 100,100 0,100"\nT1,Z2,body,,\n',
            "samples": "object,sample,place,method,x,y\nT1,S01,Z1,gauge,101,50\nT1,S02,Z1,gauge,100,50\n"
            "T1,S03,Z2,gauge,500,50\n",
        },
        [("samples.csv", 2, "place", "outside the outline")],
    ),
    (
        {"tests": "object,test,place,agent\nT1,C1,Z1,1 acetone + 2 white spirit\nT1,C2,Z1,aceton\n"},
        [("tests.csv", 2, "agent", "several liquids"), ("tests.csv", 3, "agent", "'acetone'")],
    ),
    (
        {"conditions": "object,place,phenomenon,observed_on\nT1,Z1,flakin,2019\nT1,Z1,flaking,2020\n"},
        [("conditions.csv", 2, "phenomenon", "not in the list")],
    ),
    (
        # Only where a later year of the same century could be meant: 1910-09 and 1912-05 are months to everybody.
        {
            "objects": "object,title,kind,made\nT1,Tram 1,tram,1910-12\nT2,Tram 2,tram,1910-09\n",
            "schemes": "object,scheme,name,period,made\nT1,1,first finish,original,1905-06~\nT1,2,next,later,1910/1912\n",
            "conditions": "object,place,phenomenon,observed_on\nT1,Z1,flaking,2009-10\n",
        },
        [
            (
                "objects.csv",
                2,
                "made",
                "read as December 1910, which is what it says in EDTF (ISO 8601-2). For the "
                "years 1910 to 1912 write 1910/1912.",
            ),
            ("schemes.csv", 2, "made", "For the years 1905 to 1906 write 1905/1906."),
        ],
    ),
]


@pytest.mark.parametrize(("sheets", "expected"), DOUBTS)
def test_doubts_are_stored_with_their_record(
    db: Path, tmp_path: Path, sheets: dict[str, str], expected: list[tuple[str, int, str, str]]
) -> None:
    """What is doubtful is loaded; the report lists it and the record keeps it."""
    folder = package(tmp_path / "p", **sheets)
    if "drawings" in sheets:
        (folder / "front.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"/>')
    report = load.ingest(db, folder)
    assert [(w.file, w.row, w.column) for w in report.warnings] == [each[:3] for each in expected]
    for warning, each in zip(report.warnings, expected, strict=True):
        assert each[3] in warning.message
    stored = ask(db, 'SELECT sheet, "column", message, change FROM warnings ORDER BY id')
    assert [(f"{sheet}.csv", column, change) for sheet, column, _, change in stored] == [
        (file, column, 1) for file, _, column, _ in expected
    ]
    assert load.ingest(db, folder).change is None
    assert len(ask(db, "SELECT 1 FROM warnings")) == len(expected)
