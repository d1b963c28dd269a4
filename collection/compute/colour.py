"""Colour as the layers record it, and how far two colours lie apart.

CIEDE2000 as in ISO/CIE 11664-6 and Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula: implementation
notes, supplementary test data, and mathematical observations", Color Res. Appl. 30 (2005) 21-30, kL = kC = kH = 1.
"""

from __future__ import annotations

import math

from collection import munsell
from collection.munsell import Lab
from collection.records import Layer

_STRONG = 25.0**7


def colour_of(layer: Layer) -> Lab | None:
    """A layer's colour in CIE L*a*b*, D65: measured, else from its Munsell notation; None where it has neither.

    Measured coordinates are taken as D65, which the records do not say.
    """
    measured = layer.lab_l, layer.lab_a, layer.lab_b
    if all(part is not None for part in measured):
        return measured  # type: ignore[return-value]
    return munsell.lab(layer.munsell)


def difference(one: Lab, other: Lab) -> float:
    """CIEDE2000; about 1 is the least that can be told apart side by side, above 5 are two colours."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean_c = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    stretch = 1.5 - 0.5 * math.sqrt(mean_c**7 / (mean_c**7 + _STRONG))
    c1, c2 = math.hypot(stretch * a1, b1), math.hypot(stretch * a2, b2)
    h1, h2 = _angle(b1, stretch * a1), _angle(b2, stretch * a2)
    product = c1 * c2
    turn = 0.0 if product == 0 else (h2 - h1 + 180) % 360 - 180
    if product and turn == -180 and h2 > h1:
        turn = 180.0
    d_l, d_c, d_h = l2 - l1, c2 - c1, 2 * math.sqrt(product) * math.sin(math.radians(turn / 2))
    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    mean_h = _mean_hue(h1, h2) if product else h1 + h2
    wave = (1 - 0.17 * _cos(mean_h - 30) + 0.24 * _cos(2 * mean_h) + 0.32 * _cos(3 * mean_h + 6)
            - 0.20 * _cos(4 * mean_h - 63))
    s_l = 1 + 0.015 * (mean_l - 50) ** 2 / math.sqrt(20 + (mean_l - 50) ** 2)
    s_c, s_h = 1 + 0.045 * mean_c, 1 + 0.015 * mean_c * wave
    twist = 2 * math.sqrt(mean_c**7 / (mean_c**7 + _STRONG)) * math.sin(
        math.radians(60 * math.exp(-(((mean_h - 275) / 25) ** 2))))
    l_part, c_part, h_part = d_l / s_l, d_c / s_c, d_h / s_h
    return math.sqrt(max(0.0, l_part**2 + c_part**2 + h_part**2 - twist * c_part * h_part))


def _angle(b: float, a: float) -> float:
    return 0.0 if a == 0 and b == 0 else math.degrees(math.atan2(b, a)) % 360


def _mean_hue(h1: float, h2: float) -> float:
    if abs(h1 - h2) <= 180:
        return (h1 + h2) / 2
    return (h1 + h2 + 360) / 2 if h1 + h2 < 360 else (h1 + h2 - 360) / 2


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))
