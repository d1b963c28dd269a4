"""Fractional solubility parameters after Teas: fd, fp, fh = 100 δ / (δD + δP + δH), which sum to 100.

Teas, Journal of Paint Technology 40 (1968) 19. The divisor is the sum: dividing by the length of the vector is the
classic mistake. The three say nothing about how strong a liquid's cohesion is: two very different liquids may share a
point. Mixtures are mixed in Hansen space and then converted, which is not the mean of their Teas points.
"""

from __future__ import annotations

import math

from collection.values.reference_rows import Triple

HEIGHT = math.sqrt(3) / 2
"""Height of a triangle of side 1."""


def fractions(point: Triple) -> Triple:
    """fd, fp and fh, in per cent, for a point of Hansen space in MPa^½.

    :raises ValueError: for a point without any cohesion.
    """
    total = sum(point)
    if not total > 0 or min(point) < 0:
        raise ValueError("Hansen parameters are 0 or above, and not all 0")
    d, p, h = (100 * part / total for part in point)
    return d, p, h


def in_triangle(fraction: Triple) -> tuple[float, float]:
    """Where a point lies in a triangle of side 1: fd grows to the right along the base, fp to the top, fh to the left.

    (x, y) with y upward; the corners are fh = 100 at (0, 0), fd = 100 at (1, 0), fp = 100 at (½, √3/2).
    """
    d, p, _ = (part / 100 for part in fraction)
    return d + p / 2, p * HEIGHT
