"""What a new page of an object needs beside its route; each test says which page lacks it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from firstcoat_site import object_routes, request_filter
from site_answers import pages_without_codes

BROWSER = Path(__file__).resolve().parents[1] / "builders" / "browsing.py"
PAGES = [pattern for pattern, _ in object_routes.ROUTES if not re.search(r"\.(json|svg|pdf)\$$", pattern)]


def address(pattern: str) -> str:
    """An address that a route answers, with X1 for every code."""
    return re.sub(r"\(\?P<\w+>\[[^]]*\]\+\)", "X1", pattern).removeprefix("^").removesuffix("$").replace(r"\.", ".")


def test_the_pages_are_found_in_the_routes() -> None:
    assert [address(pattern) for pattern in PAGES][:2] == ["/object/X1", "/object/X1/place/X1"]
    assert pages_without_codes()[:2] == ["timeline", "tests"]


@pytest.mark.parametrize("pattern", PAGES, ids=address)
def test_a_page_is_let_through_as_html_and_as_json(pattern: str) -> None:
    for wanted in (address(pattern), f"{address(pattern)}.json"):
        assert request_filter.is_allowed(wanted, tables=False), f"{wanted} is refused before it reaches its route"


@pytest.mark.parametrize("pattern", PAGES, ids=address)
def test_a_page_is_looked_at_in_a_browser(pattern: str) -> None:
    listed = BROWSER.read_text(encoding="utf-8").partition("\nPAGES = {")[2].partition("\n}")[0]
    tried = re.findall(r'": f?"([^"?]*)', listed.replace("{OBJECT}", "object/OHM"))
    assert any(re.fullmatch(pattern.removeprefix("^/"), path) for path in tried), (
        f"No page like {address(pattern)} stands in PAGES of tests/builders/browsing.py"
    )
