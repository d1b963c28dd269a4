"""Looks an archive through: every byte of it, and the database inside."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from collection.language.errors import CouldNot, DamageFound
from collection.output.archive import bag
from collection.output.archive.archive import LABEL, README, WHOLE
from collection.output.archive.contents import DATABASE, GUARDS, LOADER, PUBLISHED, SCHEMA, TABLES
from collection.output.export.table_files import DESCRIPTION, ON_THE_WEB
from collection.store.check import LISTED, check
from collection.store.derive import HowFar

_NEEDED = (README, f"{TABLES}/{DESCRIPTION}", f"{TABLES}/{ON_THE_WEB}")
_OF_THE_WHOLE = (DATABASE, *(f"database/{name}" for name in (SCHEMA, GUARDS, LOADER)))


@dataclass(frozen=True)
class ArchiveFindings:
    """What is wrong with an archive: file by file, and within its database, in sentences; and what needs no action.

    `kind` is what the archive says it is; None where that cannot be read.
    """

    folder: Path
    kind: str | None
    files: tuple[bag.Finding, ...]
    database: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def damage(self) -> tuple[str, ...]:
        return (*(finding.sentence() for finding in self.files), *self.database)

    def of(self, *names: str) -> list[bag.Finding]:
        """What is wrong with these files of the payload, or with files in these folders, whose names end in /."""
        wanted = tuple(f"{bag.PAYLOAD}/{name}" for name in names)
        return [
            found
            for found in self.files
            if found.name in wanted or found.name.startswith(tuple(name for name in wanted if name.endswith("/")))
        ]


def check_archive(
    folder: Path | str, *, progress: Callable[[str], HowFar] = lambda what: bag.quiet, most: int = LISTED
) -> ArchiveFindings:
    """Look an archive through; nothing is changed.

    :param progress: given what is counted, what is told how many of how many are done.
    :param most: how many findings of one kind within the database are listed.
    :raises CouldNot: when the folder is no archive, cannot be read, or its database is of a newer firstcoat.
    """
    folder = Path(folder)
    if not bag.is_bag(folder):
        raise CouldNot(f"{folder} is no archive: `firstcoat archive` makes a folder with {bag.BAGIT} and data in it.")
    try:
        found = bag.damage(folder, progress("files read"))
    except OSError as error:
        raise CouldNot(f"{error.filename or folder} cannot be read: {error.strerror or error}.") from error
    kind = bag.said(folder).get(LABEL)
    if kind is None and not found:
        raise CouldNot(f"{folder} is a bag, and whole, but none that firstcoat made.")
    known = {finding.name for finding in found}
    if kind is None or bag.INFO in known:  # what it says it is cannot be relied on
        kind = WHOLE if f"{bag.PAYLOAD}/{DATABASE}" in known or (folder / bag.PAYLOAD / DATABASE).exists() else None
    for name in (*_NEEDED, *(_OF_THE_WHOLE if kind == WHOLE else (PUBLISHED,) if kind else ())):
        if not (folder / bag.PAYLOAD / name).is_file() and f"{bag.PAYLOAD}/{name}" not in known:
            found.append(bag.Finding(f"{bag.PAYLOAD}/{name}", "belongs to every archive of this kind, and is missing"))
    own, notes = _looked_through(folder, found, most) if kind == WHOLE else ((), ())
    return ArchiveFindings(folder, kind, tuple(found), own, notes)


def _looked_through(folder: Path, found: list[bag.Finding], most: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What `check` says of the database inside; of one whose file is not what was archived it says nothing more."""
    path = folder / bag.PAYLOAD / DATABASE
    if any(finding.name == f"{bag.PAYLOAD}/{DATABASE}" for finding in found):
        return (), ()
    try:
        report = check(path, most=most)
    except DamageFound as error:
        return (str(error),), ()
    return report.damage, report.notes
