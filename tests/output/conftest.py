"""A database with secrets and the sites published from it; the invented collection as a site and as linked data."""

from __future__ import annotations

from pathlib import Path

import pytest
from linked_graphs import Exported, graph
from published_secrets import filled_in_database
from rdflib import Graph
from site_answers import harbour_site

from collection.output.export.linked_art.folder import export_linked_art
from collection.output.site.publish import publish

HOST = "https://collection.example/"


@pytest.fixture(scope="session")
def filled_in(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return filled_in_database(tmp_path_factory.mktemp("filled_in"))


@pytest.fixture(scope="session")
def site(filled_in: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("site") / "out"
    publish(filled_in, out)
    return out


@pytest.fixture(scope="session")
def staff_site(filled_in: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("staff") / "out"
    assert publish(filled_in, out, staff=True).withheld == {}
    return out


@pytest.fixture(scope="session")
def harbour_pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The published site of both surveys; the database lies beside it as `harbour.db`. For reading only."""
    return harbour_site(tmp_path_factory.mktemp("harbour"))


@pytest.fixture(scope="session")
def exported(harbour_pages: Path) -> Exported:
    """The same collection as linked data for the public, with its address."""
    folder = harbour_pages.parent / "linked"
    export_linked_art(harbour_pages.parent / "harbour.db", folder, address=HOST)
    texts = {path.name: path.read_text("utf-8") for path in sorted((folder / "objects").iterdir())}
    return Exported(folder, texts)


@pytest.fixture(scope="session")
def whole(exported: Exported) -> Graph:
    """The graph of all its objects together; for reading only."""
    return graph(*exported.texts.values())
