"""The sample surveys, three of their objects prepared for a blank survey, and an empty blank workbook."""

from __future__ import annotations

import shutil
from pathlib import Path

import openpyxl
import pytest
from blank_forms import HORSE, PUMP, TRAM, harbour, prepared

from collection.ingest.blank import blank_survey
from collection.ingest.blank.contents import Blank
from collection.store.base import files


@pytest.fixture(scope="module")
def known_db(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return harbour(tmp_path_factory.mktemp("known") / "collection.db")


@pytest.fixture(scope="module")
def full(known_db: Path) -> Blank:
    return prepared(known_db, TRAM, PUMP, HORSE)


@pytest.fixture
def db(tmp_path: Path, known_db: Path) -> Path:
    """A database of one's own with the sample surveys in it."""
    copy = tmp_path / "own.db"
    shutil.copy(known_db, copy)
    shutil.copytree(files.folder_of(known_db), files.folder_of(copy))
    return copy


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> openpyxl.Workbook:
    path = tmp_path_factory.mktemp("book") / "blank.xlsx"
    blank_survey.write(blank_survey.empty(), path)
    return openpyxl.load_workbook(path)
