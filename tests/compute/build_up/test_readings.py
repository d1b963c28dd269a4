"""What samples say of a scheme, place by place: laws of evidence. Common practice, no published source."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from objects import OBJ, base, facts, layer

from collection.compute.build_up.areas import place_areas
from collection.compute.build_up.readings import Reading, original_reading, reading
from collection.compute.build_up.stack import stack_of
from collection.compute.case import Case
from collection.compute.survival.evidence import At, Evidence, newest, original_subject
from collection.records.sheets import Component, Layer, Sample, Treatment, TreatmentStep, Zone


def sample(
    code: str = "S9",
    place: str = "door",
    method: str = "cross-section",
    reaches: str | None = "yes",
    on: str | None = "2020-05-01",
    **more: object,
) -> Sample:
    return Sample(object=OBJ, sample=code, place=place, method=method, reaches_support=reaches, taken_on=on, **more)


def coat(position: int, role: str, scheme: str | None, coverage: str | None = "intact", **more: Any) -> Layer:
    more.setdefault("thickness_um", None)
    return layer(position, role, scheme, None, coverage, sample=more.pop("sample", "S9"), **more)


def removal(code: str, removed: str, place: str, on: str | None, outcome: str = "done", **more: object) -> list:
    return [
        Treatment(object=OBJ, treatment=code, purpose="trial", started=on, outcome=outcome),
        TreatmentStep(object=OBJ, treatment=code, step=1, place=place, removed=removed, **{"action": "strip", **more}),
    ]


def read(*rows: Any, **more: Any) -> Reading | None:
    found = facts(base(*rows, sampled=False))
    return original_reading(Case(found), found.samples[0])


def level(*rows: Layer | Sample) -> str | None:
    found = read(*rows)
    return found and found.level


@pytest.mark.parametrize(
    ("coverage", "pct", "expected"),
    [
        ("intact", None, "intact"),
        ("partial", None, "partial"),
        ("trace", None, "trace"),
        ("absent", None, "absent"),
        (None, None, "present"),
        (None, 99.0, "intact"),
        (None, 50.0, "partial"),
        (None, 10.0, "trace"),
        (None, 0.0, "absent"),
        ("trace", 50.0, "trace"),
    ],
)
def test_level_is_the_word_or_else_the_measured_share(coverage: str | None, pct: float | None, expected: str) -> None:
    assert level(sample(), coat(1, "body colour", "1", coverage, coverage_pct=pct)) == expected


def test_the_best_kept_finish_coat_speaks_for_the_scheme() -> None:
    assert level(sample(), coat(1, "body colour", "1", "intact"), coat(2, "varnish", "1", "trace")) == "intact"


@pytest.mark.parametrize("role", ["sealer", "primer", "filler", "ground", "bole", "mordant"])
def test_only_preparation_left_is_a_trace(role: str) -> None:
    assert level(sample(), coat(1, role, "1"), coat(2, "body colour", "2")) == "trace"


@pytest.mark.parametrize("role", ["dirt", "wax", "corrosion", "facing", "adhesive"])
def test_what_only_lies_on_a_finish_is_none(role: str) -> None:
    assert level(sample(), coat(1, "body colour", "2"), coat(2, role, "1")) == "absent"
    assert level(sample(reaches=None), coat(1, "body colour", "2"), coat(2, role, "1")) is None


def test_absence_is_concluded_only_from_a_complete_sample() -> None:
    green = coat(1, "body colour", "2")
    assert read(sample(), green).implied
    assert level(sample(reaches="no"), green) is None
    assert level(sample(reaches=None), green) is None
    assert level(sample(), green, coat(2, "body colour", None)) is None, "an unassigned coat may be it"
    assert level(sample(), green, coat(2, "body colour", None, period="later")) == "absent"
    assert level(sample(reaches="no"), green, coat(2, "body colour", "1", "absent")) == "absent"


def test_bare_support_is_an_absence_and_an_empty_sample_says_nothing() -> None:
    assert level(sample(), coat(1, "support", None, None)) == "absent"
    assert level(sample(method="surface"), coat(1, "support", None, None)) == "absent"
    assert level(sample(reaches=None), coat(1, "support", None, None)) is None
    assert level(sample()) is None


def test_a_sample_in_which_nothing_is_written_down_concludes_nothing() -> None:
    """Neither for the reading nor for the stack of its place: the coats seen elsewhere on the part may be there."""
    elsewhere = [sample("S8", "body"), coat(1, "body colour", "1", sample="S8")]
    for rows in ([], [coat(1, "varnish", "2", "absent")], [coat(1, "varnish", None, "absent")]):
        found = facts(base(sample(), *rows, *elsewhere, sampled=False))
        assert original_reading(Case(found), found.samples[-1]) is None
        assert any(c.scheme == "1" for c in stack_of(Case(found), "door").coats)
    bare = facts(base(sample(), coat(1, "support", None), *elsewhere, sampled=False))
    assert [(c.thing, c.found) for c in stack_of(Case(bare), "door").coats] == [("1/not found so far", False)]


def test_a_surface_speaks_only_of_what_lies_outermost() -> None:
    red, green = coat(1, "body colour", "1"), coat(2, "body colour", "2")
    assert level(sample(method="surface"), red, green) is None
    assert level(sample(method="surface"), red) == "intact"
    assert level(sample(method="surface"), red, coat(2, "dirt", None)) == "intact"
    assert level(sample(method="surface"), coat(1, "body colour", "1", "absent"), green) is None
    assert level(sample(method="gauge"), red) is None


def test_a_coat_of_original_period_needs_no_scheme() -> None:
    assert level(sample(), coat(1, "body colour", None, period="original")) == "intact"
    found = facts(base(sample(), coat(1, "body colour", None, period="original"), sampled=False))
    assert reading(Case(found), found.samples[0], ["1"]) is None, "which scheme it is of is not known"


def test_a_sure_removal_makes_a_reading_history_and_a_doubtful_one_does_not() -> None:
    red = coat(1, "body colour", "1")
    gone = read(sample(), red, *removal("T", "1", "door", "2021"))
    assert (gone.level, gone.history) == ("absent", True)
    for kept in (
        removal("T", "1", "door", "2020"),  # the same year: the dates may overlap
        removal("T", "1", "door", None),
        removal("T", "1", "door", "2019"),
        removal("T", "1/varnish", "door", "2021"),  # only a coat that is not there
        removal("T", "2", "door", "2021"),
        removal("T", "1", "door", "2021", "tried and failed"),
    ):
        assert read(sample(), red, *kept).level == "intact"
    assert read(sample(), red, *removal("T", "1", "body", "2021")).history
    assert read(sample(), red, *removal("T", "1", "door", "2021", "partly")).level == "intact"
    assert read(sample(), red, *removal("T", "1", "door", "2021", action="solvent")).level == "intact", "0 to all of it"
    assert read(sample(), red, *removal("T", "1", "door", "2021", removed_m2=0.0005)).level == "intact"
    assert read(sample(), red, *removal("T", "1", "door", "2021", removed_m2=1.9)).history, "95 % of 2 m²"
    assert read(sample(on=None), red, *removal("T", "1", "door", "2021")).level == "intact"


def at(*rows: Any, place: str = "door", sampled: bool = False) -> At:
    found = facts(base(*rows, sampled=sampled))
    return Evidence(Case(found), original_subject(Case(found))).at(place)


@pytest.mark.parametrize(
    ("rows", "state"),
    [
        ([], "not examined"),
        ([sample(reaches="no"), coat(1, "body colour", "2")], "not examined"),
        ([sample(), coat(1, "body colour", "1"), *removal("T", "1", "door", "2021")], "original removed"),
        ([sample(), coat(1, "body colour", "2"), *removal("T", "1", "door", "2021")], "original removed"),
        ([sample(), coat(1, "body colour", "2"), *removal("T", "1", "door", "2019")], "original not found"),
        ([sample(), coat(1, "body colour", "2")], "original not found"),
        ([sample(), coat(1, "body colour", "1", "partial")], "original fragmentary"),
        ([sample(), coat(1, "body colour", "1", "trace")], "original fragmentary"),
        (
            [sample(), coat(1, "body colour", "1"), sample("S8"), coat(1, "body colour", "2", sample="S8")],
            "original fragmentary",
        ),
        ([sample(), coat(1, "body colour", "1")], "original exposed"),
        ([sample(), coat(1, "body colour", "1", None)], "original exposed"),
        (
            [
                sample(),
                coat(1, "body colour", "1"),
                coat(2, "varnish", "1"),
                coat(3, "wax", None),
                coat(4, "dirt", None),
            ],
            "original exposed",
        ),
        ([sample(), coat(1, "body colour", "1"), coat(2, "body colour", "2")], "original covered"),
        ([sample(), coat(1, "body colour", "1"), coat(2, "varnish", None)], "original covered"),
        (
            [sample(), coat(1, "body colour", "1"), coat(2, "body colour", "2"), *removal("T", "2", "door", "2021")],
            "original exposed",
        ),
        (
            [
                sample(),
                coat(1, "body colour", "1"),
                Treatment(object=OBJ, treatment="C", purpose="repaint", started="2022"),
                TreatmentStep(object=OBJ, treatment="C", step=1, place="body", action="coat", adds="green"),
            ],
            "original covered",
        ),
        (
            [
                sample(),
                coat(1, "body colour", "1"),
                *removal("T", "1", "door", "2021"),
                sample("S8", on="2022"),
                coat(1, "body colour", "2", sample="S8"),
            ],
            "original not found",
        ),
    ],
)
def test_state_of_a_zone_in_the_order_of_the_rules(rows: list[Any], state: str) -> None:
    assert at(*rows).state == state


def test_readings_are_counted_and_traces_apart() -> None:
    found = at(
        sample(),
        coat(1, "body colour", "1"),
        sample("S8"),
        coat(1, "primer", "1", sample="S8"),
        sample("S7"),
        coat(1, "body colour", "2", sample="S7"),
        sample("S6", on="2001"),
        coat(1, "body colour", "1", sample="S6"),
    )
    assert (found.present, found.read, found.traces) == (3, 4, 1)
    assert sorted(r.share for r in found.rows) == [(0, 0, 0), (0, 0.05, 0.1), (1, 1, 1), (1, 1, 1)]


def test_a_zone_within_another_keeps_its_reading_until_it_has_its_own() -> None:
    inner = Zone(object=OBJ, zone="number", component="body", within="door")
    red = [sample(), coat(1, "body colour", "1")]
    assert at(*red, inner, place="number").present == 1
    own = [sample("S8", "number"), coat(1, "body colour", "2", sample="S8")]
    assert at(*red, inner, *own, place="number").state == "original not found"
    assert at(*red, inner, *own, place="door").state == "original exposed"


def test_whole_surfaces_and_points_are_told_apart() -> None:
    def whole(*rows: Any) -> tuple[float, float, float] | None:
        return at(*rows).whole

    surface = sample(method="surface", extent="whole place")
    assert whole(surface, coat(1, "body colour", "1")) == (1.0, 1.0, 1.0)
    assert whole(surface, coat(1, "body colour", "1", "partial", coverage_pct=35.0)) == (0.35, 0.35, 0.35)
    assert whole(surface, coat(1, "support", None, None)) == (0.0, 0.0, 0.0)
    assert whole(surface, coat(1, "body colour", "1", "partial")) is None
    for point in ({}, {"extent": "spot"}):
        assert whole(sample(method="surface", **point), coat(1, "body colour", "1")) is None
    later = [
        sample("S8", method="surface", extent="whole place", on="2021"),
        coat(1, "body colour", "1", "partial", sample="S8", coverage_pct=60.0),
    ]
    assert whole(surface, coat(1, "body colour", "1"), *later) == (0.6, 0.6, 0.6), "the later one holds"
    undated = [
        sample("S8", method="surface", extent="whole place", on=None),
        coat(1, "body colour", "1", "partial", sample="S8", coverage_pct=60.0),
    ]
    assert whole(surface, coat(1, "body colour", "1"), *undated) == (0.6, 0.8, 1.0)
    against = [sample("S8"), coat(1, "body colour", "2", sample="S8")]
    assert whole(surface, coat(1, "body colour", "1"), *against) is None, "contradicted at a point"


def test_as_of_is_the_newest_date_used_and_never_a_guess() -> None:
    assert newest([None, "1908~", "2019-05", "[..1939]"]) == "2019-05"
    assert newest([None, ""]) is None
    assert newest(["[1939..]", "1950"]) == "1950"
    assert at(sample(on="2003"), coat(1, "body colour", "1"), *removal("T", "1", "door", "2011-04")).as_of == "2011-04"


def test_areas_are_each_place_its_own_and_never_summed_twice() -> None:
    def areas(*rows: Component | Zone) -> Mapping[str, float | None]:
        return place_areas(Case(facts(list(rows))))

    def zone(code: str, area: float | None, within: str | None = None) -> Zone:
        return Zone(object=OBJ, zone=code, component="body", area_m2=area, within=within)

    def body(area: float | None, **more: Any) -> Component:
        return Component(object=OBJ, component="body", name="body", area_m2=area, **more)

    assert areas(body(10.0), zone("a", 4.0), zone("b", 1.5, "a")) == {"body": 6.0, "a": 2.5, "b": 1.5}
    assert areas(body(4.0), zone("a", 4.0)) == {"a": 4.0}, "nothing is left beyond the zone"
    assert areas(body(None), zone("a", 4.0)) == {"body": None, "a": 4.0}, "what is left is not known"
    assert areas(body(10.0), zone("a", None), zone("b", 1.0, "a")) == {"body": 9.0, "a": None, "b": 1.0}
    assert areas(body(3.0), zone("a", 4.0)) == {"a": 4.0}
    assert areas(body(None)) == {"body": None}
    assert areas(body(3.0, presence="missing"), zone("a", 1.0)) == {}
    assert areas(body(9.0), zone("a", 1.0, "b"), zone("b", 2.0, "a")) == {"body": 6.0, "a": 1.0, "b": 2.0}
    assert areas() == {"all": None}
