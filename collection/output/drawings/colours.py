"""The colour in which to draw a coat: from its CIE Lab values, else from its colour words, else none.

Lab to sRGB by CIE 15 (Lab to XYZ, D65, 2° observer) and IEC 61966-2-1 (XYZ to sRGB). A screen can only come
near; the record keeps the figures. A colour drawn for a word stands for the word and is no measurement:
common practice, no published source.
"""

from __future__ import annotations

import re

WHITE_D65 = (0.95047, 1.0, 1.08883)
"""IEC 61966-2-1."""
_TO_SRGB = ((3.2404542, -1.5371385, -0.4985314), (-0.9692660, 1.8760108, 0.0415560), (0.0556434, -0.2040259, 1.0572252))
_KNEE = 6 / 29

WORDS = {
    "white": (93, 0, 3),
    "ivory": (89, 0, 12),
    "cream": (88, 2, 18),
    "buff": (76, 6, 26),
    "stone": (74, 2, 12),
    "grey": (58, 0, 0),
    "gray": (58, 0, 0),
    "silver": (75, 0, 1),
    "black": (16, 0, 0),
    "red": (42, 52, 34),
    "vermilion": (50, 60, 45),
    "scarlet": (46, 60, 42),
    "crimson": (35, 50, 22),
    "lake": (32, 42, 18),
    "maroon": (26, 32, 14),
    "pink": (74, 26, 8),
    "orange": (64, 38, 58),
    "amber": (66, 20, 58),
    "yellow": (80, 4, 62),
    "ochre": (62, 14, 48),
    "gold": (68, 8, 48),
    "golden": (68, 8, 48),
    "brass": (64, 6, 40),
    "brown": (36, 18, 24),
    "umber": (32, 8, 16),
    "chocolate": (26, 14, 16),
    "tan": (66, 12, 28),
    "green": (44, -30, 20),
    "olive": (46, -8, 34),
    "turquoise": (64, -30, -10),
    "blue": (38, 4, -40),
    "ultramarine": (30, 24, -54),
    "navy": (20, 4, -24),
    "purple": (34, 34, -28),
    "violet": (38, 36, -34),
    "bronze": (46, 10, 28),
    "rust": (40, 32, 36),
    "lead": (52, -1, -4),
    "translucent": (72, 6, 32),
    "clear": (84, 2, 20),
}
_SHIFTS = {"dark": -14, "deep": -10, "light": 14, "pale": 18, "bright": 5}


def shown_colour(lab: tuple[float, float, float] | None, words: str | None) -> tuple[str, str] | None:
    """The colour to draw, as `#rrggbb`, and what it is taken from: `measured` or `word`.

    None where neither gives a colour. `words` is read from its end, where English puts the colour's name.
    """
    if lab is not None:
        return srgb(lab), "measured"
    shift = 0
    for word in reversed(re.findall(r"[a-z]+", (words or "").casefold())):
        base = WORDS.get(word) or WORDS.get(word.removesuffix("ish"))
        if base is not None:
            before = re.findall(r"[a-z]+", (words or "").casefold())
            shift = sum(by for name, by in _SHIFTS.items() if name in before)
            return srgb((min(97, max(6, base[0] + shift)), base[1], base[2])), "word"
    return None


def srgb(lab: tuple[float, float, float]) -> str:
    """CIE Lab (D65) as the nearest `#rrggbb` that a screen shows."""
    lightness, a, b = lab
    middle = (lightness + 16) / 116
    xyz = [
        white * _linear_of(part)
        for white, part in zip(WHITE_D65, (middle + a / 500, middle, middle - b / 200), strict=True)
    ]
    return "#" + "".join(f"{_byte(sum(m * v for m, v in zip(row, xyz, strict=True))):02x}" for row in _TO_SRGB)


def _linear_of(part: float) -> float:
    return part**3 if part > _KNEE else 3 * _KNEE**2 * (part - 4 / 29)


def _byte(linear: float) -> int:
    encoded = 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055
    return round(255 * min(1.0, max(0.0, encoded)))
