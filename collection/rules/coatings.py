"""What is required of a coat that work adds: that it comes off again, and that its sheen fits what stays."""

from __future__ import annotations

from collections.abc import Iterator

from collection.compute.build_up.actions import KIND_OF_ACTION
from collection.compute.build_up.places import places_of
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.effects.contact import Rate, contact_rate
from collection.compute.effects.work import Work
from collection.compute.loss.outcome import planned_day
from collection.compute.windows.windows import spot
from collection.language.sentences import ended
from collection.language.words import FOREIGN_ROLES
from collection.records.facts import ProposalFacts
from collection.records.sheets import ProposalStep
from collection.rules.findings import Requirement
from collection.values import agents
from collection.values.reference import Reference

CLEAR_COATS = frozenset({"coat", "wax"})
ISO_2813 = "ISO 2813 (specular gloss: 60° for most, 20° above 70 GU, 85° below 10 GU)"


def comes_off(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    """Whether the liquid stated to take an added coat off again leaves what lies under it untouched."""
    for step in proposal.steps:
        if KIND_OF_ACTION[step.action] != "adds":
            continue
        what = f"Step {step.step} adds {step.adds or 'a coat'}"
        if not step.removable_with:
            yield Requirement(
                "comes off again",
                "approval",
                False,
                step.place,
                f"{what}: the proposal does not say what would take it off again without touching what lies under it.",
                remedy="State what takes it off again, and test that on what lies beneath.",
                subject=str(step.step),
            )
            continue
        harmed = [
            f"{thing} ({rate.why.rstrip('.')})"
            for thing, rate in _beneath(case, proposal, step)
            if rate.effect or (rate.model is not None and rate.model[2] >= case.policy.model_rate and not rate.cleared)
        ]
        yield Requirement(
            "comes off again",
            "approval",
            not harmed,
            step.place,
            f"{what}: it is to come off with {step.removable_with}"
            + (f", which may take what lies under it: {ended(harmed[0])}" if harmed else "."),
            remedy="Choose a coat that comes off with a liquid that the coats beneath stood in a test.",
            subject=str(step.step),
        )


def _beneath(case: Case, proposal: ProposalFacts, step: ProposalStep) -> Iterator[tuple[str, Rate]]:
    """The outermost kept coat of each place, and what a swab of the liquid meant to take the new coat off does to
    it."""
    seen = set()
    for place in places_of(case).within(step.place):
        stack = stack_of(case, place)
        coat = next((c for c in stack.coats if c.role not in FOREIGN_ROLES), None)
        if coat is not None and coat.kept and coat.key not in seen:
            seen.add(coat.key)
            swab = spot(case.policy, agents.parse(step.removable_with or "", case.reference.solvents))
            yield (f"{place}/{coat.thing}", contact_rate(Work(case, stack, swab, planned_day(proposal)), coat))


def sheen(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    """Whether a new clear coat's gloss is near that of the weathered surface beside it; required only where that was
    measured. Both are at 60°; a matt surface is better compared at 85°, a very glossy one at 20°."""
    places = places_of(case)
    samples = {s.sample: s.place for s in case.facts.samples}
    for step in proposal.steps:
        if step.action not in CLEAR_COATS:
            continue
        part = places.component_of(step.place)
        measured = sorted(
            layer.gloss_gu
            for layer in case.facts.layers
            if layer.gloss_gu is not None
            and (part is None or places.component_of(samples.get(layer.sample, "")) == part)
        )
        if not measured:
            continue
        middle = measured[len(measured) // 2]
        angle = 85 if middle < 10 else 20 if middle > 70 else 60
        near = step.adds_gloss_gu is not None and abs(step.adds_gloss_gu - middle) <= case.policy.gloss_difference
        gloss = (
            f"Step {step.step}: its gloss is not stated"
            if step.adds_gloss_gu is None
            else f"Step {step.step}: its gloss is {step.adds_gloss_gu:g} GU"
        )
        yield Requirement(
            "sheen",
            "work",
            near,
            step.place,
            f"{gloss}; the weathered surface measured {middle:g} GU at 60°"
            + (f" (compare at {angle}° as well)." if angle != 60 else "."),
            ISO_2813,
            "Match the sheen of the weathered surface that stays, on a trial panel, and record the gloss of the new coat.",
            str(step.step),
        )


def is_alike(text: str | None, other: str | None, reference: Reference) -> bool:
    """Whether two agents are the same liquids in any proportion."""
    if text is None or other is None:
        return False
    return agents.same_agent(agents.parse(text, reference.solvents), agents.parse(other, reference.solvents))
