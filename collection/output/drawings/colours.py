"""The colour in which to draw a coat: from its CIE Lab values, else its Munsell notation, else its colour words.

Every drawing asks here, so that a coat has one colour wherever it is shown. Lab to sRGB by CIE 15 (Lab to XYZ, D65,
2° observer) and IEC 61966-2-1 (XYZ to sRGB); Munsell to Lab by the renotation (`values/munsell`). A screen can only
come near; the record keeps the figures. A colour drawn for a word stands for the word and is no measurement: common
practice, no published source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any, Literal

from collection.language.words import PREPARATION_ROLES
from collection.values import munsell
from collection.values.munsell import Lab

Basis = Literal["measured", "munsell", "word"]
"""What a drawn colour is taken from."""

WHITE_D65 = (0.95047, 1.0, 1.08883)
"""IEC 61966-2-1."""
_TO_SRGB = ((3.2404542, -1.5371385, -0.4985314), (-0.9692660, 1.8760108, 0.0415560), (0.0556434, -0.2040259, 1.0572252))
_KNEE = 6 / 29

WORDS: Mapping[str, Lab] = {
    "white": (93, 0, 3),
    "ivory": (89, 0, 12),
    "cream": (88, 2, 18),
    "buff": (76, 6, 26),
    "straw": (82, 2, 34),
    "stone": (74, 2, 12),
    "grey": (58, 0, 0),
    "gray": (58, 0, 0),
    "slate": (42, -2, -6),
    "silver": (75, 0, 1),
    "black": (16, 0, 0),
    "red": (42, 52, 34),
    "vermilion": (50, 60, 45),
    "scarlet": (46, 60, 42),
    "crimson": (35, 50, 22),
    "lake": (32, 42, 18),
    "maroon": (26, 32, 14),
    "pink": (74, 26, 8),
    "flesh": (76, 16, 20),
    "salmon": (70, 30, 24),
    "orange": (64, 38, 58),
    "amber": (66, 20, 58),
    "yellow": (80, 4, 62),
    "ochre": (62, 14, 48),
    "sienna": (48, 24, 38),
    "gold": (68, 8, 48),
    "golden": (68, 8, 48),
    "brass": (64, 6, 40),
    "copper": (52, 26, 32),
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
    "red lead": (54, 52, 48),
    "white lead": (92, 0, 4),
    "lead white": (92, 0, 4),
    "red oxide": (36, 30, 22),
    "iron oxide": (36, 30, 22),
    "prussian blue": (22, 0, -24),
    "sky blue": (70, -8, -26),
}
"""CIE Lab of colour words; some mean another colour as a pair ("red lead")."""

MATERIALS: Mapping[str, Lab] = {
    "translucent": (72, 6, 32),
    "clear": (84, 2, 20),
    "iron": (42, 0, 0),
    "steel": (56, 0, -2),
    "nickel": (78, 0, 2),
    "zinc": (66, -1, -3),
    "tin": (72, 0, 0),
    "soot": (18, 0, 1),
    "tar": (14, 1, 2),
    "leather": (34, 14, 20),
    "wood": (62, 10, 26),
    "oak": (52, 9, 24),
    "ash": (74, 5, 22),
    "beech": (66, 12, 24),
    "pine": (72, 9, 32),
    "deal": (72, 9, 32),
    "larch": (56, 18, 32),
    "elm": (52, 11, 22),
    "mahogany": (36, 24, 24),
}
"""CIE Lab of materials that are named in place of a colour; a colour word beside one comes first."""

_LIGHTER: Mapping[str, tuple[float, float]] = {
    "dark": (-14, 0.85),
    "darkened": (-14, 0.8),
    "deep": (-10, 1.0),
    "light": (12, 0.85),
    "pale": (18, 0.7),
    "bright": (5, 1.15),
    "strong": (0, 1.15),
    "dull": (-2, 0.6),
    "faded": (6, 0.7),
    "dirty": (-6, 0.7),
    "sooty": (-10, 0.6),
    "greasy": (-6, 0.8),
    "tarry": (-6, 0.8),
}
"""What a modifier adds to L*, and by what it multiplies a* and b*."""
_WARMER: Mapping[str, tuple[float, float]] = {"warm": (3, 6), "cool": (-2, -5), "off": (0, 5)}
"""What a modifier adds to a* and b*."""
_SHOWN = {"body colour": 0, "varnish": 2, "glaze": 2, "lining": 2, **dict.fromkeys(PREPARATION_ROLES, 3)}
"""What shows of a finish: its body colour first, what prepares it last."""
_COMPOUND, _TINT = 0.4, 0.25
"""How much of the first colour is in "red-brown", and in "reddish brown"."""


def colour_of_row(row: Mapping[str, Any]) -> tuple[str, Basis] | None:
    """The colour to draw a coat in, as `#rrggbb`, and what it is taken from; None where nothing gives one.

    :param row: a layer's values by column: `lab_l`, `lab_a`, `lab_b` (a part of the three is none), `munsell`, `colour`.
    """
    measured = row.get("lab_l"), row.get("lab_a"), row.get("lab_b")
    if None not in measured:
        return srgb(measured), "measured"  # type: ignore[arg-type]
    chip = munsell.lab(row.get("munsell"))
    if chip is not None:
        return srgb(chip), "munsell"
    word = lab_of_words(row.get("colour"))
    return None if word is None else (srgb(word), "word")


def colour_of_coats(rows: Iterable[Mapping[str, Any]]) -> str | None:
    """The colour that the coats of one campaign show in one sample: that of the body colour, else of another finish,
    else of what prepares it."""
    best = min(
        ((_SHOWN.get(row["role"], 1), at, row) for at, row in enumerate(rows) if colour_of_row(row)),
        default=None,
        key=lambda each: each[:2],
    )
    colour = colour_of_row(best[2]) if best else None
    return colour[0] if colour else None


@lru_cache(maxsize=4096)
def lab_of_words(text: str | None) -> Lab | None:
    """The colour that colour words stand for; None where no word is one.

    The first part between commas that names a colour counts, and in it the last colour word, where English puts the
    colour's name; what stands before it tints it ("red-brown", "greenish grey"). Modifiers count wherever they stand.
    """
    parts = [re.findall(r"[a-z]+", part) for part in re.split(r"[,;:.(]", (text or "").casefold())]
    # "gold bronze in clear", "white over blue": what is said first is the coat itself.
    parts = [_before(part, ("in", "over", "with", "and", "on", "under", "or")) for part in parts]
    for known in (WORDS, MATERIALS):
        for at, part in enumerate(parts):
            found = _mixed(part, known)
            if found is not None:
                others = [word for place, other in enumerate(parts) if place != at for word in other]
                return _modified(found, [*part, *others])
    return None


def _before(words: list[str], ends: tuple[str, ...]) -> list[str]:
    stop = next((at for at, word in enumerate(words) if word in ends and at), len(words))
    return words[:stop]


def _mixed(words: list[str], known: Mapping[str, Lab]) -> Lab | None:
    """The last colour of some words, tinted by those before it."""
    found: Lab | None = None
    at = 0
    while at < len(words):
        pair = " ".join(words[at : at + 2])
        step = 2 if pair in known else 1
        word = pair if step == 2 else words[at]
        at += step
        if (tint := _tint(word)) is not None and known is WORDS:
            # "black, brownish" alone is brown; before a colour it only tints.
            found = tint if found is None else _between(tint, found, 1 - _TINT)
            continue
        colour = known.get(word)
        if colour is not None:
            before = words[at - step - 1] if at > step else ""
            share = 0.0 if found is None else _TINT if _tint(before) is not None else _COMPOUND
            found = colour if found is None else _between(found, colour, 1 - share)
    return found


def _tint(word: str) -> Lab | None:
    """The colour that a word in -ish speaks of."""
    if not word.endswith("ish"):
        return None
    stem = word.removesuffix("ish")
    return next((WORDS[each] for each in (stem, f"{stem}e", stem[:-1]) if each in WORDS), None)


def _modified(colour: Lab, words: list[str]) -> Lab:
    lightness, a, b = colour
    for word in words:
        lighter, stronger = _LIGHTER.get(word, (0.0, 1.0))
        redder, yellower = _WARMER.get(word, (0.0, 0.0))
        lightness, a, b = lightness + lighter, a * stronger + redder, b * stronger + yellower
        # "Yellowed" and "browned" are what age has made of a clear coat.
        aged = WORDS.get(word.removesuffix("ed")) if word.endswith("ed") and word != "red" else None
        if aged is not None:
            lightness, a, b = _between((lightness, a, b), aged, 0.4)
    return min(97.0, max(6.0, lightness)), a, b


def _between(one: Lab, other: Lab, share: float) -> Lab:
    """The colour `share` of the way from one to the other, straight in Lab."""
    first, second, third = (x + share * (y - x) for x, y in zip(one, other, strict=True))
    return first, second, third


def srgb(lab: Lab) -> str:
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
