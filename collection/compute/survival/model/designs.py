"""Counts as a sample of a known whole: of a number of places, or of parts with known areas.

Finite population: the exact range of the hypergeometric distribution (W. G. Cochran, Sampling Techniques, 3rd ed. 1977,
section 3.6). Stratified: the area-weighted mean of the strata's shares with their own variances (the same, chapters 5
and 5A). Both hold for spots chosen at random, which samples of objects rarely are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist


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


@dataclass(frozen=True)
class Stratum:
    """One part: its area (any unit), spots read, spots at which it was found."""

    area: float
    read: int
    found: int


@dataclass(frozen=True)
class Weighted:
    """The area-weighted share with its standard error and range (0-1); `one_sided` are the indexes of strata that were
    read and where nothing, or everything, was found: they add no variance, though they prove nothing. `unread` strata
    are left out of all figures."""

    share: float
    error: float
    low: float
    high: float
    one_sided: tuple[int, ...]
    unread: tuple[int, ...]


def weighted_share(strata: Sequence[Stratum], confidence: float = 0.95) -> Weighted | None:
    """The share over parts of unequal area; None where nothing was read. The variance within a part is p(1-p)/(n-1).

    :raises ValueError: for a part without area, or more found than read.
    """
    for stratum in strata:
        if not 0 <= stratum.found <= stratum.read or not stratum.area > 0:
            raise ValueError(f"{stratum.found} found of {stratum.read} read on an area of {stratum.area}")
    read = [s for s in strata if s.read]
    if not read:
        return None
    area = math.fsum(s.area for s in read)
    share = math.fsum(s.area * s.found / s.read for s in read) / area
    variance = math.fsum((s.area / area) ** 2 * _within(s) for s in read)
    error = math.sqrt(variance)
    reach = NormalDist().inv_cdf(0.5 + confidence / 2) * error
    return Weighted(
        share,
        error,
        max(0.0, share - reach),
        min(1.0, share + reach),
        tuple(at for at, s in enumerate(strata) if s.read and s.found in (0, s.read)),
        tuple(at for at, s in enumerate(strata) if not s.read),
    )


def _within(stratum: Stratum) -> float:
    share = stratum.found / stratum.read
    # One spot alone says nothing about the spread: take the widest that a share can have.
    return share * (1 - share) / (stratum.read - 1) if stratum.read > 1 else 0.25


def _at_least(whole: int, read: int, having: int, found: int) -> float:
    return math.fsum(_chance(whole, read, having, k) for k in range(found, min(read, having) + 1))


def _at_most(whole: int, read: int, having: int, found: int) -> float:
    return math.fsum(_chance(whole, read, having, k) for k in range(max(0, read - (whole - having)), found + 1))


def _chance(whole: int, read: int, having: int, found: int) -> float:
    return math.comb(having, found) * math.comb(whole - having, read - found) / math.comb(whole, read)
