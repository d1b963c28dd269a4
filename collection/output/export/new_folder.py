"""A new folder that is there as a whole or not at all."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from collection.language.errors import CouldNot, WrongCommand
from collection.store.base import database, files, unfinished


@contextmanager
def new_folder(out: Path, db_path: Path, done: str = "exported") -> Iterator[Path]:
    """A folder to fill, which stands at `out` when the block ends well, and nowhere when it does not.

    :param done: what was to be done with the database, for what is said when it was not.
    :raises WrongCommand: where something of that name is there already.
    :raises CouldNot: where it cannot be written, or the database cannot be read.
    """
    if out.exists() or out.is_symlink():
        raise WrongCommand(f"{out} is there already and was left as it is. Name a new folder.")
    if not out.parent.is_dir():
        raise CouldNot(f"There is no folder {out.parent} to write into. Make it first.")
    try:
        with unfinished.unfinished(out) as beside:
            made = beside / out.name
            made.mkdir()
            yield made
            files.sync_tree(made)
            unfinished.put_in_place(beside, out)
    except sqlite3.Error as error:
        raise database.sentence(error, db_path) from error
    except OSError as error:
        why = "the disk is full" if database.is_of_no_room(error) else error.strerror or error
        raise CouldNot(f"{out} could not be written: {why}. Nothing was {done}.") from error
