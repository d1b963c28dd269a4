"""Where to look next: what one more sample is worth, against the model it is taken from."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.compute.case import Case
from collection.compute.survival.model import posterior as model
from collection.compute.survival.sampling import _variance, where_next
from collection.records.facts import Facts, facts_of
from collection.records.sheets import Claim, Component, Layer, Object, Reserve, Sample, Scheme, Zone

ABOUT = Object(object="X", title="a thing", kind="thing")
ORIGINAL = Scheme(object="X", scheme="1", name="first", period="original", basis="seen")


def zone(code: str, area: float = 1.0, visibility: str | None = None, part: str = "A") -> Zone:
    return Zone(object="X", zone=code, component=part, name=code, area_m2=area, visibility=visibility)


def read(code: str, place: str, *found: bool) -> list[Any]:
    """Samples at a place, each with the original finish or with bare support."""
    rows: list[Any] = []
    for number, present in enumerate(found):
        name = f"{code}{number}"
        rows.append(Sample(object="X", sample=name, place=place, method="cross-section", reaches_support="yes"))
        rows.append(
            Layer(
                object="X",
                sample=name,
                position=1,
                role="body colour",
                scheme="1",
                coverage="intact" if present else "absent",
            )
        )
    return rows


def object_of(*rows: Any, parts: tuple[str] = ("A",), area: float | None = None) -> Facts:
    whole = [Component(object="X", component=part, name=part, area_m2=area) for part in parts]
    return facts_of(ABOUT, [*whole, ORIGINAL, *rows])


def test_the_larger_of_two_equal_places_goes_first() -> None:
    """Of two places alike in all but area, a reading on the larger tells more about the total."""
    facts = object_of(
        zone("SMALL", 0.5),
        zone("LARGE", 3.0),
        *read("S", "SMALL", True, False),
        *read("L", "LARGE", True, False),
        area=3.5,
    )
    assert where_next(Case(facts), 1).samples[0].place == "LARGE"


def test_the_less_read_of_two_equal_places_goes_first() -> None:
    """Of two places of one size the one that was read less is looked at next."""
    facts = object_of(
        zone("OFTEN"),
        zone("ONCE"),
        *read("S", "OFTEN", True, False, True, False, True),
        *read("L", "ONCE", True),
        area=2.0,
    )
    assert where_next(Case(facts), 1).samples[0].place == "ONCE"


def test_hidden_places_go_before_open_ones() -> None:
    """Of two places alike in all but visibility the hidden one goes first."""
    facts = object_of(
        zone("OPEN", visibility="visible"),
        zone("UNDER", visibility="hidden"),
        *read("S", "OPEN", True),
        *read("L", "UNDER", True),
        area=2.0,
    )
    assert where_next(Case(facts), 1).samples[0].place == "UNDER"


def test_an_open_claim_counts() -> None:
    """A claim that a sample would settle brings its place forward, is named, and counts once."""
    claim = Claim(object="X", claim="CL1", statement="a number lies under here", status="untested", place="B")
    rows = [zone("B"), zone("C"), *read("S", "B", True), *read("L", "C", True)]
    advice = where_next(Case(object_of(*rows, claim, area=2.0)), 4)
    assert advice.samples[0].place == "B"
    assert [s.claims for s in advice.samples].count(("CL1",)) == 1
    assert "would settle claim CL1" in advice.samples[0].reasons


def test_nobody_looked_is_a_reason_without_a_figure() -> None:
    """A part that nobody examined is proposed for that reason, and reserves in it are to be kept out of."""
    facts = object_of(Reserve(object="X", reserve="R1", place="A", kind="reserve", area_m2=0.1), area=2.0)
    first = where_next(Case(facts), 1).samples[0]
    assert first.place == "A"
    assert "nobody has looked here" in first.reasons
    assert "keep out of reserve R1" in first.reasons


def test_a_place_left_untouched_is_never_proposed() -> None:
    """Where all of a place is a reserve nobody is sent there with a scalpel; what is unsure of it goes on counting."""
    left = Reserve(object="X", reserve="R1", place="KEPT", kind="reserve")
    rows = [zone("KEPT", 5.0), zone("FREE", 0.5), *read("S", "FREE", True)]
    with_it, without = (
        where_next(Case(object_of(*rows, left, area=5.5)), 3),
        where_next(Case(object_of(*rows, area=5.5)), 3),
    )
    assert without.samples[0].place == "KEPT"
    assert {s.place for s in with_it.samples} <= {"FREE"}
    assert with_it.width_m2 == without.width_m2


def test_where_all_is_known_nothing_is_advised() -> None:
    """A surface that was read off whole has nothing left to learn."""
    facts = object_of(
        Sample(object="X", sample="S", place="A", method="surface", extent="whole place", reaches_support="yes"),
        Layer(object="X", sample="S", position=1, role="body colour", scheme="1", coverage="intact", coverage_pct=100),
        area=2.0,
    )
    assert where_next(Case(facts), 3).samples == ()


@settings(max_examples=30, deadline=None)
@given(st.lists(st.lists(st.booleans(), max_size=4), min_size=1, max_size=4), st.integers(1, 5))
def test_what_remains_never_grows(readings: list[Any], count: int) -> None:
    """Each further sample leaves the same or less unsure, and none takes more than all of it."""
    rows = [row for n, found in enumerate(readings) for row in [zone(f"Z{n}"), *read(f"S{n}-", f"Z{n}", *found)]]
    advice = where_next(Case(object_of(*rows)), count)
    widths = [advice.width_m2 or 0.0, *(s.width_after_m2 or 0.0 for s in advice.samples)]
    assert all(after <= before + 1e-9 for before, after in pairwise(widths))
    assert all(0 <= s.takes <= 1 for s in advice.samples)


def test_the_gain_agrees_with_asking_the_model() -> None:
    """For one area the linear adjustment comes near the exact expected variance after one more reading, present or not
    by its chance, taken from the posterior itself."""

    def drawn(present: int, absent: int) -> np.ndarray:
        counts = (present * model.STEPS, absent * model.STEPS)
        return model.posterior((counts,)).draws(counts, model.FIRST)

    now = drawn(2, 1)
    chance = float(now.mean())
    exact = chance * drawn(3, 1).var() + (1 - chance) * drawn(2, 2).var()
    assert _variance(now, [now]) == pytest.approx(exact, rel=0.1)
    assert _variance(now, [now]) < np.var(now)


def test_a_part_that_nobody_examined_goes_before_surface_that_nobody_measured() -> None:
    """Beside its large zone the first part has surface of unknown area, which counts like a middling place; the second
    part is small and was never looked at. It is looked at first all the same."""
    rows = [zone("A1", 2.0), *read("S", "A1", True, False), Component(object="X", component="B", name="B", area_m2=0.2)]
    places = [s.place for s in where_next(Case(object_of(*rows)), 5).samples]
    assert "B" in places
    assert "A" in places
    assert places.index("B") < places.index("A")
    assert "A" in [s.place for s in where_next(Case(object_of(*rows[:-1])), 1).samples], (
        "where every part was looked at"
    )
