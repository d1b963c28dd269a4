"""Checks a zip file before anything in it is read: how large it gets unpacked, and whether it can be read at all."""

from __future__ import annotations

import errno
import struct
import zipfile
import zlib
from collections.abc import Generator, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from collection.ingest.package.characters import visible
from collection.language.errors import Fault, InputRefused

MB = 1 << 20
BLOCK = MB
_END, _FURTHER_END, _TO_FURTHER = b"PK\x05\x06", b"PK\x06\x06", b"PK\x06\x07"
_LONGEST_END, _FURTHER = 22 + 65_535, 56 + 20
_LARGEST_LISTING = 16 * MB
_SMALL_ENOUGH = 20 * MB
"""Unpacked bytes below which the ratio is not checked: a short text packs as well as a bomb."""

_UNREADABLE = (zipfile.BadZipFile, zlib.error, EOFError, struct.error, NotImplementedError, RuntimeError, ValueError)
"""What the standard library raises for a zip file that is damaged or malicious."""


class Damaged(Exception):
    """A zip file, or an entry of one, that cannot be read."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """Limits for a zip file: entries, unpacked bytes of one entry and of all, and unpacked bytes for each packed one."""

    entries: int
    entry: int
    total: int
    ratio: int


def refusal(file: str, message: str) -> InputRefused:
    """Refuses a package as a whole."""
    return InputRefused([Fault(visible(file), "", None, None, None, message)])


def check_zip(path: Path, bounds: Bounds, what: str, instead: str) -> list[zipfile.ZipInfo]:
    """The entries of a zip file that stays within its bounds; nothing is unpacked.

    :param what: how messages call the file, such as "workbook".
    :param instead: what to do when it is too large.
    :raises InputRefused: when it is damaged, encrypted, packed in an unusual way or too large.
    """
    _check_end(path, what, instead)
    try:
        with open_zip(path) as archive:
            entries = archive.infolist()
    except Damaged:
        raise refusal(path.name, damaged(what)) from None
    if len(entries) > bounds.entries:
        raise refusal(
            path.name, f"This {what} holds {len(entries):,} files; at most {bounds.entries:,} are taken. {instead}"
        )
    for entry in entries:
        if entry.flag_bits & 1:
            raise refusal(path.name, f"This {what} is encrypted. Save it without a password.")
        if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise refusal(path.name, f"This {what} is packed in an unusual way. Pack it again as an ordinary zip.")
        if entry.file_size > bounds.entry:
            raise refusal(
                path.name,
                f"One file in this {what} becomes {entry.file_size // MB:,} MB when it is "
                f"unpacked; at most {bounds.entry // MB:,} MB are taken. {instead}",
            )
    total = sum(entry.file_size for entry in entries)
    if total > bounds.total:
        raise refusal(
            path.name,
            f"This {what} becomes {total // MB:,} MB when it is unpacked; at most "
            f"{bounds.total // MB:,} MB are taken. {instead}",
        )
    # Every entry is unpacked from bytes of the file, so its whole size bounds what was packed, whatever they claim.
    if total > _SMALL_ENOUGH and total > bounds.ratio * path.stat().st_size:
        raise refusal(
            path.name,
            f"This {what} becomes more than {bounds.ratio} times its size when it is unpacked, as "
            "no survey does. Look where it comes from.",
        )
    return entries


def damaged(what: str) -> str:
    return (
        f"This {what} is damaged or was not copied to its end, so it cannot be read. Copy it again, or open it and "
        "save it again."
    )


def open_zip(path: Path) -> zipfile.ZipFile:
    """:raises Damaged: when its listing cannot be read."""
    with _damage_named():
        return zipfile.ZipFile(path)


def unpacked_blocks(archive: zipfile.ZipFile, entry: str | zipfile.ZipInfo) -> Generator[bytes, None, None]:
    """The bytes of one entry in blocks, never more than its listing says.

    :raises Damaged: when they cannot be read to their end.
    """
    with _damage_named():
        file = archive.open(entry)
    with file:
        while True:
            with _damage_named():
                block = file.read(BLOCK)
            if not block:
                return
            yield block


@contextmanager
def opened(path: Path, entry: str) -> Iterator[Iterator[bytes]]:
    """The blocks of a single entry, as `unpacked_blocks`."""
    with open_zip(path) as archive, closing(unpacked_blocks(archive, entry)) as blocks:
        yield blocks


@contextmanager
def _damage_named() -> Iterator[None]:
    """Turns errors of the standard library into `Damaged`. Only its calls stand inside, so that no bug of ours is hidden.

    Where its listing is damaged a zip file asks for bytes before its start, which the system calls invalid.
    """
    try:
        yield
    except _UNREADABLE as error:
        raise Damaged from error
    except OSError as error:
        if error.errno == errno.EINVAL:
            raise Damaged from error
        raise


def _check_end(path: Path, what: str, instead: str) -> None:
    """Refuses a listing of entries that is itself too long (APPNOTE 4.3.14 to 4.3.16, from memory)."""
    size = path.stat().st_size
    with open(path, "rb") as file:
        file.seek(max(0, size - _LONGEST_END - _FURTHER))
        end = file.read()
    place = end.rfind(_END)
    if place < 0 or len(end) - place < 22:
        raise refusal(path.name, damaged(what))
    count, listing = struct.unpack("<HI", end[place + 10 : place + 16])
    further = end[max(0, place - _FURTHER) : place]
    if len(further) == _FURTHER and further[:4] == _FURTHER_END and further[56:60] == _TO_FURTHER:
        # Where these stand, the figures of the file's end do not count.
        (listing,) = struct.unpack("<Q", further[40:48])
    if count == 0xFFFF or listing > _LARGEST_LISTING:
        raise refusal(path.name, f"This {what} lists more files than are taken. {instead}")
