"""What a tag says, as data: of five states of knowledge, of hazards, of whom to ask; and when it says the same."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from site_packages import write_package

from collection.ingest.load import ingest
from collection.output.published.audience import PUBLIC
from collection.output.published.published_object import PublishedObject
from collection.output.site.computed_objects import told_object
from collection.output.tag import told as telling
from collection.output.tag.told import tag_hash, tag_told
from collection.store.base import database
from collection.store.changes import corrections

BY, WHY = "N. N.", "seen again"
SURVEY = {"code": "S1", "title": "a survey", "lead": "Ada Penrose", "started": "2020-05-01"}
ABOUT = {
    "collection_name": "Tidewell Museum",
    "collection_contact": "the registrar, 0100",
    "collection_address": "https://tidewell.example/",
}
DOOR = {"object": "T/1", "zone": "door", "component": "body", "name": "Left door"}


def package(*layers: dict[str, Any], **sheets: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    """A cab whose door was read once: these coats, from the support out."""
    own = {"object": "T/1"}
    rows: dict[str, list[dict[str, Any]]] = {
        "objects": [{**own, "title": "Cab", "kind": "cab"}],
        "components": [{**own, "component": "body", "name": "Body"}],
        "zones": [DOOR],
        "schemes": [
            {**own, "scheme": "1", "name": "maker's red", "period": "original", "rank": 1},
            {**own, "scheme": "2", "name": "green", "period": "later", "rank": 2, "basis": "lies on dirt"},
        ],
    }
    if layers:
        rows["samples"] = [
            {
                **own,
                "sample": "S1",
                "place": "door",
                "method": "cross-section",
                "reaches_support": "yes",
                "taken_on": "2020",
            }
        ]
        rows["layers"] = [{**own, "sample": "S1", "position": n, **row} for n, row in enumerate(layers, 1)]
    return {**rows, **sheets}


RED = {"role": "body colour", "scheme": "1", "colour": "red"}
GREEN = {"role": "body colour", "scheme": "2", "colour": "green", "thickness_um": 40}
LEAD = [{"object": "T/1", "hazard": "H1", "kind": "lead in paint", "status": "confirmed"}]


def stored(room: Path, rows: dict[str, list[dict[str, Any]]], **survey: Any) -> Path:
    db = room / "c.db"
    database.create(db)
    ingest(db, write_package(room / "p", {**SURVEY, **survey}, rows))
    return db


def published(db: Path, room: Path) -> PublishedObject:
    with database.opened(db, write=False) as connection:
        return told_object(connection, db, "T/1", PUBLIC, room / "pictures")


def told(room: Path, rows: dict[str, list[dict[str, Any]]], **survey: Any) -> dict[str, Any]:
    return tag_told(published(stored(room, rows, **survey), room), ABOUT)


def test_covered_original_says_so_and_where(tmp_path: Path) -> None:
    said = told(tmp_path, package(RED, GREEN, hazards=LEAD))
    assert said["main"] == "Original finish survives under here"
    assert [(row["name"], row["state"]) for row in said["places"]] == [("Left door", "original covered")]
    assert said["not_examined"] == "Not examined, so look before you work: Body."
    assert said["donts"] == [
        {
            "words": "Do not strip or sand",
            "why": "At Left door only 1 later coat (0.04 mm) lies over the original finish (sample S1).",
            "records": [{"kind": "samples", "key": "T/1/S1"}],
        }
    ]
    assert said["ask"] == {"name": "Tidewell Museum", "contact": "the registrar, 0100"}
    assert said["address"] == "https://tidewell.example/object/T~2F1"
    assert said["code"] is True
    assert said["invented"] is None


@pytest.mark.parametrize(
    ("layers", "main"),
    [
        ([RED], "This is the original finish"),
        ([{**RED, "coverage": "partial"}], "Remains of the original finish survive here"),
        ([{**RED, "coverage": "absent"}, GREEN], "No original finish found so far"),
        ([], "Not examined: look before you work"),
    ],
)
def test_the_main_line_says_no_more_than_is_known(tmp_path: Path, layers: list[Any], main: str) -> None:
    said = told(tmp_path, package(*layers))
    assert said["main"] == main
    if main == telling.NOT_FOUND:
        assert said["beside"] == ["Looked for at: Left door. It may survive where nobody has looked."]
        assert said["donts"] == []
    if main == telling.NOT_EXAMINED:
        assert said["donts"] == []
        assert said["beside"] == ["Nobody has looked at what lies under the surface. Original finish may be there."]


def test_what_a_person_decided_to_keep_is_named(tmp_path: Path) -> None:
    rows = package(RED, GREEN)
    rows["schemes"][1] |= {"keep": "keep", "keep_why": "the last firm's", "decided_by": "N. N."}
    assert "To be kept as well: green." in told(tmp_path, rows)["beside"]


def test_paint_that_nobody_analysed_for_lead_counts_as_leaded(tmp_path: Path) -> None:
    """As the rule `lead suspected` has it; a record that names lead speaks for itself."""
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    assert told(tmp_path / "a", package(RED, GREEN))["hazards"] == [telling.LEAD, telling.FOLLOW]
    said = told(tmp_path / "b", package(RED, GREEN, hazards=LEAD))
    assert said["hazards"] == ["Can hurt you: lead in paint.", telling.FOLLOW]


def test_an_invented_object_is_said_to_be_one(tmp_path: Path) -> None:
    assert told(tmp_path, package(RED), invented="yes")["invented"] == telling.INVENTED


def test_without_an_address_or_a_collection_it_has_no_code_and_names_nobody(tmp_path: Path) -> None:
    found = tag_told(published(stored(tmp_path, package(RED)), tmp_path), {})
    assert (found["address"], found["code"], found["ask"]) == (None, False, {"name": None, "contact": None})


def test_an_address_that_makes_too_fine_a_code_stands_as_text_alone(tmp_path: Path) -> None:
    long = {**ABOUT, "collection_address": f"https://{'a' * 40}.example/"}
    found = tag_told(published(stored(tmp_path, package(RED)), tmp_path), long)
    assert (len(found["address"]) > 60, found["code"]) == (True, False)


def test_the_hash_changes_with_what_it_says_and_with_nothing_else(tmp_path: Path) -> None:
    """A better name of the door stands on the tag; the seconds of no test do. Neither the day nor the address counts."""
    tests = [{"object": "T/1", "test": "C1", "place": "door", "agent": "acetone", "dwell_s": 10}]
    responses = [{"object": "T/1", "test": "C1", "response": "softened", "sample": "S1", "position": 1}]
    db = stored(tmp_path, package(RED, GREEN, tests=tests, responses=responses))
    first = tag_hash(tag_told(published(db, tmp_path), ABOUT))
    assert first == tag_hash(tag_told(published(db, tmp_path), {**ABOUT, "collection_address": None}))
    corrections.correct(db, "tests", "T/1/C1", {"dwell_s": "11"}, BY, WHY)
    assert tag_hash(tag_told(published(db, tmp_path), ABOUT)) == first
    corrections.correct(db, "zones", "T/1/door", {"name": "Door, left"}, BY, WHY)
    assert tag_hash(tag_told(published(db, tmp_path), ABOUT)) != first
    corrections.correct(db, "zones", "T/1/door", {"name": "Left door"}, BY, WHY)
    assert tag_hash(tag_told(published(db, tmp_path), ABOUT)) == first
    asked = {**ABOUT, "collection_contact": "somebody else"}
    assert tag_hash(tag_told(published(db, tmp_path), asked)) != first
