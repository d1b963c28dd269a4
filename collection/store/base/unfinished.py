"""Work that is built beside its place and put there when it is whole; and what killed work has left behind.

What becomes NAME is built in a folder `.NAME.unfinished-…` beside it. A lock in that folder tells work that goes on from
work that was killed: it is SQLite's own lock on a file, which ends with the process that holds it.
"""

from __future__ import annotations

import ctypes
import os
import re
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from collection.language.errors import CouldNot
from collection.store.base.files import sync

LOCK, MOVING, REPLACED = "lock", "moving", "replaced"
_FOLDER = re.compile(r"\.(.+)\.unfinished-[a-z0-9_]{8}")
_EXCHANGE, _HERE = 2, -100
"""RENAME_EXCHANGE and AT_FDCWD of renameat2(2)."""


@contextmanager
def unfinished(target: Path) -> Iterator[Path]:
    """A folder of its own beside `target` to build in; whatever is in it at the end is removed."""
    folder = Path(tempfile.mkdtemp(prefix=f".{target.name}.unfinished-", dir=target.parent))
    try:
        with closing(_locked(folder)):
            yield folder
    finally:
        _remove(folder)


def clean(parent: Path) -> tuple[str, ...]:
    """Remove what killed work has left in a folder; gives the names of what was removed.

    What is still being worked on stays, and what is not ours. A thing that a kill caught between its old and its new
    self is put back as it was.
    """
    removed = []
    for folder in sorted(parent.glob(".*.unfinished-*")):
        named = _FOLDER.fullmatch(folder.name)
        if named is None or folder.is_symlink() or not folder.is_dir():
            continue
        if not (folder / LOCK).exists():
            if not any(folder.iterdir()):
                folder.rmdir()
            continue
        try:
            held = _locked(folder)
        except sqlite3.OperationalError:
            continue
        with closing(held):
            _undo(folder, parent / named[1])
            _remove(folder)
        removed.append(str(folder))
    return tuple(removed)


def put_in_place(folder: Path, *targets: Path) -> None:
    """Move what stands in the folder under the targets' names to its places; the last of them makes it whole.

    :raises CouldNot: when something stands there by now.
    """
    (folder / MOVING).write_text("".join(f"{target.name}\n" for target in targets[:-1]), "utf-8")
    for target in targets:
        if target.exists():
            raise CouldNot(f"Somebody has put {target} there meanwhile. It was left as it is; choose another name.")
        os.rename(folder / target.name, target)
    sync(targets[-1].parent)


def put_over(folder: Path, target: Path) -> None:
    """Put what stands in the folder under the target's name in its place; what stood there goes into the folder.

    In one step where the system has one for that; else a kill between the two leaves it to `clean` to undo the first.
    """
    if not _exchanged(folder / target.name, target):
        os.rename(target, folder / REPLACED)
        os.rename(folder / target.name, target)
    sync(target.parent)


def _exchanged(one: Path, other: Path) -> bool:
    """Swap two names in one step, which only Linux has a call for, and not every file system; whether it was done."""
    call = getattr(ctypes.CDLL(None), "renameat2", None) if os.name == "posix" else None
    return call is not None and call(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0


def _locked(folder: Path) -> sqlite3.Connection:
    """The folder's lock, held until the connection is closed or its process ends."""
    held = sqlite3.connect(folder / LOCK, isolation_level=None, timeout=0)
    try:
        held.execute("BEGIN EXCLUSIVE")
    except BaseException:
        held.close()
        raise
    return held


def _remove(folder: Path) -> None:
    """Remove it, the lock last: without it nobody would know later what the rest had been."""
    for path in folder.iterdir():
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        elif path.name != LOCK:
            path.unlink(missing_ok=True)
    shutil.rmtree(folder, ignore_errors=True)


def _undo(folder: Path, target: Path) -> None:
    if target.exists():
        return
    if (folder / REPLACED).exists():
        os.rename(folder / REPLACED, target)
    elif (folder / MOVING).exists():
        for name in (folder / MOVING).read_text("utf-8").splitlines():
            if not (folder / name).exists():
                shutil.rmtree(target.with_name(name), ignore_errors=True)
