"""Kept coats that no section shows but that a test did something to: what came off on a swab was there.

A "none seen" names a coat as well, but it never raises an alarm, so it does not show that the coat is there.
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


def with_tested_coats(case: Case, place: str, coats: Sequence[Coat], complete: bool) -> list[Coat]:
    """The coats of a place and those that only tests show, in the place itself or elsewhere on its part, each beneath
    what is later and over what is earlier; `complete` where one of the place's own samples goes down to the support."""
    found = list(coats)
    sampled = {(coat.scheme, coat.role) for coat in coats}
    component = places_of(case).component_of(place)
    for tested in _coats_tested(case):
        if (tested.scheme, tested.role) in sampled or tested.component != component:
            continue
        own = tuple(test for at, test in tested.tests if at == place)
        coat = _coat(case, tested, own, found)
        if not own and complete:
            coat = replace(coat, found=False, thing=not_found(tested.scheme, tested.role), cover=(0.0, 0.0, 1.0))
        at = next((i for i, other in enumerate(found) if _lies_under(case, other, coat)), len(found))
        found.insert(at, coat)
    return found


class _TestedCoat(NamedTuple):
    """A kept coat of a part that tests did something to, with the place and key of each test."""

    scheme: str
    role: str
    component: str | None
    tests: tuple[tuple[str, str], ...]


@kept
def _coats_tested(case: Case) -> tuple[_TestedCoat, ...]:
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
    return tuple(_TestedCoat(*which, tuple(spots)) for which, spots in found.items())


def _coat(case: Case, tested: _TestedCoat, own: tuple[str, ...], coats: Sequence[Coat]) -> Coat:
    """The coat, from the tests of the place itself (`own`), else from those of its part."""
    rank = _rank(case, tested.scheme)
    above = frozenset(
        coat.key
        for coat in coats
        if rank is not None and (other := _rank(case, coat.scheme)) is not None and other > rank
    )
    named = Layer.model_construct(
        object=case.facts.object.object, sample="", position=0, role=tested.role, scheme=tested.scheme
    )
    return Coat(
        CoatKey(tested.scheme, tested.role, ""),
        thing_of(named),
        True,
        case.policy.cover[""],
        bool(own),
        above,
        tuple(("tests", test) for test in dict.fromkeys(own or (test for _, test in tested.tests))),
    )


def _lies_under(case: Case, other: Coat, coat: Coat) -> bool:
    """Whether another coat lies under this one by its scheme's rank, or within the scheme by the usual order."""
    if other.scheme == coat.scheme:
        return ROLE_DEPTH[other.role] < ROLE_DEPTH[coat.role]
    own, rank = _rank(case, coat.scheme), _rank(case, other.scheme)
    return own is not None and rank is not None and rank < own


def _rank(case: Case, scheme: str | None) -> float | None:
    return next((s.rank for s in case.facts.schemes if s.scheme == scheme), None)
