"""The open proposals of the collection, worst first, and how those that were carried out turned out."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter

from collection.compute.case import Case
from collection.compute.risk.threat import Planned
from collection.language.words import SEVERITY_RANK
from collection.records.policy import Policy
from collection.rules.advice import with_answers
from collection.rules.assess import assess
from collection.rules.findings import Assessment
from collection.rules.planned import planned
from collection.rules.track_record import Outturn, outturn
from collection.store.base import read
from collection.store.decide import decisions
from collection.store.decide.staleness import is_stale

DECIDED = {"approve": "approved", "defer": "deferred", "refuse": "refused"}


@dataclass(frozen=True, slots=True)
class Open:
    """One open proposal: the newest decision, and whether it has become stale."""

    title: str
    assessment: Assessment
    decision: str | None
    overtaken: bool

    @property
    def told(self) -> str:
        """The decision in words; empty where there is none."""
        if self.decision is None:
            return ""
        word = DECIDED[self.decision]
        return f"was {word}, but what it was based on has changed since: decide again" if self.overtaken else word


def every_proposal(db: sqlite3.Connection, policy: Policy, day: str | None = None) -> tuple[list[Open], list[Outturn]]:
    """Open proposals, worst first, then by key, and the carried-out ones; a refused one is neither. With `day`, each is
    assessed as if it were done then."""
    found, done = [], []
    for object_code, code in read.proposal_keys(db):
        facts, whole = read.facts_rows(db, object_code), read.load_proposal(db, object_code, code)
        case = Case(facts, policy)
        bare = assess(case, whole if day is None else whole.planned_for(day))
        assessed = with_answers(bare, decisions.answers_so_far(db, object_code, code, facts, bare))
        seen = outturn(case, code, assessed)
        if seen is not None:
            done.append(seen)
            continue
        made = decisions.decisions(db, object_code, code)
        newest = made[-1] if made else None
        if newest is not None and newest.decision == "refuse" and newest.steps is None:
            continue
        overtaken = newest is not None and newest.decision == "approve" and is_stale(newest.basis, case, whole, bare)
        found.append(Open(whole.proposal.title, assessed, None if newest is None else newest.decision, overtaken))
    return sorted(
        found, key=lambda each: (-SEVERITY_RANK[each.assessment.outcome], not each.overtaken, each.assessment.proposal)
    ), done


def planned_by_object(
    db: sqlite3.Connection, policy: Policy, only: Collection[str] | None = None
) -> dict[str, list[Planned]]:
    """The proposals that may still be carried out, by object, as the threats read them.

    :param only: the objects that are asked about; None = all.
    """
    found: dict[str, list[Planned]] = {}
    for object_code, keys in groupby(read.proposal_keys(db), key=itemgetter(0)):
        if only is not None and object_code not in only:
            continue
        case = Case(read.load_facts(db, object_code), policy)
        for _, code in keys:
            whole = read.load_proposal(db, object_code, code)
            bare = assess(case, whole)
            answers = decisions.answers_so_far(db, object_code, code, case.facts, bare)
            assessed = with_answers(bare, answers)
            if outturn(case, code, assessed) is not None:
                continue
            made = decisions.decisions(db, object_code, code)
            newest = made[-1] if made else None
            if newest is not None and newest.decision == "refuse" and newest.steps is None:
                continue
            decision = None if newest is None else newest.decision
            overtaken = newest is not None and decision == "approve" and is_stale(newest.basis, case, whole, bare)
            found.setdefault(object_code, []).append(planned(case, whole, assessed, decision, overtaken=overtaken))
    return found
