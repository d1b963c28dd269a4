"""What survives: made cases with figures that can be read off or worked out."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from objects import OBJ, base, facts
from readings_made import body, found, readings, share, zone
from surveyed_places import surveyed

from collection.compute.case import Case
from collection.compute.survival.decorations import decoration_survival
from collection.compute.survival.survival import object_survival, place_draws, scheme_survival, survival_json
from collection.records.sheets import Condition, Decoration, Layer, Scheme, Treatment, TreatmentStep
from collection.values.numbers import six


@pytest.mark.parametrize("level", ["intact", "absent"])
def test_a_census_has_no_width_and_is_read_off(level: str) -> None:
    rows = [body(None), zone("a", 4.0), *readings("C", "a", level, method="surface", extent="whole place")]
    survival = object_survival(Case(found(*rows)))
    whole = 1.0 if level == "intact" else 0.0
    assert share(survival, "a") == (whole, whole, whole)
    assert survival.surviving_m2 == (4 * whole, 4 * whole, 4 * whole)


def test_a_measured_whole_surface_has_no_width_and_reaches_the_zones_it_holds() -> None:
    rows = [body(6.0), zone("a", 2.0), *readings("C", "body", "partial", method="surface", extent="whole place")]
    rows = [
        r.model_copy(update={"coverage_pct": 30.0}) if isinstance(r, Layer) and r.scheme == "1" else r for r in rows
    ]
    survival = object_survival(Case(found(*rows)))
    assert share(survival, "a") == share(survival, "body") == (0.3, 0.3, 0.3)
    assert survival.surviving_m2 == pytest.approx((1.8, 1.8, 1.8))
    assert (survival.places_seen, survival.places_read) == (1, 1), "counted once, though it speaks for two places"


def test_a_part_without_any_sample_says_not_examined_and_gives_no_number() -> None:
    survival = object_survival(
        Case(found(body(5.0), zone("a", 2.0), body(3.0, "lid"), *readings("S", "a", "intact", "intact")))
    )
    lid = next(p for p in survival.places if p.place == "lid")
    assert (lid.state, lid.share, lid.area_m2) == ("not examined", None, 3.0)
    rest = next(p for p in survival.places if p.place == "body")
    assert (rest.state, rest.area_m2) == ("not examined", 3.0)
    assert rest.share[2] - rest.share[0] > 0.9, "unread surface of a read part is all but unknown"
    assert survival.area_m2 == 8.0
    assert survival.at_least
    assert survival.unexamined_places == 2
    assert survival.surviving_m2[2] <= 5.0
    nothing = object_survival(Case(found(body(5.0))))
    assert nothing.surviving_m2 is None
    assert nothing.sentence == "No place has been looked at for original finish"


def test_what_is_not_measured_is_counted_and_never_nothing() -> None:
    survival = object_survival(Case(found(body(None), zone("a", None), zone("b", 2.0), *readings("S", "a", "intact"))))
    assert survival.unmeasured_places == 2
    assert survival.at_least
    assert next(p for p in survival.places if p.place == "a").area_m2 is None
    assert survival.area_m2 == 2.0
    held = object_survival(
        Case(found(body(9.0), zone("a", 4.0), zone("b", None, within="a"), *readings("S", "a", "intact")))
    )
    assert held.unmeasured_places == 0, "its surface is counted with the zone around it"
    assert held.area_m2 == 9.0


def test_traces_are_seen_but_have_next_to_no_area() -> None:
    survival = object_survival(Case(found(body(4.0), *readings("S", "body", "trace", "trace", "absent"))))
    bare = object_survival(Case(found(body(4.0), *readings("S", "body", "absent", "absent", "absent"))))
    assert survival.sentence == "Original finish seen at 2 of 3 places looked at (2 traces)"
    for end in range(3):
        extra = survival.surviving_m2[end] - bare.surviving_m2[end]
        assert 0 <= extra <= 0.1 * 4.0
    assert survival.surviving_m2[1] > bare.surviving_m2[1]


@given(surveyed(), st.sampled_from(["body", "body-0"]), st.floats(1, 100))
def test_visible_loss_bounds_from_above(rows: Any, place: Any, extent: Any) -> None:
    before = object_survival(Case(found(*rows)))
    loss = Condition(object=OBJ, place=place, phenomenon="loss", observed_on="2021", extent_pct=extent, scheme="1")
    after = object_survival(Case(found(*rows, loss)))
    for old, new in zip(before.places, after.places, strict=True):
        if old.share is not None:
            assert all(b <= a + 1e-9 for a, b in zip(old.share, new.share, strict=True))
    left = 1 - extent / 100
    inside = [
        p
        for p in after.places
        if p.component == "body" and (place == "body" or p.place == place) and p.share is not None
    ]
    if place == "body" and all(p.area_m2 is not None for p in after.places if p.component == "body"):
        whole = sum(p.area_m2 for p in after.places if p.component == "body")
        assert sum(p.area_m2 * p.share[1] for p in inside) <= left * whole + 1e-9


def test_visible_loss_of_a_part_bounds_its_zones_together() -> None:
    rows = [body(10.0), *(row for code in "abcde" for row in (zone(code, 2.0), *readings(code, code, *["intact"] * 4)))]
    whole = object_survival(Case(found(*rows)))
    assert whole.surviving_m2[2] > 9.5
    loss = Condition(object=OBJ, place="body", phenomenon="loss", observed_on="2021", extent_pct=50.0, scheme="1")
    bounded = object_survival(Case(found(*rows, loss)))
    assert bounded.surviving_m2[2] <= 5.0 + 1e-9
    assert share(bounded, "a")[2] < share(whole, "a")[2]
    wide = [body(10.0), zone("a", 8.0), *readings("A", "a", *["intact"] * 4)]
    assert share(object_survival(Case(found(*wide, loss))), "a")[2] <= 5 / 8 + 1e-9, (
        "one zone cannot hold more than is left"
    )
    slight = loss.model_copy(update={"extent_pct": 10.0, "observed_on": "2022"})
    assert object_survival(Case(found(*rows, loss, slight))).surviving_m2 == bounded.surviving_m2, "loss does not heal"


def test_visible_loss_of_a_later_scheme_or_of_one_of_two_originals_bounds_nothing() -> None:
    rows = [body(4.0), *readings("S", "body", "intact")]
    before = object_survival(Case(found(*rows))).surviving_m2
    loss = Condition(object=OBJ, place="body", phenomenon="loss", observed_on="2021", extent_pct=90.0, scheme="2")
    assert object_survival(Case(found(*rows, loss))).surviving_m2 == before
    lost = loss.model_copy(update={"scheme": "1"})
    assert object_survival(Case(found(*rows, lost))).surviving_m2[2] == pytest.approx(0.4)
    second = Scheme(object=OBJ, scheme="1b", name="maker's lining", period="original")
    assert object_survival(Case(found(*rows, lost, second))).surviving_m2 == before


def test_a_documented_removal_after_the_last_reading_leaves_nothing_and_says_since_when() -> None:
    rows = [body(6.0), zone("a", 4.0), *readings("S", "a", "intact", "intact"), *readings("R", "body", "intact")]
    done = [
        Treatment(object=OBJ, treatment="T", purpose="strip", started="2022-03", ended="2022-04"),
        TreatmentStep(object=OBJ, treatment="T", step=1, place="a", action="strip", removed="1"),
    ]
    before, after = object_survival(Case(found(*rows))), object_survival(Case(found(*rows, *done)))
    removed = next(p for p in after.places if p.place == "a")
    assert (removed.state, removed.read) == ("original removed", 0)
    assert removed.share[0] == 0
    assert 0.03 < removed.share[1] < 0.05 < removed.share[2] <= 0.1, "what stripping leaves until somebody looks"
    assert after.as_of == "2022-04"
    assert before.as_of == "2020-05-01"
    assert after.sentence == "Original finish seen at 1 of 1 place looked at"
    assert after.surviving_m2[2] <= 2.4
    doubtful = [done[0].model_copy(update={"started": "[2019..2022]", "ended": None}), done[1]]
    doubted = share(object_survival(Case(found(*rows, *doubtful))), "a")
    assert (doubted[0], doubted[2]) == (0.0, share(before, "a")[2]), "it may be gone, and may not"


def test_a_stripped_place_says_nothing_of_the_rest() -> None:
    done = [
        Treatment(object=OBJ, treatment="T", purpose="strip", started="2022"),
        TreatmentStep(object=OBJ, treatment="T", step=1, place="a", action="strip", removed="1"),
    ]
    rows = [body(None), zone("a", 4.0), zone("b", 4.0), *readings("B", "b", "intact"), *done]
    alone = object_survival(Case(found(*rows)))
    beside = object_survival(Case(found(*rows, *readings("A", "a", "intact", "absent", "absent", "absent"))))
    assert share(beside, "a")[2] <= 0.1
    assert share(beside, "b") == share(alone, "b")


def test_point_readings_of_a_part_do_not_speak_for_its_zones() -> None:
    survival = object_survival(
        Case(found(body(6.0), zone("a", 2.0), *readings("S", "body", "intact", "intact", "intact")))
    )
    unread = next(p for p in survival.places if p.place == "a")
    assert (unread.state, unread.read) == ("not examined", 0)
    assert unread.share[0] < share(survival, "body")[0]


def test_one_surface_is_its_share_of_its_area_and_certain_ones_are_added_whole() -> None:
    survival = object_survival(Case(found(body(4.0), *readings("S", "body", "intact", "absent"))))
    assert survival.surviving_m2 == tuple(4.0 * end for end in share(survival, "body"))
    more = [
        zone("a", 5.0),
        zone("b", 1.0),
        zone("c", 1.0),
        *readings("A", "a", "intact", method="surface", extent="whole place"),
        *readings("B", "b", "intact", "absent"),
        *readings("C", "c", "absent"),
    ]
    low, _, high = object_survival(Case(found(body(7.0), *more))).surviving_m2
    assert low >= 5.0
    assert high <= 7.0


def test_parts_are_independent_of_each_other() -> None:
    rows = [
        body(2.0),
        body(2.0, "lid"),
        *readings("S", "body", "intact", "absent"),
        *readings("L", "lid", "intact", "absent"),
    ]
    drawn = place_draws(Case(found(*rows)))
    assert sorted(drawn["body"][1]) == sorted(drawn["lid"][1])
    assert abs(np.corrcoef(drawn["body"][1], drawn["lid"][1])[0, 1]) < 0.15
    survival = object_survival(Case(found(*rows)))
    together = survival.surviving_m2[2] - survival.surviving_m2[0]
    assert together < 0.85 * 2 * 2.0 * (share(survival, "lid")[2] - share(survival, "lid")[0])


def test_readings_only_known_to_lie_somewhere_are_counted_but_give_no_area() -> None:
    survival = object_survival(Case(found(body(4.0), *readings("S", "all", "intact"))))
    assert survival.sentence == "Original finish seen at 1 of 1 place looked at"
    assert share(survival, "all") is None
    assert share(survival, "body") is None
    assert survival.surviving_m2 is None
    simple = object_survival(Case(found(*readings("S", "all", "intact"))))
    assert share(simple, "all") is not None
    assert simple.unmeasured_places == 1


def test_a_scheme_of_one_part_is_looked_for_there_only() -> None:
    lid_only = Scheme(object=OBJ, scheme="3", name="lid black", period="early", component="lid")
    case = Case(
        found(body(2.0), body(1.0, "lid"), lid_only, *readings("S", "body", "intact"), *readings("L", "lid", "absent"))
    )
    schemes = {s.scheme: s for s in scheme_survival(case)}
    third = schemes["3"]
    assert [p.place for p in third.places] == ["lid"]
    assert third.area_m2 == 1.0
    assert third.places_read == 1
    assert schemes["1"].surviving_m2 == object_survival(case).surviving_m2, (
        "the only original scheme is all that is original"
    )


def test_decorations_have_their_own_small_areas_and_never_enter_the_total() -> None:
    rows = [body(4.0), *readings("S", "body", "intact")]

    def lining(state: Any, **more: Any) -> Any:
        return Decoration(
            object=OBJ,
            decoration="D1",
            place="body",
            kind="lining",
            scheme="1",
            state=state,
            observed_on="2020",
            area_m2=0.2,
            **more,
        )

    def one(*more: Any) -> Any:
        return decoration_survival(Case(found(*rows, *more)))[0]

    plain = object_survival(Case(found(*rows)))
    assert object_survival(Case(found(*rows, lining("exposed")))).surviving_m2 == plain.surviving_m2
    exposed, fragment = one(lining("exposed")), one(lining("fragment"))
    assert (exposed.state, fragment.state) == ("original exposed", "original fragmentary")
    assert fragment.share[1] < exposed.share[1]
    assert one(lining("lost")).share == (0.0, 0.0, 0.0)
    assert one(lining(None)).share is None
    met = [Layer(object=OBJ, sample="S0", position=4, role="lining", scheme="1", coverage="intact")]
    assert one(lining(None), *met).present == 1
    assert one(lining("lost"), *met).state == "original fragmentary", "met on a day that may be later"
    removed = [
        Treatment(object=OBJ, treatment="T", purpose="strip", started="2021"),
        TreatmentStep(object=OBJ, treatment="T", step=1, place="body", action="strip", removed="1"),
    ]
    assert one(lining("exposed"), *removed).state == "original removed"
    assert one(lining("exposed"), *removed).surviving_m2[2] <= 0.1 * 0.2


def test_a_sample_that_met_one_of_two_like_decorations_tells_of_neither() -> None:
    met = [
        *readings("S", "a", "intact"),
        Layer(object=OBJ, sample="S0", position=4, role="lining", scheme="1", coverage="intact"),
    ]

    def linings(place: Any) -> Any:
        return [
            Decoration(object=OBJ, decoration=code, place=where, kind="lining", scheme="1")
            for code, where in (("D1", "a"), ("D2", place))
        ]

    rows = [body(4.0), zone("a", 1.0), zone("b", 1.0), *met]
    assert [d.present for d in decoration_survival(Case(found(*rows, *linings("a"))))] == [0, 0]
    assert [d.present for d in decoration_survival(Case(found(*rows, *linings("body"))))] == [0, 0]
    assert [d.present for d in decoration_survival(Case(found(*rows, *linings("b"))))] == [1, 0]


def test_how_places_were_chosen_is_told() -> None:
    survival = object_survival(
        Case(
            found(
                body(4.0),
                *readings("S", "body", "intact", chosen="expected"),
                *readings("R", "body", "absent", "absent", chosen="random"),
                *readings("N", "body", "trace"),
            )
        )
    )
    assert survival.how_chosen == "Places chosen: 2 at random, 1 where it was expected, 1 not said how"
    assert survival.sentence == "Original finish seen at 2 of 4 places looked at (1 trace)"


def test_figures_leave_with_six_significant_digits() -> None:
    figures = survival_json(Case(facts(base())))
    assert figures["surviving_m2"] == [six(v) for v in figures["surviving_m2"]]
    assert figures["places"][0]["share"] == [six(v) for v in figures["places"][0]["share"]]
