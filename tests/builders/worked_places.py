"""Places on which work is documented: its steps, drawn histories of it, and what survives there."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

from hypothesis import strategies as st
from objects import OBJ
from readings_made import body, readings, zone

from collection.compute.survival.figures import PlaceSurvival
from collection.compute.survival.survival import ObjectSurvival
from collection.records.sheets import Treatment, TreatmentStep

ANY = st.sampled_from


def work(
    place: str,
    on: str | None = "2021",
    removed: str = "1",
    code: str = "T",
    outcome: str | None = None,
    action: str = "solvent",
    **more: object,
) -> list[Any]:
    return [
        Treatment(object=OBJ, treatment=code, purpose="trial", started=on, outcome=outcome),
        TreatmentStep(object=OBJ, treatment=code, step=1, place=place, action=action, removed=removed, **more),
    ]


def place(survival: ObjectSurvival, code: str) -> PlaceSurvival:
    return next(p for p in survival.places if p.place == code)


levels = st.lists(ANY(["intact", "partial", "trace", "absent", None]), max_size=3)
worked = st.fixed_dictionaries(
    {
        "place": ANY(["body", "a", "b", "w"]),
        "on": ANY(["2000", "2010", None]),
        "action": ANY(["solvent", "strip"]),
        "outcome": ANY([None, "done", "partly"]),
        "removed": ANY(["1", "1/varnish", "2"]),
        "removed_m2": ANY([None, 0.001, 0.4, 1.5]),
        "area_m2": ANY([None, 0.5]),
    }
)


@st.composite
def treated(draw: Callable[..., Any], least: int = 0) -> list[Any]:
    """A part of 6 m² with two zones, one with a small one in it, read at three times with work between."""
    rows = [body(6.0), zone("a", 2.0), zone("b", draw(ANY([None, 1.0]))), zone("w", 0.02, within="a")]
    for at in ("body", "a", "b", "w"):
        for on in ("1990", "2005", "2015"):
            rows += readings(f"{at}{on}", at, *draw(levels) if draw(st.booleans()) else (), on=on)
    for number, step in enumerate(draw(st.lists(worked, min_size=least, max_size=2))):
        rows += work(**{**step, "code": f"T{number}"})
    return rows


def told(
    at: Any, lost: Any, *, scheme: Any = "1", role: Any = "body colour", decoration: Any = None, thing: Any = None
) -> Any:
    coat = None if scheme is None else SimpleNamespace(scheme=scheme, role=role, decoration=decoration)
    return SimpleNamespace(place=at, coat=coat, thing=thing or f"{scheme}/{role}", lost=lost)
