"""A zip file looked over before anything in it is read: how much it becomes, and whether it can be read at all."""

from __future__ import annotations

import errno
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from collection.errors import Fault, InputRefused
from collection.ingest.characters import visible

MB = 1 << 20
BLOCK = MB
_END = b"PK\x05\x06"
_LONGEST_END = 22 + 65_535
_LARGEST_LISTING = 16 * MB
_SMALL_ENOUGH = 20 * MB
"""What a file may become before its packing is judged: a short text packs as well as a bomb."""

UNREADABLE = (zipfile.BadZipFile, zlib.error, EOFError, struct.error, NotImplementedError, RuntimeError, ValueError)
"""What the standard library raises for a zip file that is damaged or made to harm."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a zip file may hold: entries, bytes of one and of all when unpacked, unpacked bytes for one packed."""

    entries: int
    entry: int
    total: int
    ratio: int


def refusal(file: str, message: str) -> InputRefused:
    """A package that is refused as a whole."""
    return InputRefused([Fault(visible(file), "", None, None, None, message)])


def look_over(path: Path, bounds: Bounds, what: str, instead: str) -> list[zipfile.ZipInfo]:
    """The entries of a zip file that keeps within its bounds; nothing is unpacked.

    :param what: how messages call the file, such as "workbook".
    :param instead: what to do when it is too large.
    :raises InputRefused: when it is damaged, encrypted, packed in an unusual way or too large.
    """
    _look_at_the_end(path, what, instead)
    try:
        with told_as_damage(), zipfile.ZipFile(path) as archive:
            entries = archive.infolist()
    except UNREADABLE:
        raise refusal(path.name, damaged(what)) from None
    if len(entries) > bounds.entries:
        raise refusal(path.name, f"This {what} holds {len(entries):,} files; at most {bounds.entries:,} are taken. "
                      f"{instead}")
    for entry in entries:
        if entry.flag_bits & 1:
            raise refusal(path.name, f"This {what} is encrypted. Save it without a password.")
        if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise refusal(path.name, f"This {what} is packed in an unusual way. Pack it again as an ordinary zip.")
        if entry.file_size > bounds.entry:
            raise refusal(path.name, f"One file in this {what} becomes {entry.file_size // MB:,} MB when it is "
                          f"unpacked; at most {bounds.entry // MB:,} MB are taken. {instead}")
    total = sum(entry.file_size for entry in entries)
    if total > bounds.total:
        raise refusal(path.name, f"This {what} becomes {total // MB:,} MB when it is unpacked; at most "
                      f"{bounds.total // MB:,} MB are taken. {instead}")
    # Every entry is unpacked from bytes of the file, so its whole size bounds what was packed, whatever they claim.
    if total > _SMALL_ENOUGH and total > bounds.ratio * path.stat().st_size:
        raise refusal(path.name, f"This {what} becomes more than {bounds.ratio} times its size when it is unpacked, as "
                      "no survey does. Look where it comes from.")
    return entries


def damaged(what: str) -> str:
    return (f"This {what} is damaged or was not copied to its end, so it cannot be read. Copy it again, or open it and "
            "save it anew.")


@contextmanager
def opened(path: Path, entry: str | zipfile.ZipInfo) -> Iterator[Iterator[bytes]]:
    """The bytes of one entry in blocks, never more than its listing says.

    :raises zipfile.BadZipFile: and others of `UNREADABLE`, when it is damaged.
    """
    with told_as_damage(), zipfile.ZipFile(path) as archive, archive.open(entry) as file:
        yield iter(lambda: file.read(BLOCK), b"")


@contextmanager
def told_as_damage() -> Iterator[None]:
    """Where its listing is damaged a zip file asks for bytes before its start, which the system calls invalid.

    :raises zipfile.BadZipFile: then.
    """
    try:
        yield
    except OSError as error:
        if error.errno == errno.EINVAL:
            raise zipfile.BadZipFile from error
        raise


def _look_at_the_end(path: Path, what: str, instead: str) -> None:
    """Refuse a listing of entries that is itself too long to be read."""
    size = path.stat().st_size
    with open(path, "rb") as file:
        file.seek(max(0, size - _LONGEST_END))
        end = file.read()
    place = end.rfind(_END)
    if place < 0 or len(end) - place < 22:
        raise refusal(path.name, damaged(what))
    count, listing = struct.unpack("<HI", end[place + 10:place + 16])
    if count == 0xFFFF or listing > _LARGEST_LISTING:
        raise refusal(path.name, f"This {what} lists more files than are taken. {instead}")
