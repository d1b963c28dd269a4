"""Blank surveys filled in and taken in, as workbook and as folder."""

from __future__ import annotations

from pathlib import Path

import pytest
from blank_forms import FORMS, NOTEBOOK, PUMP, SURVEY, TRAM, fill, fill_folder, prepared, stored, write_form
from checked import check_package

from collection.cli import run
from collection.ingest.blank import blank_survey
from collection.ingest.blank.contents import PREFILLED, Blank
from collection.ingest.blank.paper import paper
from collection.ingest.load import ingest
from collection.language.errors import InputRefused
from collection.records.sheets import SHEETS, Survey
from collection.store.base import database


@pytest.mark.parametrize("form", FORMS)
def test_a_blank_survey_filled_in_by_its_headings_alone_is_taken_in(form: str, tmp_path: Path) -> None:
    """A program that knows nothing but the headings writes an object down, and the database holds the same."""
    path = write_form(blank_survey.empty(), tmp_path, form)
    fill(form, path, SURVEY, NOTEBOOK)
    database.create(tmp_path / "new.db")
    assert check_package(path) == []
    report = ingest(tmp_path / "new.db", path)
    assert sum(report.added.values()) == len(NOTEBOOK) + 1
    assert [len(stored(tmp_path / "new.db", entry)) for entry in NOTEBOOK] == [1] * len(NOTEBOOK)


@pytest.mark.parametrize("form", FORMS)
def test_known_rows_change_nothing_and_new_ones_are_added(form: str, db: Path, tmp_path: Path) -> None:
    """With one new sample in it, a survey of known objects adds that sample and leaves every known row as it is."""
    blank = prepared(db, TRAM, PUMP)
    path = write_form(blank, tmp_path, form)
    code = blank.codes["samples"][PUMP][0]
    rows: list[dict[str, object]] = [
        {"object": PUMP, "sample": code, "place": "UNDER", "method": "scraping", "taken_on": "2034-05-02"},
        {"object": PUMP, "sample": code, "position": 1, "role": "body colour", "colour": "red", "scheme": "1"},
    ]
    fill(form, path, {"title": "Another look", "lead": "T. Ester", "started": "2034-05-01", "code": "H34"}, rows)
    report = ingest(db, path)
    assert report.changed == {}
    assert report.added == {"survey": 1, "samples": 1, "layers": 1}
    assert report.unchanged == {
        record.sheet: len(blank.rows(record.sheet)) for record in SHEETS if blank.rows(record.sheet)
    }
    # A minute of November 1904, which may as well be one of 1904 to 1911: that is asked again.
    assert [warning.value for warning in report.warnings] == ["1904-11"]
    assert set(report.unchanged) == set(PREFILLED)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("known", [False, True])
def test_an_untouched_blank_survey_is_refused_by_what_it_lacks(
    form: str, known: bool, full: Blank, tmp_path: Path
) -> None:
    """Nobody filled it in: the survey's own row is what is asked for, and nothing else is wrong."""
    path = write_form(full if known else blank_survey.empty(), tmp_path, form)
    with pytest.raises(InputRefused) as refused:
        check_package(path)
    lacking = {column.name for column in Survey.columns() if column.required} - ({"code"} if known else set())
    assert {(fault.sheet, fault.column) for fault in refused.value.faults} == {("survey", name) for name in lacking}
    assert run(["ingest", str(tmp_path / "no.db"), str(path)]) == 6


def test_a_number_that_needs_every_digit_comes_back_the_same(tmp_path: Path) -> None:
    """An area that sixteen digits cannot hold is not changed by the workbook."""
    package = tmp_path / "package"
    blank_survey.write(blank_survey.empty(), package)
    fill_folder(package, SURVEY, [*NOTEBOOK[:1], {**NOTEBOOK[1], "area_m2": 0.30000000000000004}])
    database.create(tmp_path / "c.db")
    ingest(tmp_path / "c.db", package)
    out = write_form(prepared(tmp_path / "c.db", "1979.10", survey="N1"), tmp_path, "workbook")
    report = ingest(tmp_path / "c.db", out)
    assert (report.added, report.changed) == ({}, {})
    assert report.unchanged == {"survey": 1, "objects": 1, "components": 1}


def test_private_cells_and_notes_stay_at_home(tmp_path: Path) -> None:
    """What a prepared survey carries out of the house holds no owner, no value, no store and no notes."""
    package = tmp_path / "package"
    blank_survey.write(blank_survey.empty(), package)
    secret = {"owner": "SECRET", "store_place": "SECRET", "value_points": 9, "notes": "SECRET", "audience": "staff"}
    fill_folder(package, SURVEY, [NOTEBOOK[0] | secret])
    database.create(tmp_path / "c.db")
    ingest(tmp_path / "c.db", package)
    blank = prepared(tmp_path / "c.db", "1979.10")
    row = blank.rows("objects")[0].model_dump()
    assert [row[name] for name in secret] == [None, None, None, None, "staff"]
    for form in FORMS:
        write_form(blank, tmp_path, form)
    assert "SECRET" not in paper(blank)
    assert b"SECRET" not in b"".join(path.read_bytes() for path in (tmp_path / "blank").iterdir())
