"""Liquids and mixtures of two or three of them by parts, as people mix them on a jar."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import combinations
from math import gcd

from collection import agents
from collection.agents import Agent
from collection.reference import Reference

TWO = ((1, 1), (1, 2), (1, 3), (1, 4), (1, 9), (2, 1), (3, 1), (4, 1), (9, 1), (3, 2), (2, 3))
THREE = ((1, 1, 1), (2, 1, 1), (1, 2, 1), (1, 1, 2), (1, 3, 3), (3, 1, 3), (3, 3, 1), (1, 1, 4), (1, 4, 1), (4, 1, 1))
"""Parts by volume, the more of the last the less of the first."""


def mixed(liquids: Iterable[str], reference: Reference, *, most: int = 3) -> tuple[Agent, ...]:
    """Every liquid alone, and every mixture of up to `most` of them in the parts above, each once.

    Water and what does not take it up are left apart; whether other liquids mix clear is for the jar to show.

    :raises BadValue: for text that is no agent.
    """
    return _mixed(tuple(dict.fromkeys(liquids)), reference, most)


@lru_cache(maxsize=16)
def _mixed(names: tuple[str, ...], reference: Reference, most: int) -> tuple[Agent, ...]:
    alone = [agents.parse(name, reference.solvents) for name in names]
    found = {agent.text: agent for agent in alone}
    pure = [agent.liquids[0][0] for agent in alone if len(agent.liquids) == 1 and not agent.additives]
    for count, parts in ((2, TWO), (3, THREE)):
        if count > most:
            break
        for chosen in combinations(pure, count):
            if not _mix(chosen, reference):
                continue
            for amounts in parts:
                agent = agents.parse(_written(chosen, amounts), reference.solvents)
                found.setdefault(agent.text, agent)
    return tuple(found.values())


def _written(chosen: Sequence[str], amounts: Sequence[int]) -> str:
    shared = gcd(*amounts)
    return " + ".join(f"{amount // shared} {name}" for name, amount in zip(chosen, amounts, strict=True))


def _mix(chosen: Sequence[str], reference: Reference) -> bool:
    if agents.WATER not in chosen:
        return True
    return all((row := reference.solvents.find(name)) is not None and row.water_miscible == "yes" for name in chosen)
