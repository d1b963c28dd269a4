"""All coats of an object aligned in columns and campaigns: what `strata` makes its sequence from.

The surveyor's schemes can be taken as fixed points; aligned without them, the coats show what they would suggest by
themselves.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import pairwise

import numpy as np

from collection.compute.build_up.readings import is_absent, layers_by_sample
from collection.compute.case import Case, kept
from collection.compute.stratigraphy.alignment import Aligned, align
from collection.compute.stratigraphy.campaigns import campaigns, edges
from collection.compute.stratigraphy.likeness import NEVER, Scores, fixed, likeness
from collection.records.sheets import Layer


@dataclass(frozen=True)
class _Stack:
    """One sample's coats by number, from the support outward; whether it reaches the support, and the schemes that
    were looked for in it and not found."""

    sample: str
    coats: list[int]
    reaches: bool
    absent: frozenset[str]


@dataclass
class Laid:
    """The coats of an object by number, aligned: `names` are the samples, `stacks` their coats from the support
    outward, `scores` how alike any two coats are; `campaign` gives the campaign of each column, 0 = none, and `edges`
    how clear each campaign is."""

    names: list[str]
    stacks: list[list[int]]
    coats: list[Layer]
    scores: Scores
    aligned: Aligned
    campaign: list[int]
    edges: dict[int, tuple[float, float]]


@kept
def _stacked(case: Case) -> tuple[list[_Stack], list[Layer], Scores]:
    """The samples that show coats, all coats by number, and how alike any two are; shape (coats, coats)."""
    layers = layers_by_sample(case)
    stacks: list[_Stack] = []
    coats: list[Layer] = []
    for sample in sorted((s for s in case.facts.samples if s.method != "gauge"), key=lambda s: s.sample):
        rows = layers.get(sample.sample, ())
        there = [row for row in reversed(rows) if not is_absent(row)]
        if there:
            stacks.append(
                _Stack(
                    sample.sample,
                    list(range(len(coats), len(coats) + len(there))),
                    sample.reaches_support == "yes",
                    frozenset(row.scheme for row in rows if is_absent(row) and row.scheme),
                )
            )
            coats.extend(there)
    alike = likeness(coats) if coats else np.zeros((0, 0))
    alike.flags.writeable = False
    return stacks, coats, alike


def lay(case: Case, *, by_scheme: bool) -> Laid:
    """The coats aligned; the surveyor's schemes are followed only with `by_scheme`."""
    stacks, coats, scores = _stacked(case)
    numbered = [stack.coats for stack in stacks]
    if not coats:
        return Laid([], [], [], scores, Aligned([], []), [], {})
    if by_scheme:
        scores = scores + fixed(coats)
        for stack in stacks:
            if stack.absent:
                there = [number for number, coat in enumerate(coats) if coat.scheme in stack.absent]
                scores[np.ix_(stack.coats, there)] = NEVER
                scores[np.ix_(there, stack.coats)] = NEVER
    aligned = align(numbered, scores, [stack.reaches for stack in stacks])
    numbers, odds = campaigns(aligned.columns, numbered, coats, scores, by_scheme=by_scheme)
    laid = Laid([stack.sample for stack in stacks], numbered, coats, scores, aligned, numbers, edges(numbers, odds))
    return _merged(laid) if by_scheme else laid


def schemes_of_campaigns(laid: Laid) -> dict[int, str | None]:
    """The scheme that the surveyor gave to a campaign's coats; if there are several, the one given most often."""
    given: dict[int, Counter[str]] = defaultdict(Counter)
    for column, number in zip(laid.aligned.columns, laid.campaign, strict=True):
        given[number].update(scheme for coat in column if (scheme := laid.coats[coat].scheme))
    return {
        number: min(found, key=lambda code: (-found[code], code)) if found else None
        for number, found in ((n, given[n]) for n in set(laid.campaign))
        if number
    }


def _merged(laid: Laid) -> Laid:
    """The same with campaigns of one scheme merged, and with the columns in an order that no sample contradicts and
    that keeps each campaign together as far as possible: coats of other parts are sorted into their own campaign."""
    columns, numbers = laid.aligned.columns, laid.campaign
    schemes = schemes_of_campaigns(laid)
    met: Counter[int] = Counter()
    for column, number in zip(columns, numbers, strict=True):
        met[number] += len(column)
    leading = {
        scheme: max((n for n in schemes if schemes[n] == scheme), key=lambda n: (met[n], -n))
        for scheme in schemes.values()
        if scheme
    }
    own = {number: leading.get(schemes.get(number) or "", number) for number in set(numbers)}
    middle = {number: float(np.mean([at for at, n in enumerate(numbers) if n == number])) for number in set(numbers)}
    wish = [float(at) if own[number] == number else middle[own[number]] for at, number in enumerate(numbers)]
    order = _topmost_last(laid, wish)
    place = {old: new for new, old in enumerate(order)}
    chances = [{place[at]: chance for at, chance in found.items()} for found in laid.aligned.chances]
    renumbered: dict[int, int] = {0: 0}
    for old in order:
        renumbered.setdefault(own[numbers[old]], len(renumbered))
    clear: dict[int, tuple[float, float]] = {}
    for number, found in laid.edges.items():
        new = renumbered[own[number]]
        clear[new] = min(clear.get(new, found), found)
    return Laid(
        laid.names,
        laid.stacks,
        laid.coats,
        laid.scores,
        Aligned([columns[old] for old in order], chances),
        [renumbered[own[numbers[old]]] for old in order],
        clear,
    )


def _topmost_last(laid: Laid, wish: Sequence[float]) -> list[int]:
    """The columns from the support outward, as close to the wished order as the samples allow."""
    home = {coat: at for at, column in enumerate(laid.aligned.columns) for coat in column}
    over: dict[int, set[int]] = defaultdict(set)
    waiting = dict.fromkeys(range(len(laid.aligned.columns)), 0)
    for stack in laid.stacks:
        for lower, upper in pairwise(stack):
            if home[upper] not in over[home[lower]]:
                over[home[lower]].add(home[upper])
                waiting[home[upper]] += 1
    free = [(wish[at], at) for at, count in waiting.items() if not count]
    heapify(free)
    order: list[int] = []
    while free:
        at = heappop(free)[1]
        order.append(at)
        for upper in over[at]:
            waiting[upper] -= 1
            if not waiting[upper]:
                heappush(free, (wish[upper], upper))
    return order
