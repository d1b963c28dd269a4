"""A removal acts on the share that it covered: what documented work leaves of readings made before it, and after."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from objects import OBJ, proposal
from readings_made import body, found, readings, share, zone

from collection.compute.build_up.readings import Reading, original_reading
from collection.compute.build_up.removals import NOTHING, mostly_taken, share_of_step, taken, taken_in_all
from collection.compute.case import Case
from collection.compute.loss.outcome import BELOW, NOT_EXAMINED
from collection.compute.survival.as_of import as_of
from collection.compute.survival.evidence import Evidence, original_subject
from collection.compute.survival.figures import PlaceSurvival
from collection.compute.survival.model.weighing import Seen, Weight, weighed, weights_of
from collection.compute.survival.opened_windows import windows
from collection.compute.survival.survival import (
    ObjectSurvival,
    SchemeSurvival,
    object_survival,
    place_draws,
    scheme_survival,
    survival_json,
)
from collection.records.facts import Facts, facts_of
from collection.records.sheets import Decoration, Layer, Reserve, Sample, Scheme, Treatment, TreatmentStep
from collection.rules.assess import assess
from collection.rules.totals import Totals, lost_by_place

ANY = st.sampled_from


def work(
    place: str,
    on: str | None = "2021",
    removed: str = "1",
    code: str = "T",
    outcome: str | None = None,
    action: str = "solvent",
    **more: object,
) -> list:
    return [
        Treatment(object=OBJ, treatment=code, purpose="trial", started=on, outcome=outcome),
        TreatmentStep(object=OBJ, treatment=code, step=1, place=place, action=action, removed=removed, **more),
    ]


def place(survival: ObjectSurvival, code: str) -> PlaceSurvival:
    return next(p for p in survival.places if p.place == code)


# --- what a step took of a place

DOOR = [body(10.0), zone("door", 2.0), zone("sill", 0.5), zone("win", 0.01, within="door")]


@pytest.mark.parametrize(
    ("step", "where", "expected"),
    [
        # the step's own place, without smaller ones in it: what was measured, no more
        ({"place": "sill", "removed_m2": 0.1}, "sill", (0.2, 0.2, 0.2)),
        ({"place": "sill", "removed_m2": 0.1, "area_m2": 0.3}, "sill", (0.2, 0.2, 0.2)),
        # what was worked on, half done, and more than there is: from above only
        ({"place": "sill", "area_m2": 0.1}, "sill", (0.0, 0.1, 0.2)),
        ({"place": "sill", "removed_m2": 0.1, "outcome": "partly"}, "sill", (0.0, 0.1, 0.2)),
        ({"place": "sill", "removed_m2": 0.1, "outcome": "tried and failed"}, "sill", (0.0, 0.1, 0.2)),
        ({"place": "sill", "removed_m2": 0.7}, "sill", (0.0, 0.5, 1.0)),
        ({"place": "sill"}, "sill", (0.0, 0.5, 1.0)),
        # stripping that nobody looked at again
        ({"place": "sill", "action": "strip"}, "sill", (0.9, 0.95, 1.0)),
        ({"place": "body", "action": "strip"}, "win", (0.9, 0.95, 1.0)),
        ({"place": "all", "action": "blast"}, "door", (0.9, 0.95, 1.0)),
        ({"place": "sill", "action": "strip", "outcome": "partly"}, "sill", (0.0, 0.5, 1.0)),
        # another place that it overlaps: perhaps not at all, at most what was worked on
        ({"place": "body", "removed_m2": 1.0}, "sill", (0.0, 0.1, 1.0)),
        ({"place": "body", "removed_m2": 0.1}, "sill", (0.0, 0.01, 0.2)),
        ({"place": "door", "removed_m2": 0.0005}, "door", (0.0, 0.00025, 0.0005 / 1.99)),
        # what lies outside, or around
        ({"place": "win", "removed_m2": 0.005}, "door", NOTHING),
        ({"place": "sill", "removed_m2": 0.1}, "door", NOTHING),
        ({"place": "win", "removed_m2": 0.005}, "win", (0.5, 0.5, 0.5)),
    ],
)
def test_what_a_step_took_of_a_place(step: dict[str, Any], where: str, expected: tuple[float, float, float]) -> None:
    facts = found(*DOOR, *work(**{"on": "2021", **step}))
    assert share_of_step(Case(facts), facts.treatments[0], facts.treatment_steps[0], where) == pytest.approx(expected)


def test_a_steps_own_outcome_comes_before_its_treatments() -> None:
    done, failed = [work("sill", outcome=one, removed_m2=0.1) for one in ("done", "tried and failed")]
    for rows, outcome, expected in ((done, "partly", (0.0, 0.1, 0.2)), (failed, "done", (0.2, 0.2, 0.2))):
        facts = found(*DOOR, rows[0], rows[1].model_copy(update={"outcome": outcome}))
        assert taken_in_all(Case(facts), "1", "sill") == pytest.approx(expected)


def test_what_a_step_took_is_spread_evenly_for_sums() -> None:
    """0.1 m² off 10 m² is 1 % of all of it, wherever it was; of the sill alone it may be nothing, or 20 %."""
    facts = found(*DOOR, *work("body", removed_m2=0.1))
    assert taken_in_all(Case(facts), "1", "sill", evenly=True) == pytest.approx((0.01, 0.01, 0.01))
    assert taken_in_all(Case(facts), "1", "sill") == pytest.approx((0.0, 0.01, 0.2))


@pytest.mark.parametrize(
    ("worked_on", "seen_on", "expected"),
    [
        ("2021", "2020", (0.9, 0.95, 1.0)),  # surely after the reading
        ("2021", "2022", NOTHING),  # surely before
        ("2021", "2021", (0.0, 0.475, 1.0)),  # the same year: nothing is surely gone
        ("2021", None, (0.0, 0.475, 1.0)),
        (None, "2020", (0.0, 0.475, 1.0)),
        ("[2019..2022]", "2020-05-01", (0.0, 0.475, 1.0)),
    ],
)
def test_dates_that_may_overlap_take_nothing_surely(
    worked_on: str | None, seen_on: str | None, expected: tuple[float, float, float]
) -> None:
    facts = found(*DOOR, *work("sill", worked_on, action="strip"))
    assert taken(Case(facts), "1", "body colour", "sill", seen_on) == pytest.approx(expected)


def test_a_removal_of_one_coat_leaves_the_others() -> None:
    facts = found(*DOOR, *work("sill", removed="1/varnish", action="strip"))
    assert taken(Case(facts), "1", "body colour", "sill", "2020") == NOTHING
    assert mostly_taken(taken(Case(facts), "1", "varnish", "sill", "2020"))
    assert taken_in_all(Case(facts), "1", "sill") == NOTHING


def test_two_removals_may_have_met_the_same_surface_or_each_another() -> None:
    facts = found(*DOOR, *work("sill", removed_m2=0.2), *work("sill", code="U", removed_m2=0.3))
    assert taken(Case(facts), "1", None, "sill", "2020") == pytest.approx((0.6, 0.76, 1.0))


# --- the case that started it


def test_a_corner_of_a_window_is_no_bare_place() -> None:
    """2 m², intact in 2 of 2 sections, 5 cm² lost at the corner of a window: it survives, but for these 5 cm²."""
    rows = [body(2.0), zone("a", 2.0), *readings("S", "a", "intact", "intact")]
    before, after = (
        object_survival(Case(found(*rows))),
        object_survival(Case(found(*rows, *work("a", removed_m2=0.0005)))),
    )
    assert (place(after, "a").state, place(after, "a").read) == ("original covered", 2)
    assert after.surviving_m2 == pytest.approx(tuple(end * (1 - 0.0005 / 2) for end in before.surviving_m2))
    later = readings("L", "a", "absent", on="2022")
    with_point = object_survival(Case(found(*rows, *work("a", removed_m2=0.0005), *later)))
    assert place(with_point, "a").state == "original fragmentary"
    assert with_point.sentence == "Original finish seen at 2 of 3 places looked at"
    assert with_point.surviving_m2[1] > 1.0, "a point in the window is one reading more, no bare place"


def test_the_whole_surface_read_bare_afterwards_is_what_leaves_nothing() -> None:
    rows = [body(2.0), zone("a", 2.0), *readings("S", "a", "intact", "intact"), *work("a")]
    assert share(object_survival(Case(found(*rows))), "a")[2] > 0.9, "0 to all of it went"
    point = object_survival(Case(found(*rows, *readings("L", "a", "absent", on="2022", method="surface"))))
    assert share(point, "a")[2] > 0.5
    bare = object_survival(
        Case(found(*rows, *readings("L", "a", "absent", on="2022", method="surface", extent="whole place")))
    )
    assert share(bare, "a") == (0.0, 0.0, 0.0)
    assert place(bare, "a").state == "original not found"
    assert (bare.places_seen, bare.places_read) == (0, 1), "what was seen before is gone"


def test_a_whole_surface_keeps_what_later_work_left_of_it() -> None:
    rows = [body(2.0), zone("a", 2.0), *readings("S", "a", "intact", method="surface", extent="whole place")]
    assert share(object_survival(Case(found(*rows, *work("a", area_m2=0.8)))), "a") == pytest.approx((0.6, 0.8, 1.0))


def test_the_best_kept_coat_speaks_for_a_scheme_and_the_one_that_work_left() -> None:
    """Varnish over 60 %, colour over 30 % of a spot, both the maker's; work that may have taken the varnish leaves the
    colour, and work that may have taken the colour leaves the varnish."""

    def spot(*steps: Treatment | TreatmentStep) -> Reading:
        facts = found(
            body(2.0),
            *(
                r.model_copy(update={"coverage_pct": 30.0}) if isinstance(r, Layer) and r.scheme == "1" else r
                for r in readings("S", "body", "partial")
            ),
            Layer(
                object=OBJ, sample="S0", position=9, role="varnish", scheme="1", coverage="partial", coverage_pct=60.0
            ),
            *steps,
        )
        return original_reading(Case(facts), facts.samples[0])

    assert (spot().role, spot().share[1]) == ("varnish", 0.6)
    assert spot(*work("body", removed="1/body colour")).role == "varnish"
    assert spot(*work("body", removed="1/varnish")).role == "body colour"
    assert spot(*work("body", removed="1/varnish", action="strip")).share[1] == 0.3


def test_stripping_leaves_a_tenth_until_somebody_looks_at_all_of_it() -> None:
    rows = [body(2.0), zone("a", 2.0), *readings("S", "a", "intact", "intact"), *work("a", action="strip")]
    stripped = place(object_survival(Case(found(*rows))), "a")
    assert (stripped.state, stripped.share[0]) == ("original removed", 0.0)
    assert 0.09 < stripped.share[2] <= 0.1
    looked = place(object_survival(Case(found(*rows, *readings("L", "a", "absent", "absent", on="2022")))), "a")
    assert looked.state == "original not found"
    assert 0 < looked.share[2] <= 0.1, "points clear no area"
    remains = place(object_survival(Case(found(*rows, *readings("L", "a", "intact", "absent", on="2022")))), "a")
    assert remains.state == "original fragmentary"
    assert remains.share[2] > 0.5, "what eyes see outweighs the record"


def test_a_place_stripped_and_never_looked_at_is_not_examined_and_has_little_left() -> None:
    rows = [body(6.0), zone("a", 2.0), zone("b", 2.0), *readings("S", "a", *["intact"] * 5)]
    plain, stripped = (
        object_survival(Case(found(*rows))),
        object_survival(Case(found(*rows, *work("b", action="strip")))),
    )
    assert (place(plain, "b").state, place(stripped, "b").state) == ("not examined", "not examined")
    assert place(stripped, "b").share[2] <= 0.1 < place(plain, "b").share[1]
    assert share(stripped, "a") == share(plain, "a")


def test_half_a_place_taken_off_is_fragmentary_and_bounds_it() -> None:
    rows = [body(2.0), zone("a", 2.0), *readings("S", "a", *["intact"] * 6)]
    half = place(object_survival(Case(found(*rows, *work("a", removed_m2=1.0)))), "a")
    assert half.state == "original fragmentary"
    assert 0.25 < half.share[0] < half.share[2] <= 0.5
    after = readings("L", "a", "intact", "absent", "intact", "absent", on="2022")
    both = place(object_survival(Case(found(*rows, *work("a", removed_m2=1.0), *after))), "a")
    assert both.share[0] < 0.5 < both.share[2], "half is still what they tell together"


def test_work_that_may_have_taken_nothing_breaks_nothing() -> None:
    rows = [body(2.0), zone("a", 2.0), *readings("S", "a", "intact"), *work("a")]
    assert place(object_survival(Case(found(*rows))), "a").state == "original covered"


def test_an_absence_that_later_work_explains_does_not_contradict_a_whole_surface() -> None:
    """All of it was seen intact, then half of it was taken off: a bare point afterwards is no news. Without the work it
    says that the surface was not read well."""
    rows = [
        body(2.0),
        zone("a", 2.0),
        *readings("S", "a", "intact", method="surface", extent="whole place"),
        *readings("L", "a", "absent", on="2022"),
    ]
    assert share(object_survival(Case(found(*rows, *work("a", removed_m2=1.0)))), "a") == pytest.approx((0.5, 0.5, 0.5))
    low, _, high = share(object_survival(Case(found(*rows))), "a")
    assert low < 0.5 < high < 1


def test_a_cover_of_which_a_window_was_taken_still_covers() -> None:
    """A window of 2 % through the green leaves the red covered; work on all of it, as far as is known, may not."""
    rows = [body(2.0), zone("a", 2.0), *readings("S", "a", "intact")]
    state = {
        word: place(object_survival(Case(found(*rows, *work("a", removed="2", **more)))), "a").state
        for word, more in (("window", {"removed_m2": 0.04}), ("unknown", {}), ("strip", {"action": "strip"}))
    }
    assert state == {"window": "original covered", "unknown": "original exposed", "strip": "original exposed"}


# --- windows as zones of their own


def windowed(*levels: str, opened: str = "2", reserve: bool = True, within: str = "door") -> list[Any]:
    rows = [
        body(10.0),
        zone("door", 2.0),
        zone("win", 0.01, within=within),
        *readings("W", "win", *levels, method="exposure", on="2022"),
        *work("win", removed=opened, removed_m2=0.01),
    ]
    return rows + [Reserve(object=OBJ, reserve="R1", place="win", kind="window")] * reserve


@pytest.mark.parametrize("reserve", [True, False])
def test_a_windows_samples_count_for_the_place_around_it_too(reserve: bool) -> None:
    survival = object_survival(Case(found(*windowed("intact", reserve=reserve))))
    assert (place(survival, "door").read, place(survival, "door").state) == (1, "original covered")
    assert (place(survival, "win").read, survival.places_read) == (1, 1), "one spot, counted once"
    direct = object_survival(Case(found(body(10.0), zone("door", 2.0), *readings("W", "door", "intact", on="2022"))))
    assert share(survival, "door") == pytest.approx(share(direct, "door")), "and once as evidence"
    assert share(survival, "body") == pytest.approx(share(direct, "body"))


def test_what_lies_open_in_a_window_is_covered_around_it() -> None:
    open_red = [r for r in windowed("intact") if getattr(r, "scheme", None) != "2" or isinstance(r, Scheme)]
    survival = object_survival(Case(found(*open_red)))
    assert (place(survival, "win").state, place(survival, "door").state) == ("original exposed", "original covered")


def test_what_the_opening_took_is_the_windows_own_affair() -> None:
    """The opening took the green: that it is not in the window says nothing of the door."""

    def green(*rows: Any) -> SchemeSurvival:
        return next(s for s in scheme_survival(Case(found(*rows))) if s.scheme == "2")

    on_door = readings("S", "door", "intact", "intact")
    looked = {p.place: p for p in green(*windowed("intact"), *on_door).places}
    plain = {p.place: p for p in green(body(10.0), zone("door", 2.0), *on_door).places}
    assert looked["door"].share == pytest.approx(plain["door"].share)
    assert looked["door"].read == 2
    opened = place(object_survival(Case(found(*windowed("intact", opened="1"), *on_door))), "door")
    beside = place(object_survival(Case(found(body(10.0), zone("door", 2.0), *on_door))), "door")
    assert (opened.read, opened.share) == (2, pytest.approx(beside.share))


def test_a_large_zone_in_which_something_was_taken_off_is_no_window() -> None:
    facts = found(
        body(10.0),
        zone("door", 2.0),
        zone("plate", 0.05),
        *work("door"),
        *work("plate", code="U", removed_m2=0.01),
        Reserve(object=OBJ, reserve="R1", place="door", kind="window", area_m2=0.003),
    )
    assert set(windows(Case(facts))) == {"plate"}


def test_a_window_removes_from_itself_alone() -> None:
    rows = windowed("intact", opened="1")
    with_door = [*rows, *readings("S", "door", "intact", "intact")]
    survival = object_survival(Case(found(*with_door)))
    without = object_survival(Case(found(*[r for r in with_door if not isinstance(r, Treatment | TreatmentStep)])))
    assert share(survival, "door")[0] == pytest.approx(share(found_without(with_door), "door")[0])
    assert survival.surviving_m2[0] > without.surviving_m2[0] - 0.02


def found_without(rows: list[Any]) -> ObjectSurvival:
    """The same without what was read in the window."""
    left = [r for r in rows if not (isinstance(r, Sample) and r.place == "win")]
    kept = {r.sample for r in left if isinstance(r, Sample)}
    return object_survival(Case(found(*[r for r in left if not isinstance(r, Layer) or r.sample in kept])))


# --- how readings before and after work are put together

INTACT, NOT_THERE = (1.0, 1.0, 1.0), (0.0, 0.0, 0.0)
HALF = (0.5, 0.5, 0.5)
UNKNOWN = (0.0, 0.5, 1.0)


@pytest.mark.parametrize(
    ("seen", "ever", "expected"),
    [
        # no work between: all readings together
        ([Seen(INTACT), Seen(NOT_THERE)], NOTHING, (0.5, 0.5, 0.5)),
        ([Seen((0.1, 0.5, 1.0))], NOTHING, (0.1, 0.5, 1.0)),
        # all before: what they say, times what was left
        ([Seen(INTACT, HALF)], HALF, (0.5, 0.5, 0.5)),
        ([Seen(INTACT, UNKNOWN)], UNKNOWN, (0.0, 0.5, 1.0)),
        # seen again afterwards: what eyes see outweighs what may have gone, but says no more than all together
        ([Seen(INTACT, UNKNOWN), Seen(INTACT)], UNKNOWN, (1.0, 1.0, 1.0)),
        ([Seen(NOT_THERE, HALF), Seen(INTACT)], HALF, (0.5, 0.5, 0.5)),
        ([Seen(INTACT, HALF), Seen(NOT_THERE)], HALF, (0.25, 0.25, 0.5)),
        # an absence afterwards may be the work's: at the high end it does not speak against what was there before
        ([Seen(INTACT, HALF), Seen(NOT_THERE), Seen(NOT_THERE), Seen(INTACT)], HALF, (0.333, 0.333, 0.5)),
        # older work, between two readings before: it takes nothing from the newer one, nor lets it say more than both
        ([Seen((0.5, 0.5, 0.5), (0.75, 0.75, 0.75)), Seen(INTACT, HALF)], (0.75, 0.75, 0.75), (0.375, 0.375, 0.375)),
        ([Seen(NOT_THERE, (0.75, 0.75, 0.75)), Seen(INTACT, HALF)], (0.75, 0.75, 0.75), (0.25, 0.25, 0.25)),
        # nothing found, or nobody looked: what all work on record left
        ([Seen(NOT_THERE)], (0.9, 0.95, 1.0), (0.0, 0.0, 0.0)),
        ([], (0.9, 0.95, 1.0), (0.0, 0.025, 0.1)),
    ],
)
def test_readings_before_and_after_work_are_put_together(
    seen: list[Seen], ever: tuple[float, float, float], expected: tuple[float, float, float]
) -> None:
    """By a model that takes what was seen at its word: 1 of 2 is a half; where nobody looked it is 0 to 1."""

    def told(weight: Weight, end: int) -> float:
        return weighed(
            weight,
            lambda counts, left: left * (counts[0] / sum(counts) if sum(counts) else (0.0, 0.5, 1.0)[end]),
            min,
            max,
        )

    found_ = [told(weight, end) for end, weight in enumerate(weights_of(seen, ever))]
    assert found_ == pytest.approx(expected, abs=0.02)


# --- laws

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


# --- partial readings, and what a proposal takes of them


@pytest.mark.parametrize(("cover", "middle"), [(None, 0.5), (20.0, 0.2), (80.0, 0.8)])
def test_a_partial_reading_counts_as_the_share_it_says(cover: Any, middle: Any) -> None:
    rows = [body(1.0), *readings("S", "body", *["partial"] * 20)]
    rows = [
        r.model_copy(update={"coverage_pct": cover}) if isinstance(r, Layer) and r.scheme == "1" else r for r in rows
    ]
    survival = object_survival(Case(found(*rows)))
    assert survival.sentence == "Original finish seen at 20 of 20 places looked at"
    assert survival.surviving_m2[1] == pytest.approx(middle, abs=0.06)
    width = survival.surviving_m2[2] - survival.surviving_m2[0]
    assert (width > 0.8) if cover is None else (width < 0.5), "a word leaves open what a measurement does not"


def judged(rows: Any, *steps: Any) -> Any:
    facts: Facts = found(*rows)
    return assess(Case(facts), proposal(*steps))


def test_stripping_a_whole_object_takes_all_of_what_survives() -> None:
    """100 % of it, whatever it is, on places that nobody examined too."""
    rows = [
        body(6.0),
        zone("a", 2.0),
        zone("b", 1.0),
        *readings("S", "a", "intact", "partial", "absent"),
        *readings("B", "b", "trace"),
        *work("a", removed_m2=0.01),
    ]
    result = judged(rows, {"action": "strip", "place": "all"})
    assert result.loss_share == pytest.approx((1.0, 1.0, 1.0))
    assert result.loss_m2 == pytest.approx(result.surviving_m2)
    one = judged(rows, {"action": "strip", "place": "a"})
    assert one.loss_m2[2] < one.surviving_m2[2]
    assert one.loss_share[0] < one.loss_share[1] < one.loss_share[2] < 1


def told(
    at: Any, lost: Any, *, scheme: Any = "1", role: Any = "body colour", decoration: Any = None, thing: Any = None
) -> Any:
    coat = None if scheme is None else SimpleNamespace(scheme=scheme, role=role, decoration=decoration)
    return SimpleNamespace(place=at, coat=coat, thing=thing or f"{scheme}/{role}", lost=lost)


@pytest.mark.parametrize(
    ("outcomes", "expected"),
    [
        # the original scheme that fares worst, end by end
        ([told("a", (0, 0.5, 0.6)), told("a", (0.2, 0.3, 0.9), role="varnish")], {"a": (0.2, 0.5, 0.9)}),
        # no later scheme
        ([told("a", (0, 0.5, 0.6)), told("a", (1, 1, 1), scheme="2")], {"a": (0, 0.5, 0.6)}),
        # a stripe, recorded or met, is not the finish of its place, unless it is all there is
        ([told("a", (0, 0, 0)), told("a", (1, 1, 1), role="lining", decoration="D1")], {"a": (0, 0, 0)}),
        ([told("a", (0, 0, 0)), told("a", (1, 1, 1), role="lining")], {"a": (0, 0, 0)}),
        ([told("a", (1, 1, 1), role="lining")], {"a": (1, 1, 1)}),
        ([told("a", (1, 1, 1), role="lining", decoration="D1")], {}),
        ([told("a", (0, 0, 0)), told("a", (1, 1, 1), role="metal leaf")], {"a": (1, 1, 1)}),
        # where nobody looked, whatever lies there; not what may lie deeper than anybody saw
        ([told("b", (1, 1, 1), scheme=None, thing=NOT_EXAMINED)], {"b": (1, 1, 1)}),
        ([told("a", (1, 1, 1), scheme=None, thing=BELOW)], {}),
    ],
)
def test_what_goes_of_the_finish_of_a_place(outcomes: Any, expected: Any) -> None:
    assert lost_by_place(Case(found(body(2.0))), outcomes) == expected


def test_what_the_work_is_meant_to_take_is_told_apart() -> None:
    outcomes = [
        told("a", (0, 0.5, 0.6)),
        told("b", (0, 1, 1), role="varnish"),
        told("c", (1, 1, 1), scheme=None, thing=NOT_EXAMINED),
    ]
    assert lost_by_place(Case(found(body(2.0))), outcomes, frozenset({"1/varnish"})) == {"b": (0, 1, 1)}
    assert lost_by_place(Case(found(body(2.0))), outcomes, frozenset({"1"})) == {"a": (0, 0.5, 0.6), "b": (0, 1, 1)}


@given(treated(), ANY([(0.0, 0.5, 1.0), (1.0, 1.0, 1.0), (0.2, 0.3, 0.9)]), st.sets(ANY(["body", "a", "b", "w"])))
def test_no_more_goes_than_survives_and_what_is_spared_does_not(rows: Any, lost: Any, touched: Any) -> None:
    totals = Totals(Case(found(*rows)), dict.fromkeys(touched, lost), {})
    if not touched:
        assert totals.loss == (0.0, 0.0, 0.0)
    if totals.loss is not None and totals.surviving is not None:
        assert all(gone <= left for gone, left in zip(totals.loss, totals.surviving, strict=True))
        assert totals.loss[0] <= totals.loss[1] <= totals.loss[2]
    if totals.share is not None:
        assert 0 <= totals.share[0] <= totals.share[1] <= totals.share[2] <= 1
        assert touched or totals.share == (0.0, 0.0, 0.0)
    fewer = Totals(Case(found(*rows)), dict.fromkeys(touched - {"a"}, lost), {})
    if totals.loss is not None and fewer.loss is not None:
        assert fewer.loss[1] <= totals.loss[1] + 1e-9


def test_a_line_is_no_panel() -> None:
    """A lining without an area has none, whether recorded as a decoration or met in a section; else it has its own."""
    stripe = Decoration(object=OBJ, decoration="D1", place="a", kind="lining", scheme="1", state="exposed")
    rows = [
        body(6.0),
        zone("a", 2.0),
        *readings("S", "a", "intact"),
        Layer(object=OBJ, sample="S0", position=9, role="lining", scheme="1", colour="gold", coverage="intact"),
    ]
    lost = {loss.thing: loss.area_m2 for loss in judged([*rows, stripe], {"action": "strip", "place": "a"}).losses}
    assert lost["D1"] is None
    assert [area for thing, area in lost.items() if "lining" in thing] == [None] * sum("lining" in t for t in lost)
    measured = stripe.model_copy(update={"area_m2": 0.003})
    lost = {loss.thing: loss.area_m2 for loss in judged([*rows, measured], {"action": "strip", "place": "a"}).losses}
    assert 0 < lost["D1"][1] <= 0.003


def test_a_decoration_is_never_as_large_as_its_place_on_another_one() -> None:
    stripe = Decoration(
        object=OBJ, decoration="D1", place="body", kind="lining", scheme="1", state="exposed", area_m2=0.003
    )
    rows = [body(6.0), zone("a", 2.0), zone("b", 2.0), *readings("S", "a", "intact"), *readings("B", "b", "intact")]
    result = judged([*rows, stripe], {"action": "strip", "place": "b"})
    assert all(loss.area_m2 is None for loss in result.losses if loss.decoration)


def test_a_part_that_carries_its_scheme_alone_is_stripped_alone() -> None:
    """A second original scheme on another part, never taken off, does not keep a stripped place from being bare."""
    facts = facts_of(
        found(body(2.0)).object,
        [
            *[replace_scheme(s) for s in (("1", "body"), ("1b", "lid"))],
            body(2.0),
            body(1.0, "lid"),
            *readings("S", "body", "intact", "intact"),
            *readings("L", "lid", "intact"),
            *work("body", action="strip"),
        ],
    )
    survival = object_survival(Case(facts))
    assert place(survival, "body").state == "original removed"
    assert share(survival, "body")[2] <= 0.1
    assert share(survival, "lid")[1] > 0.5


def replace_scheme(pair: Any) -> Any:
    code, component = pair
    return Scheme(object=OBJ, scheme=code, name=code, period="original", component=component)


def test_totals_can_be_told_again() -> None:
    survival = object_survival(Case(found(body(1.0), *readings("S", "body", "intact"))))
    assert replace(survival, traces=1).traces == 1
