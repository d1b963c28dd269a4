"""The gate: what was decided about a proposal, on which assessment, and whether that is still current."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from collection.compute import ENGINE
from collection.compute.case import Case
from collection.language.errors import GateRefused, WrongCommand
from collection.language.words import SEVERITY_RANK, SEVERITY_SPOKEN
from collection.records.facts import Facts, ProposalFacts
from collection.records.policy import Policy, default_policy
from collection.rules.advice import ANSWERED, with_answers
from collection.rules.assess import assess
from collection.rules.findings import Assessment
from collection.store.base import database, names, read
from collection.store.base.chain import begin_change, seal_change
from collection.store.decide.answers import Answer, answers_that_hold, contents
from collection.store.decide.staleness import Basis, is_stale


@dataclass(frozen=True)
class Decision:
    """One recorded decision; `steps` None = the whole proposal. `assessment` is what was assessed, as stored JSON.
    `stale` says that it no longer fits what is known (see `staleness`)."""

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
    answers: tuple[Answer, ...] = ()
    assessment: str = ""

    @property
    def basis(self) -> Basis:
        """What the decision was based on."""
        return Basis(self.steps, self.inputs_sha256, self.assessment, self.answers)

    def as_json(self) -> dict[str, Any]:
        return {
            "format": 1,
            "proposal": self.proposal,
            "number": self.number,
            "decision": self.decision,
            "steps": None if self.steps is None else list(self.steps),
            "conditions": list(self.conditions),
            "by": self.by,
            "reason": self.reason,
            "at": self.at,
            "inputs_sha256": self.inputs_sha256,
            "outcome": self.outcome,
            "stale": self.stale,
            "overrides": [{"loss": i, "severity": s, "reason": r} for i, s, r in self.overrides],
            "answers": [{"advice": each.advice, "reason": each.reason} for each in self.answers],
        }


def decide(
    path: Path,
    object_code: str,
    proposal_code: str,
    decision: str,
    *,
    by: str,
    reason: str,
    steps: Sequence[int] = (),
    conditions: Sequence[str] = (),
    overrides: Mapping[str, str] | None = None,
    answers: Mapping[str, str] | None = None,
    policy: Policy | None = None,
) -> Decision:
    """Assess under the write lock, check the gate, and record the decision with its assessment.

    :param overrides: the reason for accepting each loss, by its id.
    :param answers: the reason for going against each piece of advice, by its code.
    :raises GateRefused: an approval of work that would destroy something without an override of that loss, that goes
        against advice in force without an answer to it, or that leaves a requirement open; nothing is recorded.
    :raises WrongCommand: a step, a loss or advice that the proposal does not have, or a reason that says nothing.
    """
    policy = policy or default_policy()
    db = database.connect(path, write=True)
    try:
        with database.writing(db):
            facts = read.facts_rows(db, object_code)
            whole = read.load_proposal(db, object_code, proposal_code)
            earlier = decisions(db, object_code, proposal_code)
            asked = _up_to(whole, steps)
            assessment = assess(Case(facts, policy), asked)
            given, answered = _with_reasons(overrides, "loss"), _with_reasons(answers, "advice")
            _known(given, answered, assessment)
            # A loss id from before codes changed may name another loss now.
            same_codes = [each for each in earlier if each.change > names.last_stated(db, object_code)]
            covered = _carried_over(same_codes, assessment) if decision == "approve" else {}
            covered.update(given)
            if decision == "approve":
                answered = answers_that_hold(_answered(earlier), facts, assessment) | answered
                _check_gate(assessment, covered, answered, conditions, set(steps))
            assessment = with_answers(assessment, answered)
            severities = {loss.id: loss.severity for loss in assessment.losses}
            content = contents(facts, assessment)
            number = len(earlier) + 1
            change = begin_change(db, by, reason, f"decide {decision}", assessment.proposal)
            made = Decision(
                assessment.proposal,
                number,
                decision,
                tuple(steps) or None,
                tuple(conditions),
                by,
                reason,
                datetime.now(UTC).isoformat(timespec="seconds"),
                assessment.inputs_sha256,
                assessment.outcome,
                tuple((loss, severities[loss], why) for loss, why in sorted(covered.items())),
                False,
                change,
                tuple(Answer(code, content[code], why) for code, why in sorted(answered.items())),
                json.dumps({**assessment.as_json(), "engine": ENGINE}, sort_keys=True, ensure_ascii=False),
            )
            stored = read.stored_proposal(db, object_code, proposal_code)
            assert stored is not None
            db.execute(
                "INSERT INTO decisions (object, proposal, number, decision, steps, conditions, decided_by, reason, "
                "decided_at, inputs_sha256, outcome, assessment, change) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?)",
                (
                    *stored,
                    number,
                    decision,
                    None if made.steps is None else json.dumps(list(made.steps)),
                    json.dumps(list(made.conditions)),
                    by,
                    reason,
                    made.at,
                    made.inputs_sha256,
                    made.outcome,
                    made.assessment,
                    change,
                ),
            )
            db.executemany(
                "INSERT INTO overrides (object, proposal, number, loss, severity, reason, change) "
                "VALUES (?,?,?,?,?,?,?)",
                [(*stored, number, *row, change) for row in made.overrides],
            )
            db.executemany(
                "INSERT INTO answers (object, proposal, number, advice, content, reason, change) "
                "VALUES (?,?,?,?,?,?,?)",
                [(*stored, number, each.advice, each.content, each.reason, change) for each in made.answers],
            )
            seal_change(db, change)
    finally:
        database.close(db)
    return made


def decisions(db: sqlite3.Connection, object_code: str, proposal_code: str) -> list[Decision]:
    """Every decision on a proposal under any of its codes, oldest first; loss ids use the codes of the day of the
    decision."""
    found: list[Decision] = []
    stored = read.stored_proposal(db, object_code, proposal_code)
    if stored is None:
        return found
    rows = db.execute(
        "SELECT number, decision, steps, conditions, decided_by, reason, decided_at, inputs_sha256, outcome, change, "
        "assessment FROM decisions WHERE object = ? AND proposal = ? ORDER BY number",
        stored,
    ).fetchall()
    for number, decision, steps, conditions, by, reason, at, inputs, outcome, change, assessment in rows:
        kept = db.execute(
            "SELECT loss, severity, reason FROM overrides "
            "WHERE object = ? AND proposal = ? AND number = ? ORDER BY loss",
            (*stored, number),
        ).fetchall()
        answers = db.execute(
            "SELECT advice, content, reason FROM answers "
            "WHERE object = ? AND proposal = ? AND number = ? ORDER BY advice",
            (*stored, number),
        ).fetchall()
        found.append(
            Decision(
                f"{object_code}/{proposal_code}",
                number,
                decision,
                None if steps is None else tuple(json.loads(steps)),
                tuple(json.loads(conditions)),
                by,
                reason,
                at,
                inputs,
                outcome,
                tuple((a, b, c) for a, b, c in kept),
                False,
                change,
                tuple(Answer(*row) for row in answers),
                assessment,
            )
        )
    return found


def standing(
    db: sqlite3.Connection,
    object_code: str,
    proposal_code: str,
    policy: Policy | None = None,
    assessed: Assessment | None = None,
) -> Decision | None:
    """The newest decision, marked stale where it no longer fits what is known."""
    made = decisions(db, object_code, proposal_code)
    if not made:
        return None
    newest = made[-1]
    facts, proposal = read.facts_rows(db, object_code), read.load_proposal(db, object_code, proposal_code)
    return replace(newest, stale=is_stale(newest.basis, Case(facts, policy or default_policy()), proposal, assessed))


def _up_to(proposal: ProposalFacts, steps: Sequence[int]) -> ProposalFacts:
    """The proposal up to the last step that is decided on."""
    if not steps:
        return proposal
    have = {s.step for s in proposal.steps}
    missing = sorted(set(steps) - have)
    if missing:
        raise WrongCommand(
            f"The proposal has no step {', '.join(map(str, missing))}; its steps are "
            f"{', '.join(map(str, sorted(have)))}."
        )
    return proposal.up_to(max(steps))


def _carried_over(earlier: Sequence[Decision], assessment: Assessment) -> dict[str, str]:
    """Overrides of earlier approvals that still apply: same loss, no worse severity."""
    now = {loss.id: loss.severity for loss in assessment.losses}
    kept = {}
    for decision in earlier:
        for loss, severity, reason in decision.overrides:
            if loss in now and SEVERITY_RANK[now[loss]] <= SEVERITY_RANK[severity]:
                kept[loss] = reason
    return kept


def answers_so_far(
    db: sqlite3.Connection, object_code: str, proposal_code: str, facts: Facts, assessment: Assessment
) -> dict[str, str]:
    """The answers of earlier decisions that still hold, by the advice's code: another approval need not repeat them."""
    return answers_that_hold(_answered(decisions(db, object_code, proposal_code)), facts, assessment)


def _answered(made: Sequence[Decision]) -> list[Answer]:
    """The answers given in approvals: whoever refuses may agree with the advice."""
    return [answer for decision in made if decision.decision == "approve" for answer in decision.answers]


def _with_reasons(given: Mapping[str, str] | None, what: str) -> dict[str, str]:
    blank = [code for code, reason in (given or {}).items() if not reason.strip()]
    if blank:
        raise WrongCommand(f"Say why for {what} {', '.join(blank)}: the reason is kept with the decision.")
    return dict(given or {})


def _known(overrides: Mapping[str, str], answers: Mapping[str, str], assessment: Assessment) -> None:
    unknown = set(overrides) - {loss.id for loss in assessment.losses}
    if unknown:
        raise WrongCommand(
            f"No loss is called {', '.join(sorted(unknown))}. The losses are: "
            f"{', '.join(loss.id for loss in assessment.losses) or 'none'}."
        )
    against = [row.advice for row in assessment.advice]
    missing = sorted(set(answers) - set(against))
    if missing:
        raise WrongCommand(
            f"No advice in force against these steps is called {', '.join(missing)}. The advice "
            f"against them is: {', '.join(against) or 'none'}."
        )


def _check_gate(
    assessment: Assessment,
    covered: Mapping[str, str],
    answered: Mapping[str, str],
    conditions: Sequence[str],
    asked: set[int],
) -> None:
    """Refuse an approval if the steps decided on (none = all) would destroy something, go against advice that is not
    answered, or leave requirements open."""
    open_losses = [
        loss
        for loss in assessment.losses
        if loss.severity == "destroys" and loss.id not in covered and (not asked or asked & set(loss.steps))
    ]
    named = {word for text in conditions for word in text.replace(",", " ").replace(";", " ").split()}
    unheard = {
        row.advice for row in assessment.advice if row.advice not in answered and (not asked or asked & set(row.steps))
    }
    open_requirements = [
        r
        for r in assessment.open_before_approval
        if (r.subject in unheard if r.rule == ANSWERED else not (r.rule == "open claim" and r.subject in named))
    ]
    if not open_losses and not open_requirements:
        return
    lines = [
        f"{r.id} (open): {r.message} Follow it, or say why not: --answer {r.subject} REASON."
        for r in open_requirements
        if r.rule == ANSWERED
    ]
    lines += [f"{loss.id} ({SEVERITY_SPOKEN[loss.severity]}): {loss.message}" for loss in open_losses]
    lines += [f"{r.id} (open): {r.message} {r.remedy or ''}".rstrip() for r in open_requirements if r.rule != ANSWERED]
    raise GateRefused(
        "Not approved, nothing was recorded. Each loss needs --override LOSS REASON, advice against the "
        "work --answer ADVICE REASON, each other requirement has to be met:\n"
        + "\n".join(f"  - {line}" for line in lines)
    )
