"""One action checked over a whole collection: the objects it would harm, in one pass.

An object with nothing recorded but its coats (no tests, conditions, treatments, decorations) is judged by its coats'
schemes and binders alone: no test could clear anything or show that a coat shields, so every coat counts as touched.
Every other object is assessed in full. Neither gives a lower severity than `assess` would, reserves aside (a property
test checks that).
"""

from __future__ import annotations

from collections.abc import Iterable

from collection.compute.build_up.actions import KIND_OF_ACTION
from collection.compute.effects.models import Question, opinion
from collection.language.words import BINDER, FOREIGN_ROLES, LATER_PERIODS
from collection.records.policy import Policy
from collection.records.sheets import ProposalStep
from collection.values import agents
from collection.values.reference import Reference


def harmed_binders(step: ProposalStep, policy: Policy, reference: Reference) -> frozenset[str] | None:
    """The binders that make the step worse than untested on a kept coat about which nothing else is recorded.

    None where every binder does; empty where no binder does.

    :raises ValueError: for a step whose harm depends on more than the binder, which has to be assessed.
    """
    kind = KIND_OF_ACTION[step.action]
    if kind == "whole":
        return None
    if kind != "contact":
        raise ValueError(f"{step.action} cannot be judged by binders")
    if step.agent is None:
        return frozenset()
    agent = agents.parse(step.agent, reference.solvents)
    return frozenset(
        binder
        for binder in BINDER.words
        if max(
            opinion(Question((binder,), basis, agent, step.ph), policy, reference).high for basis in (None, "analysed")
        )
        >= policy.model_rate
    )


def may_be_kept(role: str, assigned: bool, later: bool, period: str | None, certainty: str | None) -> bool:
    """Whether a coat may have to be kept, from its own row and its scheme's (`later`: shown to be later).

    A coat without a scheme counts as kept unless it is surely later itself; the full assessment also counts what lies
    on a later coat as later.
    """
    if role in FOREIGN_ROLES:
        return role == "wax" and assigned and not later
    if assigned:
        return not later
    return not (period in LATER_PERIODS and certainty == "confirmed")


def worst_of(step: ProposalStep, kept: Iterable[object]) -> str:
    """The severity of a plain object: `kept` are those of its coats that the step harms."""
    if KIND_OF_ACTION[step.action] == "none":
        return "clear"
    harmed = any(True for _ in kept)
    if not harmed:
        return "untested"
    return "destroys" if KIND_OF_ACTION[step.action] == "whole" else "endangers"
