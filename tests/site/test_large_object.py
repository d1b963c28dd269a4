"""An object with 120 samples and 2,000 layers, the size for which the design sets the bar of its pages."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from large_object import CODE, large_object, large_package
from site_answers import Page, get
from site_packages import database_of

from collection.output.site.publish import publish

pytestmark = pytest.mark.slow

PAGES = (
    "",
    "/stratigraphy",
    "/timeline",
    "/tests",
    "/records",
    "/place/P0",
    "/place/P0-Z1",
    "/sample/S1",
    "/proposal/Q0",
)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("large")
    publish(database_of(folder / "large.db", large_package(folder / "package")), folder / "out")
    return folder / "out"


def test_every_page_of_it_answers(large: Path) -> None:
    asked = [f"/object/{CODE}{page}{end}" for page in PAGES for end in ("", ".json")]
    assert {path: answer.status_code for path, answer in zip(asked, get(large, *asked), strict=True)} == dict.fromkeys(
        asked, 200
    )


def test_its_stratigraphy_holds_every_coat(large: Path) -> None:
    (answer,) = get(large, f"/object/{CODE}/stratigraphy.json")
    coats = [row for row in large_object()["layers"] if row["role"] != "support"]
    assert len(answer.json()["coats"]) == len(coats) > 1900


def test_a_part_with_many_samples_shows_a_few_and_says_how_many_more(large: Path) -> None:
    """Thirty samples on ten panels: a few of different panels are drawn, all are listed, a line for each panel."""
    (answer,) = get(large, f"/object/{CODE}/place/P0")
    page = Page(answer.text)
    drawn = re.findall(r"Build-up of sample (S[0-9]+)", answer.text)
    panels = {(int(code[1:]) - 1) % 40 for code in drawn}
    assert 2 <= len(set(drawn)) == len(panels) <= 12
    assert f"{30 - len(set(drawn))} more samples were read here" in page.words
    assert all(any(link.endswith(f"/sample/S{n}") for link in page.links()) for n in (1, 41, 81))
    # One drawn stack is worth several kB; a phone gets the page in a second all the same.
    assert len(answer.content) < 60_000


def test_its_stratigraphy_is_a_short_page(large: Path) -> None:
    """Four campaigns in 120 samples: four rows, and no more than a phone may be asked to load. Samples stand in the
    order in which people count."""
    (page,) = get(large, f"/object/{CODE}/stratigraphy")
    rows = re.findall(r'<tr><th scope="row">(.*?)</th>', page.text, re.DOTALL)
    assert [re.sub("<.*?>|\\s+", " ", row).split()[:2] for row in rows] == [
        ["fourth", "blue"],
        ["third", "red"],
        ["second", "cream"],
        ["first", "green"],
    ]
    assert "the maker's finish" in rows[-1].replace("&#39;", "'")
    assert len(page.content) < 200_000
    assert not re.search(r"firstcoat correct|DB layers", page.text), "no command lines on a public page"
    first = page.text[page.text.index('class="found"') :].split("</p>")[0]
    codes = re.findall(r">(S\d+)</a>", first.split("Not in")[0])
    assert codes == sorted(codes, key=lambda code: int(code[1:]))
    assert "S2" in codes
    assert "S10" in codes
