"""A door that was looked at twice, in 2014 and in 2024, and what `compare` says of it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from collection.compute.case import Case
from collection.compute.compare.comparison import Comparison, compare
from collection.compute.compare.sides import Sides, by_survey
from collection.records.facts import facts_of
from collection.records.sheets import (
    Component,
    Condition,
    Layer,
    Object,
    Record,
    Sample,
    Scheme,
    Treatment,
    TreatmentStep,
    Zone,
)
from collection.values import dates

OBJ = "T.1"
A, B = ("A", dates.bounds("2014")), ("B", dates.bounds("2024"))
THEN, NOW = "2014-05-02", "2024-05-02"
DOOR: list[Record] = [
    Component(object=OBJ, component="door", name="door", origin="original"),
    Zone(object=OBJ, zone="top", component="door", area_m2=1.0),
    Zone(object=OBJ, zone="foot", component="door", area_m2=1.0),
    Scheme(object=OBJ, scheme="1", name="maker's red", period="original", rank=1),
    Scheme(object=OBJ, scheme="2", name="green repaint", period="later", rank=2, basis="lies on dirt"),
]


def door(rows: Iterable[Record]) -> Case:
    """The door with what is known of it; a row that is given twice counts once."""
    unique = {(row.sheet, row.key_text()): row for row in (*DOOR, *rows)}
    return Case(facts_of(Object(object=OBJ, title="a door", kind="door"), unique.values()))


def sides(
    then: Iterable[Record], now: Iterable[Record], others: Iterable[Record] = (), one: Any = A, other: Any = B
) -> tuple[Case, Sides]:
    """The door, and what survey `one` and survey `other` brought; `others` were brought by neither."""
    rows = {one[0]: list(then)}
    rows.setdefault(other[0], []).extend(now)
    case = door([*(row for own in rows.values() for row in own), *others])
    brought = {code: {(row.sheet, row.key_text()) for row in own} for code, own in rows.items()}
    return case, by_survey(case, one, other, lambda code: brought[code])


def looked(then: Iterable[Record], now: Iterable[Record], others: Iterable[Record] = (), **surveys: Any) -> Comparison:
    """What changed on the door."""
    return compare(*sides(then, now, others, **surveys))


def seen(on: str, place: str = "top", phenomenon: str = "flaking", **more: Any) -> Condition:
    """One condition, by default flaking at the top."""
    return Condition(object=OBJ, place=place, phenomenon=phenomenon, observed_on=on, **more)


def read(
    code: str, on: str | None, *coats: tuple[Any, ...], place: str = "top", method: str = "cross-section", **more: Any
) -> list[Record]:
    """A sample and its coats from the support outward, each (scheme, role, colour[, coverage])."""
    more.setdefault("reaches_support", "yes")
    rows: list[Record] = [Sample(object=OBJ, sample=code, place=place, method=method, taken_on=on, **more)]
    for position, (scheme, role, colour, *coverage) in enumerate(coats, 1):
        rows.append(
            Layer(
                object=OBJ,
                sample=code,
                position=position,
                role=role,
                scheme=scheme,
                colour=colour,
                coverage=coverage[0] if coverage else "intact",
            )
        )
    return rows


def work(code: str, on: str | None, *steps: dict[str, Any], **more: Any) -> list[Record]:
    """A treatment with its steps, by default a scraping at the top."""
    rows: list[Record] = [Treatment(object=OBJ, treatment=code, purpose="work", started=on, **more)]
    for number, step in enumerate(steps, 1):
        rows.append(
            TreatmentStep(object=OBJ, treatment=code, step=number, **{"place": "top", "action": "scrape", **step})
        )
    return rows


RED, VARNISH, GREEN = ("1", "body colour", "red"), ("1", "varnish", "amber"), ("2", "body colour", "green")
