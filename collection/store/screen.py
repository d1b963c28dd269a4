"""What one action would do to every object, read from the records in one pass; see `compute.screening`."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from collection.compute.build_up.actions import KIND_OF_ACTION
from collection.compute.build_up.readings import shown_later
from collection.compute.case import Case
from collection.compute.screening import harmed_binders, may_be_kept, worst_of
from collection.language.words import SEVERITY_RANK
from collection.records.facts import ProposalFacts, proposal_of
from collection.records.policy import Policy, default_policy
from collection.records.sheets import Proposal, ProposalStep, Scheme
from collection.rules.assess import assess
from collection.rules.effect import RESERVE
from collection.rules.severity import worst
from collection.store.base import names, read
from collection.store.derive import HowFar
from collection.values.reference import Reference, packaged

SPEAKING = ("tests", "conditions", "treatment_steps", "decorations")
"""Tables of which one row is enough to assess the object in full."""
STACKED = ("objects", "components", "zones", "schemes", "samples", "layers")
"""Tables that a plain object's severity is read from."""
SCREEN = "screening"


@dataclass(frozen=True, slots=True)
class Screened:
    """One object: the severity that the action would come to, and the kept things it would harm where they were
    looked at one by one (None for an object judged from its coats alone)."""

    object: str
    title: str
    severity: str
    harmed: tuple[str, ...] | None


def screen(
    db: sqlite3.Connection,
    step: ProposalStep,
    day: str,
    policy: Policy | None = None,
    reference: Reference | None = None,
    progress: HowFar | None = None,
) -> list[Screened]:
    """What a step on the whole of each object would do, worst first, then by number. Reserves are left out: whatever
    is done to the whole object touches them.

    :param step: its object and proposal are set aside, and its place is `all`.
    :param day: when it is meant to be done: older tests clear nothing.
    :param progress: told how many objects of how many were assessed in full.
    """
    policy, reference = policy or default_policy(), reference or packaged()
    titles = dict(db.execute("SELECT object, title FROM live_objects"))
    codes = read.object_codes(db)
    if KIND_OF_ACTION[step.action] == "none":
        return [Screened(code, titles[code], "clear", ()) for code in codes]
    full = set(codes)
    found = []
    if KIND_OF_ACTION[step.action] in ("contact", "whole"):
        full &= _speaking(db, step)
        kept = _kept(db, harmed_binders(step, policy, reference))
        found = [
            Screened(code, titles[code], worst_of(step, (1,) if code in kept else ()), None)
            for code in codes
            if code not in full
        ]
    for number, facts in enumerate(read.facts_in_bulk(db, full), 1):
        about = facts.object
        losses = [
            loss
            for loss in assess(Case(facts, policy, reference), _alone(step, about.object, day)).losses
            if not loss.thing.startswith(f"{RESERVE} ")
        ]
        severity = worst(loss.severity for loss in losses)
        found.append(
            Screened(
                about.object, about.title, severity, tuple(loss.id for loss in losses if loss.severity == severity)
            )
        )
        if progress is not None:
            progress(number, len(full))
    return sorted(found, key=lambda each: (-SEVERITY_RANK[each.severity], each.object))


def _alone(step: ProposalStep, code: str, day: str) -> ProposalFacts:
    head = Proposal(object=code, proposal=SCREEN, title=SCREEN, proposed_by=SCREEN, proposed_on=day)
    return proposal_of(head, [step.model_copy(update={"object": code, "proposal": SCREEN, "place": "all"})])


def _speaking(db: sqlite3.Connection, step: ProposalStep) -> set[str]:
    """The objects with more on record than coats in place, or with something out of account."""
    found = {code for table in SPEAKING for (code,) in db.execute(f"SELECT DISTINCT object FROM {table}")}
    gone = [code for (code,) in db.execute("SELECT code FROM surveys WHERE withdrawn IS NOT NULL")]
    marks = ", ".join("?" * len(gone))
    for table in STACKED:
        found |= {
            code
            for (code,) in db.execute(
                f"SELECT DISTINCT object FROM {table} WHERE withdrawn IS NOT NULL OR survey IN ({marks})", gone
            )
        }
    found |= {code for (code,) in db.execute("SELECT DISTINCT object FROM components WHERE presence IS NOT NULL")}
    if step.agent is None or "water" in step.agent or step.action == "replace":
        # What is under the coats counts as well.
        found |= {
            code
            for table, column in (
                ("components", "support"),
                ("components", "origin"),
                ("objects", "materials"),
                ("layers", "role"),
            )
            for (code,) in db.execute(
                f"SELECT DISTINCT object FROM {table} WHERE {column} IS NOT NULL"
                + (" AND role = 'support'" if column == "role" else "")
            )
        }
    known = names.load(db)
    return found if known is None else {known.object(code) for code in found | set(known.touched)}


def _kept(db: sqlite3.Connection, binders: frozenset[str] | None) -> set[str]:
    """The objects with a coat that may have to be kept and is of one of these binders (None = of any)."""
    later = {
        (row["object"], row["scheme"])
        for row in _rows(
            db,
            f"SELECT object, {', '.join(_OF_SCHEME)} FROM schemes WHERE period IN ('later', 'restoration', 'recent')",
        )
        if shown_later(Scheme.model_construct(**dict(row)))
    }
    where, values = "", []
    if binders is not None:
        where, values = f" AND binder IN ({', '.join('?' * len(binders))})", sorted(binders)
    found: set[str] = set()
    for code, scheme, role, period, certainty in db.execute(
        "SELECT DISTINCT object, scheme, role, period, certainty FROM layers WHERE coverage IS NOT 'absent' AND "
        f"coverage_pct IS NOT 0{where}",
        values,
    ):
        if code not in found and may_be_kept(role, scheme is not None, (code, scheme) in later, period, certainty):
            found.add(code)
    return found


_OF_SCHEME = ("scheme", "period", "basis", "certainty", "keep")


def _rows(db: sqlite3.Connection, sql: str) -> Iterator[dict[str, Any]]:
    for row in db.execute(sql):
        yield dict(zip(("object", *_OF_SCHEME), row, strict=True))
