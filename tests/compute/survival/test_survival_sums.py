"""Survival summed over parts and objects, and as it was on an earlier day."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.compute.case import Case
from collection.compute.survival.as_of import as_of
from collection.compute.survival.sums import by_part, of_collection, place_counts
from collection.compute.survival.survival import object_survival
from collection.records.facts import Facts, facts_of
from collection.records.sheets import Component, Layer, Object, Sample, Scheme, Treatment, TreatmentStep, Zone

ORIGINAL = Scheme(object="X", scheme="1", name="first", period="original", basis="seen")


def about(code: str = "X") -> Object:
    return Object(object=code, title="a thing", kind="thing")


def read(place: str, *found: bool, on: Any = None, method: str = "cross-section") -> list[Any]:
    rows: list[Any] = []
    for number, present in enumerate(found):
        name = f"{place}-{on}-{number}"
        rows.append(Sample(object="X", sample=name, place=place, method=method, reaches_support="yes", taken_on=on))
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


def two_parts(*rows: Any) -> Facts:
    return facts_of(
        about(),
        [
            Component(object="X", component="A", name="left side", area_m2=2.0),
            Component(object="X", component="B", name="right side", area_m2=3.0),
            Zone(object="X", zone="A1", component="A", area_m2=1.0),
            Zone(object="X", zone="A2", component="A", area_m2=1.0),
            ORIGINAL,
            *rows,
        ],
    )


def test_parts_are_summed_from_their_own_places() -> None:
    """A part's figures are of its places alone; a part that nobody examined has none, and says so by its counts."""
    found = {
        part.component: part for part in by_part(Case(two_parts(*read("A1", True, True), *read("A2", True, False))))
    }
    assert found["A"].places.read == 2
    assert found["A"].area_m2 == 2.0
    assert found["B"].surviving_m2 is None
    assert found["B"].places.range is None
    whole = object_survival(Case(two_parts(*read("A1", True, True), *read("A2", True, False))))
    assert found["A"].surviving_m2 == pytest.approx(whole.surviving_m2)


def test_a_census_leaves_no_range() -> None:
    """Where every place was read, how many have it is known; where one was not, it may be either."""
    all_read = by_part(Case(two_parts(*read("A1", True), *read("A2", False))))[0]
    assert all_read.places.range == (1, 1)
    some_read = by_part(Case(two_parts(*read("A1", True))))[0]
    assert some_read.places.range == (1, 2)


def test_a_part_of_zeros_is_warned_of() -> None:
    """Nothing found at three spots is no proof: the exact bound is 1 - 0.05^(1/3), 63 %."""
    part = by_part(Case(two_parts(*read("A1", False, False, False))))[0]
    assert part.warning is not None
    assert "3 spots" in part.warning
    assert "63%" in part.warning
    mixed = by_part(Case(two_parts(*read("A1", True, False, False))))[0]
    assert mixed.warning is None


@settings(max_examples=20, deadline=None)
@given(st.lists(st.lists(st.booleans(), max_size=3), min_size=1, max_size=4))
def test_a_collection_sums_its_objects(readings: list[Any]) -> None:
    """Middles add, ends lie inside the sum of the ends, and objects without a figure are counted."""
    objects = [
        object_survival(
            Case(
                facts_of(
                    about(),
                    [
                        Component(object="X", component="A", name="a", area_m2=float(n + 1)),
                        ORIGINAL,
                        *read("A", *found),
                    ],
                )
            )
        )
        for n, found in enumerate(readings)
    ]
    whole = of_collection(objects)
    known = [one.surviving_m2 for one in objects if one.surviving_m2 is not None]
    assert whole.objects == len(readings)
    assert whole.without == len(readings) - len(known)
    if not known:
        assert whole.surviving_m2 is None
        return
    assert whole.surviving_m2 is not None
    low, middle, high = whole.surviving_m2
    assert middle == pytest.approx(math.fsum(one[1] for one in known))
    assert math.fsum(one[0] for one in known) - 1e-9 <= low <= middle <= high
    assert high <= math.fsum(one[2] for one in known) + 1e-9
    if len(known) == 1:
        assert whole.surviving_m2 == pytest.approx(known[0])


def test_an_earlier_day_knows_nothing_later() -> None:
    """What was removed in 1990 still stood in 1980, and a sample of 2020 was not yet read."""
    rows = [
        *read("A1", True, on="1975"),
        *read("A2", True, on="2020-05-01"),
        Treatment(object="X", treatment="T", purpose="stripped", started="1990", ended="1990", outcome="done"),
        TreatmentStep(object="X", treatment="T", step=1, place="A1", action="strip", removed="1"),
    ]
    facts = two_parts(*rows)
    state = {p.place: p.state for p in object_survival(Case(facts)).places}
    assert state["A1"] == "original removed"
    before = {p.place: p.state for p in object_survival(Case(as_of(facts, "1980"))).places}
    assert before["A1"].startswith("original")
    assert before["A1"] != "original removed"
    assert before["A2"] == "not examined"
    assert as_of(facts, "2030").canonical == facts.canonical


def test_dates_that_may_be_earlier_stay() -> None:
    """A sample of some time in the 1980s may have been read by 1985, and an undated one at any time."""
    facts = two_parts(*read("A1", True, on="198X"), *read("A2", True))
    assert as_of(facts, "1985").canonical == facts.canonical
    assert place_counts(object_survival(Case(as_of(facts, "1979"))).places).read == 1


def test_a_figure_says_what_it_leaves_out_and_of_when_it_is() -> None:
    """No middle figure is called a least one: what is not in it is said instead."""
    from collection.cli.survival import _in_a_line

    rows = [
        Component(object="X", component="A", name="a", area_m2=2.0),
        Component(object="X", component="B", name="b"),
        Component(object="X", component="C", name="c", area_m2=1.0),
        ORIGINAL,
        *read("A", True, on="2020-05"),
    ]
    told = _in_a_line(object_survival(Case(facts_of(about(), rows))))
    assert "at least" not in told
    assert "not counting 1 place of unknown area and 1 place of which nothing is known (as of 2020-05)" in told
    assert "not counting" not in _in_a_line(object_survival(Case(facts_of(about(), [rows[0], *rows[3:]]))))
