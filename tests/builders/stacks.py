"""Places of the made door and of a cabinet, as they were read, and the stack of coats that is built up of them."""

from __future__ import annotations

from typing import Any

import objects as o
from objects import RED, door, section

from collection.compute.build_up.coats import Stack
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.records.sheets import Component, Zone

CAB = [
    Component(object=o.OBJ, component="cab", name="cab"),
    *section("S7", ("1", "body colour", "red", "partial"), place="cab"),
]


def stack(rows: list[Any], place: str = "door") -> Stack:
    return stack_of(Case(o.facts(rows)), place)


def names_of(found: Stack) -> list[str]:
    """The coats of a stack, outermost first; in brackets those that are not known to be there."""
    return [coat.thing if coat.found else f"({coat.thing})" for coat in found.coats]


WING = Zone(object=o.OBJ, zone="wing", component="door", area_m2=0.5)
PRIMER = ("1", "primer", "grey", "intact")
ONE_RED = door(*section("S1", RED))
NOBODY, STRIPPING = door(WING), {"action": "strip"}
