"""A survey package tried without a database."""

from __future__ import annotations

from pathlib import Path

from collection.ingest.trial import try_package
from collection.language.errors import Fault


def check_package(package: Path) -> list[Fault]:
    """What is doubtful in a package, and what only a database could tell.

    :raises InputRefused: when the package has faults.
    """
    tried = try_package(package)
    return [*tried.warnings, *tried.asked]
