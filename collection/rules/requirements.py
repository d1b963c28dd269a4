"""What has to be true before a proposal is approved, or before work begins. Small rules, each a generator."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from collection.compute.build_up.actions import KIND_OF_ACTION
from collection.compute.build_up.places import places_of
from collection.compute.case import Case
from collection.compute.loss.masks import can_be_masked
from collection.compute.loss.outcome import Outcome, touched, worked_on
from collection.language.sentences import counted, ended
from collection.language.words import parts_of
from collection.language.work_words import REACH_OF_ACTION
from collection.records.facts import ProposalFacts, current, open_claims, surely_in_state
from collection.rules.advice import advice_to_answer
from collection.rules.coatings import comes_off, is_alike, sheen
from collection.rules.findings import Requirement

OSHA_LEAD = "29 CFR 1926.62 (lead in construction), and the local code"


def requirements(case: Case, proposal: ProposalFacts, found: Sequence[Outcome]) -> list[Requirement]:
    """Every requirement of a proposal with the outcomes `found`, open ones first: always an answer to the advice
    against it; hazards where a step reaches a coat; the rest where a step does more than dust, handle or expose."""
    asked = [*advice_to_answer(case, proposal)]
    if touched(case, proposal):
        asked += _hazards(case, proposal)
    if worked_on(case, proposal):
        asked += [
            r
            for rule in (
                comes_off,
                sheen,
                _trial_panel,
                _permission,
                _later_schemes,
                _open_claims,
                _one_reserve,
                _decorations_kept,
                _photographed,
                _arrested,
                _masked,
            )
            for r in rule(case, proposal)
        ]
        asked += _looked_at_dry(found)
    return sorted(asked, key=lambda r: (r.met, r.when, r.id))


def _permission(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    given = proposal.proposal.permission
    yield Requirement(
        "owner's permission",
        "approval",
        bool(given),
        None,
        ended(f"Permission: {given}") if given else "The owner's permission is not recorded.",
        remedy="Record the permission, or where it is kept.",
    )


def _later_schemes(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    schemes = {s.scheme: s for s in case.facts.schemes}
    for code in dict.fromkeys((s.removes or "").split("/")[0] for s in proposal.steps if s.removes):
        scheme = schemes.get(code)
        if scheme is None or scheme.period == "original":
            continue
        decided = scheme.keep in ("sample", "may go") and bool(scheme.decided_by)
        yield Requirement(
            "decision on a later scheme",
            "approval",
            decided,
            None,
            f"Scheme {code} ({scheme.name}) "
            + (
                "may go: a named person has decided so."
                if decided
                else "is to be removed, and no named person has decided that it may go."
            ),
            "Secretary of the Interior's Standards for Rehabilitation, 4 (changes that gained significance are kept)",
            "Record with the scheme whether it stays, why, and who decided it.",
            code,
        )


def _open_claims(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    places = places_of(case)
    newest = current(case.facts.claims, "claim")
    for claim in open_claims(case.facts):
        where = claim.place or "all"
        if any(places.overlap(where, step.place) for group in worked_on(case, proposal).values() for step in group):
            last = newest[claim.claim]
            overtaken = last.status not in ("untested", "supported")
            yield Requirement(
                "open claim",
                "approval",
                False,
                claim.place,
                ended(f"Claim {claim.claim} is {claim.status}: {claim.statement}")
                + (f" Its dates do not show that it was {last.status} after that." if overtaken else ""),
                remedy="Withdraw the state whose date leaves it open, and enter it again with its day."
                if overtaken
                else "Settle it by a sample, or make it a condition of the approval.",
                subject=claim.claim,
            )


def _one_reserve(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    places = places_of(case)
    deep = [s for s in proposal.steps if REACH_OF_ACTION[s.action] in ("into coats", "through", "other") or s.removes]
    parts = {places.component_of(p) for s in deep for p in places.within(s.place)}
    for part in sorted(p for p in parts if p):
        kept = [r for r in case.facts.reserves if places.component_of(r.place) == part]
        yield Requirement(
            "one reserve per part",
            "approval",
            bool(kept),
            part,
            f"{part} " + (f"keeps reserve {kept[0].reserve}." if kept else "has no place set aside to stay untouched."),
            "common practice, no published source",
            f"Choose and record a reserve on {part}.",
        )


def _decorations_kept(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    """Something of each decoration that a cut or a strip can reach has to stay as it is."""
    places = places_of(case)
    gone = surely_in_state(case.facts.decorations, "decoration", "state", ("lost", "not found"))
    deep = [s for s in proposal.steps if REACH_OF_ACTION[s.action] == "through"]
    for code, row in sorted(current(case.facts.decorations, "decoration").items()):
        if code in gone or not any(places.overlap(step.place, row.place) for step in deep):
            continue
        kept = [r for r in case.facts.reserves if places.overlap(r.place, row.place)]
        yield Requirement(
            "one reserve per decoration",
            "approval",
            bool(kept),
            row.place,
            f"{row.kind.capitalize()} {code} "
            + (f"keeps reserve {kept[0].reserve}." if kept else "has no place set aside to stay untouched."),
            "common practice, no published source",
            f"Choose and record a reserve on {code}.",
            code,
        )


def _trial_panel(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    """Work that takes a coat off is first tried where nobody looks, and in a second place: coats differ from spot to
    spot."""
    places = places_of(case)
    for step in proposal.steps:
        if not step.removes or KIND_OF_ACTION[step.action] not in ("contact", "cut", "heat"):
            continue
        parts = {places.component_of(place) for place in places.within(step.place)}
        tried = [
            t
            for t in case.facts.tests
            if places.component_of(t.place) in parts
            and (is_alike(t.agent, step.agent, case.reference) if step.agent else t.action == step.action)
        ]
        unseen = [
            t
            for t in tried
            if (zone := places.zones.get(t.place)) is not None and zone.visibility in ("hidden", "inconspicuous")
        ]
        agent = step.agent or step.action
        yield Requirement(
            "trial panel",
            "work",
            bool(unseen),
            step.place,
            f"Step {step.step}: {agent} "
            + (
                f"was tried where nobody looks ({unseen[0].test}, {unseen[0].place})."
                if unseen
                else "has no recorded trial in an inconspicuous place of this part."
            ),
            "common practice, no published source",
            "Make a trial panel in an inconspicuous place, let it dry, and record what each coat did.",
            str(step.step),
        )
        spots = sorted({t.place for t in tried})
        yield Requirement(
            "second test place",
            "work",
            len(spots) >= 2,
            step.place,
            f"Step {step.step}: {agent} was tried in {counted(len(spots), 'place')} of this part"
            + (f" ({', '.join(spots)})." if spots else "."),
            "common practice, no published source",
            "Test in a second place as well.",
            str(step.step),
        )


def _photographed(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    places = places_of(case)
    for place in sorted({s.place for group in worked_on(case, proposal).values() for s in group}):
        seen = any(p.place and places.overlap(p.place, place) for p in case.facts.pictures)
        yield Requirement(
            "picture before work",
            "work",
            seen,
            place,
            f"{place} " + ("is pictured." if seen else "has no picture."),
            "AIC Guidelines for Practice, 27 (images before, during and after)",
            "Photograph it in normal and raking light before work.",
        )


def _arrested(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    for step in proposal.steps:
        if KIND_OF_ACTION[step.action] == "contact" and step.removes:
            yield Requirement(
                "arresting liquid",
                "work",
                bool(step.arrest_with),
                step.place,
                f"Step {step.step} "
                + (
                    f"is arrested with {step.arrest_with}." if step.arrest_with else "names nothing that would stop it."
                ),
                "common practice, no published source",
                "Name what arrests it, and test that.",
                subject=str(step.step),
            )


def _masked(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    """What a step leaves out has to be masked before it."""
    for step in proposal.steps:
        if step.spares and can_be_masked(step):
            yield Requirement(
                "mask",
                "work",
                False,
                step.place,
                f"Step {step.step} spares {', '.join(parts_of(step.spares))}.",
                "common practice, no published source",
                "Mask it with something that its surface stands, and try the mask first.",
                str(step.step),
            )


def _looked_at_dry(found: Sequence[Outcome]) -> Iterator[Requirement]:
    """A response looked at only wet may show more when dry."""
    tests = sorted(
        {
            test.rsplit("/", 1)[-1]
            for outcome in found
            for step in outcome.steps
            if step.touch.rate.undried
            for test in step.touch.rate.tests
        }
    )
    if tests:
        yield Requirement(
            "look again dry",
            "work",
            False,
            None,
            f"{', '.join(tests)}: not recorded whether {'it was' if len(tests) == 1 else 'they were'} "
            "looked at again when dry.",
            "common practice, no published source",
            "Look at the spots again when they are dry, and record that.",
        )


def _hazards(case: Case, proposal: ProposalFacts) -> Iterator[Requirement]:
    places = places_of(case)
    parts = {places.component_of(place) for place in touched(case, proposal)}
    known = {
        code: hazard
        for code, hazard in current(case.facts.hazards, "hazard").items()
        if hazard.component is None
        or None in parts
        or any(part is not None and places.overlap(hazard.component, part) for part in parts)
    }
    gone = surely_in_state(case.facts.hazards, "hazard", "status", ("not found",))
    for code, hazard in sorted(known.items()):
        if code in gone:
            continue
        met = hazard.status == "controlled"
        yield Requirement(
            "hazard addressed",
            "work",
            met,
            hazard.component,
            ended(f"Hazard {code}, {hazard.status}: {hazard.kind}"),
            remedy="Follow the safety data sheets, local codes and licensed practice.",
            subject=code,
        )
    words = [h.kind.casefold() for h in known.values()] + [
        f"{a.material or ''} {a.result}".casefold() for a in case.facts.analyses
    ]
    if not any("lead" in w for w in words):
        yield Requirement(
            "lead suspected",
            "work",
            False,
            None,
            "Lead is suspected in any paint that has not been analysed.",
            OSHA_LEAD,
            "Have the coats analysed for lead; until then work as if it were there, following "
            "local codes and licensed practice.",
        )
