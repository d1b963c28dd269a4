"""Colour as the layers record it, and how different two colours are.

CIEDE2000 as in ISO/CIE 11664-6 and Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula: implementation
notes, supplementary test data, and mathematical observations", Color Res. Appl. 30 (2005) 21-30, kL = kC = kH = 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from collection.records.sheets import Layer
from collection.values import munsell
from collection.values.munsell import Lab

Array = NDArray[np.float64]

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
    """CIEDE2000; about 1 is the least difference that can be seen side by side, above 5 are two colours."""
    return float(differences(np.array([one], dtype=float), np.array([other], dtype=float))[0])


def differences(one: Array, other: Array) -> Array:
    """CIEDE2000 of colours in arrays whose last axis is L*, a*, b*; the other axes are broadcast."""
    (l1, a1, b1), (l2, a2, b2) = np.moveaxis(one, -1, 0), np.moveaxis(other, -1, 0)
    mean_c = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2
    stretch = 1.5 - 0.5 * np.sqrt(mean_c**7 / (mean_c**7 + _STRONG))
    c1, c2 = np.hypot(stretch * a1, b1), np.hypot(stretch * a2, b2)
    h1, h2 = np.degrees(np.arctan2(b1, stretch * a1)) % 360, np.degrees(np.arctan2(b2, stretch * a2)) % 360
    coloured = c1 * c2 != 0
    turn = np.where(coloured, h2 - h1, 0.0)
    turn = np.where(turn > 180, turn - 360, np.where(turn < -180, turn + 360, turn))
    d_l, d_c, d_h = l2 - l1, c2 - c1, 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2))
    mean_l, mean_c, both = (l1 + l2) / 2, (c1 + c2) / 2, h1 + h2
    apart = np.where(both < 360, both + 360, both - 360)
    mean_h = np.where(coloured, np.where(np.abs(h1 - h2) <= 180, both, apart) / 2, both)
    wave = (
        1
        - 0.17 * _cos(mean_h - 30)
        + 0.24 * _cos(2 * mean_h)
        + 0.32 * _cos(3 * mean_h + 6)
        - 0.20 * _cos(4 * mean_h - 63)
    )
    s_l = 1 + 0.015 * (mean_l - 50) ** 2 / np.sqrt(20 + (mean_l - 50) ** 2)
    s_c, s_h = 1 + 0.045 * mean_c, 1 + 0.015 * mean_c * wave
    twist = (
        2 * np.sqrt(mean_c**7 / (mean_c**7 + _STRONG)) * np.sin(np.radians(60 * np.exp(-(((mean_h - 275) / 25) ** 2))))
    )
    l_part, c_part, h_part = d_l / s_l, d_c / s_c, d_h / s_h
    squared: Array = l_part**2 + c_part**2 + h_part**2 - twist * c_part * h_part
    return np.sqrt(np.maximum(squared, 0.0))


def _cos(degrees: Array) -> Array:
    return np.cos(np.radians(degrees))
