"""Colours, letters and files of the invented pictures: what draw_pictures.py paints with."""

from __future__ import annotations

import hashlib
import math
import re
import struct
import zlib
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Row = dict[str, str]
Image = NDArray[np.float64]

STRIP = 13
HUES = {"R": 27, "YR": 62, "Y": 95, "GY": 122, "G": 165, "BG": 200, "B": 235, "PB": 275, "P": 318, "RP": 355}
FLUORESCENCE = {
    "yellow-green": (150, 185, 70),
    "green": (96, 150, 104),
    "bluish white": (140, 165, 205),
    "bluish": (120, 150, 235),
    "orange-pink": (170, 95, 80),
    "orange": (205, 120, 50),
    "dull red": (110, 34, 38),
    "pale yellow": (150, 150, 100),
    "yellow": (165, 155, 70),
}
GLYPHS = dict(
    zip(
        "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-./ ",
        (
            "0E11111F111111 1E11111E11111E 0E11101010110E 1E11111111111E 1F10101E10101F 1F10101E101010 0E11101713110F "
            "1111111F111111 0E04040404040E 0702020202120C 11121418141211 1010101010101F 111B1515111111 11191513111111 "
            "0E11111111110E 1E11111E101010 0E11111115120D 1E11111E141211 0F10100E01011E 1F040404040404 1111111111110E "
            "11111111110A04 1111111515150A 11110A040A1111 11110A04040404 1F01020408101F 0E11131519110E 040C040404040E "
            "0E11010204081F 1F02040201110E 02060A121F0202 1F101E0101110E 0608101E11110E 1F010204080808 0E11110E11110E "
            "0E11110F01020C 00000000001F00 00000000000C0C 01010204081010 00000000000000"
        )
        .replace("00000000001F00", "0000001F000000")
        .split(),
        strict=True,
    )
)


def seeded(*parts: str) -> np.random.Generator:
    return np.random.default_rng(int.from_bytes(hashlib.sha256("/".join(parts).encode()).digest()[:8], "big"))


def noise(rng: np.random.Generator, shape: tuple[int, int], cell: tuple[int, int]) -> Image:
    """Smooth noise in 0–1, in lumps of about `cell` pixels (down, across)."""
    grid = rng.random((shape[0] // cell[0] + 2, shape[1] // cell[1] + 2))
    y, x = np.arange(shape[0]) / cell[0], np.arange(shape[1]) / cell[1]
    iy, ix = y.astype(int), x.astype(int)
    fy, fx = (y - iy)[:, None], (x - ix)[None, :]
    top = grid[np.ix_(iy, ix)] * (1 - fx) + grid[np.ix_(iy, ix + 1)] * fx
    low = grid[np.ix_(iy + 1, ix)] * (1 - fx) + grid[np.ix_(iy + 1, ix + 1)] * fx
    field: Image = top * (1 - fy) + low * fy
    return field


def rgb(row: Row | None) -> NDArray[np.float64]:
    """A layer's colour as sRGB 0–255, from Lab, else Munsell, else the grey of what was not recorded."""
    if row is None:
        return np.array([128.0, 128.0, 128.0])
    if row.get("lab_l"):
        lab = tuple(float(row.get(name) or 0) for name in ("lab_l", "lab_a", "lab_b"))
    else:
        match = re.fullmatch(r"(?:N ([0-9.]+)|([0-9.]+)([A-Z]+) ([0-9.]+)/([0-9.]+))", row.get("munsell", ""))
        if match is None:
            return np.array([128.0, 128.0, 128.0])
        if match[1]:
            lab = (10 * float(match[1]), 0.0, 0.0)
        else:
            angle = math.radians(HUES[match[3]] + (float(match[2]) - 5) * 3.6)
            chroma = 5 * float(match[5])
            lab = (10 * float(match[4]), chroma * math.cos(angle), chroma * math.sin(angle))
    fy = (lab[0] + 16) / 116
    xyz = np.array(
        [f**3 if f > 6 / 29 else (f - 4 / 29) * 108 / 841 for f in (fy + lab[1] / 500, fy, fy - lab[2] / 200)]
    ) * (0.9505, 1.0, 1.089)
    linear = np.clip(
        np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]) @ xyz, 0, 1
    )
    return 255 * np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


def glow(row: Row | None) -> NDArray[np.float64]:
    """How a layer looks under the ultraviolet lamp, from its recorded fluorescence."""
    said = (row or {}).get("fluorescence", "")
    for word, colour in FLUORESCENCE.items():
        if word in said:
            strength = 0.6 if "faint" in said or "weak" in said else 1.2 if "bright" in said else 1.0
            return np.minimum(np.array(colour) * strength, 255.0)
    return np.array([38.0, 24.0, 66.0]) + 0.12 * rgb(row)


def glyph(letter: str) -> NDArray[np.bool_]:
    """A letter as 7 rows of 5 dots."""
    code = GLYPHS.get(letter, GLYPHS[" "])
    return np.array([[int(code[2 * r : 2 * r + 2], 16) >> (4 - c) & 1 for c in range(5)] for r in range(7)], bool)


def write(image: Image, text: str, x: int, y: int, colour: tuple[int, int, int]) -> None:
    for letter in text.upper():
        if x + 5 > image.shape[1]:
            return
        image[y : y + 7, x : x + 5][glyph(letter)] = colour
        x += 6


def save(path: Path, image: Image, text: str) -> None:
    """An indexed PNG (ISO/IEC 15948) that says in its corner and its text chunk that it is invented."""
    strip = np.full((STRIP, image.shape[1], 3), 245.0)
    write(strip, text, 4, 3, (40, 40, 40))
    whole = np.clip(np.vstack([image, strip]), 0, 255).astype(np.uint8)
    for coarse in (3, 4, 5, 6):
        packed = (whole >> coarse << coarse) + (1 << coarse - 1)
        palette, index = np.unique(packed.reshape(-1, 3), axis=0, return_inverse=True)
        if len(palette) <= 256:
            break
    rows = index.reshape(whole.shape[:2]).astype(np.uint8)
    raw = b"".join(b"\0" + row.tobytes() for row in rows)

    def chunk(kind: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))

    head = struct.pack(">IIBBBBB", whole.shape[1], whole.shape[0], 8, 3, 0, 0, 0)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"PLTE", palette.tobytes())
        + chunk(b"tEXt", b"Comment\0Invented demonstration picture, drawn from records; no real object")
        + chunk(b"IDAT", zlib.compress(raw, 9))
        + chunk(b"IEND", b"")
    )
