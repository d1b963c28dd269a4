"""A proposal as the threats read it: what an assessment says of it, as a share of the object's painted surface."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case
from collection.compute.risk.surface import NONE, Surface, total
from collection.compute.risk.threat import NOT_KNOWN, Planned
from collection.language.work_words import REACH_OF_ACTION
from collection.records.facts import ProposalFacts
from collection.records.policy import Interval
from collection.rules.advice import ANSWERED
from collection.rules.effect import RESERVE
from collection.rules.findings import Assessment, Loss

OPEN_CLAIM = "open claim"


LIGHT = frozenset({"loose dirt", "exposure", "wear", "none"})
"""What work may do that is not meant for the finish at all, by the reach of its actions."""


def planned(
    case: Case,
    proposal: ProposalFacts,
    assessed: Assessment,
    decision: str | None,
    *,
    overtaken: bool,
    carried_out: bool = False,
) -> Planned:
    """One proposal with what it would take, by its assessment."""
    told = [loss.severity for loss in assessed.losses]
    light = {step.step for step in proposal.steps if REACH_OF_ACTION[step.action] in LIGHT}
    places = places_of(case)
    open_advice, open_claims = _open(assessed, ANSWERED), _open(assessed, OPEN_CLAIM)
    forbidden = {step for each in assessed.advice if each.advice in open_advice for step in each.steps}
    claimed = {row.place or ALL for row in case.facts.claims if row.claim in open_claims}
    code = case.facts.object.object
    return Planned(
        assessed.proposal,
        proposal.proposal.title,
        told.count("destroys"),
        decision,
        overtaken,
        carried_out,
        endangers=told.count("endangers"),
        untested=told.count("untested"),
        takes=share_taken(case, assessed.losses, light),
        unanswered=tuple(f"{code}/{each}" for each in open_advice),
        claims=tuple(f"{code}/{each}" for each in open_claims),
        takes_forbidden=share_taken(case, [x for x in assessed.losses if forbidden.intersection(x.steps)], light),
        takes_claimed=share_taken(
            case, assessed.losses, light, lambda place: any(places.overlap(place, each) for each in claimed)
        ),
    )


def share_taken(
    case: Case, losses: Iterable[Loss], light: Collection[int] = (), where: Callable[[str], bool] = lambda _: True
) -> Interval:
    """How much original finish would go, as a share of the object's painted surface: at each place what fares worst
    there. Lettering and lines count only where nothing else is lost; reserves lie in places that count themselves.

    :param light: the steps that only dust, wrap or move: of what they may take, the policy's share is expected.
    :param where: which places count.
    """
    places = places_of(case)
    at: dict[str, list[tuple[bool, Interval]]] = {}
    for loss in losses:
        if loss.severity in ("destroys", "endangers", "untested") and not loss.thing.startswith(f"{RESERVE} "):
            low, middle, high = loss.share or NOT_KNOWN
            if loss.steps and set(loss.steps) <= set(light):
                middle = max(low, min(middle, case.policy.risk.handled * high))
            at.setdefault(loss.place, []).append((loss.decoration is not None, (low, middle, high)))
    worst = {
        place: _worst([share for small, share in rows if not small] or [share for _, share in rows])
        for place, rows in at.items()
    }
    if any(not places.is_known(place) for place in worst):
        return NOT_KNOWN

    def taken(code: str, _: Surface) -> Interval:
        return _worst([share for place, share in worst.items() if places.contains(place, code)] if where(code) else [])

    return total(case, taken)


def _worst(shares: list[Interval]) -> Interval:
    if not shares:
        return NONE
    return max(s[0] for s in shares), max(s[1] for s in shares), max(s[2] for s in shares)


def _open(assessed: Assessment, rule: str) -> list[str]:
    """The codes of the records that open requirements of a rule are about."""
    return [each.subject for each in assessed.requirements if each.rule == rule and not each.met and each.subject]
