"""Readings made by hand: samples of one part, each with what it shows of the maker's red, for the tests of survival."""

from __future__ import annotations

from typing import Any

from objects import OBJ

from collection.records.facts import Facts, facts_of
from collection.records.sheets import Component, Layer, Object, Record, Sample, Scheme, Zone

SCHEMES = [
    Scheme(object=OBJ, scheme="1", name="maker's red", period="original", rank=1),
    Scheme(object=OBJ, scheme="2", name="green repaint", period="later", rank=2, basis="lies on dirt"),
]

LEVELS = ("intact", "partial", "trace", "absent")


def readings(
    code: str, place: str, *levels: str, method: str = "cross-section", on: str | None = "2020-05-01", **more: Any
) -> list[Any]:
    """One sample per level: the maker's red as far as it is left, under green; on bare steel if by surface."""
    rows: list[Any] = []
    for number, level in enumerate(levels):
        name = f"{code}{number}"
        rows.append(
            Sample(object=OBJ, sample=name, place=place, method=method, reaches_support="yes", taken_on=on, **more)
        )
        rows.append(Layer(object=OBJ, sample=name, position=1, role="support"))
        if level != "absent":
            rows.append(Layer(object=OBJ, sample=name, position=2, role="body colour", scheme="1", coverage=level))
        if method != "surface":
            rows.append(Layer(object=OBJ, sample=name, position=3, role="body colour", scheme="2"))
    return rows


def body(area: float | None = None, code: str = "body", **more: Any) -> Component:
    return Component(object=OBJ, component=code, name=code, area_m2=area, **more)


def zone(code: str, area: float | None, component: str = "body", **more: Any) -> Zone:
    return Zone(object=OBJ, zone=code, component=component, area_m2=area, **more)


def found(*rows: Record, object_code: str = OBJ) -> Facts:
    return facts_of(Object(object=object_code, title="trial", kind="trial"), [*SCHEMES, *rows])


def share(survival: Any, place: str) -> Any:
    return next(p.share for p in survival.places if p.place == place)
