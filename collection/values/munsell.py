"""Munsell notation to CIE L*a*b*: the renotation of 1943, interpolated between its chips.

The chips' chromaticities (CIE 1931, illuminant C) are those of Newhall, Nickerson and Judd, "Final report of the
O.S.A. subcommittee on the spacing of the Munsell colors", J. Opt. Soc. Am. 33 (1943) 385-418, as
`schema/reference/munsell.csv`; luminance follows from the value by the polynomial of ASTM D1535. Between chips a*
and b* run straight, towards the grey axis below the first chroma, and towards black and white beyond values 1 and
9. CIE 15 gives the white points, and the Bradford matrix (Lam 1985) takes illuminant C to D65.
"""

from __future__ import annotations

import csv
import io
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from collection.values import resources

Lab = tuple[float, float, float]
"""CIE 1976 L*, a*, b*."""
Illuminant = Literal["C", "D65"]

HUES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
FAMILIES = {name: place for place, name in enumerate(HUES)}
_STEPS = 40
_COLOURED = re.compile(
    r"(10(?:\.0*)?|\d(?:\.\d*)?)\s*(RP|YR|GY|BG|PB|R|Y|G|B|P)\s*"
    r"(\d+(?:\.\d*)?)\s*/\s*(\d+(?:\.\d*)?)"
)
_GREY = re.compile(r"N\s*(\d+(?:\.\d*)?)\s*/?")
_BEYOND = 2.0
"""Chroma steps past the last chip that are still read along the line of the last two."""

WHITE_C = (0.31006, 0.31616)
WHITE_D65 = (0.31270, 0.32900)
_BRADFORD = ((0.8951, 0.2664, -0.1614), (-0.7502, 1.7135, 0.0367), (0.0389, -0.0685, 1.0296))


@dataclass(frozen=True, slots=True)
class Munsell:
    """One notation: `hue` in steps of 0.25 of a hue family on a circle of 40 (5R = 2), None for a grey."""

    hue: float | None
    value: float
    chroma: float


def read(text: str | None) -> Munsell | None:
    """A notation such as `7.5R 3/6` or `N 4`; None for a blank and for anything that is none."""
    plain = " ".join((text or "").upper().split())
    grey = _GREY.fullmatch(plain)
    if grey:
        value = float(grey[1])
        return Munsell(None, value, 0.0) if value <= 10 else None
    told = _COLOURED.fullmatch(plain)
    if told is None:
        return None
    step, family, value, chroma = float(told[1]), told[2], float(told[3]), float(told[4])
    if value > 10:
        return None
    if chroma == 0:
        return Munsell(None, value, 0.0)
    return Munsell((FAMILIES[family] * 4 + step / 2.5) % _STEPS, value, chroma)


@lru_cache(maxsize=4096)
def lab(text: str | None, illuminant: Illuminant = "D65") -> Lab | None:
    """The colour of a notation under an illuminant; None where there is none, or no chip is near it."""
    notation = read(text)
    if notation is None:
        return None
    under_c = _lab_c(notation)
    if under_c is None or illuminant == "C":
        return under_c
    return _adapted(under_c)


def luminance(value: float) -> float:
    """Y, in per cent of the perfect diffuser, at a Munsell value of 0 to 10 (the polynomial of ASTM D1535)."""
    return value * (1.1914 + value * (-0.22533 + value * (0.23352 + value * (-0.020484 + value * 0.00081939))))


def _lab_c(colour: Munsell) -> Lab | None:
    lightness = _lightness(luminance(colour.value))
    if colour.hue is None:
        return lightness, 0.0, 0.0
    low = math.floor(colour.value)
    planes = [_plane(plane, colour.hue, colour.chroma) for plane in (low, low + 1)]
    if planes[0] is None or planes[1] is None:
        # A colour between two planes of which only one has chips so strong is read from that one.
        near = planes[0] or planes[1]
        if near is None:
            return None
        return lightness, *near
    part = colour.value - low
    return lightness, *(a + part * (b - a) for a, b in zip(*planes, strict=True))


def _plane(value: int, hue: float, chroma: float) -> tuple[float, float] | None:
    """a* and b* in one plane of equal value; there is no colour at black and white."""
    if value in (0, 10):
        return 0.0, 0.0
    if value > 10:
        return None
    step = math.floor(hue)
    ends = [_ray(value, at % _STEPS, chroma) for at in (step, step + 1)]
    first, second = ends
    if first is None or second is None:
        return first if hue - step < 0.5 else second
    part = hue - step
    return first[0] + part * (second[0] - first[0]), first[1] + part * (second[1] - first[1])


def _ray(value: int, step: int, chroma: float) -> tuple[float, float] | None:
    """a* and b* along one hue: straight between its chips, and a little beyond the last."""
    chips = _chips().get((value, step))
    if chips is None or chroma > chips[-1][0] + _BEYOND:
        return None
    above = next((place for place, chip in enumerate(chips) if chip[0] >= chroma), len(chips) - 1)
    high, low = chips[above], chips[above - 1] if above else (0.0, 0.0, 0.0)
    part = (chroma - low[0]) / (high[0] - low[0])
    return low[1] + part * (high[1] - low[1]), low[2] + part * (high[2] - low[2])


@lru_cache(maxsize=1)
def _chips() -> dict[tuple[int, int], list[tuple[float, float, float]]]:
    """Chroma, a*, b* of the chips, weakest first, by value and by hue as a step of 40."""
    found: dict[tuple[int, int], list[tuple[float, float, float]]] = {}
    text = resources.schema_file("reference/munsell.csv").read_text(encoding="utf-8")
    for row in csv.DictReader(io.StringIO(text)):
        told = re.fullmatch(r"([\d.]+)([A-Z]+)", row["hue"])
        assert told is not None
        step = round(FAMILIES[told[2]] * 4 + float(told[1]) / 2.5) % _STEPS
        value = int(row["value"])
        _, a, b = _lab_of_xy(float(row["x"]), float(row["y"]), luminance(value), WHITE_C)
        found.setdefault((value, step), []).append((float(row["chroma"]), a, b))
    for chips in found.values():
        chips.sort()
    return found


def _lab_of_xy(x: float, y: float, bright: float, white: tuple[float, float]) -> Lab:
    return _lab_of_xyz((bright * x / y, bright, bright * (1 - x - y) / y), white)


def _lab_of_xyz(xyz: tuple[float, float, float], white: tuple[float, float]) -> Lab:
    fx, fy, fz = (_root(part / whole) for part, whole in zip(xyz, _xyz(white), strict=True))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def _xyz(white: tuple[float, float]) -> tuple[float, float, float]:
    x, y = white
    return 100 * x / y, 100.0, 100 * (1 - x - y) / y


def _root(part: float) -> float:
    return math.cbrt(part) if part > (6 / 29) ** 3 else part / (3 * (6 / 29) ** 2) + 4 / 29


def _cubed(part: float) -> float:
    return part**3 if part > 6 / 29 else 3 * (6 / 29) ** 2 * (part - 4 / 29)


def _lightness(bright: float) -> float:
    return 116 * _root(bright / 100) - 16


def _adapted(under_c: Lab) -> Lab:
    """Illuminant C to D65 by the Bradford matrix."""
    fy = (under_c[0] + 16) / 116
    xyz = [
        w * _cubed(f) for w, f in zip(_xyz(WHITE_C), (fy + under_c[1] / 500, fy, fy - under_c[2] / 200), strict=True)
    ]
    cones, from_white, to_white = _bradford(xyz), _bradford(list(_xyz(WHITE_C))), _bradford(list(_xyz(WHITE_D65)))
    x, y, z = _unbradford([c * t / f for c, f, t in zip(cones, from_white, to_white, strict=True)])
    return _lab_of_xyz((x, y, z), WHITE_D65)


def _bradford(xyz: list[float]) -> list[float]:
    return [sum(a * b for a, b in zip(row, xyz, strict=True)) for row in _BRADFORD]


def _unbradford(cones: list[float]) -> list[float]:
    (a, b, c), (d, e, f), (g, h, i) = _BRADFORD
    size = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    inverse = (
        (e * i - f * h, c * h - b * i, b * f - c * e),
        (f * g - d * i, a * i - c * g, c * d - a * f),
        (d * h - e * g, b * g - a * h, a * e - b * d),
    )
    return [sum(p * q for p, q in zip(row, cones, strict=True)) / size for row in inverse]
