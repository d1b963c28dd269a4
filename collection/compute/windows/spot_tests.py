"""The one spot test that would tell most about a window: expected information over the posterior.

A spot test of an agent shows whether it acts on the coat to remove and on the coat to keep. What it would tell is the
mean reduction of uncertainty, in bits, about whether one of the best candidates acts on one of the coats: the mutual
information of the test's outcome and each of these, averaged (Lindley 1956, On a measure of the information provided by
an experiment; from memory). It lies between 0, where the outcome is known beforehand, and 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from collection.compute.effects.models import candidate_points
from collection.compute.effects.solubility import Region
from collection.compute.windows.windows import Candidate, Pair
from collection.values.agents import Agent

if TYPE_CHECKING:
    from collection.compute.effects.solubility import Array

ABOUT = 24
"""The best candidates that the test should tell about."""


@dataclass(frozen=True, slots=True)
class Telling:
    """One agent to test, and the bits that it is expected to tell."""

    agent: Agent
    bits: float


def most_telling(pair: Pair, ranked: Sequence[Candidate], among: Sequence[Agent]) -> list[Telling]:
    """The agents by what a spot test of them would tell about the best candidates, most first; without agents already
    tested on both coats, and those without a point in Hansen space."""
    import numpy as np

    regions = [which for which in (pair.remove_region, pair.keep_region) if which is not None]
    done = {t.agent.text for t in pair.on_removed} & {t.agent.text for t in pair.on_kept}
    points = {
        agent.text: candidate_points(agent, pair.case.reference, pair.case.policy)
        for agent in (*among, *(each.agent for each in ranked[:ABOUT]))
    }
    about = [points[each.agent.text][0] for each in ranked[:ABOUT] if points[each.agent.text]]
    asked = [agent for agent in among if points[agent.text] and agent.text not in done]
    if not (regions and about and asked):
        return []
    bits = np.mean(
        [
            informative(which, np.asarray([points[agent.text][0] for agent in asked]), np.asarray(about))
            for which in regions
        ],
        axis=0,
    )
    return sorted(
        (Telling(agent, float(each)) for agent, each in zip(asked, bits, strict=True)),
        key=lambda each: (-each.bits, len(each.agent.liquids), each.agent.text),
    )


def informative(which: Region, asked: Array, about: Array) -> Array:
    """Bits (n,) that learning whether a liquid at each of `asked` (n, 3) acts tells, on average, about one of those at
    `about` (m, 3)."""
    import numpy as np

    one, other = which.inside(asked), which.inside(about)
    weights = which.weights
    share, theirs = one @ weights, other @ weights
    both = (one * weights) @ other.T
    joint = np.stack([both, share[:, None] - both, theirs[None, :] - both, 1 - share[:, None] - theirs[None, :] + both])
    apart = np.stack(
        [
            share[:, None] * theirs,
            share[:, None] * (1 - theirs),
            (1 - share)[:, None] * theirs,
            (1 - share)[:, None] * (1 - theirs),
        ]
    )
    bits = np.where(joint > 1e-15, joint * np.log2(np.maximum(joint, 1e-300) / np.maximum(apart, 1e-300)), 0.0)
    found: Array = np.maximum(bits.sum(axis=0), 0.0).mean(axis=1)
    return found
