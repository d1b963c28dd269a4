"""Kept coats that no section shows and that a test did something to: what came off on a swab is there.

A "none seen" names a coat as well, but it never raises an alarm, so it shows none either.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from collection.compute.build_up.coats import Coat, CoatKey, not_found, thing_of
from collection.compute.build_up.places import places_of
from collection.compute.build_up.readings import shown_later
from collection.compute.case import Case, kept
from collection.language.words import FOREIGN_ROLES, ROLE_DEPTH
from collection.records.sheets import Layer


def with_met(case: Case, place: str, coats: Sequence[Coat], complete: bool) -> list[Coat]:
    """The coats of a place with those that only tests met, in the place itself or elsewhere on its part, each beneath
    what is later and over what is earlier; `complete` where one of its own samples goes down to the support."""
    found = list(coats)
    sampled = {(coat.scheme, coat.role) for coat in coats}
    component = places_of(case).component_of(place)
    for met in _met(case):
        if (met.scheme, met.role) in sampled or met.component != component:
            continue
        own = tuple(test for at, test in met.tests if at == place)
        coat = _coat(case, met, own, found)
        if not own and complete:
            coat = replace(coat, found=False, thing=not_found(met.scheme, met.role), cover=(0.0, 0.0, 1.0))
        at = next((i for i, other in enumerate(found) if _lies_under(case, other, coat)), len(found))
        found.insert(at, coat)
    return found


class _Met(NamedTuple):
    """A kept coat of a part that tests did something to, with the place and key of each of them."""

    scheme: str
    role: str
    component: str | None
    tests: tuple[tuple[str, str], ...]


@kept
def _met(case: Case) -> tuple[_Met, ...]:
    tests = {t.test: t for t in case.facts.tests}
    kept_schemes = {s.scheme for s in case.facts.schemes if not shown_later(s)}
    places = places_of(case)
    found: dict[tuple[str, str, str | None], list[tuple[str, str]]] = {}
    for row in case.facts.responses:
        test = tests.get(row.test)
        if (
            test is not None
            and row.scheme in kept_schemes
            and row.role
            and row.role not in FOREIGN_ROLES
            and row.response != "none seen"
        ):
            found.setdefault((row.scheme or "", row.role, places.component_of(test.place)), []).append(
                (test.place, f"{test.object}/{test.test}")
            )
    return tuple(_Met(*which, tuple(spots)) for which, spots in found.items())


def _coat(case: Case, met: _Met, own: tuple[str, ...], coats: Sequence[Coat]) -> Coat:
    """The coat by the tests of the place itself, `own`, else by those of its part."""
    rank = _rank(case, met.scheme)
    above = frozenset(
        coat.key
        for coat in coats
        if rank is not None and (other := _rank(case, coat.scheme)) is not None and other > rank
    )
    named = Layer.model_construct(
        object=case.facts.object.object, sample="", position=0, role=met.role, scheme=met.scheme
    )
    return Coat(
        CoatKey(met.scheme, met.role, ""),
        thing_of(named),
        True,
        case.policy.cover[""],
        bool(own),
        above,
        tuple(("tests", test) for test in dict.fromkeys(own or (test for _, test in met.tests))),
    )


def _lies_under(case: Case, other: Coat, coat: Coat) -> bool:
    """Whether another coat lies under this one by its scheme's rank, or within the scheme by the usual order."""
    if other.scheme == coat.scheme:
        return ROLE_DEPTH[other.role] < ROLE_DEPTH[coat.role]
    own, rank = _rank(case, coat.scheme), _rank(case, other.scheme)
    return own is not None and rank is not None and rank < own


def _rank(case: Case, scheme: str | None) -> float | None:
    return next((s.rank for s in case.facts.schemes if s.scheme == scheme), None)
