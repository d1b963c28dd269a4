"""Draws without randomness: a rank-1 lattice, and an order for each part, from its key, that keeps parts independent.

N. M. Korobov 1959; I. H. Sloan and S. Joe, Lattice Methods for Multiple Integration, 1994.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

DRAWS = 512
"""Joint draws per part (K). Against 100,000 free draws the ends of a total lay within 1 % of its area in half of
120 synthetic parts, within 2.5 % in 95 of a hundred, 4.2 % at worst."""
KOROBOV, KOROBOV_DIMENSIONS = 269, 24
"""Generator of the lattice: among the odd numbers modulo 512 that keep any two of the first 24 dimensions
correlated below 0.07, least P2 figure of merit over 3, 5, 8 and 12 dimensions (own search)."""

ORDERS = 1021


def shuffled(key: str) -> NDArray[np.intp]:
    """The order in which one part takes the draws: one of 1,021 permutations of 0-511, chosen by its key."""
    return _permutation(int.from_bytes(hashlib.sha256(key.encode()).digest()[:8], "big") % ORDERS)


@lru_cache(maxsize=128)
def lattice(dimensions: int) -> Array:
    """Points of the lattice; shape (dimensions, 512), each row the midpoints of 512 equal cells."""
    import numpy as np

    rows = []
    for dimension in range(dimensions):
        if dimension < KOROBOV_DIMENSIONS:
            ranks = np.arange(DRAWS) * pow(KOROBOV, dimension, DRAWS) % DRAWS
        else:
            # The powers of the generator repeat: from there on, each row gets a permutation of its own.
            ranks = _permutation(dimension)
        rows.append((ranks + 0.5) / DRAWS)
    found = np.array(rows)
    found.flags.writeable = False
    return found


@lru_cache(maxsize=ORDERS)
def _permutation(seed: int) -> NDArray[np.intp]:
    """The order of 512 hashed counters: our own, so that no new version of numpy can change it."""
    import numpy as np

    return np.argsort(_splitmix64(seed, DRAWS), kind="stable")


def _splitmix64(seed: int, count: int) -> NDArray[np.uint64]:
    """The first numbers of the generator of G. L. Steele, D. Lea and C. H. Flood 2014, OOPSLA, 453-472."""
    import numpy as np

    state = np.uint64(seed) + np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    state = (state ^ (state >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    state = (state ^ (state >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    numbers: NDArray[np.uint64] = state ^ (state >> np.uint64(31))
    return numbers


def uniform(key: str, rows: int, count: int) -> Array:
    """Independent numbers in 0–1, ends left out, the same for the same key; shape (rows, count)."""
    import numpy as np

    seed = int.from_bytes(hashlib.sha256(key.encode()).digest()[:8], "big")
    numbers = _splitmix64(seed, rows * count) >> np.uint64(11)
    found: Array = ((numbers.astype(np.float64) + 0.5) / 2**53).reshape(rows, count)
    return found
