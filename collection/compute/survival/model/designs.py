"""Counts as a sample of a known number of places: the exact range of the hypergeometric distribution.

W. G. Cochran, Sampling Techniques, 3rd ed. 1977, section 3.6. It holds for spots chosen at random, which samples of
objects rarely are.
"""

from __future__ import annotations

import math


def finite_range(whole: int, read: int, found: int, confidence: float = 0.95, *, sides: int = 2) -> tuple[int, int]:
    """How many of `whole` places can have what was found at `found` of `read` places, as (least, most), exact.

    A census leaves no range. With `sides` 1, each end alone has the confidence.

    :raises ValueError: unless 0 <= found <= read <= whole, 0 < confidence < 1 and sides is 1 or 2.
    """
    if not 0 <= found <= read <= whole or not 0 < confidence < 1 or sides not in (1, 2):
        raise ValueError(f"{found} found of {read} read of {whole}: each must lie within the next")
    tail = (1 - confidence) / sides
    possible = range(found, whole - (read - found) + 1)
    least = next((k for k in possible if _at_least(whole, read, k, found) > tail), found)
    most = next((k for k in reversed(possible) if _at_most(whole, read, k, found) > tail), whole - read + found)
    return least, most


def _at_least(whole: int, read: int, having: int, found: int) -> float:
    return math.fsum(_chance(whole, read, having, k) for k in range(found, min(read, having) + 1))


def _at_most(whole: int, read: int, having: int, found: int) -> float:
    return math.fsum(_chance(whole, read, having, k) for k in range(max(0, read - (whole - having)), found + 1))


def _chance(whole: int, read: int, having: int, found: int) -> float:
    return math.comb(having, found) * math.comb(whole - having, read - found) / math.comb(whole, read)
