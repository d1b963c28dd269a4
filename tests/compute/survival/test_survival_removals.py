"""A removal acts on the share that it covered: what documented work leaves of readings made before it, and after."""

from __future__ import annotations

from typing import Any

import pytest
from objects import OBJ
from readings_made import body, found, readings, share, zone
from worked_places import place, work

from collection.compute.build_up.readings import Reading, original_reading
from collection.compute.build_up.removals import NOTHING, mostly_taken, share_of_step, taken, taken_in_all
from collection.compute.case import Case
from collection.compute.survival.model.weighing import Seen, Weight, weighed, weights_of
from collection.compute.survival.opened_windows import windows
from collection.compute.survival.survival import ObjectSurvival, SchemeSurvival, object_survival, scheme_survival
from collection.records.sheets import Layer, Reserve, Sample, Scheme, Treatment, TreatmentStep

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
