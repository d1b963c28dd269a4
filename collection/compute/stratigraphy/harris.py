"""The sequence of an object's finishes as a Harris matrix: what lies over what, without the relations that follow from
others.

Laws and redundancy after E. C. Harris, "The laws of archaeological stratigraphy", World Archaeology 11 (1979) 111-117:
a unit's place lies between the lowest of those above it and the highest of those below it with which it has contact;
every other relation is redundant, and a loop is an error in the records.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

Relation = tuple[str, str]
"""(upper, lower): the first lies over the second."""


@dataclass(frozen=True)
class Matrix:
    """Units in rows from the top down, with the relations that are left once redundant ones are taken out.

    A unit stands one row below the lowest of those that lie over it. `loop` names the units of a contradiction, each
    over the next and the last over the first; there is then no order, and `rows` is empty.
    """

    rows: tuple[tuple[str, ...], ...]
    relations: tuple[Relation, ...]
    redundant: tuple[Relation, ...]
    loop: tuple[str, ...] = ()


def matrix(units: Iterable[str], relations: Iterable[Relation]) -> Matrix:
    """The matrix of some units; anything that a relation names is a unit too."""
    given = sorted(set(relations))
    under = _under(given)
    names = sorted({*units, *(unit for relation in given for unit in relation)})
    loop = find_loop(names, under)
    if loop:
        return Matrix((), tuple(given), (), loop)
    order = _top_down(names, under)
    kept, redundant = _reduced(order, under)
    rows: dict[str, int] = dict.fromkeys(order, 0)
    for unit in order:
        for lower in under[unit]:
            rows[lower] = max(rows[lower], rows[unit] + 1)
    depth = max(rows.values(), default=-1) + 1
    return Matrix(tuple(tuple(u for u in names if rows[u] == row) for row in range(depth)), kept, redundant)


def find_loop(units: Collection[str], under: Mapping[str, Collection[str]]) -> tuple[str, ...]:
    """Units that lie over each other in a circle, starting with the first by name; empty where there is an order."""
    state: dict[str, int] = {}
    for start in sorted(units):
        if start in state:
            continue
        path, waiting = [start], [iter(sorted(under.get(start, ())))]
        state[start] = 1
        while waiting:
            lower = next(waiting[-1], None)
            if lower is None:
                state[path.pop()] = 2
                waiting.pop()
            elif state.get(lower) == 1:
                return tuple(path[path.index(lower) :])
            elif lower not in state:
                state[lower] = 1
                path.append(lower)
                waiting.append(iter(sorted(under.get(lower, ()))))
    return ()


def one_sided(above: Mapping[str, Collection[str]], below: Mapping[str, Collection[str]]) -> tuple[Relation, ...]:
    """Relations that only one of the two records gives: `above` names what lies over each unit, `below` what lies under
    it."""
    from_above = {(upper, unit) for unit, uppers in above.items() for upper in uppers}
    from_below = {(unit, lower) for unit, lowers in below.items() for lower in lowers}
    return tuple(sorted(from_above ^ from_below))


def merged(relations: Iterable[Relation], equal: Iterable[Collection[str]]) -> tuple[Relation, ...]:
    """The relations once units judged to be equal are merged under the first of their names."""
    name = {unit: sorted(group)[0] for group in equal for unit in group}
    renamed = {(name.get(upper, upper), name.get(lower, lower)) for upper, lower in relations}
    return tuple(sorted((upper, lower) for upper, lower in renamed if upper != lower))


def _under(relations: Iterable[Relation]) -> dict[str, set[str]]:
    under: dict[str, set[str]] = defaultdict(set)
    for upper, lower in relations:
        under[upper].add(lower)
    return under


def _top_down(names: list[str], under: Mapping[str, set[str]]) -> list[str]:
    waiting = dict.fromkeys(names, 0)
    for lowers in under.values():
        for lower in lowers:
            waiting[lower] += 1
    free, order = sorted(n for n, count in waiting.items() if not count), []
    while free:
        unit = free.pop(0)
        order.append(unit)
        for lower in sorted(under.get(unit, ())):
            waiting[lower] -= 1
            if not waiting[lower]:
                free.append(lower)
    return order


def _reduced(order: list[str], under: Mapping[str, set[str]]) -> tuple[tuple[Relation, ...], tuple[Relation, ...]]:
    """The relations that do not follow from a longer way down, and those that do."""
    reach: dict[str, set[str]] = {}
    kept: list[Relation] = []
    redundant: list[Relation] = []
    for unit in reversed(order):
        lowers = under.get(unit, set())
        further = set().union(*(reach[lower] for lower in lowers)) if lowers else set()
        for lower in sorted(lowers):
            (redundant if lower in further else kept).append((unit, lower))
        reach[unit] = further | lowers
    return tuple(sorted(kept)), tuple(sorted(redundant))
