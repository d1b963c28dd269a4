"""Where the packaged files are: inside the installed wheel, or beside the package in a checkout."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from collection.language.errors import OurFault


@cache
def schema_folder() -> Traversable:
    """The folder of migrations, dictionary and reference tables.

    :raises OurFault: when neither the wheel nor a checkout holds it; nothing has been opened yet.
    """
    return _find("_schema", "schema", "migrations")


@cache
def sample_folder() -> Traversable:
    """The folder of the invented sample survey that `firstcoat demo` uses.

    :raises OurFault: when neither the wheel nor a checkout holds it.
    """
    return _find("_sample_db", "sample_db", "harbour")


def schema_file(name: str) -> Traversable:
    """One file below the schema folder, named with forward slashes (`reference/solvents.csv`)."""
    found = schema_folder()
    for part in name.split("/"):
        found = found.joinpath(part)
    return found


def _find(packaged: str, beside: str, holds: str) -> Traversable:
    checkout = Path(__file__).resolve().parents[2] / beside
    # An editable install also leaves a snapshot of the packaged copy in site-packages; the checkout
    # wins the import there, so the folder beside the package is the one that is current.
    inside = files("collection").joinpath(packaged)
    for folder in (inside, checkout):
        if folder.is_dir() and folder.joinpath(holds).is_dir():
            return folder
    raise OurFault(f"The installation is incomplete: its folder {beside!r} is missing. Install firstcoat again.")
