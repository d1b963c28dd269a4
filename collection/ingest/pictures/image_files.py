"""The kinds of picture that are known here: how large one is, of how many frames, and its bytes without metadata.

Sizes are read from the places where PNG (ISO/IEC 15948; animation: the APNG chunk of its third edition), JPEG
(ISO/IEC 10918-1), GIF89a, TIFF 6.0 and WebP (RFC 9649) keep them; nothing is decoded, and no list in a file is
followed further than any honest picture needs.

Why not Pillow: it decodes to write, so a JPEG would lose by it and a PNG micrograph of 16 bits a colour would be cut to 8
(tried with Pillow 13), it gives no size for the damaged picture that may be the only one, and an absurd size is an error
there without the size. What is left out here is left out by copying all the rest.
"""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Iterator
from typing import IO, Final

MOST_PIXELS = 500_000_000
LONGEST_SIDE = 100_000
"""Above these no camera or scanner made the picture, and opening it may fill the memory. Common practice, no
published source."""
SUFFIXES = {
    "PNG": (".png", ".apng"),
    "JPEG": (".jpg", ".jpeg", ".jpe", ".jfif"),
    "GIF": (".gif",),
    "TIFF": (".tif", ".tiff"),
    "WebP": (".webp",),
}

_PNG: Final = b"\x89PNG\r\n\x1a\n"
_PNG_CHUNKS = frozenset(
    {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"pHYs", b"sBIT", b"bKGD"}
)
_NO_PAYLOAD = frozenset({0x01, *range(0xD0, 0xD8)})
_ONLY_TURNED = b"\xff\xe1\x00\x22Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0"
"""An EXIF segment that says nothing but which way is up, to the byte before it."""
_NO_SIZE = frozenset({0x01, *range(0xD0, 0xDA)})
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_MOST_MARKERS = 10_000
_MOST_CHUNKS = 1_000
_LONGEST_FILL = 65_536


class NotAPicture(ValueError):
    """The file cannot be published: it is of another kind, broken, or holds nothing that may be. Half a sentence."""


def picture_kind(start: bytes) -> str | None:
    """PNG, JPEG, GIF, TIFF or WebP by the first 12 bytes of a file; None for anything else."""
    if start.startswith(_PNG):
        return "PNG"
    if start[:6] in (b"GIF87a", b"GIF89a"):
        return "GIF"
    if start[:3] == b"\xff\xd8\xff":
        return "JPEG"
    if start[:4] in (b"II*\x00", b"MM\x00*"):
        return "TIFF"
    return "WebP" if start[:4] == b"RIFF" and start[8:12] == b"WEBP" else None


def picture_size(file: IO[bytes]) -> tuple[int, int] | None:
    """Width and height in pixels; None where the file is none of the kinds known here.

    :raises ValueError: where it is one of them and its size is not where it should be.
    """
    file.seek(0)
    start = file.read(32)
    kind = picture_kind(start)
    try:
        if kind == "PNG":
            return _png(start)
        if kind == "GIF":
            width, height = struct.unpack("<HH", start[6:10])
            return width, height
        if kind == "JPEG":
            return _jpeg(file)
        if kind == "TIFF":
            return _tiff(file, start)[0]
        return _webp(start) if kind == "WebP" else None
    except (struct.error, EOFError, OSError) as error:
        raise ValueError("the picture ends before its size") from error


def has_more_frames(file: IO[bytes]) -> bool:
    """Whether a sound picture holds more than one picture: a moving one, or pages."""
    file.seek(0)
    start = file.read(32)
    kind = picture_kind(start)
    try:
        if kind == "PNG":
            return _is_moving_png(file)
        if kind == "GIF":
            return _is_moving_gif(file)
        if kind == "TIFF":
            return _tiff(file, start)[1]
    except (struct.error, EOFError, ValueError, OSError):
        return False
    return kind == "WebP" and start[12:16] == b"VP8X" and bool(start[20] & 0x02)


def absurd_size(size: tuple[int, int]) -> str | None:
    """The size as text, where it is too large to be true."""
    width, height = size
    if width * height > MOST_PIXELS or max(size) > LONGEST_SIDE:
        return f"{width} × {height} pixels"
    return None


def _png(start: bytes) -> tuple[int, int]:
    if start[12:16] != b"IHDR":
        raise ValueError("the PNG does not begin with its header")
    width, height = struct.unpack(">II", start[16:24])
    return width, height


def _is_moving_png(file: IO[bytes]) -> bool:
    file.seek(8)
    for _ in range(_MOST_CHUNKS):
        length, kind = struct.unpack(">I4s", file.read(8))
        if kind == b"acTL":
            return int.from_bytes(file.read(4), "big") > 1
        if kind in (b"IDAT", b"IEND"):
            return False
        file.seek(length + 4, 1)
    return False


def _is_moving_gif(file: IO[bytes]) -> bool:
    """Walks the blocks to a second image descriptor (GIF89a, sections 18 to 25)."""
    file.seek(10)
    (packed,) = struct.unpack("B2x", file.read(3))
    file.seek(3 << (packed & 7) + 1 if packed & 0x80 else 0, 1)
    images = 0
    for _ in range(_MOST_CHUNKS):
        mark = file.read(1)
        if mark == b",":
            images += 1
            if images > 1:
                return True
            (packed,) = struct.unpack("8xB", file.read(9))
            file.seek((3 << (packed & 7) + 1 if packed & 0x80 else 0) + 1, 1)
        elif mark == b"!":
            file.seek(1, 1)
        else:
            return False
        for _ in range(_LONGEST_FILL):
            length = _byte(file)
            if not length:
                break
            file.seek(length, 1)
    return False


def _jpeg(file: IO[bytes]) -> tuple[int, int]:
    file.seek(2)
    fill = 0
    for _ in range(_MOST_MARKERS):
        if file.read(1) != b"\xff":
            raise ValueError("a JPEG marker is missing")
        mark = _byte(file)
        while mark == 0xFF:
            mark = _byte(file)
            fill += 1
            if fill > _LONGEST_FILL:
                raise ValueError("the JPEG holds nothing but filling")
        if mark in _NO_SIZE:
            continue
        (length,) = struct.unpack(">H", file.read(2))
        if length < 2:
            raise ValueError("a JPEG segment has no length")
        if mark in _FRAMES:
            _, height, width = struct.unpack(">BHH", file.read(5))
            return width, height
        file.seek(length - 2, 1)
    raise ValueError("no frame found")


def _byte(file: IO[bytes]) -> int:
    read = file.read(1)
    if not read:
        raise EOFError
    return read[0]


def _tiff(file: IO[bytes], start: bytes) -> tuple[tuple[int, int], bool]:
    """The size of the first page, and whether another follows; the chain of pages is not walked."""
    order = "<" if start[:2] == b"II" else ">"
    (offset,) = struct.unpack(f"{order}I", start[4:8])
    file.seek(offset)
    (count,) = struct.unpack(f"{order}H", file.read(2))
    sizes: dict[int, int] = {}
    for tag, value in _tiff_entries(file, order, count, (256, 257)):
        # Of two entries a reader takes either, so the larger one counts.
        sizes[tag] = max(value, sizes.get(tag, 0))
    if set(sizes) != {256, 257}:
        raise ValueError("the TIFF names no size")
    following = file.read(4)
    return (sizes[256], sizes[257]), len(following) == 4 and following != bytes(4)


def _tiff_entries(file: IO[bytes], order: str, count: int, wanted: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    for _ in range(count):
        tag, kind, _, raw = struct.unpack(f"{order}HHI4s", file.read(12))
        if tag in wanted:
            yield tag, struct.unpack(f"{order}H" if kind == 3 else f"{order}I", raw[:2] if kind == 3 else raw)[0]


def _webp(start: bytes) -> tuple[int, int]:
    kind = start[12:16]
    if len(start) < 30:
        raise ValueError("the WebP ends before its size")
    if kind == b"VP8 ":
        width, height = struct.unpack("<HH", start[26:30])
        return width & 0x3FFF, height & 0x3FFF
    if kind == b"VP8L":
        (bits,) = struct.unpack("<I", start[21:25])
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    if kind == b"VP8X":
        return int.from_bytes(start[24:27], "little") + 1, int.from_bytes(start[27:30], "little") + 1
    raise ValueError("an unknown kind of WebP")


def bare_png(content: bytes) -> bytes:
    """A PNG with its pixels, colours and scale, and nothing else.

    :raises NotAPicture: where it is damaged or holds a part that is not known and has to be.
    """
    kept, position, ended = [_PNG], len(_PNG), False
    while position + 12 <= len(content) and not ended:
        length = int.from_bytes(content[position : position + 4], "big")
        kind, end = content[position + 4 : position + 8], position + 12 + length
        if end > len(content) or int.from_bytes(content[end - 4 : end], "big") != zlib.crc32(
            content[position + 4 : end - 4]
        ):
            raise NotAPicture("its PNG is damaged")
        if kind in _PNG_CHUNKS:
            kept.append(content[position:end])
        elif not kind[0] & 0x20:
            raise NotAPicture("its PNG has a part that this program does not know")
        position, ended = end, kind == b"IEND"
    if not ended or kept[1][4:8] != b"IHDR":
        raise NotAPicture("its PNG is incomplete")
    return b"".join(kept)


def bare_jpeg(content: bytes) -> bytes:
    """A JPEG with its scans, its colour profile and which way is up, and nothing else.

    :raises NotAPicture: where it is damaged.
    """
    return b"".join(_jpeg_parts(content))


def _jpeg_parts(content: bytes) -> Iterator[bytes]:
    yield b"\xff\xd8"
    position = 2
    while True:
        if position + 2 > len(content) or content[position] != 0xFF:
            raise NotAPicture("its JPEG is damaged")
        marker = content[position + 1]
        if marker == 0xFF:
            position += 1
            continue
        if marker == 0xD9:
            yield b"\xff\xd9"
            return
        if marker in _NO_PAYLOAD:
            position += 2
            continue
        end = position + 2 + int.from_bytes(content[position + 2 : position + 4], "big")
        if end > len(content) or end < position + 4:
            raise NotAPicture("its JPEG is incomplete")
        segment = content[position:end]
        # APP14 says how the colours are coded and APP2 which colours they are; without them some come out wrong.
        is_adobe = marker == 0xEE and segment[4:9] == b"Adobe" and len(segment) == 16
        is_profile = marker == 0xE2 and segment[4:16] == b"ICC_PROFILE\0"
        if not (0xE0 <= marker <= 0xEF or marker == 0xFE) or is_adobe or is_profile:
            yield segment
        elif marker == 0xE1 and segment[4:10] == b"Exif\0\0" and (turned := _orientation(segment[10:])) is not None:
            yield _ONLY_TURNED + bytes([turned]) + bytes(6)
        position = end
        if marker == 0xDA:
            end = _end_of_scan(content, position)
            yield content[position:end]
            position = end


def _orientation(exif: bytes) -> int | None:
    """How the camera was turned, 2 to 8 (Exif 2.3, tag 274); None if it was not, or if the EXIF cannot be read."""
    file = io.BytesIO(exif)
    start = file.read(8)
    order = "<" if start[:2] == b"II" else ">"
    try:
        file.seek(struct.unpack(f"{order}I", start[4:])[0])
        (count,) = struct.unpack(f"{order}H", file.read(2))
        return next((value for _, value in _tiff_entries(file, order, count, (274,)) if 2 <= value <= 8), None)
    except struct.error:
        return None


def _end_of_scan(content: bytes, position: int) -> int:
    while True:
        position = content.find(b"\xff", position)
        if position < 0 or position + 1 >= len(content):
            raise NotAPicture("its JPEG is incomplete")
        following = content[position + 1]
        if following != 0x00 and not 0xD0 <= following <= 0xD7:
            return position
        position += 2
