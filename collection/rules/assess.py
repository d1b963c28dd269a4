"""`assess`: the same pure function for one proposal, a whole collection and the published pages."""

from __future__ import annotations

import hashlib

from collection.compute.case import Case
from collection.compute.loss.outcome import outcomes
from collection.language.cautions import cautions
from collection.records.facts import ProposalFacts, canonical_json
from collection.rules.advice import advice_against, advice_beside
from collection.rules.effect import effect_findings, in_reading_order, loss_of
from collection.rules.findings import Assessment
from collection.rules.requirements import requirements
from collection.rules.severity import worst
from collection.rules.support import support_lines
from collection.rules.totals import Totals, lost_by_place
from collection.values import reference as tables


def assess(case: Case, proposal: ProposalFacts) -> Assessment:
    """What a proposal would take that must be kept, on whose evidence, and what has to be true first."""
    found = outcomes(case, proposal)
    lines = [*effect_findings(case, proposal, found), *support_lines(case, proposal)]
    intended = frozenset(step.removes for step in proposal.steps if step.removes)
    totals = Totals(case, lost_by_place(case, found), lost_by_place(case, found, intended))
    losses = in_reading_order(loss_of(case, line, totals.areas, intended) for line in lines)
    head = proposal.proposal
    return Assessment(
        proposal=f"{head.object}/{head.proposal}",
        policy=case.policy.version,
        inputs_sha256=inputs_sha256(case, proposal),
        outcome=worst(loss.severity for loss in losses),
        surviving_m2=totals.surviving,
        loss_m2=totals.loss,
        loss_share=totals.share,
        intended_m2=totals.intended,
        unmeasured_places=totals.unmeasured,
        losses=tuple(losses),
        requirements=tuple(requirements(case, proposal, found)),
        findings=tuple(finding for line in lines for finding in line.findings),
        cautions=cautions([s.action for s in proposal.steps], [s.agent for s in proposal.steps]),
        advice=advice_against(case, proposal),
        advice_beside=advice_beside(case, proposal),
    )


def inputs_sha256(case: Case, proposal: ProposalFacts) -> str:
    """The hash of everything that an assessment reads: with the same rules, the same inputs give the same warning
    anywhere."""
    read = {
        "engine": "4",  # never changes: the engine's number was hashed up to 4, and approvals of then keep their hash
        "facts": case.facts.sha256,
        "proposal": proposal.document(),
        "policy": case.policy.sha256,
        "reference": tables.sha256(),
    }
    return hashlib.sha256(canonical_json(read).encode()).hexdigest()
