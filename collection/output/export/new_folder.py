"""A new folder that is there as a whole or not at all."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from collection.language.errors import CouldNot, WrongCommand
from collection.store.base import database


@contextmanager
def new_folder(out: Path, db_path: Path) -> Iterator[Path]:
    """A folder beside `out` to fill, which gets that name when the block ends well and goes when it does not.

    :raises WrongCommand: where something of that name is there already.
    :raises CouldNot: where it cannot be written, or the database cannot be read.
    """
    if out.exists() or out.is_symlink():
        raise WrongCommand(f"{out} is there already and was left as it is. Name a new folder.")
    if not out.parent.is_dir():
        raise CouldNot(f"There is no folder {out.parent} to write into. Make it first.")
    try:
        made = Path(tempfile.mkdtemp(prefix=f".{out.name}.unfinished-", dir=out.parent))
    except OSError as error:
        raise CouldNot(f"{out.parent} cannot be written: {error.strerror}. Nothing was exported.") from error
    try:
        made.chmod(0o755)
        yield made
        _make_durable(made)
        os.rename(made, out)
        _sync(out.parent)
    except sqlite3.Error as error:
        raise database.sentence(error, db_path) from error
    except OSError as error:
        raise CouldNot(f"{out} could not be written: {error.strerror or error}. Nothing was exported.") from error
    finally:
        shutil.rmtree(made, ignore_errors=True)


def _make_durable(folder: Path) -> None:
    for path in folder.rglob("*"):
        _sync(path)
    _sync(folder)


def _sync(path: Path) -> None:
    # Windows opens no folders, and needs no such call.
    if os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
