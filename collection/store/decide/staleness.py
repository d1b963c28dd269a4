"""Whether a decision still fits what is known.

It is stale when it read other facts, another proposal, policy or reference values than there are now: its hash of them
differs. With the same hash it is stale when the rules have changed what they say: the proposal is assessed now, and its
losses with their severities, and its requirements with their states, are compared with those stored with the decision.
Wording, shares and areas are not compared, so a clearer sentence or a finer estimate reopens nothing.

The number of the engine (`collection.compute.ENGINE`) is stored in the assessment of a decision and plays no part in
this. Decisions of engine 4 have the same kind of hash as today's and are treated the same; older ones have another hash
and are stale.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from collection.compute.case import Case
from collection.records.facts import ProposalFacts
from collection.rules.advice import with_answers
from collection.rules.assess import assess, inputs_sha256
from collection.rules.findings import Assessment
from collection.store.decide.answers import Answer, answers_that_hold


@dataclass(frozen=True, slots=True)
class Basis:
    """What a decision was based on: the steps it is about (None = the whole proposal), the hash of what was read, the
    assessment as stored JSON, and the answers to advice given with it."""

    steps: tuple[int, ...] | None
    inputs_sha256: str
    assessment: str
    answers: tuple[Answer, ...]


def is_stale(basis: Basis, case: Case, proposal: ProposalFacts, assessed: Assessment | None = None) -> bool:
    """Whether a decision no longer fits what is known.

    :param proposal: the whole proposal.
    :param assessed: an assessment that was just made. It is used if its hash shows the same inputs, and saves making
        another.
    """
    steps = basis.steps or ()
    if not {step.step for step in proposal.steps}.issuperset(steps):
        return True
    asked = proposal.up_to(max(steps)) if steps else proposal
    if inputs_sha256(case, asked) != basis.inputs_sha256:
        return True
    if assessed is None or assessed.inputs_sha256 != basis.inputs_sha256:
        assessed = assess(case, asked)
    now = with_answers(assessed, answers_that_hold(basis.answers, case.facts, assessed))
    return _judgement(now.as_json(), steps) != _judgement(json.loads(basis.assessment), steps)


def _judgement(assessment: Mapping[str, Any], steps: Collection[int]) -> tuple[set[tuple[Any, ...]], ...]:
    """What an assessment decides, from its JSON: losses as (id, severity, whether the approved steps cause it, which is
    what the gate checks in an approval by step), and requirements as (id, when they apply, state)."""
    return (
        {
            (loss["id"], loss["severity"], not steps or not set(steps).isdisjoint(loss["steps"]))
            for loss in assessment["losses"]
        },
        {(each["id"], each["when"], each["state"]) for each in assessment["requirements"]},
    )
