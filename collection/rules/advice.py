"""Advice in force: what somebody advised against, and has to be answered before an approval."""

from __future__ import annotations

from collections.abc import Iterator

from collection import dates
from collection.columns import parts_of
from collection.compute.outcome import planned_day
from collection.compute.places import ALL, places_of
from collection.facts import Facts, ProposalFacts
from collection.records import Advice
from collection.rules.findings import Requirement
from collection.sentences import ended

ANSWERED = "advice answered"


def in_force(facts: Facts, day: str) -> list[Advice]:
    """The advice that holds on a day: not done, not replaced, not past its last day; the newest first."""
    known = {row.advice for row in facts.advice}
    treated = {row.treatment for row in facts.treatments if row.outcome != "tried and failed"}
    found = [row for row in facts.advice if row.done_by not in treated and row.replaced_by not in known
             and not (row.until and dates.bounds(row.until).latest < dates.bounds(day).earliest)]
    return sorted(found, key=lambda row: (dates.bounds(row.given_on).latest, row.advice), reverse=True)


def advice_against(facts: Facts, proposal: ProposalFacts) -> list[tuple[Advice, tuple[int, ...]]]:
    """The advice in force that speaks against steps of a proposal, each with those steps."""
    places = places_of(facts)
    found = []
    for row in in_force(facts, planned_day(proposal)):
        named = parts_of(row.against)
        steps = tuple(s.step for s in proposal.steps if (ALL in named or s.action in named)
                      and places.overlap(row.place or ALL, s.place))
        if steps:
            found.append((row, steps))
    return found


def advice_beside(facts: Facts, proposal: ProposalFacts) -> list[Advice]:
    """The advice in force on an overlapping place that does not say what it speaks against."""
    places = places_of(facts)
    return [row for row in in_force(facts, planned_day(proposal)) if not parts_of(row.against)
            and any(places.overlap(row.place or ALL, s.place) for s in proposal.steps)]


def said(row: Advice) -> str:
    """Advice in its author's words, with name and date."""
    by = f"{row.given_by}, {row.given_on}" if row.given_by else row.given_on
    why = f" {ended(row.why)}" if row.why else ""
    return f"{ended(row.what)}{why} ({by}, {row.advice})"


def advice_to_answer(facts: Facts, proposal: ProposalFacts) -> Iterator[Requirement]:
    """Who approves against advice says why; the answer is recorded with the decision."""
    for row, steps in advice_against(facts, proposal):
        yield Requirement(ANSWERED, "approval", False, row.place,
                          f"Against step {', '.join(map(str, steps))}: {said(row)}",
                          remedy="Follow it, or answer it with a reason when deciding.", subject=row.advice)
