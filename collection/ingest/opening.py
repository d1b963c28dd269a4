"""What was handed in, told apart by what it is: the one door to every kind of survey package."""

from __future__ import annotations

from pathlib import Path

from collection.ingest.folder import open_folder
from collection.ingest.sheets import Source


def open_source(path: Path) -> Source:
    """The package at a path, its files hashed; no sheet is read yet.

    :raises WrongCommand: when there is none, or it is no survey package.
    :raises CouldNot: when it cannot be read.
    """
    return open_folder(path)
