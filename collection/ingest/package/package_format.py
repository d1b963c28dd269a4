"""Detects the package format (folder, workbook or zip of either; the export of a database) and opens the package."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from collection.ingest.package import zip_file
from collection.ingest.package.archive import BOUNDS, SPLIT, unpacked
from collection.ingest.package.characters import visible
from collection.ingest.package.folder import folder_of_sheets, open_folder
from collection.ingest.package.sheets import Source
from collection.ingest.package.whole_export import is_export
from collection.ingest.package.workbook.book import WORKBOOK_TYPES, content_types
from collection.ingest.package.workbook.checked_parts import Broken
from collection.ingest.package.workbook.workbook import open_workbook, workbook_of_sheets
from collection.ingest.package.zip_file import damaged, refusal
from collection.language.errors import CouldNot, WrongCommand

_ZIP, _EMPTY_ZIP = b"PK\x03\x04", b"PK\x05\x06"
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
"""The stream that holds an encrypted workbook in a compound file ([MS-OFFCRYPTO] 2.3.4.4)."""
_KINDS = "A survey package is a folder with survey.toml and its CSV sheets, a .zip of one, or an .xlsx workbook."
_SAVE_AS = "Open it in a spreadsheet program, save it as .xlsx and hand that in."


@contextmanager
def open_source(path: Path) -> Iterator[Source]:
    """The package at a path, its files hashed, for as long as the block lasts; no sheet is read yet.

    :raises WrongCommand: when there is none, or it is not a survey package.
    :raises InputRefused: when it is one that cannot be taken as a whole.
    :raises CouldNot: when it cannot be read.
    """
    try:
        kind = kind_of(path)
    except OSError as error:
        raise CouldNot(f"{visible(path.name)} cannot be read: {error.strerror or error}.") from error
    if kind == "folder":
        yield open_folder(path)
    elif kind == "workbook":
        yield open_workbook(path)
    else:
        with unpacked(path) as place:
            if place.is_dir():
                folder = open_folder(place)
                folder.name = visible(path.name)
                yield folder
            else:
                kind_of(place)
                yield open_workbook(place)


@contextmanager
def open_sheets(path: Path) -> Iterator[Source]:
    """Only the sheets of the package at a path: no file is hashed, no picture is checked.

    :raises WrongCommand: when there is none, or it is not a survey package.
    :raises InputRefused: when it is one that cannot be taken as a whole.
    :raises CouldNot: when it cannot be read.
    """
    try:
        kind = kind_of(path)
        if kind == "folder":
            yield folder_of_sheets(path)
        elif kind == "workbook":
            yield workbook_of_sheets(path)
        else:
            with unpacked(path) as place:
                yield folder_of_sheets(place) if place.is_dir() else workbook_of_sheets(place)
    except OSError as error:
        raise CouldNot(f"{visible(path.name)} cannot be read: {error.strerror or error}.") from error


def kind_of(path: Path) -> str:
    """`folder`, `workbook` or `archive`, by its content and not by its name.

    :raises WrongCommand: when there is none, or it is none of these.
    :raises InputRefused: when it is a workbook that cannot be taken.
    """
    if is_export(path):
        raise WrongCommand(
            f"{str(path)!r} is the export of a whole database, and no single survey. firstcoat ingest takes it into an "
            "empty database; each folder in it is a survey package."
        )
    if path.is_dir():
        return "folder"
    if not path.exists():
        raise WrongCommand(f"There is no folder or file {str(path)!r}. {_KINDS}")
    if not path.is_file():
        raise WrongCommand(f"{str(path)!r} is not an ordinary file. {_KINDS}")
    with open(path, "rb") as file:
        start = file.read(8)
    if start == _COMPOUND:
        raise refusal(
            path.name,
            "This workbook is encrypted. Save it without a password."
            if _is_encrypted(path)
            else f"This is a workbook of an older kind (.xls). {_SAVE_AS}",
        )
    if start[:4] in (_ZIP, _EMPTY_ZIP):
        return _kind_of_zip(path)
    if path.suffix.lower() in (".xlsx", ".zip"):
        raise refusal(path.name, damaged("file"))
    if path.suffix.lower() in (".xls", ".ods", ".xlsb", ".fods", ".xml", ".numbers"):
        raise refusal(path.name, f"This is not an .xlsx workbook. {_SAVE_AS}")
    raise WrongCommand(f"The file {str(path)!r} is not a survey package. {_KINDS}")


def _kind_of_zip(path: Path) -> str:
    sizes = {entry.filename: entry.file_size for entry in zip_file.check_zip(path, BOUNDS, "file", SPLIT)}
    try:
        if sizes.get("mimetype", 1000) < 200:
            with zip_file.opened(path, "mimetype") as blocks:
                if b"opendocument" in b"".join(blocks):
                    raise refusal(path.name, f"This is an OpenDocument file. {_SAVE_AS}")
        if "[Content_Types].xml" not in sizes:
            return "archive"
        kinds = content_types(path)
    except Broken as error:
        raise refusal(path.name, str(error)) from None
    except zip_file.Damaged:
        raise refusal(path.name, damaged("file")) from None
    if any("macroEnabled" in kind for kind in kinds) or any(name.lower().endswith("vbaproject.bin") for name in sizes):
        raise refusal(
            path.name,
            "This workbook holds macros (.xlsm), which are programs. Save it as .xlsx, without them, and hand that in.",
        )
    if not kinds & WORKBOOK_TYPES:
        raise refusal(path.name, f"This is not an .xlsx workbook. {_SAVE_AS}")
    return "workbook"


def _is_encrypted(path: Path) -> bool:
    with open(path, "rb") as file:
        last = b""
        while block := file.read(1 << 20):
            if _ENCRYPTED in last + block:
                return True
            last = block[-len(_ENCRYPTED) :]
    return False
