"""A proposal as the threats read it: what an assessment says of it, as a share of the object's painted surface."""

from __future__ import annotations

from collections.abc import Iterable

from collection.compute.build_up.places import ALL, places_of
from collection.compute.case import Case
from collection.compute.risk.surface import NONE, Surface, total
from collection.compute.risk.threat import NOT_KNOWN, Planned
from collection.records.policy import Interval
from collection.rules.advice import ANSWERED
from collection.rules.effect import RESERVE
from collection.rules.findings import Assessment, Loss

OPEN_CLAIM = "open claim"


def planned(
    case: Case, title: str, assessed: Assessment, decision: str | None, *, overtaken: bool, carried_out: bool = False
) -> Planned:
    """One proposal with what it would take, by its assessment."""
    told = [loss.severity for loss in assessed.losses]
    return Planned(
        assessed.proposal,
        title,
        told.count("destroys"),
        decision,
        overtaken,
        carried_out,
        endangers=told.count("endangers"),
        untested=told.count("untested"),
        takes=share_taken(case, assessed.losses),
        unanswered=tuple(_open(case, assessed, ANSWERED)),
        claims=tuple(_open(case, assessed, OPEN_CLAIM)),
    )


def share_taken(case: Case, losses: Iterable[Loss]) -> Interval:
    """How much original finish would go, as a share of the object's painted surface: at each place what fares worst
    there. Lettering and lines count only where nothing else is lost; reserves lie in places that count themselves."""
    places = places_of(case)
    at: dict[str, list[tuple[bool, Interval]]] = {}
    for loss in losses:
        if loss.severity in ("destroys", "endangers", "untested") and not loss.thing.startswith(f"{RESERVE} "):
            at.setdefault(loss.place, []).append((loss.decoration is not None, loss.share or NOT_KNOWN))
    worst = {
        place: _worst([share for small, share in rows if not small] or [share for _, share in rows])
        for place, rows in at.items()
    }

    def taken(code: str, _: Surface) -> Interval:
        return _worst([share for place, share in worst.items() if places.contains(place, code)])

    if any(place != ALL and not places.is_known(place) for place in worst):
        return NOT_KNOWN
    return total(case, taken)


def _worst(shares: list[Interval]) -> Interval:
    if not shares:
        return NONE
    return max(s[0] for s in shares), max(s[1] for s in shares), max(s[2] for s in shares)


def _open(case: Case, assessed: Assessment, rule: str) -> list[str]:
    """The keys of the records that open requirements of a rule are about."""
    code = case.facts.object.object
    return [f"{code}/{each.subject}" for each in assessed.requirements if each.rule == rule and not each.met]
