"""The day on which a camera took a picture, where the picture says so (Exif 2.3: DateTimeOriginal, tag 36867).

Exif is a TIFF structure: a TIFF file has it itself, a JPEG in an APP1 segment, a PNG in the chunk eXIf, a WebP in the
chunk EXIF. The date of the file is never asked: copying changes it.
"""

from __future__ import annotations

import io
import re
import struct
from datetime import date
from typing import IO

from collection.ingest.pictures.image_files import picture_kind

_MOST_PARTS = 10_000
_DIRECTORY, _TAKEN = 0x8769, 0x9003
_BEGINS = b"Exif\0\0"
_DAY = re.compile(rb"(\d{4})[:-](\d\d)[:-](\d\d)(?=[\s\0T]|$)")
_NO_LENGTH = frozenset({0x01, *range(0xD0, 0xD9)})
_NO_MORE = frozenset({0xD9, 0xDA})


def date_taken(file: IO[bytes]) -> str | None:
    """The day as YYYY-MM-DD; None where the picture says none, or says something that is no day."""
    file.seek(0)
    kind = picture_kind(file.read(12))
    try:
        if kind == "TIFF":
            return _from_tiff(file)
        found = _jpeg(file) if kind == "JPEG" else _chunk(file, kind) if kind in ("PNG", "WebP") else None
        return None if found is None else _from_tiff(io.BytesIO(found.removeprefix(_BEGINS)))
    except (struct.error, ValueError):
        return None


def _jpeg(file: IO[bytes]) -> bytes | None:
    """The Exif segment; the pixels, which end the search, come after it."""
    file.seek(2)
    for _ in range(_MOST_PARTS):
        lead, mark = struct.unpack("BB", file.read(2))
        if lead != 0xFF or mark in _NO_MORE:
            return None
        if mark == 0xFF:
            file.seek(-1, 1)
        elif mark not in _NO_LENGTH:
            (length,) = struct.unpack(">H", file.read(2))
            segment = file.read(max(0, length - 2))
            if mark == 0xE1 and segment.startswith(_BEGINS):
                return segment
    return None


def _chunk(file: IO[bytes], kind: str) -> bytes | None:
    """The chunk of a PNG or WebP that holds Exif."""
    wanted, header = (b"eXIf", ">I4s") if kind == "PNG" else (b"EXIF", "<4sI")
    file.seek(8 if kind == "PNG" else 12)
    for _ in range(_MOST_PARTS):
        first, second = struct.unpack(header, file.read(8))
        length, name = (first, second) if kind == "PNG" else (second, first)
        if name == wanted:
            return file.read(min(length, 1 << 20))
        # A PNG's chunk ends in its checksum, a WebP's on an even byte.
        file.seek(length + (4 if kind == "PNG" else length % 2), 1)
    return None


def _from_tiff(file: IO[bytes]) -> str | None:
    file.seek(0)
    start = file.read(8)
    order = {b"II": "<", b"MM": ">"}.get(start[:2])
    if order is None:
        return None
    directory = _entry(file, order, struct.unpack(f"{order}I", start[4:])[0], _DIRECTORY)
    taken = None if directory is None else _entry(file, order, directory, _TAKEN)
    if taken is None:
        return None
    file.seek(taken)
    found = _DAY.match(file.read(20))
    return None if found is None else date(*map(int, found.groups())).isoformat()


def _entry(file: IO[bytes], order: str, offset: int, tag: int) -> int | None:
    """The offset that an entry of a directory holds."""
    file.seek(offset)
    (count,) = struct.unpack(f"{order}H", file.read(2))
    for _ in range(count):
        found, _, _, value = struct.unpack(f"{order}HHII", file.read(12))
        if found == tag:
            return int(value)
    return None
