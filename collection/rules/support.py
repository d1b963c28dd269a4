"""The support is kept too: water, heat and polish on it, a part replaced, paint over joints that are opened.

Common practice, no published source, where no reference is named.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from collection.compute.build_up.actions import KIND_OF_ACTION, ON_THE_SURFACE, OPENS
from collection.compute.build_up.condition import BROKEN, seen_at
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import is_absent, kept_layers
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.language.work_words import WETTING_RUBBING
from collection.records.facts import ProposalFacts
from collection.records.sheets import ProposalStep
from collection.rules.effect import Line
from collection.rules.findings import SPOTS_ALONE, Finding
from collection.values import agents
from collection.values.agents import WATER
from collection.values.reference import Reference
from collection.values.spoken_dates import in_words

SUPPORT, PART, JOINT = "support", "part", "paint over the joint"
RULES = ("water on the support", "heat on the support", "polish on metal", "part replaced", "joint opened")
IRON = re.compile(r"\b(iron|steel|tinplate|tin plate|cast iron|wrought)\b", re.I)
LEATHER, VENEER = re.compile(r"\bleather|hide\b", re.I), re.compile(r"veneer|marquetry|inlay", re.I)
METAL = re.compile(r"\b(brass|copper|bronze|nickel|silver|chrome|plated|plating|bright metal|gunmetal)\b", re.I)
WETS = 3
"""From this wetting rank on, an application soaks."""
COMMON = "common practice, no published source"
STANDARD_7 = "Secretary of the Interior's Standards for Rehabilitation, 7 (the gentlest means)"


def support_lines(case: Case, proposal: ProposalFacts) -> list[Line]:
    """One line per place and thing, however many steps cause it."""
    found: dict[tuple[str, str], list[Finding]] = {}
    for step in proposal.steps:
        if KIND_OF_ACTION[step.action] in ("none", *ON_THE_SURFACE):
            continue
        for place in _targets(case, step):
            for finding in (*_water(case, place, step), *_heat(case, place, step), *_polish(case, place, step)):
                found.setdefault((place, finding.thing), []).append(finding)
        for finding in (*_part(case, step), *_joint(case, step)):
            found.setdefault((finding.place, finding.thing), []).append(finding)
    return [Line(place, thing, tuple(findings), ()) for (place, thing), findings in sorted(found.items())]


def _targets(case: Case, step: ProposalStep) -> tuple[str, ...]:
    """The zone that a step names, else the parts in its place, since a part has one support."""
    places = places_of(case)
    if step.place in places.zones:
        return (step.place,) if places.is_there(step.place) else ()
    parts = tuple(
        code for code in sorted(places.components) if places.contains(step.place, code) and places.is_there(code)
    )
    return parts or (step.place,)


def material(case: Case, place: str) -> str:
    """What the coats of a place lie on, in words: the support of its part, else the object's materials."""
    places = places_of(case)
    part = places.components.get(places.component_of(place) or "")
    support = part.support if part is not None else None
    return support or case.facts.object.materials or ""


def _water(case: Case, place: str, step: ProposalStep) -> Iterator[Finding]:
    wet = _is_wet(step, case.reference)
    if KIND_OF_ACTION[step.action] not in ("contact", "adds") or wet is False:
        return
    carried = material(case, place)
    broken = seen_at(case, place, BROKEN)
    seen = ", ".join(dict.fromkeys(f"{row.phenomenon} ({in_words(row.observed_on)})" for row in broken))
    soaks = step.application is None or WETTING_RUBBING[step.application][0] >= WETS
    if IRON.search(carried) and broken:
        message = (
            f"Water reaches {carried} through broken paint ({seen}): it rusts, and lifts the sound paint beside it."
        )
    elif LEATHER.search(carried) and (broken or soaks):
        message = f"Water on {carried}: it darkens, hardens and shrinks."
    elif VENEER.search(carried) and (broken or soaks):
        message = f"Water on {carried}: its glue lets go."
    else:
        return
    remedy = "Use a liquid without water, or damp swabs dried at once, and treat the broken paint first."
    if wet is None:
        message, remedy = f"No agent is named, so it may hold water. {message}", f"Name the agent. {remedy}"
    yield _finding(
        step,
        place,
        SUPPORT,
        _Harm(
            "water on the support",
            "endangers" if wet else "untested",
            message,
            remedy,
            tuple(("conditions", row.key_text()) for row in broken),
        ),
    )


def _is_wet(step: ProposalStep, reference: Reference) -> bool | None:
    """Whether the step brings water; None where it names no agent, so nobody can say."""
    if step.agent is None:
        return True if step.action in ("wash", "aqueous") else None
    return any(name == WATER for name, _ in agents.parse(step.agent, reference.solvents).liquids)


def _heat(case: Case, place: str, step: ProposalStep) -> Iterator[Finding]:
    carried = material(case, place)
    if KIND_OF_ACTION[step.action] == "heat" and LEATHER.search(carried):
        yield _finding(
            step,
            place,
            SUPPORT,
            _Harm(
                "heat on the support",
                "endangers",
                f"Heat on {carried}: gentle heat is enough to shrink old leather for good.",
                "Leave heat out, or have the leather's shrinkage temperature measured.",
            ),
        )


def _polish(case: Case, place: str, step: ProposalStep) -> Iterator[Finding]:
    if step.action != "polish":
        return
    metal = [coat for coat in stack_of(case, place).coats if coat.role in ("plating", "bright metal")]
    carried = material(case, place)
    if not metal and not METAL.search(carried):
        return
    places = places_of(case)
    before = sorted(
        {s.treatment for s in case.facts.treatment_steps if s.action == "polish" and places.overlap(s.place, place)}
    )
    history = (
        f"Records show that it was polished {len(before)} time{'s' if len(before) > 1 else ''} ({', '.join(before)})"
        if before
        else "No earlier polishing is on record"
    )
    yield _finding(
        step,
        place,
        SUPPORT,
        _Harm(
            "polish on metal",
            "endangers",
            f"Each polish takes off some {metal[0].role if metal else carried}. {history}.",
            "Leave the tarnish, or clean without abrasive and protect the surface afterwards.",
            tuple(pair for coat in metal for pair in coat.evidence),
            STANDARD_7,
        ),
    )


def _part(case: Case, step: ProposalStep) -> Iterator[Finding]:
    if step.action != "replace":
        return
    places = places_of(case)
    for place, part in sorted(places.components.items()):
        if (
            places.contains(step.place, place)
            and places.is_there(place)
            and part.origin in (None, "original", "unknown")
        ):
            yield _finding(
                step,
                place,
                PART,
                _Harm(
                    "part replaced",
                    "destroys",
                    f"{place} ({part.name}), origin {part.origin or 'not recorded'}, would be taken away.",
                    "Repair it, or keep it with the object and record where.",
                    (("components", part.key_text()),),
                    "Secretary of the Interior's Standards for Rehabilitation, 6 (repair before replacing)",
                ),
            )


def _joint(case: Case, step: ProposalStep) -> Iterator[Finding]:
    if step.action not in OPENS:
        return
    places = places_of(case)
    part = places.component_of(step.place) or step.place
    samples = {s.sample for s in case.facts.samples if places.overlap(s.place, part)}
    kept = kept_layers(case)
    painted = any(
        layer.sample in samples
        and layer.role != "support"
        and not is_absent(layer)
        and kept[layer.sample, layer.position]
        for layer in case.facts.layers
    )
    yield _finding(
        step,
        part,
        JOINT,
        _Harm(
            "joint opened",
            "endangers" if painted else "untested",
            "Opening breaks paint that runs unbroken over joints and screws."
            if painted
            else f"Nobody has found original finish over the joints and screws that it opens, but {SPOTS_ALONE}.",
            "Cut the film along the joint under magnification first, photograph it, keep the screws in order.",
        ),
    )


@dataclass(frozen=True, slots=True)
class _Harm:
    """What a rule of this module says about a step, with the remedy and the evidence."""

    rule: str
    severity: str
    message: str
    remedy: str
    evidence: tuple[tuple[str, str], ...] = ()
    reference: str = COMMON


def _finding(step: ProposalStep, place: str, thing: str, harm: _Harm) -> Finding:
    return Finding(
        harm.rule,
        harm.severity,
        step.step,
        place,
        thing,
        None,
        None,
        None,
        None,
        f"Step {step.step} ({step.action}): {harm.message}",
        reference=harm.reference,
        remedy=harm.remedy,
        evidence=harm.evidence,
        why=harm.message,
    )
