"""Advice in force: advice against work has to be answered before an approval."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from collection.compute.advice import in_force
from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case
from collection.compute.loss.outcome import planned_day
from collection.language.sentences import ended, steps_of
from collection.language.words import parts_of
from collection.records.facts import ProposalFacts
from collection.records.sheets import Advice
from collection.rules.findings import Assessment, Objection, Requirement
from collection.values.spoken_dates import in_words

ANSWERED = "advice answered"


def advice_against(case: Case, proposal: ProposalFacts) -> tuple[Objection, ...]:
    """The advice in force against steps of a proposal, each with those steps; the newest first."""
    places = places_of(case)
    found = []
    for row in in_force(case.facts, planned_day(proposal)):
        named = parts_of(row.against)
        steps = tuple(
            s.step
            for s in proposal.steps
            if (ALL in named or s.action in named) and places.overlap(row.place or ALL, s.place)
        )
        if steps:
            found.append(_objection(row, steps))
    return tuple(found)


def advice_beside(case: Case, proposal: ProposalFacts) -> tuple[Objection, ...]:
    """The advice in force on an overlapping place that does not say what work it is against; it needs no answer."""
    places = places_of(case)
    return tuple(
        _objection(row, ())
        for row in in_force(case.facts, planned_day(proposal))
        if not parts_of(row.against) and any(places.overlap(row.place or ALL, s.place) for s in proposal.steps)
    )


def _objection(row: Advice, steps: tuple[int, ...]) -> Objection:
    return Objection(row.advice, row.what, row.given_by, row.given_on, row.why, steps, row.place)


def advice_to_answer(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    """Who approves against advice says why; the answer is recorded with the decision."""
    for row in advice_against(case, proposal):
        # Its author is named on the pages that may show it, and not here: requirements are published, names are not.
        yield Requirement(
            ANSWERED,
            "approval",
            False,
            row.place,
            ended(
                f"Advice {row.advice} of {in_words(row.given_on)} speaks against {steps_of(row.steps)}: “{row.what}”"
            ),
            remedy="Follow it, or answer it with a reason when deciding.",
            subject=row.advice,
        )


def with_answers(found: Assessment, answers: Mapping[str, str]) -> Assessment:
    """The assessment with the given answers, by the advice's code: answered advice is no longer open."""

    def settled(each: Requirement) -> Requirement:
        reason = answers.get(each.subject or "") if each.rule == ANSWERED else None
        return (
            each
            if reason is None
            else replace(each, met=True, remedy=None, message=f"{each.message} Answered: {ended(reason)}")
        )

    return replace(
        found, requirements=tuple(sorted(map(settled, found.requirements), key=lambda r: (r.met, r.when, r.id)))
    )
