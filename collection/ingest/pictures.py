"""Pictures and drawings looked at by their first bytes: what kind they are, and how large.

Only sizes are read, from the places where PNG (ISO/IEC 15948), JPEG (ISO/IEC 10918-1), GIF89a, TIFF 6.0 and
WebP (RFC 9649) keep them; nothing is decoded.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import IO

from collection.errors import Fault
from collection.ingest.faults import Faults
from collection.ingest.sheets import Source
from collection.records import BY_SHEET
from collection.store.package_checks import named_files
from collection.store.stage import Stage

MOST_PIXELS = 500_000_000
LONGEST_SIDE = 100_000
"""Above these no camera or scanner made the picture, and opening it may fill the memory. Common practice, no
published source."""
_DRAWN = ("pictures", "drawings")
_NO_SIZE = frozenset({0x01, *range(0xD0, 0xDA)})
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}


def picture_faults(stage: Stage, source: Source, faults: Faults) -> list[tuple[Fault, int | None]]:
    """Faults for images whose size is absurd; doubts for files that are no picture this program can show."""
    doubts: list[tuple[Fault, int | None]] = []
    held = {sheet.record.sheet: sheet for sheet in source.sheets}
    for sheet in _DRAWN:
        if sheet not in held:
            continue
        for row, column, name in named_files(stage, BY_SHEET[sheet]):
            if name not in source.files:
                continue
            said, is_fault = _look(source, name)
            if said is not None:
                fault = Fault(held[sheet].file, sheet, held[sheet].row_of(row, column), column, name, said)
                if is_fault:
                    faults.add(fault)
                else:
                    doubts.append((fault, row))
    return doubts


def _look(source: Source, name: str) -> tuple[str | None, bool]:
    with open(source.files[name].path, "rb") as file:
        start = file.read(4096)
        if start.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"<":
            return (None, False) if b"<svg" in start + file.read(8192) else (
                "This file is neither a picture nor an SVG drawing, so nobody will see it in the pages.", False)
        file.seek(0)
        try:
            size = picture_size(file)
        except (struct.error, ValueError, EOFError):
            return "This picture is damaged: its size cannot be read. It is kept as it is.", False
    if size is None:
        return "This is no PNG, JPEG, TIFF, WebP, GIF or SVG, so nobody will see it in the pages; it is kept.", False
    width, height = size
    if width * height > MOST_PIXELS or max(size) > LONGEST_SIDE:
        return (f"This picture says that it has {width} × {height} pixels; at most {MOST_PIXELS // 1_000_000} million "
                f"and {LONGEST_SIDE} on a side are taken. Save it smaller, or check where it comes from."), True
    if not width or not height:
        return "This picture has no pixels.", True
    return None, False


def picture_size(file: IO[bytes]) -> tuple[int, int] | None:
    """Width and height in pixels; None where the file is none of the kinds read here.

    :raises ValueError: where it is one of them and its size is not where it should be.
    """
    start = file.read(32)
    if start.startswith(b"\x89PNG\r\n\x1a\n"):
        width, height = struct.unpack(">II", start[16:24])
        return width, height
    if start[:6] in (b"GIF87a", b"GIF89a"):
        width, height = struct.unpack("<HH", start[6:10])
        return width, height
    if start[:3] == b"\xff\xd8\xff":
        return _jpeg(file)
    if start[:4] in (b"II*\x00", b"MM\x00*"):
        return _tiff(file, "<" if start[:2] == b"II" else ">")
    if start[:4] == b"RIFF" and start[8:12] == b"WEBP":
        return _webp(start)
    return None


def _jpeg(file: IO[bytes]) -> tuple[int, int]:
    file.seek(2)
    for _ in range(10_000):
        if file.read(1) != b"\xff":
            raise ValueError("a JPEG marker is missing")
        mark = _byte(file)
        while mark == 0xFF:
            mark = _byte(file)
        if mark in _NO_SIZE:
            continue
        (length,) = struct.unpack(">H", file.read(2))
        if mark in _FRAMES:
            _, height, width = struct.unpack(">BHH", file.read(5))
            return width, height
        file.seek(length - 2, 1)
    raise ValueError("no frame found")


def _byte(file: IO[bytes]) -> int:
    read = file.read(1)
    if not read:
        raise ValueError("the JPEG ends too early")
    return read[0]


def _tiff(file: IO[bytes], order: str) -> tuple[int, int]:
    file.seek(4)
    (offset,) = struct.unpack(f"{order}I", file.read(4))
    file.seek(offset)
    (count,) = struct.unpack(f"{order}H", file.read(2))
    found = dict(_tiff_sizes(file, order, count))
    if not {256, 257} <= set(found):
        raise ValueError("the TIFF names no size")
    return found[256], found[257]


def _tiff_sizes(file: IO[bytes], order: str, count: int) -> Iterator[tuple[int, int]]:
    for _ in range(count):
        tag, kind, _, raw = struct.unpack(f"{order}HHI4s", file.read(12))
        if tag in (256, 257):
            yield tag, struct.unpack(f"{order}H" if kind == 3 else f"{order}I", raw[:2] if kind == 3 else raw)[0]


def _webp(start: bytes) -> tuple[int, int]:
    kind = start[12:16]
    if kind == b"VP8 ":
        width, height = struct.unpack("<HH", start[26:30])
        return width & 0x3FFF, height & 0x3FFF
    if kind == b"VP8L":
        (bits,) = struct.unpack("<I", start[21:25])
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    if kind == b"VP8X":
        return int.from_bytes(start[24:27], "little") + 1, int.from_bytes(start[27:30], "little") + 1
    raise ValueError("an unknown kind of WebP")
