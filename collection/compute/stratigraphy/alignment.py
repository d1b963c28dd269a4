"""Aligns several sections: which coats of different samples are the same coat.

A multiple alignment of sequences by dynamic programming: samples are added to a shared sequence of columns, then each
in turn is taken out and aligned again with the rest until nothing changes (iterative refinement of a profile; for the
method see R. Durbin, S. Eddy, A. Krogh and G. Mitchison, Biological Sequence Analysis, 1998, chapters 2, 4 and 6). How
sure each coat's column is comes from the forward and backward sums over all alignments of its sample.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from operator import add, mul

import numpy as np

from collection.compute.stratigraphy.likeness import NEVER, Scores

SKIP_OPEN, SKIP_ON = -1.5, -0.35
"""Cost of a column that a sample lacks: the first, and each further one beside it."""
WORN = -0.2
"""Cost of a column missing at an end: outside, where wear and sanding take coats, or inside, where a sample stops short
of it."""
NEW_OPEN, NEW_ON = -1.3, -0.7
"""Cost of a coat that no other sample has."""
CROWD, CROWDED = 0.2, 4
"""How much each further coat in a column adds to the column's score, up to a number of coats."""
ROUNDS = 6
LEAST = 0.001
"""Chances below this are left out."""

Column = list[int]


@dataclass(frozen=True)
class Aligned:
    """Columns from the support outward, each a list of coats by number, at most one of each sample.

    `chances` give for each coat how likely each column is, by the column's place; the rest, up to 1, is the chance that
    no column is right.
    """

    columns: list[Column]
    chances: list[dict[int, float]]


def align(stacks: Sequence[Sequence[int]], scores: Scores, reaches: Sequence[bool]) -> Aligned:
    """Align the samples.

    `stacks` gives each sample's coats by number, from the support outward; `reaches` says whether each sample goes down
    to the support.
    """
    order = sorted(
        (at for at in range(len(stacks)) if stacks[at]), key=lambda at: (-len(stacks[at]), not reaches[at], at)
    )
    columns: list[Column] = []
    for at in order:
        columns = _laid(columns, stacks[at], scores, reaches[at])
    for _ in range(ROUNDS if len(order) > 2 else 0):
        before = columns
        for at in order:
            columns = _laid(_without(columns, stacks[at]), stacks[at], scores, reaches[at])
        if columns == before:
            break
    chances: list[dict[int, float]] = [{} for _ in range(len(scores))]
    for at in order:
        _weigh(columns, stacks[at], scores, reaches[at], chances)
    return Aligned(columns, chances)


def _without(columns: list[Column], stack: Sequence[int]) -> list[Column]:
    own = set(stack)
    return [kept for column in columns if (kept := [coat for coat in column if coat not in own])]


def _gains(columns: list[Column], stack: Sequence[int], scores: Scores) -> Scores:
    """The score of each coat of a sample in each column: the mean over the column's coats, higher where there are
    many."""
    flat = [coat for column in columns for coat in column]
    counts = np.array([len(column) for column in columns])
    sums: Scores = np.add.reduceat(scores[stack][:, flat], np.cumsum(counts) - counts, axis=1)
    gains: Scores = sums / counts * (1 + CROWD * (np.minimum(counts, CROWDED) - 1))
    return gains


def _laid(columns: list[Column], stack: Sequence[int], scores: Scores, reaches: bool) -> list[Column]:
    """The columns with one more sample in them, in its best alignment.

    Gotoh's recursion with three states: the coat stands in the column, the column is left out, the coat is new.
    """
    if not columns:
        return [[coat] for coat in stack]
    gains = _gains(columns, stack, scores).tolist()
    n, m = len(stack), len(columns)
    never = NEVER * n
    matched, out, new = (
        [[0.0, *[never] * m]],
        [[never, *(_lead(j, reaches) for j in range(1, m + 1))]],
        [[never] * (m + 1)],
    )
    for i in range(1, n + 1):
        on, begin = (WORN, WORN) if i == n else (SKIP_ON, SKIP_OPEN)
        # Conditions instead of max(): these lines are most of the work, and take a third of the time this way.
        old = [a if a >= b else b for a, b in zip(matched[-1], out[-1], strict=True)]
        best = [a if a >= b else b for a, b in zip(old, new[-1], strict=True)]
        matched_row = [never, *map(add, best, gains[i - 1])]
        new_row = [a if (a := o + NEW_OPEN) >= (b := w + NEW_ON) else b for o, w in zip(old, new[-1], strict=True)]
        left, out_row = never, [never]
        for a, b in zip(matched_row[:-1], new_row, strict=False):
            opened = (a if a >= b else b) + begin
            left += on
            if opened > left:
                left = opened
            out_row.append(left)
        matched.append(matched_row)
        out.append(out_row)
        new.append(new_row)
    return _traced(columns, stack, matched, out, new)


def _traced(
    columns: list[Column],
    stack: Sequence[int],
    matched: list[list[float]],
    out: list[list[float]],
    new: list[list[float]],
) -> list[Column]:
    """The way back through the three tables from their last cell."""
    i, j = len(stack), len(columns)
    n = i
    result: list[Column] = []
    state = _best(matched[i][j], out[i][j], new[i][j])
    while i or j:
        if state == 0:
            i, j = i - 1, j - 1
            result.append([*columns[j], stack[i]])
            state = _best(matched[i][j], out[i][j], new[i][j])
        elif state == 1:
            j -= 1
            result.append(columns[j])
            on, begin = (WORN, WORN) if i == n else (SKIP_ON, SKIP_OPEN)
            state = 1 if i == 0 else _best(matched[i][j] + begin, out[i][j] + on, new[i][j] + begin)
        else:
            i -= 1
            result.append([stack[i]])
            state = _best(matched[i][j] + NEW_OPEN, out[i][j] + NEW_OPEN, new[i][j] + NEW_ON)
    return result[::-1]


def _best(matched: float, out: float, new: float) -> int:
    if matched >= out and matched >= new:
        return 0
    return 1 if out >= new else 2


def _lead(count: int, reaches: bool) -> float:
    return SKIP_OPEN + SKIP_ON * (count - 1) if reaches else WORN * count


def _weigh(
    columns: list[Column], stack: Sequence[int], scores: Scores, reaches: bool, chances: list[dict[int, float]]
) -> None:
    """How likely each column is for each coat of one sample, given the columns of all the others."""
    own = set(stack)
    home = {coat: place for place, column in enumerate(columns) for coat in column if coat in own}
    places = [place for place, column in enumerate(columns) if any(coat not in own for coat in column)]
    if not places:
        for coat in stack:
            chances[coat] = {home[coat]: 1.0}
        return
    gains = _gains(_without(columns, stack), stack, scores)
    # Each coat is matched or new exactly once, so a factor of its own cancels out and keeps the sums in range.
    tops = np.maximum(gains.max(axis=1), NEW_ON)
    weights, fresh = np.exp(gains - tops[:, None]).tolist(), np.exp(-tops).tolist()
    forward = _sums(weights, fresh, first_free=not reaches, last_free=True)
    backward = _sums([row[::-1] for row in weights[::-1]], fresh[::-1], first_free=True, last_free=not reaches)
    total, n = forward[-1][-1], len(stack)
    for i, coat in enumerate(stack):
        ways = zip(places, forward[i], weights[i], backward[n - i - 1][-2::-1], strict=False)
        found = {
            place: min(1.0, chance) for place, down, here, up in ways if (chance := down * here * up / total) > LEAST
        }
        if len(columns[home[coat]]) == 1:
            found[home[coat]] = max(0.0, 1.0 - sum(found.values()))
        chances[coat] = found


_E_SKIP, _E_SKIP_ON, _E_WORN = math.exp(SKIP_OPEN), math.exp(SKIP_ON), math.exp(WORN)
_E_NEW, _E_NEW_ON = math.exp(NEW_OPEN), math.exp(NEW_ON)


def _sums(weights: list[list[float]], fresh: list[float], *, first_free: bool, last_free: bool) -> list[list[float]]:
    """The sum over all ways from the first corner to each cell; a free end costs little to leave out."""
    n, m = len(weights), len(weights[0])
    matched, out, new = [0.0] * (m + 1), [0.0] * (m + 1), [0.0] * (m + 1)
    matched[0] = 1.0
    for j in range(1, m + 1):
        out[j] = _E_WORN**j if first_free else _E_SKIP * _E_SKIP_ON ** (j - 1)
    found = [[a + b for a, b in zip(matched, out, strict=True)]]
    for i in range(n):
        on, begin = (_E_WORN, _E_WORN) if i == n - 1 and last_free else (_E_SKIP_ON, _E_SKIP)
        scale, left, out_row = fresh[i], 0.0, [0.0]
        matched_row = [0.0, *map(mul, found[-1], weights[i])]
        new_row = [((a + b) * _E_NEW + c * _E_NEW_ON) * scale for a, b, c in zip(matched, out, new, strict=True)]
        for a, c in zip(matched_row[:-1], new_row, strict=False):
            left = (a + c) * begin + left * on
            out_row.append(left)
        matched, out, new = matched_row, out_row, new_row
        found.append([a + b + c for a, b, c in zip(matched, out, new, strict=True)])
    return found
