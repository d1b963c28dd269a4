"""Which columns of a shared sequence belong to one campaign of finishing.

A campaign runs from preparation through colour to varnish, with decoration between varnishes; abrasion lies inside it,
dirt between two. So in a section a step back in that order, or dirt, suggests a new campaign, and a step forward
suggests the same one. Where a sample lacks coats that others have, they were worn or sanded off before the next
campaign, or belonged to a campaign on other parts: so the sample's next coat is probably the first of its campaign. One
coat is not one campaign: a coach body had twelve coats before colour (J. W. Burgess, A Practical Treatise on
Coach-Building). The weights are our own, fitted to synthetic objects (`tests/bench/models/strata_truth.py`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from collection.compute.stratigraphy.alignment import Column
from collection.compute.stratigraphy.likeness import Scores, kind_of
from collection.records.sheets import Layer

STAGES = {"preparation": 0, "colour": 1, "decoration": 2, "clear": 3}
TURN = ((-2.2, -3.0, -2.0, -2.0), (2.6, -1.2, -3.0, -3.0), (3.0, 1.0, -2.0, -3.0), (3.5, 2.0, -2.5, -2.5))
"""Log odds that a new campaign begins between two neighbouring coats, by the stage of the lower and the upper."""
OTHER_COLOUR = 4.0
"""Added where both are colours and differ."""
DIRT = 4.0
GOES_ON = 1.4
"""Added where a sample continues here after lacking coats that others have."""
AGREE = 0.55
"""How much each further sample adds to the evidence of one."""
LEAST = 0.4
"""From these log odds on, a campaign is taken to begin."""
CLEAREST = 6.0


def begins(
    columns: Sequence[Column], stacks: Sequence[Sequence[int]], coats: Sequence[Layer], scores: Scores
) -> list[float]:
    """For each column, the log odds that a campaign begins there, from what every sample shows."""
    place = {coat: at for at, column in enumerate(columns) for coat in column}
    samples_odds: list[list[float]] = [[] for _ in columns]
    for stack in stacks:
        last: int | None = None
        dirty = False
        for coat in stack:
            kind = kind_of(coats[coat].role)
            if kind == "foreign":
                dirty = dirty or last is not None
                continue
            if last is not None:
                odds = _odds_between(last, coat, coats, scores) + (DIRT if dirty else 0.0)
                lacking = [
                    at
                    for at in range(place[last] + 1, place[coat])
                    if any(kind_of(coats[c].role) != "foreign" for c in columns[at])
                ]
                if lacking:
                    odds += GOES_ON
                    for at in lacking if odds < 0 else ():
                        samples_odds[at].append(odds)
                samples_odds[place[coat]].append(odds)
            last, dirty = coat, False
    return [_pooled(parts) for parts in samples_odds]


def campaigns(
    columns: Sequence[Column],
    stacks: Sequence[Sequence[int]],
    coats: Sequence[Layer],
    scores: Scores,
    *,
    by_scheme: bool = True,
) -> tuple[list[int], list[float]]:
    """The campaign of each column, counted from 1, with 0 for columns that belong to none; and how sure each beginning
    is.

    With `by_scheme` the surveyor's schemes are followed: no campaign begins between two columns of one scheme, and one
    always begins between two schemes.
    """
    odds = begins(columns, stacks, coats, scores)
    own = [
        at
        for at, column in enumerate(columns)
        if sum(kind_of(coats[c].role) == "foreign" for c in column) * 2 < len(column)
    ]
    starts = {at for at in own if odds[at] > LEAST}
    given = {
        at: scheme
        for at in own
        if by_scheme and (scheme := next((coats[c].scheme for c in columns[at] if coats[c].scheme), None))
    }
    assigned = sorted(given)
    for one, two in pairwise(assigned):
        between = [at for at in own if one < at <= two]
        if given[one] == given[two]:
            starts -= set(between)
        elif not starts & set(between):
            starts.add(max(between, key=lambda at: odds[at]))
    number, found = 1, [0] * len(columns)
    for at in own:
        if at in starts and at != own[0]:
            number += 1
        found[at] = number
    return found, odds


def edges(numbers: Sequence[int], odds: Sequence[float]) -> dict[int, tuple[float, float]]:
    """For each campaign how clear it is, in log odds up to 6: the least clear of where it begins, where it ends, and
    that its columns belong together; and the last of these alone."""
    first: dict[int, int] = {}
    inner: dict[int, float] = {}
    for at, number in enumerate(numbers):
        if not number:
            continue
        if first.setdefault(number, at) != at:
            clear = -odds[at] if odds[at] <= LEAST else 0.0
            inner[number] = min(inner.get(number, CLEAREST), clear)
    start = {number: CLEAREST if number == min(first) else min(CLEAREST, abs(odds[at])) for number, at in first.items()}
    return {
        number: (
            min(start[number], start.get(number + 1, CLEAREST), inner.get(number, CLEAREST)),
            inner.get(number, CLEAREST),
        )
        for number in first
    }


def _odds_between(lower: int, upper: int, coats: Sequence[Layer], scores: Scores) -> float:
    stages = STAGES[kind_of(coats[lower].role)], STAGES[kind_of(coats[upper].role)]
    odds = TURN[stages[0]][stages[1]]
    if stages == (1, 1) and scores[lower, upper] < 0:
        odds += OTHER_COLOUR
    return odds


def _pooled(parts: Sequence[float]) -> float:
    """The mean of what the samples say, made stronger where many say it."""
    if not parts:
        return 0.0
    return sum(parts) / len(parts) * (1 + AGREE * math.log2(len(parts)))
