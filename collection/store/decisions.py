"""The gate: what was decided of a proposal, on which assessment, and whether that still holds."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from collection.errors import GateRefused, WrongCommand
from collection.facts import Facts, ProposalFacts
from collection.policy import Policy, default_policy
from collection.rules.assess import assess, inputs_sha256
from collection.rules.findings import Assessment
from collection.store import names, read, write
from collection.store import open as opening
from collection.words import SEVERITY_RANK, SEVERITY_SPOKEN


@dataclass(frozen=True)
class Decision:
    """One recorded decision. `stale` tells that records or policy have changed since, so that it no longer
    stands on what is known; `steps` None = the whole proposal."""

    proposal: str
    number: int
    decision: str
    steps: tuple[int, ...] | None
    conditions: tuple[str, ...]
    by: str
    reason: str
    at: str
    inputs_sha256: str
    outcome: str
    overrides: tuple[tuple[str, str, str], ...]
    stale: bool = False
    change: int = 0

    def as_json(self) -> dict[str, Any]:
        return {"format": 1, "proposal": self.proposal, "number": self.number, "decision": self.decision,
                "steps": None if self.steps is None else list(self.steps), "conditions": list(self.conditions),
                "by": self.by, "reason": self.reason, "at": self.at, "inputs_sha256": self.inputs_sha256,
                "outcome": self.outcome, "stale": self.stale,
                "overrides": [{"loss": i, "severity": s, "reason": r} for i, s, r in self.overrides]}


def decide(path: Path, object_code: str, proposal_code: str, decision: str, *, by: str, reason: str,
           steps: Sequence[int] = (), conditions: Sequence[str] = (), overrides: Mapping[str, str] | None = None,
           policy: Policy | None = None) -> Decision:
    """Assess under the write lock, hold the gate, and record the decision with its assessment.

    :raises GateRefused: an approval over a loss that would be destroyed without an override of it, or over
        an open requirement; nothing is recorded.
    :raises WrongCommand: a step or a loss that the proposal does not have.
    """
    policy = policy or default_policy()
    db = opening.connect(path, write=True)
    try:
        with opening.writing(db):
            facts = read.facts_rows(db, object_code)
            whole = read.load_proposal(db, object_code, proposal_code)
            earlier = decisions(db, object_code, proposal_code)
            asked = _up_to(whole, steps)
            assessment = assess(facts, asked, policy)
            given = dict(overrides or {})
            unknown = set(given) - {loss.id for loss in assessment.losses}
            if unknown:
                raise WrongCommand(f"No loss is called {', '.join(sorted(unknown))}. The losses are: "
                                   f"{', '.join(loss.id for loss in assessment.losses) or 'none'}.")
            # An id that was overridden before codes changed may name another loss now.
            same_codes = [each for each in earlier if each.change > names.last_stated(db, object_code)]
            covered = _carried_over(same_codes, assessment) if decision == "approve" else {}
            covered.update(given)
            if decision == "approve":
                _hold(assessment, covered, conditions, set(steps))
            severities = {loss.id: loss.severity for loss in assessment.losses}
            number = len(earlier) + 1
            change = write.begin_change(db, by, reason, f"decide {decision}", assessment.proposal)
            made = Decision(assessment.proposal, number, decision, tuple(steps) or None,
                            tuple(conditions), by, reason, datetime.now(UTC).isoformat(timespec="seconds"),
                            assessment.inputs_sha256, assessment.outcome,
                            tuple((loss, severities[loss], why) for loss, why in sorted(covered.items())), False,
                            change)
            stored = read.stored_proposal(db, object_code, proposal_code)
            assert stored is not None
            db.execute(
                "INSERT INTO decisions (object, proposal, number, decision, steps, conditions, decided_by, reason, "
                "decided_at, inputs_sha256, outcome, assessment, change) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?)",
                (*stored, number, decision,
                 None if made.steps is None else json.dumps(list(made.steps)), json.dumps(list(made.conditions)),
                 by, reason, made.at, made.inputs_sha256, made.outcome,
                 json.dumps(assessment.as_json(), sort_keys=True, ensure_ascii=False), change))
            db.executemany(
                "INSERT INTO overrides (object, proposal, number, loss, severity, reason, change) "
                "VALUES (?,?,?,?,?,?,?)",
                [(*stored, number, *row, change) for row in made.overrides])
            write.seal_change(db, change)
    finally:
        opening.close(db)
    return made


def decisions(db: sqlite3.Connection, object_code: str, proposal_code: str) -> list[Decision]:
    """Every decision on a proposal under any of its codes, oldest first; loss ids are in the codes of their day."""
    found: list[Decision] = []
    stored = read.stored_proposal(db, object_code, proposal_code)
    if stored is None:
        return found
    rows = db.execute(
        "SELECT number, decision, steps, conditions, decided_by, reason, decided_at, inputs_sha256, outcome, change "
        "FROM decisions WHERE object = ? AND proposal = ? ORDER BY number", stored).fetchall()
    for number, decision, steps, conditions, by, reason, at, inputs, outcome, change in rows:
        kept = db.execute("SELECT loss, severity, reason FROM overrides "
                          "WHERE object = ? AND proposal = ? AND number = ? ORDER BY loss",
                          (*stored, number)).fetchall()
        found.append(Decision(f"{object_code}/{proposal_code}", number, decision,
                              None if steps is None else tuple(json.loads(steps)), tuple(json.loads(conditions)),
                              by, reason, at, inputs, outcome, tuple((a, b, c) for a, b, c in kept), False, change))
    return found


def standing(db: sqlite3.Connection, object_code: str, proposal_code: str,
             policy: Policy | None = None) -> Decision | None:
    """The newest decision, marked stale where the assessment would now read other records or another policy."""
    made = decisions(db, object_code, proposal_code)
    if not made:
        return None
    newest = made[-1]
    facts, proposal = read.facts_rows(db, object_code), read.load_proposal(db, object_code, proposal_code)
    return replace(newest, stale=is_overtaken(newest, facts, proposal, policy or default_policy()))


def is_overtaken(decision: Decision, facts: Facts, proposal: ProposalFacts, policy: Policy) -> bool:
    """Whether a decision was made on other records or another policy than these."""
    if not {s.step for s in proposal.steps}.issuperset(decision.steps or ()):
        return True
    return inputs_sha256(facts, _up_to(proposal, decision.steps or ()), policy) != decision.inputs_sha256


def _up_to(proposal: ProposalFacts, steps: Sequence[int]) -> ProposalFacts:
    """The proposal as far as its last asked step."""
    if not steps:
        return proposal
    have = {s.step for s in proposal.steps}
    missing = sorted(set(steps) - have)
    if missing:
        raise WrongCommand(f"The proposal has no step {', '.join(map(str, missing))}; its steps are "
                           f"{', '.join(map(str, sorted(have)))}.")
    return proposal.up_to(max(steps))


def _carried_over(earlier: Sequence[Decision], assessment: Assessment) -> dict[str, str]:
    """Overrides of earlier approvals that still cover what they saw: same loss, no worse severity."""
    now = {loss.id: loss.severity for loss in assessment.losses}
    kept = {}
    for decision in earlier:
        for loss, severity, reason in decision.overrides:
            if loss in now and SEVERITY_RANK[now[loss]] <= SEVERITY_RANK[severity]:
                kept[loss] = reason
    return kept


def _hold(assessment: Assessment, covered: Mapping[str, str], conditions: Sequence[str], asked: set[int]) -> None:
    """Refuse an approval over what the asked steps (none = all) would destroy, and over open requirements."""
    open_losses = [loss for loss in assessment.losses if loss.severity == "destroys" and loss.id not in covered
                   and (not asked or asked & set(loss.steps))]
    named = {word for text in conditions for word in text.replace(",", " ").replace(";", " ").split()}
    open_requirements = [r for r in assessment.open_before_approval
                         if not (r.rule == "open claim" and r.subject in named)]
    if not open_losses and not open_requirements:
        return
    lines = [f"{loss.id} ({SEVERITY_SPOKEN[loss.severity]}): {loss.message}" for loss in open_losses]
    lines += [f"{r.id} (open): {r.message} {r.remedy or ''}".rstrip() for r in open_requirements]
    raise GateRefused("Not approved, nothing was recorded. Each loss needs --override LOSS REASON, each requirement "
                      "has to be met:\n" + "\n".join(f"  - {line}" for line in lines))
