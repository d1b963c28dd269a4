"""How alike two coats are: the log odds that they are one coat found twice, from whatever both records say.

Each attribute that both coats have adds its own part; what either leaves blank adds nothing. Each part is the logarithm
of how much more often the two values occur together in one coat than in two different ones. Their sizes are our own,
fitted to synthetic objects (`tests/bench/models/strata_truth.py`): no published figures exist.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from collection.compute.stratigraphy.colour import colour_of, differences
from collection.language.words import FOREIGN_ROLES, PREPARATION_ROLES, ROLE
from collection.records.sheets import Layer

Scores = NDArray[np.float64]

SAME_ROLE, SAME_KIND, OTHER_KIND, FOREIGN = 1.4, -0.2, -1.6, -4.0
SAME_BINDER, OTHER_BINDER, GUESSED = 0.9, -1.2, 0.5
COLOUR_TOP, COLOUR_WIDTH, COLOUR_LEAST = 2.8, 4.4, -4.0
SAME_WORDS = 1.0
"""The same colour in the same words; other words may mean the same colour, so they say nothing."""
SAME_GLOW, OTHER_GLOW = 0.6, -1.7
THICK_TOP, THICK_WIDTH, THICK_LEAST = 0.5, 0.55, -1.6
FIXED = 3.0
"""Added where the surveyor put both into one scheme."""
NEVER = -1000.0
"""Two coats that the surveyor put into different schemes are never the same coat."""
DECORATIONS = frozenset({"lining", "lettering", "ornament", "metal leaf", "bronze paint", "transfer"})


def likeness(coats: Sequence[Layer]) -> Scores:
    """The log odds for every pair of coats, as a symmetric square, from their descriptions alone."""
    roles = np.array([_ROLES[coat.role] for coat in coats])
    found: Scores = _role_scores()[np.ix_(roles, roles)].copy()
    found += _words(
        [None if c.binder in (None, "unknown") else c.binder for c in coats],
        SAME_BINDER,
        OTHER_BINDER,
        np.array([GUESSED if c.binder_basis == "guessed" else 1.0 for c in coats]),
    )
    found += _words([c.fluorescence for c in coats], SAME_GLOW, OTHER_GLOW)
    found += _colours(coats)
    found += _thicknesses(coats)
    return found


def fixed(coats: Sequence[Layer]) -> Scores:
    """What the surveyor's schemes add to the log odds of every pair of coats, as the same square."""
    return _words([coat.scheme for coat in coats], FIXED, NEVER)


def kind_of(role: str) -> str:
    """What a coat does in a finish: preparation, colour, decoration, clear; foreign for dirt and the like."""
    if role in FOREIGN_ROLES:
        return "foreign"
    if role in PREPARATION_ROLES:
        return "preparation"
    if role in DECORATIONS:
        return "decoration"
    return "clear" if role in ("varnish", "glaze") else "colour"


_ROLES = {role: number for number, role in enumerate(ROLE.words)}


@cache
def _role_scores() -> Scores:
    return np.array([[_role_score(one, other) for other in ROLE.words] for one in ROLE.words])


def _role_score(one: str, other: str) -> float:
    if one == other:
        return SAME_ROLE
    kinds = kind_of(one), kind_of(other)
    if kinds[0] == kinds[1]:
        return SAME_KIND
    return FOREIGN if "foreign" in kinds else OTHER_KIND


def _numbered(texts: Sequence[str | None]) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    numbers: dict[str | None, int] = {}
    codes = np.array([numbers.setdefault(text, len(numbers)) for text in texts], dtype=np.int64)
    return codes, np.array([bool(text) for text in texts])


def _words(texts: Sequence[str | None], same: float, other: float, weight: Scores | None = None) -> Scores:
    codes, known = _numbered(texts)
    if not known.any():
        return np.zeros((len(texts), len(texts)))
    parts = np.where(known[:, None] & known, np.where(codes[:, None] == codes, same, other), 0.0)
    return parts if weight is None else parts * np.minimum(weight[:, None], weight)


def _colours(coats: Sequence[Layer]) -> Scores:
    """Where both have measurable colours, how far apart these are; else whether the words are the same."""
    labs = [colour_of(coat) for coat in coats]
    measured = np.array([lab is not None for lab in labs])
    both = measured[:, None] & measured
    found = np.where(both, 0.0, _words([coat.colour for coat in coats], SAME_WORDS, 0.0))
    if measured.any():
        values = np.array([lab for lab in labs if lab is not None])
        one, other = np.triu_indices(len(values), 1)
        apart = np.zeros((len(values), len(values)))
        apart[one, other] = apart[other, one] = differences(values[one], values[other])
        found[np.ix_(measured, measured)] = np.maximum(COLOUR_LEAST, COLOUR_TOP - (apart / COLOUR_WIDTH) ** 2 / 2)
    return found


def _thicknesses(coats: Sequence[Layer]) -> Scores:
    logs = np.log([coat.thickness_um if coat.thickness_um else np.nan for coat in coats])
    ratio = (logs[:, None] - logs) / THICK_WIDTH
    return np.nan_to_num(np.maximum(THICK_LEAST, THICK_TOP - ratio * ratio / 2), nan=0.0)
