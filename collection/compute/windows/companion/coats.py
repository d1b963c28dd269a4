"""The two coats that the work at the swab is about, and their recorded tests and colours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from collection.compute.build_up.coats import Coat
from collection.compute.build_up.places import places_of
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.language.words import FOREIGN_ROLES
from collection.records.sheets import Test

Kind = Literal[
    "test",
    "rung",
    "again",
    "bare",
    "found",
    "settle",
    "write",
    "mend",
    "leave",
    "lay",
    "no coats",
    "kept",
    "nothing beneath",
]


@dataclass(frozen=True, slots=True)
class Coats:
    """The coat to remove and the coat to keep in a place; None where there is none, and `kind` says why."""

    remove: Coat | None
    keep: Coat | None
    kind: Kind


def coats_of(case: Case, place: str) -> Coats:
    """The outermost later coat that need not be kept, and the next kept coat beneath it; dirt and wax only where there
    is no other coat to remove."""
    stack = stack_of(case, place)
    if not stack.coats:
        return Coats(None, None, "no coats")
    first = next(
        (
            at
            for foreign in (False, True)
            for at, coat in enumerate(stack.coats)
            if not coat.kept and (coat.role in FOREIGN_ROLES) == foreign
        ),
        None,
    )
    if first is None or any(coat.kept for coat in stack.coats[:first]):
        return Coats(None, next(coat for coat in stack.coats if coat.kept), "kept")
    keep = next((coat for coat in stack.coats[first + 1 :] if coat.kept), None)
    return Coats(stack.coats[first], keep, "test" if keep is not None else "nothing beneath")


def kept_below(case: Case, place: str, named: str) -> Coat | None:
    """The next kept coat beneath the named one; None where there is none, or no such coat."""
    stack = stack_of(case, place)
    scheme, _, role = named.partition("/")
    at = next(
        (
            at
            for at, coat in enumerate(stack.coats)
            if coat.thing == named or (coat.scheme == scheme and (not role or coat.role == role))
        ),
        None,
    )
    return None if at is None else next((coat for coat in stack.coats[at + 1 :] if coat.kept), None)


def tests_here(case: Case, place: str) -> tuple[Test, ...]:
    """The tests with a spot that may lie in this place."""
    places = places_of(case)
    return tuple(test for test in case.facts.tests if places.overlap(test.place, place))


def colours_of(case: Case, coat: Coat) -> tuple[str, ...]:
    """The colours of a coat in the words of its readings, each once; Munsell where there are no words."""
    rows = {(layer.sample, layer.position): layer for layer in case.facts.layers}
    found = (rows[spot].colour or rows[spot].munsell for spot in coat.layers if spot in rows)
    return tuple(dict.fromkeys(" ".join(each.split()) for each in found if each))
