"""A camera's folder as rows of `pictures`: what is filled in and what is not, and that the survey can then be taken in."""

from __future__ import annotations

import csv
import os
from collections.abc import Mapping
from pathlib import Path

import openpyxl
import pytest
from asked import ask
from blank_forms import PUMP, TRAM, headings
from camera_pictures import DAY, camera, exif, jpeg, png, tiff

from collection.cli import run
from collection.ingest.pictures.camera_folder import Coded, camera_folder
from collection.language.errors import WrongCommand

HAND = {"sample": {"H34-S01": TRAM, "H34-S02": PUMP}, "place": {"H34-Z01": TRAM}}
INSIDE: dict[str, dict[str, tuple[str, ...]]] = {
    TRAM: {"sample": ("S01", "S03", "A"), "place": ("L-WAIST", "L-WAIST-2", "A", "12")},
    PUMP: {"sample": ("P1",)},
}
OBJECTS = (TRAM, PUMP, "OHM-1962", "1234", "OHM-1991-30", "OHM-1991-30.1")


def inside(code: str) -> Mapping[str, tuple[str, ...]]:
    return INSIDE.get(code, {})


CODED = Coded(OBJECTS, inside, HAND)


def rows(path: Path) -> list[dict[str, str]]:
    """The rows of the sheet `pictures` of a folder of CSV files, without blank cells."""
    with open(path / "pictures.csv", encoding="utf-8", newline="") as file:
        return [{name: cell for name, cell in row.items() if cell} for row in csv.DictReader(file)]


@pytest.mark.parametrize(
    ("name", "cells"),
    [
        ("OHM-1962-7 front.jpg", {"object": TRAM}),
        ("OHM-1962-7_S01_x200.jpg", {"object": TRAM, "sample": "S01"}),
        ("x200_S03_OHM-1962-7.jpg", {"object": TRAM, "sample": "S03"}),
        ("OHM-1962-7 L-WAIST.jpg", {"object": TRAM, "place": "L-WAIST"}),
        ("OHM-1962-7 L-WAIST-2.jpg", {"object": TRAM, "place": "L-WAIST-2"}),
        ("OHM-1962-7_S01_L-WAIST.jpg", {"object": TRAM, "sample": "S01", "place": "L-WAIST"}),
        ("OHM-1962-7/S01/IMG_0001.jpg", {"object": TRAM, "sample": "S01"}),
        ("OHM-1937_3 wheel.jpg", {"object": PUMP}),
        ("OHM-1937-3 P1.jpg", {"object": PUMP, "sample": "P1"}),
        ("OHM-1937/3/IMG_0001.jpg", {"object": PUMP}),
        ("OHM-1991-30.1 dial.jpg", {"object": "OHM-1991-30.1"}),
        ("H34-S01 x100.jpg", {"object": TRAM, "sample": "H34-S01"}),
        ("OHM-1937_3 H34-S02.jpg", {"object": PUMP, "sample": "H34-S02"}),
        ("OHM-1937_3 H34-S01.jpg", {"object": PUMP}),
        ("1234_front.jpg", {"object": "1234"}),
        ("1234/IMG_0001.jpg", {"object": "1234"}),
        ("IMG_1234.jpg", {}),
        ("1234.jpg", {}),
        ("2026-05-12 1234 x.jpg", {}),
        ("OHM-1962-7_12.jpg", {"object": TRAM}),
        ("OHM-1962-70.jpg", {}),
        ("OHM-1991-30.2 back.jpg", {}),
        ("OHM-1962 yard.jpg", {"object": "OHM-1962"}),
        ("XOHM-1962-7.jpg", {}),
        ("ohm-1962-7.jpg", {}),
        ("S01.jpg", {}),
    ],
)
def test_a_code_is_filled_in_where_a_name_holds_it_exactly(name: str, cells: dict[str, str], tmp_path: Path) -> None:
    """Between signs that are no letters or figures; capitals count. A longer code that stands there is the one that is
    meant. Figures alone are the camera's own counting, but for a folder or the beginning of a name. Codes that the
    survey hands out are known too, each with its object."""
    found = camera_folder(camera(tmp_path / "c", {name: jpeg()}), tmp_path / "out", CODED)
    (row,) = found.rows
    assert {column: getattr(row, column) for column in ("object", "sample", "place") if getattr(row, column)} == cells
    assert found.told == ()


@pytest.mark.parametrize(
    ("name", "cells", "said"),
    [
        ("OHM-1962-7 and OHM-1937_3.jpg", {}, f"the codes of 2 objects ({TRAM}, {PUMP})"),
        ("OHM-1962-7 S01 S03.jpg", {"object": TRAM}, "the codes of 2 samples (S01, S03)"),
        ("OHM-1962-7 L-WAIST S01 S03.jpg", {"object": TRAM, "place": "L-WAIST"}, "so none is filled in"),
        ("OHM-1962-7 A.jpg", {"object": TRAM}, "A is the code of a sample and of a place"),
    ],
)
def test_where_two_codes_fit_none_is_filled_in_and_that_is_said(
    name: str, cells: dict[str, str], said: str, tmp_path: Path
) -> None:
    found = camera_folder(camera(tmp_path / "c", {name: jpeg()}), tmp_path / "out", CODED)
    (row,) = found.rows
    assert {column: getattr(row, column) for column in ("object", "sample", "place") if getattr(row, column)} == cells
    (told,) = found.told
    assert told.startswith(f"{name}: ")
    assert said in told


def test_what_a_picture_says_of_itself_and_nothing_of_the_file(tmp_path: Path) -> None:
    """Day and size; the file's own date is no day on which a picture was taken. Capitals of endings do not count;
    numbers stand in their order."""
    folder = camera(
        tmp_path / "c",
        {
            "IMG_10.JPG": jpeg(DAY),
            "IMG_9.jpeg": jpeg(),
            "b/IMG_9.jpeg": png(exif("1999:12:31 23:59:59")),
            "d.TIF": tiff(),
            "cut.jpg": jpeg(DAY)[:60],
        },
    )
    os.utime(folder / "IMG_9.jpeg", (1e9, 1e9))
    found = camera_folder(folder, tmp_path / "out", Coded())
    assert [(row.file, row.taken_on, row.notes) for row in found.rows] == [
        ("pictures/IMG_9.jpeg", None, "40 × 30 pixels"),
        ("pictures/IMG_10.JPG", "2026-05-02", "40 × 30 pixels"),
        ("pictures/b/IMG_9.jpeg", "1999-12-31", "40 × 30 pixels"),
        ("pictures/cut.jpg", None, "damaged: its size cannot be read"),
        ("pictures/d.TIF", "2026-05-02", "40 × 30 pixels"),
    ]
    assert all(path.is_file() for path in found.files.values())


def test_what_is_left_out_is_said_with_what_to_do(tmp_path: Path) -> None:
    """Alike reasons are one sentence; what a computer leaves in folders is not worth one."""
    raw = b"II*\0" + bytes(60)
    files = {
        "a.jpg": jpeg(),
        **{f"IMG_{n}.HEIC": b"x" for n in range(5)},
        "x.NEF": raw,
        "y.dng": raw,
        "notes.txt": b"x",
        "film.mp4": b"x",
        "A.JPG": jpeg(),
        "what?.jpg": jpeg(),
        ".DS_Store": b"x",
        "Thumbs.db": b"x",
        ".trash/b.jpg": jpeg(),
        "huge.jpg": jpeg().replace(bytes([0, 30, 0, 40]), b"\xff\xf0\xff\xf0"),
    }
    found = camera_folder(camera(tmp_path / "c", files), tmp_path / "out", Coded())
    assert [row.file for row in found.rows] == ["pictures/A.JPG"]
    told = "\n".join(found.told)
    assert (
        "IMG_0.HEIC, IMG_1.HEIC, IMG_2.HEIC and 2 more are left out. Pages cannot show a HEIC. Export it as JPEG"
        in told
    )
    assert "x.NEF is left out" not in told
    assert "x.NEF, y.dng are left out. Pages cannot show a camera's raw data. Export it as JPEG or TIFF" in told
    assert "film.mp4, notes.txt are left out. Not a PNG, JPEG, TIFF, WebP or GIF." in told
    assert "a.jpg is left out. Another picture's name is the same but for its capitals" in told
    assert "what?.jpg is left out. A file's name holds none of" in told
    assert "huge.jpg is left out. This picture says that it has 65520 × 65520 pixels" in told
    assert len(found.told) == 6


@pytest.mark.parametrize("files", [{}, {"IMG.HEIC": b"x"}, {"a.txt": b"x"}])
def test_a_folder_without_a_picture_is_refused(files: dict[str, bytes], tmp_path: Path) -> None:
    folder = camera(tmp_path / "c", files)
    folder.mkdir(exist_ok=True)
    with pytest.raises(WrongCommand, match="There is no picture in"):
        camera_folder(folder, tmp_path / "out", Coded())


CAMERA = {
    "OHM-1937_3 front.JPG": jpeg(DAY),
    "DCIM/IMG_0001.jpg": jpeg("2026:05:03 09:00:00"),
    "2/IMG_0001.jpg": jpeg(),
    "H34-S01 x200.png": png(exif()),
    "IMG_7.HEIC": b"x",
}


@pytest.mark.parametrize("out", ["visit.xlsx", "visit"])
def test_the_survey_with_its_pictures_is_tried_and_taken_in(
    out: str, db: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of one object: its title and day, and the sample that was taken, are all that is left to write. Each picture has
    a code of the survey's own, and the free ones that are offered begin behind them."""
    folder = camera(tmp_path / "elsewhere" / "card", CAMERA)
    tmp_path = tmp_path / "work"
    tmp_path.mkdir()
    words = ["--survey", "H34", "--from", str(db), "--object", PUMP, "--by", "A. Lead", "--pictures", str(folder)]
    assert run(["blank", str(tmp_path / out), *words]) == 0
    said = capsys.readouterr().out
    assert "The sheet pictures has 4 pictures: 3 with a day, 4 with an object, 1 with a sample, 0 with a place." in said
    assert "IMG_7.HEIC is left out." in said
    assert f"the object is {PUMP}, the survey's only one" in said
    assert run(["try", str(tmp_path / out)]) == 1
    told = capsys.readouterr().err
    assert "title: This cell is blank" in told
    assert "sheet pictures" not in told
    if out == "visit":
        text = (tmp_path / out / "survey.toml").read_text("utf-8")
        text = text.replace('title = ""', 'title = "A visit"').replace('started = ""', 'started = "2026-05-02"')
        (tmp_path / out / "survey.toml").write_text(text, "utf-8")
        head = (tmp_path / out / "samples.csv").read_text("utf-8").splitlines()[0]
        cells = {"object": PUMP, "sample": "H34-S01", "place": "all", "method": "cross-section"}
        line = ",".join(cells.get(name, "") for name in head.split(","))
        (tmp_path / out / "samples.csv").write_text(f"{head}\n{line}\n", "utf-8")
        assert [row["picture"] for row in rows(tmp_path / out)] == ["H34-P01", "H34-P02", "H34-P03", "H34-P04"]
        assert "H34-P05 … H34-P24" in (tmp_path / out / "survey.toml").read_text("utf-8")
    else:
        book = openpyxl.load_workbook(tmp_path / out)
        for row in book["survey"].iter_rows(min_row=2):
            row[1].value = {"title": "A visit", "started": "2026-05-02"}.get(row[0].value, row[1].value)
        sheet, place = book["samples"], headings(book["samples"])
        for name, cell in {"object": PUMP, "sample": "H34-S01", "place": "all", "method": "cross-section"}.items():
            sheet.cell(2, place[name]).value = cell
        book.save(tmp_path / out)
        assert sorted(p.name for p in (tmp_path / "pictures").iterdir()) == [
            "2",
            "DCIM",
            "H34-S01 x200.png",
            "OHM-1937_3 front.JPG",
        ]
    assert run(["try", str(tmp_path / out)]) == 0
    assert run(["ingest", str(db), str(tmp_path / out)]) == 0
    assert ask(
        db, "SELECT picture, file, taken_on, sample, notes FROM pictures WHERE survey = 'H34' ORDER BY picture"
    ) == [
        ("H34-P01", "pictures/2/IMG_0001.jpg", None, None, "40 × 30 pixels"),
        ("H34-P02", "pictures/DCIM/IMG_0001.jpg", "2026-05-03", None, "40 × 30 pixels"),
        ("H34-P03", "pictures/H34-S01 x200.png", "2026-05-02", "H34-S01", "40 × 30 pixels"),
        ("H34-P04", "pictures/OHM-1937_3 front.JPG", "2026-05-02", None, "40 × 30 pixels"),
    ]


def test_pictures_that_lie_beside_the_workbook_stay_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The sheet names them where they are, and nothing is copied."""
    camera(tmp_path / "visit" / "card", {"IMG_1.jpg": jpeg(DAY)})
    assert run(["blank", str(tmp_path / "visit" / "v.xlsx"), "--pictures", str(tmp_path / "visit" / "card")]) == 0
    said = capsys.readouterr().out
    assert "Beside it" not in said
    assert "The pictures stay where they lie" in said
    assert "--survey CODE would give each picture one" in said
    sheet = openpyxl.load_workbook(tmp_path / "visit" / "v.xlsx")["pictures"]
    place = headings(sheet)
    assert sheet.cell(2, place["file"]).value == "card/IMG_1.jpg"
    assert sheet.cell(2, place["picture"]).value is None
    assert sorted(path.name for path in (tmp_path / "visit").iterdir()) == ["card", "v.xlsx"]


def test_what_cannot_be_is_said_and_nothing_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    card = str(camera(tmp_path / "elsewhere", {"IMG_1.jpg": jpeg()}))
    tmp_path = tmp_path / "work"
    tmp_path.mkdir()
    for words, code, said in (
        (["form.html", "--pictures", card], 2, "A form for paper takes no pictures"),
        (["v.xlsx", "--pictures", str(tmp_path / "none")], 2, "There is no folder"),
        (["v.xlsx", "--pictures", f"{card}/IMG_1.jpg"], 2, "There is no folder"),
    ):
        assert run(["blank", str(tmp_path / words[0]), *words[1:]]) == code
        assert said in capsys.readouterr().err
    (tmp_path / "pictures").mkdir()
    (tmp_path / "pictures" / "IMG_1.jpg").write_bytes(b"another")
    assert run(["blank", str(tmp_path / "v.xlsx"), "--pictures", card]) == 6
    assert "IMG_1.jpg is there already" in capsys.readouterr().err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["pictures"]
