"""What is in jars: agents, water with its pH, and mixtures of two or three liquids by parts, as people mix them.

`water pH 8.5`, `water pH 8.5 + 1% ammonium citrate`: an agent as it is written everywhere, with the pH of its water
anywhere between its terms; written back with the pH at the end, which means the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import gcd

from collection.language.errors import BadValue
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import Reference, SolventNames

TWO = ((1, 1), (1, 2), (1, 3), (1, 4), (1, 9), (2, 1), (3, 1), (4, 1), (9, 1), (3, 2), (2, 3))
THREE = ((1, 1, 1), (2, 1, 1), (1, 2, 1), (1, 1, 2), (1, 3, 3), (3, 1, 3), (3, 3, 1), (1, 1, 4), (1, 4, 1), (4, 1, 1))
"""The parts by volume that mixtures of two and of three liquids are made in."""

_PH = re.compile(r",?\s*\b(?:at\s+)?ph\s*[=:]?\s*(?P<value>\d+(?:[.,]\d+)?)(?=\s*(?:\+|,|$))\s*,?", re.IGNORECASE)
_SAYS_PH = re.compile(r"\bph\b|\bph\s*\d", re.IGNORECASE)
HOW_PH = "Write the pH as a number after the water, as in water pH 8.5 or water pH 8.5 + 1% ammonium citrate."


@dataclass(frozen=True, slots=True)
class Jar:
    """What is in one jar: an agent, and the pH of its water where that is known."""

    agent: Agent
    ph: float | None = None

    @property
    def text(self) -> str:
        """As `read_jar` reads it back."""
        return self.agent.text if self.ph is None else f"{self.agent.text}, pH {self.ph:g}"

    @property
    def from_neutral(self) -> float:
        """How far its pH lies from 7, to either side; 0 where it has no pH."""
        return 0.0 if self.ph is None else abs(self.ph - 7)


def read_jar(text: str, solvents: SolventNames) -> Jar:
    """An agent with the pH of its water, if one is written.

    :raises BadValue: for text that is no agent, a pH that is not a number from 0 to 14, a pH given twice, and a pH for
        an agent without water.
    """
    found = list(_PH.finditer(text))
    rest = _PH.sub(" ", text).strip()
    if len(found) > 1 or _SAYS_PH.search(rest):
        raise BadValue(f"The pH cannot be read, or is given twice. {HOW_PH}")
    if not found:
        return Jar(agents.parse(text, solvents))
    value = float(found[0]["value"].replace(",", "."))
    if not 0 <= value <= 14:
        raise BadValue(f"A pH lies between 0 and 14. {HOW_PH}")
    agent = agents.parse(rest, solvents)
    if not agent.aqueous:
        raise BadValue(f"Only water has a pH, and there is none in {agent.text}. {HOW_PH}")
    return Jar(agent, value)


def jars_of(at_hand: Iterable[Jar], reference: Reference, *, most: int = 3) -> tuple[Jar, ...]:
    """Every jar, and the mixtures of those without a pH: a jar with a pH is not mixed further."""
    listed = tuple(dict.fromkeys(at_hand))
    plain = mixed((jar.agent.text for jar in listed if jar.ph is None), reference, most=most)
    return (*(Jar(agent) for agent in plain), *(jar for jar in listed if jar.ph is not None))


def mixed(liquids: Iterable[str], reference: Reference, *, most: int = 3) -> tuple[Agent, ...]:
    """Every liquid alone, and every mixture of up to `most` of them in the parts above, each once.

    Water is not mixed with liquids that do not mix with it; whether other liquids mix clear has to be seen in the jar.

    :raises BadValue: for text that is no agent.
    """
    alone = [agents.parse(name, reference.solvents) for name in dict.fromkeys(liquids)]
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
