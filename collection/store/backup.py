"""`backup`: a copy of a database with its files, made while others work on it, and looked through when it is made."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from collection.language.errors import CouldNot, WrongCommand
from collection.store.base import database, files, unfinished
from collection.store.check import damage_of_copy
from collection.store.derive import HowFar
from collection.store.schema.database_copy import copy_database

_OF_THE_SOURCE = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


@dataclass(frozen=True)
class BackupReport:
    """What was copied: the newest change in it, by number and day, its files, and bytes with them.

    `damage` is what is wrong with the copy, because it is wrong with what was copied. `leftovers` are those of killed
    backups and sites in the same folder, which were removed.
    """

    source: str
    copy: str
    change: int | None
    on: str | None
    files: int
    bytes: int
    damage: tuple[str, ...]
    leftovers: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {"format": 1, **asdict(self), "damage": list(self.damage), "leftovers": list(self.leftovers)}

    def sentences(self) -> list[str]:
        """What a registrar reads."""
        state = "with no change yet" if self.change is None else f"as of change {self.change} of {self.on}"
        folder = files.folder_of(self.copy)
        told = [
            f"{self.copy} is a copy of {self.source} {state}, with {self.files:,} files in {folder} "
            f"({self.bytes / 1e6:.1f} MB). {Path(self.copy).name} and {folder.name} belong together."
        ]
        if self.damage:
            told += [
                "The copy is as damaged as what was copied:",
                *(f"  {line}" for line in self.damage),
                f"Keep it, and your earlier copies; `firstcoat check {self.source}` says more.",
            ]
        else:
            told.append("It was looked through: the file, the chain of changes and every file are what was stored.")
        return told + [f"Removed what a killed run had left: {name}" for name in self.leftovers]


def backup(
    path: Path | str, out: Path | str, *, progress: Callable[[str], HowFar] = lambda what: lambda done, whole: None
) -> BackupReport:
    """Copy a database to `out`, and the files that it names to the folder beside that.

    The copy is one moment of the database, whoever writes meanwhile. It is built under another name beside its place,
    looked through there, and renamed, so that a kill leaves nothing that looks whole.

    :param progress: given what is counted, what is told how many of how many are done.
    :raises WrongCommand: when anything stands where the copy would go; nothing is ever overwritten.
    :raises CouldNot: when the database cannot be read, or the copy cannot be written. Nothing is left.
    :raises DamageFound: when the database cannot be read for damage, or its whole folder of files is missing.
    """
    path, out = Path(path), Path(out)
    with database.spoken(out), _of_the_source(path):
        leftovers = unfinished.clean(out.parent)
        refuse_taken(out, "a backup", path.name)
        with unfinished.unfinished(out) as folder:
            copy = folder / out.name
            with database.opened(path, write=False, any_version=True) as db:
                copy_database(db, copy, progress("pages copied"))
            with closing(database.open_still(copy)) as db:
                files.need_folder(db, path)
                number = copy_files(db, path, copy, progress("files copied"))
                damage = damage_of_copy(db, progress("files checked"))
                newest = db.execute("SELECT number, at FROM changes ORDER BY number DESC LIMIT 1").fetchone()
            size = sum(each.stat().st_size for each in (copy, *files.kept(copy)))
            unfinished.put_in_place(folder, files.folder_of(out), out)
    change, at = newest or (None, None)
    return BackupReport(str(path), str(out), change, at and at[:10], number, size, tuple(damage), leftovers)


def refuse_taken(out: Path, what: str, name: str = "collection.db") -> None:
    """Make sure that nothing stands where a database and its files are to go.

    :param what: what is to go there, as `name`, for what is said.
    :raises WrongCommand: when anything of it is taken; nothing is ever overwritten.
    :raises CouldNot: when there is no folder to put it into.
    """
    if out.is_dir():
        raise WrongCommand(f"{out} is a folder. Name the file too, such as {out / name}.")
    for taken in (out, files.folder_of(out), *(out.with_name(out.name + end) for end in ("-wal", "-shm", "-journal"))):
        if taken.exists() or taken.is_symlink():
            raise WrongCommand(
                f"{taken} is there already, and {what} overwrites nothing. Choose another name, such as one with "
                "the day in it."
            )
    if not out.parent.is_dir():
        raise CouldNot(f"There is no folder {out.parent} to copy into. Make it first.")


@contextmanager
def _of_the_source(path: Path) -> Iterator[None]:
    """Says of the database what is wrong with it; the rest is said of the copy."""
    try:
        yield
    except sqlite3.Error as error:
        if (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF in _OF_THE_SOURCE:
            raise database.sentence(error, path) from error
        raise


def copy_files(db: sqlite3.Connection, path: Path, copy: Path, progress: HowFar) -> int:
    """Copy every file that the copy names, as it is; gives how many there were."""
    target = files.folder_of(copy)
    target.mkdir()
    named = [sha256 for (sha256,) in db.execute("SELECT sha256 FROM files ORDER BY sha256")]
    there = 0
    for done, sha256 in enumerate(named, start=1):
        if (kept := files.path_of(path, sha256)).is_file():
            to = files.path_of(copy, sha256)
            to.parent.mkdir(exist_ok=True)
            shutil.copy2(kept, to)
            with to.open("rb") as file:
                os.fsync(file.fileno())
            there += 1
        progress(done, len(named))
    for folder in (*(each for each in target.iterdir() if each.is_dir()), target, target.parent):
        files.sync(folder)
    return there
