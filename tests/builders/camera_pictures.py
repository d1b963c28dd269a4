"""Pictures as a camera leaves them: the smallest files of each kind, with the day in their Exif.

Put together by hand from the published layouts: TIFF 6.0 (section 2), Exif 2.3 (4.5.4, 4.6.3, 4.7.2), PNG's eXIf chunk
(third edition, 11.3.3.4), WebP's EXIF chunk (RFC 9649, 2.7.1.5). From memory.
"""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

DAY = "2026:05:02 10:11:12"


def exif(taken: str = DAY, order: str = ">") -> bytes:
    """A TIFF structure whose first directory leads to an Exif directory with DateTimeOriginal (36867)."""
    text = taken.encode("latin-1") + b"\0"
    head = (b"MM" if order == ">" else b"II") + struct.pack(f"{order}HI", 42, 8)
    first = struct.pack(f"{order}HHHII", 1, 34665, 4, 1, 26) + bytes(4)
    second = struct.pack(f"{order}HHHII", 1, 36867, 2, len(text), 44) + bytes(4)
    return head + first + second + text


def jpeg(taken: str | None = None, held: bytes | None = None) -> bytes:
    """A JPEG of 40 × 30 pixels; `held` instead of sound Exif."""
    held = held if held is not None else exif(taken) if taken else None
    app1 = b"" if held is None else b"\xff\xe1" + struct.pack(">H", len(held) + 8) + b"Exif\0\0" + held
    frame = b"\xff\xc0" + struct.pack(">HBHHB", 11, 8, 30, 40, 1) + b"\x01\x11\0"
    scan = b"\xff\xda" + struct.pack(">H", 8) + b"\1\1\0\0\x3f\0" + b"\0\xff\xd9"
    return b"\xff\xd8" + app1 + frame + scan


def png(held: bytes) -> bytes:
    def chunk(name: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))

    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", 40, 30, 8, 0, 0, 0, 0))
        + chunk(b"eXIf", held)
        + chunk(b"IDAT", zlib.compress(bytes(41 * 30)))
        + chunk(b"IEND", b"")
    )


def webp(held: bytes) -> bytes:
    def chunk(name: bytes, content: bytes) -> bytes:
        return name + struct.pack("<I", len(content)) + content + bytes(len(content) % 2)

    size = struct.pack("<I", 39)[:3] + struct.pack("<I", 29)[:3]
    parts = chunk(b"VP8X", b"\x08\0\0\0" + size) + chunk(b"ICCP", b"odd") + chunk(b"EXIF", held)
    return b"RIFF" + struct.pack("<I", len(parts) + 4) + b"WEBP" + parts


def tiff(taken: str = DAY, order: str = "<") -> bytes:
    """The same structure with a size, as a file of its own."""
    text = taken.encode() + b"\0"
    head = (b"MM" if order == ">" else b"II") + struct.pack(f"{order}HI", 42, 8)
    entries = struct.pack(f"{order}HHHII", 3, 256, 4, 1, 40) + struct.pack(f"{order}HHII", 257, 4, 1, 30)
    first = entries + struct.pack(f"{order}HHII", 34665, 4, 1, 50) + bytes(4)
    return head + first + struct.pack(f"{order}HHHII", 1, 36867, 2, len(text), 68) + bytes(4) + text


def camera(folder: Path, files: dict[str, bytes]) -> Path:
    """A folder of these files, some in folders of their own."""
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder
