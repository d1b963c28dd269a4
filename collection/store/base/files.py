"""Pictures, drawings and packages, kept beside the database, each once under the SHA-256 of its content.

The folder is `NAME.files`, and a file in it `ab/cdef…`. A file is safely on the disk before the transaction that names
it ends. So a kill can leave a file that nothing names, but never a name without its file.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from collection.language.errors import CouldNot, DamageFound
from collection.store.base import database

BLOCK = 1024 * 1024
_NAME = re.compile(r"[0-9a-f]{2}/[0-9a-f]{62}")


def folder_of(db_path: Path | str) -> Path:
    """The folder of a database's files."""
    db_path = Path(db_path)
    return db_path.with_name(db_path.name + ".files")


def path_of(db_path: Path | str, sha256: str) -> Path:
    """Where the file with this hash is kept, whether or not it is there."""
    return folder_of(db_path) / sha256[:2] / sha256[2:]


def put(db_path: Path | str, content: Path | bytes, sha256: str | None = None) -> str:
    """Store a file and return its hash; an intact copy that is there already is left alone.

    :param sha256: the hash it had when it was read; another one now is a fault.
    :raises CouldNot: when it cannot be read or written, or has changed since it was read; nothing is kept.
    """
    with database.spoken(Path(db_path)):
        known = sha256 or (hashlib.sha256(content).hexdigest() if isinstance(content, bytes) else hash_of(content))
        target = path_of(db_path, known)
        if target.is_file() and hash_of(target) == known:
            return known
        target.parent.mkdir(parents=True, exist_ok=True)
        partial = target.with_name(f"{target.name}.{os.getpid()}.partial")
        try:
            with partial.open("wb") as file:
                written = _copy(content, file)
                file.flush()
                os.fsync(file.fileno())
            if written != known:
                raise CouldNot(
                    f"{content if isinstance(content, Path) else 'A file'} changed while it was read. "
                    "Nothing was stored; try again."
                )
            os.replace(partial, target)
        finally:
            partial.unlink(missing_ok=True)
        for folder in (target.parent, target.parent.parent, target.parent.parent.parent):
            sync(folder)
        return known


OF_THE_WITHDRAWN = (
    "EXISTS (SELECT 1 FROM main.changes AS c JOIN main.surveys AS y ON y.code = c.subject "
    "WHERE c.number = u.change AND c.action IN ('ingest', 'amend') AND y.withdrawn IS NOT NULL)"
)
"""Whether a use `u` of a file came with a survey that was withdrawn since, as SQL. A record's file is that of its newest use
by a survey in account; of a record that is out of account itself, the newest."""


def hash_of(path: Path) -> str:
    """The SHA-256 of a file, read in blocks."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def read_file(db_path: Path | str, sha256: str) -> bytes:
    """The content of a kept file.

    :raises DamageFound: when it is missing or no longer what was stored.
    """
    path = path_of(db_path, sha256)
    if not path.is_file():
        raise DamageFound(
            f"The file {path.parent.name}/{path.name} is missing from {folder_of(db_path)}. Restore it from a copy."
        )
    content = path.read_bytes()
    if hashlib.sha256(content).hexdigest() != sha256:
        raise DamageFound(
            f"The file {path.parent.name}/{path.name} in {folder_of(db_path)} is no longer what was "
            "stored. Restore it from a copy."
        )
    return content


def kept(db_path: Path | str) -> Iterator[Path]:
    """Every file in the folder, in order."""
    folder = folder_of(db_path)
    if folder.is_dir():
        yield from sorted(path for path in folder.rglob("*") if path.is_file())


def need_folder(db: sqlite3.Connection, db_path: Path | None = None) -> None:
    """Make sure that a database which names files has its folder of files beside it.

    :param db_path: where it stands, where that is not what `db` has open.
    :raises DamageFound: when not one of the files is there, as after the database was copied alone.
    """
    db_path = db_path or database.path_of(db)
    if (line := forgotten_folder(db, db_path)) is not None:
        raise DamageFound(line)


def forgotten_folder(db: sqlite3.Connection, db_path: Path) -> str | None:
    """The sentence for a database that was copied without its files; None where any of them is there."""
    named = [sha256 for (sha256,) in db.execute("SELECT sha256 FROM files")]
    if not named or any(path_of(db_path, sha256).is_file() for sha256 in named):
        return None
    folder = folder_of(db_path)
    return (
        f"{db_path} has no folder {folder.name} beside it ({len(named):,} files are named): copy it too."
        if not folder.is_dir()
        else f"The folder {folder} holds none of the {len(named):,} files that {db_path.name} names: copy it again, whole."
    )


def orphans(db: sqlite3.Connection) -> list[Path]:
    """Files that no record of the database names: left by a kill, or put there by somebody else."""
    db_path = database.path_of(db)
    folder = folder_of(db_path)
    known = {sha256 for (sha256,) in db.execute("SELECT sha256 FROM files")}
    found = []
    for path in kept(db_path):
        name = path.relative_to(folder).as_posix()
        if _NAME.fullmatch(name) is None or name.replace("/", "") not in known:
            found.append(path)
    return found


def _copy(content: Path | bytes, target: BinaryIO) -> str:
    if isinstance(content, bytes):
        target.write(content)
        return hashlib.sha256(content).hexdigest()
    digest = hashlib.sha256()
    with content.open("rb") as source:
        while block := source.read(BLOCK):
            digest.update(block)
            target.write(block)
    shutil.copystat(content, Path(target.name), follow_symlinks=True)
    return digest.hexdigest()


def sync_tree(folder: Path) -> None:
    """Make a folder and everything in it last."""
    for path in folder.rglob("*"):
        sync(path)
    sync(folder)


def sync(path: Path) -> None:
    """Make what was put into a folder, or renamed in it, or written to a file, last."""
    # Windows opens no folders, and needs no such call.
    if os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
