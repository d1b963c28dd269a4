"""Predicted against found: what an assessment said about work that was then done, and what was seen afterwards.

A loss is found lost where the work's own record says that it took the coat, or where a sample read surely after the
work looked for it and did not find it; it survives where such a sample shows it; else nobody has looked since. Nothing
is claimed about work that nobody looked at afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from collection.compute.build_up.actions import KIND_OF_ACTION
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import is_absent, layers_by_sample, treatment_span
from collection.compute.case import Case
from collection.compute.compare.sides import Sides
from collection.compute.survival.as_of import as_of
from collection.language.sentences import counted
from collection.language.words import SEVERITY_SPOKEN
from collection.records.facts import Facts, ProposalFacts, proposal_of
from collection.records.sheets import Layer, Proposal, ProposalStep, Treatment
from collection.rules.assess import assess
from collection.rules.findings import Assessment, Loss
from collection.values import dates

Found = Literal["lost", "survives", "not looked since"]
SAID_SO = frozenset({"destroys", "endangers", "untested"})


@dataclass(frozen=True, slots=True)
class Seen:
    """One loss: what was predicted and what was found; `by` is the sample or the step that shows it."""

    loss: str
    predicted: str
    found: Found
    by: str | None

    @property
    def missed(self) -> bool:
        """Whether it was lost although no warning was given."""
        return self.found == "lost" and self.predicted not in SAID_SO

    @property
    def came_true(self) -> bool | None:
        """Whether the prediction came true; None where nothing definite was predicted or nobody has looked since. What
        endangers may spare, so a thing that survived such work does not speak against the warning."""
        if self.found == "not looked since" or self.predicted == "untested":
            return None
        if self.predicted in SAID_SO:
            return True if self.found == "lost" else False if self.predicted == "destroys" else None
        return self.found == "survives"


@dataclass(frozen=True, slots=True)
class Outturn:
    """One proposal that was carried out, by the codes of its treatments."""

    proposal: str
    treatments: tuple[str, ...]
    seen: tuple[Seen, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "proposal": self.proposal,
            "treatments": list(self.treatments),
            "losses": [
                {
                    "id": each.loss,
                    "predicted": each.predicted,
                    "found": each.found,
                    "by": each.by,
                    "missed": each.missed,
                }
                for each in self.seen
            ],
        }

    def sentences(self) -> list[str]:
        """The losses that were missed, in sentences."""
        return [
            f"{self.proposal}: {each.loss} was said to be {SEVERITY_SPOKEN[each.predicted]}, but {each.by} shows that it is lost."
            for each in self.seen
            if each.missed
        ]


def carried_out(case: Case, proposal: str) -> tuple[Treatment, ...]:
    """The treatments that name a proposal and did not fail."""
    return tuple(t for t in case.facts.treatments if t.proposal == proposal and t.outcome != "tried and failed")


def outturn(case: Case, proposal: str, predicted: Assessment) -> Outturn | None:
    """What became of each loss of a proposal; None where no record says that it was carried out."""
    done = carried_out(case, proposal)
    if not done:
        return None
    return Outturn(
        predicted.proposal,
        tuple(t.treatment for t in done),
        tuple(
            Seen(loss.id, loss.severity, *_found(case, loss, done))
            for loss in predicted.losses
            if loss.scheme is not None
        ),
    )


@dataclass(frozen=True, slots=True)
class Foreseen:
    """Work done between two sides: what would have been said of it on the day before, and what was found since. Where
    the work carried out no `proposal`, its own record is read as one."""

    treatment: str
    proposal: str | None
    seen: tuple[Seen, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "treatment": self.treatment,
            "proposal": self.proposal,
            "losses": [
                {
                    "id": each.loss,
                    "predicted": each.predicted,
                    "found": each.found,
                    "by": each.by,
                    "came_true": each.came_true,
                }
                for each in self.seen
            ],
        }


def foreseen(case: Case, sides: Sides, proposals: Mapping[str, ProposalFacts]) -> tuple[Foreseen, ...]:
    """The work surely done between two sides, judged by what was on record before it began.

    :param proposals: the object's proposals by code.
    """
    found = []
    for treatment in case.facts.treatments:
        if not sides.since(treatment) or treatment.outcome == "tried and failed":
            continue
        planned = proposals.get(treatment.proposal or "") or _as_proposal(case.facts, treatment)
        if all(KIND_OF_ACTION[step.action] == "none" for step in planned.steps):
            continue
        earlier = as_of(case.facts, treatment_span(treatment).earliest)
        without = replace(
            earlier,
            treatments=tuple(t for t in earlier.treatments if t.treatment != treatment.treatment),
            treatment_steps=tuple(s for s in earlier.treatment_steps if s.treatment != treatment.treatment),
        )
        told = assess(Case(without, case.policy, case.reference), planned)
        seen = tuple(
            Seen(loss.id, loss.severity, *_found(sides.after, loss, (treatment,)))
            for loss in told.losses
            if loss.scheme is not None
        )
        found.append(Foreseen(treatment.treatment, told.proposal if treatment.proposal in proposals else None, seen))
    return tuple(found)


def _as_proposal(facts: Facts, treatment: Treatment) -> ProposalFacts:
    """The steps of a treatment as if somebody had proposed them, without what they turned out to take off."""
    when = treatment.started or treatment.ended or ""
    head = Proposal.model_construct(
        object=treatment.object,
        proposal=treatment.treatment,
        title=treatment.purpose,
        proposed_by="",
        proposed_on=when,
        planned_for=when or None,
    )
    steps = [
        ProposalStep(
            **{name: getattr(step, name) for name in ProposalStep.model_fields if name in type(step).model_fields},
            proposal=treatment.treatment,
            stop_at=step.stopped_at,
            arrest_with=step.arrested_with,
        )
        for step in facts.treatment_steps
        if step.treatment == treatment.treatment
    ]
    return proposal_of(head, steps)


def _found(case: Case, loss: Loss, done: Sequence[Treatment]) -> tuple[Found, str | None]:
    places, codes = places_of(case), {t.treatment for t in done}
    for step in case.facts.treatment_steps:
        scheme, _, role = (step.removed or "").partition("/")
        if (
            step.treatment in codes
            and scheme == loss.scheme
            and role in ("", loss.role)
            and places.contains(step.place, loss.place)
        ):
            return "lost", f"{step.treatment}/{step.step}"
    last = max(treatment_span(t).latest for t in done)
    later = [
        s
        for s in case.facts.samples
        if places.contains(loss.place, s.place) and dates.bounds(s.taken_on).earliest > last
    ]
    rows = layers_by_sample(case)
    met = {
        s.sample: [
            row for row in rows[s.sample] if row.scheme == loss.scheme and (loss.role is None or row.role == loss.role)
        ]
        for s in later
    }
    there = next((code for code, own in met.items() if any(not is_absent(row) for row in own)), None)
    if there is not None:
        return "survives", there
    gone = next((s.sample for s in later if _looked(met[s.sample])), None)
    return ("lost", gone) if gone is not None else ("not looked since", None)


def _looked(rows: Sequence[Layer]) -> bool:
    return bool(rows) and all(is_absent(row) for row in rows)


def summed(done: Iterable[Outturn]) -> list[str]:
    """The record so far, in sentences that claim nothing about what nobody looked at."""
    every = list(done)
    if not every:
        return ["No proposal on record was carried out, so nobody knows whether such warnings come true."]
    seen = [each for one in every for each in one.seen]
    looked = [each for each in seen if each.found != "not looked since"]
    if not looked:
        return [f"{counted(len(every), 'proposal')} carried out; nobody has looked since at what became of them."]
    warned = [each for each in looked if each.predicted in SAID_SO]
    calm = [each for each in looked if each.predicted not in SAID_SO]
    lost = [sum(each.found == "lost" for each in some) for some in (warned, calm)]
    return [
        f"{counted(len(every), 'proposal')} carried out; {len(looked)} of {len(seen)} things looked at since. Of "
        f"{len(warned)} with a warning, {lost[0]} are lost; of {len(calm)} without, {lost[1]}."
    ]
