"""Somebody with the folder alone: what survives under the green on the left door, who says so, what must nobody do?

Each way that the README tells is walked as it is told: the questions in SQL by Python's sqlite3, which stands for any program
that reads SQLite; the spreadsheet's filters on the CSV files; the pages by their text. The answers are those of the sample's
own sheets, written by hand: `sample_db/harbour`.
"""

from __future__ import annotations

import csv
import re
import sqlite3
from contextlib import closing
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from collection.output.archive.archive import archive
from collection.output.archive.readme import WIDTH

CART, DOORS = "OHM-1969-3", "T-DOORS"
CUPBOARD, LEFT_DOOR = "OHM-1980-2", "L-UP"
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def folder(harbour: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("2046") / "harbour"
    archive(harbour, out, papers=True)
    return out


def questions(folder: Path) -> list[str]:
    """The questions of the README as they stand there."""
    text = (folder / "data" / "README.txt").read_text(encoding="utf-8")
    return re.findall(r"^    (SELECT .*?;)$", text, re.M | re.S)


def asked(folder: Path, question: str) -> list[dict[str, Any]]:
    database = next((folder / "data").rglob("collection.db"))
    with closing(sqlite3.connect(f"file:{database}?mode=ro", uri=True)) as db:
        db.row_factory = sqlite3.Row
        return [dict(row) for row in db.execute(question)]


def filtered(folder: Path, table: str, **cells: str) -> list[dict[str, str]]:
    """The rows of a table as a spreadsheet filters them: by the text of cells, what was withdrawn left out."""
    with (folder / "data" / "tables" / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return [
            row
            for row in csv.DictReader(file)
            if not row.get("withdrawn") and all(row[name] == text for name, text in cells.items())
        ]


def text_of(page: Path) -> str:
    """What a reader sees of a page."""
    html = re.sub(r"<(style|svg)\b.*?</\1>", " ", page.read_text(encoding="utf-8"), flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def test_the_questions_in_sql_run_as_they_stand_and_answer(folder: Path) -> None:
    """They ask after a place of the archive's own where the first finish lies under later coats."""
    found = [asked(folder, question) for question in questions(folder)]
    which, survives, coats, who, advice, tests, *_ = found
    assert {"object": CART, "title": "Baker’s handcart (invented)", "zone": DOORS, "component": "TAIL"}.items() <= next(
        row for row in which if row["zone"] == DOORS
    ).items()
    assert [row["state"] for row in survives] == ["original covered"]
    assert coats[0]["position"] > coats[-1]["position"]
    assert "original" in {row["period"] for row in coats}
    green = next(at for at, row in enumerate(coats) if row["scheme"] == "GRN")
    assert any(row["period"] == "original" for row in coats[green + 1 :]), "under the green"
    assert all(row["taken_by"] and row["lead"] for row in who)
    assert advice
    assert {row["test"] for row in tests}


def test_so_they_do_for_the_left_door_of_the_cupboard(folder: Path) -> None:
    """Under brown, red and cream lies the estate's own green, on grey primer: as S01 was read in 2014."""
    found = [
        asked(folder, question.replace(CART, CUPBOARD).replace(DOORS, LEFT_DOOR)) for question in questions(folder)
    ]
    _, survives, coats, who, advice, tests, _, hazards = found
    assert [(row["state"], row["present"], row["read"]) for row in survives] == [("original covered", 1, 1)]
    assert [(row["colour"], row["period"]) for row in coats][-3:] == [
        ("invisible green, near black", "original"),
        ("grey", "original"),
        ("deal, yellow-brown", None),
    ]
    assert [(row["sample"], row["taken_by"], row["lead"]) for row in who] == [("S01", "Hanna Varrow", "Hanna Varrow")]
    forbidden = {row["advice"]: (row["what"], row["against"]) for row in advice}
    assert forbidden["AD14"] == ("Let no alcohol near the inside, not even to disinfect", "solvent")
    assert [(row["agent"], row["response"]) for row in tests if row["place"] == LEFT_DOOR] == [
        ("acetone", "colour on swab"),
        ("acetone", "softened"),
    ]
    assert "lead and mercury in paint" in {row["kind"] for row in hazards}


def test_so_does_a_spreadsheet(folder: Path) -> None:
    """The steps of the README, one filter after the other."""
    (zone,) = (row for row in filtered(folder, "zones") if row["name"] == "Left door, upper panel")
    object_code, place = zone["object"], zone["zone"]
    (state,) = filtered(folder, "survival_places", object=object_code, place=place)
    assert state["state"] == "original covered"
    (sample,) = filtered(folder, "samples", object=object_code, place=place)
    coats = sorted(
        filtered(folder, "layers", object=object_code, sample=sample["sample"]), key=lambda row: int(row["position"])
    )
    schemes = {row["scheme"]: row["period"] for row in filtered(folder, "schemes", object=object_code)}
    assert [row["colour"] for row in coats if schemes.get(row["scheme"]) == "original"] == [
        "grey",
        "invisible green, near black",
    ]
    assert sample["taken_by"] == "Hanna Varrow"
    (survey,) = filtered(folder, "surveys", code=sample["survey"])
    assert (survey["lead"], survey["started"]) == ("Hanna Varrow", "2014-03-03")
    assert "Let no alcohol near the inside, not even to disinfect" in {
        row["what"] for row in filtered(folder, "advice", object=object_code)
    }


def test_so_do_the_pages(folder: Path) -> None:
    pages = folder / "data" / "pages"
    assert f"object/{CUPBOARD}/object.html" in (pages / "by-number.html").read_text(encoding="utf-8")
    front = text_of(pages / "object" / CUPBOARD / "object.html")
    assert "Left door, upper panel L-UP original covered; seen at 1 of 1" in front
    assert "“Let no alcohol near the inside, not even to disinfect.”" in front
    assert "Hanna Varrow, 10 November 2014" in front
    assert "Must stay untouched" in front
    place = text_of(pages / "object" / CUPBOARD / "places.html")
    assert "S01 Left door, upper panel L-UP found cross-section, spot random 4 November 2014 H14" in place
    sample = text_of(pages / "object" / CUPBOARD / "samples.html")
    assert "invisible green, near black" in sample
    assert "Hanna Varrow" in sample


def test_the_words_of_the_readme_are_plain_lines(folder: Path) -> None:
    lines = (folder / "data" / "README.txt").read_text(encoding="utf-8").splitlines()
    assert not [line for line in lines if len(line) > WIDTH and not line.startswith("    ") and " " in line.strip()]
    assert "Please read it before you clean, strip, sand or repaint any of these objects." in lines
