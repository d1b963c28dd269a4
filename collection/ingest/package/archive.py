"""Unpacks a .zip safely: the folder of a survey, or a workbook with its pictures, which are then read as usual."""

from __future__ import annotations

import re
import shutil
import stat
import tempfile
import unicodedata
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from collection.ingest.package import zip_file
from collection.ingest.package.characters import visible
from collection.ingest.package.folder import DEEPEST_FOLDER, NOT_OURS, colliding, sheet_of
from collection.ingest.package.whole_export import is_export
from collection.language.errors import CouldNot, Fault, InputRefused, WrongCommand
from collection.records.cells import file_refusal

BOUNDS = zip_file.Bounds(entries=20_000, entry=4_096 * zip_file.MB, total=16_384 * zip_file.MB, ratio=200)
SPLIT = "Split the survey into several packages."
_WHAT = "zip file"
_UNIX = 3
_NAME_IN_UTF8 = 0x800


@contextmanager
def unpacked(path: Path) -> Iterator[Path]:
    """The folder or the workbook that a zip file holds, in a temporary folder that goes when the block ends.

    :raises InputRefused: when the file is damaged, too large, or holds what may not be in a package.
    :raises WrongCommand: when no package is in it.
    :raises CouldNot: when it cannot be read, or there is no room to unpack it.
    """
    try:
        wanted = _sound(zip_file.check_zip(path, BOUNDS, _WHAT, SPLIT))
        room = Path(tempfile.mkdtemp(prefix="firstcoat-"))
    except OSError as error:
        raise CouldNot(f"{visible(path.name)} cannot be unpacked: {error.strerror or error}.") from error
    try:
        _unpack(path, wanted, room)
        yield _package(path, room)
    finally:
        shutil.rmtree(room, ignore_errors=True)


def _sound(entries: Iterable[zipfile.ZipInfo]) -> dict[str, zipfile.ZipInfo]:
    """The files to unpack, by their name; anything that may not be in a package refuses the whole, all at once."""
    faults: list[Fault] = []
    found: dict[str, zipfile.ZipInfo] = {}

    def fault(name: str, message: str) -> None:
        faults.append(Fault(visible(name)[:255], "", None, None, None, message))

    for entry in entries:
        name = unicodedata.normalize("NFC", _name(entry))
        parts = name.rstrip("/").split("/")
        kind = stat.S_IFMT(entry.external_attr >> 16) if entry.create_system == _UNIX else 0
        if kind == stat.S_IFLNK:
            fault(name, "This is a link, and a link may point outside the package: put the file itself there.")
        elif kind not in (0, stat.S_IFREG, stat.S_IFDIR):
            fault(name, "This is not an ordinary file; put the file itself there.")
        elif name.startswith("/") or ".." in parts or "\\" in name or re.match("[A-Za-z]:", name):
            fault(name, "This name points outside the package. Pack the survey's folder again.")
        elif any(NOT_OURS.fullmatch(part) for part in parts) or name.endswith("/") or kind == stat.S_IFDIR:
            continue
        elif (why := file_refusal(name)) is not None:
            fault(name, why)
        elif len(parts) > DEEPEST_FOLDER:
            fault(name, f"This is more than {DEEPEST_FOLDER} folders deep; move it up.")
        elif name in found:
            fault(
                name,
                "This file is in the zip file twice, and nobody can tell which one counts. Pack the "
                "survey's folder again.",
            )
        else:
            found[name] = entry
    for name, other in [*colliding(found), *_both_file_and_folder(found)]:
        fault(
            name,
            f"{other} has the same name to many computers, for which capitals and ways of writing accents make "
            "no difference. Give one of the two another name.",
        )
    if faults:
        raise InputRefused(faults)
    return found


def _both_file_and_folder(names: Iterable[str]) -> list[tuple[str, str]]:
    """Files whose name is a folder of another file."""
    known = {name.casefold(): name for name in names}
    found = []
    for name in known.values():
        steps = name.casefold().split("/")
        for deep in range(1, len(steps)):
            file = known.get("/".join(steps[:deep]))
            if file is not None:
                found.append((name, file))
    return found


def _name(entry: zipfile.ZipInfo) -> str:
    """The name as it was written: before UTF-8 was marked, many programs wrote it unmarked."""
    name = entry.orig_filename
    if not entry.flag_bits & _NAME_IN_UTF8:
        try:
            return name.encode("cp437").decode("utf-8")
        except UnicodeError:
            return name
    return name


def _unpack(path: Path, wanted: dict[str, zipfile.ZipInfo], room: Path) -> None:
    total = sum(entry.file_size for entry in wanted.values())
    free = shutil.disk_usage(room).free
    if total > free:
        raise CouldNot(
            f"There is no room to unpack {path.name}: it needs {total // zip_file.MB:,} MB and "
            f"{room.parent} has {free // zip_file.MB:,} MB."
        )
    name = path.name
    try:
        with zip_file.open_zip(path) as archive:
            for name, entry in wanted.items():
                place = room.joinpath(*name.split("/"))
                place.parent.mkdir(parents=True, exist_ok=True)
                with open(place, "xb") as file:
                    file.writelines(zip_file.unpacked_blocks(archive, entry))
    except zip_file.Damaged:
        raise zip_file.refusal(name, zip_file.damaged(_WHAT)) from None
    except OSError as error:
        raise CouldNot(f"{visible(path.name)} cannot be unpacked: {error.strerror or error}.") from error


def _package(path: Path, room: Path) -> Path:
    """The folder or the workbook in what was unpacked, at its top or one folder further in."""
    for place in (room, *sorted(entry for entry in room.iterdir() if entry.is_dir())):
        if is_export(place):
            raise WrongCommand(
                f"The zip file {path.name!r} holds the export of a whole database. Unpack it, and ingest the folder."
            )
        inside = [entry for entry in place.iterdir() if entry.is_file()]
        books = [entry for entry in inside if entry.suffix.lower() == ".xlsx"]
        if any(sheet_of(entry.name) for entry in inside):
            return place
        if len(books) > 1:
            raise WrongCommand(
                f"The zip file {path.name!r} holds {len(books)} workbooks, and a package is one. Hand "
                "them in one by one, each with its pictures."
            )
        if books:
            return books[0]
    raise WrongCommand(
        f"The zip file {path.name!r} is not a survey package: neither survey.toml nor an .xlsx workbook is "
        "in it, or in a folder in it."
    )
