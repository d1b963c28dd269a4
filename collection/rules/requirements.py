"""What has to be true before a proposal is approved, or before work begins. Small rules; each yields."""

from __future__ import annotations

from collections.abc import Iterator

from collection.compute.actions import KIND_OF_ACTION
from collection.compute.outcome import touched
from collection.compute.places import places_of
from collection.facts import Facts, ProposalFacts, current, surely_in_state
from collection.rules.findings import Requirement
from collection.sentences import ended
from collection.words import REACH_OF_ACTION

OSHA_LEAD = "29 CFR 1926.62 (lead in construction), and the local code"


def requirements(facts: Facts, proposal: ProposalFacts) -> list[Requirement]:
    """Every requirement of a proposal, open ones first; none where no step reaches a coat."""
    if not touched(facts, proposal):
        return []
    found = [r for rule in (_permission, _later_schemes, _open_claims, _removable, _one_reserve, _pictured,
                            _arrested, _hazards) for r in rule(facts, proposal)]
    return sorted(found, key=lambda r: (r.met, r.when, r.id))


def _permission(facts: Facts, proposal: ProposalFacts) -> Iterator[Requirement]:
    given = proposal.proposal.permission
    yield Requirement("owner's permission", "approval", bool(given), None,
                      ended(f"Permission: {given}") if given else "The owner's permission is not recorded.",
                      remedy="Record the permission, or where it is kept.")


def _later_schemes(facts: Facts, proposal: ProposalFacts) -> Iterator[Requirement]:
    schemes = {s.scheme: s for s in facts.schemes}
    for code in dict.fromkeys((s.removes or "").split("/")[0] for s in proposal.steps if s.removes):
        scheme = schemes.get(code)
        if scheme is None or scheme.period == "original":
            continue
        decided = scheme.keep in ("sample", "may go") and bool(scheme.decided_by)
        yield Requirement("decision on a later scheme", "approval", decided, None,
                          f"Scheme {code} ({scheme.name}) "
                          + ("may go: a named person decided it." if decided else
                             "is to be removed, and no named person has decided that it may go."),
                          "Secretary of the Interior's Standards for Rehabilitation, 4 (changes that gained "
                          "significance are kept)", "Record keep, keep_why and decided_by on the scheme.", code)


def _open_claims(facts: Facts, proposal: ProposalFacts) -> Iterator[Requirement]:
    places = places_of(facts)
    for claim in facts.claims:
        where = claim.place or "all"
        if claim.status in ("untested", "supported") and any(
                places.overlap(where, step.place) for group in touched(facts, proposal).values() for step in group):
            yield Requirement("open claim", "approval", False, claim.place,
                              ended(f"Claim {claim.claim} is {claim.status}: {claim.statement}"),
                              remedy="Settle it by a sample, or make it a condition of the approval.",
                              subject=claim.claim)


def _removable(facts: Facts, proposal: ProposalFacts) -> Iterator[Requirement]:
    for step in proposal.steps:
        if KIND_OF_ACTION[step.action] == "adds":
            yield Requirement("comes off again", "approval", bool(step.removable_with), step.place,
                              f"Step {step.step} adds {step.adds or 'a coat'}: "
                              + (f"to come off with {step.removable_with}." if step.removable_with else
                                 "nothing says what would take it off again without touching what lies under it."),
                              remedy="State removable_with, and test it on what lies beneath.", subject=str(step.step))


def _one_reserve(facts: Facts, proposal: ProposalFacts) -> Iterator[Requirement]:
    places = places_of(facts)
    deep = [s for s in proposal.steps if REACH_OF_ACTION[s.action] in ("into coats", "through", "other") or s.removes]
    parts = {places.component_of(p) for s in deep for p in places.within(s.place)}
    for part in sorted(p for p in parts if p):
        kept = [r for r in facts.reserves if places.component_of(r.place) == part]
        yield Requirement("one reserve per part", "approval", bool(kept), part,
                          f"{part} " + (f"keeps reserve {kept[0].reserve}." if kept else
                                        "has no place that is to be left untouched."),
                          "common practice, no published source", f"Choose and record a reserve on {part}.")


def _pictured(facts: Facts, proposal: ProposalFacts) -> Iterator[Requirement]:
    places = places_of(facts)
    for place in sorted({s.place for group in touched(facts, proposal).values() for s in group}):
        seen = any(p.place and places.overlap(p.place, place) for p in facts.pictures)
        yield Requirement("picture before work", "work", seen, place,
                          f"{place} " + ("is pictured." if seen else "has no picture."),
                          "AIC Guidelines for Practice, 27 (images before, during and after)",
                          "Photograph it in normal and raking light before work.")


def _arrested(facts: Facts, proposal: ProposalFacts) -> Iterator[Requirement]:
    for step in proposal.steps:
        if KIND_OF_ACTION[step.action] == "contact" and step.removes:
            yield Requirement("arresting liquid", "work", bool(step.arrest_with), step.place,
                              f"Step {step.step} " + (f"is arrested with {step.arrest_with}." if step.arrest_with else
                                                      "names nothing that would stop it."),
                              "common practice, no published source", "Name arrest_with, and test it.",
                              subject=str(step.step))


def _hazards(facts: Facts, proposal: ProposalFacts) -> Iterator[Requirement]:
    known = current(facts.hazards, "hazard")
    gone = surely_in_state(facts.hazards, "hazard", "status", ("not found",))
    for code, hazard in sorted(known.items()):
        if code in gone:
            continue
        met = hazard.status == "controlled"
        yield Requirement("hazard addressed", "work", met, hazard.component,
                          ended(f"Hazard {code}, {hazard.status}: {hazard.kind}"),
                          remedy="Follow the safety data sheets, local codes and licensed practice.", subject=code)
    words = [h.kind.casefold() for h in known.values()] + [
        f"{a.material or ''} {a.result}".casefold() for a in facts.analyses]
    if not any("lead" in w for w in words):
        yield Requirement("lead suspected", "work", False, None,
                          "Lead is suspected in any paint that has not been analysed.", OSHA_LEAD,
                          "Have the coats analysed for lead; until then work as if it were there, following "
                          "local codes and licensed practice.")
