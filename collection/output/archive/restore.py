"""`restore`: the database of an archive, made again with its files, equal row by row to the one that was archived."""

from __future__ import annotations

import csv
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from collection.language.errors import CouldNot, DamageFound, WrongCommand
from collection.output.archive import bag
from collection.output.archive.archive import SOME, WHOLE
from collection.output.archive.checked import ArchiveFindings, check_archive
from collection.output.archive.contents import DATABASE, GUARDS, SCHEMA, TABLES
from collection.store.backup import copy_files, refuse_taken
from collection.store.base import database, files, unfinished
from collection.store.check import check
from collection.store.derive import HowFar
from collection.store.load_tables import load_tables
from collection.store.schema import packaged

_LISTED = 20
_PUBLISHED = (
    "is made from what is published for {0}: it holds no history, so no database can be made of it again. Restore from an "
    "archive of the whole collection, which `firstcoat archive DB OUT` makes"
)


@dataclass(frozen=True)
class RestoreReport:
    """What was restored: the newest change in it, the version of its schema, how many files, and bytes with them.

    `from_tables` says that the SQLite file of the archive was damaged, and the database was made of its tables. `damage` is
    what is wrong with other parts of the archive. `leftovers` are those of killed work in the same folder.
    """

    archive: str
    database: str
    change: int | None
    on: str | None
    version: int
    newest_version: int
    files: int
    bytes: int
    from_tables: bool
    damage: tuple[str, ...]
    leftovers: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {"format": 1, **asdict(self)}

    def sentences(self) -> list[str]:
        """What a registrar reads."""
        state = "with no change yet" if self.change is None else f"as of change {self.change} of {self.on}"
        folder = files.folder_of(self.database)
        told = [
            f"{self.database} is the database of {self.archive} {state}, with {self.files:,} files in {folder} "
            f"({self.bytes / 1e6:.1f} MB). It was looked through: it is what was archived, history and checksums included."
        ]
        if self.version < self.newest_version:
            told.append(
                f"Its schema has version {self.version}, this firstcoat works with {self.newest_version}: it is as it was "
                f"archived. Next: firstcoat migrate {self.database}, which keeps a copy of it."
            )
        if self.from_tables:
            told.append(
                "The SQLite file in the archive is damaged. The database was made of its tables, which are whole and hold "
                "every row."
            )
        if self.damage:
            told += [
                "The archive is damaged. Nothing that the database rests on is, but for what is said above:"
                if self.from_tables
                else "The archive is damaged, but in nothing that the database rests on:",
                *(f"  {line}" for line in _few(self.damage)),
                "Make a new archive, and keep this one until then.",
            ]
        return told + [f"Removed what a killed run had left: {name}" for name in self.leftovers]


def restore(
    archive: Path | str, db_path: Path | str, *, progress: Callable[[str], HowFar] = lambda what: bag.quiet
) -> RestoreReport:
    """Make the database of an archive again, as it was archived, of whatever version.

    The archive is looked through first, and the database at the end; it takes its name when it is whole. Where the SQLite
    file of the archive is damaged, and its tables are not, it is made of these. Damage to pages or papers is told.

    :param progress: given what is counted, what is told how many of how many are done.
    :raises WrongCommand: when anything stands where the database would go; or the archive is one of what is published.
    :raises DamageFound: when anything is damaged that the database rests on.
    :raises CouldNot: when the folder is no archive, is of a newer firstcoat, or cannot be read or written. Nothing is left.
    """
    archive, db_path = Path(archive), Path(db_path)
    if not bag.is_bag(archive):
        raise CouldNot(f"{archive} is no archive: `firstcoat archive` makes a folder with {bag.BAGIT} and data in it.")
    with database.spoken(db_path):
        leftovers = unfinished.clean(db_path.parent)
        refuse_taken(db_path, "a restored database")
        findings = check_archive(archive, progress=progress)
        _refuse_published(archive, findings.kind)
        from_tables = _from_tables(findings)
        data = archive / bag.PAYLOAD
        with unfinished.unfinished(db_path) as folder:
            copy = folder / db_path.name
            if from_tables:
                _made_of_tables(data, copy)
            else:
                shutil.copyfile(data / DATABASE, copy)
            with closing(database.open_still(copy)) as db:
                number = copy_files(db, data / DATABASE, copy, progress("files copied"))
                newest = db.execute("SELECT number, at FROM changes ORDER BY number DESC LIMIT 1").fetchone()
                version = int(db.execute("PRAGMA user_version").fetchone()[0])
            if damage := check(copy).damage:
                raise DamageFound(
                    f"What was made of {archive} is not what was archived, and was removed: {' '.join(_few(damage))}"
                )
            _ready_for_work(copy, db_path)
            size = sum(path.stat().st_size for path in (copy, *files.kept(copy)))
            unfinished.put_in_place(folder, files.folder_of(db_path), db_path)
    change, at = newest or (None, None)
    return RestoreReport(
        str(archive),
        str(db_path),
        change,
        at and at[:10],
        version,
        packaged.newest_version(),
        number,
        size,
        from_tables,
        findings.damage,
        leftovers,
    )


def _refuse_published(archive: Path, kind: str | None) -> None:
    if kind in (WHOLE, None):
        return
    if kind == SOME:
        raise WrongCommand(
            f"{archive} holds some objects only, as they are published for staff, and no history: no database can be made of "
            "it again. To hand over records that `ingest` takes in, `firstcoat export DB OUT --as package` writes all of a "
            "collection; to keep everything, archive without --object."
        )
    raise WrongCommand(f"{archive} {_PUBLISHED.format('the public')}.")


def _from_tables(findings: ArchiveFindings) -> bool:
    """Whether the database has to be made of the tables, because the SQLite file is damaged and they are not.

    :raises DamageFound: when what the database rests on is damaged.
    """
    of_the_file = bool(findings.of(DATABASE))
    tables = findings.of(f"{TABLES}/", f"database/{SCHEMA}", f"database/{GUARDS}")
    kept = [found for found in findings.of(f"{DATABASE}.files/") if not found.is_added]
    spoiled = {found.name for found in findings.files}
    attested = not (spoiled.issuperset(bag.LISTS) or spoiled.issuperset(bag.TAG_LISTS))
    if attested and not (kept or findings.database or (of_the_file and tables)):
        return of_the_file
    raise DamageFound(
        f"{findings.folder} is damaged, and nothing was restored. Restore from another copy of it. "
        f"{' '.join(_few(findings.damage))} Where there is no other, database/collection.db in data and the folder beside "
        "it, copied together, are a database; `firstcoat check` says what of it still stands."
    )


def _made_of_tables(data: Path, copy: Path) -> None:
    try:
        load_tables(data, copy)
    except (ValueError, KeyError, csv.Error, sqlite3.DatabaseError) as error:
        if database.is_of_no_room(error):
            raise
        raise DamageFound(
            f"The SQLite file in {data} is damaged, and no database can be made of the tables either ({error})."
        ) from error


def _ready_for_work(copy: Path, db_path: Path) -> None:
    """Let readers and a writer work at once, as in every new database; on a network drive that would not be safe."""
    if database.network_drive(db_path) is None:
        with closing(sqlite3.connect(copy)) as db:
            db.execute("PRAGMA journal_mode = WAL")
    files.sync(copy)


def _few(lines: tuple[str, ...] | list[str]) -> list[str]:
    more = len(lines) - _LISTED
    return [*lines[:_LISTED], *([f"… and {more:,} more; `firstcoat check` lists them."] if more > 0 else [])]
