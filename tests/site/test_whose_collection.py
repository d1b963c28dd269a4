"""Whose collection it is, on the pages of its site: name, contact, licence, and the lasting address where it has one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from site_answers import get
from small_package import package

from collection.ingest.load import ingest
from collection.output.site.publish import publish
from collection.output.site.serve import make_datasette
from collection.store.changes import collection_row

BY, WHY = "R. Registrar", "as the board decided"
SAID = {
    "code": "HM",
    "name": "Harbour Museum",
    "contact": "the registrar, 3 Quay Street",
    "licence": "CC0-1.0",
    "address": "https://harbour.example/objects",
}
SERVED = "http://127.0.0.1:8001/"


@pytest.fixture
def stored(db: Path, tmp_path: Path) -> Path:
    ingest(db, package(tmp_path / "survey"))
    return db


def pages(site: Path) -> tuple[str, str, str]:
    """The start page, one object's page, and what the site says of itself."""
    served = make_datasette(site, threads=0, address=SERVED)
    listed, told = get(site, "/index.json", "/about.json", datasette=served)
    code = listed.json()["objects"][0]["object"]
    start, page = get(site, "/", f"/object/{code}", datasette=served)
    return start.text, page.text, json.dumps(told.json()["about"])


def test_every_page_names_the_collection_and_cites_by_its_lasting_address(stored: Path, tmp_path: Path) -> None:
    """Wherever the site happens to be served from."""
    collection_row.state(stored, SAID, BY, WHY)
    publish(stored, tmp_path / "site")
    start, page, told = pages(tmp_path / "site")
    for text in (start, page):
        assert "Harbour Museum. To ask: the registrar, 3 Quay Street. Records: CC0-1.0." in text
    assert "Harbour Museum: 1 object," in start
    assert "; Harbour Museum; records as of change 2 of" in page
    assert "https://harbour.example/objects/object/" in page
    assert SERVED not in page
    assert '"collection_code": "HM"' in told


def test_an_address_that_is_given_counts_for_that_site(stored: Path, tmp_path: Path) -> None:
    collection_row.state(stored, SAID, BY, WHY)
    publish(stored, tmp_path / "site", address="https://mirror.example/")
    assert "https://mirror.example/object/" in pages(tmp_path / "site")[1]


def test_the_inner_site_is_not_cited_by_the_public_address(stored: Path, tmp_path: Path) -> None:
    """What is for staff only has no page there."""
    collection_row.state(stored, SAID, BY, WHY)
    publish(stored, tmp_path / "site", staff=True)
    page = pages(tmp_path / "site")[1]
    assert "https://harbour.example" not in page
    assert SERVED in page


def test_nothing_is_said_where_nothing_is_recorded(stored: Path, tmp_path: Path) -> None:
    publish(stored, tmp_path / "site")
    start, page, told = pages(tmp_path / "site")
    for text in (start, page):
        assert "To ask:" not in text
        assert "Records:" not in text
    assert "collection_" not in told
