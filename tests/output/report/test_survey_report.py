"""The report of a survey for the owner of the collection: what it did on each object, with the hours."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from site_packages import database_of, write_package

from collection.language.errors import NotFound
from collection.output.published.audience import PUBLIC, STAFF, Audience
from collection.output.report.about import about_papers
from collection.output.report.survey_report import survey_report_told
from collection.store.base.database import opened

Told = dict[str, Any]


def told_survey(db: Path, code: str, audience: Audience = STAFF) -> Told:
    with opened(db, write=False) as connection:
        return survey_report_told(connection, code, audience, about_papers(connection, audience))


def said_of(told: Told, heading: str) -> str:
    """Everything below a heading, up to the next."""
    found: list[str] = []
    inside = False
    for block in told["blocks"]:
        if block["block"] == "heading":
            inside = block["text"] == heading
        elif inside:
            found.append(json.dumps(block, ensure_ascii=False))
    assert found, heading
    return "\n".join(found)


@pytest.fixture(scope="module")
def two_surveys(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A door looked at in 2010 and 2020. In 2010, 3 h of work in its days; in 2020 work of 2015 is found out, 5 h, and
    2.5 h are worked in its days. Of work in 1990, which the first survey found out, 40 h: in no survey's days."""
    folder = tmp_path_factory.mktemp("two")

    def work(code: str, year: str, hours: str) -> tuple[dict[str, str], dict[str, str]]:
        head = {"object": "D-1", "treatment": code, "purpose": f"Work {code}", "started": year, "treated_by": "A. Hand"}
        step = {"object": "D-1", "treatment": code, "step": "1", "place": "DOOR", "action": "dust", "hours": hours}
        return head, step

    def package(code: str, year: str, done: list[tuple[dict[str, str], dict[str, str]]], **more: Any) -> Path:
        return write_package(
            folder / code,
            {
                "code": code,
                "title": f"Survey of {year}",
                "lead": "L. Ead",
                "started": f"{year}-03-01",
                "ended": f"{year}-03-31",
            },
            {
                "objects": [{"object": "D-1", "title": "Door", "kind": "door"}],
                "components": [{"object": "D-1", "component": "DOOR", "name": "the door"}],
                "treatments": [head for head, _ in done],
                "treatment_steps": [step for _, step in done],
                **more,
            },
        )

    first = package("A10", "2010", [work("W90", "1990", "40"), work("W10", "2010-03-05", "3")])
    second = package(
        "B20",
        "2020",
        [work("W15", "2015", "5"), work("W20", "2020-03-09", "2.5")],
        advice=[{"object": "D-1", "advice": "AD1", "what": "Leave it", "given_on": "2020-03-10", "given_by": "L. Ead"}],
        samples=[{"object": "D-1", "sample": "S1", "place": "DOOR", "method": "scraping"}],
    )  # fmt: skip
    return database_of(folder / "two.db", first, second)


def test_hours_are_those_of_its_own_days_and_apart_from_them_those_since_the_survey_before(two_surveys: Path) -> None:
    short = said_of(told_survey(two_surveys, "B20"), "In short")
    assert "2.5 h of work on the objects are logged in the days of the survey." in short
    assert "Of work since the survey before, which this one recorded, 5 h are logged." in short
    assert "30 days apart" in short
    first = said_of(told_survey(two_surveys, "A10"), "In short")
    assert "3 h of work on the objects are logged in the days of the survey." in first
    assert "40" not in first


def test_each_object_has_its_sentence_what_was_done_and_what_was_advised(two_surveys: Path) -> None:
    door = said_of(told_survey(two_surveys, "B20"), "Door (D-1)")
    assert "No place has been looked at for original finish." in door
    assert "1 sample read" in door
    for said in ('"Done"', "Work W20", '"Done since the survey before"', "Work W15", "“Leave it.”", '"Advised"'):
        assert said in door
    assert "W90" not in door
    assert "W10" not in door


def test_the_objects_stand_in_the_order_of_their_numbers_with_what_changed(harbour: Path) -> None:
    told = told_survey(harbour, "H24")
    codes = [block["text"].rpartition("(")[2].rstrip(")") for block in told["blocks"] if block.get("level") == 2]
    assert codes[:5] == ["OHM-1937/3", "OHM-1949/1", "OHM-1952-11", "OHM-1958-12", "OHM-1962-7"]
    assert len(codes) == 14
    assert "Since 2014: original finish was laid open at 1 place" in said_of(
        told, "Horse tram body no. 9 (invented) (OHM-1962-7)"
    )
    assert told["invented"]


def test_for_the_public_it_names_nobody(two_surveys: Path) -> None:
    staff, public = (json.dumps(told_survey(two_surveys, "B20", whom)) for whom in (STAFF, PUBLIC))
    for name in ("L. Ead", "A. Hand"):
        assert name in staff
        assert name not in public


def test_an_unknown_survey_is_refused_with_those_that_there_are(two_surveys: Path) -> None:
    with pytest.raises(NotFound) as refused:
        told_survey(two_surveys, "B21")
    (fault,) = refused.value.faults
    assert "there is A10, B20" in fault.message
    assert fault.nearest == "B20"
