"""One step of work on one place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from collection.compute.build_up.coats import Stack
from collection.compute.case import Case
from collection.compute.effects.trials import Bounds, conditions_of
from collection.records.sheets import ProposalStep
from collection.values import agents
from collection.values.agents import Agent


@dataclass(frozen=True, slots=True)
class Work:
    """A step on the build-up of a place: `day` is when it is meant to happen, `before` are the earlier steps there, and
    `thinned` says that one of them may have thinned what lies above the coat in question. `agent` is the step's agent
    as parsed, `conditions` its conditions as intervals."""

    case: Case
    stack: Stack
    step: ProposalStep
    day: str | None
    before: Sequence[ProposalStep] = ()
    thinned: bool = False
    agent: Agent | None = field(init=False)
    conditions: Mapping[str, Bounds] = field(init=False)

    def __post_init__(self) -> None:
        text = self.step.agent
        agent = None if text is None else agents.parse(text, self.case.reference.solvents)
        object.__setattr__(self, "agent", agent)
        object.__setattr__(self, "conditions", conditions_of(self.step, agent))
