"""What stops a liquid that is acting: another liquid, mixed into it until the mixture no longer acts.

White spirit arrests acetone because mixing it in moves the mixture away from where it acts (common practice, no
published source). The mixture is followed in Hansen space from the active liquid to the arresting one, by volume
fraction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from collection.compute.effects.contact import contact_rate
from collection.compute.effects.models import candidate_points
from collection.compute.windows.windows import Pair, hazard, spot
from collection.values import agents
from collection.values.agents import Agent
from collection.values.reference import Reference

SHARES = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""Shares of the arresting liquid at which the mixture is checked."""
LED_AWAY = 0.5
"""At and below this fraction of the chance that the model gives the active liquid on the coat to remove, the mixture
counts as stopped; our own judgement."""


@dataclass(frozen=True, slots=True)
class Arrest:
    """One liquid that stops an agent: `share` of it from which the mixture counts as stopped on the coat to remove, the
    highest chance that models give the mixture on the kept coat on the way, and whether recorded tests show that both
    coats stand it."""

    liquid: Agent
    share: float
    on_kept: float
    tested: bool
    against: float

    def as_json(self) -> dict[str, Any]:
        return {
            "liquid": self.liquid.text,
            "share": self.share,
            "on_kept": self.on_kept,
            "tested": self.tested,
            "hazard": self.against,
        }


def arresting(pair: Pair, active: Agent, liquids: Sequence[Agent]) -> list[Arrest]:
    """The liquids that stop an agent, best first: those that tests show to touch neither coat, then the soonest, then
    the mildest.

    Not listed: liquids that a recorded test shows to act on either coat, or a model on the kept one; liquids that do
    not mix with the agent (water and what does not mix with water); and liquids with which the mixture acts more on the
    kept coat than the agent itself. Empty where the agent's point or the region of a coat is not known.
    """
    import numpy as np

    start = candidate_points(active, pair.case.reference, pair.case.policy)
    if not start or pair.remove_region is None or pair.keep_region is None:
        return []
    found = []
    for liquid in liquids:
        ends = candidate_points(liquid, pair.case.reference, pair.case.policy)
        if not ends or liquid.text == active.text or not _mixes(active, liquid, pair.case.reference):
            continue
        rates = [contact_rate(pair.work(spot(pair.case.policy, liquid)), coat) for coat in (pair.remove, pair.keep)]
        tested = all(rate.cleared for rate in rates)
        if any(rate.effect for rate in rates) or (
            not rates[1].cleared and rates[1].model is not None and rates[1].model[2] >= pair.case.policy.model_rate
        ):
            continue
        way = np.asarray(
            [
                [(1 - share) * a + share * b for a, b in zip(one, other, strict=True)]
                for share in SHARES
                for one in start
                for other in ends
            ]
        )
        count = len(start) * len(ends)
        on_removed = pair.remove_region.acts(way)[:, 1].reshape(len(SHARES), count).max(axis=1)
        on_kept = pair.keep_region.acts(way)[:, 2].reshape(len(SHARES), count).max(axis=1)
        calm = next(
            (
                share
                for share, at in zip(SHARES, range(len(SHARES)), strict=True)
                if bool((on_removed[at:] <= LED_AWAY * on_removed[0]).all())
            ),
            None,
        )
        if calm is None or float(on_kept[1:].max()) > max(float(on_kept[0]), pair.case.policy.model_rate):
            continue
        found.append(
            Arrest(
                liquid, calm, float(on_kept[1:].max()), tested, hazard(liquid, pair.case.policy, pair.case.reference)
            )
        )
    return sorted(found, key=lambda each: (not each.tested, each.share, each.against, each.on_kept, each.liquid.text))


def _mixes(active: Agent, liquid: Agent, reference: Reference) -> bool:
    if not (active.aqueous or liquid.aqueous):
        return True
    rows = [reference.solvents.find(name) for agent in (active, liquid) for name, _ in agent.liquids]
    return all(row is not None and (row.name == agents.WATER or row.water_miscible == "yes") for row in rows)
