"""The reports of the invented harbour collection, as plain data and on paper."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from told_texts import told_of

from collection.output.published.audience import PUBLIC, STAFF
from collection.output.report.about import about_papers
from collection.output.report.object_report import report_pdf
from collection.output.site.computed_objects import told_object
from collection.store.base.database import opened

Told = dict[str, Any]
TRAM, NAME_BOARD = "OHM-1962-7", "OHM-1952-11"


@pytest.fixture(scope="session")
def tram(harbour: Path, tmp_path_factory: pytest.TempPathFactory) -> Told:
    """The report of the tram for staff: of the sample's objects the one with most on record."""
    return told_of(harbour, TRAM, STAFF, tmp_path_factory.mktemp("tram"))


@pytest.fixture(scope="session")
def tram_for_all(harbour: Path, tmp_path_factory: pytest.TempPathFactory) -> Told:
    return told_of(harbour, TRAM, PUBLIC, tmp_path_factory.mktemp("tram_for_all"))


@pytest.fixture(scope="session")
def name_board(harbour: Path, tmp_path_factory: pytest.TempPathFactory) -> Told:
    """The report of an object that nobody could reach."""
    return told_of(harbour, NAME_BOARD, STAFF, tmp_path_factory.mktemp("board"))


@pytest.fixture(scope="session")
def printed(harbour: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], bytes]:
    """Makes a report for staff as PDF."""

    def made(code: str) -> bytes:
        folder = tmp_path_factory.mktemp("printed")
        with opened(harbour, write=False) as connection:
            published = told_object(connection, harbour, code, STAFF, folder)
            return report_pdf(published, folder, about_papers(connection, STAFF))

    return made
