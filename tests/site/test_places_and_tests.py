"""The page of a place and the page of the tests: what they say first, and that they never say what is not so."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from site_answers import Page, get
from site_packages import database_of, png, write_package

from collection.output.published.addresses import Addresses
from collection.output.published.published_object import PublishedObject
from collection.output.site.publish import publish
from collection.output.tell.response_grid import Cell, ResponseGrid, response_grid

OWN = {"object": "DOOR"}
SWAB = {**OWN, "application": "rolled swab", "looked_with": "loupe", "after_drying": "yes", "tested_on": "2019-05-02"}


def coats(sample: str, *roles: str) -> list[dict[str, Any]]:
    """Coats from the support up; those of the maker carry scheme 1."""
    return [
        {**OWN, "sample": sample, "position": at, "role": role, "thickness_um": 20}
        | ({} if role in ("support", "dirt") else {"scheme": "1"})
        for at, role in enumerate(roles, 1)
    ]


def swab(code: str, agent: str, **cells: Any) -> dict[str, Any]:
    return {**SWAB, "test": code, "place": "Z10", "agent": agent, **cells}


ROWS: dict[str, list[dict[str, Any]]] = {
    "objects": [{**OWN, "title": "Shop door", "kind": "door"}],
    "components": [{**OWN, "component": "LEAF", "name": "Door leaf", "area_m2": 2, "origin": "original"}],
    "zones": [
        {**OWN, "zone": zone, "component": "LEAF", "name": name, "area_m2": 0.5}
        for zone, name in (("Z10", "Lower panel"), ("Z2", "Upper panel"), ("Z3", "Lock rail"))
    ],
    "schemes": [{**OWN, "scheme": "1", "name": "Maker's green", "period": "original", "rank": 1}],
    "samples": [
        {**OWN, "sample": "S10", "place": "Z10", "method": "cross-section", "reaches_support": "yes"},
        {**OWN, "sample": "S2", "place": "Z2", "method": "cross-section", "reaches_support": "no"},
    ],
    "layers": [
        *coats("S10", "support", "body colour", "varnish"),
        {**OWN, "sample": "S2", "position": 1, "role": "dirt"},
    ],
    "tests": [
        swab("T1", "water", ph=8, dwell_s=10),
        swab("T10", "water", ph=8, dwell_s=10, place="Z3"),
        swab("T2", "water", ph=8, dwell_s=60),
        swab("T3", "acetone", dwell_s=5, after_drying="no"),
        swab("T4", "ethanol", dwell_s=5),
        swab("T5", "ethanol", dwell_s=2),
    ],
    "responses": [
        {**OWN, "test": test, "scheme": "1", "role": role, "response": response}
        for test, role, response in (
            ("T1", "varnish", "none seen"),
            ("T10", "varnish", "none seen"),
            ("T2", "varnish", "swelled"),
            ("T3", "varnish", "removed"),
            ("T3", "body colour", "none seen"),
            ("T4", "varnish", "none seen"),
            ("T5", "varnish", "softened"),
        )
    ],
    "advice": [
        {**OWN, "advice": "A1", "what": "Leave the lock rail", "given_on": "2019-06", "place": "Z3"},
        {**OWN, "advice": "A2", "what": "Air the shed", "given_on": "2001", "place": "Z3", "until": "2005"},
    ],
}


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("door")
    survey = {"code": "D19", "title": "Doors", "lead": "A. Surveyor", "started": "2019-05-01"}
    package = write_package(folder / "p", survey, ROWS, files={"picture.png": png()})
    publish(database_of(folder / "a.db", package), folder / "out")
    return folder / "out"


@pytest.fixture(scope="module")
def grid(door: Path) -> ResponseGrid:
    (answer,) = get(door, "/object/DOOR.json")
    published = PublishedObject(answer.json())
    found = response_grid(published, published["tests"], Addresses(lambda path: path, "DOOR").record)
    assert found is not None
    return found


def test_the_grid_goes_from_mild_to_harsh_and_from_the_outermost_coat_inward(grid: ResponseGrid) -> None:
    """Water swelled at most, ethanol softened, acetone removed; ten seconds stand above sixty."""
    assert [column.name for column in grid.columns] == ["varnish", "body colour"]
    assert [(row.agent, row.used.split(",")[-2].strip()) for row in grid.rows] == [
        ("water", "10 s"),
        ("water", "60 s"),
        ("ethanol", "2 s"),
        ("ethanol", "5 s"),
        ("acetone", "5 s"),
    ]


def said(cell: Cell | None) -> Any:
    return None if cell is None else (cell.word, cell.level, cell.number, cell.wet)


def test_tests_under_equal_conditions_share_a_row_and_tell_the_worst(grid: ResponseGrid) -> None:
    by_row = {(row.agent, row.tests): [said(cell) for cell in row.cells] for row in grid.rows}
    by_codes = {tuple(code for code, _ in tests): cells for (_, tests), cells in by_row.items()}
    assert by_codes == {
        ("T1", "T10"): [("none seen", 0, 2, False), None],
        ("T2",): [("swelled", 2, 1, False), None],
        ("T5",): [("softened", 2, 1, False), None],
        ("T4",): [("none seen", 0, 1, False), None],
        ("T3",): [("removed", 4, 1, True), ("none seen", 0, 1, True)],
    }


def test_what_a_coat_stood_is_told_by_tests_that_prove_it(grid: ResponseGrid) -> None:
    """Ethanol did nothing in five seconds but softened in two, so the five prove nothing; what was looked at wet only
    proves nothing either, and the body colour has nothing to show."""
    (varnish,) = grid.limits
    assert (varnish.column.name, varnish.column.group) == ("varnish", "1")
    assert [[code for code, _ in tests] for _, tests in varnish.stood] == [["T1", "T10"]]
    assert {(word, *(code for code, _ in tests)) for _, word, tests in varnish.harmed} == {
        ("swelled", "T2"),
        ("softened", "T5"),
        ("removed", "T3"),
    }
    assert varnish.between == ("With water the limit lies in the time.",)


def test_the_grid_has_headers_that_a_screen_reader_reads(door: Path) -> None:
    (answer,) = get(door, "/object/DOOR/tests")
    table = re.search(r'<table class="grid">.*?</table>', answer.text, re.S)[0]
    assert re.findall(r'scope="(\w+)"', table) == ["col", "colgroup", "col", "col", *["row"] * 5]
    words = Page(table).words
    assert words.count("water") == 2  # named again for those who hear it
    assert "Maker's green" in words
    for code in ("T1", "T2", "T3", "T4", "T5", "T10"):
        assert f'id="tests-{code}"' in answer.text
        assert f"#tests-{code}" in table


def test_a_place_whose_sample_stops_short_was_looked_at(door: Path) -> None:
    upper, rail = get(door, "/object/DOOR/place/Z2", "/object/DOOR/place/Z3")
    assert "Looked at; sample S2 stops short of where the maker's finish would lie" in Page(upper.text).words
    assert "Nobody has looked" not in Page(upper.text).words
    assert "not reached: it stops short" in Page(upper.text).words
    assert "Nobody has looked here" in Page(rail.text).words


def test_a_part_tells_of_its_places_before_the_surface_beside_them(door: Path) -> None:
    """The leaf was looked at in its panels, so nobody may read that it was not."""
    (leaf,) = get(door, "/object/DOOR/place/LEAF")
    head = Page(re.search(r'<p class="lead">.*?</p>\n<p class="as-of">.*?</p>', leaf.text, re.S)[0]).words
    assert head.startswith("original exposed in 1 place not examined in 2 places")
    assert "Its surface beside these places: not examined. Nobody has looked here" in head


def test_advice_in_force_stands_before_everything_else_of_a_place(door: Path) -> None:
    (rail,) = get(door, "/object/DOOR/place/Z3")
    words = Page(rail.text).words
    assert words.index("Advice in force: “Leave the lock rail”") < words.index("What this rests on")
    assert words.index("Advice no longer in force") < words.index("Air the shed")


def test_codes_stand_as_people_count_on_every_page(door: Path) -> None:
    data, leaf, tests = get(door, "/object/DOOR.json", "/object/DOOR/place/LEAF", "/object/DOOR/tests")
    assert [row["sample"] for row in data.json()["samples"]] == ["S2", "S10"]
    assert [row["place"] for row in data.json()["survival"]["places"]] == ["LEAF", "Z2", "Z3", "Z10"]
    inner = Page(re.search(r'<section aria-labelledby="inner">.*?</section>', leaf.text, re.S)[0])
    assert [link.rpartition("/")[2] for link in inner.links()] == ["Z2", "Z3", "Z10"]
    listed = re.search(r'<table class="each">.*?</table>', tests.text, re.S)[0]
    assert re.findall(r'<tr id="tests-(\w+)"', listed) == ["T1", "T2", "T3", "T4", "T5", "T10"]
