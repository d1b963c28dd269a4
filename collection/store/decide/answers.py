"""Answers to advice: why a decision goes against it, and how long that answer holds."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

from collection.records.facts import Facts, canonical_json, row_values
from collection.rules.findings import Assessment

STEPS = "steps"


@dataclass(frozen=True, slots=True)
class Answer:
    """Why a decision goes against advice: the advice's code, what it said then and about which steps, the reason."""

    advice: str
    content: str
    reason: str


def contents(facts: Facts, assessment: Assessment) -> dict[str, str]:
    """Everything that rules may read of each piece of advice against the proposal, with its steps, as canonical
    JSON."""
    rows = {row.advice: row_values(row) for row in facts.advice}
    return {each.advice: canonical_json({**rows[each.advice], STEPS: list(each.steps)}) for each in assessment.advice}


def answers_that_hold(answers: Iterable[Answer], facts: Facts, assessment: Assessment) -> dict[str, str]:
    """The reasons that still hold, by the advice's code: those where the advice still says what it said when it was
    answered and is against no further step. `answers` come oldest first, and the newest of several counts."""
    now = {code: json.loads(content) for code, content in contents(facts, assessment).items()}
    kept = {}
    for answer in answers:
        then, row = json.loads(answer.content), now.get(answer.advice)
        if row is not None and {**then, STEPS: row[STEPS]} == row and set(row[STEPS]) <= set(then[STEPS]):
            kept[answer.advice] = answer.reason
    return kept
