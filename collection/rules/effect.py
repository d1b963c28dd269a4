"""The effect rules: findings of loss, and the losses made of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from collection.compute.build_up.coats import FINISH, not_found
from collection.compute.build_up.condition import standing
from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case
from collection.compute.loss.masks import can_be_masked, spared, spares_reserve
from collection.compute.loss.outcome import (
    BELOW,
    NOT_EXAMINED,
    Outcome,
    StepOutcome,
    never_looked_at,
    planned_day,
    worked_on,
)
from collection.compute.survival.evidence import Subject
from collection.language.words import SEVERITY_RANK
from collection.language.work_words import REACH_OF_ACTION
from collection.records.facts import ProposalFacts
from collection.records.policy import Interval
from collection.records.sheets import ProposalStep
from collection.rules.findings import Finding, Looked, Loss
from collection.rules.severity import severity_of, worst
from collection.rules.totals import is_small
from collection.values import dates
from collection.values.spoken_dates import in_words

if TYPE_CHECKING:
    from collection.compute.survival.figures import PlaceSurvival

RESERVE, EFFECT = "reserve", "effect"
AT_REST = "Nothing recorded here is getting worse."
HARM_WORDS = {
    "destroys": "would be destroyed",
    "endangers": "is endangered",
    "untested": "is untested",
    "stood": "stood the test",
}


@dataclass(frozen=True, slots=True)
class Line:
    """What makes up one loss: its findings and the outcomes behind them."""

    place: str
    thing: str
    findings: tuple[Finding, ...]
    outcomes: tuple[Outcome, ...]


def effect_findings(case: Case, proposal: ProposalFacts, found: Sequence[Outcome]) -> list[Line]:
    """One line per kept thing and place. A place never examined has one line for all that it may hold; coats that only
    the rest of its part shows have lines of their own there only if they are worse than untested."""
    grouped: dict[tuple[str, str], list[Outcome]] = defaultdict(list)
    for outcome in found:
        grouped[outcome.place, outcome.thing].append(outcome)
    lines = []
    for (place, thing), members in grouped.items():
        findings = [finding for outcome in members for finding in _findings(case, outcome)]
        if not findings:
            continue
        line = Line(place, thing, tuple(findings), tuple(members))
        if (
            thing == NOT_EXAMINED
            or members[0].stack.examined
            or members[0].coat is None
            or members[0].coat.decoration is not None
            or SEVERITY_RANK[worst(f.severity for f in findings)] > SEVERITY_RANK["untested"]
        ):
            lines.append(line)
    lines.extend(_reserves(case, proposal))
    lines.extend(_never_looked_at(case, proposal))
    return lines


def _findings(case: Case, outcome: Outcome) -> Iterable[Finding]:
    """What each step does to the thing; steps that cannot reach it give no finding."""
    coat = outcome.coat
    for step in outcome.steps:
        severity = severity_of(outcome, step, case.policy)
        if severity == "clear":
            continue
        rate = step.touch.rate
        why, wanting, tests = rate.why, rate.wanting, rate.tests
        if severity == "stood" and step.kind != "cut" and not rate.cleared:
            # It is not its own tests that clear it: a coat above it stood the test and keeps the work from it.
            why, tests = _shielded(step), step.shield_tests
        elif severity == "untested" and (rate.feared or rate.model is not None) and step.shield is not None:
            why, wanting = f"{_where_it_is_broken(step)} {why}", _settled_by(step)
        looked = None
        if outcome.unfound and severity != "stood":
            looked = _looked_for(case, outcome)
            why = why if coat is not None else ""
            wanting = wanting if coat is not None else _look(looked, outcome.place)
        reason = f"{looked.sentence()} {why}".rstrip() if looked is not None else why
        yield Finding(
            EFFECT,
            severity,
            step.step.step,
            outcome.place,
            outcome.thing,
            coat.scheme if coat else None,
            coat.role if coat else None,
            coat.decoration if coat else None,
            step.of_place,
            f"Step {step.step.step} ({step.step.action}): {reason}",
            reference=rate.reference,
            remedy=None if severity == "stood" else _remedy(wanting, severity),
            evidence=(coat.evidence if coat else ()) + tuple(("tests", key) for key in tests),
            why=why,
            looked=looked,
        )


def _shielded(step: StepOutcome) -> str:
    shield = step.shield
    if shield is None:
        return f"What lies above it stood the test and shields all but {100 * step.contact:.2g} % of it."
    by = f" ({', '.join(key.rsplit('/', 1)[-1] for key in step.shield_tests)})" if step.shield_tests else ""
    return f"{shield.thing} above it stood the test{by} and shields all but {100 * step.contact:.2g} % of it."


def _where_it_is_broken(step: StepOutcome) -> str:
    shield = step.shield
    assert shield is not None
    return f"{shield.thing} above it stood the test and was whole where it was read; where it is broken:"


def _settled_by(step: StepOutcome) -> str:
    agent = step.step.agent or step.step.action
    return (
        f"one test of {agent} on this coat, at a break or beside a section, or a reading that shows the whole of "
        f"{step.shield.thing if step.shield else 'what covers it'}"
    )


def _look(looked: Looked, place: str) -> str:
    if looked.prepared_only:
        return f"look over all of {place} for it, and record that as a sample: method surface, extent whole place"
    return f"look first: one more section in {place}"


def _looked_for(case: Case, outcome: Outcome) -> Looked:
    """What is known about a scheme that was looked for in a place."""
    scheme = outcome.thing.split("/", 1)[0]
    at = looked_for(case, scheme, outcome.place)
    if outcome.thing == not_found(scheme, FINISH):
        return Looked(0, 0, prepared_only=True)
    if at is None or not at.read:
        return Looked(0, 0)
    return Looked(
        at.read - at.present,
        at.read,
        None if at.share is None else at.share[2],
        of_found=outcome.thing != not_found(scheme) and bool(at.present),
    )


def looked_for(case: Case, scheme: str, place: str) -> PlaceSurvival | None:
    """What is known about a scheme at a place, as `survival` gives it: an original scheme counts together with all
    original ones, unless another of them was found there."""
    from collection.compute.survival.survey import original, survey  # numpy only where it is needed

    row = next(s for s in case.facts.schemes if s.scheme == scheme)
    found = survey(case, Subject(frozenset({scheme}), component=row.component), only_read=True).places
    if row.period == "original":
        found = (*(each for each in original(case).places if not each.present), *found)
    return next((each for each in found if each.place == place), None)


def _remedy(wanting: str | None, severity: str) -> str:
    if wanting:
        return wanting[0].upper() + wanting[1:] + "."
    return (
        "Choose a method that cannot reach it, or leave this place as a reserve."
        if severity == "destroys"
        else "Test in an inconspicuous place, as harshly as planned, and record what each coat did."
    )


def _reserves(case: Case, proposal: ProposalFacts) -> Iterable[Line]:
    """Reserves that are touched: destroyed by work that takes something off, else endangered, unless the step spares
    them."""
    places, day = places_of(case), dates.bounds(planned_day(proposal))
    steps = {step.step: step for group in worked_on(case, proposal).values() for step in group}
    for reserve in case.facts.reserves:
        if reserve.until and dates.bounds(reserve.until).latest < day.earliest:
            continue
        findings = [
            Finding(
                RESERVE,
                "destroys" if takes_off(step) else "endangers",
                number,
                reserve.place,
                f"reserve {reserve.reserve}",
                None,
                None,
                None,
                (0.0, 1.0, 1.0),
                f"Step {number} ({step.action}) touches a {reserve.kind} that must stay.",
                why=f"Touches a {reserve.kind} that must stay.",
                remedy=f"Mask it and name {reserve.reserve} as left out, or leave {reserve.place} out."
                if can_be_masked(step)
                else f"Leave {reserve.place} out, or choose work that a mask keeps from it.",
                evidence=(("reserves", f"{reserve.object}/{reserve.reserve}"),),
            )
            for number, step in sorted(steps.items())
            if places.overlap(step.place, reserve.place)
            and not spares_reserve(step, reserve.reserve)
            and not spared(case, step, reserve.place)
        ]
        if findings:
            yield Line(reserve.place, f"reserve {reserve.reserve}", tuple(findings), ())


def takes_off(step: ProposalStep) -> bool:
    """Whether a step is meant to take something off, or always does."""
    return bool(step.removes) or REACH_OF_ACTION[step.action] in ("into coats", "through")


def _never_looked_at(case: Case, proposal: ProposalFacts) -> Iterable[Line]:
    """Places whose surface nobody has described, in one line for the object: failing finish there would come off."""
    found = never_looked_at(case, proposal)
    if not found:
        return
    step, names = next(iter(sorted(found.items())))
    action = next(s.action for s in proposal.steps if s.step == step)
    shown = ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
    yield Line(
        ALL,
        NOT_EXAMINED,
        (
            Finding(
                EFFECT,
                "untested",
                step,
                ALL,
                NOT_EXAMINED,
                None,
                None,
                None,
                None,
                f"Step {step} ({action}): nobody has described the surface of {shown}.",
                why=f"Nobody has described the surface of {shown}.",
                remedy="Look there for failing finish first, and record the condition.",
            ),
        ),
        (),
    )


def loss_of(
    case: Case, line: Line, areas: Mapping[tuple[str, str | None], Interval | None], intended: frozenset[str]
) -> Loss:
    """The loss that a line makes; `areas` are the surviving areas in m², where known: each place's finish under (place,
    None), each decoration under (its place, its code)."""
    severity = worst(f.severity for f in line.findings)
    causes = [f for f in line.findings if f.severity == severity]
    first = causes[0]
    if line.outcomes:
        spans = [outcome.lost for outcome in line.outcomes]
        share: Interval | None = (max(s[0] for s in spans), max(s[1] for s in spans), max(s[2] for s in spans))
    else:
        share = first.share
    area = (
        areas.get((line.place, first.decoration))
        if line.outcomes
        and line.thing not in (NOT_EXAMINED, BELOW)
        and (first.decoration is not None or not is_small(first.role))
        else None
    )
    lost = None if area is None or share is None else (area[0] * share[0], area[1] * share[1], area[2] * share[2])
    evidence = tuple(dict.fromkeys(pair for f in causes for pair in f.evidence))
    return Loss(
        line.place,
        line.thing,
        first.scheme,
        first.role,
        first.decoration,
        severity,
        tuple(dict.fromkeys(f.step for f in causes if f.step is not None)),
        share,
        lost,
        f"{_subject(case, line, first)} {HARM_WORDS[severity]}. {first.message}",
        first.remedy,
        _if_nothing_is_done(case, line.place),
        _named(line, intended),
        evidence,
        tuple(causes),
    )


def _subject(case: Case, line: Line, finding: Finding) -> str:
    if line.thing == NOT_EXAMINED and line.place == ALL and not line.outcomes:
        return "Finish that nobody has looked at"
    if line.thing == NOT_EXAMINED:
        return f"{line.place} was never examined: any finish there"
    if line.thing == BELOW:
        return f"{line.place}: what lies below the deepest coat seen"
    if not line.outcomes or line.outcomes[0].unfound:
        return f"{line.place}: {line.thing}"
    scheme = next((s for s in case.facts.schemes if s.scheme == finding.scheme), None)
    period = scheme.period if scheme else "unknown"
    what = f"decoration {finding.decoration}" if finding.decoration else line.thing
    name = f" ({scheme.name}, period {period})" if scheme else ""
    return f"{line.place}: {finding.role or 'coat'} {what}{name}"


def _if_nothing_is_done(case: Case, place: str) -> str:
    places = places_of(case)
    active = [c for c in standing(case) if c.active == "yes" and places.overlap(c.place, place)]
    if not active:
        return AT_REST
    ongoing = "; ".join(
        dict.fromkeys(f"{c.phenomenon} continues here (seen {in_words(c.observed_on)})" for c in active)
    )
    return f"{ongoing[0].upper()}{ongoing[1:]}."


def _named(line: Line, intended: frozenset[str]) -> bool:
    """Whether the proposal's steps name this thing as something to take off."""
    scheme = line.thing.split("/")[0]
    return line.thing in intended or (bool(line.outcomes) and scheme in intended)


def in_reading_order(losses: Iterable[Loss]) -> list[Loss]:
    """Worst first; among equals reserves, lettering, leaf, other decoration, then plain coats."""
    return sorted(losses, key=lambda loss: (-SEVERITY_RANK[loss.severity], _weight(loss), loss.id))


def _weight(loss: Loss) -> int:
    if loss.thing.startswith("reserve "):
        return 0
    order = {"lettering": 1, "metal leaf": 2, "lining": 3, "ornament": 3, "bronze paint": 3, "transfer": 3}
    return order.get(loss.role or "", 4 if loss.role not in ("primer", "filler", "ground", "sealer") else 5)
