"""Opens, closes and writes the database, and turns what SQLite says into a sentence that helps."""

from __future__ import annotations

import errno
import logging
import os
import re
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

from collection.language.errors import CouldNot, DamageFound, FirstcoatError, OurFault
from collection.store.base.chain import seal_open_changes
from collection.store.base.log import left_behind, log_of, log_stands, parts_of
from collection.store.schema import packaged
from collection.store.schema.migrate import APPLICATION_ID, MigrationReport, upgrade

BUSY_SECONDS = 5.0
CACHE_KIB = 16_384
WAL_LIMIT_BYTES = 64 * 1024 * 1024
SCRATCH_BYTES = 64 * 1024
NETWORK_DRIVES = frozenset(
    {
        "nfs",
        "nfs4",
        "cifs",
        "smb3",
        "smbfs",
        "fuse.sshfs",
        "fuse.smbnetfs",
        "9p",
        "afs",
        "ceph",
        "fuse.glusterfs",
        "ncpfs",
        "fuse.rclone",
        "davfs",
        "fuse.davfs",
    }
)
MOUNTS = Path("/proc/mounts")
LOG = logging.getLogger(__name__)
"""What people should know although the command did its work; it goes to stderr where nobody sends it elsewhere."""
_HEADER, _WAL_FORMAT = b"SQLite format 3\x00", 2


class Database(sqlite3.Connection):
    """A connection that knows its file, and whether it may write."""

    path: Path
    writable: bool


def create(path: Path | str, *, shared: bool = False) -> None:
    """Make a new, empty database of the newest version; `shared` picks a rollback journal.

    :raises CouldNot: when a file of that name holds anything, or the place cannot be written to.
    """
    path = Path(path)
    with spoken(path):
        if path.exists() and path.stat().st_size and not _unfinished(path):
            raise CouldNot(f"{path} exists already and was left as it is. Choose another name.")
        _refuse_network(path, shared, wal=True)
        made = not path.exists()
        try:
            db = _open(path, "rwc")
            try:
                db.execute(f"PRAGMA journal_mode = {'DELETE' if shared else 'WAL'}")
                upgrade(db, path=path)
            finally:
                close(db)
        except BaseException:
            if made:
                for part in parts_of(path):
                    part.unlink()
            raise


def migrate(path: Path | str, *, shared: bool = False) -> MigrationReport:
    """Bring the database at `path` to the newest version.

    :raises CouldNot: when it is missing, newer, another program's, locked, or a copy cannot be made.
    :raises DamageFound: when an applied migration is not the one known, or rows point to nothing.
    """
    path = Path(path)
    db = connect(path, write=True, shared=shared, any_version=True)
    try:
        with spoken(path):
            return upgrade(db, path=path)
    finally:
        close(db)


def connect(path: Path | str, *, write: bool, shared: bool = False, any_version: bool = False) -> Database:
    """Open a database: `isolation_level` is None, so that `writing` alone begins and ends transactions.

    A reader needs no write access, to the file or to its folder. `any_version` is for migrating and checking.

    :raises CouldNot: when it is missing, no database, another program's, newer, older, locked, or may not be
        written to; or lies on a network drive with a write-ahead log and `shared` is not set.
    :raises DamageFound: when SQLite finds it malformed.
    """
    path = Path(path)
    if not path.is_file():
        raise CouldNot(f"There is no database {path}. Check the name, or make one with `firstcoat init`.")
    with spoken(path):
        wal = _is_wal(path)
        _refuse_network(path, shared, wal)
        db = _open(path, "rw") if write else _open_to_read(path, wal)
        try:
            _check_identity(db, any_version)
            if write:
                if shared and wal:
                    db.execute("PRAGMA journal_mode = DELETE")
                _check_writable(db)
        except BaseException:
            db.close()
            raise
        return db


def close(db: sqlite3.Connection) -> None:
    """Close, after moving what the write-ahead log holds into the file itself.

    What was committed stands, whatever happens here. So it is no error when the disk is full, or a reader is still
    busy: the log stays beside the file, and `LOG` is told.

    :raises DamageFound: when SQLite finds the file malformed.
    """
    why = close_and_say(db)
    if why is not None:
        LOG.warning("Note: %s", log_stands(path_of(db), why))


def close_and_say(db: sqlite3.Connection) -> str | None:
    """Close as `close` does; gives the reason where a log with contents is left beside the file."""
    if not (isinstance(db, Database) and db.writable):
        db.close()
        return None
    why = "somebody else has it open"
    try:
        if db.in_transaction:
            db.execute("ROLLBACK")
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    except sqlite3.Error as error:
        if isinstance(found := sentence(error, db.path), DamageFound):
            raise found from error
        why = f"there is no room to move them into the file ({error})"
    finally:
        db.close()
    return why if log_of(db.path) is not None else None


@contextmanager
def opened(path: Path | str, *, write: bool, shared: bool = False, any_version: bool = False) -> Iterator[Database]:
    """`connect` for the length of a block."""
    db = connect(path, write=write, shared=shared, any_version=any_version)
    try:
        yield db
    finally:
        close(db)


@contextmanager
def writing(db: sqlite3.Connection) -> Iterator[None]:
    """One transaction that holds the write lock from the start; changes that are still open are sealed at its end.

    :raises CouldNot: when the database is locked, full or read-only; nothing was stored.
    :raises OurFault: when the schema refused what was written; nothing was stored.
    """
    if db.in_transaction:
        raise OurFault("A transaction was begun inside another one.")
    with spoken(path_of(db)):
        db.execute("BEGIN IMMEDIATE")
        try:
            yield
            seal_open_changes(db)
            db.execute("COMMIT")
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise


@contextmanager
def spoken(path: Path) -> Iterator[None]:
    """Turns the errors of SQLite and of the file system into sentences about `path`."""
    try:
        yield
    except FirstcoatError:
        raise
    except sqlite3.Error as error:
        raise sentence(error, path) from error
    except OSError as error:
        if is_of_no_room(error):
            raise CouldNot(_full(path)) from error
        raise CouldNot(f"{error.filename or path}: {error.strerror or error}. Nothing was changed.") from error


def is_of_no_room(error: Exception) -> bool:
    """Whether an error of SQLite or of the file system is that of a full disk, or of a quota."""
    if isinstance(error, OSError):
        return error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
    return isinstance(error, sqlite3.Error) and getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_FULL


def sentence(error: sqlite3.Error, path: Path) -> FirstcoatError:
    """An error of SQLite as a sentence for the person who works with the file."""
    # Extended codes carry the primary one in their low byte.
    code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return CouldNot(
            f"{path} is being written to by another program. Nothing was changed; try again when it is done."
        )
    if code == sqlite3.SQLITE_READONLY:
        return CouldNot(
            f"{path} or its folder may not be written to. Nothing was changed; ask for the right to "
            "write, or work on a copy."
        )
    if code == sqlite3.SQLITE_FULL or (code == sqlite3.SQLITE_IOERR and _has_no_room(path)):
        return CouldNot(_full(path))
    if code == sqlite3.SQLITE_NOTADB:
        return CouldNot(f"{path} is not a firstcoat database. Check the name; nothing was changed.")
    if code == sqlite3.SQLITE_CORRUPT:
        return DamageFound(
            f"{path} is damaged ({error}). Keep it as it is and restore from a copy; `firstcoat "
            f"check` says what is affected. {left_behind(path)}"
        )
    if code in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_IOERR):
        return CouldNot(
            f"{path} could not be read or written ({error}). Nothing was changed; check the disk and "
            "the rights to the folder."
        )
    if code == sqlite3.SQLITE_INTERRUPT:
        return CouldNot(f"The work on {path} was interrupted. Nothing was changed.")
    return OurFault(f"The database refused what firstcoat wrote ({error}). Nothing was stored; please report it.")


def _full(path: Path) -> str:
    return f"The disk that holds {path} is full. Nothing was changed; make room and try again."


def _has_no_room(path: Path) -> bool:
    """Whether there is less room than the scratch file takes that SQLite needs to open a file with a log."""
    return path.parent.exists() and shutil.disk_usage(path.parent).free < SCRATCH_BYTES


def path_of(db: sqlite3.Connection) -> Path:
    """The file of a connection."""
    if isinstance(db, Database):
        return db.path
    return Path(db.execute("SELECT file FROM pragma_database_list WHERE name = 'main'").fetchone()[0])


def network_drive(path: Path, mounts: Path = MOUNTS) -> str | None:
    """The kind of network drive that a path lies on, as the mount table names it; None for a local disk.

    Only Linux has this table. Elsewhere nothing is known, and the answer is None.
    """
    if not mounts.is_file():
        return None
    target = os.fspath(path.parent.resolve() / path.name)
    best, kind = "", None
    for line in mounts.read_text(encoding="utf-8", errors="surrogateescape").splitlines():
        fields = line.split(" ")
        if len(fields) < 3:
            continue
        where = re.sub(r"\\([0-7]{3})", lambda match: chr(int(match[1], 8)), fields[1])
        inside = target == where or target.startswith(where.rstrip("/") + "/")
        if inside and len(where) >= len(best):
            best, kind = where, fields[2]
    return kind if kind in NETWORK_DRIVES else None


def _refuse_network(path: Path, shared: bool, wal: bool) -> None:
    if shared or not wal:
        return
    kind = network_drive(path)
    if kind is not None:
        raise CouldNot(
            f"{path} lies on a network drive ({kind}), where two programs could damage it. Work on a local disk, or run "
            f"`firstcoat {'migrate' if path.exists() else 'init'} {path} --shared` once: it is slower from then on, and "
            "one writer shuts out every reader."
        )


def _open(path: Path, mode: str, extra: str = "") -> Database:
    uri = f"file:{quote(os.fspath(path.absolute()))}?mode={mode}{extra}"
    db = sqlite3.connect(uri, uri=True, isolation_level=None, timeout=BUSY_SECONDS, factory=Database)
    db.path, db.writable = path, mode != "ro"
    try:
        _set_up(db)
    except BaseException:
        db.close()
        raise
    return db


def _set_up(db: Database) -> None:
    for pragma in (
        "foreign_keys = ON",
        "recursive_triggers = ON",
        "synchronous = FULL",
        f"cache_size = -{CACHE_KIB}",
        "temp_store = FILE",
        f"journal_size_limit = {WAL_LIMIT_BYTES}",
    ):
        db.execute(f"PRAGMA {pragma}")
    # Only a look into the file shows whether it can be read at all.
    db.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone()


def _open_to_read(path: Path, wal: bool) -> Database:
    try:
        db = _open(path, "ro")
    except sqlite3.OperationalError as error:
        code = (error.sqlite_errorcode or 0) & 0xFF
        if not wal or code not in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_IOERR):
            raise
        # A file in write-ahead mode needs a scratch file beside it even to be read. Where none can be made,
        # the file itself is all there is, unless a log was left behind.
        log = log_of(path)
        if log is not None:
            raise CouldNot(
                f"{path} cannot be read here: its last changes are in {log.name}, and nothing can be written beside "
                "it, because the disk is full or the folder may not be written to. Copy both to another folder and "
                "read them there."
            ) from error
        return open_still(path)
    return db


def open_still(path: Path) -> Database:
    """Open a file that nobody writes to, to read it without a lock and without a scratch file beside it."""
    return _open(path, "ro", "&immutable=1")


def _is_wal(path: Path) -> bool:
    with path.open("rb") as file:
        header = file.read(20)
    return len(header) == 20 and header.startswith(_HEADER) and header[18] == _WAL_FORMAT


def _unfinished(path: Path) -> bool:
    """Whether the file is a database with nothing in it yet, such as an interrupted `init` leaves behind."""
    with path.open("rb") as file:
        if not file.read(16).startswith(_HEADER):
            return False
    db = _open(path, "rw")
    try:
        tables = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        return bool(tables == 0 and db.execute("PRAGMA application_id").fetchone()[0] in (0, APPLICATION_ID))
    finally:
        db.close()


def _check_identity(db: Database, any_version: bool) -> None:
    path = db.path
    if db.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise CouldNot(f"{path} is a database of another program, not of firstcoat. Nothing was changed.")
    version, newest = db.execute("PRAGMA user_version").fetchone()[0], packaged.newest_version()
    if version > newest:
        raise CouldNot(
            f"{path} has schema version {version}; this firstcoat knows versions up to {newest}. Install "
            "a newer firstcoat; nothing was changed."
        )
    if version < newest and not any_version:
        raise CouldNot(
            f"{path} has schema version {version}, this firstcoat works with {newest}. Run `firstcoat "
            f"migrate {path}`: it keeps a copy of the old file."
        )


def _check_writable(db: Database) -> None:
    if not os.access(db.path, os.W_OK) or not os.access(db.path.parent.resolve(), os.W_OK):
        raise CouldNot(
            f"{db.path} or its folder may not be written to. Nothing was changed; ask for the right to "
            "write, or work on a copy."
        )
