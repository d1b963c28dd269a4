"""`assess`: the same pure function for one proposal, a whole collection and the published pages."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

from collection import reference as tables
from collection.cautions import cautions
from collection.compute import ENGINE
from collection.compute.outcome import BELOW, NOT_EXAMINED, Outcome, outcomes
from collection.facts import Facts, ProposalFacts, canonical_json
from collection.policy import Interval, Policy, default_policy
from collection.reference import Reference
from collection.rules.advice import advice_against, advice_beside
from collection.rules.effect import effect_findings, in_reading_order, loss_of
from collection.rules.findings import Assessment
from collection.rules.requirements import requirements
from collection.rules.severity import worst
from collection.rules.support import support_lines


def assess(facts: Facts, proposal: ProposalFacts, policy: Policy | None = None,
           reference: Reference | None = None) -> Assessment:
    """What a proposal would take of what must be kept, on whose evidence, and what has to be true first."""
    policy = policy or default_policy()
    reference = reference or tables.packaged()
    found = outcomes(facts, proposal, policy, reference)
    lines = [*effect_findings(facts, proposal, found, policy), *support_lines(facts, proposal, policy, reference)]
    intended = frozenset(step.removes for step in proposal.steps if step.removes)
    totals = _Totals(facts, found, intended)
    losses = in_reading_order(loss_of(facts, line, totals.areas, intended) for line in lines)
    head = proposal.proposal
    return Assessment(
        proposal=f"{head.object}/{head.proposal}", policy=policy.version,
        inputs_sha256=inputs_sha256(facts, proposal, policy),
        outcome=worst(loss.severity for loss in losses),
        surviving_m2=totals.surviving, loss_m2=totals.loss, loss_share=totals.share, intended_m2=totals.intended,
        unmeasured_places=totals.unmeasured, losses=tuple(losses),
        requirements=tuple(requirements(facts, proposal, found, policy, reference)),
        findings=tuple(finding for line in lines for finding in line.findings),
        cautions=cautions([s.action for s in proposal.steps], [s.agent for s in proposal.steps]),
        advice=advice_against(facts, proposal), advice_beside=advice_beside(facts, proposal))


def inputs_sha256(facts: Facts, proposal: ProposalFacts, policy: Policy) -> str:
    """The hash of all that an assessment reads: the same inputs give the same warning, anywhere."""
    read = {"engine": ENGINE, "facts": facts.sha256, "proposal": proposal.document(), "policy": policy.sha256,
            "reference": tables.sha256()}
    return hashlib.sha256(canonical_json(read).encode()).hexdigest()


class _Totals:
    """Areas in m²: what survives of the maker's finish, and what of it the proposal would take."""

    def __init__(self, facts: Facts, found: Sequence[Outcome], intended: frozenset[str]) -> None:
        from collection.compute.survival import object_survival, place_draws  # numpy only where it is needed

        survival = object_survival(facts)
        self.surviving: Interval | None = survival.surviving_m2
        self.unmeasured: int = survival.unmeasured_places
        area = {p.place: p.area_m2 for p in survival.places}
        draws = place_draws(facts)
        self.areas: Mapping[str, Interval | None] = {
            p.place: None if p.share is None or p.area_m2 is None else
            (p.area_m2 * p.share[0], p.area_m2 * p.share[1], p.area_m2 * p.share[2]) for p in survival.places}
        original = {s.scheme for s in facts.schemes if s.period == "original"}
        worst_all: dict[str, Interval] = {}
        worst_named: dict[str, Interval] = {}
        for outcome in found:
            if outcome.coat is None or outcome.thing in (NOT_EXAMINED, BELOW) or outcome.coat.scheme not in original:
                continue
            named = outcome.thing in intended or outcome.coat.scheme in intended
            for table in (worst_all, *((worst_named,) if named else ())):
                old = table.get(outcome.place, (0.0, 0.0, 0.0))
                table[outcome.place] = (max(old[0], outcome.lost[0]), max(old[1], outcome.lost[1]),
                                        max(old[2], outcome.lost[2]))
        self.loss = _summed(worst_all, area, draws)
        self.intended = _summed(worst_named, area, draws) if intended else (0.0, 0.0, 0.0)
        self.share: Interval | None = None
        if self.loss is not None and self.surviving is not None:
            self.share = _shared(worst_all, area, draws)


def _summed(lost: Mapping[str, Interval], area: Mapping[str, float | None],
            draws: Mapping[str, object]) -> Interval | None:
    import numpy as np

    known = [p for p in lost if area.get(p) is not None and p in draws]
    if not known:
        return (0.0, 0.0, 0.0) if not lost else None
    sums = [sum(np.asarray(draws[p]) * (area[p] or 0.0) * lost[p][end] for p in known) for end in range(3)]
    low, middle, high = (float(np.quantile(sums[0], 0.025)), float(np.mean(sums[1])),
                         float(np.quantile(sums[2], 0.975)))
    return (min(low, middle), middle, max(middle, high))


def _shared(lost: Mapping[str, Interval], area: Mapping[str, float | None],
            draws: Mapping[str, object]) -> Interval | None:
    import numpy as np

    whole = sum(np.asarray(d) * (area.get(p) or 0.0) for p, d in draws.items())
    if np.isscalar(whole) or not np.any(whole):
        return None
    known = [p for p in lost if area.get(p) is not None and p in draws]
    shares = [sum(np.asarray(draws[p]) * (area[p] or 0.0) * lost[p][end] for p in known)
              / np.maximum(whole, 1e-12) for end in range(3)] if known else [np.zeros(1)] * 3
    low, middle, high = (float(np.quantile(shares[0], 0.025)), float(np.mean(shares[1])),
                         float(np.quantile(shares[2], 0.975)))
    return (min(low, middle), middle, max(middle, high))
