"""Two surveys on the site: what changed is said with its pictures, and nothing that is held back shows in it."""

from __future__ import annotations

import json
import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from firstcoat_site.pages import compare
from site_answers import get
from site_packages import database_of, png, write_package

from collection.output.published.comparisons import pairs
from collection.output.site.publish import publish
from collection.store import comparison
from collection.store.base.database import opened

TRAM = "/object/OHM-1962-7/compare/H14/H24"
OBJECT = [{"object": "T1", "title": "a door", "kind": "door"}]


def looked(code: str, year: int, *conditions: dict[str, Any], first: bool = False, **sheets: Any) -> tuple[Any, Any]:
    """One survey of the door: what it is called, and its rows."""
    made: dict[str, Any] = {
        "conditions": [
            {"object": "T1", "place": "top", "phenomenon": "flaking", "observed_on": str(year), **row}
            for row in conditions
        ],
        **sheets,
    }
    if first:
        made |= {
            "objects": OBJECT,
            "components": [{"object": "T1", "component": "door", "name": "Door", "origin": "original"}],
            "zones": [
                {"object": "T1", "zone": zone, "component": "door", "name": f"The {zone}", "area_m2": 1}
                for zone in ("top", "foot")
            ],
        }
    return {"code": code, "title": f"Look of {year}", "lead": "L. Eader", "started": f"{year}-05-01"}, made


def published(folder: Path, *surveys: tuple[Any, Any], **options: Any) -> Path:
    packages = [write_package(folder / said["code"], said, rows) for said, rows in surveys]
    publish(database_of(folder / "a.db", *packages), folder / "out", **options)
    return folder / "out"


def test_the_site_says_what_the_command_says(harbour: Path) -> None:
    """The comparison of every object is the command's, where nothing is held back, with the files of its pictures."""
    with opened(harbour.parent / "harbour.db", write=False) as db:
        told = {each.comparison.object: each for each in comparison.compare_surveys(db, "H14", "H24").objects}
    with sqlite3.connect(harbour / "collection.db") as site:
        stored = {code: json.loads(text) for code, text in site.execute("select object, comparison from comparisons")}
    assert stored.keys() == told.keys()
    for code, found in stored.items():
        for pair in found["pictures"]:
            for side in (pair["then"], pair["now"]):
                for name in ("file", "size", "caption", "rights"):
                    del side[name]
        assert {name: found[name] for name in told[code].as_json()} == told[code].as_json(), code
        assert found["numbers"] == told[code].numbers


def test_an_object_shows_its_pictures_first_and_counts_what_is_unchanged(harbour: Path) -> None:
    (page,) = get(harbour, TRAM)
    then, now = re.findall(r'<img src="(/picture/[^"]+)"', page.text)
    assert then != now
    assert page.text.index("<img") < page.text.index('id="finish"') < page.text.index('id="condition"')
    assert "<strong>5 March 2014</strong>" in page.text
    assert "<strong>10 April 2024</strong>" in page.text
    assert "Original finish was laid open at 1 place; 1 condition got worse, in original finish." in page.text
    assert "1 as it was" in page.text
    assert "+0.8 % of the place" in page.text, "20 % in May 2014 and 28 % in April 2024"


def test_the_collection_lists_the_worst_first_and_counts_the_rest(harbour: Path) -> None:
    page, data, back = get(harbour, "/compare/H14/H24", "/compare/H14/H24.json", "/compare/H24/H14")
    found = data.json()
    gravity = [tuple(row["numbers"].values()) for row in found["objects"]]
    assert gravity == sorted(gravity, reverse=True)
    assert (found["total"], found["both"]) == (13, 14)
    assert "13 of 14 objects looked at both times" in page.text
    assert "Of 1 object nothing is known to be worse" in page.text
    assert page.text == back.text, "whichever survey is named first"


def test_pages_lead_there_and_others_are_not_found(harbour: Path) -> None:
    survey, missing, alone = get(harbour, "/survey/H24", "/object/OHM-1962-7/compare/H24/H24", "/compare/H14/NONE")
    assert 'href="/compare/H14/H24"' in survey.text
    assert (missing.status_code, alone.status_code) == (404, 404)


CODES = {"one": ["A"], "two": ["A", "B"], "four": ["A", "B", "C", "D"]}


@pytest.mark.parametrize(
    ("number", "wanted"),
    [("one", []), ("two", [("A", "B")]), ("four", [("A", "B"), ("B", "C"), ("C", "D"), ("A", "D")])],
)
def test_each_survey_is_compared_with_the_next_and_the_first_with_the_last(
    number: str, wanted: list[tuple[str, str]]
) -> None:
    surveys = [{"code": code, "started": str(2000 + at)} for at, code in enumerate(CODES[number])]
    assert pairs(surveys[::-1]) == wanted


def test_what_is_held_back_is_not_compared(tmp_path: Path) -> None:
    """The foot got worse by a record for staff: the public page says nothing of it, the staff's page does."""
    surveys = (
        looked("A", 2014, {"severity": 1}, {"place": "foot", "severity": 1}, first=True),
        looked("B", 2024, {"severity": 2}, {"place": "foot", "severity": 3, "audience": "staff"}),
    )
    out = published(tmp_path, *surveys)
    publish(tmp_path / "a.db", tmp_path / "inner", staff=True)
    page, data = get(out, "/object/T1/compare/A/B", "/object/T1/compare/A/B.json")
    (inner,) = get(tmp_path / "inner", "/object/T1/compare/A/B")
    assert data.json()["numbers"]["worse"] == 1
    assert [row["place"] for row in data.json()["conditions"]] == ["top"]
    assert "severe" not in page.text
    assert "Some records of this object are not published" in page.text
    assert "2 conditions got worse" in inner.text
    assert "severe" in inner.text


def test_a_survey_for_staff_alone_is_not_named(tmp_path: Path) -> None:
    surveys = (
        looked("A", 2014, {"severity": 1}, first=True),
        looked("SECRET", 2019, {"severity": 3, "audience": "staff"}),
        looked("B", 2024, {"severity": 2}),
    )
    out = published(tmp_path, *surveys)
    assert b"SECRET" not in (out / "collection.db").read_bytes()
    shown, hidden = get(out, "/object/T1/compare/A/B", "/object/T1/compare/A/SECRET")
    assert (shown.status_code, hidden.status_code) == (200, 404)


def test_three_readings_have_a_range_and_two_have_none(tmp_path: Path) -> None:
    """2, 5 and 9 % in 2004, 2014 and 2024: 0.35 a year, by hand the slope is (9 − 2) / 20."""
    surveys = [
        looked(code, year, {"severity": 1, "extent_pct": extent}, first=first)
        for code, year, extent, first in (("A", 2004, 2, True), ("B", 2014, 5, False), ("C", 2024, 9, False))
    ]
    two, three = get(published(tmp_path, *surveys), "/object/T1/compare/A/B", "/object/T1/compare/B/C")
    assert "+0.3 % of the place<" in two.text
    assert re.search(r"\+0\.35 % of the place \([+−][\d.]+ to \+[\d.]+\)", three.text)
    assert "rests on two readings" in two.text
    assert "95 of 100 cases" in three.text


def test_of_one_view_the_normal_light_comes_first(tmp_path: Path) -> None:
    def pictures(year: int, first: str) -> list[dict[str, Any]]:
        return [
            {"object": "T1", "picture": f"{first}{at}", "file": f"{light}.png", "place": "top", "view": "detail",
             "lighting": light, "taken_on": str(year), "rights": "free"}
            for at, light in enumerate(("infrared", "raking", "normal"))
        ]  # fmt: skip

    lights = {"infrared": 4, "raking": 5, "normal": 6}
    files = {f"{light}.png": png(width=width) for light, width in lights.items()}
    packages = [
        write_package(
            tmp_path / code, *looked(code, year, first=code == "A", pictures=pictures(year, code)), files=files
        )
        for code, year in (("A", 2014), ("B", 2024))
    ]
    publish(database_of(tmp_path / "a.db", *packages), tmp_path / "out")
    (page,) = get(tmp_path / "out", "/object/T1/compare/A/B")
    assert re.findall(r"detail, (\w+) light", page.text) == ["normal", "raking", "infrared"]


@pytest.mark.parametrize(
    ("started", "heads"), [(("2014-03", "2024"), ("2014", "2024")), (("2024-03", "2024-09"), ("A", "B"))]
)
def test_the_sides_are_headed_by_year_or_where_one_year_saw_both_by_survey(
    started: tuple[str, str], heads: tuple[str, str]
) -> None:
    assert compare.years([{"code": code, "started": on} for code, on in zip("AB", started, strict=True)]) == heads


def test_an_object_and_its_history_lead_to_what_changed(harbour: Path) -> None:
    for page in get(harbour, "/object/OHM-1962-7", "/object/OHM-1962-7/timeline"):
        assert re.search(r'href="(?:/object/)?OHM-1962-7/compare/H14/H24">2014 to 2024</a>', page.text)
