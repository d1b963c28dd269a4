"""Laws of what survives documented work, on drawn histories."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from readings_made import body, found, readings, zone
from worked_places import ANY, place, treated, work

from collection.compute.case import Case
from collection.compute.survival.as_of import as_of
from collection.compute.survival.evidence import Evidence, original_subject
from collection.compute.survival.survival import object_survival, place_draws, scheme_survival, survival_json
from collection.records.sheets import Layer, Sample, Treatment, TreatmentStep


def ends(rows: list[Any], at: str) -> tuple[float, float, float]:
    return place(object_survival(Case(found(*rows))), at).share


@given(treated())
def test_low_middle_and_high_keep_their_order(rows: list[Any]) -> None:
    case = Case(found(*rows))
    survival = object_survival(case)
    every: list[Any] = [survival, *scheme_survival(case)]
    for span in (survival.surviving_m2, *(p.share for s in every for p in s.places)):
        assert span is None or 0 <= span[0] <= span[1] <= span[2]
    for drawn in place_draws(Case(found(*rows))).values():
        assert drawn.shape == (3, 512)
        assert (drawn[0] <= drawn[1]).all()
        assert (drawn[1] <= drawn[2]).all()
        assert 0 <= drawn.min() <= drawn.max() <= 1
    if survival.surviving_m2 is not None:
        assert survival.surviving_m2[2] <= survival.area_m2 + 1e-9


@given(treated(), ANY(["a", "b", "body"]), st.floats(0.001, 0.9), st.floats(0.001, 0.9), ANY(["2000", "2010", None]))
def test_a_bigger_removal_never_raises_an_end(rows: list[Any], at: str, one: float, other: float, on: str) -> None:
    """Of any place, while it does not make what was read there history: then another place may lose its evidence."""

    def with_share(share_: float) -> list[Any]:
        return [*rows, *work(at, on, code="N", removed_m2=share_ * {"a": 2.0, "b": 1.0, "body": 6.0}[at])]

    less, more = sorted((one, other))
    assume(_history(rows) == _history(with_share(more)) == _history(with_share(less)))
    none, small, large = (object_survival(Case(found(*each))) for each in (rows, with_share(less), with_share(more)))
    for one_, other_ in ((none, small), (small, large)):
        for a, b in zip(one_.places, other_.places, strict=True):
            if a.share is not None:
                assert all(y <= x + 1e-9 for x, y in zip(a.share, b.share, strict=True))


def _history(rows: list[Any]) -> list[Any]:
    facts = found(*rows)
    return [
        (p, r.sample)
        for p, at in Evidence(Case(facts), original_subject(Case(facts))).own.items()
        for r in at.rows
        if r.history
    ]


@given(st.lists(ANY(["intact", "partial", "trace", "absent"]), min_size=1, max_size=5), st.floats(0.5, 1))
def test_what_is_left_falls_evenly_into_what_stripping_leaves(found_there: Any, share_: Any) -> None:
    """Past nine tenths the place counts as removed; what is left of it has no step there."""
    rows = [body(6.0), zone("a", 2.0), *readings("S", "a", *found_there), *readings("B", "body", "intact")]
    less, more = (ends([*rows, *work("a", removed_m2=part * 2.0)], "a") for part in (share_ * 0.999, share_))
    assert all(y <= x + 1e-9 for x, y in zip(less, more, strict=True))


@given(st.lists(ANY(["intact", "partial", "absent"]), min_size=1, max_size=5), st.floats(1e-4, 0.89))
def test_a_window_lowers_no_end_by_more_than_its_share(found_there: Any, share_: Any) -> None:
    rows = [body(6.0), zone("a", 2.0), zone("b", 1.0), *readings("S", "a", *found_there), *readings("B", "b", "intact")]
    before, after = ends(rows, "a"), ends([*rows, *work("a", removed_m2=share_ * 2.0)], "a")
    for x, y in zip(before, after, strict=True):
        assert x - share_ - 1e-9 <= y <= x
    assert ends(rows, "b") == ends([*rows, *work("a", removed_m2=share_ * 2.0)], "b")


@given(treated(), ANY(["a", "b", "w"]), ANY(["1985", "2003", "2012", "2020", None]))
def test_a_point_reading_moves_its_place_its_own_way(rows: Any, at: Any, on: Any) -> None:
    """One more absence, whenever it was read, never raises the middle of its place, nor makes it bare; one more intact
    never lowers it."""
    own = any(isinstance(r, Sample) and r.place == at for r in rows)
    assume(own)
    before = ends(rows, at)
    for level, sign in (("absent", -1), ("intact", 1)):
        after = ends([*rows, *readings("N", at, level, on=on)], at)
        assert sign * (after[1] - before[1]) > -1e-9
        assert not (before[2] > 0 and after[2] == 0)


@given(treated(), st.floats(0.1, 0.9), st.integers(2, 4))
def test_splitting_a_worked_place_that_nobody_read_leaves_the_totals(rows: Any, first: Any, pieces: Any) -> None:
    sizes = [3.0 * first, *[3.0 * (1 - first) / (pieces - 1)] * (pieces - 1)]
    step = work("new", "2010", code="N", removed_m2=0.6)
    whole = object_survival(Case(found(body(20.0), *rows[1:], zone("new", 3.0), *step)))
    split = object_survival(
        Case(
            found(
                body(20.0),
                *rows[1:],
                zone("new", 3.0),
                *step,
                *(zone(f"new{i}", size, within="new") for i, size in enumerate(sizes)),
            )
        )
    )
    assert (whole.surviving_m2 is None) == (split.surviving_m2 is None)
    if whole.surviving_m2 is not None:
        assert split.surviving_m2 == pytest.approx(whole.surviving_m2, rel=1e-9)


@given(treated(), st.randoms())
def test_the_order_of_records_changes_nothing(rows: Any, shuffler: Any) -> None:
    shuffled = list(rows)
    shuffler.shuffle(shuffled)
    assert survival_json(Case(found(*rows))) == survival_json(Case(found(*shuffled)))


@given(treated(least=1), ANY(["1995", "2003", "2012"]))
def test_as_of_a_day_is_what_was_recorded_by_then(rows: Any, day: Any) -> None:
    """Work and readings that surely came later are not in it: the same as if nobody had written them down."""

    def early(row: Any) -> Any:
        if isinstance(row, Sample):
            return row.taken_on <= day
        return not isinstance(row, Treatment) or row.started is None or row.started <= day

    kept = [r for r in rows if early(r)]
    samples = {r.sample for r in kept if isinstance(r, Sample)}
    treatments = {r.treatment for r in kept if isinstance(r, Treatment)}
    kept = [
        r
        for r in kept
        if not (isinstance(r, Layer) and r.sample not in samples)
        and not (isinstance(r, TreatmentStep) and r.treatment not in treatments)
    ]
    assert survival_json(Case(as_of(found(*rows), day))) == survival_json(Case(found(*kept)))
