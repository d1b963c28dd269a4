"""Laws that the figures of what survives must keep, on drawn surveys."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.strategies._internal.random import ArtificialRandom
from readings_made import body, found, readings, share, zone
from surveyed_places import surveyed

from collection.compute.build_up.areas import place_areas
from collection.compute.case import Case
from collection.compute.survival.model import posterior as model
from collection.compute.survival.survival import (
    object_survival,
    place_draws,
    scheme_places,
    scheme_survival,
    survival_json,
)
from collection.records.sheets import Sample, Zone


@given(surveyed())
def test_intervals_are_ordered_and_totals_are_sums(rows: list[Any]) -> None:
    case = Case(found(*rows))
    survival, schemes, areas = object_survival(case), scheme_survival(case), place_areas(case)
    assert [p.place for p in survival.places] == list(areas)
    for place in (*survival.places, *(p for s in schemes for p in s.places)):
        assert place.share is None or 0 <= place.share[0] <= place.share[1] <= place.share[2] <= 1
        assert place.traces <= place.present <= place.read
    for total in (survival, *schemes):
        if total.surviving_m2 is not None:
            low, middle, high = total.surviving_m2
            assert 0 <= low <= middle <= high <= total.area_m2 + 1e-9
    known = [p for p in survival.places if p.area_m2 is not None and p.share is not None]
    if known:
        assert survival.surviving_m2[1] == pytest.approx(sum(p.area_m2 * p.share[1] for p in known))
    else:
        assert survival.surviving_m2 is None
    measured = [p.area_m2 for p in survival.places if p.area_m2 is not None]
    assert survival.area_m2 == (pytest.approx(sum(measured)) if measured else None)


@given(surveyed())
def test_places_of_schemes_are_the_same_with_and_without_the_sums(rows: list[Any]) -> None:
    facts_ = found(*rows)
    assert scheme_places(Case(facts_)) == [(s.scheme, p) for s in scheme_survival(Case(facts_)) for p in s.places]
    assert all(p.read or p.state == "original removed" for _, p in scheme_places(Case(facts_)))


@given(surveyed(), st.randoms())
def test_the_order_of_records_changes_nothing(rows: list[Any], shuffler: ArtificialRandom) -> None:
    shuffled = list(rows)
    shuffler.shuffle(shuffled)
    assert survival_json(Case(found(*rows))) == survival_json(Case(found(*shuffled)))


@given(surveyed(), st.data())
def test_an_absence_never_raises_and_a_presence_never_lowers_the_middle_of_its_place(
    rows: list[Any], data: st.DataObject
) -> None:
    before = object_survival(Case(found(*rows)))
    if not before.places:
        return
    old = data.draw(st.sampled_from(before.places))
    if old.share is None or _speaks_for_another(rows, old.place):
        return
    for level, sign in (("absent", -1), ("intact", 1)):
        after = object_survival(Case(found(*rows, *readings("new", old.place, level))))
        assert sign * (share(after, old.place)[1] - old.share[1]) > -1e-9


def _speaks_for_another(rows: list[Any], place: str) -> bool:
    """Whether a zone without readings takes those of the zone around it: its first own reading ends that."""
    within = {z.zone: z.within for z in rows if isinstance(z, Zone)}
    return within.get(place) is not None and not any(isinstance(r, Sample) and r.place == place for r in rows)


def test_one_zone_alone_keeps_the_law_for_the_total_too() -> None:
    for levels_ in (["intact"], ["absent"], ["intact", "trace", "absent"], ["partial"] * 5):
        rows = [body(2.0), *readings("S", "body", *levels_)]
        middle = object_survival(Case(found(*rows))).surviving_m2[1]
        assert object_survival(Case(found(*rows, *readings("N", "body", "absent")))).surviving_m2[1] < middle
        assert object_survival(Case(found(*rows, *readings("N", "body", "intact")))).surviving_m2[1] > middle


@given(surveyed(), st.floats(0.1, 0.9), st.integers(2, 4))
def test_splitting_an_unread_zone_leaves_the_totals(rows: list[Any], first: float, pieces: int) -> None:
    whole = object_survival(Case(found(*rows, zone("new", 3.0))))
    sizes = [3.0 * first, *[3.0 * (1 - first) / (pieces - 1)] * (pieces - 1)]
    split = object_survival(Case(found(*rows, *(zone(f"new{i}", size) for i, size in enumerate(sizes)))))
    assert split.area_m2 == pytest.approx(whole.area_m2, rel=1e-12)
    if whole.surviving_m2 is None:
        assert split.surviving_m2 is None
    else:
        assert split.surviving_m2 == pytest.approx(whole.surviving_m2, rel=1e-9)


@given(surveyed(), st.floats(0.1, 0.9))
def test_splitting_a_read_zone_into_parts_that_share_its_readings_leaves_the_totals(
    rows: list[Any], part: float
) -> None:
    rows = [*rows, zone("new", 3.0), *readings("new", "new", "intact", "absent")]
    whole = object_survival(Case(found(*rows)))
    split = object_survival(Case(found(*rows, zone("inner", 3.0 * part, within="new"))))
    assert split.surviving_m2 == pytest.approx(whole.surviving_m2, rel=1e-9)
    assert split.sentence == whole.sentence


@given(surveyed(), surveyed())
def test_one_alone_equals_one_among_many(rows: list[Any], others: list[Any]) -> None:
    alone = survival_json(Case(found(*rows)))
    model.posterior.cache_clear()
    object_survival(Case(found(*others)))
    drawn = place_draws(Case(found(*rows)))
    assert survival_json(Case(found(*rows))) == alone
    assert {p: d.tobytes() for p, d in drawn.items()} == {
        p: d.tobytes() for p, d in place_draws(Case(found(*rows))).items()
    }


def test_another_process_gives_the_same_bytes() -> None:
    code = (
        "import sys; sys.path.insert(0, 'tests/builders'); from readings_made import *; "
        "from collection.compute.case import Case; "
        "from collection.compute.survival.survival import place_draws, survival_json; "
        "case = Case(found(body(9.0), zone('a', 2.0), *readings('S', 'a', 'intact', 'absent', 'trace'))); "
        "print(survival_json(case), hash(place_draws(case)['a'].tobytes()))"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True, env={"PYTHONHASHSEED": "0"}
        ).stdout
        for _ in range(2)
    }
    assert len(runs) == 1
