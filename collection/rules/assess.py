"""`assess`: the same pure function for one proposal, a whole collection and the published pages."""

from __future__ import annotations

import hashlib

from collection.compute.loss.outcome import outcomes
from collection.language.cautions import cautions
from collection.records.facts import Facts, ProposalFacts, canonical_json
from collection.records.policy import Policy, default_policy
from collection.rules.advice import advice_against, advice_beside
from collection.rules.effect import effect_findings, in_reading_order, loss_of
from collection.rules.findings import Assessment
from collection.rules.requirements import requirements
from collection.rules.severity import worst
from collection.rules.support import support_lines
from collection.rules.totals import Totals, lost_by_place
from collection.values import reference as tables
from collection.values.reference import Reference


def assess(
    facts: Facts, proposal: ProposalFacts, policy: Policy | None = None, reference: Reference | None = None
) -> Assessment:
    """What a proposal would take of what must be kept, on whose evidence, and what has to be true first."""
    policy = policy or default_policy()
    reference = reference or tables.packaged()
    found = outcomes(facts, proposal, policy, reference)
    lines = [*effect_findings(facts, proposal, found, policy), *support_lines(facts, proposal, policy, reference)]
    intended = frozenset(step.removes for step in proposal.steps if step.removes)
    totals = Totals(facts, lost_by_place(facts, found), lost_by_place(facts, found, intended))
    losses = in_reading_order(loss_of(facts, line, totals.areas, intended) for line in lines)
    head = proposal.proposal
    return Assessment(
        proposal=f"{head.object}/{head.proposal}",
        policy=policy.version,
        inputs_sha256=inputs_sha256(facts, proposal, policy),
        outcome=worst(loss.severity for loss in losses),
        surviving_m2=totals.surviving,
        loss_m2=totals.loss,
        loss_share=totals.share,
        intended_m2=totals.intended,
        unmeasured_places=totals.unmeasured,
        losses=tuple(losses),
        requirements=tuple(requirements(facts, proposal, found, policy, reference)),
        findings=tuple(finding for line in lines for finding in line.findings),
        cautions=cautions([s.action for s in proposal.steps], [s.agent for s in proposal.steps]),
        advice=advice_against(facts, proposal),
        advice_beside=advice_beside(facts, proposal),
    )


def inputs_sha256(facts: Facts, proposal: ProposalFacts, policy: Policy) -> str:
    """The hash of all that an assessment reads: by the same rules, the same inputs give the same warning anywhere."""
    read = {
        "engine": "4",  # never changes: the engine's number was hashed up to 4, and approvals of then keep their hash
        "facts": facts.sha256,
        "proposal": proposal.document(),
        "policy": policy.sha256,
        "reference": tables.sha256(),
    }
    return hashlib.sha256(canonical_json(read).encode()).hexdigest()
