"""The form for paper: every question, every printed word, the cautions, and what is still open of an object."""

from __future__ import annotations

import html
import re
from pathlib import Path

import openpyxl
from blank_forms import COLUMNS, PUMP, TRAM, write_form

from collection.ingest.blank import blank_survey
from collection.ingest.blank.contents import Blank
from collection.ingest.blank.paper import AT_THE_DESK, paper


def test_the_form_for_paper_asks_every_question_and_prints_every_word(full: Blank) -> None:
    """Every open question stands on paper; a form for new objects has every word of every closed list."""
    page = html.unescape(re.sub(r"<[^>]+>", " ", paper(full)))
    assert len(full.questions) > 60
    assert [q for q in full.questions if q.question not in page or q.answer not in page] == []
    assert [line for known in full.objects for line in known.lines if line.what not in page] == []
    assert all(
        codes[0] in page
        for sheet, by_object in full.codes.items()
        if sheet not in AT_THE_DESK
        for codes in by_object.values()
    )
    empty = html.unescape(re.sub(r"<[^>]+>", "\n", paper(blank_survey.empty())))
    for record, column in COLUMNS:
        assert column.name in empty
        assert all(word in empty for word in (column.words.words if column.words else ())), (record.sheet, column.name)


def test_the_form_for_paper_needs_nothing_beside_it_and_runs_nothing(full: Blank) -> None:
    """No script, nothing fetched, text of records escaped."""
    page = paper(full)
    assert re.findall(r"<script|\son\w+=|https?://|<link|@import|javascript:", page, re.I) == []
    assert set(re.findall(r"src=\"(\w+:[a-z/+]+)", page)) == {"data:image/svg+xml"}
    hostile = Blank({"code": "<script>alert(1)</script>", "title": '"><img src=x onerror=alert(1)>'})
    assert "<script" not in paper(hostile)
    assert "<img" not in paper(hostile)


def test_what_can_hurt_stands_first_and_the_usual_cautions_stand_everywhere(full: Blank, tmp_path: Path) -> None:
    """Hazards come before anything else known of an object, and each form says what the usual cautions are."""
    for known in full.objects:
        abouts = [line.about for line in known.lines]
        assert abouts[0] == "hazard"
        assert abouts.index("caution") < abouts.index("leave untouched") < abouts.index("what survives")
    for blank in (full, blank_survey.empty()):
        write_form(blank, tmp_path, "workbook")
        book = openpyxl.load_workbook(tmp_path / "blank.xlsx")
        (tmp_path / "blank.xlsx").unlink()
        sheets = "\n".join(str(cell.value) for row in book["instructions"].iter_rows() for cell in row)
        for text in (sheets, paper(blank)):
            assert all(word in text for word in ("safety data sheets", "leaded", "local codes", "licensed practice"))


def test_open_questions_are_those_of_the_records(full: Blank) -> None:
    """The sample's own loose ends are asked: untested claims, advice not followed, a facing left on, unseen places."""
    asked = {(q.object, q.about, q.place) for q in full.questions}
    assert {
        (TRAM, "claim", "L-LET"),
        (TRAM, "temporary measure", "L-VAL"),
        (PUMP, "not examined", "UNDER"),
        (PUMP, "advice", "UNDER"),
        (PUMP, "claim", "B-REAR"),
        (PUMP, "stops short", "B-REAR"),
        (TRAM, "decoration", "L-LET"),
        (PUMP, "condition", "B-REAR"),
    } <= asked
    assert (PUMP, "claim", "B-LEFT") not in asked
    assert (PUMP, "condition", "B-HAND") in asked
    assert not [q for q in full.questions if q.about == "condition" and "flaking" in q.question and q.place == "B-HAND"]
