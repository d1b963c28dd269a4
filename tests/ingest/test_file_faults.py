"""What the intake refuses in files: sheets, the survey file, links and pictures, each fault named, and nothing stored."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from faulty_package import LAYERS, SHEETS, package, png, refused

from collection.ingest import load
from collection.language.errors import WrongCommand

FILE_FAULTS = [
    ({"layer": "object,sample\n"}, "layer.csv", None, None, "No sheet has this name", "layers.csv"),
    ({"Survey": "code,title\nx,y\n"}, "Survey.csv", None, None, "described by survey.toml", "survey.toml"),
    (
        {"layers": "object,sample,position,role,thikness_um\nT1,S01,1,primer,2\n"},
        "layers.csv",
        1,
        "thikness_um",
        "no such column",
        "thickness_um",
    ),
    (
        {"layers": "object,sample,position,role,Role\nT1,S01,1,primer,primer\n"},
        "layers.csv",
        1,
        "role",
        "appears twice",
        None,
    ),
    ({"layers": "object,sample,role\nT1,S01,primer\n"}, "layers.csv", 1, "position", "column is missing", None),
    ({"layers": b""}, "layers.csv", 1, None, "no headings", None),
    ({"layers": "object,sample,position,role,\nT1,S01,1,primer,x\n"}, "layers.csv", 2, None, "below no heading", None),
    ({"layers": "object,sample,position,role\nT1,S01,1,primer,x\n"}, "layers.csv", 2, None, "5 cells", None),
    ({"layers": "object,sample,position,role\nT1,S01\n"}, "layers.csv", 2, None, "2 cells", None),
    (
        {"layers": LAYERS.encode() + "T1,S01,1,primer,20,1\nT1,S01,2,vert foncé,20,1\n".encode("latin-1")},
        "layers.csv",
        3,
        "role",
        "UTF-8",
        None,
    ),
    ({"layers": LAYERS.encode("utf-16")}, "layers.csv", None, None, "UTF-16", None),
    ({"layers": b"PK\x03\x04" + bytes(60)}, "layers.csv", None, None, "workbook", None),
    (
        {"layers": LAYERS + 'T1,S01,1,primer,20,1\nT1,S01,2,"varnish,20,1\nT1,S01,3,wax,20,1\n'},
        "layers.csv",
        3,
        None,
        "never closed",
        None,
    ),
    ({"layers": LAYERS + 'T1,S01,1,"primer"x,20,1\n'}, "layers.csv", 2, None, "closing quotation mark", None),
    ({"objects": "object,title,kind\nT1,tr\x00am,tram\n"}, "objects.csv", 2, "title", "cannot be seen", None),
    ({"objects": "object,title,kind\nT1,tr\x07am,tram\n"}, "objects.csv", 2, "title", "U+0007", None),
    ({"objects": "object,title,kind\nT1,tr\u202eam,tram\n"}, "objects.csv", 2, "title", "U+202E", None),
    ({"objects": "object,title,kind\nT1," + "x" * 25_000 + ",tram\n"}, "objects.csv", 2, "title", "20000", None),
    (
        {"objects": "object,title,kind\nT1," + "x" * 1_000_000 + ",tram\n"},
        "objects.csv",
        2,
        None,
        "longer than any text",
        None,
    ),
    (
        {"objects": "object,title,kind\nT1," + "x" * 10_000_000 + ",tram\n"},
        "objects.csv",
        None,
        None,
        "over 4 MB",
        None,
    ),
]


@pytest.mark.parametrize(("sheets", "file", "row", "column", "said", "nearest"), FILE_FAULTS)
def test_a_bad_file_is_named(
    db: Path,
    tmp_path: Path,
    sheets: dict[str, str | bytes],
    file: str,
    row: int | None,
    column: str | None,
    said: str,
    nearest: str | None,
) -> None:
    """Names, headings, encodings, quotes and sizes: one fault, at the right row, and none that only follows."""
    left_out = dict.fromkeys(("responses",)) if "layers" in sheets else {}
    faults = refused(db, package(tmp_path / "p", **{**left_out, **sheets}))
    found = [f for f in faults if said in f.message]
    assert [(f.file, f.row, f.column, f.nearest) for f in found] == [(file, row, column, nearest)]
    if "latin" not in said and column != "role":
        assert len(faults) == 1


SURVEY_FAULTS = [
    ('code = "h"\ntitle = "t"\nlead = "l"\nstarted = "May 2019"\n', 4, "started", "EDTF"),
    ('code = "h"\ntitle = "t"\nleed = "l"\nstarted = "2019"\n', 3, "leed", "no such column"),
    ('code = "h"\ntitle = "t"\nlead = "l"\n', None, "started", "column is missing"),
    ('code = 1987.10\ntitle = "t"\nlead = "l"\nstarted = "2019"\n', 1, "code", "quotation marks"),
    ('code = "h"\ntitle = "t\nlead = "l"\nstarted = "2019"\n', 2, None, "not valid TOML"),
    ('code = "h"\ntitle = ""\nlead = "l"\nstarted = "2019"\n', 2, "title", "needs it"),
    ('code = "h"\ntitle = "t"\nlead = "l\\u202e"\nstarted = "2019"\n', 3, "lead", "U+202E"),
    ('[survey]\ncode = "h/1"\ntitle = "t"\nlead = "l"\nstarted = "2019"\n', 2, "code", "'/'"),
    ('other = 1\n[survey]\ncode = "h"\ntitle = "t"\nlead = "l"\nstarted = "2019"\n', 1, "other", "below [survey]"),
]


@pytest.mark.parametrize(("text", "row", "column", "said"), SURVEY_FAULTS)
def test_a_bad_survey_file_is_named(
    db: Path, tmp_path: Path, text: str, row: int | None, column: str | None, said: str
) -> None:
    """survey.toml: the row is the line, and the value's own fault is told."""
    faults = [f for f in refused(db, package(tmp_path / "p", survey=text)) if said in f.message]
    assert [(f.file, f.sheet, f.row, f.column) for f in faults] == [("survey.toml", "survey", row, column)]


def test_a_package_without_its_survey_is_named(db: Path, tmp_path: Path) -> None:
    """Sheets without survey.toml are a package with a fault; a folder without either is no package."""
    assert [f.file for f in refused(db, package(tmp_path / "p", survey=""))] == ["survey.toml"]
    (tmp_path / "empty").mkdir()
    with pytest.raises(WrongCommand, match="not a survey package"):
        load.ingest(db, tmp_path / "empty")
    with pytest.raises(WrongCommand, match="There is no folder"):
        load.ingest(db, tmp_path / "nowhere")
    package(tmp_path / "outer" / "inner")
    with pytest.raises(WrongCommand, match="'inner' does"):
        load.ingest(db, tmp_path / "outer")


def test_links_are_refused(db: Path, tmp_path: Path) -> None:
    """A link in the package may lead out of it, so neither a sheet nor a picture may be one."""
    outside = tmp_path / "outside.jpg"
    outside.write_bytes(b"\xff\xd8\xff")
    folder = package(tmp_path / "p", pictures="object,picture,file\nT1,F1,door.jpg\n")
    os.symlink(outside, folder / "door.jpg")
    (faults,) = [refused(db, folder)]
    assert [(f.sheet, f.row, f.column, f.value) for f in faults] == [("pictures", 2, "file", "door.jpg")]
    assert "link" in faults[0].message
    (folder / "door.jpg").unlink()
    (folder / "door.jpg").write_bytes(png(10, 10))
    (folder / "objects.csv").rename(tmp_path / "objects.csv")
    os.symlink(tmp_path / "objects.csv", folder / "objects.csv")
    assert [f.file for f in refused(db, folder)] == ["objects.csv"]


def test_a_picture_of_absurd_size_is_refused(db: Path, tmp_path: Path) -> None:
    """A header that claims more pixels than any camera has is a fault, without opening the picture."""
    folder = package(tmp_path / "p", pictures="object,picture,file\nT1,F1,door.png\n")
    (folder / "door.png").write_bytes(png(900_000, 900_000))
    faults = refused(db, folder)
    assert [(f.sheet, f.column, f.value) for f in faults] == [("pictures", "file", "door.png")]
    assert "900000 × 900000" in faults[0].message


def test_a_wrong_capital_in_a_file_name_is_told(db: Path, tmp_path: Path) -> None:
    """The nearest file is the one that differs only in capitals or in its folder."""
    folder = package(tmp_path / "p", pictures="object,picture,file\nT1,F1,pictures/door.png\nT1,F2,hall.png\n")
    (folder / "pictures").mkdir()
    (folder / "pictures" / "Door.PNG").write_bytes(png(10, 10))
    (folder / "pictures" / "hall.png").write_bytes(png(10, 10))
    assert [(f.row, f.nearest) for f in refused(db, folder)] == [(2, "pictures/Door.PNG"), (3, "pictures/hall.png")]


def test_two_files_for_one_sheet_are_refused(db: Path, tmp_path: Path) -> None:
    """Names are compared without capitals, and a sheet stands once."""
    folder = package(tmp_path / "p")
    (folder / "Layers.CSV").write_text(SHEETS["layers"])
    faults = refused(db, folder)
    assert [(f.sheet, f.row) for f in faults] == [("layers", None)]
    assert "same sheet" in faults[0].message


def test_editor_litter_is_ignored(db: Path, tmp_path: Path) -> None:
    """What editors and file managers leave behind is no part of a package."""
    folder = package(tmp_path / "p")
    for name in (".DS_Store", "Thumbs.db", "~$layers.csv", ".~lock.layers.csv#", "layers.csv~", "desktop.ini"):
        (folder / name).write_bytes(b"x")
    report = load.ingest(db, folder)
    assert report.warning_count == 0
    for path in folder.iterdir():
        if path.name not in {f"{sheet}.csv" for sheet in SHEETS} | {"survey.toml"}:
            path.unlink()
    assert load.ingest(db, folder).change is None
