"""A new file that is there as a whole or not at all."""

from __future__ import annotations

from pathlib import Path

from collection.language.errors import CouldNot, WrongCommand
from collection.store.base import database, files, unfinished


def may_be_new(out: Path) -> None:
    """Whether a file may be written there, asked before the work begins.

    :raises WrongCommand: where something of that name is there already.
    :raises CouldNot: where its folder is not there.
    """
    if out.exists() or out.is_symlink():
        raise WrongCommand(f"{out} is there already and was left as it is. Name another file.")
    if not out.parent.is_dir():
        raise CouldNot(f"There is no folder {out.parent} to write into. Make it first.")


def write_new_file(out: Path, content: bytes) -> None:
    """Writes a file beside its place and puts it there when it is whole.

    :raises WrongCommand: as `may_be_new`.
    :raises CouldNot: as `may_be_new`, and where it cannot be written; nothing is left of it.
    """
    may_be_new(out)
    try:
        with unfinished.unfinished(out) as beside:
            made = beside / out.name
            made.write_bytes(content)
            files.sync(made)
            unfinished.put_in_place(beside, out)
    except OSError as error:
        why = "the disk is full" if database.is_of_no_room(error) else error.strerror or str(error)
        raise CouldNot(f"{out} could not be written: {why}. Nothing was written.") from error
